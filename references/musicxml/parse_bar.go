package musicxml

import (
	"math"
	"strings"

	"evenhand/references"
)

// state is what holds on from bar to bar of one part.
type state struct {
	score     *score
	part      *part
	index     int                 // of the part, in order of appearance
	divisions references.Quarters // of a quarter note
	fifths    int                 // the key as written
	transpose map[int]shift       // by staff; 0 for all staves
	meter     references.Meter

	bar    *bar
	at     references.Quarters // the cursor
	chord  references.Quarters // onset of the last note that is not of a chord
	graces map[string][]int    // by voice: the grace notes that still lead to nothing
	count  map[string]int8     // by voice: the order of the last grace note
	page   pageState
}

// shift is a <transpose>: letters and semitones from the written to the sounding pitch.
type shift struct{ steps, semitones int }

func newState(s *score, pt *part, index int) *state {
	return &state{
		score: s, part: pt, index: index, divisions: references.Q(1, 1),
		transpose: map[int]shift{}, graces: map[string][]int{}, count: map[string]int8{},
	}
}

func (s *state) warn(line int, format string, args ...any) {
	s.score.warn(s.bar.number, line, format, args...)
}

// measure reads one <measure> of a part.
func (s *state) measure(e *element, number string, implicit bool) {
	s.part.bars = append(s.part.bars, bar{number: number, implicit: implicit, line: e.line})
	s.bar = &s.part.bars[len(s.part.bars)-1]
	s.at, s.chord = references.Quarters{}, references.Quarters{}
	s.holdPage()
	for c := e.first; c != nil; c = c.next {
		switch c.name {
		case "attributes":
			s.attributes(c)
		case "note":
			s.note(c)
		case "backup":
			s.move(c, -1)
		case "forward":
			s.move(c, 1)
		case "direction":
			s.direction(c)
		case "sound":
			s.sound(c, &sign{at: s.at, staff: -1, part: s.index, line: c.line})
		case "barline":
			s.barline(c)
		}
	}
	s.endBar()
	for c := e.first; c != nil; c = c.next {
		if c.name == "measure" { // of a bar that was not closed
			s.measure(c, c.attr("number"), c.attr("implicit") == "yes")
		}
	}
}

// endBar settles what can only be known at the end of a bar: grace notes that lead to no further
// note close the one before.
func (s *state) endBar() {
	for voice := range s.graces {
		s.closeGraces(voice)
		delete(s.graces, voice)
	}
	clear(s.count)
	s.endPage()
}

// closeGraces makes the grace notes of a voice that lead to nothing close the note before.
func (s *state) closeGraces(voice string) {
	for _, i := range s.graces[voice] {
		s.bar.notes[i].Grace = references.AfterGrace
	}
}

// finish is called at the end of the score.
func (s *state) finish() { joinSlurs(s.score, s.part) }

// move reads <backup> and <forward>.
func (s *state) move(e *element, way int64) {
	d, ok := s.length(e.textOf("duration"))
	if !ok {
		s.warn(e.line, "<%s> without a duration was passed over", e.name)
		return
	}
	s.at = tame(s.at.Add(d.Times(way, 1)))
	if s.at.Less(references.Quarters{}) {
		s.warn(e.line, "<backup> goes back beyond the start of the bar: taken as its start")
		s.at = references.Quarters{}
	}
	s.reach(s.at)
}

// reach makes the bar at least as long as a place in it.
func (s *state) reach(q references.Quarters) {
	if s.bar.length.Less(q) {
		s.bar.length = q
	}
}

// maxDuration bounds one duration, in quarters: far longer than any bar.
const maxDuration = 10_000

// length turns a <duration> into quarters.
func (s *state) length(text string) (references.Quarters, bool) {
	d, ok := decimal(text)
	if !ok || s.divisions.Num() <= 0 {
		return references.Quarters{}, false
	}
	if d.Float()/s.divisions.Float() > maxDuration {
		return references.Quarters{}, false
	}
	// What has so many digits that it cannot be told exactly is no length either.
	q := d.Times(s.divisions.Den(), s.divisions.Num())
	if off := q.Float() - d.Float()/s.divisions.Float(); math.Abs(off) > 1e-6 {
		return references.Quarters{}, false
	}
	return tame(q), true
}

// attributes reads <attributes>. Clefs and octave signs do not change pitches, which MusicXML
// gives as they sound; a transposing instrument does.
func (s *state) attributes(e *element) {
	for c := e.first; c != nil; c = c.next {
		if c.name == "transpose" { // it comes after the key, which is told as it sounds
			s.transposition(c)
		}
	}
	for c := e.first; c != nil; c = c.next {
		switch c.name {
		case "divisions":
			if d, ok := decimal(c.text); ok && d.Num() > 0 && d.Float() <= 1e6 {
				s.divisions = d
			} else {
				s.warn(c.line, "divisions of %.20q were passed over", c.text)
			}
		case "key":
			s.key(c)
		case "time":
			s.time(c)
		case "staves":
			if n, ok := whole(c.text); ok && n > 0 && n <= maxStaves {
				s.part.staves = max(s.part.staves, n)
			}
		case "clef":
			s.clef(c)
		}
	}
}

