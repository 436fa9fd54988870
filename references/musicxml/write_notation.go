package musicxml

import (
	"strconv"

	"evenhand/references"
)

// notationsOf writes what stands over note j of a chord.
func (p *page) notationsOf(s *sheet, c *chord, j int) {
	n := c.notes[j]
	mark := len(p.stack)
	start := p.Len()
	p.open("notations")
	body := p.Len()
	p.bowsOf(c, j)
	if !c.tieStop {
		p.ornament(s, c, n)
		p.finger(n, c.hands[j])
		p.glide(c, n)
	}
	p.articulationsOf(s, c, j)
	if j == 0 {
		p.fermata(s, c)
	}
	if n.Rolled && !c.tieStop {
		p.leaf("arpeggiate", "")
	}
	if p.Len() == body {
		p.Truncate(start)
		p.stack = p.stack[:mark]
		return
	}
	p.close()
}

// bowsOf writes what joins notes: ties, and at the first of a chord tuplets and slurs.
func (p *page) bowsOf(c *chord, j int) {
	if c.tieStop && !c.notes[j].Optional {
		p.leaf("tied", "", "type", "stop")
	}
	if c.tieStart && !c.notes[j].Optional {
		p.leaf("tied", "", "type", "start")
	}
	if j > 0 {
		return
	}
	if c.tuplet != "" {
		p.leaf("tuplet", "", "type", c.tuplet)
	}
	for _, voice := range c.slurStops {
		p.leaf("slur", "", "type", "stop", "number", slurNumber(voice))
	}
	if c.slurStart {
		p.leaf("slur", "", "type", "start", "number", slurNumber(c.voice))
	}
}

// slurNumber tells the slurs of the voices apart. The format has 16 numbers.
func slurNumber(voice string) string {
	n, _ := strconv.Atoi(voice)
	return strconv.Itoa((n-1)%16 + 1)
}

var ornamentNames = map[references.Ornament]string{
	references.Trill: "trill-mark", references.Turn: "turn", references.InvertedTurn: "inverted-turn",
	references.DelayedTurn: "delayed-turn", references.DelayedInvertedTurn: "delayed-inverted-turn",
	references.Mordent: "mordent", references.InvertedMordent: "inverted-mordent", references.Schleifer: "schleifer",
}

// ornament writes <ornaments>, with the accidentals that its neighbours need. A tremolo has three
// strokes, the usual sign for one that is not measured.
func (p *page) ornament(s *sheet, c *chord, n *references.Note) {
	switch n.Ornament {
	case references.NoOrnament, references.Glissando:
		return
	case references.Tremolo, references.TremoloPair:
		kind := "single"
		if n.Ornament == references.TremoloPair {
			kind = "start"
			if p.pairs[c.voice] {
				kind = "stop"
			}
			if n == c.notes[len(c.notes)-1] {
				p.pairs[c.voice] = !p.pairs[c.voice]
			}
		}
		p.open("ornaments")
		p.leaf("tremolo", "3", "type", kind)
		p.close()
		return
	}
	p.open("ornaments")
	p.leaf(ornamentNames[n.Ornament], "")
	if hasNeighbours(n.Ornament) {
		above, below := diatonic(n.Pitch, s.fifths)
		if n.Above != above && n.Above != 0 {
			p.leaf("accidental-mark", accidentalNames[n.Pitch.Up(1, int(n.Above)).Alter], "placement", "above")
		}
		if n.Below != below && n.Below != 0 {
			p.leaf("accidental-mark", accidentalNames[n.Pitch.Up(-1, -int(n.Below)).Alter], "placement", "below")
		}
	}
	p.close()
}

func (p *page) finger(n *references.Note, hand references.Hand) {
	if f := n.Fingering(hand); f > 0 {
		p.open("technical")
		p.leaf("fingering", strconv.Itoa(int(f)))
		p.close()
	}
}

func (p *page) glide(c *chord, n *references.Note) {
	if n.Ornament == references.Glissando {
		p.leaf("glissando", "", "type", "start", "line-type", "wavy")
	}
}

// articulationsOf writes <articulations>. How a note is joined to the next is told at its last
// piece, an accent at its first.
func (p *page) articulationsOf(s *sheet, c *chord, j int) {
	n := c.notes[j]
	start, mark := p.Len(), len(p.stack)
	p.open("articulations")
	body := p.Len()
	if n.Accent && !c.tieStop {
		p.leaf("accent", "")
	}
	if !c.tieStart {
		switch n.Touch {
		case references.Staccato:
			p.leaf("staccato", "")
		case references.Tenuto:
			p.leaf("tenuto", "")
		case references.Portato:
			p.leaf("staccato", "")
			p.leaf("tenuto", "")
		}
	}
	if j == 0 {
		p.breath(s, c)
	}
	if p.Len() == body {
		p.Truncate(start)
		p.stack = p.stack[:mark]
		return
	}
	p.close()
}

// breath writes the breath or caesura that comes after a chord, once.
func (p *page) breath(s *sheet, c *chord) {
	end := c.at.Add(c.length)
	for i, m := range s.breaths {
		if m.at != end || c.grace() {
			continue
		}
		s.breaths = append(s.breaths[:i:i], s.breaths[i+1:]...)
		if m.kind == references.Caesura {
			p.leaf("caesura", "")
		} else {
			p.leaf("breath-mark", "")
		}
		return
	}
}

// fermata writes the fermata over a chord that lasts as long as it holds.
func (p *page) fermata(s *sheet, c *chord) {
	for i, f := range s.fermatas {
		if f.from == c.at && f.to == c.at.Add(c.length) && !c.grace() {
			s.fermatas = append(s.fermatas[:i:i], s.fermatas[i+1:]...)
			p.leaf("fermata", "")
			return
		}
	}
}
