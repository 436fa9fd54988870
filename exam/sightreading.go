package exam

import (
	"math/rand/v2"
	"slices"

	"evenhand/references"
)

// ReadAtSight makes a short piece for both hands to be read at sight, for a level from 0 to 8 (a level
// beyond is taken for the nearest). The same level and seed give the same music on any day.
//
// It goes by phrases of four bars. Each bar has one chord; all phrases but the last end on the dominant,
// and the last with a perfect cadence, the tune stepping to the key-note. On strong beats the tune has
// notes of the chord and between them it mostly moves by step, never by an augmented or diminished interval.
// Minor keys are harmonic. Key, range, rhythms and accompaniment are those of the level.
func ReadAtSight(level int, seed uint64) *references.Reference {
	level = min(max(level, 0), len(readingLevels)-1)
	c := &composer{readingLevel: &readingLevels[level], lot: rand.New(rand.NewPCG(seed, uint64(level)))}
	c.meter = pick(c.lot, c.meters)
	c.key = c.aKey()
	c.with = pick(c.lot, c.left)
	c.chords = c.harmony()
	c.compose()
	return c.write()
}

// composer is one piece being made. Times are in sixteenths of a semibreve from its beginning, and
// degrees are steps of the key, 0 the key-note in the middle of the hand.
type composer struct {
	*readingLevel
	lot    *rand.Rand
	key    references.Key
	meter  references.Meter
	with   accompaniment
	chords []int // the root of each bar's chord
	tune   []tone
}

type tone struct{ at, length, degree int }

func pick[T any](lot *rand.Rand, from []T) T { return from[lot.IntN(len(from))] }

// The chords by their roots.
const (
	tonic       = 0
	supertonic  = 1
	subdominant = 3
	dominant    = 4
	submediant  = 5
)

func (c *composer) aKey() references.Key {
	return references.KeyOf(c.lot.IntN(2*c.fifths+1)-c.fifths, c.minor && c.lot.IntN(3) == 0)
}

// bar is the length of a bar and beat that of a beat.
func (c *composer) bar() int  { return 16 * c.meter.Beats / c.meter.Unit }
func (c *composer) beat() int { return int(4 * c.meter.Beat().Float()) }

// harmony is the chord of each bar: from the tonic away, to the dominant, and in the end home.
func (c *composer) harmony() []int {
	away := []int{subdominant, submediant, tonic, dominant}
	before := []int{subdominant, supertonic}
	if c.key.Minor {
		before = before[:1] // the supertonic of a minor key is diminished
	}
	var chords []int
	for phrase := range c.bars / 4 {
		if last := phrase == c.bars/4-1; last {
			return append(chords, tonic, pick(c.lot, before), dominant, tonic)
		}
		chords = append(chords, tonic, pick(c.lot, away), pick(c.lot, before), dominant)
	}
	return chords
}

// rhythms are the lengths of the notes of each bar. A phrase takes up its first bar's rhythm in its third.
func (c *composer) rhythms() [][]int {
	var bars [][]int
	for phrase := range c.bars / 4 {
		first, second := c.fill(), c.fill()
		end := []int{c.bar() - c.beat(), c.beat()}
		if phrase == c.bars/4-1 {
			end = []int{c.bar()}
		}
		bars = append(bars, first, second, first, end)
	}
	return bars
}

// fill is one bar full of cells.
func (c *composer) fill() []int {
	var lengths []int
	for at := 0; at < c.bar(); {
		var fitting []*cell
		for i := range c.cells {
			x := &c.cells[i]
			size := sum(x.lengths)
			if x.compound != (c.beat() == 6) || at+size > c.bar() || x.half && at%8 != 0 {
				continue
			}
			for range x.weight {
				fitting = append(fitting, x)
			}
		}
		x := pick(c.lot, fitting)
		lengths = append(lengths, x.lengths...)
		at += sum(x.lengths)
	}
	return lengths
}

