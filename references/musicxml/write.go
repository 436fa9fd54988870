package musicxml

import (
	"io"
	"slices"
	"strconv"
	"strings"

	"evenhand/references"
)

// Write writes a reference as MusicXML 4.0, one piano part. Repeats that were unfolded are folded up
// again: each bar as written comes once, with its repeat signs. Reading it gives the same notes, bars,
// keys, tempos and marks again; where no hand is known, notes from middle C up are given to the right.
func Write(w io.Writer, ref *references.Reference) error {
	p := newPage(ref)
	x := &p.xmlOut
	x.WriteString(`<?xml version="1.0" encoding="UTF-8"?>` + "\n")
	x.WriteString(`<!DOCTYPE score-partwise PUBLIC "-//Recordare//DTD MusicXML 4.0 Partwise//EN" "http://www.musicxml.org/dtds/partwise.dtd">` + "\n")
	x.open("score-partwise", "version", "4.0")
	if title := printable(ref.Title); title != "" {
		x.open("work")
		x.leaf("work-title", title)
		x.close()
	}
	x.open("part-list")
	x.open("score-part", "id", "P1")
	x.leaf("part-name", "Piano")
	x.close()
	x.close()
	x.open("part", "id", "P1")
	for i := range p.sheets {
		p.sheet(i)
	}
	x.close()
	x.close()
	_, err := w.Write(x.Bytes())
	return err
}

// printable leaves out the characters that XML cannot hold.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r < ' ' || r == 0xFFFE || r == 0xFFFF {
			return -1
		}
		return r
	}, s)
}

// page is the whole of what is written.
type page struct {
	xmlOut
	ref    *references.Reference
	sheets []sheet
	played []references.Bar // all bars as played
	first  []int            // of each bar as played: its sheet where it is played for the first time, else -1
	staves int
	left   bool  // the one staff is the left hand's
	div    int64 // divisions of a quarter
	ids    map[string]bool
	words  [3]bool // by hand: every note is legato, and a word says so

	accidentals map[accidentalPlace]int8
	pairs       map[string]bool // open tremolo pairs by voice
	after       func()          // what the direction being written has after its place
}

// sheet is one bar as written.
type sheet struct {
	references.Bar
	chords   []*chord // of all voices
	signs    []*printed
	fermatas []span
	breaths  []breath
	fifths   int
}

// newPage lays the notes out into bars and voices.
func newPage(ref *references.Reference) *page {
	p := &page{
		ref: ref, ids: map[string]bool{}, accidentals: map[accidentalPlace]int8{},
		pairs: map[string]bool{},
	}
	p.played = ref.Bars
	if len(p.played) == 0 {
		p.played = barsOf(ref)
	}
	p.fold()
	p.hands()
	p.lay()
	p.directions()
	p.divide()
	return p
}

// fold keeps the first playing of each bar as written.
func (p *page) fold() {
	seen := map[int]bool{}
	p.first = make([]int, len(p.played))
	for i, b := range p.played {
		p.first[i] = -1
		if !seen[b.Written] {
			seen[b.Written] = true
			p.sheets = append(p.sheets, sheet{Bar: b})
		}
	}
	slices.SortStableFunc(p.sheets, func(a, b sheet) int { return a.Written - b.Written })
	at := map[references.Quarters]int{}
	for i := range p.sheets {
		at[p.sheets[i].Onset] = i
	}
	for i, b := range p.played {
		if j, ok := at[b.Onset]; ok && p.sheets[j].Written == b.Written {
			p.first[i] = j
		}
	}
}

