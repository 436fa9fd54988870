package report

import (
	"fmt"
	"io"
	"time"

	"evenhand/exam"
)

// SheetPage is the mark sheet of a mock exam, ready to be signed. Its Nav and Links are left to fill in.
func SheetPage(s *exam.MarkSheet) *Page {
	title := s.Pupil
	if title == "" {
		title = "Mark sheet"
	}
	lead := fmt.Sprintf("Mock exam, %s, level %d", s.List, s.Level)
	if s.Date != "" {
		lead += ", " + s.Date
	}
	return &Page{Name: "sheet", Title: title, Lead: lead, Data: sheetPage{s}}
}

// WriteSheet writes a mark sheet as one file that opens anywhere.
func WriteSheet(w io.Writer, s *exam.MarkSheet) error { return SheetPage(s).Write(w) }

// sheetPage is what web/pages/sheet.html gets.
type sheetPage struct{ *exam.MarkSheet }

// Took is how long the whole took, or a part, in words; empty where it is not known.
func (sheetPage) Took(seconds float64) string {
	if seconds <= 0 {
		return ""
	}
	d := time.Duration(seconds * float64(time.Second)).Round(time.Second)
	if d < time.Minute {
		return fmt.Sprintf("%d s", int(d.Seconds()))
	}
	return fmt.Sprintf("%d min %02d s", int(d.Minutes()), int(d.Seconds())%60)
}

// Points are points of the total, or a dash.
func (sheetPage) Points(p *float64) string {
	if p == nil {
		return "–"
	}
	return fmt.Sprintf("%.1f", *p)
}

// SheetLine is an exam in the list of them.
type SheetLine struct {
	Number      int64
	Pupil, List string
	Begun       time.Time
	State       string // how far it is, in words
}

// Address is where the mark sheet is.
func (l SheetLine) Address() string { return fmt.Sprintf("/exams/%d", l.Number) }
