package serve

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"maps"
	"net/http"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"evenhand/journal"
	"evenhand/report"
)

// nav are the ways to the other pages.
func (s *Server) nav(here string) []report.Link {
	links := []report.Link{{Address: "/", Text: "Pupils"}, {Address: "/week", Text: "The week"}}
	if s.Exams != nil {
		links = append(links, report.Link{Address: "/exams", Text: "Mock exams"})
	}
	if s.Recordings != "" {
		links = append(links, report.Link{Address: "/desk", Text: "Music desk"})
	}
	for i := range links {
		links[i].Here = links[i].Address == here
	}
	return links
}

// page writes a page that is not remembered.
func (s *Server) page(w http.ResponseWriter, status int, p *report.Page) {
	b, err := s.written(p)
	if err != nil {
		s.Log(err)
		http.Error(w, "The page could not be made.", http.StatusInternalServerError)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	s.send(w, status, b)
}

// written is a page as it is sent.
func (s *Server) written(p *report.Page) ([]byte, error) {
	p.Links = &s.links
	var b bytes.Buffer
	err := p.Write(&b)
	return b.Bytes(), err
}

// send sends a body. An error is the reader's going away.
func (s *Server) send(w http.ResponseWriter, status int, b []byte) {
	w.Header().Set("Content-Length", strconv.Itoa(len(b)))
	w.WriteHeader(status)
	_, _ = w.Write(b) // the reader may have gone
}

// makePatience is how long a page may take to be made.
const makePatience = 20 * time.Second

// remembered sends a page, from the shelf where it is there. Its name says all that it depends on but
// the journal and the time.
func (s *Server) remembered(w http.ResponseWriter, r *http.Request, name string, make func(context.Context) (*report.Page, error)) {
	state, err := s.Journal.State(r.Context())
	if err != nil {
		s.fault(w, err)
		return
	}
	b, err := s.shelf.get(r.Context(), name, state, func() ([]byte, error) {
		// Others may wait for it when who asked first has gone.
		ctx, stop := context.WithTimeout(context.WithoutCancel(r.Context()), makePatience)
		defer stop()
		p, err := make(ctx)
		if err != nil {
			return nil, err
		}
		p.Nav = s.nav(r.URL.Path)
		return s.written(p)
	})
	if err != nil {
		s.fault(w, err)
		return
	}
	sum := sha256.Sum256(b)
	tag := `"` + hex.EncodeToString(sum[:12]) + `"`
	w.Header().Set("ETag", tag)
	if slices.Contains(strings.Split(r.Header.Get("If-None-Match"), ", "), tag) {
		w.WriteHeader(http.StatusNotModified)
		return
	}
	w.Header().Set("Content-Type", "text/html; charset=utf-8")
	s.send(w, http.StatusOK, b)
}

// missing is an error of what is not there.
type missing struct{ what string }

func (m missing) Error() string { return m.what }

// fault answers where a page could not be made.
func (s *Server) fault(w http.ResponseWriter, err error) {
	var none missing
	var cannot *journal.Unavailable
	switch {
	case errors.As(err, &none):
		s.fail(w, http.StatusNotFound, none.what)
	case errors.Is(err, journal.ErrNoTake):
		s.fail(w, http.StatusNotFound, noSuch("take"))
	case errors.Is(err, journal.ErrNoPupil):
		s.fail(w, http.StatusNotFound, noSuch("pupil"))
	case errors.Is(err, context.Canceled):
		w.WriteHeader(http.StatusServiceUnavailable) // nobody reads it
	case errors.As(err, &cannot), errors.Is(err, context.DeadlineExceeded):
		s.Log(err)
		w.Header().Set("Retry-After", "5")
		s.fail(w, http.StatusServiceUnavailable, "The journal is not to be had just now: try again in a moment.")
	default:
		s.Log(err)
		s.fail(w, http.StatusInternalServerError, "The page could not be made; why is told where the server runs.")
	}
}

// fail answers with a sentence.
func (s *Server) fail(w http.ResponseWriter, status int, said string) {
	s.page(w, status, &report.Page{Name: "said", Title: "That did not work", Data: said, Nav: s.nav("")})
}

// sentence makes a sentence of an error.
func sentence(err error) string {
	text := err.Error()
	first, n := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(first)) + text[n:] + "."
}

// number is a number in a path; ok is false where it is none.
func number(r *http.Request, name string) (n int64, ok bool) {
	n, err := strconv.ParseInt(r.PathValue(name), 10, 64)
	return n, err == nil && n > 0
}

// noSuch says that there is nothing of a kind by that number.
func noSuch(kind string) string { return "There is no such " + kind + "." }

// numbered serves a path that has the number of a thing of this kind.
func (s *Server) numbered(kind string, then func(http.ResponseWriter, *http.Request, int64)) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		if id, ok := number(r, kind); ok {
			then(w, r, id)
		} else {
			s.fail(w, http.StatusNotFound, noSuch(kind))
		}
	}
}

func sorted[V any](m map[string]V) []string { return slices.Sorted(maps.Keys(m)) }
