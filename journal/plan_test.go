package journal

import (
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"
	"time"
)

// The intervals and the ease of SM-2, worked by hand from its formulas: with q = 5 the ease grows by 0.1,
// with q = 3 it falls by 0.14, and below 3 the intervals begin again with the ease as it is.
func TestSpacing(t *testing.T) {
	var s spacing
	steps := []struct {
		day      int
		mark     float64
		interval float64
		ease     float64
	}{
		{0, 96, 1, 2.6}, {1, 96, 6, 2.7}, {7, 96, 17, 2.8} /* ceil(6 x 2.7) */, {24, 80, 48, 2.66}, /* ceil(17 x 2.8), 2.8 - 0.14 */
		{30, 80, 48, 2.66} /* before it is due */, {40, 50, 1, 2.66} /* went badly */, {41, 90, 1, 2.66} /* q 4 leaves the ease */, {42, 90, 6, 2.66},
	}
	for _, st := range steps {
		s = s.heard(st.day, st.mark)
		if s.interval != st.interval || !near(s.ease, st.ease, 1e-9) {
			t.Errorf("day %d: interval %v, ease %v; want %v, %v", st.day, s.interval, s.ease, st.interval, st.ease)
		}
	}
	for range 20 {
		s = s.heard(s.due(), 75)
	}
	if s.ease != 1.3 {
		t.Errorf("ease %v, never below 1.3", s.ease)
	}
}

// marked are takes of one thing with these marks, one a day, the last so many days before day 40.
func marked(subject string, ago int, marks ...int) []Measures {
	var ms []Measures
	for i, m := range marks {
		ms = append(ms, Measures{Subject: subject, Started: day(40 - ago - (len(marks) - 1 - i)), Practised: 20 * time.Second, AsAsked: true, Mark: &m})
	}
	return ms
}

func TestPlan(t *testing.T) {
	takes := slices.Concat(
		marked("A weak", 1, 50, 55, 52), marked("B good", 1, 95, 96, 97), marked("C long ago", 20, 80, 85, 84), marked(FreePractice, 1, 10),
	)
	w := Wishes{
		Minutes: 20, Now: day(40), Place: time.UTC, Wanted: []string{"E major scale", "B good"},
		Tasks: []Task{{Asked: "D minor harmonic scale, left hand", Subject: Subject("D minor harmonic scale, left hand"), Note: "slowly", At: day(35), Until: day(42)}},
	}
	got := Plan(takes, w)
	var asked, why []string
	total := 0
	for _, p := range got {
		asked, why = append(asked, p.Asked), append(why, strings.Join(p.Why, "; "))
		total += p.Minutes
	}
	if want := []string{"D minor harmonic scale, left hand", "C long ago", "A weak", "E major scale", "B good"}; !slices.Equal(asked, want) {
		t.Errorf("asked %q, want %q", asked, want)
	}
	if got[0].Note != "slowly" || total > 20 {
		t.Errorf("%+v", got)
	}
	for i, want := range []string{"set by the teacher until Monday 19 October, not heard since", "not heard for 20 days", "weak: mark 52", "the exam asks it, and it has not been heard", "the exam asks it"} {
		if !strings.Contains(why[i], want) {
			t.Errorf("%s: %q, want %q", asked[i], why[i], want)
		}
	}
	if p := Plan(nil, Wishes{Minutes: 20, Now: day(0), Place: time.UTC}); len(p) != 0 {
		t.Errorf("a plan of nothing: %+v", p)
	}
}

// A long plan has a rest after 25 minutes, and no plan is longer than the time there is.
func TestPlanRests(t *testing.T) {
	var takes []Measures
	for _, s := range strings.Split("abcdefghijklmnopqrst", "") {
		takes = append(takes, marked(s, 3, 60, 70, 65)...)
	}
	for minutes := range 90 {
		total, played := 0, 0
		for _, p := range Plan(takes, Wishes{Minutes: minutes, Now: day(40), Place: time.UTC}) {
			total += p.Minutes
			if played += p.Minutes; p.Asked == "" {
				played = 0
			}
			if played > restAfter {
				t.Errorf("%d minutes: %d without a rest", minutes, played)
			}
		}
		if total > minutes || minutes <= restAfter && total < minutes-leastMinutes {
			t.Errorf("%d minutes are planned of %d", total, minutes)
		}
	}
}

