package serve

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/references"
	"evenhand/references/musicxml"
	"evenhand/references/repertoire"
)

// askFor is a request in words as the command gives it.
func askFor(t testing.TB, words string) Asked {
	t.Helper()
	r, err := references.Parse(words)
	if err != nil {
		t.Fatal(err)
	}
	return Asked{r.Spoken(), r.Candidates()}
}

// askForScore is a built-in score.
func askForScore(t testing.TB, title string) Asked {
	t.Helper()
	ref, _, err := repertoire.Open(title)
	if err != nil {
		t.Fatal(err)
	}
	return Asked{ref.Title, []*references.Reference{ref}}
}

// written are the states and marks of bars, one line a bar that has any.
func written(bars []Bar) string {
	var b strings.Builder
	for _, bar := range bars {
		if bar.State == ToCome && len(bar.Marks) == 0 {
			continue
		}
		fmt.Fprintf(&b, "%s %s", bar.Number, bar.State)
		for _, m := range bar.Marks {
			fmt.Fprintf(&b, ", %s %s", m.Sign, m.Text)
		}
		b.WriteByte('\n')
	}
	return b.String()
}

func noteNamed(t testing.TB, ref *references.Reference, hand references.Hand, bar, name string) int {
	t.Helper()
	for i, n := range ref.Notes {
		if n.Hand == hand && n.Pitch.String() == name && (bar == "" || n.Bar == bar) {
			return i
		}
	}
	t.Fatalf("no %s in the %s hand in bar %q", name, hand, bar)
	return 0
}

func TestMarksFallIntoTheirBars(t *testing.T) {
	a := askFor(t, "D major scale, right hand")
	ref := a.Candidates[0]
	take, _ := pupil.Play(ref, pupil.Pupil{Seed: 2, Exact: true, BPM: 80, Faults: []pupil.Fault{
		{Kind: pupil.SemitoneOff, At: noteNamed(t, ref, references.Right, "1", "G4"), By: 1},
		{Kind: pupil.LeftOut, At: noteNamed(t, ref, references.Right, "2", "F♯5")},
	}})
	f := newFollowing(a)
	var seen []string
	for _, n := range take.Notes {
		f.note(n)
		if w := written(f.bars()); len(seen) == 0 || seen[len(seen)-1] != w {
			seen = append(seen, w)
		}
	}
	for i, want := range []string{
		"1 now\n",
		"1 now, ring G♯4 for G4\n",
		"1 done, ring G♯4 for G4\n2 now\n",
		"1 done, ring G♯4 for G4\n2 now, caret F♯5\n",
	} {
		if i >= len(seen) || seen[i] != want {
			t.Fatalf("seen\n%s\nwant %d to be\n%s", strings.Join(seen, "\n"), i, want)
		}
	}
	if last := seen[len(seen)-1]; last != "1 done, ring G♯4 for G4\n2 done, caret F♯5\n3 done\n4 now\n" {
		t.Errorf("in the end\n%s", last)
	}
}

// The score that is sent is the one that the marks are about: each id is in it, once.
func TestMarksPointIntoTheScore(t *testing.T) {
	for _, a := range []Asked{askFor(t, "B flat minor arpeggio, hands together"), askForScore(t, "harbour waltz"), askForScore(t, "the ferryman")} {
		s := newFollowing(a).sheet()
		read, err := musicxml.Read(strings.NewReader(s.score))
		if err != nil {
			t.Fatal(err)
		}
		if len(read.Notes) != len(s.ref.Notes) {
			t.Errorf("%s: %d notes were written, %d are there", a.Title, len(read.Notes), len(s.ref.Notes))
		}
		written := 0
		for i, id := range s.ids {
			if id == "" || strings.Count(s.score, `id="`+id+`"`) != 1 {
				t.Errorf("%s: note %d has the id %q, which is not in the score once", a.Title, i, id)
			}
			if bar := &s.bars[s.of[i]]; bar.Number != s.ref.Notes[i].Bar {
				t.Errorf("%s: note %d is in bar %s, not %s", a.Title, i, bar.Number, s.ref.Notes[i].Bar)
			}
			written = max(written, s.bars[s.of[i]].Sheet+1)
		}
		if got := strings.Count(s.score, "<measure "); got < written {
			t.Errorf("%s: %d bars were written, note in bar %d", a.Title, got, written)
		}
	}
}

