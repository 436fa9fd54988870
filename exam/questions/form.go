package questions

import (
	"fmt"
	"slices"
	"sort"
	"strings"

	"evenhand/references"
)

// content is what the notes of a bar are, the same for two bars that have the same notes and rests in
// all staves; empty for a bar without notes.
func (b *bar) content() string {
	var all []string
	sounds := false
	for i := range b.Notes {
		n := &b.Notes[i]
		if n.Hidden {
			continue
		}
		sounds = sounds || !n.Rest
		all = append(all, fmt.Sprint(n.Staff, n.Onset, n.Length, n.Rest, n.Pitch, n.Value, n.Grace, n.TieStop))
	}
	if !sounds {
		return ""
	}
	sort.Strings(all)
	return strings.Join(all, ";")
}

// run names some bars after one another: "bar 5", "bars 5 and 6", "bars 5 to 8".
func (s *score) run(i, n int) string {
	first, last := s.bars[i].Number, s.bars[i+n-1].Number
	switch n {
	case 1:
		return "bar " + first
	case 2:
		return "bars " + first + " and " + last
	}
	return "bars " + first + " to " + last
}

// longest is the longest passage, in bars, whose return is asked for.
const longest = 8

// manyBars is beyond the longest movement: passages are not compared in what has more.
const manyBars = 2000

// comings asks where a passage comes again, where it does so once: the same bars one after another, as
// many as there are up to eight.
func comings(s *score) []candidate {
	if len(s.bars) > manyBars {
		return nil
	}
	content := make([]string, len(s.bars))
	for i := range s.bars {
		content[i] = s.bars[i].content()
	}
	same := func(i, j, n int) bool {
		return i >= 0 && j >= 0 && max(i, j)+n <= len(content) && slices.Equal(content[i:i+n], content[j:j+n])
	}
	pair := func(i, j int) bool {
		return j < len(s.bars) && s.bars[i].named && s.bars[j].named && content[i] != "" && same(i, j, 1)
	}
	var out []candidate
	for i := range s.bars {
		for j := i + 1; j < len(s.bars); j++ {
			if !pair(i, j) || i > 0 && pair(i-1, j-1) {
				continue
			}
			n := 1
			for n < longest && i+n < j && pair(i+n, j+n) && s.namedRun(i, n+1) && s.namedRun(j, n+1) {
				n++
			}
			times := 0
			for k := range s.bars {
				if same(i, k, n) {
					times++
				}
			}
			if times == 2 && s.namedRun(i, n) && s.namedRun(j, n) {
				out = append(out, s.coming(i, j, n, same))
			}
		}
	}
	return out
}

// coming asks where bars i on come again, which is at bars j on.
func (s *score) coming(i, j, n int, same func(i, j, n int) bool) candidate {
	which := "bars"
	if n == 1 {
		which = "bar"
	}
	answer := s.run(j, n)
	c := candidate{
		Question: Question{
			Kind: Form, Text: fmt.Sprintf("The notes of %s come again later. In which %s?", s.run(i, n), which), Where: Place{Bar: s.bars[i].Number}, Answer: answer,
			Accepted: []string{"in " + answer, strings.TrimPrefix(strings.TrimPrefix(answer, "bars "), "bar "), "bar " + s.bars[j].Number, s.bars[j].Number, "from bar " + s.bars[j].Number},
			Because:  upper(fmt.Sprintf("%s has the notes of %s in every part.", answer, s.run(i, n))),
		},
		from: 2, to: 8, about: "again " + s.run(i, n),
	}
	if n > 1 {
		c.Because = strings.Replace(c.Because, " has ", " have ", 1)
		c.To = &Place{Bar: s.bars[i+n-1].Number}
		first, last := s.bars[j].Number, s.bars[j+n-1].Number
		c.Accepted = append(c.Accepted, "bars "+first+" to "+last, first+" to "+last, first+" and "+last, "bars "+first+"-"+last, first+"-"+last)
	}
	for _, k := range []int{j + n, j - n, j + 1, j - 1, i + n, i + n + 1, j + n + 1, j - 2} {
		if k > i && k != j && k+n <= len(s.bars) && s.namedRun(k, n) && !same(i, k, n) {
			c.wrong = append(c.wrong, s.run(k, n))
		}
	}
	return c
}

// sequences asks for patterns that come again a step or more higher or lower in the next bar.
func sequences(s *score) []candidate {
	var out []candidate
	for i := 0; i+1 < len(s.bars); i++ {
		if !s.namedRun(i, 2) {
			continue
		}
		for _, h := range s.hands {
			a, b := s.bars[i].staves[h], s.bars[i+1].staves[h]
			if a == nil || b == nil {
				continue
			}
			by := shifted(a, b)
			if by == 0 || by < -2 || by > 2 {
				continue
			}
			out = append(out, s.sequence(i, h, by)...)
		}
	}
	return out
}

// shifted is by how many letters all notes of a bar lie above those of the one before, in the same
// rhythm; 0 where they do not, or where the bar is no melody: one note at a time, four or more of them at
// three pitches or more, and a step among them, which tells it from a broken chord.
func shifted(a, b *staff) int {
	if len(a.columns) != len(b.columns) || len(a.columns) < 4 || a.grace || b.grace {
		return 0
	}
	by, before, step, heights := 0, 0, false, map[int]bool{}
	for i := range a.columns {
		x, y := &a.columns[i], &b.columns[i]
		m, n := x.first(), y.first()
		if !x.lone() || !y.lone() || m.Onset != n.Onset || m.Length != n.Length || m.TieStart || m.TieStop || n.TieStart || n.TieStop {
			return 0
		}
		low := diatonic(m.Pitch)
		d := diatonic(n.Pitch) - low
		if d == 0 || by != 0 && d != by {
			return 0
		}
		by, heights[low] = d, true
		step = step || i > 0 && (low-before == 1 || before-low == 1)
		before = low
	}
	if len(heights) < 3 || !step {
		return 0
	}
	return by
}

