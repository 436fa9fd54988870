package align_test

import (
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/internal/outside"
	"evenhand/references"
	"evenhand/references/repertoire"
)

// performance is a piece as it was played, with the place in the score of each played note.
type performance struct {
	name  string
	ref   *references.Reference
	notes []capture.Note
	at    []int // by played note: its moment in the score, -1 where it has none
}

// moments are the different onsets of a score, in order.
func moments(ref *references.Reference) []references.Quarters {
	var out []references.Quarters
	for i := range ref.Notes {
		if o := ref.Notes[i].Onset; len(out) == 0 || o.Float() > out[len(out)-1].Float() {
			out = append(out, o)
		}
	}
	return out
}

func momentOf(all []references.Quarters, o references.Quarters) int {
	i, _ := slices.BinarySearchFunc(all, o.Float(), func(q references.Quarters, f float64) int {
		switch {
		case q.Float() < f-1e-9:
			return -1
		case q.Float() > f+1e-9:
			return 1
		}
		return 0
	})
	return i
}

// ofPianists are the real performances of a data set, with the places that others found by hand.
func ofPianists(t testing.TB, set string) []performance {
	t.Helper()
	scores, _ := filepath.Glob(filepath.Join(outside.Data(t, set), "*", "score.musicxml"))
	var out []performance
	for _, score := range scores {
		ref := readScore(t, score)
		all := moments(ref)
		place := map[string]int{}
		for i := range ref.Notes {
			n := &ref.Notes[i]
			for _, id := range append([]string{n.ID}, n.Also...) {
				if _, ok := place[id]; !ok {
					place[id] = momentOf(all, n.Onset)
				}
				place[fmt.Sprintf("%s-%d", id, n.Pass)] = momentOf(all, n.Onset)
			}
		}
		takes, _ := filepath.Glob(filepath.Join(filepath.Dir(score), "*.truth.tsv"))
		for _, tsv := range takes {
			take, err := capture.ReadFile(strings.TrimSuffix(tsv, ".truth.tsv") + ".mid")
			if err != nil {
				t.Fatal(err)
			}
			p := performance{name: filepath.Base(filepath.Dir(tsv)) + "/" + filepath.Base(tsv), ref: ref, notes: take.Notes}
			matched := readTruth(t, tsv).match
			for _, n := range take.Notes {
				m := slices.IndexFunc(matched, func(m truthNote) bool {
					return m.key == int(n.Key) && m.onset-n.On.Seconds() < 0.003 && n.On.Seconds()-m.onset < 0.003
				})
				at := -1
				if m >= 0 {
					if i, ok := place[matched[m].id]; ok {
						at = i
					}
				}
				p.at = append(p.at, at)
			}
			out = append(out, p)
		}
	}
	return out
}

// ofPupils are the built-in scores played by the simulated pupil, without a fault.
func ofPupils(t testing.TB, seed uint64) []performance {
	t.Helper()
	var out []performance
	for _, s := range repertoire.All() {
		ref, _, err := repertoire.Open(s.Title)
		if err != nil {
			t.Fatal(err)
		}
		take, truth := pupil.Play(ref, pupil.Pupil{Seed: seed})
		all := moments(ref)
		p := performance{name: s.Title, ref: ref, notes: take.Notes, at: make([]int, len(take.Notes))}
		for i := range p.at {
			p.at[i] = -1
		}
		for i, e := range truth.Expected {
			if e.Played >= 0 {
				p.at[e.Played] = momentOf(all, ref.Notes[i].Onset)
			}
		}
		out = append(out, p)
	}
	return out
}

// follow plays the notes to a follower and returns how far off it was, in moments of the score, after
// each note that has a place.
func follow(ref *references.Reference, notes []capture.Note, at []int) []int {
	f := align.NewFollower([]*references.Reference{ref})
	all := moments(ref)
	var off []int
	for i, n := range notes {
		f.Note(n)
		if at[i] < 0 {
			continue
		}
		note, _, _ := f.Where()
		off = append(off, momentOf(all, ref.Notes[note].Onset)-at[i])
	}
	return off
}

// near is the share of places told within one moment.
func near(off []int) float64 {
	hits := 0
	for _, o := range off {
		if o >= -1 && o <= 1 {
			hits++
		}
	}
	return float64(hits) / float64(max(1, len(off)))
}

// onEachSet runs a check on the built-in scores by a clean pupil and, where the data is there, on
// performances of pianists.
func onEachSet(t *testing.T, seed uint64, check func(t *testing.T, all []performance)) {
	t.Run("built in", func(t *testing.T) { check(t, ofPupils(t, seed)) })
	for _, set := range []string{"vienna4x22", "nasap"} {
		t.Run(set, func(t *testing.T) { check(t, ofPianists(t, set)) })
	}
}

func TestFollowerKnowsThePlaceWithinOneNote(t *testing.T) {
	onEachSet(t, 1, func(t *testing.T, all []performance) {
		var off []int
		for _, p := range all {
			one := follow(p.ref, p.notes, p.at)
			if near(one) < 0.96 {
				t.Errorf("%s: the place is known within one moment after %.4f of the notes, want 0.96", p.name, near(one))
			}
			off = append(off, one...)
		}
		t.Logf("the place is known within one moment after %.4f of all notes", near(off))
		if near(off) < 0.985 {
			t.Error("want 0.985")
		}
	})
}

