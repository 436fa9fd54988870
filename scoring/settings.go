package scoring

// Level is how far a pupil has come; it chooses the limits.
type Level string

// The levels: the first two years or so, the middle, and advanced.
const (
	First  Level = "first"
	Middle Level = "middle"
	Top    Level = "top"
)

// Settings are all numbers that a mark rests on. They are a value, stored with each take, so that a
// take marked again gives the same marks.
type Settings struct {
	Level       Level        `json:"level"`
	Calibration *Calibration `json:"calibration"` // of this piano; nil where it was never measured
	Limits      Limits       `json:"limits"`
	Charges     Charges      `json:"charges"`
	// Piece is for scores only; an assessment of a request does not carry it.
	Piece *PieceSettings `json:"piece,omitempty"`
}

// Calibration is what was learnt about one piano and one pair of hands.
type Calibration struct {
	Piano string `json:"piano"`
	// Levels are the median velocities of a few notes played at two dynamics or more; those between
	// are found by interpolation.
	Levels []LevelVelocity `json:"levels"`
	// LegatoGapMS is the longest gap, in ms, between notes that were played as legato. Pianos differ
	// in the height at which a key is let go. 0 where it was not measured.
	LegatoGapMS float64 `json:"legato_gap_ms,omitempty"`
}

// LevelVelocity says which velocity one dynamic has.
type LevelVelocity struct {
	Dynamic  string  `json:"dynamic"` // "ppp" to "fff"
	Velocity float64 `json:"velocity"`
}

// Limits are the lines between what is good enough and what is said. Units are in the names: MS
// milliseconds, Share a fraction of one, Percent, Units of MIDI velocity.
type Limits struct {
	// A displaced note is heard when it is off by more than the greater of these two: 10 ms up to an
	// interval of about 240 ms, 5 % above. Friberg & Sundberg (1992), STL-QPSR 33(4), 97-108. The
	// same authors' report of 1995 has 6 ms and 2.5 %; this is the more lenient of the two.
	AudibleMS    float64 `json:"audible_ms"`
	AudibleShare float64 `json:"audible_share"`

	// EvennessPercent is how large the SD of intervals may be in percent of their mean: 15 at first,
	// 10 in the middle, 8.6 at the top, near which a pulse is lost (Madison & Merker (2002),
	// Psychological Research 66, 201-207; value from memory). The first two are chosen by us.
	EvennessPercent float64 `json:"evenness_percent"`
	// MinIntervals is how many intervals a spread or a trend needs at least. Chosen by us.
	MinIntervals int `json:"min_intervals"`
	// EndNotes is how many notes at the end may slow down and are left out of evenness and tempo.
	// Common practice.
	EndNotes int `json:"end_notes"`

	// A change of tempo is noticed from 3 % over six intervals and from 6 % in a single one. Drake &
	// Botte (1993), Perception & Psychophysics 54(3), 277-286.
	DriftNoticePercent float64 `json:"drift_notice_percent"`
	DriftFaultPercent  float64 `json:"drift_fault_percent"`
	// A tempo from 5 % below to 15 % above the one asked is as asked. Chosen by us.
	SlowPercent float64 `json:"slow_percent"`
	FastPercent float64 `json:"fast_percent"`

	// A hesitation is a gap longer than its neighbours by both of these. Common practice.
	HesitationShare float64 `json:"hesitation_share"`
	HesitationMS    float64 `json:"hesitation_ms"`
	// HesitationEndShare takes the place of HesitationShare before the last notes: slowing to 0.3 of
	// the tempo is an ending and not a stop. Chosen by us.
	HesitationEndShare float64 `json:"hesitation_end_share"`
	// SkipEvents is how many onsets in a row must be missing to be a passage left out. Chosen by us.
	SkipEvents int `json:"skip_events"`
	// Crossings is how many crossings a run needs before they are judged as a group. Chosen by us.
	Crossings int `json:"crossings"`

	// Hands are loose when the root mean square of left minus right is above TogetherMS: 50 ms at
	// first, 40 in the middle, 35 at the top. Chosen by us, between the 20 ms at which the order of
	// two sounds is heard and TogetherApartMS, above which it is heard very surely (Sapp (2005),
	// Mazurka project, onset experiment: 75 % right at 22 ms, very accurate above 60 ms).
	TogetherMS      float64 `json:"together_ms"`
	TogetherApartMS float64 `json:"together_apart_ms"`

	// DynamicLevels is how many levels the loudness must be off before it is a fault: markings are
	// no fixed loudness (Kosta et al. (2016), J. Mathematics and Music 10(2)). Common practice.
	DynamicLevels int `json:"dynamic_levels"`
	// SpreadUnits is the SD of velocity that is still even: 12 at first, 10 in the middle, 9 at the
	// top. 9 is twice 4.48, the upper just noticeable difference of Slade et al. (2022), Psychology
	// of Music, doi 10.1177/03057356221126203; the others are chosen by us.
	SpreadUnits float64 `json:"spread_units"`
	// A crescendo over a run must rise by twice that difference too.
	SwellUnits float64 `json:"swell_units"`
	// Hands differ when their medians are more than a step of the usual scale of dynamics apart; a
	// regular stress is light up to the same size. Chosen by us.
	BalanceUnits float64 `json:"balance_units"`
	StressUnits  float64 `json:"stress_units"`
	// StressShare is how much of the variance a stress must explain, adjusted for its own freedom,
	// before it is taken for one. Chosen by us.
	StressShare float64 `json:"stress_share"`

	// Legato is a gap of at most 20 ms, or a key held for 95 % of the interval; at the crossings of
	// an arpeggio and leaps of a fifth and more, 60 ms or 80 %. Chosen by us.
	LegatoGapMS     float64 `json:"legato_gap_ms"`
	LegatoShare     float64 `json:"legato_share"`
	LegatoWideGapMS float64 `json:"legato_wide_gap_ms"`
	LegatoWideShare float64 `json:"legato_wide_share"`
	// Staccato holds the key for at most 60 % of the interval. Bresin & Battel (2000), J. New Music
	// Research 29(3), 211-224, found about 40 % for staccato and 60 % for repeated notes.
	StaccatoShare float64 `json:"staccato_share"`
	// Notes that overlap by more than this share of the interval are blurred. Chosen by us.
	BlurShare float64 `json:"blur_share"`
	// TouchShare is the share of pairs that make a touch. Chosen by us.
	TouchShare float64 `json:"touch_share"`
	// PedalShare is the share of the playing with the pedal down that is worth a remark. Chosen by us.
	PedalShare float64 `json:"pedal_share"`
}

