package references

// Spell names a key that was struck where want was written: as the music itself has it, else by the same
// letter (a white key only as itself: C beside B flat is no B sharp), else by the sharps or flats of the
// key signature.
func (r *Reference) Spell(key int, want Name) Name {
	class := ((key % 12) + 12) % 12
	if want.PitchClass() == class {
		return want
	}
	for k := range r.Notes {
		if n := r.Notes[k].Pitch.Name; n.PitchClass() == class && n.Step != want.Step {
			return n
		}
	}
	const white = 0b1010_1011_0101 // by pitch class
	for _, alter := range []int8{0, 1, -1} {
		if n := (Name{want.Step, alter}); n.PitchClass() == class && (alter == 0 || white>>class&1 == 0) {
			return n
		}
	}
	return plain(60+class, r.Fifths < 0).Name
}
