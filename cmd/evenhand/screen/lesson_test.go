package screen

import (
	"slices"
	"strings"
	"testing"
	"time"

	tea "github.com/charmbracelet/bubbletea"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/cmd/evenhand/screen/ink"
)

// A short request, so that tests are quick to read.
const shortWords = "G major scale, right hand, one octave"

func clean(t *testing.T, words string) []capture.Message { return faulty(t, words, -2, -2) }

func usual(t *testing.T, words ...string) *room {
	t.Helper()
	return newRoom(t, 80, 24, &ink.Unicode, words...)
}

func TestATouchAnswersAndIsNoTake(t *testing.T) {
	r := usual(t, usualWords)
	r.sees("Touch any key")
	r.strikes(200*time.Millisecond, 65)
	r.sees("heard: F4", "Play when you are ready")
	r.waits(20 * time.Second)
	if r.told != 0 || r.page() != asking {
		t.Errorf("a touch was judged %d times, page %v; want the asking page", r.told, r.page())
	}
	r.plays(clean(t, usualWords))
	r.waits(3 * time.Second)
	if r.told != 1 || r.page() != telling {
		t.Errorf("judged %d times, page %v; want the verdict", r.told, r.page())
	}
	r.misses("extra")
}

// The first note of what is asked turns the page at once; alone, it was only a touch.
func TestTheFirstNoteTurnsThePage(t *testing.T) {
	r := usual(t, shortWords)
	r.strikes(100*time.Millisecond, 67)
	if r.page() != playing {
		t.Fatalf("page %v after the first note, want playing", r.page())
	}
	r.waits(leave + time.Second)
	if r.page() != asking || r.told != 0 {
		t.Errorf("page %v, judged %d times; want the asking page again", r.page(), r.told)
	}
}

// A beginner may need seconds for each note, and begin with a wrong one.
func TestSlowPlayingIsFollowed(t *testing.T) {
	for name, keys := range map[string][]uint8{
		"right": {67, 69, 71, 72, 74, 76, 78, 79, 78, 76, 74, 72, 71, 69, 67},
		"wrong": {66, 69, 71, 72, 74, 76, 78, 79, 78, 76, 74, 72, 71, 69, 67},
	} {
		r := usual(t, shortWords)
		r.strikes(1800*time.Millisecond, keys...)
		if r.page() != playing {
			t.Errorf("%s: page %v while a slow player plays, want playing", name, r.page())
		}
		r.waits(20 * time.Second)
		if r.told != 1 || r.takes != 1 {
			t.Errorf("%s: %d takes judged of %d, want one", name, r.told, r.takes)
		}
	}
}

func TestTheEndIsNoticed(t *testing.T) {
	r := usual(t, shortWords)
	r.plays(clean(t, shortWords))
	r.waits(1500 * time.Millisecond)
	if r.page() != telling {
		t.Errorf("page %v a moment after the last note, want the verdict", r.page())
	}
	r.strikes(400*time.Millisecond, 67, 69, 71, 72, 74, 76)
	r.waits(4 * time.Second)
	if r.page() != playing {
		t.Errorf("page %v four seconds into a stop, want playing", r.page())
	}
	r.waits(8 * time.Second)
	if r.page() != telling || r.told != 2 {
		t.Errorf("page %v, %d judged after a long silence; want a second verdict", r.page(), r.told)
	}
	r.sees("the last 2 tries: notes ")
}

func TestAFreshStartIsANewTry(t *testing.T) {
	r := usual(t, shortWords)
	messages := clean(t, shortWords)
	r.plays(messages[:14])
	r.waits(2 * time.Second)
	r.plays(messages)
	r.waits(3 * time.Second)
	if r.told != 1 || r.takes != 1 {
		t.Errorf("%d judged of %d takes, want one", r.told, r.takes)
	}
	r.sees("in words")
	if n := r.model.(Model).told.Assessment.Counts; n.Missing+n.Wrong > 0 {
		t.Errorf("counts %+v after a fresh start that was clean", n)
	}
}

