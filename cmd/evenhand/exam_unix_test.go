//go:build unix

package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"syscall"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/capture/ports"
	"evenhand/capture/pupil"
	"evenhand/exam"
	"evenhand/exam/ear"
	"evenhand/exam/questions"
	"evenhand/internal/jacktest"
	"evenhand/journal"
	"evenhand/references"
)

// quickList asks for little of everything, so that the whole of an exam is soon over.
const quickList = `
name = "Quick"
level = 2
about = "A little of everything, for a test."

[[total]]
from = 0
say = "It is heard."

[[part]]
kind = "requests"
title = "Scales"
number = 5
chosen_by = "examiner"
weight = 40
loudness = ["piano", "forte"]
  [[part.ask]]
  what = "scale"
  keys = ["C major", "G major", "D major", "A major", "F major"]
  hands = "right"
  octaves = 1

[[part]]
kind = "studies"
title = "The examiner's study"
number = 1
chosen_by = "examiner"
weight = 10
titles = ["Steps"]

[[part]]
kind = "studies"
title = "Your own study"
number = 1
chosen_by = "pupil"
weight = 10

[[part]]
kind = "pieces"
title = "Pieces"
number = 3
chosen_by = "pupil"
weight = 20

[[part]]
kind = "questions"
title = "Questions"
number = 3
chosen_by = "pupil"
weight = 10

[[part]]
kind = "ear tests"
title = "Listening"
weight = 10
items = ["interval", "chord", "change", "beat", "echo"]
`

// writeTune writes a score of crotchets for the right hand, four to a bar, in C major.
func writeTune(t testing.TB, dir, title, notes string) {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, `<?xml version="1.0"?><score-partwise version="4.0"><work><work-title>%s</work-title></work>
<part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">`, title)
	for i, n := range strings.Fields(notes) {
		if i%4 == 0 {
			if i > 0 {
				b.WriteString("</measure>")
			}
			fmt.Fprintf(&b, `<measure number="%d">`, i/4+1)
			if i == 0 {
				b.WriteString(`<attributes><divisions>1</divisions><key><fifths>0</fifths><mode>major</mode></key><time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>
<direction><direction-type><dynamics><mf/></dynamics></direction-type></direction>`)
			}
		}
		fmt.Fprintf(&b, `<note id="n%d"><pitch><step>%s</step><octave>%s</octave></pitch><duration>1</duration><type>quarter</type></note>`, i+1, n[:1], n[1:])
	}
	b.WriteString(`</measure></part></score-partwise>`)
	if err := os.WriteFile(filepath.Join(dir, strings.ReplaceAll(title, " ", "-")+".musicxml"), []byte(b.String()), 0o644); err != nil {
		t.Fatal(err)
	}
}

// examRoom is a real exam in a terminal with a toy piano that sounds, and a pupil who plays it.
type examRoom struct {
	*terminal
	dir     string
	piano   *ports.Out
	speaker *jacktest.Speaker
	paper   *exam.Paper
}

func openExamRoom(t *testing.T) *examRoom {
	t.Helper()
	jacktest.Start(t)
	r := &examRoom{dir: t.TempDir(), piano: jacktest.Piano(t, "toy piano")}
	r.speaker = jacktest.Sounding(t, "toy piano")
	for title, notes := range map[string]string{
		"Steps": "C4 D4 E4 F4 G4 F4 E4 C4", "Skips": "E4 C4 F4 D4 G4 E4 F4 C4",
		"Morning": "G4 A4 G4 E4 F4 D4 B3 C4", "Noon": "C5 B4 A4 G4 A4 F4 D4 E4 C4 B3 D4 C4", "Night": "E4 G4 F4 A4 G4 B4 D5 C5",
	} {
		writeTune(t, r.dir, title, notes)
	}
	if err := os.WriteFile(r.path("quick.toml"), []byte(quickList), 0o644); err != nil {
		t.Fatal(err)
	}
	o := paperOptions{list: r.path("quick.toml"), scores: []string{r.dir}, seed: 11, studies: []string{"Skips"}, pieces: []string{"Morning", "Noon", "Night"}, favourite: "Noon"}
	list, err := o.chosenList()
	if err != nil {
		t.Fatal(err)
	}
	choices, err := o.choices()
	if err != nil {
		t.Fatal(err)
	}
	if r.paper, err = exam.Draw(list, choices, o.seed); err != nil {
		t.Fatal(err)
	}
	r.terminal = openTerminal(t, 80, 24, "sh -c 'echo $$ >"+r.path("pid")+"; exec \"$0\" \"$@\"'", r.args("sit",
		"--list", o.list, "--seed", "11", "--study", "Skips", "--piece", "Morning", "--piece", "Noon", "--piece", "Night", "--favourite", "Noon")...)
	return r
}

