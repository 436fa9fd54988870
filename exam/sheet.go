package exam

import (
	"fmt"
	"math"
	"slices"

	"evenhand/references"
)

// SheetSays is what stands on every mark sheet.
const SheetSays = "For practice. This is no official result of any examination."

// MarkSheet is what came of a paper: for each part the evidence in words, the mark proposed with its
// reasons, and the teacher's mark, which stands above it. Marks of parts go from 0 to 100, points are
// those of the list's weights. As JSON it is stable: fields are added and never renamed. Pupil and Date
// are left to whoever keeps it.
type MarkSheet struct {
	Schema   int            `json:"schema"`
	Says     string         `json:"says"` // that it is practice
	Pupil    string         `json:"pupil,omitempty"`
	Date     string         `json:"date,omitempty"`
	List     string         `json:"list"`
	Level    int            `json:"level"`
	Seed     uint64         `json:"seed"`
	Sections []SheetSection `json:"sections"`
	Total    *int           `json:"total"`    // points of 100; nil where nothing is marked
	Words    string         `json:"words"`    // what the list says of the total; empty while a part has no mark
	Unmarked int            `json:"unmarked"` // parts that have no mark, and are in no total
	Seconds  float64        `json:"seconds"`  // time taken
	LeftOut  []string       `json:"left_out"` // headings of what was left out by agreement
	Notes    []string       `json:"notes"`    // what there is to know of the whole
}

// SheetSection is a section of the paper. Mark is the mean of those of its parts and Points are its share
// of the total; both are nil where none of them has a mark.
type SheetSection struct {
	Title  string      `json:"title"`
	Weight float64     `json:"weight"` // of 100, with what no part was marked of spread over the others
	Mark   *float64    `json:"mark"`
	Points *float64    `json:"points"`
	Parts  []SheetPart `json:"parts"`
}

// SheetPart is one part. Mark is the teacher's where there is one, and else the proposed one.
type SheetPart struct {
	Number   int      `json:"number"`
	Kind     Kind     `json:"kind"`
	Asked    string   `json:"asked"` // in the formal wording
	Proposed *int     `json:"proposed"`
	Teacher  *int     `json:"teacher"`
	Mark     *int     `json:"mark"`
	Reasons  []string `json:"reasons"`         // for the proposed mark, and what was noted
	Words    string   `json:"words,omitempty"` // the teacher's
	Seconds  float64  `json:"seconds"`
}

// Mark makes the mark sheet of a paper out of the evidence, which is in the order of the paper's parts; what
// is missing at its end has not been heard yet. It changes neither.
func Mark(p *Paper, evidence []Evidence) *MarkSheet {
	s := &MarkSheet{
		Schema: Schema, Says: SheetSays, List: p.List, Level: p.Level, Seed: p.Seed,
		LeftOut: p.LeftOut, Notes: slices.Clone(p.Notes),
	}
	for _, section := range p.Sections {
		s.Sections = append(s.Sections, SheetSection{Title: section.Title, Weight: section.Weight})
	}
	evidence = slices.Concat(evidence, make([]Evidence, max(0, len(p.Parts)-len(evidence))))
	heard := contrastOf(p, evidence)
	if heard.known {
		s.Notes = append(s.Notes, heard.String())
	}
	for i := range p.Parts {
		part := partOf(&p.Parts[i], &evidence[i], heard)
		section := &s.Sections[p.Parts[i].Section]
		section.Parts = append(section.Parts, part)
		s.Seconds += part.Seconds
		if part.Mark == nil {
			s.Unmarked++
		}
	}
	s.add(p.Total)
	return s
}

func partOf(q *Part, e *Evidence, heard contrast) SheetPart {
	s := SheetPart{Number: q.Number, Kind: q.Kind, Asked: q.Words, Words: e.Words, Seconds: e.Seconds}
	s.Proposed, s.Reasons = propose(q, e, heard)
	s.Mark = s.Proposed
	if e.Mark != nil {
		s.Teacher = new(min(max(*e.Mark, 0), 100))
		s.Mark = s.Teacher
	}
	if s.Mark == nil && !e.Skipped {
		s.Reasons = append(s.Reasons, "No mark yet: the teacher's is waited for.")
	}
	return s
}

// add works out marks, points and total. The weight of a section of which nothing is marked is spread over
// the others.
func (s *MarkSheet) add(words []references.TotalWords) {
	weighed, all := 0.0, 0.0
	for i := range s.Sections {
		section := &s.Sections[i]
		sum, n := 0, 0
		for _, part := range section.Parts {
			if part.Mark != nil {
				sum += *part.Mark
				n++
			}
		}
		all += section.Weight
		if n > 0 {
			section.Mark = new(tenths(float64(sum) / float64(n)))
			weighed += section.Weight
		}
	}
	if weighed == 0 {
		return
	}
	total := 0.0
	for i := range s.Sections {
		section := &s.Sections[i]
		if section.Mark == nil {
			s.Notes = append(s.Notes, fmt.Sprintf("%s: not marked, and in no total. The other parts weigh more in proportion.", section.Title))
			continue
		}
		section.Weight *= all / weighed
		points := section.Weight * *section.Mark / 100
		section.Points = new(tenths(points))
		total += points
	}
	s.Total = new(int(math.Round(total)))
	if s.Unmarked > 0 {
		return
	}
	if i := slices.IndexFunc(words, func(w references.TotalWords) bool { return float64(*s.Total) >= w.From }); i >= 0 {
		s.Words = words[i].Say
	}
}

func tenths(x float64) float64 { return math.Round(10*x) / 10 }
