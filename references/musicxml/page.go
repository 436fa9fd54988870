package musicxml

import (
	"sort"
	"strings"

	"evenhand/references"
)

// pageState is what holds on from bar to bar of what is printed.
type pageState struct {
	key   references.PageBar // Fifths, Mode, Custom
	time  references.PageBar // Symbol, Added
	now   map[int]references.ClefSign
	clefs []clefChange // of this bar
}

// clefChange is a clef that stands in a bar: what comes at its place or later on the staff has it,
// whatever voice is read first.
type clefChange struct {
	at    references.Quarters
	staff int
	clef  references.ClefSign
}

// printClef reads a <clef>.
func (s *state) printClef(e *element, staff int) {
	line, _ := whole(e.textOf("line"))
	up, _ := whole(e.textOf("clef-octave-change"))
	c := references.ClefSign{Sign: e.textOf("sign"), Line: line, Up: up}
	if e.attr("print-object") == "no" {
		c.Sign = ""
	}
	s.page.clefs = append(s.page.clefs, clefChange{s.at, staff, c})
}

// printKey reads a <key> as it looks.
func (s *state) printKey(e *element) {
	fifths, ok := whole(e.textOf("fifths"))
	if n, has := whole(e.attr("number")); has && n > 1 {
		s.page.key.Custom = s.page.key.Custom || fifths != s.page.key.Fifths
	} else {
		s.page.key = references.PageBar{
			Fifths: fifths, Mode: strings.ToLower(e.textOf("mode")),
			Custom: !ok || abs(fifths) > 7 || e.attr("print-object") == "no",
		}
	}
	if s.at == (references.Quarters{}) {
		s.holdPage()
	}
}

// printTime reads a <time> as it looks.
func (s *state) printTime(e *element) {
	fractions := 0
	for c := e.first; c != nil; c = c.next {
		if c.name == "beats" {
			fractions++
			if strings.Contains(c.text, "+") {
				fractions++
			}
		}
	}
	symbol := e.attr("symbol")
	odd := fractions != 1 || e.attr("print-object") == "no" || e.attr("number") != ""
	if symbol != "common" && symbol != "cut" {
		odd = odd || symbol != "" && symbol != "normal"
		symbol = ""
	}
	s.page.time = references.PageBar{Symbol: symbol, Added: odd}
	s.holdPage()
}

// holdPage writes the signatures that hold now into the bar.
func (s *state) holdPage() {
	p := &s.bar.page
	p.Fifths, p.Mode, p.Custom = s.page.key.Fifths, s.page.key.Mode, s.page.key.Custom
	p.Symbol, p.Added = s.page.time.Symbol, s.page.time.Added
}

// direct adds a direction to the page.
func (s *state) direct(kind, text string, g sign) {
	s.bar.page.Directions = append(s.bar.page.Directions, references.Directive{Kind: kind, Text: text, At: g.at, Staff: max(g.staff, 0)})
}

// printDirection reads a child of <direction-type> that is no words.
func (s *state) printDirection(c *element, g sign) {
	if c.attr("print-object") == "no" {
		return
	}
	switch c.name {
	case "dynamics":
		s.direct("dynamics", dynamicsText(c), g)
	case "wedge", "pedal", "octave-shift":
		s.direct(c.name, c.attr("type"), g)
	case "segno", "coda":
		s.direct(c.name, "", g)
	case "metronome":
		unit := c.textOf("beat-unit")
		if c.has("beat-unit-dot") {
			unit += "."
		}
		s.direct("metronome", unit+" = "+tidy(c.textOf("per-minute")), g)
	}
}

// dynamicsText is a <dynamics> as letters: two children that stand together are one sign.
func dynamicsText(e *element) string {
	text := ""
	for c := e.first; c != nil; c = c.next {
		if c.name == "other-dynamics" {
			text += tidy(c.text)
		} else {
			text += c.name
		}
	}
	return text
}

