//go:build unix

package main

import (
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/capture/ports"
	"evenhand/capture/pupil"
	"evenhand/internal/jacktest"
	"evenhand/journal"
	"evenhand/references"
)

// terminal is a terminal of a given size, in which the real program runs.
type terminal struct {
	t      testing.TB
	socket string
}

// openTerminal runs the program in tmux until the test is done. The shell waits after it, so that what
// it leaves on the screen can be seen.
func openTerminal(t testing.TB, width, height int, env string, args ...string) *terminal {
	t.Helper()
	if _, err := exec.LookPath("tmux"); err != nil {
		t.Skip("tmux is not installed (run make test): the check in a real terminal is left out")
	}
	w := &terminal{t, fmt.Sprintf("evenhand-test-%d", os.Getpid())}
	w.tmux("new-session", "-d", "-x", strconv.Itoa(width), "-y", strconv.Itoa(height), "-s", "page", w.line(env, args...))
	t.Cleanup(func() { _ = exec.Command("tmux", "-L", w.socket, "kill-server").Run() })
	return w
}

// line is a line of the shell that runs the program.
func (w *terminal) line(env string, args ...string) string {
	line := fmt.Sprintf("LC_ALL=C.UTF-8 %s %s", env, binary(w.t))
	for _, a := range args {
		line += " '" + a + "'"
	}
	return line + "; echo ended $?; exec cat"
}

// runs runs the program once more, in the same terminal.
func (w *terminal) runs(env string, args ...string) {
	w.tmux("respawn-pane", "-k", "-t", "page", w.line(env, args...))
}

func (w *terminal) tmux(args ...string) string {
	w.t.Helper()
	out, err := exec.Command("tmux", append([]string{"-L", w.socket, "-f", os.DevNull}, args...)...).CombinedOutput()
	if err != nil {
		w.t.Fatalf("tmux %s: %v: %s", args[0], err, out)
	}
	return string(out)
}

// page is what is on the screen.
func (w *terminal) page() string { return w.tmux("capture-pane", "-p", "-t", "page") }

func (w *terminal) shows(words string) bool { return strings.Contains(w.page(), words) }

func (w *terminal) sees(words string) {
	w.t.Helper()
	jacktest.Eventually(w.t, fmt.Sprintf("%q is on the screen:\n%s", words, w.page()), func() bool { return w.shows(words) })
}

func (w *terminal) types(key string) { w.tmux("send-keys", "-t", "page", key) }

const (
	pageWords = "D major scale, hands together, mezzo-forte"
	ring      = "(G♯)" // the wrong note of pageTake, and
	instead   = "G sharp for G, left hand, going up"
)

// pageTake plays pageWords with one wrong note and one wait.
func pageTake(t testing.TB) (messages []capture.Message, wrong int) {
	t.Helper()
	what, err := findAsked(pageWords, nil)
	if err != nil {
		t.Fatal(err)
	}
	ref := what.candidates[0]
	at := noteAt(t, ref, references.Left, "G4")
	take, truth := pupil.Play(ref, pupil.Pupil{Seed: 3, BPM: 90, Faults: []pupil.Fault{
		{Kind: pupil.SemitoneOff, At: at, By: 1},
		{Kind: pupil.Wait, At: noteAt(t, ref, references.Left, "C♯5") + 4, Pause: 900 * time.Millisecond},
	}})
	n := take.Notes[truth.Expected[at].Played]
	messages = jacktest.Messages(take)
	return messages, slices.IndexFunc(messages, func(m capture.Message) bool {
		return m.Status == 0x90 && m.At == n.On && m.Data1 == n.Key
	})
}

// strike sends one message and returns how long it took until words were on the screen, at most limit.
func (w *terminal) strike(piano *ports.Out, m capture.Message, words string, limit time.Duration) time.Duration {
	w.t.Helper()
	from := time.Now()
	if err := piano.Send(m.Status, m.Data1, m.Data2); err != nil {
		w.t.Fatal(err)
	}
	for {
		shown := w.shows(words)
		if took := time.Since(from); shown || took > limit {
			return took
		}
	}
}

// after are messages counted from a time.
func after(messages []capture.Message, at time.Duration) []capture.Message {
	out := slices.Clone(messages)
	for i := range out {
		out[i].At = max(0, out[i].At-at)
	}
	return out
}

// soon is how soon a wrong note has to be on the screen after its note-on. A machine that is busy with
// other tests may miss it: it has three tries.
const (
	soon      = 100 * time.Millisecond
	soonTries = 3
)