// maxStaves bounds the staves of a part. Organ music has three, some piano music four.
const maxStaves = 16

func (s *state) clef(e *element) {
	staff := 0
	if n, ok := whole(e.attr("number")); ok && n > 0 && n <= maxStaves {
		staff = n - 1
	}
	for len(s.part.clefs) <= staff {
		s.part.clefs = append(s.part.clefs, 0)
	}
	s.printClef(e, staff)
	if s.part.clefs[staff] == 0 {
		switch e.textOf("sign") {
		case "G":
			s.part.clefs[staff] = 1
		case "F":
			s.part.clefs[staff] = -1
		}
	}
}

func (s *state) transposition(e *element) {
	staff, _ := whole(e.attr("number"))
	if s.score.concert {
		return
	}
	chromatic, _ := decimalSigned(e.textOf("chromatic"))
	diatonic, ok := whole(e.textOf("diatonic"))
	if !ok {
		diatonic = (chromatic*7 + 6*sign1(chromatic)) / 12
	}
	octaves, _ := whole(e.textOf("octave-change"))
	if abs(chromatic) > 48 || abs(octaves) > 4 || abs(diatonic) > 28 {
		s.warn(e.line, "a transposition of %d semitones and %d octaves was passed over", chromatic, octaves)
		return
	}
	s.transpose[staff] = shift{diatonic + 7*octaves, chromatic + 12*octaves}
}

// shiftOf is the transposition of a staff, counted from 0.
func (s *state) shiftOf(staff int) shift {
	if t, ok := s.transpose[staff+1]; ok {
		return t
	}
	return s.transpose[0]
}

// decimalSigned reads a number of semitones, rounded to whole ones.
func decimalSigned(text string) (int, bool) {
	text = strings.TrimSpace(text)
	q, ok := decimal(strings.TrimPrefix(text, "-"))
	n := int(q.Float() + 0.5)
	if strings.HasPrefix(text, "-") {
		n = -n
	}
	return n, ok
}

func abs(n int) int { return max(n, -n) }

func sign1(n int) int {
	switch {
	case n < 0:
		return -1
	case n > 0:
		return 1
	}
	return 0
}

// key reads <key>, told as it sounds. Two staves with different keys count with the upper one's.
func (s *state) key(e *element) {
	s.printKey(e)
	if n, ok := whole(e.attr("number")); ok && n > 1 {
		return
	}
	fifths, ok := whole(e.textOf("fifths"))
	if !ok || abs(fifths) > 14 {
		s.warn(e.line, "a key signature that is not a number of sharps or flats was passed over")
		return
	}
	s.fifths = fifths
	t := s.shiftOf(0)
	sounding := fifths + 7*t.semitones - 12*t.steps
	mode := strings.ToLower(e.textOf("mode"))
	s.bar.keys = append(s.bar.keys, references.KeyChange{
		Onset: s.at, Fifths: sounding, Minor: mode == "minor" || mode == "aeolian",
	})
}

// time reads <time>: one or several fractions, whose numerators may be sums.
func (s *state) time(e *element) {
	s.printTime(e)
	if n, ok := whole(e.attr("number")); ok && n > 1 {
		return
	}
	var sum references.Meter
	if e.has("senza-misura") {
		s.meter, s.bar.meter = sum, &sum
		return
	}
	beats := 0
	for c := e.first; c != nil; c = c.next {
		switch c.name {
		case "beats":
			beats = 0
			for _, f := range strings.Split(c.text, "+") {
				n, _ := whole(f)
				beats += n
			}
		case "beat-type":
			unit, _ := whole(c.text)
			if beats <= 0 || beats > 512 || unit <= 0 || unit > 512 || unit&(unit-1) != 0 {
				s.warn(e.line, "a time signature of %d/%d was passed over", beats, unit)
				return
			}
			sum = addMeter(sum, references.Meter{Beats: beats, Unit: unit})
		}
	}
	if sum.Unit == 0 {
		s.warn(e.line, "a time signature without numbers was passed over")
		return
	}
	s.meter, s.bar.meter = sum, &sum
}

// addMeter adds two fractions over the smaller unit: 3/8 + 3/4 is 9/8.
func addMeter(a, b references.Meter) references.Meter {
	if a.Unit == 0 {
		return b
	}
	unit := max(a.Unit, b.Unit)
	return references.Meter{Beats: a.Beats*unit/a.Unit + b.Beats*unit/b.Unit, Unit: unit}
}
