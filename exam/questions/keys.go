package questions

import (
	"fmt"
	"slices"
	"strings"

	"evenhand/references"
)

// start is the place of the beginning.
func (s *score) start() Place { return Place{Bar: s.bars[0].Number} }

// signature is the key signature at the beginning; false where it is none that can be asked for.
func (s *score) signature() (int, bool) {
	if len(s.bars) == 0 || s.bars[0].Custom {
		return 0, false
	}
	return s.bars[0].Fifths, true
}

// accidentalsOf is a key signature in words: "F♯, C♯, G♯".
func accidentalsOf(fifths int) string {
	var names []string
	for _, n := range references.KeyOf(fifths, false).Signature() {
		names = append(names, n.String())
	}
	if names == nil {
		return "no sharps or flats"
	}
	return strings.Join(names, ", ")
}

// signatureCount is how many sharps or flats a key signature has: "three sharps".
func signatureCount(fifths int) string {
	switch {
	case fifths > 0:
		return plural(fifths, "sharp")
	case fifths < 0:
		return plural(-fifths, "flat")
	}
	return "no sharps or flats"
}

var noAccidentals = []string{"none", "no", "nothing", "neither", "0", "no sharps", "no flats", "no sharps and no flats", "no key signature", "there are none", "no accidentals"}

// signatures asks for the key signature at the beginning.
func signatures(s *score) []candidate {
	f, ok := s.signature()
	if !ok {
		return nil
	}
	count := candidate{
		Question: Question{
			Kind: Signature, Text: "How many sharps or flats are in the key signature at the beginning?", Where: s.start(), Answer: signatureCount(f),
			Because: fmt.Sprintf("The key signature at the beginning has %s: %s.", signatureCount(f), accidentalsOf(f)),
		},
		from: 0, to: 1, about: "signature",
	}
	order := count
	order.Text, order.Answer = "Which sharps or flats are in the key signature at the beginning? Name them in order.", accidentalsOf(f)
	order.from, order.to = 2, 8
	if f == 0 {
		count.Accepted, order.Accepted = noAccidentals, noAccidentals
		count.Because = "There is neither a sharp nor a flat between the clef and the time signature."
		order.Because = count.Because
	} else {
		order.Because = "Sharps are always written in the order F C G D A E B."
		if f < 0 {
			order.Because = "Flats are always written in the order B E A D G C F."
		}
	}
	for _, other := range []int{-f, f + 1, f - 1, f + 2, f - 2, 1, -1} {
		if other >= -7 && other <= 7 {
			count.wrong = append(count.wrong, signatureCount(other))
			order.wrong = append(order.wrong, accidentalsOf(other))
		}
	}
	return []candidate{count, order}
}

// key is the key of the piece, where it can be told for certain: one signature throughout, an ending
// on the tonic with the tonic chord over it, leading notes that agree, and no other word in the score.
func (s *score) key() (references.Key, bool) {
	f, ok := s.signature()
	if !ok || f != s.ref.Fifths || len(s.ref.Notes) == 0 {
		return references.Key{}, false
	}
	for i := range s.bars {
		if s.bars[i].Fifths != f || s.bars[i].Custom {
			return references.Key{}, false
		}
	}
	last := s.ending()
	for _, k := range []references.Key{references.KeyOf(f, false), references.KeyOf(f, true)} {
		if last[0].Name == k.Tonic && within(last, triad(k.Tonic, k.Minor, true)) && s.leads(k) && s.modeAgrees(k) {
			return k, true
		}
	}
	return references.Key{}, false
}

// modeAgrees reports whether the score names no other mode.
func (s *score) modeAgrees(k references.Key) bool {
	switch s.bars[0].Mode {
	case "":
		return true
	case "major", "ionian":
		return !k.Minor
	case "minor", "aeolian":
		return k.Minor
	}
	return false
}

// ending is what sounds at the last stroke, lowest first.
func (s *score) ending() []references.Pitch { return s.sounding(len(s.ref.Notes) - 1) }

// sounding is what sounds at the stroke of a note, lowest first; grace notes do not count.
func (s *score) sounding(note int) []references.Pitch {
	at := s.ref.Notes[note].Onset
	var out []references.Pitch
	for i := range s.ref.Notes {
		n := &s.ref.Notes[i]
		if n.Grace == references.NoGrace && !at.Less(n.Onset) && at.Less(n.Onset.Add(n.Length)) {
			j := 0
			for j < len(out) && out[j].Key() <= n.Key() {
				j++
			}
			out = append(out[:j:j], append([]references.Pitch{n.Pitch}, out[j:]...)...)
		}
	}
	if out == nil {
		out = []references.Pitch{s.ref.Notes[note].Pitch}
	}
	return out
}

// up is the name that lies some letters and semitones above another.
func up(n references.Name, steps, semitones int) references.Name {
	return references.Pitch{Name: n, Octave: 4}.Up(steps, semitones).Name
}

// triad is a major or minor chord; one of a minor key may end with the major third.
func triad(root references.Name, minor, picardy bool) []references.Name {
	third := up(root, 2, 4)
	if !minor {
		return []references.Name{root, third, up(root, 4, 7)}
	}
	t := []references.Name{root, up(root, 2, 3), up(root, 4, 7)}
	if picardy {
		t = append(t, third)
	}
	return t
}

