package exam_test

import (
	"context"
	"errors"
	"testing"

	"evenhand/exam"
)

// shelf is a store that is full at times.
type shelf struct {
	full bool
	kept [][]byte
}

func (s *shelf) AddEvent(_ context.Context, n int, event []byte) error {
	if s.full {
		return errors.New("no room")
	}
	if n != len(s.kept) {
		return errors.New("out of order")
	}
	s.kept = append(s.kept, event)
	return nil
}

// What cannot be kept waits, and is kept in its order with the next.
func TestBookKeepsWhatWaited(t *testing.T) {
	s := &shelf{}
	b := exam.NewBook(s, 0)
	c := newCourse(t)
	for n, full := range []bool{false, true, true, false, true} {
		s.full = full
		e := exam.Event{Schema: exam.EventSchema, Kind: exam.Remarked, At: c.now, Words: string(rune('a' + n))}
		if n == 0 {
			e = threeSections()
			e.Schema, e.At = exam.EventSchema, c.now
		}
		if err := b.Add(t.Context(), e); (err != nil) != full {
			t.Errorf("event %d: %v", n, err)
		}
	}
	if b.Waiting() != 1 || len(s.kept) != 4 {
		t.Errorf("%d wait and %d are kept", b.Waiting(), len(s.kept))
	}
	s.full = false
	if err := b.Flush(t.Context()); err != nil {
		t.Fatal(err)
	}
	got, err := exam.Replay(s.kept)
	if err != nil || len(got.Parts[0].Remarks) != 4 || got.Parts[0].Remarks[3] != "e" {
		t.Errorf("%+v, %v", got, err)
	}
}
