package musicxml

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/internal/outside"
	"evenhand/references"
)

// suite tells what becomes of each file of the open MusicXML test suite (MIT licence): how many
// notes are struck and bars written and played, where the music ends in quarters, how many warnings
// there are, and what the file tries. The onsets are checked against verovio below.
var suite = []struct {
	file                string
	notes, bars, played int
	end                 string
	warnings            int
	tries               string
}{
	{"01a", 110, 28, 28, "110", 0, "every pitch from G3 to C6: natural, sharp, flat, double accidentals"},
	{"01b", 82, 41, 41, "82", 0, "leaps that grow step by step"},
	{"01c", 1, 1, 1, "4", 0, "a note that names no voice"},
	{"01d", 8, 2, 2, "8", 8, "quarter-tones, taken as the nearest key and said"},
	{"01e", 16, 4, 4, "16", 0, "accidentals of an editor and of caution"},
	{"01ea", 9, 6, 6, "24", 0, "accidentals in brackets, moved, coloured, large"},
	{"01f", 16, 4, 4, "16", 12, "quarter-tones with accidentals of caution"},
	{"01g", 12, 6, 6, "12", 0, "accidentals with arrows"},
	{"01h", 14, 7, 7, "14", 0, "accidentals of Turkish and Persian music"},
	{"02a", 0, 6, 6, "24", 0, "rests of every length, plain and dotted"},
	{"02b", 0, 1, 1, "5", 0, "rests that are placed at a pitch"},
	{"02c", 0, 31, 31, "124", 0, "rests over many bars"},
	{"02d", 1, 10, 10, "33", 0, "rests over many bars in several metres"},
	{"02e", 3, 2, 2, "5", 0, "rests without a type"},
	{"03aa", 25, 3, 3, "54", 0, "lengths from breve to 64th, plain, dotted, twice dotted"},
	{"03ab", 14, 6, 6, "555/8", 0, "lengths from long to 128th"},
	{"03b", 4, 1, 1, "3", 0, "a second voice that goes back to the middle of the bar"},
	{"03c", 6, 2, 2, "8", 0, "divisions that change within a bar"},
	{"03d", 11, 17, 17, "141/2", 0, "lengths beside the dotted ones"},
	{"03e", 32, 1, 1, "4", 0, "beams broken at the beat"},
	{"11a", 11, 11, 11, "85/2", 0, "common metres"},
	{"11b", 2, 1, 1, "4", 1, "no time signature"},
	{"11c", 9, 2, 2, "23/2", 0, "sums in the time signature over one unit"},
	{"11d", 11, 2, 2, "16", 0, "several fractions in one time signature"},
	{"11e", 8, 1, 1, "11/2", 0, "sums and several fractions"},
	{"11f", 5, 3, 3, "13/2", 0, "signs for metres they do not fit"},
	{"11g", 3, 1, 1, "3/2", 0, "a time signature of one number"},
	{"11h", 3, 1, 1, "3/2", 0, "free time"},
	{"12aa", 4, 4, 4, "16", 0, "four clefs, whose pitches are those that sound"},
	{"12ab", 10, 10, 10, "40", 0, "clefs with octaves, on other lines, of percussion"},
	{"12ac", 3, 3, 3, "12", 0, "a tablature clef between others"},
	{"12ad", 6, 6, 6, "24", 0, "clefs two and three octaves off"},
	{"12b", 2, 2, 2, "8", 0, "neither key nor clef"},
	{"13a", 30, 30, 30, "60", 0, "key signatures from seven flats to seven sharps, major and minor"},
	{"13aa", 10, 10, 10, "20", 0, "key signatures from eleven flats to eleven sharps"},
	{"13ab", 5, 5, 5, "10", 0, "key signatures that cancel the one before"},
	{"13ac", 3, 3, 3, "6", 0, "key signatures drawn in other octaves"},
	{"13b", 9, 9, 9, "9", 0, "church modes, all with two sharps"},
	{"13c", 2, 2, 2, "4", 2, "key signatures of single signs, passed over and said"},
	{"13d", 1, 1, 1, "2", 1, "key signatures of quarter-tones, passed over and said"},
	{"13e", 4, 1, 1, "4", 0, "key signatures that change inside a bar"},
	{"14a", 8, 3, 3, "12", 0, "staves of one, three and four lines"},
	{"21a", 2, 1, 1, "2", 0, "one chord of two notes"},
	{"21b", 16, 2, 2, "8", 0, "chords of two notes that follow one another"},
	{"21c", 20, 2, 2, "8", 0, "chords of three notes and several lengths"},
	{"21d", 9, 2, 2, "8", 0, "chords after articulations and a dynamic"},
	{"21e", 6, 2, 2, "3", 0, "chords after an upbeat"},
	{"21f", 3, 1, 1, "4", 0, "directions between the notes of a chord"},
	{"21g", 19, 1, 1, "4", 0, "tremolos on chords and between them"},
	{"22a", 118, 33, 33, "132", 0, "shapes of note head"},
	{"22b", 10, 3, 3, "12", 0, "slashes for notes, and hidden ones"},
	{"22c", 12, 1, 1, "4", 0, "shapes of note head within chords"},
	{"22d", 8, 1, 1, "6", 0, "note heads in brackets"},
	{"23a", 31, 4, 4, "16", 0, "tuplets from 3:2 to 7:3"},
	{"23b", 68, 4, 4, "19", 0, "tuplets with several brackets"},
	{"23c", 30, 5, 5, "20", 0, "tuplets whose shown number differs from the played"},
	{"23d", 9, 1, 1, "2", 0, "a tuplet inside a tuplet"},
	{"23e", 20, 5, 5, "15", 0, "tremolos in tuplets"},
	{"23f", 20, 1, 1, "4", 0, "triplets without brackets"},
	{"24a", 28, 3, 3, "12", 0, "grace notes, slashed and not, beamed, of several lengths"},
	{"24b", 8, 1, 1, "3", 0, "chords as grace notes"},
	{"24c", 4, 1, 1, "4", 0, "a grace note at the end of a bar"},
	{"24d", 7, 1, 1, "4", 0, "grace notes that take from the note before or after"},
	{"24e", 4, 1, 1, "4", 0, "a grace note on the other staff"},
	{"24f", 3, 1, 1, "4", 0, "a slurred grace note"},
	{"31a", 53, 14, 14, "56", 0, "directions of every kind"},
	{"31c", 12, 3, 3, "12", 3, "metronome marks: figures, words, note values set equal"},
	{"32a", 28, 6, 6, "24", 0, "notations of every kind"},
	{"32aa", 14, 4, 4, "16", 0, "ornaments of every kind"},
	{"32ab", 40, 11, 11, "44", 0, "fingerings, strings and other technical signs"},
	{"32ac", 6, 2, 2, "8", 0, "arpeggios, dynamics within notations and others"},
	{"32ad", 6, 3, 3, "12", 1, "mutes of brass, in a file with a bar that is not closed"},
	{"32ae", 8, 2, 2, "8", 0, "holes of wind instruments"},
	{"32b", 3, 3, 3, "12", 0, "words in many styles"},
	{"32c", 3, 1, 1, "3", 0, "one note's signs spread over several notations"},
	{"32d", 21, 1, 1, "7", 0, "chords rolled up, down and not at all"},
	{"32e", 7, 7, 7, "14", 0, "fermatas of every shape"},
	{"33a", 61, 23, 23, "69", 0, "lines that span notes, of every kind"},
	{"33b", 1, 2, 2, "8", 0, "two notes tied"},
	{"33c", 8, 2, 2, "8", 0, "slurs that meet and nest"},
	{"33d", 9, 1, 1, "4", 0, "octave lines: pitches are those that sound"},
	{"33e", 3, 1, 1, "6", 0, "octave lines of no known size"},
	{"33f", 7, 1, 1, "3", 0, "a trill that ends on a grace note"},
	{"33g", 8, 1, 1, "4", 1, "slurs on chords"},
	{"33h", 20, 5, 5, "20", 0, "glissandos"},
	{"33i", 4, 5, 5, "20", 0, "ties that are not ended: each note is struck"},
	{"41a", 4, 1, 1, "4", 1, "the order of four parts"},
	{"41b", 0, 1, 1, "4", 1, "twenty parts"},
	{"41c", 2, 1, 1, "4", 28, "an orchestra: the harp has two staves"},
	{"41d", 7, 3, 3, "12", 1, "groups of parts within groups"},
	{"41e", 22, 23, 23, "92", 0, "names of parts on two lines"},
	{"41f", 0, 1, 1, "4", 1, "groups of parts that overlap"},
	{"41g", 0, 1, 1, "4", 0, "a part without an id"},
	{"41h", 0, 1, 1, "4", 1, "more parts than the list names"},
	{"41i", 2, 2, 2, "8", 0, "names of parts shown otherwise"},
	{"42a", 12, 3, 3, "12", 0, "two voices on a staff"},
	{"42b", 22, 2, 2, "6", 0, "a clef that changes under two voices"},
	{"43a", 2, 1, 1, "4", 0, "two staves"},
	{"43b", 2, 1, 1, "4", 0, "staves with keys and clefs of their own"},
	{"43c", 2, 1, 1, "4", 0, "the second staff's key after the first one's notes"},
	{"43d", 23, 2, 2, "8", 0, "a voice that crosses the staves"},
	{"43e", 24, 4, 4, "16", 0, "dynamics and clefs for one staff"},
	{"45a", 0, 2, 6, "24", 0, "a bar played five times"},
	{"45b", 5, 4, 5, "20", 0, "a repeat with two endings"},
	{"45c", 0, 8, 24, "96", 0, "repeats of five and three times"},
	{"45d", 0, 12, 16, "64", 0, "five endings"},
	{"45e", 0, 10, 15, "60", 0, "endings in repeats that touch"},
	{"45f", 0, 5, 9, "36", 0, "endings that make no sense"},
	{"45g", 2, 2, 2, "8", 0, "a repeat that does not end"},
	{"46a", 0, 13, 13, "52", 0, "bar lines of every kind"},
	{"46b", 4, 1, 1, "4", 0, "a bar line inside a bar"},
	{"46c", 8, 4, 4, "12", 0, "a clef inside a bar"},
	{"46d", 8, 4, 4, "17/2", 0, "an upbeat, a bar cut in two, a short bar"},
	{"46e", 6, 2, 2, "5", 0, "an upbeat, and a voice that starts later"},
	{"46f", 12, 4, 4, "12", 0, "bars that are too short"},
	{"46g", 6, 2, 2, "5", 0, "an upbeat under chord names"},
	{"51b", 0, 1, 1, "4", 0, "quotation marks in names"},
	{"51c", 0, 1, 1, "4", 0, "two notices of rights"},
	{"51d", 0, 1, 1, "4", 0, "an empty title beside a full one"},
	{"52a", 0, 3, 3, "12", 0, "page layout"},
	{"52b", 3, 3, 3, "12", 0, "breaks of line and page"},
	{"61a", 11, 3, 3, "12", 0, "words to sing"},
	{"61b", 8, 2, 2, "8", 0, "several verses"},
	{"61c", 8, 1, 1, "4", 0, "words under both staves"},
	{"61d", 9, 2, 2, "8", 0, "several notes to a syllable"},
	{"61e", 8, 1, 1, "4", 0, "words under chords"},
	{"61f", 12, 2, 2, "8", 0, "words beside grace notes, ties across them"},
	{"61g", 6, 1, 1, "6", 0, "verses by number and by name"},
	{"61h", 28, 4, 4, "16", 0, "syllables told by beams"},
	{"61i", 3, 1, 1, "1", 0, "verses on the notes of a chord"},
	{"61j", 4, 1, 1, "4", 0, "syllables run together"},
	{"61k", 11, 3, 3, "12", 0, "syllables held on"},
	{"71a", 8, 2, 2, "8", 0, "chord names"},
	{"71c", 8, 2, 2, "8", 0, "chord names with fingerings"},
	{"71d", 16, 1, 1, "4", 0, "chord names over two staves"},
	{"71e", 58, 2, 2, "8", 1, "tablature"},
	{"71f", 37, 10, 10, "38", 0, "chord names of every kind"},
	{"71g", 2, 1, 1, "4", 0, "several chord names to a note"},
	{"72a", 8, 2, 2, "8", 1, "transposing instruments: one scale in three keys, one sound"},
	{"72b", 1, 1, 1, "4", 1, "eleven transpositions of one sounding C"},
	{"72c", 3, 3, 3, "12", 0, "an instrument that changes its transposition"},
	{"72d", 1, 1, 1, "4", 1, "transpositions in a score at sounding pitch"},
	{"73a", 2, 2, 2, "8", 7, "percussion, passed over and said, and timpani"},
	{"74a", 6, 1, 1, "4", 0, "figured bass"},
	{"75a", 16, 4, 4, "16", 0, "registers of an accordion"},
	{"90a", 4, 1, 1, "4", 0, "a compressed file"},
	{"99a", 6, 1, 1, "9/8", 0, "beams that do not end"},
	{"99b", 28, 4, 4, "16", 0, "beams that do not end, with words"},
	{"99c", 3, 1, 1, "3", 0, "wavy lines without numbers"},
	{"99d", 4, 1, 1, "4", 0, "registers that are none"},
}

