package musicxml

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"evenhand/references"
)

// printed is one direction, ready to be written at its place in the bar.
type printed struct {
	at    references.Quarters
	hand  references.Hand
	write func()
	key   string // two of one key at one place are one
}

// span is a stretch within a bar.
type span struct{ from, to references.Quarters }

// breath is a breath or a caesura after what ends at a place of a bar.
type breath struct {
	at   references.Quarters
	kind references.MarkKind
}

// direct puts a direction at a place in the piece; ending says that it belongs to what ends there.
func (p *page) direct(at references.Quarters, ending bool, hand references.Hand, key string, write func()) {
	i := p.barAt(at)
	if ending && i > 0 && p.played[i].Onset == at {
		i--
	}
	s := p.sheetOf(i)
	s.signs = append(s.signs, &printed{at: at.Sub(p.played[i].Onset), hand: hand, write: write, key: key})
}

// place is where something begins in the bars as written.
type place struct {
	written int
	at      references.Quarters
	what    string
}

// longest picks, of what is played several times, the time when it lasts longest: a hairpin or a
// pedal that is open where a repeat goes back ends there, and goes on the last time.
func (p *page) longest(n int, of func(i int) (from, to references.Quarters, what string)) []int {
	best := map[place]int{}
	var order []place
	for i := range n {
		from, to, what := of(i)
		bar := p.barAt(from)
		at := place{p.played[bar].Written, from.Sub(p.played[bar].Onset), what}
		j, seen := best[at]
		if !seen {
			order = append(order, at)
			best[at] = i
			continue
		}
		if f, t, _ := of(j); t.Sub(f).Less(to.Sub(from)) {
			best[at] = i
		}
	}
	out := make([]int, len(order))
	for k, at := range order {
		out[k] = best[at]
	}
	return out
}

// directions lays the tempos, marks, pedals, dynamics and ways through the score out over the bars.
func (p *page) directions() {
	for i := range p.sheets {
		p.waySigns(&p.sheets[i])
	}
	tempos := p.ref.Tempos
	if len(tempos) == 0 && p.ref.Tempo.BPM > 0 {
		tempos = []references.TempoMark{{Tempo: p.ref.Tempo, Printed: true}}
	}
	for _, t := range tempos {
		p.direct(t.Onset, false, references.Both, fmt.Sprint("tempo", t.Tempo, t.Words), func() { p.tempo(t) })
	}
	for hand := references.Right; hand <= references.Left; hand++ {
		if p.words[hand] && (p.staves == 2 || p.left == (hand == references.Left)) && len(p.ref.Notes) > 0 {
			p.direct(references.Quarters{}, false, hand, "legato "+hand.String(), func() { p.leaf("words", "legato") })
		}
	}
	p.levels()
	marks := p.ref.Marks
	for k, i := range p.longest(len(marks), func(i int) (from, to references.Quarters, what string) {
		m := &marks[i]
		return m.From, m.To, fmt.Sprint(m.Kind, m.Hand, m.Words)
	}) {
		p.mark(strconv.Itoa(k%16+1), marks[i])
	}
	pedals := p.ref.Pedals
	for _, i := range p.longest(len(pedals), func(i int) (from, to references.Quarters, what string) {
		return pedals[i].From, pedals[i].To, ""
	}) {
		d := pedals[i]
		p.direct(d.From, false, references.Both, "pedal down", func() { p.leaf("pedal", "", "type", "start", "line", "yes") })
		p.direct(d.To, true, references.Both, "pedal up", func() { p.leaf("pedal", "", "type", "stop", "line", "yes") })
	}
}

// levels finds where dynamics must be written: wherever, on any playing, a note's differs from what
// holds before it. Where the same note had another one on an earlier playing, the sign is in a bar
// that was first played between the two, and is written at the end of the last such bar.
func (p *page) levels() {
	first := map[place]*references.Note{}
	at := func(n *references.Note) place {
		bar := &p.played[p.barOf(n)]
		return place{bar.Written, n.Onset.Sub(bar.Onset), levelHand(n).String()}
	}
	for i := range p.ref.Notes {
		n := &p.ref.Notes[i]
		if first[at(n)] == nil {
			first[at(n)] = n
		}
	}
	var hands [4]struct {
		now   references.Dynamic
		last  int      // its last note
		since int      // the note that its last sign was written for
		sign  *printed // that sign
	}
	for i := range p.ref.Notes {
		n := &p.ref.Notes[i]
		h := levelHand(n)
		own, other := &hands[h], &hands[otherHand[h]]
		before := own.last
		own.last = i
		if n.Dynamic == own.now || n.Dynamic == references.NoDynamic {
			continue
		}
		own.now = n.Dynamic
		if other.sign != nil && other.now == n.Dynamic && before <= other.since {
			other.sign.hand = references.Both // one sign for both, where the other hand met it first
			own.sign, own.since = other.sign, other.since
			continue
		}
		bar, place := p.barOf(n), at(n).at
		if earlier := first[at(n)]; earlier.Dynamic != n.Dynamic {
			bar = p.newBetween(p.barOf(earlier), bar)
			place = p.played[bar].Length
		}
		own.sign, own.since = p.level(bar, place, h, n.Dynamic.String()), i
	}
}

