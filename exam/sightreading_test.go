package exam_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"evenhand/exam"
	"evenhand/internal/outside"
	"evenhand/references"
	"evenhand/references/musicxml"
)

var quartersEqual = cmp.Comparer(func(a, b references.Quarters) bool { return a == b })

func TestReadingIsMusicXML(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ref := exam.ReadAtSight(rapid.IntRange(0, 8).Draw(t, "level"), rapid.Uint64().Draw(t, "seed"))
		var b bytes.Buffer
		if err := musicxml.Write(&b, ref); err != nil {
			t.Fatal(err)
		}
		read, err := musicxml.Read(&b)
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(ref, read, quartersEqual, cmpopts.EquateEmpty()); diff != "" {
			t.Errorf("made and read back (-made +read):\n%s", diff)
		}
	})
}

// keyScript answers with the notes of scales and chords by @tonaljs/tonal 4.10.0. The hook points Node.js
// to the files that its packages ship.
const keyScript = `
import { register } from 'node:module';
const hook = ` + "`" + `export async function resolve(name, context, next) {
  const ours = name.startsWith('@tonaljs/');
  const found = await next(ours ? name + '/dist/index.mjs' : name, context);
  return ours ? { ...found, format: 'module' } : found;
}` + "`" + `;
register('data:text/javascript,' + encodeURIComponent(hook), 'file://' + process.cwd() + '/');
const { Scale, Chord } = await import('@tonaljs/tonal');
let text = '';
for await (const chunk of process.stdin) text += chunk;
console.log(JSON.stringify(JSON.parse(text).map(([kind, name]) => (kind === 'scale' ? Scale : Chord).get(name).notes)));
`

// tonal asks for the notes of scales ("Bb harmonic minor") and chords ("GM").
func tonal(t *testing.T, questions [][2]string) []string {
	t.Helper()
	in, err := json.Marshal(questions)
	if err != nil {
		t.Fatal(err)
	}
	var answers [][]string
	if err := json.Unmarshal(outside.Node(t, keyScript, in), &answers); err != nil {
		t.Fatal(err)
	}
	var out []string
	for i, a := range answers {
		if len(a) == 0 {
			t.Fatalf("no notes of %v", questions[i])
		}
		out = append(out, " "+strings.Join(a, " ")+" ")
	}
	return out
}

func ascii(n references.Name) string {
	return strings.NewReplacer("♯", "#", "♭", "b", "𝄪", "##", "𝄫", "bb").Replace(n.String())
}

// Every note belongs to the key, the last bar but one to the dominant and the last to the tonic, by
// @tonaljs/tonal.
func TestReadingIsInKeyAndEndsInACadence(t *testing.T) {
	var refs []*references.Reference
	var questions [][2]string
	for level := range 9 {
		for seed := range uint64(60) {
			ref := exam.ReadAtSight(level, seed)
			refs = append(refs, ref)
			k := references.KeyOf(ref.Fifths, ref.Minor)
			scale, chord := " major", "M"
			if ref.Minor {
				scale, chord = " harmonic minor", "m"
			}
			fifth := references.Pitch{Name: k.Tonic, Octave: 4}.Up(4, 7).Name
			questions = append(questions, [2]string{"scale", ascii(k.Tonic) + scale}, [2]string{"chord", ascii(fifth) + "M"}, [2]string{"chord", ascii(k.Tonic) + chord})
		}
	}
	answers := tonal(t, questions)
	for i, ref := range refs {
		scale, fifth, home := answers[3*i], answers[3*i+1], answers[3*i+2]
		for _, n := range ref.Notes {
			name := " " + ascii(n.Pitch.Name) + " "
			last, strong := n.Measure-len(ref.Bars)+1, n.Onset == ref.Bars[n.Measure].Onset
			switch {
			case !strings.Contains(scale, name):
				t.Errorf("%v: %s in bar %s is not in the key", questions[3*i], n.Pitch, n.Bar)
			case last == 0 && !strings.Contains(home, name), last == -1 && strong && !strings.Contains(fifth, name):
				t.Errorf("%v: %s in bar %s of %d is no note of the cadence", questions[3*i], n.Pitch, n.Bar, len(ref.Bars))
			}
		}
		if last := ref.Notes[len(ref.Notes)-1]; last.Pitch.Name != references.KeyOf(ref.Fifths, ref.Minor).Tonic {
			t.Errorf("%v ends on %s", questions[3*i], last.Pitch)
		}
	}
}