// suiteFile reads a file of the suite by the beginning of its name.
func suiteFile(t *testing.T, name string) (string, []byte) {
	t.Helper()
	files, _ := filepath.Glob(outside.Data(t, "musicxml_suite", "xmlFiles") + "/" + name + "-*")
	if len(files) != 1 {
		t.Fatalf("%s: %d files", name, len(files))
	}
	data, err := os.ReadFile(files[0])
	if err != nil {
		t.Fatal(err)
	}
	return files[0], data
}

func readSuite(t *testing.T, name string) *references.Reference {
	t.Helper()
	_, data := suiteFile(t, name)
	ref, err := Read(bytes.NewReader(data))
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return ref
}

func TestSuite(t *testing.T) {
	files, _ := filepath.Glob(outside.Data(t, "musicxml_suite", "xmlFiles") + "/*")
	if len(files) != len(suite) {
		t.Errorf("%d files, %d in the table", len(files), len(suite))
	}
	for _, want := range suite {
		ref := readSuite(t, want.file)
		bars := 0
		for _, b := range ref.Bars {
			bars = max(bars, b.Written+1)
		}
		last := ref.Bars[len(ref.Bars)-1]
		end := last.Onset.Add(last.Length).String()
		if len(ref.Notes) != want.notes || bars != want.bars || len(ref.Bars) != want.played || end != want.end || len(ref.Warnings) != want.warnings {
			t.Errorf("%s (%s): %d notes, %d bars, %d played, ends at %s, %d warnings; want %d, %d, %d, %s, %d", want.file, want.tries,
				len(ref.Notes), bars, len(ref.Bars), end, len(ref.Warnings), want.notes, want.bars, want.played, want.end, want.warnings)
		}
	}
}

