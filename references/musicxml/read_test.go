package musicxml

import (
	"archive/zip"
	"bytes"
	"encoding/binary"
	"fmt"
	"reflect"
	"runtime"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"evenhand/references"
)

// score wraps the bars of one part into a whole file. Bars are separated by "|".
func piano(bars string) string {
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">`)
	for i, bar := range strings.Split(bars, "|") {
		fmt.Fprintf(&b, `<measure number="%d">`, i+1)
		if i == 0 {
			b.WriteString(`<attributes><divisions>4</divisions><time><beats>4</beats><beat-type>4</beat-type></time></attributes>`)
		}
		b.WriteString(bar + `</measure>`)
	}
	b.WriteString(`</part></score-partwise>`)
	return b.String()
}

// n writes a note: a pitch such as "C4" or "F#5", its duration in sixteenths, and more elements, of
// which those from notations on come last.
func n(pitch string, sixteenths int, more ...string) string {
	alter := strings.Count(pitch, "#") - strings.Count(pitch[1:], "b")
	before, after := "", ""
	for _, m := range more {
		if strings.HasPrefix(m, "<chord") || strings.HasPrefix(m, "<grace") || strings.HasPrefix(m, "<cue") {
			before += m
		} else {
			after += m
		}
	}
	duration := fmt.Sprintf("<duration>%d</duration>", sixteenths)
	if sixteenths == 0 {
		duration = ""
	}
	return fmt.Sprintf(`<note>%s<pitch><step>%c</step><alter>%d</alter><octave>%c</octave></pitch>%s%s</note>`,
		before, pitch[0], alter, pitch[len(pitch)-1], duration, after)
}

func dir(inner string) string {
	return `<direction><direction-type>` + inner + `</direction-type></direction>`
}

func note1(inner string) string { return `<notations>` + inner + `</notations>` }

func back(sixteenths int) string {
	return fmt.Sprintf(`<backup><duration>%d</duration></backup>`, sixteenths)
}

// whole is a bar with one note, and what stands before and after it.
func wholeBar(before, after string) string { return before + n("C4", 16) + after }

