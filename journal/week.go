package journal

import (
	"cmp"
	"context"
	"math"
	"slices"
	"time"
)

// Review is a pupil's week, for the teacher.
type Review struct {
	Pupil     string   `json:"pupil"`
	Days      int      `json:"days"` // on which there was practice
	Takes     int      `json:"takes"`
	Minutes   float64  `json:"minutes"`
	Before    float64  `json:"minutes_before"` // in the week before
	Practised []Amount `json:"practised"`      // the longest first
	Better    []string `json:"better"`         // one sentence a thing
	Worse     []string `json:"worse"`
	ListenFor []string `json:"listen_for"` // what came most, the most first
	Set       []string `json:"set"`        // what was set and not heard
}

// Amount is how much of one thing was practised.
type Amount struct {
	Subject string  `json:"what"`
	Takes   int     `json:"takes"`
	Minutes float64 `json:"minutes"`
	Mark    *int    `json:"mark"` // the last
}

// trendWeeks is how far back a change is looked for. Chosen by us.
const trendWeeks = 12

// WeekBegins is the midnight from which the week that ends now counts: seven days in a place, with today.
func WeekBegins(now time.Time, place *time.Location) time.Time {
	y, m, d := now.In(place).Date()
	return time.Date(y, m, d-6, 0, 0, 0, 0, place)
}

// Week reviews the last seven days, with today, of all pupils, by name.
func (j *Journal) Week(ctx context.Context, now time.Time, place *time.Location) ([]Review, error) {
	pupils, err := j.Names(ctx)
	if err != nil {
		return nil, err
	}
	all, err := j.since(ctx, now.AddDate(0, 0, -7*trendWeeks))
	if err != nil {
		return nil, err
	}
	by := map[int64][]Measures{}
	for _, m := range all {
		by[m.Pupil] = append(by[m.Pupil], m)
	}
	var out []Review
	for _, p := range pupils {
		set, err := tasks(ctx, j.db, p.ID, WeekBegins(now, place))
		if err != nil {
			return nil, j.fault(err)
		}
		out = append(out, review7(p.Name, by[p.ID], set, now, place))
	}
	return out, nil
}

// review7 reviews the last seven days out of what a pupil played, oldest first.
func review7(pupil string, takes []Measures, set []Task, now time.Time, place *time.Location) Review {
	r := Review{Pupil: pupil, Practised: []Amount{}, Better: []string{}, Worse: []string{}, ListenFor: []string{}, Set: []string{}}
	begin := WeekBegins(now, place)
	amounts := map[string]*Amount{}
	days, faults := map[int]bool{}, map[Fault]int{}
	for _, m := range takes {
		if m.Started.Before(begin) {
			if !m.Started.Before(begin.AddDate(0, 0, -7)) {
				r.Before += m.Practised.Minutes()
			}
			continue
		}
		r.Takes++
		r.Minutes += m.Practised.Minutes()
		days[dayOf(m.Started, place)] = true
		a := amounts[m.Subject]
		if a == nil {
			a = &Amount{Subject: m.Subject}
			amounts[m.Subject] = a
		}
		a.Takes++
		a.Minutes += m.Practised.Minutes()
		if m.Mark != nil {
			a.Mark = m.Mark
		}
		for _, f := range m.Faults {
			faults[f]++
		}
	}
	r.Days, r.Minutes, r.Before = len(days), round1(r.Minutes), round1(r.Before)
	for _, a := range amounts {
		a.Minutes = round1(a.Minutes)
		r.Practised = append(r.Practised, *a)
	}
	slices.SortFunc(r.Practised, func(a, b Amount) int {
		return cmp.Or(cmp.Compare(b.Minutes, a.Minutes), cmp.Compare(a.Subject, b.Subject))
	})
	r.changes(takes, amounts, now, place)
	r.ListenFor = most(faults, 3)
	for _, t := range set {
		if amounts[t.Subject] == nil {
			r.Set = append(r.Set, t.Asked)
		}
	}
	return r
}

// changes tells what got better and worse of what was practised this week.
func (r *Review) changes(takes []Measures, amounts map[string]*Amount, now time.Time, place *time.Location) {
	practised := slices.DeleteFunc(slices.Clone(takes), func(m Measures) bool { return amounts[m.Subject] == nil })
	for _, l := range Progress(practised, now, place) {
		sum := 0
		for _, t := range []struct {
			*Trend
			good float64
		}{{l.Mark, 1}, {l.Evenness, -1}, {l.Wrong, -1}} {
			if t.Trend != nil && t.Sure {
				sum += int(math.Copysign(1, t.Slope*t.good))
			}
		}
		s := l.Subject + ": " + l.Sentence
		switch {
		case sum > 0:
			r.Better = append(r.Better, s)
		case sum < 0:
			r.Worse = append(r.Worse, s)
		}
	}
}

// most are the n faults that came most often, and more than once.
func most(faults map[Fault]int, n int) []string {
	var all []Fault
	for f, times := range faults {
		if times > 1 {
			all = append(all, f)
		}
	}
	slices.SortFunc(all, func(a, b Fault) int {
		return cmp.Or(cmp.Compare(faults[b], faults[a]), cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Hand, b.Hand))
	})
	out := []string{}
	for _, f := range all[:min(n, len(all))] {
		out = append(out, f.ListenFor())
	}
	return out
}

func round1(v float64) float64 { return math.Round(v*10) / 10 }
