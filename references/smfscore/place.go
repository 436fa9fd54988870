package smfscore

import (
	"errors"
	"slices"
	"strconv"
	"strings"

	"evenhand/references"
)

// bars lays the bars out from the time signatures; 4/4 until one comes (RP-001). A signature inside
// a bar cuts it short.
func (s *score) bars() error {
	end := references.Quarters{}
	for _, n := range s.notes {
		if e := s.onGrid(n.off); end.Less(e) {
			end = e
		}
		if e := s.onGrid(n.on).Add(s.step); end.Less(e) {
			end = e
		}
	}
	meter := references.Meter{Beats: 4, Unit: 4}
	next := 0
	for at := (references.Quarters{}); at.Less(end); {
		for next < len(s.meters) && !at.Less(s.onGrid(s.meters[next].tick)) {
			meter = s.meters[next].meter
			next++
		}
		length := meter.Length()
		if next < len(s.meters) {
			if change := s.onGrid(s.meters[next].tick); change.Less(at.Add(length)) {
				length = change.Sub(at)
			}
		}
		i := len(s.ref.Bars)
		if i == maxBars {
			return errors.New("it lasts more than " + strconv.Itoa(maxBars) + " bars: too large for a score")
		}
		s.ref.Bars = append(s.ref.Bars, references.Bar{
			Number: strconv.Itoa(i + 1), Written: i, Pass: 1, Onset: at, Length: length, Meter: meter,
		})
		at = at.Add(length)
	}
	return nil
}

// place makes the notes of the reference.
func (s *score) place() {
	s.hands()
	s.signatures()
	notes := make([]references.Note, 0, len(s.notes))
	fifths, keys := 0, s.keys
	for _, n := range s.notes { // in order of time
		for len(keys) > 0 && keys[0].tick <= n.on {
			fifths, keys = keys[0].fifths, keys[1:]
		}
		on := s.onGrid(n.on)
		length := s.onGrid(n.off).Sub(on)
		if length.Num() <= 0 {
			length = s.step
		}
		bar := s.barAt(on)
		b := &s.ref.Bars[bar]
		beat := b.Meter.Beat()
		notes = append(notes, references.Note{
			Bar: b.Number, Pass: 1, Measure: bar, Onset: on, Length: length,
			Beat:  1 + on.Sub(b.Onset).Times(beat.Den(), beat.Num()).Float(),
			Pitch: spell(int(n.key), fifths), Hand: s.voices[n.voice].hand,
		})
	}
	s.ref.Notes = notes
	s.ref.Sort()
	s.ref.Notes = unisons(s.ref.Notes)
	first := s.ref.Bars[0].Meter
	s.ref.BarLength, s.ref.Beat = first.Length(), first.Beat()
	s.ref.Sections = []references.Section{{First: 0, End: len(s.ref.Bars), Pass: 1}}
}

func (s *score) barAt(at references.Quarters) int {
	i, found := slices.BinarySearchFunc(s.ref.Bars, at, func(b references.Bar, q references.Quarters) int { return b.Onset.Cmp(q) })
	if !found {
		i--
	}
	return i
}

// unisons makes one stroke of notes of one key at one time; the notes are sorted.
func unisons(notes []references.Note) []references.Note {
	out := notes[:0]
	for _, n := range notes {
		last := len(out) - 1
		if last < 0 || out[last].Onset != n.Onset || out[last].Key() != n.Key() {
			out = append(out, n)
			continue
		}
		if out[last].Length.Less(n.Length) {
			out[last].Length = n.Length
		}
		if h := out[last].Hand; h != n.Hand && h != references.NoHand && n.Hand != references.NoHand {
			out[last].Hand = references.Both
		}
	}
	return out
}

// hands gives the voices their hands: by the name of the track where it tells; else, of two, the
// higher is the right hand's. Of one, or of more than two, nothing is known.
func (s *score) hands() {
	var filled []*voice
	for i := range s.voices {
		if v := &s.voices[i]; v.count > 0 {
			v.hand = namedHand(v.name)
			filled = append(filled, v)
		}
	}
	if len(filled) != 2 {
		if len(filled) > 2 {
			s.warn(strconv.Itoa(len(filled)) + " tracks or channels: which hand plays what is known only where their names tell it")
		}
		return
	}
	a, b := filled[0], filled[1]
	if a.hand != references.NoHand && b.hand != references.NoHand && a.hand != b.hand {
		return
	}
	if a.sum*b.count < b.sum*a.count {
		a, b = b, a
	}
	a.hand, b.hand = references.Right, references.Left
}

// namedHand is the hand that the name of a track tells, in the words of the piano lesson.
func namedHand(name string) references.Hand {
	for _, w := range strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return strings.ContainsRune(" .,-_()/", r) }) {
		switch w {
		case "right", "rh", "treble", "upper", "droite", "rechts", "destra":
			return references.Right
		case "left", "lh", "bass", "lower", "gauche", "links", "sinistra":
			return references.Left
		}
	}
	return references.NoHand
}

// signatures makes the key changes, and the key of the start.
func (s *score) signatures() {
	for _, k := range s.keys {
		c := references.KeyChange{Onset: s.onGrid(k.tick), Fifths: k.fifths, Minor: k.minor}
		if n := len(s.ref.Keys); n > 0 {
			if last := &s.ref.Keys[n-1]; last.Fifths == c.Fifths && last.Minor == c.Minor {
				continue
			} else if last.Onset == c.Onset {
				*last = c
				continue
			}
		} else if c.Onset.Num() > 0 {
			s.ref.Keys = append(s.ref.Keys, references.KeyChange{})
		}
		s.ref.Keys = append(s.ref.Keys, c)
	}
	if len(s.ref.Keys) > 0 {
		s.ref.Fifths, s.ref.Minor = s.ref.Keys[0].Fifths, s.ref.Keys[0].Minor
	}
}

// spell names a key as it is usual in a key signature: of the twelve names on the line of fifths
// from three flatter to eight sharper than the tonic of the major key. So C major has B flat and
// E flat, F sharp, C sharp and G sharp, and A minor its leading note.
func spell(key, fifths int) references.Pitch {
	// Seven semitones are a fifth: the place of a pitch class on the line of fifths is 7 times it.
	place := fifths - 3 + ((key*7-(fifths-3))%12+12)%12
	step := references.Step(((place*4)%7 + 7) % 7)
	p := references.Pitch{Name: references.Name{Step: step}}
	natural := p.Key() // in octave 0
	alter := ((key-natural)%12 + 12) % 12
	if alter > 6 {
		alter -= 12
	}
	p.Alter = int8(alter)
	p.Octave = int8((key - natural - alter) / 12)
	return p
}
