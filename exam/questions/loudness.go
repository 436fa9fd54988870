package questions

import (
	"fmt"
	"slices"
	"strings"

	"evenhand/references"
)

// degrees are the dynamics by their letters: the Italian words and what they mean.
var degrees = map[string]struct {
	italian, meaning string
	accepted         []string
}{
	"ppp": {"pianississimo", "as quiet as possible", []string{"extremely quiet", "very very quiet", "very very quietly", "extremely quietly"}},
	"pp":  {"pianissimo", "very quiet", []string{"very quietly"}},
	"p":   {"piano", "quiet", []string{"quietly", "play quietly"}},
	"mp":  {"mezzo piano", "moderately quiet", []string{"medium quiet", "half quiet", "fairly quiet", "quite quiet", "moderately quietly", "fairly quietly"}},
	"mf":  {"mezzo forte", "moderately loud", []string{"medium loud", "half loud", "fairly loud", "quite loud", "moderately loudly", "fairly loudly"}},
	"f":   {"forte", "loud", []string{"loudly", "strong", "play loudly"}},
	"ff":  {"fortissimo", "very loud", []string{"very loudly", "very strong"}},
	"fff": {"fortississimo", "as loud as possible", []string{"extremely loud", "very very loud", "extremely loudly"}},
	"sf":  {"sforzando", "suddenly loud: accent this note or chord", sudden},
	"sfz": {"sforzando", "suddenly loud: accent this note or chord", sudden},
	"fz":  {"forzando", "suddenly loud: accent this note or chord", sudden},
	"fp":  {"forte piano", "loud, then at once quiet", []string{"loud then quiet", "loud then immediately quiet", "loud then suddenly quiet", "loud and then quiet"}},
}

var sudden = []string{"suddenly loud", "accent", "accented", "strong accent", "sudden accent", "forced", "forcing", "sforzato", "with sudden force", "suddenly strong"}

// degreeOrder are the dynamics that are said to be quiet or loud, from the softest.
var degreeOrder = []string{"ppp", "pp", "p", "mp", "mf", "f", "ff", "fff"}

// loudness asks what the dynamics mean, each once.
func loudness(s *score) []candidate {
	var out []candidate
	for i := range s.bars {
		b := &s.bars[i]
		for _, d := range b.Directions {
			deg, ok := degrees[d.Text]
			if d.Kind != "dynamics" || !ok || !b.named && i > 0 {
				continue
			}
			c := candidate{
				Question: Question{
					Kind: Loudness, Text: fmt.Sprintf("What does the sign %s %s mean?", d.Text, s.barName(b)), Where: Place{Bar: b.Number}, Answer: deg.meaning,
					Accepted: append([]string{deg.italian}, deg.accepted...), Because: fmt.Sprintf("%s is short for %s, %s.", d.Text, deg.italian, deg.meaning),
				},
				from: 0, to: 5, about: "dynamic " + d.Text,
			}
			for _, w := range nearDegrees(d.Text) {
				c.wrong = append(c.wrong, degrees[w].meaning)
			}
			out = append(out, c)
		}
	}
	return out
}

// nearDegrees are the dynamics that may be taken for one: its opposite first, then its neighbours.
func nearDegrees(text string) []string {
	at := -1
	for i, d := range degreeOrder {
		if d == text {
			at = i
		}
	}
	if at < 0 {
		return []string{"f", "p", "ff", "mf"}
	}
	out := []string{degreeOrder[len(degreeOrder)-1-at]}
	for _, d := range []int{-1, 1, 2, -2} {
		if i := at + d; i >= 0 && i < len(degreeOrder) {
			out = append(out, degreeOrder[i])
		}
	}
	return out
}

// barName is "in bar 5", for a bar that is named or begins the score: then "in the upbeat" where it is one.
func (s *score) barName(b *bar) string {
	switch {
	case b.named:
		return "in bar " + b.Number
	case b.index == 0 && b.Skip.Num() > 0:
		return "in the upbeat"
	}
	return "at the beginning"
}

