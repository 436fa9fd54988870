package musicxml

import (
	"fmt"
	"strings"
	"testing"

	"evenhand/references"
)

func TestDynamics(t *testing.T) {
	level := func(name string) string { return dir("<dynamics><" + name + "/></dynamics>") }
	told := func(ref *references.Reference) string {
		return each(ref, func(n *references.Note) any {
			s := n.Pitch.String() + n.Dynamic.String()
			if n.Accent {
				s += ">"
			}
			return s
		})
	}
	staff := func(s int, inner, placement string) string {
		return fmt.Sprintf(`<direction placement="%s"><direction-type><dynamics><%s/></dynamics></direction-type><staff>%d</staff></direction>`, placement, inner, s)
	}
	two := func(signs string) string {
		right := n("C5", 8, "<voice>1</voice><staff>1</staff>") + n("D5", 8, "<voice>1</voice><staff>1</staff>")
		left := n("C3", 8, "<voice>5</voice><staff>2</staff>") + n("D3", 8, "<voice>5</voice><staff>2</staff>")
		return strings.Replace(piano(signs+right+back(16)+left), "<divisions>", "<staves>2</staves><divisions>", 1)
	}
	tests := []struct{ name, xml, want string }{
		{"from a sign on", piano(n("C4", 4) + level("p") + n("D4", 4) + n("E4", 4) + level("ff") + n("F4", 4)), "C4 D4p E4p F4ff"},
		{"as words", piano(dir("<words>mezzo-forte</words>") + dir("<words>sempre pp</words>") + n("D4", 4)), "D4pp"},
		{"beyond the scale", piano(level("ffff") + n("C4", 4) + level("pppp") + n("D4", 4)), "C4fff D4ppp"},
		{"sforzando", piano(level("p") + n("C4", 4) + level("sfz") + n("D4", 4) + n("E4", 4)), "C4p D4p> E4p"},
		{"forte-piano", piano(level("fp") + n("C4", 4) + n("D4", 4)), "C4f D4p"},
		{"sforzato-piano", piano(level("f") + n("B3", 4) + level("sfp") + n("C4", 4) + n("D4", 4)), "B3f C4f> D4p"},
		{"accent", piano(n("C4", 4, note1("<articulations><strong-accent/></articulations>")) + n("D4", 4)), "C4> D4"},
		{"among notations", piano(n("C4", 4, note1("<dynamics><mf/></dynamics>")) + n("D4", 4)), "C4mf D4mf"},
		{"with an offset", piano(`<direction><direction-type><dynamics><f/></dynamics></direction-type><offset>4</offset></direction>` + n("C4", 4) + n("D4", 4)), "C4 D4f"},
		{"between the staves", two(staff(1, "p", "below")), "C3p C5p D3p D5p"},
		{"above the upper staff", two(staff(1, "p", "above")), "C3 C5p D3 D5p"},
		{"below the lower staff", two(staff(2, "p", "below")), "C3p C5 D3p D5"},
		{"one for each staff", two(staff(1, "f", "below") + staff(2, "p", "above")), "C3p C5f D3p D5f"},
		{"over a repeat", piano(level("p") + n("C4", 8) + level("f") + n("D4", 8) + closed), "C4p D4f C4p D4f"},
		{"carried into a repeat", piano(open + n("C4", 8) + level("f") + n("D4", 8) + closed), "C4 D4f C4f D4f"},
	}
	for _, test := range tests {
		if got := told(read(t, test.xml)); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
	}
}

func TestTouch(t *testing.T) {
	slur := func(kind string) string { return note1(`<slur type="` + kind + `" number="1"/>`) }
	art := func(a ...string) string {
		return note1("<articulations><" + strings.Join(a, "/><") + "/></articulations>")
	}
	tests := []struct{ name, bars, want string }{
		{"a slur, but for its last note", n("C4", 4, slur("start")) + n("D4", 4) + n("E4", 4, slur("stop")) + n("F4", 4), "legato legato - -"},
		{"a slur over a bar line", n("C4", 16, slur("start")) + "|" + n("D4", 16) + "|" + n("E4", 16, slur("stop")), "legato legato -"},
		{"dots", n("C4", 8, art("staccato")) + n("D4", 8, art("staccatissimo")), "staccato staccato"},
		{"lines", n("C4", 8, art("tenuto")), "tenuto"},
		{"dots under a slur", n("C4", 8, art("staccato"), slur("start")) + n("D4", 8, art("staccato"), slur("stop")), "portato staccato"},
		{"dot and line", n("C4", 8, art("staccato", "tenuto")) + n("D4", 8, art("detached-legato")), "portato portato"},
		{"by a word", dir("<words>sempre legato</words>") + n("C4", 8) + dir("<words>staccato</words>") + n("D4", 8), "legato staccato"},
		{"a slur in one of two voices", n("C5", 8, "<voice>1</voice>", slur("start")) + n("D5", 8, "<voice>1</voice>", slur("stop")) + back(16) + n("E4", 8, "<voice>2</voice>") + n("F4", 8, "<voice>2</voice>"), "- legato - -"},
	}
	for _, test := range tests {
		ref := read(t, piano(test.bars))
		got := each(ref, func(n *references.Note) any {
			if n.Touch == references.NoTouch {
				return "-"
			}
			return n.Touch
		})
		if got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
	}
}

