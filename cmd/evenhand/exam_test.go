package main

import (
	"context"
	"errors"
	"os"
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
	"evenhand/exam/ear"
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
		if !strings.Contains(strings.Join(strings.Fields(q.view()), " "), w) {
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

// Something else is played: it is said and offered once; no verdict is shown until somebody asks. The
// highest key, twice, goes on.
func TestExamOffersAndTellsWhenAsked(t *testing.T) {
	q := sits(t, askedParts(t, "D major scale, right hand, one octave", "C major scale, right hand, one octave"))
	q.types(" ")
	q.plays(scaleMessages(t, "E major scale, right hand, one octave"))
	q.waits(6 * time.Second)
	q.sees("Something else was played: E major scale", "What is asked is: D major")
	q.strikesTwice(108)
	q.sees("2 of 2", "Play when you are ready")
	q.plays(scaleMessages(t, "C major scale, right hand, one octave", pupil.Fault{Kind: pupil.SemitoneOff, At: 3, By: 1}))
	q.waits(3 * time.Second)
	if q.sitting.Phase != exam.Ended {
		t.Fatalf("%s\n%s", q.sitting.Phase, q.view())
	}
	if takes, err := q.j.History(t.Context(), "Ada", time.Time{}); err != nil || len(takes) != 2 || takes[0].AsAsked == takes[1].AsAsked {
		t.Errorf("%+v, %v", takes, err)
	}
	reasons := strings.Join(q.sheetLines(), " ")
	for _, words := range []string{"Something else was played: E major", "One wrong note: F sharp for F", "no official result"} {
		if !strings.Contains(reasons, words) {
			t.Errorf("no %q on the sheet:\n%s", words, reasons)
		}
	}
}

func (q *quiet) strikesTwice(key uint8) {
	for range 2 {
		q.plays([]capture.Message{{Status: 0x90, Data1: key, Data2: 60}, {At: 100 * time.Millisecond, Status: 0x80, Data1: key}})
		q.waits(100 * time.Millisecond)
	}
}

// No verdict is on the page between parts, and v shows it.
func TestExamKeepsQuiet(t *testing.T) {
	q := sits(t, askedParts(t, "D major scale, right hand, one octave", "C major scale, right hand, one octave"))
	q.types(" ")
	q.plays(scaleMessages(t, "D major scale, right hand, one octave", pupil.Fault{Kind: pupil.SemitoneOff, At: 3, By: 1}))
	q.waits(3 * time.Second)
	q.sees("2 of 2")
	if v := q.view(); strings.Contains(v, "wrong") || strings.Contains(v, "notes ") {
		t.Errorf("there is a verdict on the page:\n%s", v)
	}
	q.types("v")
	q.sees("Scales 1 (D major)", "One wrong note")
}

// The piano is unplugged in the middle and plugged in again: one line says so, and the take goes on.
func TestExamOverALostPiano(t *testing.T) {
	const words = "D major scale, right hand, one octave"
	q := sits(t, askedParts(t, words))
	q.types(" ")
	messages := scaleMessages(t, words)
	half := len(messages) / 2
	q.plays(messages[:half])
	q.connection(event{said: "toy piano is gone: is it switched on and plugged in?", gone: true})
	q.waits(20 * time.Second)
	if q.sitting.Phase != exam.Playing {
		t.Fatalf("the exam went on without a piano: %s", q.sitting.Phase)
	}
	q.connection(event{said: "toy piano is back"})
	for i := half; i < len(messages); i++ {
		messages[i].At -= messages[half-1].At
	}
	q.plays(messages[half:])
	q.waits(3 * time.Second)
	if a := q.sitting.Parts[0].Last(0); a == nil || a.Heard.Assessment.Counts.Correct != 15 {
		t.Errorf("%+v\n%s", a, q.view())
	}
}

func (q *quiet) connection(e event) {
	if err := q.take(e, true); err != nil {
		q.t.Error(err)
	}
}

// What makes no sense is told in one line, and changes nothing.
func TestExamTakesNonsense(t *testing.T) {
	paper := askedParts(t, "D major scale, right hand, one octave")
	piece, err := (&paperOptions{}).find("harbour waltz")
	if err != nil {
		t.Fatal(err)
	}
	lost := piece
	lost.Reference, lost.Title = nil, "Lost Waltz"
	paper.Sections = append(paper.Sections, exam.Section{Title: "Questions", Weight: 0})
	paper.Parts = append(paper.Parts,
		exam.Part{Section: 1, Number: 1, Kind: exam.Questions, Score: &piece, Questions: &exam.QuestionsAsk{Level: 2, Seed: 1, Number: 2}},
		exam.Part{Section: 1, Number: 2, Kind: exam.Piece, Score: &lost, Words: "Lost Waltz."},
		exam.Part{Section: 1, Number: 3, Kind: exam.Questions, Score: &lost, Questions: &exam.QuestionsAsk{Level: 2, Seed: 1, Number: 2}},
	)
	q := sits(t, paper)
	says := func(act screen.Act, words string) {
		t.Helper()
		before := len(q.store.events)
		q.act(act)
		if !strings.Contains(q.view(), words) {
			t.Errorf("%+v: no %q on the page:\n%s", act, words, q.view())
		}
		if len(q.store.events) != before {
			t.Errorf("%+v happened", act)
		}
	}
	says(screen.Act{Kind: screen.Reply, Text: "2"}, "nothing is asked that words could answer")
	says(screen.Act{Kind: screen.Mark, Text: "lots"}, `"lots" is no mark`)
	says(screen.Act{Kind: screen.Mark, Text: "101"}, "a mark goes from 0 to 100")
	says(screen.Act{Kind: screen.Say}, "nothing is said")
	says(screen.Act{Kind: screen.Mark, Part: 99, Text: "5"}, "there is no part 100")
	says(screen.Act{Kind: screen.Stop}, "nothing has been played yet")
	says(screen.Act{Kind: screen.Right}, "the exam is before")
	says(screen.Act{Kind: screen.Rehear}, "nothing is being heard")
	q.types(" ", "s", " ")
	if q.question() == nil {
		t.Fatalf("no question:\n%s", q.view())
	}
	says(screen.Act{Kind: screen.Reply, Text: "  "}, "there is no choice")
	says(screen.Act{Kind: screen.Reply, Text: "9"}, `there is no choice "9"`)
	says(screen.Act{Kind: screen.Reply, Text: "xyzzy"}, `"xyzzy" is not understood`)
	q.act(screen.Act{Kind: screen.Reply, Text: "xyzzy"})
	if c := q.sitting.Parts[1]; len(c.Tries) != 1 || c.Tries[0].Reply.Share != 0 {
		t.Errorf("the same again was not taken for the answer: %+v", c)
	}
	q.types("y")
	q.sees("Lost Waltz cannot be opened", "the teacher")
	q.plays(scaleMessages(t, "D major scale, right hand, one octave"))
	q.sees("Listening.")
	q.types("m", "7", "0", "enter", " ")
	q.sees("Lost Waltz")
	q.types(" ")
	if takes, err := q.j.History(t.Context(), "Ada", time.Time{}); err != nil || len(takes) != 1 || takes[0].Subject != journal.FreePractice {
		t.Errorf("what the teacher heard alone is not kept: %+v, %v", takes, err)
	}
	if q.sitting.Phase != exam.Ended || *q.sitting.Parts[2].Mark != 70 {
		t.Errorf("%s %+v\n%s", q.sitting.Phase, q.sitting.Parts, q.view())
	}
}

// A journal that cannot be written is told, and what happened waits for it; another program that goes on
// with the same exam ends this one.
func TestExamWaitsForTheJournal(t *testing.T) {
	q := sits(t, askedParts(t, "D major scale, right hand, one octave", "C major scale, right hand, one octave"))
	q.store.full = errors.New("the journal: the disk is full")
	q.types(" ", "s")
	q.sees("the disk is full; the exam goes on", "2 of 2")
	q.store.full = nil
	q.types("s")
	s, err := exam.Replay(q.store.events)
	if err != nil || s.Phase != exam.Ended {
		t.Errorf("%+v, %v", s, err)
	}
	q = sits(t, askedParts(t, "D major scale, right hand, one octave"))
	q.store.full = journal.ErrTaken
	q.types(" ")
	if q.taken == nil || !q.left || q.sitting.Phase != exam.Before {
		t.Errorf("left %v, %s", q.left, q.sitting.Phase)
	}
}

// earPaper has one ear test of each kind.
func earPaper(kinds ...ear.Kind) *exam.Paper {
	p := &exam.Paper{Schema: exam.Schema, List: "Quick", Level: 2, Sections: []exam.Section{{Title: "Listening", Weight: 100}}}
	for i, k := range kinds {
		p.Parts = append(p.Parts, exam.Part{Number: i + 1, Kind: exam.Ear, Ear: &exam.EarItem{Kind: string(k), Level: 2, Seed: 5}})
	}
	return p
}

// Without a piano that sounds, an ear test is a file to be played; taps count from the first of them.
func TestExamEarTestsAsFiles(t *testing.T) {
	q := sits(t, earPaper(ear.Beat, ear.Echo, "humming"))
	q.types(" ")
	q.sees("play one of these files", "ear-2-beat-5.wav", "e ends it")
	for _, name := range []string{"ear-2-beat-5.wav", "ear-2-beat-5.mid"} {
		if info, err := os.Stat(filepath.Join(q.h.keep, name)); err != nil || info.Size() < 100 {
			t.Errorf("%s: %v", name, err)
		}
	}
	q.types("e")
	q.sees("too few to judge")
	item := q.parts[0].item
	q.waits(7 * time.Second)
	for range 24 {
		q.types(" ")
		q.waits(time.Duration(float64(time.Minute) / item.Melody.Tempo.BPM))
	}
	q.types("e")
	if r := q.sitting.Parts[0].Last(0); r.Reply.Share < 0.9 {
		t.Errorf("a steady beat: %+v\n%s", r.Reply, q.view())
	}
	q.sees("2 of 3", "Play it back")
	take, _ := pupil.Play(q.parts[1].item.Melody, pupil.Pupil{Seed: 2, Lead: time.Millisecond})
	q.plays(pupil.Messages(take))
	q.waits(8 * time.Second)
	if r := q.sitting.Parts[1].Last(0); r == nil || r.Reply.Share < 0.8 || r.Reply.Take == "" {
		t.Errorf("played back: %+v\n%s", r, q.view())
	}
	q.sees(`no ear test is called "humming"`)
	q.types(" ")
	if q.sitting.Phase != exam.Ended {
		t.Errorf("%s", q.sitting.Phase)
	}
}

// mouthpiece sounds at once, or fails.
type mouthpiece struct {
	fault error
	takes int
}

func (m *mouthpiece) play(context.Context, *capture.Take, func(capture.Message)) error {
	m.takes++
	return m.fault
}

// An ear test goes from hearing to hearing by itself; it can be heard again so often; and a piano that
// sounds no more is told in one line.
func TestExamEarTestsSounded(t *testing.T) {
	q := sits(t, earPaper(ear.Change, ear.Interval))
	m := &mouthpiece{}
	q.sounder = m
	q.types(" ")
	q.sees("Listen.")
	hearings := len(q.parts[0].item.Hearings)
	for range hearings {
		q.heardOut(<-q.sounded)
	}
	if m.takes != hearings {
		t.Errorf("%d of %d hearings", m.takes, hearings)
	}
	q.types("o")
	q.heardOut(<-q.sounded)
	m.fault = errors.New("toy piano sounds no more: it is gone")
	q.heardOut(<-q.sounded)
	q.sees("toy piano sounds no more: it is gone; o sounds it once more")
	q.types("o")
	q.sees("it is heard no more")
	q.types("1")
	if len(q.sitting.Parts[0].Tries) != 1 {
		t.Errorf("%+v", q.sitting.Parts[0])
	}
	q.sees("2 of 2")
	q.types("h")
	if r := q.sitting.Parts[1].Last(0).Reply; r.Share != 0.5 || !r.Teacher {
		t.Errorf("%+v", r)
	}
}

// A piano that sends on what it is sent taps no beat by that.
func TestExamNotesThatComeBack(t *testing.T) {
	q := sits(t, earPaper(ear.Beat))
	q.sounder = &mouthpiece{}
	q.types(" ", "e")
	h := q.hearing
	if !h.taps() {
		t.Fatalf("no tapping:\n%s", q.view())
	}
	for i, s := range h.now().Sounds[:6] {
		m := capture.Message{At: h.started + s.On + 20*time.Millisecond, Status: 0x90, Data1: s.Key, Data2: s.Velocity}
		q.message(m)
		if i%2 == 0 {
			m.Data2++
			q.message(m)
		}
	}
	if len(h.tapped) != 3 {
		t.Errorf("%d taps, want the 3 of the pupil", len(h.tapped))
	}
}

// Music to be read is on the page, and in a file as it is printed; the time to look is counted.
func TestExamReading(t *testing.T) {
	p := earPaper()
	p.Parts = []exam.Part{{Number: 1, Kind: exam.SightReading, Words: "Look at it.", Reading: &exam.Fresh{Level: 1, Seed: 3, Look: 30}}}
	q := sits(t, p)
	q.types(" ")
	q.sees("30 seconds", "As it is printed", "reading-1-3.musicxml")
	q.until = time.Now()
	q.looked()
	q.sees("Play when you are ready")
	if ref, err := findAsked(filepath.Join(q.h.keep, "reading-1-3.musicxml"), nil); err != nil || len(ref.candidates[0].Notes) == 0 {
		t.Errorf("%v", err)
	}
}

// A pause hushes; the end of it asks again.
func TestExamPause(t *testing.T) {
	const words = "D major scale, right hand, one octave"
	q := sits(t, askedParts(t, words))
	q.types(" ")
	q.plays(scaleMessages(t, words)[:6])
	q.types("p")
	q.sees("Everything is kept")
	if q.lesson != nil {
		t.Error("it listens in a pause")
	}
	if takes, err := q.j.History(t.Context(), "Ada", time.Time{}); err != nil || len(takes) != 1 {
		t.Errorf("%d takes, %v", len(takes), err)
	}
	q.types("p")
	q.sees("Play when you are ready")
	q.plays(scaleMessages(t, words))
	q.types("e")
	if q.sitting.Phase != exam.Ended || len(q.sitting.Parts[0].Tries) != 1 {
		t.Errorf("%s", q.sitting.Phase)
	}
}

// More time is given: no silence ends the take, but the teacher does.
func TestExamMoreTime(t *testing.T) {
	const words = "D major scale, right hand, one octave"
	q := sits(t, askedParts(t, words))
	q.types(" ")
	q.plays(scaleMessages(t, words)[:12])
	q.types("x")
	q.waits(40 * time.Second)
	if q.sitting.Phase != exam.Playing {
		t.Fatal("a silence ended it")
	}
	q.types("e")
	if q.sitting.Phase != exam.Ended {
		t.Error("it goes on")
	}
}

func TestExamLines(t *testing.T) {
	for _, tt := range []struct {
		now  screen.Standing
		line string
		want screen.Act
		says string
	}{
		{screen.Standing{}, "", screen.Act{Kind: screen.GoOn}, ""},
		{screen.Standing{Phase: exam.Offered, Latest: 2}, "", screen.Act{Kind: screen.AskPart, Part: 2}, ""},
		{screen.Standing{Pause: true}, "", screen.Act{Kind: screen.Pause}, ""},
		{screen.Standing{Taps: true}, "", screen.Act{Kind: screen.Tap}, ""},
		{screen.Standing{Choices: []string{"a fifth", "a third"}}, "2", screen.Act{Kind: screen.Reply, Text: "a third"}, ""},
		{screen.Standing{}, "slower", screen.Act{Kind: screen.Reply, Text: "slower"}, ""},
		{screen.Standing{Latest: 1}, ":mark 85", screen.Act{Kind: screen.Mark, Part: 1, Text: "85"}, ""},
		{screen.Standing{Latest: 1}, ":mark 3 85", screen.Act{Kind: screen.Mark, Part: 2, Text: "85"}, ""},
		{screen.Standing{Latest: -1}, ":words well done", screen.Act{Kind: screen.Say, Text: "well done"}, ""},
		{screen.Standing{}, ":words 2 well done", screen.Act{Kind: screen.Say, Part: 1, Text: "well done"}, ""},
		{screen.Standing{}, ":again 4", screen.Act{Kind: screen.AskPart, Part: 3}, ""},
		{screen.Standing{}, ":leave out", screen.Act{Kind: screen.Omit}, ""},
		{screen.Standing{}, ":once more", screen.Act{Kind: screen.Rehear}, ""},
		{screen.Standing{}, ":sign M. Arden", screen.Act{Kind: screen.Sign, Text: "M. Arden"}, ""},
		{screen.Standing{}, ":sing", screen.Act{}, "there is no :sing here"},
	} {
		p := &examLines{now: tt.now}
		got, err := p.act(tt.line)
		if got != tt.want || (err != nil) != (tt.says != "") || err != nil && !strings.Contains(err.Error(), tt.says) {
			t.Errorf("%q: %+v, %v; want %+v", tt.line, got, err, tt.want)
		}
	}
}
