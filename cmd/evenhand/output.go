package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"
	"syscall"
	"unicode"
	"unicode/utf8"

	"golang.org/x/term"
)

// results is standard output. It keeps the first fault of writing, after which it takes no more, so
// that what writes a line at a time need not look at each.
type results struct {
	w       io.Writer
	err     error
	columns int
}

// The widths that text is set in: what reads well on paper and in any window, but never more than the
// window has.
const (
	usualColumns = 78
	leastColumns = 24
)

func newResults(w io.Writer) *results {
	r := &results{w: w, columns: usualColumns}
	if f, ok := w.(*os.File); ok {
		// A window's last column is left free: some windows break the line there by themselves.
		if width, _, err := term.GetSize(int(f.Fd())); err == nil && width > 0 {
			r.columns = max(leastColumns, min(usualColumns, width-1))
		}
	}
	return r
}

// Write implements io.Writer.
func (r *results) Write(b []byte) (int, error) {
	if r.err == nil {
		if _, err := r.w.Write(b); err != nil {
			r.err = outputFault{cause(err)}
		}
	}
	if r.err != nil {
		return 0, r.err
	}
	return len(b), nil
}

// outputFault says that results could not be written.
type outputFault struct{ error }

// Error implements error.
func (f outputFault) Error() string {
	return fmt.Sprintf("the results cannot be written: %v; free some space or send them elsewhere", f.error)
}

// Unwrap gives the operating system's error.
func (f outputFault) Unwrap() error { return f.error }

// readerGone reports whether results could not be written because nobody reads them any more, which
// is no news to the user.
func readerGone(err error) bool {
	var f outputFault
	return errors.As(err, &f) && errors.Is(err, syscall.EPIPE)
}

// columnsOf is the width of text written to w.
func columnsOf(w io.Writer) int {
	if r, ok := w.(*results); ok {
		return r.columns
	}
	return usualColumns
}

// plain is a text, such as the name of a file, in which nothing can break the line or steer a
// terminal: control characters are written as Go writes them.
func plain(s string) string {
	var b strings.Builder
	for _, c := range s {
		if unicode.IsPrint(c) {
			b.WriteRune(c)
		} else {
			b.WriteString(strings.Trim(strconv.QuoteRune(c), "'"))
		}
	}
	return b.String()
}

// wrap sets a paragraph in lines of so many columns. The first begins with head, the others with as
// many blanks.
func wrap(b *strings.Builder, columns int, head, text string) {
	margin := strings.Repeat(" ", utf8.RuneCountInString(head))
	line, empty := head, true
	for _, word := range strings.Fields(text) {
		if !empty && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > columns {
			fmt.Fprintln(b, line)
			line, empty = margin, true
		}
		if !empty {
			line += " "
		}
		line += word
		empty = false
	}
	fmt.Fprintln(b, strings.TrimRight(line, " "))
}
