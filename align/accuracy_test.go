package align_test

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/internal/outside"
	"evenhand/references"
	"evenhand/references/musicxml"
)

// truth is a note alignment made by others: score ids against played notes.
type truth struct {
	match    []truthNote
	deleted  []string
	inserted []truthNote
}

type truthNote struct {
	id    string
	key   int
	onset float64 // s
}

func readTruth(t testing.TB, path string) truth {
	t.Helper()
	text, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var out truth
	for _, line := range strings.Split(strings.TrimRight(string(text), "\n"), "\n")[1:] {
		f := strings.Split(line, "\t")
		key, _ := strconv.Atoi(f[2])
		onset, _ := strconv.ParseFloat(strings.TrimSpace(f[3]), 64)
		switch f[0] {
		case "match":
			out.match = append(out.match, truthNote{f[1], key, onset})
		case "deletion":
			out.deleted = append(out.deleted, f[1])
		default:
			out.inserted = append(out.inserted, truthNote{key: key, onset: onset})
		}
	}
	return out
}

func readScore(t testing.TB, path string) *references.Reference {
	t.Helper()
	f, err := os.Open(path)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ref, err := musicxml.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

// matchF1 is the F-measure of the correct pairs against those of the truth: the same played note
// (key, and onset within 3 ms) against the same score note, where two score notes of one key and one
// onset are the same.
func matchF1(a *align.Alignment, tr truth) (f1 float64, faults []string) {
	type place struct {
		onset references.Quarters
		key   int
	}
	at := map[string]place{}
	for i := range a.Reference.Notes {
		n := &a.Reference.Notes[i]
		p := place{n.Onset, n.Key()}
		for _, id := range append([]string{n.ID}, n.Also...) {
			if _, ok := at[id]; !ok {
				at[id] = p
			}
			at[fmt.Sprintf("%s-%d", id, n.Pass)] = p
		}
	}
	byKey := map[int][]truthNote{}
	for _, m := range tr.match {
		byKey[m.key] = append(byKey[m.key], m)
	}
	hits, found := 0, 0
	for _, p := range a.Pairs {
		if p.Verdict != align.Correct {
			continue
		}
		found++
		n := &a.Reference.Notes[p.Expected]
		played := &a.Take.Notes[p.Played]
		ok := false
		near := slices.IndexFunc(byKey[int(played.Key)], func(m truthNote) bool { return math.Abs(m.onset-played.On.Seconds()) <= 0.003 })
		want := "an insertion"
		if near >= 0 {
			m := byKey[int(played.Key)][near]
			ok = at[m.id] == place{n.Onset, n.Key()}
			want = fmt.Sprintf("%s at %s", m.id, at[m.id].onset)
		}
		if ok {
			hits++
		} else {
			faults = append(faults, fmt.Sprintf("%.3f s key %d: matched to %s at %s grace %v, is %s", played.On.Seconds(), played.Key, n.ID, n.Onset, n.Grace, want))
		}
	}
	p, r := float64(hits)/float64(max(found, 1)), float64(hits)/float64(max(len(tr.match), 1))
	return 2 * p * r / (p + r), faults
}

func TestAlignmentsMadeByOthers(t *testing.T) {
	for _, set := range []struct {
		name string
		want float64
	}{{"vienna4x22", 0.995}, {"nasap", 0.98}} {
		t.Run(set.name, func(t *testing.T) {
			scores, _ := filepath.Glob(filepath.Join(outside.Data(t, set.name), "*", "score.musicxml"))
			sum, count := 0.0, 0
			for _, score := range scores {
				ref := readScore(t, score)
				takes, _ := filepath.Glob(filepath.Join(filepath.Dir(score), "*.truth.tsv"))
				for _, tsv := range takes {
					take, err := capture.ReadFile(strings.TrimSuffix(tsv, ".truth.tsv") + ".mid")
					if err != nil {
						t.Fatal(err)
					}
					f1, faults := matchF1(align.Align(ref, take, 0, 0), readTruth(t, tsv))
					t.Logf("%.4f %s/%s (%d notes)", f1, filepath.Base(filepath.Dir(tsv)), filepath.Base(tsv), len(take.Notes))
					if os.Getenv("FAULTS") != "" {
						for k, f := range faults {
							if k < 15 {
								t.Log("    ", f)
							}
						}
					}
					sum += f1
					count++
				}
			}
			if mean := sum / float64(count); mean < set.want {
				t.Errorf("mean F1 of matches over %d takes is %.4f, want %.3f", count, mean, set.want)
			}
		})
	}
}
