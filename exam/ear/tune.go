package ear

import (
	"math"

	"evenhand/references"
)

// tone is one note of a tune.
type tone struct {
	at, length int // ticks
	degree     int // of the scale, 0 the tonic, 7 the octave above
	bar        int // from 0
	chord      int // the root under it, as a degree
	strength   int // 2 on the first beat, 1 on another, 0 between beats
	end        bool
}

// tune is a melody as it is composed.
type tune struct {
	key   references.Key
	tonic references.Pitch // that of degree 0
	scope
	level    int
	low, top int // range in degrees
	palette
	phrases []phrase
	tones   []tone
	pitches []references.Pitch
	bits    float64 // how unlikely its notes were to be drawn
	bpm     int
}

// compose makes a melody in one of the metres, with as many bars as the metre is to have. What breaks a
// rule that the walk cannot see is drawn again.
func compose(l *lot, level int, meters []references.Meter, barsOf func(references.Meter) int) *tune {
	for {
		t := &tune{scope: scopes[level], level: level}
		t.key = references.KeyOf(l.between(-t.sharps, t.sharps), l.chance(t.minor))
		span := one(l, t.ranges)
		t.low, t.top = span[0], span[1]
		t.palette = newPalette(l, level, one(l, meters))
		bars := barsOf(t.meter)
		t.phrases = plan(l, bars, t.key.Minor)
		t.layRhythm(l)
		if t.walk(l) && t.bits >= leastBits(bars) && t.place() && t.sound() == "" {
			t.bpm = l.between(72, 104)
			if t.beat > crotchet {
				t.bpm = l.between(50, 66)
			}
			return t
		}
	}
}

// leastBits is how unlikely a tune must be. The commonest are drawn again, so that two pupils hardly ever
// hear the same: 25 bits and more make two alike among ten thousand unlikely. A phrase of two bars has
// not so many.
func leastBits(bars int) float64 {
	if bars < 4 {
		return 12
	}
	return 25
}

// layRhythm writes the lengths of all notes, and what harmony and which beat each stands on.
func (t *tune) layRhythm(l *lot) {
	rhythms := map[byte][]int{}
	bar := 0
	for _, p := range t.phrases {
		for i := range p.rhythm {
			letter := p.rhythm[i]
			lengths, ok := rhythms[letter]
			switch {
			case letter == 'z':
				lengths = t.close(l)
			case !ok:
				var bits float64
				lengths, bits = t.fill(l)
				t.bits += bits
				rhythms[letter] = lengths
			}
			t.layBar(bar, lengths, p.chords[i], letter == 'z')
			bar++
		}
	}
}

func (t *tune) layBar(bar int, lengths, chords []int, closing bool) {
	at := 0
	for i, n := range lengths {
		o := tone{at: bar*t.bar + at, length: n, bar: bar, chord: chords[0], end: closing && i == len(lengths)-1}
		if len(chords) > 1 && 2*at >= t.bar || o.end {
			o.chord = chords[len(chords)-1]
		} else if closing && len(chords) == 1 && chords[0] == 0 {
			o.chord = 4 // what leads to the last note within its bar is the dominant
		}
		switch {
		case at == 0:
			o.strength = 2
		case at%t.beat == 0:
			o.strength = 1
		}
		t.tones = append(t.tones, o)
		at += n
	}
}

// walk draws the degrees from the first note to the last, phrase by phrase. It reports whether it came
// to the end.
func (t *tune) walk(l *lot) bool {
	first, bar := 0, 0
	for _, p := range t.phrases {
		last := first
		for !t.tones[last].end {
			last++
		}
		if !t.walkPhrase(l, p, first, last, bar) {
			return false
		}
		first, bar = last+1, bar+len(p.rhythm)
	}
	return true
}

// walkPhrase draws the degrees of one phrase. A few tries are made: the end may be out of reach.
func (t *tune) walkPhrase(l *lot, p phrase, first, last, bar int) bool {
	for range 20 {
		end := t.ending(l, p)
		peak := t.contour(l, first, last)
		ok, bits := true, 0.0
		for i := first; i <= last && ok; i++ {
			if d, given := t.given(p, i, first, bar); given {
				t.tones[i].degree = d
				ok = d >= t.low && d <= t.top
				continue
			}
			weights := t.weights(i, first, last, end, peak)
			d := l.weighted(weights)
			t.tones[i].degree = d + t.low
			if ok = d >= 0; ok {
				bits += surprise(weights, d)
			}
		}
		if ok && t.tones[last].degree == end {
			t.bits += bits
			return true
		}
	}
	return false
}

// surprise is how unlikely a choice was, in bits.
func surprise(weights []float64, chosen int) float64 {
	var sum float64
	for _, w := range weights {
		sum += w
	}
	return math.Log2(sum / weights[chosen])
}

// ending is the degree a phrase ends on: the tonic, below or above, or where it is open a note of the
// dominant chord.
func (t *tune) ending(l *lot, p phrase) int {
	ends := []int{0, 0, 0, 7}
	if p.open {
		ends = []int{1, 1, 4, -1, 6, 4}
	}
	for {
		if e := one(l, ends); e >= t.low && e <= t.top {
			return e
		}
	}
}

