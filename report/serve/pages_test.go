package serve

import (
	"context"
	"errors"
	"net/http"
	"net/url"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"
	"time"

	"evenhand/capture/pupil"
	"evenhand/journal"
	"evenhand/report"
)

func TestPagesTellTheJournal(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 3, "Mia Sandberg", "Teodor Quill")
	if err := j.Say(t.Context(), 1, journal.Words{Said: "Lighter in the left hand.", Mark: new(77), At: monday}); err != nil {
		t.Fatal(err)
	}
	s := serving(t, j, nil)
	has(t, s.get("/"), "Mia Sandberg", "Teodor Quill", `href="/pupils/1"`, `href="/pupils/2/takes"`)
	has(t, s.get("/week"), "Mia Sandberg", "D major scale, right hand, 1 octave", "Set, and not heard")
	has(t, s.get("/pupils/1"), "Today", "slowly, Mia Sandberg", "Lighter in the left hand.", "(77 of 100)", "Minutes a day", "A harmonic minor scale")
	has(t, s.get("/pupils/2/takes"), "Teodor Quill", "D major scale, right hand, 1 octave", "Mon 7 Sep 2026, 16:00")
	has(t, s.get(takePath(1)), "Lighter in the left hand.", `value="77"`, "Strike out")
	has(t, s.get("/desk"), "Music desk", "desk.js")
}

// Every link of every page leads somewhere.
func TestLinksLeadSomewhere(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 8, "Mia", "Teo") // more than one page of takes
	s := serving(t, j, func(o *Options) { o.Engraver = report.BuiltIn() })
	seen := map[string]bool{}
	var visit func(path string)
	visit = func(path string) {
		if seen[path] || strings.HasPrefix(path, "/takes/") && len(seen) > 60 {
			return
		}
		seen[path] = true
		w := s.do(http.MethodGet, path, nil, func(r *http.Request) { r.Header.Set("Accept-Encoding", "gzip") })
		if w.Code != http.StatusOK {
			t.Errorf("%s: %d", path, w.Code)
		}
		if strings.HasPrefix(w.Header().Get("Content-Type"), "text/html") {
			for _, l := range links(w.Body.String()) {
				visit(l)
			}
		}
	}
	visit("/")
	for _, want := range []string{"/week", "/desk", "/pupils/1", "/pupils/1/takes", s.server.links.Style} {
		if !seen[want] {
			t.Errorf("nothing leads to %s", want)
		}
	}
}

func TestTakesGoBackPageByPage(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 16, "Mia")
	s := serving(t, j, nil)
	seen := map[string]bool{}
	for path, pages := "/pupils/1/takes", 0; path != ""; pages++ {
		page, next := s.get(path), ""
		for _, l := range links(page) {
			switch {
			case strings.HasPrefix(l, "/takes/"):
				if seen[l] {
					t.Errorf("%s is on two pages", l)
				}
				seen[l] = true
			case strings.Contains(l, "before="):
				next = l
			}
		}
		if path = next; pages > 5 {
			t.Fatal("the pages have no end")
		}
	}
	if len(seen) != 2*8*7 {
		t.Errorf("%d takes on all pages, want %d", len(seen), 2*8*7)
	}
}

// Names of people and things are text wherever they are, also in what forms gave.
func TestHostileNamesAreText(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 1, hostile...)
	s := serving(t, j, nil)
	for i, h := range hostile {
		e := played(t, "C major scale, right hand, 1 octave", monday.Add(time.Duration(i)*time.Minute), pupil.Pupil{Seed: 1})
		e.Asked, e.Device = h, h
		id, err := j.Keep(t.Context(), h, e)
		if err != nil {
			t.Fatal(err)
		}
		if w := s.post(takePath(id)+"/words", url.Values{"said": {h}}); w.Code != http.StatusSeeOther {
			t.Errorf("%q: %d %s", h, w.Code, w.Body)
		}
	}
	s.server.Log = func(error) {} // no such music
	pages := []string{"/", "/week"}
	for id := range int64(len(hostile)) {
		pages = append(pages, "/pupils/"+strconv.FormatInt(id+1, 10), "/pupils/"+strconv.FormatInt(id+1, 10)+"/takes")
	}
	takes, err := j.Latest(t.Context(), hostile[0], 0, 20)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range takes {
		pages = append(pages, takePath(m.Take))
	}
	for _, path := range pages {
		page := s.get(path)
		for _, bad := range []string{"<script>alert", "<img src=x", "</title></title>", "]]>--><!--", "onmouseover='", `href="javascript:`} {
			if strings.Contains(page, bad) {
				t.Errorf("%s has %q", path, bad)
			}
		}
	}
	has(t, s.get("/pupils/1"), "&lt;script&gt;alert(1)&lt;/script&gt;")
}

