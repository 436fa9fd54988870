package questions

import (
	"fmt"
	"strings"

	"evenhand/references"
)

// meter is the time signature at the beginning; false where it is none that can be asked for.
func (s *score) meter() (references.Meter, bool) {
	if len(s.bars) == 0 {
		return references.Meter{}, false
	}
	m := s.bars[0].Meter
	return m, m.Unit > 0 && !s.bars[0].Added && m.Beats <= 12 && valueNames[references.Q(4, int64(m.Unit))] != ""
}

// meterWords is what a time signature means: "three crotchets in a bar".
func meterWords(m references.Meter) string {
	return plural(m.Beats, valueNames[references.Q(4, int64(m.Unit))]) + " in a bar"
}

// compound reports whether the beat is a dotted note: 6, 9 or 12 of quavers or shorter.
func compound(m references.Meter) bool { return m.Beats > 3 && m.Beats%3 == 0 && m.Unit >= 4 }

// times asks for the time signature at the beginning.
func times(s *score) []candidate {
	m, ok := s.meter()
	if !ok {
		return nil
	}
	out := []candidate{s.figures(m), s.meaning(m)}
	if m.Unit == 4 && !compound(m) {
		out = append(out, s.beats(m))
	}
	if c, ok := s.class(m); ok {
		out = append(out, c)
	}
	return append(out, s.upbeat()...)
}

// figures asks what the time signature is.
func (s *score) figures(m references.Meter) candidate {
	f := fmt.Sprintf("%d/%d", m.Beats, m.Unit)
	c := candidate{
		Question: Question{
			Kind: Time, Text: "What is the time signature at the beginning?", Where: s.start(), Answer: f,
			Accepted: []string{f + " time", number(m.Beats) + " over " + number(m.Unit)},
			Because:  fmt.Sprintf("The time signature is %s: %s.", f, meterWords(m)),
		},
		from: 0, to: 2, about: "time",
	}
	switch {
	case f == "4/4":
		c.Accepted = append(c.Accepted, "C", "common time", "common", "four crotchets in a bar")
	case f == "2/2":
		c.Accepted = append(c.Accepted, "cut time", "alla breve", "cut common time", "cut C", "split common time")
	}
	switch s.bars[0].Symbol {
	case "common":
		c.Because = "The sign C is another way of writing 4/4, common time."
	case "cut":
		c.Because = "The sign C with a stroke is another way of writing 2/2, alla breve."
	}
	for _, w := range []references.Meter{{Beats: m.Unit, Unit: m.Beats}, {Beats: m.Beats, Unit: other(m.Unit)}, {Beats: 4, Unit: 4}, {Beats: 3, Unit: 4}, {Beats: 2, Unit: 4}, {Beats: 6, Unit: 8}} {
		if w.Unit&(w.Unit-1) == 0 && w.Unit > 1 && w != m {
			c.wrong = append(c.wrong, fmt.Sprintf("%d/%d", w.Beats, w.Unit))
		}
	}
	return c
}

// other is the unit that a pupil may take for a unit.
func other(unit int) int {
	if unit == 4 {
		return 8
	}
	return 4
}

// meaning asks what the time signature tells.
func (s *score) meaning(m references.Meter) candidate {
	unit := valueNames[references.Q(4, int64(m.Unit))]
	c := candidate{
		Question: Question{
			Kind: Time, Text: "What does the time signature at the beginning mean?", Where: s.start(), Answer: meterWords(m), Accepted: inBar(m.Beats, unit),
			Because: fmt.Sprintf("The upper figure counts, the lower one says what is counted: %d for %ss (%ss).", m.Unit, unit, americanValues[unit]),
		},
		from: 1, to: 8, about: "time meaning",
	}
	switch s.bars[0].Symbol {
	case "common":
		c.Because = "The sign C stands for 4/4: four crotchets (quarter notes) in a bar."
	case "cut":
		c.Because = "The sign C with a stroke stands for 2/2: two minims (half notes) in a bar."
	}
	if compound(m) {
		beat := valueWords(m.Beat())
		c.Accepted = append(c.Accepted, inBar(m.Beats/3, beat)...)
		c.Because = fmt.Sprintf("%s also make %s.", upper(meterWords(m)), plural(m.Beats/3, beat+" beat"))
	}
	for _, w := range []references.Meter{
		{Beats: m.Beats, Unit: other(m.Unit)},
		{Beats: m.Unit, Unit: 4},
		{Beats: m.Beats + 1, Unit: m.Unit},
		{Beats: m.Beats, Unit: 2},
		{Beats: m.Beats - 1, Unit: m.Unit},
		{Beats: m.Unit, Unit: 8},
	} {
		if w.Beats > 1 && w.Length() != m.Length() && w != m {
			c.wrong = append(c.wrong, meterWords(w))
		}
	}
	return c
}

