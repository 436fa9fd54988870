package references

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"evenhand/internal/outside"
)

// tonalScript answers a list of questions, such as ["scale", "C#", "harmonic minor"], with lists of
// note names. The packages that @tonaljs/tonal 4.10.0 brings along name a file in their package.json
// that they do not ship, so the hook points Node.js to the one they do.
const tonalScript = `
import { register } from 'node:module';
const hook = ` + "`" + `export async function resolve(name, context, next) {
  const ours = name.startsWith('@tonaljs/');
  const found = await next(ours ? name + '/dist/index.mjs' : name, context);
  return ours ? { ...found, format: 'module' } : found;
}` + "`" + `;
register('data:text/javascript,' + encodeURIComponent(hook), 'file://' + process.cwd() + '/');
const { Scale, Chord, Key, Note } = await import('@tonaljs/tonal');
let text = '';
for await (const chunk of process.stdin) text += chunk;
const answer = ([what, tonic, form]) => {
  switch (what) {
    case 'scale': return Scale.get(tonic + ' ' + form).notes;
    case 'chord': return Chord.getChord(form, tonic).notes;
    case 'signature': return [(form === 'major' ? Key.majorKey(tonic) : Key.minorKey(tonic)).keySignature];
    case 'midi': return [String(Note.midi(tonic))];
  }
};
console.log(JSON.stringify(JSON.parse(text).map(answer)));
`

// ask is one question to the library and what this package says.
type ask struct {
	question [3]string
	ours     []string
	byKey    bool // compare the keys of the piano, not the spelling
}

func ascii(n Name) string {
	return strings.NewReplacer("♯", "#", "♭", "b", "𝄪", "##", "𝄫", "bb").Replace(n.String())
}

// firstOctave is the right hand's notes up to the octave, as they are written out.
func firstOctave(t *testing.T, r Request) []string {
	t.Helper()
	r.Hands, r.Octaves = RightAlone, 1
	ref := build(t, r)
	var names []string
	for i := range ref.Notes[:len(ref.Notes)/2] {
		names = append(names, ascii(ref.Notes[i].Pitch.Name))
	}
	return names
}

// TestSpellingAgainstTonal compares every key's signature, scales, arpeggios and sevenths with
// @tonaljs/tonal 4.10.0.
func TestSpellingAgainstTonal(t *testing.T) {
	var asks []ask
	scale := func(k Key, f Form, name string) {
		r := Request{Kind: Scale, Tonic: k.Tonic, Form: f}
		asks = append(asks, ask{[3]string{"scale", ascii(k.Tonic), name}, firstOctave(t, r), f == Chromatic || f == WholeTone})
	}
	chord := func(root Name, f Form, name string) {
		r := Request{Kind: Arpeggio, Tonic: root, Form: f}
		asks = append(asks, ask{[3]string{"chord", ascii(root), name}, firstOctave(t, r), false})
	}
	for fifths := -7; fifths <= 7; fifths++ {
		major, minor := KeyOf(fifths, false), KeyOf(fifths, true)
		sign := strings.Repeat("#", max(fifths, 0)) + strings.Repeat("b", max(-fifths, 0))
		for name, k := range map[string]Key{"major": major, "minor": minor} {
			if k.Fifths() != fifths || len(k.Signature()) != len(sign) {
				t.Errorf("%s has signature %d, %v", k, k.Fifths(), k.Signature())
			}
			asks = append(asks, ask{[3]string{"signature", ascii(k.Tonic), name}, []string{sign}, false})
		}
		scale(major, Major, "major")
		scale(minor, NaturalMinor, "minor")
		scale(minor, HarmonicMinor, "harmonic minor")
		scale(minor, MelodicMinor, "melodic minor")
		scale(major, Chromatic, "chromatic")
		scale(major, WholeTone, "whole tone")
		chord(major.Tonic, Major, "M")
		chord(minor.Tonic, Minor, "m")
		chord(Pitch{major.Tonic, 4}.Up(4, 7).Name, DominantSeventh, "7")
		chord(Pitch{major.Tonic, 4}.Up(6, 11).Name, DiminishedSeventh, "dim7")
	}
	for _, step := range []Step{C, D, E, F, G, A, B} {
		for alter := int8(-2); alter <= 2; alter++ {
			for _, octave := range []int8{0, 4, 8} {
				p := Pitch{Name{step, alter}, octave}
				asks = append(asks, ask{[3]string{"midi", ascii(p.Name) + fmt.Sprint(octave), ""}, []string{fmt.Sprint(p.Key())}, false})
			}
		}
	}

	questions := make([][3]string, len(asks))
	for i := range asks {
		questions[i] = asks[i].question
	}
	in, err := json.Marshal(questions)
	if err != nil {
		t.Fatal(err)
	}
	var answers [][]string
	if err := json.Unmarshal(outside.Node(t, tonalScript, in), &answers); err != nil {
		t.Fatal(err)
	}
	for i, a := range asks {
		ours, theirs := strings.Join(a.ours, " "), strings.Join(answers[i], " ")
		if a.byKey {
			ours, theirs = classes(a.ours), classes(answers[i])
		}
		if ours != theirs {
			t.Errorf("%s:\n ours  %s\n tonal %s", strings.Join(a.question[:], " "), ours, theirs)
		}
	}
	t.Logf("%d signatures, scales, chords and key numbers compared", len(asks))
}

// classes gives the pitch classes of names such as "F##".
func classes(names []string) string {
	var b strings.Builder
	for _, n := range names {
		pc := Name{stepOf(n[0]), int8(strings.Count(n, "#") - strings.Count(n[1:], "b"))}.PitchClass()
		fmt.Fprint(&b, pc, " ")
	}
	return b.String()
}
