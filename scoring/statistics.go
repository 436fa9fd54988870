package scoring

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/stat"
)

// median of xs, the mean of the two middle ones where their number is even; NaN of nothing.
func median(xs []float64) float64 {
	if len(xs) == 0 {
		return math.NaN()
	}
	s := slices.Sorted(slices.Values(xs))
	m := len(s) / 2
	if len(s)%2 == 1 {
		return s[m]
	}
	return (s[m-1] + s[m]) / 2
}

// detrend takes the least-squares straight line off ys and returns what is left.
func detrend(xs, ys []float64) []float64 {
	a, b := stat.LinearRegression(xs, ys, nil, false)
	rest := make([]float64, len(ys))
	for i := range ys {
		rest[i] = ys[i] - (a + b*xs[i])
	}
	return rest
}

// squares is the sum of the squares of xs.
func squares(xs []float64) float64 {
	var s float64
	for _, x := range xs {
		s += x * x
	}
	return s
}

// theil is the median slope of ys over xs by the incomplete method of Theil (1950), Proc. Kon. Ned.
// Akad. Wetensch. 53, 386-392 (from memory): between point i and point i + floor(n/2), so that single
// outliers have no hold.
func theil(xs, ys []float64) float64 {
	h := len(xs) / 2
	var slopes []float64
	for i := range len(xs) - h {
		if dx := xs[i+h] - xs[i]; dx > 0 {
			slopes = append(slopes, (ys[i+h]-ys[i])/dx)
		}
	}
	return median(slopes)
}
