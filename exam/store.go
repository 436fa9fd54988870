package exam

import "context"

// Store keeps the events of one sitting.
type Store interface {
	// AddEvent keeps event n, counted from 0. When it returns without an error the event is on disk. The
	// same event again is no error.
	AddEvent(ctx context.Context, n int, event []byte) error
}

// Book writes the events of a sitting into a store, each before anything comes of it. Where the store
// cannot be written events wait, and go in with the next.
type Book struct {
	store   Store
	n       int // events in the store
	waiting [][]byte
}

// NewBook goes on with a store that has n events.
func NewBook(store Store, n int) *Book { return &Book{store: store, n: n} }

// Add keeps an event. The error is of the store; the event waits.
func (b *Book) Add(ctx context.Context, e Event) error {
	text, err := e.Encode()
	if err != nil {
		return err
	}
	b.waiting = append(b.waiting, text)
	return b.Flush(ctx)
}

// Flush keeps what waits.
func (b *Book) Flush(ctx context.Context) error {
	for len(b.waiting) > 0 {
		if err := b.store.AddEvent(ctx, b.n, b.waiting[0]); err != nil {
			return err
		}
		b.n++
		b.waiting = b.waiting[1:]
	}
	return nil
}

// Waiting is how many events are not in the store yet.
func (b *Book) Waiting() int { return len(b.waiting) }
