package ear

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/internal/outside"
)

// struck are the keys that are struck together, group by group, from a time on.
func struck(h Hearing, from time.Duration) [][]int {
	var out [][]int
	last := time.Duration(-1)
	for _, s := range h.Sounds {
		if s.On < from {
			continue
		}
		if s.On != last {
			out = append(out, nil)
		}
		last = s.On
		out[len(out)-1] = append(out[len(out)-1], int(s.Key))
	}
	return out
}

// TestIntervals: what is heard is what the answer says, by the table of interval widths (common
// practice); never a unison, never wider than an octave.
func TestIntervals(t *testing.T) {
	widths := map[string][]int{
		"second": {1, 2}, "third": {3, 4}, "fourth": {5}, "fifth": {7}, "sixth": {8, 9}, "octave": {12},
		"minor second": {1}, "major second": {2}, "minor third": {3}, "major third": {4}, "perfect fourth": {5},
		"diminished fifth": {6}, "perfect fifth": {7}, "minor sixth": {8}, "major sixth": {9}, "minor seventh": {10}, "major seventh": {11},
	}
	found := map[string]bool{}
	falling := 0
	for seed := range uint64(2000) {
		level := int(seed % 9)
		it := Draw(Interval, level, seed)
		groups := struck(it.Hearings[0], 0)
		together := groups[len(groups)-1]
		if len(together) != 2 || !slices.Contains(widths[it.Answer], together[1]-together[0]) {
			t.Errorf("level %d seed %d: %v for %q", level, seed, groups, it.Answer)
		}
		if len(groups) == 3 && groups[0][0] > groups[1][0] {
			falling++
			if level < 4 {
				t.Errorf("level %d seed %d: the upper note comes first", level, seed)
			}
		}
		if it.Again != -1 || together[0] < 55 || together[1] > 80 {
			t.Errorf("level %d seed %d: again %d, keys %v", level, seed, it.Again, together)
		}
		found[it.Answer] = true
	}
	for name := range widths {
		if !found[name] {
			t.Errorf("never asked: %s", name)
		}
	}
	if falling < 200 {
		t.Errorf("only %d of 2000 fall", falling)
	}
}

// TestIntervalAnswers: the usual wordings are taken; number or quality alone is worth half.
func TestIntervalAnswers(t *testing.T) {
	find := func(level int, answer string) Item {
		for seed := uint64(0); ; seed++ {
			if it := Draw(Interval, level, seed); it.Answer == answer {
				return it
			}
		}
	}
	for _, c := range []struct {
		level        int
		answer, said string
		mark         int
	}{
		{6, "minor third", "Minor 3rd", 100},
		{6, "minor third", "it is a minor third", 100},
		{6, "minor third", "min 3", 100},
		{6, "minor third", "third", 50},
		{6, "minor third", "major third", 50},
		{6, "minor third", "minor sixth", 50},
		{6, "minor third", "minor or major third", 50},
		{6, "minor third", "perfect fifth", 0},
		{8, "diminished fifth", "tritone", 100},
		{8, "diminished fifth", "augmented fourth", 100},
		{8, "diminished fifth", "aug 4th", 100},
		{8, "diminished fifth", "perfect fifth", 50},
		{6, "octave", "8ve", 100},
		{6, "octave", "perfect octave", 100},
		{0, "third", "3rd", 100},
		{0, "third", "3", 100},
		{0, "third", "major third", 100},
		{0, "third", "second", 0},
	} {
		if v := find(c.level, c.answer).JudgeAnswer(c.said); *v.Mark != c.mark {
			t.Errorf("%q for %q: %d, want %d: %s", c.said, c.answer, *v.Mark, c.mark, v.Reason)
		}
	}
}

