package questions

import (
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"evenhand/internal/outside"
	"evenhand/references"
	"evenhand/references/musicxml"
	"evenhand/references/repertoire"

	"pgregory.net/rapid"
)

// scores are our own, and some open ones of other kinds where there are any.
func scores(t *testing.T) map[string]*references.Reference {
	t.Helper()
	out := map[string]*references.Reference{}
	for _, s := range repertoire.All() {
		ref, err := s.Read()
		if err != nil {
			t.Fatal(err)
		}
		out[s.Title] = ref
	}
	files, _ := filepath.Glob(filepath.Join(outside.Root(), "..", "shared", "data", "vienna4x22", "*", "score.musicxml"))
	for _, f := range files {
		ref, err := musicxml.Read(strings.NewReader(scoreText(t, f)))
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(filepath.Dir(f))] = ref
	}
	return out
}

// Whatever the score, the level, the seed and the number: the answer is among the choices once, no
// two choices are right, nothing is asked twice, every place is in the score, and the same seed asks the
// same.
func TestQuestionsKeepTheirPromises(t *testing.T) {
	all := scores(t)
	var titles []string
	for title := range all {
		titles = append(titles, title)
	}
	slices.Sort(titles)
	rapid.Check(t, func(t *rapid.T) {
		ref := all[rapid.SampledFrom(titles).Draw(t, "score")]
		level, seed, n := rapid.IntRange(-1, 9).Draw(t, "level"), rapid.Uint64().Draw(t, "seed"), rapid.IntRange(0, 60).Draw(t, "n")
		qs := Ask(ref, level, seed, n)
		if len(qs) > n {
			t.Fatalf("%d questions of %d", len(qs), n)
		}
		if !reflect.DeepEqual(qs, Ask(ref, level, seed, n)) {
			t.Fatal("the same seed asks something else")
		}
		ids, texts := map[string]bool{}, map[string]bool{}
		for _, q := range qs {
			if ids[q.ID] || texts[q.Text] {
				t.Fatalf("asked twice: %s", q.Text)
			}
			ids[q.ID], texts[q.Text] = true, true
			checkQuestion(t, ref, q)
		}
		if n >= 4 && len(qs) < 4 {
			t.Fatalf("only %d questions", len(qs))
		}
	})
}

func checkQuestion(t *rapid.T, ref *references.Reference, q Question) {
	rightOnes := 0
	for i, c := range q.Choices {
		if q.Right(c) {
			rightOnes++
		}
		if slices.Contains(q.Choices[:i], c) {
			t.Fatalf("%s: %q is there twice", q.Text, c)
		}
	}
	if rightOnes != 1 || !slices.Contains(q.Choices, q.Answer) || len(q.Choices) < 2 || len(q.Choices) > 4 {
		t.Fatalf("%s: %d of %q are right, %q is the answer", q.Text, rightOnes, q.Choices, q.Answer)
	}
	for _, a := range q.Accepted {
		if !q.Right(a) {
			t.Fatalf("%s: %q is accepted and not right", q.Text, a)
		}
	}
	if q.ID == "" || q.Kind == "" || q.Because == "" || !strings.HasSuffix(q.Because, ".") || !strings.ContainsAny(q.Text[len(q.Text)-1:], "?.") {
		t.Fatalf("something is missing: %+v", q)
	}
	checkPlace(t, ref, q, q.Where)
	if q.To != nil {
		checkPlace(t, ref, q, *q.To)
	}
}

// checkPlace finds the bar, and the note in it.
func checkPlace(t *rapid.T, ref *references.Reference, q Question, p Place) {
	i := slices.IndexFunc(ref.Page.Bars, func(b references.PageBar) bool { return b.Number == p.Bar })
	if i < 0 {
		t.Fatalf("%s: there is no bar %q", q.Text, p.Bar)
	}
	if p.Hand != "" && p.Hand != "right" && p.Hand != "left" {
		t.Fatalf("%s: hand %q", q.Text, p.Hand)
	}
	if p.Note == "" {
		return
	}
	j := slices.IndexFunc(ref.Page.Bars[i].Notes, func(n references.Printed) bool { return n.ID == p.Note })
	if j < 0 || ref.Page.Bars[i].Notes[j].Hand.String() != p.Hand {
		t.Fatalf("%s: there is no note %s in bar %s, %s hand", q.Text, p.Note, p.Bar, p.Hand)
	}
}

// A short list is of as many kinds as it can be, and a long one never ends before the score does.
func TestKindsAreMixed(t *testing.T) {
	for title, ref := range scores(t) {
		for _, level := range []int{0, 4, 8} {
			kinds := map[Kind]bool{}
			for _, q := range Ask(ref, level, 3, 5) {
				kinds[q.Kind] = true
			}
			if len(kinds) < 5 {
				t.Errorf("%s, level %d: only %v", title, level, kinds)
			}
			some, more := Ask(ref, level, 3, 20), Ask(ref, level, 3, 2000)
			if len(more) < len(some) || len(some) < min(20, len(more)) {
				t.Errorf("%s, level %d: %d questions, then %d", title, level, len(some), len(more))
			}
		}
	}
}

// Different seeds ask different things, and the answer stands at no favourite place.
func TestSeedsDiffer(t *testing.T) {
	ref := scores(t)["Harbour Waltz"]
	texts, at := map[string]bool{}, make([]int, 4)
	for seed := range uint64(100) {
		qs := Ask(ref, 3, seed, 6)
		var all []string
		for _, q := range qs {
			all = append(all, q.Text)
			if len(q.Choices) == 4 {
				at[slices.Index(q.Choices, q.Answer)]++
			}
		}
		texts[strings.Join(all, " ")] = true
	}
	if len(texts) < 95 {
		t.Errorf("only %d of 100 seeds differ", len(texts))
	}
	total := at[0] + at[1] + at[2] + at[3]
	for i, n := range at {
		if n < total/5 || n > total*3/10 {
			t.Errorf("the answer is choice %d %d times of %d: %v", i+1, n, total, at)
		}
	}
}

func FuzzRight(f *testing.F) {
	f.Add("gradually slower", "slower", "Gradually  Slower!")
	f.Add("B♭", "", "b flat")
	f.Fuzz(func(t *testing.T, answer, accepted, said string) {
		q := Question{Answer: answer, Accepted: []string{accepted}}
		if plain(answer) != "" && len(answer) < 100 && !q.Right(answer) {
			t.Errorf("%q is not right for itself", answer)
		}
		q.Right(said)
		if plain(said) == "" && q.Right(said) {
			t.Errorf("%q is right and says nothing", said)
		}
	})
}
