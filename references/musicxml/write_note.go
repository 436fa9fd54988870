package musicxml

import (
	"math/bits"
	"regexp"
	"strconv"

	"evenhand/references"
)

// accidentalPlace is a line or space of a staff, in one octave.
type accidentalPlace struct {
	staff, octave int
	step          references.Step
}

// voice writes one voice of a bar, gaps as rests, and returns where it ends.
func (p *page) voice(s *sheet, staff, k int, chords []*chord) references.Quarters {
	var at references.Quarters
	beams := p.beams(s, chords)
	bracket(chords)
	for i, c := range chords {
		if at.Less(c.at) {
			p.gap(s, staff, k, at, c.at, c.voice)
			at = c.at
		}
		p.chord(s, c, beams[i])
		at = at.Add(c.length)
	}
	if at.Less(s.Length) {
		voice := strconv.Itoa(4*(staff-1) + 1)
		if len(chords) > 0 {
			voice = chords[0].voice
		}
		p.gap(s, staff, k, at, s.Length, voice)
		at = s.Length
	}
	return at
}

// gap fills time in which a voice has nothing: with rests in the first voice of a staff, and by
// moving on in the others. A fermata that stands over no note is given a rest of its length.
func (p *page) gap(s *sheet, staff, k int, from, to references.Quarters, voice string) {
	for i, f := range s.fermatas {
		if !f.from.Less(from) && !to.Less(f.to) && f.from.Less(f.to) {
			s.fermatas = append(s.fermatas[:i:i], s.fermatas[i+1:]...)
			if from.Less(f.from) {
				p.gap(s, staff, k, from, f.from, voice)
			}
			p.rest(s, f.from, f.to, staff, voice, true)
			if f.to.Less(to) {
				p.gap(s, staff, k, f.to, to, voice)
			}
			return
		}
	}
	if k > 0 {
		p.open("forward")
		p.leaf("duration", p.ticks(to.Sub(from)))
		p.close()
		return
	}
	p.rest(s, from, to, staff, voice, false)
}

func (p *page) rest(s *sheet, from, to references.Quarters, staff int, voice string, fermata bool) {
	whole := from.Num() == 0 && to == s.Length
	pieces := []references.Quarters{to.Sub(from)}
	if !whole && !fermata {
		pieces = restPieces(from, to)
	}
	for _, length := range pieces {
		p.open("note")
		measure := ""
		if whole {
			measure = "yes"
		}
		p.leaf("rest", "", "measure", measure)
		p.leaf("duration", p.ticks(length))
		p.leaf("voice", voice)
		if !whole {
			p.noteType(length, nil)
		}
		p.staffNumber(staff)
		if fermata {
			p.open("notations")
			p.leaf("fermata", "")
			p.close()
		}
		p.close()
	}
}

// restPieces are the rests that fill a time. What is a part of a tuplet ends with its crotchet, or begins with it.
func restPieces(from, to references.Quarters) []references.Quarters {
	first, last := from, to
	if oddPart(from.Den()) > 1 {
		first = references.Q(from.Num()/from.Den()+1, 1)
	}
	if oddPart(to.Den()) > 1 {
		last = references.Q(to.Num()/to.Den(), 1)
	}
	if last.Less(first) {
		return split(to.Sub(from))
	}
	var out []references.Quarters
	for _, piece := range [][2]references.Quarters{{from, first}, {first, last}, {last, to}} {
		if piece[0].Less(piece[1]) {
			out = append(out, split(piece[1].Sub(piece[0]))...)
		}
	}
	return out
}

func (p *page) staffNumber(staff int) {
	if p.staves == 2 {
		p.leaf("staff", strconv.Itoa(staff))
	}
}

