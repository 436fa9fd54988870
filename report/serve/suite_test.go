package serve

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"net/url"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/journal"
	"evenhand/references"
	"evenhand/report"
	"evenhand/scoring"
)

var monday = time.Date(2026, 9, 7, 16, 0, 0, 0, time.UTC)

// hostile are names that are to come out as text.
var hostile = []string{
	`<script>alert(1)</script>`,
	`"><img src=x onerror=alert(1)>`,
	`' onmouseover='alert(1)`,
	"\u202Eneila\u202C",
	"שלום",
	"🎹 Mia & Ben",
	`{{.Title}}</title>`,
	"]]>--><!--",
	`javascript:alert(1)`,
}

// played is a take by the simulated pupil, judged as the program does.
func played(t testing.TB, asked string, started time.Time, p pupil.Pupil) journal.Entry {
	t.Helper()
	q, err := references.Parse(asked)
	if err != nil {
		t.Fatal(err)
	}
	candidates := q.Candidates()
	take, _ := pupil.Play(candidates[0], p)
	take.Started = started
	var smf bytes.Buffer
	if err := capture.WriteSMF(&smf, take); err != nil {
		t.Fatal(err)
	}
	return journal.Entry{
		Asked: asked, Started: started, Practised: take.End() - take.Notes[0].On, Device: "a piano", SMF: smf.Bytes(), Marked: started.Add(time.Minute),
		Outcome: scoring.Assess(align.Best(candidates, q.Neighbours(), take), scoring.Asked{Take: "take.mid", Against: q.String(), Request: &q, Version: "1"}, scoring.DefaultSettings()),
	}
}

// show is Options.Show for takes of requests.
func show(t *journal.Take) (*report.Take, error) {
	q, err := references.Parse(t.Asked)
	if err != nil {
		return nil, err
	}
	take, err := capture.ReadSMF(bytes.NewReader(t.SMF), "take")
	if err != nil {
		return nil, err
	}
	return &report.Take{
		Reference: align.Best(q.Candidates(), q.Neighbours(), take).Reference, Assessment: t.Outcome, Amended: t.Amendment(), Asked: q.Spoken(), Pupil: t.Pupil, Started: t.Started,
	}, nil
}

func find(words string) (Asked, error) {
	q, err := references.Parse(words)
	if err != nil {
		return Asked{}, err
	}
	return Asked{q.Spoken(), q.Candidates()}, nil
}

func newJournal(t testing.TB) *journal.Journal {
	t.Helper()
	j, err := journal.Open(t.Context(), filepath.Join(t.TempDir(), "journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	return j
}

// lessons fills a journal: a pupil of each name practises two scales over some weeks.
func lessons(t testing.TB, j *journal.Journal, weeks int, names ...string) {
	t.Helper()
	for i, name := range names {
		if err := j.Add(t.Context(), name, monday); err != nil {
			t.Fatal(err)
		}
		for day := 0; day < 7*weeks; day += 2 {
			for k, asked := range []string{"D major scale, right hand, 1 octave", "A minor harmonic scale, hands together, 1 octave"} {
				p := pupil.Pupil{Seed: uint64(100*i + 10*day + k), Spread: 30 / (1 + float64(day)/14)}
				if day%6 == 0 {
					p.Faults = []pupil.Fault{{Kind: pupil.SemitoneOff, At: 4, By: 1}}
				}
				if _, err := j.Keep(t.Context(), name, played(t, asked, monday.AddDate(0, 0, day).Add(time.Duration(k)*time.Hour), p)); err != nil {
					t.Fatal(err)
				}
			}
		}
		if err := j.Set(t.Context(), name, journal.Task{Asked: "G major arpeggio, left hand", Note: "slowly, " + name, At: monday, Until: monday.AddDate(1, 0, 0)}); err != nil {
			t.Fatal(err)
		}
	}
}

// site is a server that tests ask.
type site struct {
	t       testing.TB
	handler http.Handler
	server  *Server
	cookies []*http.Cookie
}

// serving is a server of a journal; change may change its options.
func serving(t testing.TB, j *journal.Journal, change func(*Options)) *site {
	t.Helper()
	o := Options{
		Journal: j, Recordings: t.TempDir(), Find: find, Show: show, Place: time.UTC,
		Now: func() time.Time { return monday.AddDate(0, 0, 20) }, Log: func(err error) { t.Error("the server says:", err) },
	}
	if change != nil {
		change(&o)
	}
	s, err := New(o)
	if err != nil {
		t.Fatal(err)
	}
	return &site{t: t, handler: s.Handler(), server: s}
}

// do asks; what a form says goes into the body.
func (s *site) do(method, path string, form url.Values, change func(*http.Request)) *httptest.ResponseRecorder {
	s.t.Helper()
	var body io.Reader
	if form != nil {
		body = strings.NewReader(form.Encode())
	}
	r := httptest.NewRequestWithContext(context.WithoutCancel(s.t.Context()), method, "http://127.0.0.1:5288/", body)
	u, err := url.Parse(path)
	if err != nil {
		s.t.Fatal(err)
	}
	r.URL.Path, r.URL.RawPath, r.URL.RawQuery, r.RequestURI = u.Path, u.RawPath, u.RawQuery, path
	if form != nil {
		r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
		r.Header.Set("Sec-Fetch-Site", "same-origin")
	}
	for _, c := range s.cookies {
		r.AddCookie(c)
	}
	if change != nil {
		change(r)
	}
	w := httptest.NewRecorder()
	s.handler.ServeHTTP(w, r)
	return w
}

// get asks for a page that must be there.
func (s *site) get(path string) string {
	s.t.Helper()
	w := s.do(http.MethodGet, path, nil, nil)
	if w.Code != http.StatusOK {
		s.t.Fatalf("%s: %d: %s", path, w.Code, w.Body)
	}
	return w.Body.String()
}

func (s *site) post(path string, form url.Values) *httptest.ResponseRecorder {
	s.t.Helper()
	return s.do(http.MethodPost, path, form, nil)
}

// has looks for words in a page.
func has(t testing.TB, page string, words ...string) {
	t.Helper()
	for _, w := range words {
		if !strings.Contains(page, w) {
			t.Errorf("no %q in\n%s", w, short(page))
		}
	}
}

var picture = regexp.MustCompile(`data:image/[^"]+`)

func short(page string) string { return picture.ReplaceAllString(page, "…") }

// links are the addresses that a page leads to.
func links(page string) []string {
	var out []string
	for _, m := range regexp.MustCompile(`(?:href|src)="(/[^"]*)"`).FindAllStringSubmatch(page, -1) {
		out = append(out, strings.ReplaceAll(m[1], "&amp;", "&"))
	}
	return out
}

func takePath(id int64) string { return fmt.Sprintf("/takes/%d", id) }
