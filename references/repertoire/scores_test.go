package repertoire

import (
	"bytes"
	"encoding/json"
	"io"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"evenhand/internal/outside"
	"evenhand/references"
	"evenhand/references/musicxml"
)

func text(t *testing.T, s Score) string {
	t.Helper()
	f, err := s.Open()
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	data, err := io.ReadAll(f)
	if err != nil {
		t.Fatal(err)
	}
	return string(data)
}

func reference(t *testing.T, s Score) *references.Reference {
	t.Helper()
	ref, err := s.Read()
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

var (
	noteTag    = regexp.MustCompile(`<note( id="([^"]+)")?>(<rest)?`)
	written    = regexp.MustCompile(`name="(kind|year)">([^<]*)<`)
	handLetter = map[references.Hand]string{references.Right: "r", references.Left: "l"}
)

func TestEveryScoreIsListedAsItIs(t *testing.T) {
	names, err := files.ReadDir(".")
	if err != nil || len(names) != len(All()) {
		t.Fatalf("%d files, %d scores in the list (%v)", len(names), len(All()), err)
	}
	kinds := map[Kind]int{}
	for _, s := range All() {
		kinds[s.Kind]++
		xml := text(t, s)
		if ref := reference(t, s); ref.Title != s.Title {
			t.Errorf("%s is called %q in its score", s.Title, ref.Title)
		}
		for _, m := range written.FindAllStringSubmatch(xml, -1) {
			if want := map[string]string{"kind": s.Kind.String(), "year": string(rune('0' + s.Year))}[m[1]]; m[2] != want {
				t.Errorf("%s: %s %q in its score, %q in the list", s.Title, m[1], m[2], want)
			}
		}
	}
	if kinds[Study] < 3 || kinds[Piece] < 3 {
		t.Errorf("%d studies and %d pieces", kinds[Study], kinds[Piece])
	}
}

func TestScoresReadWithoutWarningsAndBarsAreFull(t *testing.T) {
	for _, s := range All() {
		ref := reference(t, s)
		for _, w := range ref.Warnings {
			t.Errorf("%s: %s", s.Title, w)
		}
		for i, b := range ref.Bars {
			upbeat := i == 0 && b.Number == "0"
			if !upbeat && b.Length != b.Meter.Length() {
				t.Errorf("%s bar %s is %s quarters long, not %s", s.Title, b.Number, b.Length, b.Meter.Length())
			}
		}
		if last := ref.Bars[len(ref.Bars)-1].Written; last < 11 || last > 23 {
			t.Errorf("%s has %d bars", s.Title, last+1)
		}
		if ref.Tempo.BPM == 0 {
			t.Errorf("%s has no metronome mark", s.Title)
		}
		for _, n := range ref.Notes {
			if want := handLetter[n.Hand]; !strings.HasPrefix(n.ID, want) || want == "" {
				t.Errorf("%s: note %s is the %s hand's", s.Title, n.ID, n.Hand)
			}
		}
		ids := map[string]bool{}
		for _, m := range noteTag.FindAllStringSubmatch(text(t, s), -1) {
			if m[3] == "" && (m[2] == "" || ids[m[2]]) {
				t.Errorf("%s: a note has the id %q", s.Title, m[2])
			}
			ids[m[2]] = true
		}
	}
}

// Nobody in these years reaches further than an octave.
func TestHandsReachTheirChords(t *testing.T) {
	for _, s := range All() {
		ref := reference(t, s)
		bounds := ref.Events()
		for e := range len(bounds) - 1 {
			low, high := map[references.Hand]int{}, map[references.Hand]int{}
			for _, n := range ref.Notes[bounds[e]:bounds[e+1]] {
				if n.Grace != references.NoGrace {
					continue
				}
				if k, ok := low[n.Hand]; !ok || n.Key() < k {
					low[n.Hand] = n.Key()
				}
				high[n.Hand] = max(high[n.Hand], n.Key())
			}
			for h := range low {
				if high[h]-low[h] > 12 {
					t.Errorf("%s: the %s hand reaches over %d semitones at %s", s.Title, h, high[h]-low[h], ref.Notes[bounds[e]].Onset)
				}
			}
			if l, ok := high[references.Left]; ok && low[references.Right] > 0 && l >= low[references.Right] {
				t.Errorf("%s: the hands meet at %s", s.Title, ref.Notes[bounds[e]].Onset)
			}
		}
	}
}

func TestScoresReadBackAsWritten(t *testing.T) {
	for _, s := range All() {
		ref := reference(t, s)
		var b bytes.Buffer
		if err := musicxml.Write(&b, ref); err != nil {
			t.Fatal(err)
		}
		again, err := musicxml.Read(&b)
		if err != nil {
			t.Fatal(err)
		}
		ref.Page, again.Page = nil, nil // what is written is what is played
		if d := cmp.Diff(ref, again, cmp.AllowUnexported(references.Quarters{})); d != "" {
			t.Errorf("%s: %s", s.Title, d)
		}
	}
}

// What easy music asks for is in one score or another, and the last bars of minor pieces have their
// tonic.
func TestScoresShowWhatMusicAsksFor(t *testing.T) {
	have := map[string]bool{}
	meters := map[references.Meter]bool{}
	for _, s := range All() {
		ref := reference(t, s)
		meters[ref.Bars[0].Meter] = true
		for _, m := range ref.Marks {
			have[m.Kind.String()] = true
			have["mild "+m.Kind.String()] = have["mild "+m.Kind.String()] || m.Mild
		}
		for _, n := range ref.Notes {
			have[n.Dynamic.String()], have[n.Touch.String()], have[n.Ornament.String()], have[n.Grace.String()] = true, true, true, true
			have["accent"] = have["accent"] || n.Accent
			have["rolled"] = have["rolled"] || n.Rolled
			have["finger"] = have["finger"] || n.Finger > 0
		}
		have["minor"] = have["minor"] || ref.Minor
		have["pedal"] = have["pedal"] || len(ref.Pedals) > 0
		have["upbeat"] = have["upbeat"] || ref.Bars[0].Skip.Num() > 0
		for _, b := range ref.Bars {
			have["repeat"] = have["repeat"] || b.Signs.RepeatEnd > 1
			have["endings"] = have["endings"] || b.Signs.Endings == "2"
		}
		last := ref.Notes[len(ref.Notes)-1].Onset
		tonic := references.KeyOf(ref.Fifths, ref.Minor).Tonic.PitchClass()
		for _, n := range ref.Notes {
			if n.Onset == last && n.Hand == references.Left {
				if n.Pitch.PitchClass() != tonic {
					t.Errorf("%s ends on %s in the bass", s.Title, n.Pitch)
				}
				break
			}
		}
	}
	for _, want := range []string{
		"p", "mp", "mf", "f", "crescendo", "diminuendo", "ritardando", "mild ritardando", "a tempo", "fermata", "repeat", "endings",
		"staccato", "legato", "tenuto", "accent", "pedal", "minor", "upbeat", "acciaccatura", "appoggiatura", "after-grace", "trill",
		"turn", "inverted mordent", "rolled", "finger",
	} {
		if !have[want] {
			t.Errorf("no score has: %s", want)
		}
	}
	for _, m := range []references.Meter{{Beats: 3, Unit: 4}, {Beats: 6, Unit: 8}} {
		if !meters[m] {
			t.Errorf("no score is in %d/%d", m.Beats, m.Unit)
		}
	}
}

// The schema is the W3C's, of MusicXML 4.0; the schemas it imports are read beside it and not from
// the network.
func TestScoresAreValid(t *testing.T) {
	src := outside.Data(t, "musicxml_schema")
	lint := outside.Tool(t, "xmllint")
	dir := t.TempDir()
	for _, name := range []string{"musicxml.xsd", "xml.xsd", "xlink.xsd"} {
		data, err := os.ReadFile(filepath.Join(src, name))
		if err != nil {
			t.Fatal(err)
		}
		data = bytes.ReplaceAll(data, []byte("http://www.musicxml.org/xsd/"), nil)
		if err := os.WriteFile(filepath.Join(dir, name), data, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	args := []string{"--noout", "--nonet", "--schema", filepath.Join(dir, "musicxml.xsd")}
	for _, s := range All() {
		args = append(args, s.Path)
	}
	if out, err := exec.Command(lint, args...).CombinedOutput(); err != nil {
		t.Errorf("xmllint: %v\n%.2000s", err, out)
	}
}

// timemapScript prints the onsets of each score with repeats played out: the id without the mark of a
// repeat, and the time in quarters.
const timemapScript = `
import createVerovioModule from 'verovio/wasm';
import { VerovioToolkit } from 'verovio/esm';
import fs from 'fs';
const tk = new VerovioToolkit(await createVerovioModule());
tk.setOptions({ breaks: 'none' });
console.warn = console.error = () => {};
const out = {};
for (const [name, xml] of Object.entries(JSON.parse(fs.readFileSync(0, 'utf8')))) {
	out[name] = [];
	if (!tk.loadData(xml)) continue;
	for (const e of tk.renderToTimemap({ includeRests: false }))
		for (const id of e.on || []) out[name].push({ id: id.replace(/-rend\d+$/, ''), at: e.qstamp });
}
fs.writeSync(1, JSON.stringify(out));
`

type sounding struct {
	ID string  `json:"id"`
	At float64 `json:"at"`
}

// Verovio 6.3.0, an engraver, plays the repeats out by its own rules. Not compared are grace notes,
// whose time is the player's, and notes tied on, which it lists and nobody strikes; main notes after
// a grace note and rolled chords come a little later there.
func TestOnsetsAgreeWithVerovio(t *testing.T) {
	scores := map[string]string{}
	for _, s := range All() {
		scores[s.Path] = text(t, s)
	}
	in, err := json.Marshal(scores)
	if err != nil {
		t.Fatal(err)
	}
	raw := outside.Node(t, timemapScript, in)
	var theirs map[string][]sounding
	if err := json.Unmarshal(raw[max(bytes.IndexByte(raw, '{'), 0):], &theirs); err != nil {
		t.Fatalf("%v\n%.200s", err, raw)
	}
	for _, s := range All() {
		ref := reference(t, s)
		free := map[string]bool{} // not compared
		late := map[references.Quarters]bool{}
		for _, n := range ref.Notes {
			free[n.ID] = n.Grace != references.NoGrace
			late[n.Onset] = late[n.Onset] || free[n.ID] || n.Rolled
		}
		for _, m := range regexp.MustCompile(`id="([^"]+)">[^\n]*<tie type="stop"`).FindAllStringSubmatch(scores[s.Path], -1) {
			free[m[1]] = true
		}
		compared := 0
		there := theirs[s.Path]
		for _, n := range ref.Notes {
			if free[n.ID] {
				continue
			}
			room := 1e-3
			if late[n.Onset] {
				room = 1
			}
			i := slices.IndexFunc(there, func(o sounding) bool { return o.ID == n.ID && math.Abs(o.At-n.Onset.Float()) < room })
			if i < 0 {
				t.Errorf("%s: %s at %s is not there", s.Title, n.ID, n.Onset)
				continue
			}
			there = slices.Delete(slices.Clone(there), i, i+1)
			compared++
		}
		for _, o := range there {
			if !free[o.ID] {
				t.Errorf("%s: %s at %.3f is there alone", s.Title, o.ID, o.At)
			}
		}
		t.Logf("%-24s %d onsets compared", s.Title, compared)
	}
}
