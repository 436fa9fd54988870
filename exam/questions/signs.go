package questions

import (
	"fmt"
)

// mark is a sign over or under a note: how it looks, what it is called and what it asks for.
type mark struct {
	looks    string
	name     string // with its article
	meaning  string
	accepted []string
	from, to int
}

// marks are the signs by their names in MusicXML. Common practice; either usage of "mordent" is
// right, since the sign with the stroke and the one without have both been called so.
var marks = map[string]mark{
	"staccato":      {"the dot over or under", "staccato", "play the note short and detached", []string{"staccato dot", "short", "short and detached", "detached", "play it short", "note short"}, 0, 8},
	"accent":        {"the sign like a small hairpin over or under", "an accent", "play the note with more force", []string{"accent", "accented", "stressed", "louder", "stronger", "with emphasis", "emphasise note", "emphasize note", "play it louder", "with force"}, 1, 8},
	"strong-accent": {"the small wedge open at one end over or under", "a strong accent", "play the note with much force", []string{"marcato", "strong accent", "accent", "martellato", "stressed", "louder"}, 4, 8},
	"tenuto":        {"the short line over or under", "tenuto", "hold the note for its full length", []string{"tenuto line", "hold it for its full length", "full length", "full value", "hold for full value", "held", "sustained", "lean on note", "slight stress"}, 2, 8},
	"staccatissimo": {"the small wedge filled in over or under", "staccatissimo", "play the note very short", []string{"very short", "very short and detached", "extra short", "staccatissimo wedge"}, 5, 8},
	"fermata":       {"the arc with a dot over or under", "a fermata (pause)", "hold the note for longer than written", []string{"fermata", "pause", "pause sign", "hold", "hold note", "note held", "held", "held note", "hold it", "hold note longer", "hold it longer", "longer", "wait", "pause on note", "hold on"}, 1, 8},
	"trill-mark":    {"the letters tr over", "a trill", "go quickly to and fro between the note and the one above", []string{"trill", "shake", "trill note"}, 2, 8},
	"turn":          {"the sign like an S on its side over", "a turn", "play the note above, the note, the note below and the note again", []string{"turn", "gruppetto"}, 3, 8},
	"mordent":       {"the short wavy line with a stroke through it over", "a mordent", "go quickly to the note below and back", []string{"mordent", "lower mordent", "inverted mordent"}, 3, 8},
	"inverted-mordent": {"the short wavy line with no stroke through it over", "an upper mordent", "go quickly to the note above and back", []string{
		"upper mordent", "mordent", "inverted mordent", "short trill", "pralltriller", "schneller",
	}, 3, 8},
	"arpeggiate": {"the upright wavy line before", "arpeggio", "spread the chord, one note after another from the bottom", []string{"arpeggiated", "spread chord", "spread", "broken chord", "rolled chord", "roll", "arpeggiando", "spread notes"}, 3, 8},
}

// asked is the right answer on a mark, with its name and its meaning.
func (m mark) asked() string { return m.name + ": " + m.meaning }

// confusable are the marks that may be taken for one, by sort of sign.
var confusable = map[string][]string{
	"staccato": {"tenuto", "accent", "fermata"}, "accent": {"tenuto", "staccato", "fermata"}, "strong-accent": {"staccato", "tenuto", "fermata"},
	"tenuto": {"staccato", "accent", "fermata"}, "staccatissimo": {"tenuto", "fermata", "trill-mark"}, "fermata": {"staccato", "turn", "accent"},
	"trill-mark": {"turn", "fermata", "arpeggiate"}, "turn": {"trill-mark", "fermata", "arpeggiate"}, "mordent": {"trill-mark", "turn", "arpeggiate"},
	"inverted-mordent": {"turn", "arpeggiate", "fermata"}, "arpeggiate": {"trill-mark", "turn", "staccato"},
}

