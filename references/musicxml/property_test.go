package musicxml

import (
	"bytes"
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenhand/references"

	"pgregory.net/rapid"
)

// randomScore draws a piano score: two staves, one or two voices each, with signs of all kinds.
func randomScore(t *rapid.T) string {
	var bars []string
	count := rapid.IntRange(1, 3).Draw(t, "bars")
	repeats := rapid.Bool().Draw(t, "repeats") // or else ties and levels: over a repeat these are not the same each time
	for i := range count {
		var b strings.Builder
		if repeats && rapid.IntRange(0, 5).Draw(t, "open") == 0 {
			b.WriteString(open)
		}
		if rapid.IntRange(0, 6).Draw(t, "key") == 0 {
			fmt.Fprintf(&b, "<attributes><key><fifths>%d</fifths></key></attributes>", rapid.IntRange(-7, 7).Draw(t, "fifths"))
		}
		for voice := range rapid.IntRange(1, 4).Draw(t, "voices") {
			if voice > 0 {
				b.WriteString(back(16))
			}
			randomVoice(t, &b, voice, !repeats)
		}
		if repeats && rapid.IntRange(0, 4).Draw(t, "closed") == 0 {
			b.WriteString(closed)
		} else if repeats && i == count-1 && rapid.Bool().Draw(t, "back") {
			b.WriteString(`<sound dacapo="yes"/>`)
		}
		bars = append(bars, b.String())
	}
	return strings.Replace(piano(strings.Join(bars, "|")), "<divisions>", "<staves>2</staves><divisions>", 1)
}

// randomVoice draws one voice of one bar.
func randomVoice(t *rapid.T, b *strings.Builder, voice int, ties bool) {
	signs := []string{
		"", "", "", "", "", "", "", "", "", "", "", "", dir(`<wedge type="crescendo"/>`), dir(`<wedge type="stop"/>`), dir("<words>rit.</words>"), dir("<words>a tempo</words>"),
		dir("<words>cresc.</words>"), dir(`<pedal type="start"/>`), dir(`<pedal type="stop"/>`), `<sound tempo="80"/>`,
	}
	if ties { // else a level would be carried back, and a sign cannot always tell where it came from
		signs = append(signs, dir("<dynamics><p/></dynamics>"), dir("<dynamics><f/></dynamics>"), dir("<dynamics><fp/></dynamics>"))
	}
	notations := []string{
		"", "", "", note1(`<slur type="start" number="%d"/>`), note1(`<slur type="stop" number="%d"/>`),
		note1("<articulations><staccato/></articulations>"), note1("<articulations><accent/><tenuto/></articulations>"),
		note1("<ornaments><trill-mark/></ornaments>"), note1("<ornaments><mordent/><accidental-mark>sharp</accidental-mark></ornaments>"),
		note1("<technical><fingering>3</fingering></technical>"), note1("<arpeggiate/>"),
	}
	for left := 16; left > 0; {
		d := min(left, rapid.SampledFrom([]int{1, 2, 3, 4, 5, 6, 8, 12, 16}).Draw(t, "length"))
		left -= d
		b.WriteString(rapid.SampledFrom(signs).Draw(t, "sign"))
		where := fmt.Sprintf("<voice>%d</voice><staff>%d</staff>", voice+1, 1+voice/2)
		if rapid.IntRange(0, 5).Draw(t, "rest") == 0 {
			fmt.Fprintf(b, "<note><rest/><duration>%d</duration>%s</note>", d, where)
			continue
		}
		pitch := fmt.Sprintf("%c%s%d", rapid.SampledFrom([]rune("CDEFGAB")).Draw(t, "step"), rapid.SampledFrom([]string{"", "", "#"}).Draw(t, "alter"), rapid.IntRange(3, 4).Draw(t, "octave"))
		if !ties && rapid.IntRange(0, 8).Draw(t, "grace") == 0 {
			b.WriteString(n("A4", 0, "<grace/>", where))
		}
		tie := ""
		if ties {
			tie = rapid.SampledFrom([]string{"", "", "", `<tie type="start"/>`, `<tie type="stop"/>`, `<tie type="stop"/><tie type="start"/>`}).Draw(t, "tie")
		}
		mark := strings.ReplaceAll(rapid.SampledFrom(notations).Draw(t, "notation"), "%d", fmt.Sprint(voice+1))
		b.WriteString(n(pitch, d, tie, where, mark))
	}
}

// Whatever is read holds to what a Reference promises, and comes back the same when it is written
// and read again.
func TestRandomScoresComeBackTheSame(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		xml := randomScore(rt)
		ref, err := Read(strings.NewReader(xml))
		if err != nil {
			rt.Fatal(err)
		}
		checkPromises(t, ref)
		var out bytes.Buffer
		if err := Write(&out, ref); err != nil {
			rt.Fatal(err)
		}
		again, err := Read(&out)
		if err != nil {
			rt.Fatal(err)
		}
		if d := differences(ref, again); len(d) > 0 {
			rt.Fatalf("%s\n%s", strings.Join(d[:min(len(d), 4)], "\n"), xml)
		}
	})
}

