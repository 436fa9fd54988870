package align_test

import (
	"fmt"
	"strings"
	"testing"

	"evenhand/align"
	"evenhand/capture/pupil"
	"evenhand/references"
)

// asks is one request of every usual sort.
func asks(t testing.TB) []references.Request {
	t.Helper()
	name := func(s references.Step, alter int8) references.Name { return references.Name{Step: s, Alter: alter} }
	var out []references.Request
	tonics := []references.Name{
		name(references.C, 0), name(references.G, 0), name(references.B, -1), name(references.E, 0), name(references.A, -1),
		name(references.F, 1), name(references.D, 0), name(references.B, 0), name(references.C, 1),
	}
	n := 0
	add := func(r references.Request) {
		r.Tonic = tonics[n%len(tonics)]
		r.Touch = references.Each(references.Legato)
		if n%3 == 0 {
			r.Dynamic = references.Each(references.Piano)
		}
		if n%3 == 1 {
			r.Dynamic = references.Each(references.Forte)
		}
		n++
		if r.Check() == nil {
			out = append(out, r)
		}
	}
	for _, form := range []references.Form{references.Major, references.HarmonicMinor, references.MelodicMinor, references.NaturalMinor, references.Chromatic} {
		for _, hands := range []references.Hands{references.RightAlone, references.LeftAlone, references.Together} {
			for _, octaves := range []int{1, 2, 4} {
				add(references.Request{Form: form, Hands: hands, Octaves: octaves})
			}
		}
		add(references.Request{Form: form, Motion: references.Contrary, Octaves: 2})
	}
	for _, apart := range []references.Apart{references.ThirdApart, references.SixthApart, references.TenthApart} {
		add(references.Request{Apart: apart, Octaves: 2})
	}
	for _, form := range []references.Form{references.Major, references.Minor, references.DominantSeventh, references.DiminishedSeventh} {
		for _, hands := range []references.Hands{references.RightAlone, references.LeftAlone, references.Together} {
			for inversion := range 3 {
				add(references.Request{Kind: references.Arpeggio, Form: form, Hands: hands, Octaves: 2, Inversion: inversion})
			}
		}
	}
	add(references.Request{Kind: references.BrokenChord, Hands: references.RightAlone, Octaves: 1})
	add(references.Request{Kind: references.FiveFinger, Octaves: 1})
	add(references.Request{Double: references.InThirds, Hands: references.RightAlone, Octaves: 2})
	return out
}

// TestPupilsAreJudgedRight has the simulated pupil play every kind of request with every class of
// fault, and asks of each take whether all of it was judged as it was played.
func TestPupilsAreJudgedRight(t *testing.T) {
	const takes, wanted = 440, 0.99
	requests := asks(t)
	refs := make([]*references.Reference, len(requests))
	asked := map[*references.Reference]references.Request{}
	for i, r := range requests {
		refs[i] = mustReference(t, r)
		asked[refs[i]] = r
	}
	total, good := map[pupil.Class]int{}, map[pupil.Class]int{}
	right := 0
	for _, c := range pupil.Cases(1, takes, refs) {
		take, truth := pupil.Play(c.Reference, c.Pupil)
		a := align.Best(asked[c.Reference].Candidates(), asked[c.Reference].Neighbours(), take)
		total[c.Label.Class]++
		if bad := misjudged(a, truth); bad != "" {
			t.Logf("%s, %s: %s", c.Label, c.Reference.Title, bad)
			continue
		}
		good[c.Label.Class]++
		right++
	}
	for _, c := range pupil.Classes() {
		t.Logf("%-22s %d of %d", c, good[c], total[c])
	}
	if share := float64(right) / takes; share < wanted {
		t.Errorf("%d of %d takes judged wholly right, %.3f; want %.2f", right, takes, share, wanted)
	}
}

// TestLiveVerdictsAreSeldomRevised follows the same pupils and counts the verdicts that were taken
// back while they played, or in the end.
func TestLiveVerdictsAreSeldomRevised(t *testing.T) {
	const takes, wanted = 440, 0.95
	var refs []*references.Reference
	for _, r := range asks(t) {
		refs = append(refs, mustReference(t, r))
	}
	told, kept := 0, 0
	for _, c := range pupil.Cases(2, takes, refs) {
		take, _ := pupil.Play(c.Reference, c.Pupil)
		candidates := c.Reference.Request.Candidates()
		f := align.NewFollower(candidates)
		first := make([]align.Pair, len(take.Notes))
		revised := make([]bool, len(take.Notes))
		for _, n := range take.Notes {
			for _, u := range f.Note(n) {
				if u.Played >= 0 {
					if u.Revised {
						revised[u.Played] = true
					} else {
						first[u.Played] = u.Pair
					}
				}
			}
		}
		a := align.Best(candidates, nil, take)
		for _, p := range a.Pairs {
			if p.Played < 0 {
				continue
			}
			told++
			if !revised[p.Played] && first[p.Played].Verdict == p.Verdict {
				kept++
			}
		}
	}
	t.Logf("%d of %d live verdicts kept, %.4f", kept, told, float64(kept)/float64(told))
	if float64(kept) < wanted*float64(told) {
		t.Errorf("%d of %d live verdicts kept to the end, want %.2f", kept, told, wanted)
	}
}

// whyOf is what a listener may call a stroke of each role.
var whyOf = map[pupil.Role][]align.Why{
	pupil.Graze: {align.Slip}, pupil.Corrected: {align.Corrected}, pupil.Repeat: {align.Repeat},
	pupil.GivenUp: {align.Again}, pupil.Before: {align.Before}, pupil.After: {align.Repeat, align.Again},
}

// misjudged compares an alignment with what was played, and is empty where all of it agrees. Of a key
// struck twice either stroke may count.
func misjudged(a *align.Alignment, truth pupil.Truth) string {
	if !a.AsAsked {
		return "taken for " + a.Reference.Title
	}
	var bad []string
	verdicts := map[int]string{}
	whys := map[align.Why]int{}
	for _, p := range a.Pairs {
		if p.Expected >= 0 {
			verdicts[p.Expected] = p.Verdict.String()
		}
		if p.Verdict == align.Extra {
			whys[p.Why]++
		}
	}
	for i, e := range truth.Expected {
		if verdicts[i] != e.Role.String() {
			bad = append(bad, fmt.Sprintf("%s at %s was %s, judged %s", a.Reference.Notes[i].Pitch, a.Reference.Notes[i].Onset, e.Role, verdicts[i]))
		}
	}
	for role := pupil.Graze; role <= pupil.After; role++ {
		n := truth.Count(role)
		for _, w := range whyOf[role] {
			taken := min(n, whys[w])
			n -= taken
			whys[w] -= taken
		}
		if n > 0 {
			bad = append(bad, fmt.Sprintf("%d strokes %s not found", n, role))
		}
	}
	for w, n := range whys {
		if n > 0 {
			bad = append(bad, fmt.Sprintf("%d strokes too many called %s", n, w))
		}
	}
	if len(bad) > 4 {
		bad = append(bad[:4], "and more")
	}
	return strings.Join(bad, "; ")
}
