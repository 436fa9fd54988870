package report

import (
	"bytes"
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
)

// browser is one headless Chromium for all tests of the package.
type browser struct {
	ctx context.Context
	end context.CancelFunc
}

var (
	shared     *browser
	sharedOnce sync.Once
)

func TestMain(m *testing.M) {
	status := m.Run()
	if shared != nil {
		shared.end()
	}
	os.Exit(status)
}

// chromium finds the browser, or skips the test and says what is missing.
func chromium(t testing.TB) string {
	t.Helper()
	path := Chromium()
	if path == "" {
		t.Skip("chromium is not installed: the pages are not looked at in a browser")
	}
	return path
}

// openBrowser starts the browser for the first test that needs it.
func openBrowser(t testing.TB) *browser {
	t.Helper()
	if testing.Short() {
		t.Skip("starts a browser")
	}
	path := chromium(t)
	sharedOnce.Do(func() {
		options := append(chromedp.DefaultExecAllocatorOptions[:],
			chromedp.ExecPath(path),
			chromedp.NoSandbox, // of tests only: they may be run by root
			chromedp.Flag("autoplay-policy", "no-user-gesture-required"),
		)
		alloc, endAlloc := chromedp.NewExecAllocator(context.Background(), options...)
		ctx, endCtx := chromedp.NewContext(alloc)
		if err := chromedp.Do(ctx); err != nil {
			endAlloc()
			t.Fatalf("%s does not start: %v", path, err)
		}
		shared = &browser{ctx, func() { endCtx(); endAlloc() }}
	})
	if shared == nil {
		t.Fatal("the browser did not start")
	}
	return shared
}

// shown is a page in a tab of its own, with what it said and asked for.
type shown struct {
	t        testing.TB
	ctx      context.Context
	mu       sync.Mutex
	said     []string // errors and warnings of the console, exceptions, violations of the policy
	requests []string // all but the page itself and data within it
}

// show opens a take's page, as a file, in a window of this size, and waits until it is drawn.
func show(t testing.TB, take *Take, width, height int64) *shown {
	t.Helper()
	if BuiltIn().Empty() {
		t.Skip("the engraver is not installed (run make engraver): the pages are not looked at in a browser")
	}
	var b bytes.Buffer
	if err := WriteTake(&b, take, BuiltIn()); err != nil {
		t.Fatal(err)
	}
	return showFile(t, b.Bytes(), width, height)
}

func showFile(t testing.TB, page []byte, width, height int64) *shown {
	t.Helper()
	br := openBrowser(t)
	path := filepath.Join(t.TempDir(), "page.html")
	if err := os.WriteFile(path, page, 0o600); err != nil {
		t.Fatal(err)
	}
	address := (&url.URL{Scheme: "file", Path: path}).String()
	tab, end := chromedp.NewContext(br.ctx)
	ctx, late := context.WithTimeout(tab, 4*time.Minute)
	t.Cleanup(func() { late(); end() })
	s := &shown{t: t, ctx: ctx}
	if err := chromedp.Listen(ctx, s.listen); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	s.run(chromedp.EmulateViewport(width, height), chromedp.Navigate(address),
		drawn())
	return s
}

// listen keeps what should not happen.
func (s *shown) listen(event any) {
	s.mu.Lock()
	defer s.mu.Unlock()
	switch e := event.(type) {
	case *runtime.EventConsoleAPICalled:
		for _, a := range e.Args {
			s.said = append(s.said, string(e.Type)+": "+string(a.Value))
		}
	case *runtime.EventExceptionThrown:
		s.said = append(s.said, fmt.Sprintf("exception: %s %v", e.ExceptionDetails.Text, e.ExceptionDetails.Exception))
	case *log.EventEntryAdded:
		s.said = append(s.said, string(e.Entry.Level)+": "+e.Entry.Text)
	case *network.EventRequestWillBeSent:
		if u := e.Request.URL; !strings.HasPrefix(u, "data:") && !strings.HasPrefix(u, "file:") && !strings.HasPrefix(u, "blob:") {
			s.requests = append(s.requests, u)
		}
	}
}

func (s *shown) run(actions ...chromedp.Action[chromedp.Void]) {
	s.t.Helper()
	if err := chromedp.Do(s.ctx, actions...); err != nil {
		s.t.Fatal(err)
	}
}

// value evaluates an expression in the page.
func value[T any](s *shown, expression string) T {
	s.t.Helper()
	v, err := chromedp.Run(s.ctx, chromedp.Evaluate[T](expression))
	if err != nil {
		s.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// quiet checks that nothing was said in the console and nothing was asked of the network.
func (s *shown) quiet() {
	s.t.Helper()
	s.mu.Lock()
	defer s.mu.Unlock()
	for _, e := range s.said {
		s.t.Errorf("console: %s", e)
	}
	for _, r := range s.requests {
		s.t.Errorf("the page asked for %.200s", r)
	}
}