// detect names chords. The packages that @tonaljs/tonal 4.10.0 brings along name a main file that is not
// there (index.js, for index.cjs): it is put right on the way.
const detect = `
import { readFileSync } from 'node:fs';
import Module from 'node:module';
const resolve = Module._resolveFilename;
Module._resolveFilename = function (name, ...rest) {
  try { return resolve.call(this, name, ...rest); } catch (e) {
    if (!name.startsWith('@tonaljs/')) throw e;
    return resolve.call(this, name + '/dist/index.cjs', ...rest);
  }
};
const { Chord, Note } = Module.createRequire(process.cwd() + '/').call(null, '@tonaljs/tonal');
const chords = JSON.parse(readFileSync(0, 'utf8'));
console.log(JSON.stringify(chords.map(keys => Chord.detect(keys.map(k => Note.pitchClass(Note.fromMidi(k)))))));`

// named is what the Node.js library @tonaljs/tonal calls chords: names such as "Em", "Cdim" or "CM/E",
// the lowest note after the stroke, likeliest first.
func named(t *testing.T, chords [][]int) [][]string {
	t.Helper()
	in, err := json.Marshal(chords)
	if err != nil {
		t.Fatal(err)
	}
	var names [][]string
	if err := json.Unmarshal(outside.Node(t, detect, in), &names); err != nil {
		t.Fatal(err)
	}
	return names
}

// TestChords: @tonaljs/tonal calls each chord what the answer calls it, in the same position; it is close
// and in the middle of the piano.
func TestChords(t *testing.T) {
	var items []Item
	var chords [][]int
	for seed := range uint64(600) {
		it := Draw(Chord, int(seed%9), seed)
		groups := struck(it.Hearings[0], 0)
		first, last := groups[0], groups[len(groups)-1]
		if !slices.Equal(first, last) || len(groups) != 2+len(first) {
			t.Errorf("seed %d: heard %v", seed, groups)
		}
		if first[len(first)-1]-first[0] >= 12 || first[0] < 52 || first[len(first)-1] > 76 {
			t.Errorf("seed %d: %v is not close, or not in the middle", seed, first)
		}
		items, chords = append(items, it), append(chords, first)
	}
	signs := map[string]string{"major": "M", "minor": "m", "diminished": "dim", "augmented": "aug", "dominant seventh": "7"}
	found := map[string]int{}
	for i, names := range named(t, chords) {
		it := items[i]
		quality, position, _ := strings.Cut(it.Answer, ", ")
		pitch := func(k int) string {
			return []string{"C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B"}[k%12]
		}
		keys := chords[i]
		root, stroke := keys[0], ""
		switch position {
		case "first inversion":
			root, stroke = keys[2], "/"+pitch(keys[0])
		case "second inversion":
			root, stroke = keys[1], "/"+pitch(keys[0])
		}
		want := pitch(root) + signs[quality] + stroke
		if !slices.Contains(names, want) {
			t.Errorf("%s, seed %d: %v is called %v, want %s", it.Answer, it.Seed, keys, names, want)
		}
		found[it.Answer]++
	}
	for _, a := range []string{"major", "minor", "diminished", "augmented", "dominant seventh", "major, second inversion", "minor, first inversion", "diminished, root position"} {
		if found[a] == 0 {
			t.Errorf("never asked: %s", a)
		}
	}
}

// hymnChords are the chords of a phrase after its lead-in.
func hymnChords(it Item) [][]int { return struck(it.Hearings[0], it.Hearings[0].Start) }

// root is the root of a chord, as @tonaljs/tonal has it, in semitones above a key, and whether it is minor.
func root(name string, above int) (semitones int, minor bool) {
	name, _, _ = strings.Cut(name, "/")
	letters := map[byte]int{'C': 0, 'D': 2, 'E': 4, 'F': 5, 'G': 7, 'A': 9, 'B': 11}
	class := letters[name[0]] + strings.Count(name, "#")
	rest := strings.TrimLeft(name[1:], "#")
	if strings.HasPrefix(rest, "b") {
		class, rest = class-1, rest[1:]
	}
	return ((class-above)%12 + 12) % 12, rest == "m"
}

