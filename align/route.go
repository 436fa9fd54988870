package align

import (
	"math/bits"
	"slices"

	"evenhand/capture"
)

// move is how a played note was explained.
type move uint8

const (
	moveMatch move = iota // the key of a note of the event
	moveLate              // the key of an open note of the event before
	moveWrong             // another key in place of a note of the event
	moveExtra             // nothing that is written
)

// allPlayed is the mask of an event whose notes no later note can still be: after a jump, nothing of
// the event before is owed.
const allPlayed = ^uint32(0)

// cell is one way to explain the notes up to one played note: the event reached, which of its notes
// have been played, and the cell it came from.
type cell struct {
	state     int32
	back      int32 // index into all cells, -1 at the start
	cost      float32
	since     float32 // when the event was entered, s
	got, prev uint32  // notes played of this event, and of the one before
	move      move
	jump      bool  // came by going back or by a jump
	link      bool  // came by leaving out a repeat, as the score allows
	proving   int8  // after a jump, how many more notes must be right at once for it to be believed
	same      int32 // while a step is worked out: the next cell of the same event, -1
}

// router is the warping itself: dynamic programming over played notes and written events, where only
// the stories near the best are kept, so that time and memory grow with the length of the take and
// not with its square.
type router struct {
	plan  *plan
	spq   float64 // seconds a quarter; 0 while it is not known
	cells cells   // of all notes
	steps []int32 // where the cells of each note begin
	last  float64 // time of the note before

	slot    []int32 // by event: index into next, valid where stamp says so
	stamp   []int32
	entry   []entry // by event: what beginning it with the note means
	next    []cell
	n       int32
	key     int
	now     float64
	pause   bool
	missing []float32 // what passing over each event costs
	total   float64   // cost of the best story so far
	hoped   float32   // least hope after the note before

	troubles uint8 // a bit for each of the last notes that could not be explained, the latest lowest
}

// entry is what beginning an event with the present note means: the note of the event that it is, or
// was meant for, and the cost.
type entry struct {
	n    int32 // the note this was worked out for
	bit  uint32
	cost float32
	move move
}

func newRouter(p *plan, spq float64) *router {
	n := len(p.events)
	r := &router{
		plan: p, spq: spq,
		slot: make([]int32, n), stamp: make([]int32, n), entry: make([]entry, n), missing: make([]float32, n),
	}
	for j := range p.events {
		r.missing[j] = p.owed(int32(j), 0)
	}
	return r
}

// settled is what the note of event j with the bit takes off the cost by coming: less than 0.
func (r *router) settled(j int32, bit uint32) float32 {
	return r.plan.owed(j, ^uint32(0)) - r.plan.owed(j, ^bit)
}

// route explains the whole take.
func (p *plan) route(notes []capture.Note, spq float64) *router {
	r := newRouter(p, spq)
	for i := range notes {
		r.step(int(notes[i].Key), notes[i].On.Seconds())
	}
	return r
}

// step takes one more played note.
func (r *router) step(key int, now float64) {
	r.n++
	r.key, r.now = key, now
	r.pause = r.silent(now - r.last)
	r.last = now
	r.next = r.next[:0]
	if len(r.steps) == 0 {
		r.begin()
	} else {
		r.advance()
	}
	r.keep()
}

// silent reports whether a gap is a pause, for the time that the next event was to take.
func (r *router) silent(gap float64) bool {
	if len(r.steps) == 0 {
		return false
	}
	if r.spq == 0 {
		return gap >= 1
	}
	best := r.cells.at(r.steps[len(r.steps)-1])
	for c := r.steps[len(r.steps)-1]; c < r.cells.count; c++ {
		if r.cells.at(c).cost < best.cost {
			best = r.cells.at(c)
		}
	}
	next := r.plan.events[min(int(best.state)+1, len(r.plan.events)-1)].gap
	return gap >= max(pauseFloor, pauseFactor*r.spq*next)
}

