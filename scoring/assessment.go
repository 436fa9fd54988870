package scoring

import "evenhand/align"

// Schema is the number of the JSON contract.
const Schema = 1

// Assessment is the outcome for one take and, field by field, the public JSON contract. Expected
// onsets are in quarter notes from the start with repeats unfolded; played ones in seconds from the
// start of the file. A pointer that is nil (null in JSON) means that nothing was measured.
type Assessment struct {
	Schema  int    `json:"schema"`
	Version string `json:"version"` // of the program
	Take    string `json:"take"`    // the file, as it was named
	Against string `json:"against"` // the request in words, or the path of a score

	Heard    Heard      `json:"heard"`
	Counts   Counts     `json:"counts"`
	Notes    []NoteLine `json:"notes"`
	Flow     Flow       `json:"flow"`
	Tempo    *Tempo     `json:"tempo"`
	Evenness []Evenness `json:"evenness"`
	Dynamics *Dynamics  `json:"dynamics"`
	Together *Together  `json:"together"`
	Touch    *Touch     `json:"touch"`
	Marks    Marks      `json:"marks"`
	Losses   []Loss     `json:"losses"`   // what the marks lost, and to which finding
	Findings []Finding  `json:"findings"` // the most useful first
	Remarks  []string   `json:"remarks"`  // at most five, the most useful first
	Settings Settings   `json:"settings"`
}

// Heard is what the take turned out to be. All but the first two are of a request only.
type Heard struct {
	AsAsked bool   `json:"as_asked"`
	What    string `json:"what"`
	Kind    string `json:"kind,omitempty"`
	Tonic   string `json:"tonic,omitempty"` // spelled with signs: "B♭"
	Form    string `json:"form,omitempty"`
	Hands   string `json:"hands,omitempty"`
	Motion  string `json:"motion,omitempty"` // of two hands
	Octaves int    `json:"octaves,omitempty"`
	Shift   *Shift `json:"shift,omitempty"`
}

// Shift is how many octaves each hand's part was played above (below: negative) where it is
// written.
type Shift struct {
	Right int `json:"right"`
	Left  int `json:"left"`
}

// Counts are whole notes: expected = correct + wrong + missing; played = correct + wrong + extra.
// Notes tried before the start are in none of them.
type Counts struct {
	Expected int `json:"expected"`
	Played   int `json:"played"`
	Correct  int `json:"correct"`
	Wrong    int `json:"wrong"`
	Missing  int `json:"missing"`
	Extra    int `json:"extra"`
}

// NoteLine is one line of the alignment, in the order of playing.
type NoteLine struct {
	Verdict  string    `json:"verdict"`        // correct, wrong, missing, extra
	Why      string    `json:"why,omitempty"`  // of an extra: slip, repeat, restart, corrected, before, ornament, other
	Near     *int      `json:"near,omitempty"` // of an extra: index of the expected note it belongs to
	Expected *Expected `json:"expected,omitempty"`
	Played   *Played   `json:"played,omitempty"`
}

// Mistake reports whether the line is a note that was wrong, left out or too many; see [align.Why.Counts].
func (n *NoteLine) Mistake() bool {
	if n.Verdict != align.Extra.String() {
		return n.Verdict != align.Correct.String()
	}
	for w := align.NoWhy; w <= align.Other; w++ {
		if w.String() == n.Why {
			return w.Counts()
		}
	}
	return true
}

// Expected is a note that should have been played; key and name are after the octave shift.
type Expected struct {
	Index      int      `json:"index"`
	ID         string   `json:"id"`
	Also       []string `json:"also,omitempty"`
	Pass       int      `json:"pass"`
	Bar        string   `json:"bar"`
	Beat       float64  `json:"beat"`
	Onset      float64  `json:"onset"`
	Key        int      `json:"key"`
	Name       string   `json:"name"`
	Hand       string   `json:"hand"`
	Finger     *int     `json:"finger"`
	FingerLeft *int     `json:"finger_left,omitempty"` // of a unison, where finger is the right hand's
}

// Played is a key that was struck; times in seconds.
type Played struct {
	Index    int     `json:"index"` // in the order of the note-ons
	Onset    float64 `json:"onset"`
	Length   float64 `json:"length"`
	Key      int     `json:"key"`
	Velocity int     `json:"velocity"`
}

// Flow is where the playing stopped, went back or left something out.
type Flow struct {
	Restarts    []Jump       `json:"restarts"`
	Repeats     []Jump       `json:"repeats"` // went back less than an octave or a bar, without a pause
	Hesitations []Hesitation `json:"hesitations"`
	Skips       []Skip       `json:"skips"`
	// Route is what of the full unfolding of a score was played, in order: onsets from and up to.
	Route []Skip `json:"route,omitzero"`
}

// Jump is a place where the player went back: At in seconds is the first note after it, the onsets
// are where playing stopped and where it went on.
type Jump struct {
	At        float64 `json:"at"`
	FromOnset float64 `json:"from_onset"`
	ToOnset   float64 `json:"to_onset"`

	// In a score: how long it took until two steps in a row were in time again.
	SteadyAfterBeats *float64 `json:"steady_after_beats,omitempty"`
	SteadyAfterS     *float64 `json:"steady_after_s,omitempty"`
}

