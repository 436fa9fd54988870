package musicxml

import (
	"strings"
	"testing"

	"evenhand/references"
)

// pageOf reads a score of some bars and returns what is printed.
func pageOf(t *testing.T, bars string) []references.PageBar {
	t.Helper()
	ref, err := Read(strings.NewReader(piano(bars)))
	if err != nil {
		t.Fatal(err)
	}
	return ref.Page.Bars
}

func TestPageHasRestsTiesAndValues(t *testing.T) {
	bars := pageOf(t, `<note><rest measure="yes"/><duration>16</duration></note>|`+
		n("C4", 6, `<tie type="start"/>`, "<type>quarter</type><dot/>")+n("C4", 10, `<tie type="stop"/>`)+
		`|<note><rest/><duration>4</duration><type>quarter</type></note>`+n("E4", 12, `<notations><slur type="start"/><fermata/><articulations><staccato/></articulations></notations>`))
	if len(bars) != 3 {
		t.Fatalf("%d bars", len(bars))
	}
	if r := bars[0].Notes[0]; !r.Rest || !r.WholeBar || r.Length != references.Q(4, 1) {
		t.Errorf("%+v", r)
	}
	first, second := bars[1].Notes[0], bars[1].Notes[1]
	if !first.TieStart || first.TieStop || !second.TieStop || first.Value.Dots != 1 || first.Value.Type != references.Q(1, 1) || first.Length != references.Q(3, 2) {
		t.Errorf("%+v %+v", first, second)
	}
	if r := bars[2].Notes[0]; !r.Rest || r.WholeBar || r.Value.Type != references.Q(1, 1) {
		t.Errorf("%+v", r)
	}
	if n := bars[2].Notes[1]; !n.SlurStart || strings.Join(n.Marks, " ") != "fermata staccato" || n.Onset != references.Q(1, 1) {
		t.Errorf("%+v", n)
	}
}

// A clef within a bar counts for what comes after it on its staff, whatever voice is read first.
func TestPageClefsByPlace(t *testing.T) {
	clef := func(sign string) string {
		return "<attributes><clef><sign>" + sign + "</sign><line>4</line></clef></attributes>"
	}
	bars := pageOf(t, clef("F")+n("C3", 8)+clef("C")+n("C3", 8)+back(16)+n("E3", 8, "<voice>2</voice>")+n("E3", 8, "<voice>2</voice>")+"|"+n("C3", 16))
	for i, want := range []string{"F", "C", "F", "C"} {
		if got := bars[0].Notes[i].Clef.Sign; got != want {
			t.Errorf("note %d: %s clef, want %s", i, got, want)
		}
	}
	if got := bars[1].Notes[0].Clef.Sign; got != "C" {
		t.Errorf("next bar: %s clef", got)
	}
}

func TestPageSignatures(t *testing.T) {
	for _, c := range []struct {
		what, attributes string
		want             references.PageBar
	}{
		{"a mode", "<key><fifths>-2</fifths><mode>Minor</mode></key>", references.PageBar{Fifths: -2, Mode: "minor"}},
		{"a hidden key", `<key print-object="no"><fifths>2</fifths></key>`, references.PageBar{Fifths: 2, Custom: true}},
		{"keys that differ by staff", `<key number="1"><fifths>2</fifths></key><key number="2"><fifths>1</fifths></key>`, references.PageBar{Fifths: 2, Custom: true}},
		{"no plain key", "<key><key-step>C</key-step><key-alter>1</key-alter></key>", references.PageBar{Custom: true}},
		{"common time", `<time symbol="common"><beats>4</beats><beat-type>4</beat-type></time>`, references.PageBar{Symbol: "common"}},
		{"a sum", "<time><beats>3+2</beats><beat-type>8</beat-type></time>", references.PageBar{Added: true}},
	} {
		b := pageOf(t, "<attributes>"+c.attributes+"</attributes>"+n("C4", 16))[0]
		got := references.PageBar{Fifths: b.Fifths, Mode: b.Mode, Custom: b.Custom, Symbol: b.Symbol, Added: b.Added}
		if got.Fifths != c.want.Fifths || got.Mode != c.want.Mode || got.Custom != c.want.Custom || got.Symbol != c.want.Symbol || got.Added != c.want.Added {
			t.Errorf("%s: %+v, want %+v", c.what, got, c.want)
		}
	}
}

func TestPageDirections(t *testing.T) {
	bars := pageOf(t, dir("<words>poco</words>")+dir("<dynamics><s/><mf/></dynamics>")+dir(`<wedge type="crescendo"/>`)+n("C4", 16)+
		"|"+dir(`<metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>60</per-minute></metronome>`)+n("C4", 16))
	var got []string
	for _, b := range bars {
		for _, d := range b.Directions {
			got = append(got, d.Kind+" "+d.Text)
		}
	}
	if want := "words poco, dynamics smf, wedge crescendo, metronome quarter. = 60"; strings.Join(got, ", ") != want {
		t.Errorf("%q, want %q", got, want)
	}
}

// A quarter-tone, a cue and a hidden note are no notes to ask about; a repeat is on the page once.
func TestPageIsWhatIsPrinted(t *testing.T) {
	quarterTone := "<note><pitch><step>C</step><alter>-0.5</alter><octave>4</octave></pitch><duration>4</duration></note>"
	bars := pageOf(t, open+n("C4", 4)+strings.Replace(n("D4", 4), "<note>", `<note print-object="no">`, 1)+n("E4", 4, "<cue/>")+quarterTone+closed)
	if len(bars) != 1 || len(bars[0].Notes) != 4 {
		t.Fatalf("%d bars, %+v", len(bars), bars[0].Notes)
	}
	for i, want := range []bool{false, true, true, true} {
		if bars[0].Notes[i].Hidden != want {
			t.Errorf("note %d: hidden is %v", i, !want)
		}
	}
	if !bars[0].Signs.RepeatStart || bars[0].Signs.RepeatEnd != 2 {
		t.Errorf("%+v", bars[0].Signs)
	}
}
