package pupil

import (
	"slices"

	"evenhand/references"
)

// The rules for a fault that the seed places: anybody who knows the piece should name it without
// doubt, and name nothing else.
//
//   - It is not at the first two onsets or the last two, and at least apartOnsets from any other.
//   - A key struck by mistake is none that is due at the onset itself, the one before or the one
//     after in either hand, so that it is neither a repeat nor a skip. It is on the piano.
//   - It makes no other piece: in minor keys the sixth and seventh degrees stay as they are, since
//     they tell the forms apart; in chords and five-finger patterns only the tonic is missed by a
//     semitone; only in a major scale is an accidental forgotten throughout.
//   - A note left out, passed over or struck twice is not beside the same key, nor between two
//     strokes of one key, where it would look like a turn, but for a note left out of a chord.
//   - What is gone back over has no key twice, and nor has what a hand plays ahead; after a break
//     another key follows than would have followed without. A hand gets ahead for a third of a piece at
//     most.
//   - A hand gets into another octave in the second half, so that the first says which was meant.
//   - Playing breaks off or gives up only after the fourth onset and before the last three, and does
//     not give up on the note of the start, where the piece might end.
const apartOnsets = 4

// at is the fault at note n.
func (f Fault) at(n int) Fault {
	f.At = n
	return f
}

// extent is the onsets that the fault at onset e touches.
func (f Fault) extent(e int) (lo, hi int) {
	switch f.Kind {
	case GoBack:
		return e - f.Count, e + 1
	case HandAhead:
		return e, e + f.Count
	case Restart, GiveUp:
		return e, e + 1
	}
	return e, e
}

// take marks the onsets near the fault as taken.
func (p *performance) take(taken []bool, f Fault) {
	lo, hi := f.extent(p.s.onset[f.At])
	for e := max(lo-apartOnsets+1, 0); e < min(hi+apartOnsets, len(taken)); e++ {
		taken[e] = true
	}
}

func (p *performance) free(taken []bool, f Fault, n int) bool {
	lo, hi := f.extent(p.s.onset[n])
	if lo < 0 || hi >= len(taken) {
		return false
	}
	return !slices.Contains(taken[lo:hi+1], true)
}

// allowed reports whether the rules let the fault be at note n.
func (p *performance) allowed(f Fault, n int) bool {
	s, e, note := p.s, p.s.onset[n], &p.s.ref.Notes[n]
	switch f.Kind {
	case RepeatLeftOut, Leap, BarAgain:
		return n == s.bounds[e] && p.barRules(f, e)
	case PassedRit, PassedFermata:
		return s.signed(f.at(n))
	case OrnamentLeftOut:
		return note.Ornament != references.NoOrnament
	case RestFilled:
		return p.rests(n)
	}
	if e < 2 || e > s.onsets()-3 || f.Hand != references.NoHand && f.Hand != references.Both && !note.Hand.Has(f.Hand) {
		return false
	}
	switch f.Kind {
	case SemitoneOff, LetterOff, PutRight, GrazedKey:
		return len(p.misses(f.Kind, n)) > 0
	case ForgottenAccidental:
		r := s.ref.Request
		return note.Pitch.Alter != 0 && (r == nil || r.Kind == references.Scale && r.Form == references.Major)
	case LeftOut, Skipped, StruckTwice:
		if f.Kind == LeftOut && len(s.handKeys(e, note.Hand)) > 1 {
			return true // the rest of the chord says where it was due
		}
		hand := note.Hand
		if f.Kind == Skipped {
			hand = references.Both
		}
		here, before, after := s.handKeys(e, hand), s.handKeys(e-1, hand), s.handKeys(e+1, hand)
		return !meet(here, before) && !meet(here, after) && !meet(before, after)
	case GoBack:
		return e-f.Count >= 0 && s.allDifferent(e-f.Count, e+1, references.Both)
	case Restart:
		return s.midway(e) && !slices.Equal(s.keys(e+1), s.keys(s.onset[min(max(f.To, 0), n)]))
	case GiveUp:
		return s.midway(e) && !s.startsOn(e)
	case HandAhead:
		return s.two && s.onsets() >= 12 && note.Hand != references.Both && e+f.Count < s.onsets()-1 && s.allDifferent(e, e+f.Count, note.Hand)
	case WrongOctave:
		return s.two && note.Hand != references.Both && e >= s.onsets()/2 && e < s.onsets()-4 && p.hasRoom(n)
	}
	return true
}