// sequence asks what it is called, and at the higher levels how far it moves.
func (s *score) sequence(i int, h references.Hand, by int) []candidate {
	a, b := s.bars[i].Number, s.bars[i+1].Number
	way, steps := "higher", by
	if by < 0 {
		way, steps = "lower", -by
	}
	name := candidate{
		Question: Question{
			Kind: Form, Where: Place{Bar: a, Hand: h.String()}, To: &Place{Bar: b, Hand: h.String()},
			Text:   fmt.Sprintf("In bar %s %s plays the pattern of bar %s again at another pitch. What is this called?", b, s.theHand(h), a),
			Answer: "a sequence", Accepted: []string{"sequence", "melodic sequence", "tonal sequence", "sequential"},
			Because: fmt.Sprintf("In bar %s the pattern of bar %s comes a %s %s: a sequence.", b, a, intervalNumbers[steps], way),
		},
		from: 5, to: 6, about: "sequence", wrong: []string{"a canon", "an inversion", "a cadence"},
	}
	far := name
	far.Text = fmt.Sprintf("In bar %s %s plays the pattern of bar %s again, in sequence. How much higher or lower is it?", b, s.theHand(h), a)
	far.Answer = fmt.Sprintf("a %s %s", intervalNumbers[steps], way)
	far.Accepted = []string{intervalNumbers[steps] + " " + way}
	if steps == 1 {
		up := map[string]string{"higher": "up", "lower": "down"}[way]
		far.Accepted = append(far.Accepted, "step "+way, "one step "+way, "one note "+way, "note "+way, up+" a step", up+" one step", "step "+up, up+" a second", "second "+up)
	}
	far.from, far.to = 7, 8
	opposite := map[string]string{"higher": "lower", "lower": "higher"}[way]
	far.wrong = []string{
		fmt.Sprintf("a %s %s", intervalNumbers[steps], opposite), fmt.Sprintf("a %s %s", intervalNumbers[steps+1], way),
		fmt.Sprintf("a %s %s", intervalNumbers[max(steps-1, 1)], way), "an octave " + way,
	}
	return []candidate{name, far}
}

// cadences asks for the cadence at the end: perfect or plagal, where the last two harmonies are
// complete and plain enough that nobody can hear another.
func cadences(s *score) []candidate {
	k, ok := s.key()
	if !ok {
		return nil
	}
	kind := s.cadence(k)
	if kind == "" {
		return nil
	}
	c := candidate{
		Question: Question{
			Kind: Cadence, Text: "Which cadence ends the piece?", Where: Place{Bar: s.ref.Notes[len(s.ref.Notes)-1].Bar}, Answer: "a " + kind + " cadence",
			Accepted: []string{kind},
		},
		from: 5, to: 8, about: "cadence", wrong: []string{"a perfect cadence", "a plagal cadence", "an imperfect cadence", "an interrupted cadence"},
	}
	if kind == "perfect" {
		c.Accepted = append(c.Accepted, "full cadence", "full close", "perfect authentic cadence", "authentic", "V I", "five one", "dominant to tonic", "V7 I", "V to I", "dominant tonic")
		c.Because = "The last chord is the tonic, and the dominant comes before it (V to I)."
	} else {
		c.Accepted = append(c.Accepted, "amen cadence", "church cadence", "IV I", "IV to I", "four one", "subdominant to tonic", "subdominant tonic")
		c.Because = "The last chord is the tonic, and the subdominant comes before it (IV to I)."
	}
	return []candidate{c}
}

// cadence is "perfect" or "plagal", and "" for anything else.
func (s *score) cadence(k references.Key) string {
	tonic := triad(k.Tonic, k.Minor, true)
	events := s.ref.Events()
	for e := len(events) - 2; e >= 0; e-- {
		chord := s.sounding(events[e])
		switch {
		case !within(chord, tonic):
			return s.before(events, e, k)
		case chord[0].Name != k.Tonic && len(chord) > 1:
			return ""
		}
	}
	return ""
}

// before names the cadence by the harmony before the last tonic, which may be broken: all that sounds
// up to event e in its bar for as long as it is of one chord.
func (s *score) before(events []int, e int, k references.Key) string {
	fifth, fourth := up(k.Tonic, 4, 7), up(k.Tonic, 3, 5)
	for _, h := range []struct {
		kind  string
		root  references.Name
		chord []references.Name
	}{
		{"perfect", fifth, append(triad(fifth, false, false), fourth)},
		{"plagal", fourth, triad(fourth, k.Minor, false)},
	} {
		bar := s.ref.Notes[events[e]].Measure
		var all []references.Pitch
		for i := e; i >= 0 && s.ref.Notes[events[i]].Measure == bar; i-- {
			chord := s.sounding(events[i])
			if !within(chord, h.chord) {
				break
			}
			all = append(all, chord...)
		}
		if len(all) == 0 {
			continue
		}
		bass := slices.MinFunc(all, func(a, b references.Pitch) int { return a.Key() - b.Key() })
		third := slices.ContainsFunc(all, func(p references.Pitch) bool { return p.Name == h.chord[1] })
		if bass.Name == h.root && third {
			return h.kind
		}
	}
	return ""
}
