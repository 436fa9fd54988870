package references

import (
	"cmp"
	"fmt"
	"slices"
)

// resolve makes a request of what has been said.
func (rd *reader) resolve() (Request, error) {
	r := Request{Octaves: 2, Touch: Each(Legato)}
	for _, step := range []func(*Request) error{
		rd.resolveForm, rd.resolveTonic, rd.resolveSize, rd.resolveHands, rd.resolveMotion, rd.resolveTempo,
	} {
		if err := step(&r); err != nil {
			return Request{}, err
		}
	}
	return r, nil
}

// value is what is said of a slot, or the given value where nothing is.
func (rd *reader) value(s slot, unsaid int) int {
	if rd.said[s].words == "" {
		return unsaid
	}
	return int(rd.said[s].value)
}

func (rd *reader) resolveForm(r *Request) error {
	mode, variant, special := rd.said[slotMode], rd.said[slotVariant], rd.said[slotSpecial]
	r.Form = Form(rd.value(slotMode, int(Major)))
	if special.words != "" {
		r.Form = Form(special.value)
		for _, m := range []mention{variant, mode} {
			if m.words != "" && r.Form == DiminishedSeventh {
				return fmt.Errorf("a diminished seventh is named by the note it begins on, with no key: leave out %q", m.words)
			}
			if m.words != "" && (m.slot == slotVariant || r.Form != DominantSeventh) {
				return contradiction(special.words, m.words)
			}
		}
	}
	if variant.words != "" {
		if mode.words != "" && Form(mode.value) == Major {
			return contradiction(mode.words, variant.words)
		}
		r.Form = Form(variant.value)
	}
	unsaid := Scale
	if r.Form >= DominantSeventh || rd.said[slotInversion].words != "" {
		unsaid = Arpeggio
	}
	switch {
	case rd.said[slotPattern].words != "":
		unsaid = BrokenChord
	case rd.said[slotProgression].words != "":
		unsaid = Cadence
	}
	r.Kind = Kind(rd.value(slotKind, int(unsaid)))
	return nil
}

func (rd *reader) resolveTonic(r *Request) error {
	key, err := rd.key()
	if err != nil {
		return err
	}
	r.Tonic = key.name
	for _, s := range rd.starts[min(1, len(rd.starts)):] {
		if s.name != rd.starts[0].name {
			return contradiction(rd.starts[0].words, s.words)
		}
	}
	if r.Form == DiminishedSeventh && key.of && rd.before(key.at, "of") && rd.before(key.at-1, "key") {
		return fmt.Errorf("a diminished seventh is named by the note it begins on: say \"on %s\"", key.name.Words())
	}
	of := key.of || rd.said[slotMode].words != ""
	if r.Form == DominantSeventh && of {
		r.InKeyOf = true
		r.Tonic = Pitch{key.name, 4}.Up(4, 7).Name
	}
	r.Inversion = rd.value(slotInversion, 0)
	if len(rd.starts) > 0 {
		return rd.startOn(r, rd.starts[0])
	}
	return nil
}

// startOn reads "C major arpeggio starting on E": the first note tells the inversion.
func (rd *reader) startOn(r *Request, start keyMention) error {
	if r.Kind == Arpeggio || r.Kind == BrokenChord {
		l := chordLadder(r.Tonic, r.Form)
		for i, p := range l.rungs[:l.n] {
			if p.Name != start.name {
				continue
			}
			if said := rd.said[slotInversion]; said.words != "" && r.Inversion != i {
				return contradiction(said.words, "on "+start.words)
			}
			r.Inversion = i
			return nil
		}
		return fmt.Errorf("%q is no note of the chord on %s", start.words, r.Tonic.Words())
	}
	if start.name != r.Tonic {
		return fmt.Errorf("a request on %s begins on %s: leave out %q", r.Tonic.Words(), r.Tonic.Words(), "on "+start.words)
	}
	return nil
}

func (rd *reader) resolveSize(r *Request) error {
	r.Pattern = Pattern(rd.value(slotPattern, 0))
	r.Progression = Progression(rd.value(slotProgression, 0))
	r.Double = Double(rd.value(slotDouble, 0))
	onePosition := r.Kind == FiveFinger || r.Kind == Cadence
	if onePosition {
		r.Octaves = 1
	}
	if said := rd.said[slotOctaves]; said.words != "" {
		r.Octaves = int(said.value)
		if said.value != float64(r.Octaves) {
			return fmt.Errorf("%q cannot be asked for: say 1 to %d whole octaves", said.words, maxOctaves)
		}
	}
	return nil
}

func (rd *reader) resolveMotion(r *Request) error {
	r.Motion = Motion(rd.value(slotMotion, int(Similar)))
	r.Start = Start(rd.value(slotStart, int(AnyStart)))
	apart := rd.said[slotApart]
	if apart.words == "" {
		return nil
	}
	if r.Motion == Similar {
		switch v := int(apart.value); {
		case v < apartMinorThird:
			r.Apart = Apart(v)
		case v == apartMinorThird && r.Form == Chromatic:
			r.Apart = ThirdApart
		default:
			return fmt.Errorf("%q is said of chromatic scales: say \"a third apart\", which is the scale's own third", apart.words)
		}
		return nil
	}
	start, ok := map[int]Start{
		int(OctaveApart): OctaveStart, int(TwoOctavesApart): TwoOctaveStart,
		int(ThirdApart): MinorThirdStart, apartMinorThird: MinorThirdStart, apartMajorThird: MajorThirdStart,
	}[int(apart.value)]
	if !ok {
		return fmt.Errorf("contrary motion does not start %q: say a unison, an octave or a third", apart.words)
	}
	if r.Start != AnyStart && r.Start != start {
		return contradiction(rd.said[slotStart].words, apart.words)
	}
	r.Start = start
	return nil
}

