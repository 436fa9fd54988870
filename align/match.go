package align

import (
	"cmp"
	"slices"
	"time"

	"evenhand/capture"
	"evenhand/references"
)

// Windows of the note-by-note pass. The slip's are the trade's words made numbers (common
// practice); the others are chosen by us, as shares of the time between two events.
const (
	slipWithin   = 0.050 // s beside the right note
	slipShort    = 0.101 // s; a tenth, and the grain of a file's clock
	slipSofter   = 15    // velocity units
	slipSteps    = 2     // semitones
	meantSteps   = 12    // semitones; no key further off is meant for another, but whole octaves off
	briefShare   = 0.40  // of the length of the right note beside it
	ghostShare   = 10    // times as loud are the notes around what was hardly sounded
	nearShare    = 0.35  // this near to where a note is missing, a wrong key is meant for it
	sameShare    = 1.20  // a right key this near to its place is that note
	wrongShare   = 0.60  // a wrong key this near to its place is meant for that note
	strikeShare  = 0.50  // struck again sooner than this, the first stroke counts
	correctShare = 1.50  // a wrong key is put right within this
)

// matcher goes from the coarse route to single notes.
type matcher struct {
	*plan
	notes []capture.Note
	path  []cell
	runs  []run
	owner []int
	whole int
	spq   float64

	runOf  []int     // of played notes
	heard  []int     // played note of each expected note, -1
	wrong  []bool    // by expected note: heard is another key
	meant  []int     // expected note of each played note, -1
	when   []float64 // time of each event, s
	ioi    []float64 // local time between events at each event, s
	events []int32   // event of each expected note
	off    []bool    // by event: left out with the score's leave
	whys   []Pair    // by played note: verdict and why of extras
}

func newMatcher(p *plan, notes []capture.Note, path []cell, spq float64, playing bool) *matcher {
	m := &matcher{plan: p, notes: notes, path: path, spq: spq}
	m.runs = p.runs(path, notes, spq)
	m.owner, m.whole = p.marked(m.runs, path, playing)
	m.runOf = make([]int, len(notes))
	for r := range m.runs {
		for n := m.runs[r].first; n < m.runs[r].last; n++ {
			m.runOf[n] = r
		}
	}
	m.heard = fill(len(p.keys), -1)
	m.wrong = make([]bool, len(p.keys))
	m.meant = fill(len(notes), -1)
	m.whys = make([]Pair, len(notes))
	m.events = make([]int32, len(p.keys))
	for j := range p.events {
		for i := p.events[j].first; i < p.events[j].last; i++ {
			m.events[i] = int32(j)
		}
	}
	return m
}

// owned reports whether what was played in n for event j is what is marked.
func (m *matcher) owned(n int, j int32) bool {
	return j >= 0 && m.owner[j] == m.runOf[n]
}

func (m *matcher) sec(n int) float64 { return m.notes[n].On.Seconds() }

func (m *matcher) link(i, n int, wrong bool) {
	m.heard[i], m.meant[n], m.wrong[i] = n, i, wrong
}

// direct gives each expected note the played one that the route says.
func (m *matcher) direct() {
	strokes := make([][]int, len(m.keys)) // of the last expected note of an event and key
	for n := range m.notes {
		c := &m.path[n]
		j := c.state
		if c.move == moveLate {
			j--
		}
		if !m.owned(n, j) || m.hardlySounded(n) {
			continue
		}
		if i := m.expected(j, int(m.notes[n].Key)); i >= 0 {
			strokes[i] = append(strokes[i], n)
		}
	}
	var several []int
	for i := range strokes {
		same := m.sameKey(i)
		if len(strokes[i]) > len(same) {
			several = append(several, i)
			continue
		}
		// Fewer strokes than notes: the main note has one before its grace note.
		m.linkAll(same[len(same)-len(strokes[i]):], strokes[i])
	}
	for _, i := range several {
		if same := m.sameKey(i); len(same) > 1 {
			m.linkAll(same, strokes[i][len(strokes[i])-len(same):])
			continue
		}
		m.link(i, m.choose(i, strokes[i]), false)
	}
}

func (m *matcher) linkAll(expected, played []int) {
	for k, i := range expected {
		m.link(i, played[k], false)
	}
}

// expected returns the last note of event j with the key, or -1.
func (m *matcher) expected(j int32, key int) int {
	e := &m.plan.events[j]
	for i := e.last - 1; i >= e.first; i-- {
		if int(m.keys[i]) == key {
			return i
		}
	}
	return -1
}

// sameKey lists the notes of i's event that have its key: with grace notes there may be several.
func (m *matcher) sameKey(i int) []int {
	var same []int
	e := &m.plan.events[m.events[i]]
	for k := e.first; k < e.last; k++ {
		if m.keys[k] == m.keys[i] {
			same = append(same, k)
		}
	}
	return same
}