// noteSigns asks what the signs at notes are called or mean, where a note has just one.
func noteSigns(s *score) []candidate {
	var out []candidate
	s.spots(func(p spot) {
		n := p.first()
		if p.rest() || n.TieStop || p.staves[p.hand].grace {
			return
		}
		what, noun := p.onlyMark()
		m, ok := marks[what]
		if !ok || what == "staccato" && p.slur || what == "arpeggiate" && len(p.notes) < 2 {
			return
		}
		where := fmt.Sprintf("In bar %s%s, ", p.Number, s.inHand(p.hand))
		c := candidate{
			Question: Question{
				Kind: Sign, Text: where + "what does " + m.looks + " the " + noun + " on " + p.bar.beatName(p.beat) + " mean?", Where: p.bar.place(n), Answer: m.asked(),
				Accepted: append([]string{m.name, m.meaning}, m.accepted...), Because: "The sign is " + m.name + ": " + m.meaning + ".",
			},
			from: m.from, to: m.to, about: "sign " + what,
		}
		for _, w := range confusable[what] {
			c.wrong = append(c.wrong, marks[w].asked())
		}
		out = append(out, c)
	})
	return append(out, curves(s)...)
}

// onlyMark is the one mark of a note or chord, "" where it has none or several, and what it stands at.
func (c *column) onlyMark() (what, noun string) {
	for _, n := range c.notes {
		for _, m := range n.Marks {
			if what != "" && what != m {
				return "", ""
			}
			what = m
		}
	}
	if noun = "note"; len(c.notes) > 1 {
		noun = "chord"
	}
	return what, noun
}

const (
	tieAnswer  = "a tie: hold the note, do not strike it again"
	slurAnswer = "a slur: join the notes smoothly"
)

// curves asks whether a curved line is a tie or a slur.
func curves(s *score) []candidate {
	var out []candidate
	s.spots(func(p spot) {
		n, next := p.first(), s.after(p)
		if !p.lone() || next == nil || !next.lone() || n.TieStart == n.SlurStart || n.SlurStop || n.TieStop || p.staves[p.hand].grace {
			return
		}
		c := candidate{
			Question: Question{
				Kind: Sign, Where: p.bar.place(n),
				Text:    fmt.Sprintf("In bar %s%s, a curved line starts at the note on %s. What is it?", p.Number, s.inHand(p.hand), p.bar.beatName(p.beat)),
				Answer:  slurAnswer,
				Because: "The line joins notes of different pitch, so it is a slur; a tie joins two notes of the same pitch.",
				Accepted: []string{
					"slur", "a slur", "legato", "join notes smoothly", "smooth", "smoothly", "phrase mark", "phrase", "phrasing slur", "legato slur", "play smoothly", "joined smoothly",
				},
			},
			from: 1, to: 6, about: "slur",
			wrong: []string{tieAnswer, "a fermata (pause): hold the note for longer than written", "a crescendo: play gradually louder"},
		}
		switch {
		case n.TieStart && next.first().TieStop && next.first().Pitch == n.Pitch:
			c.Answer, c.about, c.wrong[0] = tieAnswer, "tie", slurAnswer
			c.Because = "The line joins two notes of the same pitch, so it is a tie; a slur joins notes of different pitch."
			c.Accepted = []string{
				"tie", "a tie", "tied", "tied note", "tied notes", "hold note", "hold it", "held", "held on", "hold note do not strike it again", "hold note on", "one long note",
			}
		case n.TieStart || next.first().Pitch == n.Pitch:
			return
		}
		out = append(out, c)
	})
	return out
}

// accidentals asks what an accidental before a note does.
func accidentals(s *score) []candidate {
	does := map[string]string{
		"sharp": "a sharp: a semitone higher", "flat": "a flat: a semitone lower", "natural": "a natural: neither sharp nor flat", "double-sharp": "a double sharp: two semitones higher",
	}
	words := map[string][]string{
		"sharp":        {"sharp", "raise note semitone", "raises note semitone", "semitone higher", "half tone higher", "semitone up", "higher"},
		"flat":         {"flat", "lower note semitone", "lowers note semitone", "semitone lower", "half tone lower", "semitone down", "lower"},
		"natural":      {"natural", "neither sharp nor flat", "cancels sharp or flat", "takes sharp or flat away", "cancels sharp", "cancels flat"},
		"double-sharp": {"double sharp", "two semitones higher", "tone higher", "whole tone higher"},
	}
	var out []candidate
	s.spots(func(p spot) {
		n := p.first()
		if !p.lone() || does[n.Accidental] == "" || n.Accidental == "double-sharp" && s.level < 5 {
			return
		}
		where, note := s.say(p)
		c := candidate{
			Question: Question{
				Kind: Sign, Text: where + "what is the sign before " + note + ", and what does it do?", Where: p.bar.place(n), Answer: does[n.Accidental], Accepted: words[n.Accidental],
				Because: fmt.Sprintf("It makes the note %s, to the end of the bar.", n.Pitch.Words()),
			},
			from: 0, to: 3, about: "accidental " + n.Accidental,
		}
		for _, w := range []string{"sharp", "flat", "natural", "double-sharp"} {
			c.wrong = append(c.wrong, does[w])
		}
		out = append(out, c)
	})
	return out
}