// Hesitation is a single long gap before the note at Onset.
type Hesitation struct {
	Onset   float64 `json:"onset"`
	ExtraMS float64 `json:"extra_ms"` // longer than its neighbours by this
	Turn    bool    `json:"turn"`     // at the turn of a scale or arpeggio

	// In a score: how long it took until two steps in a row were in time again.
	SteadyAfterBeats *float64 `json:"steady_after_beats,omitempty"`
	SteadyAfterS     *float64 `json:"steady_after_s,omitempty"`
}

// Skip is a passage left out: the onsets of its first and last note.
type Skip struct {
	FromOnset float64 `json:"from_onset"`
	ToOnset   float64 `json:"to_onset"`
}

// Tempo is in beats per minute of Beat.
type Tempo struct {
	BPM            float64  `json:"bpm"`
	Beat           string   `json:"beat"`
	NotesPerBeat   *float64 `json:"notes_per_beat"`
	NotesPerSecond *float64 `json:"notes_per_second"`
	Asked          *float64 `json:"asked"`
	Verdict        string   `json:"verdict"`       // as asked, slower, faster, not asked
	DriftPercent   *float64 `json:"drift_percent"` // above 0: faster at the end

	// Of a score.
	Words    string        `json:"words,omitempty"`            // the tempo words it was judged by
	Curve    []BarTempo    `json:"curve,omitzero"`             // bar by bar
	Unsteady *float64      `json:"unsteady_percent,omitempty"` // mean change from bar to bar
	Changes  []TempoChange `json:"changes,omitzero"`           // what is written
}

// Evenness is of one hand in one direction.
type Evenness struct {
	Hand      string     `json:"hand"`
	Direction string     `json:"direction"`
	Notes     int        `json:"notes"`
	IOI       float64    `json:"ioi_ms"`
	SD        *float64   `json:"sd_ms"`
	CV        *float64   `json:"cv_percent"`
	Audible   *bool      `json:"audible"`
	Worst     *WorstStep `json:"worst"`
}

// WorstStep is the interval furthest from the line of its run. Onset is that of the note arriving.
type WorstStep struct {
	Onset     float64 `json:"onset"`
	Deviation float64 `json:"deviation_ms"` // above 0: late
	Notes     string  `json:"notes"`        // "E4-F4"
	Fingers   string  `json:"fingers,omitempty"`
}

// Dynamics is about loudness; all numbers but the levels are MIDI velocities.
type Dynamics struct {
	Asked          *string        `json:"asked"`
	Heard          string         `json:"heard"`
	Verdict        string         `json:"verdict"` // as asked, too soft, too loud, not asked
	MedianVelocity float64        `json:"median_velocity"`
	Spread         *float64       `json:"spread"`
	Balance        *float64       `json:"balance"` // left minus right
	Hands          []HandDynamics `json:"hands"`
	Swell          *Swell         `json:"swell,omitempty"`

	// Of a score.
	Range    *float64  `json:"range,omitempty"`  // from the softest to the loudest tenth of the notes
	Melody   *float64  `json:"melody,omitempty"` // the highest note over those struck with it
	Passages []Passage `json:"passages,omitzero"`
	Hairpins []Hairpin `json:"hairpins,omitzero"`
}

// HandDynamics is the loudness of one hand's part.
type HandDynamics struct {
	Hand           string  `json:"hand"`
	Asked          *string `json:"asked"`
	Heard          string  `json:"heard"`
	Verdict        string  `json:"verdict"`
	MedianVelocity float64 `json:"median_velocity"`
}

// Swell is a change of loudness asked over the whole request: by how much the velocity rose (fell:
// negative) on the way out and on the way back.
type Swell struct {
	Asked   string   `json:"asked"`
	Out     *float64 `json:"out"`
	Back    *float64 `json:"back"`
	Verdict string   `json:"verdict"` // as asked, not heard
}

// Together is left minus right onset of the notes meant together, in ms: above 0 the left is late.
type Together struct {
	Notes int      `json:"notes"`
	Mean  float64  `json:"mean_ms"`
	SD    *float64 `json:"sd_ms"`
	// ChordSpread, of a score, is the median time from the first to the last note of a chord.
	ChordSpread *float64 `json:"chord_spread_ms,omitempty"`
}

// Touch is how the notes are joined, by the keys alone.
type Touch struct {
	Asked   *string     `json:"asked"`
	Heard   string      `json:"heard"` // legato, staccato, in between
	Overlap float64     `json:"overlap_percent"`
	Pedal   bool        `json:"pedal"` // the sustaining pedal was down for part of it
	Hands   []HandTouch `json:"hands"`
}

// HandTouch is the touch of one hand's part; shares are of the pairs of notes, 0 to 1.
type HandTouch struct {
	Hand     string  `json:"hand"`
	Asked    *string `json:"asked"`
	Heard    string  `json:"heard"`
	Pairs    int     `json:"pairs"`
	Legato   float64 `json:"legato_share"`
	Staccato float64 `json:"staccato_share"`
	Overlap  float64 `json:"overlap_percent"`
}

// Marks go from 0 to 100; null where there was nothing to mark or something else was played.
type Marks struct {
	Notes   *int `json:"notes"`
	Time    *int `json:"time"`
	Sound   *int `json:"sound"`
	Overall *int `json:"overall"`
}

// Loss says how many points of a mark one finding took.
type Loss struct {
	Mark    string  `json:"mark"` // notes, time, sound
	Points  float64 `json:"points"`
	Finding int     `json:"finding"` // index into findings
}
