package align_test

import (
	"slices"
	"testing"
	"time"

	"evenhand/align"
	"evenhand/references"
)

// live follows a take and returns the last verdict told on each played note, and how many verdicts
// were revised.
func live(candidates []*references.Reference, a *align.Alignment) (last []align.Pair, revised int) {
	f := align.NewFollower(candidates)
	last = make([]align.Pair, len(a.Take.Notes))
	for _, n := range a.Take.Notes {
		for _, u := range f.Note(n) {
			if u.Played < 0 {
				continue
			}
			last[u.Played] = u.Pair
			if u.Revised {
				revised++
			}
		}
	}
	return last, revised
}

func TestFollowerAgreesWithAlignOnPlainMistakes(t *testing.T) {
	for _, words := range []string{
		oneOctave,
		"C4 D4 E4 F#4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4",
		"C4 D4 E4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4",
		"C4 D4 ~D#4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4",
		"C4 D4 E4 F4 - - - - C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4",
	} {
		ref := written(t, oneOctave)
		a := align.Align(ref, played(t, words), 0, 0)
		last, _ := live([]*references.Reference{ref}, a)
		for _, p := range a.Pairs {
			if p.Played < 0 {
				continue
			}
			if got := last[p.Played]; got.Verdict != p.Verdict || got.Expected != p.Expected || got.Why != p.Why {
				t.Errorf("%s: note %d is %+v in the end, %+v live", words, p.Played, p, got)
			}
		}
	}
}

func TestFollowerTellsMissingNotes(t *testing.T) {
	ref := written(t, oneOctave)
	f := align.NewFollower([]*references.Reference{ref})
	var missing []int
	for _, n := range played(t, "C4 D4 F4 G4 A4 B4 C5").Notes {
		for _, u := range f.Note(n) {
			if u.Verdict == align.Missing {
				missing = append(missing, u.Expected)
			}
		}
	}
	if !slices.Equal(missing, []int{2}) {
		t.Errorf("missing notes told: %v, want [2]", missing)
	}
}

func TestFollowerKnowsTheEnd(t *testing.T) {
	f := align.NewFollower([]*references.Reference{written(t, oneOctave)})
	take := played(t, oneOctave)
	for i, n := range take.Notes {
		f.Note(n)
		if over := f.Advance(n.On+1500*time.Millisecond, 0); over != (i == len(take.Notes)-1) {
			t.Errorf("a second and a half after note %d: ended is %v", i, over)
		}
		if !f.Advance(n.On+6*time.Second, 0) {
			t.Errorf("six seconds after note %d: not ended", i)
		}
	}
	if f.Advance(take.End()+2*time.Second, 1) {
		t.Error("ended while a key is down")
	}
}

func TestFollowerFindsTheOctave(t *testing.T) {
	asked := references.Request{Tonic: bFlat, Octaves: 2}
	take := perform(mustReference(t, asked), 12, 12)
	f := align.NewFollower(asked.Candidates())
	wrong := 0
	for _, n := range take.Notes {
		for _, u := range f.Note(n) {
			if u.Verdict != align.Correct {
				wrong++
			}
		}
	}
	if _, _, shift := f.Where(); wrong != 0 || shift != 12 {
		t.Errorf("an octave up: %d notes told as anything but correct, shift %d", wrong, shift)
	}
}

// BenchmarkFollowerNote plays a four-octave scale, hands together, again and again, and reports the
// slowest notes too.
func BenchmarkFollowerNote(b *testing.B) {
	asked := references.Request{Tonic: bFlat, Octaves: 4}
	take := perform(mustReference(b, asked), 0, 0)
	candidates := asked.Candidates()
	var took []time.Duration
	for b.Loop() {
		b.StopTimer()
		f := align.NewFollower(candidates)
		b.StartTimer()
		for _, n := range take.Notes {
			start := time.Now()
			f.Note(n)
			took = append(took, time.Since(start))
		}
	}
	slices.Sort(took)
	b.ReportMetric(float64(took[len(took)/2].Nanoseconds()), "ns/note-p50")
	b.ReportMetric(float64(took[len(took)*99/100].Nanoseconds()), "ns/note-p99")
}