// shortest is the shortest note of a level, in quarters; a level below reads what one above reads too.
var shortest = []references.Quarters{
	references.Q(1, 1), references.Q(1, 2), references.Q(1, 2), references.Q(1, 2), references.Q(1, 2),
	references.Q(1, 4), references.Q(1, 4), references.Q(1, 4), references.Q(1, 4),
}

func TestReadingProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		level, seed := rapid.IntRange(0, 8).Draw(t, "level"), rapid.Uint64().Draw(t, "seed")
		ref := exam.ReadAtSight(level, seed)
		if !cmp.Equal(ref, exam.ReadAtSight(level, seed), quartersEqual) {
			t.Error("the same seed gives other music")
		}
		if low, high := ref.Span(); low < 36 || high > 96 || high-low > 60 {
			t.Errorf("from %d to %d does not lie well on 61 keys", low, high)
		}
		if f := ref.Fifths; f < -6 || f > 6 || level < 2 && (f < -1 || f > 1 || ref.Minor) {
			t.Errorf("level %d in %s", level, references.KeyOf(f, ref.Minor))
		}
		for _, n := range ref.Notes {
			if n.Length.Less(shortest[level]) {
				t.Errorf("bar %s: a note of %s quarters at level %d", n.Bar, n.Length, level)
			}
		}
		barsAreFull(t, ref, level)
		handsKeepApart(t, ref)
		tuneMoves(t, ref)
	})
}

// barsAreFull checks that each hand that plays in a bar fills it without a gap or an overlap, and that
// both play in each bar, or take turns in the first step.
func barsAreFull(t *rapid.T, ref *references.Reference, level int) {
	for i, bar := range ref.Bars {
		playing := 0
		for _, hand := range []references.Hand{references.Right, references.Left} {
			at := bar.Onset
			var lengths []references.Quarters
			for _, n := range ref.Notes {
				switch {
				case n.Measure != i || n.Hand != hand:
				case len(lengths) > 0 && n.Onset.Add(n.Length) == at:
					lengths = append(lengths, n.Length) // struck with the one before
				case n.Onset != at:
					t.Errorf("bar %s, %s hand: a note at %s, and the bar is full up to %s", bar.Number, hand, n.Onset, at)
				default:
					at = at.Add(n.Length)
					lengths = append(lengths, n.Length)
				}
			}
			if len(lengths) > 0 {
				playing++
				if at != bar.Onset.Add(bar.Length) {
					t.Errorf("bar %s, %s hand: full up to %s of %s", bar.Number, hand, at, bar.Onset.Add(bar.Length))
				}
			}
		}
		if want := 2; playing != want && (level > 0 || playing == 0) || bar.Length != bar.Meter.Length() {
			t.Errorf("bar %s of %s quarters: %d hands play", bar.Number, bar.Length, playing)
		}
	}
	if n := len(ref.Bars); n != 4 && n != 8 && n != 12 && n != 16 {
		t.Errorf("%d bars", n)
	}
}

