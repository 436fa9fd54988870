package smfscore

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"strings"
	"testing"

	"evenhand/internal/outside"
	"evenhand/internal/smf"
	"evenhand/references"
	"evenhand/references/musicxml"
)

func meta(tick int64, kind byte, data ...byte) smf.Event {
	return smf.Event{Tick: tick, Status: smf.Meta, Meta: kind, Data: data}
}

func on(tick int64, channel, key byte) smf.Event {
	return smf.Event{Tick: tick, Status: 0x90 | channel, Data: []byte{key, 64}}
}

func off(tick int64, channel, key byte) smf.Event {
	return smf.Event{Tick: tick, Status: 0x80 | channel, Data: []byte{key, 0}}
}

// file writes tracks at 480 ticks to the quarter.
func file(t testing.TB, tracks ...[]smf.Event) []byte {
	t.Helper()
	f := &smf.File{Format: 1, Division: 480}
	for _, events := range tracks {
		sort.SliceStable(events, func(i, j int) bool { return events[i].Tick < events[j].Tick })
		f.Tracks = append(f.Tracks, smf.Track{Events: events, End: events[len(events)-1].Tick})
	}
	var out bytes.Buffer
	if err := f.Write(&out); err != nil {
		t.Fatal(err)
	}
	return out.Bytes()
}