// inBar are the ways of saying that so many notes are in a bar.
func inBar(n int, unit string) []string {
	var out []string
	for _, noun := range []string{unit, unit + " beat"} {
		p := plural(n, noun)
		out = append(out, p, p+" in a bar", p+" per bar", p+" in each bar", p+" in every bar", p+" to a bar", p+" a bar", p+" to the bar")
	}
	return out
}

// beats asks how many beats are in a bar.
func (s *score) beats(m references.Meter) candidate {
	c := candidate{
		Question: Question{
			Kind: Time, Text: "How many crotchet beats are there in a bar at the beginning of the piece?", Where: s.start(), Answer: number(m.Beats),
			Accepted: append([]string{plural(m.Beats, "beat"), number(m.Beats) + " in a bar", plural(m.Beats, "beat") + " in a bar"}, inBar(m.Beats, "crotchet")...),
			Because:  fmt.Sprintf("The upper figure of the time signature is %d.", m.Beats),
		},
		from: 0, to: 1, about: "time meaning",
	}
	if s.bars[0].Symbol == "common" {
		c.Because = "The sign C stands for 4/4: four crotchets in a bar."
	}
	for _, w := range []int{4, 3, 2, 6, 1} {
		c.wrong = append(c.wrong, number(w))
	}
	return c
}

// class asks whether the time is simple or compound, and duple, triple or quadruple.
func (s *score) class(m references.Meter) (candidate, bool) {
	n, how := m.Beats, "simple"
	if compound(m) {
		n, how = n/3, "compound"
	}
	names := map[int]string{2: "duple", 3: "triple", 4: "quadruple"}
	if names[n] == "" {
		return candidate{}, false
	}
	c := candidate{
		Question: Question{
			Kind: Time, Text: "Is the time at the beginning simple or compound, and is it duple, triple or quadruple?", Where: s.start(),
			Answer: how + " " + names[n], Accepted: []string{names[n] + " " + how, how + " " + names[n] + " time", how + ", " + names[n]},
			Because: fmt.Sprintf("There are %s in a bar, and a beat is a %s.", plural(n, "beat"), valueWords(m.Beat())),
		},
		from: 4, to: 8, about: "time class",
	}
	opposite := map[string]string{"simple": "compound", "compound": "simple"}[how]
	for _, w := range []int{n, 3, 2, 4} {
		c.wrong = append(c.wrong, opposite+" "+names[w], how+" "+names[w])
	}
	return c, true
}

var ordinals = []string{"", "first", "second", "third", "fourth", "fifth", "sixth", "seventh", "eighth"}

// upbeat asks on which beat the piece starts, where that is not the first.
func (s *score) upbeat() []candidate {
	b := &s.bars[0]
	n := b.beat(references.Quarters{})
	if b.Skip.Num() <= 0 || n < 2 || n >= len(ordinals) || !b.sounds(references.Quarters{}) {
		return nil
	}
	kind := ""
	if unit := b.Meter.Beat(); unit != references.Q(1, 1) {
		kind = valueWords(unit) + " "
	}
	c := candidate{
		Question: Question{
			Kind: Time, Text: fmt.Sprintf("On which %sbeat of a bar does the piece begin?", kind), Where: s.start(), Answer: "the " + ordinals[n] + " beat",
			Accepted: []string{ordinals[n], fmt.Sprintf("beat %d", n), fmt.Sprint(n), fmt.Sprintf("on beat %d", n), "on the " + ordinals[n] + " beat", "on the " + ordinals[n]},
			Because:  "The piece begins with an upbeat, which is not bar 1: the first full bar is.",
		},
		from: 2, to: 8, about: "upbeat",
	}
	if last := b.Meter.Length().Sub(b.Meter.Beat()); b.Skip == last {
		c.Accepted = append(c.Accepted, "the last beat", "last", "on the last beat")
	}
	for w := 1; w < len(ordinals) && !b.Meter.Length().Less(b.Meter.Beat().Times(int64(w), 1)); w++ {
		c.wrong = append(c.wrong, "the "+ordinals[w]+" beat")
	}
	return []candidate{c}
}

// sounds reports whether a note begins at a place of a bar.
func (b *bar) sounds(at references.Quarters) bool {
	for i := range b.Notes {
		if n := &b.Notes[i]; n.Onset == at && !n.Rest && !n.Grace && !n.Hidden {
			return true
		}
	}
	return false
}

func upper(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
