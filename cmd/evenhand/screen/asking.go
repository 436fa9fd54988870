package screen

import (
	"strings"
	"unicode"
	"unicode/utf8"

	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/references"
)

// drawAsking asks: the first words large, the rest below, and what the piano is. Where the notes and
// fingers are wanted, they have the page.
func (m *Model) drawAsking(p *ink.Paper) {
	s := m.signs
	if m.fingers && m.sheet != nil {
		m.top(p)
		p.Paste(0, topRows, m.sheet.draw(m.piece(m.at)))
		return
	}
	if r := m.asked.Round; r != "" {
		p.Write(p.Width()-len(r), 0, ink.Faint, r)
	}
	first, rest := cut(s.Text(m.asked.Words))
	y := 1 + s.Large(p, 2, 1, first)
	y++
	for _, line := range rest {
		y = m.paragraph(p, 2, y, ink.Strong, line)
	}
	if m.beat.Of > 0 {
		m.drawCount(p, y+1)
	} else {
		m.drawPiano(p, y+1)
	}
	m.drawTouch(p, max(y+4, p.Height()/2))
}

// drawPiano says whether the piano is there.
func (m *Model) drawPiano(p *ink.Paper, y int) {
	s := m.signs
	switch {
	case m.piano.There:
		x := p.Write(2, y+1, ink.Plain, "Play when you are ready.")
		p.Write(x+2, y+1, ink.Faint, s.Text(m.piano.Said))
	case m.piano.Said != "":
		m.paragraph(p, 2, y+1, ink.Pencil, m.piano.Said)
	}
}

// touchRows are those of the empty staff and what is said below it.
const touchRows = 10

// drawTouch is an empty staff, on which a key that is tried is named.
func (m *Model) drawTouch(p *ink.Paper, y int) {
	s := m.signs
	y = min(y, p.Height()-restRows-touchRows)
	for i := range 5 {
		p.Write(2, y+2*i, ink.Faint, strings.Repeat(s.Line, p.Width()-4))
	}
	const step = 5
	most := (p.Width() - 8) / step
	keys := m.touched[max(0, len(m.touched)-most):]
	for i, k := range keys {
		pitch := m.pitchOf(k)
		up := diatonic(pitch) - treble[0]
		if k < 60 {
			up = diatonic(pitch) - bass[0]
		}
		row := y + 8 - min(max(up, -1), 9)
		p.Write(4+i*step, row, ink.Strong, pitch.Step.String()+s.Alter(pitch.Alter, false))
	}
	if len(keys) == 0 && m.piano.There {
		p.Write(4, y+9, ink.Faint, "Touch any key to see that it is heard.")
	}
	if len(keys) > 0 {
		pitch := m.pitchOf(keys[len(keys)-1])
		p.Write(4, y+9, ink.Plain, "heard: "+s.Text(pitch.String()))
	}
}

// pitchOf spells a key in the key that is asked.
func (m *Model) pitchOf(k uint8) references.Pitch {
	if m.sheet == nil {
		return references.Pitch{}
	}
	return m.sheet.spell(int(k), 0)
}

// fold breaks text into lines of so many columns.
func fold(text string, columns int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(text) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > columns {
			lines = append(lines, line)
			line = ""
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	return append(lines, line)
}

// cut parts what is asked into its first words and a line for each sentence after them.
func cut(words string) (first string, rest []string) {
	first, after, _ := strings.Cut(words, ", ")
	if i := strings.Index(first, ". "); i >= 0 {
		first, after = words[:i], words[i+2:]
	}
	for _, s := range strings.SplitAfter(after, ". ") {
		if s = strings.TrimSpace(s); s != "" {
			letter, n := utf8.DecodeRuneInString(s)
			rest = append(rest, string(unicode.ToUpper(letter))+s[n:])
		}
	}
	return strings.TrimSuffix(first, "."), rest
}
