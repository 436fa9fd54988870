package exam

import (
	"encoding/json"
	"errors"
	"fmt"
	"time"

	"evenhand/exam/questions"
	"evenhand/scoring"
)

// EventSchema is the number of the JSON form of events.
const EventSchema = 1

// EventKind is what happened.
type EventKind string

// The kinds of event. Each says in which phases it can happen, and which fields it has.
const (
	Opened      EventKind = "opened"      // the first: Open
	Proceeded   EventKind = "proceeded"   // who was waited for is ready: Before, Looking, Offered, Alone
	WasHeard    EventKind = "heard"       // something was played: Playing; Heard
	WasAnswered EventKind = "answered"    // Answering; Reply
	Restarted   EventKind = "restarted"   // the pupil begins afresh: Looking, Playing, Answering
	Repeated    EventKind = "asked again" // Part is asked once more: at any time before the end
	Skipped     EventKind = "skipped"     // the part at hand is left: any phase but Before and Ended
	LeftOut     EventKind = "left out"    // what is still to come of the section at hand is left out
	Remarked    EventKind = "remarked"    // the teacher's words on Part, at any time; Words
	Marked      EventKind = "marked"      // the teacher's mark for Part, at any time; Mark, nil takes it back
	Paused      EventKind = "paused"      // tea
	Resumed     EventKind = "resumed"     // after a pause, or after the program had stopped
	Signed      EventKind = "signed"      // the teacher signs the sheet: Ended; Words is the name
)

// Event is one thing that happened in a sitting. Fields are added and never renamed, so that a sitting
// can be taken up by a later version of the program.
type Event struct {
	Schema int       `json:"schema"`
	Kind   EventKind `json:"kind"`
	At     time.Time `json:"at"` // UTC, to the microsecond

	Part  int    `json:"part"` // index into Paper.Parts
	Open  *Start `json:"open,omitempty"`
	Heard *Heard `json:"heard,omitempty"`
	Reply *Reply `json:"reply,omitempty"`
	Words string `json:"words,omitempty"`
	Mark  *int   `json:"mark,omitempty"` // 0 to 100
}

// Start is what a sitting begins with.
type Start struct {
	Paper *Paper `json:"paper"`
	// Steps is how many things are asked in each part: 1 of what is played, as many as there are of
	// questions, and 0 where the teacher marks alone.
	Steps []int `json:"steps"`
	// Questions are those of each part that has some, as they were made from the score of that day.
	Questions map[int][]questions.Question `json:"questions,omitempty"`
}

// Heard is what was made of one take.
type Heard struct {
	Take    string  `json:"take"`            // the SHA-256 of its file, in hexadecimal
	Seconds float64 `json:"seconds"`         // from the first key to the last release
	Thought float64 `json:"thought_seconds"` // from the asking to the first key
	// Assessment is without its lines of notes, which are kept with the take.
	Assessment *scoring.Assessment `json:"assessment"`
}

// Reply is what was said, chosen, tapped or played in answer to a question or an ear test.
type Reply struct {
	Asked  string   `json:"asked"`
	Where  string   `json:"where,omitempty"` // in the score
	Given  string   `json:"given"`
	Wanted string   `json:"wanted"`
	Share  float64  `json:"share"`          // how right it was, 0 to 1
	Said   []string `json:"said,omitempty"` // what there is to say of it
	Take   string   `json:"take,omitempty"` // of what was played for it, as in Heard
	// Teacher is that the teacher judged a spoken answer.
	Teacher bool `json:"teacher,omitempty"`
}

// Encode is the event as it is kept.
func (e Event) Encode() ([]byte, error) { return json.Marshal(e) }

// DecodeEvent reads an event that was kept.
func DecodeEvent(text []byte) (Event, error) {
	var e Event
	if err := json.Unmarshal(text, &e); err != nil {
		return e, fmt.Errorf("an event of the exam cannot be read: %w", err)
	}
	if e.Schema != EventSchema {
		return e, fmt.Errorf("an event of the exam is of schema %d and this program knows %d: use a newer version", e.Schema, EventSchema)
	}
	return e, nil
}

// Replay is the sitting that its events make.
func Replay[Text ~[]byte](events []Text) (*Sitting, error) {
	if len(events) == 0 {
		return nil, errors.New("the exam has no beginning")
	}
	s := new(Sitting)
	for n, text := range events {
		e, err := DecodeEvent(text)
		if err == nil {
			_, err = s.Apply(e)
		}
		if err != nil {
			return nil, fmt.Errorf("event %d: %w", n, err)
		}
	}
	return s, nil
}
