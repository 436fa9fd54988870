package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"sync/atomic"
	"syscall"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenhand/capture"
	"evenhand/internal/jacktest"
	"evenhand/references"
)

func TestPlainTextCannotSteerATerminal(t *testing.T) {
	for _, c := range []struct{ in, want string }{
		{"a  b.mid", "a  b.mid"},
		{"B♭4 über", "B♭4 über"},
		{"one\ntwo", `one\ntwo`},
		{"\x1b[31mred\a", `\x1b[31mred\a`},
		{"it's", "it's"},
		{"nil\x00", `nil\x00`},
	} {
		if got := plain(c.in); got != c.want {
			t.Errorf("plain(%q) = %q, want %q", c.in, got, c.want)
		}
	}
}

// Wrapping loses no word, and no line is too long but for a word that is.
func TestWrapKeepsEveryWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		columns := rapid.IntRange(leastColumns, 100).Draw(t, "columns")
		head := rapid.SampledFrom([]string{"", "  - ", "evenness  "}).Draw(t, "head")
		words := rapid.SliceOf(rapid.StringMatching(`[a-z♭]{1,40}`)).Draw(t, "words")
		var b strings.Builder
		wrap(&b, columns, head, strings.Join(words, " "))
		var got []string
		for i, line := range strings.Split(strings.TrimSuffix(b.String(), "\n"), "\n") {
			if i == 0 {
				line = strings.TrimPrefix(line, strings.TrimRight(head, " "))
			}
			if i > 0 && len(head) > 0 && !strings.HasPrefix(line, strings.Repeat(" ", len(head))) {
				t.Fatalf("line %d is not set in: %q", i, line)
			}
			if n := len([]rune(line)); n > columns && len(strings.Fields(line)) > 1 {
				t.Fatalf("%d columns, %d allowed: %q", n, columns, line)
			}
			got = append(got, strings.Fields(line)...)
		}
		if fmt.Sprint(got) != fmt.Sprint(words) {
			t.Fatalf("got %q, want %q", got, words)
		}
	})
}

// full takes so many bytes and then fails.
type full struct {
	room int
	err  error
}

func (f *full) Write(b []byte) (int, error) {
	if len(b) > f.room {
		return 0, f.err
	}
	f.room -= len(b)
	return len(b), nil
}

func TestResultsKeepTheFirstFault(t *testing.T) {
	r := newResults(&full{4, &os.PathError{Op: "write", Path: "out", Err: syscall.ENOSPC}})
	if n, err := r.Write([]byte("abcd")); n != 4 || err != nil {
		t.Fatal(n, err)
	}
	_, err := r.Write([]byte("e"))
	if want := "the results cannot be written: no space left on device; free some space or send them elsewhere"; err == nil || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
	if n, again := r.Write(nil); n != 0 || again != err || r.err != err || readerGone(err) {
		t.Errorf("%d, %v after %v", n, again, err)
	}
}

// Where nobody reads on, the program ends without a word, and not with success.
func TestReaderGoneIsNoNews(t *testing.T) {
	var errw bytes.Buffer
	status := run(t.Context(), nil, &full{0, &os.PathError{Op: "write", Err: syscall.EPIPE}}, &errw, []string{"version"})
	if status != statusFault || errw.Len() > 0 {
		t.Errorf("status %d: %q", status, &errw)
	}
}

func TestEachInOrder(t *testing.T) {
	files := make([]string, 500)
	for i := range files {
		files[i] = strconv.Itoa(i)
	}
	var begun atomic.Int64
	work := func(f string) (string, error) {
		begun.Add(1)
		if n, _ := strconv.Atoi(f); n%100 == 99 {
			return "", errors.New("bad " + f)
		}
		return f, nil
	}
	var told []string
	err := eachInOrder(t.Context(), files, work, func(s string, err error) error {
		if err != nil {
			s = strings.TrimPrefix(err.Error(), "bad ")
		}
		told = append(told, s)
		return nil
	})
	if !errors.Is(err, errTold) || strings.Join(told, " ") != strings.Join(files, " ") {
		t.Errorf("%v, told %d", err, len(told))
	}

	// An error of telling ends it, and not everything is begun first.
	begun.Store(0)
	enough := errors.New("enough")
	err = eachInOrder(t.Context(), files, work, func(s string, err error) error { return enough })
	if !errors.Is(err, enough) || begun.Load() > 100 {
		t.Errorf("%v after %d begun", err, begun.Load())
	}

	ctx, cancel := context.WithCancel(t.Context())
	n := 0
	err = eachInOrder(ctx, files, work, func(string, error) error {
		if n++; n == 7 {
			cancel()
		}
		return nil
	})
	if !errors.Is(err, errStopped) || n > 400 {
		t.Errorf("%v after %d told", err, n)
	}
}