// barSigns asks for what sends the player back or on, and for the pedal.
func barSigns(s *score) []candidate {
	var out []candidate
	for i := range s.bars {
		b := &s.bars[i]
		if !b.named {
			continue
		}
		if b.Signs.RepeatEnd > 0 && b.Signs.Endings == "" {
			out = append(out, s.repeat(b))
		}
		if b.Signs.EndingStarts && b.Signs.Endings == "1" {
			out = append(out, s.endings(b))
		}
		for _, d := range b.Directions {
			if d.Kind == "pedal" && d.Text == "start" {
				out = append(out, pedal(b))
			}
		}
	}
	return out
}

func pedal(b *bar) candidate {
	return candidate{
		Question: Question{
			Kind: Sign, Text: fmt.Sprintf("What does the pedal sign in bar %s ask for?", b.Number), Where: Place{Bar: b.Number}, Answer: "press the right (sustaining) pedal",
			Accepted: []string{
				"press right pedal", "right pedal", "sustaining pedal", "sustain pedal", "damper pedal", "press sustaining pedal", "press sustain pedal", "press damper pedal", "press pedal",
				"pedal down", "put pedal down", "use pedal", "use right pedal", "hold pedal down", "right foot pedal",
			},
			Because: "The sign is for the right pedal, which lifts the dampers so that the strings ring on.",
		},
		from: 2, to: 6, about: "pedal", wrong: []string{"press the left (soft) pedal", "let the right pedal go", "play without pedal"},
	}
}

// repeat asks what a repeat sign sends the player back to.
func (s *score) repeat(b *bar) candidate {
	back := "from the beginning"
	for i := b.index; i >= 0; i-- {
		if i < b.index && (s.bars[i].Signs.RepeatEnd > 0 || s.bars[i].Signs.Final) {
			back = "from after the sign before"
			break
		}
		if s.bars[i].Signs.RepeatStart {
			if back = "from the other repeat sign"; s.bars[i].named {
				back = "from bar " + s.bars[i].Number
			}
			break
		}
	}
	return candidate{
		Question: Question{
			Kind: Sign, Text: fmt.Sprintf("What do the two dots at the double bar line at the end of bar %s mean?", b.Number), Where: Place{Bar: b.Number}, Answer: "repeat: play again " + back,
			Accepted: []string{
				"repeat", "a repeat", "repeat sign", "repeat it", "go back", "play it again", "play again", "play twice", "go back and play again", "repeat section", "repeat passage", "repeat " + back, "go back and repeat", "play again " + back,
			},
			Because: "The sign is a repeat: what comes before it is played again " + back + ".",
		},
		from: 0, to: 5, about: "repeat", wrong: []string{"the end: stop here", "play only the last bar again", "wait here for two beats"},
	}
}

// endings asks what first and second time bars are.
func (s *score) endings(b *bar) candidate {
	return candidate{
		Question: Question{
			Kind: Sign, Text: fmt.Sprintf("What does the bracket with a 1 over bar %s mean?", b.Number), Where: Place{Bar: b.Number}, Answer: "play it the first time only",
			Accepted: []string{
				"first time bar", "first time", "first ending", "first time only", "play it first time", "play this first time", "first time bars", "play only first time", "1st time bar", "1st time", "1st ending",
				"play first time then skip it", "leave it out second time",
			},
			Because: "It is a first time bar: on the repeat it is left out, and the bar with the 2 is played instead.",
		},
		from: 2, to: 6, about: "endings", wrong: []string{"play it with the thumb", "play it once more", "play it the second time only"},
	}
}