// TestCadences: the last two chords, named by @tonaljs/tonal, are those of the cadence in the key whose
// chord is heard first: V-I, IV-I, V-VI, or whatever ends on V (common practice).
func TestCadences(t *testing.T) {
	var items []Item
	var pairs [][]int
	for seed := range uint64(400) {
		it := Draw(Cadence, 5+int(seed%4), seed)
		c := hymnChords(it)
		items, pairs = append(items, it), append(pairs, c[len(c)-2], c[len(c)-1])
	}
	names := named(t, pairs)
	found := map[string]int{}
	for i, it := range items {
		if len(names[2*i]) == 0 || len(names[2*i+1]) == 0 {
			t.Errorf("seed %d: %v is no chord that is known", it.Seed, pairs[2*i:2*i+2])
			continue
		}
		tonic := int(it.Hearings[0].Sounds[0].Key)
		a, _ := root(names[2*i][0], tonic)
		b, _ := root(names[2*i+1][0], tonic)
		heard := ""
		switch {
		case b == 7:
			heard = "imperfect"
		case a == 7 && b == 0:
			heard = "perfect"
		case a == 5 && b == 0:
			heard = "plagal"
		case a == 7 && (b == 8 || b == 9):
			heard = "interrupted"
		}
		if heard != it.Answer {
			t.Errorf("level %d seed %d: %v to %v is %q, the answer is %q", it.Level, it.Seed, names[2*i], names[2*i+1], heard, it.Answer)
		}
		found[it.Answer]++
	}
	if len(found) != 4 {
		t.Errorf("asked: %v", found)
	}
}

// TestModulations: the last two chords are the dominant and the tonic of the key that is the answer, seen
// from the key whose chord is heard first.
func TestModulations(t *testing.T) {
	type place struct {
		above int
		minor bool
	}
	keys := map[bool]map[place]string{
		false: {{7, false}: "dominant", {5, false}: "subdominant", {9, true}: "relative minor"},
		true:  {{3, false}: "relative major", {7, true}: "dominant minor", {5, true}: "subdominant minor"},
	}
	var items []Item
	var pairs [][]int
	for seed := range uint64(400) {
		it := Draw(Modulation, 6+int(seed%3), seed)
		c := hymnChords(it)
		items, pairs = append(items, it), append(pairs, c[len(c)-2], c[len(c)-1])
	}
	names := named(t, pairs)
	found := map[string]int{}
	for i, it := range items {
		s := it.Hearings[0].Sounds
		a, dominantIsMinor := root(names[2*i][0], int(s[0].Key))
		b, minor := root(names[2*i+1][0], int(s[0].Key))
		want := keys[s[1].Key-s[0].Key == 3][place{b, minor}]
		if want != it.Answer || (a-b+12)%12 != 7 || dominantIsMinor {
			t.Errorf("level %d seed %d: %v to %v is %q, the answer is %q", it.Level, it.Seed, names[2*i], names[2*i+1], want, it.Answer)
		}
		found[it.Answer]++
	}
	if len(found) != 6 {
		t.Errorf("asked: %v", found)
	}
}

// TestVoices: in all phrases of chords no two voices move in parallel fifths or octaves, voices keep
// their order and move little, and no upper voice has an augmented second (common practice).
func TestVoices(t *testing.T) {
	for _, kind := range []Kind{Cadence, Modulation} {
		for seed := range seeds() / 8 {
			it := Draw(kind, TopLevel, seed)
			chords := hymnChords(it)
			for i, c := range chords {
				where := fmt.Sprintf("%s, seed %d, chord %d: ", kind, seed, i)
				if len(c) != 4 || !slices.IsSorted(c) || c[3]-c[1] > 12 {
					t.Errorf("%sthe voices are %v", where, c)
				}
				if i == 0 {
					continue
				}
				for v := range c {
					moved := max(c[v]-chords[i-1][v], chords[i-1][v]-c[v])
					if v > 0 && moved > 7 || moved > 12 {
						t.Errorf("%s%v follows %v", where, c, chords[i-1])
					}
					for w := range v {
						a, b := chords[i-1][v]-chords[i-1][w], c[v]-c[w]
						if (a%12 == 7 || a%12 == 0) && a%12 == b%12 && moved > 0 {
							t.Errorf("%sparallels from %v to %v", where, chords[i-1], c)
						}
					}
				}
			}
		}
	}
}
