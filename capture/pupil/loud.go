package pupil

import (
	"slices"

	"evenhand/references"
)

// How much louder an accent is, how much a hairpin changes where no dynamic follows it, and what
// comes from nothing or goes to it, in velocity units: common practice.
const (
	accentBy  = 14
	hairpinBy = 18
	nothing   = 14
	graceBy   = -8
)

// loudness is the velocity of each note before chance: as written, but for what is played flat.
func (p *performance) loudness() []float64 {
	out := p.signs()
	for _, f := range p.p.Faults {
		if f.Kind == FlatDynamics {
			p.flatten(f, out)
		}
	}
	return out
}

// signs is the velocity that the signs of the score ask for at each note: the last dynamic for its
// hand, hairpins in a straight line to the dynamic that follows, and accents.
func (p *performance) signs() []float64 {
	dynamics := p.dynamics()
	out := make([]float64, len(p.s.ref.Notes))
	for h := references.NoHand; h <= references.Both; h++ {
		p.hairpins(h, dynamics, out)
	}
	for n := range out {
		if p.s.ref.Notes[n].Accent {
			out[n] += accentBy
		}
		if p.s.ref.Notes[n].Grace != references.NoGrace {
			out[n] += graceBy
		}
	}
	return out
}

// shaded reports whether the signs ask for at least a dynamic's difference where the fault is.
func (p *performance) shaded(f Fault) bool {
	lo, hi := p.stretch(f)
	v := p.signs()[p.s.bounds[lo]:p.s.bounds[hi]]
	return len(v) > 0 && slices.Max(v)-slices.Min(v) >= 12
}

// dynamics is what is written for each note: the last sign for its hand.
func (p *performance) dynamics() []references.Dynamic {
	out := make([]references.Dynamic, len(p.s.ref.Notes))
	now := map[references.Hand]references.Dynamic{}
	for n := range p.s.ref.Notes {
		note := &p.s.ref.Notes[n]
		if note.Dynamic != references.NoDynamic {
			now[note.Hand] = note.Dynamic
		}
		out[n] = now[note.Hand]
	}
	return out
}

// hairpin is a hairpin, or a cresc. or dim. in words, as one hand plays it.
type hairpin struct {
	references.Mark
	dynamic    references.Dynamic // that held when it began
	start, end float64            // velocity
}

// at is the velocity at a place in it.
func (h *hairpin) at(on references.Quarters) float64 {
	return h.start + (h.end-h.start)*on.Sub(h.From).Float()/h.To.Sub(h.From).Float()
}

// hairpins fills in the velocities of one hand. Where a hairpin has led stays until the next dynamic.
func (p *performance) hairpins(hand references.Hand, dynamics []references.Dynamic, out []float64) {
	var now *hairpin
	reached, was := 0.0, references.NoDynamic
	for n := range p.s.ref.Notes {
		note := &p.s.ref.Notes[n]
		if note.Hand != hand {
			continue
		}
		if dynamics[n] != was {
			now, reached, was = nil, 0, dynamics[n]
		}
		if now != nil && !note.Onset.Less(now.To) {
			reached, now = now.end-levels[was], nil
		}
		out[n] = levels[was] + reached
		if now == nil {
			now = p.hairpinAt(n, dynamics, out[n])
		}
		if now != nil {
			out[n] = now.at(note.Onset)
		}
	}
}

// hairpinAt is the hairpin over note n, nil where there is none.
func (p *performance) hairpinAt(n int, dynamics []references.Dynamic, start float64) *hairpin {
	note := &p.s.ref.Notes[n]
	for _, m := range p.s.ref.Marks {
		grows := m.Kind == references.Crescendo
		if !grows && m.Kind != references.Diminuendo || !p.s.under(m, n) || m.Hand != references.Both && m.Hand != note.Hand && note.Hand != references.Both {
			continue
		}
		h := &hairpin{Mark: m, dynamic: dynamics[n], start: start, end: start + hairpinBy}
		if !grows {
			h.end = start - hairpinBy
		}
		if m.Mild {
			h.end = (start + h.end) / 2
		}
		if k := p.s.nextOf(note.Hand, m.To); k >= 0 && dynamics[k] != dynamics[n] && levels[dynamics[k]] > start == grows {
			h.end = levels[dynamics[k]]
		}
		if m.Niente && grows {
			h.start = nothing
		} else if m.Niente {
			h.end = nothing
		}
		return h
	}
	return nil
}

// nextOf is the first note of a hand at a place or after it, -1 where there is none.
func (s *score) nextOf(hand references.Hand, from references.Quarters) int {
	for n := s.firstFrom(from); n < len(s.ref.Notes); n++ {
		if s.ref.Notes[n].Hand == hand {
			return n
		}
	}
	return -1
}

// firstFrom is the first note at a place or after it; their number where there is none.
func (s *score) firstFrom(q references.Quarters) int {
	n, _ := slices.BinarySearchFunc(s.ref.Notes, q, func(n references.Note, q references.Quarters) int { return n.Onset.Cmp(q) })
	return n
}

// flatten plays a stretch at its mean.
func (p *performance) flatten(f Fault, out []float64) {
	lo, hi := p.stretch(f)
	notes := out[p.s.bounds[lo]:p.s.bounds[hi]]
	mean := 0.0
	for _, v := range notes {
		mean += v / float64(len(notes))
	}
	for i := range notes {
		notes[i] = mean
	}
}

// stretch is the onsets that a fault goes over, up to but not including hi.
func (p *performance) stretch(f Fault) (lo, hi int) {
	lo = p.s.onset[f.At]
	return lo, min(lo+f.Count, p.s.onsets())
}
