package journal

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"time"
)

// Trend is how one measure changed. The values are medians of days, so that a day of many takes counts
// once.
type Trend struct {
	Days  int     `json:"days"`
	First float64 `json:"first"` // median of the first three days
	Last  float64 `json:"last"`  // median of the last three
	// Slope is per week, with the 95 % interval (Theil-Sen).
	Slope float64 `json:"slope"`
	Low   float64 `json:"slope_low"`
	High  float64 `json:"slope_high"`
	P     float64 `json:"p"` // Mann-Kendall, two-sided
	// Sure is a change that would come about by chance in fewer than 5 of 100 things practised: P is
	// below 0.05 shared among the four measures (Bonferroni), and First and Last differ the same way.
	Sure bool `json:"sure"`

	Weeks []*float64 `json:"weeks"` // medians by week from the first take on; nil where there was none
}

// The measures told, each tested: see Trend.Sure.
const (
	measures  = 4
	chanceAll = 0.05
)

// Line is how one thing that is practised went.
type Line struct {
	Subject   string        `json:"what"`
	Takes     int           `json:"takes"`
	Practised time.Duration `json:"-"`
	Minutes   float64       `json:"minutes"`
	From      time.Time     `json:"from"`
	To        time.Time     `json:"to"`

	Mark     *Trend `json:"mark"`
	Evenness *Trend `json:"evenness"` // percent; lower is evener
	Speed    *Trend `json:"speed"`    // notes a second
	Wrong    *Trend `json:"wrong"`    // notes a take

	PowerLaw *PowerLaw `json:"power_law"` // of the evenness
	Still    *Fault    `json:"still"`     // what cost marks in two of the last three takes, nil for nothing
	New      bool      `json:"new"`       // it did not in the first three
	Sentence string    `json:"sentence"`
}

// Progress tells of each thing practised, the last practised first. The takes are one pupil's, oldest
// first; days and weeks are those of the place.
func Progress(takes []Measures, now time.Time, place *time.Location) []Line {
	by := map[string][]Measures{}
	for _, m := range takes {
		if m.Subject != FreePractice {
			by[m.Subject] = append(by[m.Subject], m)
		}
	}
	lines := make([]Line, 0, len(by))
	for subject, ms := range by {
		lines = append(lines, newLine(subject, ms, now, place))
	}
	slices.SortFunc(lines, func(a, b Line) int {
		return cmp.Or(b.To.Compare(a.To), strings.Compare(a.Subject, b.Subject))
	})
	return lines
}

func newLine(subject string, ms []Measures, now time.Time, place *time.Location) Line {
	l := Line{Subject: subject, Takes: len(ms), From: ms[0].Started, To: ms[len(ms)-1].Started}
	for _, m := range ms {
		l.Practised += m.Practised
	}
	l.Minutes = math.Round(l.Practised.Minutes()*10) / 10
	l.Mark, _ = trend(ms, place, func(m *Measures) *float64 { return float(m.Mark) })
	var evenness []float64
	l.Evenness, evenness = trend(ms, place, func(m *Measures) *float64 { return m.Evenness })
	l.Speed, _ = trend(ms, place, func(m *Measures) *float64 { return m.Speed })
	l.Wrong, _ = trend(ms, place, func(m *Measures) *float64 { return float(m.Wrong) })
	if l.Evenness != nil && l.Evenness.Sure {
		l.PowerLaw = fitPowerLaw(evenness)
	}
	l.Still, l.New = still(ms)
	l.Sentence = l.sentence(now, place)
	return l
}

func float(v *int) *float64 {
	if v == nil {
		return nil
	}
	return new(float64(*v))
}

// dayOf counts days from a fixed one by the calendar of the place.
func dayOf(t time.Time, place *time.Location) int {
	y, m, d := t.In(place).Date()
	return int(time.Date(y, m, d, 0, 0, 0, 0, time.UTC).Unix() / 86400)
}

// trend is of one measure; nil where no take has it. It returns the medians of the days too.
func trend(ms []Measures, place *time.Location, of func(*Measures) *float64) (*Trend, []float64) {
	var days, values []float64
	weeks := map[int][]float64{}
	first, start := dayOf(ms[0].Started, place), 0
	var today []float64
	flush := func() {
		if len(today) > 0 {
			days, values, today = append(days, float64(start)), append(values, median(today)), nil
		}
	}
	for i := range ms {
		v := of(&ms[i])
		if v == nil {
			continue
		}
		if day := dayOf(ms[i].Started, place) - first; day != start {
			flush()
			start = day
		}
		today = append(today, *v)
		weeks[start/7] = append(weeks[start/7], *v)
	}
	flush()
	if len(values) == 0 {
		return nil, nil
	}
	t := &Trend{Days: len(values), P: mannKendall(values)}
	n := min(3, len(values))
	t.First, t.Last = median(values[:n]), median(values[len(values)-n:])
	if slope, low, high := theilSen(days, values); !math.IsNaN(slope) {
		t.Slope, t.Low, t.High = 7*slope, 7*low, 7*high
	}
	t.Sure = t.P < chanceAll/measures && (t.Last-t.First)*t.Slope > 0
	t.Weeks = make([]*float64, int(days[len(days)-1])/7+1)
	for w, v := range weeks {
		t.Weeks[w] = new(median(v))
	}
	return t, values
}

// still is the most useful thing to tell that cost marks in two of the last three takes, and whether it
// did not in the first three.
func still(ms []Measures) (*Fault, bool) {
	if len(ms) < 3 {
		return nil, false
	}
	in := func(ms []Measures, f Fault) (n int) {
		for _, m := range ms {
			if slices.Contains(m.Faults, f) {
				n++
			}
		}
		return n
	}
	last := ms[len(ms)-3:]
	for i := len(last) - 1; i >= 0; i-- {
		for _, f := range last[i].Faults {
			if in(last, f) >= 2 {
				return &f, len(ms) >= 6 && in(ms[:3], f) == 0
			}
		}
	}
	return nil, false
}

// Day is how long was practised on a day.
type Day struct {
	Date    string  `json:"date"` // 2026-09-07
	Minutes float64 `json:"minutes"`
	Takes   int     `json:"takes"`
}

// Days are the days of the place on which there was practice, oldest first.
func Days(takes []Measures, place *time.Location) []Day {
	var days []Day
	for _, m := range takes {
		date := m.Started.In(place).Format(time.DateOnly)
		if n := len(days); n == 0 || days[n-1].Date != date {
			days = append(days, Day{Date: date})
		}
		d := &days[len(days)-1]
		d.Minutes += m.Practised.Minutes()
		d.Takes++
	}
	for i := range days {
		days[i].Minutes = math.Round(days[i].Minutes*10) / 10
	}
	return days
}
