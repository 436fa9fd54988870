package align

import "evenhand/capture"

// Notes tried before the start are followed by more than this silence, and are soft or single
// (common practice; the figures are chosen by us).
const (
	beforeSilence = 1.0 // s
	beforeSofter  = 10  // velocity units, on average, below the first notes of the playing itself
	beforeFeeling = 2   // the same where they also come singly,
	beforeSlower  = 1.3 // which is this many times slower than the playing
	struckAsOne   = 0.050
)

// explain says of every played note that is none of the expected how it came about.
func (m *matcher) explain() {
	tried := m.tried()
	for n := range m.notes {
		if m.meant[n] >= 0 {
			continue
		}
		why, near := m.why(n, tried)
		m.whys[n] = Pair{Expected: -1, Played: n, Near: near, Verdict: Extra, Why: why}
	}
}

func (m *matcher) why(n, tried int) (Why, int) {
	if n < tried {
		return Before, -1
	}
	if why := m.abandoned(n); why != NoWhy {
		return why, m.nearKey(n)
	}
	if m.hardlySounded(n) {
		return Unheard, -1
	}
	if j := m.path[n].state; m.plan.events[j].free.has(int(m.notes[n].Key)) {
		return Ornament, m.ornamented(j, int(m.notes[n].Key))
	}
	if i := m.grazed(n); i >= 0 {
		return Slip, i
	}
	if i := m.struckAgain(n); i >= 0 {
		return Repeat, i
	}
	if i := m.putRight(n); i >= 0 {
		return Corrected, i
	}
	return Other, -1
}

// tried returns how many notes at the beginning were tried before the start: up to the last silence
// of more than a second that no expected note comes before, where they are soft or stand alone.
func (m *matcher) tried() int {
	count := 0
	for n := 0; n+1 < len(m.notes) && m.meant[n] < 0; n++ {
		if m.sec(n+1)-m.sec(n) <= beforeSilence {
			continue
		}
		if !m.timid(count, n+1) {
			break
		}
		count = n + 1
	}
	return count
}

// timid reports whether the notes [from, to) were struck as one, or are softer than those that
// follow: clearly, or somewhat while they come singly.
func (m *matcher) timid(from, to int) bool {
	const following = 5
	if m.sec(to-1)-m.sec(from) <= struckAsOne {
		return true
	}
	softer := meanVelocity(m.notes[to:min(to+following, len(m.notes))]) - meanVelocity(m.notes[from:to])
	if softer >= beforeSofter {
		return true
	}
	strokes := 0 // after the first; what comes together is one
	for n := from + 1; n < to; n++ {
		if m.sec(n)-m.sec(n-1) > struckAsOne {
			strokes++
		}
	}
	slow := (m.sec(to-1)-m.sec(from))/float64(strokes) >= beforeSlower*m.ioi[0]
	return slow && softer >= beforeFeeling
}

func meanVelocity(notes []capture.Note) float64 {
	sum := 0
	for i := range notes {
		sum += int(notes[i].Velocity)
	}
	return float64(sum) / float64(len(notes))
}

// abandoned says whether n belongs to a run, or part of one, that another playing replaced.
func (m *matcher) abandoned(n int) Why {
	r, j := m.runOf[n], m.path[n].state
	if r >= m.whole {
		return Repeat // after a whole playing
	}
	if m.owner[j] == r {
		return NoWhy
	}
	for k := r + 1; k < len(m.runs); k++ {
		if m.runs[k].low <= j {
			return whyFresh(m.runs[k].fresh)
		}
	}
	return whyFresh(m.runs[r].fresh)
}

func whyFresh(fresh bool) Why {
	if fresh {
		return Again
	}
	return Repeat
}

// nearKey is the expected note that an abandoned note played, -1 where it was none.
func (m *matcher) nearKey(n int) int {
	if m.path[n].move != moveMatch {
		return -1
	}
	return m.expected(m.path[n].state, int(m.notes[n].Key))
}

// struckAgain returns the expected note that n strikes once more: a right note of the same key,
// close by.
func (m *matcher) struckAgain(n int) int {
	for _, k := range m.around(n) {
		i := m.meant[k]
		if i >= 0 && !m.wrong[i] && m.notes[k].Key == m.notes[n].Key &&
			abs(m.sec(k)-m.sec(n)) <= correctShare*m.ioi[m.events[i]] {
			return i
		}
	}
	return -1
}

// putRight returns the expected note that was meant by n and struck soon after it.
func (m *matcher) putRight(n int) int {
	const reach = 5 // semitones; from further off no hand stumbles
	best, bestCost := -1, 0.0
	for k := n + 1; k < len(m.notes); k++ {
		gap := m.sec(k) - m.sec(n)
		if gap > 4 {
			break
		}
		i := m.meant[k]
		if i < 0 || m.wrong[i] || gap < slipWithin/2 {
			continue
		}
		if gap > max(correctShare*m.ioi[m.events[i]], m.beat(i)) {
			continue
		}
		d := abs(float64(int(m.notes[k].Key) - int(m.notes[n].Key)))
		if d == 0 || d > reach {
			continue
		}
		if cost := d + 4*gap/m.ioi[m.events[i]]; best < 0 || cost < bestCost {
			best, bestCost = i, cost
		}
	}
	return best
}

// beat is how long a beat lasts at expected note i, s.
func (m *matcher) beat(i int) float64 {
	e := &m.plan.events[m.events[i]]
	if e.gap == 0 {
		return 0
	}
	return m.ref.Beat.Float() * m.ioi[m.events[i]] / e.gap
}

// around lists the played notes within a few of n, nearest first.
func (m *matcher) around(n int) []int {
	const span = 6
	var out []int
	for d := 1; d <= span; d++ {
		if n-d >= 0 {
			out = append(out, n-d)
		}
		if n+d < len(m.notes) {
			out = append(out, n+d)
		}
	}
	return out
}