// The whole of it in a real terminal: no piano, a piano, a take with a wrong note and a wait, the
// verdict, and the end. The pages are kept beside the test, and shown in the README.
func TestPageInATerminal(t *testing.T) {
	for _, size := range []struct{ width, height int }{{80, 24}, {120, 40}} {
		t.Run(fmt.Sprintf("%dx%d", size.width, size.height), func(t *testing.T) {
			jacktest.Start(t)
			keep := t.TempDir()
			w := openTerminal(t, size.width, size.height, "", "listen", pageWords, "--keep", keep)
			kept := func(name string) string { return fmt.Sprintf("%s-%dx%d", name, size.width, size.height) }
			w.sees("No piano yet")
			w.keeps(kept("nothing"))
			piano := jacktest.Piano(t, "toy piano")
			w.sees("Play when you are ready")
			w.keeps(kept("before"))
			took := w.plays(piano, kept("during"))
			for n := 1; took > soon && n < soonTries; n++ {
				w.types("Space")
				w.sees("Play when you are ready")
				took = w.plays(piano, "")
			}
			if took > soon {
				t.Errorf("the wrong note was on the screen after %v, want %v", took, soon)
			}
			t.Logf("the wrong note was on the screen after %v", took)
			w.sees("[in words]")
			w.sees(instead)
			w.sees("There was a stop of")
			w.keeps(kept("after"))
			w.types("Tab")
			w.sees("[in notes]")
			w.keeps(kept("marked"))
			w.types("C-c")
			w.sees("ended 0")
			if on := strings.TrimSpace(w.tmux("display-message", "-p", "-t", "page", "#{alternate_on} #{cursor_flag}")); on != "0 1" {
				t.Errorf("alternate screen and cursor are %q, want 0 1 as before", on)
			}
			if takes, _ := filepath.Glob(filepath.Join(keep, "*.mid")); len(takes) == 0 {
				t.Error("no take is kept")
			}
		})
	}
}

// plays plays pageTake and returns how long its wrong note took to be on the screen. The page then is
// compared with the one kept under name, if there is a name.
func (w *terminal) plays(piano *ports.Out, name string) time.Duration {
	w.t.Helper()
	messages, wrong := pageTake(w.t)
	jacktest.Play(w.t, piano, messages[:wrong])
	took := w.strike(piano, messages[wrong], ring, time.Second)
	if name != "" {
		w.keeps(name)
	}
	jacktest.Play(w.t, piano, after(messages[wrong+1:], messages[wrong].At+took))
	return took
}

