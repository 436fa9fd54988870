package exam

import (
	"errors"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"evenhand/references"
)

// Choices are what is settled before a paper is drawn.
type Choices struct {
	Pieces    []Score               // the pupil's pieces, in their order
	Studies   []Score               // the studies the pupil chose, in the order of the list
	Favourite int                   // index into Pieces of the piece that questions are about
	Without   []references.PartKind // what is left out by agreement
	// Find opens a study or a piece that the list names. Where it is nil, such scores have titles only.
	Find func(title string) (Score, error)
}

// Draw draws a paper from a list. The same list, choices and seed give the same paper, and leaving a part
// out changes nothing in the others.
//
// A study or a piece that nobody named, or that cannot be opened, is left to the teacher, and said in
// Paper.Notes. It is an error, in one line, where nothing is left to be asked, or where more pieces or
// studies were chosen than the list has places for.
func Draw(list *references.List, c Choices, seed uint64) (*Paper, error) {
	d := drawing{
		paper: &Paper{
			Schema: Schema, List: list.Name, Level: list.Level, Seed: seed, Limits: list.Limits,
			Total: list.Total, LeftOut: []string{}, Notes: []string{},
		},
		pieces: c.Pieces, studies: c.Studies, choices: c,
	}
	if err := c.check(list); err != nil {
		return nil, err
	}
	for i := range list.Parts {
		part := &list.Parts[i]
		if slices.Contains(c.Without, part.Kind) {
			d.paper.LeftOut = append(d.paper.LeftOut, part.Title)
			continue
		}
		d.lot = rand.New(rand.NewPCG(seed, uint64(i)))
		d.section(part)
	}
	if len(d.paper.Parts) == 0 {
		return nil, errors.New("every part is left out: leave something in")
	}
	d.finish()
	return d.paper, nil
}

// check reports choices that the list has no place for.
func (c *Choices) check(list *references.List) error {
	places := map[references.PartKind]int{}
	for i := range list.Parts {
		if p := &list.Parts[i]; p.ChosenBy == references.Pupil {
			places[p.Kind] += p.Number
		}
	}
	for _, k := range []struct {
		kind  references.PartKind
		given int
	}{{references.PiecesPart, len(c.Pieces)}, {references.StudiesPart, len(c.Studies)}} {
		if n := places[k.kind]; k.given > n && !slices.Contains(c.Without, k.kind) {
			return fmt.Errorf("%s are named that the list %q has no place for: %d, and the pupil chooses %d", k.kind, list.Name, k.given, n)
		}
	}
	if c.Favourite < 0 || c.Favourite > 0 && c.Favourite >= len(c.Pieces) {
		return fmt.Errorf("the favourite is piece %d of %d: name one of them", c.Favourite+1, len(c.Pieces))
	}
	return nil
}

// drawing is a paper being drawn.
type drawing struct {
	paper           *Paper
	lot             *rand.Rand // of the part at hand
	choices         Choices
	pieces, studies []Score // not yet placed
	asked           []references.Request
}

// section draws one part of the list.
func (d *drawing) section(part *references.ListPart) {
	d.paper.Sections = append(d.paper.Sections, Section{part.Title, part.Weight})
	for _, p := range d.parts(part) {
		p.Section, p.ChosenBy = len(d.paper.Sections)-1, part.ChosenBy
		d.paper.Parts = append(d.paper.Parts, p)
		p.Number = 1
		if n := len(d.paper.Parts); n > 1 && d.paper.Parts[n-2].Section == p.Section {
			p.Number = d.paper.Parts[n-2].Number + 1
		}
		d.paper.Parts[len(d.paper.Parts)-1].Number = p.Number
	}
}

func (d *drawing) parts(part *references.ListPart) []Part {
	switch part.Kind {
	case references.RequestsPart:
		drawn := d.requests(part)
		d.lot.Shuffle(len(drawn), func(i, j int) { drawn[i], drawn[j] = drawn[j], drawn[i] })
		return d.asParts(drawn, part.Loudness)
	case references.StudiesPart:
		return d.scores(part, Study, &d.studies)
	case references.PiecesPart:
		return d.scores(part, Piece, &d.pieces)
	case references.SightReadingPart:
		return d.each(part.Number, func() Part {
			look := "Look at it for as long as you like, and play."
			if part.Look > 0 {
				look = fmt.Sprintf("Look at it for %s, trying anything you like, and play.", seconds(part.Look))
			}
			return Part{
				Kind: SightReading, Reading: &Fresh{part.Level, d.seed(), part.Look},
				Words: look + " Keep going, whatever happens.",
			}
		})
	case references.QuestionsPart:
		words := "Questions on your favourite piece."
		if part.ChosenBy == references.Examiner {
			words = "Questions on one of your pieces."
		}
		return []Part{{Kind: Questions, Questions: &QuestionsAsk{part.Level, d.seed(), part.Number}, Words: words}}
	case references.EarTestsPart:
		i := -1
		return d.each(len(part.Items), func() Part {
			i++
			return Part{Kind: Ear, Ear: &EarItem{part.Items[i], part.Level, d.seed()}, Words: earWords[part.Items[i]]}
		})
	}
	return nil
}

