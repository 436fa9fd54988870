package align

import (
	"math/bits"
	"time"

	"evenhand/capture"
	"evenhand/references"
)

// Update is a provisional verdict on one note while somebody plays. A later update on the same note
// takes its place.
type Update struct {
	Pair
	Revised bool // an earlier update on this played note said something else
}

// Follower says, note by note, where the player is and how each note was. It keeps every accepted
// reading in mind, in every octave, until the notes rule it out. What it says may be revised; what
// is marked is [Best] of the finished take.
type Follower struct {
	readings []*reading
	lead     *reading // the reading that fits best so far

	notes  []capture.Note
	said   []Pair  // by played note, the last verdict told
	story  []int32 // by played note, its cell along the lead's best path
	passed []bool  // by expected note of the lead: told as missing
	jumped bool    // the story has gone back at least once
	spq    float64

	updates []Update // of the last note
}

// reading is one reference in one octave, being followed.
type reading struct {
	*router
	index int // of the candidate
}

// NewFollower follows the candidates of one request, the likeliest first, or a single score. It
// panics where there are none.
func NewFollower(candidates []*references.Reference) *Follower {
	// Room for what a clean playing needs, and some mistakes: no note waits while what is there is copied.
	n := len(candidates[0].Notes) * 3 / 2
	f := &Follower{notes: make([]capture.Note, 0, n), said: make([]Pair, 0, n), story: make([]int32, 0, n)}
	for i, ref := range candidates {
		for _, shift := range octaves(ref) {
			f.readings = append(f.readings, &reading{newRouter(newPlan(ref, shift, shift), 0), i})
		}
	}
	f.lead = f.readings[0]
	return f
}

// octaves lists the shifts in semitones that keep a request on the piano, none first. A score is
// played where it is written.
func octaves(ref *references.Reference) []int {
	if ref.Request == nil || len(ref.Notes) == 0 {
		return []int{0}
	}
	low, high := ref.Notes[0].Key(), ref.Notes[0].Key()
	for i := range ref.Notes {
		low, high = min(low, ref.Notes[i].Key()), max(high, ref.Notes[i].Key())
	}
	out := []int{0}
	for s := 12; s <= 60; s += 12 {
		if low-s >= pianoLow {
			out = append(out, -s)
		}
		if high+s <= pianoHigh {
			out = append(out, s)
		}
	}
	return out
}

// The keys of a full piano, A0 to C8.
const (
	pianoLow  = 21
	pianoHigh = 108
)

// Note takes the next key struck and returns what it changes, good until the next call. The note's
// release is not yet known and is not looked at.
func (f *Follower) Note(n capture.Note) []Update {
	f.notes = append(f.notes, n)
	key, now := int(n.Key), n.On.Seconds()
	if len(f.notes) == 1 {
		f.admit(key)
	}
	for _, r := range f.readings {
		r.router.spq = f.spq
		r.step(key, now)
	}
	f.drop()
	f.updates = f.tell()
	f.spq = f.pace()
	return f.updates
}

// admit keeps, at the first note, the readings that begin with it; all of them where none does.
func (f *Follower) admit(key int) {
	var fit []*reading
	for _, r := range f.readings {
		if r.plan.events[0].keys.has(key) {
			fit = append(fit, r)
		}
	}
	if len(fit) > 0 {
		f.readings = fit
	}
}

// drop gives up readings that have fallen far behind the best.
func (f *Follower) drop() {
	best := f.readings[0]
	for _, r := range f.readings {
		if r.total < best.total {
			best = r
		}
	}
	kept := f.readings[:0]
	for _, r := range f.readings {
		if r.total <= best.total+costCutoff {
			kept = append(kept, r)
		}
	}
	f.readings = kept
	// The lead changes only for a reading that is truly better, not for a tie.
	if f.lead.total > best.total || !f.has(f.lead) {
		f.lead = best
		f.story, f.passed = f.story[:0], nil
	}
}

func (f *Follower) has(r *reading) bool {
	for _, x := range f.readings {
		if x == r {
			return true
		}
	}
	return false
}

// tell follows the lead's best path back to where it parts from the one told before.
func (f *Follower) tell() []Update {
	r := f.lead
	if f.passed == nil {
		f.passed = make([]bool, len(r.plan.keys))
	}
	from := len(f.notes) - 1
	for c := r.best(); from >= 0; from-- {
		if from < len(f.story) && f.story[from] == c {
			break
		}
		f.story = grow(f.story, from+1)
		f.story[from] = c
		f.jumped = f.jumped || r.cells.at(c).jump
		c = r.cells.at(c).back
	}
	from++
	if f.jumped {
		return f.retell()
	}
	out := f.updates[:0]
	for n := from; n < len(f.notes); n++ {
		out = f.say(out, n, f.verdict(n))
	}
	return f.overdue(out)
}

func grow(s []int32, n int) []int32 {
	for len(s) < n {
		s = append(s, -1)
	}
	return s
}

// retell goes over the whole take again, as a jump may have replaced what was played before.
func (f *Follower) retell() []Update {
	p := f.lead.plan
	path := make([]cell, len(f.story))
	for n, c := range f.story {
		path[n] = *f.lead.cells.at(c)
	}
	m := newMatcher(p, f.notes, path, f.spq, true)
	out := f.updates[:0]
	for n := range f.notes {
		pair := f.verdict(n)
		if j := path[n].state; pair.Verdict != Missing && m.owner[j] != m.runOf[n] && !(path[n].move == moveLate && m.owned(n, j-1)) {
			pair = Pair{Expected: -1, Played: n, Near: m.nearKey(n), Verdict: Extra, Why: m.abandoned(n)}
		}
		out = f.say(out, n, pair)
	}
	return f.overdue(out)
}