var otherHand = [...]references.Hand{references.Right: references.Left, references.Left: references.Right}

// level puts a dynamic into a bar as played, once.
func (p *page) level(bar int, at references.Quarters, hand references.Hand, level string) *printed {
	s := p.sheetOf(bar)
	for _, g := range s.signs {
		if g.at == at && g.key == "level "+level && (g.hand == hand || g.hand == references.Both) {
			return g
		}
	}
	g := &printed{at: at, hand: hand, key: "level " + level, write: func() {
		p.open("dynamics")
		p.leaf(level, "")
		p.close()
	}}
	s.signs = append(s.signs, g)
	return g
}

// newBetween is the last bar played for the first time before bar, and not before earlier; the one
// before bar where there is none.
func (p *page) newBetween(earlier, bar int) int {
	for i := bar - 1; i >= earlier; i-- {
		if p.first[i] >= 0 {
			return i
		}
	}
	return max(bar-1, 0)
}

// levelHand is the hand whose dynamics a note follows: a note of both goes with the right.
func levelHand(n *references.Note) references.Hand {
	if h := handOf(n); h != references.Both {
		return h
	}
	return references.Right
}

// sheetOf is the sheet of a bar as played, whichever playing it is.
func (p *page) sheetOf(bar int) *sheet {
	i, _ := slices.BinarySearchFunc(p.sheets, p.played[bar].Written, func(s sheet, w int) int { return s.Written - w })
	return &p.sheets[i]
}

// usualWords are written for marks without words of their own.
var usualWords = map[references.MarkKind]string{
	references.Ritardando: "rit.", references.Accelerando: "accel.", references.ATempo: "a tempo",
	references.Crescendo: "cresc.", references.Diminuendo: "dim.", references.Swing: "swing",
}

// mark lays one mark out. Loudness without words is a hairpin; words go on to where dashes end.
func (p *page) mark(number string, m references.Mark) {
	niente := ""
	if m.Niente {
		niente = "yes"
	}
	words := m.Words
	if words == "" {
		words = usualWords[m.Kind]
	}
	switch {
	case m.Kind == references.Fermata:
		p.fermataMark(m)
	case m.Kind == references.Breath, m.Kind == references.Caesura:
		s, base := p.endsIn(m.From)
		s.breaths = append(s.breaths, breath{m.From.Sub(base), m.Kind})
	case (m.Kind == references.Crescendo || m.Kind == references.Diminuendo) && m.Words == "":
		p.direct(m.From, false, m.Hand, "", func() {
			p.leaf("wedge", "", "type", m.Kind.String(), "number", number, "niente", niente)
		})
		p.direct(m.To, m.From.Less(m.To), m.Hand, "", func() { p.leaf("wedge", "", "type", "stop", "number", number) })
	case m.Kind == references.ATempo, m.Kind == references.Swing:
		p.direct(m.From, false, references.Both, words, func() { p.leaf("words", words) })
	default:
		p.direct(m.From, false, m.Hand, words, func() {
			p.leaf("words", words)
			p.close()
			p.open("direction-type")
			p.leaf("dashes", "", "type", "start", "number", number)
		})
		p.direct(m.To, m.From.Less(m.To), m.Hand, "", func() { p.leaf("dashes", "", "type", "stop", "number", number) })
	}
}

func (p *page) fermataMark(m references.Mark) {
	bar := p.barAt(m.From)
	s, base := p.sheetOf(bar), p.played[bar].Onset
	if m.From == m.To {
		s, base = p.endsIn(m.From)
	}
	s.fermatas = append(s.fermatas, span{m.From.Sub(base), m.To.Sub(base)})
}

// endsIn is the sheet of the bar that a place belongs to where something ends there, and the bar's
// onset.
func (p *page) endsIn(at references.Quarters) (*sheet, references.Quarters) {
	i := p.barAt(at)
	if i > 0 && p.played[i].Onset == at {
		i--
	}
	return p.sheetOf(i), p.played[i].Onset
}

// tempo writes words, metronome mark and sound of a tempo, inside a direction.
func (p *page) tempo(t references.TempoMark) {
	bpm := strconv.FormatFloat(t.Tempo.BPM, 'f', -1, 64)
	quarters := strconv.FormatFloat(t.Tempo.BPM*t.Tempo.Beat.Float(), 'f', -1, 64)
	unit, dots, ok := value(t.Tempo.Beat)
	figure := t.Printed && t.Tempo.BPM > 0 && ok
	if t.Words != "" {
		p.leaf("words", printable(t.Words))
	}
	if figure {
		if t.Words != "" {
			p.close()
			p.open("direction-type")
		}
		p.open("metronome")
		p.leaf("beat-unit", unit)
		for range dots {
			p.leaf("beat-unit-dot", "")
		}
		p.leaf("per-minute", bpm)
		p.close()
	}
	if t.Words == "" && !figure {
		p.leaf("words", "") // a direction must have something in it: nothing is printed
	}
	if t.Tempo.BPM > 0 {
		p.after = func() { p.leaf("sound", "", "tempo", quarters) }
	}
}