// barsOf makes bars for a reference that has none.
func barsOf(ref *references.Reference) []references.Bar {
	var end references.Quarters
	for i := range ref.Notes {
		if e := ref.Notes[i].Onset.Add(ref.Notes[i].Length); end.Less(e) {
			end = e
		}
	}
	length, meter := ref.BarLength, meterOf(ref.BarLength, ref.Beat)
	if length.Num() <= 0 {
		return []references.Bar{{Number: "1", Pass: 1, Length: end}}
	}
	var out []references.Bar
	var at references.Quarters
	for n := 1; n == 1 || at.Less(end) && n <= maxBars; n++ {
		out = append(out, references.Bar{Number: strconv.Itoa(n), Written: n - 1, Pass: 1, Onset: at, Length: length, Meter: meter})
		at = at.Add(length)
	}
	out[len(out)-1].Signs.Final = true
	return out
}

// meterOf finds a time signature for a length of bar: in quarters, or in the largest smaller unit
// that fits; in eighths or smaller where the beat is dotted.
func meterOf(length, beat references.Quarters) references.Meter {
	for unit := int64(4); unit <= 64; unit *= 2 {
		n := length.Times(unit, 4)
		if n.Den() == 1 && n.Num() > 0 && (beat.Den() == 1 || beat.Num() == 1 || unit > 4) {
			return references.Meter{Beats: int(n.Num()), Unit: int(unit)}
		}
	}
	return references.Meter{}
}

// hands decides on the staves: two, unless one hand plays alone.
func (p *page) hands() {
	var has [4]bool
	legato := [3]bool{true, true, true}
	for i := range p.ref.Notes {
		n := &p.ref.Notes[i]
		h := handOf(n)
		has[h] = true
		if n.Touch != references.Legato {
			for _, hand := range []references.Hand{references.Right, references.Left} {
				legato[hand] = legato[hand] && !h.Has(hand)
			}
		}
	}
	p.staves, p.words = 2, legato
	if !has[references.Both] && !(has[references.Right] && has[references.Left]) {
		p.staves = 1
		p.left = has[references.Left]
	}
}

// handOf is the hand that a note is written for.
func handOf(n *references.Note) references.Hand {
	switch {
	case n.Hand != references.NoHand:
		return n.Hand
	case n.Key() < 60:
		return references.Left
	}
	return references.Right
}

// staffOf is the staff of a hand, from 1.
func (p *page) staffOf(h references.Hand) int {
	if p.staves == 2 && h == references.Left {
		return 2
	}
	return 1
}

// divide chooses the divisions: the least in which every place and length of the page is whole.
func (p *page) divide() {
	p.div = 1
	fit := func(q references.Quarters) {
		if l := lcm(p.div, q.Den()); l <= 1_000_000 {
			p.div = l
		}
	}
	for i := range p.sheets {
		s := &p.sheets[i]
		fit(s.Length)
		for _, c := range s.chords {
			fit(c.at)
			fit(c.length)
		}
		for _, g := range s.signs {
			fit(g.at)
		}
	}
}

func lcm(a, b int64) int64 {
	x, y := a, b
	for y != 0 {
		x, y = y, x%y
	}
	return a / x * b
}

// ticks is a length in divisions.
func (p *page) ticks(q references.Quarters) string {
	t := q.Times(p.div, 1)
	return strconv.FormatInt((2*t.Num()+t.Den())/(2*t.Den()), 10)
}

// sheet writes one bar.
func (p *page) sheet(i int) {
	s := &p.sheets[i]
	implicit := ""
	if s.Skip.Num() > 0 {
		implicit = "yes"
	}
	number := printable(s.Number)
	if number == "" {
		number = strconv.Itoa(i + 1)
	}
	p.open("measure", "number", number, "implicit", implicit)
	p.leftBar(s)
	p.attributes(i)
	p.printSigns(s)
	clear(p.accidentals)
	var at references.Quarters
	for staff := 1; staff <= p.staves; staff++ {
		for k, voice := range p.voices(s, staff) {
			if at.Num() > 0 {
				p.open("backup")
				p.leaf("duration", p.ticks(at))
				p.close()
			}
			at = p.voice(s, staff, k, voice)
		}
	}
	p.rightBar(s)
	p.close()
}