// Text fits a narrow window, notes over their fingers.
func TestRequestFitsANarrowWindow(t *testing.T) {
	q, err := references.Parse("B flat major scale, 4 octaves")
	if err != nil {
		t.Fatal(err)
	}
	ref, err := q.Reference()
	if err != nil {
		t.Fatal(err)
	}
	var b bytes.Buffer
	r := newResults(&b)
	r.columns = leastColumns
	printRequest(r, q, ref)
	for _, line := range strings.Split(b.String(), "\n") {
		if len([]rune(line)) > leastColumns {
			t.Errorf("too wide: %q", line)
		}
	}
	if !strings.Contains(b.String(), "\n  E♭3 D3 C3 B♭2\n  3   2  1  4\n") {
		t.Errorf("notes and fingers part:\n%s", &b)
	}
}

// While a piano is away a take goes on; the time it was away is no silence of the player's.
func TestPianoAwayIsNoSilence(t *testing.T) {
	what, err := findAsked("C major, right hand, 1 octave", nil)
	if err != nil {
		t.Fatal(err)
	}
	h := &hearing{asked: what, keep: t.TempDir(), show: &bytes.Buffer{}, errw: &bytes.Buffer{}}
	src := &source{name: "test", now: func() time.Duration { return 0 }}
	rec, err := h.record(src, 0)
	if err != nil {
		t.Fatal(err)
	}
	defer rec.Close()
	try := h.begin(rec, 0)
	for i, key := range []byte{60, 62, 64} {
		at := time.Duration(i) * 300 * time.Millisecond
		try.add(noteOn(at, key))
		try.add(noteOff(at+250*time.Millisecond, key))
	}
	const s = time.Second
	if try.ended(4 * s) {
		t.Error("ended after three seconds of silence")
	}
	try.connected(true, 4*s)
	if try.ended(30 * s) {
		t.Error("ended while the piano was away")
	}
	try.connected(false, 30*s)
	if try.ended(31 * s) {
		t.Error("ended as soon as the piano was back")
	}
	if !try.ended(37 * s) {
		t.Error("not ended by a long silence")
	}
	try.connected(true, 40*s)
	if !try.ended(40*s + patience + 1) {
		t.Error("a piano that never comes back is waited for without end")
	}
}

// A take that is ended from outside is kept and judged, and nothing is wrong with that.
func TestInterruptedTakeIsJudged(t *testing.T) {
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	in, piano := io.Pipe()
	defer piano.Close()
	dir := t.TempDir()
	var out, errw bytes.Buffer
	done := make(chan int)
	go func() {
		done <- run(ctx, in, &out, &errw, []string{"listen", "--from-bytes", "-", "--keep", dir, "-f", "json", "C major, right hand"})
	}()
	for _, key := range []byte{60, 62, 64} {
		if _, err := piano.Write([]byte{0x90, key, 64, 0x80, key, 64}); err != nil {
			t.Fatal(err)
		}
	}
	jacktest.Eventually(t, "the notes are on disk", func() bool {
		files, _ := filepath.Glob(filepath.Join(dir, "*"+capture.GrowingEnding)) // the pattern is well formed
		return len(files) == 1 && recorded(files[0]) == 6
	})
	cancel()
	if status := <-done; status != statusDone || errw.Len() > 0 {
		t.Errorf("status %d: %s", status, &errw)
	}
	if a := one(t, out.Bytes()); a.Counts.Correct != 3 {
		t.Errorf("%+v", a.Counts)
	}
}
