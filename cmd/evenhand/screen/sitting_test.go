package screen

import (
	"fmt"
	"strings"
	"testing"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/charmbracelet/x/ansi"

	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/exam"
)

// desk is the page of an exam and what was done at it.
type examDesk struct {
	*room
	acts []Act
}

func newExamDesk(t *testing.T, width, height int, signs *ink.Signs) *examDesk {
	t.Helper()
	d := &examDesk{room: &room{t: t}}
	d.model = NewSitting(SittingOptions{Signs: signs, Do: func(a Act) { d.acts = append(d.acts, a) }})
	d.show(tea.WindowSizeMsg{Width: width, Height: height})
	d.show(Piano{There: true, Said: "listening to Toy piano"})
	return d
}

// presses types keys, and returns the acts that came of them.
func (d *examDesk) presses(keys ...string) []Act {
	d.acts = nil
	for _, k := range keys {
		msg := tea.KeyMsg{Type: tea.KeyRunes, Runes: []rune(k)}
		for name, special := range map[string]tea.KeyType{
			"enter": tea.KeyEnter, "esc": tea.KeyEsc, "up": tea.KeyUp, "down": tea.KeyDown, "backspace": tea.KeyBackspace,
			"pgdown": tea.KeyPgDown, "ctrl+c": tea.KeyCtrlC,
		} {
			if k == name {
				msg = tea.KeyMsg{Type: special}
			}
		}
		if k == " " {
			msg = tea.KeyMsg{Type: tea.KeySpace, Runes: []rune(" ")}
		}
		var cmd tea.Cmd
		if d.model, cmd = d.model.Update(msg); cmd != nil && k != "q" && k != "ctrl+c" {
			cmd()
		}
	}
	return d.acts
}

// page compares with the one kept.
func (d *examDesk) page(name string) {
	d.t.Helper()
	m := d.model.(Sitting)
	goldenPage(d.t, name, d.view(), m.width, m.height)
}

// stands are an exam at its places.
func stands() map[string]Standing {
	part := func(p exam.Phase, k exam.Kind, words string) Standing {
		return Standing{
			List: "Level 3", Pupil: "Ada", Section: "Scales and arpeggios", Round: "2 of 5", Phase: p, Kind: k, Words: words,
			Parts: []string{"Scales and arpeggios 1 (D major)", "Scales and arpeggios 2 (B flat major)"}, Latest: 0,
		}
	}
	before := part(exam.Before, exam.Request, "Scales and arpeggios")
	before.Round, before.Latest = "", -1
	before.More = []string{"5 requests are asked, one after another. Play each when you are ready.", "When you are ready, go on."}
	playing := part(exam.Playing, exam.Request, "B flat major, hands together, contrary motion, two octaves. Piano.")
	playing.More = []string{"At least crotchet = 80, two notes to the beat."}
	asked := part(exam.Answering, exam.Questions, "What does ritardando in bar 7 mean?")
	asked.Section, asked.Choices = "Questions", []string{"quieter by degrees", "gradually slower", "in time again", "hold the note"}
	tapping := part(exam.Answering, exam.Ear, "Listen to a melody. When it is played again, tap its beat on any key, and make the first beat of each bar louder.")
	tapping.Section, tapping.Taps, tapping.Sounds, tapping.More = "Listening", true, true, []string{"Tap from the first note on."}
	offered := part(exam.Offered, exam.Request, "Something else was played: B major, hands together. What is asked is: B flat major, hands together.")
	offered.Latest = 1
	alone := part(exam.Alone, exam.Piece, "A piece of your own choice.")
	alone.More = []string{"This is for the teacher to hear and to mark: m marks it, space goes on."}
	paused := playing
	paused.Pause = true
	ended := part(exam.Ended, "", "")
	for i := range 60 {
		ended.Sheet = append(ended.Sheet, fmt.Sprintf("line %d of the mark sheet", i+1))
	}
	looking := part(exam.Looking, exam.SightReading, "Play this at sight. Keep going, whatever happens.")
	looking.Section, looking.Music = "Reading at sight", exam.ReadAtSight(2, 7)
	looking.More = []string{"As it is printed, with its rhythm: reading-2-7.musicxml"}
	change := part(exam.Answering, exam.Ear, "Listen to a melody twice. The second time one thing is changed: what, and in which bar?")
	change.Section, change.Music, change.Choices = "Listening", exam.ReadAtSight(0, 3), []string{"pitch, bar 2", "rhythm, bar 2", "pitch, bar 3", "rhythm, bar 3"}
	return map[string]Standing{
		"change": change,
		"before": before, "playing": playing, "asked": asked, "tapping": tapping, "offered": offered, "alone": alone,
		"paused": paused, "ended": ended, "looking": looking,
	}
}

func TestPagesOfAnExam(t *testing.T) {
	for name, s := range stands() {
		for _, size := range sizes[:2] {
			d := newExamDesk(t, size.width, size.height, &ink.Unicode)
			d.show(s)
			if name == "looking" {
				d.show(Looked{Left: 25})
			}
			d.page(fmt.Sprintf("exam-%s-%dx%d", name, size.width, size.height))
		}
		d := newExamDesk(t, 80, 24, &ink.ASCII)
		d.show(s)
		for _, c := range d.view() {
			if c > 126 {
				t.Errorf("%s: %q is on an ASCII page", name, c)
			}
		}
	}
}

