package serve

import (
	"context"
	"fmt"
	"net/http"

	"evenhand/exam"
	"evenhand/report"
)

// Exams are the mock exams that are kept.
type Exams interface {
	// List are all exams, the last begun first.
	List(ctx context.Context) ([]report.SheetLine, error)
	// Sheet is the mark sheet of one as it stands; nil where there is none of the number.
	Sheet(ctx context.Context, number int64) (*exam.MarkSheet, error)
}

// exams lists the mock exams.
func (s *Server) exams(w http.ResponseWriter, r *http.Request) {
	s.remembered(w, r, "exams", func(ctx context.Context) (*report.Page, error) {
		all, err := s.Exams.List(ctx)
		if err != nil {
			return nil, err
		}
		for i := range all {
			all[i].Begun = all[i].Begun.In(s.Place)
		}
		return &report.Page{Name: "exams", Title: "Mock exams", Data: all}, nil
	})
}

// exam shows the mark sheet of one.
func (s *Server) exam(w http.ResponseWriter, r *http.Request, id int64) {
	s.remembered(w, r, fmt.Sprintf("exam %d", id), func(ctx context.Context) (*report.Page, error) {
		sheet, err := s.Exams.Sheet(ctx, id)
		switch {
		case err != nil:
			return nil, err
		case sheet == nil:
			return nil, missing{noSuch("exam")}
		}
		return report.SheetPage(sheet), nil
	})
}
