package references

import (
	"iter"
	"slices"
)

// Candidates are all the accepted ways to play the request, the likeliest first: each form of a
// minor scale where none is named (harmonic, melodic, natural: one form for both hands and both
// directions), hands an octave or two apart, a tenth for a third, each start of contrary motion, each
// order of cadence chords. Of the registers one is given: any octave is as good.
//
// It is empty where Check finds the request impossible.
func (r Request) Candidates() []*Reference {
	var all []*Reference
	if r.Check() != nil {
		return nil
	}
	for reading := range r.readings() {
		if ref := reading.build(); ref.fits() {
			all = append(all, ref)
		}
	}
	return all
}

// Accepts reports whether a reading, as it stands in Reference.Request, is one the request allows.
// Only what decides the notes is looked at.
func (r Request) Accepts(reading Request) bool {
	for c := range r.readings() {
		if c.notesAsked() == reading.notesAsked() {
			return true
		}
	}
	return false
}

// notesAsked is the part of a request that decides which notes are played, each hand in any octave:
// how they are to sound and how the key is spelled are left out.
func (r Request) notesAsked() Request {
	n := Request{
		Kind: r.Kind, Form: r.Form, Inversion: r.Inversion, Pattern: r.Pattern, Progression: r.Progression,
		Hands: r.Hands, Motion: r.Motion, Apart: r.Apart, Double: r.Double, Start: r.Start, Octaves: r.Octaves,
	}
	pc := r.Tonic.PitchClass()
	if r.Form == DiminishedSeventh {
		pc, n.Inversion = (pc+3*r.Inversion)%12, 0 // every inversion is a diminished seventh too
	}
	n.Tonic = plain(60+pc, false).Name
	switch r.Apart {
	case TwoOctavesApart:
		n.Apart = OctaveApart
	case TenthApart:
		n.Apart = ThirdApart
	}
	if r.Start == TwoOctaveStart {
		n.Start = OctaveStart
	}
	return n
}

// readings are the ways to settle what the request leaves open.
func (r Request) readings() iter.Seq[Request] {
	return func(yield func(Request) bool) {
		for _, form := range r.forms() {
			for _, apart := range r.distances() {
				for _, start := range r.starts() {
					for _, p := range r.progressions() {
						c := r
						c.Form, c.Apart, c.Start, c.Progression = form, apart, start, p
						if !yield(c) {
							return
						}
					}
				}
			}
		}
	}
}

func (r *Request) forms() []Form {
	if r.Kind == Scale && r.Form == Minor {
		return []Form{HarmonicMinor, MelodicMinor, NaturalMinor}
	}
	return []Form{r.Form}
}

func (r *Request) distances() []Apart {
	runs := r.Kind == Scale || r.Kind == Arpeggio
	switch {
	case r.Hands != Together || r.Motion != Similar || !runs || r.Double != Single:
	case r.Apart == OctaveApart:
		return []Apart{OctaveApart, TwoOctavesApart}
	case r.Apart == ThirdApart:
		return []Apart{ThirdApart, TenthApart}
	}
	return []Apart{r.Apart}
}

func (r *Request) starts() []Start {
	if r.Motion != Contrary || r.Start != AnyStart {
		return []Start{r.Start}
	}
	starts := []Start{UnisonStart, OctaveStart, TwoOctaveStart}
	if r.Form == Chromatic {
		starts = slices.Insert(starts, 1, MinorThirdStart, MajorThirdStart)
	}
	return starts
}

func (r *Request) progressions() []Progression {
	if r.Kind == Cadence && r.Progression == PlagalPerfect {
		return []Progression{PlagalPerfect, PlagalSeventh, PerfectCadence, PerfectSeventh}
	}
	return []Progression{r.Progression}
}
