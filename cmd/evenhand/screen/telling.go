package screen

import (
	"fmt"
	"strings"

	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/references"
	"evenhand/scoring"
)

// The pages of a verdict: first what the player wants to know, then more and more for the teacher.
const (
	inWords = iota
	inNotes
	inTime
	inFigures
	leavesInAll
)

var leafNames = [leavesInAll]string{"in words", "in notes", "in time", "in figures"}

// turn turns the pages of the verdict: over the parts of long music too, where a page has them.
func (m *Model) turn(by int) {
	if m.page != telling {
		return
	}
	if part := m.part + by; (m.leaf == inNotes || m.leaf == inTime) && part >= 0 && part < len(m.pieces) {
		m.part = part
		return
	}
	leaf := m.leaf + by
	if leaf < 0 || leaf >= leavesInAll {
		return
	}
	m.leaf, m.part = leaf, 0
	m.lay()
	if by < 0 && (leaf == inNotes || leaf == inTime) {
		m.part = len(m.pieces) - 1
	}
}

// toldRows is how many rows of a page of the verdict the music has. In the words it has what they
// leave free.
func (m *Model) toldRows() int {
	return max(6, m.height-topRows-1-restRows)
}

func (m *Model) drawTelling(p *ink.Paper) {
	m.top(p)
	if m.told.Assessment == nil || m.told.Alignment == nil {
		m.paragraph(p, 2, 3, ink.Strong, m.told.Fault)
		return
	}
	m.drawLeafNames(p)
	switch m.leaf {
	case inWords:
		m.drawWords(p)
	case inNotes:
		p.Paste(0, topRows+1, m.sheet.draw(&m.pieces[m.part]))
	case inTime:
		m.drawTime(p)
	case inFigures:
		m.drawFigures(p)
	}
}

// drawLeafNames names the pages in the second row, the open one in brackets.
func (m *Model) drawLeafNames(p *ink.Paper) {
	if !m.piano.There && m.piano.Said != "" {
		return
	}
	x := 0
	for i, name := range leafNames {
		text, style := " "+name+" ", ink.Faint
		if i == m.leaf {
			text, style = "["+name+"]", ink.Plain
		}
		x = p.Write(x, 1, style, text) + 1
	}
	if (m.leaf == inNotes || m.leaf == inTime) && len(m.pieces) > 1 {
		p.Write(x+1, 1, ink.Faint, fmt.Sprintf("part %d of %d", m.part+1, len(m.pieces)))
	}
}

// drawWords says one thing first, then the marks, then at most four more; under it, where there is room,
// the music, or of long music the first line with something amiss.
func (m *Model) drawWords(p *ink.Paper) {
	a := m.told.Assessment
	y := 3
	remarks := a.Remarks
	if len(remarks) > 0 {
		y = m.paragraph(p, 2, y, ink.Strong, remarks[0])
		remarks = remarks[1:]
	}
	y++
	p.Write(2, y, ink.Plain, marksText(a.Marks))
	y++
	for _, r := range m.before() {
		p.Write(2, y, ink.Faint, r)
		y++
	}
	y++
	for _, r := range remarks {
		p.Write(2, y, ink.Pencil, "-")
		y = m.paragraph(p, 4, y, ink.Plain, r)
	}
	if m.told.Fault != "" {
		y = m.paragraph(p, 2, y+1, ink.Pencil, m.told.Fault)
	}
	if room := p.Height() - restRows - y - 2; room >= m.leastMusic() {
		p.Paste(0, y+1, m.sheet.draw(systemOf(m.cut(room), m.sheet.trouble())))
	}
}

func (m *Model) leastMusic() int { return 9 * len(hands(m.sheet.ref)) }

func marksText(m scoring.Marks) string {
	show := func(name string, v *int) string {
		if v == nil {
			return name + " -"
		}
		return fmt.Sprintf("%s %d", name, *v)
	}
	if m.Overall == nil && m.Notes == nil {
		return "No marks."
	}
	return strings.Join([]string{show("notes", m.Notes), show("time", m.Time), show("sound", m.Sound)}, "   ") + "   of 100, for practice only"
}

