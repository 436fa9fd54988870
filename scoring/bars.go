package scoring

import (
	"fmt"
	"slices"

	"evenhand/references"
)

// barsWords tells in which bars and which hand some expected notes are: "bar 3, right hand", "bars 9
// to 12, left hand", "bars 3, 7 and 8".
func (p *performance) barsWords(notes []int) string {
	all := p.Reference.Notes
	hand := all[notes[0]].Hand
	seen := map[int]bool{}
	low, high := all[notes[0]].Measure, all[notes[0]].Measure
	for _, i := range notes {
		n := &all[i]
		if n.Hand != hand {
			hand = references.NoHand
		}
		seen[n.Measure] = true
		low, high = min(low, n.Measure), max(high, n.Measure)
	}
	var names []string
	for m := low; m <= high; m++ {
		if b := p.barName(m); seen[m] && !slices.Contains(names, b) {
			names = append(names, b)
		}
	}
	where := "bars " + list(names)
	switch {
	case len(p.Reference.Bars) == 0:
		where = "in this piece" // which has no bars
	case len(names) == 1:
		where = "bar " + names[0]
	case len(names) > 4 || len(names) > 2 && high-low < len(names):
		where = fmt.Sprintf("bars %s to %s", p.barName(low), p.barName(high))
	}
	if w := handWords(hand); w != "" {
		where += ", " + w
	}
	return where
}

// barName is the printed number of bar m, or its place where it has none.
func (p *performance) barName(m int) string {
	if m < len(p.Reference.Bars) && p.Reference.Bars[m].Number != "" {
		return p.Reference.Bars[m].Number
	}
	return fmt.Sprint(m + 1)
}