// DefaultSettings are those of the middle level on a piano that was never measured.
func DefaultSettings() Settings { return ForLevel(Middle) }

// ForLevel are the settings of one level; a level it does not know gets those of the middle.
func ForLevel(l Level) Settings {
	s := Settings{
		Level: Middle,
		Limits: Limits{
			AudibleMS: 10, AudibleShare: 0.05,
			EvennessPercent: 10, MinIntervals: 4, EndNotes: 2,
			DriftNoticePercent: 3, DriftFaultPercent: 6,
			SlowPercent: 5, FastPercent: 15,
			HesitationShare: 0.6, HesitationMS: 200, HesitationEndShare: 2.33,
			SkipEvents: 3, Crossings: 2,
			TogetherMS: 40, TogetherApartMS: 60,
			DynamicLevels: 2, SpreadUnits: 10, SwellUnits: 9,
			BalanceUnits: 16, StressUnits: 16, StressShare: 0.3,
			LegatoGapMS: 20, LegatoShare: 0.95, LegatoWideGapMS: 60, LegatoWideShare: 0.8,
			StaccatoShare: 0.6, BlurShare: 0.25, TouchShare: 0.75, PedalShare: 0.1,
		},
		Charges: defaultCharges,
		Piece:   defaultPiece(),
	}
	switch l {
	case First:
		s.Level = First
		s.Limits.EvennessPercent, s.Limits.TogetherMS, s.Limits.SpreadUnits = 15, 50, 12
	case Top:
		s.Level = Top
		s.Limits.EvennessPercent, s.Limits.TogetherMS, s.Limits.SpreadUnits = 8.6, 35, 9
	}
	return s
}

// audibleMS is the displacement of one note that is just heard in a row of notes ioi ms apart.
func (l Limits) audibleMS(ioi float64) float64 { return max(l.AudibleMS, l.AudibleShare*ioi) }
