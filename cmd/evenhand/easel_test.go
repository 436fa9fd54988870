package main

import (
	"strings"
	"sync"
	"testing"
)

// written keeps all that is written to it.
type written struct {
	mu sync.Mutex
	strings.Builder
}

func (w *written) Write(b []byte) (int, error) {
	w.mu.Lock()
	defer w.mu.Unlock()
	return w.Builder.Write(b)
}

func TestEaselDrawsOnlyWhatChanged(t *testing.T) {
	for _, tt := range []struct{ from, to, want string }{
		{"a\nb\nc", "a\nB\nc", "\x1b[2;1HB\x1b[K"},
		{"a\nb", "a\nb", ""},
		{"a\nb", "a\n", "\x1b[2;1H\x1b[K"},
		{"", "a\nb", "\x1b[2J\x1b[1;1Ha\x1b[K\x1b[2;1Hb\x1b[K"},
	} {
		if got := changed(strings.Split(tt.from, "\n"), strings.Split(tt.to, "\n")); got != tt.want {
			t.Errorf("from %q to %q: %q, want %q", tt.from, tt.to, got, tt.want)
		}
	}
}

// Pages may come faster than they can be shown: the last one is.
func TestEaselShowsTheLastPage(t *testing.T) {
	w := &written{}
	e := newEasel(w)
	for _, page := range []string{"first\npage", "second\npage", "third\npage", "last\npage"} {
		e.draw(page)
	}
	e.close()
	got := w.String()
	if !strings.HasPrefix(got, openScreen) || !strings.HasSuffix(got, closeScreen) {
		t.Errorf("the screen is not opened and closed: %q", got)
	}
	if i := strings.LastIndex(got, "\x1b[1;1H"); i < 0 || !strings.HasPrefix(got[i:], "\x1b[1;1Hlast") {
		t.Errorf("the last page is not what is left: %q", got)
	}
}
