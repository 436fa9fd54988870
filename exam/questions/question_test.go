package questions

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"
	"testing"

	"evenhand/references"
	"evenhand/references/musicxml"
	"evenhand/references/repertoire"
)

// music reads a piano score of two staves whose bars are given as XML, with the opening attributes.
func music(t testing.TB, key, time string, bars ...string) *references.Reference {
	t.Helper()
	var b strings.Builder
	fmt.Fprintf(&b, `<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">`)
	for i, bar := range bars {
		number, rest := fmt.Sprint(i+1), ""
		if upbeat, ok := strings.CutPrefix(bar, "upbeat:"); ok {
			bar, number, rest = upbeat, "0", ` implicit="yes"`
		} else if strings.HasPrefix(bars[0], "upbeat:") {
			number = fmt.Sprint(i)
		}
		fmt.Fprintf(&b, `<measure number="%s"%s>`, number, rest)
		if i == 0 {
			fmt.Fprintf(&b, `<attributes><divisions>4</divisions>%s%s<staves>2</staves><clef number="1"><sign>G</sign><line>2</line></clef><clef number="2"><sign>F</sign><line>4</line></clef></attributes>`, key, time)
		}
		b.WriteString(bar + "</measure>")
	}
	b.WriteString("</part></score-partwise>")
	ref, err := musicxml.Read(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

func fifths(n int) string { return fmt.Sprintf("<key><fifths>%d</fifths></key>", n) }

func meter(beats, unit int) string {
	return fmt.Sprintf("<time><beats>%d</beats><beat-type>%d</beat-type></time>", beats, unit)
}

// n is a note such as "C4", "F#4", "Bb3" of a length in sixteenths, on a staff, with what else is in it.
func n(pitch string, sixteenths, staff int, more ...string) string {
	alter := strings.Count(pitch, "#") - strings.Count(pitch, "b")
	types := map[int]string{16: "<type>whole</type>", 12: "<type>half</type><dot/>", 8: "<type>half</type>", 6: "<type>quarter</type><dot/>", 4: "<type>quarter</type>", 2: "<type>eighth</type>", 1: "<type>16th</type>"}
	return fmt.Sprintf(`<note><pitch><step>%c</step><alter>%d</alter><octave>%c</octave></pitch><duration>%d</duration><voice>%d</voice>%s<staff>%d</staff>%s</note>`,
		pitch[0], alter, pitch[len(pitch)-1], sixteenths, staff, types[sixteenths], staff, strings.Join(more, ""))
}

func back(sixteenths int) string {
	return fmt.Sprintf("<backup><duration>%d</duration></backup>", sixteenths)
}

func barRestXML(sixteenths, staff int) string {
	return fmt.Sprintf(`<note><rest measure="yes"/><duration>%d</duration><voice>%d</voice><staff>%d</staff></note>`, sixteenths, staff, staff)
}

func says(words string) string {
	return "<direction><direction-type><words>" + words + "</words></direction-type><staff>1</staff></direction>"
}

// about finds the questions of a kind whose text contains some words.
func about(ref *references.Reference, level int, kind Kind, words string) []Question {
	var out []Question
	for _, q := range everything(ref, level) {
		if q.Kind == kind && strings.Contains(q.Text, words) {
			out = append(out, q)
		}
	}
	return out
}

// only is the one question of a kind with some words.
func only(t *testing.T, ref *references.Reference, level int, kind Kind, words string) Question {
	t.Helper()
	qs := about(ref, level, kind, words)
	if len(qs) != 1 {
		t.Fatalf("%d questions on %s with %q, want one: %v", len(qs), kind, words, qs)
	}
	return qs[0]
}

func right(t *testing.T, q Question, answers ...string) {
	t.Helper()
	for _, a := range answers {
		if !q.Right(a) {
			t.Errorf("%s %q is wrong, want right", q.Text, a)
		}
	}
}

func wrong(t *testing.T, q Question, answers ...string) {
	t.Helper()
	for _, a := range answers {
		if q.Right(a) {
			t.Errorf("%s %q is right, want wrong", q.Text, a)
		}
	}
}

// Common practice: A major has F♯ C♯ G♯, in that order.
func TestSignatureOfAMajor(t *testing.T) {
	ref := music(t, fifths(3), meter(4, 4), n("A4", 16, 1)+back(16)+n("A2", 16, 2))
	q := only(t, ref, 4, Signature, "in order")
	if q.Answer != "F♯, C♯, G♯" {
		t.Error(q.Answer)
	}
	right(t, q, "F♯ C♯ G♯", "f sharp, c sharp, g sharp", "F# C# G#", "F-sharp, C-sharp and G-sharp")
	wrong(t, q, "C♯ F♯ G♯", "F C G", "F♯ C♯", "three", "")
	right(t, only(t, ref, 1, Signature, "How many"), "three sharps", "3 sharps", "Three Sharps.")
}

func TestNoSignature(t *testing.T) {
	ref := music(t, fifths(0), meter(4, 4), n("C4", 16, 1)+back(16)+n("C3", 16, 2))
	right(t, only(t, ref, 3, Signature, "in order"), "none", "no sharps or flats", "nothing", "No sharps and no flats")
}

// Common practice: what the time signatures mean. 6/8 is six quavers, and two dotted crotchets; C is 4/4.
func TestTimeSignatures(t *testing.T) {
	for _, c := range []struct {
		time         string
		right, wrong []string
	}{
		{meter(3, 4), []string{"three crotchets in a bar", "3 crotchets in a bar", "three quarter notes in a measure", "Three crotchet beats per bar", "3 quarter-note beats in each measure"}, []string{"three", "three quavers in a bar", "four crotchets in a bar", "six quavers in a bar", "waltz"}},
		{meter(6, 8), []string{"six quavers in a bar", "two dotted crotchets in a bar", "6 eighth notes in a measure", "2 dotted quarter notes in a measure", "two dotted crotchet beats in a bar"}, []string{"six crotchets in a bar", "three crotchets in a bar", "two crotchets in a bar"}},
		{meter(2, 2), []string{"two minims in a bar", "2 half notes in a measure"}, []string{"two crotchets in a bar", "four crotchets in a bar"}},
		{strings.Replace(meter(4, 4), "<time>", `<time symbol="common">`, 1), []string{"four crotchets in a bar", "4 quarter notes in a measure"}, []string{"four minims in a bar", "common"}},
	} {
		ref := music(t, fifths(0), c.time, n("C4", 4, 1))
		q := only(t, ref, 4, Time, "mean")
		right(t, q, c.right...)
		wrong(t, q, c.wrong...)
	}
	common := music(t, fifths(0), strings.Replace(meter(4, 4), "<time>", `<time symbol="common">`, 1), n("C4", 4, 1))
	right(t, only(t, common, 1, Time, "What is the time signature"), "4/4", "C", "common time", "four-four", "4 4", "Common Time")
	wrong(t, only(t, common, 1, Time, "What is the time signature"), "2/2", "3/4", "cut time")
}

func TestTimeThatIsNoPlainFractionIsNotAsked(t *testing.T) {
	for _, time := range []string{
		`<time><beats>3+2</beats><beat-type>8</beat-type></time>`, `<time><beats>3</beats><beat-type>8</beat-type><beats>2</beats><beat-type>4</beat-type></time>`,
		`<time print-object="no"><beats>3</beats><beat-type>4</beat-type></time>`, `<time><senza-misura/></time>`,
	} {
		if qs := about(music(t, fifths(0), time, n("C4", 4, 1)), 8, Time, ""); len(qs) != 0 {
			t.Errorf("%s: %v", time, qs)
		}
	}
}

// Common practice: ritardando is gradually slower; it is neither quieter nor slow throughout.
func TestRitardando(t *testing.T) {
	ref := music(t, fifths(0), meter(4, 4), n("C4", 16, 1), says("rit.")+n("D4", 16, 1), says("dim.")+n("D4", 16, 1))
	q := only(t, ref, 2, Tempo, `"rit."`)
	if q.Answer != "gradually slower" || !slices.Contains(q.Choices, "gradually quieter") {
		t.Errorf("%+v", q)
	}
	right(t, q, "gradually slower", "getting slower", "slow down gradually", "It means gradually slower.", "GRADUALLY SLOWER")
	wrong(t, q, "gradually quieter", "softer", "slow", "faster", "ritardando")
	where := only(t, ref, 2, Tempo, "In which bar")
	right(t, where, "bar 2", "2", "two", "measure 2", "in bar two")
	wrong(t, where, "bar 1", "3")
	dim := only(t, ref, 2, Term, `"dim."`)
	right(t, dim, "gradually quieter", "getting softer", "decrescendo")
	wrong(t, dim, "gradually slower", "diminished")
}

// Common practice: a fermata is a note held.
func TestFermata(t *testing.T) {
	ref := music(t, fifths(0), meter(4, 4), n("C4", 16, 1, "<notations><fermata/></notations>"))
	q := only(t, ref, 1, Sign, "arc")
	right(t, q, "a note held", "fermata", "pause", "hold the note", "hold it longer", "a fermata (pause): hold the note for longer than written")
	wrong(t, q, "staccato", "short", "louder", "stop")
}

// A rest for the whole bar is as long as the bar: in 3/4 not four crotchets.
func TestBarRest(t *testing.T) {
	for _, c := range []struct {
		beats, unit, sixteenths int
		right, wrong            []string
	}{
		{3, 4, 12, []string{"three crotchets", "3 beats", "three quarter notes", "the whole bar"}, []string{"four crotchets", "4", "two crotchets"}},
		{6, 8, 12, []string{"six quavers", "two dotted crotchets", "2 dotted quarter notes", "6 eighth notes"}, []string{"four crotchets", "six crotchets"}},
		{4, 4, 16, []string{"four crotchets", "4 quarter notes"}, []string{"three crotchets"}},
	} {
		ref := music(t, fifths(0), meter(c.beats, c.unit), n("C4", c.sixteenths, 1)+back(c.sixteenths)+barRestXML(c.sixteenths, 2))
		q := only(t, ref, 3, Rest, "how long")
		right(t, q, c.right...)
		wrong(t, q, c.wrong...)
		kind := only(t, ref, 3, Rest, "what kind")
		right(t, kind, "a whole bar's rest", "whole-bar rest", "bar rest", "semibreve rest", "whole rest", "whole measure rest")
		wrong(t, kind, "minim rest", "crotchet rest", "half rest")
	}
}

// An upbeat is not bar 1, and nothing in it is called so.
func TestUpbeat(t *testing.T) {
	ref := music(t, fifths(-1), meter(3, 4), "upbeat:"+n("C5", 4, 1), n("A4", 12, 1), n("F4", 12, 1))
	q := only(t, ref, 2, Time, "On which beat")
	right(t, q, "the third beat", "3", "third", "beat three", "on the 3rd beat", "the last beat")
	wrong(t, q, "the first beat", "1", "bar 1")
	first := only(t, ref, 0, FirstNote, "first note")
	if first.Answer != "C" || first.Where.Bar != "0" || first.Where.Beat != 3 {
		t.Errorf("%+v", first)
	}
	for _, q := range everything(ref, 8) {
		if strings.Contains(q.Text, "bar 0") || q.Kind == NoteName && q.Answer == "C" {
			t.Error(q.Text)
		}
	}
	if qs := about(music(t, fifths(0), meter(3, 4), n("A4", 12, 1)), 8, Time, "On which beat"); len(qs) != 0 {
		t.Error(qs)
	}
}

// The key is asked only where the last bass note and the leading notes agree, and the score says
// nothing else.
func TestKeyIsAskedOnlyWhereItIsCertain(t *testing.T) {
	minor := strings.Replace(fifths(0), "</key>", "<mode>minor</mode></key>", 1)
	wrongMode := strings.Replace(fifths(0), "</key>", "<mode>major</mode></key>", 1)
	dorian := strings.Replace(fifths(0), "</key>", "<mode>dorian</mode></key>", 1)
	aMinor := n("G#4", 8, 1) + n("A4", 8, 1) + back(16) + n("E3", 8, 2) + n("A2", 8, 2)
	for _, c := range []struct {
		what, key, bar, want string
	}{
		{"a plain ending", fifths(0), n("B4", 8, 1) + n("C5", 8, 1) + back(16) + n("G3", 8, 2) + n("C3", 8, 2), "C major"},
		{"no leading note", fifths(0), n("D4", 8, 1) + n("C4", 8, 1) + back(16) + n("G3", 8, 2) + n("C3", 8, 2), ""},
		{"another bass note", fifths(0), n("B4", 8, 1) + n("C5", 8, 1) + back(16) + n("G3", 8, 2) + n("E3", 8, 2), ""},
		{"a raised seventh", fifths(0), aMinor, "A minor"},
		{"the mode agrees", minor, aMinor, "A minor"},
		{"the mode says other", wrongMode, aMinor, ""},
		{"a church mode", dorian, aMinor, ""},
		{"minor with no raised seventh", fifths(0), n("G4", 8, 1) + n("A4", 8, 1) + back(16) + n("E3", 8, 2) + n("A2", 8, 2), ""},
		{"a strange last chord", fifths(0), n("B4", 8, 1) + n("D5", 8, 1) + back(16) + n("G3", 8, 2) + n("C3", 8, 2), ""},
	} {
		got := ""
		if qs := about(music(t, c.key, meter(4, 4), c.bar), 4, KeyKind, "Which key"); len(qs) == 1 {
			got = qs[0].Answer
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", c.what, got, c.want)
		}
	}
	q := only(t, music(t, fifths(0), meter(4, 4), aMinor), 4, Relative, "relative")
	right(t, q, "C major", "c Major")
	wrong(t, q, "A major", "C minor", "C")
}

// Common practice: V to I is a perfect (authentic) cadence, IV to I a plagal one.
func TestCadences(t *testing.T) {
	chord := func(staff, length int, pitches ...string) string {
		out := n(pitches[0], length, staff)
		for _, p := range pitches[1:] {
			out += strings.Replace(n(p, length, staff), "<note>", "<note><chord/>", 1)
		}
		return out
	}
	last := chord(1, 8, "E4", "G4", "C5") + back(16)
	for _, c := range []struct {
		what, first, want string
		right             []string
	}{
		{"V to I", chord(1, 16, "D4", "G4", "B4") + back(16) + n("G2", 16, 2), "a perfect cadence", []string{"perfect", "authentic cadence", "V-I", "full close"}},
		{"IV to I", chord(1, 8, "D4", "G4", "B4") + chord(1, 8, "F4", "A4", "C5") + back(16) + n("G2", 8, 2) + n("F2", 8, 2), "a plagal cadence", []string{"plagal", "amen cadence", "IV-I"}},
		{"ii to I", chord(1, 8, "D4", "G4", "B4") + chord(1, 8, "F4", "A4", "D5") + back(16) + n("G2", 8, 2) + n("D3", 8, 2), "", nil},
	} {
		ref := music(t, fifths(0), meter(4, 4), c.first, strings.Replace(last, "<backup><duration>16", "<backup><duration>8", 1)+n("C3", 8, 2))
		qs := about(ref, 8, Cadence, "ends")
		if c.want == "" {
			if len(qs) != 0 {
				t.Errorf("%s: %v", c.what, qs)
			}
			continue
		}
		if len(qs) != 1 || qs[0].Answer != c.want {
			t.Errorf("%s: %v", c.what, qs)
			continue
		}
		right(t, qs[0], c.right...)
		wrong(t, qs[0], "imperfect", "interrupted cadence", "half cadence", "deceptive cadence")
	}
}

func TestTieAndSlur(t *testing.T) {
	tied := n("C4", 8, 1, `<tie type="start"/>`) + n("C4", 8, 1, `<tie type="stop"/>`)
	slurred := n("C4", 8, 1, `<notations><slur type="start"/></notations>`) + n("D4", 8, 1, `<notations><slur type="stop"/></notations>`)
	portato := strings.ReplaceAll(slurred, "<step>D", "<step>C")
	right(t, only(t, music(t, fifths(0), meter(4, 4), tied), 2, Sign, "curved"), "tie", "a tie", "tied")
	wrong(t, only(t, music(t, fifths(0), meter(4, 4), tied), 2, Sign, "curved"), "slur", "legato", "a slur: join the notes smoothly")
	right(t, only(t, music(t, fifths(0), meter(4, 4), slurred), 2, Sign, "curved"), "slur", "legato", "phrase mark")
	wrong(t, only(t, music(t, fifths(0), meter(4, 4), slurred), 2, Sign, "curved"), "tie", "a tie")
	if qs := about(music(t, fifths(0), meter(4, 4), portato), 8, Sign, "curved"); len(qs) != 0 {
		t.Errorf("a slur over one pitch: %v", qs)
	}
	held := only(t, music(t, fifths(0), meter(4, 4), tied), 3, NoteValue, "in all")
	right(t, held, "four", "4", "four crotchets", "4 quarter notes", "four beats")
	if qs := about(music(t, fifths(0), meter(4, 4), tied), 8, NoteValue, "what kind"); len(qs) != 0 {
		t.Errorf("the look of a tied note is asked: %v", qs)
	}
}

// Either usage of mordent is right.
func TestMordents(t *testing.T) {
	for _, sign := range []string{"mordent", "inverted-mordent"} {
		q := only(t, music(t, fifths(0), meter(4, 4), n("C4", 16, 1, "<notations><ornaments><"+sign+"/></ornaments></notations>")), 4, Sign, "wavy")
		right(t, q, "mordent", "a mordent", "inverted mordent")
		wrong(t, q, "trill", "turn")
	}
}

// A tritone may be called so beside the name that its spelling has.
func TestIntervals(t *testing.T) {
	for _, c := range []struct {
		from, to, number, full string
		more                   []string
	}{
		{"C4", "E4", "third", "major third", []string{"3rd", "a third", "3", "three"}},
		{"E4", "C4", "third", "major third", nil},
		{"F4", "B4", "fourth", "augmented fourth", nil},
		{"B3", "F4", "fifth", "diminished fifth", nil},
		{"C4", "C5", "octave", "perfect octave", []string{"8", "8ve", "eighth"}},
		{"Eb4", "F#4", "second", "augmented second", nil},
	} {
		ref := music(t, fifths(0), meter(4, 4), n(c.from, 4, 1)+n(c.to, 12, 1))
		q := only(t, ref, 5, Interval, "by its number")
		right(t, q, append(c.more, c.number)...)
		wrong(t, q, "second class", "semitone", "0", "unison")
		full := only(t, ref, 5, Interval, "what is the interval")
		right(t, full, c.full, "a "+c.full, strings.ToUpper(c.full), strings.Replace(c.full, "major third", "Major 3rd", 1))
		wrong(t, full, "minor "+c.number, c.number+" or so")
		if tritone := strings.HasPrefix(c.full, "augmented fourth") || strings.HasPrefix(c.full, "diminished fifth"); full.Right("tritone") != tritone {
			t.Errorf("%s: tritone", c.full)
		}
	}
	if qs := about(music(t, fifths(0), meter(4, 4), n("C4", 4, 1)+n("C4", 4, 1)+n("D5", 8, 1)), 8, Interval, "beat 1"); len(qs) != 0 {
		t.Errorf("a unison is asked: %v", qs)
	}
}

func TestLoudnessIsNotSpeed(t *testing.T) {
	wedge := func(kind string) string {
		return `<direction><direction-type><wedge type="` + kind + `"/></direction-type><staff>1</staff></direction>`
	}
	ref := music(t, fifths(0), meter(4, 4), wedge("diminuendo")+n("C4", 16, 1), n("D4", 16, 1), wedge("stop")+n("C4", 16, 1))
	q := only(t, ref, 3, Loudness, "from bar 1 to bar 2")
	right(t, q, "gradually quieter", "softer", "decrescendo", "diminuendo", "getting quieter", "it gets softer")
	wrong(t, q, "gradually slower", "slower", "gradually louder", "crescendo", "ritardando")
	if !slices.Contains(q.Choices, "gradually louder") {
		t.Error(q.Choices)
	}
	both := music(t, fifths(0), meter(4, 4), wedge("crescendo")+n("C4", 8, 1)+wedge("stop")+wedge("diminuendo")+n("C4", 8, 1)+wedge("stop"))
	if qs := about(both, 8, Loudness, "hairpin"); len(qs) != 0 {
		t.Errorf("two hairpins start in one bar: %v", qs)
	}
}

func TestNoteNames(t *testing.T) {
	ref := music(t, fifths(-1), meter(4, 4), n("Bb4", 4, 1)+n("C5", 4, 1)+n("F#4", 4, 1)+n("C##4", 4, 1))
	for beat, c := range []struct{ right, wrong []string }{
		{[]string{"B♭", "Bb", "b flat", "B-flat", "it is B flat"}, []string{"B", "A♯", "B natural", "flat", "b sharp"}},
		{[]string{"C", "c", "C natural", "C♮"}, []string{"C♯", "B", "see"}},
		{[]string{"F♯", "F sharp", "f#"}, []string{"F", "G♭", "F𝄪"}},
		{[]string{"C𝄪", "C double sharp", "C##"}, []string{"C♯", "D"}},
	} {
		q := only(t, ref, 4, NoteName, fmt.Sprintf("beat %d", beat+1))
		right(t, q, c.right...)
		wrong(t, q, c.wrong...)
	}
}

// Nothing that makes no sense is right, whatever it is.
func TestNonsenseIsNotRight(t *testing.T) {
	for _, s := range repertoire.All() {
		ref, err := s.Read()
		if err != nil {
			t.Fatal(err)
		}
		for _, q := range everything(ref, 8) {
			for _, a := range []string{"", " ", "?", "…", "I do not know", "the", strings.Repeat("slower ", 1000), "\x00\xff", "♯", "bar", "yes"} {
				if q.Right(a) {
					t.Errorf("%s %q is right", q.Text, a)
				}
			}
		}
	}
}

func TestWhatIsNoPrintedScoreGivesNone(t *testing.T) {
	r, err := references.Parse("B flat major scale")
	if err != nil {
		t.Fatal(err)
	}
	ref, err := r.Reference()
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range []*references.Reference{nil, {}, ref, {Page: &references.Page{}}} {
		if qs := Ask(r, 4, 1, 10); len(qs) != 0 {
			t.Error(qs)
		}
	}
}

func TestQuestionIsJSON(t *testing.T) {
	ref, err := repertoire.All()[0].Read()
	if err != nil {
		t.Fatal(err)
	}
	for _, q := range Ask(ref, 3, 7, 12) {
		data, err := json.Marshal(q)
		if err != nil {
			t.Fatal(err)
		}
		var again Question
		if err := json.Unmarshal(data, &again); err != nil {
			t.Fatal(err)
		}
		if fmt.Sprint(again) != fmt.Sprint(q) && q.To == nil {
			t.Errorf("%+v\nbecame %+v", q, again)
		}
	}
}
