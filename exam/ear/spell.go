package ear

import "evenhand/references"

// pitch is a degree as it stands in the key signature, raised by so many semitones.
func (t *tune) pitch(d, raised int) references.Pitch {
	scale := [...]int{0, 2, 4, 5, 7, 9, 11}
	if t.key.Minor {
		scale = [...]int{0, 2, 3, 5, 7, 8, 10}
	}
	n := mod7(d)
	return t.tonic.Up(d, scale[n]+(d-n)/7*12+raised)
}

// place puts the tonic into the octave that brings the range nearest to the middle of the voice. It
// reports whether all of it can be sung.
func (t *tune) place() bool {
	best := 1000
	for octave := int8(3); octave <= 5; octave++ {
		tonic := references.Pitch{Name: t.key.Tonic, Octave: octave}
		old := t.tonic
		t.tonic = tonic
		low, top := 127, 0
		for _, o := range t.tones {
			k := t.pitch(o.degree, 0).Key()
			low, top = min(low, k), max(top, k)
		}
		off := abs(low + top - lowestSung - highestSung)
		if low >= lowestSung && top+1 <= highestSung && off < best {
			best = off
		} else {
			t.tonic = old
		}
	}
	t.spell()
	return best < 1000
}

// spell gives every note its pitch. In minor the sixth and seventh degrees are raised on the way up to
// the tonic and where the dominant chord asks for the leading note; on the way down they are as the
// signature has them. Neighbouring sixths and sevenths are raised together or not at all, so that there
// is no augmented second.
func (t *tune) spell() {
	t.pitches = make([]references.Pitch, len(t.tones))
	for i := 0; i < len(t.tones); {
		j := i + 1
		if t.key.Minor && upper(t.tones[i].degree) {
			for j < len(t.tones) && upper(t.tones[j].degree) && !t.tones[j-1].end {
				j++
			}
		}
		raised := t.raises(i, j)
		for k := i; k < j; k++ {
			t.pitches[k] = t.pitch(t.tones[k].degree, raised)
		}
		i = j
	}
}

// mod7 is the degree in the octave of the key note, 0 to 6.
func mod7(d int) int { return ((d % 7) + 7) % 7 }

// upper says whether a degree is a sixth or seventh.
func upper(d int) bool { n := mod7(d); return n == 5 || n == 6 }

// raises is 1 where the run of notes from i to before j, sixths and sevenths of a minor key, is raised.
func (t *tune) raises(i, j int) int {
	if !t.key.Minor || !upper(t.tones[i].degree) {
		return 0
	}
	last := t.tones[j-1].degree
	if seventh := mod7(last) == 6; seventh && (t.tones[j-1].end || t.tones[j].degree == last+1) {
		return 1 // up to the tonic, or a phrase that ends on the leading note
	}
	sevenths, onDominant := 0, false
	for k := i; k < j; k++ {
		if mod7(t.tones[k].degree) == 6 {
			sevenths++
			onDominant = onDominant || t.tones[k].chord == 4
		}
	}
	if sevenths == j-i && onDominant {
		return 1 // the leading note alone
	}
	return 0
}

// sound looks over the whole tune: what is wrong with it in a word, or "". A leap must be one that can
// be sung, a tune moves, has its highest note not too often, and reaches a fair part of its range.
func (t *tune) sound() string {
	low, top, tops, same := 127, 0, 0, 0
	for i, p := range t.pitches {
		k := p.Key()
		switch {
		case k > top:
			top, tops = k, 1
		case k == top && t.pitches[i-1].Key() != k:
			tops++
		}
		low = min(low, k)
		if i == 0 {
			continue
		}
		if !singable(t.pitches[i-1], p) {
			return "leap"
		}
		if t.pitches[i-1] == p {
			same++
		}
	}
	bars := t.tones[len(t.tones)-1].bar + 1
	switch {
	case 4*same > len(t.tones):
		return "repeats"
	case tops > 2+bars/3:
		return "tops"
	case bars >= 4 && top-low < 5:
		return "narrow"
	}
	return ""
}

// singable says whether the step between two pitches is one of the scale's usual ones: no augmented or
// diminished interval, no seventh, nothing wider than an octave.
func singable(from, to references.Pitch) bool {
	semis := to.Key() - from.Key()
	steps := (int(to.Octave)-int(from.Octave))*7 + int(to.Step) - int(from.Step)
	if semis < 0 || semis == 0 && steps < 0 {
		semis, steps = -semis, -steps
	}
	usual := [...][2]int{{0, 0}, {1, 2}, {3, 4}, {5, 5}, {7, 7}, {8, 9}, {-1, -1}, {12, 12}}
	return steps >= 0 && steps < len(usual) && (semis == usual[steps][0] || semis == usual[steps][1])
}