// say stores a verdict and adds it to the updates where it is news.
func (f *Follower) say(out []Update, n int, p Pair) []Update {
	if n < len(f.said) {
		if f.said[n] == p {
			return out
		}
		f.said[n] = p
		return append(out, Update{p, true})
	}
	f.said = append(f.said, p)
	return append(out, Update{p, false})
}

// verdict reads the cell of a played note.
func (f *Follower) verdict(n int) Pair {
	r := f.lead
	c := r.cells.at(f.story[n])
	got, prev := c.got, c.prev
	if c.back >= 0 {
		if b := r.cells.at(c.back); b.state == c.state && !c.jump {
			got &^= b.got
			prev &^= b.prev
		}
	}
	p := Pair{Expected: -1, Played: n, Near: -1}
	switch c.move {
	case moveMatch:
		p.Expected = r.plan.events[c.state].first + bits.TrailingZeros32(got)
	case moveLate:
		p.Expected = r.plan.events[c.state-1].first + bits.TrailingZeros32(prev)
	case moveWrong:
		p.Expected, p.Verdict = r.plan.events[c.state].first+bits.TrailingZeros32(got), Wrong
	default:
		p.Verdict, p.Why = Extra, f.guess(n, c)
	}
	return p
}

// guess says how an extra note probably came about.
func (f *Follower) guess(n int, c *cell) Why {
	if f.lead.plan.events[c.state].keys.has(int(f.notes[n].Key)) {
		return Repeat
	}
	if n > 0 {
		d := int(f.notes[n].Key) - int(f.notes[n-1].Key)
		if d*d <= 4 && (f.notes[n].On-f.notes[n-1].On).Seconds() <= slipWithin {
			return Slip
		}
	}
	return Other
}

// overdue adds the notes that the player has passed over, two events back and more, so that a hand
// that comes a little late is not called missing.
func (f *Follower) overdue(out []Update) []Update {
	r := f.lead
	last := r.cells.at(f.story[len(f.story)-1])
	low := max(0, int(last.state)-maxSkip-2)
	for j := low; j <= int(last.state)-2; j++ {
		for i := r.plan.events[j].first; i < r.plan.events[j].last; i++ {
			if !f.passed[i] && !r.plan.ref.Notes[i].Optional && !f.heardLately(i) {
				f.passed[i] = true
				out = append(out, Update{Pair{Expected: i, Played: -1, Near: -1, Verdict: Missing}, false})
			}
		}
	}
	return out
}

// heardLately reports whether one of the last notes was told to be the expected note i.
func (f *Follower) heardLately(i int) bool {
	const lately = 8 * maxSkip
	for n := len(f.said) - 1; n >= 0 && n >= len(f.said)-lately; n-- {
		if f.said[n].Expected == i {
			return true
		}
	}
	return false
}

// pace is the tempo of the last few steps, in seconds a quarter.
func (f *Follower) pace() float64 {
	const last = 12
	var room [last]cell
	path := room[:0]
	for _, c := range f.story[max(0, len(f.story)-last):] {
		path = append(path, *f.lead.cells.at(c))
	}
	if spq := f.lead.plan.pace(path); spq > 0 {
		return spq
	}
	return f.spq
}

// Where is the expected event the player has reached, by the index of its first note, and Reading
// the index of the candidate that fits best, with the octaves in semitones it was shifted by. Before
// the first note it is -1.
func (f *Follower) Where() (note, reading, shift int) {
	if len(f.story) == 0 {
		return -1, f.lead.index, f.lead.plan.right
	}
	state := f.lead.cells.at(f.story[len(f.story)-1]).state
	return f.lead.plan.events[state].first, f.lead.index, f.lead.plan.right
}

// Silences after which a take is over, s and in steps from one event to the next (common practice;
// chosen by us).
const (
	endSilence = 5.0
	endSteps   = 8.0
	doneSilent = 1.0
	doneSteps  = 3.0
)

// Advance tells the follower the time when no note comes, and how many keys are down. It reports
// whether the take has ended: the last note has been reached and the keys are up, or nothing has
// been played for the longer of five seconds and eight steps.
func (f *Follower) Advance(now time.Duration, down int) bool {
	if len(f.notes) == 0 {
		return false
	}
	silent := (now - f.notes[len(f.notes)-1].On).Seconds()
	step := 0.0
	if e := f.lead.plan.events; len(e) > 1 {
		step = f.spq * e[len(e)-1].gap
	}
	if f.atEnd() && down == 0 && silent >= max(doneSilent, doneSteps*step) {
		return true
	}
	return silent >= max(endSilence, endSteps*step) && down == 0 || silent >= 4*max(endSilence, endSteps*step)
}

// atEnd reports whether the last event has been reached and all of it played.
func (f *Follower) atEnd() bool {
	c := f.lead.cells.at(f.story[len(f.story)-1])
	p := f.lead.plan
	return int(c.state) == len(p.events)-1 && c.move != moveExtra && p.missing(c.state, c.got) == 0
}
