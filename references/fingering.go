package references

import "strings"

// fingers is a fingering written from low to high: that of the first and of the last note, and
// between them one that comes round again in every octave. A zero first or last means that the
// round goes on there too.
type fingers struct {
	first, last int8
	round       [12]int8
	n           int // rungs to the octave; 0 where no fingering is agreed on
	base        int // the rung where the round begins
}

// at is the finger on rung i of a run from rung low to rung high, 0 where unknown.
func (f *fingers) at(i, low, high int) int8 {
	switch {
	case f.n == 0:
		return 0
	case i == low && f.first != 0:
		return f.first
	case i == high && f.last != 0:
		return f.last
	}
	i -= f.base
	return f.round[i-f.n*floorDiv(i, f.n)]
}

// parseFingers reads "1 1231234 5": the first note, the round, the last note.
func parseFingers(s string) fingers {
	part := strings.Fields(s)
	f := fingers{first: int8(part[0][0] - '0'), last: int8(part[2][0] - '0'), n: len(part[1])}
	for i := range f.n {
		f.round[i] = int8(part[1][i] - '0')
	}
	return f
}

// scaleFingers are the usual fingerings of the scales, for two hands and by tonic: common practice
// of the piano handbooks, set down from memory and compared with printed tables where those were at
// hand. A key takes the fingering of its enharmonic twin. Other fingerings are in use too (a right
// hand that begins on a black key may begin with 2); none can be heard.
var scaleFingers = []struct {
	forms       []Form
	tonics      string
	right, left string
}{
	{majors, "C G D A E", "1 1231234 5", "5 1432132 1"},
	{majors, "B", "1 1231234 5", "4 1321432 1"},
	{majors, "F♯", "2 2341231 2", "4 4321321 4"},
	{majors, "D♭", "2 2312341 2", "3 3214321 3"},
	{majors, "A♭", "3 3412312 3", "3 3214321 3"},
	{majors, "E♭", "3 3123412 3", "3 3214321 3"},
	{majors, "B♭", "4 4123123 4", "3 3214321 3"},
	{majors, "F", "1 1234123 4", "5 1432132 1"},

	{minors, "A E D G C", "1 1231234 5", "5 1432132 1"},
	{minors, "B", "1 1231234 5", "4 1321432 1"},
	{minors, "F", "1 1234123 4", "5 1432132 1"},
	{minors, "B♭", "4 4123123 4", "2 2132143 2"},
	{minors, "E♭", "3 3123412 3", "2 2143213 2"},
	{[]Form{NaturalMinor, HarmonicMinor}, "F♯", "3 3412312 3", "4 4321321 4"},
	{[]Form{MelodicMinor}, "F♯", "2 2312341 3", "4 4321321 4"},
	{[]Form{NaturalMinor, HarmonicMinor}, "C♯", "3 3412312 3", "3 3214321 3"},
	{[]Form{MelodicMinor}, "C♯", "2 2312341 3", "3 3214321 3"},
	{[]Form{HarmonicMinor, MelodicMinor}, "G♯", "3 3412312 3", "3 3214321 3"},
	{[]Form{NaturalMinor}, "G♯", "3 3412312 3", "3 3213214 3"},
}

var (
	majors = []Form{Major}
	minors = []Form{NaturalMinor, HarmonicMinor, MelodicMinor}
)

// scaleTable is scaleFingers laid out by form, pitch class and hand (right, left).
var scaleTable = layOut()

func layOut() (t [Chromatic][12][2]fingers) {
	for _, row := range scaleFingers {
		right, left := parseFingers(row.right), parseFingers(row.left)
		for _, tonic := range strings.Fields(row.tonics) {
			n := Name{Step: stepOf(tonic[0])}
			switch tonic[1:] {
			case "♯":
				n.Alter = 1
			case "♭":
				n.Alter = -1
			}
			for _, f := range row.forms {
				t[f][n.PitchClass()] = [2]fingers{right, left}
			}
		}
	}
	return t
}

// fingering is the usual fingering of hand h going in direction d. Of whole-tone scales and of
// double thirds and sixths there is none that all agree on.
func (r *Request) fingering(h Hand, d Direction) fingers {
	switch {
	case r.Double != Single || r.Form == WholeTone:
		return fingers{}
	case r.Form == Chromatic:
		return chromaticFingers(r.Tonic.PitchClass(), h)
	case r.Kind == Scale:
		return scaleTable[r.Form.going(d)][r.Tonic.PitchClass()][h-Right]
	}
	return r.chordFingers(h)
}

// chromaticFingers puts 3 on every black key and 1 on the white, with 2 on the second of two white
// neighbours as the hand goes away from its thumb: F and C in the right hand, E and B in the left
// (common practice).
func chromaticFingers(tonic int, h Hand) fingers {
	f := fingers{n: 12}
	for i := range f.round {
		switch pc := (tonic + i) % 12; {
		case black(pc):
			f.round[i] = 3
		case h == Right && (pc == 0 || pc == 5), h == Left && (pc == 4 || pc == 11):
			f.round[i] = 2
		default:
			f.round[i] = 1
		}
	}
	// Where a hand sets out outwards from such a key, its thumb is free.
	if f.round[0] == 2 {
		if h == Right {
			f.first = 1
		} else {
			f.last = 1
		}
	}
	return f
}

// black reports whether a key, or a pitch class, is a black one.
func black(key int) bool {
	switch key % 12 {
	case 1, 3, 6, 8, 10:
		return true
	}
	return false
}

// Crossing is the way a hand gets from one position to the next.
type Crossing int8

// The crossings.
const (
	NoCrossing Crossing = iota
	ThumbUnder
	FingerOver
)

// String is "thumb passing under", "finger crossing over" or "".
func (c Crossing) String() string {
	return [...]string{"", "thumb passing under", "finger crossing over"}[c]
}

// CrossingAt tells how hand h gets from one note to the next with the usual fingering: the thumb
// passes under when it moves outwards past the other fingers, and a finger crosses over the thumb
// when it moves inwards past it. Where a finger is unknown it is NoCrossing.
func CrossingAt(from, to *Note, h Hand) Crossing {
	a, b, rise := from.Fingering(h), to.Fingering(h), to.Key()-from.Key()
	if h == Left {
		rise = -rise
	}
	switch {
	case a == 0 || b == 0:
	case rise > 0 && b == 1 && a > 1:
		return ThumbUnder
	case rise < 0 && a == 1 && b > 1:
		return FingerOver
	}
	return NoCrossing
}