func (rd *reader) resolveTempo(r *Request) error {
	r.Shape = Shape(rd.value(slotShape, int(NoShape)))
	r.BPM = rd.said[slotTempo].value
	if said := rd.said[slotTempo]; said.words != "" && said.value == 0 {
		return fmt.Errorf("%q cannot be played to: say a tempo from %d to %d", said.words, minBPM, maxBPM)
	}
	beat := rd.said[slotBeat]
	if beat.words != "" {
		// Every note value has a denominator that divides 8.
		r.BeatLength = Q(int64(beat.value*8), 8)
	}
	per := rd.said[slotNotesPerBeat]
	if per.words != "" {
		r.NotesPerBeat = int(per.value)
		if per.value != float64(r.NotesPerBeat) || r.NotesPerBeat < 1 {
			return fmt.Errorf("%q cannot be asked for: say 1 to %d", per.words, maxNotesPerBeat)
		}
	}
	if length := rd.said[slotNoteLength]; length.words != "" {
		n := r.beat().Float() / length.value
		switch {
		case n < 1 || n != float64(int(n)):
			return fmt.Errorf("%q do not fill the beat: say how many notes go to the beat", length.words)
		case per.words != "" && r.NotesPerBeat != int(n):
			return contradiction(per.words, length.words)
		}
		r.NotesPerBeat = int(n)
	}
	return nil
}

// resolveHands settles the hands, and which touch and dynamic are meant for which of them.
func (rd *reader) resolveHands(r *Request) error {
	slices.SortStableFunc(rd.hands, func(a, b mention) int { return cmp.Compare(a.at, b.at) })
	var said [handsSeparately + 1]mention
	for _, m := range rd.hands {
		if m.slot == slotHand {
			said[int(m.value)] = m
		}
	}
	right, left, together := said[handRight], said[handLeft], said[handsTogether]
	if right.words == "" {
		right = said[handRightAlone]
	}
	if left.words == "" {
		left = said[handLeftAlone]
	}
	alone := said[handRightAlone]
	if alone.words == "" {
		alone = said[handLeftAlone]
	}
	both := right.words != "" && left.words != ""
	if separate := said[handsSeparately]; separate.words != "" {
		return fmt.Errorf("%q is two requests: ask for the right hand, and then for the left", separate.words)
	}
	switch {
	case both && alone.words != "":
		return contradiction(right.words, left.words)
	case together.words != "" && alone.words != "":
		return contradiction(together.words, alone.words)
	case both || together.words != "":
		r.Hands = Together
		owners := rd.owners()
		if together.words != "" && !both && right.words+left.words != "" && !owns(owners) {
			return contradiction(together.words, right.words+left.words)
		}
		return rd.share(r, owners)
	case right.words != "":
		r.Hands = RightAlone
	case left.words != "":
		r.Hands = LeftAlone
	}
	return rd.share(r, make([]Hand, len(rd.hands)))
}

func owns(owners []Hand) bool {
	return slices.ContainsFunc(owners, func(h Hand) bool { return h != NoHand })
}

// owners tells for each of rd.hands which hand it is said of: NoHand for both. Between two commas a
// touch or dynamic belongs to the hand before it where a hand comes first ("right hand forte, left
// hand piano"), else to the one after it ("legato right hand"). Where commas stand everywhere they
// are not heeded.
func (rd *reader) owners() []Hand {
	owners := make([]Hand, len(rd.hands))
	bound := false
	for i, m := range rd.hands {
		if m.slot == slotHand {
			continue
		}
		owners[i] = rd.owner(i, true)
		bound = bound || owners[i] != NoHand
	}
	if !bound {
		for i, m := range rd.hands {
			if m.slot != slotHand {
				owners[i] = rd.owner(i, false)
			}
		}
		// All said of one hand only because commas were left out: it is said of both.
		if len(slices.Compact(slices.Sorted(slices.Values(owners)))) < 3 {
			clear(owners)
		}
	}
	return owners
}

func (rd *reader) owner(i int, heedCommas bool) Hand {
	var clause []int
	for j, m := range rd.hands {
		if !heedCommas || m.clause == rd.hands[i].clause {
			clause = append(clause, j)
		}
	}
	handFirst := rd.hands[clause[0]].slot == slotHand
	if !handFirst {
		slices.Reverse(clause)
	}
	owner := NoHand
	for _, j := range clause {
		if j == i {
			break
		}
		if m := rd.hands[j]; m.slot == slotHand {
			switch int(m.value) {
			case handRight:
				owner = Right
			case handLeft:
				owner = Left
			default:
				owner = NoHand
			}
		}
	}
	return owner
}

// share gives each hand the touch and the dynamic said of it.
func (rd *reader) share(r *Request, owners []Hand) error {
	var said [2][2]mention // touch and dynamic, right and left
	for i, m := range rd.hands {
		if m.slot == slotHand {
			continue
		}
		for h := Right; h <= Left; h++ {
			if owners[i] != NoHand && owners[i] != h {
				continue
			}
			before := &said[m.slot-slotTouch][h-Right]
			if before.words != "" && before.value != m.value {
				return contradiction(before.words, m.words)
			}
			*before = m
		}
	}
	touch := func(h Hand) Touch {
		if m := said[0][h-Right]; m.words != "" {
			return Touch(m.value)
		}
		return Legato
	}
	dynamic := func(h Hand) Dynamic { return Dynamic(said[1][h-Right].value) }
	r.Touch = PerHand[Touch]{touch(Right), touch(Left)}
	r.Dynamic = PerHand[Dynamic]{dynamic(Right), dynamic(Left)}
	return nil
}
