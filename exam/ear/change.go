package ear

import (
	"fmt"
	"slices"

	"evenhand/references"
)

// change makes a melody heard twice, the second time with one change. Its notes are on the screen from
// level 3 to 6, and it is longer at 5 and 6; above, all is by ear again.
func (it *Item) change(l *lot) {
	it.Shown = it.Level >= 3 && it.Level <= 6
	long := it.Level == 5 || it.Level == 6
	meters := scopes[it.Level].meters
	if !long {
		meters = without(meters, twoFour) // four bars of it are over too soon
	}
	for {
		t := compose(l, it.Level, meters, func(m references.Meter) int {
			switch {
			case !long:
				return 4
			case m == threeFour && l.chance(25):
				return 6
			}
			return 8
		})
		changed, what := t.changed(l)
		if changed == nil {
			continue
		}
		it.Melody, it.Changed, it.Change = t.reference(t.title()), changed.reference(t.title()+", changed"), &what
		it.Hearings = []Hearing{t.hearing("Listen."), changed.hearing("Now with one change.")}
		break
	}
	it.Ask = "A melody is played twice, the second time with one change. Is it a change of pitch or of rhythm, and in which bar?"
	if it.Shown {
		it.Ask += " The notes on the screen are those of the first time."
	}
	it.Again = 1
	it.changeAnswer(l)
}

// changeAnswer puts the answer beside the same bar with the other sort of change, and two of another bar.
func (it *Item) changeAnswer(l *lot) {
	sorts := []string{string(PitchChange), string(RhythmChange)}
	name := func(sort string, bar int) string { return fmt.Sprintf("%s, bar %d", sort, bar) }
	var others, bars []string
	bar := it.Change.Bar
	other := bar
	for i := range it.Melody.Bars {
		bars = append(bars, fmt.Sprintf("bar %d", i+1))
	}
	for other == bar {
		other = l.between(1, len(bars))
	}
	for _, b := range []int{min(bar, other), max(bar, other)} {
		for _, s := range sorts {
			others = append(others, name(s, b))
		}
	}
	it.Choices = others
	it.Answer = name(string(it.Change.Sort), bar)
	words := map[Sort]string{PitchChange: "note", RhythmChange: "timing"}
	it.Accepted = []string{
		fmt.Sprintf("%s in measure %d", it.Change.Sort, bar),
		fmt.Sprintf("%s, bar %d", words[it.Change.Sort], bar),
	}
	it.parts = []part{{string(it.Change.Sort), sorts}, {fmt.Sprintf("bar %d", bar), bars}}
}

// changed is the tune with one change, of pitch or of rhythm, and what that is; nil where there is no
// place for one.
func (t *tune) changed(l *lot) (*tune, Altered) {
	ways := []func(*lot) (*tune, int){t.otherPitch, t.otherRhythm}
	sorts := []Sort{PitchChange, RhythmChange}
	first := l.below(2)
	for _, k := range []int{first, 1 - first} {
		if c, i := ways[k](l); c != nil {
			return c, Altered{Sort: sorts[k], Bar: c.tones[i].bar + 1, Note: i}
		}
	}
	return nil, Altered{}
}

// copied is a tune that can be changed without changing t.
func (t *tune) copied() *tune {
	c := *t
	c.tones, c.pitches = slices.Clone(t.tones), slices.Clone(t.pitches)
	return &c
}

// A change may not touch the first firstKept notes, nor the last of a phrase.
const firstKept = 2

// otherPitch moves one note to another degree of the scale: at least a tone away, a third up to level 2,
// not further than a sixth, at most an octave from its neighbours and not onto either of them, in the
// range of the tune, and of the chord where the beat is strong. It returns the tune and the note, or nil.
func (t *tune) otherPitch(l *lot) (*tune, int) {
	type place struct{ note, degree int }
	least := 2
	if t.level <= 2 {
		least = 3
	}
	var places []place
	var weights []float64
	for i := firstKept; i < len(t.tones)-1; i++ {
		if t.tones[i].length < t.beat/2 || t.tones[i].end {
			continue
		}
		for d := t.low; d <= t.top; d++ {
			places = append(places, place{i, d})
			weights = append(weights, max(t.harmonic(i, d), 0.1)*float64(t.tones[i].length))
		}
	}
	for {
		k := l.weighted(weights)
		if k < 0 {
			return nil, 0
		}
		if c := t.withDegree(places[k].note, places[k].degree, least); c != nil {
			return c, places[k].note
		}
		weights[k] = 0
	}
}

// withDegree is the tune with another degree as its note i, nil where that is no good change. That other
// notes may be spelled otherwise because of it, as sixths and sevenths in minor, is looked at.
func (t *tune) withDegree(i, d, least int) *tune {
	moved := abs(d - t.tones[i].degree)
	if moved == 0 || moved > 5 || t.tones[i].strength == 2 && !chordTone(t.tones[i].chord, d) {
		return nil
	}
	c := t.copied()
	c.tones[i].degree = d
	c.spell()
	for k := range c.pitches {
		if k != i && c.pitches[k] != t.pitches[k] {
			return nil
		}
	}
	before, now, after := c.pitches[i-1], c.pitches[i], c.pitches[i+1]
	switch {
	case abs(now.Key()-t.pitches[i].Key()) < least,
		now == before, now == after,
		!singable(before, now), !singable(now, after),
		now.Key() < lowestSung, now.Key() > highestSung:
		return nil
	}
	return c
}

// pairing is the lengths of two notes that begin on a beat and may take each other's place.
type pairing struct{ first, second, level int }

// The pairs of lengths that are natural to begin on a beat, in simple and in compound time.
var (
	simplePairs   = []pairing{{12, 12, 0}, {18, 6, 0}, {6, 6, 0}, {24, 12, 0}, {12, 24, 0}, {24, 24, 0}, {36, 12, 0}, {9, 3, 4}, {6, 18, 5}, {3, 9, 8}}
	compoundPairs = []pairing{{12, 6, 0}, {6, 12, 0}, {6, 6, 0}, {9, 3, 5}}
)

// otherRhythm moves the beginning of one note within its bar, by a quaver at least, or a semiquaver from
// level 5 on: the note before takes up or gives the time. Two notes that are natural together become
// another natural pair of the same whole length, so that the bar stays full.
func (t *tune) otherRhythm(l *lot) (*tune, int) {
	type place struct{ note, first int }
	pairs, least := simplePairs, 6
	if t.beat > crotchet {
		pairs = compoundPairs
	}
	if t.level >= 5 {
		least = 3
	}
	var places []place
	for i := firstKept + 1; i < len(t.tones)-1; i++ {
		a, b := t.tones[i-1], t.tones[i]
		if a.bar != b.bar || a.at%t.beat != 0 || b.end {
			continue
		}
		for _, p := range pairs {
			if p.level <= t.level && p.first+p.second == a.length+b.length && abs(p.first-a.length) >= least {
				places = append(places, place{i, p.first})
			}
		}
	}
	if len(places) == 0 {
		return nil, 0
	}
	p := one(l, places)
	c := t.copied()
	a, b := &c.tones[p.note-1], &c.tones[p.note]
	whole := a.length + b.length
	a.length = p.first
	b.at, b.length = a.at+p.first, whole-p.first
	return c, p.note
}
