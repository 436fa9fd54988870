package references

// run is one hand of a scale or an arpeggio: up and down again, or in the left hand of contrary
// motion down and up again. The note at the turn is struck once.
func (r *Request) run(h Hand) []stroke {
	up := r.ladder(Up)
	down := r.ladder(Down)
	low, octave := r.footing(h, up.n)
	high := low + up.n*r.Octaves
	upFingers := r.fingering(h, Up)
	downFingers := r.fingering(h, Down)
	if low != r.Inversion {
		// Off the tonic a hand keeps the fingers of its scale, without those of its ends.
		upFingers.first, upFingers.last = 0, 0
		downFingers.first, downFingers.last = 0, 0
	}

	part := make([]stroke, 0, (2*(high-low)+1)*r.Double.notes())
	slot := 0
	add := func(i int, l *ladder, f *fingers, d Direction) {
		s := stroke{slot: slot, finger: f.at(i, low, high), dir: d}
		part = r.strike(part, s, h, i, octave, l)
		slot++
	}
	if r.Motion == Contrary && h == Left {
		for i := high; i >= low; i-- {
			add(i, &down, &downFingers, Down)
		}
		for i := low + 1; i <= high; i++ {
			add(i, &up, &upFingers, Up)
		}
		return part
	}
	for i := low; i <= high; i++ {
		add(i, &up, &upFingers, Up)
	}
	for i := high - 1; i >= low; i-- {
		add(i, &down, &downFingers, Down)
	}
	return part
}

// ladder is the notes that the request runs over in direction d.
func (r *Request) ladder(d Direction) ladder {
	if r.Kind == Scale {
		return scaleLadder(r.Tonic, r.Form, d)
	}
	return chordLadder(r.Tonic, r.Form)
}

// footing is where hand h has its lowest note: the rung, and the octaves above the ladder's.
func (r *Request) footing(h Hand, rungs int) (low, octave int) {
	low = r.Inversion
	if r.Hands != Together {
		return low, 0
	}
	if r.Motion == Contrary {
		if h == Left {
			return low, -r.Octaves
		}
		switch r.Start {
		case OctaveStart:
			octave = 1
		case TwoOctaveStart:
			octave = 2
		case MinorThirdStart:
			low += 3
		case MajorThirdStart:
			low += 4
		}
		return low, octave
	}
	mediant := r.mediant()
	switch r.Apart {
	case ThirdApart, TenthApart:
		if h == Right {
			low = mediant
		}
	case SixthApart:
		if h == Left {
			low = mediant
		}
	}
	if h == Left {
		switch {
		case r.Apart == ThirdApart:
		case r.Apart == TwoOctavesApart, r.Double == InOctaves:
			octave = -2
		default:
			octave = -1
		}
	}
	return low, octave
}

// mediant is the rung a third above the first: of a chromatic scale, a minor third.
func (r *Request) mediant() int {
	if r.Form == Chromatic {
		return 3
	}
	return 2
}

// notes is how many notes are struck at once.
func (d Double) notes() int {
	if d == Single {
		return 1
	}
	return 2
}

// strike adds the note on rung i, or the two double notes that stand there: the lower of thirds and
// octaves is on the rung, and the upper of sixths is on the rung an octave above, so that every
// kind sets out from the tonic chord. Octaves are played with the thumb and 5, or 4 on a black key.
func (r *Request) strike(part []stroke, s stroke, h Hand, i, octave int, l *ladder) []stroke {
	lower, upper := i, i
	switch r.Double {
	case InThirds:
		upper = i + r.mediant()
	case InSixths:
		lower, upper = i+r.mediant(), i+l.n
	case InOctaves:
		upper = i + l.n
	}
	s.pitch = l.at(lower)
	s.pitch.Octave += int8(octave)
	if upper == lower {
		return append(part, s)
	}
	t := s
	t.pitch = l.at(upper)
	t.pitch.Octave += int8(octave)
	if r.Double == InOctaves {
		outer := pick(black(s.pitch.Key()), 4, 5)
		s.finger, t.finger = 1, outer
		if h == Left {
			s.finger, t.finger = outer, 1
		}
	}
	return append(part, s, t)
}
