package main

import (
	"testing"

	"evenhand/capture/pupil"
	"evenhand/references"
)

// requests is one of every usual sort, as a teacher says it. Some have more readings than one: each is
// played.
var requests = []string{
	"C major scale, right hand, 1 octave", "G major, left hand, 2 octaves, forte", "D major, hands together, 1 octave",
	"B flat major scale, hands together, contrary motion, piano", "A flat major, hands together, 4 octaves, mf",
	"E major, right hand, 3 octaves, staccato, f", "F sharp major, hands together, mp", "C major, hands together, contrary motion, 1 octave",
	"A minor harmonic, hands together, 2 octaves, p", "E minor melodic, right hand, f", "D minor natural, left hand, mp",
	"G minor, hands together, 2 octaves", "C sharp minor harmonic, contrary motion, mf", "B minor melodic, hands together, 4 octaves, ff",
	"chromatic scale on D, right hand, 2 octaves, p", "chromatic scale on B flat, hands together, f", "chromatic scale on C, contrary motion",
	"C major, a third apart, 2 octaves", "E flat major, a sixth apart, mf", "whole-tone scale on C, right hand, 2 octaves",
	"C major arpeggio, right hand, 2 octaves, p", "G minor arpeggio, left hand, 3 octaves", "E flat major arpeggio, hands together, 2 octaves, f",
	"A major arpeggio, first inversion, right hand, 2 octaves", "dominant seventh in the key of C, hands together, 2 octaves, mp",
	"diminished seventh on B, right hand, 2 octaves", "C major five-finger pattern, right hand", "C major scale in thirds, right hand, 2 octaves",
	"F major broken chord, right hand, 1 octave", "D major, hands together, 80 bpm, 2 notes to the beat, mf",
}

// casesOf draws n takes of every class of fault over all readings of all requests, and the request
// that each is of.
func casesOf(t testing.TB, seed uint64, n int) ([]pupil.Case, map[*references.Reference]string) {
	t.Helper()
	refs, words := readings(t)
	return pupil.Cases(seed, n, refs), words
}

func readings(t testing.TB) ([]*references.Reference, map[*references.Reference]string) {
	t.Helper()
	words := map[*references.Reference]string{}
	var refs []*references.Reference
	for _, w := range requests {
		a, err := findAsked(w, nil)
		if err != nil {
			t.Fatalf("%q: %v", w, err)
		}
		for _, ref := range a.candidates {
			refs = append(refs, ref)
			words[ref] = w
		}
	}
	return refs, words
}
