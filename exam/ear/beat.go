package ear

import "evenhand/references"

// beat makes a melody to tap to, heard twice. From level 1 on the first beats are to be stressed.
func (it *Item) beat(l *lot) {
	t := compose(l, it.Level, scopes[it.Level].meters, func(m references.Meter) int {
		switch {
		case m == fourFour && it.Level < 3:
			return 4
		case m == threeFour && it.Level >= 3 && l.chance(25):
			return 6
		}
		return 8
	})
	it.Stress = it.Level >= 1
	it.Ask = "Listen to a melody. When it is played again, tap its beat on any key or on the space bar."
	if it.Stress {
		it.Ask = "Listen to a melody. When it is played again, tap its beat on any key, the first beat of each bar louder. The space bar will do for the beat alone."
	}
	it.Melody = t.reference(t.title())
	second := t.hearing("Tap from the first note on.")
	second.Taps = true
	it.Hearings = []Hearing{t.hearing("Listen."), second}
}
