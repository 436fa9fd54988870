package musicxml

import "evenhand/references"

// notations reads what stands over a note: articulations, ornaments, slurs, fermatas, fingers.
func (s *state) notations(e *element, n *note) {
	eachNotation(e, func(c *element) {
		switch c.name {
		case "slur":
			s.slur(c, n)
		case "articulations":
			s.articulations(c, n)
		case "ornaments":
			s.ornaments(c, n)
		case "technical":
			n.fingering(c)
		case "arpeggiate":
			n.Rolled = true
		case "fermata":
			s.add(sign{kind: signFermata, at: n.Onset, to: n.Onset.Add(n.Length), staff: n.staff, line: c.line})
		case "dynamics":
			s.dynamics(c, sign{at: n.Onset, staff: n.staff, below: true})
		case "glissando", "slide":
			if c.attr("type") == "start" {
				n.Ornament = references.Glissando
			}
		}
	})
}

func (s *state) add(g sign) {
	g.part = s.index
	s.bar.signs = append(s.bar.signs, g)
}

func (s *state) slur(e *element, n *note) {
	kind := e.attr("type")
	if kind != "start" && kind != "stop" {
		return
	}
	number := e.attr("number")
	if number == "" {
		number = "1"
	}
	s.bar.slurs = append(s.bar.slurs, slurEnd{
		at: n.Onset, part: s.index, voice: n.voice, number: number, start: kind == "start", line: e.line,
	})
}

// articulations reads the children of <articulations>.
func (s *state) articulations(e *element, n *note) {
	for c := e.first; c != nil; c = c.next {
		switch c.name {
		case "accent", "strong-accent", "stress":
			n.Accent = true
		case "staccato", "staccatissimo", "spiccato":
			n.staccato = true
		case "tenuto":
			n.tenuto = true
		case "detached-legato":
			n.staccato, n.tenuto = true, true
		case "breath-mark":
			s.add(sign{kind: signBreath, at: n.Onset.Add(n.Length), staff: n.staff, line: c.line})
		case "caesura":
			s.add(sign{kind: signCaesura, at: n.Onset.Add(n.Length), staff: n.staff, line: c.line})
		}
	}
}

// fingering reads the <fingering> of <technical>; of a substitution the first finger counts.
func (n *note) fingering(e *element) {
	for c := e.first; c != nil; c = c.next {
		if c.name != "fingering" || n.Finger != 0 || c.attr("alternate") == "yes" {
			continue
		}
		for _, r := range c.text {
			if r >= '1' && r <= '5' {
				n.Finger = int8(r - '0')
				break
			}
		}
	}
}

var ornamentOf = map[string]references.Ornament{
	"trill-mark": references.Trill, "shake": references.Trill, "wavy-line": references.Trill,
	"turn": references.Turn, "inverted-turn": references.InvertedTurn, "haydn": references.Turn,
	"vertical-turn": references.Turn, "inverted-vertical-turn": references.InvertedTurn,
	"delayed-turn": references.DelayedTurn, "delayed-inverted-turn": references.DelayedInvertedTurn,
	"mordent": references.Mordent, "inverted-mordent": references.InvertedMordent,
	"schleifer": references.Schleifer, "tremolo": references.Tremolo,
}

// ornaments reads the children of <ornaments>. The first sign counts, a wavy line alone is a trill,
// and its end is none.
func (s *state) ornaments(e *element, n *note) {
	for c := e.first; c != nil; c = c.next {
		o := ornamentOf[c.name]
		switch {
		case c.name == "wavy-line" && c.attr("type") != "start", o == references.NoOrnament:
			continue
		case c.name == "tremolo" && (c.attr("type") == "start" || c.attr("type") == "stop"):
			o = references.TremoloPair
		}
		if n.Ornament == references.NoOrnament {
			n.Ornament = o
		}
	}
	if hasNeighbours(n.Ornament) {
		s.neighbours(e, n)
	}
}

// hasNeighbours reports whether an ornament is made of the notes beside the written one.
func hasNeighbours(o references.Ornament) bool {
	return o >= references.Trill && o <= references.InvertedMordent
}

var accidentalAlter = map[string]int{
	"sharp": 1, "natural": 0, "flat": -1, "double-sharp": 2, "sharp-sharp": 2, "flat-flat": -2,
	"natural-sharp": 1, "natural-flat": -1,
}

// neighbours finds the distance to the notes beside the written one, from the key signature and
// the <accidental-mark>s at the sign.
func (s *state) neighbours(e *element, n *note) {
	t := s.shiftOf(n.staff)
	written := n.Pitch.Up(-t.steps, -t.semitones)
	n.Above, n.Below = diatonic(written, s.fifths)
	for c := e.first; c != nil; c = c.next {
		alter, ok := accidentalAlter[c.text]
		if c.name != "accidental-mark" || !ok {
			continue
		}
		if c.attr("placement") == "below" || c.attr("placement") == "" && n.Ornament == references.Mordent {
			low := written.Up(-1, 0)
			low.Alter = int8(alter)
			n.Below = neighbour(written.Key()-low.Key(), n.Below)
		} else {
			high := written.Up(1, 0)
			high.Alter = int8(alter)
			n.Above = neighbour(high.Key()-written.Key(), n.Above)
		}
	}
}

// neighbour is the distance that an accidental gives, as long as it leads to another key nearby.
func neighbour(semitones int, otherwise int8) int8 {
	if semitones < 1 || semitones > 3 {
		return otherwise
	}
	return int8(semitones)
}

// diatonic is the distance in semitones from a pitch to the notes above and below it in a key; a
// whole tone from one so far outside the key that it has none there.
func diatonic(p references.Pitch, fifths int) (above, below int8) {
	high, low := p.Up(1, 0), p.Up(-1, 0)
	high.Alter, low.Alter = keyAlter(high.Step, fifths), keyAlter(low.Step, fifths)
	return neighbour(high.Key()-p.Key(), 2), neighbour(p.Key()-low.Key(), 2)
}

// keyAlter is the accidental that a key signature gives a letter. Sharps come in the order F C G D A
// E B, flats the other way round.
func keyAlter(step references.Step, fifths int) int8 {
	place := [...]int{references.C: 1, references.D: 3, references.E: 5, references.F: 0, references.G: 2, references.A: 4, references.B: 6}[step]
	if fifths >= 0 {
		return int8((fifths - place + 6) / 7)
	}
	return -int8((-fifths - (6 - place) + 6) / 7)
}
