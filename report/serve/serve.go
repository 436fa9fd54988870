package serve

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"net"
	"net/http"
	"strings"
	"time"

	"evenhand/journal"
	"evenhand/report"
)

// Options are what a Server shows, and to whom.
type Options struct {
	Journal *journal.Journal
	// Recordings is the folder where takes grow while they are played; empty where there is none.
	Recordings string
	// Find reads what was asked for, in words or the name of a score that a recording was made with.
	Find func(words string) (Asked, error)
	// Show makes of a take what there is to show; an error where it cannot be shown, such as a score
	// that is no longer there. A take of free practice is not given to it.
	Show func(*journal.Take) (*report.Take, error)
	// Exams are the mock exams there are; nil where none are kept.
	Exams Exams
	// Passphrase is asked of every reader; empty where only this machine is served.
	Passphrase string
	// Names are those by which the machine may be called, besides its addresses and localhost.
	Names    []string
	Engraver report.Engraver

	Now   func() time.Time // nil: time.Now
	Place *time.Location   // whose days and weeks are told; nil: time.Local
	Log   func(error)      // told what went wrong on the server's side; may be nil
}

// Server shows a journal.
type Server struct {
	Options
	gate   *gate // nil without a passphrase
	shelf  *shelf
	watch  *Watch
	assets map[string][]byte // by name
	links  report.Links
	ending chan struct{} // closed when it ends
}

// New makes a Server. The error is of a passphrase that is too short.
func New(o Options) (*Server, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	if o.Place == nil {
		o.Place = time.Local
	}
	if o.Log == nil {
		o.Log = func(error) {}
	}
	s := &Server{Options: o, ending: make(chan struct{})}
	if o.Passphrase != "" {
		var err error
		if s.gate, err = newGate(o.Passphrase, o.Now); err != nil {
			return nil, err
		}
		s.Passphrase = "" // the gate has what it needs
	}
	s.shelf = newShelf(o.Now)
	s.watch = newWatch(o.Recordings, o.Find, o.Journal.TakeBegun)
	s.fetch()
	return s, nil
}

// engraverName is under what name the engraver is sent.
const engraverName = "engraver.js"

// fetch gathers what pages link to, under addresses that change when it does.
func (s *Server) fetch() {
	s.assets = report.Scripts()
	s.assets["style.css"] = report.Stylesheet()
	sum := sha256.New()
	for _, name := range sorted(s.assets) {
		sum.Write([]byte(name))
		sum.Write(s.assets[name])
	}
	sum.Write(s.Engraver.Gzipped())
	folder := assetsFolder + hex.EncodeToString(sum.Sum(nil)[:8]) + "/"
	s.links = report.Links{Style: folder + "style.css", Scripts: folder}
	if !s.Engraver.Empty() {
		s.links.Engraver = folder + engraverName
	}
}

// Limits of the server. Chosen by us: a page on a slow wireless network takes some seconds.
const (
	headerWithin = 5 * time.Second
	readWithin   = 15 * time.Second
	writeWithin  = 30 * time.Second
	idleFor      = 2 * time.Minute
	headerMost   = 16 << 10
	bodyMost     = 64 << 10
	endWithin    = 3 * time.Second
)

// Serve serves a listener until ctx is done; then what is under way is ended.
func (s *Server) Serve(ctx context.Context, l net.Listener) error {
	hs := &http.Server{
		Handler: s.Handler(), ReadHeaderTimeout: headerWithin, ReadTimeout: readWithin, WriteTimeout: writeWithin,
		IdleTimeout: idleFor, MaxHeaderBytes: headerMost, ErrorLog: quiet(),
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	watched, ended := make(chan struct{}), make(chan error, 1)
	go func() {
		defer close(watched)
		if s.Recordings != "" {
			s.watch.run(ctx)
		}
	}()
	go func() {
		<-ctx.Done()
		close(s.ending)
		last, stop := context.WithTimeout(context.WithoutCancel(ctx), endWithin)
		defer stop()
		if err := hs.Shutdown(last); err != nil {
			err = hs.Close()
			ended <- err
			return
		}
		ended <- nil
	}()
	err := hs.Serve(l)
	stop()
	<-watched
	if errors.Is(err, http.ErrServerClosed) {
		err = nil
	}
	return errors.Join(err, <-ended)
}

// Handler answers requests.
func (s *Server) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET /{$}", s.pupils)
	mux.HandleFunc("GET /pupils/{pupil}", s.numbered("pupil", s.weeks))
	mux.HandleFunc("GET /pupils/{pupil}/takes", s.takes)
	mux.HandleFunc("GET /takes/{take}", s.numbered("take", s.take))
	mux.HandleFunc("POST /takes/{take}/words", s.takeForm(s.say))
	mux.HandleFunc("POST /takes/{take}/strike", s.takeForm(s.strike))
	mux.HandleFunc("GET /week", s.week)
	if s.Exams != nil {
		mux.HandleFunc("GET /exams", s.exams)
		mux.HandleFunc("GET /exams/{exam}", s.numbered("exam", s.exam))
	}
	mux.HandleFunc("GET /desk", s.desk)
	mux.HandleFunc("GET /desk/events", s.events)
	mux.HandleFunc("GET "+enterPage, s.enterForm)
	mux.HandleFunc("POST "+enterPage, s.enter)
	mux.HandleFunc("POST /leave", s.leave)
	mux.HandleFunc("GET "+assetsFolder+"{version}/{name}", s.asset)
	mux.HandleFunc("/", func(w http.ResponseWriter, r *http.Request) {
		s.fail(w, http.StatusNotFound, "There is no such page.")
	})
	return s.guard(mux)
}

// asset sends what pages link to. The name is looked up among those there are.
func (s *Server) asset(w http.ResponseWriter, r *http.Request) {
	name := r.PathValue("name")
	h := w.Header()
	b, ok := s.assets[name]
	switch {
	case ok:
	case name == engraverName && s.links.Engraver != "" && strings.Contains(r.Header.Get("Accept-Encoding"), "gzip"):
		h.Set("Content-Encoding", "gzip")
		b = s.Engraver.Gzipped()
	default:
		s.fail(w, http.StatusNotFound, "There is no such page.")
		return
	}
	h.Set("Content-Type", "text/javascript; charset=utf-8")
	if strings.HasSuffix(name, ".css") {
		h.Set("Content-Type", "text/css; charset=utf-8")
	}
	h.Set("Cache-Control", "private, max-age=31536000, immutable")
	s.send(w, http.StatusOK, b)
}
