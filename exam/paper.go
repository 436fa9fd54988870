package exam

import (
	"errors"
	"fmt"

	"evenhand/references"
)

// Schema is the number of the JSON form of papers and mark sheets.
const Schema = 1

// Kind is what sort of thing one part of a paper is.
type Kind string

// The kinds. Request, Study, Piece and SightReading are played and have References; Questions and Ear are
// answered, and are made from their seeds by other packages.
const (
	Request      Kind = "request"
	Study        Kind = "study"
	Piece        Kind = "piece"
	SightReading Kind = "sight-reading"
	Questions    Kind = "questions"
	Ear          Kind = "ear"
)

// Paper is one exam as it is drawn: what is asked, in order. It is a value: once drawn nothing in it
// changes while it is sat, and it holds all that the mark sheet needs of its list. As JSON it is stable:
// fields are added and never renamed. References of scores are not part of the JSON; OpenScores brings
// them back.
type Paper struct {
	Schema   int                     `json:"schema"`
	List     string                  `json:"list"` // the name of the list it was drawn from
	Level    int                     `json:"level"`
	Seed     uint64                  `json:"seed"`
	Limits   references.ListLimits   `json:"limits"`
	Total    []references.TotalWords `json:"total"`
	Sections []Section               `json:"sections"`
	Parts    []Part                  `json:"parts"`    // in the order in which they are heard
	LeftOut  []string                `json:"left_out"` // headings of the sections left out by agreement
	Notes    []string                `json:"notes"`    // what there is to know before sitting it: one sentence each
}

// Section is a run of parts that are weighed as one. Weights are those of the list with what was left out
// spread over the others in proportion; they add up to 100.
type Section struct {
	Title  string  `json:"title"`
	Weight float64 `json:"weight"`
}

// Part is one thing that is asked: a request, a study, a piece, a page to read, the questions on a piece,
// one ear test. Exactly one of the pointers that belongs to its kind is set, but for a study or piece
// that nobody has named, of which Score is nil: that is marked by the teacher alone.
type Part struct {
	Section  int             `json:"section"` // index into Paper.Sections
	Number   int             `json:"number"`  // within the section, from 1
	Kind     Kind            `json:"kind"`
	ChosenBy references.Side `json:"chosen_by"`
	Words    string          `json:"words"` // the formal wording, as it is called for

	Request   *Asked        `json:"request,omitempty"`
	Score     *Score        `json:"score,omitempty"` // of a study, a piece, and the piece that questions are about
	Reading   *Fresh        `json:"reading,omitempty"`
	Questions *QuestionsAsk `json:"questions,omitempty"`
	Ear       *EarItem      `json:"ear,omitempty"`
}

// Asked is a request with its loudness, and the least speed in notes a second, 0 where none is asked. In
// JSON the request is in its formal wording.
type Asked struct {
	Request references.Request `json:"ask"`
	Least   float64            `json:"least_notes_per_second"`
	Tempo   string             `json:"least_tempo,omitempty"` // the same in words: "crotchet = 60, two notes to the beat"
}

// Score is a written piece. Reference is nil until it is opened, and where it cannot be read.
type Score struct {
	Title     string                `json:"title"`
	Path      string                `json:"path"` // of its file; of a built-in one its name
	Reference *references.Reference `json:"-"`
}

// Fresh is music made from a seed for a level.
type Fresh struct {
	Level int    `json:"level"`
	Seed  uint64 `json:"seed"`
	Look  int    `json:"look_seconds"` // time to look at it before playing
}

// QuestionsAsk is how many questions are asked about Part.Score, and what they are drawn from. The three
// are what the package that makes questions takes.
type QuestionsAsk struct {
	Level  int    `json:"level"`
	Seed   uint64 `json:"seed"`
	Number int    `json:"number"`
}

// EarItem is one ear test. Kind is beat, interval, chord, change or echo. The three are what the package
// that makes ear tests takes.
type EarItem struct {
	Kind  string `json:"kind"`
	Level int    `json:"level"`
	Seed  uint64 `json:"seed"`
}

// check reports what the rest of the package could not rely on.
func (p *Paper) check() error {
	if p.Schema != Schema {
		return fmt.Errorf("it is of schema %d and this program knows %d", p.Schema, Schema)
	}
	if len(p.Parts) == 0 {
		return errors.New("nothing is asked in it")
	}
	for i := range p.Parts {
		if err := p.Parts[i].check(len(p.Sections)); err != nil {
			return fmt.Errorf("part %d: %w", i+1, err)
		}
	}
	return nil
}

func (q *Part) check(sections int) error {
	if q.Section < 0 || q.Section >= sections {
		return errors.New("it belongs to no section")
	}
	has := map[Kind]bool{
		Request: q.Request != nil, Study: true, Piece: true, SightReading: q.Reading != nil,
		Questions: q.Questions != nil, Ear: q.Ear != nil,
	}
	switch is, known := has[q.Kind]; {
	case !known:
		return fmt.Errorf("there is no kind of part %q", q.Kind)
	case !is:
		return fmt.Errorf("what is asked is missing (%s)", q.Kind)
	}
	return nil
}

// OpenScores opens the scores of a paper that was kept, each by its path, and returns what could not be
// opened, one line each: those parts are left to the teacher.
func (p *Paper) OpenScores(open func(path string) (*references.Reference, error)) []error {
	var faults []error
	opened := map[string]*references.Reference{}
	for i := range p.Parts {
		s := p.Parts[i].Score
		if s == nil || s.Reference != nil {
			continue
		}
		ref, known := opened[s.Path]
		if !known {
			var err error
			if ref, err = open(s.Path); err != nil {
				faults = append(faults, fmt.Errorf("%s cannot be opened: %w; the teacher marks it alone", s.Title, err))
			}
			opened[s.Path] = ref
		}
		s.Reference = ref
	}
	return faults
}
