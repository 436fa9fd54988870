// Package ink holds the paper and the pencil of the screen: a grid of characters to write on, the few
// inks there are, and the signs in Unicode and in ASCII.
//
// Inks help the eye and never carry meaning alone: without colour, and without bold or faint letters,
// the page says the same.
package ink

import (
	"strings"

	"github.com/charmbracelet/lipgloss"
)

// Nothing here depends on how light or dark the terminal is. Saying so before the terminal library is
// ready keeps it from asking the terminal, which can take seconds and leave an answer among the keys
// typed. This package has to be initialised before that library: it imports only what comes first.
func init() { lipgloss.SetHasDarkBackground(true) }

// Ink is how a character is written.
type Ink uint8

// The inks.
const (
	Plain  Ink = iota
	Strong     // what has been played, and what is to be read first
	Faint      // the lines of the paper, and what is only help
	Pencil     // the teacher's marks
)

var styles = [...]lipgloss.Style{
	Plain:  lipgloss.NewStyle(),
	Strong: lipgloss.NewStyle().Bold(true),
	Faint:  lipgloss.NewStyle().Faint(true),
	// One of the eight colours that every terminal has in a shade for its own background.
	Pencil: lipgloss.NewStyle().Bold(true).Foreground(lipgloss.ANSIColor(5)),
}

type cell struct {
	r   rune
	ink Ink
}

// Paper is a page of single-width characters. What is written beyond its edges is cut off.
type Paper struct {
	width int
	rows  [][]cell
}

// NewPaper returns an empty page.
func NewPaper(width, height int) *Paper {
	p := &Paper{width: max(0, width), rows: make([][]cell, max(0, height))}
	for y := range p.rows {
		p.rows[y] = make([]cell, p.width)
		for x := range p.rows[y] {
			p.rows[y][x].r = ' '
		}
	}
	return p
}

// Width is the number of columns.
func (p *Paper) Width() int { return p.width }

// Height is the number of rows.
func (p *Paper) Height() int { return len(p.rows) }

// Write puts text at a column and row and returns the column after it.
func (p *Paper) Write(x, y int, i Ink, text string) int {
	for _, r := range text {
		if y >= 0 && y < len(p.rows) && x >= 0 && x < p.width {
			p.rows[y][x] = cell{r, i}
		}
		x++
	}
	return x
}

// Paste copies a page onto this one.
func (p *Paper) Paste(x, y int, from *Paper) {
	for dy, row := range from.rows {
		if y+dy < 0 || y+dy >= len(p.rows) {
			continue
		}
		for dx, c := range row {
			if x+dx >= 0 && x+dx < p.width {
				p.rows[y+dy][x+dx] = c
			}
		}
	}
}

// String is the page with its inks, as lines without trailing spaces.
func (p *Paper) String() string {
	var b strings.Builder
	for y, row := range p.rows {
		if y > 0 {
			b.WriteByte('\n')
		}
		end := len(row)
		for end > 0 && row[end-1].r == ' ' {
			end--
		}
		for x := 0; x < end; {
			from := x
			for x < end && (row[x].ink == row[from].ink || row[x].r == ' ') {
				x++
			}
			text := make([]rune, 0, x-from)
			for _, c := range row[from:x] {
				text = append(text, c.r)
			}
			if i := row[from].ink; i == Plain {
				b.WriteString(string(text))
			} else {
				b.WriteString(styles[i].Render(string(text)))
			}
		}
	}
	return b.String()
}

// Blank reports whether n columns from x on have nothing but the lines of the paper on them.
func (p *Paper) Blank(x, y, n int) bool {
	if y < 0 || y >= len(p.rows) {
		return false
	}
	for i := max(0, x); i < min(x+n, p.width); i++ {
		if c := p.rows[y][i]; c.r != ' ' && c.ink != Faint {
			return false
		}
	}
	return true
}