// hairpins asks what a hairpin tells, one that opens and one that closes, and what becomes of the
// loudness over the bars it stands in.
func hairpins(s *score) []candidate {
	var out []candidate
	for i := range s.bars {
		b := &s.bars[i]
		for j, d := range b.Directions {
			if d.Kind != "wedge" || d.Text != "crescendo" && d.Text != "diminuendo" || !b.named || b.hairpins() != 1 {
				continue
			}
			answer, other, name := "gradually louder", "gradually quieter", "crescendo"
			accepted := []string{"louder", "crescendo", "cresc", "louder and louder", "increasingly loud", "more and more loud", "gradually louder and louder"}
			if d.Text == "diminuendo" {
				answer, other, name = other, answer, "diminuendo (decrescendo)"
				accepted = []string{"quieter", "diminuendo", "decrescendo", "dim", "decresc", "quieter and quieter", "increasingly quiet", "more and more quiet"}
			}
			q := Question{
				Kind: Loudness, Where: Place{Bar: b.Number}, Answer: answer, Accepted: accepted,
				Because: fmt.Sprintf("The sign is a %s: %s; it says nothing of the speed.", name, answer),
			}
			wrong := []string{other, map[string]string{"crescendo": "gradually faster", "diminuendo": "gradually slower"}[d.Text], map[string]string{"crescendo": "suddenly loud", "diminuendo": "suddenly quiet"}[d.Text]}
			to := s.wedgeEnd(i, j)
			if to == nil || !to.named {
				continue
			}
			c := candidate{Question: q, from: 0, to: 5, about: "hairpin " + d.Text, wrong: wrong}
			c.Text = fmt.Sprintf("What does the hairpin that starts in bar %s tell you to do?", b.Number)
			out = append(out, c)
			if to.index > i {
				c.To = &Place{Bar: to.Number}
				c.Text = fmt.Sprintf("What happens to the loudness from bar %s to bar %s?", b.Number, to.Number)
				out = append(out, c)
			}
		}
	}
	return out
}

// hairpins is how many hairpins start in a bar.
func (b *bar) hairpins() int {
	n := 0
	for _, d := range b.Directions {
		if d.Kind == "wedge" && (d.Text == "crescendo" || d.Text == "diminuendo") {
			n++
		}
	}
	return n
}

// wedgeEnd is the bar in which a hairpin ends, nil where another opens before or it is not closed in
// the next eight bars. One that is closed at the start of a bar ends with the bar before.
func (s *score) wedgeEnd(bar, sign int) *bar {
	for i := bar; i < len(s.bars) && i <= bar+8; i++ {
		for j, d := range s.bars[i].Directions {
			if d.Kind != "wedge" || i == bar && j <= sign {
				continue
			}
			if d.Text != "stop" {
				return nil
			}
			if d.At.Num() == 0 && i > bar {
				return &s.bars[i-1]
			}
			return &s.bars[i]
		}
	}
	return nil
}

// level is one dynamic of the levels with its place.
type level struct {
	text string
	bar  *bar
	at   references.Quarters
}

// levels are the dynamics from ppp to fff in the order of the page; false where two different ones
// stand at one place, so that none of them is the piece's.
func (s *score) levels() ([]level, bool) {
	var out []level
	for i := range s.bars {
		b := &s.bars[i]
		for _, d := range b.Directions {
			if d.Kind != "dynamics" {
				continue
			}
			if !slices.Contains(degreeOrder, d.Text) {
				return nil, false
			}
			if n := len(out); n > 0 && out[n-1].bar == b && out[n-1].at == d.At {
				if out[n-1].text != d.Text {
					return nil, false
				}
				continue
			}
			out = append(out, level{d.Text, b, d.At})
		}
	}
	return out, len(out) > 0
}

func rank(text string) int {
	for i, d := range degreeOrder {
		if d == text {
			return i
		}
	}
	return -1
}

