package journal

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"
)

// Proposal is one thing to practise today, with the reasons.
type Proposal struct {
	Asked   string   `json:"ask"` // as it can be asked for; "" for a rest
	Minutes int      `json:"minutes"`
	Note    string   `json:"note,omitempty"` // the teacher's
	Why     []string `json:"why"`
}

// Wishes are what a plan is made for.
type Wishes struct {
	Minutes int
	Tasks   []Task   // set by the teacher and running
	Wanted  []string // what the coming exam asks, what is to be begun first in front
	Now     time.Time
	Place   *time.Location
}

// restAfter is how many minutes of practice come before a rest of restMinutes: the usual advice. Common
// practice.
const (
	restAfter   = 25
	restMinutes = 5
)

// candidate is a thing that could be practised.
type candidate struct {
	Proposal
	subject string
	urgency float64
	set     bool
}

// Plan proposes today's practice out of what a pupil has played, oldest first: what the teacher set
// comes first, then what is weak and due by spaced repetition (see spacing), and what the exam asks. It
// fills the minutes there are and proposes a rest after 25.
func Plan(takes []Measures, w Wishes) []Proposal {
	var out []Proposal
	left, sinceRest := w.Minutes, 0
	for _, c := range candidates(takes, w) {
		if left < leastMinutes {
			break
		}
		c.Minutes = min(c.Minutes, left)
		if sinceRest+c.Minutes > restAfter {
			if left-restMinutes < leastMinutes {
				break // what is left is the rest
			}
			out = append(out, Proposal{Minutes: restMinutes, Why: []string{fmt.Sprintf("%d minutes are played: rest your hands; stop for today if anything hurts", sinceRest)}})
			left, sinceRest = left-restMinutes, 0
			c.Minutes = min(c.Minutes, left)
		}
		out = append(out, c.Proposal)
		left, sinceRest = left-c.Minutes, sinceRest+c.Minutes
	}
	return out
}

// The minutes that one thing gets: four times its own length and one to think, within these. Chosen by us.
const (
	leastMinutes = 2
	mostMinutes  = 6
	usualMinutes = 3
)

// candidates are all things that could be practised, the most urgent first.
func candidates(takes []Measures, w Wishes) []candidate {
	by := map[string][]Measures{}
	for _, m := range takes {
		if m.Subject != FreePractice {
			by[m.Subject] = append(by[m.Subject], m)
		}
	}
	wanted := map[string]int{} // in the order given
	for i, asked := range w.Wanted {
		if subject := Subject(asked); !has(wanted, subject) {
			wanted[subject] = i
		}
	}
	all := map[string]*candidate{}
	for subject, ms := range by {
		c := weigh(subject, ms, has(wanted, subject), w)
		all[subject] = &c
	}
	for subject, i := range wanted {
		if all[subject] == nil {
			why := []string{"the exam asks it, and it has not been heard"}
			all[subject] = &candidate{Proposal{w.Wanted[i], usualMinutes, "", why}, subject, 0.7 - 1e-6*float64(i), false}
		}
	}
	for i, t := range w.Tasks {
		addTask(all, t, by[t.Subject], i, w)
	}
	var out []candidate
	for _, c := range all {
		out = append(out, *c)
	}
	slices.SortFunc(out, func(a, b candidate) int {
		return cmp.Or(cmp.Compare(b.urgency, a.urgency), strings.Compare(a.subject, b.subject))
	})
	return out
}

func has(wanted map[string]int, subject string) bool {
	_, is := wanted[subject]
	return is
}

// addTask puts what the teacher set before all else.
func addTask(all map[string]*candidate, t Task, ms []Measures, i int, w Wishes) {
	c := all[t.Subject]
	if c == nil {
		c = &candidate{Proposal: Proposal{Minutes: usualMinutes}, subject: t.Subject}
		all[t.Subject] = c
	}
	heard := 0
	for _, m := range ms {
		if !m.Started.Before(t.At) {
			heard++
		}
	}
	why := "set by the teacher until " + t.Until.In(w.Place).Format("Monday 2 January")
	switch heard {
	case 0:
		why += ", not heard since"
	case 1:
		why += ", heard once since"
	default:
		why += fmt.Sprintf(", heard %d times since", heard)
	}
	c.Asked, c.urgency, c.set = t.Asked, 1000-float64(i), true
	c.Note = strings.TrimSpace(c.Note + "\n" + t.Note)
	c.Why = append([]string{why}, c.Why...)
}

// weigh tells how urgent a thing is: how far it is due by spaced repetition (1 on the day) times how weak
// it is, 0.5 and what lacks of the last marks, with a little for being asked in the exam. With weakness
// alone a plan would ask the same few things daily, which helps less and less. Chosen by us.
func weigh(subject string, ms []Measures, wanted bool, w Wishes) candidate {
	today := dayOf(w.Now, w.Place)
	s, mark := review(ms, w.Place)
	due := float64(today-s.last) / max(s.interval, 1)
	lack := (100 - mark) / 100
	c := candidate{Proposal: Proposal{Asked: subject, Minutes: lengthOf(ms)}, subject: subject}
	c.urgency = (0.5 + lack) * min(due, 4)
	if wanted {
		c.urgency += 0.1
		c.Why = append(c.Why, "the exam asks it")
	}
	if mark < qualities[2] {
		c.Why = append(c.Why, fmt.Sprintf("weak: mark %.0f in the last takes", mark))
	}
	if f, _ := still(ms); f != nil {
		c.Why = append(c.Why, f.words(false))
	}
	switch days := today - dayOf(ms[len(ms)-1].Started, w.Place); {
	case days >= 7:
		c.Why = append(c.Why, fmt.Sprintf("not heard for %d days", days))
	case due >= 1:
		c.Why = append(c.Why, "due again")
	}
	if len(c.Why) == 0 {
		c.Why = append(c.Why, fmt.Sprintf("to keep it: mark %.0f", mark))
	}
	return c
}

// review replays what was heard of a thing, day by day, and gives the median of the last three marks. A
// take of something else than was asked counts as 0.
func review(ms []Measures, place *time.Location) (spacing, float64) {
	var s spacing
	var today, all []float64
	day := dayOf(ms[0].Started, place)
	for _, m := range ms {
		if d := dayOf(m.Started, place); d != day {
			s, day, today = s.heard(day, median(today)), d, nil
		}
		mark := 0.0
		if m.Mark != nil {
			mark = float64(*m.Mark)
		}
		today, all = append(today, mark), append(all, mark)
	}
	s = s.heard(day, median(today))
	return s, median(all[max(0, len(all)-3):])
}

func lengthOf(ms []Measures) int {
	var lengths []float64
	for _, m := range ms {
		lengths = append(lengths, m.Practised.Minutes())
	}
	return min(max(int(math.Ceil(4*median(lengths)))+1, leastMinutes), mostMinutes)
}
