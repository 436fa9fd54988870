package references

import (
	"bytes"
	"fmt"
	"io"
	"slices"
)

// maxList bounds the text of a list, in bytes.
const maxList = 1 << 20

// maxLevel is the highest level.
const maxLevel = 8

// ReadList reads a list. What is wrong in it is a ListFaults: each fault in one line, with the line of
// the text and the remedy.
func ReadList(r io.Reader) (*List, error) {
	text, err := io.ReadAll(io.LimitReader(r, maxList+1))
	if err != nil {
		return nil, err
	}
	if len(text) > maxList {
		return nil, fmt.Errorf("the list is larger than %d bytes: leave something out", maxList)
	}
	t, err := openTable(bytes.TrimPrefix(text, []byte("\ufeff"))) // the mark that some editors begin a file with
	if err != nil {
		return nil, err
	}
	l := t.list()
	if len(t.faults) > 0 {
		slices.SortStableFunc(t.faults, func(a, b ListFault) int { return a.Line - b.Line })
		return nil, t.faults
	}
	return l, nil
}

func (t *table) list() *List {
	l := &List{
		Name: t.needed("name", "Level 3"), About: t.text("about"), Level: t.whole("level", 0, maxLevel, 0),
		Limits: t.table("limits", "the limits").limits(),
	}
	for _, total := range t.tables("total", "what is said of a total") {
		l.Total = append(l.Total, TotalWords{total.number("from", 0, 100, 0), total.needed("say", "Well prepared.")})
		total.done()
	}
	slices.SortStableFunc(l.Total, func(a, b TotalWords) int { return int(b.From*1000) - int(a.From*1000) })
	for _, part := range t.tables("part", "a part") {
		l.Parts = append(l.Parts, part.part(l.Level))
	}
	if len(l.Parts) == 0 && !t.has("part") {
		t.fault("", "a list needs parts: write one under a heading [[part]]")
	}
	t.done()
	return l
}

func (t *table) limits() ListLimits {
	defer t.done()
	return ListLimits{
		EvennessPercent: t.number("evenness_percent", 1, 50, 0), TogetherMS: t.number("together_ms", 5, 200, 0),
		ChordMS: t.number("chord_ms", 5, 200, 0), LoudnessUnits: t.number("loudness_units", 2, 60, 0),
	}
}

// partKinds are the kinds of part, with the heading each has where none is given, and the side that
// usually chooses.
var partKinds = []struct {
	kind    PartKind
	title   string
	chooser Side
}{
	{RequestsPart, "Scales and arpeggios", Examiner},
	{StudiesPart, "Studies", Pupil},
	{PiecesPart, "Pieces", Pupil},
	{SightReadingPart, "Reading at sight", Examiner},
	{QuestionsPart, "Questions on the favourite piece", Pupil},
	{EarTestsPart, "Ear tests", Examiner},
}

// PartKinds are the kinds of part in words.
func PartKinds() []string {
	var words []string
	for _, k := range partKinds {
		words = append(words, string(k.kind))
	}
	return words
}

// EarTests are the kinds of ear test a list may have.
func EarTests() []string { return []string{"beat", "interval", "chord", "change", "echo"} }

func (t *table) part(level int) ListPart {
	kind := t.one("kind", PartKinds(), "")
	if kind == "" {
		if !t.has("kind") {
			t.fault(t.path, "a part needs kind: one of %s", quoted(PartKinds()))
		}
		return ListPart{}
	}
	usual := partKinds[slices.IndexFunc(partKinds, func(k struct {
		kind    PartKind
		title   string
		chooser Side
	},
	) bool {
		return string(k.kind) == kind
	})]
	t.name = "a part of " + kind
	p := ListPart{
		Kind: usual.kind, Title: t.text("title"), Weight: t.number("weight", 0.1, 1000, 1),
		ChosenBy: Side(t.one("chosen_by", []string{string(Pupil), string(Examiner)}, string(usual.chooser))),
	}
	if p.Title == "" {
		p.Title = usual.title
	}
	t.content(&p, level)
	t.done()
	return p
}

// content reads what belongs to one kind of part only.
func (t *table) content(p *ListPart, level int) {
	const most = 50
	switch p.Kind {
	case RequestsPart:
		p.Number = t.whole("number", 1, most, 5)
		t.pool(p)
	case StudiesPart, PiecesPart:
		p.Titles = t.texts("titles")
		p.Number = t.whole("number", 1, most, 1)
		if n := len(p.Titles); n > 0 && n < p.Number {
			t.fault(t.at("titles"), "%d are asked and the titles are only %d: name more, or lower the number", p.Number, n)
		}
	case SightReadingPart:
		p.Number, p.Level, p.Look = t.whole("number", 1, most, 1), t.whole("level", 0, maxLevel, level), t.whole("look_seconds", 0, 600, 30)
	case QuestionsPart:
		p.Number, p.Level = t.whole("number", 1, most, 4), t.whole("level", 0, maxLevel, level)
	case EarTestsPart:
		p.Items, p.Level = t.some("items", EarTests(), EarTests()), t.whole("level", 0, maxLevel, level)
		if p.Number = len(p.Items); p.Number == 0 && len(t.faults) == 0 {
			t.fault(t.at("items"), "no ear test is asked: name some, or leave the whole part out")
		}
	}
}
