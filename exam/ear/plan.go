package ear

import (
	"evenhand/references"
)

// The range of all melodies, in MIDI keys: from A3 to F5, which most voices can sing in one octave or
// another.
const (
	lowestSung  = 57
	highestSung = 77
)

// The metres of melodies.
var (
	twoFour   = references.Meter{Beats: 2, Unit: 4}
	threeFour = references.Meter{Beats: 3, Unit: 4}
	fourFour  = references.Meter{Beats: 4, Unit: 4}
	sixEight  = references.Meter{Beats: 6, Unit: 8}
)

// scope is what melodies of one level may have.
type scope struct {
	meters []references.Meter
	sharps int      // the most sharps or flats in the signature
	minor  int      // how many in a hundred are minor
	ranges [][2]int // lowest and highest degree, 0 the tonic, 7 the octave above
	leap   int      // the widest step in degrees
}

// scopes are by level. Chosen by us, after common practice.
var scopes = [TopLevel + 1]scope{
	{[]references.Meter{twoFour, fourFour}, 1, 0, [][2]int{{0, 4}, {0, 5}}, 2},
	{[]references.Meter{twoFour, threeFour, fourFour}, 1, 0, [][2]int{{0, 5}, {-1, 4}}, 2},
	{[]references.Meter{twoFour, threeFour, fourFour}, 2, 25, [][2]int{{0, 5}, {-1, 5}, {-3, 4}}, 3},
	{[]references.Meter{twoFour, threeFour, fourFour, sixEight}, 2, 30, [][2]int{{0, 7}, {-3, 4}, {-1, 5}}, 4},
	{[]references.Meter{twoFour, threeFour, fourFour, sixEight}, 3, 35, [][2]int{{0, 7}, {-3, 4}, {-3, 5}}, 4},
	{[]references.Meter{twoFour, threeFour, fourFour, sixEight}, 3, 40, [][2]int{{-1, 7}, {-3, 5}, {0, 8}}, 5},
	{[]references.Meter{twoFour, threeFour, fourFour, sixEight}, 4, 40, [][2]int{{-1, 7}, {-3, 5}, {0, 8}}, 5},
	{[]references.Meter{twoFour, threeFour, fourFour, sixEight}, 4, 45, [][2]int{{-1, 8}, {-3, 6}}, 7},
	{[]references.Meter{twoFour, threeFour, fourFour, sixEight}, 5, 45, [][2]int{{-1, 8}, {-3, 7}}, 7},
}

// phrase is the plan of one phrase: a letter for the rhythm of each bar, and the roots of its chords, as
// degrees, one or two to a bar. The last bar closes it: on the dominant where it is open, else on the
// tonic.
type phrase struct {
	rhythm string
	chords [][]int
	open   bool
	echo   int // how many bars of the first phrase it begins with
	// sequence is by how many degrees the first bar is moved to make the second; 0 where it is not.
	sequence int
}

// The chords of closed and open phrases by their number of bars. Degrees from 0: 0 tonic, 1 supertonic,
// 3 subdominant, 4 dominant, 5 submediant. Common practice.
var (
	closedChords = map[int][][][]int{
		2: {{{0}, {4, 0}}, {{0, 3}, {4, 0}}, {{0, 4}, {0}}, {{0, 1}, {4, 0}}},
		3: {{{0}, {3, 4}, {0}}, {{0}, {1, 4}, {0}}, {{3}, {4}, {0}}, {{5}, {4}, {0}}},
		4: {
			{{0}, {3}, {4}, {0}},
			{{0}, {0}, {4}, {0}},
			{{0}, {5}, {4}, {0}},
			{{0}, {1}, {4}, {0}},
			{{0}, {4}, {3, 4}, {0}},
			{{0}, {3}, {0, 4}, {0}},
			{{0}, {5}, {1, 4}, {0}},
			{{0}, {4}, {5, 4}, {0}},
		},
	}
	openChords = map[int][][][]int{
		3: {{{0}, {3}, {4}}, {{0}, {1}, {4}}, {{0}, {0}, {4}}, {{0}, {5}, {4}}},
		4: {
			{{0}, {3}, {0}, {4}},
			{{0}, {0}, {1}, {4}},
			{{0}, {5}, {1}, {4}},
			{{0}, {4}, {0}, {4}},
			{{0}, {3}, {1}, {4}},
			{{0}, {4}, {5}, {4}},
			{{0}, {0}, {3}, {4}},
		},
	}
)

// The rhythms of phrases by their number of bars; z is the closing bar. What comes again binds a phrase.
var rhythmPlans = map[int][]string{
	2: {"az"},
	3: {"aaz", "abz"},
	4: {"abaz", "aabz", "abcz", "aaaz"},
}

// takenUp is how many bars of the first phrase the second takes up, where it does.
const takenUp = 2

// plan divides bars into phrases: eight into four and four, six into three and three. The second takes
// up the first more often than not.
func plan(l *lot, bars int, minor bool) []phrase {
	half := bars / 2
	if bars <= 4 {
		return []phrase{newPhrase(l, bars, false, minor)}
	}
	first := newPhrase(l, half, true, minor)
	second := newPhrase(l, half, false, minor)
	if first.sequence == 0 && l.chance(65) {
		second.rhythm, second.echo = first.rhythm, takenUp
		copy(second.chords[:takenUp], first.chords)
	} else if l.chance(50) {
		second.rhythm = first.rhythm // other notes in the same rhythm
	}
	return []phrase{first, second}
}

func newPhrase(l *lot, bars int, open, minor bool) phrase {
	chords := closedChords
	if open {
		chords = openChords
	}
	p := phrase{rhythm: one(l, rhythmPlans[bars]), open: open}
	p.chords = append(p.chords, one(l, chords[bars])...)
	if bars >= 3 && l.chance(35) {
		p.repeatHigher(l, minor)
	}
	return p
}

// repeatHigher makes the second bar a sequence of the first, with the chord that goes with it: a step
// up onto the supertonic, in major only, or a third down onto the submediant.
func (p *phrase) repeatHigher(l *lot, minor bool) {
	p.sequence = -2
	if !minor && l.chance(60) {
		p.sequence = 1
	}
	p.rhythm = "aa" + p.rhythm[2:]
	p.chords[0], p.chords[1] = []int{0}, []int{(p.sequence + 7) % 7}
}