func within(pitches []references.Pitch, chord []references.Name) bool {
	for _, p := range pitches {
		if !slices.Contains(chord, p.Name) {
			return false
		}
	}
	return true
}

// leads reports whether the leading notes speak for a key: its own is there, in a minor key in the
// last four bars, and in a major key it is there more often than that of the relative minor.
func (s *score) leads(k references.Key) bool {
	own := up(k.Tonic, 6, 11)
	other := up(references.KeyOf(k.Fifths(), true).Tonic, 6, 11)
	from := 0
	if k.Minor {
		from = len(s.ref.Bars) - 4
	}
	here, there := 0, 0
	for i := range s.ref.Notes {
		n := &s.ref.Notes[i]
		if n.Measure < from {
			continue
		}
		switch n.Pitch.Name {
		case own:
			here++
		case other:
			there++
		}
	}
	if k.Minor {
		return here > 0
	}
	return here > there
}

// keys asks for the key, and whether it is major or minor.
func keys(s *score) []candidate {
	k, ok := s.key()
	if !ok {
		return nil
	}
	f := k.Fifths()
	mode, other := "major", "minor"
	if k.Minor {
		mode, other = other, mode
	}
	because := fmt.Sprintf("With %s the key is %s or %s, and the last bass note is %s.", signatureCount(f), references.KeyOf(f, false), references.KeyOf(f, true), k.Tonic)
	where := s.start()
	isMinor := candidate{
		Question: Question{
			Kind: KeyKind, Text: "Is this piece in a major or in a minor key?", Where: where, Answer: mode, Because: because,
			Accepted: []string{mode + " key", "in a " + mode + " key", "in " + mode, k.String()},
		},
		from: 1, to: 3, about: "mode", wrong: []string{other},
	}
	name := candidate{
		Question: Question{
			Kind: KeyKind, Text: "Which key is this piece in?", Where: where, Answer: k.String(), Because: because,
			Accepted: []string{"in " + k.String(), "the key of " + k.String(), k.String() + " key"},
		},
		from: 3, to: 8, about: "key",
		wrong: []string{references.KeyOf(f, !k.Minor).String(), references.Key{Tonic: k.Tonic, Minor: !k.Minor}.String()},
	}
	if !k.Minor {
		name.Accepted = append(name.Accepted, k.Tonic.String())
	}
	for _, near := range []int{f + 1, f - 1} {
		if near >= -7 && near <= 7 {
			name.wrong = append(name.wrong, references.KeyOf(near, k.Minor).String())
		}
	}
	return []candidate{isMinor, name}
}

// relatives asks for the relative key.
func relatives(s *score) []candidate {
	k, ok := s.key()
	if !ok {
		return nil
	}
	f := k.Fifths()
	rel := references.KeyOf(f, !k.Minor)
	c := candidate{
		Question: Question{
			Kind: Relative, Text: "Which key is the relative of the key this piece is in?", Where: s.start(), Answer: rel.String(),
			Because: fmt.Sprintf("%s and %s have the same key signature, %s.", k.String(), rel.String(), signatureCount(f)),
		},
		from: 4, to: 8, about: "relative",
		wrong: []string{references.Key{Tonic: k.Tonic, Minor: !k.Minor}.String()},
	}
	for _, near := range []int{f + 1, f - 1} {
		if near >= -7 && near <= 7 {
			c.wrong = append(c.wrong, references.KeyOf(near, !k.Minor).String())
		}
	}
	return []candidate{c}
}

// clefNames are the clefs by their sign and line.
var clefNames = map[references.ClefSign]string{
	{Sign: "G", Line: 2}: "treble clef", {Sign: "F", Line: 4}: "bass clef",
	{Sign: "C", Line: 3}: "alto clef", {Sign: "C", Line: 4}: "tenor clef",
}

// clefs asks for the clef that each hand begins in.
func clefs(s *score) []candidate {
	var out []candidate
	if len(s.bars) == 0 {
		return nil
	}
	for _, h := range s.hands {
		first := s.bars[0].firstOf(h)
		if first == nil || clefNames[first.Clef] == "" {
			continue
		}
		name := clefNames[first.Clef]
		letter := first.Clef.Sign
		c := candidate{
			Question: Question{
				Kind: Clef, Text: fmt.Sprintf("Which clef does %s begin in?", s.theHand(h)), Where: Place{Bar: s.bars[0].Number, Hand: h.String()}, Answer: name,
				Accepted: []string{strings.TrimSuffix(name, " clef"), letter + " clef"},
				Because:  fmt.Sprintf("The %s shows where the note %s is.", name, map[string]string{"G": "G above middle C", "F": "F below middle C", "C": "middle C"}[letter]),
			},
			from: 0, to: 2, about: "clef " + h.String(), wrong: []string{"treble clef", "bass clef", "alto clef", "tenor clef"},
		}
		out = append(out, c)
	}
	return out
}

// firstOf is the first printed note or rest of a hand in a bar.
func (b *bar) firstOf(h references.Hand) *references.Printed {
	var first *references.Printed
	for i := range b.Notes {
		if n := &b.Notes[i]; n.Hand == h && !n.Grace && (first == nil || n.Onset.Less(first.Onset)) {
			first = n
		}
	}
	return first
}
