package serve

import (
	"io"
	"net/http"
	"net/url"
	"strings"
	"testing"
	"time"
)

func TestOnlyKnownNames(t *testing.T) {
	s := serving(t, newJournal(t), func(o *Options) { o.Names = []string{"musicroom.local"} })
	for host, ok := range map[string]bool{
		"127.0.0.1:5288": true, "localhost:5288": true, "LOCALHOST": true, "localhost.": true, "[::1]:5288": true, "[::1]": true, "192.168.1.20:5288": true,
		"musicroom.local": true, "MusicRoom.local:5288": true,
		"evil.example": false, "evil.example:5288": false, "127.0.0.1.evil.example": false, "localhost.evil.example": false,
		"": false, "local": false, "musicroom": false, "127.0.0.1@evil.example": false, "0x7f.1": false,
	} {
		w := s.do(http.MethodGet, "/", nil, func(r *http.Request) { r.Host = host })
		if got := w.Code == http.StatusOK; got != ok {
			t.Errorf("%q: %d", host, w.Code)
		}
	}
}

func TestFormsOfOtherSites(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 1, "Mia")
	s := serving(t, j, nil)
	for _, tt := range []struct {
		site, origin string
		ok           bool
	}{
		{"same-origin", "", true},
		{"", "http://127.0.0.1:5288", true}, // as browsers send it to an address without encryption
		{"cross-site", "", false},
		{"same-site", "", false},
		{"", "http://evil.example", false},
		{"", "http://127.0.0.1:9999", false},
		{"", "null", false},
		{"cross-site", "http://127.0.0.1:5288", false},
	} {
		w := s.do(http.MethodPost, "/takes/1/words", url.Values{"said": {"x"}}, func(r *http.Request) {
			r.Header.Del("Sec-Fetch-Site")
			if tt.site != "" {
				r.Header.Set("Sec-Fetch-Site", tt.site)
			}
			if tt.origin != "" {
				r.Header.Set("Origin", tt.origin)
			}
		})
		if got := w.Code == http.StatusSeeOther; got != tt.ok {
			t.Errorf("%+v: %d", tt, w.Code)
		}
	}
}

// No page may run or load anything of others, or be framed; nothing is written into a page that its
// policy would have to let run.
func TestPolicy(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 2, "Mia")
	s := serving(t, j, nil)
	for _, path := range []string{"/", "/week", "/pupils/1", "/pupils/1/takes", "/takes/1", "/desk", "/nothing"} {
		w := s.do(http.MethodGet, path, nil, nil)
		h := w.Header()
		for name, want := range map[string]string{
			"X-Content-Type-Options": "nosniff", "Cross-Origin-Resource-Policy": "same-origin", "Referrer-Policy": "same-origin",
		} {
			if h.Get(name) != want {
				t.Errorf("%s: %s is %q", path, name, h.Get(name))
			}
		}
		p := h.Get("Content-Security-Policy")
		has(t, p, "default-src 'none'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'")
		if strings.Contains(p, "unsafe-inline") || strings.Contains(p, "'unsafe-eval'") || strings.Contains(p, "*") {
			t.Errorf("%s: policy %s", path, p)
		}
		page := w.Body.String()
		for _, inline := range []string{"<style", " style=", " onclick=", "<script>", "http-equiv"} {
			if strings.Contains(page, inline) {
				t.Errorf("%s has %s", path, inline)
			}
		}
	}
}

func TestPassphrase(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 1, "Mia")
	c := newClock()
	s := serving(t, j, func(o *Options) { o.Passphrase, o.Now = passphrase, c.now })
	for _, path := range []string{"/", "/week", "/pupils/1", "/takes/1", "/desk", "/desk/events", "/nothing"} {
		w := s.do(http.MethodGet, path, nil, nil)
		if w.Code != http.StatusSeeOther || !strings.HasPrefix(w.Header().Get("Location"), enterPage) || strings.Contains(w.Body.String(), "Mia") {
			t.Errorf("%s without the passphrase: %d to %s", path, w.Code, w.Header().Get("Location"))
		}
	}
	if w := s.post("/takes/1/words", url.Values{"said": {"x"}}); w.Code != http.StatusUnauthorized {
		t.Errorf("a form without the passphrase: %d", w.Code)
	}
	has(t, s.get(enterPage+"?to=/week"), `value="/week"`, "passphrase")
	if w := s.post(enterPage, url.Values{"passphrase": {"wrong"}}); w.Code != http.StatusForbidden || len(w.Result().Cookies()) > 0 {
		t.Errorf("a wrong one: %d", w.Code)
	}
	if w := s.post(enterPage, url.Values{"passphrase": {passphrase}}); w.Code != http.StatusTooManyRequests || w.Header().Get("Retry-After") != "1" {
		t.Errorf("too soon: %d, %s", w.Code, w.Header().Get("Retry-After"))
	}
	c.move(time.Second)
	w := s.post(enterPage, url.Values{"passphrase": {passphrase}, "to": {"/week"}})
	s.cookies = w.Result().Cookies()
	if w.Code != http.StatusSeeOther || w.Header().Get("Location") != "/week" || len(s.cookies) != 1 {
		t.Fatalf("%d to %s with %v", w.Code, w.Header().Get("Location"), s.cookies)
	}
	if k := s.cookies[0]; !k.HttpOnly || k.SameSite != http.SameSiteStrictMode || k.Path != "/" || strings.Contains(k.Value, passphrase) {
		t.Errorf("cookie %v", k)
	}
	has(t, s.get("/"), "Mia", "Leave")
	if w := s.do(http.MethodGet, enterPage+"?to=/desk", nil, nil); w.Header().Get("Location") != "/desk" {
		t.Errorf("who is in is asked again: %d", w.Code)
	}
	if w := s.post("/leave", url.Values{}); w.Code != http.StatusSeeOther {
		t.Errorf("leaving: %d", w.Code)
	}
	if w := s.do(http.MethodGet, "/", nil, nil); w.Code != http.StatusSeeOther {
		t.Errorf("after leaving: %d", w.Code)
	}
	if _, err := New(Options{Journal: j, Passphrase: "short"}); err == nil {
		t.Error("a short passphrase is taken")
	}
}

