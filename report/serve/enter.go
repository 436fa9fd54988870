package serve

import (
	"errors"
	"net/http"
	"regexp"
	"strconv"

	"evenhand/report"
)

const (
	enterPage    = "/enter"
	assetsFolder = "/assets/"
)

// enter is the data of the page that asks for the passphrase.
type enter struct {
	To   string // where to go on
	Said string // what was wrong with the last try
}

// ours are the paths that a reader may be sent on to.
var ours = regexp.MustCompile(`^/(?:[a-z0-9]+(?:/[a-z0-9]+)*)?$`)

// back is where to go on: a page of ours, or else the first.
func back(to string) string {
	if ours.MatchString(to) {
		return to
	}
	return "/"
}

func (s *Server) enterForm(w http.ResponseWriter, r *http.Request) {
	if s.gate == nil || s.entered(r) {
		http.Redirect(w, r, back(r.URL.Query().Get("to")), http.StatusSeeOther)
		return
	}
	s.askPassphrase(w, http.StatusOK, enter{To: back(r.URL.Query().Get("to"))})
}

func (s *Server) askPassphrase(w http.ResponseWriter, status int, e enter) {
	s.page(w, status, &report.Page{Name: "enter", Title: "The passphrase", Data: e})
}

// enter looks at a try.
func (s *Server) enter(w http.ResponseWriter, r *http.Request) {
	if !s.form(w, r) {
		return
	}
	to := back(r.PostForm.Get("to"))
	if s.gate == nil {
		http.Redirect(w, r, to, http.StatusSeeOther)
		return
	}
	cookie, err := s.gate.try(from(r), r.PostForm.Get("passphrase"))
	var soon tooSoon
	switch {
	case errors.As(err, &soon):
		w.Header().Set("Retry-After", strconv.Itoa(int(soon.wait.Seconds()+0.999)))
		s.askPassphrase(w, http.StatusTooManyRequests, enter{to, sentence(err)})
	case err != nil:
		s.askPassphrase(w, http.StatusForbidden, enter{to, sentence(err)})
	default:
		http.SetCookie(w, &http.Cookie{
			Name: cookieName, Value: cookie, Path: "/", MaxAge: int(ticketLasts.Seconds()),
			HttpOnly: true, SameSite: http.SameSiteStrictMode,
		})
		http.Redirect(w, r, to, http.StatusSeeOther)
	}
}

// leave ends a reader's ticket.
func (s *Server) leave(w http.ResponseWriter, r *http.Request) {
	if c, err := r.Cookie(cookieName); err == nil && s.gate != nil {
		s.gate.leave(c.Value)
	}
	http.SetCookie(w, &http.Cookie{Name: cookieName, Path: "/", MaxAge: -1, HttpOnly: true, SameSite: http.SameSiteStrictMode})
	http.Redirect(w, r, "/", http.StatusSeeOther)
}