// While the pupil plays the page says that it listens, and nothing of how it goes.
func TestExamShowsNoVerdict(t *testing.T) {
	d := newExamDesk(t, 80, 24, &ink.Unicode)
	d.show(stands()["playing"])
	d.show(Touched{Key: 58})
	d.sees("heard: B♭")
	d.show(Began{})
	d.show(Struck{Index: 0, Event: 0})
	d.sees("Listening.")
	d.misses("heard:", "(B", "^", "/")
	d.show(Over{})
	d.sees("Thank you.")
	d.show(Verdict{Lines: []string{"One wrong note."}})
	d.sees("One wrong note.")
	d.presses("v")
	d.misses("One wrong note.")
}

// Every key in the help line does something, and only those do.
func TestExamKeysAreInTheHelp(t *testing.T) {
	for name, s := range stands() {
		d := newExamDesk(t, 80, 24, &ink.Unicode)
		d.show(s)
		m := d.model.(Sitting)
		helped := map[string]bool{}
		for _, b := range m.keys.on(&m) {
			d.sees(b.Help().Key + " " + b.Help().Desc)
			for _, k := range b.Keys() {
				helped[k] = true
			}
		}
		for _, k := range []string{" ", "enter", "r", "e", "x", "s", "l", "a", "v", "w", "m", "p", "t", "y", "h", "n", "o", "g", "z", "0"} {
			d := newExamDesk(t, 80, 24, &ink.Unicode)
			d.show(s)
			acts := d.presses(k)
			typing := d.model.(Sitting).asking != GoOn
			if did := len(acts) > 0 || typing; did != helped[k] {
				t.Errorf("%s: %q does something: %v; it is in the help: %v", name, k, did, helped[k])
			}
		}
	}
}

func TestExamTakesWhatIsTyped(t *testing.T) {
	for _, tt := range []struct {
		at   string
		keys string
		want []Act
	}{
		{"asked", "2", []Act{{Kind: Reply, Text: "gradually slower"}}},
		{"asked", "9", nil},
		{"asked", "t s l o w x backspace enter", []Act{{Kind: Reply, Text: "slow"}}},
		{"playing", "m 8 5 enter", []Act{{Kind: Mark, Part: 0, Text: "85"}}},
		{"playing", "m down 9 enter", []Act{{Kind: Mark, Part: 1, Text: "9"}}},
		{"playing", "m up up 9 enter", []Act{{Kind: Mark, Part: 0, Text: "9"}}},
		{"playing", "w q esc", nil},
		{"playing", "w ♪ enter", []Act{{Kind: Say, Text: "♪"}}},
		{"playing", "a enter", []Act{{Kind: AskPart, Part: 0}}},
		{"offered", " ", []Act{{Kind: AskPart, Part: 1}}},
		{"offered", "g", []Act{{Kind: Decline}}},
		{"ended", "g M enter", []Act{{Kind: Sign, Text: "M"}}},
		{"paused", "p", []Act{{Kind: Pause}}},
		{"tapping", " ", []Act{{Kind: Tap}}},
	} {
		d := newExamDesk(t, 80, 24, &ink.Unicode)
		d.show(stands()[tt.at])
		keys := strings.Split(tt.keys, " ")
		if tt.keys == " " {
			keys = []string{" "}
		}
		got := d.presses(keys...)
		for i := range got {
			if got[i].Kind == Sign {
				got[i].Part = 0
			}
			if got[i].Kind == Reply {
				got[i].Part = 0
			}
		}
		if fmt.Sprint(got) != fmt.Sprint(tt.want) {
			t.Errorf("%s, %s: %v, want %v", tt.at, tt.keys, got, tt.want)
		}
	}
}

// What is being typed goes on while the exam does, and a long line shows its end.
func TestExamTypingGoesOn(t *testing.T) {
	d := newExamDesk(t, 80, 24, &ink.Unicode)
	d.show(stands()["playing"])
	d.presses("w")
	d.presses(strings.Split(strings.Repeat("lovely ", 20), "")...)
	next := stands()["offered"]
	d.show(next)
	d.sees("Words on Scales and arpeggios 1 (D major):", "lovely lovely _")
	for _, line := range strings.Split(d.view(), "\n") {
		if n := ansi.StringWidth(line); n > 80 {
			t.Errorf("%d columns: %s", n, line)
		}
	}
	if acts := d.presses("enter"); len(acts) != 1 || acts[0].Part != 0 {
		t.Errorf("%v", acts)
	}
}

func TestExamSheetIsTurned(t *testing.T) {
	d := newExamDesk(t, 80, 24, &ink.Unicode)
	d.show(stands()["ended"])
	d.sees("line 1 of", "lines 1 to 17 of 60")
	d.misses("line 18 of the")
	d.presses("down")
	d.misses("line 1 of the")
	for range 9 {
		d.presses("pgdown")
	}
	d.sees("line 60 of the", "lines 44 to 60 of 60")
}

// What the teacher writes while the pupil plays does not ask for the playing again.
func TestTeacherWritesWhileThePupilPlays(t *testing.T) {
	d := newExamDesk(t, 80, 24, &ink.Unicode)
	standing := Standing{List: "Level 1", Section: "Scales", Phase: exam.Playing, Words: "D major, right hand."}
	d.show(standing)
	d.show(Began{})
	standing.Began = true
	d.show(standing)
	if page := d.view(); !strings.Contains(page, "Listening.") || strings.Contains(page, "Play when you are ready") {
		t.Errorf("the pupil plays:\n%s", page)
	}
}

func TestSentencesBeginWithACapital(t *testing.T) {
	if first, rest := cut("Prelude, à deux mains"); first != "Prelude" || len(rest) != 1 || rest[0] != "À deux mains" {
		t.Errorf("%q, %q", first, rest)
	}
}