// told gives notes as "onset pitch", grace notes in brackets.
func told(notes []references.Note) string {
	var out []string
	for i := range notes {
		n := &notes[i]
		s := n.Onset.String() + " " + n.Pitch.String()
		if n.Grace != references.NoGrace {
			s = "(" + s + " " + n.Grace.String() + ")"
		}
		out = append(out, s)
	}
	return strings.Join(out, ", ")
}

// route gives the numbers of the bars in the order they are played.
func playedBars(ref *references.Reference) string {
	var out []string
	for _, b := range ref.Bars {
		out = append(out, b.Number)
	}
	return strings.Join(out, " ")
}

// each gives one thing of each note.
func each(ref *references.Reference, of func(*references.Note) any) string {
	var out []string
	for i := range ref.Notes {
		out = append(out, fmt.Sprint(of(&ref.Notes[i])))
	}
	return strings.Join(out, " ")
}

func marks(ref *references.Reference) string {
	var out []string
	for _, m := range ref.Marks {
		out = append(out, fmt.Sprintf("%v %v-%v", m.Kind, m.From, m.To))
	}
	return strings.Join(out, ", ")
}

// TestSuiteFacts checks what each file of the suite is about, as its description and its own
// numbers tell it.
func TestSuiteFacts(t *testing.T) {
	pitches := func(r *references.Reference) string { return each(r, func(n *references.Note) any { return n.Pitch }) }
	hands := func(r *references.Reference) string {
		return each(r, func(n *references.Note) any {
			return map[references.Hand]string{references.Right: "R", references.Left: "L", references.Both: "B", references.NoHand: "-"}[n.Hand]
		})
	}
	touches := func(r *references.Reference) string {
		return each(r, func(n *references.Note) any {
			return map[bool]string{true: "+", false: "."}[n.Touch == references.Legato]
		})
	}
	lengths := func(r *references.Reference) string { return each(r, func(n *references.Note) any { return n.Length }) }
	meters := func(r *references.Reference) string {
		var out []string
		for _, b := range r.Bars {
			out = append(out, fmt.Sprintf("%d/%d", b.Meter.Beats, b.Meter.Unit))
		}
		return strings.Join(out, " ")
	}
	keys := func(r *references.Reference) string {
		var out []string
		for _, k := range r.Keys {
			s := fmt.Sprintf("%v:%d", k.Onset, k.Fifths)
			if k.Minor {
				s += "m"
			}
			out = append(out, s)
		}
		return strings.Join(out, " ")
	}
	tests := []struct {
		file string
		what func(*references.Reference) string
		want string
	}{
		{"01d", pitches, "C𝄫4 D♭4 E♯4 F𝄪4 C𝄫5 D♭5 E♯5 F𝄪5"},
		{"02e", func(r *references.Reference) string { return told(r.Notes) }, "0 C5, 1 E3, 1 A4"},
		{"03b", func(r *references.Reference) string { return told(r.Notes) }, "0 C4, 1 A3, 1 C4, 2 A3"},
		{"03c", lengths, "1 1 1 1 2 2"},
		{"11a", meters, "2/2 4/4 2/2 3/2 2/4 3/4 4/4 5/4 3/8 6/8 12/8"},
		{"11c", meters, "5/8 9/4"},
		{"11d", meters, "11/8 21/8"},
		{"11e", meters, "11/8"},
		{"11h", meters, "0/0"},
		{"12ad", func(r *references.Reference) string { return pitches(r) }, "C2 C2 C6 C6 C7 C1"},
		{"13e", keys, "0:2 1:-2 2:0 3:7"},
		{"21e", func(r *references.Reference) string { return told(r.Notes[:3]) }, "0 C5, 1 F4, 1 A4"},
		{"21f", func(r *references.Reference) string { return told(r.Notes) }, "0 D4, 0 F♯4, 0 A4"},
		{"23a", func(r *references.Reference) string { return lengths(&references.Reference{Notes: r.Notes[:4]}) }, "2/3 2/3 2/3 2/3"},
		{"23d", lengths, "1/3 1/3 2/15 2/15 2/15 2/15 2/15 1/3 1/3"},
		{
			"24b", func(r *references.Reference) string { return told(r.Notes) },
			"0 C5, (1 D5 acciaccatura), (1 F5 acciaccatura), 1 C5, (2 B4 acciaccatura), (2 D5 acciaccatura), 2 A4, 2 C5",
		},
		{"24c", func(r *references.Reference) string { return told(r.Notes) }, "0 E5, 2 E5, (4 G5 after-grace), (4 A5 after-grace)"},
		{
			"24d", func(r *references.Reference) string { return told(r.Notes) },
			"0 E5, (2 G5 after-grace), (2 A5 appoggiatura), (2 A5 appoggiatura), 2 E5, (4 G5 after-grace), (4 A5 after-grace)",
		},
		{
			"31c", func(r *references.Reference) string { return fmt.Sprint(r.Tempos) },
			"[{0 {100 3/2}  true} {2 {100 16} Adagio true} {10 {77 3/2}  true}]",
		},
		{"32c", func(r *references.Reference) string {
			return each(r, func(n *references.Note) any { return fmt.Sprint(n.Touch, n.Accent) })
		}, "staccato true staccato true staccato true"},
		{"32aa", func(r *references.Reference) string {
			return each(r, func(n *references.Note) any { return strings.ReplaceAll(n.Ornament.String(), " ", "-") })
		}, "trill turn delayed-turn inverted-turn trill trill trill  mordent inverted-mordent schleifer tremolo turn turn"},
		{"32e", marks, "fermata 0-2, fermata 2-4, fermata 4-6, fermata 6-8, fermata 8-10, fermata 10-12, fermata 12-14"},
		{"33b", lengths, "8"},
		{"33c", touches, "+ + + . + + + ."},
		{"33i", func(r *references.Reference) string { return told(r.Notes) }, "0 C5, 4 C5, 8 C5, 12 C5"},
		{"43a", hands, "L R"},
		{"43e", marks, "crescendo 0-2"},
		{"45a", playedBars, "1 1 1 1 1 2"},
		{"45b", playedBars, "1 2 1 3 4"},
		{"45c", playedBars, "1 2 3 2 3 2 3 2 3 2 3 4 5 6 7 4 5 6 7 4 5 6 7 8"},
		{"45d", playedBars, "1 2 1 3 4 5 1 6 7 8 9 1 10 1 11 12"},
		{"45e", playedBars, "1 2 1 3 4 5 5 6 7 6 8 9 8 9 10"},
		{"45g", playedBars, "1 2"},
		{"46d", func(r *references.Reference) string { return each(r, func(n *references.Note) any { return n.Beat }) }, "3.5 4.5 1 2 3 4 1 2"},
		{"51d", func(r *references.Reference) string { return r.Title }, "Empty work-title, non-empty movement-title"},
		{"72a", pitches, "C4 D4 E4 F4 G4 A4 B4 C5"},
		{"72b", pitches, "C5"},
		{"72c", keys, "0:-2"},
		{"72d", pitches, "C5"},
	}
	for _, test := range tests {
		if got := test.what(readSuite(t, test.file)); got != test.want {
			t.Errorf("%s: %s, want %s", test.file, got, test.want)
		}
	}
}

