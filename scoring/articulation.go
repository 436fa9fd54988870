package scoring

import (
	"fmt"

	"evenhand/references"
)

// markedJoint is one joint under a sign of touch, and whether it was heard.
type markedJoint struct {
	note  int // the first of the notes that are joined or parted
	hand  references.Hand
	asked references.Touch
	joint joint
	heard bool
}

// markedTouches looks at every joint where the score marks a touch: joined under a slur, short under
// a dot. A tenuto is held for LengthShare at least, and portato is neither joined nor short, and right
// as either. Steps with ornaments, rolled chords and written changes are left out.
func (p *performance) markedTouches() []markedJoint {
	var out []markedJoint
	for i := range p.lines {
		l := &p.lines[i]
		for _, g := range p.gaps(l) {
			a, b := &l.steps[g.from], &l.steps[g.to]
			asked := p.Reference.Notes[a.notes[len(a.notes)-1]].Touch
			if asked == references.NoTouch || g.to != g.from+1 || !g.steady() || !a.correct || a.open || g.seconds <= 0 || p.adorned(a) || p.adorned(b) {
				continue
			}
			j := p.joint(a, b, l.hand, g.seconds)
			m := markedJoint{note: a.notes[0], hand: l.hand, asked: asked, joint: j}
			switch asked {
			case references.Legato:
				if p.sameKey(a, b) || p.restAfter(l, g.from) {
					continue
				}
				m.heard = j.legato
			case references.Staccato:
				m.heard = j.short
			default:
				m.heard = a.off-a.on >= p.piece.LengthShare*p.limits.StaccatoShare*g.seconds
			}
			out = append(out, m)
		}
	}
	return out
}

// restAfter reports whether step k of a line ends before the next one begins, as written.
func (p *performance) restAfter(l *line, k int) bool {
	end := l.steps[k].onset
	for _, i := range l.steps[k].notes {
		n := &p.Reference.Notes[i]
		if e := n.Onset.Add(n.Length); end.Less(e) {
			end = e
		}
	}
	return k+1 < len(l.steps) && end.Less(l.steps[k+1].onset)
}

// articulation files, for each hand and touch, where it was not heard. The loss is by the share of
// all marked joints.
func (l *ledger) articulation(ms []markedJoint, c PieceCharges) {
	for _, hand := range []references.Hand{references.Right, references.Left, references.NoHand} {
		for t := references.Legato; t <= references.Portato; t++ {
			var notes []int
			all := 0
			for _, m := range ms {
				if m.hand == hand && m.asked == t {
					all++
					if !m.heard {
						notes = append(notes, m.note)
					}
				}
			}
			if all == 0 || float64(all-len(notes)) >= l.limits.TouchShare*float64(all) {
				continue
			}
			f := Finding{
				Kind: OtherTouch, Measured: known(100 * float64(all-len(notes)) / float64(all)), Limit: known(100 * l.limits.TouchShare),
				Unit: "percent of the pairs", Source: chosenSource, mark: soundMark,
				loss: c.Touch * float64(len(notes)) / float64(len(ms)), Severity: Light,
				try: "Play just that hand and listen to the end of each note.",
			}
			if t == references.Staccato {
				f.Source = bresinSource
			}
			f.Text = fmt.Sprintf("%s: %s is marked, and %s of %s were not played so.", capital(l.barsWords(notes)), t, number(len(notes)), notesWords(all))
			l.add(l.about(f, notes...))
		}
	}
}

// tellMarkedTouch gives the contract's words for a score: the touch marked for a hand is told where it
// has only one.
func (p *performance) tellMarkedTouch(hs []handTouch, ms []markedJoint) *Touch {
	t := p.tellTouch(hs, nil)
	if t == nil {
		return nil
	}
	for k := range t.Hands {
		asked := references.NoTouch
		for _, m := range ms {
			if m.hand.String() != t.Hands[k].Hand {
				continue
			}
			if asked != references.NoTouch && asked != m.asked {
				asked = references.NoTouch
				break
			}
			asked = m.asked
		}
		t.Hands[k].Asked = unless(asked.String())
	}
	return t
}
