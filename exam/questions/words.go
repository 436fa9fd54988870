package questions

import (
	"fmt"
	"regexp"
)

// terms asks what the words in the score mean, each once: those that the glossary has.
func terms(s *score) []candidate {
	var out []candidate
	for i := range s.bars {
		b := &s.bars[i]
		if !b.named && i > 0 {
			continue
		}
		for _, d := range b.Directions {
			if d.Kind != "words" {
				continue
			}
			for _, f := range inWords(d.Text) {
				out = append(out, s.term(b, f, d.Text))
			}
		}
	}
	return out
}

// term asks for one word or phrase of a direction.
func (s *score) term(b *bar, f found, all string) candidate {
	e := f.entry
	kind := Term
	if e.Class == "tempo" || e.Class == "speed" {
		kind = Tempo
	}
	text := fmt.Sprintf("What does %q %s mean?", f.text, s.barName(b))
	if plain(f.text) != plain(all) {
		text = fmt.Sprintf("What does the word %q mean in %q %s?", f.text, all, s.barName(b))
	}
	c := candidate{
		Question: Question{
			Kind: kind, Text: text, Where: Place{Bar: b.Number}, Answer: e.Meaning, Accepted: e.Accepted,
			Because: fmt.Sprintf("%s (%s) means: %s.", upper(e.Term), e.Language, e.Meaning),
		},
		from: e.level(), to: 8, about: "term " + e.Group,
	}
	c.wrong = e.confusions()
	return c
}

// slowing asks in which bar the music begins to slow down or to go faster, where it does so once.
func slowing(s *score) []candidate {
	var out []candidate
	for _, group := range []string{"slower", "faster"} {
		var at []*bar
		unclear := false
		for i := range s.bars {
			b := &s.bars[i]
			for _, d := range b.Directions {
				if d.Kind != "words" {
					continue
				}
				for _, f := range inWords(d.Text) {
					switch f.entry.Group {
					case group:
						if len(at) == 0 || at[len(at)-1] != b {
							at = append(at, b)
						}
					case "held back", "slower and quieter", "slower and louder", "more moved", "less moved":
						unclear = true
					}
				}
			}
		}
		if len(at) != 1 || !at[0].named || unclear {
			continue
		}
		out = append(out, s.slow(at[0], group))
	}
	return out
}

// slow asks for the one bar in which a change of tempo begins.
func (s *score) slow(b *bar, group string) candidate {
	does := map[string]string{"slower": "slow down", "faster": "go faster"}[group]
	c := candidate{
		Question: Question{
			Kind: Tempo, Text: fmt.Sprintf("In which bar does the music begin to %s?", does), Where: Place{Bar: b.Number}, Answer: "bar " + b.Number,
			Accepted: []string{b.Number, "in bar " + b.Number}, Because: fmt.Sprintf("The word for it stands in bar %s.", b.Number),
		},
		from: 1, to: 5, about: "begins " + group,
	}
	for _, d := range []int{-4, -8, 4, -2, 2, -1, 1, -3} {
		if j := b.index + d; j >= 0 && j < len(s.bars) && s.bars[j].named {
			c.wrong = append(c.wrong, "bar "+s.bars[j].Number)
		}
	}
	return c
}

// metronome is a mark that says one figure: "quarter = 60", "quarter. = 60".
var metronome = regexp.MustCompile(`^([a-z0-9]+)(\.?) = ([0-9]{2,3})$`)

// metronomeUnits are the note values of metronome marks, by their names in MusicXML.
var metronomeUnits = map[string]string{"half": "minim", "quarter": "crotchet", "eighth": "quaver", "16th": "semiquaver"}

// tempos asks what the first metronome mark means.
func tempos(s *score) []candidate {
	for i := range s.bars {
		b := &s.bars[i]
		for _, d := range b.Directions {
			m := metronome.FindStringSubmatch(d.Text)
			if d.Kind != "metronome" || m == nil || metronomeUnits[m[1]] == "" || !b.named && i > 0 {
				continue
			}
			unit := metronomeUnits[m[1]]
			if m[2] != "" {
				unit = "dotted " + unit
			}
			return []candidate{s.mark(b, unit, m[3])}
		}
	}
	return nil
}

func (s *score) mark(b *bar, unit, figure string) candidate {
	per := func(figure, unit, time string) string { return fmt.Sprintf("%s %ss in a %s", figure, unit, time) }
	c := candidate{
		Question: Question{
			Kind: Tempo, Text: fmt.Sprintf("What does the figure %s after the %s %s mean?", figure, unit, s.barName(b)), Where: Place{Bar: b.Number}, Answer: per(figure, unit, "minute"),
			Because: fmt.Sprintf("A metronome set to %s beats once for each %s.", figure, unit),
		},
		from: 2, to: 6, about: "metronome", wrong: []string{per(figure, unit, "bar"), figure + " bars in a minute", "the piece is " + figure + " bars long"},
	}
	for _, noun := range []string{unit + "s", unit + " beats", "beats"} {
		for _, time := range []string{"in a minute", "a minute", "per minute", "in one minute", "each minute", "every minute"} {
			c.Accepted = append(c.Accepted, figure+" "+noun+" "+time)
		}
	}
	c.Accepted = append(c.Accepted, figure+" bpm")
	return c
}
