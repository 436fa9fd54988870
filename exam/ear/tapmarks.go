package ear

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"evenhand/scoring"
)

// judge turns what was measured into losses and a mark.
func (v *TapVerdict) judge(limits scoring.Limits, g *grid) {
	whole := tempoPoints + steadyPoints + driftPoints + 0.0
	if v.StressUnits != nil {
		whole += stressPoints
	}
	v.judgeTempo(limits.DriftFaultPercent)
	if u, limit := *v.UnsteadyPercent, limits.EvennessPercent; u > limit {
		v.lose(steadyPoints*share(u, limit, goneSteady*limit), u, limit, "percent of the interval", steadySource, fmt.Sprintf("The taps were uneven, by %.0f %% of a beat.", u))
	}
	if d := v.DriftPercent; d != nil && math.Abs(*d) > limits.DriftFaultPercent {
		way := "faster"
		if *d < 0 {
			way = "slower"
		}
		v.lose(driftPoints*share(math.Abs(*d), limits.DriftFaultPercent, goneDrift), math.Abs(*d), limits.DriftFaultPercent, "percent", tempoSource, fmt.Sprintf("The taps got %s, by %.0f %% in all.", way, math.Abs(*d)))
	}
	if s := v.StressUnits; s != nil && *s < velocityStep {
		v.lose(stressPoints*share(velocityStep-*s, 0, velocityStep), *s, velocityStep, "velocity", velocitySource, "First beats were not louder than the others.")
	}
	for i := range v.Losses {
		v.Losses[i].Points *= 100 / whole
	}
	// A bar to find the beat in is free.
	spare := float64(g.perBar) / g.factor
	if missing := float64(v.Expected - v.Taps); missing > math.Ceil(spare) && v.Kept != KeptNothing {
		v.lose(100*(missing-spare)/float64(v.Expected), missing, math.Ceil(spare), "taps", chosen, fmt.Sprintf("%d taps of %d were missing.", v.Expected-v.Taps, v.Expected))
	}
	v.conclude()
}

func (v *TapVerdict) judgeTempo(limit float64) {
	off := math.Abs(*v.TempoPercent)
	way := "faster"
	if *v.TempoPercent < 0 {
		way = "slower"
	}
	text := fmt.Sprintf("The taps were %.0f %% %s than the music.", off, way)
	switch {
	case v.Kept == KeptNothing:
		v.lose(tempoPoints, off, limit, "percent", tempoSource, "The taps were not with the beat of the music: "+lowerFirst(text))
	case off > limit:
		v.lose(tempoPoints*share(off, limit, goneTempo), off, limit, "percent", tempoSource, text)
	}
}

// share is how far x is from where nothing is lost to where all is, from 0 to 1.
func share(x, free, gone float64) float64 { return math.Max(0, math.Min(1, (x-free)/(gone-free))) }

// conclude makes the mark, and gives the two greatest as the reason.
func (v *TapVerdict) conclude() {
	v.Verdict = concluded(v.Losses, "The taps were steady and with the music.")
	switch v.Kept {
	case KeptHalf, KeptDouble, KeptQuavers, KeptBar:
		v.Reason += fmt.Sprintf(" You kept %s, which is as good as the beat.", v.Kept)
	}
}

// concluded makes the mark, and of the two greatest losses the reason; praise is said where none is worth
// a point.
func concluded(losses []Loss, praise string) Verdict {
	slices.SortStableFunc(losses, func(a, b Loss) int { return cmp.Compare(b.Points, a.Points) })
	whole, reason := 100.0, ""
	for i, l := range losses {
		whole -= l.Points
		if i < 2 && l.Points >= 0.5 {
			reason += " " + l.Text
		}
	}
	mark := int(math.Round(math.Max(0, whole)))
	if reason == "" {
		reason = " " + praise
	}
	return Verdict{Mark: &mark, Reason: reason[1:], Losses: losses}
}