// before compares with the last tries at the same.
func (m *Model) before() []string {
	const most = 5
	tries := m.tries[max(0, len(m.tries)-most):]
	if len(tries) < 2 {
		return nil
	}
	part := func(of func(scoring.Marks) *int) string {
		var all []string
		for _, a := range tries {
			if v := of(a.Marks); v != nil {
				all = append(all, fmt.Sprint(*v))
			} else {
				all = append(all, "-")
			}
		}
		return strings.Join(all, ", ")
	}
	return []string{fmt.Sprintf("the last %d tries: notes %s; time %s; sound %s", len(tries),
		part(func(m scoring.Marks) *int { return m.Notes }),
		part(func(m scoring.Marks) *int { return m.Time }),
		part(func(m scoring.Marks) *int { return m.Sound }))}
}

// drawTime shows each hand's steps against those around them: late above the line, early below, a row
// for each time what is audible; under them names, usual fingers and where the thumb crosses.
func (m *Model) drawTime(p *ink.Paper) {
	s, sys := m.sheet, &m.pieces[m.part]
	limits := &m.told.Assessment.Settings.Limits
	y := topRows + 1
	up := 2
	if p.Height() < 24 {
		up = 1
	}
	for _, h := range hands(s.ref) {
		t := traceOf(s.written, h)
		line := y + up
		p.Write(0, line, ink.Faint, pad(h.String(), margin)+strings.Repeat(m.signs.Line, min(p.Width()-margin, sys.x(sys.to)-margin)))
		p.Write(0, y, ink.Faint, "late")
		p.Write(0, line+up, ink.Faint, "early")
		p.Write(0, line+up+2, ink.Faint, "finger")
		p.Write(0, line+up+3, ink.Faint, "thumb")
		var prev *references.Note
		for e := sys.from; e < sys.to; e++ {
			for i := s.first[e]; i < s.first[e+1]; i++ {
				n := &s.ref.Notes[i]
				if !belongs(n, h) {
					continue
				}
				x := sys.x(e)
				m.drawStep(p, x, line, up, t, e, limits)
				p.Write(x, line+up+1, ink.Strong, s.name(s.pitch(i)))
				if f := n.Fingering(h); f > 0 {
					p.Write(x, line+up+2, ink.Plain, fmt.Sprint(f))
				}
				if prev != nil {
					switch references.CrossingAt(prev, n, h) {
					case references.ThumbUnder:
						p.Write(x, line+up+3, ink.Pencil, "u")
					case references.FingerOver:
						p.Write(x, line+up+3, ink.Pencil, "o")
					}
				}
				prev = n
				break
			}
		}
		y = line + up + 5
	}
	if y < p.Height()-restRows {
		p.Write(0, y, ink.Faint, "A row is what can just be heard. u: thumb under, o: over it, usual fingers.")
	}
}

// drawStep draws how late one step came.
func (m *Model) drawStep(p *ink.Paper, x, line, up int, t *trace, e int, limits *scoring.Limits) {
	if !m.sheet.heard(e) {
		return
	}
	off := int(t.off(m.sheet.written, e, limits))
	switch {
	case t.stopped(m.sheet.written, e):
		for r := -up; r <= up; r++ {
			p.Write(x, line+r, ink.Pencil, m.signs.Bar)
		}
	case off == 0:
		p.Write(x, line, ink.Plain, m.signs.Dot)
	default:
		p.Write(x, line-min(max(off, -up), up), ink.Pencil, m.signs.Dot)
	}
}

func pad(s string, width int) string { return s + strings.Repeat(" ", max(0, width-len([]rune(s)))) }

// drawFigures lists what was measured.
func (m *Model) drawFigures(p *ink.Paper) {
	const column = 10
	y := topRows + 1
	for _, f := range m.told.Facts {
		p.Write(0, y, ink.Faint, f[0])
		y = m.paragraph(p, column, y, ink.Plain, f[1])
	}
	if m.told.Path != "" {
		p.Write(0, y, ink.Faint, "kept as")
		m.paragraph(p, column, y, ink.Plain, m.told.Path)
	}
}
