package questions

import (
	"fmt"

	"evenhand/references"
)

// lookalikes are the names that a pupil may take for a note's: without its accidental or with one too
// many, the line or space beside it, and the other clef's.
func lookalikes(n references.Name, fifths int) []string {
	var out []string
	class := map[int]bool{n.PitchClass(): true}
	add := func(m references.Name) {
		if !class[m.PitchClass()] {
			class[m.PitchClass()] = true
			out = append(out, m.String())
		}
	}
	if n.Alter != 0 {
		add(references.Name{Step: n.Step})
	} else if k := signedStep(n.Step, fifths); k.Alter != 0 {
		add(k)
	}
	for _, d := range []int{-1, 1, -2, 2} {
		add(signedStep(references.Step((int(n.Step)+d+7)%7), fifths))
	}
	return out
}

// signedStep is the note that a letter stands for under a key signature.
func signedStep(s references.Step, fifths int) references.Name {
	for _, m := range references.KeyOf(fifths, false).Signature() {
		if m.Step == s {
			return m
		}
	}
	return references.Name{Step: s}
}

// firstNotes asks for the first note of each hand.
func firstNotes(s *score) []candidate {
	var out []candidate
	for _, h := range s.hands {
		b, n, alone := s.first(h)
		if n == nil || !alone || b.index > 0 && !b.named {
			continue
		}
		where := ""
		if b.index > 0 {
			where = ", in bar " + b.Number
		}
		c := s.named(b, n)
		c.Kind, c.from, c.to = FirstNote, 0, 3
		c.Text = fmt.Sprintf("What is the name of the first note that %s plays%s?", s.theHand(h), where)
		if s.single {
			c.Text = "What is the name of the first note?"
		}
		out = append(out, c)
	}
	return out
}

// first is the first note of a hand, and whether it has none beside it.
func (s *score) first(h references.Hand) (*bar, *references.Printed, bool) {
	for i := range s.bars {
		b := &s.bars[i]
		var first *references.Printed
		alone := true
		for j := range b.Notes {
			n := &b.Notes[j]
			switch {
			case n.Hand != h || n.Rest:
				continue
			case n.Hidden || n.Grace:
				return nil, nil, false
			case first == nil || n.Onset.Less(first.Onset):
				first, alone = n, true
			case n.Onset == first.Onset:
				alone = false
			}
		}
		if first != nil {
			return b, first, alone && !first.TieStop
		}
	}
	return nil, nil, false
}

// named is a question for the name of a note, whose words are still to be filled in.
func (s *score) named(b *bar, n *references.Printed) candidate {
	because := fmt.Sprintf("It is %s.", n.Pitch.Words())
	f := b.Fifths
	line := fmt.Sprintf("It is on the line or space of %s, and ", n.Pitch.Step)
	switch signed := signedStep(n.Pitch.Step, f); {
	case n.Pitch.Alter != 0 && signed == n.Pitch.Name:
		because = fmt.Sprintf("%sthe key signature makes it %s.", line, n.Pitch.Words())
	case n.Pitch.Alter != 0:
		because = fmt.Sprintf("%san accidental makes it %s.", line, n.Pitch.Words())
	case signed.Alter != 0:
		because = fmt.Sprintf("%sa natural takes away the sharp or flat of the key signature.", line)
	case clefNames[n.Clef] != "":
		because = fmt.Sprintf("Read in the %s, it is %s.", clefNames[n.Clef], n.Pitch.Words())
	}
	c := candidate{Question: Question{Where: b.place(n), Answer: n.Pitch.Name.String(), Because: because}, wrong: lookalikes(n.Pitch.Name, f), even: true}
	c.about = fmt.Sprintf("name %s %s%d", n.Pitch, n.Clef.Sign, n.Clef.Line)
	if n.Pitch.Alter == 0 {
		c.Accepted = []string{n.Pitch.Step.String() + " natural"}
	}
	return c
}

// noteNames asks for the names of single notes on beats.
func noteNames(s *score) []candidate {
	var out []candidate
	s.spots(func(p spot) {
		n := p.first()
		if !p.lone() || n.TieStop || clefNames[n.Clef] == "" {
			return
		}
		c := s.named(p.bar, n)
		where, note := s.say(p)
		c.Kind, c.Text = NoteName, where+"what is the name of "+note+"?"
		if c.from, c.to = 0, 5; n.Pitch.Alter != 0 {
			c.from = 1
		}
		out = append(out, c)
	})
	return out
}

