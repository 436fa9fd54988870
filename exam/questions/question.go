package questions

// Kind is what a question is about.
type Kind string

// The kinds of question.
const (
	Signature Kind = "key signature"
	KeyKind   Kind = "key"
	Relative  Kind = "relative key"
	Time      Kind = "time signature"
	Clef      Kind = "clef"
	FirstNote Kind = "first note"
	NoteName  Kind = "note name"
	NoteValue Kind = "note value"
	Rest      Kind = "rest"
	Interval  Kind = "interval"
	Sign      Kind = "sign"
	Term      Kind = "term"
	Loudness  Kind = "dynamics"
	Tempo     Kind = "tempo"
	Form      Kind = "form" // where the music comes again, a sequence
	Cadence   Kind = "cadence"
)

// Place is where in a score a question points.
type Place struct {
	Bar  string  `json:"bar"`            // the printed number; of an upbeat what the score numbers it, often 0
	Beat float64 `json:"beat,omitempty"` // within the bar, 1 is the first; 0 for the whole bar
	Hand string  `json:"hand,omitempty"` // "right", "left", or empty for both
	Note string  `json:"note,omitempty"` // the id of the note in the score, where it has one
}

// Question is one question on a score.
type Question struct {
	ID       string   `json:"id"` // the same for the same question on the same score
	Kind     Kind     `json:"kind"`
	Text     string   `json:"text"` // as an examiner says it
	Where    Place    `json:"where"`
	To       *Place   `json:"to,omitempty"`       // the second note of an interval, the last bar of a passage
	Answer   string   `json:"answer"`             // in British terms
	Accepted []string `json:"accepted,omitempty"` // other wordings that are right
	Choices  []string `json:"choices"`            // the answer once, and wrong ones a pupil may believe; in an order drawn by the seed
	Because  string   `json:"because"`            // one plain sentence for afterwards
}

// Right reports whether an answer in the pupil's own words, or one of the choices, is right. Case,
// spaces, hyphens and articles do not matter, nor does it whether terms are British or American, signs
// or words (♭, b, flat), figures or words (6, six). What makes no sense is not right.
func (q Question) Right(answer string) bool {
	said := plain(answer)
	if said == "" {
		return false
	}
	if said == plain(q.Answer) {
		return true
	}
	for _, a := range q.Accepted {
		if said == plain(a) {
			return true
		}
	}
	return false
}
