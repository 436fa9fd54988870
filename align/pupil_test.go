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

func TestDebugPupil(t *testing.T) {
	reqs := asks(t)
	refs := make([]*references.Reference, len(reqs))
	byRef := map[*references.Reference]references.Request{}
	for i, r := range reqs {
		refs[i] = mustReference(t, r)
		byRef[refs[i]] = r
	}
	total, good := map[pupil.Class]int{}, map[pupil.Class]int{}
	shown := 0
	for _, c := range pupil.Cases(7, 2000, refs) {
		take, truth := pupil.Play(c.Reference, c.Pupil)
		r := byRef[c.Reference]
		a := align.Best(r.Candidates(), nil, take)
		bad := judge(a, truth)
		total[c.Label.Class]++
		if bad == "" {
			good[c.Label.Class]++
		} else if shown < 25 {
			shown++
			if shown < 1 {
				fmt.Println(truth.Text(c.Reference, take))
				for _, p := range a.Pairs {
					fmt.Print(p, " ")
				}
				fmt.Println()
			}
			fmt.Printf("%s | %s | faults %v\n  %s\n", c.Label, r.Describe(), c.Pupil.Faults, bad)
		}
	}
	all, ok := 0, 0
	for _, c := range pupil.Classes() {
		fmt.Printf("%-20s %d/%d\n", c, good[c], total[c])
		all, ok = all+total[c], ok+good[c]
	}
	fmt.Println(ok, "of", all)
}

// whyOf is what a listener may call a stroke of each role.
var whyOf = map[pupil.Role][]align.Why{
	pupil.Graze: {align.Slip}, pupil.Corrected: {align.Corrected}, pupil.Repeat: {align.Repeat},
	pupil.GivenUp: {align.Again}, pupil.Before: {align.Before}, pupil.After: {align.Repeat, align.Again},
}

func judge(a *align.Alignment, truth pupil.Truth) string {
	got := make([]string, len(truth.Played))
	heardKey := map[int]string{}
	for _, p := range a.Pairs {
		if p.Played >= 0 {
			got[p.Played] = fmt.Sprintf("%s %s %d", p.Verdict, p.Why, p.Expected)
		}
		if p.Expected >= 0 {
			heardKey[p.Expected] = p.Verdict.String()
		}
	}
	var bad []string
	for i, e := range truth.Expected {
		if heardKey[i] != e.Role.String() {
			bad = append(bad, fmt.Sprintf("expected %d %s was %s, judged %s", i, a.Reference.Notes[i].Pitch, e.Role, heardKey[i]))
		}
	}
	whys, truthWhys := map[align.Why]int{}, map[pupil.Role]int{}
	for _, p := range a.Pairs {
		if p.Verdict == align.Extra {
			whys[p.Why]++
		}
	}
	for _, p := range truth.Played {
		if p.Role > pupil.Missing {
			truthWhys[p.Role]++
		}
	}
	for role, n := range truthWhys {
		m := 0
		for _, w := range whyOf[role] {
			m += whys[w]
		}
		if m != n {
			bad = append(bad, fmt.Sprintf("%d extras %s, judged %v", n, role, whys))
		}
	}
	n := 0
	for _, v := range whys {
		n += v
	}
	for _, v := range truthWhys {
		n -= v
	}
	if n != 0 {
		bad = append(bad, fmt.Sprintf("%d extras too many: %v against %v", n, whys, truthWhys))
	}
	if len(bad) > 4 {
		bad = append(bad[:4], "...")
	}
	return strings.Join(bad, "; ")
}
