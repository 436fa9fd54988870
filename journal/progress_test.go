package journal

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"
	"time"

	"evenhand/scoring"
)

// series makes takes of one thing, two a day on every other day.
func series(subject string, days int, mark, evenness func(day int) float64) []Measures {
	var ms []Measures
	for d := 0; d < days; d++ {
		for k := range 2 {
			ms = append(ms, Measures{
				Take: int64(len(ms) + 1), Subject: subject, Started: day(2 * d).Add(time.Duration(k) * time.Minute), Practised: 30 * time.Second, AsAsked: true,
				Mark: new(int(math.Round(mark(d)))), Evenness: new(evenness(d)), Speed: new(4.0), Wrong: new(1), Expected: new(29),
			})
		}
	}
	return ms
}

func TestProgressSentence(t *testing.T) {
	late := Fault{scoring.LateCrossing, "left"}
	better := series("B flat minor arpeggio", 20, func(d int) float64 { return 70 + float64(d) }, func(d int) float64 { return 12 - 0.25*float64(d) })
	for i := range better {
		better[i].Faults = []Fault{late}
	}
	once := series("C major scale", 3, func(int) float64 { return 80 }, func(int) float64 { return 9 })
	same := series("D major scale", 12, func(d int) float64 { return 80 + float64(d%2) }, func(d int) float64 { return 9 + float64(d%3) })
	worse := series("E major scale", 12, func(d int) float64 { return 90 - 2*float64(d) }, func(d int) float64 { return 6 + float64(d) })
	for i := range worse[18:] {
		worse[18+i].Faults = []Fault{{scoring.HandsApart, "both"}}
	}
	now := day(60)
	for _, tt := range []struct {
		takes []Measures
		want  string
	}{
		{better, "Evener by a third, mark up from 71 to 88 since September; the left hand still breaks at the thumb"},
		{once, "Heard on 3 days: too few to tell a change"},
		{same, "No sure change since September"},
		{worse, "Less even by as much again, mark down from 88 to 70 since September; the hands are now not together"},
		{[]Measures{{Subject: "x", Started: monday}}, "Something else was played each time"},
	} {
		if l := Progress(tt.takes, now, time.UTC); len(l) != 1 || l[0].Sentence != tt.want {
			t.Errorf("got  %+v\nwant %s", l, tt.want)
		}
	}
	all := append(append([]Measures{}, better...), once...)
	if l := Progress(all, now, time.UTC); len(l) != 2 || l[0].Subject != "B flat minor arpeggio" || l[0].PowerLaw == nil || l[1].PowerLaw != nil {
		t.Errorf("%+v", l)
	}
	if s := Progress(better, better[0].Started.AddDate(1, 2, 0), time.UTC)[0].Sentence; !strings.Contains(s, "since September 2026") {
		t.Errorf("a year later: %s", s)
	}
}

// A day that is another by the clock of the place is another day.
func TestDaysAreThoseOfThePlace(t *testing.T) {
	late := time.Date(2026, 9, 7, 23, 30, 0, 0, time.UTC)
	ms := []Measures{{Started: late, Practised: time.Minute}, {Started: late.Add(time.Hour), Practised: 2 * time.Minute}}
	if d := Days(ms, time.UTC); len(d) != 2 || d[0] != (Day{"2026-09-07", 1, 1}) || d[1] != (Day{"2026-09-08", 2, 1}) {
		t.Errorf("%+v", d)
	}
	east := time.FixedZone("east", 2*60*60)
	if d := Days(ms, east); len(d) != 1 || d[0] != (Day{"2026-09-08", 3, 2}) {
		t.Errorf("%+v", d)
	}
}

// sure says whether any measure of a line has a sure trend.
func sure(l *Line) bool {
	for _, t := range []*Trend{l.Mark, l.Evenness, l.Speed, l.Wrong} {
		if t != nil && t.Sure {
			return true
		}
	}
	return false
}

// Where nothing changes but by chance, at most 5 of 100 things practised are said to have changed: over
// many and few days, with good and bad days, and with the measures drawn apart.
func TestNoTrendWhereThereIsNone(t *testing.T) {
	if testing.Short() {
		t.Skip("long: left out by -short")
	}
	rng := rand.New(rand.NewPCG(3, 1))
	for _, days := range []int{6, 10, 13, 24, 40} {
		const runs = 1500
		alarms := 0
		for range runs {
			ms := series("x", days, func(int) float64 { return 80 + 6*rng.NormFloat64() }, func(int) float64 { return 8 * math.Exp(0.2*rng.NormFloat64()) })
			for i := range ms {
				*ms[i].Wrong = int(3 * rng.ExpFloat64())
				*ms[i].Speed = 4 * math.Exp(0.1*rng.NormFloat64())
			}
			if l := Progress(ms, day(90), time.UTC); sure(&l[0]) {
				alarms++
			}
		}
		t.Logf("%d days: %.1f %% false alarms", days, 100*float64(alarms)/runs)
		if float64(alarms)/runs > 0.05 {
			t.Errorf("%d days: %d of %d are false alarms", days, alarms, runs)
		}
	}
}
