package serve

import (
	"context"
	"net/http"
	"strings"
	"testing"

	"evenhand/exam"
	"evenhand/report"
)

// oneExam is a store with one exam, number 3.
type oneExam struct{ sheet exam.MarkSheet }

func (o oneExam) List(context.Context) ([]report.SheetLine, error) {
	return []report.SheetLine{{Number: 3, Pupil: o.sheet.Pupil, List: o.sheet.List, Begun: monday, State: "finished"}}, nil
}

func (o oneExam) Sheet(_ context.Context, number int64) (*exam.MarkSheet, error) {
	if number != 3 {
		return nil, nil
	}
	return &o.sheet, nil
}

func TestExamPages(t *testing.T) {
	for _, name := range append(hostile, "Mia Sandberg") {
		sheet := exam.MarkSheet{
			Says: exam.SheetSays, Pupil: name, Date: "7 September 2026", List: "Level 3, " + name, Level: 3, Total: new(71), Words: "Well prepared.", Unmarked: 1, Seconds: 754,
			Sections: []exam.SheetSection{{Title: "Scales", Weight: 40, Points: new(31.5), Parts: []exam.SheetPart{
				{Number: 1, Asked: "D major scale, " + name, Proposed: new(80), Teacher: new(84), Mark: new(84), Reasons: []string{"One wrong note."}, Words: "Sung well, " + name, Seconds: 31},
				{Number: 2, Asked: "G major arpeggio", Reasons: []string{"No mark yet."}},
			}}},
			LeftOut: []string{"Ear tests"}, Notes: []string{"Soft and loud were told apart."},
		}
		s := serving(t, newJournal(t), func(o *Options) { o.Exams = oneExam{sheet} })
		list, page := s.get("/exams"), s.get("/exams/3")
		has(t, list, `href="/exams/3"`, "finished", "Mon 7 Sep 2026, 16:00")
		has(t, page, exam.SheetSays, "84", "31.5", "71", "12 min 34 s", "One wrong note.", "One part has no mark yet", "Ear tests", "teacher", "Sung well")
		for _, bad := range []string{"<script>alert", "<img src=x", "</title></title>"} {
			if strings.Contains(page+list, bad) {
				t.Errorf("%q: the page has %s", name, bad)
			}
		}
		for _, path := range []string{"/exams/4", "/exams/x", "/exams/0"} {
			if w := s.do(http.MethodGet, path, nil, nil); w.Code != http.StatusNotFound {
				t.Errorf("%s: %d", path, w.Code)
			}
		}
	}
}
