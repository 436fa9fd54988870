package ear

import (
	"fmt"
	"time"

	"evenhand/references"
)

// size is an interval by number and semitones.
type size struct {
	number, semitones int
}

// The words of intervals. Common practice.
var (
	numberWords = [...]string{"", "", "second", "third", "fourth", "fifth", "sixth", "seventh", "octave"}
	ordinals    = [...]string{"", "", "2nd", "3rd", "4th", "5th", "6th", "7th", "8th"}
)

var qualities = []string{"diminished", "minor", "perfect", "major", "augmented"}

// wholeSizes are the semitones of the perfect intervals, and of the major ones, by number.
var wholeSizes = [...]int{0, 0, 2, 4, 5, 7, 9, 11, 12}

// perfect says whether the number has a perfect interval and no major one.
func (s size) perfect() bool { return s.number == 4 || s.number == 5 || s.number == 8 }

// quality is the word for how wide the interval is for its number.
func (s size) quality() string {
	switch d := s.semitones - wholeSizes[s.number]; {
	case d > 0:
		return "augmented"
	case d == 0 && s.perfect():
		return "perfect"
	case d == 0:
		return "major"
	case s.perfect():
		return "diminished"
	}
	return "minor"
}

func (s size) String() string {
	if s.number == 8 {
		return "octave"
	}
	return s.quality() + " " + numberWords[s.number]
}

// accepted are the other wordings of the interval; with number alone, those that leave the quality
// open or name it rightly.
func (s size) accepted(numberOnly bool) []string {
	n, o := numberWords[s.number], ordinals[s.number]
	full := []string{
		s.quality() + " " + n, s.quality() + " " + o,
		fmt.Sprintf("%s %d", s.quality(), s.number),
	}
	if numberOnly || s.number == 8 {
		full = append(full, n, o, fmt.Sprint(s.number))
	}
	if s.semitones == 6 {
		full = append(full, "tritone", "augmented fourth", "diminished fifth", "augmented 4th", "diminished 5th")
	}
	return full
}

// intervalsAt are the intervals asked for at a level: number alone at first, then by quality too; the
// tritone at the end. Chosen by us.
func intervalsAt(level int) []size {
	all := []size{{2, 2}, {3, 4}, {5, 7}}
	more := [][]size{
		1: {{4, 5}},
		2: {{6, 9}, {8, 12}},
		3: {{3, 3}},
		4: {{7, 11}},
		5: {{2, 1}, {6, 8}},
		6: {{7, 10}},
		7: {{5, 6}},
	}
	for at := 1; at < len(more) && at <= level; at++ {
		all = append(all, more[at]...)
	}
	return all
}

// numberAlone says whether a level asks for the number of an interval and not for its quality.
func numberAlone(level int) bool { return level < 3 }

// interval makes two notes, heard one after the other and then together: the lower first, from level 4
// on the upper one too, and together alone at the top.
func (it *Item) interval(l *lot) {
	sizes := intervalsAt(it.Level)
	s := one(l, sizes)
	low := references.Pitch{Name: references.Name{Step: references.Step(l.below(7))}, Octave: 4}
	if it.Level >= 3 && l.chance(40) {
		low.Alter = int8(one(l, []int{-1, 1}))
	}
	if low.Key() > 67 {
		low.Octave--
	}
	high := low.Up(s.number-1, s.semitones)
	notes := []int{low.Key(), high.Key()}
	if it.Level >= 4 && l.chance(50) {
		notes[0], notes[1] = notes[1], notes[0]
	}
	var p player
	if it.Level < TopLevel {
		p.chord(1200*time.Millisecond, 74, notes[0])
		p.chord(1200*time.Millisecond, 74, notes[1])
		p.rest(300 * time.Millisecond)
	}
	p.chord(2*time.Second, 70, low.Key(), high.Key())
	it.Ask = "Listen to two notes. Which interval is it? Say its number, as in third, and its kind, as in minor."
	it.Answer = s.String()
	if numberAlone(it.Level) {
		it.Ask = "Listen to two notes. Which interval is it? Say its number, as in third."
		it.Answer = numberWords[s.number]
	}
	it.Hearings = []Hearing{{Sounds: p.sounds}}
	it.Again = -1
	it.Accepted = s.accepted(numberAlone(it.Level))
	it.Choices = sizeChoices(l, s, sizes, it.Level)
	if !numberAlone(it.Level) && s.number != 8 {
		it.parts = []part{{s.quality(), qualities}, {numberWords[s.number], numberWords[2:]}}
	}
}

// sizeChoices are the right interval among up to three others of the level, from the narrowest up: the
// nearest in width are the likeliest to be believed.
func sizeChoices(l *lot, right size, sizes []size, level int) []string {
	var weights []float64
	for _, s := range sizes {
		w := 1 / float64(1+abs(s.semitones-right.semitones))
		if s == right || numberAlone(level) && s.number == right.number {
			w = 0
		}
		weights = append(weights, w)
	}
	chosen := map[size]bool{right: true}
	for range 3 {
		if i := l.weighted(weights); i >= 0 {
			chosen[sizes[i]], weights[i] = true, 0
		}
	}
	var out []string
	for semitones := 1; semitones <= 12; semitones++ {
		for _, s := range sizes {
			if s.semitones != semitones || !chosen[s] {
				continue
			}
			if numberAlone(level) {
				out = append(out, numberWords[s.number])
			} else {
				out = append(out, s.String())
			}
		}
	}
	return out
}

func abs(n int) int { return max(n, -n) }