// midway reports whether playing can break off after onset e.
func (s *score) midway(e int) bool { return e >= 4 && e < s.onsets()-3 }

// startsOn reports whether a key of onset e has the name of the first: there the piece might end.
func (s *score) startsOn(e int) bool {
	return slices.ContainsFunc(s.notes(e, references.Both), func(n int) bool {
		return s.ref.Notes[n].Pitch.Name == s.ref.Notes[0].Pitch.Name
	})
}

// hasRoom reports whether the hand of note n can go on in the octave farther from the other hand
// without leaving the piano.
func (p *performance) hasRoom(n int) bool {
	for m := n; m < len(p.s.ref.Notes); m++ {
		if p.s.ref.Notes[m].Hand != p.s.ref.Notes[n].Hand {
			continue
		}
		if key := p.key(m) + octaveAway(p.s.ref.Notes[n].Hand); key < references.LowestKey || key > references.HighestKey {
			return false
		}
	}
	return true
}

// octaveAway is an octave away from the other hand.
func octaveAway(h references.Hand) int {
	if h == references.Left {
		return -12
	}
	return 12
}

// handKeys are the keys of one hand, as written, at onset e.
func (s *score) handKeys(e int, h references.Hand) []int {
	var out []int
	for _, n := range s.notes(e, h) {
		out = append(out, s.ref.Notes[n].Key())
	}
	return out
}

// meet reports whether two sets of keys share one.
func meet(a, b []int) bool {
	return slices.ContainsFunc(a, func(k int) bool { return slices.Contains(b, k) })
}

// allDifferent reports whether hand h strikes no key twice from onset lo to hi.
func (s *score) allDifferent(lo, hi int, h references.Hand) bool {
	seen := map[int]bool{}
	for e := lo; e <= hi; e++ {
		for _, k := range s.handKeys(e, h) {
			if seen[k] {
				return false
			}
			seen[k] = true
		}
	}
	return true
}

// misses are the distances in semitones of the keys that may be hit for note n: the likeliest ones of
// those that the rules allow.
func (p *performance) misses(k Kind, n int) []int {
	letters := p.letterDistances(n)
	order := [][]int{{-1, 1}, letters, {-2, 2}, {-3, 3}}
	switch k {
	case LetterOff:
		order = [][]int{letters, {-2, 2}, {-1, 1}, {-3, 3}}
	case GrazedKey: // the finger touches what lies beside
		order = [][]int{{-1, 1}, {-2, 2}}
	}
	var near []int
	e := p.s.onset[n]
	for i := max(e-1, 0); i <= min(e+1, p.s.onsets()-1); i++ {
		for _, m := range p.s.notes(i, references.Both) {
			near = append(near, p.key(m))
		}
	}
	for _, some := range order {
		some = slices.DeleteFunc(slices.Clone(some), func(by int) bool {
			key := p.key(n) + by
			return key < references.LowestKey || key > references.HighestKey || slices.Contains(near, key) || k != GrazedKey && p.otherPiece(n, by)
		})
		if len(some) > 0 {
			return some
		}
	}
	return nil
}

// letterDistances are the semitones to the letters below and above, with the accidentals of the key
// signature.
func (p *performance) letterDistances(n int) []int {
	pitch := p.s.ref.Notes[n].Pitch
	signature := references.KeyOf(p.s.ref.Fifths, false).Signature()
	var out []int
	for _, d := range [...]int{-1, 1} {
		q := pitch.Up(d, 0) // the right letter and octave
		q.Alter = 0
		for _, name := range signature {
			if name.Step == q.Step {
				q.Alter = name.Alter
			}
		}
		if by := q.Key() - pitch.Key(); by != 0 {
			out = append(out, by)
		}
	}
	return out
}

// otherPiece reports whether a note missed by so much would be right in another form of what is asked.
func (p *performance) otherPiece(n, by int) bool {
	r := p.s.ref.Request
	if r == nil {
		return false
	}
	degree := (p.s.ref.Notes[n].Pitch.PitchClass() - r.Tonic.PitchClass() + 12) % 12
	if r.Kind != references.Scale {
		return degree != 0 && (by == 1 || by == -1)
	}
	switch r.Form {
	case references.Minor, references.NaturalMinor, references.HarmonicMinor, references.MelodicMinor,
		references.MelodicRaised, references.MixedMinor:
		return degree >= 8
	}
	return false
}
