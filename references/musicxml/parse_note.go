package musicxml

import (
	"math"
	"strings"

	"evenhand/references"
)

var stepOf = map[string]references.Step{
	"C": references.C, "D": references.D, "E": references.E, "F": references.F,
	"G": references.G, "A": references.A, "B": references.B,
}

// note reads one <note>: a rest moves the cursor, a note of a chord does not.
func (s *state) note(e *element) {
	n := note{part: s.index, line: e.line, voice: e.textOf("voice")}
	n.ID = e.attr("id")
	if st, ok := whole(e.textOf("staff")); ok && st > 0 && st <= maxStaves {
		n.staff = st - 1
		s.part.staves = max(s.part.staves, st)
	}
	at := s.at
	chord := e.has("chord")
	if chord {
		at = s.chord
	}
	grace := e.child("grace")
	length, ok := s.noteLength(e, grace != nil)
	if !ok {
		s.warn(e.line, "a note without a length was passed over")
		return
	}
	if !chord {
		s.chord = s.at
		s.at = tame(s.at.Add(length))
		s.reach(s.at)
	} else {
		s.reach(tame(at.Add(length)))
	}
	n.Onset, n.Length = at, length
	n.Pitch, ok = s.pitch(e, n.staff)
	s.notations(e, &n)
	s.print(e, &n, ok, chord)
	if !ok {
		return
	}
	n.Optional = e.has("cue") || e.attr("print-object") == "no" // a pupil need not play what is small or cannot be seen
	ties(e, &n)
	s.grace(&n, grace, chord)
	s.bar.notes = append(s.bar.notes, n)
}

// noteLength is the length of a note: its <duration>, or, where that is missing, its <type>.
// Durations within tuplets are rounded to whole divisions by some writers, and badly: there the type
// and the tuplet tell the exact length, as long as the two are about the same.
func (s *state) noteLength(e *element, grace bool) (references.Quarters, bool) {
	if grace {
		return references.Quarters{}, true
	}
	typed, okType := typeLength(e)
	d := e.child("duration")
	if d == nil {
		return typed, okType
	}
	q, ok := s.length(d.text)
	if !ok {
		return typed, okType
	}
	if okType && q != typed && e.has("time-modification") && math.Abs(q.Float()-typed.Float()) <= typed.Float()/8 {
		return typed, true
	}
	return q, true
}

// typeNames are the values of <type>, in quarters: numerator and denominator.
var typeNames = map[string][2]int64{
	"maxima": {32, 1}, "long": {16, 1}, "breve": {8, 1}, "whole": {4, 1}, "half": {2, 1}, "quarter": {1, 1},
	"eighth": {1, 2}, "16th": {1, 4}, "32nd": {1, 8}, "64th": {1, 16}, "128th": {1, 32},
	"256th": {1, 64}, "512th": {1, 128}, "1024th": {1, 256},
}

// typeLength is the length that <type>, <dot> and <time-modification> give.
func typeLength(e *element) (references.Quarters, bool) {
	v, ok := typeNames[e.textOf("type")]
	if !ok {
		return references.Quarters{}, false
	}
	dots := 0
	for c := e.first; c != nil; c = c.next {
		if c.name == "dot" {
			dots++
		}
	}
	dots = min(dots, 4)
	q := references.Q(v[0], v[1]).Times(int64(2<<dots)-1, int64(1)<<dots)
	if m := e.child("time-modification"); m != nil {
		actual, ok1 := whole(m.textOf("actual-notes"))
		normal, ok2 := whole(m.textOf("normal-notes"))
		if !ok1 || !ok2 || actual <= 0 || normal <= 0 || actual > 1000 || normal > 1000 {
			return references.Quarters{}, false
		}
		q = q.Times(int64(normal), int64(actual))
	}
	return q, true
}

// pitch reads <pitch> and brings it to what sounds. It is false for a rest and for what no piano
// key stands for, which is said.
func (s *state) pitch(e *element, staff int) (references.Pitch, bool) {
	p := e.child("pitch")
	if p == nil {
		if e.has("unpitched") {
			s.warn(e.line, "a note of percussion was passed over")
		} else if !e.has("rest") {
			s.warn(e.line, "a note with no pitch was passed over")
		}
		return references.Pitch{}, false
	}
	step, ok := stepOf[p.textOf("step")]
	octave, ok2 := whole(p.textOf("octave"))
	if !ok || !ok2 || octave < -1 || octave > 10 {
		s.warn(e.line, "a note with no pitch that can be read was passed over")
		return references.Pitch{}, false
	}
	alter := 0
	if a := p.textOf("alter"); a != "" {
		if alter, ok = decimalSigned(a); !ok || abs(alter) > 3 {
			s.warn(e.line, "a note with an accidental of %.20q semitones was passed over", a)
			return references.Pitch{}, false
		}
		if strings.Contains(a, ".") && strings.Trim(a[strings.Index(a, "."):], ".0") != "" {
			s.warn(e.line, "a quarter-tone was taken as the nearest key")
		}
	}
	t := s.shiftOf(staff)
	pitch := references.Pitch{Name: references.Name{Step: step, Alter: int8(alter)}, Octave: int8(octave)}.Up(t.steps, t.semitones)
	if k := pitch.Key(); k < 0 || k > 127 {
		s.warn(e.line, "a note outside the keys of MIDI was passed over")
		return references.Pitch{}, false
	}
	return pitch, true
}

// ties reads <tie>, which tells what sounds; where there is none, <tied>, which tells what is
// printed.
func ties(e *element, n *note) {
	mark := func(c *element) {
		switch c.attr("type") {
		case "start":
			n.tieStart = true
		case "stop":
			n.tieStop = true
		case "continue":
			n.tieStart, n.tieStop = true, true
		}
	}
	for c := e.first; c != nil; c = c.next {
		if c.name == "tie" {
			mark(c)
		}
	}
	if n.tieStart || n.tieStop {
		return
	}
	eachNotation(e, func(c *element) {
		if c.name == "tied" {
			mark(c)
		}
	})
}

// grace reads <grace> and counts grace notes within their run.
func (s *state) grace(n *note, e *element, chord bool) {
	if e == nil {
		if !chord {
			if n.tieStop {
				s.closeGraces(n.voice) // nothing is struck that they lead to
			}
			delete(s.graces, n.voice)
			delete(s.count, n.voice)
		}
		return
	}
	n.Grace = references.Appoggiatura
	switch {
	case e.attr("slash") == "yes":
		n.Grace = references.Acciaccatura
	case e.attr("steal-time-previous") != "":
		n.Grace = references.AfterGrace
	}
	if !chord && s.count[n.voice] < 100 {
		s.count[n.voice]++
	}
	n.GraceOrder = s.count[n.voice]
	s.graces[n.voice] = append(s.graces[n.voice], len(s.bar.notes))
}

// eachNotation calls f for what is inside each <notations>.
func eachNotation(e *element, f func(*element)) {
	for c := e.first; c != nil; c = c.next {
		if c.name == "notations" {
			for g := c.first; g != nil; g = g.next {
				f(g)
			}
		}
	}
}
