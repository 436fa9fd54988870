package serve

import (
	"context"
	"fmt"
	"net"
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

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/journal"
	"evenhand/report"
)

// running is a server that listens, at its address, until the test ends.
func running(t testing.TB, j *journal.Journal, change func(*Options)) (address string, s *Server) {
	t.Helper()
	s = serving(t, j, change).server
	l, err := net.Listen("tcp", "127.0.0.1:0")
	if err != nil {
		t.Fatal(err)
	}
	ctx, stop := context.WithCancel(context.WithoutCancel(t.Context()))
	over := make(chan error, 1)
	go func() { over <- s.Serve(ctx, l) }()
	t.Cleanup(func() {
		stop()
		if err := <-over; err != nil {
			t.Error("the server ended with", err)
		}
	})
	return "http://" + l.Addr().String(), s
}

// tab is a page in a browser, with what it said and which addresses it asked for.
type tab struct {
	t        testing.TB
	ctx      context.Context
	mu       sync.Mutex
	said     []string
	requests []string
}

// browser is the one browser of the package's tests.
var browser struct {
	once sync.Once
	ctx  context.Context
	end  func()
}

func TestMain(m *testing.M) {
	status := m.Run()
	if browser.end != nil {
		browser.end()
	}
	os.Exit(status)
}

// browse opens an empty tab of this size.
func browse(t *testing.T, width, height int64) *tab {
	t.Helper()
	path := report.Chromium()
	switch {
	case testing.Short():
		t.Skip("starts a browser")
	case path == "":
		t.Skip("chromium is not installed: the pages are not looked at in a browser")
	}
	browser.once.Do(func() {
		options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox) // it may be root who tests
		alloc, endAlloc := chromedp.NewExecAllocator(context.Background(), options...)
		ctx, end := chromedp.NewContext(alloc)
		if err := chromedp.Do(ctx); err != nil {
			endAlloc()
			t.Fatalf("%s does not start: %v", path, err)
		}
		browser.ctx, browser.end = ctx, func() { end(); endAlloc() }
	})
	if browser.end == nil {
		t.Fatal("the browser did not start")
	}
	page, endPage := chromedp.NewContext(browser.ctx)
	ctx, late := context.WithTimeout(page, 90*time.Second)
	t.Cleanup(func() { late(); endPage() })
	b := &tab{t: t, ctx: ctx}
	if err := chromedp.Listen(ctx, b.hear); err != nil {
		t.Fatal(err)
	}
	if _, err := chromedp.Call(ctx, network.Enable, network.EnableParams{}); err != nil {
		t.Fatal(err)
	}
	b.run(chromedp.EmulateViewport(width, height))
	return b
}

func (b *tab) hear(event any) {
	b.mu.Lock()
	defer b.mu.Unlock()
	switch e := event.(type) {
	case *log.EventEntryAdded:
		b.said = append(b.said, e.Entry.Text)
	case *runtime.EventExceptionThrown:
		b.said = append(b.said, fmt.Sprintf("exception: %s %v", e.ExceptionDetails.Text, e.ExceptionDetails.Exception))
	case *network.EventRequestWillBeSent:
		b.requests = append(b.requests, e.Request.URL)
	}
}

func (b *tab) run(actions ...chromedp.Action[chromedp.Void]) {
	b.t.Helper()
	if err := chromedp.Do(b.ctx, actions...); err != nil {
		b.t.Fatal(err)
	}
}

// until waits until an expression of the page is true.
func (b *tab) until(expression string) {
	b.t.Helper()
	err := chromedp.Do(b.ctx, chromedp.Poll[chromedp.Void](expression, chromedp.WithPollingInterval(20*time.Millisecond), chromedp.WithPollingTimeout(30*time.Second)))
	if err != nil {
		b.t.Fatalf("%s: %v, %v\n%s", expression, err, b.said, b.value("document.body.innerText"))
	}
}

// value is what an expression of the page gives.
func (b *tab) value(expression string) string {
	b.t.Helper()
	v, err := chromedp.Run(b.ctx, chromedp.Evaluate[string]("String("+expression+")"))
	if err != nil {
		b.t.Fatalf("%s: %v", expression, err)
	}
	return v
}

// is holds an expression of the page to a value.
func (b *tab) is(expression, want string) {
	b.t.Helper()
	if got := b.value(expression); got != want {
		b.t.Errorf("%s is %q, want %q", expression, got, want)
	}
}

// quiet holds the page to no error in the console, and to the one server.
func (b *tab) quiet(address string) {
	b.t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	for _, s := range b.said {
		b.t.Error("the console says:", s)
	}
	for _, r := range b.requests {
		if !strings.HasPrefix(r, address+"/") && !strings.HasPrefix(r, "data:") && r != "about:blank" {
			b.t.Error("the page asked for", r)
		}
	}
}

// picture keeps a picture where EVENHAND_PICTURES names a folder.
func (b *tab) picture(name string) {
	b.t.Helper()
	dir := os.Getenv("EVENHAND_PICTURES")
	if dir == "" {
		return
	}
	png, err := chromedp.Run(b.ctx, chromedp.FullScreenshot(100))
	if err != nil {
		b.t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, name+".png"), png, 0o644); err != nil {
		b.t.Fatal(err)
	}
}