// learner is a pupil who learns by a power law of practice and forgets: of each thing, the loss in the
// mark is hard x (1 + practice)^-0.4, and a day without it takes 3 % of the practice away.
type learner struct {
	hard, practice []float64
	rng            *rand.Rand
}

func (l *learner) mark(i int) float64 {
	return 100 * math.Exp(-l.hard[i]*math.Pow(1+l.practice[i], -0.4))
}

func (l *learner) heard(i int) int {
	return int(math.Round(min(100, max(0, l.mark(i)+4*l.rng.NormFloat64()))))
}

// practise goes through twelve weeks of five days, 20 minutes a day, and returns the mean mark at the end
// and how often the weakest and strongest third of the things, by how hard they are, were asked.
func (l *learner) practise(planned bool) (end float64, weak, strong int) {
	names := strings.Split("abcdefghijklmno", "")
	var takes []Measures
	hear := func(i, d int) {
		takes = append(takes, Measures{Subject: names[i], Started: day(d), Practised: 30 * time.Second, AsAsked: true, Mark: new(l.heard(i))})
	}
	for i := range names {
		hear(i, 0) // all are known a little at first
	}
	for d := 1; d < 12*7; d++ {
		for i := range l.practice {
			l.practice[i] *= 0.97
		}
		if d%7 > 4 {
			continue
		}
		todays := Plan(takes, Wishes{Minutes: 20, Now: day(d), Place: time.UTC})
		if !planned {
			for k, n := range l.rng.Perm(len(names))[:len(todays)] {
				todays[k].Asked = names[n]
			}
		}
		for _, p := range todays {
			i := slices.Index(names, p.Asked)
			l.practice[i] += float64(p.Minutes)
			hear(i, d)
			switch {
			case i < 5:
				strong++
			case i >= 10:
				weak++
			}
		}
	}
	for i := range names {
		end += l.mark(i) / float64(len(names))
	}
	return end, weak, strong
}

func newLearner(seed uint64) *learner {
	l := &learner{practice: make([]float64, 15), rng: rand.New(rand.NewPCG(seed, 7))}
	for i := range 15 {
		l.hard = append(l.hard, 0.1+0.08*float64(i)+0.04*l.rng.Float64())
	}
	return l
}

// At equal minutes the plan leaves ten pupils better than practice in random order, and asks weak things
// more often.
func TestPlanAgainstRandomOrder(t *testing.T) {
	if testing.Short() {
		t.Skip("long: left out by -short")
	}
	var planned, random float64
	var weak, strong int
	better := 0
	for seed := range uint64(10) {
		p, w, s := newLearner(seed).practise(true)
		r, _, _ := newLearner(seed).practise(false)
		planned, random, weak, strong = planned+p/10, random+r/10, weak+w, strong+s
		if p > r {
			better++
		}
	}
	t.Logf("mean mark after twelve weeks: %.1f by plan, %.1f in random order; better for %d of 10; weak things asked %d times, strong %d", planned, random, better, weak, strong)
	if planned <= random || better < 9 || weak <= strong {
		t.Errorf("by plan %.1f, random %.1f, better for %d; weak %d, strong %d", planned, random, better, weak, strong)
	}
}

// What the exam asks and nobody has heard comes in the order it is given, each thing once.
func TestPlanKeepsTheOrderOfWhatIsWanted(t *testing.T) {
	wanted := []string{"G major scale, forte", "A major scale", "G major scale, piano", "E minor arpeggio"}
	var got []string
	for _, p := range Plan(nil, Wishes{Minutes: 20, Wanted: wanted, Now: time.Date(2026, 9, 1, 9, 0, 0, 0, time.UTC), Place: time.UTC}) {
		got = append(got, p.Asked)
	}
	if want := []string{wanted[0], wanted[1], wanted[3]}; !slices.Equal(got, want) {
		t.Errorf("planned %q, want %q", got, want)
	}
}
