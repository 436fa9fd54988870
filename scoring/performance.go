package scoring

import (
	"evenhand/align"
	"evenhand/references"
)

// performance is an alignment laid out for measuring: what became of each expected note, and each
// hand's part as a row of steps.
type performance struct {
	*align.Alignment
	limits  Limits
	strokes []stroke // by index of the expected note
	event   []int    // by index of the expected note: which onset of the reference it belongs to
	starts  []int    // references.Reference.Events
	lines   []line   // right, left, or the one line of a score that names no hands
	all     line     // both hands as one
	cut     []int    // cut[i]: how many breaks lie at or before played note i
	trouble []bool   // by event: a correction or a note struck again is part of it
	leads   []lead   // where a hand that left a note out was ahead
	ahead   []bool   // by event: in a lead, or where it ends
	lone    bool     // nothing was played

	// Of a score.
	score bool // it is one
	piece PieceLimits
	tempi []references.Quarters // where a new tempo is printed
	free  []span                // where written changes set the tempo
	pass  []int                 // by index of the expected note: which sounding of its id it is
	meant []int                 // by index of the played note: the expected note it is, where it is right
	swung float64               // how long the first of two even notes is to the second, where they are swung; else 0
}

// stroke is what became of one expected note.
type stroke struct {
	played  int // index into the take, -1 where the note is missing
	correct bool
	present bool // in the alignment at all: an optional note left out is not
}

// line is the part of one hand, step by step.
type line struct {
	hand  references.Hand
	steps []step
	waits []wait // hesitations, in order
}

// step is what one hand plays at one onset: a note, or a chord. on and off are in seconds, the mean
// over its notes; of a step with a right note, only right notes count.
type step struct {
	event       int
	onset       references.Quarters
	notes       []int // expected indices, low to high
	direction   references.Direction
	on, off     float64
	first, last int // first and last played index
	sounded     bool
	correct     bool // every note of it
	open        bool // a note of it was never let go
}

// gap is the time from one sounding step to the next of a line.
type gap struct {
	from, to int     // indices of steps
	seconds  float64 // played
	quarters float64 // written
	broken   bool    // a restart, a correction or a foreign note lies in it
	wait     bool    // a hesitation
	free     bool    // of a score: a written change sets its length, or it closes the piece
	section  int     // of a score: which tempo mark it stands under
}

// rate is how long a quarter note lasted, in seconds.
func (g gap) rate() float64 { return g.seconds / g.quarters }

// steady reports whether the gap tells of the tempo.
func (g gap) steady() bool { return !g.broken && !g.wait && !g.free }

func newPerformance(a *align.Alignment, l Limits) *performance {
	notes := a.Reference.Notes
	p := &performance{
		Alignment: a, limits: l,
		strokes: make([]stroke, len(notes)),
		event:   make([]int, len(notes)),
		starts:  a.Reference.Events(),
	}
	for e := range len(p.starts) - 1 {
		for i := p.starts[e]; i < p.starts[e+1]; i++ {
			p.event[i] = e
		}
	}
	for i := range p.strokes {
		p.strokes[i].played = -1
	}
	p.lone = true
	for _, q := range a.Pairs {
		if q.Expected >= 0 {
			p.strokes[q.Expected] = stroke{q.Played, q.Verdict == align.Correct, true}
			p.lone = p.lone && q.Played < 0
		}
	}
	if p.score = a.Reference.Request == nil; p.score {
		p.free, p.tempi = changedSpans(a.Reference), newTempi(a.Reference)
		p.countPasses()
	}
	p.findBreaks()
	p.layLines()
	return p
}

// findBreaks notes where time did not simply run on: at the first note after a restart, and at every
// extra note that took time of its own.
func (p *performance) findBreaks() {
	at := make([]int, len(p.Take.Notes)+1)
	p.trouble = make([]bool, len(p.starts))
	for _, r := range p.Restarts {
		if r.Played >= 0 && r.Played < len(at) {
			at[r.Played]++
		}
	}
	for _, q := range p.Pairs {
		if q.Verdict != align.Extra {
			continue
		}
		if p.score && p.withChord(q.Played) {
			continue
		}
		switch q.Why {
		case align.Slip, align.Ornament, align.Before, align.Unheard:
			continue
		case align.Corrected, align.Repeat:
			if q.Near >= 0 {
				p.trouble[p.event[q.Near]] = true
			}
		}
		at[q.Played]++
	}
	p.cut = at
	for i := 1; i < len(at); i++ {
		at[i] += at[i-1]
	}
}

