package ear

import (
	"fmt"

	"evenhand/references"
)

// echo makes a phrase to play back, heard twice: two bars up to level 4, four above. Its first note is
// named up to level 5.
func (it *Item) echo(l *lot) {
	bars := 2
	if it.Level > 4 {
		bars = 4
	}
	t := compose(l, it.Level, echoMeters(it.Level), func(references.Meter) int { return bars })
	it.Ask = "Listen to a phrase, twice. Then play it back."
	if it.Level <= 5 {
		it.Ask += fmt.Sprintf(" It begins on %s.", t.pitches[0].Words())
	}
	it.Melody = t.reference(t.title())
	second := t.hearing("Once more. Then play.")
	second.Plays = true
	it.Hearings = []Hearing{t.hearing("Listen."), second}
}

// echoMeters are those in which two bars are a phrase worth playing; 2/4 is too short.
func echoMeters(level int) []references.Meter { return without(scopes[level].meters, twoFour) }

func without(meters []references.Meter, not references.Meter) []references.Meter {
	var out []references.Meter
	for _, m := range meters {
		if m != not {
			out = append(out, m)
		}
	}
	return out
}