func (r *examRoom) path(name string) string { return filepath.Join(r.dir, name) }

func (r *examRoom) args(does string, more ...string) []string {
	return append([]string{"exam", does, "--journal", r.path("journal.db"), "--keep", r.path("takes"), "--scores", r.dir}, more...)
}

// killed ends the program at once, as a power cut would, and starts it again.
func (r *examRoom) killed() {
	r.t.Helper()
	text, err := os.ReadFile(r.path("pid"))
	if err != nil {
		r.t.Fatal(err)
	}
	pid, err := strconv.Atoi(strings.TrimSpace(string(text)))
	if err != nil {
		r.t.Fatal(err)
	}
	if err := syscall.Kill(pid, syscall.SIGKILL); err != nil {
		r.t.Fatal(err)
	}
	r.sees("ended 137")
	r.runs("sh -c 'echo $$ >"+r.path("pid")+"; exec \"$0\" \"$@\"'", r.args("resume")...)
}

// hears waits until the exam listens at a place.
func (r *examRoom) listens(place string) {
	r.t.Helper()
	jacktest.Eventually(r.t, fmt.Sprintf("it listens at %q:\n%s", place, r.page()), func() bool {
		page := r.page()
		return strings.Contains(page, place) && strings.Contains(page, "Play when you are ready")
	})
}

// plays plays music with faults, quickly.
func (r *examRoom) plays(ref *references.Reference, faults ...pupil.Fault) {
	r.t.Helper()
	jacktest.Play(r.t, r.piano, performance(ref, faults...))
}

func performance(ref *references.Reference, faults ...pupil.Fault) []capture.Message {
	bpm := 360.0
	if ref.Request != nil {
		bpm = 240 // two notes to the beat; faster, a wrong key is taken for one that was brushed
	}
	take, _ := pupil.Play(ref, pupil.Pupil{Seed: 5, BPM: bpm, Lead: time.Millisecond, Faults: faults})
	return jacktest.Messages(take)
}

func (r *examRoom) reference(i int) *references.Reference {
	q := &r.paper.Parts[i]
	if q.Request != nil {
		return q.Request.Request.Candidates()[0]
	}
	return q.Score.Reference
}

// begins begins a section, from the piano.
func (r *examRoom) begins(words string) {
	r.t.Helper()
	r.sees(words)
	r.strikesTwice(108)
}

// strikesTwice strikes a key twice, which is a control.
func (r *examRoom) strikesTwice(key uint8) {
	r.t.Helper()
	var messages []capture.Message
	for i := range 2 {
		at := time.Duration(i) * 200 * time.Millisecond
		messages = append(messages, capture.Message{At: at, Status: 0x90, Data1: key, Data2: 60}, capture.Message{At: at + 100*time.Millisecond, Status: 0x80, Data1: key, Data2: 64})
	}
	jacktest.Play(r.t, r.piano, messages)
}

// The whole of an exam in a real terminal, over a real MIDI system: five requests, two studies, three
// pieces, questions and ear tests, with known faults, and the program killed twice.
func TestExamInATerminal(t *testing.T) {
	r := openExamRoom(t)
	r.sees("5 requests are asked")
	r.types("Space")
	r.requests(t)
	r.music(t)
	r.answers(t)
	r.listening(t)
	r.sees("Mark sheet of a mock exam")
	r.types("q")
	r.sees("ended 0")
	r.sheet(t)
}