// elsewhere are the files of the suite in which verovio hears other onsets or keys, and why.
var elsewhere = map[string]string{
	"01d":  "quarter-tones: the nearest key here, the key below there",
	"01f":  "quarter-tones: the nearest key here, the key below there",
	"23c":  "durations and tuplet signs contradict one another: durations are followed here, types there",
	"23d":  "it plays one of two nested tuplets: durations are followed here",
	"23f":  "it reads triplets by their brackets, and there are none: durations are followed here",
	"32a":  "it rolls a chord that is marked not to be rolled",
	"32c":  "an accidental above a note, among its notations, changes the note there",
	"32d":  "it rolls a chord that is marked not to be rolled",
	"32ad": "a bar that is not closed: it leaves the next one out",
	"33a":  "a tremolo over two notes with undivided durations: it halves them",
	"33e":  "a type shorter than its duration: durations are followed here, types there",
	"41c":  "the harp is read alone here, all 28 parts there",
	"71e":  "tablature: pitches are followed here, strings and frets there",
	"72a":  "transposing instruments: keys as they sound here, as they are written there",
	"72b":  "transposing instruments: keys as they sound here, as they are written there",
	"72c":  "transposing instruments: keys as they sound here, as they are written there",
	"72d":  "transposing instruments: keys as they sound here, as they are written there",
	"73a":  "it counts percussion as notes",
	"74a":  "a type shorter than its duration: durations are followed here, types there",
}

