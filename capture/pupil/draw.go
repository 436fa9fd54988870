package pupil

import (
	"fmt"
	"math/rand/v2"

	"evenhand/references"
)

// Class is what there is to say about a take: one thing.
type Class int8

// The classes.
const (
	Clean Class = iota
	WrongNotes
	ForgotAccidental
	MissingNotes
	Grazes
	Corrections
	Repetition
	WentBack
	StartedAgain
	Waited
	GaveUp
	FirstTries
	OnceMore
	Mixed // different small faults
	OneHandAhead
	OctaveSlip
	Hurried
	Dragged
	TooSoft
	TooLoud
	HandsApart
	Uneven

	classes = iota
)

// The classes of pieces, one for each fault that only a score can show.
const (
	OverABarAgain Class = classes + iota
	LeaptOver
	RepeatNotPlayed
	SwungQuavers
	SlackDots
	FilledRests
	NotesCutShort
	OneHandLate
	DynamicsIgnored
	RitIgnored
	FermataIgnored
	OrnamentsIgnored

	allClasses
)

var classNames = [allClasses]string{
	"clean", "wrong notes", "forgotten accidental", "missing notes", "grazes", "corrections", "repetition", "went back",
	"started again", "waited", "gave up", "first tries", "once more", "mixed", "one hand ahead", "octave slip", "hurried", "dragged", "too soft", "too loud",
	"hands apart", "uneven",
	"over a bar again", "leapt over", "repeat not played", "swung quavers", "slack dots", "filled rests", "notes cut short",
	"one hand late", "dynamics ignored", "rit ignored", "fermata ignored", "ornaments ignored",
}

// String is the class in words.
func (c Class) String() string { return classNames[c] }

// Classes are those of any reference, in order.
func Classes() []Class { return from(0, classes) }

// PieceClasses are those that only a score can show, in order.
func PieceClasses() []Class { return from(classes, allClasses) }

func from(lo, hi Class) []Class {
	var out []Class
	for c := lo; c < hi; c++ {
		out = append(out, c)
	}
	return out
}

// Label says what a drawn pupil was made to do.
type Label struct {
	Class  Class
	Amount float64 // how much, in Unit
	Unit   string  // "faults"; "percent" of tempo or of the IOI; "levels" of dynamic; "ms" left minus right
}

// String gives "hurried: 21.0 percent".
func (l Label) String() string { return fmt.Sprintf("%s: %.1f %s", l.Class, l.Amount, l.Unit) }

// Case is one drawn take in the making.
type Case struct {
	Reference *references.Reference
	Pupil     Pupil
	Label     Label
}

// Cases draws n cases from the seed, each class in its turn, over all the references. A class that no
// reference can show is left to the next.
func Cases(seed uint64, n int, refs []*references.Reference) []Case {
	return cases(rand.New(rand.NewPCG(seed, 4)), n, Classes(), refs)
}

// PieceCases draws n cases from the seed, each class of any reference and of pieces in its turn, over all
// the scores.
func PieceCases(seed uint64, n int, refs []*references.Reference) []Case {
	return cases(rand.New(rand.NewPCG(seed, 7)), n, from(0, allClasses), refs)
}

func cases(rng *rand.Rand, n int, of []Class, refs []*references.Reference) []Case {
	var out []Case
	for i, missed := 0, 0; len(out) < n && missed < len(of); i++ {
		c, ok := drawClass(rng, of[i%len(of)], refs)
		if !ok {
			missed++
			continue
		}
		missed = 0
		out = append(out, c)
	}
	return out
}

// Draw draws one case: a reference of refs (give it the candidates of a request too: each start of
// contrary motion is a reference of its own), and a pupil who plays it with one class of fault, clear
// enough for a listener to name. The pupil's faults have their places and sizes filled in. Without a
// reference that has notes there is no case, and the reference is nil.
func Draw(rng *rand.Rand, refs []*references.Reference) (*references.Reference, Pupil, Label) {
	for _, c := range rng.Perm(classes) {
		if d, ok := drawClass(rng, Class(c), refs); ok {
			return d.Reference, d.Pupil, d.Label
		}
	}
	return nil, Pupil{}, Label{}
}

