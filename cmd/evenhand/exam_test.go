package main

import (
	"context"
	"errors"
	"path/filepath"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/cmd/evenhand/screen"
	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/exam"
	"evenhand/journal"
	"evenhand/references"
)

// quiet is an exam with neither terminal nor piano: what is struck and typed is given to it by the test,
// and time passes as the test says.
type quiet struct {
	*hall
	t     *testing.T
	clock time.Duration
	model tea.Model
	store *fullStore
	j     *journal.Journal
}

// fullStore keeps events, unless it is told to be full.
type fullStore struct {
	full   error
	events [][]byte
}

func (s *fullStore) AddEvent(_ context.Context, n int, event []byte) error {
	if s.full != nil {
		return s.full
	}
	if n != len(s.events) {
		return errors.New("out of order")
	}
	s.events = append(s.events, event)
	return nil
}

// askedParts are requests in words, each a part of one section.
func askedParts(t testing.TB, words ...string) *exam.Paper {
	t.Helper()
	p := &exam.Paper{Schema: exam.Schema, List: "Quick", Level: 2, Sections: []exam.Section{{Title: "Scales", Weight: 100}}}
	for i, w := range words {
		r, err := references.Parse(w)
		if err != nil {
			t.Fatal(err)
		}
		p.Parts = append(p.Parts, exam.Part{Number: i + 1, Kind: exam.Request, Words: r.Spoken(), Request: &exam.Asked{Request: r}})
	}
	return p
}

// sits opens an exam on a paper.
func sits(t *testing.T, paper *exam.Paper) *quiet {
	t.Helper()
	q := &quiet{t: t, store: &fullStore{}}
	settings, err := settingsFor("first")
	if err != nil {
		t.Fatal(err)
	}
	if q.j, err = journal.Open(t.Context(), filepath.Join(t.TempDir(), "journal.db")); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { q.j.Close() })
	if err := q.j.Add(t.Context(), "Ada", time.Now()); err != nil {
		t.Fatal(err)
	}
	h := &hearing{settings: settings, keep: t.TempDir(), journal: &keeper{journal: q.j, pupil: "Ada", waiting: t.TempDir()}}
	src := &source{name: "toy piano", now: func() time.Duration { return q.clock }}
	s := new(exam.Sitting)
	q.hall = newHall(t.Context(), s, q.store, openParts(paper), h, src, keyboards[88])
	q.model = screen.NewSitting(screen.SittingOptions{Signs: &ink.Unicode, Do: q.act})
	q.tell(func(msg tea.Msg) { q.model, _ = q.model.Update(msg) })
	q.piano = screen.Piano{There: true}
	q.happen(exam.Event{Kind: exam.Opened, Open: begin(paper)})
	return q
}

// plays has the exam hear messages, which begin now, and the time after them.
func (q *quiet) plays(messages []capture.Message) {
	start := q.clock
	for _, m := range messages {
		q.waits(start + m.At - q.clock)
		m.At = q.clock
		q.message(m)
	}
}

func (q *quiet) waits(d time.Duration) {
	for end := q.clock + d; q.clock < end; {
		q.clock = min(q.clock+50*time.Millisecond, end)
		if q.lesson != nil {
			q.lesson.Silent(q.clock)
			q.after()
		}
	}
}

func (q *quiet) types(keys ...string) {
	for _, k := range keys {
		msg := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		switch k {
		case " ":
			msg = tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")}
		case "enter":
			msg = tea.KeyMsg{Type: tea.KeyEnter}
		case "esc":
			msg = tea.KeyMsg{Type: tea.KeyEsc}
		}
		var cmd tea.Cmd
		if q.model, cmd = q.model.Update(msg); cmd != nil {
			cmd()
		}
	}
}

func (q *quiet) view() string { return ansi.Strip(q.model.View()) }

func (q *quiet) sees(words ...string) {
	q.t.Helper()
	for _, w := range words {
		if !strings.Contains(q.view(), w) {
			q.t.Errorf("%q is not on the page:\n%s", w, q.view())
		}
	}
}

func scaleMessages(t testing.TB, words string, faults ...pupil.Fault) []capture.Message {
	t.Helper()
	what, err := findAsked(words, nil)
	if err != nil {
		t.Fatal(err)
	}
	take, _ := pupil.Play(what.candidates[0], pupil.Pupil{Seed: 5, BPM: 240, Lead: time.Millisecond, Faults: faults})
	return pupil.Messages(take)
}

// A pupil begins again by striking the lowest key twice, with keys still down.
func TestExamRestart(t *testing.T) {
	const words = "G major scale, right hand, one octave, forte"
	q := sits(t, askedParts(t, words))
	q.types(" ")
	q.sees("Play when you are ready")
	messages := scaleMessages(t, words)
	q.plays(messages[:6])
	q.sees("Listening.")
	for range 2 {
		q.plays([]capture.Message{{Status: 0x90, Data1: 21, Data2: 60}, {At: 100 * time.Millisecond, Status: 0x80, Data1: 21}})
		q.waits(100 * time.Millisecond)
	}
	q.sees("Play when you are ready")
	q.plays(messages)
	q.waits(3 * time.Second)
	if c := q.sitting.Parts[0]; q.sitting.Phase != exam.Ended || c.Restarts != 1 || len(c.Tries) != 1 {
		t.Errorf("%s %+v\n%s", q.sitting.Phase, c, q.view())
	}
}
