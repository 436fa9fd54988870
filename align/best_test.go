package align_test

import (
	"testing"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
)

// perform plays a reference exactly, each hand shifted by whole octaves.
func perform(ref *references.Reference, right, left int) *capture.Take {
	take := &capture.Take{}
	for i := range ref.Notes {
		n := &ref.Notes[i]
		key := n.Key() + right
		if n.Hand == references.Left {
			key = n.Key() + left
		}
		on := time.Second + time.Duration(n.Onset.Float()*600)*time.Millisecond
		take.Notes = append(take.Notes, capture.Note{Key: uint8(key), Velocity: 64, On: on, Off: on + 280*time.Millisecond})
	}
	return take
}

func mustReference(t testing.TB, r references.Request) *references.Reference {
	t.Helper()
	ref, err := r.Reference()
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

var (
	bFlat  = references.Name{Step: references.B, Alter: -1}
	bPlain = references.Name{Step: references.B}
	aPlain = references.Name{Step: references.A}
)

func TestBestFindsTheOctaveOfEachHand(t *testing.T) {
	scale := references.Request{Tonic: bFlat, Octaves: 2}
	ref := mustReference(t, scale)
	for _, tt := range []struct{ right, left, wantRight, wantLeft int }{
		{0, 0, 0, 0}, {12, 12, 12, 12}, {-12, -12, -12, -12}, {12, 0, 0, 0}, {12, -12, 12, -12},
	} {
		a := align.Best(scale.Candidates(), nil, perform(ref, tt.right, tt.left))
		if n := count(a, align.Correct); n != len(ref.Notes) {
			t.Errorf("hands moved by %d and %d: %d of %d notes correct", tt.right, tt.left, n, len(ref.Notes))
		}
		if a.RightShift != tt.wantRight || a.LeftShift != tt.wantLeft {
			t.Errorf("hands moved by %d and %d: found %d and %d", tt.right, tt.left, a.RightShift, a.LeftShift)
		}
	}
}

func TestBestTakesTheReadingThatWasPlayed(t *testing.T) {
	minor := references.Request{Tonic: aPlain, Form: references.Minor, Octaves: 2}
	for _, form := range []references.Form{references.HarmonicMinor, references.MelodicMinor, references.NaturalMinor} {
		played := minor
		played.Form = form
		a := align.Best(minor.Candidates(), nil, perform(mustReference(t, played), 0, 0))
		if got := a.Reference.Request.Form; got != form || !a.AsAsked {
			t.Errorf("played form %v, heard %v, as asked %v", form, got, a.AsAsked)
		}
	}
}

func TestBestSaysWhatElseWasPlayed(t *testing.T) {
	asked := references.Request{Tonic: bFlat, Octaves: 2}
	oneOctave, contrary, alone := asked, asked, asked
	oneOctave.Octaves = 1
	contrary.Motion = references.Contrary
	alone.Hands = references.RightAlone
	other := references.Request{Tonic: bPlain, Octaves: 2}
	for _, played := range []references.Request{oneOctave, contrary, alone, other} {
		a := align.Best(asked.Candidates(), asked.Neighbours(), perform(mustReference(t, played), 0, 0))
		if a.AsAsked {
			t.Errorf("%v was played and taken for what was asked", played)
			continue
		}
		if got := *a.Reference.Request; got.Octaves != played.Octaves || got.Motion != played.Motion || got.Hands != played.Hands || got.Tonic != played.Tonic {
			t.Errorf("%v was played, heard %v", played, got)
		}
		if n := count(a, align.Correct); n != len(a.Reference.Notes) {
			t.Errorf("%v: %d of %d notes correct", played, n, len(a.Reference.Notes))
		}
	}
}

func TestBestHearsMoreOctavesThanWereAsked(t *testing.T) {
	for _, asked := range []references.Request{
		{Tonic: bFlat, Octaves: 1},
		{Tonic: bFlat, Octaves: 2},
		{Tonic: bFlat, Octaves: 1, Motion: references.Contrary},
		{Tonic: bFlat, Octaves: 2, Form: references.Chromatic},
		{Tonic: bFlat, Octaves: 2, Hands: references.RightAlone},
		{Tonic: bFlat, Octaves: 2, Kind: references.Arpeggio, Form: references.Minor},
		{Tonic: bFlat, Octaves: 2, Apart: references.SixthApart},
	} {
		more := asked
		more.Octaves++
		if asked.Motion != references.Contrary && asked.Form != references.Chromatic {
			more.Octaves = 2 * asked.Octaves
		}
		a := align.Best(asked.Candidates(), asked.Neighbours(), perform(mustReference(t, more), 0, 0))
		if a.AsAsked || a.Reference.Request.Octaves != more.Octaves {
			t.Errorf("%v asked, %d octaves played: heard %v, as asked %v", asked, more.Octaves, a.Reference.Request, a.AsAsked)
		}
	}
}

func TestBestKeepsToWhatWasAskedWherePlayingBreaksOff(t *testing.T) {
	asked := references.Request{Tonic: bFlat, Octaves: 2, Hands: references.RightAlone}
	take := perform(mustReference(t, asked), 0, 0)
	take.Notes = take.Notes[:10]
	a := align.Best(asked.Candidates(), asked.Neighbours(), take)
	if !a.AsAsked || a.Complete || count(a, align.Correct) != 10 {
		t.Errorf("ten notes of the scale: as asked %v, complete %v, %d correct", a.AsAsked, a.Complete, count(a, align.Correct))
	}
}

func count(a *align.Alignment, v align.Verdict) int {
	n := 0
	for _, p := range a.Pairs {
		if p.Verdict == v {
			n++
		}
	}
	return n
}

func BenchmarkAlignFourOctavesTogether(b *testing.B) {
	asked := references.Request{Tonic: bFlat, Octaves: 4}
	take := perform(mustReference(b, asked), 0, 0)
	candidates := asked.Candidates()
	for b.Loop() {
		align.Best(candidates, nil, take)
	}
}