// begin enters the reference at its first note, or a little later, or wherever else the key is
// written.
func (r *router) begin() {
	lead := float32(0)
	start := cell{back: -1, prev: allPlayed}
	for j := 0; j < len(r.plan.events) && j <= maxSkip; j++ {
		start.cost = min(lead, costTrimmedStart)
		r.enter(start, int32(j), 0)
		lead += r.missing[j]
	}
	start.cost, start.jump = costTrimmedStart, true
	for _, j := range r.plan.at[r.key] {
		if j > maxSkip {
			r.enter(start, j, 0)
		}
	}
	// A note before the beginning, that is not yet any of it.
	r.offer(cell{back: -1, cost: costExtra + r.missing[0], since: float32(r.now), prev: allPlayed, move: moveExtra})
}

func (r *router) advance() {
	from := r.steps[len(r.steps)-1]
	best := from
	for c := from; c < r.cells.count; c++ {
		prev := *r.cells.at(c)
		prev.back = c
		if prev.cost < r.cells.at(best).cost {
			best = c
		}
		r.stay(prev)
		r.ahead(prev)
		r.shortBack(prev)
	}
	r.troubles <<= 1
	if r.trouble() {
		r.troubles |= 1
	}
	switch {
	case len(r.plan.events) <= smallPlan, r.pause, bits.OnesCount8(r.troubles) >= lost:
		r.jump(*r.cells.at(best), best, len(r.plan.events))
	case r.troubles&1 != 0:
		r.jump(*r.cells.at(best), best, nearby)
	}
}

// trouble reports whether no story explains the note without a fault.
func (r *router) trouble() bool {
	for i := range r.next {
		if r.hope(&r.next[i]) < r.hoped+costExtra/2 {
			return false
		}
	}
	return true
}

// stay explains the note without leaving the event.
func (r *router) stay(prev cell) {
	prev.jump, prev.link = false, false
	j := prev.state
	c := prev
	if bit := r.plan.find(j, r.key, prev.got); bit != 0 {
		c.got |= bit
		c.move = moveMatch
		c.proving = max(0, c.proving-1)
		c.cost += r.lateness(j, float64(prev.since)) + r.settled(j, bit)
		if r.pause {
			c.cost += costBroken
		}
		r.offer(c)
		return
	}
	if j > 0 {
		if bit := r.plan.find(j-1, r.key, prev.prev); bit != 0 && r.plan.otherHand(j, prev.got, bit) {
			c.prev |= bit
			c.move = moveLate
			c.cost += costLate + r.settled(j-1, bit)
			r.offer(c)
		}
	}
	if prev.proving > 0 {
		return
	}
	c = prev
	c.move = moveExtra
	if r.plan.events[j].free.has(r.key) {
		c.cost += costOrnament
	} else {
		c.cost += costExtra + r.inTime(prev)
	}
	r.offer(c)
	if bit, cost := r.plan.nearest(j, r.key, prev.got); bit != 0 {
		c = prev
		c.got |= bit
		c.move = moveWrong
		c.cost += cost + r.lateness(j, float64(prev.since)) + r.settled(j, bit)
		r.offer(c)
	}
}

// hopeless is a cost no story can have and be kept: the best story so far costs 0, and calling the
// note extra is always possible.
const hopeless = costCutoff + costExtra + costTime

// ahead goes on to the next event or passes over a few.
func (r *router) ahead(prev cell) {
	prev.jump, prev.link = false, false
	cost := prev.cost
	for d := int32(1); d <= maxSkip && int(prev.state+d) < len(r.plan.events); d++ {
		j := prev.state + d
		if d > 1 {
			cost += r.missing[j-1]
		}
		if cost > hopeless || d > 1 && prev.proving > 0 {
			return
		}
		c := prev
		c.cost = cost
		c.prev = 0
		if d == 1 {
			c.prev = prev.got
		}
		for _, to := range r.plan.links[j-1] {
			l := c
			l.cost += costLink
			l.prev = allPlayed
			l.link, l.jump = true, to <= j-1
			r.enter(l, to, 0)
		}
		r.enter(c, j, r.hurry(prev, j))
	}
}

