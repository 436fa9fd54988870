package scoring

// Charges say what a finding costs in a request; [PieceCharges] are for scores.
//
// There are three marks, for notes, time and sound, and each is
//
//	mark = 100 exp(-(sum of its losses)),
//
// so that every loss takes the same share of what is left, a mark never goes below 0, and taking a
// fault away never lowers it. A loss of 0.03 is about three points of a clean mark.
//
//	notes   NotesRate x (sum of charges) / (expected notes + NotesBase), where the charges are
//	        Wrong, Missing, Extra, Brushed, PutRight and StruckAgain for each note; a fault with one
//	        cause that comes n times is charged 1 + SameCause (n - 1) times
//	time    Uneven at the limit of evenness, the mean over the runs by their notes
//	        DriftPercent for each percent of drift beyond what is noticed
//	        Hesitation for each, but for one beside a wrong note, which is the same event
//	        Restart for the first, RestartMore for each further one; a fresh start within the first
//	        octave (two bars of a score), or once more after the end, is free
//	        WentBack for each
//	        Apart at the limit of the hands' playing together
//	sound   Level for each level of loudness beyond a neighbouring one
//	        Spread at the limit of uneven loudness
//	        Touch for a touch not heard at all, less by the share of the pairs that had it
//	        Blur, Swell and Unbalanced where they are found
//
// "At the limit" means that nothing is lost up to Free of the limit, the loss named at the limit,
// and on in proportion. The overall mark is
//
//	overall = WeightNotes notes + (WeightTime time + WeightSound sound) x share of the notes played
//
// with the weights of marks that are null shared out among the others. All figures are chosen by us,
// so that a clean and even scale has 95 to 100 and one wrong note costs a little.
type Charges struct {
	// In notes.
	Wrong       float64 `json:"wrong"`
	Missing     float64 `json:"missing"`
	Extra       float64 `json:"extra"`
	Brushed     float64 `json:"brushed"`
	PutRight    float64 `json:"put_right"`
	StruckAgain float64 `json:"struck_again"`
	SameCause   float64 `json:"same_cause"`
	NotesRate   float64 `json:"notes_rate"`
	NotesBase   float64 `json:"notes_base"`

	// Losses of time.
	Free         float64 `json:"free"`
	Uneven       float64 `json:"uneven"`
	DriftPercent float64 `json:"drift_percent"`
	Hesitation   float64 `json:"hesitation"`
	Restart      float64 `json:"restart"`
	RestartMore  float64 `json:"restart_more"`
	WentBack     float64 `json:"went_back"`
	Apart        float64 `json:"apart"`

	// Losses of sound.
	Level      float64 `json:"level"`
	Spread     float64 `json:"spread"`
	Touch      float64 `json:"touch"`
	Blur       float64 `json:"blur"`
	Swell      float64 `json:"swell"`
	Unbalanced float64 `json:"unbalanced"`

	WeightNotes float64 `json:"weight_notes"`
	WeightTime  float64 `json:"weight_time"`
	WeightSound float64 `json:"weight_sound"`
}

var defaultCharges = Charges{
	Wrong: 1, Missing: 1, Extra: 0.5, Brushed: 0.25, PutRight: 0.5, StruckAgain: 0.25,
	SameCause: 0.25, NotesRate: 2.4, NotesBase: 20,
	Free: 0.7, Uneven: 0.1, DriftPercent: 0.015, Hesitation: 0.04,
	Restart: 0.04, RestartMore: 0.08, WentBack: 0.03, Apart: 0.1,
	Level: 0.1, Spread: 0.1, Touch: 0.15, Blur: 0.05, Swell: 0.08, Unbalanced: 0.04,
	WeightNotes: 0.5, WeightTime: 0.3, WeightSound: 0.2,
}

// beyond is the loss for a measure against its limit: 0 up to Free of it, atLimit at it, and on in
// proportion.
func (c Charges) beyond(measured, limit, atLimit float64) float64 {
	free := c.Free * limit
	if !(measured > free) || limit <= free {
		return 0
	}
	return atLimit * (measured - free) / (limit - free)
}

// repeated is the charge for n faults of one cause: the first in full.
func (c Charges) repeated(each float64, n int) float64 {
	return each * (1 + c.SameCause*float64(n-1))
}
