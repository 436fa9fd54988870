package scoring

import (
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/internal/outside"
)

// TestExpertsAreNotFaulted: what pianists play on a stage is marked high, rubato, ornaments, pedal and
// all. The data: the Vienna 4x22 and the (n)ASAP collections, as the folders' SOURCE.txt and LICENSE.md
// name them.
func TestExpertsAreNotFaulted(t *testing.T) {
	var marks, notes []float64
	for _, collection := range []string{"vienna4x22", "nasap"} {
		pieces, err := filepath.Glob(filepath.Join(outside.Data(t, collection), "*", "score.musicxml"))
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range pieces {
			ref := readScore(t, path)
			takes, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*.mid"))
			if err != nil {
				t.Fatal(err)
			}
			for _, file := range takes[:min(len(takes), 4)] {
				take, err := capture.ReadFile(file)
				if err != nil {
					t.Fatal(err)
				}
				a := Assess(align.Align(ref, take, 0, 0), Asked{}, DefaultSettings())
				name := filepath.Base(filepath.Dir(path)) + " " + filepath.Base(file)
				if a.Marks.Overall == nil {
					t.Errorf("%s: no mark", name)
					continue
				}
				rhythms := len(a.find(WrongRhythm))
				t.Logf("%-55s overall %3d, notes %3d, %d rhythms", name, *a.Marks.Overall, *a.Marks.Notes, rhythms)
				marks, notes = append(marks, float64(*a.Marks.Overall)), append(notes, float64(*a.Marks.Notes))
			}
		}
	}
	if len(marks) == 0 {
		t.Skip("no takes of pianists below EVENHAND_DATA")
	}
	t.Logf("%d takes: median overall %.0f, least %.0f, median of notes %.0f", len(marks), median(marks), slices.Min(marks), median(notes))
	if median(marks) < 80 || median(notes) < 95 {
		t.Errorf("pianists are marked %.0f, their notes %.0f", median(marks), median(notes))
	}
}

// TestPlantedStopsAreFound: a stop of one and a half seconds put into what a pianist played is found
// where it is, whatever the tempo does there.
func TestPlantedStopsAreFound(t *testing.T) {
	const stop = 1500 * time.Millisecond
	rng := rand.New(rand.NewPCG(1, 2))
	found, planted := 0, 0
	for _, collection := range []string{"vienna4x22", "nasap"} {
		pieces, err := filepath.Glob(filepath.Join(outside.Data(t, collection), "*", "score.musicxml"))
		if err != nil {
			t.Fatal(err)
		}
		for _, path := range pieces {
			takes, err := filepath.Glob(filepath.Join(filepath.Dir(path), "*.mid"))
			if err != nil || len(takes) == 0 {
				t.Fatalf("%s: no takes, %v", path, err)
			}
			ref, file := readScore(t, path), takes[0]
			take, err := capture.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			k := len(take.Notes)/10 + rng.IntN(len(take.Notes)*8/10)
			for k > 1 && take.Notes[k].On-take.Notes[k-1].On < 100*time.Millisecond {
				k-- // between two chords
			}
			at := take.Notes[k].On
			for i := range take.Notes {
				if n := &take.Notes[i]; n.On >= at {
					n.On, n.Off = n.On+stop, n.Off+stop
				}
			}
			planted++
			a := Assess(align.Align(ref, take, 0, 0), Asked{}, DefaultSettings())
			if a.stopped((at + stop).Seconds()) {
				found++
			} else {
				t.Logf("%s: no stop found at %v", filepath.Base(file), at+stop)
			}
		}
	}
	t.Logf("%d of %d stops found", found, planted)
	if 10*found < 9*planted {
		t.Errorf("only %d of %d stops found", found, planted)
	}
}

// stopped reports whether a finding about time lies within 0.2 s of a moment.
func (a *Assessment) stopped(at float64) bool {
	return slices.ContainsFunc(a.Findings, func(f Finding) bool {
		return f.mark != soundMark && slices.ContainsFunc(moments(a, &f), func(m float64) bool { return near(m, at, 0.2) }) &&
			(f.Kind == Stop || f.Kind == OutOfTime || f.Kind == FreshStart || f.Kind == WrongRhythm)
	})
}