// split cuts a length into pieces that one note value can tell, longest first.
func split(q references.Quarters) []references.Quarters {
	if _, _, ok := value(q); ok || oddPart(q.Den()) > 1 {
		return []references.Quarters{q}
	}
	var out []references.Quarters
	for q.Num() > 0 && len(out) < 16 {
		piece := references.Q(int64(1)<<(bits.Len64(uint64(q.Num()))-1), q.Den())
		if dotted := piece.Times(3, 2); !q.Less(dotted) {
			piece = dotted
		}
		out = append(out, piece)
		q = q.Sub(piece)
	}
	return out
}

func oddPart(n int64) int64 { return n >> bits.TrailingZeros64(uint64(n)) }

var valueNames = func() map[references.Quarters]string {
	out := map[references.Quarters]string{}
	for name, v := range typeNames {
		out[references.Q(v[0], v[1])] = name
	}
	return out
}()

// value is the note value of a length, with its dots.
func value(q references.Quarters) (name string, dots int, ok bool) {
	for dots, f := range [][2]int64{{1, 1}, {2, 3}, {4, 7}} {
		if name, ok := valueNames[q.Times(f[0], f[1])]; ok {
			return name, dots, true
		}
	}
	return "", 0, false
}

// tuplet is the smallest tuplet in which a length has a note value: 3 in the time of 2 for a third.
func tuplet(q references.Quarters) (actual, normal int64) {
	actual = oddPart(q.Den())
	if actual == 1 {
		return 1, 1
	}
	return actual, int64(1) << (bits.Len64(uint64(actual)) - 1)
}

// bracket marks where tuplets begin and end: notes without a gap from a third, a fifth and so on to where they
// fill a note value. One with rests in it is left unmarked; its notes are read by their <time-modification>.
func bracket(chords []*chord) {
	first := -1
	var sum references.Quarters
	for i, c := range chords {
		if c.grace() {
			continue
		}
		if first >= 0 && chords[first].at.Add(sum) != c.at {
			first = -1
		}
		switch {
		case first < 0 && (oddPart(c.length.Den()) == 1 || oddPart(c.at.Den()) > 1):
			continue
		case first < 0:
			first, sum = i, references.Quarters{}
		}
		if sum = sum.Add(c.length); oddPart(sum.Den()) == 1 {
			if first < i {
				chords[first].tuplet, c.tuplet = "start", "stop"
			}
			first = -1
		}
	}
}

// noteType writes <type>, <dot> and <time-modification>, as far as a length has them; accidentals
// stand between.
func (p *page) noteType(length references.Quarters, accidental func()) {
	actual, normal := tuplet(length)
	name, dots, ok := value(length.Times(actual, normal))
	if ok {
		p.leaf("type", name)
		for range dots {
			p.leaf("dot", "")
		}
	}
	if accidental != nil {
		accidental()
	}
	if ok && actual > 1 {
		p.open("time-modification")
		p.leaf("actual-notes", strconv.FormatInt(actual, 10))
		p.leaf("normal-notes", strconv.FormatInt(normal, 10))
		p.close()
	}
}

// chord writes the notes of a chord; a length that no single value tells in pieces that are tied.
func (p *page) chord(s *sheet, c *chord, beams []string) {
	pieces := []references.Quarters{c.length}
	if !c.grace() && !c.notes[0].Optional {
		pieces = split(c.length)
	}
	at := c.at
	for i, length := range pieces {
		piece := *c
		piece.at, piece.length = at, length
		piece.tieStop = c.tieStop || i > 0
		piece.tieStart = c.tieStart || i+1 < len(pieces)
		if i > 0 {
			piece.slurStart, piece.slurStops = false, nil
			piece.ids = make([]string, len(c.ids))
		}
		for j := range piece.notes {
			p.note(s, &piece, j, beams)
		}
		at = at.Add(length)
	}
}

