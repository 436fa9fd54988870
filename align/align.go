package align

import (
	"cmp"
	"slices"

	"evenhand/capture"
	"evenhand/references"
)

// Align lays the take against the reference: first a dynamic time warping of played notes onto
// written events, which finds where the player was at every moment, whatever was played wrong, left
// out, put in, begun again or gone back over; then note by note within it.
//
// right and left are the octaves, in semitones, by which each hand was played above the register
// the reference is written in; Best finds them.
func Align(ref *references.Reference, take *capture.Take, right, left int) *Alignment {
	p := newPlan(ref, right, left)
	if len(p.events) == 0 {
		return p.align(take, 0)
	}
	// Once without any idea of the tempo, then with the tempo found.
	return p.align(take, p.pace(p.route(take.Notes, 0).path()))
}

// align does the work, at a pace of so many seconds a quarter.
func (p *plan) align(take *capture.Take, spq float64) *Alignment {
	a := &Alignment{Reference: p.ref, Take: take, RightShift: p.right, LeftShift: p.left, AsAsked: true}
	if len(p.events) == 0 {
		for n := range take.Notes {
			a.Pairs = append(a.Pairs, Pair{Expected: -1, Played: n, Near: -1, Verdict: Extra, Why: Other})
		}
		return a
	}
	m := newMatcher(p, take.Notes, p.route(take.Notes, spq).path(), spq, false)
	m.direct()
	m.timing()
	m.again()
	m.uncross()
	m.substitutes()
	m.explain()
	m.leftOut()
	a.Pairs = m.pairs()
	a.Restarts = m.restarts()
	a.Route = m.stretches()
	a.Complete = m.complete()
	return a
}

// pairs puts the verdicts into the order of playing.
func (m *matcher) pairs() []Pair {
	type timed struct {
		at float64
		Pair
	}
	var all []timed
	for n := range m.notes {
		p := m.whys[n]
		if i := m.meant[n]; i >= 0 {
			p = Pair{Expected: i, Played: n, Near: -1, Verdict: Correct}
			if m.wrong[i] {
				p.Verdict = Wrong
			}
		}
		all = append(all, timed{m.sec(n), p})
	}
	// A missing note stands where it should have been, but never before an earlier event.
	for i := range m.keys {
		if m.heard[i] < 0 && !m.ref.Notes[i].Optional && !m.off[m.events[i]] {
			all = append(all, timed{m.when[m.events[i]], Pair{Expected: i, Played: -1, Near: -1, Verdict: Missing}})
		}
	}
	slices.SortStableFunc(all, func(a, b timed) int { return cmp.Compare(a.at, b.at) })
	out := make([]Pair, len(all))
	for k := range all {
		out[k] = all[k].Pair
	}
	return out
}

// restarts lists where playing broke off and went on from further back. Notes tried before the
// start make none.
func (m *matcher) restarts() []Restart {
	var out []Restart
	for r := 1; r < len(m.runs); r++ {
		n := m.runs[r].first
		if m.whys[n-1].Why == Before && m.meant[n-1] < 0 {
			continue
		}
		out = append(out, Restart{
			Played:  n,
			At:      m.notes[n].On,
			From:    m.onset(m.path[n-1].state),
			To:      m.onset(m.path[n].state),
			Fresh:   m.runs[r].fresh,
			Allowed: m.path[n].link,
		})
	}
	return out
}

// leftOut marks the events that were passed over with the score's leave.
func (m *matcher) leftOut() {
	m.off = make([]bool, len(m.plan.events))
	for n := 1; n < len(m.path); n++ {
		to := m.path[n].state
		if !m.path[n].link || !m.owned(n, to) {
			continue
		}
		from := m.path[n-1].state
		for from < to && !slices.Contains(m.links[from], to) {
			from++
		}
		for j := from + 1; j < to; j++ {
			m.off[j] = true
		}
	}
}

// stretches lists what is left of a score when the repeats left out are taken away.
func (m *matcher) stretches() []Stretch {
	if m.ref.Request != nil {
		return nil
	}
	var out []Stretch
	for j := range m.off {
		switch {
		case m.off[j]:
		case j == 0 || m.off[j-1]:
			out = append(out, Stretch{m.onset(int32(j)), m.ends(j)})
		default:
			out[len(out)-1].To = m.ends(j)
		}
	}
	return out
}

// ends is where the music goes on after event j.
func (m *matcher) ends(j int) references.Quarters {
	if j+1 < len(m.plan.events) {
		return m.onset(int32(j + 1))
	}
	end := m.onset(int32(j))
	for i := m.plan.events[j].first; i < m.plan.events[j].last; i++ {
		n := &m.ref.Notes[i]
		if e := n.Onset.Add(n.Length); end.Less(e) {
			end = e
		}
	}
	return end
}

func (m *matcher) onset(j int32) references.Quarters {
	return m.ref.Notes[m.plan.events[j].first].Onset
}

// complete reports whether what is marked reaches the end, or all but one event of it.
func (m *matcher) complete() bool {
	for j := len(m.plan.events) - 1; j >= max(0, len(m.plan.events)-2); j-- {
		for i := m.plan.events[j].first; i < m.plan.events[j].last; i++ {
			if m.heard[i] >= 0 {
				return true
			}
		}
	}
	return false
}