// What was begun is practised, though it is asked for anew before its end; keys that were only tried are not.
func TestATakeBrokenOff(t *testing.T) {
	r := usual(t, shortWords)
	r.plays(clean(t, shortWords)[:14])
	r.types(" ")
	r.lesson.Control(Again)
	if len(r.broken) != 1 || r.broken[0] == 0 || r.told != 0 {
		t.Errorf("broken off %v, %d judged, want one take with notes and no verdict", r.broken, r.told)
	}
	r.strikes(300*time.Millisecond, 50)
	r.lesson.Control(Again)
	if len(r.broken) != 1 {
		t.Errorf("a key that was tried is a take: %v", r.broken)
	}
}

func TestControls(t *testing.T) {
	const low, high = 21, 108
	first, second := "D major", "E flat major"
	words := []string{usualWords, "E flat major scale, left hand"}
	for _, tt := range []struct {
		name string
		do   func(*room)
		want string
	}{
		{"lowest twice", func(r *room) { r.strikes(300*time.Millisecond, low, low) }, first},
		{"highest twice", func(r *room) { r.strikes(300*time.Millisecond, high, high) }, second},
		{"highest once", func(r *room) { r.strikes(300*time.Millisecond, high); r.waits(time.Second) }, first},
		{"highest slowly", func(r *room) { r.strikes(1500*time.Millisecond, high, high) }, first},
		{"lowest and highest", func(r *room) { r.strikes(300*time.Millisecond, low, high); r.waits(time.Second) }, first},
		{"n", func(r *room) { r.types("n") }, second},
		{"space", func(r *room) { r.types(" ") }, first},
	} {
		t.Run(tt.name, func(t *testing.T) {
			r := usual(t, words...)
			r.plays(clean(t, usualWords))
			r.waits(3 * time.Second)
			tt.do(r)
			if got := r.model.(Model).asked.Words; !strings.HasPrefix(got, tt.want) {
				t.Errorf("asked is %q, want %q", got, tt.want)
			}
			wantPage := telling
			if !strings.Contains(tt.name, "once") && !strings.Contains(tt.name, "slowly") && !strings.Contains(tt.name, "and") {
				wantPage = asking
			}
			if r.page() != wantPage {
				t.Errorf("page %v, want %v", r.page(), wantPage)
			}
		})
	}
}

// What is a control is no part of a take, neither of the one it ends nor of the next.
func TestControlStrikesAreCutOut(t *testing.T) {
	r := usual(t, usualWords)
	messages := clean(t, usualWords)
	r.plays(messages[:20])
	r.strikes(300*time.Millisecond, 21, 21)
	if r.page() != asking {
		t.Fatalf("page %v after the lowest key twice, want asking", r.page())
	}
	r.plays(messages)
	r.waits(3 * time.Second)
	for _, n := range r.model.(Model).told.Alignment.Take.Notes {
		if n.Key == 21 {
			t.Error("the lowest key is in the take")
		}
	}
	if c := r.model.(Model).told.Assessment.Counts; r.told != 1 || c.Extra > 0 {
		t.Errorf("judged %d times, counts %+v; want one clean take", r.told, c)
	}
}

// Where the player is asked to strike the lowest key, it is no control.
func TestControlsAreOffWhereTheKeysAreUsed(t *testing.T) {
	r := usual(t, "A major scale, left hand, one octave")
	r.strikes(200*time.Millisecond, 21)
	if r.page() != playing {
		t.Errorf("page %v after A0 began an A major scale, want playing", r.page())
	}
	r.strikes(200*time.Millisecond, 21)
	if r.page() != playing {
		t.Errorf("page %v after A0 twice, want playing", r.page())
	}
}

