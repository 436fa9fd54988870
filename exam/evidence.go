package exam

import "evenhand/scoring"

// Evidence is what came of one part of a paper: what was heard, and what the teacher says. The zero value
// is a part not reached yet. It is kept as JSON with the sitting, and the names are stable.
type Evidence struct {
	// Assessment is of what was played, by Paper.Judge: of requests, studies, pieces and reading.
	Assessment *scoring.Assessment `json:"assessment,omitempty"`
	// Answers are to the questions, in the order asked.
	Answers []Answer `json:"answers,omitempty"`
	// Ear is how an ear test went.
	Ear *EarResult `json:"ear,omitempty"`

	Skipped  bool    `json:"skipped,omitempty"`     // the teacher went on without it
	Restarts int     `json:"restarts,omitempty"`    // fresh starts the pupil asked for
	Repeats  int     `json:"repeats,omitempty"`     // times the teacher asked for it again
	Seconds  float64 `json:"seconds,omitempty"`     // time taken, in all
	Words    string  `json:"words,omitempty"`       // the teacher's
	Mark     *int    `json:"mark,omitempty"`        // the teacher's, 0 to 100; it stands above the proposed one
	Struck   []int   `json:"struck,omitempty"`      // indices into Assessment.Findings that the teacher struck out
	LeftOut  []int   `json:"left_out,omitempty"`    // indices of notes left out by agreement
	AskAgain bool    `json:"asked_again,omitempty"` // something else was played at first, and it was asked once more
}

// Answer is one question with what was answered.
type Answer struct {
	Question string `json:"question"`
	Given    string `json:"given"`    // empty where nothing was answered
	Expected string `json:"expected"` // the usual answer
	Right    bool   `json:"right"`
	Because  string `json:"because,omitempty"`
}

// EarResult is how one ear test went: a mark from 0 to 100, and why, a short sentence each.
type EarResult struct {
	Mark    int      `json:"mark"`
	Reasons []string `json:"reasons"`
}