func TestWhatIsNotThere(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 1, "Mia")
	s := serving(t, j, nil)
	for _, path := range []string{
		"/pupils/9", "/pupils/0", "/pupils/-1", "/pupils/x", "/pupils/9/takes", "/pupils/1/takes?before=x", "/pupils/1/takes?before=-4",
		"/takes/99999", "/takes/x", "/takes/99999999999999999999", "/nothing", "/assets/", "/assets/1/none.js", "/assets/1/page.go", "/pupils/",
		"/assets/1/..%2f..%2fgo.mod", "/assets/..%2f..%2f/style.css%00", "/%2e%2e/%2e%2e/etc/passwd", "/takes/1%2f..%2f2",
	} {
		if w := s.do(http.MethodGet, path, nil, nil); w.Code != http.StatusNotFound {
			t.Errorf("%s: %d", path, w.Code)
		}
	}
	if w := s.do(http.MethodPut, "/takes/1/words", url.Values{}, nil); w.Code == http.StatusOK {
		t.Error("a take was put")
	}
	// Free practice has a page too.
	id, err := j.Keep(t.Context(), "Mia", journal.Entry{Started: monday, SMF: []byte("x")})
	if err != nil {
		t.Fatal(err)
	}
	has(t, s.get(takePath(id)), "free practice")
}

// The teacher's words and mark, and a finding struck out: the page follows, and the marks of the take.
func TestTheTeacherSays(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 1, "Mia")
	s := serving(t, j, nil)
	take := func() *journal.Take {
		t.Helper()
		k, err := j.Take(t.Context(), 1)
		if err != nil {
			t.Fatal(err)
		}
		return k
	}
	before := s.get("/pupils/1/takes")
	page := s.get(takePath(1))
	has(t, page, take().Outcome.Findings[0].Text)

	if w := s.post("/takes/1/words", url.Values{"said": {" Bravo!\r\nNow slower. "}, "mark": {"88"}}); w.Code != http.StatusSeeOther || w.Header().Get("Location") != takePath(1) {
		t.Fatalf("%d to %q", w.Code, w.Header().Get("Location"))
	}
	if w := take().Words; w == nil || w.Said != "Bravo!\r\nNow slower." || *w.Mark != 88 || !w.At.Equal(s.server.Now()) {
		t.Errorf("kept: %+v", w)
	}
	has(t, s.get(takePath(1)), "Now slower.", `value="88"`)
	if w := s.post("/takes/1/strike", url.Values{"finding": {"1"}, "why": {"that was fine"}}); w.Code != http.StatusSeeOther {
		t.Fatalf("%d %s", w.Code, w.Body)
	}
	has(t, s.get(takePath(1)), "that was fine", "struck out")
	if struck := take().Amendment().Struck; len(struck) != 1 || struck[0] != 0 {
		t.Errorf("struck: %v", struck)
	}
	if s.get("/pupils/1/takes") == before {
		t.Error("the marks in the list did not follow")
	}
	for _, bad := range []struct {
		path string
		form url.Values
		code int
	}{
		{"/takes/1/words", url.Values{"said": {"x"}, "mark": {"101"}}, http.StatusBadRequest},
		{"/takes/1/words", url.Values{"said": {"x"}, "mark": {"lots"}}, http.StatusBadRequest},
		{"/takes/1/words", url.Values{"said": {strings.Repeat("x", saidMost+1)}}, http.StatusRequestEntityTooLarge},
		{"/takes/1/words", url.Values{"said": {strings.Repeat("x", bodyMost)}}, http.StatusRequestEntityTooLarge},
		{"/takes/1/strike", url.Values{"finding": {"99"}}, http.StatusBadRequest},
		{"/takes/1/strike", url.Values{}, http.StatusBadRequest},
		{"/takes/777/words", url.Values{"said": {"x"}}, http.StatusNotFound},
		{"/takes/777/strike", url.Values{"finding": {"1"}}, http.StatusNotFound},
		{"/takes/x/strike", url.Values{"finding": {"1"}}, http.StatusNotFound},
	} {
		if w := s.post(bad.path, bad.form); w.Code != bad.code {
			t.Errorf("%s %.40v: %d, want %d", bad.path, bad.form, w.Code, bad.code)
		}
	}
	if w := take().Words; *w.Mark != 88 {
		t.Errorf("a refused form changed the words: %+v", w)
	}
}