// choose tells which of several strokes of one key is the note. Of an ornament it is the first; where
// other notes of the same moment were struck once, the one nearest to them; of a note that an ornament
// right after it may be begun with, the first; else the last, since what is marked is the last playing of
// each place, but of a bounce, two strokes faster than the music goes, the first.
func (m *matcher) choose(i int, strokes []int) int {
	e := &m.plan.events[m.events[i]]
	if m.ref.Notes[i].Ornament != references.NoOrnament {
		return strokes[0]
	}
	sum, count := 0.0, 0
	for k := e.first; k < e.last; k++ {
		if n := m.heard[k]; n >= 0 {
			sum += m.sec(n)
			count++
		}
	}
	best := strokes[0]
	if count == 0 && m.plan.mayBegin(m.events[i]+1, int(m.keys[i])) {
		return best
	}
	for _, n := range strokes[1:] {
		if count > 0 {
			if mean := sum / float64(count); abs(m.sec(n)-mean) < abs(m.sec(best)-mean) {
				best = n
			}
			continue
		}
		if m.sec(n)-m.sec(best) >= strikeShare*m.step(m.events[i]) {
			best = n
		}
	}
	return best
}

// step is the time between events at j while only the pace of the whole is known, s.
func (m *matcher) step(j int32) float64 {
	if m.spq > 0 {
		return m.spq * m.plan.events[j].gap
	}
	return 0.3
}

// timing works out when each event came, or would have come, and the local time between events.
func (m *matcher) timing() {
	n := len(m.plan.events)
	m.when, m.ioi = make([]float64, n), make([]float64, n)
	var at []int // events with a right note
	for j := 0; j < n; j++ {
		e := &m.plan.events[j]
		sum, count := 0.0, 0
		for i := e.first; i < e.last; i++ {
			if k := m.heard[i]; k >= 0 {
				sum += m.sec(k)
				count++
			}
		}
		if count > 0 {
			m.when[j] = sum / float64(count)
			at = append(at, j)
		}
	}
	pace := m.localPace(at)
	for j, next := 0, 0; j < n; j++ {
		for next < len(at) && at[next] < j {
			next++
		}
		m.ioi[j] = max(pace(j)*m.plan.events[j].gap, 0.02)
		onset := m.plan.events[j].onset
		switch {
		case len(at) == 0 || next < len(at) && at[next] == j:
		case next == 0:
			m.when[j] = m.when[at[0]] - (m.plan.events[at[0]].onset-onset)*pace(j)
		case next == len(at):
			last := at[next-1]
			m.when[j] = m.when[last] + (onset-m.plan.events[last].onset)*pace(j)
		default:
			a, b := at[next-1], at[next]
			share := (onset - m.plan.events[a].onset) / (m.plan.events[b].onset - m.plan.events[a].onset)
			m.when[j] = m.when[a] + share*(m.when[b]-m.when[a])
		}
	}
}

// localPace returns the seconds a quarter around an event: the median of the steps nearby.
func (m *matcher) localPace(at []int) func(j int) float64 {
	const around = 4
	type step struct {
		at  int
		spq float64
	}
	var steps []step
	for k := 1; k < len(at); k++ {
		a, b := at[k-1], at[k]
		if d := m.plan.events[b].onset - m.plan.events[a].onset; d > 0 && m.when[b] > m.when[a] && m.owner[a] == m.owner[b] {
			steps = append(steps, step{b, (m.when[b] - m.when[a]) / d})
		}
	}
	return func(j int) float64 {
		if len(steps) == 0 {
			return m.spq
		}
		k, _ := slices.BinarySearchFunc(steps, j, func(s step, j int) int { return s.at - j })
		var near []float64
		for _, s := range steps[max(0, k-around):min(len(steps), k+around)] {
			near = append(near, s.spq)
		}
		slices.Sort(near)
		return near[len(near)/2]
	}
}

// again finds right keys that the route overlooked, a little before or after their place.
func (m *matcher) again() {
	m.pairUp(func(i, n int) (cost float64, ok bool) {
		if int(m.notes[n].Key) != int(m.keys[i]) {
			return 0, false
		}
		j := m.events[i]
		off := abs(m.sec(n)-m.when[j]) / m.ioi[j]
		return off, off <= sameShare || m.inPlace(n, j)
	}, false)
}

// inPlace reports whether n came after the event before j and before the one after it, so that it is a note of
// j that came long before or after the others: as when a player stops within a chord.
func (m *matcher) inPlace(n int, j int32) bool {
	return (j == 0 || m.when[j-1] < m.sec(n)) && (int(j)+1 == len(m.when) || m.sec(n) < m.when[j+1])
}

// uncross has the notes of one key, within a run, stand in the order in which they are written.
func (m *matcher) uncross() {
	type place struct {
		key int16
		run int
	}
	expected := map[place][]int{}
	for i, n := range m.heard {
		if n >= 0 {
			at := place{m.keys[i], m.runOf[n]}
			expected[at] = append(expected[at], i)
		}
	}
	for _, is := range expected {
		if slices.IsSortedFunc(is, func(a, b int) int { return m.heard[a] - m.heard[b] }) {
			continue
		}
		played := make([]int, len(is))
		for k, i := range is {
			played[k] = m.heard[i]
		}
		slices.Sort(played)
		m.linkAll(is, played)
	}
}

