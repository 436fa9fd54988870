package exam_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"evenhand/exam"
	"evenhand/references"
)

// fullList has two studies, one chosen by each side, three pieces, questions on the favourite piece and
// ear tests.
const fullList = `
name = "A full one"
level = 4
[limits]
evenness_percent = 11
[[part]]
kind = "requests"
number = 5
weight = 20
  [[part.ask]]
  keys = ["B flat major", "E major", "C sharp harmonic minor", "F melodic minor"]
  tempo = "crotchet = 52"
  notes_per_beat = 4
  [[part.ask]]
  what = "arpeggio"
  keys = ["E flat major", "F sharp minor"]
  hands = "separately"
[[part]]
kind = "studies"
title = "The study you chose"
chosen_by = "pupil"
weight = 10
titles = ["Alpha", "Beta", "Gamma"]
[[part]]
kind = "studies"
title = "The study drawn by lot"
chosen_by = "examiner"
weight = 10
titles = ["Alpha", "Beta", "Gamma"]
[[part]]
kind = "pieces"
number = 3
weight = 40
[[part]]
kind = "questions"
number = 4
weight = 10
[[part]]
kind = "ear tests"
weight = 10
items = ["beat", "interval", "interval", "echo"]
`

func readList(t *testing.T, text string) *references.List {
	t.Helper()
	l, err := references.ReadList(strings.NewReader(text))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

// find is a repertoire of everything but what is lost.
func find(title string) (exam.Score, error) {
	if strings.Contains(title, "Lost") {
		return exam.Score{}, errors.New("no score is called so")
	}
	return exam.Score{Title: title, Path: title + ".musicxml", Reference: &references.Reference{Title: title}}, nil
}

func scores(t interface{ Fatal(...any) }, titles ...string) []exam.Score {
	var all []exam.Score
	for _, title := range titles {
		s, err := find(title)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, s)
	}
	return all
}

func TestDrawTakesWhatEachSideChose(t *testing.T) {
	list := readList(t, fullList)
	for seed := range uint64(40) {
		p, err := exam.Draw(list, exam.Choices{
			Pieces: scores(t, "One", "Two", "Three"), Studies: scores(t, "Beta"), Favourite: 1, Find: find,
		}, seed)
		if err != nil {
			t.Fatal(err)
		}
		var kinds []string
		for _, q := range p.Parts {
			k := string(q.Kind)
			if q.Score != nil {
				k += " " + q.Score.Title
			}
			kinds = append(kinds, k)
		}
		other := p.Parts[6].Score.Title
		want := "request|request|request|request|request|study Beta|study " + other + "|piece One|piece Two|piece Three|questions Two|ear|ear|ear|ear"
		if got := strings.Join(kinds, "|"); got != want || other == "Beta" {
			t.Fatalf("seed %d: %s", seed, got)
		}
		if p.Parts[5].ChosenBy != references.Pupil || p.Parts[6].ChosenBy != references.Examiner {
			t.Errorf("the studies are chosen by %s and %s", p.Parts[5].ChosenBy, p.Parts[6].ChosenBy)
		}
		if len(p.Notes) != 0 {
			t.Errorf("notes %q", p.Notes)
		}
	}
}

// Both of the other studies are drawn, as often as one another: 400 tosses of a coin lie within 5
// standard deviations of 10 each but once in two million times.
func TestDrawIsFairAmongTitles(t *testing.T) {
	list := readList(t, fullList)
	drawn := map[string]int{}
	for seed := range uint64(400) {
		p, err := exam.Draw(list, exam.Choices{Studies: scores(t, "Beta"), Find: find}, seed)
		if err != nil {
			t.Fatal(err)
		}
		drawn[p.Parts[6].Score.Title]++
	}
	if len(drawn) != 2 || drawn["Alpha"] < 150 || drawn["Alpha"] > 250 {
		t.Errorf("drawn %v", drawn)
	}
}

func TestDrawSaysWhatIsNotThere(t *testing.T) {
	list := readList(t, strings.Replace(fullList, `titles = ["Alpha", "Beta", "Gamma"]
[[part]]
kind = "pieces"`, `titles = ["Lost Study"]
[[part]]
kind = "pieces"`, 1))
	p, err := exam.Draw(list, exam.Choices{Pieces: scores(t, "One"), Find: find, Without: []references.PartKind{references.EarTestsPart}}, 3)
	if err != nil {
		t.Fatal(err)
	}
	want := []string{
		"Lost Study cannot be opened: no score is called so; the teacher marks it alone.",
		"1 study is not named: the teacher marks what is played.",
		"2 pieces are not named: the teacher marks what is played.",
		"Left out by agreement: Ear tests. The other parts weigh more in proportion.",
	}
	if diff := cmp.Diff(want, p.Notes); diff != "" {
		t.Error(diff)
	}
	if s := p.Parts[6].Score; s == nil || s.Title != "Lost Study" || s.Reference != nil {
		t.Errorf("the lost study is %+v", s)
	}
}