// attributes writes the divisions, key, time and clefs where they change.
func (p *page) attributes(i int) {
	s := &p.sheets[i]
	keys := p.keyChanges(i)
	meter := i == 0 || p.sheets[i-1].Meter != s.Meter
	if i > 0 && len(keys) == 0 && !meter {
		return
	}
	p.open("attributes")
	if i == 0 {
		p.leaf("divisions", strconv.FormatInt(p.div, 10))
	}
	if len(keys) > 0 && keys[0].Onset == s.Onset {
		p.key(keys[0])
	}
	if meter {
		p.open("time")
		if s.Meter.Unit == 0 {
			p.leaf("senza-misura", "")
		} else {
			p.leaf("beats", strconv.Itoa(s.Meter.Beats))
			p.leaf("beat-type", strconv.Itoa(s.Meter.Unit))
		}
		p.close()
	}
	if i == 0 {
		p.clefs()
	}
	p.close()
	for _, k := range keys {
		if k.Onset != s.Onset {
			p.lateKey(s, k)
		}
	}
}

func (p *page) clefs() {
	if p.staves == 2 {
		p.leaf("staves", "2")
	}
	for staff := 1; staff <= p.staves; staff++ {
		number := ""
		if p.staves == 2 {
			number = strconv.Itoa(staff)
		}
		p.open("clef", "number", number)
		if staff == 2 || p.left {
			p.leaf("sign", "F")
			p.leaf("line", "4")
		} else {
			p.leaf("sign", "G")
			p.leaf("line", "2")
		}
		p.close()
	}
}

func (p *page) key(k references.KeyChange) {
	p.open("key")
	p.leaf("fifths", strconv.Itoa(k.Fifths))
	if k.Minor {
		p.leaf("mode", "minor")
	} else {
		p.leaf("mode", "major")
	}
	p.close()
}

// lateKey writes a key change inside a bar, on the way there and back.
func (p *page) lateKey(s *sheet, k references.KeyChange) {
	d := p.ticks(k.Onset.Sub(s.Onset))
	p.open("forward")
	p.leaf("duration", d)
	p.close()
	p.open("attributes")
	p.key(k)
	p.close()
	p.open("backup")
	p.leaf("duration", d)
	p.close()
}

// keyChanges are the changes of key of bar i, in the order of the bars as written.
func (p *page) keyChanges(i int) []references.KeyChange {
	s := &p.sheets[i]
	now := p.keyAt(s.Onset)
	s.fifths = now.Fifths
	var out []references.KeyChange
	if i == 0 && (len(p.ref.Bars) == 0 || len(p.ref.Keys) > 0 && p.ref.Keys[0].Onset == s.Onset) {
		out = append(out, now)
	} else if i > 0 {
		prev := &p.sheets[i-1]
		if before := p.keyBefore(prev.Onset.Add(prev.Length)); before.Fifths != now.Fifths || before.Minor != now.Minor {
			out = append(out, now)
		}
	}
	for _, k := range p.ref.Keys {
		if s.Onset.Less(k.Onset) && k.Onset.Less(s.Onset.Add(s.Length)) {
			out = append(out, k)
		}
	}
	if len(out) > 0 && out[0] == now {
		out[0].Onset = s.Onset
	}
	return out
}

// keyAt is the key that holds at a place; keyBefore the one that holds just before it.
func (p *page) keyAt(at references.Quarters) references.KeyChange {
	return p.keyWhere(func(onset references.Quarters) bool { return !at.Less(onset) })
}

func (p *page) keyBefore(at references.Quarters) references.KeyChange {
	return p.keyWhere(func(onset references.Quarters) bool { return onset.Less(at) })
}

func (p *page) keyWhere(holds func(references.Quarters) bool) references.KeyChange {
	out := references.KeyChange{Fifths: p.ref.Fifths, Minor: p.ref.Minor}
	for _, k := range p.ref.Keys {
		if holds(k.Onset) {
			out = k
		}
	}
	return out
}