func (r *examRoom) requests(t *testing.T) {
	// A wrong note, too far from the right one to be taken for a key that was brushed.
	r.listens("1 of 5")
	r.keeps("exam-request-80x24")
	r.plays(r.reference(0), pupil.Fault{Kind: pupil.SemitoneOff, At: 3, By: 3})
	// The power goes in the middle of the second, which is asked once more; a note is left out.
	r.listens("2 of 5")
	messages := performance(r.reference(1), pupil.Fault{Kind: pupil.LeftOut, At: 4})
	jacktest.Play(t, r.piano, messages[:8])
	r.sees("Listening.")
	r.killed()
	r.listens("2 of 5")
	jacktest.Play(t, r.piano, messages)
	// Something else is played, and then what is asked.
	r.listens("3 of 5")
	r.plays(r.reference(4))
	r.types("e")
	r.sees("Something else was played")
	r.types("Space")
	r.listens("3 of 5")
	r.plays(r.reference(2))
	// A stop.
	r.listens("4 of 5")
	r.plays(r.reference(3), pupil.Fault{Kind: pupil.Wait, At: 5, Pause: 900 * time.Millisecond})
	// The pupil begins again, by the lowest key.
	r.listens("5 of 5")
	jacktest.Play(t, r.piano, performance(r.reference(4))[:6])
	r.sees("Listening.")
	r.strikesTwice(21)
	r.listens("5 of 5")
	r.plays(r.reference(4))
}

func (r *examRoom) music(t *testing.T) {
	for i, faults := range [][]pupil.Fault{
		{{Kind: pupil.SemitoneOff, At: 3, By: 3}}, nil, {{Kind: pupil.LeftOut, At: 5}}, nil, {{Kind: pupil.Wait, At: 5, Pause: 900 * time.Millisecond}},
	} {
		if i < 3 {
			r.begins("When you are ready, go on.")
		}
		r.sees("Play when you are ready")
		r.plays(r.reference(5+i), faults...)
		r.gone("Play when you are ready")
	}
}

// gone waits until words are on the screen no more.
func (r *examRoom) gone(words string) {
	r.t.Helper()
	jacktest.Eventually(r.t, fmt.Sprintf("%q is gone", words), func() bool { return !r.shows(words) })
}

// questions are those that the program asks.
func (r *examRoom) questions(t *testing.T) []questions.Question {
	q := r.paper.Parts[10]
	all := questions.Ask(q.Score.Reference, q.Questions.Level, q.Questions.Seed, q.Questions.Number)
	if len(all) != 3 {
		t.Fatalf("%d questions", len(all))
	}
	return all
}

// A right answer by its figure; one that makes no sense, the power gone, and a wrong one in words; and one
// aloud, that the teacher judges.
func (r *examRoom) answers(t *testing.T) {
	all := r.questions(t)
	r.begins("Questions on Noon")
	r.sees("1 of 3")
	r.keeps("exam-question-80x24")
	r.types(strconv.Itoa(1 + slices.Index(all[0].Choices, all[0].Answer)))
	r.sees("2 of 3")
	r.answersInWords("xyzzy")
	r.sees("is not understood")
	r.killed()
	r.sees("2 of 3")
	r.answersInWords(all[1].Choices[slices.IndexFunc(all[1].Choices, func(c string) bool { return !all[1].Right(c) })])
	r.sees("3 of 3")
	r.types("y")
}

// answersInWords types an answer, as slowly as a hand does.
func (r *examRoom) answersInWords(words string) {
	r.t.Helper()
	r.types("t")
	r.sees("Answer:")
	r.types(words)
	r.sees("Answer: " + words)
	r.types("Enter")
}

