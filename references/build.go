package references

import "strconv"

// The keys of a full-size piano, A0 to C8.
const (
	LowestKey  = 21
	HighestKey = 108
)

// beatsInBar is how the notes of a request are barred: four beats to the bar.
const beatsInBar = 4

// stroke is one note of one hand, before the hands are put together. Strokes with the same slot are
// struck at once.
type stroke struct {
	slot   int
	pitch  Pitch
	finger int8
	dir    Direction
}

// Reference writes the request out note by note, in the first of the readings it allows (see
// Candidates). Scales, arpeggios and broken chords are written in quavers, two to a crotchet beat,
// and chords in crotchets, unless the request says how many notes go to the beat. The register is
// near the middle of the piano: the player is free to start in another octave.
//
// The error, one line, is that of Check.
func (r Request) Reference() (*Reference, error) {
	if err := r.Check(); err != nil {
		return nil, err
	}
	for reading := range r.readings() {
		if ref := reading.build(); ref.fits() {
			return ref, nil
		}
	}
	return nil, r.tooWide()
}

// Span is the lowest and the highest key of the reference, 0 and 0 where it has no notes. What is
// wider than 60 semitones does not fit on a piano of 61 keys.
func (r *Reference) Span() (low, high int) {
	for i := range r.Notes {
		k := r.Notes[i].Key()
		if i == 0 || k < low {
			low = k
		}
		high = max(high, k)
	}
	return low, high
}

func (r *Reference) fits() bool {
	low, high := r.Span()
	return low >= LowestKey && high <= HighestKey
}

// build writes out a reading, in which nothing is left open. The notes may lie off the piano.
func (r Request) build() *Reference {
	right, left := r.parts()
	ref := &Reference{Title: r.Describe(), Request: &r, Beat: r.beat()}
	ref.BarLength = ref.Beat.Times(beatsInBar, 1)
	ref.Fifths, ref.Minor = r.signature()
	if r.BPM > 0 {
		ref.Tempo = Tempo{BPM: r.BPM, Beat: ref.Beat}
	}
	ref.Notes = r.together(right, left)
	return ref
}

// parts are what each hand plays, near the middle of the piano.
func (r *Request) parts() (right, left []stroke) {
	if r.Hands != LeftAlone {
		right = r.part(Right)
	}
	if r.Hands != RightAlone {
		left = r.part(Left)
	}
	r.centre(right, left)
	return right, left
}

// part is what one hand plays.
func (r *Request) part(h Hand) []stroke {
	switch r.Kind {
	case FiveFinger:
		return r.fiveFinger(h)
	case BrokenChord:
		return r.brokenChord(h)
	case Triads:
		return r.triads(h)
	case Cadence:
		return r.cadence(h)
	}
	return r.run(h)
}

// beat is the note value of the beat: a crotchet where the request does not say.
func (r *Request) beat() Quarters {
	if r.BeatLength == (Quarters{}) {
		return Q(1, 1)
	}
	return r.BeatLength
}

// unit is the written length of each note.
func (r *Request) unit() Quarters {
	switch {
	case r.NotesPerBeat > 0:
		return r.beat().Times(1, int64(r.NotesPerBeat))
	case r.Kind == Triads || r.Kind == Cadence:
		return Q(1, 1)
	}
	return Q(1, 2)
}

// signature is the key signature. What belongs to no one key has none.
func (r *Request) signature() (fifths int, minor bool) {
	switch r.Form {
	case Chromatic, WholeTone, DiminishedSeventh:
		return 0, false
	case DominantSeventh:
		// The chord is that of a major key and of its minor, which goes on where the major has no signature.
		k := KeyOf(Key{Tonic: r.Tonic}.Fifths()-1, false)
		k.Minor = !k.Usual()
		return k.Fifths(), k.Minor
	}
	k := Key{r.Tonic, r.Form.minor()}
	return k.Fifths(), k.Minor
}

// minor reports whether the form is one of the minors.
func (f Form) minor() bool { return f >= Minor && f <= MixedMinor }

// centre moves both hands by octaves to the place where the music lies nearest to the middle of the
// piano and does not leave it: for both hands round E4, for the right alone round B♭4, for the left
// alone round G♯3.
func (r *Request) centre(right, left []stroke) {
	low, high := 127, 0
	for _, part := range [2][]stroke{right, left} {
		for i := range part {
			k := part[i].pitch.Key()
			low, high = min(low, k), max(high, k)
		}
	}
	aim := [...]int{Together: 64, RightAlone: 70, LeftAlone: 56}[r.Hands]
	shift := floorDiv(2*aim-low-high+12, 24)
	for low+12*shift < LowestKey && high+12*(shift+1) <= HighestKey {
		shift++
	}
	for high+12*shift > HighestKey && low+12*(shift-1) >= LowestKey {
		shift--
	}
	for _, part := range [2][]stroke{right, left} {
		for i := range part {
			part[i].pitch.Octave += int8(shift)
		}
	}
}

// together merges the hands into notes in order of onset and key. A key that both hands strike at
// once is one note of both.
func (r *Request) together(right, left []stroke) []Note {
	w := writer{Request: r, beat: r.beat(), unit: r.unit()}
	w.last = max(lastSlot(right), lastSlot(left))
	notes := make([]Note, 0, len(right)+len(left))
	for len(right) > 0 || len(left) > 0 {
		switch c := compare(right, left); {
		case c < 0:
			notes = append(notes, w.note(right[0], Right))
			right = right[1:]
		case c > 0:
			notes = append(notes, w.note(left[0], Left))
			left = left[1:]
		default:
			n := w.note(right[0], Both)
			n.Finger2 = left[0].finger
			notes = append(notes, n)
			right, left = right[1:], left[1:]
		}
	}
	return notes
}

// compare is negative where the next note is the right hand's, positive where it is the left's, and
// 0 where the two are one.
func compare(right, left []stroke) int {
	switch {
	case len(left) == 0:
		return -1
	case len(right) == 0:
		return 1
	case right[0].slot != left[0].slot:
		return right[0].slot - left[0].slot
	}
	return right[0].pitch.Key() - left[0].pitch.Key()
}

func lastSlot(part []stroke) int {
	if len(part) == 0 {
		return 0
	}
	return part[len(part)-1].slot
}

// writer turns strokes into notes.
type writer struct {
	*Request
	beat, unit Quarters
	last       int // slot
}

func (w *writer) note(s stroke, h Hand) Note {
	n := Note{
		Pass:      1,
		Onset:     w.unit.Times(int64(s.slot), 1),
		Length:    w.unit,
		Pitch:     s.pitch,
		Hand:      h,
		Finger:    s.finger,
		Direction: s.dir,
		Touch:     max(w.Touch.Of(h), Legato), // legato is what is unsaid
	}
	beats := n.Onset.Times(w.beat.Den(), w.beat.Num())
	bar := int(beats.Num()/beats.Den()) / beatsInBar
	n.Bar = strconv.Itoa(bar + 1)
	n.Beat = beats.Float() - float64(bar*beatsInBar) + 1
	// A shape sets out from the loudness asked and comes back to it: what lies between is not asked.
	if w.Shape == NoShape || s.slot == 0 || s.slot == w.last {
		n.Dynamic = w.Dynamic.Of(h)
	}
	return n
}