// substitutes pairs keys that were struck in place of others. What grazed a right note is none of
// them, unless it came just where a note is missing that lies as near, and was held as the notes beside it.
func (m *matcher) substitutes() {
	m.pairUp(func(i, n int) (cost float64, ok bool) {
		j := m.events[i]
		off := abs(m.sec(n)-m.when[j]) / m.ioi[j]
		told := m.path[n].move == moveWrong && m.path[n].state == j
		if off > wrongShare && !(told && off <= 2) || m.bounced(n, j) {
			return 0, false
		}
		d := away(m.notes[n].Key, uint8(m.keys[i]))
		if d > meantSteps && (d%12 != 0 || m.notes[n].Length().Seconds() < slipShort) {
			return 0, false
		}
		if g := m.grazed(n); g >= 0 && (off > nearShare || d > slipSteps || m.brief(n, g)) {
			return 0, false
		}
		cost = off + float64(wrongCost(int(m.notes[n].Key)-int(m.keys[i])))
		if told {
			cost -= 0.2
		}
		return cost + float64(d)/12, true
	}, true)
}

// pairUp links open expected notes with open played ones of the run that is marked there, cheapest
// first.
func (m *matcher) pairUp(price func(i, n int) (float64, bool), wrong bool) {
	type offer struct {
		cost float64
		i, n int
	}
	var offers []offer
	for n := range m.notes {
		if m.meant[n] >= 0 || m.hardlySounded(n) {
			continue
		}
		low, high := max(0, m.path[n].state-3), min(int32(len(m.plan.events))-1, m.path[n].state+3)
		for j := low; j <= high; j++ {
			if !m.owned(n, j) {
				continue
			}
			for i := m.plan.events[j].first; i < m.plan.events[j].last; i++ {
				if m.heard[i] >= 0 {
					continue
				}
				if cost, ok := price(i, n); ok {
					offers = append(offers, offer{cost, i, n})
				}
			}
		}
	}
	slices.SortStableFunc(offers, func(a, b offer) int { return cmp.Compare(a.cost, b.cost) })
	for _, o := range offers {
		if m.heard[o.i] < 0 && m.meant[o.n] < 0 {
			m.link(o.i, o.n, wrong)
		}
	}
}

// grazed returns the right note beside which n was grazed, -1 where it was not: a key one or two
// semitones from it, within 50 ms, and short or clearly softer.
func (m *matcher) grazed(n int) int {
	p := &m.notes[n]
	for k := n - 1; k >= 0 && m.sec(n)-m.sec(k) <= slipWithin; k-- {
		if m.isGraze(p, k) {
			return m.meant[k]
		}
	}
	for k := n + 1; k < len(m.notes) && m.sec(k)-m.sec(n) <= slipWithin; k++ {
		if m.isGraze(p, k) {
			return m.meant[k]
		}
	}
	return -1
}

func (m *matcher) isGraze(p *capture.Note, k int) bool {
	q := &m.notes[k]
	d := away(p.Key, q.Key)
	return m.meant[k] >= 0 && !m.wrong[m.meant[k]] && d >= 1 && d <= slipSteps &&
		(p.Length().Seconds() < slipShort || int(p.Velocity) <= int(q.Velocity)-slipSofter)
}

// hardlySounded reports whether n was struck so much more softly than the notes around it that it was no
// stroke: keys that settle, or are held down again, send such notes.
func (m *matcher) hardlySounded(n int) bool {
	const most = 127
	if ghostShare*int(m.notes[n].Velocity) >= most {
		return false
	}
	near := m.around(n)
	velocities := make([]int, len(near))
	for i, k := range near {
		velocities[i] = int(m.notes[k].Velocity)
	}
	slices.Sort(velocities)
	return len(near) > 0 && ghostShare*int(m.notes[n].Velocity) < velocities[len(near)/2]
}

// bounced reports whether n strikes once more a key of event j that was struck rightly just before.
func (m *matcher) bounced(n int, j int32) bool {
	i := m.expected(j, int(m.notes[n].Key))
	return i >= 0 && m.heard[i] >= 0 && m.heard[i] < n && !m.wrong[i]
}

// brief reports whether n was let go much sooner than the right note of i, beside which it was grazed.
func (m *matcher) brief(n, i int) bool {
	long := m.notes[m.heard[i]].Length()
	return m.notes[n].Length().Seconds() < slipShort && m.notes[n].Length() < time.Duration(briefShare*float64(long))
}

// away is how many semitones lie between two keys.
func away(a, b uint8) int { return max(int(a)-int(b), int(b)-int(a)) }

func abs(x float64) float64 { return max(x, -x) }