// print adds a note or a rest to the page.
func (s *state) print(e *element, n *note, pitched, chord bool) {
	rest := e.child("rest")
	if !pitched && rest == nil {
		return
	}
	p := references.Printed{
		ID: n.ID, Onset: n.Onset, Length: n.Length, Rest: rest != nil, Value: printedValue(e), Staff: n.staff, Voice: n.voice,
		Chord: chord, Grace: e.has("grace"), Accidental: e.textOf("accidental"),
		Hidden: e.has("cue") || e.attr("print-object") == "no" || quarterTone(e),
	}
	if rest != nil {
		p.WholeBar = rest.attr("measure") == "yes"
	} else {
		t := s.shiftOf(n.staff)
		p.Pitch = n.Pitch.Up(-t.steps, -t.semitones)
	}
	tied := note{}
	ties(e, &tied)
	p.TieStart, p.TieStop = tied.tieStart, tied.tieStop
	eachNotation(e, func(c *element) {
		switch c.name {
		case "slur":
			p.SlurStart = p.SlurStart || c.attr("type") == "start"
			p.SlurStop = p.SlurStop || c.attr("type") == "stop"
		case "articulations", "ornaments":
			for m := c.first; m != nil; m = m.next {
				p.Marks = append(p.Marks, m.name)
			}
		case "fermata", "arpeggiate":
			p.Marks = append(p.Marks, c.name)
		case "dynamics":
			s.direct("dynamics", dynamicsText(c), sign{at: n.Onset, staff: n.staff})
		}
	})
	s.bar.page.Notes = append(s.bar.page.Notes, p)
}

// quarterTone reports whether a note is none of the twelve.
func quarterTone(e *element) bool {
	p := e.child("pitch")
	return p != nil && strings.Trim(strings.TrimLeft(p.textOf("alter"), "-0123456789"), ".0") != ""
}

// printedValue is how a note looks.
func printedValue(e *element) references.Value {
	var v references.Value
	if t, ok := typeNames[e.textOf("type")]; ok {
		v.Type = references.Q(t[0], t[1])
	}
	for c := e.first; c != nil; c = c.next {
		if c.name == "dot" {
			v.Dots++
		}
	}
	if m := e.child("time-modification"); m != nil {
		v.Actual, _ = whole(m.textOf("actual-notes"))
		v.Normal, _ = whole(m.textOf("normal-notes"))
	}
	return v
}

// endPage gives the notes of a bar the clefs they stand under.
func (s *state) endPage() {
	if s.page.now == nil {
		s.page.now = map[int]references.ClefSign{}
	}
	for i := range s.bar.page.Notes {
		n := &s.bar.page.Notes[i]
		n.Clef = s.page.now[n.Staff]
		for _, c := range s.page.clefs {
			if c.staff == n.Staff && !n.Onset.Less(c.at) {
				n.Clef = c.clef
			}
		}
	}
	for _, c := range s.page.clefs {
		s.page.now[c.staff] = c.clef
	}
	s.page.clefs = nil
}

// printStaves counts the staves of what is printed in a bar over all parts, and gives each its hand.
func (b *bar) printStaves(first int, hands []references.Hand) {
	for i := range b.page.Notes {
		n := &b.page.Notes[i]
		n.Staff += first
		n.Hand = hands[n.Staff]
	}
	for i := range b.page.Directions {
		b.page.Directions[i].Staff += first
	}
}

// page puts the page together.
func (w *written) page() *references.Page {
	p := &references.Page{Bars: make([]references.PageBar, len(w.bars))}
	for i := range w.bars {
		b := &w.bars[i]
		out := b.page
		out.Number, out.Length, out.Skip, out.Meter, out.Signs = b.number, b.length, w.skip[i], w.meter[i], b.nav
		for j := range out.Notes {
			n := &out.Notes[j]
			plain := n.Value.Dots == 0 && (n.Value.Type == references.Quarters{} || n.Value.Type == references.Q(4, 1))
			n.WholeBar = n.WholeBar || n.Rest && plain && n.Length == out.Meter.Length()
		}
		sort.SliceStable(out.Directions, func(i, j int) bool { return out.Directions[i].At.Less(out.Directions[j].At) })
		p.Bars[i] = out
	}
	return p
}
