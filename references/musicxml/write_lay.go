package musicxml

import (
	"slices"
	"sort"
	"strconv"

	"evenhand/references"
)

// chord is what one voice strikes at one place: notes of one length, whole or a piece of them.
type chord struct {
	at, length        references.Quarters
	staff             int
	notes             []*references.Note
	ids               []string
	hands             []references.Hand
	tieStart, tieStop bool
	legato            bool
	voice             string
	slurStart         bool
	slurStops         []string // voices whose slurs end here
	tuplet            string   // that starts or stops here
}

func (c *chord) grace() bool { return c.notes[0].Grace != references.NoGrace }

// lay cuts the notes at the bar lines and puts them into chords and voices.
func (p *page) lay() {
	for i := range p.ref.Notes {
		n := &p.ref.Notes[i]
		bar := p.barOf(n)
		switch h := handOf(n); h {
		case references.Both:
			left := ""
			rest := n.Also
			if len(rest) > 0 {
				left, rest = rest[0], rest[1:]
			}
			p.put(n, bar, references.Right, n.ID)
			p.put(n, bar, references.Left, left)
			for _, id := range rest {
				p.put(n, bar, references.Right, id)
			}
		default:
			p.put(n, bar, h, n.ID)
			for _, id := range n.Also {
				p.put(n, bar, h, id)
			}
		}
	}
	for i := range p.sheets {
		for staff := 1; staff <= p.staves; staff++ {
			p.assignVoices(&p.sheets[i], staff)
		}
	}
	p.slurChords()
}

// barOf is the index among the bars as played of the bar that a note starts in.
func (p *page) barOf(n *references.Note) int {
	if len(p.ref.Bars) > 0 && n.Measure >= 0 && n.Measure < len(p.played) {
		return n.Measure
	}
	return p.barAt(n.Onset)
}

// barAt is the bar that a place is in; the start of a bar is in that bar.
func (p *page) barAt(at references.Quarters) int {
	i := sort.Search(len(p.played), func(i int) bool { return at.Less(p.played[i].Onset) })
	return max(i-1, 0)
}

// put adds one note, or its pieces, to the bars from the one it starts in.
func (p *page) put(n *references.Note, bar int, hand references.Hand, id string) {
	at, left := n.Onset.Sub(p.played[bar].Onset), n.Length
	for first := true; ; first = false {
		if p.first[bar] < 0 {
			return
		}
		s := &p.sheets[p.first[bar]]
		length, more := left, false
		if room := s.Length.Sub(at); room.Less(left) && bar+1 < len(p.played) && room.Num() > 0 && n.Grace == references.NoGrace {
			length, more = room, p.first[bar+1] >= 0
		}
		s.add(n, chord{at: at, length: length, staff: p.staffOf(hand), tieStop: !first, tieStart: more, legato: n.Touch == references.Legato && !p.words[hand]}, hand, id)
		if !more {
			return
		}
		at, left, id = references.Quarters{}, left.Sub(length), ""
		bar++
	}
}

// add puts a note into the chord it belongs to, or a new one.
func (s *sheet) add(n *references.Note, c chord, hand references.Hand, id string) {
	for _, o := range s.chords {
		first := o.notes[0]
		same := o.at == c.at && o.length == c.length && o.staff == c.staff && o.tieStart == c.tieStart && o.tieStop == c.tieStop &&
			o.legato == c.legato && first.Grace == n.Grace && first.GraceOrder == n.GraceOrder && first.Optional == n.Optional
		if same && !slices.ContainsFunc(o.notes, func(m *references.Note) bool { return m.Key() == n.Key() }) {
			o.notes, o.ids, o.hands = append(o.notes, n), append(o.ids, id), append(o.hands, hand)
			return
		}
	}
	c.notes, c.ids, c.hands = []*references.Note{n}, []string{id}, []references.Hand{hand}
	s.chords = append(s.chords, &c)
}