func TestDrawSaysWhatIsNotInTheList(t *testing.T) {
	p, err := exam.Draw(readList(t, fullList), exam.Choices{Pieces: scores(t, "One", "Two", "Three"), Studies: scores(t, "Delta"), Find: find}, 3)
	if err != nil || len(p.Notes) != 1 || p.Notes[0] != "Delta is not among those of the list: Alpha, Beta, Gamma." {
		t.Errorf("%v, %q", err, p.Notes)
	}
}

func TestDrawRefusesInOneLine(t *testing.T) {
	list := readList(t, fullList)
	for _, c := range []struct {
		exam.Choices
		says string
	}{
		{exam.Choices{Pieces: scores(t, "1", "2", "3", "4")}, `no place for: 4, and the pupil chooses 3`},
		{exam.Choices{Studies: scores(t, "1", "2")}, `no place for: 2, and the pupil chooses 1`},
		{exam.Choices{Pieces: scores(t, "1", "2"), Favourite: 2}, "the favourite is piece 3 of 2"},
		{exam.Choices{Without: everyKind()}, "every part is left out"},
	} {
		_, err := exam.Draw(list, c.Choices, 1)
		if err == nil || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%v; want one line with %q", err, c.says)
		}
	}
}

func everyKind() []references.PartKind {
	var all []references.PartKind
	for _, k := range references.PartKinds() {
		all = append(all, references.PartKind(k))
	}
	return all
}

// everyList is the built-in lists and the full one.
var everyList = sync.OnceValue(func() []*references.List {
	full, err := references.ReadList(strings.NewReader(fullList))
	if err != nil {
		panic(err)
	}
	all := []*references.List{full}
	for _, l := range references.Lists() {
		all = append(all, l.List)
	}
	return all
})

func anyList(t *rapid.T) *references.List {
	all := everyList()
	return all[rapid.IntRange(0, len(all)-1).Draw(t, "list")]
}

func TestDrawProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		list, seed := anyList(t), rapid.Uint64().Draw(t, "seed")
		c := exam.Choices{Pieces: scores(t, "One", "Two")[:rapid.IntRange(0, 2).Draw(t, "pieces")], Find: find}
		p, err := exam.Draw(list, c, seed)
		if err != nil {
			t.Fatal(err)
		}
		requestsAreSpread(t, list, p)
		sum, per := 0.0, map[int]int{}
		for _, s := range p.Sections {
			sum += s.Weight
		}
		if math.Abs(sum-100) > 1e-9 {
			t.Errorf("the weights add up to %g", sum)
		}
		for _, q := range p.Parts {
			if per[q.Section]++; q.Number != per[q.Section] || q.Words == "" {
				t.Errorf("part %d of section %d: %+v", per[q.Section], q.Section, q)
			}
		}
		again, err := exam.Draw(list, c, seed)
		if err != nil || !cmp.Equal(p, again, cmp.AllowUnexported(references.Quarters{})) {
			t.Errorf("the same seed gives another paper (%v)", err)
		}
		keptAsJSON(t, p)
		leavingOutChangesNothing(t, list, c, p)
	})
}

// requestsAreSpread checks that no two requests are alike, that soft and loud are both asked, that no key
// comes twice while there is another, and that the wording is what the grammar reads.
func requestsAreSpread(t *rapid.T, list *references.List, p *exam.Paper) {
	part := list.Parts[slices.IndexFunc(list.Parts, func(q references.ListPart) bool { return q.Kind == references.RequestsPart })]
	keys, tonics, kinds := map[int]int{}, map[int]bool{}, map[references.Kind]bool{}
	var hands, forms, allHands, allForms [16]int
	for _, r := range part.Pool {
		tonics[r.Request.Tonic.PitchClass()] = true
		allHands[r.Request.Hands]++
		allForms[r.Request.Form]++
	}
	var asked []references.Request
	quiet, loud := false, false
	for _, q := range p.Parts {
		if q.Kind != exam.Request {
			continue
		}
		r := q.Request.Request
		if slices.ContainsFunc(asked, r.Alike) {
			t.Errorf("asked twice: %s", r)
		}
		asked = append(asked, r)
		keys[r.Tonic.PitchClass()]++
		kinds[r.Kind] = true
		hands[r.Hands]++
		forms[r.Form]++
		quiet, loud = quiet || r.Dynamic.Right <= references.MezzoPiano, loud || r.Dynamic.Right >= references.MezzoForte
		if read, err := references.Parse(q.Words); err != nil || !read.Alike(r) || read.Dynamic != r.Dynamic {
			t.Errorf("%q is read as %s (%v), not %s", q.Words, read, err, r)
		}
		if !slices.ContainsFunc(part.Pool, func(l references.ListRequest) bool {
			return l.Request.Alike(r) && math.Abs(l.Least.NotesPerSecond()-q.Request.Least) < 1e-9
		}) {
			t.Errorf("%s (%g notes a second) is not in the list", r, q.Request.Least)
		}
	}
	if len(asked) != part.Number || !quiet || !loud || len(kinds) < 2 {
		t.Errorf("%d requests, soft %v, loud %v, kinds %v", len(asked), quiet, loud, kinds)
	}
	// Where two choices of hands, or two forms, are each a fifth of the list, two at least are asked.
	fifth := len(part.Pool) / 5
	if count(hands, 1) < min(2, count(allHands, fifth)) || count(forms, 1) < min(2, count(allForms, fifth)) {
		t.Errorf("hands %v of %v, forms %v of %v", hands, allHands, forms, allForms)
	}
	for key, n := range keys {
		if n > 1 && len(keys) < min(len(tonics), part.Number) {
			t.Errorf("key %d comes %d times, and only %d of %d keys are asked", key, n, len(keys), len(tonics))
		}
	}
}

