package references

import (
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"
)

// line writes out one hand of a reference: "B♭4 C5 D5".
func line(ref *Reference, h Hand) string {
	var names []string
	for i := range ref.Notes {
		if n := &ref.Notes[i]; n.Hand.Has(h) {
			names = append(names, n.Pitch.String())
		}
	}
	return strings.Join(names, " ")
}

// hand writes out the fingers of one hand: "123 1234".
func fingerLine(ref *Reference, h Hand) string {
	var b strings.Builder
	for i := range ref.Notes {
		if n := &ref.Notes[i]; n.Hand.Has(h) {
			fmt.Fprint(&b, n.Fingering(h))
		}
	}
	return b.String()
}

func build(t *testing.T, r Request) *Reference {
	t.Helper()
	ref, err := r.Reference()
	if err != nil {
		t.Fatalf("%s: %v", r, err)
	}
	return ref
}

func TestScalesNoteByNote(t *testing.T) {
	// Common practice; the spelling of every key is compared with an outside library elsewhere.
	tests := []struct {
		r           Request
		right, left string
	}{
		{
			Request{Tonic: Name{F, 1}, Form: MelodicMinor, Octaves: 1},
			"F♯4 G♯4 A4 B4 C♯5 D♯5 E♯5 F♯5 E5 D5 C♯5 B4 A4 G♯4 F♯4",
			"F♯3 G♯3 A3 B3 C♯4 D♯4 E♯4 F♯4 E4 D4 C♯4 B3 A3 G♯3 F♯3",
		},
		{
			Request{Tonic: Name{G, 1}, Form: HarmonicMinor, Octaves: 1, Hands: LeftAlone},
			"",
			"G♯3 A♯3 B3 C♯4 D♯4 E4 F𝄪4 G♯4 F𝄪4 E4 D♯4 C♯4 B3 A♯3 G♯3",
		},
		{
			// The left hand of contrary motion plays the form going down first.
			Request{Tonic: Name{A, 0}, Form: MelodicMinor, Octaves: 1, Motion: Contrary},
			"A4 B4 C5 D5 E5 F♯5 G♯5 A5 G5 F5 E5 D5 C5 B4 A4",
			"A4 G4 F4 E4 D4 C4 B3 A3 B3 C4 D4 E4 F♯4 G♯4 A4",
		},
		{
			Request{Tonic: Name{B, -1}, Form: Chromatic, Octaves: 1, Hands: RightAlone},
			"B♭4 B4 C5 C♯5 D5 D♯5 E5 F5 F♯5 G5 G♯5 A5 B♭5 A5 A♭5 G5 G♭5 F5 E5 E♭5 D5 D♭5 C5 B4 B♭4",
			"",
		},
		{
			Request{Tonic: Name{C, 0}, Form: Major, Octaves: 1, Apart: SixthApart},
			"C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4",
			"E3 F3 G3 A3 B3 C4 D4 E4 D4 C4 B3 A3 G3 F3 E3",
		},
	}
	for _, tt := range tests {
		ref := build(t, tt.r)
		if got := line(ref, Right); got != tt.right {
			t.Errorf("%s, right hand:\n got %s\nwant %s", tt.r, got, tt.right)
		}
		if got := line(ref, Left); got != tt.left {
			t.Errorf("%s, left hand:\n got %s\nwant %s", tt.r, got, tt.left)
		}
	}
}

func TestUnisonIsOneNote(t *testing.T) {
	r := Request{Tonic: Name{B, -1}, Form: Major, Octaves: 2, Motion: Contrary}
	want := map[Start]int{UnisonStart: 56, OctaveStart: 58, TwoOctaveStart: 58} // 29 for each hand
	for _, ref := range r.Candidates() {
		if n := len(ref.Notes); n != want[ref.Request.Start] {
			t.Errorf("%s: %d notes, want %d", ref.Request, n, want[ref.Request.Start])
		}
		delete(want, ref.Request.Start)
	}
	if len(want) > 0 {
		t.Errorf("starts without a candidate: %v", want)
	}
	first := build(t, r).Notes[0]
	if first.Hand != Both || first.Finger != 4 || first.Finger2 != 3 {
		t.Errorf("first note %+v, want a unison of 4 and 3", first)
	}
}

// TestReferencesHold tries what must hold of every request in every reading.
func TestReferencesHold(t *testing.T) {
	requests := anyRequest()
	rapid.Check(t, func(t *rapid.T) {
		r := requests.Draw(t, "request")
		all := r.Candidates()
		if len(all) == 0 {
			t.Fatal("no candidate")
		}
		for _, ref := range all {
			if low, high := ref.Span(); low < LowestKey || high > HighestKey {
				t.Fatalf("%s: keys %d to %d are off the piano", ref.Title, low, high)
			}
			sorted := &Reference{Notes: append([]Note(nil), ref.Notes...)}
			sorted.Sort()
			count := map[Hand]int{}
			for i := range ref.Notes {
				n := &ref.Notes[i]
				if n.Onset != sorted.Notes[i].Onset || n.Pitch != sorted.Notes[i].Pitch {
					t.Fatalf("%s: note %d is out of order", ref.Title, i)
				}
				if i > 0 && n.Onset == ref.Notes[i-1].Onset && n.Key() == ref.Notes[i-1].Key() {
					t.Fatalf("%s: %s is struck twice at %s", ref.Title, n.Pitch, n.Onset)
				}
				if n.Pitch.Alter < -2 || n.Pitch.Alter > 2 {
					t.Fatalf("%s: %s has more than two accidentals", ref.Title, n.Pitch)
				}
				if n.Beat < 1 || n.Beat >= beatsInBar+1 || n.Touch == NoTouch || n.Length != ref.Notes[0].Length {
					t.Fatalf("%s: note %+v", ref.Title, *n)
				}
				for _, h := range []Hand{Right, Left} {
					if n.Hand.Has(h) {
						count[h]++
					}
				}
			}
			if r.Hands == Together && count[Right] != count[Left] {
				t.Fatalf("%s: %d notes for the right hand, %d for the left", ref.Title, count[Right], count[Left])
			}
			if want := ref.Request.strokes(); count[Right] != want && count[Left] != want {
				t.Fatalf("%s: %d and %d notes, want %d for a hand", ref.Title, count[Right], count[Left], want)
			}
		}
	})
}

// strokes counts the notes of one hand by arithmetic: up and back with the top struck once.
func (r *Request) strokes() int {
	rungs := 7
	switch {
	case r.Kind != Scale:
		rungs = len(chordSemitones[r.Form])
	case r.Form == Chromatic:
		rungs = 12
	case r.Form == WholeTone:
		rungs = 6
	}
	rungs *= r.Octaves
	switch r.Kind {
	case FiveFinger:
		return 9
	case Triads:
		return 3 * (2*rungs + 1)
	case Cadence:
		return 3 * len(r.Progression.chords())
	case BrokenChord:
		switch r.Pattern {
		case ThreeNote:
			return 3*2*rungs + 1
		case FourNote:
			return 4*2*rungs + 1
		}
		return 4*(2*rungs+1) + 1
	}
	return (2*rungs + 1) * r.Double.notes()
}
