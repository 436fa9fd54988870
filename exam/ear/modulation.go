package ear

import (
	"slices"

	"evenhand/references"
)

// goal is a key to which a phrase may go: its names, and the chords by which it gets there.
type goal struct {
	name     string
	accepted []string
	minor    bool // the phrase begins in minor
	level    int
	fifths   int // how many more sharps the new key has
	toMinor  bool
	turn     []harmony // in the new key; the first belongs to the old key too
}

// goals are the nearly related keys; which at which level is chosen by us. The chord that belongs to both
// keys (the pivot) leads over: to the dominant its supertonic is the old submediant, and so on. Common
// practice.
var goals = []goal{
	{"dominant", []string{"dominant major"}, false, 6, 1, false, []harmony{supertonic6, dominant, tonic}},
	{"relative minor", []string{"submediant", "submediant minor"}, false, 6, 0, true, []harmony{subdominant, dominant, tonic}},
	{"subdominant", []string{"subdominant major"}, false, 7, -1, false, []harmony{submediant, subdominant, dominant, tonic}},
	{"relative major", []string{"mediant", "mediant major"}, true, 7, 0, false, []harmony{supertonic6, dominant, tonic}},
	{"dominant minor", []string{"dominant"}, true, 7, 1, true, []harmony{subdominant, dominant, tonic}},
	{"subdominant minor", []string{"subdominant"}, true, 8, -1, true, []harmony{tonic, subdominant, dominant, tonic}},
}

// homes are ways to set up the key that is left.
var homes = [][]harmony{
	{tonic, subdominant, dominant, tonic},
	{tonic, dominant, tonic},
	{tonic, supertonic6, dominant, tonic},
	{tonic, subdominant, tonic, dominant, tonic},
}

// modulation makes a phrase of chords that ends in another key. Up to level 6 it begins in major.
func (it *Item) modulation(l *lot) {
	minor := it.Level > 6 && l.chance(scopes[it.Level].minor)
	var there []goal
	var names []string
	for _, g := range goals {
		if g.level <= it.Level && g.minor == minor {
			there, names = append(there, g), append(names, g.name)
		}
	}
	g := one(l, there)
	sharps := scopes[it.Level].sharps - 1
	home := references.KeyOf(l.between(-sharps, sharps), minor)
	away := references.KeyOf(home.Fifths()+g.fifths, g.toMinor)
	chords := append(inKey(home, one(l, homes)), inKey(away, g.turn)...)
	it.Ask = "Listen to a phrase of chords. It begins in a " + map[bool]string{false: "major", true: "minor"}[minor] +
		" key. To which key does it go: " + choice(names) + "?"
	it.Hearings = []Hearing{hymn(l, home, chords)}
	it.Again = 1
	it.Answer, it.Accepted, it.Choices = g.name, slices.Clone(g.accepted), names
}
