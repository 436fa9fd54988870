package report

import (
	"io"
	"time"

	"evenhand/references"
	"evenhand/scoring"
)

// Take is what there is to show of one take.
type Take struct {
	Reference   *references.Reference // what the assessment was measured against
	Assessment  *scoring.Assessment
	Asked       string    // the title, as it is called for
	Pupil       string    // empty where it is not known
	Started     time.Time // zero where it is not known
	Piano       string
	Teacher     string // the teacher's own words; empty where there are none
	TeacherMark *int
}

// Page is the page about the take. Its Engraver, Nav and Links are left to fill in.
func (t *Take) Page() (*Page, error) {
	return &Page{Name: "take", Title: t.Asked, Scripts: []string{"take.js"}, Data: t}, nil
}

// WriteTake writes the page about a take as one file that opens anywhere, with the engraver in it
// where it is not empty.
func WriteTake(w io.Writer, t *Take, e Engraver) error {
	p, err := t.Page()
	if err != nil {
		return err
	}
	p.Engraver = e
	return p.Write(w)
}
