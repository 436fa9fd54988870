package scoring

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/interp"

	"evenhand/references"
)

// levelSteps is the common step-of-16 convention: the velocity of each dynamic from ppp to fff. The
// MIDI standard maps no velocity to a loudness, and published scales differ by up to 12 units for one
// mark, so that a level is never judged closely.
var levelSteps = [8]float64{16, 33, 49, 64, 80, 96, 112, 127}

// loudnessScale gives the velocity of each dynamic, from ppp to fff, rising.
type loudnessScale [8]float64

// newLoudnessScale is the convention, or what the calibration found: between its points by straight
// lines, beyond them on by the steps of the convention. A calibration of fewer than two levels, or
// one that does not rise, is none.
func newLoudnessScale(c *Calibration) loudnessScale {
	xs, ys := c.points()
	if len(xs) < 2 {
		return levelSteps
	}
	var line interp.PiecewiseLinear
	if err := line.Fit(xs, ys); err != nil {
		return levelSteps
	}
	var s loudnessScale
	first, last := int(xs[0]), int(xs[len(xs)-1])
	for i := range s {
		switch {
		case i < first:
			s[i] = ys[0] - (levelSteps[first] - levelSteps[i])
		case i > last:
			s[i] = ys[len(ys)-1] + (levelSteps[i] - levelSteps[last])
		default:
			s[i] = line.Predict(float64(i))
		}
	}
	return s
}

// points are the levels of the calibration as places on the scale and velocities, both rising, or
// nothing.
func (c *Calibration) points() (xs, ys []float64) {
	if c == nil {
		return nil, nil
	}
	levels := slices.Clone(c.Levels)
	slices.SortStableFunc(levels, func(a, b LevelVelocity) int { return levelIndex(a.Dynamic) - levelIndex(b.Dynamic) })
	for _, l := range levels {
		x := float64(levelIndex(l.Dynamic))
		k := len(xs) - 1
		if x < 0 || math.IsNaN(l.Velocity) || k >= 0 && (x <= xs[k] || l.Velocity <= ys[k]) {
			return nil, nil
		}
		xs, ys = append(xs, x), append(ys, l.Velocity)
	}
	return xs, ys
}

// levelIndex is the place of a dynamic, given by its letters, on the scale; -1 where there is none.
func levelIndex(letters string) int {
	for d := references.Pianississimo; d <= references.Fortississimo; d++ {
		if d.String() == letters {
			return int(d - references.Pianississimo)
		}
	}
	return -1
}

// level is the dynamic whose velocity is nearest to v.
func (s *loudnessScale) level(v float64) references.Dynamic {
	best := 0
	for i := range s {
		if math.Abs(s[i]-v) < math.Abs(s[best]-v) {
			best = i
		}
	}
	return references.Pianississimo + references.Dynamic(best)
}

// The verdicts on loudness and tempo.
const (
	asAsked  = "as asked"
	notAsked = "not asked"
	tooSoft  = "too soft"
	tooLoud  = "too loud"
	notHeard = "not heard"
)

// loudnessVerdict compares what was heard with what was asked. A neighbouring level is as asked.
func (l Limits) loudnessVerdict(asked, heard references.Dynamic) string {
	off := int(heard) - int(asked)
	switch {
	case asked == references.NoDynamic:
		return notAsked
	case off >= max(2, l.DynamicLevels):
		return tooLoud
	case -off >= max(2, l.DynamicLevels):
		return tooSoft
	}
	return asAsked
}