func TestSuiteOnsetsAgreeWithVerovio(t *testing.T) {
	if testing.Short() {
		t.Skip("loads 150 scores into verovio")
	}
	scores := map[string]string{}
	for _, s := range suite {
		_, data := suiteFile(t, s.file)
		text, _, err := decode(data)
		if err != nil {
			t.Fatal(err)
		}
		scores[s.file] = withIDs(string(text))
	}
	theirs := timemaps(t, scores)
	for name, xml := range scores {
		ref, err := Read(strings.NewReader(xml))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		diff := compare(ref, xml, theirs[name])
		if why, known := elsewhere[name]; known != (len(diff) > 0) {
			t.Errorf("%s: %d onsets or keys differ (explained as: %q): %q", name, len(diff), why, diff[:min(len(diff), 6)])
		}
	}
}

// TestRepeatsAgreeWithVerovio plays the suite's files of repeats, which hold rests alone, with a note
// in place of each rest.
func TestRepeatsAgreeWithVerovio(t *testing.T) {
	scores := map[string]string{}
	for _, name := range []string{"45a", "45b", "45c", "45d", "45e", "45f", "45g"} {
		_, data := suiteFile(t, name)
		text := string(data)
		for _, rest := range []string{`<rest/>`, `<rest measure="yes"/>`, `<rest></rest>`} {
			text = strings.ReplaceAll(text, rest, `<pitch><step>G</step><octave>4</octave></pitch>`)
		}
		scores[name] = withIDs(text)
	}
	theirs := timemaps(t, scores)
	for name, xml := range scores {
		ref, err := Read(strings.NewReader(xml))
		if err != nil {
			t.Fatal(err)
		}
		var here, there []string
		for _, n := range ref.Notes {
			here = append(here, n.ID)
		}
		for _, n := range theirs[name] {
			there = append(there, n.ID)
		}
		why, known := otherRoute[name]
		if got, want := strings.Join(here, " "), strings.Join(there, " "); (got != want) != known {
			t.Errorf("%s: %s here, %s there (explained as: %q)", name, got, want, why)
		}
	}
}

// otherRoute are the files whose repeats verovio plays otherwise, and why.
var otherRoute = map[string]string{
	"45c": "a repeat with no start of its own goes back to the end of the last one here (common practice), to the last start sign there",
	"45f": "its endings make no sense: there is no right way",
}
