package pupil

import (
	"slices"

	"evenhand/references"
)

// score is a reference as a player reads it: onset by onset, with both hands in view.
type score struct {
	ref    *references.Reference
	bounds []int // of the notes of each onset, as Reference.Events gives them
	onset  []int // the onset each note belongs to
	two    bool  // whether both hands play
}

func read(ref *references.Reference) *score {
	s := &score{ref: ref, bounds: ref.Events(), onset: make([]int, len(ref.Notes))}
	var right, left bool
	for e := range s.onsets() {
		for n := s.bounds[e]; n < s.bounds[e+1]; n++ {
			s.onset[n] = e
			right = right || ref.Notes[n].Hand == references.Right
			left = left || ref.Notes[n].Hand == references.Left
		}
	}
	s.two = right && left
	return s
}

// onsets is their number.
func (s *score) onsets() int { return len(s.bounds) - 1 }

// notes are the indices of the notes of onset e that hand h plays; NoHand and Both ask for all.
func (s *score) notes(e int, h references.Hand) []int {
	var out []int
	if e < 0 || e >= s.onsets() {
		return nil
	}
	for n := s.bounds[e]; n < s.bounds[e+1]; n++ {
		if h == references.NoHand || h == references.Both || s.ref.Notes[n].Hand.Has(h) {
			out = append(out, n)
		}
	}
	return out
}

// keys are the keys of onset e as written.
func (s *score) keys(e int) []int {
	var out []int
	for _, n := range s.notes(e, references.Both) {
		out = append(out, s.ref.Notes[n].Key())
	}
	return out
}

// line is the onsets at which hand h plays alone of note-sharing: those it has a note of its own in.
func (s *score) line(h references.Hand) []int {
	var out []int
	for e := range s.onsets() {
		if slices.ContainsFunc(s.notes(e, h), func(n int) bool { return s.ref.Notes[n].Hand == h }) {
			out = append(out, e)
		}
	}
	return out
}

// meant are the notes a fault at note f.At is about.
func (s *score) meant(f Fault) []int {
	if f.Hand == references.Both {
		return s.notes(s.onset[f.At], references.Both)
	}
	return []int{f.At}
}

// quarters is the time of onset e in quarters after the first.
func (s *score) quarters(e int) float64 {
	return s.ref.Notes[s.bounds[e]].Onset.Sub(s.ref.Notes[0].Onset).Float()
}