// The ear tests, sounded by the piano. What the pupil has heard enough of is cut short.
func (r *examRoom) listening(t *testing.T) {
	r.begins("5 things to hear")
	for i, right := range []bool{true, false, true} {
		r.sees(fmt.Sprintf("%d of 5", i+1))
		it := r.ear(i)
		r.types(strconv.Itoa(1 + slices.IndexFunc(it.Choices, func(c string) bool { return it.Right(c) == right })))
	}
	r.sees("4 of 5")
	jacktest.Eventually(t, "the beat is sounded", func() bool { return len(r.speaker.Heard()) > 0 })
	r.types("e")
	r.sees("space tap")
	beat := r.ear(3)
	r.taps(&beat)
	r.sees("5 of 5")
	for range r.ear(4).Hearings {
		r.types("e")
	}
	r.sees("Play it back")
	r.plays(r.ear(4).Melody, pupil.Fault{Kind: pupil.SemitoneOff, At: 2, By: 1})
}

// ear is what is sounded in an ear test.
func (r *examRoom) ear(i int) ear.Item {
	q := r.paper.Parts[11+i].Ear
	return ear.Draw(ear.Kind(q.Kind), q.Level, q.Seed)
}

// taps taps the beat on the lowest white keys, for six beats from the first.
func (r *examRoom) taps(it *ear.Item) {
	r.t.Helper()
	h := it.Hearings[len(it.Hearings)-1]
	beat := time.Duration(float64(time.Minute) / it.Melody.Tempo.BPM)
	var messages []capture.Message
	for i := range 6 {
		at := earPause + h.Start + time.Duration(i)*beat
		messages = append(messages, capture.Message{At: at, Status: 0x90, Data1: 60, Data2: 70}, capture.Message{At: at + 80*time.Millisecond, Status: 0x80, Data1: 60, Data2: 64})
	}
	jacktest.Play(r.t, r.piano, messages)
	r.types("e")
}

// sheet holds the mark sheet to what was played.
func (r *examRoom) sheet(t *testing.T) {
	var sheet exam.MarkSheet
	if err := json.Unmarshal(must(t, "exam", "sheet", "--journal", r.path("journal.db"), "--format", "json"), &sheet); err != nil {
		t.Fatal(err)
	}
	says := func(section, part int, words ...string) {
		t.Helper()
		p := sheet.Sections[section].Parts[part]
		for _, w := range words {
			if !strings.Contains(strings.Join(p.Reasons, " "), w) {
				t.Errorf("%s: no %q in %q", p.Asked, w, p.Reasons)
			}
		}
		if p.Mark == nil {
			t.Errorf("%s has no mark", p.Asked)
		}
	}
	says(0, 0, "One wrong note")
	says(0, 1, "left out")
	says(0, 2, "Something else was played at first")
	says(0, 3, "stop")
	says(0, 4, "Begun again once")
	says(1, 0, "One wrong note")
	says(2, 0)
	says(3, 0, "left out")
	says(3, 1)
	says(3, 2, "stop")
	says(4, 0, "2 of 3 right")
	says(5, 0, "Right: "+r.ear(0).Answer)
	says(5, 1, "It was "+r.ear(1).Answer)
	says(5, 2, "Right: "+r.ear(2).Answer)
	says(5, 3, "18 taps of 24 were missing")
	says(5, 4, "6 of 7 notes were right: one wrong note")
	for i, want := range []int{0: 100, 1: 0, 2: 100} {
		if got := sheet.Sections[5].Parts[i].Mark; got == nil || *got != want {
			t.Errorf("%s: mark %v, want %d", sheet.Sections[5].Parts[i].Asked, got, want)
		}
	}
	if sheet.Says != exam.SheetSays || sheet.Total == nil || sheet.Unmarked != 0 {
		t.Errorf("%+v", sheet)
	}
	t.Logf("%s", must(t, "exam", "sheet", "--journal", r.path("journal.db")))
	j, err := journal.Open(t.Context(), r.path("journal.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	// Ten things were played and one of them once more; one was begun twice; a phrase was played back.
	// What was being played when the power went is in the folder of takes.
	takes, err := j.History(t.Context(), onlyPupil, time.Time{})
	if err != nil || len(takes) < 13 {
		t.Errorf("%d takes in the journal, %v", len(takes), err)
	}
}
