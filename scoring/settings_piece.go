package scoring

// PieceSettings are the numbers that only the mark of a score rests on.
type PieceSettings struct {
	Limits  PieceLimits  `json:"limits"`
	Charges PieceCharges `json:"charges"`
}

// PieceLimits are the lines for what scores alone ask. Units are in the names: MS milliseconds, Share
// a fraction of one, Percent, Units of MIDI velocity, Beats.
type PieceLimits struct {
	// A step is out of time when its interval is off what its neighbours say by both of these. 25 %
	// is about three times 7.5 %, the displacement heard within a melody at intervals of 400 ms
	// (Clarke 1989, as reviewed by Friberg & Sundberg (1992), STL-QPSR 33(4), 97-108); the factor and
	// the floor are chosen by us.
	// A step that goes along with the one before or after it is playing freely, up to FreeShare.
	OutOfTimeShare float64 `json:"out_of_time_share"`
	FreeShare      float64 `json:"free_share"`
	OutOfTimeMS    float64 `json:"out_of_time_ms"`
	// SteadyPercent is the mean change of tempo from bar to bar that is still steady. Chosen by us.
	SteadyPercent float64 `json:"steady_percent"`
	// DriftPercent is the change of tempo over a whole piece that is no more than playing freely.
	// Chosen by us.
	DriftPercent float64 `json:"drift_percent"`
	// TempoPercent is how far a printed metronome mark may be missed. Common practice.
	TempoPercent float64 `json:"tempo_percent"`

	// RhythmShare is the part of a beat that lies in the wrong place when a rhythm is played as
	// another one: 0.083 where 3 to 1 becomes 2 to 1. RhythmOnceShare holds for a rhythm that comes
	// only once, and RhythmMS is the least that counts. Chosen by us.
	RhythmShare     float64 `json:"rhythm_share"`
	RhythmOnceShare float64 `json:"rhythm_once_share"`
	RhythmMS        float64 `json:"rhythm_ms"`
	// Where the score says swing, long to short may be anything from SwingLeast to SwingMost. Common
	// practice.
	SwingLeast float64 `json:"swing_least"`
	SwingMost  float64 `json:"swing_most"`

	// The tempo at the end of a ritardando over the one before it may be from RitardandoLeast to
	// RitardandoMost. Final tempi of about 0.3 to 0.7 are reported of motor-like music (value from
	// memory; the curve itself is that of Friberg & Sundberg (1999), JASA 105(3), 1469-1484); any
	// slowing is accepted. Chosen by us.
	RitardandoLeast float64 `json:"ritardando_least"`
	RitardandoMost  float64 `json:"ritardando_most"`
	// A fermata is held for this many times the written length. Common practice.
	FermataLeast float64 `json:"fermata_least"`
	FermataMost  float64 `json:"fermata_most"`

	// Neighbouring dynamics differ when their medians are this far apart for each level, up to two:
	// 4.5 is the upper just noticeable difference of Slade et al. (2022), Psychology of Music. A
	// level has no fixed velocity: Kosta et al. (2016), J. Mathematics and Music 10(2).
	ContrastUnits float64 `json:"contrast_units"`
	// HairpinUnits is how much the velocity must change over a hairpin: the same difference.
	HairpinUnits float64 `json:"hairpin_units"`
	// FlatUnits is the distance between the softest and the loudest tenth of the notes below which a
	// piece sounds all on one level: a step and a half of the usual scale of 16. Chosen by us.
	FlatUnits float64 `json:"flat_units"`

	// A note is let go early when less than LengthShare of it is held, and a rest is played through
	// when more than RestShare of it is filled. Common practice.
	LengthShare float64 `json:"length_share"`
	RestShare   float64 `json:"rest_share"`
	// LongQuarters is how long a note is that is expected to be held. Chosen by us.
	LongQuarters float64 `json:"long_quarters"`

	// A pedal is used where it is down for PedalShare of the mark, and changed late where it is held
	// on for PedalLateMS after the change. Chosen by us.
	PedalShare  float64 `json:"pedal_share"`
	PedalLateMS float64 `json:"pedal_late_ms"`

	// StretchNotes is how many like findings close to each other are told as one. Chosen by us.
	StretchNotes int `json:"stretch_notes"`
}

