package serve

import (
	"errors"
	"net/http"
	"strconv"
	"strings"

	"evenhand/journal"
	"evenhand/report"
)

// form reads the form of a request; where that is none it answers, and returns false.
func (s *Server) form(w http.ResponseWriter, r *http.Request) bool {
	err := r.ParseForm()
	var large *http.MaxBytesError
	switch {
	case errors.As(err, &large):
		s.fail(w, http.StatusRequestEntityTooLarge, "That is more than fits.")
	case err != nil:
		s.fail(w, http.StatusBadRequest, "The form cannot be read.")
	}
	return err == nil
}

// teacherForms are the forms on a take.
func teacherForms(t *journal.Take) *report.Teacher {
	f := &report.Teacher{Words: takeAddress(t.ID) + "/words", Strike: takeAddress(t.ID) + "/strike"}
	if t.Words != nil {
		f.Said, f.Mark = t.Words.Said, t.Words.Mark
	}
	if t.Outcome == nil {
		return f
	}
	for i := range t.Outcome.Findings {
		struck, why := t.Struck(i)
		f.Findings = append(f.Findings, report.Finding{Number: i + 1, Text: t.Outcome.Findings[i].Text, Struck: struck, Why: why})
	}
	return f
}

// takeForm serves a form on a take.
func (s *Server) takeForm(then func(http.ResponseWriter, *http.Request, int64)) http.HandlerFunc {
	return s.numbered("take", func(w http.ResponseWriter, r *http.Request, id int64) {
		if s.form(w, r) {
			then(w, r, id)
		}
	})
}

// saidMost is how long the teacher's words on a take may be, in bytes. Chosen by us.
const saidMost = 16 << 10

// say keeps the teacher's words and mark on a take.
func (s *Server) say(w http.ResponseWriter, r *http.Request, id int64) {
	words := journal.Words{Said: strings.TrimSpace(r.PostForm.Get("said")), At: s.Now()}
	if len(words.Said) > saidMost {
		s.fail(w, http.StatusRequestEntityTooLarge, "That is more than fits.")
		return
	}
	if given := strings.TrimSpace(r.PostForm.Get("mark")); given != "" {
		mark, err := strconv.Atoi(given)
		if err != nil {
			s.fail(w, http.StatusBadRequest, "A mark is a whole number from 0 to 100.")
			return
		}
		words.Mark = &mark
	}
	s.done(w, r, id, s.Journal.Say(r.Context(), id, words))
}

// strike strikes a finding of a take out.
func (s *Server) strike(w http.ResponseWriter, r *http.Request, id int64) {
	finding, err := strconv.Atoi(r.PostForm.Get("finding"))
	why := strings.TrimSpace(r.PostForm.Get("why"))
	if len(why) > saidMost {
		s.fail(w, http.StatusRequestEntityTooLarge, "That is more than fits.")
		return
	}
	if err != nil {
		s.fail(w, http.StatusBadRequest, noSuch("finding"))
		return
	}
	s.done(w, r, id, s.Journal.Strike(r.Context(), id, finding, why, s.Now()))
}

// done goes back to the take, or says why it did not work: what the journal refuses is the form's fault.
func (s *Server) done(w http.ResponseWriter, r *http.Request, take int64, err error) {
	var cannot *journal.Unavailable
	switch {
	case err == nil:
		s.shelf.forget()
		http.Redirect(w, r, takeAddress(take), http.StatusSeeOther)
	case errors.As(err, &cannot), errors.Is(err, journal.ErrNoTake):
		s.fault(w, err)
	default:
		s.fail(w, http.StatusBadRequest, sentence(err))
	}
}