// waySigns lays out the signs and words that send the player back or on.
func (p *page) waySigns(s *sheet) {
	put := func(at references.Quarters, write func()) {
		s.signs = append(s.signs, &printed{at: at, hand: references.NoHand, write: write})
	}
	sound := func(attr, value string) { p.after = func() { p.leaf("sound", "", attr, value) } }
	g := s.Signs
	if g.Segno {
		put(references.Quarters{}, func() { p.leaf("segno", ""); sound("segno", "segno") })
	}
	if g.Coda {
		put(references.Quarters{}, func() { p.leaf("coda", ""); sound("coda", "coda") })
	}
	if g.ToCoda {
		put(s.Length, func() { p.leaf("words", "To Coda"); sound("tocoda", "coda") })
	}
	if g.Fine {
		put(s.Length, func() { p.leaf("words", "Fine"); sound("fine", "yes") })
	}
	switch g.Back {
	case references.DaCapo:
		put(s.Length, func() { p.leaf("words", "D.C."); sound("dacapo", "yes") })
	case references.DalSegno:
		put(s.Length, func() { p.leaf("words", "D.S."); sound("dalsegno", "segno") })
	}
}

// printSigns writes the directions of a bar, all at its start with their offsets.
func (p *page) printSigns(s *sheet) {
	slices.SortStableFunc(s.signs, func(a, b *printed) int { return a.at.Cmp(b.at) })
	s.signs = bothHands(s.signs)
	for _, g := range s.signs {
		placement, staff := "below", 1
		switch {
		case strings.HasPrefix(g.key, "tempo"), g.hand == references.NoHand, g.hand == references.Right && p.staves == 2:
			placement = "above"
		case g.hand == references.Left && p.staves == 2:
			staff = 2
		}
		p.open("direction", "placement", placement)
		p.open("direction-type")
		p.after = nil
		g.write()
		p.close()
		if g.at.Num() != 0 {
			p.leaf("offset", p.ticks(g.at))
		}
		p.staffNumber(staff)
		if p.after != nil {
			p.after()
		}
		p.close()
	}
}

// bothHands leaves out what stands twice at one place, and makes one sign for both hands of a level
// that each of them has.
func bothHands(signs []*printed) []*printed {
	out := signs[:0:0]
	for _, g := range signs {
		i := slices.IndexFunc(out, func(o *printed) bool { return o.key != "" && o.key == g.key && o.at == g.at })
		if i < 0 {
			out = append(out, g)
		} else if out[i].hand != g.hand {
			out[i].hand = references.Both
		}
	}
	return out
}

// leftBar writes the bar line before a bar, where it has something on it.
func (p *page) leftBar(s *sheet) {
	if !s.Signs.RepeatStart && !s.Signs.EndingStarts {
		return
	}
	p.open("barline", "location", "left")
	if s.Signs.RepeatStart {
		p.leaf("bar-style", "heavy-light")
	}
	if s.Signs.EndingStarts {
		p.leaf("ending", "", "number", s.Signs.Endings, "type", "start")
	}
	if s.Signs.RepeatStart {
		p.leaf("repeat", "", "direction", "forward")
	}
	p.close()
}

// rightBar writes the bar line after a bar, where it has something on it.
func (p *page) rightBar(s *sheet) {
	g := s.Signs
	ends := g.Endings != "" && p.endingEnds(s)
	atEnd := slices.IndexFunc(s.fermatas, func(f span) bool { return f.from == f.to })
	style := ""
	switch {
	case g.RepeatEnd > 0, g.Final:
		style = "light-heavy"
	case g.Double:
		style = "light-light"
	}
	if style == "" && !ends && atEnd < 0 {
		return
	}
	p.open("barline", "location", "right")
	if style != "" && (g.RepeatEnd == 0 || g.Final) {
		p.leaf("bar-style", style)
	}
	if atEnd >= 0 {
		p.leaf("fermata", "")
	}
	if ends {
		p.leaf("ending", "", "number", s.Signs.Endings, "type", "stop")
	}
	if g.RepeatEnd > 0 {
		times, after := "", ""
		if g.RepeatEnd != 2 {
			times = strconv.Itoa(g.RepeatEnd)
		}
		if g.AfterJump {
			after = "yes"
		}
		p.leaf("repeat", "", "direction", "backward", "times", times, "after-jump", after)
	}
	p.close()
}

// endingEnds reports whether the bracket over a bar ends with it.
func (p *page) endingEnds(s *sheet) bool {
	i := slices.IndexFunc(p.sheets, func(o sheet) bool { return o.Written == s.Written })
	if i+1 == len(p.sheets) {
		return true
	}
	next := &p.sheets[i+1]
	return next.Signs.Endings == "" || next.Signs.EndingStarts
}