// assignVoices gives the chords of one staff their voices: each the first voice that is free.
// Grace notes go into the voice of what they lead to.
func (p *page) assignVoices(s *sheet, staff int) {
	var main, grace []*chord
	for _, c := range s.chords {
		if c.staff != staff {
			continue
		}
		if c.grace() {
			grace = append(grace, c)
		} else {
			main = append(main, c)
		}
	}
	slices.SortStableFunc(main, func(a, b *chord) int {
		if c := a.at.Cmp(b.at); c != 0 {
			return c
		}
		return b.length.Cmp(a.length)
	})
	name := func(k int) string { return strconv.Itoa(4*(staff-1) + k + 1 + 4*(k/4)) }
	var free []references.Quarters
	for _, c := range main {
		k := 0
		for k < len(free) && c.at.Less(free[k]) {
			k++
		}
		if k == len(free) {
			free = append(free, references.Quarters{})
		}
		free[k] = c.at.Add(c.length)
		c.voice = name(k)
	}
	for _, g := range grace {
		for k := 0; g.voice == ""; k++ {
			if v := name(k); !slices.ContainsFunc(main, func(c *chord) bool { return c.voice == v && c.at.Less(g.at) && g.at.Less(c.at.Add(c.length)) }) {
				g.voice = v
			}
		}
		for _, c := range main {
			if c.at == g.at && g.notes[0].Grace != references.AfterGrace {
				g.voice = c.voice
				break
			}
		}
	}
}

// slurChords starts and ends slurs so that they cover the legato chords of each voice and reach to
// the chord after them. Grace notes need none.
func (p *page) slurChords() {
	open := map[string]slurred{} // by voice: the last chord under an open slur
	for i := range p.sheets {
		s := &p.sheets[i]
		slices.SortStableFunc(s.chords, compareChords)
		for _, c := range s.chords {
			_, under := open[c.voice]
			switch {
			case c.grace():
			case c.legato:
				c.slurStart = !under
				open[c.voice] = slurred{i, c}
			case under:
				c.slurStops = append(c.slurStops, c.voice)
				delete(open, c.voice)
			}
		}
	}
	for voice, last := range open {
		p.endSlur(voice, last)
	}
}

// slurred is a chord and the bar it is in.
type slurred struct {
	sheet int
	chord *chord
}

// endSlur ends a slur whose voice goes no further at the next chord of another one; where there is
// none, at the end of the piece, the last chord joins nothing.
func (p *page) endSlur(voice string, last slurred) {
	end := last.chord.at.Add(last.chord.length)
	for i := last.sheet; i < len(p.sheets); i++ {
		for _, c := range p.sheets[i].chords {
			if !c.grace() && !c.tieStop && (i > last.sheet || !c.at.Less(end)) {
				c.slurStops = append(c.slurStops, voice)
				return
			}
		}
	}
	if last.chord.slurStart {
		last.chord.slurStart = false
		return
	}
	last.chord.slurStops = append(last.chord.slurStops, voice)
}

// compareChords orders chords by place, grace notes first, in their order.
func compareChords(a, b *chord) int {
	if c := a.at.Cmp(b.at); c != 0 {
		return c
	}
	rank := func(c *chord) int {
		if c.grace() {
			return int(c.notes[0].GraceOrder)
		}
		return 128
	}
	return rank(a) - rank(b)
}

// voices are the chords of a staff by voice, in order; at least one voice, so that every staff is
// filled.
func (p *page) voices(s *sheet, staff int) [][]*chord {
	by := map[string][]*chord{}
	var names []string
	for _, c := range s.chords {
		if c.staff == staff {
			if by[c.voice] == nil {
				names = append(names, c.voice)
			}
			by[c.voice] = append(by[c.voice], c)
		}
	}
	slices.SortFunc(names, func(a, b string) int {
		x, _ := strconv.Atoi(a)
		y, _ := strconv.Atoi(b)
		return x - y
	})
	out := [][]*chord{}
	for _, name := range names {
		out = append(out, by[name])
	}
	if len(out) == 0 {
		out = append(out, nil)
	}
	return out
}
