package screen

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/references"
	"evenhand/scoring"
)

// update reports whether the golden pages are to be written anew: -update is an option of the library
// that tests whole programs.
func update() bool { return flag.Lookup("update").Value.String() == "true" }

// memory records takes in memory.
type memory struct{ *capture.Builder }

func (memory) Close() (string, error) { return "take.mid", nil }

// room is a lesson and its page, with neither clock nor files.
type room struct {
	t        *testing.T
	requests []references.Request
	asked    int
	takes    int
	told     int
	broken   []int // notes of the takes that were broken off
	model    tea.Model
	lesson   *Lesson
	now      time.Duration
	wanted   []Control
	refs     []*references.Reference
}

const usualWords = "D major scale, hands together, mezzo-forte"

func newRoom(t *testing.T, width, height int, signs *ink.Signs, words ...string) *room {
	t.Helper()
	r := &room{t: t}
	for _, w := range words {
		q, err := references.Parse(w)
		if err != nil {
			t.Fatal(err)
		}
		r.requests = append(r.requests, q)
	}
	return r.open(width, height, signs)
}

func (r *room) open(width, height int, signs *ink.Signs) *room {
	r.model = New(Options{Signs: signs, Control: func(c Control) { r.wanted = append(r.wanted, c) }})
	r.show(tea.WindowSizeMsg{Width: width, Height: height})
	r.lesson = NewLesson(r, Keyboard{21, 108}, r.show)
	r.lesson.Connected(Piano{There: true, Said: "listening to Toy piano"}, 0)
	return r
}

func (r *room) show(msg tea.Msg) { r.model, _ = r.model.Update(msg) }

func (r *room) Ask(next bool) Asked {
	if next {
		r.asked++
	}
	if r.refs != nil {
		return Asked{Words: r.refs[0].Title, Candidates: r.refs, Settings: scoring.DefaultSettings()}
	}
	a := Asked{Words: r.request().Spoken(), Candidates: r.request().Candidates(), Settings: scoring.DefaultSettings()}
	if len(r.requests) > 1 {
		a.Round = fmt.Sprintf("%d of %d", r.asked%len(r.requests)+1, len(r.requests))
	}
	return a
}

func (r *room) request() references.Request { return r.requests[r.asked%len(r.requests)] }

func (r *room) Record(time.Duration) (Recorder, error) {
	r.takes++
	return memory{capture.NewBuilder(capture.Take{Device: "Toy piano"})}, nil
}

func (r *room) Judge(take *capture.Take, path string) Told {
	r.told++
	if r.refs != nil {
		a := align.Best(r.refs, nil, take)
		return Told{Alignment: a, Assessment: scoring.Assess(a, scoring.Asked{Take: path}, scoring.DefaultSettings()), Path: path}
	}
	q := r.request()
	a := align.Best(q.Candidates(), q.Neighbours(), take)
	return Told{
		Alignment: a, Path: path, Facts: [][2]string{{"notes", "counted"}},
		Assessment: scoring.Assess(a, scoring.Asked{Take: path, Against: q.String(), Request: &q}, scoring.DefaultSettings()),
	}
}

func (r *room) BrokenOff(take *capture.Take, _ string) { r.broken = append(r.broken, len(take.Notes)) }

// plays has the lesson hear messages that begin now, and the time that passes between them.
func (r *room) plays(messages []capture.Message) {
	start := r.now
	for _, m := range messages {
		m.At += start
		r.waits(m.At - r.now)
		r.lesson.Take(m)
	}
}

// waits lets time pass in which nothing is played.
func (r *room) waits(d time.Duration) {
	const step = 50 * time.Millisecond
	for end := r.now + d; r.now < end; {
		r.now = min(r.now+step, end)
		r.lesson.Silent(r.now)
	}
}

// strikes plays single keys, so far apart.
func (r *room) strikes(apart time.Duration, keys ...uint8) {
	for _, k := range keys {
		r.lesson.Take(capture.Message{At: r.now, Status: 0x90, Data1: k, Data2: 60})
		r.waits(apart / 2)
		r.lesson.Take(capture.Message{At: r.now, Status: 0x80, Data1: k})
		r.waits(apart / 2)
	}
}

