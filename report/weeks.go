package report

import (
	"cmp"
	"context"
	"fmt"
	"io"
	"slices"
	"time"
	"unicode"
	"unicode/utf8"

	"evenhand/journal"
)

// Weeks is what there is to show of a pupil's practice over the weeks.
type Weeks struct {
	Pupil string
	Now   time.Time
	Place *time.Location

	Last  string // of the last practice, in words
	Plan  []journal.Proposal
	Set   []journal.Task // by the teacher, and running
	Said  []journal.Said // by the teacher, the last first
	Days  []journal.Day
	Lines []journal.Line // of each thing practised, the last practised first

	TakeList string                  // address of the takes; empty in a file
	TakeAt   func(take int64) string // address of a take; nil in a file
}

// planMinutes is how long the plan of a page is for. Common practice.
const planMinutes = 20

// saidMost is how many of the teacher's words are on a page: those of about half a year of lessons.
const saidMost = 24

// ReadWeeks reads a pupil's weeks from the journal. The error is journal.ErrNoPupil, or of the journal.
func ReadWeeks(ctx context.Context, j *journal.Journal, pupil string, now time.Time, place *time.Location) (*Weeks, error) {
	takes, err := j.History(ctx, pupil, time.Time{})
	if err != nil {
		return nil, err
	}
	set, err := j.Tasks(ctx, pupil, now)
	if err != nil {
		return nil, err
	}
	said, err := j.Said(ctx, pupil, saidMost)
	if err != nil {
		return nil, err
	}
	w := NewWeeks(pupil, takes, set, now, place)
	w.Said = said
	return w, nil
}

// NewWeeks makes the weeks of what a pupil played, oldest first, and what is set.
func NewWeeks(pupil string, takes []journal.Measures, set []journal.Task, now time.Time, place *time.Location) *Weeks {
	w := &Weeks{Pupil: pupil, Now: now.In(place), Place: place, Set: set}
	w.Plan = journal.Plan(takes, journal.Wishes{Minutes: planMinutes, Tasks: set, Now: now, Place: place})
	w.Days = journal.Days(takes, place)
	w.Lines = journal.Progress(takes, now, place)
	if n := len(takes); n > 0 {
		w.Last = w.Day(takes[n-1].Started)
	}
	return w
}

// weeksPage is what web/pages/weeks.html gets.
type weeksPage struct {
	*Weeks
	Practice Figure
	Items    []item
	Others   []journal.Line // which have no picture
}

// item is one thing practised, with its picture.
type item struct {
	journal.Line
	Figure Figure
	Once   string // its measures, where there is no picture
	Law    string // of the evenness, where there is one
}

// picturesMost is how many things have a picture: those practised last. The others are in a table.
const picturesMost = 8

// Page is the page about the weeks. Its Nav and Links are left to fill in.
func (w *Weeks) Page() (*Page, error) {
	p := &weeksPage{Weeks: w}
	var err error
	if p.Practice, err = w.practice(); err != nil {
		return nil, err
	}
	for i, l := range w.Lines {
		if i >= picturesMost {
			p.Others = w.Lines[i:]
			break
		}
		f, err := lineFigure(l, w.Place)
		if err != nil {
			return nil, err
		}
		it := item{Line: l, Figure: f}
		if f.Wide == "" {
			it.Once = once(l)
		}
		if law := l.PowerLaw; law != nil {
			it.Law = fmt.Sprintf("The unevenness follows the power law of practice: %.1f %% × days^−%.2f (R² %.2f).", law.Start, law.Rate, law.R2)
		}
		p.Items = append(p.Items, it)
	}
	slices.SortStableFunc(p.Others, func(a, b journal.Line) int { return cmp.Compare(a.Subject, b.Subject) })
	return &Page{Name: "weeks", Title: w.Pupil, Lead: "The weeks, to " + w.Now.Format("Monday 2 January 2006"), Data: p}, nil
}

// WriteWeeks writes the page about the weeks as one file that opens anywhere.
func WriteWeeks(out io.Writer, w *Weeks) error {
	p, err := w.Page()
	if err != nil {
		return err
	}
	return p.Write(out)
}

// TakeAddress is where a take is shown, empty where it is not.
func (w *Weeks) TakeAddress(take int64) string {
	if w.TakeAt == nil {
		return ""
	}
	return w.TakeAt(take)
}

// Until is when a task ends, in the place of the weeks.
func (w *Weeks) Until(t journal.Task) time.Time { return t.Until.In(w.Place) }

// Day is a day as it is said on the day of the page.
func (w *Weeks) Day(t time.Time) string { return day(t.In(w.Place), w.Now) }

// Amount is how much of a thing was practised.
func (w *Weeks) Amount(l journal.Line) string {
	return fmt.Sprintf("%s, %s since %s.", counted(l.Takes, "take", "takes"), minutes(l.Minutes), l.From.In(w.Place).Format("2 January 2006"))
}

// day is a day as it is said on another.
func day(t, now time.Time) string {
	switch days := int(midnight(now).Sub(midnight(t)).Hours()/24 + 0.5); {
	case days == 0:
		return "today"
	case days == 1:
		return "yesterday"
	case days > 1 && days < 7:
		return "on " + t.Format("Monday")
	case t.Year() == now.Year():
		return "on " + t.Format("2 January")
	}
	return "on " + t.Format("2 January 2006")
}

func midnight(t time.Time) time.Time {
	return time.Date(t.Year(), t.Month(), t.Day(), 0, 0, 0, 0, time.UTC)
}

// minutes is a length of practice in words.
func minutes(m float64) string {
	switch {
	case m == 0:
		return "no time"
	case m < 1:
		return "under a minute"
	case m < 1.5:
		return "1 minute"
	case m < 120:
		return fmt.Sprintf("%.0f minutes", m)
	}
	return fmt.Sprintf("%.1f hours", m/60)
}

// counted is a number of things in words.
func counted(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// capital is a sentence with its first letter in upper case.
func capital(s string) string {
	first, n := utf8.DecodeRuneInString(s)
	return string(unicode.ToUpper(first)) + s[n:]
}
