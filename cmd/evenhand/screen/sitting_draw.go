package screen

import (
	"fmt"
	"strings"

	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/exam"
)

// Rows above and below what is asked in an exam.
const (
	sittingTop  = 4
	sittingFoot = 5
)

// View implements tea.Model.
func (m Sitting) View() string {
	return m.view(func(p *ink.Paper) {
		m.drawTop(p)
		switch {
		case m.now.Pause:
			m.signs.Large(p, 2, 2, "A pause")
			m.paragraph(p, 2, 6, ink.Plain, "Everything is kept. The exam goes on where it was, today or another day.")
		case m.verdict != nil || m.now.Phase == exam.Ended:
			m.drawLines(p)
		case m.sheet != nil && m.now.Phase != exam.Before:
			m.drawMusic(p)
		default:
			m.drawAsked(p)
		}
		m.drawFoot(p)
	})
}

// drawTop names the exam, and where it is.
func (m *Sitting) drawTop(p *ink.Paper) {
	s := m.signs
	who := m.now.List
	if m.now.Pupil != "" {
		who += ", " + m.now.Pupil
	}
	where := s.Text(strings.TrimSpace(m.now.Section + "  " + m.now.Round))
	p.Write(0, 0, ink.Faint, s.Text(who))
	p.Write(p.Width()-len([]rune(where)), 0, ink.Faint, where)
}

// drawAsked says what is asked as an examiner does: the first words large where they are short.
func (m *Sitting) drawAsked(p *ink.Paper) {
	s := m.signs
	y := 2
	switch m.now.Phase {
	case exam.Answering, exam.Offered, exam.Alone:
		y = m.paragraph(p, 2, y+1, ink.Strong, m.now.Words)
	default:
		first, rest := cut(s.Text(m.now.Words))
		y += s.Large(p, 2, y, first) + 1
		for _, line := range rest {
			y = m.paragraph(p, 2, y, ink.Strong, line)
		}
	}
	y++
	for i, c := range m.now.Choices {
		p.Write(4, y, ink.Plain, fmt.Sprint(i+1))
		y = m.paragraph(p, 7, y, ink.Strong, c)
	}
	if len(m.now.Choices) > 0 {
		y++
	}
	for _, line := range m.now.More {
		y = m.paragraph(p, 2, y, ink.Plain, line)
	}
	m.paragraph(p, 2, y+1, ink.Plain, m.doing())
	if m.heard() && m.now.Phase == exam.Playing {
		p.Write(2, y+3, ink.Faint, m.names())
	}
}

// drawMusic shows music to be read, the line being played where it is long.
func (m *Sitting) drawMusic(p *ink.Paper) {
	y := m.paragraph(p, 0, 1, ink.Strong, m.now.Words)
	p.Write(0, y, ink.Plain, m.signs.Text(m.doing()))
	music := m.sheet.draw(systemOf(m.pieces, m.at))
	p.Paste(0, y+1, music)
	y += music.Height() + 2
	for i, c := range m.now.Choices {
		p.Write(4, y, ink.Plain, fmt.Sprint(i+1))
		y = m.paragraph(p, 7, y, ink.Strong, c)
	}
	for _, line := range m.now.More {
		y = m.paragraph(p, 2, y, ink.Faint, line)
	}
}

// doing says what the exam does just now.
func (m *Sitting) doing() string {
	playing := m.now.Phase == exam.Playing
	switch {
	case m.over:
		return "Thank you."
	case m.began:
		return "Listening."
	case (playing || m.now.Phase == exam.Looking) && !m.piano.There && m.piano.Said != "":
		return m.piano.Said
	case m.now.Phase == exam.Looking && m.left > 0:
		return fmt.Sprintf("Look at it; you may try any of it. %d seconds.", m.left)
	case playing:
		return "Play when you are ready."
	case m.now.Sounds:
		return "Listen."
	}
	return ""
}

// names are the keys that were tried.
func (m *Sitting) names() string {
	var all []string
	for _, k := range m.touched[max(0, len(m.touched)-12):] {
		all = append(all, m.signs.Text(plainName(k)))
	}
	return "heard: " + strings.Join(all, " ")
}

// lines are those of a page that is read: the verdict that was asked for, or the mark sheet.
func (m *Sitting) lines() []string {
	if m.verdict != nil {
		return m.verdict
	}
	return m.now.Sheet
}

func (m *Sitting) roomForLines() int { return m.height - 2 - sittingFoot }

func (m *Sitting) drawLines(p *ink.Paper) {
	lines := m.lines()
	from := min(m.scroll, max(0, len(lines)-1))
	for i, line := range lines[from:min(len(lines), from+m.roomForLines())] {
		p.Write(0, 2+i, ink.Plain, m.signs.Text(line))
	}
	if len(lines) > m.roomForLines() {
		more := fmt.Sprintf("up and down: lines %d to %d of %d", from+1, min(len(lines), from+m.roomForLines()), len(lines))
		p.Write(0, p.Height()-sittingFoot+1, ink.Faint, more)
	}
}

// drawFoot draws the keys, and above them what has to be said or the line being typed.
func (m *Sitting) drawFoot(p *ink.Paper) {
	s := m.signs
	if m.asking != GoOn {
		y := p.Height() - 3
		x := p.Write(0, y, ink.Plain, s.Text(m.prompt()+" "))
		room := max(10, p.Width()-x-1)
		shown := m.line[max(0, len(m.line)-room):]
		x = p.Write(x, y, ink.Strong, s.Text(string(shown)))
		p.Write(x, y, ink.Plain, "_")
		p.Write(0, y+1, ink.Faint, m.typingHelp())
		return
	}
	rows := m.help(p)
	if m.notice != "" {
		lines := fold(s.Text(m.notice), p.Width())
		for i, line := range lines[:min(2, len(lines))] {
			p.Write(0, p.Height()-rows-min(2, len(lines))+i, ink.Strong, line)
		}
	} else if c := m.controls(); c != "" {
		p.Write(0, p.Height()-rows-1, ink.Faint, c)
	}
}

// controls are those of the piano's own keyboard on this page.
func (m *Sitting) controls() string {
	switch {
	case !m.piano.There || m.now.Pause:
	case m.now.Phase == exam.Playing:
		return "on the piano: lowest key twice, restart; highest key twice, finished"
	case m.now.Phase == exam.Before || m.now.Phase == exam.Looking || m.now.Phase == exam.Alone:
		return "on the piano: highest key twice, ready"
	case m.now.Phase == exam.Offered:
		return "on the piano: lowest key twice, ask again; highest key twice, go on"
	}
	return ""
}

func (m *Sitting) prompt() string {
	about := ""
	if m.target < len(m.now.Parts) {
		about = m.now.Parts[m.target]
	}
	switch m.asking {
	case Say:
		return "Words on " + about + ":"
	case Mark:
		return "Mark (0 to 100) for " + about + ":"
	case AskPart:
		return "Ask again for " + about + "?"
	case Sign:
		return "The teacher's name:"
	}
	return "Answer:"
}

func (m *Sitting) typingHelp() string {
	switch m.asking {
	case Say, Mark, AskPart:
		return "enter, done   up and down, another part   esc, leave it"
	}
	return "enter, done   esc, leave it"
}
