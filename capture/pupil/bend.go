package pupil

import (
	"math"
	"sort"

	"evenhand/references"
)

// bends is how the signs of a score change the length of a beat: printed tempos, rit. and accel.,
// fermatas, and the swell of each phrase. It turns written quarters into quarters of the first tempo.
type bends struct {
	parts  []bend // in order; none where nothing bends the time
	pauses []pause
}

// bend is a stretch of written time in which the length of a beat, over that of the first tempo,
// changes smoothly: the product of its factors.
type bend struct {
	from, to float64 // quarters
	before   float64 // quarters of the first tempo before it
	factors  []func(quarters float64) float64
}

// pause is a breath or a caesura: seconds of waiting before the onset at a place or the next one.
type pause struct{ at, seconds float64 }

// The waits at a breath and a caesura, in seconds: common practice.
const (
	breathWait  = 0.15
	caesuraWait = 0.5
)

// span is a factor with its place.
type span struct {
	from, to float64
	factor   func(quarters float64) float64
}

// bends reads the signs, but those of the faults that pass them over. Written time is counted from the
// first onset.
func (p *Pupil) bends(s *score) bends {
	if len(s.ref.Notes) == 0 {
		return bends{}
	}
	var b bends
	spans := append(p.tempos(s), p.phrases(s)...)
	for _, m := range s.ref.Marks {
		from, to := s.since(m.From), s.since(m.To)
		if p.passes(s, m) {
			continue
		}
		switch m.Kind {
		case references.Ritardando:
			spans = append(spans, span{from, to, slowing(from, to, p.final(m))})
		case references.Accelerando:
			spans = append(spans, span{from, to, slowing(from, to, 1/p.final(m))})
		case references.Fermata:
			spans = append(spans, span{from, to, func(float64) float64 { return min(p.Fermata, 20) }})
		case references.Breath:
			b.pauses = append(b.pauses, pause{from, breathWait})
		case references.Caesura:
			b.pauses = append(b.pauses, pause{from, caesuraWait})
		}
	}
	b.parts = cut(spans)
	return b
}

// since is a place in quarters after the first onset.
func (s *score) since(q references.Quarters) float64 { return q.Sub(s.ref.Notes[0].Onset).Float() }

// passes reports whether a fault passes the mark over.
func (p *Pupil) passes(s *score, m references.Mark) bool {
	for _, f := range p.Faults {
		if f.passes(m.Kind) && f.At >= 0 && f.At < len(s.ref.Notes) && s.under(m, f.At) {
			return true
		}
	}
	return false
}

// passes reports whether the fault passes over marks of a kind.
func (f Fault) passes(k references.MarkKind) bool {
	switch f.Kind {
	case PassedRit:
		return k == references.Ritardando || k == references.Accelerando
	case PassedFermata:
		return k == references.Fermata
	}
	return false
}

// under reports whether note n is under a mark.
func (s *score) under(m references.Mark, n int) bool {
	on := s.ref.Notes[n].Onset
	return !on.Less(m.From) && on.Less(m.To)
}

// final is the tempo at the end of a rit. over that at its start.
func (p *Pupil) final(m references.Mark) float64 {
	w := min(max(p.Rit, 0.1), 1)
	if m.Mild {
		w = (1 + w) / 2
	}
	return w
}

// slowing is the length of a beat in a change of tempo from 1 to w between two places. The tempo is the
// cube root of a straight line in written time, as runners and pianists stop (Friberg and Sundberg
// 1999, JASA 105:1469, with q = 3): with x from 0 to 1, v = (1 + (w³-1) x)^(1/3).
func slowing(from, to, w float64) func(float64) float64 {
	return func(q float64) float64 {
		x := min(max((q-from)/(to-from), 0), 1)
		return 1 / math.Cbrt(1+(w*w*w-1)*x)
	}
}

// tempos are the printed tempos after the first, over it. A figure that is not printed is a
// suggestion, and words without a figure are the player's.
func (p *Pupil) tempos(s *score) []span {
	first, now := 0.0, 1.0
	var out []span
	for _, m := range s.ref.Tempos {
		if m.Tempo.BPM <= 0 || !m.Printed {
			continue
		}
		rate := m.Tempo.BPM * m.Tempo.Beat.Float()
		if first == 0 {
			first = rate
		}
		at := s.since(m.Onset)
		if n := len(out); n > 0 {
			out[n-1].to = at
		}
		if factor := first / rate; factor != 1 || now != 1 {
			out = append(out, span{at, math.Inf(1), func(float64) float64 { return factor }})
			now = factor
		}
	}
	return out
}

// phraseBars is how many bars a phrase has in most easy music.
const phraseBars = 4

// phrases are the swells of the tempo: each phrase slower at both ends, with the mean unchanged.
func (p *Pupil) phrases(s *score) []span {
	c := min(max(p.Rubato, -60), 60) / 100
	if c == 0 {
		return nil
	}
	var out []span
	bars := s.ref.Bars
	first := 0
	if len(bars) > 0 && bars[0].Length.Less(bars[0].Meter.Length()) {
		first = 1
	}
	for i := first; i < len(bars); i += phraseBars {
		last := bars[min(i+phraseBars, len(bars))-1]
		from, to := s.since(bars[i].Onset), s.since(last.Onset.Add(last.Length))
		if from >= to {
			continue
		}
		out = append(out, span{from, to, func(q float64) float64 {
			x := min(max((q-from)/(to-from), 0), 1)
			return 1 + 1.5*c*((2*x-1)*(2*x-1)-1.0/3)
		}})
	}
	return out
}

// cut lays the spans out as stretches that do not overlap.
func cut(spans []span) []bend {
	if len(spans) == 0 {
		return nil
	}
	places := []float64{0}
	for _, s := range spans {
		places = append(places, s.from, s.to)
	}
	sort.Float64s(places)
	var out []bend
	before := 0.0
	for i, from := range places {
		to := math.Inf(1)
		if i+1 < len(places) {
			to = places[i+1]
		}
		if from < 0 || from == to || math.IsInf(from, 1) {
			continue
		}
		b := bend{from: from, to: to, before: before}
		for _, s := range spans {
			if s.from <= from && from < s.to {
				b.factors = append(b.factors, s.factor)
			}
		}
		out = append(out, b)
		if !math.IsInf(to, 1) {
			before += b.length(to)
		}
	}
	return out
}

// length is the quarters of the first tempo from the start of a bend up to q, by Simpson's rule.
func (b *bend) length(q float64) float64 {
	const steps = 32
	h := (q - b.from) / steps
	if len(b.factors) == 0 {
		return q - b.from
	}
	sum := 0.0
	for i := range steps + 1 {
		weight := 4.0 - 2*float64(1-i%2)
		if i == 0 || i == steps {
			weight = 1
		}
		v := 1.0
		for _, f := range b.factors {
			v *= f(b.from + float64(i)*h)
		}
		sum += weight * v
	}
	return sum * h / 3
}

// warp is a written moment in quarters of the first tempo.
func (b *bends) warp(q float64) float64 {
	i := sort.Search(len(b.parts), func(i int) bool { return b.parts[i].from > q }) - 1
	if i < 0 {
		return q
	}
	return b.parts[i].before + b.parts[i].length(q)
}

// waited is the seconds of breath up to and with the onset at q.
func (b *bends) waited(q float64) float64 {
	sum := 0.0
	for _, p := range b.pauses {
		if p.at <= q && p.at > 0 {
			sum += p.seconds
		}
	}
	return sum
}