// The meaning of the words is common practice, as in any dictionary of musical terms.
func TestMarks(t *testing.T) {
	words := func(w string) string { return dir("<words>" + w + "</words>") }
	bar := func(before string) string { return before + n("C4", 16) }
	tests := []struct{ bars, want string }{
		{bar("") + "|" + bar(words("poco rit.")) + "|" + bar(words("a tempo")), "ritardando 4-8 mild, a tempo 8-8"},
		{bar(words("rallentando")), "ritardando 0-4"},
		{bar(words("allargando")) + "|" + bar(words("Tempo I")), "ritardando 0-4, a tempo 4-4"},
		{bar(words("accel.")) + "|" + bar(words("rit.")), "accelerando 0-4, ritardando 4-8"},
		{bar(words("molto stringendo")), "accelerando 0-4"},
		{bar(words("cresc.")) + "|" + bar(dir("<dynamics><f/></dynamics>")), "crescendo 0-4"},
		{bar(words("dim. e rit.")), "diminuendo 0-4, ritardando 0-4"},
		{bar(words("decrescendo")+dir(`<dashes type="start" number="1"/>`)) + "|" + bar(dir(`<dashes type="stop" number="1"/>`)), "diminuendo 0-4"},
		{bar(dir(`<wedge type="crescendo"/>`)) + "|" + bar(dir(`<wedge type="stop"/>`)), "crescendo 0-4"},
		{bar(dir(`<wedge type="diminuendo"/>`)) + "|" + bar("") + dir(`<wedge type="stop" niente="yes"/>`), "diminuendo 0-8 niente"},
		{bar(dir(`<wedge type="crescendo" niente="yes"/>`)) + dir(`<wedge type="stop"/>`), "crescendo 0-4 niente"},
		{n("C4", 16, note1("<fermata/>")), "fermata 0-4"},
		{n("C4", 12) + `<note><rest/><duration>4</duration>` + note1("<fermata/>") + `</note>`, "fermata 3-4"},
		{bar("") + `<barline location="right"><fermata/></barline>`, "fermata 4-4"},
		{n("C4", 8, note1("<articulations><breath-mark/></articulations>")) + n("D4", 8, note1("<articulations><caesura/></articulations>")), "breath 2-2, caesura 4-4"},
		{bar(words("swing")), "swing 0-0"},
		{bar(words("ritmico")) + "|" + bar(words("strings")), ""},
		{bar(open+words("rit.")) + closed + "|" + bar(""), "ritardando 0-4, ritardando 4-12"},
	}
	for _, test := range tests {
		ref := read(t, piano(test.bars))
		var out []string
		for _, m := range ref.Marks {
			s := fmt.Sprintf("%v %v-%v", m.Kind, m.From, m.To)
			if m.Mild {
				s += " mild"
			}
			if m.Niente {
				s += " niente"
			}
			out = append(out, s)
		}
		if got := strings.Join(out, ", "); got != test.want {
			t.Errorf("%s: %s, want %s", test.bars, got, test.want)
		}
	}
}

func TestTempos(t *testing.T) {
	figure := `<metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>c. 72</per-minute></metronome>`
	tests := []struct{ name, before, want string }{
		{"figure", dir(figure), "[{0 {72 3/2}  true}]"},
		{"words", dir("<words>Andante con moto</words>"), "[{0 {0 0} Andante con moto false}]"},
		{"words and figure", `<direction><direction-type><words>Lento</words></direction-type><direction-type>` + figure + `</direction-type><sound tempo="108"/></direction>`, "[{0 {72 3/2} Lento true}]"},
		{"words and sound", `<direction><direction-type><words>Hopping along</words></direction-type><sound tempo="96"/></direction>`, "[{0 {96 1} Hopping along false}]"},
		{"sound alone", `<sound tempo="60.5"/>`, "[{0 {60.5 1}  false}]"},
		{"a figure that is none", `<sound tempo="quick"/>`, "[]"},
		{"other words", dir("<words>with the left hand</words>"), "[]"},
	}
	for _, test := range tests {
		ref := read(t, piano(test.before+n("C4", 16)))
		if got := fmt.Sprint(ref.Tempos); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
	}
	if ref := read(t, piano(dir(figure)+n("C4", 16))); ref.Tempo.BPM != 72 {
		t.Errorf("tempo asked %v", ref.Tempo)
	}
	if ref := read(t, piano(`<sound tempo="60"/>`+n("C4", 16))); ref.Tempo.BPM != 0 {
		t.Errorf("a suggestion for playback is asked: %v", ref.Tempo)
	}
}