// PieceCharges say what a finding costs in a score. Each of the three marks is
//
//	mark = 100 exp(-(sum of its losses)),
//
// as in a request, and the whole is one formula over all of them:
//
//	overall = 100 exp(-(losses of notes + losses of time + losses of sound)).
//
// So every fault takes the same share of what is left. Nearly all losses are shares of the piece, so
// that a long piece and a short one are marked alike:
//
//	notes   Wrong x (wrong notes, one cause counted once in full and a quarter for each further
//	        note) + Missing x (notes left out one by one) + Passage x (notes of passages left out) +
//	        Extra x (extra notes), all over the notes of the piece and ten more. A wrong note weighs most, since it
//	        is what a listener hears; single notes left out are hardly heard (most lie inside a chord:
//	        Repp (1996), Music Perception 14(2), 161-184, whose eight pianists together noticed 38 %
//	        of all errors), and a neighbouring key brushed or a note struck twice weighs half an extra.
//	time    OutOfTime x (steps out of time, hesitations and wrong rhythms) over the steps of the
//	        piece: one step in ten out of time is what makes playing sound halting. Then a little for
//	        each fresh start (as in a request) and going back, for bars of unlike tempo, drift, hands
//	        apart, changes of tempo that are written and not made, and even notes swung throughout.
//	sound   Flat x how far the range of loudness falls short: the tune above what goes with it, and
//	        the phrases rising and falling, is what teachers ask next. Then Contrast, Hairpin, Touch,
//	        Length and Pedal, each times the share of the places where what is marked was not heard.
//
// The figures are round and chosen by us.
type PieceCharges struct {
	Wrong   float64 `json:"wrong"`
	Missing float64 `json:"missing"`
	Passage float64 `json:"passage"`
	Extra   float64 `json:"extra"`
	// OrnamentLeftOut is the part of Missing that an ornament or grace note left out costs.
	OrnamentLeftOut float64 `json:"ornament_left_out"`

	OutOfTime float64 `json:"out_of_time"`
	Swing     float64 `json:"swing"` // even notes swung throughout, at most
	WentBack  float64 `json:"went_back"`
	Unsteady  float64 `json:"unsteady"`
	Drift     float64 `json:"drift"`
	Apart     float64 `json:"apart"`
	Notated   float64 `json:"notated"` // for all changes of tempo that are written

	Flat     float64 `json:"flat"`
	Contrast float64 `json:"contrast"`
	Hairpin  float64 `json:"hairpin"`
	Touch    float64 `json:"touch"`
	Length   float64 `json:"length"`
	Pedal    float64 `json:"pedal"`
}

func defaultPiece() *PieceSettings {
	return &PieceSettings{
		Limits: PieceLimits{
			OutOfTimeShare: 0.25, FreeShare: 0.35, OutOfTimeMS: 60, SteadyPercent: 12, DriftPercent: 15, TempoPercent: 20,
			RhythmShare: 0.06, RhythmOnceShare: 0.12, RhythmMS: 25, SwingLeast: 1.2, SwingMost: 2.5,
			RitardandoLeast: 0.3, RitardandoMost: 0.95, FermataLeast: 1.2, FermataMost: 3,
			ContrastUnits: 4.5, HairpinUnits: 4.5, FlatUnits: 24,
			LengthShare: 0.6, RestShare: 0.5, LongQuarters: 2,
			PedalShare: 0.5, PedalLateMS: 250, StretchNotes: 3,
		},
		Charges: PieceCharges{
			Wrong: 5, Missing: 0.5, Passage: 2, Extra: 1, OrnamentLeftOut: 0.5,
			OutOfTime: 1, Swing: 0.05, WentBack: 0.03, Unsteady: 0.02, Drift: 0.05, Apart: 0.1, Notated: 0.06,
			Flat: 0.5, Contrast: 0.05, Hairpin: 0.05, Touch: 0.1, Length: 0.05, Pedal: 0.05,
		},
	}
}
