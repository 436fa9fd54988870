package references

// fiveFinger is one hand going from the tonic to the dominant and back, a finger to a key.
func (r *Request) fiveFinger(h Hand) []stroke {
	l := scaleLadder(r.Tonic, r.Form, Up)
	part := make([]stroke, 0, 9)
	for slot := range 9 {
		i, d := slot, Up
		if slot > 4 {
			i, d = 8-slot, Down
		}
		finger := int8(i + 1)
		if h == Left {
			finger = int8(5 - i)
		}
		part = append(part, stroke{slot, r.lowered(l.at(i), h), finger, d})
	}
	return part
}

// lowered puts the left hand an octave below the right.
func (r *Request) lowered(p Pitch, h Hand) Pitch {
	if h == Left {
		p.Octave--
	}
	return p
}

// brokenChord is one hand of a broken chord. ThreeNote and FourNote go up in groups that each begin
// one chord note higher, to the tonic at the top, and down in groups that each begin one lower,
// from that tonic, struck once, to the tonic they began on (common practice; other ways of turning
// are in use). Alberti keeps to one position of the chord for a group and goes up to the position on
// the top tonic and back, ending on the tonic.
func (r *Request) brokenChord(h Hand) []stroke {
	b := breaker{r: r, l: chordLadder(r.Tonic, r.Form), hand: h}
	bottom := r.Inversion
	top := bottom + b.l.n*r.Octaves
	if r.Pattern == Alberti {
		for i := bottom; i <= top; i++ {
			b.group(i, Up, 0, 2, 1, 2)
		}
		for i := top - 1; i >= bottom; i-- {
			b.group(i, Down, 0, 2, 1, 2)
		}
		b.group(bottom, Down, 0)
		return b.part
	}
	up, down := []int{0, 1, 2}, []int{2, 1, 0}
	if r.Pattern == FourNote {
		up, down = []int{0, 1, 2, 3}, []int{3, 2, 1, 0}
	}
	for i := bottom; i < top; i++ {
		b.group(i, Up, up...)
	}
	size := len(down)
	for i := top; i > bottom; i-- {
		b.group(i-size+1, Down, down...)
	}
	b.part[len(up)*(top-bottom)].dir = Up // the turn
	// The last note is played by the finger that lies over it.
	last := bottom - (bottom + 1 - size + 1)
	b.group(bottom+1-size+1, Down, last)
	return b.part
}

// breaker writes the groups of a broken chord.
type breaker struct {
	r    *Request
	l    ladder
	hand Hand
	part []stroke
}

// group strikes one after another the given notes of the chord position whose lowest is rung i.
func (b *breaker) group(i int, d Direction, notes ...int) {
	inversion := i - 3*floorDiv(i, 3)
	for _, k := range notes {
		var finger int8
		if b.r.Pattern == FourNote {
			finger = fourFingers[inversion][b.hand-Right][k]
		} else {
			finger = closeFingers[inversion][b.hand-Right][k]
		}
		b.part = append(b.part, stroke{len(b.part), b.r.lowered(b.l.at(i+k), b.hand), finger, d})
	}
}

// triads is one hand of a triad and its inversions in close position, up to the one on the top tonic
// and back.
func (r *Request) triads(h Hand) []stroke {
	l := chordLadder(r.Tonic, r.Form)
	top := l.n * r.Octaves
	part := make([]stroke, 0, 3*(2*top+1))
	for slot := range 2*top + 1 {
		i, d := slot, Up
		if slot > top {
			i, d = 2*top-slot, Down
		}
		for k := range 3 {
			part = append(part, stroke{slot, r.lowered(l.at(i+k), h), closeFingers[i%3][h-Right][k], d})
		}
	}
	return part
}

// cadenceChords are the close positions of the chords I, IV, V and V7 that move least, as scale
// degrees above the tonic (from 0, -1 being the leading note), with the inversion whose fingers they
// take.
var cadenceChords = [...]struct {
	degrees  [3]int
	fingered int
}{
	{[3]int{0, 2, 4}, 0},
	{[3]int{0, 3, 5}, 2},
	{[3]int{-1, 1, 4}, 1},
	{[3]int{-1, 3, 4}, 1},
}

// cadence is one hand of the cadence chords. In a minor key the leading note is raised.
func (r *Request) cadence(h Hand) []stroke {
	l := scaleLadder(r.Tonic, r.Form, Up)
	var part []stroke
	for slot, c := range r.Progression.chords() {
		chord := cadenceChords[c]
		for k, degree := range chord.degrees {
			finger := closeFingers[chord.fingered][h-Right][k]
			part = append(part, stroke{slot, r.lowered(l.at(degree), h), finger, NoDirection})
		}
	}
	return part
}
