package references

import (
	"iter"
	"math/bits"
	"sync"
)

// Entry is a reading that may be what somebody played, with enough about it to pass it over without
// writing it out.
type Entry struct {
	Request Request // with nothing left open
	Classes uint16  // the pitch classes it uses: bit 0 is C, bit 11 is B
	Strokes int     // how many keys are struck
}

// Reference writes the entry out. It costs some microseconds.
func (e Entry) Reference() *Reference { return e.Request.build() }

// layout is a way to lay out a kind of request on the hands.
type layout struct {
	hands  Hands
	motion Motion
	apart  Apart
	start  Start
	double Double
}

// The layouts in use. What differs only in the octave of a hand is there once.
var (
	plainLayouts = []layout{
		{hands: RightAlone},
		{hands: LeftAlone},
		{hands: Together},
	}
	contraryLayouts = []layout{
		{motion: Contrary, start: UnisonStart},
		{motion: Contrary, start: OctaveStart},
	}
	chromaticLayouts = []layout{
		{motion: Contrary, start: MinorThirdStart},
		{motion: Contrary, start: MajorThirdStart},
		{apart: ThirdApart},
		{apart: SixthApart},
	}
	scaleLayouts = []layout{
		{apart: ThirdApart},
		{apart: SixthApart},
		{hands: RightAlone, double: InThirds},
		{hands: LeftAlone, double: InThirds},
		{hands: Together, double: InThirds},
		{hands: RightAlone, double: InSixths},
		{hands: LeftAlone, double: InSixths},
		{hands: Together, double: InSixths},
	}
	octaveLayouts = []layout{
		{hands: RightAlone, double: InOctaves},
		{hands: LeftAlone, double: InOctaves},
		{hands: Together, double: InOctaves},
	}
)

// layouts are the layouts of a kind and form.
func layouts(k Kind, f Form) []layout {
	all := plainLayouts[:len(plainLayouts):len(plainLayouts)]
	if k != Scale && k != Arpeggio {
		return all
	}
	all = append(append(all, contraryLayouts...), octaveLayouts...)
	switch {
	case k == Scale && f == Chromatic:
		all = append(all, chromaticLayouts...)
	case k == Scale && f != WholeTone:
		all = append(all, scaleLayouts...)
	}
	return all
}

// onC are all readings on the tonic C, by kind, form, pattern, inversion, layout and octaves.
func onC() iter.Seq[Request] {
	return func(yield func(Request) bool) {
		for k := Scale; k <= Cadence; k++ {
			for _, f := range formsOf[k] {
				if k == Scale && f == Minor {
					continue // left open
				}
				for _, r := range variants(Request{Kind: k, Form: f, Octaves: 1}) {
					for _, l := range layouts(k, f) {
						r.Hands, r.Motion, r.Apart, r.Start, r.Double = l.hands, l.motion, l.apart, l.start, l.double
						for r.Octaves = 1; r.Octaves <= maxOctaves; r.Octaves++ {
							if (k == FiveFinger || k == Cadence) && r.Octaves > 1 {
								break
							}
							if !yield(r) {
								return
							}
						}
					}
				}
			}
		}
	}
}

// variants are the inversions, patterns and orders of chords of a request. A diminished seventh is
// named by its first note and has no inversions of its own here.
func variants(r Request) []Request {
	all := []Request{r}
	add := func(change func(*Request)) {
		v := r
		change(&v)
		all = append(all, v)
	}
	switch {
	case r.Kind == Arpeggio && r.Form != DiminishedSeventh:
		for i := 1; i < len(chordSemitones[r.Form]); i++ {
			add(func(v *Request) { v.Inversion = i })
		}
	case r.Kind == BrokenChord:
		add(func(v *Request) { v.Pattern = FourNote })
		add(func(v *Request) { v.Pattern = Alberti })
	case r.Kind == Cadence:
		for p := PlagalSeventh; p <= PerfectSeventh; p++ {
			add(func(v *Request) { v.Progression = p })
		}
	}
	return all
}

// families are the readings on the tonic C, each with what there is to say about it. They are made
// once, and the twelve entries of each only where they are wanted.
var families = sync.OnceValue(func() []family {
	var all []family
	for r := range onC() {
		low, high, classes, strokes := r.outline()
		if high-low <= HighestKey-LowestKey {
			all = append(all, family{Entry{r, classes, strokes}})
		}
	}
	return all
})

type family struct{ onC Entry }

// on is the family's entry on the note so many semitones above C.
func (f *family) on(semitones int) Entry {
	e := f.onC
	e.Classes = e.Classes<<semitones&0xfff | e.Classes>>(12-semitones)
	e.Request.Tonic = usualTonic(semitones, e.Request.Form)
	return e
}

