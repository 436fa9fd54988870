package scoring

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
)

// mostRemarks is how many remarks a pupil is given.
const mostRemarks = 5

// gathered are the kinds of which several findings make one remark, with the heading for one and for
// more of them.
var gathered = map[Kind][2]string{
	WrongNote:   {"one wrong note", "wrong notes"},
	MissingNote: {"one note left out", "notes left out"},
	ExtraNote:   {"one extra note", "extra notes"},
	BrushedKey:  {"one neighbouring key was brushed", "neighbouring keys were brushed"},
	PutRight:    {"one wrong note was put right at once", "wrong notes were put right at once"},
	StruckAgain: {"one note was struck twice", "notes were struck twice"},
}

// gatheredInScores are further kinds that are gathered in the remarks on a score.
var gatheredInScores = map[Kind][2]string{
	Stop:            {"one stop", "stops"},
	OutOfTime:       {"one place out of time", "places out of time"},
	OrnamentLeftOut: {"one ornament was left out", "ornaments were left out"},
	NoContrast:      {"one change of loudness could hardly be heard", "changes of loudness could hardly be heard"},
	NoSwell:         {"one swelling could not be heard", "swellings could not be heard"},
}

// heading is the heading under which findings of a kind are gathered.
func heading(k Kind, score bool) ([2]string, bool) {
	head, is := gathered[k]
	if !is && score {
		head, is = gatheredInScores[k]
	}
	return head, is
}

// byRun are the kinds that come by hand and direction: the worst is told, the others are named.
var byRun = map[Kind]bool{Uneven: true, LongShort: true, LateCrossing: true, LongTonic: true}

// alsoIn names where else there is a finding of a kind.
func alsoIn(fs []Finding, k Kind) string {
	var where []string
	for i := range fs {
		if fs[i].Kind == k {
			where = append(where, fs[i].detail)
		}
	}
	if len(where) == 0 {
		return ""
	}
	return " Also: " + list(where) + "."
}

// first are the kinds that come before all others: right notes are what a teacher hears first.
var first = map[Kind]bool{
	WrongNote: true, WrongAccidental: true, WrongOctave: true, SlippedAlong: true, MissingNote: true, PassageLeftOut: true,
}

// order sorts findings by use: something else played, then wrong and missing notes, then the rest by
// what they cost of the overall mark, and what is only said last. Findings that are gathered into one
// remark count together.
func (c Charges) order(fs []Finding) {
	together := map[Kind]float64{}
	for i := range fs {
		together[fs[i].Kind] += c.worth(&fs[i])
	}
	worth := func(f *Finding) float64 {
		w := c.worth(f)
		if _, many := gathered[f.Kind]; many {
			w = together[f.Kind]
		}
		switch {
		case f.Kind == NotAsAsked:
			return math.Inf(1)
		case first[f.Kind]:
			return 1e6 + w
		}
		return w
	}
	slices.SortStableFunc(fs, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(worth(&b), worth(&a)), cmp.Compare(a.Kind, b.Kind))
	})
}

// worth is what a finding costs of the overall mark, in hundredths.
func (c Charges) worth(f *Finding) float64 {
	return f.loss * [4]float64{0, c.WeightNotes, c.WeightTime, c.WeightSound}[f.mark]
}

// remarks are the findings in a few sentences: what was good, then the most useful, each with what to
// try. fs are in order. Where something else was played, only that is said.
func remarks(fs []Finding, praise string, score bool) []string {
	out := []string{}
	if len(fs) > 0 && fs[0].Kind == NotAsAsked {
		return append(out, fs[0].Text+" "+fs[0].try)
	}
	if praise != "" {
		out = append(out, praise)
	}
	done := map[Kind]bool{}
	said := map[string]bool{}
	for i := range fs {
		f := &fs[i]
		if len(out) == mostRemarks {
			break
		}
		if done[f.Kind] {
			continue
		}
		text := f.Text
		if head, many := heading(f.Kind, score); many {
			done[f.Kind] = true
			text = gather(fs[i:], f.Kind, head)
		}
		if byRun[f.Kind] {
			done[f.Kind] = true
			text += alsoIn(fs[i+1:], f.Kind)
		}
		// one piece of advice is enough
		if f.try != "" && !said[f.try] {
			said[f.try] = true
			text += " " + f.try
		}
		out = append(out, text)
	}
	return out
}

// gather makes one sentence of all findings of a kind.
func gather(fs []Finding, k Kind, head [2]string) string {
	var details []string
	for i := range fs {
		if fs[i].Kind == k {
			details = append(details, fs[i].detail)
		}
	}
	if len(details) == 1 {
		if d := details[0]; strings.HasPrefix(d, "bar") { // a stretch, which says what it is
			return capital(d) + "."
		}
		return fmt.Sprintf("%s: %s.", capital(head[0]), details[0])
	}
	return fmt.Sprintf("%s %s: %s.", capital(number(len(details))), head[1], some(details))
}

// steadyWords praise the time, for what was measured of it: that of a score is not even.
func (l *ledger) steadyWords(out *Assessment) string {
	if l.score {
		return "The time was steady."
	}
	even := slices.ContainsFunc(out.Evenness, func(e Evenness) bool { return e.SD != nil })
	t := out.Tempo
	steady := t != nil && t.DriftPercent != nil && math.Abs(*t.DriftPercent) <= l.limits.DriftNoticePercent
	switch {
	case even && steady:
		return "It was even and steady."
	case even:
		return "It was even."
	case steady:
		return "It was steady."
	}
	return ""
}

// praise says what was good: the marks from which nothing was lost. It is empty where there is
// nothing of the kind, and never claims what was not measured.
func (l *ledger) praise(has [4]bool, out *Assessment) string {
	c, d := out.Counts, out.Dynamics
	if !l.AsAsked || c.Expected == 0 {
		return ""
	}
	var lost [4]float64
	for i := range l.findings {
		lost[l.findings[i].mark] += l.findings[i].loss
	}
	var good []string
	if c.Correct == c.Expected && lost[notesMark] == 0 {
		good = append(good, "Every note was right.")
	}
	if has[timeMark] && lost[timeMark] < 0.01 {
		if words := l.steadyWords(out); words != "" {
			good = append(good, words)
		}
	}
	if has[soundMark] && lost[soundMark] < 0.01 && d != nil && d.Asked != nil && len(good) < 2 {
		if d.Heard == *d.Asked {
			good = append(good, fmt.Sprintf("It was %s, as asked.", levelInWords(*d.Asked)))
		} else { // a neighbouring level
			good = append(good, "It was about as loud as was asked.")
		}
	}
	if len(good) > 1 && len(l.findings) == 0 && l.score {
		good = append(good, "Well played.")
	} else if len(good) > 1 && len(l.findings) == 0 {
		good = append(good, "Well played: try it a little faster, or with another loudness.")
	}
	return strings.Join(good, " ")
}
