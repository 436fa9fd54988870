package references

import (
	"fmt"
	"strconv"
	"strings"
)

var formWords = map[Form]string{
	Major: "major", Minor: "minor", NaturalMinor: "natural minor", HarmonicMinor: "harmonic minor",
	MelodicMinor: "melodic minor", MelodicRaised: "raised melodic minor", MixedMinor: "mixed minor",
	Chromatic: "chromatic", WholeTone: "whole-tone",
	DominantSeventh: "dominant seventh", DiminishedSeventh: "diminished seventh",
}

func (f Form) words() string { return formWords[f] }

var kindWords = map[Kind]string{
	Scale: "scale", Arpeggio: "arpeggio", BrokenChord: "broken chord", FiveFinger: "five-finger pattern",
	Triads: "triads with inversions", Cadence: "cadence chords",
}

var plural = map[Kind]string{
	Scale: "scales", Arpeggio: "arpeggios", BrokenChord: "broken chords", FiveFinger: "five-finger patterns",
	Triads: "triads", Cadence: "cadence chords",
}

// formChoice lists the forms of a kind: "major, minor or dominant seventh".
func (k Kind) formChoice() string {
	var names []string
	for _, f := range formsOf[k] {
		if f != MelodicRaised && f != MixedMinor {
			names = append(names, f.words())
		}
	}
	last := len(names) - 1
	return strings.Join(names[:last], ", ") + " or " + names[last]
}

var handsWords = map[Hands]string{Together: "hands together", RightAlone: "right hand", LeftAlone: "left hand"}

var motionWords = map[Motion]string{Similar: "similar motion", Contrary: "contrary motion"}

var apartWords = map[Apart]string{
	OctaveApart: "an octave apart", TwoOctavesApart: "two octaves apart", ThirdApart: "a third apart",
	SixthApart: "a sixth apart", TenthApart: "a tenth apart",
}

var doubleWords = map[Double]string{InThirds: "in thirds", InSixths: "in sixths", InOctaves: "in octaves"}

var startWords = map[Start]string{
	UnisonStart: "starting on a unison", OctaveStart: "starting an octave apart",
	TwoOctaveStart: "starting two octaves apart", MinorThirdStart: "starting a minor third apart",
	MajorThirdStart: "starting a major third apart",
}

var patternWords = map[Pattern]string{ThreeNote: "three-note pattern", FourNote: "four-note pattern", Alberti: "Alberti pattern"}

var progressionWords = map[Progression]string{
	PlagalPerfect: "I IV I V I", PlagalSeventh: "I IV I V7 I", PerfectCadence: "I IV V I", PerfectSeventh: "I IV V7 I",
}

var dynamicWords = map[Dynamic]string{
	Pianississimo: "pianississimo", Pianissimo: "pianissimo", Piano: "piano", MezzoPiano: "mezzo piano",
	MezzoForte: "mezzo forte", Forte: "forte", Fortissimo: "fortissimo", Fortississimo: "fortississimo",
}

// Words is the dynamic's full name: "mezzo forte".
func (d Dynamic) Words() string { return dynamicWords[d] }

var shapeWords = map[Shape]string{
	SwellUp: "crescendo up and diminuendo down", EbbUp: "diminuendo up and crescendo down",
}

// beatWords are the note values a metronome mark may be set to.
var beatWords = map[Quarters]string{
	Q(1, 4): "semiquaver", Q(1, 2): "quaver", Q(1, 1): "crotchet", Q(2, 1): "minim", Q(4, 1): "semibreve",
	Q(3, 8): "dotted semiquaver", Q(3, 4): "dotted quaver", Q(3, 2): "dotted crotchet", Q(3, 1): "dotted minim",
	Q(6, 1): "dotted semibreve",
}

var ordinals = [...]string{"root", "first", "second", "third"}

func inversionWords(n int) string {
	if n < 0 || n >= len(ordinals) {
		return fmt.Sprintf("inversion %d", n)
	}
	return ordinals[n] + " inversion"
}

// Describe is what is to be played, without how it is to sound: "B major scale, hands together,
// contrary motion, 2 octaves". Where contrary motion starts is said only when that is a third.
func (r Request) Describe() string { return strings.Join(r.what(r.Start >= MinorThirdStart), ", ") }

// String is the request in the formal wording, which Parse reads back: "B flat major scale, hands
// together, contrary motion, 2 octaves, legato, piano".
func (r Request) String() string {
	parts := r.what(r.Start != AnyStart)
	touch := func(t Touch) string { return max(t, Legato).String() }
	parts = append(parts, eachHand(r.Touch.Same(), touch(r.Touch.Right), touch(r.Touch.Left))...)
	parts = append(parts, eachHand(r.Dynamic.Same(), r.Dynamic.Right.Words(), r.Dynamic.Left.Words())...)
	if r.Shape != NoShape {
		parts = append(parts, shapeWords[r.Shape])
	}
	if r.BPM != 0 {
		bpm := strconv.FormatFloat(r.BPM, 'f', -1, 64)
		if beat := beatWords[r.BeatLength]; beat != "" {
			parts = append(parts, beat+" = "+bpm)
		} else {
			parts = append(parts, bpm+" beats a minute")
		}
	}
	if r.NotesPerBeat == 1 {
		parts = append(parts, "1 note to the beat")
	} else if r.NotesPerBeat > 1 {
		parts = append(parts, strconv.Itoa(r.NotesPerBeat)+" notes to the beat")
	}
	return strings.Join(parts, ", ")
}

// eachHand says a value once where both hands have it, else for each hand.
func eachHand(same bool, right, left string) []string {
	var parts []string
	if same {
		if right != "" {
			parts = append(parts, right)
		}
		return parts
	}
	if right != "" {
		parts = append(parts, "right hand "+right)
	}
	if left != "" {
		parts = append(parts, "left hand "+left)
	}
	return parts
}

// what is the parts of the formal wording that say which notes to play.
func (r *Request) what(start bool) []string {
	parts := []string{r.subject()}
	add := func(cond bool, words string) {
		if cond {
			parts = append(parts, words)
		}
	}
	runs := r.Kind == Scale || r.Kind == Arpeggio
	add(r.Inversion != 0, inversionWords(r.Inversion))
	add(r.Kind == BrokenChord, patternWords[r.Pattern])
	add(r.Progression != PlagalPerfect, progressionWords[r.Progression])
	add(r.Double != Single, doubleWords[r.Double])
	add(true, handsWords[r.Hands])
	add(runs && r.Hands == Together, motionWords[r.Motion])
	add(r.Apart != OctaveApart, apartWords[r.Apart])
	add(start, startWords[r.Start])
	add(r.Kind != FiveFinger && r.Kind != Cadence, octaveWords(r.Octaves))
	return parts
}

func octaveWords(n int) string {
	if n == 1 {
		return "1 octave"
	}
	return strconv.Itoa(n) + " octaves"
}

// subject is what is named first: "B flat major scale", "dominant seventh arpeggio in the key of C".
func (r *Request) subject() string {
	noun := kindWords[r.Kind]
	switch r.Form {
	case Chromatic, WholeTone, DiminishedSeventh:
		return r.Form.words() + " " + noun + " on " + r.Tonic.Words()
	case DominantSeventh:
		if r.InKeyOf {
			key := KeyOf(Key{Tonic: r.Tonic}.Fifths()-1, false)
			return r.Form.words() + " " + noun + " in the key of " + key.Tonic.Words()
		}
		return r.Form.words() + " " + noun + " on " + r.Tonic.Words()
	}
	return r.Tonic.Words() + " " + r.Form.words() + " " + noun
}
