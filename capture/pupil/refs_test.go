package pupil

import (
	"strings"
	"testing"

	"evenhand/references"
)

// part writes one hand's line: "C4 Eb4 F#4+A4", each word half a beat long; a dash is a rest.
func part(t testing.TB, ref *references.Reference, hand references.Hand, words string) {
	t.Helper()
	high, dir := -1, references.Up
	for i, word := range strings.Fields(words) {
		if word == "-" {
			continue
		}
		for _, name := range strings.Split(word, "+") {
			p := references.Pitch{Name: references.Name{Step: references.Step(strings.Index("CDEFGAB", name[:1]))}, Octave: int8(name[len(name)-1] - '0')}
			p.Alter = int8(strings.Count(name, "#") - strings.Count(name, "b"))
			if p.Key() < high {
				dir = references.Down
			}
			high = p.Key()
			n := references.Note{Onset: references.Q(int64(i), 2), Length: references.Q(1, 2), Pitch: p, Hand: hand, Direction: dir, Finger: int8(1 + i%3)}
			ref.Notes = append(ref.Notes, n)
		}
	}
	ref.Beat = references.Q(1, 1)
	ref.Sort()
}

const (
	cUpDown  = "C4 D4 E4 F4 G4 A4 B4 C5 D5 E5 F5 G5 A5 B5 C6 B5 A5 G5 F5 E5 D5 C5 B4 A4 G4 F4 E4 D4 C4"
	cLow     = "C3 D3 E3 F3 G3 A3 B3 C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4 B3 A3 G3 F3 E3 D3 C3"
	cMirror  = "C4 B3 A3 G3 F3 E3 D3 C3 B2 A2 G2 F2 E2 D2 C2 D2 E2 F2 G2 A2 B2 C3 D3 E3 F3 G3 A3 B3 C4"
	dUpDown  = "D4 E4 F#4 G4 A4 B4 C#5 D5 C#5 B4 A4 G4 F#4 E4 D4"
	chords   = "C4+E4+G4 E4+G4+C5 G4+C5+E5 C5+E5+G5 G4+C5+E5 E4+G4+C5 C4+E4+G4"
	aMelodic = "A3 B3 C4 D4 E4 F#4 G#4 A4 G4 F4 E4 D4 C4 B3 A3"
)

func rightHand(t testing.TB) *references.Reference {
	ref := &references.Reference{Title: "right hand"}
	part(t, ref, references.Right, cUpDown)
	return ref
}

func similar(t testing.TB) *references.Reference {
	ref := &references.Reference{Title: "similar motion"}
	part(t, ref, references.Right, cUpDown)
	part(t, ref, references.Left, cLow)
	for i := range ref.Notes {
		ref.Notes[i].Dynamic = references.Forte
	}
	return ref
}

// contrary starts and ends on a unison of the hands.
func contrary(t testing.TB) *references.Reference {
	ref := &references.Reference{Title: "contrary motion"}
	part(t, ref, references.Right, cUpDown)
	part(t, ref, references.Left, cMirror)
	notes := ref.Notes[:0]
	for _, n := range ref.Notes {
		if n.Pitch.Key() == 60 {
			if n.Hand == references.Left {
				continue
			}
			n.Hand = references.Both
		}
		notes = append(notes, n)
	}
	ref.Notes = notes
	return ref
}

func minor(t testing.TB) *references.Reference {
	ref := &references.Reference{Title: "A melodic minor", Minor: true}
	ref.Request = &references.Request{Kind: references.Scale, Tonic: references.Name{Step: references.A}, Form: references.MelodicMinor}
	part(t, ref, references.Right, aMelodic)
	return ref
}

func dMajor(t testing.TB) *references.Reference {
	ref := &references.Reference{Title: "D major", Fifths: 2, Beat: references.Q(1, 1)}
	part(t, ref, references.Right, dUpDown)
	for i := range ref.Notes {
		ref.Notes[i].Dynamic = references.Piano
		ref.Notes[i].Touch = references.Staccato
	}
	return ref
}

func triads(t testing.TB) *references.Reference {
	ref := &references.Reference{Title: "triads"}
	part(t, ref, references.Left, chords)
	return ref
}

func allRefs(t testing.TB) []*references.Reference {
	return []*references.Reference{rightHand(t), similar(t), contrary(t), minor(t), dMajor(t), triads(t)}
}
