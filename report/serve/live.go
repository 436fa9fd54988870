package serve

import (
	"context"
	"errors"
	"io"
	"os"
	"sync"
	"time"

	"evenhand/capture"
)

// view is what the music desk shows at one moment. It is never changed once it is shown.
type view struct {
	take    int // counts the takes followed; 0 before the first
	title   string
	reading int    // counts the scores shown
	score   string // MusicXML; empty where there is none
	bars    []Bar
	over    bool
	kept    int64 // the number of the take in the journal once it is over; 0 while it is not there
}

// Watch follows the takes that are played: it looks into the folder where recordings grow, and shows
// what is in them to any number of readers.
type Watch struct {
	dir  string
	find func(words string) (Asked, error) // reads what was asked
	kept func(ctx context.Context, started time.Time) (int64, error)

	mu      sync.Mutex
	view    view
	changed chan struct{} // closed when there is another view
	readers int
	wake    chan struct{} // somebody reads
}

// How often is looked, and for how long a take is waited for in the journal. Chosen by us: a mark is on
// the page before the next beat.
const (
	lookAgain  = 40 * time.Millisecond
	lookFor    = 200 * time.Millisecond
	lookAlive  = time.Second
	keptWithin = 15 * time.Second
)

// factRequest is under what name a recording says what was asked.
const factRequest = "request"

func newWatch(dir string, find func(string) (Asked, error), kept func(context.Context, time.Time) (int64, error)) *Watch {
	return &Watch{dir: dir, find: find, kept: kept, changed: make(chan struct{}), wake: make(chan struct{}, 1)}
}

// look is what there is to show, and when it is no longer so.
func (w *Watch) look() (view, <-chan struct{}) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.view, w.changed
}

// show shows the next view.
func (w *Watch) show(change func(*view)) {
	w.mu.Lock()
	defer w.mu.Unlock()
	change(&w.view)
	close(w.changed)
	w.changed = make(chan struct{})
}

// join counts a reader in, if there are not too many; leave counts one out.
func (w *Watch) join(most int) bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.readers >= most {
		return false
	}
	w.readers++
	select {
	case w.wake <- struct{}{}:
	default:
	}
	return true
}

func (w *Watch) leave() {
	w.mu.Lock()
	defer w.mu.Unlock()
	w.readers--
}

// read reports whether anybody reads.
func (w *Watch) read() bool {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.readers > 0
}

// run follows one recording after another until ctx is done. While nobody reads it looks at nothing.
func (w *Watch) run(ctx context.Context) {
	folder := folder{dir: w.dir}
	var last ended
	for ctx.Err() == nil {
		if !w.read() {
			select {
			case <-w.wake:
			case <-ctx.Done():
				return
			}
		}
		if path := folder.growing(time.Now()); path != "" {
			last = w.follow(ctx, path)
			continue
		}
		if last.waits(time.Now()) && w.isKept(ctx, last.started) {
			last = ended{}
		}
		pause(ctx, lookFor)
	}
}

// ended is a take that is over and is to be in the journal soon, so that the page can lead to it.
type ended struct{ started, at time.Time }

func (e ended) waits(now time.Time) bool { return !e.at.IsZero() && now.Sub(e.at) < keptWithin }

// isKept reports whether a take is in the journal, and shows it.
func (w *Watch) isKept(ctx context.Context, started time.Time) bool {
	id, err := w.kept(ctx, started)
	if err != nil || id == 0 {
		return false // perhaps the next time
	}
	w.show(func(v *view) { v.kept = id })
	return true
}

// folder is the folder of takes. There may be very many in it, so it is read only where it has changed.
type folder struct {
	dir      string
	changed  time.Time
	followed string // the recording that was followed last
}

// settles is how long after a change a folder is read again: the clock of a file system is coarse, and
// a recording is there a moment before it is being written.
const settles = time.Second

// growing is the recording begun last that is being written and was not followed before, "" where there
// is none.
func (f *folder) growing(now time.Time) string {
	info, err := os.Stat(f.dir)
	if err != nil || info.ModTime().Equal(f.changed) {
		return ""
	}
	if now.Sub(info.ModTime()) > settles {
		f.changed = info.ModTime()
	}
	paths, err := capture.Recordings(f.dir)
	if err != nil || len(paths) == 0 || paths[len(paths)-1] == f.followed {
		return ""
	}
	f.followed = paths[len(paths)-1]
	return f.followed
}

func pause(ctx context.Context, d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case <-t.C:
	case <-ctx.Done():
	}
}

// follow follows one recording to its end.
func (w *Watch) follow(ctx context.Context, path string) ended {
	file, g := open(ctx, path)
	if g == nil {
		return ended{}
	}
	defer file.Close()
	about := g.About()
	if about.Started.IsZero() {
		return ended{} // it is only tried whether the folder can be written
	}
	t := w.begin(g)
	for alive := time.Now(); ctx.Err() == nil && !t.read(); {
		if t.news {
			w.show(t.write)
		}
		if time.Since(alive) > lookAlive {
			if alive = time.Now(); !capture.Recording(path) {
				t.read() // what came between
				break
			}
		}
		pause(ctx, lookAgain)
	}
	w.show(func(v *view) {
		t.write(v)
		v.over = true
	})
	return ended{about.Started, time.Now()}
}

// open opens a recording that is being written; its head may not be there yet. The recording is nil
// where there is none.
func open(ctx context.Context, path string) (*os.File, *capture.Growing) {
	file, err := os.Open(path)
	if err != nil {
		return nil, nil // it is over already
	}
	for capture.Recording(path) && ctx.Err() == nil {
		g, err := capture.OpenGrowing(file)
		if err == nil {
			return file, g
		}
		if !errors.Is(err, io.EOF) {
			break
		}
		pause(ctx, lookAgain)
	}
	_ = file.Close() // nothing was written
	return nil, nil
}

// trail is a recording that is being followed.
type trail struct {
	recording *capture.Growing
	builder   *capture.Builder
	following *following
	shown     *sheet
	news      bool // something was read that is not shown yet
}

// begin shows an empty page for a recording.
func (w *Watch) begin(g *capture.Growing) *trail {
	asked := Asked{Title: "Free practice"}
	if words, ok := g.About().Facts[factRequest]; ok {
		var err error
		if asked, err = w.find(words); err != nil {
			asked = Asked{Title: words} // it is told in words only
		}
	}
	t := &trail{recording: g, builder: capture.NewBuilder(g.About()), following: newFollowing(asked)}
	w.show(func(v *view) {
		*v = view{take: v.take + 1, reading: v.reading, title: asked.Title}
		t.write(v)
	})
	return t
}

// read reads what is there and reports whether that was the end.
func (t *trail) read() bool {
	for {
		m, err := t.recording.Next()
		if err != nil {
			return t.recording.Ended() || !errors.Is(err, io.EOF)
		}
		for _, c := range t.builder.Add(m) {
			if c.Kind == capture.NoteBegan {
				t.following.note(t.builder.Note(c.Index))
				t.news = true
			}
		}
	}
}

// write writes what was read into a view.
func (t *trail) write(v *view) {
	t.news = false
	if s := t.following.sheet(); s != nil && s != t.shown {
		t.shown = s
		v.reading++
		v.score = s.score
	}
	v.bars = t.following.bars()
}