// look is how a value is called: "dotted crotchet", "" for what is not asked.
func look(v references.Value) string {
	name := valueNames[v.Type]
	if name == "" || v.Actual != 0 || v.Dots > 1 {
		return ""
	}
	if v.Dots == 1 {
		return "dotted " + name
	}
	return name
}

// values are the names of note values, longest first.
var values = []string{"semibreve", "minim", "crotchet", "quaver", "semiquaver", "demisemiquaver"}

// nearValues are the values that a pupil may take for one: with or without the dot, half and twice.
func nearValues(v references.Value) []string {
	at := 0
	for i, w := range values {
		if w == valueNames[v.Type] {
			at = i
		}
	}
	var out []string
	if v.Dots > 0 {
		out = append(out, values[at])
	}
	for _, d := range []int{-1, 1} {
		if i := at + d; i >= 0 && i < len(values) {
			out = append(out, values[i])
			if v.Dots > 0 && i > 0 {
				out = append(out, "dotted "+values[i])
			}
		}
	}
	if v.Dots == 0 && at > 0 {
		out = append(out, "dotted "+values[at])
	}
	for _, d := range []int{2, -2} {
		if i := at + d; i >= 0 && i < len(values) {
			out = append(out, values[i])
		}
	}
	return out
}

// longAs says how long a value is, in crotchets where these come out whole, else against its half.
func longAs(v references.Value) string {
	q := v.Type
	if v.Dots == 1 {
		q = q.Times(3, 2)
	}
	name := look(v)
	american := americanLook(v)
	switch {
	case q == references.Q(1, 1):
		return fmt.Sprintf("A crotchet (%s) is half as long as a minim.", american)
	case q.Den() == 1:
		return fmt.Sprintf("A %s (%s) is as long as %s.", name, american, plural(int(q.Num()), "crotchet"))
	case v.Dots == 1:
		return fmt.Sprintf("A %s (%s) is half as long again as a %s.", name, american, valueNames[v.Type])
	}
	return fmt.Sprintf("A %s (%s) is half as long as a %s.", name, american, valueNames[v.Type.Times(2, 1)])
}

// americanLook is a value in American terms.
func americanLook(v references.Value) string {
	american := americanValues[valueNames[v.Type]]
	if v.Dots == 1 {
		return "dotted " + american
	}
	return american
}

// noteValues asks what kind of note stands somewhere, and how many crotchets it lasts.
func noteValues(s *score) []candidate {
	var out []candidate
	s.spots(func(p spot) {
		n := p.first()
		name := look(n.Value)
		if !p.lone() || n.TieStart || n.TieStop || name == "" {
			return
		}
		where, note := s.say(p)
		about := "value " + name
		out = append(out, candidate{
			Question: Question{
				Kind: NoteValue, Text: where + "what kind of note is " + note + "?", Where: p.bar.place(n), Answer: name, Accepted: []string{name + " note"},
				Because: longAs(n.Value),
			},
			from: 0, to: 4, about: about, wrong: nearValues(n.Value), even: true,
		})
		length := n.Value.Type.Times(int64(2+n.Value.Dots), 2)
		if length.Den() != 1 || p.Meter.Unit != 4 || length == references.Q(1, 1) {
			return
		}
		c := candidate{
			Question: Question{
				Kind: NoteValue, Text: where + "how many crotchet beats does " + note + " last?", Where: p.bar.place(n), Answer: number(int(length.Num())),
				Accepted: []string{plural(int(length.Num()), "beat"), plural(int(length.Num()), "crotchet"), plural(int(length.Num()), "crotchet beat")}, Because: longAs(n.Value),
			},
			from: 0, to: 2, about: about,
		}
		for _, w := range []int{int(length.Num()) - 1, int(length.Num()) + 1, 1, 2, 3, 4} {
			if w > 0 {
				c.wrong = append(c.wrong, number(w))
			}
		}
		out = append(out, c)
	})
	return out
}

// ties asks how long a tied note is held, where it is tied once to the next bar or within its own.
func ties(s *score) []candidate {
	var out []candidate
	s.spots(func(p spot) {
		n := p.first()
		next := s.after(p)
		if !p.lone() || !n.TieStart || n.TieStop || next == nil || !next.lone() || next.first().Pitch != n.Pitch || !next.first().TieStop || next.first().TieStart {
			return
		}
		total := n.Length.Add(next.first().Length)
		if total.Den() != 1 || p.Meter.Unit != 4 || look(n.Value) == "" || look(next.first().Value) == "" {
			return
		}
		k := int(total.Num())
		where, note := s.say(p)
		c := candidate{
			Question: Question{
				Kind: NoteValue, Text: where + note + " is tied. For how many crotchet beats is it held in all?", Where: p.bar.place(n), Answer: number(k),
				Accepted: []string{plural(k, "beat"), plural(k, "crotchet"), plural(k, "crotchet beat")},
				Because:  fmt.Sprintf("A %s and a %s are held as one note.", look(n.Value), look(next.first().Value)),
			},
			from: 2, to: 6, about: fmt.Sprintf("tied %d", k),
		}
		for _, w := range []int{int(n.Length.Num()), k - 1, k + 1, k + 2} {
			if w > 0 {
				c.wrong = append(c.wrong, number(w))
			}
		}
		out = append(out, c)
	})
	return out
}

