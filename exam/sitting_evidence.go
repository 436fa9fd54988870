package exam

import (
	"math"
	"strings"
)

// Evidence is what came of each part so far, in the order of the paper's, for the mark sheet. Of tries at
// one thing the last counts.
func (s *Sitting) Evidence() []Evidence {
	out := make([]Evidence, len(s.Parts))
	for i := range s.Parts {
		c := &s.Parts[i]
		e := Evidence{
			Skipped: c.Skipped, Restarts: c.Restarts, Repeats: c.Repeats, Seconds: c.Time.Seconds(),
			Words: strings.Join(c.Remarks, "; "), Mark: c.Mark,
		}
		for step := range s.Steps[i] {
			if t := c.Last(step); t != nil {
				e.add(s.Paper.Parts[i].Kind, t)
			}
		}
		e.AskAgain = c.Offered && len(c.Tries) > 1
		out[i] = e
	}
	return out
}

// add takes a try that counts.
func (e *Evidence) add(k Kind, t *Try) {
	switch r := t.Reply; {
	case t.Heard != nil:
		e.Assessment = t.Heard.Assessment
	case k == Ear:
		e.Ear = &EarResult{Mark: int(math.Round(100 * r.Share)), Reasons: r.Said}
		if r.Teacher {
			e.Ear.Reasons = []string{"Answered aloud, and judged by the teacher."}
		}
	default:
		a := Answer{Question: r.Asked, Given: r.Given, Expected: r.Wanted, Right: r.Share == 1, Because: strings.Join(r.Said, " ")}
		if r.Teacher {
			a.Given = "aloud"
		}
		e.Answers = append(e.Answers, a)
	}
}
