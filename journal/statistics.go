package journal

import (
	"math"
	"slices"
)

// median of the values, which are not changed; NaN where there are none.
func median(v []float64) float64 {
	s := slices.Sorted(slices.Values(v))
	switch n := len(s); {
	case n == 0:
		return math.NaN()
	case n%2 == 1:
		return s[n/2]
	default:
		return (s[n/2-1] + s[n/2]) / 2
	}
}

// theilSen is the median of the slopes between all pairs of points, with a confidence interval of
// about 95 %. Theil (1950), Proc. KNAW 53, 386-392; the interval by Sen (1968), J. American Statistical
// Association 63, 1379-1389: with N slopes in order and C = 1.96 sd(S), S Kendall's statistic, it goes
// from slope (N-C)/2 to slope (N+C)/2 + 1. NaN where there are no two points with different x.
func theilSen(x, y []float64) (slope, low, high float64) {
	var slopes []float64
	for i := range x {
		for k := i + 1; k < len(x); k++ {
			if x[k] != x[i] {
				slopes = append(slopes, (y[k]-y[i])/(x[k]-x[i]))
			}
		}
	}
	if len(slopes) == 0 {
		return math.NaN(), math.NaN(), math.NaN()
	}
	slices.Sort(slopes)
	n := float64(len(slopes))
	c := 1.96 * math.Sqrt(kendallVariance(y))
	lo := int(math.Round((n-c)/2)) - 1
	hi := int(math.Round((n + c) / 2))
	return median(slopes), slopes[max(lo, 0)], slopes[min(hi, len(slopes)-1)]
}

// kendallS is how many pairs rise less how many fall, in the order of the values.
func kendallS(y []float64) int {
	s := 0
	for i := range y {
		for _, later := range y[i+1:] {
			switch {
			case later > y[i]:
				s++
			case later < y[i]:
				s--
			}
		}
	}
	return s
}

// kendallVariance is the variance of S where there is no trend, with equal values taken into account:
// Kendall (1975), Rank Correlation Methods, 4th edition.
func kendallVariance(y []float64) float64 {
	of := func(n float64) float64 { return n * (n - 1) * (2*n + 5) / 18 }
	v := of(float64(len(y)))
	equal := map[float64]float64{}
	for _, x := range y {
		equal[x]++
	}
	for _, n := range equal {
		v -= of(n)
	}
	return v
}

// exactUpTo is how many values the exact distribution of S is used for.
const exactUpTo = 12

// mannKendall is the probability of a trend at least as strong, up or down, where there is none: Mann
// (1945), Econometrica 13, 245-259. It is exact for up to exactUpTo values (a little too large where some
// are equal) and else by the normal approximation with the continuity correction.
func mannKendall(y []float64) float64 {
	n := len(y)
	s := kendallS(y)
	if s < 0 {
		s = -s
	}
	if n < 2 || s == 0 {
		return 1
	}
	if n <= exactUpTo {
		return min(1, 2*upperTail(n, s))
	}
	z := float64(s-1) / math.Sqrt(kendallVariance(y))
	return math.Erfc(z / math.Sqrt2)
}

// upperTail is the share of the orders of n different values that have S of at least s. The number of
// orders with k falling pairs comes from those of one value fewer, as the last may go to any place.
func upperTail(n, s int) float64 {
	pairs := n * (n - 1) / 2
	share := make([]float64, pairs+1) // by falling pairs
	share[0] = 1
	for m := 2; m <= n; m++ {
		next := make([]float64, pairs+1)
		for k := range next {
			for d := 0; d < m && d <= k; d++ {
				next[k] += share[k-d] / float64(m)
			}
		}
		share = next
	}
	p := 0.0
	for k := 0; pairs-2*k >= s; k++ {
		p += share[k]
	}
	return p
}

// PowerLaw is value = Start x n^-Rate over the days of practice n = 1, 2, ...: how tempo and accuracy
// improve with practice in Drake & Palmer (2000), Cognition 74, 1-32.
type PowerLaw struct {
	Start float64 `json:"start"`
	Rate  float64 `json:"rate"`
	R2    float64 `json:"r2"` // of the logarithms
}

// powerLawDays is how many days a fit needs, powerLawR2 how much of the change it must explain. Chosen
// by us.
const (
	powerLawDays = 8
	powerLawR2   = 0.5
)

// fitPowerLaw fits the law by least squares on logarithms; nil where there are too few values, or some
// are not above 0, or the law does not fall, or explains too little.
func fitPowerLaw(y []float64) *PowerLaw {
	n := float64(len(y))
	if len(y) < powerLawDays || slices.Min(y) <= 0 {
		return nil
	}
	var sx, sy, sxx, sxy, syy float64
	for i, v := range y {
		lx, ly := math.Log(float64(i+1)), math.Log(v)
		sx, sy, sxx, sxy, syy = sx+lx, sy+ly, sxx+lx*lx, sxy+lx*ly, syy+ly*ly
	}
	dxx, dxy, dyy := sxx-sx*sx/n, sxy-sx*sy/n, syy-sy*sy/n
	rate := -dxy / dxx
	if rate <= 0 || dyy <= 0 {
		return nil
	}
	r2 := dxy * dxy / (dxx * dyy)
	if r2 < powerLawR2 {
		return nil
	}
	return &PowerLaw{Start: math.Exp((sy + rate*sx) / n), Rate: rate, R2: r2}
}
