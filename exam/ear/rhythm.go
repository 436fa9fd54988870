package ear

import "evenhand/references"

// Written time inside this package is counted in ticks, twelve to the crotchet: all values down to the
// semiquaver and the triplet quaver are whole.
const crotchet = 12

// cell is a short figure of note lengths that begins on a beat and fills whole beats.
type cell struct {
	lengths []int
	level   int     // from which it is used
	weight  float64 // how common it is
	strong  bool    // begins only on the first beat, or halfway through a bar of four
	spice   bool    // one tune has at most one such figure, so that it is a feature
}

// simpleCells are for beats of a crotchet, compoundCells for beats of a dotted crotchet. Chosen by us,
// in the order in which beginners' methods commonly bring them.
var (
	simpleCells = []cell{
		{lengths: []int{12}, weight: 5},
		{lengths: []int{6, 6}, weight: 2.5},
		{lengths: []int{24}, weight: 1.6, strong: true},
		{lengths: []int{18, 6}, level: 2, weight: 1.6, strong: true},
		{lengths: []int{9, 3}, level: 4, weight: 1.5, spice: true},
		{lengths: []int{6, 3, 3}, level: 4, weight: 1.5, spice: true},
		{lengths: []int{3, 3, 3, 3}, level: 5, weight: 1.2, spice: true},
		{lengths: []int{6, 12, 6}, level: 5, weight: 1.2, strong: true, spice: true},
		{lengths: []int{4, 4, 4}, level: 6, weight: 1.4, spice: true},
		{lengths: []int{3, 3, 6}, level: 6, weight: 1.2, spice: true},
		{lengths: []int{6, 18}, level: 7, weight: 0.9, strong: true, spice: true},
		{lengths: []int{3, 9}, level: 8, weight: 0.8, spice: true},
	}
	compoundCells = []cell{
		{lengths: []int{18}, weight: 2.4},
		{lengths: []int{12, 6}, weight: 3.4},
		{lengths: []int{6, 6, 6}, weight: 2.8},
		{lengths: []int{9, 3, 6}, level: 5, weight: 2, spice: true},
		{lengths: []int{6, 6, 3, 3}, level: 6, weight: 1.4, spice: true},
		{lengths: []int{12, 3, 3}, level: 6, weight: 1.4, spice: true},
		{lengths: []int{6, 12}, level: 7, weight: 1, spice: true},
	}
)

// closings are the ways in which the last bar of a phrase is filled, by the beats of the metre: the last
// note is long and begins on a strong beat.
var closings = map[references.Meter][][]int{
	{Beats: 2, Unit: 4}: {{24}},
	{Beats: 3, Unit: 4}: {{36}},
	{Beats: 4, Unit: 4}: {{48}, {12, 12, 24}, {24, 24}},
	{Beats: 6, Unit: 8}: {{36}, {12, 6, 18}, {18, 18}},
}

// palette is what the rhythms of one tune are made of.
type palette struct {
	cells []cell
	beat  int // ticks
	bar   int
	meter references.Meter
}

// newPalette chooses the figures of a tune: the plain ones of its level, and at most one feature.
func newPalette(l *lot, level int, meter references.Meter) palette {
	p := palette{
		beat: ticks(meter.Beat()), bar: ticks(meter.Length()), meter: meter,
	}
	all := simpleCells
	if p.beat > crotchet {
		all = compoundCells
	}
	var spices []cell
	var weights []float64
	for _, c := range all {
		switch {
		case c.level > level || c.total() > p.bar:
		case c.spice:
			spices = append(spices, c)
			weights = append(weights, c.weight)
		default:
			p.cells = append(p.cells, c)
		}
	}
	if i := l.weighted(append(weights, 1)); i >= 0 && i < len(spices) {
		p.cells = append(p.cells, spices[i])
	}
	return p
}

func (c cell) total() int {
	sum := 0
	for _, n := range c.lengths {
		sum += n
	}
	return sum
}

// ticks is a written length in ticks.
func ticks(q references.Quarters) int { return int(q.Times(crotchet, 1).Num()) }

// bar fills one bar with figures. A bar is never one long note, and seldom the same figure throughout.
func (p palette) fill(l *lot) ([]int, float64) {
	for {
		var out []int
		var bits float64
		figures := map[int]bool{}
		for at := 0; at < p.bar; {
			weights := make([]float64, len(p.cells))
			for i, c := range p.cells {
				if at+c.total() <= p.bar && (!c.strong || p.strong(at)) {
					weights[i] = c.weight
				}
			}
			i := l.weighted(weights)
			figures[i] = true
			bits += surprise(weights, i)
			out = append(out, p.cells[i].lengths...)
			at += p.cells[i].total()
		}
		if len(out) > 1 && (len(figures) > 1 || l.chance(25)) {
			return out, bits
		}
	}
}

// strong says whether a place in the bar bears a long note: the first beat, the middle of a bar of four
// beats, and in triple time the second beat too.
func (p palette) strong(at int) bool {
	return at == 0 || at == p.bar/2 || p.bar == 3*p.beat && at == p.beat
}

// close fills the last bar of a phrase.
func (p palette) close(l *lot) []int {
	ways := closings[p.meter]
	if l.chance(50) {
		return ways[0]
	}
	return one(l, ways)
}
