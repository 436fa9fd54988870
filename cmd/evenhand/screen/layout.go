package screen

import (
	"evenhand/references"
)

// margin is the columns left of a staff, where the hand is named.
const margin = 6

// Columns from one event to the next: at least so many, a name and a space, and at most so many.
const (
	narrow = 2
	wide   = 5
)

// stave is the music paper of one hand in one system.
type stave struct {
	hand  references.Hand
	lines [5]int // the staff's lines, as diatonic numbers
	steps int    // diatonic steps to a row
	low   int    // the lowest row, counted in rows from the lowest line
	rows  int
}

// The lines of the two staves, as diatonic numbers: E4 to F5 and G2 to A3.
var (
	treble = [5]int{30, 32, 34, 36, 38}
	bass   = [5]int{18, 20, 22, 24, 26}
)

// middleC is the diatonic number of C4.
const middleC = 28

// diatonic numbers the letters upwards, seven to the octave.
func diatonic(p references.Pitch) int { return int(p.Octave)*7 + int(p.Step) }

// row is where a diatonic number lies, in rows from the lowest line.
func (s *stave) row(d int) int {
	d -= s.lines[0]
	if d < 0 {
		return -((-d + s.steps - 1) / s.steps)
	}
	return d / s.steps
}

// system is as much of the music as stands on the page at once.
type system struct {
	from, to int // events
	width    int // of the paper
	staves   []stave
}

// x is the column of event e. All are equally far apart, so that nothing looks uneven that is not.
func (s *system) x(e int) int {
	n := s.to - s.from
	return margin + 1 + (e-s.from)*min(max((s.width-margin-2)/n, 1), wide)
}

// hands are the hands a reference is written for: what is of no known hand is written with the right.
func hands(ref *references.Reference) []references.Hand {
	var right, left bool
	for i := range ref.Notes {
		switch ref.Notes[i].Hand {
		case references.Left:
			left = true
		case references.Both:
			left, right = true, true
		default:
			right = true
		}
	}
	switch {
	case right && left:
		return []references.Hand{references.Right, references.Left}
	case left:
		return []references.Hand{references.Left}
	}
	return []references.Hand{references.Right}
}

// written with a hand's stave.
func belongs(n *references.Note, h references.Hand) bool {
	return n.Hand.Has(h) || h == references.Right && n.Hand == references.NoHand
}

// layout cuts the music into systems for a page of so many columns and rows, which include a row under
// each stave for the pencil. One system is best, with a row for each step of the scale; then two steps
// to a row; then several systems, that end with bars or where a scale turns.
func layout(w *written, width, rows int) []system {
	hs := hands(w.ref)
	each := max(3, rows/len(hs)-1)
	most := max(1, (width-margin-2)/narrow)
	if w.events() <= most {
		for steps := 1; steps <= 2; steps++ {
			if s, ok := fit(w, hs, 0, w.events(), steps, width, each); ok {
				return []system{s}
			}
		}
	}
	var out []system
	for from := 0; from < w.events(); {
		s := longest(w, hs, from, min(most*narrow/3, w.events()-from), width, each)
		out = append(out, s)
		from = s.to
	}
	return out
}

// longest is the system from an event on that holds the most, up to so many events.
func longest(w *written, hs []references.Hand, from, most, width, rows int) system {
	best := system{}
	broken := 0
	for to := from + 1; to <= from+max(1, most); to++ {
		s, ok := fit(w, hs, from, to, 2, width, rows)
		if !ok {
			break
		}
		best = s
		if to == w.events() || w.ends(to) {
			broken = to
		}
	}
	switch {
	case best.to == 0: // one event is too wide for the rows: more steps to a row
		for steps := 3; ; steps++ {
			if s, ok := fit(w, hs, from, from+1, steps, width, rows); ok {
				return s
			}
		}
	case broken > from && broken < best.to:
		best, _ = fit(w, hs, from, broken, 2, width, rows)
	}
	return best
}

// ends reports whether a bar or a direction of a scale ends before event e.
func (w *written) ends(e int) bool {
	a, b := &w.ref.Notes[w.first[e]-1], &w.ref.Notes[w.first[e]]
	if len(w.ref.Bars) > 0 {
		return a.Measure != b.Measure
	}
	return a.Direction != b.Direction
}

// fit makes a system of events [from, to), where its staves have no more than so many rows each.
func fit(w *written, hs []references.Hand, from, to, steps, width, rows int) (system, bool) {
	s := system{from: from, to: to, width: width}
	for _, h := range hs {
		st, ok := staveOf(w, h, from, to, steps, rows)
		if !ok {
			return s, false
		}
		s.staves = append(s.staves, st)
	}
	return s, true
}

func staveOf(w *written, h references.Hand, from, to, steps, rows int) (stave, bool) {
	low, high, sum, n := 0, 0, 0, 0
	for i := w.first[from]; i < w.first[to]; i++ {
		if !belongs(&w.ref.Notes[i], h) {
			continue
		}
		d := diatonic(w.pitch(i))
		if n == 0 {
			low, high = d, d
		}
		low, high, sum, n = min(low, d), max(high, d), sum+d, n+1
	}
	s := stave{hand: h, steps: steps, lines: treble}
	if n == 0 && h == references.Left || n > 0 && sum < middleC*n {
		s.lines = bass
	}
	bottom, top := s.row(s.lines[0]), s.row(s.lines[4])
	if n > 0 {
		bottom, top = s.row(low), s.row(high)
	}
	if top-bottom+1 > rows {
		return s, false
	}
	// The five lines, as far as there is room; then as much paper as there is, up to a row beyond.
	for range rows {
		switch {
		case top-bottom+1 >= rows:
		case top < s.row(s.lines[4]):
			top++
		case bottom > s.row(s.lines[0]):
			bottom--
		}
	}
	s.low, s.rows = bottom, top-bottom+1
	return s, true
}
