package exam

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"evenhand/scoring"
)

// mostReasons is how many faults are told of one part; the rest are counted.
const mostReasons = 5

// propose is the mark proposed for a part, nil where none can be, and the reasons.
func propose(q *Part, e *Evidence, heard contrast) (*int, []string) {
	mark, reasons := proposeFrom(q, e, heard)
	add := func(n int, once, often string) {
		if n == 1 {
			reasons = append(reasons, once)
		} else if n > 1 {
			reasons = append(reasons, fmt.Sprintf(often, n))
		}
	}
	if e.AskAgain {
		reasons = append(reasons, "Something else was played at first; this is the second try.")
	}
	add(e.Restarts, "Begun again once, as is allowed.", "Begun again %d times.")
	add(e.Repeats, "Asked again by the teacher.", "Asked again %d times by the teacher.")
	if e.Skipped {
		reasons = append(reasons, "Left out in the sitting: it counts for nothing unless the teacher marks it.")
		mark = nil
	}
	return mark, reasons
}

func proposeFrom(q *Part, e *Evidence, heard contrast) (*int, []string) {
	switch {
	case e.Assessment != nil:
		return proposePlayed(q, e, heard)
	case len(e.Answers) > 0:
		return proposeAnswers(e.Answers)
	case e.Ear != nil:
		return new(min(max(e.Ear.Mark, 0), 100)), slices.Clone(e.Ear.Reasons)
	}
	return nil, nil
}

// proposeAnswers gives each question the same weight.
func proposeAnswers(answers []Answer) (*int, []string) {
	right := 0
	var wrong []string
	for _, a := range answers {
		switch {
		case a.Right:
			right++
		case strings.TrimSpace(a.Given) == "":
			wrong = append(wrong, strings.TrimSpace(fmt.Sprintf("%s Not answered: it is %s. %s", a.Question, a.Expected, a.Because)))
		default:
			wrong = append(wrong, strings.TrimSpace(fmt.Sprintf("%s Answered “%s”: it is %s. %s", a.Question, a.Given, a.Expected, a.Because)))
		}
	}
	reasons := append([]string{fmt.Sprintf("%d of %d right.", right, len(answers))}, wrong...)
	return new(int(math.Round(100 * float64(right) / float64(len(answers))))), reasons
}

// proposePlayed takes the mark of the assessment, as the teacher amended it, and what only an exam asks:
// the least speed, and soft and loud told apart.
func proposePlayed(q *Part, e *Evidence, heard contrast) (*int, []string) {
	a := e.Assessment
	amended := scoring.Amendment{Struck: slices.Clone(e.Struck), LeftOut: e.LeftOut}
	var reasons []string
	if n := len(e.Struck); n > 0 {
		reasons = append(reasons, fmt.Sprintf("Struck out by the teacher: %s.", things(n)))
	}
	off := 0
	if q.Kind == Request {
		off = heard.amend(q, a, &amended, &reasons)
	}
	if len(amended.Struck)+len(amended.LeftOut) > 0 {
		a = a.Amend(amended)
	}
	if !a.Heard.AsAsked {
		return nil, append(reasons, fmt.Sprintf("Something else was played: %s.", a.Heard.What))
	}
	if a.Marks.Overall == nil {
		return nil, append(reasons, "Nothing could be marked.")
	}
	if q.Request != nil {
		off += slower(q.Request, a, &reasons)
	}
	reasons = append(append([]string{marksLine(a.Marks)}, faults(a)...), reasons...)
	return new(max(*a.Marks.Overall-off, 0)), reasons
}

func things(n int) string {
	if n == 1 {
		return "one finding"
	}
	return fmt.Sprintf("%d findings", n)
}

// marksLine is the marks that the mark is made of.
func marksLine(m scoring.Marks) string {
	var parts []string
	for _, p := range []struct {
		name string
		mark *int
	}{{"notes", m.Notes}, {"time", m.Time}, {"sound", m.Sound}} {
		if p.mark != nil {
			parts = append(parts, fmt.Sprintf("%s %d", p.name, *p.mark))
		}
	}
	line := strings.Join(parts, ", ")
	return strings.ToUpper(line[:min(1, len(line))]) + line[min(1, len(line)):] + "."
}

// faults are the findings that cost most, and what they cost; then what is to be known and costs nothing.
func faults(a *scoring.Assessment) []string {
	losses := slices.Clone(a.Losses)
	slices.SortStableFunc(losses, func(x, y scoring.Loss) int { return cmp.Compare(y.Points, x.Points) })
	var out []string
	for _, l := range losses[:min(len(losses), mostReasons)] {
		cost := fmt.Sprintf("%.0f", l.Points)
		if l.Points < 0.5 {
			cost = "less than 1"
		}
		out = append(out, fmt.Sprintf("%s (%s off the %s)", sentence(a.Findings[l.Finding].Text), cost, l.Mark))
	}
	if more := len(losses) - mostReasons; more > 0 {
		out = append(out, fmt.Sprintf("And %d smaller.", more))
	}
	for i := range a.Findings {
		costs := slices.ContainsFunc(a.Losses, func(l scoring.Loss) bool { return l.Finding == i })
		if f := &a.Findings[i]; !costs && slices.Contains(noted, f.Kind) {
			out = append(out, sentence(f.Text))
		}
	}
	return out
}

// noted are the kinds of finding that an examiner is told of even where they cost nothing.
var noted = []scoring.Kind{
	scoring.FreshStart, scoring.OnceMore, scoring.WentBack, scoring.FormHeard, scoring.OtherRegister,
	scoring.OneVelocity, scoring.CoarseClock,
}

func sentence(s string) string {
	if s == "" || strings.ContainsRune(".!?", rune(s[len(s)-1])) {
		return s
	}
	return s + "."
}

// What playing more slowly than a list's least speed costs: a point for every two percent beyond what is as
// good as asked, and never more than fifteen: to be slow is no fault of the fingers. Chosen by us.
const (
	slowPoints = 0.5
	mostSlow   = 15
)

// slower is what playing below the least speed takes off.
func slower(asked *Asked, a *scoring.Assessment, reasons *[]string) int {
	if asked.Least == 0 || a.Tempo == nil || a.Tempo.NotesPerSecond == nil {
		return 0
	}
	percent := 100 * (1 - *a.Tempo.NotesPerSecond/asked.Least)
	if percent <= a.Settings.Limits.SlowPercent {
		return 0
	}
	off := int(math.Round(min(mostSlow, slowPoints*(percent-a.Settings.Limits.SlowPercent))))
	*reasons = append(*reasons, fmt.Sprintf("Slower by %.0f %% than %s. (%d off)", percent, asked.Tempo, off))
	return off
}
