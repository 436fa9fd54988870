package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"golang.org/x/term"

	"evenhand/capture"
	"evenhand/cmd/evenhand/screen"
	"evenhand/cmd/evenhand/screen/ink"
)

// keyboards are the lowest and the highest key of pianos, by how many keys they have. Common practice.
var keyboards = map[int]screen.Keyboard{
	88: {Low: 21, High: 108}, 76: {Low: 28, High: 103}, 73: {Low: 28, High: 100}, 61: {Low: 36, High: 96}, 49: {Low: 36, High: 84},
}

// noPiano is said until there is one.
const noPiano = "No piano yet. Plug it in by USB or MIDI cable and switch it on; it is looked for all the while."

// isTerminal reports whether v, standard input or the results, is a terminal.
func isTerminal(v any) bool {
	if r, ok := v.(*results); ok {
		v = r.w
	}
	f, ok := v.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// signsFor are the signs that the terminal can show: ASCII where it is asked for, or where the locale
// (POSIX: LC_ALL, LC_CTYPE, LANG, the first that is set) names another encoding than UTF-8.
func signsFor(ascii bool) *ink.Signs {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := strings.ToLower(os.Getenv(name)); v != "" {
			ascii = ascii || !strings.Contains(v, "utf-8") && !strings.Contains(v, "utf8")
			break
		}
	}
	if ascii {
		return &ink.ASCII
	}
	return &ink.Unicode
}

// desk keeps and judges the takes of one lesson.
type desk struct {
	ctx  context.Context
	h    *hearing
	src  *source
	list []*asked // what is asked, one after another and round again; nil for one request
	at   int
}

// Ask implements screen.Desk. Where there is one request it is asked again and again.
func (d *desk) Ask(next bool) screen.Asked {
	round := ""
	if d.list != nil {
		if next {
			d.at = (d.at + 1) % len(d.list)
		}
		d.h.asked = d.list[d.at]
		round = fmt.Sprintf("%d of %d", d.at+1, len(d.list))
	}
	a := d.h.asked
	return screen.Asked{Words: a.title, Candidates: a.candidates, Settings: d.h.settings, Round: round}
}

// Record implements screen.Desk.
func (d *desk) Record(at time.Duration) (screen.Recorder, error) {
	rec, err := d.h.record(d.src, at)
	if err != nil {
		return nil, err
	}
	return rec, nil
}

// Judge implements screen.Desk. The take is in the journal before it is told.
func (d *desk) Judge(take *capture.Take, path string) screen.Told {
	alignment, a := d.h.asked.judgeWhole(take, path, d.h.settings)
	if err := d.h.journal.keep(d.ctx, take, path, d.h.asked.against, practised(take), a); err != nil {
		say(d.h.errw, err)
	}
	told := screen.Told{Alignment: alignment, Assessment: a, Path: path}
	for _, f := range evidence(a) {
		told.Facts = append(told.Facts, [2]string{f.about, f.text})
	}
	return told
}

// BrokenOff implements screen.Desk. The time was practised, and nothing is judged of what was not played.
func (d *desk) BrokenOff(take *capture.Take, path string) {
	if err := d.h.journal.keep(d.ctx, take, path, d.h.asked.against, practised(take), nil); err != nil {
		say(d.h.errw, err)
	}
}

// notices shows on the page what is otherwise written to standard error.
type notices struct{ show func(tea.Msg) }

// Write implements io.Writer.
func (n notices) Write(b []byte) (int, error) {
	n.show(screen.Notice{Said: strings.TrimPrefix(strings.TrimSpace(string(b)), "evenhand: ")})
	return len(b), nil
}

// onScreen runs a lesson on a page until the player ends it, or the source or the program is ended. A
// take under way is then kept, and said.
func (h *hearing) onScreen(ctx context.Context, src *source, count *counter, in io.Reader, out io.Writer, o listenOptions) error {
	keyboard, ok := keyboards[o.keyboard]
	if !ok {
		return usageError{fmt.Errorf("no piano of %d keys is known here: --keyboard takes 88, 76, 73, 61 or 49", o.keyboard)}
	}
	ctx, stop := context.WithCancel(ctx)
	defer stop()
	wanted := make(chan screen.Control, 16)
	model := screen.New(screen.Options{Signs: signsFor(o.ascii), Control: func(c screen.Control) {
		select {
		case wanted <- c:
		case <-ctx.Done():
		}
	}})
	e := newEasel(page(out))
	program := tea.NewProgram(painted{model, e}, append(e.options(), tea.WithInput(in), tea.WithoutSignalHandler())...)
	h.errw = notices{program.Send}
	if h.journal != nil {
		h.journal.errw = h.errw
	}
	over := make(chan error, 1)
	var kept string
	go func() {
		show := count.watch(func() *asked { return h.asked }, program.Send)
		l := screen.NewLesson(&desk{ctx: ctx, h: h, src: src, list: o.list}, keyboard, show)
		l.Loop = o.loop
		err := attend(ctx, l, src, wanted, h.measured)
		count.close()
		path, closing := l.Close()
		kept = path
		program.Quit()
		over <- errors.Join(err, closing)
	}()
	_, err := program.Run()
	e.close()
	stop()
	err = errors.Join(err, <-over)
	if kept != "" {
		fmt.Fprintf(out, "Kept as %s\n", plain(kept))
	}
	return err
}

// page is where a page is drawn.
func page(out io.Writer) io.Writer {
	if r, ok := out.(*results); ok {
		return r.w
	}
	return out
}

// attend gives a lesson what comes from the piano and from the keyboard of the computer. Where what was
// measured of a piano that comes changes how it is judged, the lesson asks anew.
func attend(ctx context.Context, l *screen.Lesson, src *source, wanted <-chan screen.Control, measured func(piano string) bool) error {
	piano := screen.Piano{There: true, Said: "listening to " + src.name}
	if len(src.events) == 0 && src.awaited {
		piano = screen.Piano{Said: noPiano}
	}
	l.Connected(piano, src.now())
	tick := time.NewTicker(look)
	defer tick.Stop()
	for {
		// Nothing waits for a silence while nobody plays.
		if l.Open() {
			tick.Reset(look)
		} else {
			tick.Stop()
		}
		select {
		case <-ctx.Done():
			return nil
		case c := <-wanted:
			if c == screen.End {
				return nil
			}
			l.Control(c)
		case e, more := <-src.events:
			switch {
			case !more:
				src.events = nil
			case e.over != nil:
				return e.over
			case e.message != nil:
				l.Take(*e.message)
			default:
				src.connected(e)
				if measured(src.name) && !l.Open() {
					l.Control(screen.Again)
				}
				l.Connected(screen.Piano{There: !e.gone, Said: e.said}, src.now())
			}
		case <-tick.C:
			if len(src.events) == 0 {
				l.Silent(src.now())
			}
		}
	}
}
