package references

// Kind is what sort of exercise a request asks for.
type Kind int8

// The kinds of request.
const (
	Scale Kind = iota
	Arpeggio
	BrokenChord // the usual patterns: see Pattern
	FiveFinger  // tonic to dominant and back in one hand position
	Triads      // a triad and its inversions as solid chords, up and down
	Cadence     // the cadence chords: see Progression
)

// Form is the choice of notes: of a scale (major, the minors, chromatic, whole tone) or of a chord
// (major, minor, dominant seventh, diminished seventh).
type Form int8

// The forms. Minor is a minor scale with no form named: any one of the three is accepted. The
// minor of a chord, a five-finger pattern or a cadence is Minor too.
const (
	Major Form = iota
	Minor
	NaturalMinor
	HarmonicMinor
	MelodicMinor
	MelodicRaised // melodic minor that comes down as it went up; accepted only where a list says so
	MixedMinor    // harmonic going up, natural coming down: no form, only a name for what was heard
	Chromatic
	WholeTone
	DominantSeventh
	DiminishedSeventh
)

// Hands says which hands a request asks for.
type Hands int8

// The choices of hands. What is unsaid is Together.
const (
	Together Hands = iota
	RightAlone
	LeftAlone
)

// Motion says how two hands move.
type Motion int8

// The motions. What is unsaid is Similar.
const (
	Similar Motion = iota
	Contrary
)

// Apart is how far the hands are from one another in similar motion.
type Apart int8

// The distances. OctaveApart is what is unsaid; TwoOctavesApart is accepted for it, and said. A
// third or a tenth apart has the left hand on the tonic and the right on the mediant; a sixth apart
// has the left on the mediant and the right on the tonic.
const (
	OctaveApart Apart = iota
	TwoOctavesApart
	ThirdApart
	SixthApart
	TenthApart
)

// Double is two notes played at once by one hand. "In thirds" is not "a third apart".
type Double int8

// The double notes.
const (
	Single Double = iota
	InThirds
	InSixths
	InOctaves
)

// Shape is a change of loudness asked over the whole request.
type Shape int8

// The shapes.
const (
	NoShape Shape = iota
	SwellUp       // crescendo going up, diminuendo coming down
	EbbUp         // diminuendo going up, crescendo coming down
)

// Start says where contrary motion begins. In most requests it is AnyStart, since a unison and an
// octave or two apart are all accepted; a candidate has one of the others.
type Start int8

// The starts of contrary motion. For a chromatic scale a minor or a major third apart is accepted
// too.
const (
	AnyStart Start = iota
	UnisonStart
	OctaveStart
	TwoOctaveStart
	MinorThirdStart
	MajorThirdStart
)

// Pattern is a usual pattern of broken chord.
type Pattern int8

// The patterns, written for the notes of one triad numbered from its lowest. ThreeNote goes
// 123 234 345 up and back; FourNote goes 1234 2345 up and back (each group an inversion of the
// chord in four notes); Alberti is 1323.
const (
	ThreeNote Pattern = iota
	FourNote
	Alberti
)

// Progression is the order of cadence chords, each hand in close position. In a request the first
// stands for any of them: all four are accepted.
type Progression int8

// The progressions.
const (
	PlagalPerfect  Progression = iota // I IV I V I
	PlagalSeventh                     // I IV I V7 I
	PerfectCadence                    // I IV V I
	PerfectSeventh                    // I IV V7 I
)

// chords are the chords of the progression, as indices into cadenceChords.
func (p Progression) chords() []int {
	return [...][]int{{0, 1, 0, 2, 0}, {0, 1, 0, 3, 0}, {0, 1, 2, 0}, {0, 1, 3, 0}}[p]
}

// PerHand is a value for each hand; equal values are one request for both.
type PerHand[T comparable] struct{ Right, Left T }

// Each returns the same value for both hands.
func Each[T comparable](v T) PerHand[T] { return PerHand[T]{v, v} }

// Of is the value for hand h; a note of both hands takes the right hand's.
func (p PerHand[T]) Of(h Hand) T {
	if h == Left {
		return p.Left
	}
	return p.Right
}

// Same reports whether both hands have one value.
func (p PerHand[T]) Same() bool { return p.Right == p.Left }

// Request is what was asked for in words. The zero values are what is meant where nothing is said,
// except Octaves, which is then 2.
type Request struct {
	Kind        Kind
	Tonic       Name // of a dominant seventh "in the key of C": G, the note it starts on
	InKeyOf     bool // the words named the key of a dominant seventh ("in the key of C") and not its first note
	Form        Form
	Inversion   int // 0 root position, 1 first, 2 second, 3 third (sevenths)
	Pattern     Pattern
	Progression Progression
	Hands       Hands
	Motion      Motion
	Apart       Apart
	Double      Double
	Start       Start
	Octaves     int
	Touch       PerHand[Touch]
	Dynamic     PerHand[Dynamic]
	Shape       Shape

	BPM          float64  // 0 where no tempo is set
	BeatLength   Quarters // the note value of the metronome mark; zero where none is set
	NotesPerBeat int      // 0 where unsaid
}
