package scoring

import (
	"fmt"

	"evenhand/references"
)

// lead is a stretch in which one hand, having left a note out, is ahead of the other.
type lead struct {
	hand   references.Hand
	left   int   // the expected note left out
	events []int // at which the hand is ahead
}

// findLeads looks for a hand that leaves a note out while the other plays on, and is then early by
// more than half a usual interval, note after note. That is one thing: the notes in between are not
// hands apart, and the wait that brings the hands together again is part of it.
func (p *performance) findLeads() {
	p.ahead = make([]bool, len(p.starts))
	right, left := p.hand(references.Right), p.hand(references.Left)
	if right == nil || left == nil {
		return
	}
	var rates []float64
	for i := range p.lines {
		for _, g := range p.gaps(&p.lines[i]) {
			if !g.broken {
				rates = append(rates, g.rate())
			}
		}
	}
	half := median(rates) * p.usualGap() / 2
	for _, pair := range [2][2]*line{{right, left}, {left, right}} {
		early, other := pair[0], pair[1]
		for k := range early.steps {
			s := &early.steps[k]
			if o := other.step(s.event); s.sounded || o == nil || !o.sounded {
				continue
			}
			f := lead{hand: early.hand, left: s.notes[0]}
			for _, next := range early.steps[k+1:] {
				o := other.step(next.event)
				if o == nil || !next.sounded || !o.sounded || o.on-next.on <= half {
					break
				}
				f.events = append(f.events, next.event)
				p.ahead[next.event] = true
			}
			if n := len(f.events); n > 0 {
				p.leads = append(p.leads, f)
				if after := f.events[n-1] + 1; after < len(p.ahead) {
					p.ahead[after] = true
				}
			}
		}
	}
}

// leadsOfHands files where a hand that left a note out was ahead of the other. The note left out is charged,
// and this is what came of it.
func (l *ledger) leadsOfHands() {
	for _, d := range l.leads {
		var notes []int
		for _, e := range d.events {
			for i := l.starts[e]; i < l.starts[e+1]; i++ {
				if l.Reference.Notes[i].Hand == d.hand {
					notes = append(notes, i)
				}
			}
		}
		l.add(l.about(Finding{
			Kind: SlippedAlong, Measured: known(float64(len(d.events))), Unit: "notes", Source: commonPractice,
			Text: fmt.Sprintf("Without %s, %s, that hand was ahead of the other for %s.",
				l.noteWords(d.left), l.where(d.left), notesWords(len(d.events))),
			try: "Play hands together slowly from just before that place.",
		}, notes...))
	}
}

// notesWords gives "one note", "three notes".
func notesWords(n int) string {
	if n == 1 {
		return "one note"
	}
	return number(n) + " notes"
}
