package report

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"

	"evenhand/references"
	"evenhand/scoring"
)

// played is what was played of a reference, for the curves.
type played struct {
	ref *references.Reference
	a   *scoring.Assessment
	at  []*scoring.Played // of each note of the reference, the right key struck for it; nil where there is none
}

func newPlayed(ref *references.Reference, a *scoring.Assessment) *played {
	p := &played{ref: ref, a: a, at: make([]*scoring.Played, len(ref.Notes))}
	for k := range a.Notes {
		if n := &a.Notes[k]; n.Verdict == "correct" && n.Played != nil {
			p.at[n.Expected.Index] = n.Played
		}
	}
	return p
}

// step is the outermost note of one hand at one onset: the highest of the right, the lowest of the
// left.
type step struct {
	note int
	q, t float64 // quarter notes, seconds
}

// steps are those of a hand that were played and have a place in time of their own: no grace notes,
// ornaments or rolled chords.
func (p *played) steps(h references.Hand) []step {
	var out []step
	for i := range p.ref.Notes {
		n := &p.ref.Notes[i]
		if p.at[i] == nil || !n.Hand.Has(h) || n.Grace != references.NoGrace || n.Ornament != references.NoOrnament || n.Rolled {
			continue
		}
		s := step{i, n.Onset.Float(), p.at[i].Onset}
		if k := len(out); k > 0 && out[k-1].q == s.q {
			if h == references.Right {
				out[k-1] = s
			}
			continue
		}
		out = append(out, s)
	}
	return out
}

// displaced is how far one note lies from where its neighbours of the same hand put it.
type displaced struct {
	step
	ms, limit float64
	crossing  references.Crossing // by which the hand came to it
}

// brokenRatio is by how much the pace from one note to the next may differ from that around it; beyond
// it the playing was broken off there, and what came before says nothing of where a note belongs.
// Chosen by us.
const brokenRatio = 2.2

// displacements tell for each note of a hand how early (below 0) or late it came: its onset less the
// one that the straight line through the onsets of up to two notes before it and two after it gives for
// its place in the score, in ms. So a steady change of tempo displaces nothing. The limit is what can
// be heard of a single note: the greater of limits.AudibleMS and limits.AudibleShare of the mean
// interval around it (Friberg & Sundberg (1992), STL-QPSR 33(4), 97-108).
func (p *played) displacements(h references.Hand) []displaced {
	var out []displaced
	steps := p.steps(h)
	broken := p.broken(steps)
	for k := 1; k+1 < len(steps); k++ {
		from, to := k, k
		for from > 0 && k-from < 2 && !broken[from-1] {
			from--
		}
		for to+1 < len(steps) && to-k < 2 && !broken[to] {
			to++
		}
		if from == k || to == k {
			continue
		}
		var q, t []float64
		for i := from; i <= to; i++ {
			if i != k {
				q, t = append(q, steps[i].q), append(t, steps[i].t)
			}
		}
		start, pace := stat.LinearRegression(q, t, nil, false)
		b, l := steps[k], p.a.Settings.Limits
		interval := (steps[to].t - steps[from].t) / float64(to-from)
		out = append(out, displaced{
			step: b, ms: 1000 * (b.t - start - pace*b.q), limit: max(l.AudibleMS, 1000*l.AudibleShare*interval),
			crossing: references.CrossingAt(&p.ref.Notes[steps[k-1].note], &p.ref.Notes[b.note], h),
		})
	}
	return out
}

// broken tells of each step and the next whether the playing was broken off between them.
func (p *played) broken(steps []step) []bool {
	out := make([]bool, len(steps))
	pace := make([]float64, max(0, len(steps)-1))
	for k := range pace {
		pace[k] = (steps[k+1].t - steps[k].t) / (steps[k+1].q - steps[k].q)
	}
	for k, v := range pace {
		near := slices.Sorted(slices.Values(pace[max(0, k-4):min(len(pace), k+5)]))
		usual := near[len(near)/2]
		out[k] = v <= 0 || usual <= 0 || v > brokenRatio*usual || v < usual/brokenRatio ||
			p.stopped(steps[k].q, steps[k+1].q) || p.interrupted(steps[k].t, steps[k+1].t)
	}
	return out
}

// interrupted reports whether something was struck again, or put right, between two times.
func (p *played) interrupted(from, to float64) bool {
	return slices.ContainsFunc(p.a.Notes, func(n scoring.NoteLine) bool {
		return n.Verdict == "extra" && n.Why != "slip" && n.Why != "ornament" && n.Why != "unheard" && from < n.Played.Onset && n.Played.Onset < to
	})
}

// stopped reports whether the playing stopped, or went back, between two onsets.
func (p *played) stopped(from, to float64) bool {
	for _, h := range p.a.Flow.Hesitations {
		if from < h.Onset && h.Onset <= to {
			return true
		}
	}
	for _, jumps := range [][]scoring.Jump{p.a.Flow.Restarts, p.a.Flow.Repeats} {
		for _, j := range jumps {
			if from < j.ToOnset && j.ToOnset <= to {
				return true
			}
		}
	}
	return false
}