func sum(xs []int) (n int) {
	for _, x := range xs {
		n += x
	}
	return n
}

// compose makes the tune: its rhythm, then a way through the notes that each place allows. Of ways that
// hardly move another is taken.
func (c *composer) compose() {
	for range 20 {
		c.tune = c.tune[:0]
		at := 0
		for _, bar := range c.rhythms() {
			for _, n := range bar {
				c.tune = append(c.tune, tone{at: at, length: n})
				at += n
			}
		}
		c.walk()
		seen := map[int]bool{}
		for _, t := range c.tune {
			seen[t.degree] = true
		}
		if len(seen) > 3 {
			return
		}
	}
}

// allowed are the degrees that may stand at place i: of the chord on strong beats and for long notes, in
// the end the key-note, and before it what steps there.
func (c *composer) allowed(i int) []int {
	t := c.tune[i]
	chord := c.chords[t.at/c.bar()]
	strong := t.at%c.bar() == 0 || t.length > c.beat() || c.meter.Beats != 3 && t.at%c.bar() == c.bar()/2
	var out []int
	for d := c.low; d <= c.high; d++ {
		in := mod7(d - chord)
		switch {
		case i == len(c.tune)-1 && mod7(d) != 0:
		case i == len(c.tune)-2 && mod7(d) != 1 && mod7(d) != 6:
		case strong && in != 0 && in != 2 && in != 4:
		default:
			out = append(out, d)
		}
	}
	return out
}

func mod7(d int) int { return ((d % 7) + 7) % 7 }

// moves reports whether the tune may go from degree a to degree b at place i. To and from semiquavers it
// goes no further than a third.
func (c *composer) moves(i, a, b int) bool {
	leap := c.leap
	if min(c.tune[i-1].length, c.tune[i].length) < 2 {
		leap = min(leap, 2)
	}
	if b-a > leap || a-b > leap {
		return false
	}
	if a == b && c.slurs && !c.slurStarts(i) {
		return false // a slur over two notes alike looks like a tie
	}
	pair := [2]int{min(mod7(a), mod7(b)), max(mod7(a), mod7(b))}
	if c.key.Minor && (pair == [2]int{5, 6} || pair == [2]int{1, 5} || pair == [2]int{2, 6}) {
		return false // augmented or diminished in the harmonic minor
	}
	return pair != [2]int{3, 6} // the tritone
}

// slurStarts reports whether place i begins a slur: each is over two bars.
func (c *composer) slurStarts(i int) bool { return c.tune[i].at%(2*c.bar()) == 0 }

// walk goes through the tune. It first finds, from the end, the degrees from which the end can be reached,
// and then chooses among them: steps rather than thirds, thirds rather than leaps, and after a leap back.
func (c *composer) walk() {
	n := len(c.tune)
	open := make([][]int, n)
	open[n-1] = c.allowed(n - 1)
	for i := n - 2; i >= 0; i-- {
		for _, d := range c.allowed(i) {
			if slices.ContainsFunc(open[i+1], func(next int) bool { return c.moves(i+1, d, next) }) {
				open[i] = append(open[i], d)
			}
		}
	}
	c.tune[0].degree = pick(c.lot, open[0])
	moved := 0
	for i := 1; i < n; i++ {
		from := c.tune[i-1].degree
		var ways []int
		for _, d := range open[i] {
			if c.moves(i, from, d) {
				for range likely(d-from, moved) {
					ways = append(ways, d)
				}
			}
		}
		c.tune[i].degree = pick(c.lot, ways)
		moved = c.tune[i].degree - from
	}
}

// likely is how readily a tune moves by so many steps after it has moved by some.
func likely(by, before int) int {
	back := by*before < 0
	switch size := max(by, -by); {
	case size == 1 && back && max(before, -before) > 2:
		return 60
	case size == 1:
		return 20
	case size == 2:
		return 8
	}
	return 1
}