// contour gives the place and the height the phrase leans towards: an arch mostly, sometimes a fall from
// a high beginning.
func (t *tune) contour(l *lot, first, last int) func(i int) float64 {
	low, top := float64(t.low), float64(t.top)
	height := top - l.unit()*(top-low)*0.25
	peak := 0.3 + 0.4*l.unit()
	if l.chance(25) {
		peak = 0
	}
	floor := low + l.unit()*(top-low)*0.3
	return func(i int) float64 {
		x := float64(i-first) / float64(max(1, last-first))
		if x < peak {
			return floor + (height-floor)*x/peak
		}
		return height - (height-floor)*(x-peak)/(1-peak)
	}
}

// given is the degree of a note that takes up an earlier one: of the phrase before, or the bar before a
// step or more away.
func (t *tune) given(p phrase, i, first, bar int) (int, bool) {
	in := t.tones[i].bar - bar
	if in < p.echo {
		return t.tones[i-first].degree, true
	}
	if p.sequence != 0 && in == 1 {
		n := 0
		for t.tones[first+n].bar == bar {
			n++
		}
		return t.tones[i-n].degree + p.sequence, true
	}
	return 0, false
}

// weights are how likely each degree of the range is for note i.
func (t *tune) weights(i, first, last, end int, contour func(int) float64) []float64 {
	out := make([]float64, t.top-t.low+1)
	for d := t.low; d <= t.top; d++ {
		w := t.harmonic(i, d) * t.reaching(i, d, last, end)
		if w > 0 && i > 0 {
			w *= t.melodic(i, d, i == first)
		}
		off := (float64(d) - contour(i)) / 3.2
		out[d-t.low] = w * math.Exp(-off*off/2)
	}
	return out
}

// chordTone says whether a degree belongs to the triad on a root.
func chordTone(root, d int) bool {
	n := mod7(d - root)
	return n == 0 || n == 2 || n == 4
}

// harmonic weighs how a degree goes with the chord: strong beats have its notes, weaker ones may pass by.
func (t *tune) harmonic(i, d int) float64 {
	o := t.tones[i]
	if chordTone(o.chord, d) {
		return 1
	}
	moved := 0
	if i > 0 {
		moved = abs(d - t.tones[i-1].degree)
	}
	switch {
	case moved != 1:
		return 0
	case o.strength == 2:
		return 0.04
	case o.strength == 1:
		return 0.2
	}
	return 0.75
}

// reaching weighs whether the end of the phrase can still be reached in good style, the last step being
// one degree where it can.
func (t *tune) reaching(i, d, last, end int) float64 {
	left := last - i
	away := abs(d - end)
	switch {
	case left == 0 && away > 0:
		return 0
	case left == 1 && !t.tones[last].end, left > 4:
		return 1
	case left == 1 && away == 1:
		return 1
	case left == 1 && away == 0:
		return 0.05
	case left == 1 && (away == 2 || away == 3 && t.leap >= 3):
		return 0.12
	case left == 1:
		return 0
	}
	return math.Exp(-math.Max(0, float64(away-left-1)))
}

// stepWeights are how common a step of so many degrees is: mostly neighbours, some thirds, few leaps. As
// in songs of all peoples small intervals are the most frequent. Chosen by us.
var stepWeights = [...]float64{0.3, 1, 0.65, 0.32, 0.24, 0.12, 0, 0.1}

// melodic weighs a degree by the notes before it: leaps turn back by step, what was foreign to its chord
// goes on by step, the leading note rises, and nothing is said three times.
func (t *tune) melodic(i, d int, fresh bool) float64 {
	before := t.tones[i-1]
	step := d - before.degree
	size := abs(step)
	if size > t.leap || size >= len(stepWeights) || t.awkward(before.degree, d) {
		return 0
	}
	w := stepWeights[size]
	if fresh {
		return w + 0.2 // a new phrase is freer
	}
	if !chordTone(before.chord, before.degree) && size != 1 {
		return 0
	}
	if t.tones[i].length < t.beat/2 && size > 2 || before.length < t.beat/2 && size > 2 {
		w *= 0.1
	}
	if mod7(before.degree) == 6 && step != 1 {
		w *= 0.25
	}
	if i < 2 {
		return w
	}
	return w * turning(before.degree-t.tones[i-2].degree, step)
}

// turning weighs a step by the one before it.
func turning(before, step int) float64 {
	against := before > 0 && step < 0 || before < 0 && step > 0
	switch {
	case before == 0 && step == 0:
		return 0.08
	case abs(before) >= 3 && against && abs(step) == 1:
		return 1.6
	case abs(before) >= 3 && against:
		return 0.5
	case abs(before) >= 3:
		return 0.06
	case abs(before) == 2 && !against && abs(step) > 2:
		return 0.1
	case before == -step && abs(step) == 1:
		return 0.6
	case before == step && abs(step) == 1:
		return 1.3
	}
	return 1
}

// awkward says whether a leap is a tritone or a seventh in the scale as it usually sounds, the leading
// note raised.
func (t *tune) awkward(from, to int) bool {
	if abs(to-from) < 2 {
		return false
	}
	semis := abs(t.usual(to) - t.usual(from))
	return semis == 6 || semis == 10 || semis == 11 || t.key.Minor && abs(to-from) == 3 && semis == 4
}

// usual is a degree in semitones above the tonic, with the leading note of a minor key raised.
func (t *tune) usual(d int) int {
	scale := [...]int{0, 2, 4, 5, 7, 9, 11}
	if t.key.Minor {
		scale = [...]int{0, 2, 3, 5, 7, 8, 11}
	}
	n := mod7(d)
	return scale[n] + (d-n)/7*12
}