// loudestMark asks for the loudest and the softest dynamic of the page.
func loudestMark(s *score) []candidate {
	all, ok := s.levels()
	if !ok {
		return nil
	}
	low, high := all[0], all[0]
	for _, l := range all { // of several, one whose bar can be named
		if rank(l.text) < rank(low.text) || l.text == low.text && l.bar.named && !low.bar.named {
			low = l
		}
		if rank(l.text) > rank(high.text) || l.text == high.text && l.bar.named && !high.bar.named {
			high = l
		}
	}
	if low.text == high.text {
		return nil
	}
	var out []candidate
	for _, e := range []struct {
		what string
		l    level
	}{{"loudest", high}, {"quietest", low}} {
		if !e.l.bar.named && e.l.bar.index > 0 {
			continue
		}
		c := candidate{
			Question: Question{
				Kind: Loudness, Text: fmt.Sprintf("Which is the %s dynamic marked in the piece?", e.what), Where: Place{Bar: e.l.bar.Number}, Answer: e.l.text,
				Accepted: append([]string{degrees[e.l.text].italian, degrees[e.l.text].meaning}, degrees[e.l.text].accepted...),
				Because:  fmt.Sprintf("%s (%s) stands %s, and nothing %s is marked.", e.l.text, degrees[e.l.text].italian, s.barName(e.l.bar), strings.TrimSuffix(e.what, "st")+"r"),
			},
			from: 1, to: 8, about: e.what,
		}
		c.wrong = append(c.wrong, low.text, high.text)
		for _, l := range all {
			c.wrong = append(c.wrong, l.text)
		}
		c.wrong = append(c.wrong, nearDegrees(e.l.text)...)
		out = append(out, c)
	}
	return out
}

// lines asks which dynamics are marked over some bars, in order.
func lines(s *score) []candidate {
	all, ok := s.levels()
	if !ok {
		return nil
	}
	var out []candidate
	for i := range s.bars {
		for _, n := range []int{4, 8} {
			if i+n > len(s.bars) || !s.namedRun(i, n) || s.bars[i].count()%4 != 1 { // as phrases begin most often
				continue
			}
			var texts []string
			for _, l := range all {
				if l.bar.index >= i && l.bar.index < i+n {
					texts = append(texts, l.text)
				}
			}
			if c, ok := s.line(i, n, texts); ok {
				out = append(out, c)
			}
		}
	}
	return out
}

// line asks for two or three different dynamics over some bars.
func (s *score) line(i, n int, texts []string) (candidate, bool) {
	if len(texts) < 2 || len(texts) > 3 {
		return candidate{}, false
	}
	for j := range texts[1:] {
		if texts[j] == texts[j+1] {
			return candidate{}, false
		}
	}
	from, to := &s.bars[i], &s.bars[i+n-1]
	var italian, quieter, louder, back []string
	for _, t := range texts {
		r := rank(t)
		italian = append(italian, degrees[t].italian)
		quieter = append(quieter, degreeOrder[max(r-1, 0)])
		louder = append(louder, degreeOrder[min(r+1, len(degreeOrder)-1)])
		back = append([]string{t}, back...)
	}
	return candidate{
		Question: Question{
			Kind: Loudness, Text: fmt.Sprintf("Which dynamics are marked from bar %s to bar %s, in order?", from.Number, to.Number), Where: Place{Bar: from.Number}, To: &Place{Bar: to.Number},
			Answer: strings.Join(texts, ", "), Accepted: []string{strings.Join(italian, ", ")},
			Because: "They are " + strings.Join(italian, ", then ") + ".",
		},
		from: 1, to: 8, about: "line", wrong: []string{strings.Join(back, ", "), strings.Join(louder, ", "), strings.Join(quieter, ", ")},
	}, true
}

// namedRun reports whether some bars after one another can all be named, by numbers that go up by one.
func (s *score) namedRun(i, n int) bool {
	for j := i; j < i+n; j++ {
		if !s.bars[j].named || j > i && s.bars[j].count() != s.bars[j-1].count()+1 {
			return false
		}
	}
	return true
}