func read(t *testing.T, xml string) *references.Reference {
	t.Helper()
	ref, err := Read(strings.NewReader(xml))
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

const (
	open   = `<barline location="left"><repeat direction="forward"/></barline>`
	closed = `<barline location="right"><repeat direction="backward"/></barline>`
)

func endingStart(n string) string {
	return `<barline location="left"><ending number="` + n + `" type="start"/></barline>`
}

func endingStop(n, repeat string) string {
	return `<barline location="right"><ending number="` + n + `" type="stop"/>` + repeat + `</barline>`
}

// Common practice, as in any handbook of notation: what each set of signs asks for.
func TestWayThroughTheScore(t *testing.T) {
	w := wholeBar
	back := `<repeat direction="backward"/>`
	tests := []struct{ name, bars, want, jumps string }{
		{"no signs", w("", "") + "|" + w("", ""), "1 2", ""},
		{"a repeat", w("", closed) + "|" + w("", ""), "1 1 2", "1>2"},
		{"two repeats without start signs", w("", closed) + "|" + w("", closed) + "|" + w("", ""), "1 1 2 2 3", "1>2 3>4"},
		{"a final bar line starts anew", w("", `<barline location="right"><bar-style>light-heavy</bar-style></barline>`) + "|" + w("", closed), "1 2 2", "2>3"},
		{"three times", w("", `<barline location="right"><repeat direction="backward" times="3"/></barline>`), "1 1 1", "1>3 2>3"},
		{"endings", w(open, "") + "|" + w(endingStart("1"), endingStop("1", back)) + "|" + w(endingStart("2"), endingStop("2", "")) + "|" + w("", ""), "1 2 1 3 4", "1>3"},
		{"an ending played twice", w(open, "") + "|" + w(endingStart("1,2"), endingStop("1,2", back)) + "|" + w(endingStart("3"), endingStop("3", "")), "1 2 1 2 1 3", "1>5 3>5"},
		{"a first ending alone", w(open, "") + "|" + w(endingStart("1"), endingStop("1", back)) + "|" + w("", closed), "1 2 1 3 3", "1>3 4>5"},
		{"a repeat after endings goes back to them", w(open, "") + "|" + w(endingStart("1"), endingStop("1", back)) + "|" + w(endingStart("2"), endingStop("2", "")) + "|" + w("", closed), "1 2 1 3 4 4", "1>3 5>6"},
		{"da capo al fine by words", w("", "") + "|" + w("", dir("<words>Fine</words>")) + "|" + w("", dir("<words>D.C. al Fine</words>")), "1 2 3 1 2", ""},
		{"da capo al fine by sound", w("", "") + "|" + w("", `<sound fine="yes"/>`) + "|" + w("", `<sound dacapo="yes"/>`), "1 2 3 1 2", ""},
		{"repeats are left out after a da capo", w("", closed) + "|" + w("", dir("<words>D. C.</words>")), "1 1 2 1 2", "1>2 4>3"},
		{"unless the score says otherwise", w("", `<barline location="right"><repeat direction="backward" after-jump="yes"/></barline>`) + "|" + w("", `<sound dacapo="yes"/>`), "1 1 2 1 1 2", "1>2 4>5"},
		{"the last ending after a da capo", w(open, "") + "|" + w(endingStart("1"), endingStop("1", back)) + "|" + w(endingStart("2"), endingStop("2", "")) + "|" + w("", `<sound dacapo="yes"/>`), "1 2 1 3 4 1 3 4", "1>3"},
		{"dal segno al coda by sound", w("", "") + "|" + w(`<sound segno="s"/>`, `<sound tocoda="c"/>`) + "|" + w("", `<sound dalsegno="s"/>`) + "|" + w(`<sound coda="c"/>`, ""), "1 2 3 2 4", ""},
		{"dal segno al coda by words and signs", w("", "") + "|" + w(dir("<segno/>"), dir("<words>To Coda</words>")) + "|" + w("", dir("<words>D.S. al Coda</words>")) + "|" + w(dir("<coda/>"), ""), "1 2 3 2 4", ""},
		{"bare coda signs: out at the first, in at the second", w("", dir("<coda/>")) + "|" + w("", dir("<words>D.C. al Coda</words>")) + "|" + w(dir("<coda/>"), ""), "1 2 1 3", ""},
		{"a jump to a sign that is not there", w("", `<sound dalsegno="s"/>`) + "|" + w("", ""), "1 2", ""},
	}
	for _, test := range tests {
		ref := read(t, piano(test.bars))
		var jumps []string
		for _, j := range ref.Jumps {
			jumps = append(jumps, fmt.Sprintf("%d>%d", j.From, j.To))
		}
		if got := playedBars(ref); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
		if got := strings.Join(jumps, " "); got != test.jumps {
			t.Errorf("%s: jumps %s, want %s", test.name, got, test.jumps)
		}
		checkSections(t, test.name, ref)
	}
}

// checkSections asserts what the documentation of Section and Jump promises.
func checkSections(t *testing.T, name string, ref *references.Reference) {
	t.Helper()
	at, edges := 0, map[int]bool{len(ref.Bars): true}
	for _, s := range ref.Sections {
		if s.First != at || s.End <= s.First {
			t.Errorf("%s: sections %v", name, ref.Sections)
		}
		for i := s.First; i < s.End; i++ {
			if ref.Bars[i].Pass != s.Pass || ref.Bars[i].Written != ref.Bars[s.First].Written+i-s.First {
				t.Errorf("%s: section %v is not played straight through", name, s)
			}
		}
		edges[s.First] = true
		at = s.End
	}
	if at != len(ref.Bars) {
		t.Errorf("%s: sections end at %d of %d bars", name, at, len(ref.Bars))
	}
	for _, j := range ref.Jumps {
		if !edges[j.From] || !edges[j.To] {
			t.Errorf("%s: jump %v leaves or enters inside a section", name, j)
		}
	}
}

func TestPassCountsSoundings(t *testing.T) {
	ref := read(t, piano(wholeBar("", closed)+"|"+wholeBar("", "")))
	if got := each(ref, func(n *references.Note) any { return fmt.Sprint(n.Bar, ".", n.Pass, "@", n.Onset) }); got != "1.1@0 1.2@4 2.1@8" {
		t.Error(got)
	}
}

func TestTiesAreStruckOnce(t *testing.T) {
	start, stop := `<tie type="start"/>`, `<tie type="stop"/>`
	tests := []struct{ name, bars, want string }{
		{"across a bar line", n("C4", 16, start) + "|" + n("C4", 16, stop), "0 C4 8"},
		{"three notes", n("C4", 4, start) + n("C4", 8, stop, start) + n("C4", 4, stop), "0 C4 4"},
		{"printed only", n("C4", 8, note1(`<tied type="start"/>`)) + n("C4", 8, note1(`<tied type="stop"/>`)), "0 C4 4"},
		{"another key", n("C4", 8, start) + n("D4", 8, stop), "0 C4 2, 2 D4 2"},
		{"a rest between", n("C4", 4, start) + `<forward><duration>4</duration></forward>` + n("C4", 8, stop), "0 C4 1, 2 C4 2"},
		{
			"into a second ending, where nothing comes before", n("C4", 16) + "|" + endingStart("1") + n("C4", 16, start) + endingStop("1", `<repeat direction="backward"/>`) + "|" + endingStart("2") + n("C4", 16, stop),
			"0 C4 4, 4 C4 4, 8 C4 4, 12 C4 4",
		},
		{"a grace note, and on over the bar line", n("D4", 12) + n("C4", 0, "<grace/>", start) + n("C4", 4, stop, start) + "|" + n("C4", 16, stop), "0 D4 3, 3 C4 5"},
		{"two voices on one key", n("C4", 8, start, "<voice>1</voice>") + n("C4", 8, stop, "<voice>1</voice>") + back(16) + n("C4", 8, start, "<voice>2</voice>") + n("C4", 8, stop, "<voice>2</voice>"), "0 C4 4"},
	}
	for _, test := range tests {
		ref := read(t, piano(test.bars))
		var got []string
		for _, n := range ref.Notes {
			got = append(got, fmt.Sprint(n.Onset, " ", n.Pitch, " ", n.Length))
		}
		if s := strings.Join(got, ", "); s != test.want {
			t.Errorf("%s: %s, want %s", test.name, s, test.want)
		}
	}
}

// Files that ask for more than any piece does are read as far as they make sense, in no more room than others.
func TestMoreThanAnyPieceAsks(t *testing.T) {
	bars := endingStart(strings.Repeat("1-100,", 1000)) + n("C4", 16) + strings.Repeat("|"+n("C4", 16), 100) + endingStop("1", "")
	if got := numbers(strings.Repeat("3, 1-2 2-4,", 50)); !slices.Equal(got, []int{1, 2, 3, 4}) {
		t.Errorf("the endings are %v", got)
	}
	before := allocated(t, func() { read(t, piano(bars)) })
	plain := allocated(t, func() { read(t, piano(strings.Replace(bars, strings.Repeat("1-100,", 1000), "1-100", 1))) })
	if before > 2*plain {
		t.Errorf("an ending named a thousand times takes %d bytes, named once %d", before, plain)
	}
	ref := read(t, strings.Replace(piano(n("C4", 16)+`<note><pitch><step>D</step><octave>4</octave></pitch><duration>999999999.99999</duration></note>`), "<divisions>4<", "<divisions>1.00001<", 1))
	for _, n := range ref.Notes {
		if n.Onset.Float() < 0 || n.Length.Float() < 0 {
			t.Errorf("%s at %s, %s long", n.Pitch, n.Onset, n.Length)
		}
	}
}

// allocated is how many bytes f takes, in all.
func allocated(t *testing.T, f func()) uint64 {
	t.Helper()
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	f()
	runtime.ReadMemStats(&after)
	return after.TotalAlloc - before.TotalAlloc
}

// One file gives one list of warnings, in its own order.
func TestWarningsOfSlursAreInOrder(t *testing.T) {
	var notes []string
	var want []references.Warning
	for i := range 6 {
		notes = append(notes, n("C4", 2, note1(fmt.Sprintf(`<slur type="start" number="%d"/>`, i+1)))+"\n")
	}
	for range 20 {
		got := read(t, piano(strings.Join(notes, ""))).Warnings
		if want == nil {
			want = got
		}
		if !slices.Equal(got, want) || len(got) != 6 {
			t.Fatalf("warnings %q, at first %q", got, want)
		}
	}
}

func TestUnisonIsOneStroke(t *testing.T) {
	xml := strings.Replace(piano(`<note id="a"><pitch><step>C</step><octave>4</octave></pitch><duration>4</duration><voice>1</voice><staff>1</staff></note>`+back(4)+
		`<note id="b"><pitch><step>C</step><octave>4</octave></pitch><duration>16</duration><voice>5</voice><staff>2</staff></note>`+back(16)+
		`<note id="c"><pitch><step>B</step><alter>1</alter><octave>3</octave></pitch><duration>8</duration><voice>6</voice><staff>2</staff></note>`), "<divisions>", "<staves>2</staves><divisions>", 1)
	ref := read(t, xml)
	if len(ref.Notes) != 1 {
		t.Fatal(told(ref.Notes))
	}
	n := ref.Notes[0]
	if n.ID != "b" || !reflect.DeepEqual(n.Also, []string{"c", "a"}) && !reflect.DeepEqual(n.Also, []string{"a", "c"}) || n.Hand != references.Both || n.Length != references.Q(4, 1) {
		t.Errorf("%+v", n)
	}
}

func TestHands(t *testing.T) {
	at := func(pitch string, sixteenths, voice, staff int) string {
		return n(pitch, sixteenths, fmt.Sprintf("<voice>%d</voice><staff>%d</staff>", voice, staff))
	}
	two := func(bars string) string {
		return strings.Replace(piano(bars), "<divisions>", "<staves>2</staves><divisions>", 1)
	}
	part := func(id, clef string) string {
		return `<part id="` + id + `"><measure number="1"><attributes><divisions>4</divisions><clef><sign>` + clef + `</sign></clef></attributes>` + n("C4", 16) + `</measure></part>`
	}
	parts := func(p ...string) string {
		return `<score-partwise><part-list/>` + strings.Join(p, "") + `</score-partwise>`
	}
	hands := func(r *references.Reference) string {
		return each(r, func(n *references.Note) any { return n.Pitch.String() + n.Hand.String() })
	}
	tests := []struct{ name, xml, want string }{
		{"two staves", two(at("C5", 16, 1, 1) + back(16) + at("C3", 16, 5, 2)), "C3left C5right"},
		{"one staff in treble", parts(part("P1", "G")), "C4right"},
		{"one staff in bass", parts(part("P1", "F")), "C4left"},
		{"two parts", parts(part("P1", "G"), strings.ReplaceAll(part("P2", "F"), "<octave>4", "<octave>3")), "C3left C4right"},
		{"written across while the right hand plays", two(at("C6", 16, 1, 1) + back(16) + at("C3", 8, 5, 2) + at("G3", 4, 5, 2) + at("C4", 4, 5, 1)), "C3left C6right G3left C4left"},
		{"written across while the right hand is free", two(at("C3", 8, 5, 2) + at("G3", 4, 5, 2) + at("C4", 4, 5, 1)), "C3left G3left C4right"},
		{"a grace note on the other staff", two(at("E5", 8, 1, 1) + n("C4", 0, "<grace/>", "<voice>1</voice><staff>2</staff>") + at("E5", 8, 1, 1) + back(16) + at("C3", 16, 5, 2)), "C3left E5right C4right E5right"},
	}
	for _, test := range tests {
		if got := hands(read(t, test.xml)); got != test.want {
			t.Errorf("%s: %s, want %s", test.name, got, test.want)
		}
	}
}

func TestSongLeavesTheVoiceOut(t *testing.T) {
	song := `<score-partwise><part-list><score-part id="V"><part-name>Voice</part-name></score-part><score-part id="P"><part-name>Piano</part-name></score-part></part-list>` +
		`<part id="V"><measure number="1">` + n("C5", 4) + `</measure></part>` +
		`<part id="P"><measure number="1"><attributes><staves>2</staves></attributes>` + n("C3", 4, "<staff>2</staff>") + `</measure></part></score-partwise>`
	ref := read(t, song)
	if told(ref.Notes) != "0 C3" || len(ref.Warnings) != 1 || !strings.Contains(ref.Warnings[0].Text, `"Voice"`) {
		t.Error(told(ref.Notes), ref.Warnings)
	}
}

// The same score in every wrapping.
func TestEncodings(t *testing.T) {
	body := strings.Replace(piano(n("C4", 16)), `<part-list>`, `<movement-title>Prélude</movement-title><part-list>`, 1)
	u16 := func(order binary.AppendByteOrder, mark bool, s string) []byte {
		var out []byte
		units := utf16.Encode([]rune(s))
		if mark {
			units = append([]uint16{0xFEFF}, units...)
		}
		for _, u := range units {
			out = order.AppendUint16(out, u)
		}
		return out
	}
	latin := func(s string) []byte {
		var out []byte
		for _, r := range s {
			out = append(out, byte(r))
		}
		return out
	}
	decl := func(enc string) string { return `<?xml version="1.0" encoding="` + enc + `"?>` + "\n" + body }
	timewise := strings.NewReplacer("score-partwise", "score-timewise", `<part id="P1"><measure number="1">`, `<measure number="1"><part id="P1">`, `</measure></part>`, `</part></measure>`).Replace(body)
	files := map[string][]byte{
		"utf-8": []byte(decl("UTF-8")), "utf-8 with mark": []byte("\xEF\xBB\xBF" + body), "no declaration": []byte(body),
		"utf-16 little": u16(binary.LittleEndian, true, decl("UTF-16")), "utf-16 big": u16(binary.BigEndian, true, decl("UTF-16")),
		"utf-16 without mark": u16(binary.LittleEndian, false, decl("UTF-16")), "latin-1": latin(decl("ISO-8859-1")),
		"latin-1 that says utf-8": latin(decl("UTF-8")), "timewise": []byte(timewise),
		"compressed": packed(t, "score.xml", []byte(body), true), "compressed without container": packed(t, "score.musicxml", []byte(body), false),
	}
	for name, data := range files {
		ref, err := Read(bytes.NewReader(data))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if ref.Title != "Prélude" || told(ref.Notes) != "0 C4" {
			t.Errorf("%s: %q %s", name, ref.Title, told(ref.Notes))
		}
	}
}

// packed compresses a score.
func packed(t testing.TB, name string, score []byte, container bool) []byte {
	t.Helper()
	var buf bytes.Buffer
	z := zip.NewWriter(&buf)
	write := func(name string, data []byte) {
		w, err := z.Create(name)
		if err == nil {
			_, err = w.Write(data)
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	if container {
		write("META-INF/container.xml", []byte(`<?xml version="1.0"?><container><rootfiles><rootfile full-path="cover.pdf" media-type="application/pdf"/><rootfile full-path="`+name+`"/></rootfiles></container>`))
	}
	write(name, score)
	if err := z.Close(); err != nil {
		t.Fatal(err)
	}
	return buf.Bytes()
}

func TestWhatCannotBeAScoreIsRefused(t *testing.T) {
	bomb := packed(t, "score.xml", bytes.Repeat([]byte(" "), maxBytes+2), true)
	tests := []struct {
		name, want string
		data       []byte
	}{
		{"nothing", "empty", nil},
		{"a web page", `line 2: <html> does not begin a score`, []byte("<!DOCTYPE html>\n<html><body/></html>")},
		{"words", "empty", []byte("no music here")},
		{"a list of scores", "opus", []byte("<opus/>")},
		{"no bars", "no bars", []byte("<score-partwise><part-list/></score-partwise>")},
		{"a zip without a score", "no score", packed(t, "cover.pdf", []byte("%PDF"), false)},
		{"a broken zip", "compressed score", []byte("PK\x03\x04 and no more")},
		{"a zip bomb", "too large", bomb},
		{"deep nesting", "line 1: elements nest more than 64 deep", []byte(strings.Replace(piano(n("C4", 4)+"|"+strings.Repeat("<x>", 100)), "|", "", 1))},
		{"a huge attribute", `attribute "number" is longer`, []byte(strings.Replace(piano(n("C4", 4)), `number="1"`, `number="`+strings.Repeat("1", maxText+1)+`"`, 1))},
		{"a huge text", "a text is longer", []byte(piano(dir("<words>" + strings.Repeat("x", maxText+1) + "</words>")))},
		{"repeats without end", "more than 20000 bars", []byte(piano(strings.Repeat(wholeBar("", "")+"|", 300) + wholeBar("", `<barline><repeat direction="backward" times="100"/></barline>`)))},
	}
	for _, test := range tests {
		_, err := Read(bytes.NewReader(test.data))
		if err == nil || !strings.Contains(err.Error(), test.want) {
			t.Errorf("%s: %v, want ...%s...", test.name, err, test.want)
		}
	}
}

// A file that is damaged is read as far as it goes, and the damage is told with bar and line.
func TestWhatIsOddIsPassedOverAndSaid(t *testing.T) {
	good := n("C4", 16)
	tests := []struct{ name, xml, notes, warning string }{
		{"broken off", piano(good + "|" + good)[:len(piano(good+"|"+good))-60], "0 C4", "the file breaks off"},
		{"an element left open", strings.Replace(piano(good+"|"+good), "</pitch>", "", 1), "4 C4", "<pitch> is not opened and closed rightly"},
		{"an unknown entity", piano(dir("<words>&dolce;</words>") + good), "0 C4", ""},
		{"no pitch that can be read", piano(n("H4", 8) + n("D4", 8)), "2 D4", "bar 1 (line 1): a note with no pitch that can be read"},
		{"no length", piano(n("C4", 0) + n("D4", 8)), "0 D4", "bar 1 (line 1): a note without a length"},
		{"a length by its type alone", piano(n("C4", 0, "<type>half</type><dot/>") + n("D4", 4)), "0 C4, 3 D4", ""},
		{"percussion", piano(`<note><unpitched/><duration>8</duration></note>` + n("D4", 8)), "2 D4", "percussion"},
		{"back too far", piano(n("C4", 8) + back(99) + n("E4", 4)), "0 C4, 0 E4", "beyond the start of the bar"},
		{"divisions of nothing", piano("<attributes><divisions>0</divisions></attributes>" + good), "0 C4", "divisions"},
		{"a metre of nothing", piano("<attributes><time><beats>0</beats><beat-type>4</beat-type></time></attributes>" + good), "0 C4", "time signature of 0/4"},
		{"a slur that does not end", piano(n("C4", 16, note1(`<slur type="start"/>`))), "0 C4", "a slur that does not end"},
		{"an ending without a number", piano(endingStart("") + good), "0 C4", "an ending without a number"},
		{"a jump to no sign", piano(good + `<sound dalsegno="s"/>`), "0 C4", "a jump to a sign that is not there"},
		{"nonsense for a number of times", piano(good + `<barline><repeat direction="backward" times="many"/></barline>`), "0 C4, 4 C4", "taken as one of two"},
	}
	for _, test := range tests {
		ref, err := Read(strings.NewReader(test.xml))
		if err != nil {
			t.Errorf("%s: %v", test.name, err)
			continue
		}
		if got := told(ref.Notes); got != test.notes {
			t.Errorf("%s: %s, want %s", test.name, got, test.notes)
		}
		said := fmt.Sprint(ref.Warnings)
		if test.warning == "" && len(ref.Warnings) > 0 || !strings.Contains(said, test.warning) {
			t.Errorf("%s: warnings %s, want %q", test.name, said, test.warning)
		}
	}
}