// note writes one note of a chord.
func (p *page) note(s *sheet, c *chord, j int, beams []string) {
	n := c.notes[j]
	p.open("note", "id", p.id(c.ids[j]))
	switch n.Grace {
	case references.Acciaccatura:
		p.leaf("grace", "", "slash", "yes")
	case references.Appoggiatura:
		p.leaf("grace", "")
	case references.AfterGrace:
		p.leaf("grace", "", "steal-time-previous", "10")
	}
	if n.Optional {
		p.leaf("cue", "")
	}
	if j > 0 {
		p.leaf("chord", "")
	}
	p.open("pitch")
	p.leaf("step", n.Pitch.Step.String())
	if n.Pitch.Alter != 0 {
		p.leaf("alter", strconv.Itoa(int(n.Pitch.Alter)))
	}
	p.leaf("octave", strconv.Itoa(int(n.Pitch.Octave)))
	p.close()
	if !c.grace() {
		p.leaf("duration", p.ticks(c.length))
	}
	ties := !n.Optional
	if ties && c.tieStop {
		p.leaf("tie", "", "type", "stop")
	}
	if ties && c.tieStart {
		p.leaf("tie", "", "type", "start")
	}
	p.leaf("voice", c.voice)
	length := c.length
	if c.grace() {
		length = references.Q(1, 2)
	}
	p.noteType(length, func() { p.accidental(s, c, n) })
	p.staffNumber(c.staff)
	if j == 0 {
		for level, b := range beams {
			p.leaf("beam", b, "number", strconv.Itoa(level+1))
		}
	}
	p.notationsOf(s, c, j)
	p.close()
}

var ncName = regexp.MustCompile(`^[\pL_][\pL\pN_.-]*$`)

// id is an id that may be written: one that XML allows and that was not used before, else none.
func (p *page) id(id string) string {
	if !ncName.MatchString(id) || p.ids[id] {
		return ""
	}
	p.ids[id] = true
	return id
}

var accidentalNames = map[int8]string{
	-3: "triple-flat", -2: "flat-flat", -1: "flat", 0: "natural", 1: "sharp", 2: "double-sharp", 3: "triple-sharp",
}

// accidental writes the accidental that a note needs to be read rightly in its bar.
func (p *page) accidental(s *sheet, c *chord, n *references.Note) {
	place := accidentalPlace{c.staff, int(n.Pitch.Octave), n.Pitch.Step}
	now, ok := p.accidentals[place]
	if !ok {
		now = keyAlter(n.Pitch.Step, s.fifths)
	}
	if now != n.Pitch.Alter && !c.tieStop {
		p.leaf("accidental", accidentalNames[n.Pitch.Alter])
		p.accidentals[place] = n.Pitch.Alter
	}
}

// beams gives the beams of each chord of a voice: runs within one beat of what is shorter than a
// quarter are joined, and at each level the neighbours that have it.
func (p *page) beams(s *sheet, chords []*chord) [][]string {
	beat := s.Meter.Beat()
	flags := make([]int, len(chords))
	group := make([]int64, len(chords))
	for i, c := range chords {
		if c.grace() {
			group[i] = -1
			continue
		}
		actual, normal := tuplet(c.length)
		if name, _, ok := value(c.length.Times(actual, normal)); ok {
			v := typeNames[name]
			flags[i] = max(bits.Len64(uint64(v[1]))-1, 0)
		}
		b := s.Skip.Add(c.at).Times(beat.Den(), beat.Num())
		group[i] = b.Num() / b.Den()
	}
	joined := func(i, level int) bool { // chord i goes on to chord i+1 at this level
		return i >= 0 && i+1 < len(chords) && group[i] >= 0 && group[i] == group[i+1] &&
			flags[i] > level && flags[i+1] > level && chords[i].at.Add(chords[i].length) == chords[i+1].at
	}
	out := make([][]string, len(chords))
	for i := range chords {
		for level := range min(flags[i], 8) {
			before, after := joined(i-1, level), joined(i, level)
			switch {
			case before && after:
				out[i] = append(out[i], "continue")
			case before:
				out[i] = append(out[i], "end")
			case after:
				out[i] = append(out[i], "begin")
			case joined(i-1, 0):
				out[i] = append(out[i], "backward hook")
			case joined(i, 0):
				out[i] = append(out[i], "forward hook")
			}
		}
	}
	return out
}
