package questions

import (
	"fmt"
	"strconv"

	"evenhand/references"
)

// score is a printed score made ready for asking.
type score struct {
	ref    *references.Reference
	bars   []bar
	hands  []references.Hand // of those that have one staff of their own
	single bool              // there is one staff in all: its hand need not be said
	level  int
}

// bar is one written bar with its name.
type bar struct {
	*references.PageBar
	index  int
	named  bool // its number can mean no other bar, and it is a bar from its first beat on
	staves map[references.Hand]*staff
}

// staff is what one hand has in a bar where it has one voice of its own, so that "the note on beat 2"
// can mean no other.
type staff struct {
	columns []column
	grace   bool // there are grace notes
}

// column is a note, a chord or a rest.
type column struct {
	notes []*references.Printed // lowest first
	slur  bool                  // under a slur
}

func (c *column) first() *references.Printed { return c.notes[0] }
func (c *column) rest() bool                 { return c.notes[0].Rest }
func (c *column) lone() bool                 { return len(c.notes) == 1 && !c.notes[0].Rest }

// newScore makes a printed score ready.
func newScore(r *references.Reference, level int) *score {
	s := &score{ref: r, level: level}
	pages := r.Page.Bars
	count := map[string]int{}
	staffs := map[references.Hand]map[int]bool{}
	for i := range pages {
		count[pages[i].Number]++
		for j := range pages[i].Notes {
			n := &pages[i].Notes[j]
			if staffs[n.Hand] == nil {
				staffs[n.Hand] = map[int]bool{}
			}
			staffs[n.Hand][n.Staff] = true
		}
	}
	all := 0
	for _, of := range staffs {
		all += len(of)
	}
	for _, h := range []references.Hand{references.Right, references.Left} {
		if len(staffs[h]) == 1 && len(staffs[references.NoHand]) == 0 {
			s.hands = append(s.hands, h)
		}
	}
	s.single = all == 1
	open := map[string]int{} // slurs by voice
	for i := range pages {
		p := &pages[i]
		n, err := strconv.Atoi(p.Number)
		b := bar{PageBar: p, index: i, staves: map[references.Hand]*staff{}}
		b.named = err == nil && n > 0 && count[p.Number] == 1 && p.Skip == (references.Quarters{}) && p.Meter.Unit > 0
		slurred := slurs(p, open)
		for _, h := range s.hands {
			if st := newStaff(p, h, slurred); st != nil {
				b.staves[h] = st
			}
		}
		s.bars = append(s.bars, b)
	}
	return s
}

// slurs finds the notes of a bar that stand under a slur of their voice, its ends too.
func slurs(p *references.PageBar, open map[string]int) map[*references.Printed]bool {
	out := map[*references.Printed]bool{}
	for j := range p.Notes {
		n := &p.Notes[j]
		voice := fmt.Sprint(n.Staff, n.Voice)
		if n.SlurStart {
			open[voice]++
		}
		out[n] = open[voice] > 0
		if n.SlurStop && open[voice] > 0 {
			open[voice]--
		}
	}
	return out
}

// newStaff is what a hand has in a bar, nil where it has more than one voice, crosses to the other
// staff, or has something hidden.
func newStaff(p *references.PageBar, hand references.Hand, slurred map[*references.Printed]bool) *staff {
	st := &staff{}
	var voice string
	at := references.Quarters{}
	for j := range p.Notes {
		n := &p.Notes[j]
		if n.Hand != hand {
			continue
		}
		if len(st.columns) == 0 && !st.grace {
			voice = n.Voice
		}
		switch {
		case n.Voice != voice || n.Hidden:
			return nil
		case n.Grace:
			st.grace = true
			continue
		case n.Chord && len(st.columns) > 0:
			c := &st.columns[len(st.columns)-1]
			c.notes, c.slur = insert(c.notes, n), c.slur || slurred[n]
			continue
		case n.Onset != at:
			return nil // a gap
		}
		at = n.Onset.Add(n.Length)
		st.columns = append(st.columns, column{[]*references.Printed{n}, slurred[n]})
	}
	for j := range p.Notes {
		if n := &p.Notes[j]; n.Voice == voice && n.Hand != hand {
			return nil // a voice across the staves
		}
	}
	if len(st.columns) == 0 {
		return nil
	}
	return st
}