func read(t *testing.T, data []byte) *references.Reference {
	t.Helper()
	ref, err := Read(bytes.NewReader(data), "test.mid")
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

func told(ref *references.Reference) string {
	var out []string
	for i := range ref.Notes {
		n := &ref.Notes[i]
		out = append(out, fmt.Sprintf("%s:%v %v %v %v", n.Bar, n.Beat, n.Pitch, n.Length, n.Hand))
	}
	return strings.Join(out, ", ")
}

// Two tracks, E flat major, 3/4 and then 2/4, a triplet: onsets, beats, spelling and hands.
func TestTracksBecomeHands(t *testing.T) {
	high := []smf.Event{
		meta(0, smf.TimeSig, 3, 2, 24, 8), meta(0, smf.KeySignature, 0xFD, 0), meta(1440, smf.TimeSig, 2, 2, 24, 8), meta(0, smf.Tempo, 0x0B, 0x71, 0xB0),
		on(0, 0, 75), off(480, 0, 75), on(480, 0, 66), off(640, 0, 66), on(640, 0, 67), off(800, 0, 67), on(800, 0, 68), off(960, 0, 68), on(1440, 0, 70), off(2400, 0, 70),
	}
	low := []smf.Event{on(0, 1, 51), off(1440, 1, 51)}
	ref := read(t, file(t, high, low))
	want := "1:1 E♭3 3 left, 1:1 E♭5 1 right, 1:2 G♭4 1/3 right, 1:2.333333333333333 G4 1/3 right, 1:2.666666666666667 A♭4 1/3 right, 2:1 B♭4 2 right"
	if got := told(ref); got != want {
		t.Errorf("%s\nwant %s", got, want)
	}
	if ref.Grid != references.Q(1, 3) || ref.Fifths != -3 || ref.Minor || ref.BarLength != references.Q(3, 1) || len(ref.Bars) != 2 {
		t.Errorf("grid %v, %d fifths, bars of %v, %d bars", ref.Grid, ref.Fifths, ref.BarLength, len(ref.Bars))
	}
	// 0x0B71B0 is 750,000 microseconds to the quarter: 80 to the minute.
	if len(ref.Tempos) != 1 || ref.Tempos[0].Tempo.BPM != 80 || ref.Tempos[0].Printed {
		t.Errorf("tempos %v", ref.Tempos)
	}
}

func TestHandsByName(t *testing.T) {
	named := func(name string, key byte) []smf.Event {
		return []smf.Event{meta(0, smf.TrackName, []byte(name)...), on(0, 0, key), off(480, 0, key)}
	}
	tests := []struct {
		tracks [][]smf.Event
		want   string
	}{
		{[][]smf.Event{named("Left hand", 72), named("Right hand", 48)}, "C3 right, C5 left"}, // crossed
		{[][]smf.Event{named("one", 72), named("two", 48)}, "C3 left, C5 right"},
		{[][]smf.Event{named("Piano", 60)}, "C4 "},
		{[][]smf.Event{named("RH", 72), named("LH", 48), named("voice", 60)}, "C3 left, C4 , C5 right"},
		{[][]smf.Event{named("right", 60), named("left", 60)}, "C4 both"},
	}
	for _, test := range tests {
		var got []string
		for _, n := range read(t, file(t, test.tracks...)).Notes {
			got = append(got, n.Pitch.String()+" "+n.Hand.String())
		}
		if s := strings.Join(got, ", "); s != test.want {
			t.Errorf("%s, want %s", s, test.want)
		}
	}
}

func TestGrid(t *testing.T) {
	tests := []struct {
		name    string
		onsets  []int64
		want    references.Quarters
		warning string
	}{
		{"quarters", []int64{0, 480, 960}, references.Q(1, 1), ""},
		{"sixteenths", []int64{0, 120, 360, 480}, references.Q(1, 4), ""},
		{"triplets and eighths", []int64{0, 160, 320, 480, 720}, references.Q(1, 6), ""},
		{"a tick off", []int64{0, 161, 319, 480, 721}, references.Q(1, 6), ""},
		{"played to a click", []int64{0, 130, 230, 365, 490, 590, 725, 850, 955}, references.Q(1, 4), "nearest 1/4"},
		{"played freely", []int64{0, 401, 850, 1277, 1699, 2168, 2533, 3000, 3391}, references.Q(1, 12), "no grid"},
	}
	for _, test := range tests {
		var events []smf.Event
		for _, at := range test.onsets {
			events = append(events, on(at, 0, 60), off(at+100, 0, 60))
		}
		ref := read(t, file(t, events))
		if said := fmt.Sprint(ref.Warnings); ref.Grid != test.want || !strings.Contains(said, test.warning) || test.warning == "" && len(ref.Warnings) > 0 {
			t.Errorf("%s: %v %s, want %v %q", test.name, ref.Grid, said, test.want, test.warning)
		}
	}
}

// Spelling by the line of fifths: each key's scale, and its usual accidentals.
func TestSpelling(t *testing.T) {
	tests := []struct {
		fifths int
		keys   []int
		want   string
	}{
		{0, []int{60, 61, 62, 63, 64, 65, 66, 67, 68, 69, 70, 71}, "C4 C♯4 D4 E♭4 E4 F4 F♯4 G4 G♯4 A4 B♭4 B4"},
		{6, []int{54, 65, 61, 62}, "F♯3 E♯4 C♯4 C𝄪4"},
		{-6, []int{66, 71, 60, 59}, "G♭4 C♭5 C4 C♭4"},
		{3, []int{65, 60, 72}, "E♯4 C4 C5"},
		{0, []int{0, 127, 11}, "C-1 G9 B-1"},
	}
	for _, test := range tests {
		var got []string
		for _, k := range test.keys {
			p := spell(k, test.fifths)
			if p.Key() != k {
				t.Errorf("key %d spelled as %v, which is %d", k, p, p.Key())
			}
			got = append(got, p.String())
		}
		if s := strings.Join(got, " "); s != test.want {
			t.Errorf("%d: %s, want %s", test.fifths, s, test.want)
		}
	}
}

func TestPedalAndOddities(t *testing.T) {
	pedal := func(tick int64, value byte) smf.Event {
		return smf.Event{Tick: tick, Status: 0xB0, Data: []byte{64, value}}
	}
	ref := read(t, file(t, []smf.Event{pedal(0, 127), on(0, 0, 60), off(480, 0, 60), pedal(480, 0), on(0, 9, 38), off(10, 9, 38), on(480, 0, 62), pedal(720, 64), meta(960, smf.Text, 'x')}))
	if fmt.Sprint(ref.Pedals) != "[{0 1} {3/2 2}]" || told(ref) != "1:1 C4 1 , 1:2 D4 1 " || !strings.Contains(fmt.Sprint(ref.Warnings), "1 notes of the percussion channel") {
		t.Error(ref.Pedals, told(ref), ref.Warnings)
	}
}

func TestNoScore(t *testing.T) {
	empty := file(t, []smf.Event{meta(0, smf.Text, 'x')})
	smpte := append([]byte(nil), file(t, []smf.Event{on(0, 0, 60), off(100, 0, 60)})...)
	smpte[12], smpte[13] = 0xE7, 40 // 25 frames a second, 40 ticks a frame
	for name, data := range map[string][]byte{"no notes": empty, "SMPTE": smpte, "no MIDI file": []byte("<score/>")} {
		if ref, err := Read(bytes.NewReader(data), name); err == nil || ref != nil {
			t.Errorf("%s: %v", name, ref)
		}
	}
}

// The MIDI files that verovio 6.3.0 writes of open scores are read with the onsets and keys of the
// scores themselves.
func TestAgreesWithTheScoreItWasMadeFrom(t *testing.T) {
	files, _ := filepath.Glob(outside.Data(t, "pupils") + "/*/score.mxl")
	scores := map[string]string{}
	want := map[string]*references.Reference{}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		ref, err := musicxml.Read(bytes.NewReader(data))
		if err != nil {
			t.Fatal(err)
		}
		var plain bytes.Buffer
		if err := musicxml.Write(&plain, ref); err != nil {
			t.Fatal(err)
		}
		scores[filepath.Dir(f)], want[filepath.Dir(f)] = plain.String(), ref
	}
	in, _ := json.Marshal(scores)
	raw := outside.Node(t, `
import createVerovioModule from 'verovio/wasm';
import { VerovioToolkit } from 'verovio/esm';
import fs from 'fs';
const tk = new VerovioToolkit(await createVerovioModule());
console.warn = console.error = () => {};
const out = {};
for (const [name, xml] of Object.entries(JSON.parse(fs.readFileSync(0, 'utf8')))) { tk.loadData(xml); out[name] = tk.renderToMIDI(); }
fs.writeSync(1, JSON.stringify(out));
`, in)
	if i := bytes.IndexByte(raw, '{'); i > 0 {
		raw = raw[i:]
	}
	var out map[string]string
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatal(err)
	}
	for name, text := range out {
		data, err := base64.StdEncoding.DecodeString(text)
		if err != nil {
			t.Fatal(err)
		}
		ref := read(t, data)
		if got, want := strokes(ref), strokes(want[name]); got != want {
			t.Errorf("%s:\n%s\nwant\n%s", filepath.Base(name), got, want)
		}
		t.Logf("%s: %d notes, grid %v, %v", filepath.Base(name), len(ref.Notes), ref.Grid, ref.Warnings)
	}
}

func strokes(ref *references.Reference) string {
	var out []string
	for i := range ref.Notes {
		n := &ref.Notes[i]
		out = append(out, fmt.Sprintf("%v %d %v %v", n.Onset, n.Key(), n.Hand, n.Bar))
	}
	return strings.Join(out, "\n")
}

// FuzzRead asserts that no bytes make the reader panic, and that notes lie in their bars.
func FuzzRead(f *testing.F) {
	f.Add(file(f, []smf.Event{meta(0, smf.TimeSig, 6, 3, 24, 8), meta(0, smf.KeySignature, 1, 1), on(0, 0, 60), off(480, 0, 60), on(480, 1, 62)}))
	f.Fuzz(func(t *testing.T, data []byte) {
		ref, err := Read(bytes.NewReader(data), "fuzz")
		if err != nil {
			return
		}
		for i := range ref.Notes {
			n := &ref.Notes[i]
			b := ref.Bars[n.Measure]
			if n.Onset.Less(b.Onset) || !n.Onset.Less(b.Onset.Add(b.Length)) || n.Length.Num() <= 0 || n.Bar != b.Number {
				t.Fatalf("%+v is not in %+v", n, b)
			}
		}
	})
}
