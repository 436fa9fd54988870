package scoring_test

import (
	"encoding/json"
	"math"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"github.com/google/go-cmp/cmp/cmpopts"
	"pgregory.net/rapid"

	"evenhand/align"
	"evenhand/capture/pupil"
	"evenhand/references"
	"evenhand/scoring"
)

// played is a take of a scale with faults as it is stored: read back from its JSON.
func played(t interface{ Fatal(...any) }, seed uint64, faults ...pupil.Fault) *scoring.Assessment {
	q, err := references.Parse("D major scale, hands together, piano")
	if err != nil {
		t.Fatal(err)
	}
	candidates := q.Candidates()
	take, _ := pupil.Play(candidates[0], pupil.Pupil{Seed: seed, Faults: faults})
	a := scoring.Assess(align.Best(candidates, q.Neighbours(), take), scoring.Asked{Take: "t", Against: q.String(), Request: &q}, scoring.DefaultSettings())
	b, err := json.Marshal(a)
	if err != nil {
		t.Fatal(err)
	}
	var stored scoring.Assessment
	if err := json.Unmarshal(b, &stored); err != nil {
		t.Fatal(err)
	}
	return &stored
}

var someFaults = []pupil.Fault{
	{Kind: pupil.SemitoneOff, At: 5}, {Kind: pupil.SemitoneOff, At: 12}, {Kind: pupil.LeftOut, At: 17}, {Kind: pupil.Wait, At: 21, Pause: 900 * time.Millisecond},
}

var noPrivate = cmpopts.IgnoreUnexported(scoring.Finding{})

func TestAmendWithNothingIsEqual(t *testing.T) {
	a := played(t, 1, someFaults...)
	if d := cmp.Diff(a, a.Amend(scoring.Amendment{}), noPrivate); d != "" {
		t.Error(d)
	}
}

// Every finding struck out, nothing is lost; and what is amended is not changed.
func TestAmendAll(t *testing.T) {
	a := played(t, 1, someFaults...)
	before, _ := json.Marshal(a)
	var all []int
	for i := range a.Findings {
		all = append(all, i)
	}
	b := a.Amend(scoring.Amendment{Struck: all})
	if *b.Marks.Notes != 100 || *b.Marks.Time != 100 || *b.Marks.Sound != 100 || len(b.Findings) != 0 || len(b.Losses) != 0 || len(b.Remarks) != 0 {
		t.Errorf("%+v", b.Marks)
	}
	if after, _ := json.Marshal(a); string(before) != string(after) {
		t.Error("the assessment was changed")
	}
}

// Striking out findings never lowers a mark, and the more the higher.
func TestAmendNeverLowers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		a := played(t, uint64(rapid.IntRange(1, 20).Draw(t, "seed")), someFaults...)
		last := a.Marks
		var struck []int
		for _, i := range rapid.Permutation(indices(len(a.Findings))).Draw(t, "order") {
			struck = append(struck, i)
			m := a.Amend(scoring.Amendment{Struck: struck}).Marks
			for _, pair := range [][2]*int{{last.Notes, m.Notes}, {last.Time, m.Time}, {last.Sound, m.Sound}, {last.Overall, m.Overall}} {
				if *pair[1] < *pair[0] {
					t.Errorf("struck %v: from %d to %d", struck, *pair[0], *pair[1])
				}
			}
			last = m
		}
	})
}

func indices(n int) []int {
	s := make([]int, n)
	for i := range s {
		s[i] = i
	}
	return s
}

// A struck finding leaves the marks that a take without its fault would have had, to a point: the losses
// multiply what is left, so one fault's loss does not hang on the others.
func TestAmendedMarkIsThatWithoutTheFault(t *testing.T) {
	two := played(t, 3, pupil.Fault{Kind: pupil.SemitoneOff, At: 5}, pupil.Fault{Kind: pupil.SemitoneOff, At: 12})
	one := played(t, 3, pupil.Fault{Kind: pupil.SemitoneOff, At: 5})
	var wrong []int
	for i, f := range two.Findings {
		if f.Kind == scoring.WrongNote {
			wrong = append(wrong, i)
		}
	}
	if len(wrong) != 2 {
		t.Fatalf("findings %+v", two.Findings)
	}
	got := two.Amend(scoring.Amendment{Struck: wrong[1:]}).Marks
	if math.Abs(float64(*got.Notes-*one.Marks.Notes)) > 1 {
		t.Errorf("notes %d, with one wrong note %d", *got.Notes, *one.Marks.Notes)
	}
}

// Notes left out by agreement are in no count, and cost nothing.
func TestAmendLeftOut(t *testing.T) {
	a := played(t, 4, pupil.Fault{Kind: pupil.LeftOut, At: 9}, pupil.Fault{Kind: pupil.SemitoneOff, At: 20})
	var missing []int
	for _, n := range a.Notes {
		if n.Verdict == "missing" {
			missing = append(missing, n.Expected.Index)
		}
	}
	if len(missing) == 0 {
		t.Fatal("nothing is missing")
	}
	b := a.Amend(scoring.Amendment{LeftOut: missing})
	if b.Counts.Missing != 0 || b.Counts.Expected != a.Counts.Expected-len(missing) || b.Counts.Expected != b.Counts.Correct+b.Counts.Wrong+b.Counts.Missing {
		t.Errorf("counts %+v, were %+v", b.Counts, a.Counts)
	}
	if *b.Marks.Notes <= *a.Marks.Notes || *b.Marks.Overall <= *a.Marks.Overall {
		t.Errorf("marks %d and %d, were %d and %d", *b.Marks.Notes, *b.Marks.Overall, *a.Marks.Notes, *a.Marks.Overall)
	}
	for _, f := range b.Findings {
		if f.Kind == scoring.MissingNote {
			t.Errorf("still found: %s", f.Text)
		}
	}
}
