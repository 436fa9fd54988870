package references

import (
	"errors"
	"fmt"
)

// The widest values a request may have.
const (
	maxOctaves      = 4
	maxNotesPerBeat = 12
	minBPM, maxBPM  = 10, 400
)

// Check reports what is impossible about the request in one line, or nil.
func (r Request) Check() error {
	for _, check := range []func(*Request) error{
		(*Request).checkForm, (*Request).checkTonic, (*Request).checkSize,
		(*Request).checkHands, (*Request).checkDouble, (*Request).checkTempo,
	} {
		if err := check(&r); err != nil {
			return err
		}
	}
	for reading := range r.readings() {
		if reading.build().fits() {
			return nil
		}
	}
	return r.tooWide()
}

func (r *Request) tooWide() error {
	return fmt.Errorf("%s is wider than the 88 keys of a piano: ask for fewer octaves", r.Describe())
}

// formsOf are the forms that each kind is asked in.
var formsOf = map[Kind][]Form{
	Scale: {
		Major, Minor, NaturalMinor, HarmonicMinor, MelodicMinor, MelodicRaised, MixedMinor, Chromatic, WholeTone,
	},
	Arpeggio:    {Major, Minor, DominantSeventh, DiminishedSeventh},
	BrokenChord: {Major, Minor},
	FiveFinger:  {Major, Minor},
	Triads:      {Major, Minor},
	Cadence:     {Major, Minor},
}

func (r *Request) checkForm() error {
	forms, ok := formsOf[r.Kind]
	if !ok {
		return fmt.Errorf("kind %d is no kind of request", r.Kind)
	}
	for _, f := range forms {
		if f == r.Form {
			return nil
		}
	}
	if r.Form < Major || r.Form > DiminishedSeventh {
		return fmt.Errorf("form %d is no form of scale or chord", r.Form)
	}
	return fmt.Errorf("there is no %s %s: ask for %s", r.Form.words(), kindWords[r.Kind], r.Kind.formChoice())
}

func (r *Request) checkTonic() error {
	if r.Tonic.Step < C || r.Tonic.Step > B || r.Tonic.Alter < -2 || r.Tonic.Alter > 2 {
		return errors.New("the key-note has to be a letter from A to G, sharp, flat or natural")
	}
	k := Key{r.Tonic, r.Form.minor()}
	switch r.Form {
	case Chromatic, WholeTone:
		if r.Tonic.Alter < -1 || r.Tonic.Alter > 1 {
			return fmt.Errorf("%s is not used as a first note: ask for %s", r.Tonic.Words(), plain(60+r.Tonic.PitchClass(), false).Words())
		}
		return nil
	case DiminishedSeventh:
		l := chordLadder(r.Tonic, r.Form)
		for _, p := range l.rungs[:l.n] {
			if p.Alter < -2 || p.Alter > 2 || r.Tonic.Alter < -1 || r.Tonic.Alter > 1 {
				return fmt.Errorf("a diminished seventh on %s cannot be written: ask for it on %s",
					r.Tonic.Words(), plain(60+r.Tonic.PitchClass(), false).Words())
			}
		}
		return nil
	case DominantSeventh:
		key := KeyOf(k.Fifths()-1, false)
		if !key.Usual() && !(Key{key.Tonic, true}).Usual() {
			twin := key.Twin()
			return fmt.Errorf("there is no key of %s to be in: ask for the dominant seventh in the key of %s", key.Tonic.Words(), twin.Tonic.Words())
		}
		return nil
	}
	if !k.Usual() {
		mode := "major"
		if k.Minor {
			mode = "minor"
		}
		return fmt.Errorf("%s %s has no key signature: ask for %s %s, on the same keys of the piano",
			k.Tonic.Words(), mode, k.Twin().Tonic.Words(), mode)
	}
	return nil
}

func (r *Request) checkSize() error {
	onePosition := r.Kind == FiveFinger || r.Kind == Cadence
	switch {
	case onePosition && r.Octaves != 1:
		return fmt.Errorf("%s stay in one position: leave out the octaves", plural[r.Kind])
	case r.Octaves < 1 || r.Octaves > maxOctaves:
		return fmt.Errorf("%d octaves cannot be asked for: say 1 to %d", r.Octaves, maxOctaves)
	case r.Inversion == 0:
	case r.Kind != Arpeggio && r.Kind != BrokenChord:
		return fmt.Errorf("%s have no inversions to ask for: leave out %q", plural[r.Kind], inversionWords(r.Inversion))
	case r.Inversion < 0 || r.Inversion >= len(chordSemitones[r.Form]):
		return fmt.Errorf("a chord of %d notes has no %s", len(chordSemitones[r.Form]), inversionWords(r.Inversion))
	}
	if r.Pattern != ThreeNote && (r.Kind != BrokenChord || r.Pattern < ThreeNote || r.Pattern > Alberti) {
		return errors.New("only broken chords come in patterns: three-note, four-note or Alberti")
	}
	if r.Progression != PlagalPerfect && (r.Kind != Cadence || r.Progression < 0 || r.Progression > PerfectSeventh) {
		return errors.New("only cadence chords come in an order of chords")
	}
	return nil
}

