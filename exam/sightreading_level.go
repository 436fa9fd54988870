package exam

import "evenhand/references"

// readingLevel is what music to be read at sight has at a level. All of it is common practice for the
// easiest music of that stage, chosen by us: what is read is some steps easier than what is prepared.
type readingLevel struct {
	bars   int
	fifths int  // most sharps or flats
	minor  bool // minor keys too
	meters []references.Meter
	// low and high bound the tune, in steps of the key from the key-note; leap is the widest step of it.
	low, high, leap int
	cells           []cell // what the bars of the tune are made of
	left            []accompaniment
	slurs           bool // the tune is slurred by two bars
	contrast        bool // the second phrase has another loudness
	hairpin         bool // the last phrase grows
	double          bool // the tune has a second note at the beginning of bars
}

// cell is a group of notes within a bar. Lengths are in sixteenths of a semibreve.
type cell struct {
	compound bool // for beats of a dotted crotchet
	half     bool // only where half a bar of common time begins
	weight   int
	lengths  []int
}

// The cells, from the easiest to the hardest; each level knows those up to its own number of them.
var cells = []cell{
	{false, false, 4, []int{4}},
	{false, true, 3, []int{8}},
	{false, false, 3, []int{2, 2}},
	{false, true, 2, []int{6, 2}},
	{true, false, 4, []int{6}},
	{true, false, 4, []int{4, 2}},
	{true, false, 3, []int{2, 2, 2}},
	{false, false, 1, []int{3, 1}},
	{false, false, 1, []int{2, 1, 1}},
	{true, false, 1, []int{3, 1, 2}},
	{false, false, 1, []int{1, 1, 1, 1}},
	{false, true, 1, []int{2, 4, 2}},
}

var (
	twoFour   = references.Meter{Beats: 2, Unit: 4}
	threeFour = references.Meter{Beats: 3, Unit: 4}
	fourFour  = references.Meter{Beats: 4, Unit: 4}
	sixEight  = references.Meter{Beats: 6, Unit: 8}
)

// accompaniment is a way for the left hand to go along with a tune.
type accompaniment int8

// The accompaniments: none, since the hands take turns; one note a bar; two notes a bar; the same with
// two notes each; a low note and then chords; chords broken into quavers.
const (
	turns accompaniment = iota
	held
	halves
	pairs
	afterbeats
	broken
)

// readingLevels are from the first step to the eighth level.
var readingLevels = [...]readingLevel{
	{4, 1, false, []references.Meter{threeFour, fourFour}, 0, 4, 2, cells[:2], []accompaniment{turns}, false, false, false, false},
	{4, 1, false, []references.Meter{twoFour, threeFour, fourFour}, 0, 4, 2, cells[:3], []accompaniment{held}, false, false, false, false},
	{8, 2, true, []references.Meter{twoFour, threeFour, fourFour}, -1, 5, 3, cells[:3], []accompaniment{held, halves}, true, true, false, false},
	{8, 2, true, []references.Meter{twoFour, threeFour, fourFour}, -1, 7, 4, cells[:4], []accompaniment{halves, pairs}, true, true, false, false},
	{8, 3, true, []references.Meter{threeFour, fourFour, sixEight}, -1, 7, 4, cells[:7], []accompaniment{pairs, afterbeats}, true, true, true, false},
	{8, 4, true, []references.Meter{threeFour, fourFour, sixEight}, -1, 8, 5, cells[:8], []accompaniment{pairs, afterbeats, broken}, true, true, true, false},
	{12, 4, true, []references.Meter{threeFour, fourFour, sixEight}, -1, 9, 5, cells[:10], []accompaniment{afterbeats, broken}, true, true, true, false},
	{12, 5, true, []references.Meter{threeFour, fourFour, sixEight}, -1, 10, 7, cells[:11], []accompaniment{afterbeats, broken}, true, true, true, true},
	{16, 6, true, []references.Meter{threeFour, fourFour, sixEight}, -1, 10, 7, cells, []accompaniment{afterbeats, broken}, true, true, true, true},
}
