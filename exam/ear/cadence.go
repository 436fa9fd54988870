package ear

import (
	"slices"

	"evenhand/references"
)

// cadenceType is a cadence with its two last chords and its names.
type cadenceType struct {
	name     string
	accepted []string
	ends     [][]harmony
	level    int
}

// The chords in a key that phrases are made of: a root and the degree in the bass.
var (
	tonic       = harmony{root: 0, bass: 0}
	supertonic6 = harmony{root: 1, bass: 3} // in first inversion, so that it is sound in minor too
	subdominant = harmony{root: 3, bass: 3}
	dominant    = harmony{root: 4, bass: 4}
	submediant  = harmony{root: 5, bass: 5}
)

// cadenceTypes are the four usual cadences, with their British and American names, by the level from
// which they are asked. The terms are common practice; the levels are chosen by us.
var cadenceTypes = []cadenceType{
	{"perfect", []string{"authentic", "perfect authentic", "full"}, [][]harmony{{supertonic6, dominant, tonic}, {subdominant, dominant, tonic}}, 5},
	{"imperfect", []string{"half"}, [][]harmony{{supertonic6, dominant}, {tonic, dominant}, {subdominant, dominant}}, 5},
	{"plagal", []string{"amen", "church"}, [][]harmony{{tonic, subdominant, tonic}, {submediant, subdominant, tonic}}, 6},
	{"interrupted", []string{"deceptive", "false"}, [][]harmony{{supertonic6, dominant, submediant}, {subdominant, dominant, submediant}}, 7},
}

// openings are ways to begin a phrase of chords. Each leads on to all of the ends.
var openings = [][]harmony{
	{tonic, subdominant, tonic},
	{tonic, dominant, tonic},
	{tonic, dominant, tonic, submediant},
	{tonic, submediant, subdominant, tonic},
	{tonic, subdominant, dominant, tonic},
	{tonic, supertonic6, dominant, tonic},
}

// cadence makes a phrase of chords in four parts that ends in a cadence.
func (it *Item) cadence(l *lot) {
	var types []cadenceType
	var names []string
	for _, c := range cadenceTypes {
		if c.level <= it.Level {
			types, names = append(types, c), append(names, c.name)
		}
	}
	c := one(l, types)
	key := phraseKey(l, it.Level)
	chords := append(inKey(key, one(l, openings)), inKey(key, one(l, c.ends))...)
	it.Ask = "Listen to a phrase of chords. Is the cadence at its end " + choice(names) + "?"
	it.Hearings = []Hearing{hymn(l, key, chords)}
	it.Again = 1
	it.Answer, it.Accepted, it.Choices = c.name, slices.Clone(c.accepted), names
}

// phraseKey is a key of up to as many sharps or flats as melodies of the level have.
func phraseKey(l *lot, level int) references.Key {
	s := scopes[level]
	return references.KeyOf(l.between(-s.sharps, s.sharps), l.chance(s.minor))
}

// inKey puts chords into a key.
func inKey(key references.Key, chords []harmony) []harmony {
	out := make([]harmony, len(chords))
	for i, c := range chords {
		out[i] = c
		out[i].key = key
	}
	return out
}