// A scale as a request makes it: no bars, both hands, fingers, one unison where the hands meet.
func TestScaleIsWrittenInBars(t *testing.T) {
	ref := &references.Reference{
		Title: "C major scale, contrary motion", BarLength: references.Q(4, 1), Beat: references.Q(1, 1),
		Tempo: references.Tempo{BPM: 72, Beat: references.Q(1, 1)},
	}
	up := references.Pitch{Octave: 4}
	down := up
	for i := range 8 {
		note := references.Note{Onset: references.Q(int64(i), 2), Length: references.Q(1, 2), Touch: references.Legato, Dynamic: references.Piano}
		if i == 0 {
			note.Pitch, note.Hand, note.Finger, note.Finger2 = up, references.Both, 1, 5
			ref.Notes = append(ref.Notes, note)
			continue
		}
		step := []int{2, 2, 1, 2, 2, 2, 1}[i-1]
		up = up.Up(1, step)
		down = down.Up(-1, -[]int{1, 2, 2, 2, 1, 2, 2}[i-1])
		note.Pitch, note.Hand, note.Finger = up, references.Right, int8(1+i%5)
		ref.Notes = append(ref.Notes, note)
		note.Pitch, note.Hand = down, references.Left
		ref.Notes = append(ref.Notes, note)
	}
	ref.Sort()
	var out bytes.Buffer
	if err := Write(&out, ref); err != nil {
		t.Fatal(err)
	}
	again, err := Read(bytes.NewReader(out.Bytes()))
	if err != nil {
		t.Fatal(err)
	}
	if len(again.Bars) != 1 || again.Bars[0].Meter != (references.Meter{Beats: 4, Unit: 4}) || again.Tempo != ref.Tempo || again.Title != ref.Title {
		t.Errorf("%+v %v %q", again.Bars, again.Tempo, again.Title)
	}
	if len(again.Notes) != len(ref.Notes) {
		t.Fatalf("%d notes became %d", len(ref.Notes), len(again.Notes))
	}
	for i := range ref.Notes {
		a, b := ref.Notes[i], again.Notes[i]
		if a.Onset != b.Onset || a.Length != b.Length || a.Pitch != b.Pitch || a.Hand != b.Hand || a.Finger != b.Finger || a.Finger2 != b.Finger2 || a.Touch != b.Touch || a.Dynamic != b.Dynamic {
			t.Errorf("%+v\n\tbecame %+v", a, b)
		}
	}
}

// Triplets have their figure: a start and a stop each, by MusicXML 4.0, also where one is a crotchet and a quaver;
// a scale in crotchets has none, nor has a group with a rest in it.
func TestTupletsAreMarked(t *testing.T) {
	third, two := references.Q(1, 3), references.Q(2, 3)
	for _, tt := range []struct {
		name    string
		lengths []references.Quarters
		gap     int // the note left out, or -1
		starts  []int
		stops   []int
	}{
		{"triplets", []references.Quarters{third, third, third, third, third, third}, -1, []int{0, 3}, []int{2, 5}},
		{"crotchet and quaver", []references.Quarters{two, third, references.Q(1, 1), third, two}, -1, []int{0, 3}, []int{1, 4}},
		{"crotchets", []references.Quarters{references.Q(1, 1), references.Q(1, 2)}, -1, nil, nil},
		{"a rest", []references.Quarters{third, third, third, third, third, third}, 1, []int{3}, []int{5}},
	} {
		ref := &references.Reference{BarLength: references.Q(4, 1), Beat: references.Q(1, 1)}
		var at references.Quarters
		for i, l := range tt.lengths {
			if i != tt.gap {
				ref.Notes = append(ref.Notes, references.Note{
					Onset: at, Length: l, Pitch: references.Pitch{Octave: 5}, Hand: references.Right, ID: fmt.Sprintf("n%d", i),
				})
			}
			at = at.Add(l)
		}
		var out bytes.Buffer
		if err := Write(&out, ref); err != nil {
			t.Fatal(err)
		}
		var starts, stops []int
		for i := range tt.lengths {
			_, note, _ := strings.Cut(out.String(), fmt.Sprintf(`id="n%d"`, i))
			note, _, _ = strings.Cut(note, "</note>")
			if strings.Contains(note, `<tuplet type="start"/>`) {
				starts = append(starts, i)
			}
			if strings.Contains(note, `<tuplet type="stop"/>`) {
				stops = append(stops, i)
			}
		}
		if !slices.Equal(starts, tt.starts) || !slices.Equal(stops, tt.stops) {
			t.Errorf("%s: tuplets start at %v and stop at %v, want %v and %v", tt.name, starts, stops, tt.starts, tt.stops)
		}
	}
}

// A rest that begins within a triplet ends it, and what is left is written as if there were none.
func TestRestsLeaveTuplets(t *testing.T) {
	for _, tt := range []struct {
		from, to references.Quarters
		want     string
	}{
		{references.Q(5, 3), references.Q(4, 1), "[1/3 2]"},
		{references.Q(5, 3), references.Q(2, 1), "[1/3]"},
		{references.Q(1, 1), references.Q(8, 3), "[1 2/3]"},
		{references.Q(1, 3), references.Q(2, 3), "[1/3]"},
		{references.Q(1, 3), references.Q(5, 3), "[2/3 2/3]"},
		{references.Q(0, 1), references.Q(5, 2), "[2 1/2]"},
	} {
		if got := fmt.Sprint(restPieces(tt.from, tt.to)); got != tt.want {
			t.Errorf("from %v to %v: %s, want %s", tt.from, tt.to, got, tt.want)
		}
	}
}
