package musicxml

import "evenhand/references"

// held finds the notes that are tied on: a tie starts at a note and stops at the next one of the
// same key that begins where it ends, whatever the voice; the two are one stroke.
type held struct {
	open map[tieKey][]int // indices of the struck notes: two where two voices hold one key
}

type tieKey struct {
	part, key int
	end       references.Quarters
}

func newHeld() *held { return &held{open: map[tieKey][]int{}} }

// strike adds a note, or makes the note that it is tied to longer. A tie that stops where none
// comes from, as at the start of a second ending, is struck.
func (h *held) strike(notes *[]references.Note, n *note, out references.Note) {
	at := tieKey{n.part, out.Key(), out.Onset}
	from := h.open[at]
	index := len(*notes)
	if len(from) > 0 && n.tieStop && out.Grace == references.NoGrace {
		index, h.open[at] = from[0], from[1:]
		struck := &(*notes)[index]
		if struck.Grace != references.NoGrace { // one stroke: the note that the grace note is tied to
			out.Also = append(append(out.Also, struck.Also...), struck.ID)
			*struck = out
		} else {
			struck.Length = tame(struck.Length.Add(out.Length))
			struck.Touch = out.Touch
			if struck.Ornament == references.NoOrnament {
				struck.Ornament, struck.Above, struck.Below = out.Ornament, out.Above, out.Below
			}
		}
	} else {
		*notes = append(*notes, out)
	}
	if n.tieStart {
		end := tieKey{n.part, out.Key(), tame(out.Onset.Add(out.Length))}
		h.open[end] = append(h.open[end], index)
	}
}

// mergeUnisons makes one stroke of the notes of several voices on one key at one time. The longest
// stands for all, and the ids of the others go into its Also; of two hands, the right hand's finger
// comes first. The notes are sorted.
func mergeUnisons(notes []references.Note) []references.Note {
	out := notes[:0]
	for _, n := range notes {
		if last := len(out) - 1; last >= 0 && out[last].Onset == n.Onset && out[last].Key() == n.Key() &&
			out[last].Grace == n.Grace && out[last].GraceOrder == n.GraceOrder {
			out[last] = unison(out[last], n)
			continue
		}
		out = append(out, n)
	}
	return out
}

func unison(a, b references.Note) references.Note {
	if a.Length.Less(b.Length) || a.Optional && !b.Optional {
		a, b = b, a
	}
	if a.Hand != b.Hand && a.Hand != references.NoHand && b.Hand != references.NoHand {
		right, left := a.Finger, b.Finger
		if a.Hand == references.Left || b.Hand == references.Right {
			right, left = left, right
		}
		if a.Hand == references.Both || b.Hand == references.Both {
			right, left = a.Finger, a.Finger2
		}
		a.Finger, a.Finger2, a.Hand = right, left, references.Both
	} else if a.Finger == 0 {
		a.Finger = b.Finger
	}
	if b.ID != "" {
		a.Also = append(append([]string(nil), a.Also...), b.ID)
	}
	a.Also = append(a.Also, b.Also...)
	if a.Ornament == references.NoOrnament {
		a.Ornament, a.Above, a.Below = b.Ornament, b.Above, b.Below
	}
	a.Accent, a.Rolled = a.Accent || b.Accent, a.Rolled || b.Rolled
	a.Optional = a.Optional && b.Optional
	return a
}