// count is how many come so often at least.
func count(often [16]int, least int) (n int) {
	for _, x := range often {
		if x >= max(least, 1) {
			n++
		}
	}
	return n
}

func keptAsJSON(t *rapid.T, p *exam.Paper) {
	text, err := json.Marshal(p)
	if err != nil {
		t.Fatal(err)
	}
	got, err := readPaper(text)
	if err != nil {
		t.Fatal(err)
	}
	if faults := got.OpenScores(func(path string) (*references.Reference, error) {
		s, err := find(strings.TrimSuffix(path, ".musicxml"))
		return s.Reference, err
	}); faults != nil {
		t.Fatal(faults)
	}
	if diff := cmp.Diff(p, got, cmp.AllowUnexported(references.Quarters{})); diff != "" {
		t.Errorf("kept and read (-kept +read):\n%s", diff)
	}
}

// leavingOutChangesNothing leaves one kind of part out and looks at the others.
func leavingOutChangesNothing(t *rapid.T, list *references.List, c exam.Choices, p *exam.Paper) {
	kind := list.Parts[rapid.IntRange(0, len(list.Parts)-1).Draw(t, "without")].Kind
	c.Without = []references.PartKind{kind}
	less, err := exam.Draw(list, c, p.Seed)
	if err != nil {
		t.Fatal(err)
	}
	words := func(p *exam.Paper, but references.PartKind) (all []string) {
		for _, q := range p.Parts {
			if kinds[q.Kind] != but {
				all = append(all, fmt.Sprint(q.Kind, q.Words, q.Reading, q.Questions, q.Ear))
			}
		}
		return all
	}
	if diff := cmp.Diff(words(p, kind), words(less, "")); diff != "" {
		t.Errorf("without %s (-all +less):\n%s", kind, diff)
	}
	sum := 0.0
	for _, s := range less.Sections {
		sum += s.Weight
	}
	if math.Abs(sum-100) > 1e-9 || len(less.LeftOut) == 0 || !strings.Contains(strings.Join(less.Notes, " "), "Left out by agreement: "+less.LeftOut[0]) {
		t.Errorf("without %s: weights %g, left out %q, notes %q", kind, sum, less.LeftOut, less.Notes)
	}
}

var kinds = map[exam.Kind]references.PartKind{
	exam.Request: references.RequestsPart, exam.Study: references.StudiesPart, exam.Piece: references.PiecesPart,
	exam.SightReading: references.SightReadingPart, exam.Questions: references.QuestionsPart, exam.Ear: references.EarTestsPart,
}

// All that a list asks comes once, in an order that begins with a key, a kind and a hand of each sort.
func TestRequestsAreAllThatAListAsks(t *testing.T) {
	for _, l := range references.Lists() {
		asked := exam.Requests(l.List, 9)
		var pool []references.ListRequest
		for _, p := range l.Parts {
			pool = append(pool, p.Pool...)
		}
		for i, a := range asked {
			if slices.ContainsFunc(asked[:i], func(b exam.Asked) bool { return a.Request.Alike(b.Request) }) {
				t.Errorf("%s: %s comes twice", l.Name, a.Request)
			}
		}
		for _, r := range pool {
			if !slices.ContainsFunc(asked, func(a exam.Asked) bool { return a.Request.Alike(r.Request) }) {
				t.Errorf("%s: %s is not asked", l.Name, r.Request)
			}
		}
		if a, b := asked[0].Request, asked[1].Request; a.Tonic == b.Tonic {
			t.Errorf("%s begins with %s and %s", l.Name, a, b)
		}
	}
}