// barStart is where a bar begins, and what is printed at it.
type barStart struct {
	onset  float64
	number string
	pass   int
}

// bars are the bars as they are played, repeats unfolded; of what has no bars, one.
func (p *played) bars() []barStart {
	var out []barStart
	for _, b := range p.ref.Bars {
		out = append(out, barStart{b.Onset.Float(), b.Number, b.Pass})
	}
	if len(out) > 0 {
		return out
	}
	length := p.ref.BarLength.Float()
	if length <= 0 {
		return []barStart{{0, "1", 1}}
	}
	for at := 0.0; at < p.end(); at += length {
		out = append(out, barStart{at, number(at/length + 1), 1})
	}
	return out
}

// end is where the last note ends, in quarter notes.
func (p *played) end() float64 {
	end := 0.0
	for i := range p.ref.Notes {
		n := &p.ref.Notes[i]
		end = max(end, n.Onset.Add(n.Length).Float())
	}
	return end
}

// xy is a point of a curve; x in quarter notes from the start, repeats unfolded.
type xy struct{ x, y float64 }

// tempo is the tempo in beats a minute: bar by bar where the assessment has it, at the middle of each
// bar; else beat by beat, from each beat that was played to the next.
func (p *played) tempo() []xy {
	if p.a.Tempo == nil {
		return nil
	}
	var out []xy
	if curve := p.a.Tempo.Curve; len(curve) > 0 {
		for i, b := range curve {
			end := p.end()
			if i+1 < len(curve) && curve[i+1].Onset > b.Onset {
				end = curve[i+1].Onset
			}
			if b.BPM != nil {
				out = append(out, xy{(b.Onset + end) / 2, *b.BPM})
			}
		}
		return out
	}
	beat := p.ref.Beat.Float()
	var last *step
	steps := p.onsets()
	for k := range steps {
		s := &steps[k]
		if math.Abs(math.Remainder(s.q, beat)) > 1e-6 {
			continue
		}
		if last != nil && s.q-last.q < 1.5*beat && s.t > last.t && !p.stopped(last.q, s.q) {
			out = append(out, xy{(last.q + s.q) / 2, 60 * (s.q - last.q) / beat / (s.t - last.t)})
		}
		last = s
	}
	return out
}

// onsets are the onsets of the score and when they were played: the mean of their notes.
func (p *played) onsets() []step {
	var out []step
	n := 0
	for i := range p.ref.Notes {
		note := &p.ref.Notes[i]
		if p.at[i] == nil || note.Grace != references.NoGrace {
			continue
		}
		q, t := note.Onset.Float(), p.at[i].Onset
		if k := len(out); k > 0 && out[k-1].q == q {
			n++
			out[k-1].t += (t - out[k-1].t) / float64(n)
			continue
		}
		n = 1
		out = append(out, step{i, q, t})
	}
	return out
}

// loudness is the velocity of each key of a hand that was struck rightly.
func (p *played) loudness(h references.Hand) []xy {
	var out []xy
	for i := range p.ref.Notes {
		if n := &p.ref.Notes[i]; p.at[i] != nil && n.Hand.Has(h) {
			out = append(out, xy{n.Onset.Float(), float64(p.at[i].Velocity)})
		}
	}
	return out
}

// together is left minus right, in ms, at each onset where both hands have a note.
func (p *played) together() []xy {
	right, left := p.steps(references.Right), p.steps(references.Left)
	var out []xy
	for _, r := range right {
		k, ok := slices.BinarySearchFunc(left, r.q, func(s step, q float64) int {
			switch {
			case s.q < q:
				return -1
			case s.q > q:
				return 1
			}
			return 0
		})
		if ok && left[k].note != r.note {
			out = append(out, xy{r.q, 1000 * (left[k].t - r.t)})
		}
	}
	return out
}

// level is a stretch under one dynamic, with the velocities at which it is judged to be as asked.
type level struct {
	from, to, low, high float64
	dynamic             references.Dynamic
}

// levels are the dynamics that are written, of the right hand where the hands differ.
func (p *played) levels() []level {
	var out []level
	for i := range p.ref.Notes {
		n := &p.ref.Notes[i]
		if n.Dynamic == references.NoDynamic || n.Hand == references.Left && len(out) > 0 && n.Onset.Float() < out[len(out)-1].to {
			continue
		}
		from, to := n.Onset.Float(), n.Onset.Add(n.Length).Float()
		if k := len(out); k > 0 && (out[k-1].dynamic == n.Dynamic || n.Hand == references.Left) {
			if out[k-1].dynamic == n.Dynamic {
				out[k-1].to = max(out[k-1].to, to)
			}
			continue
		} else if k > 0 {
			out[k-1].to = min(out[k-1].to, from)
		}
		low, high := p.a.Settings.Velocities(n.Dynamic)
		out = append(out, level{from, to, low, high, n.Dynamic})
	}
	return out
}
