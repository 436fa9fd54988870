package journal

import (
	"fmt"
	"math"
	"strings"
	"time"

	"evenhand/scoring"
)

// sentence tells a line in plain words.
func (l *Line) sentence(now time.Time, place *time.Location) string {
	var parts []string
	if t := l.Evenness; t != nil && t.Sure {
		parts = append(parts, change(t, "less even", "evener"))
	}
	if t := l.Speed; t != nil && t.Sure {
		parts = append(parts, change(t, "faster", "slower"))
	}
	if t := l.Wrong; t != nil && t.Sure {
		more := "fewer"
		if t.Last > t.First {
			more = "more"
		}
		parts = append(parts, fmt.Sprintf("%s wrong notes (%s a take, was %s)", more, number(t.Last), number(t.First)))
	}
	if t := l.Mark; t != nil && t.Sure {
		way := "up"
		if t.Last < t.First {
			way = "down"
		}
		parts = append(parts, fmt.Sprintf("mark %s from %s to %s", way, number(t.First), number(t.Last)))
	}
	s := strings.Join(parts, ", ")
	switch {
	case s != "":
		s += " since " + since(l.From, now, place)
	case l.Mark == nil:
		s = "something else was played each time"
	case l.Mark.Days < enoughDays:
		s = fmt.Sprintf("heard on %s: too few to tell a change", counted(l.Mark.Days, "day", "days"))
	default:
		s = fmt.Sprintf("no sure change since %s", since(l.From, now, place))
	}
	if l.Still != nil {
		s += "; " + l.Still.words(l.New)
	}
	return strings.ToUpper(s[:1]) + s[1:]
}

// enoughDays is the least number of days on which a change can be sure: with 6 the strongest trend has a
// probability of 2/720 by chance, with 5 of 2/120, which is above what each measure may have.
const enoughDays = 6

func counted(n int, one, many string) string {
	if n == 1 {
		return "one " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// change says by what share a measure changed.
func change(t *Trend, more, less string) string {
	word := less
	if t.Last > t.First {
		word = more
	}
	return word + " " + share(math.Abs(t.Last-t.First)/t.First)
}

// share is a fraction as people say it.
func share(r float64) string {
	for _, s := range []struct {
		below float64
		words string
	}{
		{0.07, "by a little"},
		{0.15, "by a tenth"},
		{0.225, "by a fifth"},
		{0.29, "by a quarter"},
		{0.42, "by a third"},
		{0.58, "by half"},
		{0.7, "by two thirds"},
		{0.95, "by three quarters"},
		{1.5, "by as much again"},
	} {
		if r < s.below {
			return s.words
		}
	}
	return "several times over"
}

func number(v float64) string {
	s := fmt.Sprintf("%.1f", v)
	return strings.TrimSuffix(s, ".0")
}

// since is a day as one speaks of it later.
func since(t, now time.Time, place *time.Location) string {
	t, now = t.In(place), now.In(place)
	switch {
	case t.Year() != now.Year() && now.Sub(t) > 300*24*time.Hour:
		return t.Format("January 2006")
	case t.Month() != now.Month():
		return t.Format("January")
	}
	return t.Format("2 January")
}

// faultWords say what is still, or now, so. %s is the hand.
var faultWords = map[scoring.Kind]string{
	scoring.LateCrossing: "%s %s breaks at the thumb", scoring.Uneven: "%s is %s uneven", scoring.LongShort: "%s %s limps in pairs",
	scoring.WrongNote: "there are wrong notes in %s %s", scoring.WrongAccidental: "an accidental in %s is %s missed",
	scoring.MissingNote: "notes in %s are %s left out", scoring.Stop: "%s %s stops for a moment", scoring.HandsApart: "%s are %s not together",
	scoring.Drift: "the tempo %s drifts", scoring.OtherTempo: "the tempo is %s not as asked", scoring.OtherLoudness: "%s is %s too soft or too loud",
	scoring.UnevenLoudness: "%s is %s uneven in loudness", scoring.OtherTouch: "the touch of %s is %s not as asked", scoring.FreshStart: "%s %s starts afresh",
}

// words tell a fault that is still there, or is new.
func (f Fault) words(isNew bool) string {
	when := "still"
	if isNew {
		when = "now"
	}
	hand := map[string]string{"right": "the right hand", "left": "the left hand", "both": "both hands"}[f.Hand]
	plain := "the playing"
	if hand != "" {
		plain = hand
	}
	switch w, ok := faultWords[f.Kind]; {
	case !ok:
		return fmt.Sprintf("%s: %s there (%s)", f.Kind, when, plain)
	case strings.Count(w, "%s") == 1:
		return fmt.Sprintf(w, when)
	default:
		if f.Kind == scoring.HandsApart {
			plain = "the hands"
		}
		return fmt.Sprintf(w, plain, when)
	}
}

// ListenFor says what to listen for.
func (f Fault) ListenFor() string {
	if f.Hand == "" || f.Hand == "both" {
		return string(f.Kind)
	}
	return fmt.Sprintf("%s, %s hand", f.Kind, f.Hand)
}