// spoilt is a performance with wrong notes among its own: of every hundred notes, so many are struck
// a step off, left out, or have one too many beside them.
func spoilt(p performance, rng *rand.Rand, percent int) performance {
	out := p
	out.notes, out.at = nil, nil
	for i, n := range p.notes {
		at := p.at[i]
		if rng.IntN(100) < percent {
			switch rng.IntN(3) {
			case 0:
				n.Key, at = uint8(int(n.Key)+[]int{-2, -1, 1, 2}[rng.IntN(4)]), -1
			case 1:
				continue
			default:
				beside := n
				beside.Key = uint8(int(n.Key) + 1 + rng.IntN(2))
				out.notes, out.at = append(out.notes, beside), append(out.at, -1)
			}
		}
		out.notes, out.at = append(out.notes, n), append(out.at, at)
	}
	return out
}

func TestFollowerSurvivesWrongNotes(t *testing.T) {
	onEachSet(t, 2, func(t *testing.T, all []performance) {
		rng := rand.New(rand.NewPCG(3, 4))
		for percent, want := range map[int]float64{5: 0.97, 10: 0.96, 20: 0.95} {
			var off []int
			for _, p := range all {
				s := spoilt(p, rng, percent)
				off = append(off, follow(s.ref, s.notes, s.at)...)
			}
			t.Logf("%d of a hundred notes spoilt: the place is known within one moment after %.4f of the others", percent, near(off))
			if near(off) < want {
				t.Errorf("want %.2f", want)
			}
		}
	})
}

// leap plays from the beginning to the end of one bar, and goes on from another. It returns the notes
// with their places and the index of the first one after the leap.
func leap(p performance, rng *rand.Rand) (notes []capture.Note, at []int, after int, ok bool) {
	bars := p.ref.Bars
	if len(bars) < 8 {
		return nil, nil, 0, false
	}
	all := moments(p.ref)
	from := 2 + rng.IntN(len(bars)-6)
	to := rng.IntN(len(bars) - 4)
	if d := to - from; d > -3 && d < 3 {
		return nil, nil, 0, false
	}
	end, begin := momentOf(all, bars[from].Onset), momentOf(all, bars[to].Onset)
	var stop, start time.Duration
	for i, n := range p.notes {
		if p.at[i] >= 0 && p.at[i] < end {
			notes, at = append(notes, n), append(at, p.at[i])
			stop = max(stop, n.On)
		}
	}
	after = len(notes)
	wait := time.Duration(300+rng.IntN(2500)) * time.Millisecond
	start = -1
	for i, n := range p.notes {
		if p.at[i] < begin {
			continue
		}
		if start < 0 {
			start = n.On
		}
		n.Off += stop + wait - start
		n.On += stop + wait - start
		notes, at = append(notes, n), append(at, p.at[i])
	}
	return notes, at, after, len(notes) > after+8
}

func TestFollowerFindsThePlaceAgainAfterALeap(t *testing.T) {
	const wanted = 0.98
	onEachSet(t, 5, func(t *testing.T, all []performance) {
		rng := rand.New(rand.NewPCG(6, 7))
		leaps, found := 0, 0
		for _, p := range all {
			for range 12 {
				notes, at, after, ok := leap(p, rng)
				if !ok {
					continue
				}
				leaps++
				if lost := barsLost(p.ref, notes, at, after); lost <= 2 {
					found++
				} else {
					t.Logf("%s: leap from moment %d to %d, lost for %.1f bars", p.name, at[after-1], at[after], lost)
				}
			}
		}
		t.Logf("the place is found again within two bars after %d of %d leaps", found, leaps)
		if float64(found) < wanted*float64(leaps) {
			t.Errorf("want %.2f", wanted)
		}
	})
}

// barsLost is how many bars pass, from when a listener could tell, until a follower knows where the
// playing went on after a leap, and knows it for eight notes.
func barsLost(ref *references.Reference, notes []capture.Note, at []int, after int) float64 {
	f := align.NewFollower([]*references.Reference{ref})
	all := moments(ref)
	keys := keysAt(ref, all)
	bar := ref.Bars[1].Length.Float()
	lost, right := 0.0, 0
	for i, n := range notes {
		f.Note(n)
		if i < after || at[i] < 0 {
			continue
		}
		note, _, _ := f.Where()
		off := momentOf(all, ref.Notes[note].Onset) - at[i]
		m := parting(keys, at[after], at[i], off)
		if off >= -1 && off <= 1 || m < 0 {
			if right++; right == 8 {
				break
			}
			continue
		}
		right = 0
		lost = (all[at[i]].Float() - all[m].Float()) / bar
	}
	return lost
}

// keysAt are the keys of each moment of a score, in order.
func keysAt(ref *references.Reference, all []references.Quarters) [][]int {
	out := make([][]int, len(all))
	for i := range ref.Notes {
		m := momentOf(all, ref.Notes[i].Onset)
		out[m] = append(out[m], ref.Notes[i].Key())
	}
	for _, k := range out {
		slices.Sort(k)
	}
	return out
}

// parting is the first of the moments from one to another whose keys are not those d further on, -1
// where there is none: up to it what has been played since fits both places, and no listener could
// tell which it is.
func parting(keys [][]int, from, to, d int) int {
	for m := from; m <= to; m++ {
		if m+d < 0 || m+d >= len(keys) || !slices.Equal(keys[m], keys[m+d]) {
			return m
		}
	}
	return -1
}
