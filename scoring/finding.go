package scoring

import (
	"evenhand/references"
)

// Kind is what sort of thing a finding is about.
type Kind string

// The kinds of finding.
const (
	NotAsAsked      Kind = "not as asked"
	WrongNote       Kind = "wrong note"
	WrongAccidental Kind = "wrong accidental"  // one accidental missed several times
	WrongOctave     Kind = "wrong octave"      // several notes of a hand an octave off
	SlippedAlong    Kind = "slipped along"     // a hand one note ahead or behind for a stretch
	MissingNote     Kind = "note left out"     //
	PassageLeftOut  Kind = "passage left out"  //
	ExtraNote       Kind = "extra note"        //
	BrushedKey      Kind = "brushed key"       // grazed beside the right one
	PutRight        Kind = "put right"         // a wrong key at once corrected
	StruckAgain     Kind = "struck again"      //
	FreshStart      Kind = "restart"           //
	OnceMore        Kind = "once more"         // begun again after the end
	WentBack        Kind = "went back"         // a few notes, without a pause
	Stop            Kind = "hesitation"        //
	Uneven          Kind = "uneven"            //
	LongShort       Kind = "long and short"    // the notes limp in pairs
	LateCrossing    Kind = "late crossing"     // where the thumb passes under or is crossed over
	LongTonic       Kind = "long tonic"        // held at the octaves; no fault
	Drift           Kind = "drift"             //
	OtherTempo      Kind = "tempo"             // than asked
	HandsApart      Kind = "hands apart"       //
	OtherLoudness   Kind = "loudness"          // than asked
	UnevenLoudness  Kind = "uneven loudness"   //
	Balance         Kind = "balance"           //
	NoSwell         Kind = "crescendo"         // a crescendo or diminuendo asked and not heard
	OtherTouch      Kind = "touch"             // than asked
	Blurred         Kind = "blurred"           // keys held over one another
	PedalDown       Kind = "pedal"             //
	OtherRegister   Kind = "hands two octaves" // apart where one is usual; accepted
	FormHeard       Kind = "form"              // of a minor scale with no form named
	OneVelocity     Kind = "one velocity"      // the keyboard sends the same for every key
	CoarseClock     Kind = "coarse clock"      //

	// Of scores only.
	WrongRhythm     Kind = "rhythm"           // one rhythm or note value played as another
	OutOfTime       Kind = "out of time"      // steps neither hesitation nor rhythm
	UnsteadyTempo   Kind = "unsteady tempo"   // from bar to bar
	WrittenChange   Kind = "change of tempo"  // written, and not heard
	NoContrast      Kind = "contrast"         // between neighbouring dynamics
	AllOneLevel     Kind = "all on one level" // loudness
	WrongLength     Kind = "length"           // let go early, or held into a rest
	PedalMarked     Kind = "marked pedal"     //
	OrnamentLeftOut Kind = "ornament left out"
)

// Severity says how much a finding weighs.
type Severity string

// The severities. What is said costs no marks.
const (
	Said  Severity = "said"
	Light Severity = "light"
	Fault Severity = "fault"
)

// Finding is one thing that was noticed, with its evidence.
type Finding struct {
	Kind     Kind     `json:"kind"`
	Hand     *string  `json:"hand"` // right, left, both; null where it is of neither
	From     *Place   `json:"from"`
	To       *Place   `json:"to"`
	FromS    *float64 `json:"from_s"` // seconds into the take
	ToS      *float64 `json:"to_s"`
	Measured *float64 `json:"measured"`
	Limit    *float64 `json:"limit"`
	Unit     string   `json:"unit"` // of measured and limit
	Source   string   `json:"source"`
	Severity Severity `json:"severity"`
	Text     string   `json:"text"`
	Notes    []int    `json:"notes"` // indices into the lines of notes it is about

	mark   mark
	loss   float64 // see Charges
	detail string  // what and where, for a remark that gathers several
	try    string  // what to try
}

// Place is a place in the reference.
type Place struct {
	Bar   string  `json:"bar"`
	Beat  float64 `json:"beat"`
	Onset float64 `json:"onset"` // quarter notes from the start
	Pass  int     `json:"pass"`
}

// ledger gathers findings about one performance.
type ledger struct {
	*performance
	charges        Charges
	passage        float64             // what a note of a passage left out is charged
	swingCharge    float64             // the most that swinging costs
	ornamentCharge float64             // what an ornament or grace note left out is charged
	request        *references.Request // as asked, nil for a score
	findings       []Finding
	expectedAt     []int // line of notes of each expected note, -1 where it has none
	playedAt       []int // line of notes of each played note
}

func newLedger(p *performance, c Charges, q *references.Request) *ledger {
	l := &ledger{performance: p, charges: c, passage: c.Missing, request: q}
	l.expectedAt = make([]int, len(p.Reference.Notes))
	l.playedAt = make([]int, len(p.Take.Notes))
	for i := range l.expectedAt {
		l.expectedAt[i] = -1
	}
	for k, q := range p.Pairs {
		if q.Expected >= 0 {
			l.expectedAt[q.Expected] = k
		}
		if q.Played >= 0 {
			l.playedAt[q.Played] = k
		}
	}
	return l
}

// add files a finding; what costs nothing is said only.
func (l *ledger) add(f Finding) {
	if f.Severity == "" {
		f.Severity = Said
	}
	if f.Notes == nil {
		f.Notes = []int{}
	}
	l.findings = append(l.findings, f)
}

// about fills in where a finding is from the expected notes it is about, in the order of the
// reference.
func (l *ledger) about(f Finding, expected ...int) Finding {
	if len(expected) == 0 {
		return f
	}
	notes := l.Reference.Notes
	hand := notes[expected[0]].Hand
	first, last := expected[0], expected[0]
	for _, i := range expected {
		if notes[i].Hand != hand {
			hand = references.Both
		}
		first, last = min(first, i), max(last, i)
		if k := l.expectedAt[i]; k >= 0 {
			f.Notes = append(f.Notes, k)
		}
		if k := l.strokes[i].played; k >= 0 {
			f = l.heardAt(f, k)
		}
	}
	if f.Hand == nil {
		f.Hand = unless(hand.String())
	}
	f.From, f.To = l.place(first), l.place(last)
	if l.score && f.FromS == nil {
		f.FromS, f.ToS = l.lastHeard(first), l.lastHeard(last)
	}
	return f
}

// lastHeard is when the last step up to expected note i was played, in seconds; nil where there is
// none. A note left out has no time of its own.
func (p *performance) lastHeard(i int) *float64 {
	var at *float64
	for k := range p.all.steps {
		s := &p.all.steps[k]
		if s.event > p.event[i] {
			break
		}
		if s.sounded {
			at = new(round6(s.on))
		}
	}
	return at
}

// heardAt widens the seconds of a finding to hold played note k.
func (l *ledger) heardAt(f Finding, k int) Finding {
	on := seconds(l.Take.Notes[k].On)
	if f.FromS == nil || on < *f.FromS {
		f.FromS = &on
	}
	if f.ToS == nil || on > *f.ToS {
		f.ToS = &on
	}
	return f
}

func (p *performance) place(i int) *Place {
	n := &p.Reference.Notes[i]
	return &Place{Bar: n.Bar, Beat: n.Beat, Onset: n.Onset.Float(), Pass: p.passOf(i)}
}
