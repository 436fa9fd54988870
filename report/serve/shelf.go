package serve

import (
	"context"
	"fmt"
	"runtime"
	"runtime/debug"
	"sync"
	"time"
)

// shelf remembers pages. One holds as long as the journal is in the same state and the time is the same
// within holds, as plans and weeks look back from now. One that held a moment ago is shown once more
// while it is made anew, so that many readers do not wait each time that something is kept somewhere.
type shelf struct {
	now func() time.Time

	mu       sync.Mutex
	making   chan struct{}       // has room for those that are made while somebody waits
	remaking chan struct{}       // and for those that nobody waits for
	new, old map[string]*shelved // what is not asked for again moves from new to old, and is forgotten
	size     int                 // bytes of new
}

// shelved is one page. It is ready when done is closed.
type shelved struct {
	state  string
	at     time.Time
	held   time.Time // when it was last known to hold
	before *shelved  // what may be shown while this is made
	done   chan struct{}
	body   []byte
	err    error
}

// Chosen by us.
const (
	holds     = 10 * time.Minute
	moment    = 10 * time.Second
	shelfMost = 32 << 20 // bytes, of new and of old
)

// newShelf is an empty shelf. No more pages are made at once than there are cores, so that those that are
// there go out meanwhile, and what nobody waits for keeps to one core.
func newShelf(now func() time.Time) *shelf {
	return &shelf{now: now, making: make(chan struct{}, runtime.GOMAXPROCS(0)), remaking: make(chan struct{}, 1)}
}

// get is the page of a name, made by write where it is not remembered. Many who ask at once wait for
// one. An error is not remembered.
func (s *shelf) get(ctx context.Context, name, state string, write func() ([]byte, error)) ([]byte, error) {
	p, before, mine := s.find(name, state)
	switch {
	case mine && before != nil:
		go s.make(name, p, s.remaking, write)
	case mine:
		s.make(name, p, s.making, write)
	}
	if before != nil && !p.ready() {
		return before.body, nil
	}
	select {
	case <-p.done:
		return p.body, p.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// make makes a page when there is room and hands it to those who wait. That it panics is an error as any other.
func (s *shelf) make(name string, p *shelved, room chan struct{}, write func() ([]byte, error)) {
	defer s.keep(name, p)
	defer func() {
		if v := recover(); v != nil {
			p.err = fmt.Errorf("a page failed: %v\n%s", v, debug.Stack())
		}
	}()
	room <- struct{}{}
	defer func() { <-room }()
	p.body, p.err = write()
}

// find is the page of a name, what may be shown in its place while it is not ready, and whether it is
// still to be made by who asks.
func (s *shelf) find(name, state string) (p, before *shelved, mine bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.now()
	slot := now.Truncate(holds)
	p = s.new[name]
	if p == nil {
		if p = s.old[name]; p != nil && p.state == state && p.at.Equal(slot) {
			s.put(name, p)
		}
	}
	switch {
	case p == nil || !p.at.Equal(slot):
	case p.state == state:
		p.held = now
		return p, p.before, false
	case p.ready() && now.Sub(p.held) <= moment:
		before = p
	case p.before != nil && now.Sub(p.before.held) <= moment:
		before = p.before
	}
	p = &shelved{state: state, at: slot, held: now, before: before, done: make(chan struct{})}
	s.put(name, p)
	return p, before, true
}

// ready reports whether a page was made.
func (p *shelved) ready() bool {
	select {
	case <-p.done:
		return p.err == nil
	default:
		return false
	}
}

// forget forgets all pages: who changed something is to see it.
func (s *shelf) forget() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.new, s.old, s.size = nil, nil, 0
}

// put puts a page among the new ones; its bytes are counted when it is ready.
func (s *shelf) put(name string, p *shelved) {
	if p.ready() {
		s.size += len(p.body)
	}
	if s.size > shelfMost {
		s.old, s.new, s.size = s.new, nil, 0
	}
	if s.new == nil {
		s.new = map[string]*shelved{}
	}
	s.new[name] = p
}

// keep keeps a page that was made, or forgets it where that failed, and hands it to those who wait.
func (s *shelf) keep(name string, p *shelved) {
	s.mu.Lock()
	defer s.mu.Unlock()
	p.before = nil
	close(p.done)
	if s.new[name] != p {
		return
	}
	delete(s.new, name)
	if p.err == nil {
		s.put(name, p)
	}
}