// drawClass draws a case of one class from the first reference, in chance order, that can show it.
func drawClass(rng *rand.Rand, c Class, refs []*references.Reference) (Case, bool) {
	for _, i := range rng.Perm(len(refs)) {
		ref := refs[i]
		if ref == nil || len(ref.Notes) == 0 {
			continue
		}
		p, ioi := drawPupil(rng, ref)
		s := read(ref)
		l, ok := drawManner(rng, c, s, &p, ioi)
		if p.Faults = drawFaults(rng, c, s.onsets()); len(p.Faults) > 0 {
			p = p.Settled(ref)
			l.Amount, l.Unit = float64(len(p.Faults)), "faults"
			ok = len(p.Faults) > 0
		}
		if ok {
			return Case{ref, p, l}, true
		}
	}
	return Case{}, false
}

// Settled is the pupil with the places and sizes of all faults filled in as Play has them with ref.
func (p Pupil) Settled(ref *references.Reference) Pupil {
	p.Faults = prepare(ref, p).p.Faults
	return p
}

// drawPupil draws somebody who plays well, and returns the least IOI in ms with it. Unevenness goes
// with the IOI: it stays under what a listener notices in a melody (Friberg and Sundberg 1992: 5 % of
// the IOI).
func drawPupil(rng *rand.Rand, ref *references.Reference) (Pupil, float64) {
	p := Pupil{Seed: rng.Uint64(), Exact: true}
	p.BPM = Pupil{}.usual(ref).BPM
	if ref.Tempo.BPM <= 0 {
		p.BPM = min(between(rng, 44, 112), shortest(ref)*400) // 150 ms is as fast as fingers go here
	}
	ioi := shortest(ref) * 60e3 / p.BPM
	p.Jitter = references.PerHand[float64]{Right: ioi * between(rng, 0.008, 0.02), Left: ioi * between(rng, 0.01, 0.025)}
	p.Jitter.Right, p.Jitter.Left = min(p.Jitter.Right, 12), min(p.Jitter.Left, 14)
	p.ThumbDelay = min(ioi*between(rng, 0, 0.015), 6)
	p.ChordWidth = between(rng, 3, 12)
	p.Apart = Offset{between(rng, -8, 8), between(rng, 2, 6)}
	p.Phrase = between(rng, 0, 3)
	p.Drift = between(rng, -2, 2)
	p.Spread = between(rng, 3, 6)
	p.Louder = references.Each(between(rng, -3, 3))
	if rng.IntN(3) == 0 {
		p.Accent = Accent{4, between(rng, 2, 6)}
	}
	if octave := rng.IntN(3) - 1; fits(ref, octave) {
		p.Octaves = references.Each(octave)
	}
	if t := ref.Notes[0].Touch; sameTouch(ref) {
		p.Touch = references.Each(Hold{usualHold[t].Share + between(rng, -0.02, 0.06), usualHold[t].Spread})
	}
	p.Lead = seconds(between(rng, 0.3, 2))
	if len(ref.Bars) > 0 {
		p.Rubato, p.Rit, p.Fermata = between(rng, 0, 4), between(rng, 0.5, 0.75), between(rng, 1.3, 1.8)
	}
	return p, ioi
}

// shortest is the least time between two onsets, in beats.
func shortest(ref *references.Reference) float64 {
	s := read(ref)
	least := 0.0
	for e := 1; e < s.onsets(); e++ {
		if gap := (s.quarters(e) - s.quarters(e-1)) / beatOf(ref); least == 0 || gap < least {
			least = gap
		}
	}
	if least == 0 {
		return 1
	}
	return least
}

// fits reports whether a piano of 88 keys has room for the notes so many octaves up.
func fits(ref *references.Reference, octave int) bool {
	for i := range ref.Notes {
		if k := ref.Notes[i].Key() + 12*octave; k < references.LowestKey || k > references.HighestKey {
			return false
		}
	}
	return true
}

func sameTouch(ref *references.Reference) bool {
	for i := range ref.Notes {
		if ref.Notes[i].Touch != ref.Notes[0].Touch {
			return false
		}
	}
	return true
}

