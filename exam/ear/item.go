package ear

import (
	"encoding/json"
	"fmt"
	"slices"
	"time"

	"evenhand/references"
)

// Sound is one note as it is sounded. Times count from the start of its hearing.
type Sound struct {
	Key, Velocity uint8 // MIDI key number and velocity
	On, Off       time.Duration
}

// Hearing is one playing of the music of an item.
type Hearing struct {
	Say    string  // what the examiner says before it; may be empty
	Sounds []Sound // in order of On: the chord of the key, the count, then the music
	Count  []time.Duration
	Start  time.Duration // of the first beat of the music; what comes before leads in
	Taps   bool          // the pupil taps along
	Plays  bool          // the pupil plays when it has ended
}

// End is when the last sound of the hearing ends.
func (h *Hearing) End() time.Duration {
	var end time.Duration
	for _, s := range h.Sounds {
		end = max(end, s.Off)
	}
	return end
}

// Item is one ear test. In JSON it is its kind, level, seed and edition alone, from which it is drawn
// again when it is read.
type Item struct {
	Kind  Kind
	Level int
	Seed  uint64

	Ask      string // what the examiner says
	Hearings []Hearing
	Again    int // how many times more it may be heard; -1 for as often as wished

	Answer   string   // the right answer in full; empty where the pupil taps or plays
	Accepted []string // other wordings of it, British and American
	Choices  []string // the answer among others that might be believed; empty where the pupil taps or plays

	// Of a melody; nil and zero where there is none.
	Melody  *references.Reference
	Shown   bool                  // its notes are on the screen meanwhile
	Changed *references.Reference // of a change: the melody as it is heard the second time
	Change  *Altered              // of a change: what was changed
	Stress  bool                  // of a beat: the first beats are to be stressed

	parts []part // of the answer
}

// Sort is what a change changes.
type Sort string

// The sorts of change.
const (
	PitchChange  Sort = "pitch"
	RhythmChange Sort = "rhythm"
)

// Altered is the one change in a melody: note Note of Melody.Notes has another pitch, or begins at
// another time within its bar.
type Altered struct {
	Sort Sort
	Bar  int // from 1
	Note int
}

// Edition counts the ways in which items have been drawn. It goes up whenever the same kind, level and
// seed would give another item than before.
const Edition = 1

// Draw makes the item of a kind and level that belongs to a seed. A level that is too low or too high
// for the kind is taken as the nearest there is; a kind that is not known gives an item without
// hearings (see [Kind.Check]).
func Draw(kind Kind, level int, seed uint64) Item {
	if !kind.Known() {
		return Item{Kind: kind, Level: level, Seed: seed}
	}
	level = min(max(level, kind.From()), TopLevel)
	it := Item{Kind: kind, Level: level, Seed: seed}
	it.fill(newLot(seed, kind, level))
	it.Accepted = slices.DeleteFunc(it.Accepted, func(a string) bool { return a == it.Answer })
	return it
}

// fill makes what the kind asks for.
func (it *Item) fill(l *lot) {
	switch it.Kind {
	case Interval:
		it.interval(l)
	case Chord:
		it.chord(l)
	case Beat:
		it.beat(l)
	case Change:
		it.change(l)
	case Echo:
		it.echo(l)
	case Cadence:
		it.cadence(l)
	case Modulation:
		it.modulation(l)
	}
}

// stored is an item in JSON.
type stored struct {
	Kind    Kind   `json:"kind"`
	Level   int    `json:"level"`
	Seed    uint64 `json:"seed"`
	Edition int    `json:"edition"`
}

// MarshalJSON implements json.Marshaler.
func (it Item) MarshalJSON() ([]byte, error) {
	return json.Marshal(stored{it.Kind, it.Level, it.Seed, Edition})
}

// UnmarshalJSON implements json.Unmarshaler: it draws the item again. An item that another edition of
// the program drew is an error.
func (it *Item) UnmarshalJSON(data []byte) error {
	var s stored
	if err := json.Unmarshal(data, &s); err != nil {
		return err
	}
	if s.Edition != Edition {
		return fmt.Errorf("the ear test is of edition %d and this program draws edition %d: draw a new one", s.Edition, Edition)
	}
	if err := s.Kind.Check(s.Level); err != nil {
		return err
	}
	*it = Draw(s.Kind, s.Level, s.Seed)
	return nil
}