// enter begins event j with the note, as right or wrong; after a jump it must be right. The notes of
// the event that are still to come are charged as missing from the beginning, and taken off as they
// come: so two stories about one moment can be compared.
func (r *router) enter(c cell, j int32, late float32) {
	e := &r.entry[j]
	if e.n != r.n {
		*e = entry{n: r.n, bit: r.plan.find(j, r.key, 0)}
		if e.bit == 0 {
			e.move = moveWrong
			e.bit, e.cost = r.plan.nearest(j, r.key, 0)
		}
		e.cost += r.missing[j] + r.settled(j, e.bit)
	}
	if e.bit == 0 { // nothing but grace notes, which no wrong note is taken for
		return
	}
	if (c.jump || c.proving > 0) && e.move != moveMatch {
		return
	}
	c.proving = max(0, c.proving-1)
	c.state, c.since = j, float32(r.now)
	c.got, c.move = e.bit, e.move
	c.cost += e.cost + late
	r.offer(c)
}

// shortBack goes back a few events to one that holds the key.
func (r *router) shortBack(prev cell) {
	if prev.proving > 0 || prev.cost+costBack-costPauseRelief > hopeless {
		return
	}
	prev.cost -= r.plan.owed(prev.state, prev.got)
	prev.prev, prev.jump, prev.link = allPlayed, true, false
	for d := int32(1); d <= maxShortBack && d <= prev.state; d++ {
		if !r.plan.events[prev.state-d].keys.has(r.key) {
			continue
		}
		c := prev
		c.cost += costBack + costBackStep*float32(d)
		if r.plan.ref.Request == nil {
			c.cost += costScoreBack
		}
		if r.pause {
			c.cost -= costPauseRelief
		}
		r.enter(c, prev.state-d, 0)
	}
}

// jump goes from the best story so far to events that hold the key: the nearest most of them on
// either side, and the beginning.
func (r *router) jump(best cell, index int32, most int) {
	from := best.state
	best.cost -= r.plan.owed(from, best.got)
	best.back, best.prev, best.jump, best.link = index, allPlayed, true, false
	if len(r.plan.events) > smallPlan {
		best.proving = proof
	}
	at := r.plan.at[r.key]
	here, _ := slices.BinarySearch(at, from)
	low, high := max(0, here-most), min(len(at), here+most)
	if low > 0 && at[0] == 0 {
		c := best
		c.cost += r.jumpCost(from, 0)
		r.enter(c, 0, 0)
	}
	for _, j := range at[low:high] {
		c := best
		c.cost += r.jumpCost(from, j)
		r.enter(c, j, 0)
	}
}

// jumpCost is the cost of going on from event to after event from, by what was played in between.
func (r *router) jumpCost(from, to int32) float32 {
	cost := float32(costJumpAhead)
	switch {
	case to == 0:
		cost = costJumpToStart
	case to <= from:
		cost = costJumpBack
	}
	switch {
	case to == 0 && r.pause:
		cost -= costAfresh
	case to <= from && r.pause:
		cost -= costPauseRelief
	}
	if r.plan.ref.Request != nil {
		return cost
	}
	off := min(max(to-from, from-to), farEvents)
	cost += costFar * float32(off) / farEvents
	if to <= from {
		return cost + costScoreBack
	}
	return cost - costScoreAhead
}

// hurry is the cost of coming to event j too soon or too late after the event of prev.
func (r *router) hurry(prev cell, j int32) float32 {
	if r.spq == 0 {
		return 0
	}
	e := &r.plan.events[j]
	written := (e.onset - r.plan.events[prev.state].onset) * r.spq
	off := (r.now - float64(prev.since) - written) / max(e.gap*r.spq, 0.05)
	return costTime * float32(min(1, max(off, -off)))
}

