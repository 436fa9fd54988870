package screen

import (
	"strconv"
	"strings"

	"evenhand/cmd/evenhand/screen/ink"
)

// drawCount writes the beat that is counted, large enough to be followed from the piano.
func (m *Model) drawCount(p *ink.Paper, y int) {
	m.signs.Large(p, 2, y, strconv.Itoa(m.beat.N))
	p.Write(10, y+1, ink.Faint, m.beats())
}

// drawBeat writes the beats of the bar in a corner.
func (m *Model) drawBeat(p *ink.Paper, y int) {
	if m.beat.Of > 0 {
		text := m.beats()
		p.Write(p.Width()-len([]rune(text)), y, ink.Strong, text)
	}
}

// beats are those of the bar, the one that is counted as its number and the others as dots, so that it
// is seen to move.
func (m *Model) beats() string {
	beats := make([]string, m.beat.Of)
	for i := range beats {
		beats[i] = m.signs.Steady
		if i+1 == m.beat.N {
			beats[i] = strconv.Itoa(m.beat.N)
		}
	}
	return strings.Join(beats, " ")
}
