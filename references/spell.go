package references

// Spell names a key that was struck where want was written: as the music itself has it, else by the
// same letter, else by the sharps or flats of the key signature.
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
	for _, alter := range []int8{0, 1, -1} {
		if n := (Name{want.Step, alter}); n.PitchClass() == class {
			return n
		}
	}
	return plain(60+class, r.Fifths < 0).Name
}
