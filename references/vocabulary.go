package references

import (
	"sort"
	"strings"
	"sync"
)

// slot is one of the things a request says at most once.
type slot int8

const (
	slotFiller slot = iota // words that only join others
	slotKind
	slotMode    // major or minor
	slotVariant // which minor
	slotSpecial // chromatic, whole tone, dominant or diminished seventh
	slotInversion
	slotPattern
	slotProgression
	slotHand // right, left, together
	slotMotion
	slotApart
	slotDouble
	slotStart
	slotTouch
	slotDynamic
	slotShape
	slotOctaves
	slotTempo
	slotBeat
	slotNotesPerBeat
	slotNoteLength
	slotCount
)

// Values of slotHand, slotVariant and slotApart beside those of the request's own types.
const (
	handRight = iota
	handLeft
	handRightAlone
	handLeftAlone
	handsTogether
	handsSeparately
)

const (
	apartMinorThird = int(TenthApart) + 1 + iota
	apartMajorThird
)

// entry is a row of the vocabulary: what its phrases, divided by bars, mean.
type entry struct {
	slot    slot
	value   int
	phrases string
}

// vocabulary is every phrase the grammar knows, but for keys and numbers. Of two that fit, the longer
// is read. Hyphens are read as spaces.
var vocabulary = []entry{
	{slotFiller, 0, "the|an|and|with|but|for|at|to|is|please|play|me|let's|hear|now|then|in|of|on|from|key|starting|beginning|" +
		"starts|begins|each|up and down|ascending and descending|the key of|in the key of|in key of|tempo|speed|touch|dynamic|dynamics"},

	{slotKind, int(Scale), "scale|scales"},
	{slotKind, int(Arpeggio), "arpeggio|arpeggios|arpeggi|arp|arps"},
	{slotKind, int(BrokenChord), "broken chord|broken chords"},
	{slotKind, int(FiveFinger), "five finger|five finger pattern|five finger patterns|five finger scale|five finger exercise|five finger position|" +
		"5 finger|5 finger pattern|5 finger scale|5 finger exercise|5 finger position"},
	{slotKind, int(Triads), "triad|triads|triad with inversions|triads with inversions|triad and inversions|triads and inversions|" +
		"solid chords|solid triads|chords with inversions|chord with inversions|block chords"},
	{slotKind, int(Cadence), "cadence|cadences|cadence chords|cadence chord"},

	{slotMode, int(Major), "major|maj"},
	{slotMode, int(Minor), "minor|min"},
	{slotVariant, int(NaturalMinor), "natural"},
	{slotVariant, int(HarmonicMinor), "harmonic|harm"},
	{slotVariant, int(MelodicMinor), "melodic|mel"},
	{slotVariant, int(MelodicRaised), "raised melodic|melodic raised|melodic minor raised both ways|melodic raised both ways"},
	{slotVariant, int(MixedMinor), "mixed|mixed forms|in mixed forms"},
	{slotSpecial, int(Chromatic), "chromatic"},
	{slotSpecial, int(WholeTone), "whole tone|whole tones|wholetone"},
	{slotSpecial, int(DominantSeventh), "dominant seventh|dominant sevenths|dominant 7th|dominant 7|dom 7|dom 7th|dom7|dom seventh|" +
		"dominant seventh chord|v7"},
	{slotSpecial, int(DiminishedSeventh), "diminished seventh|diminished sevenths|diminished 7th|diminished 7|dim 7|dim 7th|dim7|dim seventh|" +
		"diminished seventh chord"},

	{slotInversion, 0, "root position|root inversion"},
	{slotInversion, 1, "first inversion|1st inversion|inversion 1"},
	{slotInversion, 2, "second inversion|2nd inversion|inversion 2"},
	{slotInversion, 3, "third inversion|3rd inversion|inversion 3"},
	{slotPattern, int(ThreeNote), "three note|three note pattern|3 note|3 note pattern|in threes|pattern in threes"},
	{slotPattern, int(FourNote), "four note|four note pattern|4 note|4 note pattern|in fours|pattern in fours"},
	{slotPattern, int(Alberti), "alberti|alberti pattern|alberti bass"},
	{slotProgression, int(PlagalPerfect), "i iv i v i"},
	{slotProgression, int(PlagalSeventh), "i iv i v7 i"},
	{slotProgression, int(PerfectCadence), "i iv v i"},
	{slotProgression, int(PerfectSeventh), "i iv v7 i"},

	{slotHand, handRight, "right hand|right|rh|r h"},
	{slotHand, handLeft, "left hand|left|lh|l h"},
	{slotHand, handRightAlone, "right hand alone|right hand only|right alone|rh alone|rh only|only right hand|right hand solo"},
	{slotHand, handLeftAlone, "left hand alone|left hand only|left alone|lh alone|lh only|only left hand|left hand solo"},
	{slotHand, handsTogether, "hands together|together|ht|h t|both hands|two hands|2 hands|with both hands"},
	{slotHand, handsSeparately, "hands separately|separately|hands separate|hs|h s|separate hands|hands apart"},

	{slotMotion, int(Similar), "similar motion|similar|parallel motion|parallel"},
	{slotMotion, int(Contrary), "contrary motion|contrary"},
	{slotApart, int(OctaveApart), "an octave apart|octave apart|one octave apart|1 octave apart|an 8ve apart"},
	{slotApart, int(TwoOctavesApart), "two octaves apart|2 octaves apart"},
	{slotApart, int(ThirdApart), "a third apart|third apart|thirds apart|a 3rd apart|3rd apart|3rds apart"},
	{slotApart, int(SixthApart), "a sixth apart|sixth apart|sixths apart|a 6th apart|6th apart|a major sixth apart"},
	{slotApart, int(TenthApart), "a tenth apart|tenth apart|tenths apart|a 10th apart|10th apart"},
	{slotApart, apartMinorThird, "a minor third apart|minor third apart|a minor 3rd apart|minor 3rd apart"},
	{slotApart, apartMajorThird, "a major third apart|major third apart|a major 3rd apart|major 3rd apart"},
	{slotDouble, int(InThirds), "in thirds|double thirds|in double thirds|in 3rds|double 3rds|thirds"},
	{slotDouble, int(InSixths), "in sixths|double sixths|in double sixths|in 6ths|double 6ths|sixths"},
	{slotDouble, int(InOctaves), "in octaves|double octaves|in double octaves|in 8ves"},
	{slotStart, int(UnisonStart), "starting on a unison|starting in unison|from a unison|on a unison|in unison|unison|" +
		"starting on the same note|starting on one key|from the same note"},

	{slotTouch, int(Legato), "legato|smooth|smoothly"},
	{slotTouch, int(Staccato), "staccato|stacc|detached"},
	{slotDynamic, int(Pianississimo), "ppp|pianississimo"},
	{slotDynamic, int(Pianissimo), "pp|pianissimo|very softly|very soft|very quietly"},
	{slotDynamic, int(Piano), "p|piano|softly|soft|quietly|quiet"},
	{slotDynamic, int(MezzoPiano), "mp|mezzo piano|mezzopiano"},
	{slotDynamic, int(MezzoForte), "mf|mezzo forte|mezzoforte"},
	{slotDynamic, int(Forte), "forte|loud|loudly"}, // f is a letter too: see addLetter
	{slotDynamic, int(Fortissimo), "ff|fortissimo|very loud|very loudly"},
	{slotDynamic, int(Fortississimo), "fff|fortississimo"},
}

