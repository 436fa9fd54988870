package report

import (
	"os"
	"path/filepath"
	"testing"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/internal/outside"
	"evenhand/references"
	"evenhand/references/musicxml"
	"evenhand/references/repertoire"
	"evenhand/scoring"
)

// monday is when the simulated pupil played.
var monday = time.Date(2026, 11, 23, 16, 20, 0, 0, time.UTC)

// scaleTake is a scale played with the faults.
func scaleTake(t testing.TB, words string, p pupil.Pupil) *Take {
	t.Helper()
	r, err := references.Parse(words)
	if err != nil {
		t.Fatal(err)
	}
	candidates := r.Candidates()
	take, _ := pupil.Play(candidates[0], p)
	a := align.Best(candidates, r.Neighbours(), take)
	return &Take{
		Reference: a.Reference, Asked: r.Spoken(), Pupil: "Mia Lindqvist", Started: monday, Piano: "practice room 2",
		Assessment: scoring.Assess(a, scoring.Asked{Take: "monday.mid", Against: r.String(), Request: &r, Version: "test"}, scoring.DefaultSettings()),
	}
}

// pieceTake is a score played with the faults; an empty take lets the simulated pupil play.
func pieceTake(t testing.TB, ref *references.Reference, take *capture.Take, p pupil.Pupil) *Take {
	t.Helper()
	if take == nil {
		take, _ = pupil.Play(ref, p)
	}
	a := align.Best([]*references.Reference{ref}, nil, take)
	return &Take{
		Reference: a.Reference, Asked: ref.Title, Pupil: "Jonas Arvidsen", Started: monday,
		Assessment: scoring.Assess(a, scoring.Asked{Take: "monday.mid", Against: ref.Title, Version: "test"}, scoring.DefaultSettings()),
	}
}

// aScale has most of what can befall a scale.
func aScale(t testing.TB) *Take {
	return scaleTake(t, "D major, hands together, 2 octaves, mf", pupil.Pupil{Seed: 4, BPM: 84, ThumbDelay: 24, Drift: -9, Faults: []pupil.Fault{
		{Kind: pupil.SemitoneOff, At: 9},
		{Kind: pupil.LeftOut, At: 22},
		{Kind: pupil.GrazedKey, At: 31},
		{Kind: pupil.Wait, At: 40, Pause: 700 * time.Millisecond},
	}})
}

// aPiece has wrong notes, a going back, a fresh start and a stop.
func aPiece(t testing.TB) *Take {
	ref, _, err := repertoire.Open("harbour waltz")
	if err != nil {
		t.Fatal(err)
	}
	return pieceTake(t, ref, nil, pupil.Pupil{Seed: 3, Faults: []pupil.Fault{
		{Kind: pupil.SemitoneOff, At: 12},
		{Kind: pupil.LetterOff, At: 40},
		{Kind: pupil.LeftOut, At: 55},
		{Kind: pupil.Restart, At: 30, To: 14},
		{Kind: pupil.Wait, At: 66, Pause: 1200 * time.Millisecond},
		{Kind: pupil.StruckTwice, At: 75},
	}})
}

// aVienna is a pianist's playing out of the Vienna 4x22 corpus (Goebl 1999), as it was recorded.
func aVienna(t testing.TB) *Take {
	folder := outside.Data(t, "vienna4x22", "Mozart_K331_1st-mov")
	f, err := os.Open(filepath.Join(folder, "score.musicxml"))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	ref, err := musicxml.Read(f)
	if err != nil {
		t.Fatal(err)
	}
	take, err := capture.ReadFile(filepath.Join(folder, "p01.mid"))
	if err != nil {
		t.Fatal(err)
	}
	return pieceTake(t, ref, take, pupil.Pupil{})
}

// threeMinutes is the piece of ours with most notes, played over and over until three minutes are full.
func threeMinutes(t testing.TB) *Take {
	var longest *references.Reference
	for _, s := range repertoire.All() {
		ref, err := s.Read()
		if err != nil {
			t.Fatal(err)
		}
		if longest == nil || len(ref.Notes) > len(longest.Notes) {
			longest = ref
		}
	}
	one, _ := pupil.Play(longest, pupil.Pupil{Seed: 1})
	length := one.Notes[len(one.Notes)-1].On
	return pieceTake(t, again(longest, int(180*time.Second/length)+1), nil, pupil.Pupil{Seed: 1, Faults: []pupil.Fault{
		{Kind: pupil.SemitoneOff, At: pupil.Anywhere}, {Kind: pupil.LeftOut, At: pupil.Anywhere}, {Kind: pupil.Wait, At: pupil.Anywhere},
	}})
}

// again is a score so many times in a row, all written out.
func again(ref *references.Reference, times int) *references.Reference {
	out := *ref
	out.Notes, out.Bars, out.Tempos, out.Marks, out.Sections, out.Jumps = nil, nil, nil, nil, nil, nil
	last := ref.Bars[len(ref.Bars)-1]
	length := last.Onset.Add(last.Length)
	for k := range times {
		from := length.Times(int64(k), 1)
		for _, n := range ref.Notes {
			n.Onset, n.Measure, n.Pass, n.ID, n.Also = n.Onset.Add(from), n.Measure+k*len(ref.Bars), 1, "", nil
			out.Notes = append(out.Notes, n)
		}
		for i, b := range ref.Bars {
			b.Onset, b.Written, b.Pass, b.Signs = b.Onset.Add(from), i+k*len(ref.Bars), 1, references.BarSigns{}
			out.Bars = append(out.Bars, b)
		}
	}
	out.Sort()
	return &out
}