// A page that is remembered is told anew once the journal has changed, by whichever program, and is not
// sent to who has it.
func TestPagesAreRememberedUntilTheJournalChanges(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 1, "Mia")
	s := serving(t, j, nil)
	first := s.do(http.MethodGet, "/pupils/1", nil, nil)
	again := s.do(http.MethodGet, "/pupils/1", nil, func(r *http.Request) { r.Header.Set("If-None-Match", first.Header().Get("ETag")) })
	if again.Code != http.StatusNotModified || again.Body.Len() > 0 {
		t.Errorf("asked again: %d, %d bytes", again.Code, again.Body.Len())
	}
	other, err := journal.Open(t.Context(), j.Name())
	if err != nil {
		t.Fatal(err)
	}
	defer other.Close()
	if err := other.Rename(t.Context(), "Mia", "Mia Sandberg"); err != nil {
		t.Fatal(err)
	}
	// What held a moment ago is shown while the page is made anew.
	for end := time.Now().Add(20 * time.Second); !strings.Contains(s.get("/pupils/1"), "Mia Sandberg"); time.Sleep(time.Millisecond) {
		if time.Now().After(end) {
			t.Fatal("the page is never told anew")
		}
	}
}

// A page that held a moment ago is shown while it is made anew; one that was not looked at for longer is
// waited for, and so is one that is to be forgotten.
func TestShelfShowsWhatHeldAMomentAgo(t *testing.T) {
	c := newClock()
	s := newShelf(c.now)
	ready := make(chan struct{})
	get := func(state string, wait bool) string {
		t.Helper()
		b, err := s.get(t.Context(), "a", state, func() ([]byte, error) {
			if wait {
				<-ready
			}
			return []byte(state), nil
		})
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	get("1", false)
	c.move(moment)
	for _, state := range []string{"2", "2", "3"} {
		if got := get(state, true); got != "1" {
			t.Errorf("in state %s is shown %s, want the page of a moment ago", state, got)
		}
	}
	close(ready)
	for got := ""; got != "3"; got = get("3", false) {
		time.Sleep(time.Millisecond)
	}
	c.move(moment + 1)
	if got := get("4", false); got != "4" {
		t.Errorf("long after is shown %s", got)
	}
	s.forget()
	if got := get("5", false); got != "5" {
		t.Errorf("after something was changed here is shown %s", got)
	}
}

func TestShelf(t *testing.T) {
	c := newClock()
	s := newShelf(c.now)
	made := 0
	get := func(name, state string, size int) {
		t.Helper()
		b, err := s.get(t.Context(), name, state, func() ([]byte, error) { made++; return make([]byte, size), nil })
		if err != nil || len(b) != size {
			t.Fatal(len(b), err)
		}
	}
	for _, tt := range []struct {
		name, state string
		size, made  int
		wait        time.Duration
	}{
		{"a", "1", 10, 1, 0},
		{"a", "1", 10, 1, 0},
		{"b", "1", 20, 2, 0},
		{"a", "2", 10, 3, moment + 1},
		{"a", "2", 10, 4, holds},
		{"big", "2", shelfMost + 1, 5, 0},
		{"b", "2", 20, 6, 0}, // big and all before it are old now
		{"a", "2", 10, 6, 0}, // and still remembered
		{"big", "2", shelfMost + 1, 6, 0},
		{"c", "2", 10, 7, 0},
		{"big", "2", shelfMost + 1, 7, 0},
	} {
		c.move(tt.wait)
		if get(tt.name, tt.state, tt.size); made != tt.made {
			t.Fatalf("%+v: made %d pages", tt, made)
		}
	}
	if len(s.new)+len(s.old) > 6 {
		t.Errorf("%d pages are remembered", len(s.new)+len(s.old))
	}
	// An error and a panic are not remembered, and nobody waits for them for ever.
	for range 2 {
		if _, err := s.get(t.Context(), "e", "1", func() ([]byte, error) { return nil, errors.ErrUnsupported }); !errors.Is(err, errors.ErrUnsupported) {
			t.Error(err)
		}
		func() {
			defer func() { _ = recover() }()
			_, _ = s.get(t.Context(), "p", "1", func() ([]byte, error) { panic("x") })
		}()
	}
}

// Many who ask at once for a page wait for one that is made once; who goes away does not wait.
func TestShelfMakesAPageOnce(t *testing.T) {
	s := newShelf(newClock().now)
	var made atomic.Int32
	begun, go_ := make(chan struct{}), make(chan struct{})
	write := func() ([]byte, error) {
		made.Add(1)
		close(begun)
		<-go_
		return []byte("page"), nil
	}
	var all sync.WaitGroup
	ask := func() {
		if b, err := s.get(t.Context(), "a", "1", write); string(b) != "page" || err != nil {
			t.Errorf("%q, %v", b, err)
		}
	}
	all.Go(ask)
	<-begun
	gone, leave := context.WithCancel(t.Context())
	leave()
	if _, err := s.get(gone, "a", "1", write); !errors.Is(err, context.Canceled) {
		t.Error("who went away waits:", err)
	}
	for range 20 {
		all.Go(ask)
	}
	close(go_)
	all.Wait()
	if made.Load() != 1 {
		t.Errorf("made %d times", made.Load())
	}
}
