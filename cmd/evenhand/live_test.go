package main

import (
	"bufio"
	"bytes"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/capture/ports"
	"evenhand/capture/pupil"
	"evenhand/internal/jacktest"
	"evenhand/references"
	"evenhand/scoring"
)

// contraryScale is what the live tests ask for.
const contraryScale = "B flat major scale, hands together, contrary motion, piano"

// listener is the real program, listening to a piano as another process.
type listener struct {
	t    *testing.T
	cmd  *exec.Cmd
	out  bytes.Buffer
	mu   sync.Mutex
	said []string // what it has said on standard error
	done chan struct{}
}

// listen starts the program and waits until it hears the piano.
func listen(t *testing.T, args ...string) *listener {
	t.Helper()
	l := &listener{t: t, cmd: exec.Command(binary(t), append([]string{"listen"}, args...)...), done: make(chan struct{})}
	l.cmd.Stdout = &l.out
	errs, err := l.cmd.StderrPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := l.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { _ = l.cmd.Process.Kill() })
	go l.read(errs)
	l.hears("listening to")
	return l
}

func (l *listener) read(r io.Reader) {
	defer close(l.done)
	for s := bufio.NewScanner(r); s.Scan(); {
		l.mu.Lock()
		l.said = append(l.said, s.Text())
		l.mu.Unlock()
	}
}

// hears waits until the program has said something with these words.
func (l *listener) hears(words string) {
	l.t.Helper()
	jacktest.Eventually(l.t, "the program says: "+words, func() bool {
		return strings.Contains(l.errors(), words)
	})
}

func (l *listener) errors() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return strings.Join(l.said, "\n")
}

// ends waits for the program to end by itself with a status and gives its verdict.
func (l *listener) ends(status int) *scoring.Assessment {
	l.t.Helper()
	<-l.done
	_ = l.cmd.Wait() // the status is looked at below
	if got := l.cmd.ProcessState.ExitCode(); got != status {
		l.t.Fatalf("status %d, want %d: %s", got, status, l.errors())
	}
	return one(l.t, l.out.Bytes())
}

// scaleWithTwoWrongNotes is a performance of the contrary scale in which two known keys are wrong, and
// the indices of those notes in the reference.
func scaleWithTwoWrongNotes(t *testing.T) (*references.Reference, *capture.Take, []int) {
	t.Helper()
	what, err := findAsked(contraryScale, nil)
	if err != nil {
		t.Fatal(err)
	}
	ref := what.candidates[0]
	wrong := []int{noteAt(t, ref, references.Left, "E♭4"), noteAt(t, ref, references.Right, "C6")}
	take, _ := pupil.Play(ref, pupil.Pupil{Seed: 5, Exact: true, BPM: 150, Spread: 4, Faults: []pupil.Fault{
		{Kind: pupil.SemitoneOff, At: wrong[0], By: 1}, {Kind: pupil.SemitoneOff, At: wrong[1], By: 1},
	}})
	return ref, take, wrong
}

// noteAt is the first note of a hand with this name.
func noteAt(t testing.TB, ref *references.Reference, hand references.Hand, name string) int {
	t.Helper()
	i := slices.IndexFunc(ref.Notes, func(n references.Note) bool { return n.Hand == hand && n.Pitch.String() == name })
	if i < 0 {
		t.Fatalf("no %s in the %s hand", name, hand)
	}
	return i
}

// namesExactly holds a verdict to these wrong notes and nothing else.
func namesExactly(t *testing.T, a *scoring.Assessment, wrong []int) {
	t.Helper()
	var got []int
	for _, n := range a.Notes {
		switch n.Verdict {
		case "wrong":
			got = append(got, n.Expected.Index)
		case "missing", "extra":
			t.Errorf("a note was %s %s: %+v %+v", n.Verdict, n.Why, n.Expected, n.Played)
		}
	}
	slices.Sort(got)
	want := slices.Sorted(slices.Values(wrong))
	if !slices.Equal(got, want) || !a.Heard.AsAsked || a.Counts.Wrong != len(want) {
		t.Errorf("wrong notes %v, want %v; as asked %v, counts %+v", got, want, a.Heard.AsAsked, a.Counts)
	}
}