// noteNames are the note values by their British and American names.
var noteNames = map[string]Quarters{
	"semibreve": Q(4, 1), "whole": Q(4, 1), "minim": Q(2, 1), "half": Q(2, 1), "crotchet": Q(1, 1), "quarter": Q(1, 1),
	"quaver": Q(1, 2), "eighth": Q(1, 2), "semiquaver": Q(1, 4), "sixteenth": Q(1, 4),
}

var numberWords = map[string]float64{
	"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7, "eight": 8, "nine": 9, "ten": 10,
	"eleven": 11, "twelve": 12,
}

type meaning struct {
	slot  slot
	value float64
}

// lexicon is the vocabulary made ready for reading.
type lexicon struct {
	phrases map[string]meaning
	longest int               // words
	words   []string          // the single words known, sorted, but for letters and figures
	example map[string]string // of a word, a phrase that holds it
}

var lexiconOf = sync.OnceValue(func() *lexicon {
	x := &lexicon{phrases: map[string]meaning{}, example: map[string]string{}}
	add := func(phrase string, m meaning) {
		x.phrases[phrase] = m
		words := strings.Fields(phrase)
		x.longest = max(x.longest, len(words))
		for _, w := range words {
			if x.example[w] == "" {
				x.example[w] = phrase
			}
		}
	}
	for _, e := range vocabulary {
		for _, phrase := range strings.Split(e.phrases, "|") {
			add(phrase, meaning{e.slot, float64(e.value)})
			if e.slot == slotApart {
				for _, start := range []string{"starting", "beginning", "starting on", "start"} {
					add(start+" "+phrase, meaning{e.slot, float64(e.value)})
				}
			}
		}
	}
	for phrase, shape := range shapePhrases() {
		add(phrase, meaning{slotShape, float64(shape)})
	}
	for _, w := range []string{"octave", "octaves", "oct", "octs"} {
		x.example[w] = "two octaves"
	}
	for _, w := range []string{"beat", "beats", "note", "notes", "per"} {
		x.example[w] = "4 notes to the beat"
	}
	for _, w := range []string{"bpm", "minute", "equals", "metronome", "dotted"} {
		x.example[w] = "crotchet = 72"
	}
	for w := range noteNames {
		x.example[w] = w + " = 72"
	}
	for _, w := range []string{"sharp", "flat", "double"} {
		x.example[w] = "F sharp minor"
	}
	for w := range x.example {
		if len(w) > 1 && w[0] >= 'a' {
			x.words = append(x.words, w)
		}
	}
	sort.Strings(x.words)
	return x
})

// shapePhrases are the ways to ask for a swell going up, or coming down, of which either is enough.
func shapePhrases() map[string]Shape {
	out := map[string]Shape{}
	louder := []string{"crescendo", "cresc", "getting louder", "louder"}
	softer := []string{"diminuendo", "dim", "decrescendo", "decresc", "getting softer", "softer"}
	up := []string{"up", "going up", "ascending", "on the way up"}
	down := []string{"down", "coming down", "going down", "descending", "on the way down"}
	cross := func(changes, ways []string, s Shape) {
		for _, c := range changes {
			for _, w := range ways {
				out[c+" "+w] = s
			}
		}
	}
	cross(louder, up, SwellUp)
	cross(softer, down, SwellUp)
	cross(softer, up, EbbUp)
	cross(louder, down, EbbUp)
	return out
}
