package scoring

import (
	"math"
	"slices"
)

// Amendment is what a teacher says of an assessment: findings struck out, and notes left out by
// agreement (small hands, another edition, a cut).
type Amendment struct {
	Struck  []int // indices into Findings
	LeftOut []int // indices of expected notes
}

// Amend returns the assessment with what the teacher said: struck findings are gone, notes left out
// are in no count, and the marks follow by the formula of Charges. A finding about several notes of
// which some are left out weighs less by their share, and is gone where all are. The lines of notes
// and all else that was measured stay as they are, and so does a; with nothing to amend the result
// equals it. Remarks are then what the findings say that are left.
//
// It works on what the JSON contract has, so that a stored assessment can be amended without the
// take; marks can be a point off those of a take marked again, since losses are kept to a tenth.
func (a *Assessment) Amend(m Amendment) *Assessment {
	out := *a
	keep := a.weights(m)
	out.Findings, out.Losses = []Finding{}, []Loss{}
	place := make([]int, len(a.Findings))
	for i := range a.Findings {
		place[i] = len(out.Findings)
		if keep[i] > 0 {
			out.Findings = append(out.Findings, a.Findings[i])
		}
	}
	for _, l := range a.Losses {
		if l.Finding >= 0 && l.Finding < len(keep) && keep[l.Finding] > 0 {
			out.Losses = append(out.Losses, Loss{l.Mark, tenths(l.Points * keep[l.Finding]), place[l.Finding]})
		}
	}
	if slices.ContainsFunc(keep, func(k float64) bool { return k < 1 }) {
		out.Remarks = []string{}
		for _, f := range out.Findings {
			if f.Severity != Said && len(out.Remarks) < mostRemarks {
				out.Remarks = append(out.Remarks, f.Text)
			}
		}
	}
	out.Counts = a.countsWithout(m.LeftOut)
	out.Marks = a.marksWith(keep, out.Counts)
	return &out
}

// weights are how much of each finding is left, from 0 to 1.
func (a *Assessment) weights(m Amendment) []float64 {
	keep := make([]float64, len(a.Findings))
	for i, f := range a.Findings {
		keep[i] = 1
		if slices.Contains(m.Struck, i) {
			keep[i] = 0
			continue
		}
		about, out := 0, 0
		for _, line := range f.Notes {
			if line < 0 || line >= len(a.Notes) || a.Notes[line].Verdict == "correct" {
				continue
			}
			about++
			if e := a.Notes[line].Expected; e != nil && slices.Contains(m.LeftOut, e.Index) {
				out++
			}
		}
		if out > 0 {
			keep[i] = 1 - float64(out)/float64(about)
		}
	}
	return keep
}

func (a *Assessment) countsWithout(leftOut []int) Counts {
	c := a.Counts
	for _, n := range a.Notes {
		if n.Expected == nil || !slices.Contains(leftOut, n.Expected.Index) {
			continue
		}
		c.Expected--
		switch n.Verdict {
		case "correct":
			c.Correct--
			c.Played--
		case "wrong":
			c.Wrong--
			c.Played--
		case "missing":
			c.Missing--
		}
	}
	return c
}

// marksWith works the marks out again with only so much of each finding's loss.
func (a *Assessment) marksWith(keep []float64, c Counts) Marks {
	names := [...]*int{notesMark: a.Marks.Notes, timeMark: a.Marks.Time, soundMark: a.Marks.Sound}
	weight := [...]float64{notesMark: a.Settings.Charges.WeightNotes, timeMark: a.Settings.Charges.WeightTime, soundMark: a.Settings.Charges.WeightSound}
	played := func(c Counts) float64 {
		if c.Expected <= 0 {
			return 1
		}
		return float64(c.Correct+c.Wrong) / float64(c.Expected)
	}
	share, before := played(c), played(a.Counts)
	var marks [4]*int
	var sum, weights float64
	changed := share != before
	for m := notesMark; m <= soundMark; m++ {
		if names[m] == nil {
			continue
		}
		var lost, left float64
		for _, l := range a.Losses {
			if l.Mark == markNames[m] && l.Finding >= 0 && l.Finding < len(keep) {
				lost += l.Points
				left += l.Points * keep[l.Finding]
			}
		}
		v := float64(*names[m])
		if left < lost {
			// lost = 100 (1 - exp(-s)), and each finding has its share of s.
			v = 100 * math.Exp(math.Log(1-min(lost, 99.95)/100)*left/lost)
			changed = true
		}
		marks[m] = whole(v, true)
		if m != notesMark {
			v *= share
		}
		sum += weight[m] * v
		weights += weight[m]
	}
	out := Marks{Notes: marks[notesMark], Time: marks[timeMark], Sound: marks[soundMark], Overall: a.Marks.Overall}
	if changed && a.Marks.Overall != nil {
		out.Overall = whole(sum/weights, weights > 0)
	}
	return out
}
