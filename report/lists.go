package report

import (
	"fmt"
	"time"

	"evenhand/journal"
)

// Pupils is the list of all pupils.
type Pupils struct {
	All   []PupilLine
	Leave bool // there is a passphrase, so that a reader can leave
}

// PupilLine is a pupil in the list.
type PupilLine struct {
	journal.Pupil
	Address, TakeList string
	Practised, Last   string // in words
}

// NewPupils makes the list, with the days of a place.
func NewPupils(all []journal.Pupil, now time.Time, place *time.Location, leave bool) Pupils {
	p := Pupils{Leave: leave}
	for _, q := range all {
		l := PupilLine{Pupil: q, Address: fmt.Sprintf("/pupils/%d", q.ID), TakeList: fmt.Sprintf("/pupils/%d/takes", q.ID), Practised: minutes(q.Practised.Minutes()), Last: "not yet"}
		if q.Takes > 0 {
			l.Last = day(q.Last.In(place), now.In(place))
		}
		p.All = append(p.All, l)
	}
	return p
}

// TakeList is one page of a pupil's takes, the last first.
type TakeList struct {
	Takes           []journal.Measures
	Place           *time.Location
	Weeks           string // address of the pupil's weeks
	Earlier, Latest string // addresses of the next page, and of the first; empty where this is it
}

// At is when a take began.
func (l TakeList) At(t time.Time) string { return t.In(l.Place).Format("Mon 2 Jan 2006, 15:04") }

// Address is where a take is shown.
func (l TakeList) Address(take int64) string { return fmt.Sprintf("/takes/%d", take) }

// WeekPage is the teacher's review of all pupils in the seven days before now.
func WeekPage(all []journal.Review, now time.Time) *Page {
	type line struct {
		journal.Review
		Practice string // in words
	}
	var lines []line
	for _, r := range all {
		l := line{r, "No practice this week."}
		if r.Takes > 0 {
			l.Practice = fmt.Sprintf("%s on %s, %s. The week before: %s.", capital(minutes(r.Minutes)), counted(r.Days, "day", "days"), counted(r.Takes, "take", "takes"), minutes(r.Before))
		}
		lines = append(lines, l)
	}
	return &Page{
		Name: "week", Title: "The week", Data: lines,
		Lead: fmt.Sprintf("From %s to %s", now.AddDate(0, 0, -6).Format("Monday 2 January"), now.Format("Monday 2 January 2006")),
	}
}