var earWords = map[string]string{
	"beat":     "Listen. The second time, tap the beat with me, the first of each bar a little stronger.",
	"interval": "Listen to two notes, and name the interval.",
	"chord":    "Listen to a chord, and say what it is.",
	"change":   "Listen to a melody twice. The second time something is different: say what, and in which bar.",
	"echo":     "Listen to a phrase, and play it back.",
}

func (d *drawing) each(n int, part func() Part) []Part {
	parts := make([]Part, n)
	for i := range parts {
		parts[i] = part()
	}
	return parts
}

// seed is what one thing is made from. It is small enough for every reader of JSON to keep exactly.
func (d *drawing) seed() uint64 { return uint64(d.lot.Uint32()) }

// scores are the studies or pieces of a part: the pupil's own in their order, or drawn from the titles of
// the list, none twice.
func (d *drawing) scores(part *references.ListPart, kind Kind, chosen *[]Score) []Part {
	titles := slices.Clone(part.Titles)
	d.lot.Shuffle(len(titles), func(i, j int) { titles[i], titles[j] = titles[j], titles[i] })
	return d.each(part.Number, func() Part {
		p := Part{Kind: kind, Words: fmt.Sprintf("A %s of your own choice.", kind)}
		switch {
		case part.ChosenBy == references.Pupil && len(*chosen) > 0:
			s := (*chosen)[0]
			*chosen = (*chosen)[1:]
			p.Score = &s
			if among := func(t string) bool { return strings.EqualFold(t, s.Title) || t == s.Path }; len(part.Titles) > 0 && !slices.ContainsFunc(part.Titles, among) {
				d.note("%s is not among those of the list: %s.", s.Title, strings.Join(part.Titles, ", "))
			}
		case part.ChosenBy == references.Pupil:
			return p
		default:
			p.Score, p.Words = d.drawn(&titles), fmt.Sprintf("A %s of the examiner's choice.", kind)
		}
		if p.Score != nil {
			p.Words = p.Score.Title + "."
		}
		return p
	})
}

// drawn is the next of the titles that is not played already, nil where there is none.
func (d *drawing) drawn(titles *[]string) *Score {
	for len(*titles) > 0 {
		title := (*titles)[0]
		*titles = (*titles)[1:]
		s := Score{Title: title, Path: title}
		if d.choices.Find != nil {
			found, err := d.choices.Find(title)
			if err != nil {
				d.note("%s cannot be opened: %v; the teacher marks it alone.", title, err)
			} else {
				s = found
			}
		}
		if !d.taken(s) {
			return &s
		}
	}
	return nil
}

// taken reports whether a score is played in the paper already, or is one the pupil will play.
func (d *drawing) taken(s Score) bool {
	same := func(o Score) bool { return o.Path == s.Path || strings.EqualFold(o.Title, s.Title) }
	for i := range d.paper.Parts {
		if o := d.paper.Parts[i].Score; o != nil && same(*o) {
			return true
		}
	}
	return slices.ContainsFunc(d.choices.Studies, same) || slices.ContainsFunc(d.choices.Pieces, same)
}

func (d *drawing) note(format string, args ...any) {
	d.paper.Notes = append(d.paper.Notes, fmt.Sprintf(format, args...))
}

// finish places the questions, spreads the weights and says what is not named.
func (d *drawing) finish() {
	p := d.paper
	unnamed := map[Kind]int{}
	for i := range p.Parts {
		q := &p.Parts[i]
		switch {
		case q.Kind == Questions:
			d.about(q)
		case (q.Kind == Study || q.Kind == Piece) && q.Score == nil:
			unnamed[q.Kind]++
		}
	}
	for _, k := range []Kind{Study, Piece} {
		if n := unnamed[k]; n > 0 {
			d.note("%s not named: the teacher marks what is played.", numbered(n, string(k)))
		}
	}
	sum := 0.0
	for _, s := range p.Sections {
		sum += s.Weight
	}
	for i := range p.Sections {
		p.Sections[i].Weight *= 100 / sum
	}
	if len(p.LeftOut) > 0 {
		d.note("Left out by agreement: %s. The other parts weigh more in proportion.", strings.Join(p.LeftOut, ", "))
	}
}

// about finds the piece that questions are about: the favourite, or one drawn among those that are open.
func (d *drawing) about(q *Part) {
	pieces := d.choices.Pieces
	if len(pieces) == 0 {
		d.note("No piece is named to ask questions about: the teacher asks them.")
		return
	}
	i := d.choices.Favourite
	if q.ChosenBy == references.Examiner {
		i = int(q.Questions.Seed % uint64(len(pieces)))
	}
	s := pieces[i]
	q.Score, q.Words = &s, fmt.Sprintf("Questions on %s.", s.Title)
}

// numbered is a number of things that are or is not something: "1 study is", "2 pieces are".
func numbered(n int, what string) string {
	switch {
	case n == 1:
		return fmt.Sprintf("1 %s is", what)
	case strings.HasSuffix(what, "y"):
		return fmt.Sprintf("%d %sies are", n, strings.TrimSuffix(what, "y"))
	}
	return fmt.Sprintf("%d %ss are", n, what)
}

func seconds(n int) string {
	switch {
	case n == 30:
		return "half a minute"
	case n == 60:
		return "a minute"
	case n%60 == 0:
		return fmt.Sprintf("%d minutes", n/60)
	}
	return fmt.Sprintf("%d seconds", n)
}
