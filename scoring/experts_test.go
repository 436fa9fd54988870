package scoring

import (
	"path/filepath"
	"slices"
	"testing"

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
