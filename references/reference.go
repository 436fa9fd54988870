package references

import "sort"

// Hand says which hand a note is written for. It is what the score asks: nobody can hear which
// hand really played.
type Hand int8

// The hands. Both marks a unison of the two hands: one key, one stroke, one note.
const (
	NoHand Hand = iota
	Right
	Left
	Both
)

var handNames = [...]string{"", "right", "left", "both"}

// String is "right", "left", "both", or "" where the hand is not known.
func (h Hand) String() string { return handNames[h] }

// Has reports whether a note of hand h is played by hand other too: Both has Right and Left.
func (h Hand) Has(other Hand) bool {
	return h == other || h == Both && (other == Right || other == Left)
}

// Direction says which way a scale or arpeggio is going in one hand.
type Direction int8

// The directions. The note at the turn ends one and begins the other; it is counted with the
// first.
const (
	NoDirection Direction = iota
	Up
	Down
)

var directionNames = [...]string{"", "up", "down"}

// String is "up", "down" or "".
func (d Direction) String() string { return directionNames[d] }

// Dynamic is a written loudness, from ppp to fff.
type Dynamic int8

// The dynamics, softest first. NoDynamic means that none is asked.
const (
	NoDynamic Dynamic = iota
	Pianississimo
	Pianissimo
	Piano
	MezzoPiano
	MezzoForte
	Forte
	Fortissimo
	Fortississimo
)

var dynamicNames = [...]string{"", "ppp", "pp", "p", "mp", "mf", "f", "ff", "fff"}

// String is the letters of the sign: "mp".
func (d Dynamic) String() string { return dynamicNames[d] }

// Touch is how notes are joined.
type Touch int8

// The touches. A note is Legato where it is joined to the next one: all under a slur but the last.
const (
	NoTouch Touch = iota
	Legato
	Staccato
	Tenuto
	Portato // staccato under a slur, or with a tenuto line
)

var touchNames = [...]string{"", "legato", "staccato", "tenuto", "portato"}

// String is "legato", "staccato", "tenuto", "portato" or "".
func (t Touch) String() string { return touchNames[t] }

// Note is one expected key stroke.
type Note struct {
	ID   string   // the id of the note in its score; empty for a request
	Also []string // ids of further voices that share the stroke
	Bar  string   // the printed bar number
	Pass int      // 1 the first time through a repeat, 2 the second

	Onset  Quarters // from the start, repeats unfolded
	Length Quarters // written length
	Beat   float64  // within the bar; 1 is the first beat

	Pitch     Pitch
	Hand      Hand
	Finger    int8 // 1 thumb to 5; 0 where unknown; of a unison, the right hand's
	Finger2   int8 // of a unison, the left hand's finger; otherwise 0
	Direction Direction

	Dynamic  Dynamic // asked here; NoDynamic where nothing is
	Touch    Touch
	Optional bool // may be left out and is then in no count

	// Of a score; a request leaves these at zero.
	Measure      int // index into Reference.Bars
	Grace        Grace
	GraceOrder   int8     // of grace notes before one beat: 1 for those struck first
	Ornament     Ornament // written over the note
	Above, Below int8     // of an ornament: semitones up and down to its neighbours, by the key and the sign's accidentals
	Rolled       bool     // of a chord that is arpeggiated
	Accent       bool     // an accent or a sforzando
}

// Key is the MIDI key number of the note.
func (n *Note) Key() int { return n.Pitch.Key() }

// Fingering returns the finger that hand h uses on the note, 0 where unknown.
func (n *Note) Fingering(h Hand) int8 {
	if n.Hand == Both && h == Left {
		return n.Finger2
	}
	return n.Finger
}

// Tempo is a metronome mark: beats per minute, and how long a beat is.
type Tempo struct {
	BPM  float64
	Beat Quarters
}

// Reference is one way to play what was asked, written out: every note in order of onset, then of
// key, low to high. Grace notes come before the notes of the beat they lead to, in the order in which
// they are struck.
type Reference struct {
	Title string
	Notes []Note

	BarLength Quarters // of the first bar; zero where the music has no bars
	Beat      Quarters // the beat in which tempo is told
	Fifths    int      // key signature: sharps, or flats below 0
	Minor     bool
	Tempo     Tempo // asked; BPM 0 where none is

	// Of a score; a request leaves these nil. All are in order of onset, repeats unfolded.
	Bars     []Bar
	Keys     []KeyChange // the first at onset 0, where there is any
	Tempos   []TempoMark
	Marks    []Mark
	Pedals   []Pedalling
	Sections []Section
	Jumps    []Jump
	Grid     Quarters  // of a score from MIDI: the grid its onsets were brought to; zero where they are as written
	Warnings []Warning // what was odd in the score and passed over

	// Page is what the score shows as it is written; nil for a request and a score from MIDI.
	Page *Page

	// Request is what this reads, nil for a score. It is the reading itself: a minor with no form
	// named has its form filled in here.
	Request *Request
}

// Sort puts the notes into their order, and is for those who build a Reference.
func (r *Reference) Sort() {
	sort.SliceStable(r.Notes, func(i, j int) bool {
		a, b := &r.Notes[i], &r.Notes[j]
		if c := a.Onset.Cmp(b.Onset); c != 0 {
			return c < 0
		}
		if x, y := a.graceRank(), b.graceRank(); x != y {
			return x < y
		}
		return a.Key() < b.Key()
	})
}

// graceRank orders the notes of one onset: what closes the note before, grace notes, all others.
func (n *Note) graceRank() int {
	switch n.Grace {
	case NoGrace:
		return 1000
	case AfterGrace:
		return int(n.GraceOrder)
	}
	return 500 + int(n.GraceOrder)
}

// Events returns the index of the first note of each onset, and last the number of notes: the
// notes of event i are Notes[e[i]:e[i+1]].
func (r *Reference) Events() []int {
	var e []int
	for i := range r.Notes {
		if i == 0 || r.Notes[i].Onset != r.Notes[i-1].Onset {
			e = append(e, i)
		}
	}
	return append(e, len(r.Notes))
}
