package pupil

import (
	"math"
	"slices"

	"evenhand/references"
)

// voice gives every stroke its velocity; what it holds already is added.
func (p *performance) voice() {
	loud := p.loudness()
	for k := range p.strokes {
		s := &p.strokes[k]
		v := p.p.Level.Of(s.hand)
		if v <= 0 {
			v = loud[s.note]
		}
		v += p.p.Louder.Of(s.hand) + s.velocity + bell(p.sound, p.p.Spread)
		e := p.s.onset[s.note]
		if n := p.s.onsets(); n > 1 {
			x := p.s.quarters(e) / p.s.quarters(n-1)
			v += p.p.Shape * (1 - math.Abs(2*x-1))
		}
		if p.p.Accent.Every > 0 && e%p.p.Accent.Every == 0 {
			v += p.p.Accent.By
		}
		if p.p.Velocity > 0 {
			v = float64(p.p.Velocity)
		}
		s.velocity = min(max(math.Round(v), 1), 127)
	}
}

// hold lets every key go that no fault holds.
func (p *performance) hold() {
	next := p.onsets()
	for k := range p.strokes {
		s := &p.strokes[k]
		if s.held > 0 {
			continue
		}
		held := p.p.hold(s.hand, p.s.ref.Notes[s.note].Touch)
		span := p.span(s, next)
		if c := p.changes[s.note]; c.filled && s.role <= Wrong {
			span = p.toNext(s, next)
		}
		s.held = max(span*(held.Share+bell(p.sound, held.Spread)), 0.025)
		if c := p.changes[s.note]; c.hold > 0 && s.role <= Wrong {
			s.held = max(s.held*c.hold, 0.025)
		}
	}
}

// toNext is the time from a stroke to the hand's next onset, whatever is written.
func (p *performance) toNext(s *stroke, next map[reached]float64) float64 {
	for i := s.step + 1; i < len(p.steps); i++ {
		if on, ok := next[reached{i, s.hand}]; ok && on > s.on {
			return on - s.on
		}
	}
	return p.written(s.note)
}

// breathes reports whether a breath or a caesura stands at the end of a note.
func (p *performance) breathes(start, end float64) bool {
	return slices.ContainsFunc(p.tempo.bends.pauses, func(b pause) bool { return start < b.at && b.at <= end })
}

type reached struct {
	step int
	hand references.Hand
}

// onsets is when each hand first strikes in each step.
func (p *performance) onsets() map[reached]float64 {
	out := map[reached]float64{}
	for _, s := range p.strokes {
		for _, h := range [...]references.Hand{references.NoHand, references.Right, references.Left} {
			if !s.hand.Has(h) {
				continue
			}
			if on, ok := out[reached{s.step, h}]; !ok || s.on < on {
				out[reached{s.step, h}] = s.on
			}
		}
	}
	return out
}

// span is the time in seconds from a stroke to where its written length ends: to the hand's next
// onset where that is the same moment, else as long as written. Half of all waits are waited out on the
// key, if they are short.
func (p *performance) span(s *stroke, next map[reached]float64) float64 {
	length := p.s.ref.Notes[s.note].Length.Float()
	start := p.s.quarters(p.s.onset[s.note])
	written := p.tempo.at(start+length) - p.tempo.at(start)
	if written <= 0 {
		written = p.ioi(p.s.onset[s.note])
	}
	on, ok := p.follower(s, next)
	if written -= s.into; !ok || p.breathes(start, start+length) {
		return max(written, 0)
	}
	if span := on - s.on; span < 1.5*written || span < written+1.5 && p.sound.IntN(2) == 0 {
		return span
	}
	return written
}

// follower is when the hand strikes next, if the stroke's written length ends there and playing goes on
// without a break.
func (p *performance) follower(s *stroke, next map[reached]float64) (on float64, ok bool) {
	if s.step < 0 {
		return 0, false
	}
	begin := func(i int) references.Quarters { return p.s.ref.Notes[p.s.bounds[p.steps[i].onset]].Onset }
	end := begin(s.step).Add(p.s.ref.Notes[s.note].Length)
	hand := s.hand
	if hand == references.Both {
		hand = references.Right
	}
	for i := s.step + 1; i < len(p.steps) && !p.steps[i].fresh; i++ {
		if c := begin(i).Cmp(end); c >= 0 {
			on, ok = next[reached{i, hand}]
			return on, ok && c == 0 && on > s.on
		}
	}
	return 0, false
}
