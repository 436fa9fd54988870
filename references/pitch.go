package references

import "fmt"

// Step is a letter of the musical alphabet, counted from C.
type Step int8

// The seven steps.
const (
	C Step = iota
	D
	E
	F
	G
	A
	B
)

const stepLetters = "CDEFGAB"

// stepSemitones is the distance of each natural note above C, in semitones.
var stepSemitones = [7]int{0, 2, 4, 5, 7, 9, 11}

// String is the letter.
func (s Step) String() string { return stepLetters[s : s+1] }

// Name is a spelled pitch class: a letter and its accidental.
type Name struct {
	Step  Step
	Alter int8 // semitones: -2 double flat to +2 double sharp (a few forms need ±3)
}

// PitchClass is 0 for C (and B♯) up to 11 for B.
func (n Name) PitchClass() int { return ((stepSemitones[n.Step]+int(n.Alter))%12 + 12) % 12 }

var accidentals = map[int8]string{-3: "𝄫♭", -2: "𝄫", -1: "♭", 0: "", 1: "♯", 2: "𝄪", 3: "𝄪♯"}

var accidentalWords = map[int8]string{
	-3: " triple flat", -2: " double flat", -1: " flat", 0: "", 1: " sharp", 2: " double sharp", 3: " triple sharp",
}

// String gives "B♭", "F𝄪".
func (n Name) String() string { return n.Step.String() + accidentals[n.Alter] }

// Words gives "B flat", "F double sharp".
func (n Name) Words() string { return n.Step.String() + accidentalWords[n.Alter] }

// Pitch is a spelled pitch. Octaves are numbered so that middle C is C4 (the acoustical numbering
// of ISO 16 and common practice); B♯3 sounds as C4.
type Pitch struct {
	Name
	Octave int8
}

// Key is the MIDI key number: C4 is 60 and A4, 440 Hz, is 69 (MIDI 1.0).
func (p Pitch) Key() int {
	return 12*(int(p.Octave)+1) + stepSemitones[p.Step] + int(p.Alter)
}

// String gives "B♭4".
func (p Pitch) String() string { return fmt.Sprintf("%s%d", p.Name, p.Octave) }

// Up returns the pitch that lies steps letters and semitones above p (both may be negative):
// Up(2, 4) is a major third, Up(2, 3) a minor third, Up(1, 3) an augmented second.
func (p Pitch) Up(steps, semitones int) Pitch {
	n := int(p.Octave)*7 + int(p.Step) + steps
	oct := floorDiv(n, 7)
	q := Pitch{Name{Step(n - 7*oct), 0}, int8(oct)}
	q.Alter = int8(p.Key() + semitones - q.Key())
	return q
}

func floorDiv(a, b int) int {
	q := a / b
	if a%b != 0 && (a < 0) != (b < 0) {
		q--
	}
	return q
}