// keeps compares the page with the one kept under a name, but for what depends on how busy the machine
// is: the two traces of time, and what the verdict says in words, which the tests look for themselves. The
// last notes may still be on their way to it.
func (w *terminal) keeps(name string) {
	w.t.Helper()
	path := filepath.Join("testdata", "pages", name+".txt")
	now := func() string { return strings.TrimRight(w.page(), "\n") + "\n" }
	if *update {
		time.Sleep(500 * time.Millisecond)
		if err := os.WriteFile(path, []byte(now()), 0o644); err != nil {
			w.t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		w.t.Fatal(err)
	}
	got := now()
	for end := time.Now().Add(10 * time.Second); timeless(got) != timeless(string(want)); got = now() {
		if time.Now().After(end) {
			w.t.Fatalf("the page is not that of %s (write it anew with -update):\n%s", path, got)
		}
		time.Sleep(20 * time.Millisecond)
	}
}

func timeless(page string) string {
	lines := strings.Split(page, "\n")
	if strings.Contains(page, "[in words]") {
		return strings.Join(lines[:2], "\n")
	}
	for i, line := range lines {
		if strings.HasPrefix(line, "tempo ") || strings.HasPrefix(line, "even ") {
			lines[i] = ""
		}
	}
	return strings.Join(lines, "\n")
}

// A piano that goes away in the middle and comes back, seen by the player.
func TestPageOverALostPiano(t *testing.T) {
	jacktest.Start(t)
	w := openTerminal(t, 80, 24, "NO_COLOR=1", "listen", pageWords, "--keep", t.TempDir())
	piano := jacktest.Piano(t, "toy piano")
	w.sees("Play when you are ready")
	messages, wrong := pageTake(t)
	jacktest.Play(t, piano, messages[:wrong+1])
	w.sees(ring)
	piano.Close()
	w.sees("toy piano is gone")
	w.keeps("gone-80x24")
	piano = jacktest.Piano(t, "toy piano")
	jacktest.Eventually(t, "the page no longer says that the piano is gone", func() bool { return !w.shows("is gone") })
	w.sees(ring)
	jacktest.Play(t, piano, after(messages[wrong+1:], messages[wrong].At))
	w.sees(instead)
	w.tmux("resize-window", "-t", "page", "-x", "100", "-y", "30")
	jacktest.Eventually(t, "the page fills the larger window", func() bool {
		lines := strings.Split(strings.TrimRight(w.page(), "\n"), "\n")
		return len(lines) == 30 && strings.Contains(lines[29], "q end") && w.shows(instead)
	})
	if page := w.tmux("capture-pane", "-p", "-e", "-t", "page"); strings.Contains(page, "\x1b[3") {
		t.Errorf("there is colour on the page with NO_COLOR:\n%q", page)
	}
}

// A piece, line by line.
func TestPageOfAPiece(t *testing.T) {
	jacktest.Start(t)
	what, err := findAsked("the ferryman", nil)
	if err != nil {
		t.Fatal(err)
	}
	take, _ := pupil.Play(what.candidates[0], pupil.Pupil{Seed: 4, BPM: 140, Faults: []pupil.Fault{{Kind: pupil.SemitoneOff, At: 30, By: 1}}})
	messages := jacktest.Messages(take)
	w := openTerminal(t, 80, 24, "", "listen", "the ferryman", "--keep", t.TempDir())
	piano := jacktest.Piano(t, "toy piano")
	w.sees("Play when you are ready")
	w.keeps("piece-before-80x24")
	half := len(messages) / 2
	jacktest.Play(t, piano, messages[:half])
	w.sees("lines from bar 1✓  [7]")
	w.keeps("piece-during-80x24")
	jacktest.Play(t, piano, after(messages[half:], messages[half-1].At))
	w.sees("One wrong note: ")
	w.keeps("piece-after-80x24")
}

// A player stops and begins again: the page begins again too, and the second run is what is judged.
func TestPageOfAFreshStart(t *testing.T) {
	jacktest.Start(t)
	messages, wrong := pageTake(t)
	w := openTerminal(t, 80, 24, "", "listen", pageWords, "--keep", t.TempDir())
	piano := jacktest.Piano(t, "toy piano")
	w.sees("Play when you are ready")
	first := messages[:wrong+1]
	jacktest.Play(t, piano, first)
	w.sees(ring)
	what, err := findAsked(pageWords, nil)
	if err != nil {
		t.Fatal(err)
	}
	clean, _ := pupil.Play(what.candidates[0], pupil.Pupil{Seed: 3, BPM: 110, Lead: 2 * time.Second})
	again := jacktest.Messages(clean)
	third := len(again) / 3
	jacktest.Play(t, piano, again[:third])
	jacktest.Eventually(t, "the first run is gone from the page", func() bool { return !w.shows(ring) })
	w.keeps("fresh-during-80x24")
	jacktest.Play(t, piano, after(again[third:], again[third-1].At))
	w.sees("Every note was right.")
	w.sees("There was a fresh start: it stopped after G")
	w.keeps("fresh-after-80x24")
}

// The beat is counted in and on through the piano, which sends on what it is sent; none of it is taken for
// playing. Without a way to sound it is only seen.
func TestPageWithABeat(t *testing.T) {
	jacktest.Start(t)
	piano := jacktest.Piano(t, "toy piano")
	speaker := jacktest.Sounding(t, "toy piano")
	args := []string{"listen", "D major scale, left hand, 1 octave", "--tempo", "180", "--count-in", "--metronome", "--keep", t.TempDir()}
	w := openTerminal(t, 80, 24, "", args...)
	w.sees("1 · · ·")
	// The piano's echo.
	echoed := 0
	for end := time.Now().Add(2 * time.Second); time.Now().Before(end); time.Sleep(time.Millisecond) {
		heard := speaker.Heard()
		for _, m := range heard[echoed:] {
			if err := piano.Send(m.Status, m.Data1, m.Data2); err != nil {
				t.Fatal(err)
			}
		}
		echoed = len(heard)
	}
	if echoed < 6 {
		t.Errorf("%d messages of the beat have sounded", echoed)
	}
	if page := w.page(); strings.Contains(page, "heard:") {
		t.Errorf("the beat is taken for playing:\n%s", page)
	}
	what, err := findAsked("D major scale, left hand, 1 octave, 180 beats a minute", nil)
	if err != nil {
		t.Fatal(err)
	}
	take, _ := pupil.Play(what.candidates[0], pupil.Pupil{Seed: 1})
	jacktest.Play(t, piano, jacktest.Messages(take))
	w.sees("Every note was right.")
	n := len(speaker.Heard())
	w.sees("[in words]")
	if later := len(speaker.Heard()); later > n {
		t.Errorf("the beat goes on after the end: %d messages, then %d", n, later)
	}
	w.types("q")
	w.sees("ended 0")
}

func TestPageWithABeatOnlySeen(t *testing.T) {
	jacktest.Start(t)
	jacktest.Piano(t, "toy piano")
	w := openTerminal(t, 80, 24, "", "listen", "the ferryman", "--bars", "9-12", "--tempo", "40", "--count-in", "--keep", t.TempDir())
	w.sees("the beat is only seen: toy piano has no MIDI input to sound through")
	w.sees("1 ·")
	w.sees("· 2")
	w.sees("Play when you are ready.")
	w.types("q")
	w.sees("ended 0")
}

// Ctrl-C in the middle of a take: the terminal is as it was, and what was played is kept.
func TestPageInterrupted(t *testing.T) {
	jacktest.Start(t)
	keep := t.TempDir()
	book := filepath.Join(t.TempDir(), "journal.db")
	w := openTerminal(t, 80, 24, "", "listen", pageWords, "--keep", keep, "--journal", book)
	piano := jacktest.Piano(t, "toy piano")
	w.sees("Play when you are ready")
	messages, wrong := pageTake(t)
	jacktest.Play(t, piano, messages[:wrong+1])
	w.sees(ring)
	w.types("C-c")
	w.sees("Kept as ")
	w.sees("ended 0")
	if on := strings.TrimSpace(w.tmux("display-message", "-p", "-t", "page", "#{alternate_on} #{cursor_flag}")); on != "0 1" {
		t.Errorf("alternate screen and cursor are %q, want 0 1 as before", on)
	}
	strokes := 0
	for _, m := range messages[:wrong+1] {
		if strikes(&m) {
			strokes++
		}
	}
	if kept := onlyTake(t, keep); len(kept.Notes) != strokes || kept.Device != "toy piano" {
		t.Errorf("%d notes on %q are kept, want %d", len(kept.Notes), kept.Device, strokes)
	}
	j, err := journal.Open(t.Context(), book)
	if err != nil {
		t.Fatal(err)
	}
	defer j.Close()
	history, err := j.History(t.Context(), onlyPupil, time.Time{})
	if err != nil || len(history) != 1 || history[0].Mark != nil || history[0].Practised == 0 || history[0].Subject != journal.Subject(pageWords) {
		t.Errorf("the journal has %+v, %v, want the one take, of its time and without a mark", history, err)
	}
}

// onlyTake is the take in a folder that has one.
func onlyTake(t testing.TB, dir string) *capture.Take {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(dir, "*"+capture.TakeEnding))
	if err != nil || len(files) != 1 {
		t.Fatalf("takes %v, %v, want one", files, err)
	}
	take, err := capture.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	return take
}