// inTime is the cost of calling extra what came just when the next event was due: it was most likely
// meant for it.
func (r *router) inTime(prev cell) float32 {
	if r.spq == 0 || int(prev.state)+1 >= len(r.plan.events) {
		return 0
	}
	return costTime - r.hurry(prev, prev.state+1)
}

// lateness is the cost of a note that comes long after its event was entered.
func (r *router) lateness(j int32, since float64) float32 {
	if r.spq == 0 {
		return 0
	}
	off := (r.now - since) / max(r.plan.events[j].gap*r.spq, 0.05)
	return costTime * float32(min(1, off))
}

// offer keeps the cell where no other way to its event is better. Two ways that have different notes
// of a chord behind them are both kept, for the notes that are still to come will tell, unless one
// could not even then be the cheaper.
func (r *router) offer(c cell) {
	c.same = -1
	if r.stamp[c.state] != r.n {
		r.stamp[c.state] = r.n
		r.slot[c.state] = int32(len(r.next))
		r.next = append(r.next, c)
		return
	}
	least := c.cost - r.plan.owed(c.state, c.got)
	for k := r.slot[c.state]; ; k = r.next[k].same {
		old := &r.next[k]
		switch {
		case old.got == c.got:
			if c.cost < old.cost {
				c.same = old.same
				*old = c
			}
			return
		case least >= old.cost:
			return
		case old.same < 0:
			old.same = int32(len(r.next))
			r.next = append(r.next, c)
			return
		}
	}
}

// keep stores what is within reach of the best, if the rest of each event is still to come, with the
// costs told from the least.
func (r *router) keep() {
	low, hope := r.next[0].cost, r.hope(&r.next[0])
	for i := range r.next {
		low = min(low, r.next[i].cost)
		hope = min(hope, r.hope(&r.next[i]))
	}
	r.total += float64(low)
	r.hoped = hope - low
	r.steps = append(r.steps, r.cells.count)
	for i := range r.next {
		c := &r.next[i]
		if dear := r.hope(c) - hope; dear <= costDoubt || c.proving > 0 && dear <= costCutoff {
			kept := *c
			kept.cost -= low
			r.cells.add(kept)
		}
	}
}

// hope is what a cell costs if the rest of its event is still to come.
func (r *router) hope(c *cell) float32 { return c.cost - r.plan.owed(c.state, c.got) }

// best is the index of the cell of the last note that fits best, if the rest of its event is still to
// come; of equals, the one furthest on.
func (r *router) best() int32 {
	b := r.steps[len(r.steps)-1]
	least := r.hope(r.cells.at(b))
	for c := b + 1; c < r.cells.count; c++ {
		if o := r.hope(r.cells.at(c)); o < least || o == least && r.cells.at(c).state > r.cells.at(b).state {
			b, least = c, o
		}
	}
	return b
}

// path returns the cell of each played note along the cheapest story.
func (r *router) path() []cell {
	out := make([]cell, 0, len(r.steps))
	if len(r.steps) == 0 {
		return out
	}
	for c := r.best(); c >= 0; c = r.cells.at(c).back {
		out = append(out, *r.cells.at(c))
	}
	slices.Reverse(out)
	return out
}

// pace estimates seconds a quarter from a route: the median over steps from one event to the next.
// It is 0 where there are none.
func (p *plan) pace(path []cell) float64 {
	var room [16]float64
	paces := room[:0]
	for i := 1; i < len(path); i++ {
		a, b := &path[i-1], &path[i]
		if b.state != a.state+1 || b.jump || b.move != moveMatch {
			continue
		}
		if gap := p.events[b.state].gap; gap > 0 {
			paces = append(paces, float64(b.since-a.since)/gap)
		}
	}
	if len(paces) == 0 {
		return 0
	}
	slices.Sort(paces)
	return paces[len(paces)/2]
}