// asked is the softest and the loudest dynamic asked for, NoDynamic where some notes or a crescendo
// leave it open.
func asked(ref *references.Reference) (softest, loudest references.Dynamic) {
	softest = references.Fortississimo
	for i := range ref.Notes {
		softest, loudest = min(softest, ref.Notes[i].Dynamic), max(loudest, ref.Notes[i].Dynamic)
	}
	return softest, loudest
}

// oneOf is the kind of the classes that are one fault, and manyOf those of the classes that are up to
// three.
var (
	oneOf = map[Class]Kind{
		ForgotAccidental: ForgottenAccidental, Repetition: StruckTwice, WentBack: GoBack, StartedAgain: Restart, GaveUp: GiveUp,
		FirstTries: TriedBefore, OnceMore: PlayedAgain, OneHandAhead: HandAhead, OctaveSlip: WrongOctave,

		OverABarAgain: BarAgain, LeaptOver: Leap, RepeatNotPlayed: RepeatLeftOut, SwungQuavers: EvenSwung, SlackDots: DottedSlack,
		NotesCutShort: CutShort, OneHandLate: HandLate, DynamicsIgnored: FlatDynamics, RitIgnored: PassedRit, FermataIgnored: PassedFermata,
	}
	manyOf = map[Class][]Kind{
		WrongNotes: {SemitoneOff, LetterOff}, MissingNotes: {LeftOut, Skipped}, Grazes: {GrazedKey}, Corrections: {PutRight}, Waited: {Wait},
		FilledRests: {RestFilled}, OrnamentsIgnored: {OrnamentLeftOut},
	}
	small = []Kind{SemitoneOff, LetterOff, LeftOut, Skipped, GrazedKey, PutRight, StruckTwice, Wait}
)

// drawFaults draws the faults of a class, to be placed by Settled.
func drawFaults(rng *rand.Rand, c Class, onsets int) []Fault {
	var kinds []Kind
	if k, ok := oneOf[c]; ok {
		kinds = append(kinds, k)
	}
	if many := manyOf[c]; len(many) > 0 {
		for range 1 + rng.IntN(min(3, 1+onsets/14)) {
			kinds = append(kinds, many[rng.IntN(len(many))])
		}
	}
	if c == Mixed {
		for _, i := range rng.Perm(len(small))[:2+rng.IntN(3)] {
			kinds = append(kinds, small[i])
		}
	}
	var faults []Fault
	for _, k := range kinds {
		faults = append(faults, Fault{Kind: k, At: Anywhere, To: Anywhere})
	}
	return faults
}

// drawManner makes the pupil play throughout as the class says, and reports whether the reference can
// show it: loudness where one is asked, the rest where there is enough to hear it.
func drawManner(rng *rand.Rand, c Class, s *score, p *Pupil, ioi float64) (l Label, ok bool) {
	l, ok = Label{Class: c}, true
	switch c {
	case Hurried, Dragged:
		p.Drift = between(rng, 15, 35)
		if c == Dragged {
			p.Drift = -between(rng, 14, 28)
		}
		l.Amount, l.Unit, ok = p.Drift, "percent", s.onsets() >= 8
	case TooSoft:
		softest, _ := asked(s.ref)
		l.Amount, l.Unit, ok = -between(rng, 2.4, 3.2), "levels", softest >= references.MezzoForte
		p.Louder = references.Each(l.Amount * 13)
	case TooLoud:
		softest, loudest := asked(s.ref)
		l.Amount, l.Unit, ok = between(rng, 2.4, 3.2), "levels", softest > references.NoDynamic && loudest <= references.MezzoPiano
		p.Louder = references.Each(l.Amount * 13)
	case HandsApart:
		p.Apart.Mean = min(between(rng, 60, 110), 0.3*ioi) * float64(1-2*rng.IntN(2))
		l.Amount, l.Unit, ok = p.Apart.Mean, "ms", s.two && s.onsets() >= 8 && 0.3*ioi >= 60
	case Uneven:
		share := between(rng, 0.12, 0.14)
		p.Waver = share * ioi // both hands as one: uneven, and still together
		l.Amount, l.Unit, ok = share*100, "percent", s.onsets() >= 12
	}
	return l, ok
}