// insert keeps the notes of a chord lowest first.
func insert(notes []*references.Printed, n *references.Printed) []*references.Printed {
	i := 0
	for i < len(notes) && notes[i].Pitch.Key() <= n.Pitch.Key() {
		i++
	}
	return append(notes[:i:i], append([]*references.Printed{n}, notes[i:]...)...)
}

// count is the number of a named bar.
func (b *bar) count() int {
	n, _ := strconv.Atoi(b.Number)
	return n
}

// beat is the beat a place of a bar falls on, 0 where it falls on none.
func (b *bar) beat(at references.Quarters) int {
	unit := b.Meter.Beat()
	q := b.Skip.Add(at).Times(unit.Den(), unit.Num())
	if q.Den() != 1 || !b.Skip.Add(at).Less(b.Meter.Length()) {
		return 0
	}
	return int(q.Num()) + 1
}

// beatName names a beat so that everybody counts it alike: the first and beats of crotchets by their
// number alone, all others by their value too.
func (b *bar) beatName(n int) string {
	if unit := b.Meter.Beat(); n > 1 && n < len(ordinals) && unit != references.Q(1, 1) {
		return fmt.Sprintf("the %s %s beat", ordinals[n], valueWords(unit))
	}
	return fmt.Sprintf("beat %d", n)
}

// valueWords is the name of a length with at most one dot: "dotted crotchet".
func valueWords(q references.Quarters) string {
	if name := valueNames[q]; name != "" {
		return name
	}
	if name := valueNames[q.Times(2, 3)]; name != "" {
		return "dotted " + name
	}
	return ""
}

// valueNames are the note values by length in quarters.
var valueNames = map[references.Quarters]string{
	references.Q(8, 1): "breve", references.Q(4, 1): "semibreve", references.Q(2, 1): "minim", references.Q(1, 1): "crotchet",
	references.Q(1, 2): "quaver", references.Q(1, 4): "semiquaver", references.Q(1, 8): "demisemiquaver", references.Q(1, 16): "hemidemisemiquaver",
}

// americanValues are the same values in American terms.
var americanValues = map[string]string{
	"breve": "double whole note", "semibreve": "whole note", "minim": "half note", "crotchet": "quarter note", "quaver": "eighth note",
	"semiquaver": "sixteenth note", "demisemiquaver": "thirty-second note", "hemidemisemiquaver": "sixty-fourth note",
}

// inHand is ", right hand", or nothing where there is one staff.
func (s *score) inHand(h references.Hand) string {
	if s.single {
		return ""
	}
	return ", " + h.String() + " hand"
}

// theHand is "the right hand", or "the music" where there is one staff.
func (s *score) theHand(h references.Hand) string {
	if s.single {
		return "the music"
	}
	return "the " + h.String() + " hand"
}

// place is where a note stands.
func (b *bar) place(n *references.Printed) Place {
	unit := b.Meter.Beat()
	return Place{
		Bar: b.Number, Beat: 1 + b.Skip.Add(n.Onset).Times(unit.Den(), unit.Num()).Float(), Hand: n.Hand.String(), Note: n.ID,
	}
}

// spot is a column whose place can be said in words: on a beat of a named bar.
type spot struct {
	*bar
	*column
	hand references.Hand
	at   int // index of the column in its staff
	beat int
}

// spots visits every column whose place can be said.
func (s *score) spots(visit func(spot)) {
	for i := range s.bars {
		b := &s.bars[i]
		if !b.named {
			continue
		}
		for _, h := range s.hands {
			st := b.staves[h]
			if st == nil {
				continue
			}
			for j := range st.columns {
				c := &st.columns[j]
				if beat := b.beat(c.first().Onset); beat > 0 {
					visit(spot{b, c, h, j, beat})
				}
			}
		}
	}
}

// say is "in bar 5, right hand, " and the note there: "the note on beat 2".
func (s *score) say(p spot) (where, note string) {
	return fmt.Sprintf("In bar %s%s, ", p.Number, s.inHand(p.hand)), fmt.Sprintf("the note on %s", p.bar.beatName(p.beat))
}

// number is a small number in letters.
func number(n int) string {
	words := []string{"no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"}
	if n >= 0 && n < len(words) {
		return words[n]
	}
	return strconv.Itoa(n)
}

// plural is a noun for n of it.
func plural(n int, noun string) string {
	if n == 1 {
		return number(n) + " " + noun
	}
	return number(n) + " " + noun + "s"
}