// The main job, for real: a teacher asks for a scale, a piano on a MIDI port of the sound server plays
// it with two wrong notes, and another process, which has only that port to go by, names those two.
func TestLiveListenNamesTheWrongNotes(t *testing.T) {
	jacktest.Start(t)
	_, take, wrong := scaleWithTwoWrongNotes(t)
	piano := jacktest.Piano(t, "toy piano")
	l := listen(t, contraryScale, "--format", "json", "--keep", t.TempDir())
	jacktest.Play(t, piano, jacktest.Messages(take))
	a := l.ends(statusDone)
	namesExactly(t, a, wrong)
	if a.Dynamics == nil || a.Dynamics.Verdict != "as asked" || a.Dynamics.Heard != "p" {
		t.Errorf("loudness %+v, want p as asked", a.Dynamics)
	}
	said := strings.Join(a.Remarks, " ")
	for _, words := range []string{"Two wrong notes", "E natural for E flat, left hand", "C sharp for C, right hand"} {
		if !strings.Contains(said, words) {
			t.Errorf("no %q in %q", words, said)
		}
	}
	// On another day the file has the same verdict.
	if again := must(t, "check", a.Take, "-f", "json"); string(again) != l.out.String() {
		t.Errorf("live %s\nchecked %s", &l.out, again)
	}
}

// A piano that is unplugged in the middle, with keys down, and plugged in again: the take goes on.
func TestLiveListenOverALostPiano(t *testing.T) {
	jacktest.Start(t)
	_, take, wrong := scaleWithTwoWrongNotes(t)
	messages := jacktest.Messages(take)
	middle := len(messages) / 3
	piano := jacktest.Piano(t, "toy piano")
	dir := t.TempDir()
	l := listen(t, contraryScale, "--format", "json", "--keep", dir)
	jacktest.Play(t, piano, messages[:middle])
	l.grows(dir, middle)
	piano.Close()
	l.hears("toy piano is gone")
	piano = jacktest.Piano(t, "toy piano")
	l.hears("toy piano is back")
	rest := slices.Clone(messages[middle:])
	from := rest[0].At
	for i := range rest {
		rest[i].At -= from
	}
	jacktest.Play(t, piano, rest)
	namesExactly(t, l.ends(statusDone), wrong)
}

// Ctrl-C in the middle of a take: what was played is kept and judged.
func TestLiveListenInterrupted(t *testing.T) {
	jacktest.Start(t)
	_, take, _ := scaleWithTwoWrongNotes(t)
	messages := jacktest.Messages(take)
	half := messages[:len(messages)/2]
	piano := jacktest.Piano(t, "toy piano")
	dir := t.TempDir()
	l := listen(t, contraryScale, "--format", "json", "--keep", dir)
	jacktest.Play(t, piano, half)
	strokes := 0
	for _, m := range half {
		if m.Status&0xF0 == 0x90 {
			strokes++
		}
	}
	l.grows(dir, len(half))
	if err := l.cmd.Process.Signal(os.Interrupt); err != nil {
		t.Fatal(err)
	}
	a := l.ends(statusDone)
	if a.Counts.Played != strokes {
		t.Errorf("%d notes kept of %d", a.Counts.Played, strokes)
	}
	if kept, err := capture.ReadFile(a.Take); err != nil || len(kept.Notes) != strokes {
		t.Errorf("%v, %+v in the file", err, kept)
	}
}

// grows waits until so many messages of the take under way are on disk, and gives its file.
func (l *listener) grows(dir string, messages int) string {
	l.t.Helper()
	var path string
	jacktest.Eventually(l.t, "the take is on disk as it is played", func() bool {
		files, _ := filepath.Glob(filepath.Join(dir, "*"+capture.GrowingEnding)) // the pattern is well formed
		if len(files) != 1 {
			return false
		}
		path = files[0]
		return recorded(path) == messages
	})
	return path
}

// recorded is how many messages are in a growing take.
func recorded(path string) int {
	f, err := os.Open(path)
	if err != nil {
		return -1
	}
	defer f.Close()
	g, err := capture.OpenGrowing(f)
	if err != nil {
		return -1
	}
	n := 0
	for {
		if _, err := g.Next(); err != nil {
			return n
		}
		n++
	}
}

