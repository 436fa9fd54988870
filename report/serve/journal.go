package serve

import (
	"context"
	"fmt"
	"net/http"
	"strconv"

	"evenhand/journal"
	"evenhand/report"
)

// pupils is the first page.
func (s *Server) pupils(w http.ResponseWriter, r *http.Request) {
	s.remembered(w, r, "pupils", func(ctx context.Context) (*report.Page, error) {
		all, err := s.Journal.Pupils(ctx)
		if err != nil {
			return nil, err
		}
		return &report.Page{Name: "pupils", Title: "Pupils", Data: report.NewPupils(all, s.Now(), s.Place, s.gate != nil)}, nil
	})
}

// pupil is the pupil of a number.
func (s *Server) pupil(ctx context.Context, id int64) (string, error) {
	all, err := s.Journal.Names(ctx)
	if err != nil {
		return "", err
	}
	for _, p := range all {
		if p.ID == id {
			return p.Name, nil
		}
	}
	return "", missing{noSuch("pupil")}
}

// weeks is what a pupil practised over the weeks.
func (s *Server) weeks(w http.ResponseWriter, r *http.Request, id int64) {
	s.remembered(w, r, fmt.Sprintf("weeks %d", id), func(ctx context.Context) (*report.Page, error) {
		name, err := s.pupil(ctx, id)
		if err != nil {
			return nil, err
		}
		weeks, err := report.ReadWeeks(ctx, s.Journal, name, s.Now(), s.Place)
		if err != nil {
			return nil, err
		}
		weeks.TakeList = fmt.Sprintf("/pupils/%d/takes", id)
		weeks.TakeAt = takeAddress
		return weeks.Page()
	})
}

// takesAPage is how many takes are on one page of the list.
const takesAPage = 50

// takes lists the takes of a pupil, the last first.
func (s *Server) takes(w http.ResponseWriter, r *http.Request) {
	id, ok := number(r, "pupil")
	before, err := strconv.ParseInt(r.URL.Query().Get("before"), 10, 64)
	if r.URL.Query().Get("before") == "" {
		before, err = 0, nil
	}
	if !ok || err != nil || before < 0 {
		s.fail(w, http.StatusNotFound, "There is no such page of takes.")
		return
	}
	s.remembered(w, r, fmt.Sprintf("takes %d %d", id, before), func(ctx context.Context) (*report.Page, error) {
		name, err := s.pupil(ctx, id)
		if err != nil {
			return nil, err
		}
		ms, err := s.Journal.Latest(ctx, name, before, takesAPage+1)
		if err != nil {
			return nil, err
		}
		data := report.TakeList{Weeks: fmt.Sprintf("/pupils/%d", id), Place: s.Place}
		if len(ms) > takesAPage {
			ms = ms[:takesAPage]
			data.Earlier = fmt.Sprintf("/pupils/%d/takes?before=%d", id, ms[takesAPage-1].Take)
		}
		if before > 0 {
			data.Latest = fmt.Sprintf("/pupils/%d/takes", id)
		}
		data.Takes = ms
		return &report.Page{Name: "takes", Title: name, Lead: "Takes, the last first", Data: data}, nil
	})
}

// week is the teacher's review of all pupils.
func (s *Server) week(w http.ResponseWriter, r *http.Request) {
	s.remembered(w, r, "week", func(ctx context.Context) (*report.Page, error) {
		all, err := s.Journal.Week(ctx, s.Now(), s.Place)
		if err != nil {
			return nil, err
		}
		return report.WeekPage(all, s.Now().In(s.Place)), nil
	})
}

// take shows one take, with forms for what the teacher says of it.
func (s *Server) take(w http.ResponseWriter, r *http.Request, id int64) {
	s.remembered(w, r, fmt.Sprintf("take %d", id), func(ctx context.Context) (*report.Page, error) {
		t, err := s.Journal.Take(ctx, id)
		if err != nil {
			return nil, err
		}
		p, err := s.takePage(t)
		if err != nil {
			return nil, err
		}
		p.Teacher = teacherForms(t)
		return p, nil
	})
}

// takePage is the page about a take; one in words alone where the music cannot be shown.
func (s *Server) takePage(t *journal.Take) (*report.Page, error) {
	said := "Nothing was asked: it was free practice."
	if t.Outcome != nil {
		shown, err := s.Show(t)
		if err == nil {
			var p *report.Page
			if p, err = shown.Page(s.Engraver); err == nil {
				return p, nil
			}
		}
		s.Log(fmt.Errorf("take %d: %w", t.ID, err)) // it may name files, which are not for every reader
		said = "The music it was played from is not to be had here any more."
	}
	return &report.Page{
		Name: "said", Title: t.Subject, Lead: fmt.Sprintf("%s, %s", t.Pupil, t.Started.In(s.Place).Format("Monday 2 January 2006, 15:04")),
		Data: said,
	}, nil
}

func takeAddress(take int64) string { return fmt.Sprintf("/takes/%d", take) }

// desk is the page that follows what is played.
func (s *Server) desk(w http.ResponseWriter, r *http.Request) {
	if s.Recordings == "" {
		s.fail(w, http.StatusNotFound, "Takes are not followed: there is no folder in which they grow.")
		return
	}
	s.page(w, http.StatusOK, &report.Page{
		Name: "desk", Title: "Music desk", Nav: s.nav("/desk"), Scripts: []string{"engraving.js", "desk.js"}, Engraver: s.Engraver,
	})
}