func TestUnpluggedInTheMiddle(t *testing.T) {
	r := usual(t, usualWords)
	messages := clean(t, usualWords)
	cutAt := len(messages) / 2
	r.plays(messages[:cutAt])
	r.lesson.Connected(Piano{Said: "Toy piano is gone: is it switched on and plugged in?"}, r.now)
	r.sees("is gone")
	r.waits(20 * time.Second)
	r.sees("is gone", "loud")
	r.lesson.Connected(Piano{There: true, Said: "Toy piano is back"}, r.now)
	r.misses("is gone")
	r.plays(since(messages[cutAt:], messages[cutAt-1].At))
	r.waits(3 * time.Second)
	if r.takes != 1 || r.told != 1 {
		t.Errorf("%d takes, %d judged; want the one take", r.takes, r.told)
	}
	if c := r.model.(Model).told.Assessment.Counts; c.Correct != c.Expected {
		t.Errorf("counts %+v after unplugging, want all notes right", c)
	}
}

func TestAPianoThatStaysAwayEndsTheTake(t *testing.T) {
	r := usual(t, usualWords)
	r.plays(clean(t, usualWords)[:40])
	r.lesson.Connected(Piano{Said: "Toy piano is gone"}, r.now)
	r.waits(patience + time.Second)
	if r.told != 1 {
		t.Errorf("judged %d times after the piano stayed away, want once", r.told)
	}
}

// 2,000 notes in 10 s, with the pedal stuck down.
func TestAFloodOfNotes(t *testing.T) {
	r := usual(t, usualWords)
	r.lesson.Take(capture.Message{At: r.now, Status: 0xB0, Data1: 64, Data2: 127})
	for i := range 2000 {
		r.strikes(5*time.Millisecond, uint8(36+i*7%48))
	}
	if r.page() != playing {
		t.Errorf("page %v in a flood, want playing", r.page())
	}
	r.waits(30 * time.Second)
	if r.told != 1 {
		t.Errorf("judged %d times, want once", r.told)
	}
	if n := len(r.model.(Model).told.Alignment.Take.Notes); n != 2000 {
		t.Errorf("%d notes in the take, want 2000", n)
	}
	r.types(" ")
	r.plays(clean(t, usualWords))
	r.waits(3 * time.Second)
	if c := r.model.(Model).told.Assessment.Counts; c.Correct != c.Expected {
		t.Errorf("counts %+v after the flood, want a clean take", c)
	}
}

func TestNoPianoYet(t *testing.T) {
	r := usual(t, usualWords)
	r.lesson.Connected(Piano{Said: "No piano yet. Plug it in."}, 0)
	r.sees("No piano yet", "Hands together")
	r.misses("Play when you are ready")
	r.lesson.Connected(Piano{There: true, Said: "listening to Toy piano"}, time.Second)
	r.sees("Play when you are ready", "listening to Toy piano")
	r.misses("No piano yet")
}

func TestTheReminderToRest(t *testing.T) {
	r := usual(t, shortWords)
	messages := clean(t, shortWords)
	reminded := 0
	for r.now < 70*time.Minute {
		r.plays(messages)
		r.waits(20 * time.Second)
		if strings.Contains(r.view(), "short rest") {
			reminded++
			if r.now < tired {
				t.Fatalf("reminded after %v, want not before %v", r.now, tired)
			}
		}
		r.types(" ")
	}
	if reminded != 1 {
		t.Errorf("reminded %d times in 70 minutes, want once", reminded)
	}
}

