package pupil

import (
	"slices"

	"evenhand/references"
)

// barOnsets are the onsets of the i-th bar as played, from lo up to but not including hi.
func (s *score) barOnsets(i int) (lo, hi int) {
	bar := &s.ref.Bars[i]
	return s.onsetFrom(bar.Onset), s.onsetFrom(bar.Onset.Add(bar.Length))
}

// onsetFrom is the first onset at a place or after it; their number where there is none.
func (s *score) onsetFrom(q references.Quarters) int {
	if n := s.firstFrom(q); n < len(s.ref.Notes) {
		return s.onset[n]
	}
	return s.onsets()
}

// barOf is the bar that onset e is in, -1 where the music has no bars.
func (s *score) barOf(e int) int {
	on := s.ref.Notes[s.bounds[e]].Onset
	i, found := slices.BinarySearchFunc(s.ref.Bars, on, func(b references.Bar, q references.Quarters) int { return b.Onset.Cmp(q) })
	if !found {
		i--
	}
	return i
}

// endsBar reports whether onset e is the last of its bar.
func (s *score) endsBar(e int) bool {
	return len(s.ref.Bars) > 0 && (e+1 == s.onsets() || s.barOf(e) != s.barOf(e+1))
}

// leaves finds the repeat that can be left out after onset e, and the onset to go on from.
func (s *score) leaves(e int) (jump references.Jump, to int, ok bool) {
	for _, j := range s.ref.Jumps {
		if j.Why != references.LeaveRepeat || j.From < 1 || j.From >= len(s.ref.Bars) || j.To >= len(s.ref.Bars) {
			continue
		}
		from, to := s.onsetFrom(s.ref.Bars[j.From].Onset), s.onsetFrom(s.ref.Bars[j.To].Onset)
		if from == e+1 && to > from && to < s.onsets() {
			return j, to, true
		}
	}
	return references.Jump{}, 0, false
}

// barRules reports whether the rules let a fault of pieces be after onset e.
func (p *performance) barRules(f Fault, e int) bool {
	s := p.s
	switch f.Kind {
	case BarAgain:
		if !s.endsBar(e) || !s.midway(e) {
			return false
		}
		lo, _ := s.barOnsets(s.barOf(e))
		return e-lo >= 1 && !slices.Equal(s.keys(lo), s.keys(e+1))
	case Leap:
		return s.endsBar(e) && s.midway(e) && len(p.landings(e)) > 0
	case RepeatLeftOut:
		_, _, ok := s.leaves(e)
		return ok
	}
	return true
}

// landings are the onsets that a leap after onset e may lead to: the beginnings of the bars two to four
// further on, that begin unlike any place from the beginning of this bar on, where something else comes
// before, and after which there is more to come.
func (p *performance) landings(e int) []int {
	var out []int
	bar := p.s.barOf(e)
	first, _ := p.s.barOnsets(bar)
	for i := bar + 3; i <= bar+5 && i < len(p.s.ref.Bars); i++ {
		lo, hi := p.s.barOnsets(i)
		if hi > lo && hi < p.s.onsets() && !p.s.foretold(lo, first) && !slices.Equal(p.s.keys(lo-1), p.s.keys(e)) {
			out = append(out, lo)
		}
	}
	return out
}

// foretold reports whether the music from onset lo on begins like that of some onset from from on: two
// onsets alike would lead a listener astray.
func (s *score) foretold(lo, from int) bool {
	for e := from; e < lo; e++ {
		if slices.Equal(s.keys(e), s.keys(lo)) && slices.Equal(s.keys(e+1), s.keys(lo+1)) {
			return true
		}
	}
	return false
}

// barBack draws the beginning of a bar for a fresh start after onset e: of this one, or one or two
// before.
func (p *performance) barBack(e int) int {
	bar := max(p.s.barOf(e)-p.faults.IntN(3), 0)
	lo, _ := p.s.barOnsets(bar)
	if lo > e || slices.Equal(p.s.keys(lo), p.s.keys(min(e+1, p.s.onsets()-1))) {
		return 0
	}
	return p.s.bounds[lo]
}

// aimInPiece is aim for the faults of pieces.
func (p *performance) aimInPiece(f Fault) (Fault, bool) {
	note := &p.s.ref.Notes[f.At]
	switch f.Kind {
	case BarAgain, Leap, RepeatLeftOut:
		return p.aimAtBar(f)
	case OrnamentLeftOut:
		return f, note.Ornament != references.NoOrnament
	case RestFilled:
		return f, p.rests(f.At)
	case HandLate, CutShort:
		return f, note.Hand != references.Both
	case PassedRit, PassedFermata:
		return f, p.s.signed(f)
	case FlatDynamics:
		return f, p.shaded(f)
	case EvenSwung, DottedSlack:
		found := false
		lo, hi := p.stretch(f)
		p.pairs(map[Kind]float64{EvenSwung: 1, DottedSlack: 3}[f.Kind], f.Ratio, lo, hi, func(int, float64) { found = true })
		return f, found
	}
	return f, true
}

// aimAtBar finds where a fault of bars goes on, and reports whether there is such a place.
func (p *performance) aimAtBar(f Fault) (Fault, bool) {
	e := p.s.onset[f.At]
	switch f.Kind {
	case BarAgain:
		bar := -1
		if len(p.s.ref.Bars) > 0 {
			bar = p.s.barOf(e)
		}
		if bar < 0 {
			return f, false
		}
		lo, hi := p.s.barOnsets(bar)
		if lo >= hi {
			return f, false
		}
		f.At, f.To = p.s.bounds[hi-1], p.s.bounds[lo]
		return f, true
	case RepeatLeftOut:
		_, to, ok := p.s.leaves(e)
		if ok {
			f.To = p.s.bounds[to]
		}
		return f, ok
	}
	if f.To == Anywhere && len(p.s.ref.Bars) > 0 {
		if to := p.landings(e); len(to) > 0 {
			f.To = p.s.bounds[to[p.faults.IntN(len(to))]]
		}
	}
	return f, f.To >= 0 && f.To < len(p.s.ref.Notes) && p.s.onset[f.To] > e+1
}

// rests reports whether the hand of note n rests after it for at least half a beat.
func (p *performance) rests(n int) bool {
	note := &p.s.ref.Notes[n]
	if note.Grace != references.NoGrace || note.Hand == references.Both {
		return false
	}
	end := note.Onset.Add(note.Length)
	for m := n + 1; m < len(p.s.ref.Notes); m++ {
		next := &p.s.ref.Notes[m]
		if next.Hand.Has(note.Hand) && note.Onset.Less(next.Onset) {
			return next.Onset.Sub(end).Float() >= beatOf(p.s.ref)/2
		}
	}
	return false
}

// signed reports whether a sign that the fault passes over is at its note.
func (s *score) signed(f Fault) bool {
	return slices.ContainsFunc(s.ref.Marks, func(m references.Mark) bool { return f.passes(m.Kind) && s.under(m, f.At) })
}