// handsKeepApart checks that what the hands play at once does not cross or meet, and lies within an octave
// in each.
func handsKeepApart(t *rapid.T, ref *references.Reference) {
	events := ref.Events()
	for i, first := range events[:len(events)-1] {
		lows, highs := map[references.Hand]int{}, map[references.Hand]int{}
		for _, n := range ref.Notes[first:events[i+1]] {
			if _, ok := lows[n.Hand]; !ok {
				lows[n.Hand] = n.Key()
			}
			highs[n.Hand] = n.Key()
		}
		if l, ok := highs[references.Left]; ok && len(lows) == 2 && l >= lows[references.Right] {
			t.Errorf("at %s the left hand has %d and the right %d", ref.Notes[first].Onset, l, lows[references.Right])
		}
		for hand := range lows {
			if highs[hand]-lows[hand] > 12 {
				t.Errorf("at %s the %s hand spans %d semitones", ref.Notes[first].Onset, hand, highs[hand]-lows[hand])
			}
		}
	}
}

// tuneMoves checks the steps of the right hand's highest notes: no augmented second, no tritone, nothing
// wider than an octave, and more than three notes altogether.
func tuneMoves(t *rapid.T, ref *references.Reference) {
	var before *references.Note
	seen := map[int]bool{}
	for i := range ref.Notes {
		n := &ref.Notes[i]
		seen[n.Key()] = true
		above := i+1 < len(ref.Notes) && ref.Notes[i+1].Onset == n.Onset && ref.Notes[i+1].Hand == n.Hand
		if n.Hand != references.Right || above {
			continue
		}
		if before != nil {
			semitones := max(n.Key()-before.Key(), before.Key()-n.Key())
			if semitones == 0 && before.Touch == references.Legato {
				t.Errorf("%s twice under one slur in bar %s", n.Pitch, n.Bar)
			}
			letters := max(int(n.Pitch.Step)-int(before.Pitch.Step), int(before.Pitch.Step)-int(n.Pitch.Step))
			if semitones > 12 || semitones == 6 || semitones == 3 && (letters == 1 || letters == 6) {
				t.Errorf("%s to %s in bar %s", before.Pitch, n.Pitch, n.Bar)
			}
		}
		before = n
	}
	if len(seen) < 4 {
		t.Errorf("only %d different notes", len(seen))
	}
}

// What is read differs from seed to seed.
func TestReadingIsFresh(t *testing.T) {
	for level := range 9 {
		seen := map[string]bool{}
		const seeds = 300
		for seed := range uint64(seeds) {
			var b strings.Builder
			for _, n := range exam.ReadAtSight(level, seed).Notes {
				fmt.Fprint(&b, n.Pitch, n.Length, " ")
			}
			seen[b.String()] = true
		}
		least := seeds
		if level < 2 {
			least = seeds * 9 / 10 // four bars of five notes: some may well be alike
		}
		if len(seen) < least {
			t.Errorf("level %d: %d different of %d", level, len(seen), seeds)
		}
	}
}

// What is printed is valid by the W3C schema of MusicXML 4.0.
func TestReadingIsValidMusicXML(t *testing.T) {
	src, dir := outside.Data(t, "musicxml_schema"), t.TempDir()
	for _, name := range []string{"musicxml.xsd", "xml.xsd", "xlink.xsd"} {
		data, err := os.ReadFile(filepath.Join(src, name))
		if err != nil {
			t.Fatal(err)
		}
		// What the schema imports is read from beside it, not from the network.
		text := strings.ReplaceAll(string(data), `schemaLocation="http://www.musicxml.org/xsd/`, `schemaLocation="`)
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	args := []string{"--noout", "--nonet", "--schema", filepath.Join(dir, "musicxml.xsd")}
	for level := range 9 {
		for seed := range uint64(8) {
			var b bytes.Buffer
			if err := musicxml.Write(&b, exam.ReadAtSight(level, seed)); err != nil {
				t.Fatal(err)
			}
			file := filepath.Join(dir, fmt.Sprintf("%d-%d.musicxml", level, seed))
			if err := os.WriteFile(file, b.Bytes(), 0o644); err != nil {
				t.Fatal(err)
			}
			args = append(args, file)
		}
	}
	if out, err := exec.Command(outside.Tool(t, "xmllint"), args...).CombinedOutput(); err != nil {
		t.Errorf("xmllint: %v\n%.2000s", err, out)
	}
}