// Catalogue is everything usual: each kind, form, inversion and layout in one to four octaves from
// each of the twelve notes, some eleven thousand entries. It is made once, at the first call, and is
// shared: it is not to be changed.
var Catalogue = sync.OnceValue(func() []Entry {
	fs := families()
	all := make([]Entry, 0, 12*len(fs))
	for i := range fs {
		for semitones := range 12 {
			all = append(all, fs[i].on(semitones))
		}
	}
	return all
})

// outline is the lowest and the highest key of a reading, the pitch classes it uses and how many keys
// are struck, without writing it out, which would take most of the time the catalogue takes.
func (r Request) outline() (low, high int, classes uint16, strokes int) {
	right, left := r.parts()
	low = HighestKey
	for _, part := range [][]stroke{right, left} {
		for i := range part {
			k := part[i].pitch.Key()
			low, high = min(low, k), max(high, k)
			classes |= 1 << (k % 12)
		}
	}
	strokes = len(right) + len(left)
	for len(right) > 0 && len(left) > 0 {
		switch c := compare(right, left); {
		case c < 0:
			right = right[1:]
		case c > 0:
			left = left[1:]
		default: // a unison is one key
			right, left = right[1:], left[1:]
			strokes--
		}
	}
	return low, high, classes, strokes
}

// usualTonic spells a first note as it is usually written: for a key with the fewer sharps or flats,
// of two alike F♯ major and E♭ minor.
func usualTonic(pc int, f Form) Name {
	var best Name
	fewest := 100
	for _, flats := range []bool{false, true} {
		n := plain(60+pc, flats).Name
		k := Key{n, f.minor()}
		fifths := k.Fifths()
		switch f {
		case Chromatic, WholeTone:
			return n
		case DominantSeventh:
			fifths--
		case DiminishedSeventh:
			fifths -= 5 // it stands on the leading note of a key, five fifths above the tonic
		}
		signs := max(fifths, -fifths)
		if signs < fewest || signs == fewest && k.Minor && flats {
			best, fewest = n, signs
		}
	}
	return best
}

// Neighbours are what may have been played in place of the request, without what it accepts: the
// whole catalogue, those that differ in the fewest things first. How they are to sound is taken from
// the request. The minors that are no form of their own are likely only in place of a minor: in a
// major they are an accidental forgotten. They are made as they are asked for.
func (r Request) Neighbours() iter.Seq[Entry] {
	return func(yield func(Entry) bool) {
		all := families()
		var accepted []Request
		for c := range r.readings() {
			accepted = append(accepted, c.notesAsked())
		}
		near := make([][]int32, 9)
		for i := range all {
			for semitones := range 12 {
				e := all[i].on(semitones)
				d := r.difference(&e.Request)
				near[d] = append(near[d], int32(12*i+semitones))
			}
		}
		for d, indices := range near {
			for _, i := range indices {
				e := all[i/12].on(int(i % 12))
				if odd := e.Request.Form; (odd == MelodicRaised || odd == MixedMinor) && !r.Form.minor() {
					continue
				}
				if d <= 3 && contains(accepted, e.Request.notesAsked()) {
					continue
				}
				e.Request = r.lend(e.Request)
				if !yield(e) {
					return
				}
			}
		}
	}
}

func contains(all []Request, r Request) bool {
	for i := range all {
		if all[i] == r {
			return true
		}
	}
	return false
}

// difference counts the things in which another reading differs, 0 to 8.
func (r *Request) difference(o *Request) int {
	var differs uint
	for i, d := range [...]bool{
		r.Kind != o.Kind, r.Form != o.Form, r.Tonic.PitchClass() != o.Tonic.PitchClass(), r.Hands != o.Hands,
		r.Motion != o.Motion, r.Octaves != o.Octaves, r.Apart != o.Apart || r.Double != o.Double,
		r.Inversion != o.Inversion || r.Pattern != o.Pattern || r.Progression != o.Progression,
	} {
		if d {
			differs |= 1 << i
		}
	}
	return bits.OnesCount(differs)
}

// lend gives another reading the touch, dynamics and tempo of the request, and its spelling of the
// first note where that can be written.
func (r *Request) lend(o Request) Request {
	o.Touch, o.Dynamic, o.Shape = r.Touch, r.Dynamic, r.Shape
	if o.Hands != Together {
		h := Right
		if o.Hands == LeftAlone {
			h = Left
		}
		o.Touch, o.Dynamic = Each(r.Touch.Of(h)), Each(r.Dynamic.Of(h))
	}
	o.BPM, o.BeatLength, o.NotesPerBeat = r.BPM, r.BeatLength, r.NotesPerBeat
	o.InKeyOf = r.InKeyOf && o.Form == DominantSeventh
	if o.Tonic.PitchClass() == r.Tonic.PitchClass() {
		as := o
		as.Tonic = r.Tonic
		if as.checkTonic() == nil {
			return as
		}
	}
	return o
}
