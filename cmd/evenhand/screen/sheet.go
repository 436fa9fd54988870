package screen

import (
	"fmt"
	"strings"

	"evenhand/align"
	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/references"
)

// sheet draws systems of written music. What was played stands on the staff by its name; the pencil
// rings what was wrong, and writes all else into a lane below: the name that was meant under a ring, a
// caret before a note left out, a stroke through one too many, an upright where the playing stopped.
type sheet struct {
	*written
	signs   *ink.Signs
	coming  bool // show what is not played yet
	fingers bool // and the usual fingers
}

// draw draws one system.
func (s *sheet) draw(sys *system) *ink.Paper {
	lanes := 1
	if s.fingers {
		lanes = 2
	}
	rows := 0
	for _, st := range sys.staves {
		rows += st.rows + lanes
	}
	y := s.headRows()
	p := ink.NewPaper(sys.width, y+rows)
	s.barNumbers(p, sys)
	for i := range sys.staves {
		st := &sys.staves[i]
		s.paper(p, y, sys, st)
		s.notes(p, y, sys, st)
		y += st.rows
		s.lane(p, y, sys, st)
		if s.fingers {
			y++
			s.fingering(p, y, sys, st)
		}
		y++
	}
	return p
}

// paper draws the five lines, the bar lines and the name of the hand.
func (s *sheet) paper(p *ink.Paper, y int, sys *system, st *stave) {
	right := min(sys.width-1, sys.x(sys.to)+1)
	for _, d := range st.lines {
		r := st.row(d) - st.low
		if r < 0 || r >= st.rows {
			continue
		}
		p.Write(margin-1, y+st.rows-1-r, ink.Faint, strings.Repeat(s.signs.Line, max(0, right-margin+1)))
	}
	if len(sys.staves) > 1 || st.hand == references.Left {
		p.Write(0, y+st.rows/2, ink.Faint, st.hand.String())
	}
	if len(s.ref.Bars) == 0 {
		return
	}
	for e := sys.from; e < sys.to; e++ {
		if e == sys.from || !s.ends(e) {
			continue
		}
		for r := range st.rows {
			p.Write(sys.x(e)-1, y+r, ink.Faint, s.signs.Bar)
		}
	}
}

// headRows is the rows above the staves, for the numbers of the bars.
func (w *written) headRows() int { return min(1, len(w.ref.Bars)) }

func (s *sheet) barNumbers(p *ink.Paper, sys *system) {
	if s.headRows() == 0 {
		return
	}
	for e := sys.from; e < sys.to; e++ {
		if e == sys.from || s.ends(e) {
			p.Write(sys.x(e), 0, ink.Faint, s.ref.Notes[s.first[e]].Bar)
		}
	}
}

// notes writes the names of what was played, and of what is to come where that is shown.
func (s *sheet) notes(p *ink.Paper, y int, sys *system, st *stave) {
	for e := sys.from; e < sys.to; e++ {
		for i := s.first[e]; i < s.first[e+1]; i++ {
			if !belongs(&s.ref.Notes[i], st.hand) {
				continue
			}
			want, h := s.pitch(i), s.heads[i]
			switch {
			case h.heard && h.verdict == align.Correct:
				s.put(p, y, sys.x(e), st, want, ink.Strong, s.name(want))
			case h.heard && h.verdict == align.Wrong:
				got := s.spell(int(s.played[h.played].Key), i)
				s.put(p, y, sys.x(e)-1, st, got, ink.Pencil, s.signs.Open+s.wrongName(got, want)+s.signs.Close)
			case s.coming && !h.heard:
				s.put(p, y, sys.x(e), st, want, ink.Faint, s.name(want))
			}
		}
	}
}

