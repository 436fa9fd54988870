package musicxml

import "evenhand/references"

// keyboard chooses what a pianist plays from. A part of two staves or more is a piano part, and the
// first such one is read alone (a song's voice, a second piano are left out, which is said). Without
// one, two parts of one staff are the two hands; else all parts are read, with no hand for those of
// more than two.
func (s *score) keyboard() []*part {
	var filled []*part
	for _, pt := range s.parts {
		if len(pt.bars) > 0 {
			filled = append(filled, pt)
		}
	}
	chosen := filled
	for _, pt := range filled {
		if pt.staves > 1 {
			chosen = []*part{pt}
			break
		}
	}
	for _, pt := range filled {
		if len(chosen) == 1 && pt != chosen[0] {
			s.warn("", pt.bars[0].line, "part %q was left out: the piano part %q was read", pt.label(), chosen[0].label())
		}
	}
	if len(chosen) > 2 {
		s.warn("", 0, "the score has %d parts and none of two staves: all were read as one, and which hand plays what is not known", len(chosen))
	}
	first := 0
	for _, pt := range chosen {
		pt.first = first
		first += pt.staves
	}
	return chosen
}

func (pt *part) label() string {
	if pt.name != "" {
		return pt.name
	}
	return pt.id
}

// staffHands gives the hand of each staff that is read: the first is the right hand's and the last
// the left's, those between go by their clef, and a single one by its clef too.
func staffHands(parts []*part) []references.Hand {
	if len(parts) > 2 {
		n := 0
		for _, pt := range parts {
			n += pt.staves
		}
		return make([]references.Hand, n)
	}
	var hands []references.Hand
	for _, pt := range parts {
		for i := range pt.staves {
			h := references.Right
			if i < len(pt.clefs) && pt.clefs[i] < 0 {
				h = references.Left
			}
			hands = append(hands, h)
		}
	}
	if n := len(hands); n > 1 {
		hands[0], hands[n-1] = references.Right, references.Left
	}
	return hands
}

// homes finds the staff that each voice of a part belongs to, and says it to the voice's notes: the
// staff of at least two thirds of the voice's notes; where there is none, each note's own.
func homes(pt *part) {
	count := map[string][]int{}
	for b := range pt.bars {
		for i := range pt.bars[b].notes {
			n := &pt.bars[b].notes[i]
			if count[n.voice] == nil {
				count[n.voice] = make([]int, pt.staves)
			}
			count[n.voice][n.staff]++
		}
	}
	home := map[string]int{}
	for voice, c := range count {
		best, all := 0, 0
		for staff, n := range c {
			all += n
			if n > c[best] {
				best = staff
			}
		}
		home[voice] = -1
		if 3*c[best] >= 2*all {
			home[voice] = best
		}
	}
	for b := range pt.bars {
		for i := range pt.bars[b].notes {
			n := &pt.bars[b].notes[i]
			if n.home = home[n.voice]; n.home < 0 {
				n.home = n.staff
			}
		}
	}
}

// assignHands gives every note of a bar its hand. A note written across, on another staff than its
// voice's home, goes with its voice where the other hand is busy in that bar, and to the hand whose
// staff it is on where that hand is free: common practice, and the choice of least reach.
func assignHands(b *bar, hands []references.Hand) {
	var busy [maxStaves]bool
	for i := range b.notes {
		if n := &b.notes[i]; n.home == n.staff {
			busy[n.staff] = true
		}
	}
	for i := range b.notes {
		n := &b.notes[i]
		staff := n.staff
		if n.home != n.staff && busy[n.staff] {
			staff = n.home
		}
		n.Hand = hands[staff]
	}
	for i := range b.notes {
		if n := &b.notes[i]; n.Grace != references.NoGrace && n.Grace != references.AfterGrace {
			n.Hand = b.handLedTo(n)
		}
	}
}

// handLedTo is the hand of the note that a grace note leads to: one hand plays both.
func (b *bar) handLedTo(g *note) references.Hand {
	for i := range b.notes {
		if n := &b.notes[i]; n.Grace == references.NoGrace && n.voice == g.voice && n.Onset == g.Onset {
			return n.Hand
		}
	}
	return g.Hand
}

// assignSigns gives every sign of a bar the hand it is meant for. What stands between the staves is
// for both hands, what stands outside them for the nearer one; where both staves have a sign of one
// kind at one place, each is for its own hand.
func assignSigns(b *bar, hands []references.Hand) {
	for i := range b.signs {
		g := &b.signs[i]
		last := len(hands) - 1
		g.hand = references.Both
		if last < 1 || g.staff < 0 || g.staff > last {
			continue
		}
		outside := g.staff == 0 && g.above || g.staff == last && (g.below || !g.above)
		if outside || twinned(b, g) {
			if h := hands[g.staff]; h != references.NoHand {
				g.hand = h
			}
		}
	}
}

// twinned reports whether another staff has a sign of the same kind at the same place.
func twinned(b *bar, g *sign) bool {
	for i := range b.signs {
		o := &b.signs[i]
		if o.kind == g.kind && o.at == g.at && o.staff != g.staff && o.staff >= 0 {
			return true
		}
	}
	return false
}