func TestAnyWindow(t *testing.T) {
	for _, words := range []string{usualWords, "C major scale, hands together, four octaves", "G dominant seventh arpeggio, left hand", "C major cadence"} {
		r := usual(t, words)
		messages := clean(t, words)
		for i, m := range messages {
			r.plays([]capture.Message{{Status: m.Status, Data1: m.Data1, Data2: m.Data2}})
			r.waits(20 * time.Millisecond)
			r.show(tea.WindowSizeMsg{Width: 20 + i*37%190, Height: 5 + i*13%60})
			if i%5 == 0 {
				r.types("f")
			}
			if got := strings.Count(r.view(), "\n") + 1; got != r.model.(Model).height {
				t.Fatalf("%s: %d rows, want %d", words, got, r.model.(Model).height)
			}
		}
		r.waits(20 * time.Second)
		for i := range 12 {
			r.show(tea.WindowSizeMsg{Width: 20 + i*37%190, Height: 5 + i*13%60})
			r.types("tab")
			r.view()
		}
	}
}

// All notes of a system are on the page by name, whatever its size.
func TestEveryNoteIsOnThePage(t *testing.T) {
	words := "C major scale, right hand, two octaves"
	for width := 60; width <= 200; width += 20 {
		for height := 20; height <= 60; height += 10 {
			r := newRoom(t, width, height, &ink.Unicode, words)
			r.plays(clean(t, words))
			m := r.model.(Model)
			music := m.sheet.draw(m.piece(0)).String()
			names := 0
			for _, c := range music {
				if c >= 'A' && c <= 'G' {
					names++
				}
			}
			if want := 29; len(m.pieces) == 1 && names != want {
				t.Errorf("%dx%d: %d notes on the page, want %d:\n%s", width, height, names, want, music)
			}
		}
	}
}

func FuzzLesson(f *testing.F) {
	f.Add([]byte{0x90, 62, 64, 0x80, 62, 0, 0xB0, 64, 127})
	f.Add([]byte{0x90, 21, 64, 0x80, 21, 0, 0x90, 21, 64, 0x80, 21, 0, 'n'})
	f.Fuzz(func(t *testing.T, data []byte) {
		r := newRoom(t, 80, 24, &ink.Unicode, shortWords, "C major cadence")
		for i := 0; i+2 < len(data) && i < 300; i += 3 {
			switch b := data[i]; {
			case b >= 0x80:
				r.lesson.Take(capture.Message{At: r.now, Status: b, Data1: data[i+1] & 127, Data2: data[i+2] & 127})
				r.waits(time.Duration(data[i+2]) * 10 * time.Millisecond)
			case b%7 == 0:
				r.show(tea.WindowSizeMsg{Width: int(data[i+1]), Height: int(data[i+2])})
			case b%7 == 1:
				r.waits(time.Duration(data[i+1]) * 100 * time.Millisecond)
			case b%7 == 2:
				r.lesson.Connected(Piano{There: data[i+1]%2 == 0, Said: "so"}, r.now)
			default:
				r.types([]string{" ", "n", "f", "tab", "shift+tab"}[int(b)%5])
			}
			r.view()
		}
	})
}

func BenchmarkPage(b *testing.B) {
	r := newRoom(&testing.T{}, 200, 60, &ink.Unicode, usualWords)
	take, _ := pupil.Play(r.Ask(false).Candidates[0], pupil.Pupil{Seed: 1})
	r.plays(pupil.Messages(take))
	for b.Loop() {
		_ = r.model.View()
	}
}

// A wrong note is ringed as it is struck, in whichever hand, though the hands are never quite together.
func TestAWrongNoteIsRingedAtOnce(t *testing.T) {
	for _, wrong := range []int{12, 13, 20, 21, 34, 35} {
		r := usual(t, usualWords)
		good, bad := clean(t, usualWords), faulty(t, usualWords, wrong, -2)
		first := slices.IndexFunc(bad, func(m capture.Message) bool { return m.Status == 0x90 && !slices.Contains(good, m) })
		r.plays(bad[:first+1])
		m := r.model.(Model)
		last := len(m.take.notes) - 1
		if h := m.sheet.heads[wrong]; !h.heard || h.played != last || !strings.Contains(r.view(), "(") {
			t.Errorf("note %d was struck wrong and is not ringed at once (%+v):\n%s", wrong, m.take.pairs[last], r.view())
		}
	}
}