// put writes a name at its height, a little further right where something stands there already, and
// at the edge of the stave where the pitch is beyond it.
func (s *sheet) put(p *ink.Paper, y, x int, st *stave, at references.Pitch, i ink.Ink, text string) {
	r := min(max(st.row(diatonic(at))-st.low, 0), st.rows-1)
	width := len([]rune(text))
	for range 3 {
		if p.Blank(x, y+st.rows-1-r, width) {
			break
		}
		x++
	}
	p.Write(x, y+st.rows-1-r, i, text)
}

// name is a note without its octave.
func (s *sheet) name(p references.Pitch) string {
	return p.Step.String() + s.signs.Alter(p.Alter, false)
}

// wrongName says natural where that is what is wrong.
func (s *sheet) wrongName(got, want references.Pitch) string {
	return got.Step.String() + s.signs.Alter(got.Alter, got.Step == want.Step && want.Alter != 0)
}

// lane is what the pencil writes below a stave.
func (s *sheet) lane(p *ink.Paper, y int, sys *system, st *stave) {
	next, told := 0, sys.from // told: up to which event what was left out has its mark
	pencil := func(x int, text string) {
		next = p.Write(max(x, next), y, ink.Pencil, text) + 1
	}
	for e := sys.from; e < sys.to; e++ {
		x := sys.x(e)
		if s.stops[e] {
			pencil(x-1, s.signs.Stop)
			next--
		}
		for i := s.first[e]; i < s.first[e+1]; i++ {
			n, h := &s.ref.Notes[i], s.heads[i]
			if !belongs(n, st.hand) || !h.heard {
				continue
			}
			switch h.verdict {
			case align.Wrong:
				pencil(x, s.name(s.pitch(i)))
			case align.Missing:
				if e >= told {
					n, end := s.leftOut(e, st.hand)
					pencil(x-1, s.caret(i, n))
					if n >= passage {
						told = end
					}
				}
			}
		}
		for _, n := range s.extras[e] {
			near := s.first[e]
			if s.handOf(int(s.played[n].Key), e) == st.hand {
				pencil(x, s.signs.Stroke+s.name(s.spell(int(s.played[n].Key), near)))
			}
		}
	}
}

// passage is how many events in a row left out by a hand are one mark.
const passage = 3

// leftOut is how many events from e on have nothing of a hand but notes left out, and the event where
// that ends. Events in which the hand has nothing to play are not counted.
func (s *sheet) leftOut(e int, h references.Hand) (n, end int) {
	for ; e < s.events(); e++ {
		plays := 0
		for i := s.first[e]; i < s.first[e+1]; i++ {
			if !belongs(&s.ref.Notes[i], h) {
				continue
			}
			if head := s.heads[i]; !head.heard || head.verdict != align.Missing {
				return n, e
			}
			plays = 1
		}
		n += plays
	}
	return n, e
}

// caret marks a note left out, with how far it went on.
func (s *sheet) caret(i, events int) string {
	text := s.signs.Caret + s.name(s.pitch(i))
	if events >= passage {
		text += " and on"
	}
	return text
}

// handOf is the stave that an extra key is written under: that of the nearest note of its event.
func (s *sheet) handOf(key, e int) references.Hand {
	best, hand := 1000, references.Right
	for i := s.first[e]; i < s.first[e+1]; i++ {
		d := max(key-s.pitch(i).Key(), s.pitch(i).Key()-key)
		if d < best {
			best, hand = d, s.ref.Notes[i].Hand
		}
	}
	if hand == references.Left {
		return hand
	}
	return hands(s.ref)[0]
}

// fingering writes the usual fingers under a stave.
func (s *sheet) fingering(p *ink.Paper, y int, sys *system, st *stave) {
	p.Write(0, y, ink.Faint, "finger")
	for e := sys.from; e < sys.to; e++ {
		for i := s.first[e]; i < s.first[e+1]; i++ {
			if n := &s.ref.Notes[i]; belongs(n, st.hand) && n.Fingering(st.hand) > 0 {
				p.Write(sys.x(e), y, ink.Plain, fmt.Sprint(n.Fingering(st.hand)))
			}
		}
	}
}
