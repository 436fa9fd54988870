package smf

import (
	"errors"
	"fmt"
)

// The kinds of refusal, for errors.Is.
var (
	ErrNotMIDI = errors.New("not a midi file")
	ErrTooBig  = errors.New("too big for a midi file")
)

// Error is one fault of a file: a refusal, or a warning that rides with what could be read.
type Error struct {
	Name   string // of the file, as the caller gave it
	Offset int64  // of the byte, from 0
	Reason string // one plain line: what is wrong, and what came of it or what to do
	Kind   error  // ErrNotMIDI or ErrTooBig for a refusal; nil for a warning
}

// Error gives "take.mid: byte 14: reason".
func (e *Error) Error() string { return fmt.Sprintf("%s: byte %d: %s", e.Name, e.Offset, e.Reason) }

// Unwrap gives the kind of refusal.
func (e *Error) Unwrap() error { return e.Kind }

// maxWarnings bounds what is kept of a file that is faults from end to end.
const maxWarnings = 50

// faults collects the warnings of one file.
type faults struct {
	name string
	list []*Error
}

func (f *faults) add(offset int, format string, args ...any) {
	switch {
	case len(f.list) < maxWarnings:
		f.list = append(f.list, &Error{Name: f.name, Offset: int64(offset), Reason: fmt.Sprintf(format, args...)})
	case len(f.list) == maxWarnings:
		f.list = append(f.list, &Error{Name: f.name, Offset: int64(offset), Reason: "more faults from here on are not listed"})
	}
}

func (f *faults) refuse(kind error, offset int, format string, args ...any) *Error {
	return &Error{Name: f.name, Offset: int64(offset), Reason: fmt.Sprintf(format, args...), Kind: kind}
}

// bytesOf gives "1 byte", "3 bytes".
func bytesOf(n int) string {
	if n == 1 {
		return "1 byte"
	}
	return fmt.Sprintf("%d bytes", n)
}
