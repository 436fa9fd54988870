package references

// chordFingers is the usual fingering of an arpeggio. The thumb goes on the first white key, as the
// hand moves away from it; where the chord begins on a white key, or has none, it goes on the note
// the chord begins with. The root positions that come of this agree with the handbooks; for the
// inversions and sevenths it is common practice, from memory.
func (r *Request) chordFingers(h Hand) fingers {
	l := chordLadder(r.Tonic, r.Form)
	f := fingers{n: l.n, base: r.Inversion}
	thumb := thumbRung(&l, r.Inversion, h)
	if l.n == 4 {
		f.sevenths(thumb, h)
		return f
	}
	third := func(i int) bool { return r.Inversion+i != 2 } // else a fourth, from the fifth up to the root
	if h == Right {
		switch thumb {
		case 0:
			f.set(1, 5, 1, 2, pick(r.Inversion == 0, 3, 4))
		case 1:
			f.set(2, 4, 4, 1, 2)
		case 2:
			f.set(2, 2, 2, pick(third(0), 3, 4), 1)
		}
		return f
	}
	switch thumb {
	case 0:
		fourth := pick(r.Inversion == 2 || r.Inversion == 0 && r.Form == Major && black(l.rungs[1].Key()), 3, 4)
		f.set(5, 1, 1, fourth, 2)
	case 1:
		f.set(2, 2, 2, 1, 4)
	case 2:
		x := pick(third(0), 3, 4)
		f.set(x, x, x, 2, 1)
	}
	return f
}

func pick(cond bool, yes, no int8) int8 {
	if cond {
		return yes
	}
	return no
}

func (f *fingers) set(first, last int8, round ...int8) {
	f.first, f.last = first, last
	copy(f.round[:], round)
}

// thumbRung is where the thumb goes, counted from the note the chord begins with: the first white
// key for the right hand going up, and for the left hand going down to that note's octave.
func thumbRung(l *ladder, inversion int, h Hand) int {
	for k := range l.n {
		i := k
		if h == Left {
			i = (l.n - k) % l.n
		}
		if !black(l.at(inversion + i).Key()) {
			return i
		}
	}
	return 0
}

// sevenths gives each of four notes its own finger, 1 2 3 4 away from the thumb.
func (f *fingers) sevenths(thumb int, h Hand) {
	for k := range 4 {
		i := thumb + k
		if h == Left {
			i = thumb - k + 4
		}
		f.round[i%4] = int8(k + 1)
	}
	switch {
	case thumb != 0 && h == Right && thumb == 1:
		f.first = 2
	case thumb != 0:
	case h == Right:
		f.first, f.last = 1, 5
	default:
		f.first, f.last = 5, 1
	}
}

// closeFingers are the usual fingers of a close triad from low to high, by inversion and hand
// (right, left): common practice.
var closeFingers = [3][2][3]int8{
	{{1, 3, 5}, {5, 3, 1}},
	{{1, 2, 5}, {5, 3, 1}},
	{{1, 3, 5}, {5, 2, 1}},
}

// fourFingers are those of a triad with its lowest note doubled at the octave.
var fourFingers = [3][2][4]int8{
	{{1, 2, 3, 5}, {5, 4, 2, 1}},
	{{1, 2, 4, 5}, {5, 4, 2, 1}},
	{{1, 2, 4, 5}, {5, 3, 2, 1}},
}
