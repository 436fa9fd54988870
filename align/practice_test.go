package align_test

import (
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/internal/outside"
	"evenhand/references"
)

// TestPracticeNamesWhatIsPlayed strings requests together, one with a wrong note in it, the last two
// sharing a tonic.
func TestPracticeNamesWhatIsPlayed(t *testing.T) {
	words := []string{
		"C major scale, 2 octaves", "A harmonic minor scale, 2 octaves", "G major arpeggio, right hand, 2 octaves",
		"B flat major scale, contrary motion, 2 octaves", "D melodic minor scale, right hand, 1 octave",
	}
	var notes []capture.Note
	at := time.Duration(0)
	for k, w := range words {
		r, err := references.Parse(w)
		if err != nil {
			t.Fatal(err)
		}
		take := perform(mustReference(t, r), 0, 0)
		if k == 1 {
			take.Notes[7].Key++
		}
		for _, n := range take.Notes {
			n.On, n.Off = n.On+at, n.Off+at
			notes = append(notes, n)
		}
		at = notes[len(notes)-1].On - 700*time.Millisecond
	}
	var got []string
	for _, p := range align.Practice(notes, references.Catalogue()) {
		if p.Request == nil {
			t.Errorf("notes %d to %d were not named", p.First, p.Last)
			continue
		}
		got = append(got, p.Request.Describe())
	}
	if len(got) != len(words) {
		t.Fatalf("%d passages named: %q", len(got), got)
	}
	for k, w := range words {
		r, _ := references.Parse(w)
		if want := r.Candidates()[0].Request.Describe(); got[k] != want {
			t.Errorf("passage %d is %q, want %q", k, got[k], want)
		}
	}
}

// TestPracticeOfAPianist hears a real pianist practise scales for three minutes (the open Hanon
// recording). What the scales are was read off its notes by hand: it goes through the keys with their
// relative minors, harmonic and melodic, the melodic beginning on the note that ends the harmonic.
func TestPracticeOfAPianist(t *testing.T) {
	take, err := capture.ReadFile(outside.Data(t, "hanon", "take.mid"))
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"C major", "A harmonic minor", "A melodic minor", "G major", "E harmonic minor", "E melodic minor",
		"D major", "B harmonic minor", "B melodic minor", "C major", "A harmonic minor", "A melodic minor",
		"A major", "F sharp harmonic minor", "F sharp melodic minor",
	}
	var got []string
	named := 0
	for _, p := range align.Practice(take.Notes, references.Catalogue()) {
		if p.Request == nil {
			continue
		}
		named += p.Last - p.First
		what := p.Request.Describe()
		name, rest, _ := strings.Cut(what, " scale, ")
		got = append(got, name)
		if rest != "hands together, similar motion, 4 octaves" {
			t.Errorf("at %.1f s: %s", take.Notes[p.First].On.Seconds(), what)
		}
	}
	if diff := cmp.Diff(want, got); diff != "" {
		t.Errorf("scales named (-want +got):\n%s", diff)
	}
	if named < len(take.Notes)*99/100 {
		t.Errorf("%d of %d notes are in a named passage", named, len(take.Notes))
	}
}