// After a fresh start the bars behind it are to come again, and what was marked in them is gone.
// The marks of a bar stand in the order of its notes, whatever they are.
func TestMarksOfABarAreInOrder(t *testing.T) {
	a := askFor(t, "D major scale, right hand")
	ref := a.Candidates[0]
	take, _ := pupil.Play(ref, pupil.Pupil{Seed: 2, Exact: true, BPM: 80, Faults: []pupil.Fault{
		{Kind: pupil.LeftOut, At: noteNamed(t, ref, references.Right, "1", "F♯4")},
		{Kind: pupil.SemitoneOff, At: noteNamed(t, ref, references.Right, "1", "B4"), By: 1},
	}})
	f := newFollowing(a)
	for _, n := range take.Notes {
		f.note(n)
	}
	if got, want := strings.Split(written(f.bars()), "\n")[0], "1 done, caret F♯4, ring C5 for B4"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

func TestFreshStartClearsThePage(t *testing.T) {
	a := askFor(t, "D major scale, right hand")
	ref := a.Candidates[0]
	take, _ := pupil.Play(ref, pupil.Pupil{Seed: 2, Exact: true, BPM: 80, Faults: []pupil.Fault{
		{Kind: pupil.Restart, At: noteNamed(t, ref, references.Right, "2", "F♯5"), By: 2},
	}})
	f := newFollowing(a)
	most := ""
	for _, n := range take.Notes {
		f.note(n)
		if w := written(f.bars()); strings.Contains(w, "ring") {
			most = w
		}
	}
	if !strings.HasSuffix(most, "2 now, ring G♯5 for F♯5\n") {
		t.Errorf("the wrong note was never seen: %s", most)
	}
	if got := written(f.bars()); strings.Contains(got, "ring") || !strings.HasSuffix(got, "4 now\n") {
		t.Errorf("in the end\n%s", got)
	}
}

// Notes tried before the start leave nothing.
func TestTriesBeforeTheStart(t *testing.T) {
	a := askFor(t, "D major scale, right hand")
	take, _ := pupil.Play(a.Candidates[0], pupil.Pupil{Seed: 2, Exact: true, BPM: 80})
	f := newFollowing(a)
	f.note(capture.Note{Key: 60, Velocity: 20})
	for i := range take.Notes {
		n := take.Notes[i]
		n.On += 3 * tryPause
		f.note(n)
	}
	if got := written(f.bars()); got != "1 done\n2 done\n3 done\n4 now\n" {
		t.Errorf("in the end\n%s", got)
	}
}

// A request that cannot be read, or none, shows no music and fails nowhere.
func TestFollowingNothing(t *testing.T) {
	f := newFollowing(Asked{Title: "Free practice"})
	f.note(capture.Note{Key: 60, Velocity: 60})
	if f.sheet() != nil || f.bars() != nil {
		t.Error("music was made of nothing")
	}
}

// Whatever keys are struck, every mark is in a bar that is there and belongs to a note that is there.
func TestFollowingAnything(t *testing.T) {
	asked := []Asked{askFor(t, "C minor scale, hands together"), askForScore(t, "harbour waltz")}
	rapid.Check(t, func(r *rapid.T) {
		f := newFollowing(asked[rapid.IntRange(0, len(asked)-1).Draw(r, "asked")])
		var at time.Duration
		for range rapid.IntRange(1, 80).Draw(r, "notes") {
			at += capture.Tick * time.Duration(rapid.IntRange(0, 100_000).Draw(r, "ticks"))
			f.note(capture.Note{Key: uint8(rapid.IntRange(40, 90).Draw(r, "key")), Velocity: 60, On: at, Off: at})
			now := 0
			for _, b := range f.bars() {
				if b.State == Now {
					now++
				}
				for _, m := range b.Marks {
					if m.Note == "" || m.Text == "" {
						r.Fatalf("a mark of nothing: %+v", m)
					}
				}
			}
			if now != 1 {
				r.Fatalf("%d bars are being played", now)
			}
		}
	})
}