// Two hundred notes a second over all keys, and a sustaining pedal that stays down: every note is kept, the
// page still answers, and what is played after it is judged as ever. With EVENHAND_SOAK it goes on for ten
// seconds.
func TestPageUnderAFlood(t *testing.T) {
	jacktest.Start(t)
	notes := 400
	if os.Getenv("EVENHAND_SOAK") != "" {
		notes = 2000
	}
	const apart = 5 * time.Millisecond
	keep := t.TempDir()
	w := openTerminal(t, 80, 24, "", "listen", pageWords, "--keep", keep)
	piano := jacktest.Piano(t, "toy piano")
	w.sees("Play when you are ready")
	flood := []capture.Message{{Status: 0xB0, Data1: capture.Sustain, Data2: 127}}
	for i := range notes {
		at, key := time.Duration(i)*apart, byte(22+37*i%86) // neither the lowest key nor the highest, which are controls
		on, off := noteOn(at, key), noteOff(at+apart/2, key)
		flood = append(flood, on, off)
	}
	jacktest.Play(t, piano, flood)
	last := -1
	jacktest.Eventually(t, "the flood has gone by", func() bool {
		files, _ := filepath.Glob(filepath.Join(keep, "*"+capture.GrowingEnding)) // the pattern is well formed
		before := last
		if len(files) == 1 {
			last = recorded(files[0])
		}
		time.Sleep(500 * time.Millisecond) // several times longer than the recorder waits for the disk
		return last > notes && last == before
	})
	w.types("Space")
	w.sees("Play when you are ready")
	if kept := onlyTake(t, keep); len(kept.Notes) != notes {
		t.Errorf("%d notes are kept of %d", len(kept.Notes), notes)
	}
	what, err := findAsked(pageWords, nil)
	if err != nil {
		t.Fatal(err)
	}
	take, _ := pupil.Play(what.candidates[0], pupil.Pupil{Seed: 3, BPM: 120})
	jacktest.Play(t, piano, jacktest.Messages(take))
	w.sees("Every note was right.")
	w.types("q")
	w.sees("ended 0")
}
