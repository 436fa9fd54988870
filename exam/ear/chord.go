package ear

import (
	"strings"
	"time"

	"evenhand/references"
)

// chordType is a chord by the places of its notes above its root, in letters and semitones.
type chordType struct {
	name  string
	notes [][2]int
}

// The chords that are asked for.
var (
	majorTriad      = chordType{"major", [][2]int{{0, 0}, {2, 4}, {4, 7}}}
	minorTriad      = chordType{"minor", [][2]int{{0, 0}, {2, 3}, {4, 7}}}
	diminishedTriad = chordType{"diminished", [][2]int{{0, 0}, {2, 3}, {4, 6}}}
	augmentedTriad  = chordType{"augmented", [][2]int{{0, 0}, {2, 4}, {4, 8}}}
	dominantSeventh = chordType{"dominant seventh", [][2]int{{0, 0}, {2, 4}, {4, 7}, {6, 10}}}
)

// The positions of a chord, by which of its notes is lowest.
var positions = [...]string{"root position", "first inversion", "second inversion"}

// chordsAt are the chords of a level, and in how many positions: major and minor, then diminished, from
// level 5 on augmented, from level 6 on inverted, at level 8 the dominant seventh. Chosen by us.
func chordsAt(level int) (types []chordType, inversions int) {
	types, inversions = []chordType{majorTriad, minorTriad}, 1
	if level >= 4 {
		types = append(types, diminishedTriad)
	}
	if level >= 5 {
		types = append(types, augmentedTriad)
	}
	if level >= 6 {
		inversions = 3
	}
	if level >= 8 {
		types = append(types, dominantSeventh)
	}
	return types, inversions
}

// inverts says whether a chord is asked for in inversions too. An augmented triad sounds the same in
// all of them; of a dominant seventh only the root position is asked for.
func (t chordType) inverts() bool { return t.name != "augmented" && t.name != "dominant seventh" }

// named is how the answer names a chord: with its position where the level has inversions.
func (t chordType) named(inversion, inversions int) string {
	if inversions == 1 || !t.inverts() {
		return t.name
	}
	return t.name + ", " + positions[inversion]
}

// chord makes a close chord in the middle register, heard whole, then note by note from below, then
// whole again.
func (it *Item) chord(l *lot) {
	types, inversions := chordsAt(it.Level)
	t, inversion := one(l, types), 0
	if t.inverts() {
		inversion = l.below(inversions)
	}
	keys := t.keys(references.Name{Step: references.Step(l.below(7))}, l, inversion)
	var p player
	p.chord(2*time.Second, 72, keys...)
	p.rest(300 * time.Millisecond)
	for _, k := range keys {
		p.chord(700*time.Millisecond, 72, k)
	}
	p.rest(300 * time.Millisecond)
	p.chord(2*time.Second, 72, keys...)

	names := make([]string, len(types))
	for i, other := range types {
		names[i] = other.name
	}
	it.Ask = "Listen to a chord. Is it " + choice(names) + "?"
	if inversions > 1 && t.inverts() {
		it.parts = []part{{t.name, names}, {positions[inversion], positions[:]}}
	}
	if inversions > 1 {
		it.Ask += " Is it in root position, or which inversion is it?"
	}
	it.Hearings = []Hearing{{Sounds: p.sounds}}
	it.Again = -1
	it.Answer = t.named(inversion, inversions)
	it.Accepted = t.accepted(inversion, inversions)
	it.Choices = chordChoices(l, t, inversion, types, inversions)
}

// choice joins names by commas, and the last by "or".
func choice(names []string) string {
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

// keys are the chord on a root of that letter, natural, sharp or flat, in an octave that puts it round
// the middle of the piano.
func (t chordType) keys(root references.Name, l *lot, inversion int) []int {
	root.Alter = int8(l.between(-1, 1))
	low := references.Pitch{Name: root, Octave: 4}
	var keys []int
	for i, n := range t.notes {
		k := low.Up(n[0], n[1]).Key()
		if i < inversion {
			k += 12
		}
		keys = append(keys, k)
	}
	keys = append(keys[inversion:], keys[:inversion]...)
	down := 0
	for keys[0]+down > 64 {
		down -= 12
	}
	for i := range keys {
		keys[i] += down
	}
	return keys
}

// accepted are the other wordings of the answer.
func (t chordType) accepted(inversion, inversions int) []string {
	out := []string{t.name + " chord"}
	if t.name == "dominant seventh" {
		out = append(out, "dominant 7th")
	} else {
		out = append(out, t.name+" triad")
	}
	if inversions > 1 && t.inverts() {
		out = []string{
			t.name + " chord, " + positions[inversion], t.name + " triad, " + positions[inversion],
			positions[inversion] + ", " + t.name,
		}
		if inversion == 0 {
			out = append(out, t.name+", root")
		}
	} else if inversions > 1 {
		out = append(out, t.name+", root position")
	}
	return out
}

// chordChoices are the right chord among others of the level, in the order in which they are learnt.
func chordChoices(l *lot, right chordType, inversion int, types []chordType, inversions int) []string {
	var all []string
	for _, t := range types {
		for i := range inversions {
			if i == 0 || t.inverts() {
				all = append(all, t.named(i, inversions))
			}
		}
	}
	return fewChoices(l, right.named(inversion, inversions), all)
}

// fewChoices keeps the right answer and up to three others, in their order.
func fewChoices(l *lot, right string, all []string) []string {
	keep := map[string]bool{right: true}
	for _, c := range mixed(l, all) {
		if len(keep) < 4 {
			keep[c] = true
		}
	}
	var out []string
	for _, c := range all {
		if keep[c] {
			out = append(out, c)
		}
	}
	return out
}
