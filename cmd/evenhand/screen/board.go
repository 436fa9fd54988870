package screen

import (
	tea "github.com/charmbracelet/bubbletea"

	"evenhand/cmd/evenhand/screen/ink"
)

// board is what the pages of a lesson and of an exam have in common: their size, what they were told of
// the piano, what is to be read, and music cut for the size.
type board struct {
	signs         *ink.Signs
	width, height int
	piano         Piano
	touched       []uint8 // keys tried on this page
	notice        string  // to be read until something else is asked or played
	sheet         *sheet
	pieces        []system // the sheet, cut for this size
	at            int      // the event reached
}

func newBoard(s *ink.Signs) board { return board{signs: s, width: 80, height: 24} }

// Init implements tea.Model.
func (b board) Init() tea.Cmd { return nil }

// hear takes what every page is told, and reports whether msg was that.
func (b *board) hear(msg tea.Msg) bool {
	switch msg := msg.(type) {
	case Piano:
		b.piano = msg
	case Notice:
		b.notice = msg.Said
	case Touched:
		b.touched = append(b.touched[:len(b.touched):len(b.touched)], msg.Key)
	default:
		return false
	}
	return true
}

// The smallest window that the pages are drawn in.
const (
	leastWidth  = 60
	leastHeight = 16
)

// view draws a page, where the window is large enough for one.
func (b *board) view(draw func(*ink.Paper)) string {
	p := ink.NewPaper(b.width, b.height)
	if b.width < leastWidth || b.height < leastHeight {
		p.Write(0, 0, ink.Plain, "make the window larger")
	} else {
		draw(p)
	}
	return p.String()
}

// cut cuts the music for so many rows, those of the bars' numbers and the fingers among them.
func (b *board) cut(rows int) []system {
	rows -= b.sheet.headRows()
	if b.sheet.fingers {
		rows -= len(hands(b.sheet.ref))
	}
	return layout(b.sheet.written, b.width, rows)
}

// systemOf is the system that event e stands in.
func systemOf(pieces []system, e int) *system {
	for i := range pieces {
		if e < pieces[i].to {
			return &pieces[i]
		}
	}
	return &pieces[len(pieces)-1]
}

// paragraph writes text in lines from a column on and returns the row after it.
func (b *board) paragraph(p *ink.Paper, x, y int, i ink.Ink, text string) int {
	for _, line := range fold(b.signs.Text(text), p.Width()-x-1) {
		p.Write(x, y, i, line)
		y++
	}
	return y
}