func (r *Request) checkHands() error {
	if r.Hands < Together || r.Hands > LeftAlone || r.Motion < Similar || r.Motion > Contrary ||
		r.Apart < OctaveApart || r.Apart > TenthApart || r.Start < AnyStart || r.Start > MajorThirdStart {
		return errors.New("the hands, the motion or the distance is none that can be asked for")
	}
	if r.Hands != Together {
		switch {
		case r.Motion == Contrary:
			return errors.New("contrary motion needs both hands: ask for hands together, or for similar motion")
		case r.Apart != OctaveApart:
			return fmt.Errorf("%q needs both hands: ask for hands together", apartWords[r.Apart])
		case !r.Touch.Same() || !r.Dynamic.Same():
			return errors.New("one hand alone has one touch and one dynamic")
		}
	}
	runs := r.Kind == Scale || r.Kind == Arpeggio
	switch {
	case r.Motion == Contrary && !runs:
		return fmt.Errorf("%s are not played in contrary motion: ask for a scale or an arpeggio", plural[r.Kind])
	case r.Motion == Contrary && r.Apart != OctaveApart:
		return fmt.Errorf("%q is said of similar motion: leave it out, or leave out contrary motion", apartWords[r.Apart])
	case r.Motion != Contrary && r.Start != AnyStart:
		return fmt.Errorf("%q is said of contrary motion: ask for contrary motion", startWords[r.Start])
	case r.Start >= MinorThirdStart && r.Form != Chromatic:
		return fmt.Errorf("%q is said of a chromatic scale in contrary motion", startWords[r.Start])
	case r.Apart >= ThirdApart && r.Kind != Scale:
		return fmt.Errorf("only scales are played %s", apartWords[r.Apart])
	case r.Apart == TwoOctavesApart && !runs:
		return fmt.Errorf("%s are played an octave apart", plural[r.Kind])
	}
	return nil
}

func (r *Request) checkDouble() error {
	switch {
	case r.Double < Single || r.Double > InOctaves:
		return errors.New("double notes are asked in thirds, sixths or octaves")
	case r.Double == Single:
	case r.Double == InOctaves && r.Kind != Scale && r.Kind != Arpeggio:
		return fmt.Errorf("%s are not played in octaves: ask for a scale or an arpeggio", plural[r.Kind])
	case r.Double != InOctaves && (r.Kind != Scale || r.Form == WholeTone):
		return fmt.Errorf("only scales in keys and chromatic scales are played %s", doubleWords[r.Double])
	case r.Motion == Contrary:
		return fmt.Errorf("a scale %s is asked in similar motion", doubleWords[r.Double])
	case r.Apart != OctaveApart:
		return fmt.Errorf("%q and %q cannot be asked together: one is double notes in each hand, the other the distance of the hands",
			doubleWords[r.Double], apartWords[r.Apart])
	}
	return nil
}

func (r *Request) checkTempo() error {
	for _, h := range []Hand{Right, Left} {
		if t, d := r.Touch.Of(h), r.Dynamic.Of(h); t < NoTouch || t > Staccato || d < NoDynamic || d > Fortississimo {
			return errors.New("the touch is legato or staccato, and the dynamic one from ppp to fff")
		}
	}
	switch {
	case r.Shape < NoShape || r.Shape > EbbUp:
		return errors.New("the shape is a crescendo or a diminuendo going up, and the other coming down")
	case r.BPM != 0 && !(r.BPM >= minBPM && r.BPM <= maxBPM):
		return fmt.Errorf("%g beats a minute cannot be played to: say %d to %d", r.BPM, minBPM, maxBPM)
	case r.BPM == 0 && r.BeatLength != (Quarters{}):
		return errors.New("a note value for the beat needs a tempo: say crotchet = 72")
	case r.BPM != 0 && r.BeatLength != (Quarters{}) && beatWords[r.BeatLength] == "":
		return fmt.Errorf("a beat of %s quarter notes has no name: say crotchet, minim, quaver or a dotted one", r.BeatLength)
	case r.NotesPerBeat < 0 || r.NotesPerBeat > maxNotesPerBeat:
		return fmt.Errorf("%d notes to the beat cannot be asked for: say 1 to %d", r.NotesPerBeat, maxNotesPerBeat)
	}
	return nil
}
