package main

import (
	"strings"
	"testing"

	"evenhand/scoring"
)

// What passes by is what is marked: a run given up is written without marks.
func TestPassingBy(t *testing.T) {
	take, err := writtenTake("C4 D4 E♭4 F4 G4\nwait 2\nC4 D4 E4 F4 G4 A4 B4 C5 B4 A4 F4@40 G4 F4 E4 D4")
	if err != nil {
		t.Fatal(err)
	}
	a, err := findAsked("C major scale, right hand, 1 octave", nil)
	if err != nil {
		t.Fatal(err)
	}
	alignment, assessment := a.judgeWhole(take, "take", scoring.DefaultSettings())
	var got []string
	for _, words := range passingBy(alignment, assessment) {
		got = append(got, words...)
	}
	want := "C4 D4 D♯4 F4 G4 again: C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 /F4/ G4 F4 E4 D4 ^C4"
	if s := strings.Join(got, " "); s != want {
		t.Errorf("got  %s\nwant %s", s, want)
	}
}