func TestPedal(t *testing.T) {
	pedal := func(kind string) string { return dir(`<pedal type="` + kind + `"/>`) }
	ref := read(t, piano(pedal("start")+n("C4", 8)+pedal("change")+n("D4", 8)+pedal("stop")+"|"+n("E4", 8)+pedal("start")+n("F4", 8)))
	if got := fmt.Sprint(ref.Pedals); got != "[{0 2} {2 4} {6 8}]" {
		t.Error(got)
	}
}

// Neighbours by the key: in G major the note above E is F sharp, two semitones up; in C it is F, one.
func TestOrnaments(t *testing.T) {
	key := func(fifths int) string {
		return fmt.Sprintf("<attributes><key><fifths>%d</fifths></key></attributes>", fifths)
	}
	orn := func(inner string) string { return note1("<ornaments>" + inner + "</ornaments>") }
	tests := []struct {
		name, bars   string
		want         references.Ornament
		above, below int8
	}{
		{"trill in G", key(1) + n("E5", 8, orn("<trill-mark/>")), references.Trill, 2, 2},
		{"trill in C", key(0) + n("E5", 8, orn("<trill-mark/>")), references.Trill, 1, 2},
		{"trill with a sharp", key(0) + n("E5", 8, orn("<trill-mark/><accidental-mark>sharp</accidental-mark>")), references.Trill, 2, 2},
		{"trill with a flat", key(0) + n("A4", 8, orn("<trill-mark/><accidental-mark>flat</accidental-mark>")), references.Trill, 1, 2},
		{"turn with a sharp below", key(-1) + n("G4", 8, orn(`<turn/><accidental-mark placement="below">sharp</accidental-mark>`)), references.Turn, 2, 1},
		{"mordent", key(0) + n("C5", 8, orn("<mordent/>")), references.Mordent, 2, 1},
		{"a mordent's accidental is below", key(0) + n("D5", 8, orn("<mordent/><accidental-mark>sharp</accidental-mark>")), references.Mordent, 2, 1},
		{"wavy line alone", key(0) + n("C5", 8, orn(`<wavy-line type="start"/>`)), references.Trill, 2, 1},
		{"the end of a wavy line", key(0) + n("C5", 8, orn(`<wavy-line type="stop"/>`)), references.NoOrnament, 0, 0},
		{"tremolo", n("C5", 8, orn(`<tremolo type="single">3</tremolo>`)), references.Tremolo, 0, 0},
		{"tremolo of two", n("C5", 8, orn(`<tremolo type="start">3</tremolo>`)), references.TremoloPair, 0, 0},
		{"glissando", n("C5", 8, note1(`<glissando type="start"/>`)), references.Glissando, 0, 0},
	}
	for _, test := range tests {
		n := read(t, piano(test.bars)).Notes[0]
		if n.Ornament != test.want || n.Above != test.above || n.Below != test.below {
			t.Errorf("%s: %v %d %d, want %v %d %d", test.name, n.Ornament, n.Above, n.Below, test.want, test.above, test.below)
		}
	}
}

func TestGraceNotesComeFirstInTheirOrder(t *testing.T) {
	ref := read(t, piano(n("C4", 8)+n("F5", 0, `<grace slash="yes"/>`)+n("E5", 0, `<grace slash="yes"/>`)+n("D5", 8)+n("C5", 0, "<grace/>")+n("B4", 0, "<grace/>")))
	if got, want := told(ref.Notes), "0 C4, (2 F5 acciaccatura), (2 E5 acciaccatura), 2 D5, (4 C5 after-grace), (4 B4 after-grace)"; got != want {
		t.Errorf("%s, want %s", got, want)
	}
	if got := each(ref, func(n *references.Note) any { return n.GraceOrder }); got != "0 1 2 0 1 2" {
		t.Error(got)
	}
}

func TestBeats(t *testing.T) {
	time := func(beats, unit string) string {
		return "<attributes><time><beats>" + beats + "</beats><beat-type>" + unit + "</beat-type></time></attributes>"
	}
	tests := []struct{ name, bars, want string }{
		{"common time", n("C4", 4) + n("C4", 2) + n("C4", 10), "1 2 2.5"},
		{"compound time", time("6", "8") + n("C4", 6) + n("C4", 2) + n("C4", 4), "1 2 2.3"},
		{"three eighths", time("3", "8") + n("C4", 2) + n("C4", 2) + n("C4", 2), "1 2 3"},
		{"half notes", time("2", "2") + n("C4", 4) + n("C4", 12), "1 1.5"},
		{"upbeat", n("C4", 4) + "|" + n("C4", 16), "4 1"},
		{"a bar cut by a repeat", n("C4", 16) + "|" + n("C4", 12) + closed + "|" + n("C4", 4), "1 1 1 1 4"},
	}
	for _, test := range tests {
		ref := read(t, piano(test.bars))
		got := each(ref, func(n *references.Note) any { return fmt.Sprintf("%.3g", float64(int(n.Beat*10))/10) })
		if got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
	}
}
