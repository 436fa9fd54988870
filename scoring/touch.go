package scoring

import (
	"cmp"
	"math"
	"slices"

	"evenhand/capture"
	"evenhand/references"
)

// joint is how one note of a hand is joined to the next.
type joint struct {
	overlap float64 // share of the interval by which the keys overlap; below 0 a gap
	legato  bool
	short   bool // staccato
}

// handTouch is how the notes of one hand are joined.
type handTouch struct {
	hand   references.Hand
	joints []joint
}

const inBetween = "in between"

// touches looks at the joint of each pair of neighbouring right notes in a hand. Overlap is the time
// from the onset of a key to the release of the key before it, as a share of the interval between the
// onsets (the key overlap ratio of the literature, e.g. Repp (1995), JASA 97, 3862-3874). Pairs
// that cannot be joined or need not be are left out: a key struck again, the turn, a hesitation or
// restart, a key never let go. Only keys are looked at; the pedal is told apart.
func (p *performance) touches() []handTouch {
	var hs []handTouch
	for i := range p.lines {
		l := &p.lines[i]
		h := handTouch{hand: l.hand}
		for _, g := range p.gaps(l) {
			a, b := &l.steps[g.from], &l.steps[g.to]
			if g.to != g.from+1 || !g.steady() || !a.correct || !b.correct || a.open || g.seconds <= 0 ||
				turns(a, b) || p.sameKey(a, b) {
				continue
			}
			h.joints = append(h.joints, p.joint(a, b, l.hand, g.seconds))
		}
		if len(h.joints) > 0 {
			hs = append(hs, h)
		}
	}
	return hs
}

func (p *performance) joint(a, b *step, h references.Hand, ioi float64) joint {
	gapMS, share := p.limits.LegatoGapMS, p.limits.LegatoShare
	if p.wide(a, b, h) {
		gapMS, share = p.limits.LegatoWideGapMS, p.limits.LegatoWideShare
	}
	length, gap := a.off-a.on, 1000*(b.on-a.off)
	const grain = 1e-9 // seconds are sums of decimals; this keeps the limits themselves inside
	return joint{
		overlap: (a.off - b.on) / ioi,
		legato:  gap <= gapMS+1000*grain || length >= share*ioi-grain,
		short:   length <= p.limits.StaccatoShare*ioi+grain,
	}
}

// wide reports whether a passage cannot be expected to join as closely: a leap of a fifth and more,
// or where the hand crosses in an arpeggio.
func (p *performance) wide(a, b *step, h references.Hand) bool {
	leap := p.Key(b.notes[0]) - p.Key(a.notes[0])
	if leap < 0 {
		leap = -leap
	}
	if leap >= 7 {
		return true
	}
	return leap > 2 && p.crossing(a, b, h) != references.NoCrossing
}

// sameKey reports whether two steps have a key in common.
func (p *performance) sameKey(a, b *step) bool {
	for _, i := range a.notes {
		for _, k := range b.notes {
			if p.Key(i) == p.Key(k) {
				return true
			}
		}
	}
	return false
}

// share is the part of the joints that are so.
func (h *handTouch) share(is func(joint) bool) float64 {
	n := 0
	for _, j := range h.joints {
		if is(j) {
			n++
		}
	}
	return float64(n) / float64(len(h.joints))
}

func (h *handTouch) legato() float64   { return h.share(func(j joint) bool { return j.legato }) }
func (h *handTouch) staccato() float64 { return h.share(func(j joint) bool { return j.short }) }

// of is the share of joints that have touch t.
func (h *handTouch) of(t references.Touch) float64 {
	if t == references.Staccato {
		return h.staccato()
	}
	return h.legato()
}

// overlap is the median overlap, as a share of the interval.
func overlap(js []joint) float64 {
	var xs []float64
	for _, j := range js {
		xs = append(xs, j.overlap)
	}
	return median(xs)
}

// heard is the touch that TouchShare of the pairs have.
func (l Limits) heard(h *handTouch) string {
	switch {
	case h.legato() >= l.TouchShare:
		return references.Legato.String()
	case h.staccato() >= l.TouchShare:
		return references.Staccato.String()
	}
	return inBetween
}

// askedTouch is the touch asked of a hand. Scales, arpeggios and the like are legato where nothing
// is said; chords and scores ask nothing.
func askedTouch(q *references.Request, h references.Hand) references.Touch {
	if q == nil {
		return references.NoTouch
	}
	if t := q.Touch.Of(h); t != references.NoTouch {
		return t
	}
	if q.Kind == references.Triads || q.Kind == references.Cadence || q.Double != references.Single {
		return references.NoTouch
	}
	return references.Legato
}

// tellTouch gives the words of the contract; nil where no pair was measured.
func (p *performance) tellTouch(hs []handTouch, q *references.Request) *Touch {
	if len(hs) == 0 {
		return nil
	}
	t := &Touch{Pedal: p.pedalShare() > p.limits.PedalShare, Hands: make([]HandTouch, 0, len(hs))}
	var joints []joint
	for i := range hs {
		h := &hs[i]
		joints = append(joints, h.joints...)
		t.Hands = append(t.Hands, HandTouch{
			Hand: h.hand.String(), Asked: unless(askedTouch(q, h.hand).String()), Heard: p.limits.heard(h),
			Pairs: len(h.joints), Legato: thousandths(h.legato()), Staccato: thousandths(h.staccato()),
			Overlap: tenths(100 * overlap(h.joints)),
		})
	}
	t.Overlap = tenths(100 * overlap(joints))
	t.Heard, t.Asked = t.Hands[0].Heard, t.Hands[0].Asked
	for _, h := range t.Hands[1:] {
		if h.Heard != t.Heard {
			t.Heard = inBetween
		}
		if t.Asked == nil || h.Asked == nil || *h.Asked != *t.Asked {
			t.Asked = nil
		}
	}
	return t
}

// pedalShare is the part of the time from the first note to the last onset with the sustaining
// pedal down (64 and more, MIDI 1.0).
func (p *performance) pedalShare() float64 {
	notes := p.Take.Notes
	if len(notes) == 0 {
		return 0
	}
	start, end := notes[0].On, notes[len(notes)-1].On
	if end <= start {
		return 0
	}
	pedals := slices.Clone(p.Take.Pedals)
	slices.SortStableFunc(pedals, func(a, b capture.Pedal) int { return cmp.Compare(a.At, b.At) })
	down, since := 0.0, start
	held := false
	for _, e := range pedals {
		if e.Controller != capture.Sustain {
			continue
		}
		at := min(max(e.At, start), end)
		if held {
			down += (at - since).Seconds()
		}
		held, since = e.Value >= 64, at
	}
	if held {
		down += (end - since).Seconds()
	}
	return math.Min(1, down/(end-start).Seconds())
}
