package main

import (
	"fmt"
	"io"
	"os"
	"strings"
	"sync/atomic"
	"time"

	tea "github.com/charmbracelet/bubbletea"
)

// frame is the least time between two drawings: no terminal shows more, and nobody sees more.
const frame = time.Second / 60

// easel draws the pages of a model on a terminal, when they change and only the lines that do. The
// terminal library's own renderer looks for changes 60 times a second, which keeps a machine busy that
// only waits for a key, and shows a note up to a frame late; this one sleeps, and draws at once.
type easel struct {
	w     io.Writer
	fresh chan string // the page to draw next, at most one
	whole atomic.Bool // draw all lines of it
	done  chan struct{}
}

// What a terminal is told (ECMA-48; the alternate screen is xterm's).
const (
	openScreen  = "\x1b[?1049h\x1b[?25l\x1b[2J"
	closeScreen = "\x1b[?25h\x1b[?1049l"
	clearLine   = "\x1b[K"
)

// newEasel opens the screen, until close.
func newEasel(w io.Writer) *easel {
	e := &easel{w: w, fresh: make(chan string, 1), done: make(chan struct{})}
	go e.run()
	return e
}

// options have the terminal library look after the keys and the size of the window, and draw nothing: its
// renderer writes to nowhere, once a second.
func (e *easel) options() []tea.ProgramOption {
	var nowhere io.Writer = io.Discard
	if f, ok := e.w.(*os.File); ok {
		nowhere = mute{f}
	}
	return []tea.ProgramOption{tea.WithOutput(nowhere), tea.WithFPS(1)}
}

// mute is a terminal that can be asked for its size, and shows nothing.
type mute struct{ *os.File }

// Write implements io.Writer.
func (mute) Write(b []byte) (int, error) { return len(b), nil }

// WriteString implements io.StringWriter.
func (mute) WriteString(s string) (int, error) { return len(s), nil }

// draw shows a page. One that was not drawn yet is forgotten.
func (e *easel) draw(page string) {
	for {
		select {
		case e.fresh <- page:
			return
		case <-e.fresh:
		}
	}
}

// close leaves the terminal as it was.
func (e *easel) close() {
	close(e.fresh)
	<-e.done
}

func (e *easel) run() {
	defer close(e.done)
	// What cannot be written is not seen: there is nobody to tell.
	_, _ = io.WriteString(e.w, openScreen)
	defer func() { _, _ = io.WriteString(e.w, closeScreen) }()
	var shown []string
	for page := range e.fresh {
		lines := strings.Split(page, "\n")
		if e.whole.Swap(false) {
			shown = nil
		}
		_, _ = io.WriteString(e.w, changed(shown, lines))
		shown = lines
		time.Sleep(frame)
	}
}

// changed is what turns one page into another. Where the number of lines differs the window has another
// size, and all of it is drawn, as after no page.
func changed(from, to []string) string {
	var b strings.Builder
	if len(from) != len(to) {
		b.WriteString("\x1b[2J")
		from = make([]string, len(to))
	}
	for y, line := range to {
		if line != from[y] {
			fmt.Fprintf(&b, "\x1b[%d;1H%s%s", y+1, line, clearLine)
		}
	}
	return b.String()
}

// painted is a model whose pages an easel draws.
type painted struct {
	tea.Model
	easel *easel
}

// Update implements tea.Model. After a change of the window's size the terminal may have moved what
// stood on it, so all is drawn anew.
func (p painted) Update(msg tea.Msg) (tea.Model, tea.Cmd) {
	var cmd tea.Cmd
	if _, resized := msg.(tea.WindowSizeMsg); resized {
		p.easel.whole.Store(true)
	}
	p.Model, cmd = p.Model.Update(msg)
	return p, cmd
}

// View implements tea.Model.
func (p painted) View() string {
	p.easel.draw(p.Model.View())
	return ""
}