func (p *performance) layLines() {
	right := p.layLine(references.Right, func(h references.Hand) bool { return h.Has(references.Right) })
	left := p.layLine(references.Left, func(h references.Hand) bool { return h.Has(references.Left) })
	bare := p.layLine(references.NoHand, func(h references.Hand) bool { return h == references.NoHand })
	for _, l := range []line{right, left, bare} {
		if len(l.steps) > 0 {
			p.lines = append(p.lines, l)
		}
	}
	p.all = p.layLine(references.Both, func(references.Hand) bool { return true })
	p.findLeads()
	p.findWaits()
}

// layLine gathers the steps of those notes whose hand is wanted.
func (p *performance) layLine(h references.Hand, wanted func(references.Hand) bool) line {
	l := line{hand: h}
	notes := p.Reference.Notes
	for i := range notes {
		n := &notes[i]
		if !p.strokes[i].present || !wanted(n.Hand) {
			continue
		}
		if k := len(l.steps) - 1; k < 0 || l.steps[k].event != p.event[i] {
			l.steps = append(l.steps, step{event: p.event[i], onset: n.Onset})
		}
		s := &l.steps[len(l.steps)-1]
		s.notes = append(s.notes, i)
		s.direction = n.Direction
		if h == references.Left && n.Hand == references.Both {
			s.direction = p.leftDirection(i)
		}
	}
	for k := range l.steps {
		p.time(&l.steps[k])
	}
	return l
}

// leftDirection is the way the left hand is going at unison i, whose own direction is the right
// hand's: that of its nearest note before the unison, or at the start after it, since the note at
// the turn belongs to what came first.
func (p *performance) leftDirection(i int) references.Direction {
	notes := p.Reference.Notes
	for k := i - 1; k >= 0; k-- {
		if notes[k].Hand == references.Left {
			return notes[k].Direction
		}
	}
	for k := i + 1; k < len(notes); k++ {
		if notes[k].Hand == references.Left {
			return notes[k].Direction
		}
	}
	return notes[i].Direction
}

// time fills in when a step was played.
func (p *performance) time(s *step) {
	right := 0
	for _, i := range s.notes {
		if p.strokes[i].correct {
			right++
		}
	}
	s.correct = right == len(s.notes)
	if p.score {
		p.timeOfScore(s, right > 0)
		return
	}
	n := 0
	for _, i := range s.notes {
		t := p.strokes[i]
		if t.played < 0 || right > 0 && !t.correct {
			continue
		}
		k := &p.Take.Notes[t.played]
		s.on += k.On.Seconds()
		s.off += k.Off.Seconds()
		s.open = s.open || k.Open
		if n == 0 {
			s.first, s.last = t.played, t.played
		}
		s.first, s.last = min(s.first, t.played), max(s.last, t.played)
		n++
	}
	if n > 0 {
		s.sounded = true
		s.on /= float64(n)
		s.off /= float64(n)
	}
}

// gaps are the times between neighbouring sounding steps of a line.
func (p *performance) gaps(l *line) []gap {
	var gs []gap
	last := -1
	for k := range l.steps {
		if !l.steps[k].sounded {
			continue
		}
		if last >= 0 {
			a, b := &l.steps[last], &l.steps[k]
			g := gap{
				from: last, to: k,
				seconds:  b.on - a.on,
				quarters: p.swungPlace(b) - p.swungPlace(a),
				broken:   p.trouble[a.event] || p.trouble[b.event] || p.cutBetween(a.last, b.first),
				wait:     l.waitAt(b.event),
			}
			if p.score {
				p.placeGap(&g, a.onset, b.onset)
			}
			gs = append(gs, g)
		}
		last = k
	}
	return gs
}

// cutBetween reports whether a break lies after played note a and not after b.
func (p *performance) cutBetween(a, b int) bool { return b > a && p.cut[b] > p.cut[a] }

// hand returns the line of a hand, nil where it has none.
func (p *performance) hand(h references.Hand) *line {
	for i := range p.lines {
		if p.lines[i].hand == h {
			return &p.lines[i]
		}
	}
	return nil
}

// step returns the step of an event in a line, nil where there is none.
func (l *line) step(event int) *step {
	for lo, hi := 0, len(l.steps); lo < hi; {
		m := (lo + hi) / 2
		switch e := l.steps[m].event; {
		case e == event:
			return &l.steps[m]
		case e < event:
			lo = m + 1
		default:
			hi = m
		}
	}
	return nil
}

// usualGap is the commonest written gap of the reference in quarters (the shorter of two equally
// common), 0 for a single onset.
func (p *performance) usualGap() float64 {
	seen := map[references.Quarters]int{}
	var best references.Quarters
	for e := 1; e < len(p.starts)-1; e++ {
		notes := p.Reference.Notes
		d := notes[p.starts[e]].Onset.Sub(notes[p.starts[e-1]].Onset)
		seen[d]++
		if n := seen[d]; n > seen[best] || n == seen[best] && d.Less(best) {
			best = d
		}
	}
	return best.Float()
}
