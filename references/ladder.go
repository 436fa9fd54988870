package references

// ladder is the notes of a scale or chord within one octave, lowest (the first note of the scale,
// the root of the chord) first, at octave 4. Its rungs repeat in every octave: rung n is rung 0 an
// octave higher.
type ladder struct {
	rungs [12]Pitch
	n     int
}

// at is rung i, which may be negative.
func (l *ladder) at(i int) Pitch {
	oct := floorDiv(i, l.n)
	p := l.rungs[i-oct*l.n]
	p.Octave += int8(oct)
	return p
}

// scaleSemitones are the distances above the tonic of the seven notes of each scale as it goes up.
var scaleSemitones = map[Form][7]int{
	Major:         {0, 2, 4, 5, 7, 9, 11},
	NaturalMinor:  {0, 2, 3, 5, 7, 8, 10},
	HarmonicMinor: {0, 2, 3, 5, 7, 8, 11},
	MelodicMinor:  {0, 2, 3, 5, 7, 9, 11},
}

// chordSemitones are the distances above the root of the notes of each chord, which are spelled in
// thirds.
var chordSemitones = map[Form][]int{
	Major:             {0, 4, 7},
	Minor:             {0, 3, 7},
	DominantSeventh:   {0, 4, 7, 10},
	DiminishedSeventh: {0, 3, 6, 9},
}

// going is the scale that form f plays in direction d: the melodic minor comes down in the natural
// form.
func (f Form) going(d Direction) Form {
	switch f {
	case MelodicMinor, MixedMinor:
		if d == Down {
			return NaturalMinor
		}
		if f == MixedMinor {
			return HarmonicMinor
		}
	case MelodicRaised:
		return MelodicMinor
	case Minor:
		return HarmonicMinor
	}
	return f
}

// scaleLadder is the scale of form f on the tonic, as it goes in direction d.
func scaleLadder(tonic Name, f Form, d Direction) ladder {
	switch f {
	case Chromatic:
		return evenLadder(tonic, 1, d)
	case WholeTone:
		return evenLadder(tonic, 2, d)
	}
	l := ladder{n: 7}
	root := Pitch{tonic, 4}
	for i, s := range scaleSemitones[f.going(d)] {
		l.rungs[i] = root.Up(i, s)
	}
	return l
}

// chordLadder is the chord of form f on the root.
func chordLadder(root Name, f Form) ladder {
	notes := chordSemitones[f]
	l := ladder{n: len(notes)}
	for i, s := range notes {
		l.rungs[i] = Pitch{root, 4}.Up(2*i, s)
	}
	return l
}

// evenLadder is a scale of equal steps: chromatic or whole tone. No key spells it, so the white keys
// have their plain names, and the black keys are sharps going up and flats coming down (common
// practice); those of a whole-tone scale follow its tonic both ways. The tonic is spelled as asked.
func evenLadder(tonic Name, step int, d Direction) ladder {
	flats := d == Down
	if step > 1 {
		flats = tonic.Alter < 0
	}
	l := ladder{n: 12 / step}
	root := Pitch{tonic, 4}
	l.rungs[0] = root
	for i := 1; i < l.n; i++ {
		l.rungs[i] = plain(root.Key()+i*step, flats)
	}
	return l
}

// plain is the simplest spelling of a key.
func plain(key int, flats bool) Pitch {
	const sharp, flat = "CCDDEFFGGAAB", "CDDEEFGGAABB"
	letters := sharp
	if flats {
		letters = flat
	}
	p := Pitch{Name{Step: stepOf(letters[key%12])}, int8(key/12 - 1)}
	p.Alter = int8(key - p.Key())
	return p
}
