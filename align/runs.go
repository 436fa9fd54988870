package align

import "evenhand/capture"

// run is a stretch of playing with no going back: the played notes [first, last), and the events
// from low to high.
type run struct {
	first, last int
	low, high   int32
	fresh       bool // begun after a pause, or more than an octave or a bar back
}

// runs cuts a path where it goes back.
func (p *plan) runs(path []cell, notes []capture.Note, spq float64) []run {
	var out []run
	for n := range path {
		c := &path[n]
		if n == 0 || c.jump && c.state <= path[n-1].state {
			r := run{first: n, low: c.state, high: c.state}
			if n > 0 {
				r.fresh = p.isFresh(path[n-1].state, c.state, (notes[n].On - notes[n-1].On).Seconds(), spq)
			}
			out = append(out, r)
		}
		r := &out[len(out)-1]
		r.last = n + 1
		if c.move == moveMatch {
			r.high = max(r.high, c.state)
		}
	}
	return out
}

// isFresh tells a fresh start from going back a few notes.
func (p *plan) isFresh(from, to int32, gap, spq float64) bool {
	if gap >= max(pauseFloor, stopFactor*spq*p.events[min(int(from)+1, len(p.events)-1)].gap) {
		return true
	}
	if p.ref.Request != nil {
		return int(from-to) >= p.octave()
	}
	bar := p.ref.BarLength.Float()
	return bar > 0 && p.events[from].onset-p.events[to].onset >= bar
}

// octave is how many events the first octave of a scale or arpeggio has.
func (p *plan) octave() int {
	for j := range p.events {
		if d := p.keys[p.events[j].last-1] - p.keys[p.events[0].last-1]; d >= 12 || d <= -12 {
			return j
		}
	}
	return len(p.events)
}

// marked chooses which playing of each event is marked: the last one, except that a last run given
// up does not replace one that went further, and nothing after a whole playing counts. It returns
// the run of each event, -1 where none reached it, and how many runs there were up to the end of
// the first whole playing. While somebody plays, the run they are in is presumed to go on to the end.
func (p *plan) marked(runs []run, path []cell, playing bool) (owner []int, whole int) {
	n := len(p.events)
	cur := fill(n, -1)
	owner = fill(n, -1)
	reach, best := int32(-1), int32(-1)
	for r := range runs {
		for j := runs[r].low; int(j) < n; j++ {
			cur[j] = -1
			if j <= runs[r].high {
				cur[j] = r
			}
		}
		reach = runs[r].high
		if reach >= best || playing && r == len(runs)-1 {
			best = reach
			copy(owner, cur)
		}
		if int(reach) == n-1 && p.covered(cur, runs, path) {
			return stretch(owner), r + 1
		}
	}
	return stretch(owner), len(runs)
}

// stretch gives events that no run reached to the run before them, or after them at the beginning:
// a wrong note at either end belongs to it.
func stretch(owner []int) []int {
	last := -1
	for j := range owner {
		if owner[j] < 0 {
			owner[j] = last
		}
		last = owner[j]
	}
	for j := len(owner) - 2; j >= 0; j-- {
		if owner[j] < 0 {
			owner[j] = owner[j+1]
		}
	}
	return owner
}

// covered reports whether most events were really played in the runs that own them: a chance match
// with the last note does not make a whole playing.
func (p *plan) covered(owner []int, runs []run, path []cell) bool {
	const most = 0.6 // chosen by us
	seen := make([]bool, len(p.events))
	count := 0
	for r := range runs {
		for n := runs[r].first; n < runs[r].last; n++ {
			j := path[n].state
			if path[n].move != moveExtra && owner[j] == r && !seen[j] {
				seen[j] = true
				count++
			}
		}
	}
	return float64(count) >= most*float64(len(seen))
}

func fill(n, v int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = v
	}
	return s
}