// The program is killed in the middle of a take: the next one that starts makes a take of what was
// played, and hears the next.
func TestLiveListenKilled(t *testing.T) {
	jacktest.Start(t)
	_, take, wrong := scaleWithTwoWrongNotes(t)
	messages := jacktest.Messages(take)
	half := messages[:len(messages)/2]
	piano := jacktest.Piano(t, "toy piano")
	dir := t.TempDir()
	l := listen(t, contraryScale, "--keep", dir)
	jacktest.Play(t, piano, half)
	l.grows(dir, len(half))
	if err := l.cmd.Process.Signal(syscall.SIGKILL); err != nil {
		t.Fatal(err)
	}
	<-l.done
	_ = l.cmd.Wait() // it was killed

	next := listen(t, contraryScale, "--format", "json", "--keep", dir)
	next.hears("an unfinished take was recovered: ")
	files, err := filepath.Glob(filepath.Join(dir, "*.mid"))
	if err != nil || len(files) != 1 {
		t.Fatalf("%v, files %v", err, files)
	}
	a := one(t, must(t, "check", files[0], "-f", "json"))
	if !strings.HasPrefix(a.Against, "B flat major scale, hands together, contrary motion") || a.Counts.Played < len(half)/2 {
		t.Errorf("against %q, %+v", a.Against, a.Counts)
	}
	jacktest.Play(t, piano, messages)
	namesExactly(t, next.ends(statusDone), wrong)
}

// Two programs may listen to one piano at once and keep their takes in one folder. One that starts
// meanwhile leaves theirs alone.
func TestLiveTwoListen(t *testing.T) {
	jacktest.Start(t)
	_, take, wrong := scaleWithTwoWrongNotes(t)
	messages := jacktest.Messages(take)
	piano := jacktest.Piano(t, "toy piano")
	dir := t.TempDir()
	first := listen(t, contraryScale, "--format", "json", "--keep", dir)
	second := listen(t, contraryScale, "--format", "json", "--keep", dir)
	begun := slices.IndexFunc(messages, func(m capture.Message) bool { return m.At > time.Second })
	jacktest.Play(t, piano, messages[:begun])
	third := exec.Command(binary(t), "listen", "--from-bytes", os.DevNull, "--keep", dir, "C major")
	if out, err := third.CombinedOutput(); err == nil || strings.Contains(string(out), "unfinished") {
		t.Errorf("a third program: %v: %s", err, out)
	}
	rest := slices.Clone(messages[begun:])
	for i := range rest {
		rest[i].At -= messages[begun-1].At
	}
	jacktest.Play(t, piano, rest)
	a, b := first.ends(statusDone), second.ends(statusDone)
	namesExactly(t, a, wrong)
	namesExactly(t, b, wrong)
	if a.Take == b.Take {
		t.Errorf("both takes are %s", a.Take)
	}
}

// Each example of listen that names a piano or nothing hears one.
func TestLiveExamplesHear(t *testing.T) {
	jacktest.Start(t)
	jacktest.Piano(t, "toy piano")
	for _, line := range strings.Split(newListen().Example, "\n") {
		if strings.Contains(line, "--from-bytes") {
			continue
		}
		if strings.Contains(line, "--piano 2") {
			jacktest.Piano(t, "second piano")
		}
		if lists, err := ports.List(); err != nil || len(lists.In) > 1 && !strings.Contains(line, "--piano") {
			continue // it is for a machine with one piano
		}
		l := listen(t, append(shellWords(t, line)[2:], "--keep", t.TempDir())...)
		if err := l.cmd.Process.Signal(os.Interrupt); err != nil {
			t.Fatal(err)
		}
		<-l.done
		_ = l.cmd.Wait() // the status is looked at below
		if got := l.cmd.ProcessState.ExitCode(); got != statusFault || !strings.Contains(l.errors(), "ended before a note was played") {
			t.Errorf("%s\nstatus %d: %s", line, got, l.errors())
		}
	}
}