func (r *room) types(keys ...string) {
	for _, k := range keys {
		msg := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		switch k {
		case "tab":
			msg = tea.KeyMsg{Type: tea.KeyTab}
		case "shift+tab":
			msg = tea.KeyMsg{Type: tea.KeyShiftTab}
		case " ":
			msg = tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")}
		}
		var cmd tea.Cmd
		if r.model, cmd = r.model.Update(msg); cmd != nil {
			cmd()
		}
		for _, c := range r.wanted {
			r.lesson.Control(c)
		}
		r.wanted = nil
	}
}

func (r *room) view() string { return ansi.Strip(r.model.View()) }

func (r *room) page() page { return r.model.(Model).page }

// sees and misses look for words on the page.
func (r *room) sees(words ...string) {
	r.t.Helper()
	for _, w := range words {
		if !strings.Contains(r.view(), w) {
			r.t.Errorf("%q is not on the page:\n%s", w, r.view())
		}
	}
}

func (r *room) misses(words ...string) {
	r.t.Helper()
	for _, w := range words {
		if strings.Contains(r.view(), w) {
			r.t.Errorf("%q is on the page:\n%s", w, r.view())
		}
	}
}

// golden compares the page with the one kept.
func (r *room) golden(name string) {
	r.t.Helper()
	m := r.model.(Model)
	goldenPage(r.t, name, r.view(), m.width, m.height)
}

// goldenPage compares a page of a size with the one kept.
func goldenPage(t *testing.T, name, view string, width, height int) {
	t.Helper()
	lines := strings.Split(view, "\n")
	if len(lines) != height {
		t.Errorf("%s: %d lines, want %d", name, len(lines), height)
	}
	for i, l := range lines {
		if n := ansi.StringWidth(l); n > width {
			t.Errorf("%s: line %d has %d columns of %d: %q", name, i+1, n, width, l)
		}
	}
	path := filepath.Join("testdata", name+".txt")
	got := view + "\n"
	if update() {
		if err := os.WriteFile(path, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if got != string(want) {
		t.Errorf("the page is not that of %s (write it anew with -update):\n%s", path, got)
	}
}

// faulty is a take with one wrong note and one wait.
func faulty(t *testing.T, words string, wrong, wait int) []capture.Message {
	t.Helper()
	q, err := references.Parse(words)
	if err != nil {
		t.Fatal(err)
	}
	ref, err := q.Reference()
	if err != nil {
		t.Fatal(err)
	}
	take, _ := pupil.Play(ref, pupil.Pupil{Seed: 3, BPM: 90, Faults: []pupil.Fault{
		{Kind: pupil.SemitoneOff, At: wrong}, {Kind: pupil.Wait, At: wait, Pause: 900 * time.Millisecond},
	}})
	return pupil.Messages(take)
}

var sizes = []struct{ width, height int }{{80, 24}, {120, 40}, {200, 60}}

func TestPagesOfAScale(t *testing.T) {
	for _, size := range sizes {
		t.Run(fmt.Sprintf("%dx%d", size.width, size.height), func(t *testing.T) {
			r := newRoom(t, size.width, size.height, &ink.Unicode, usualWords)
			name := func(page string) string { return fmt.Sprintf("scale-%s-%dx%d", page, size.width, size.height) }
			r.golden(name("asking"))
			messages := faulty(t, usualWords, 20, 30)
			half := len(messages) / 2
			r.plays(messages[:half])
			r.golden(name("playing"))
			r.plays(since(messages[half:], messages[half-1].At))
			r.waits(3 * time.Second)
			r.sees("G sharp for G", "stop")
			r.golden(name("words"))
			for _, page := range []string{"notes", "time", "figures"} {
				r.types("tab")
				r.golden(name(page))
			}
		})
	}
}

// since are messages counted from a time.
func since(messages []capture.Message, at time.Duration) []capture.Message {
	out := append([]capture.Message(nil), messages...)
	for i := range out {
		out[i].At -= at
	}
	return out
}

func TestPagesInASCII(t *testing.T) {
	r := newRoom(t, 80, 24, &ink.ASCII, "B flat harmonic minor scale, hands together, piano")
	r.golden("ascii-asking")
	messages := faulty(t, "B flat harmonic minor scale, hands together, piano", 21, 40)
	r.plays(messages[:len(messages)*3/4])
	r.golden("ascii-playing")
	r.plays(since(messages[len(messages)*3/4:], messages[len(messages)*3/4-1].At))
	r.waits(3 * time.Second)
	r.golden("ascii-words")
	for range 4 {
		for _, c := range r.view() {
			if c > 126 {
				t.Fatalf("%q is on an ASCII page:\n%s", c, r.view())
			}
		}
		r.types("tab")
	}
}
