package screen

import (
	"strings"

	"evenhand/cmd/evenhand/screen/ink"
)

// Rows of the playing page that are not music: two above, the traces and the keys below.
const (
	topRows    = 2
	traceRows  = 3
	footRows   = 1
	restRows   = 2  // below, where the piano's own keys are named too
	tallHeight = 34 // from here on loudness has rows of its own
	tallTraces = 7
)

func (m *Model) traceRows() int {
	if m.height >= tallHeight {
		return tallTraces
	}
	return traceRows
}

// sheetRows is how many rows of a page the music has.
func (m *Model) sheetRows() int {
	switch m.page {
	case telling:
		return m.toldRows()
	case asking:
		return max(6, m.height-topRows-restRows)
	}
	return max(6, m.height-topRows-m.traceRows()-footRows)
}

// drawPlaying shows the system being played, and the traces under it.
func (m *Model) drawPlaying(p *ink.Paper) {
	m.top(p)
	sys := m.piece(m.at)
	music := m.sheet.draw(sys)
	y := topRows
	room := p.Height() - topRows - m.traceRows() - footRows
	if spare := room - music.Height(); spare > 1 {
		y += spare / 2
	}
	p.Paste(0, y, music)
	if len(m.pieces) > 1 {
		m.drawProgress(p, 1)
	}
	m.sheet.drawTraces(p, p.Height()-footRows-m.traceRows(), m.traceRows(), sys, &m.asked.Settings)
	m.drawBeat(p, 1)
	if m.marking {
		p.Write(0, 1, ink.Plain, "Listening is over: looking at it again as a whole.")
	}
}

// drawProgress writes in one row which parts of the music are done, with a tick each, which is being
// played, by name, and which are to come.
func (m *Model) drawProgress(p *ink.Paper, y int) {
	if !m.piano.There && m.piano.Said != "" {
		return
	}
	var parts []string
	for i := range m.pieces {
		s := &m.pieces[i]
		name := m.sheet.ref.Notes[m.sheet.first[s.from]].Bar
		if len(m.sheet.ref.Bars) == 0 {
			name = m.sheet.name(m.sheet.pitch(m.sheet.first[s.from]))
		}
		switch {
		case m.at >= s.to:
			name += m.signs.Tick
		case m.at >= s.from:
			name = "[" + name + "]"
		}
		parts = append(parts, name)
	}
	what := "lines from "
	if len(m.sheet.ref.Bars) > 0 {
		what = "lines from bar "
	}
	p.Write(p.Write(0, y, ink.Faint, what), y, ink.Plain, strings.Join(parts, "  "))
}