// recording is a take that grows in a folder, as a pupil plays it.
type recording struct {
	t        testing.TB
	recorder *capture.Recorder
	messages []capture.Message
	take     *capture.Take
}

// record begins a recording of what a pupil plays when asked for something. Nothing is played yet.
func record(t testing.TB, dir, asked string, started time.Time, p pupil.Pupil) *recording {
	t.Helper()
	a, err := find(asked)
	if err != nil {
		a = askForScore(t, asked) // it is the name of one
	}
	take, _ := pupil.Play(a.Candidates[0], p)
	r, err := capture.Record(dir, capture.Take{Started: started, Facts: map[string]string{factRequest: asked}}, nil)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _, _ = r.Close() }) // it may be closed already
	return &recording{t, r, pupil.Messages(take), take}
}

// play plays up to so many messages more, all at once.
func (r *recording) play(n int) {
	n = min(n, len(r.messages))
	for _, m := range r.messages[:n] {
		r.recorder.Add(m)
	}
	r.messages = r.messages[n:]
}

func (r *recording) end() {
	r.t.Helper()
	r.play(len(r.messages))
	if _, err := r.recorder.Close(); err != nil {
		r.t.Fatal(err)
	}
}

// The desk in a real browser: the line of bars being played, its marks below the notes as they fall, the
// margin ticked bar by bar, and in the end the way to the take.
func TestDeskInABrowser(t *testing.T) {
	if report.BuiltIn().Empty() {
		t.Skip("the engraver is not installed (run make engraver): the music desk is not looked at in a browser")
	}
	b := browse(t, 1200, 900)
	j, dir := newJournal(t), t.TempDir()
	lessons(t, j, 1, "Mia")
	address, _ := running(t, j, func(o *Options) { o.Recordings, o.Engraver = dir, report.BuiltIn() })
	b.run(chromedp.Navigate(address + "/desk"))
	b.until(`document.body.dataset.state === "waiting"`)

	const asked = "D major scale, right hand"
	started := monday.AddDate(0, 1, 0)
	p := pupil.Pupil{Seed: 2, Exact: true, BPM: 80, Faults: []pupil.Fault{{Kind: pupil.SemitoneOff, At: 3, By: 1}}}
	r := record(t, dir, asked, started, p)
	r.play(22) // into the second bar
	b.until(`document.querySelector('[data-bar="1"]')?.dataset.state === "now" && document.querySelectorAll("#score .lane .mark").length > 0`)
	b.is(`document.querySelector('[data-bar="0"]').innerText.replace(/\s+/g, " ").trim()`, "1 G♯4 for G4")
	b.is(`[...document.querySelectorAll("#score .lane .mark")].map(m => m.innerText)`, "G♯4 for G4")
	b.is(`(() => { const head = document.querySelector("#n3 .notehead").getBoundingClientRect(), mark = document.querySelector("#score .lane .mark").getBoundingClientRect();
		return mark.left <= head.left && head.right <= mark.right && mark.top > head.bottom; })()`, "true")
	b.picture("desk")
	// On a telephone there is room for the one bar being played.
	b.run(chromedp.EmulateViewport(360, 800))
	b.until(`document.querySelectorAll("#score g.measure").length === 1`)
	b.is(`document.documentElement.scrollWidth <= innerWidth`, "true")
	b.picture("desk-narrow")

	r.end()
	b.until(`document.body.dataset.state === "over"`)
	b.is(`document.querySelectorAll("#margin li").length + " " + document.querySelectorAll("#margin .ticked").length`, "4 2")
	id, err := j.Keep(t.Context(), "Mia", played(t, asked, started, p))
	if err != nil {
		t.Fatal(err)
	}
	b.until(`document.querySelector("#told a")?.pathname === "` + takePath(id) + `"`)
	b.run(chromedp.Navigate(address + takePath(id)))
	b.until(`document.querySelectorAll("#score g.note").length > 0`)
	b.quiet(address)
}

// Every page in a browser is as wide as the window and no wider, and the console is silent.
func TestPagesInABrowser(t *testing.T) {
	b := browse(t, 360, 800)
	j := newJournal(t)
	lessons(t, j, 3, hostile...)
	address, _ := running(t, j, nil)
	for _, path := range []string{"/", "/week", "/pupils/1", "/pupils/2", "/pupils/1/takes", "/desk", takePath(1)} {
		b.run(chromedp.Navigate(address + path))
		if got := b.value(`document.documentElement.scrollWidth <= innerWidth`); got != "true" {
			t.Errorf("%s is wider than the window", path)
		}
		if got := b.value(`document.querySelectorAll("main img[src=x], main script:not([type]):not([src])").length`); got != "0" {
			t.Errorf("%s: a name became more than text", path)
		}
		b.picture("page-" + strings.ReplaceAll(strings.Trim(path, "/"), "/", "-"))
	}
	b.quiet(address)
}
