package serve

import (
	"context"
	"errors"
	"sync"
	"time"
)

// shelf remembers pages. One holds as long as the journal is in the same state and the time is the same
// within holds, as plans and weeks look back from now.
type shelf struct {
	now func() time.Time

	mu       sync.Mutex
	new, old map[string]*shelved // what is not asked for again moves from new to old, and is forgotten
	size     int                 // bytes of new
}

// shelved is one page. It is ready when done is closed.
type shelved struct {
	state string
	at    time.Time
	done  chan struct{}
	body  []byte
	err   error
}

// Chosen by us.
const (
	holds     = 10 * time.Minute
	shelfMost = 32 << 20 // bytes, of new and of old
)

var errUnmade = errors.New("the page could not be made")

// get is the page of a name, made by write where it is not remembered. Many who ask at once wait for
// one. An error is not remembered.
func (s *shelf) get(ctx context.Context, name, state string, write func() ([]byte, error)) ([]byte, error) {
	p, mine := s.find(name, state)
	if mine {
		p.err = errUnmade
		defer s.keep(name, p)
		p.body, p.err = write()
		return p.body, p.err
	}
	select {
	case <-p.done:
		return p.body, p.err
	case <-ctx.Done():
		return nil, ctx.Err()
	}
}

// find is the page of a name, and whether it is still to be made by who asks.
func (s *shelf) find(name, state string) (p *shelved, mine bool) {
	s.mu.Lock()
	defer s.mu.Unlock()
	now := s.now().Truncate(holds)
	holds := func(p *shelved) bool { return p != nil && p.state == state && p.at.Equal(now) }
	if p := s.new[name]; holds(p) {
		return p, false
	}
	if p := s.old[name]; holds(p) {
		s.put(name, p)
		return p, false
	}
	p = &shelved{state: state, at: now, done: make(chan struct{})}
	s.put(name, p)
	return p, true
}

// put puts a page among the new ones; its bytes are counted when it is ready.
func (s *shelf) put(name string, p *shelved) {
	select {
	case <-p.done:
		s.size += len(p.body)
	default:
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
	close(p.done)
	if s.new[name] != p {
		return
	}
	delete(s.new, name)
	if p.err == nil {
		s.put(name, p)
	}
}
