package ear

import (
	"fmt"
	"slices"
	"strings"
)

// line is the least-squares line y = a + b x.
func line(xs, ys []float64) (a, b float64) {
	n := float64(len(xs))
	var sx, sy, sxx, sxy float64
	for i := range xs {
		sx, sy = sx+xs[i], sy+ys[i]
	}
	mx, my := sx/n, sy/n
	for i := range xs {
		sxx += (xs[i] - mx) * (xs[i] - mx)
		sxy += (xs[i] - mx) * (ys[i] - my)
	}
	if sxx > 0 {
		b = sxy / sxx
	}
	return my - b*mx, b
}

// median is the middle of the values, of which there is at least one.
func median(values []float64) float64 {
	s := slices.Sorted(slices.Values(values))
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}

// percent is how much more a is than b.
func percent(a, b float64) *float64 {
	p := 100 * (a/b - 1)
	return &p
}

// counted is "1 tap was" or "3 taps were".
func counted(n int, singular, plural string) string {
	if n == 1 {
		return "1 " + singular
	}
	return fmt.Sprintf("%d %s", n, plural)
}

func lowerFirst(s string) string { return strings.ToLower(s[:1]) + s[1:] }