// Nobody is sent to another site after giving the passphrase.
func TestBack(t *testing.T) {
	for to, want := range map[string]string{
		"/week": "/week", "/pupils/3/takes": "/pupils/3/takes", "/": "/", "": "/",
		"//evil.example": "/", "https://evil.example": "/", `/\evil.example`: "/", "/week\r\nX: y": "/", "/a//b": "/", "/a?b": "/", "/.": "/",
	} {
		if got := back(to); got != want {
			t.Errorf("%q leads to %q", to, got)
		}
	}
}

// A journal that cannot be had is said, and is no fault of the server's.
func TestJournalAway(t *testing.T) {
	j := newJournal(t)
	lessons(t, j, 1, "Mia")
	told := 0
	s := serving(t, j, func(o *Options) { o.Log = func(error) { told++ } })
	if err := j.Close(); err != nil {
		t.Fatal(err)
	}
	for _, path := range []string{"/", "/week", "/takes/1", "/pupils/1"} {
		if w := s.do(http.MethodGet, path, nil, nil); w.Code != http.StatusServiceUnavailable || strings.Contains(w.Body.String(), j.Name()) {
			t.Errorf("%s: %d %s", path, w.Code, w.Body)
		}
	}
	if w := s.post("/takes/1/words", url.Values{"said": {"x"}}); w.Code != http.StatusServiceUnavailable || told == 0 {
		t.Errorf("a form: %d, told %d", w.Code, told)
	}
}

// A handler that fails is noted, and answered.
func TestRecovered(t *testing.T) {
	var told []error
	s := serving(t, newJournal(t), func(o *Options) { o.Log = func(err error) { told = append(told, err) } })
	s.handler = s.server.guard(http.HandlerFunc(func(http.ResponseWriter, *http.Request) { panic("oh") }))
	if w := s.do(http.MethodGet, "/", nil, nil); w.Code != http.StatusInternalServerError || len(told) != 1 || strings.Contains(w.Body.String(), "goroutine") {
		t.Errorf("%d, %v", w.Code, told)
	}
}

// FuzzRequests: whatever is asked, by whatever method and with whatever form, nothing fails on the
// server's side, and nothing is answered that is in no page of the journal.
func FuzzRequests(f *testing.F) {
	for _, path := range []string{
		"/", "/week", "/pupils/1", "/pupils/1/takes?before=3", "/takes/1", "/takes/1/words", "/takes/1/strike", "/desk", "/enter?to=/week", "/leave",
		"/assets/x/style.css", "/assets/../../go.mod", "/%2e%2e/etc/passwd", "//etc/passwd", "/takes/1/../../x", "/takes/%00", "/pupils/9223372036854775808",
	} {
		for _, form := range []string{"", "said=x&mark=50", "finding=1&why=x", "passphrase=x&to=//e", "%zz=%", "mark=%00&said=%ff"} {
			f.Add(true, path, form)
			f.Add(false, path, form)
		}
	}
	j := newJournal(f)
	lessons(f, j, 1, "Mia")
	s := serving(f, j, nil)
	f.Fuzz(func(t *testing.T, post bool, path, form string) {
		u, err := url.ParseRequestURI(path)
		if err != nil || u.Path == "/desk/events" { // which goes on
			return
		}
		method := http.MethodGet
		if post {
			method = http.MethodPost
		}
		here := &site{t: t, handler: s.handler}
		w := here.do(method, "/", nil, func(r *http.Request) {
			r.URL.Path, r.URL.RawPath, r.URL.RawQuery, r.RequestURI = u.Path, u.RawPath, u.RawQuery, path
			if post {
				r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
				r.Header.Set("Sec-Fetch-Site", "same-origin")
				r.Body = body(form)
			}
		})
		if w.Code >= 500 {
			t.Errorf("%s %q with %q: %d %s", method, path, form, w.Code, w.Body)
		}
		for _, outside := range []string{"root:x:0:0", "module evenhand", "package serve", "SQLite format 3"} {
			if strings.Contains(w.Body.String(), outside) {
				t.Errorf("%s %q gave a file", method, path)
			}
		}
	})
}

func body(form string) io.ReadCloser { return io.NopCloser(strings.NewReader(form)) }