// after is what follows a column in its hand: in its bar, or first in the next one.
func (s *score) after(p spot) *column {
	cols := p.staves[p.hand].columns
	if p.at+1 < len(cols) {
		return &cols[p.at+1]
	}
	if p.index+1 >= len(s.bars) || p.Signs.RepeatEnd > 0 || p.Signs.Endings != s.bars[p.index+1].Signs.Endings {
		return nil
	}
	if st := s.bars[p.index+1].staves[p.hand]; st != nil {
		return &st.columns[0]
	}
	return nil
}

// rests asks what kind of rest stands somewhere, and how long a whole bar's rest is.
func rests(s *score) []candidate {
	var out []candidate
	s.spots(func(p spot) {
		n := p.first()
		if !n.Rest {
			return
		}
		where := fmt.Sprintf("In bar %s%s, ", p.Number, s.inHand(p.hand))
		if n.WholeBar {
			out = append(out, s.barRest(p)...)
			return
		}
		name := look(n.Value)
		if name == "" {
			return
		}
		c := candidate{
			Question: Question{
				Kind: Rest, Text: where + "what kind of rest is there on " + p.bar.beatName(p.beat) + "?", Where: p.bar.place(n), Answer: name + " rest",
				Accepted: []string{name}, Because: fmt.Sprintf("The sign is a %s rest: silence for as long as a %s (%s).", name, name, americanLook(n.Value)),
			},
			from: 0, to: 6, about: "rest " + name, even: true,
		}
		for _, w := range nearValues(n.Value) {
			c.wrong = append(c.wrong, w+" rest")
		}
		out = append(out, c)
	})
	return out
}

// barRest asks of a rest that fills its bar what it is, and how long: as long as the bar.
func (s *score) barRest(p spot) []candidate {
	n := p.first()
	unit := valueNames[references.Q(4, int64(p.Meter.Unit))]
	if unit == "" || p.Added || p.Length != p.Meter.Length() {
		return nil
	}
	kind := candidate{
		Question: Question{
			Kind: Rest, Text: fmt.Sprintf("In bar %s%s, what kind of rest is there?", p.Number, s.inHand(p.hand)), Where: p.bar.place(n), Answer: "a whole bar's rest",
			Accepted: []string{"whole bar rest", "bar rest", "bars rest", "full bar rest", "full bars rest", "semibreve rest", "semibreve", "a rest for the whole bar", "whole bar", "rest for whole bar"},
			Because:  "This rest hangs from the fourth line and lasts the whole bar, whatever the time signature.",
		},
		from: 0, to: 4, about: "bar rest", wrong: []string{"minim rest", "crotchet rest", "quaver rest"},
	}
	long := candidate{
		Question: Question{
			Kind: Rest, Text: fmt.Sprintf("In bar %s%s, how long is the rest?", p.Number, s.inHand(p.hand)), Where: p.bar.place(n), Answer: plural(p.Meter.Beats, unit),
			Accepted: []string{"the whole bar", "whole bar", "a whole bar", "one bar", "full bar", "whole bar's rest", plural(p.Meter.Beats, unit+" beat"), plural(p.Meter.Beats, "beat")},
			Because:  "A whole bar's rest lasts as long as the bar does: here " + plural(p.Meter.Beats, unit) + ".",
		},
		from: 1, to: 6, about: "bar rest",
	}
	if compound(p.Meter) {
		k := p.Meter.Beats / 3
		beat := valueWords(p.Meter.Beat())
		long.Accepted = append(long.Accepted[:len(long.Accepted)-1], plural(k, beat), plural(k, beat+" beat"), plural(k, "beat"))
	}
	for _, w := range []references.Meter{{Beats: 4, Unit: 4}, {Beats: 2, Unit: 4}, {Beats: 1, Unit: 4}, {Beats: 3, Unit: 4}} {
		if w.Length() != p.Meter.Length() {
			long.wrong = append(long.wrong, plural(w.Beats, "crotchet"))
		}
	}
	return []candidate{kind, long}
}
