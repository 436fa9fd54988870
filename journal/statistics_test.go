package journal

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"
)

func near(a, b, tol float64) bool { return math.Abs(a-b) <= tol }

// gonum's Kendall correlation of values with their order, without equal ones, is S over the pairs.
func TestKendallAgainstGonum(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOfNDistinct(rapid.Float64Range(-100, 100), 2, 40, rapid.ID).Draw(t, "y")
		x := make([]float64, len(y))
		for i := range x {
			x[i] = float64(i)
		}
		pairs := float64(len(y)*(len(y)-1)) / 2
		if got, want := float64(kendallS(y))/pairs, stat.Kendall(x, y, nil); !near(got, want, 1e-9) {
			t.Errorf("tau %v, gonum %v", got, want)
		}
	})
}

// permutations visits all orders of 0 to n-1.
func permutations(n int, visit func([]float64)) {
	v := make([]float64, n)
	for i := range v {
		v[i] = float64(i)
	}
	var place func(int)
	place = func(k int) {
		if k == n {
			visit(v)
			return
		}
		for i := k; i < n; i++ {
			v[k], v[i] = v[i], v[k]
			place(k + 1)
			v[k], v[i] = v[i], v[k]
		}
	}
	place(0)
}

// The exact distribution is that of all orders, counted.
func TestMannKendallAgainstAllOrders(t *testing.T) {
	for n := 2; n <= 8; n++ {
		counts, all := map[int]int{}, 0
		permutations(n, func(v []float64) { counts[kendallS(v)]++; all++ })
		for s := range counts {
			atLeast := 0
			for k, c := range counts {
				if k >= s {
					atLeast += c
				}
			}
			if got, want := upperTail(n, s), float64(atLeast)/float64(all); !near(got, want, 1e-12) {
				t.Errorf("n %d, S %d: %v, counted %v", n, s, got, want)
			}
		}
	}
	if p := mannKendall([]float64{1, 2, 3, 4, 5, 6}); !near(p, 2.0/720, 1e-12) {
		t.Errorf("six that rise: %v, want 2/6!", p)
	}
	if p := mannKendall([]float64{3, 3, 3}); p != 1 {
		t.Errorf("three alike: %v", p)
	}
}

// Where the exact distribution ends, the approximation is close to it.
func TestMannKendallApproximationMeetsTheExact(t *testing.T) {
	for _, s := range []int{8, 20, 30, 40} {
		n := exactUpTo
		exact := 2 * upperTail(n, s)
		approximate := math.Erfc(float64(s-1) / math.Sqrt(float64(n*(n-1)*(2*n+5))/18) / math.Sqrt2)
		if !near(exact, approximate, 0.01) {
			t.Errorf("S %d: exact %v, approximate %v", s, exact, approximate)
		}
	}
}

func TestTheilSen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.Float64Range(-50, 50).Draw(t, "a"), rapid.Float64Range(-5, 5).Draw(t, "b")
		n := rapid.IntRange(6, 20).Draw(t, "n")
		wild := rapid.IntRange(0, n-1).Draw(t, "wild")
		var x, y []float64
		for i := range n {
			x, y = append(x, float64(i)), append(y, a+b*float64(i))
		}
		y[wild] = rapid.Float64Range(-1e6, 1e6).Draw(t, "value")
		slope, low, high := theilSen(x, y)
		if !near(slope, b, 1e-6) {
			t.Errorf("one wild value moved the slope from %v to %v", b, slope)
		}
		if low > slope+1e-9 || high < slope-1e-9 {
			t.Errorf("slope %v is not within %v to %v", slope, low, high)
		}
	})
	if s, _, _ := theilSen([]float64{1}, []float64{2}); !math.IsNaN(s) {
		t.Errorf("one point has a slope: %v", s)
	}
}

// The interval holds the true slope about 95 times of 100.
func TestTheilSenIntervalCovers(t *testing.T) {
	if testing.Short() {
		t.Skip("long: left out by -short")
	}
	rng := rand.New(rand.NewPCG(1, 1))
	const runs = 2000
	held := 0
	for range runs {
		var x, y []float64
		for i := range 20 {
			x, y = append(x, float64(i)), append(y, 0.5*float64(i)+3*rng.NormFloat64())
		}
		if _, low, high := theilSen(x, y); low <= 0.5 && 0.5 <= high {
			held++
		}
	}
	if share := float64(held) / runs; share < 0.935 || share > 0.97 {
		t.Errorf("held %.3f of the time", share)
	}
}

// A power law comes back as gonum's straight line through the logarithms.
func TestPowerLaw(t *testing.T) {
	rng := rand.New(rand.NewPCG(2, 1))
	var y, lx, ly []float64
	for n := 1; n <= 30; n++ {
		y = append(y, 12*math.Pow(float64(n), -0.3)*math.Exp(0.05*rng.NormFloat64()))
		lx, ly = append(lx, math.Log(float64(n))), append(ly, math.Log(y[n-1]))
	}
	alpha, beta := stat.LinearRegression(lx, ly, nil, false)
	law := fitPowerLaw(y)
	if law == nil || !near(law.Start, math.Exp(alpha), 1e-9) || !near(law.Rate, -beta, 1e-9) || !near(law.R2, stat.RSquared(lx, ly, nil, alpha, beta), 1e-9) {
		t.Fatalf("%+v, gonum %v %v", law, math.Exp(alpha), -beta)
	}
	if !near(law.Rate, 0.3, 0.04) || !near(law.Start, 12, 1.2) {
		t.Errorf("%+v, made with 12 and 0.3", law)
	}
	slices.Reverse(y)
	for _, none := range [][]float64{y, y[:7], {1, 2, 3, 4, 0, 5, 6, 7, 8}} {
		if law := fitPowerLaw(none); law != nil {
			t.Errorf("%v: %+v", none, law)
		}
	}
}
