package pupil

import (
	"cmp"
	"slices"
	"time"

	"evenhand/capture"
	"evenhand/references"
)

// A key cannot be struck again until it has come up: the least time between two strokes of it, and the
// time it takes to rise (in the pupils' recordings that usualWidth names, 1 % of repeated keys were up for 16 ms
// or less).
const (
	leastAgain = 30 * time.Millisecond
	rise       = 15 * time.Millisecond
)

// struck is a stroke with the note it gave.
type struck struct {
	stroke
	capture.Note
}

// finish puts the strokes in the order of their onsets, settles what happens where they meet on one
// key, and writes down the truth.
func (p *performance) finish() (*capture.Take, Truth) {
	played := make([]struck, len(p.strokes))
	for i, s := range p.strokes {
		on := max(seconds(s.on), 0).Round(capture.Tick)
		played[i] = struck{s, capture.Note{
			Key: uint8(min(max(s.key, 0), 127)), Velocity: uint8(s.velocity), On: on,
			Off: on + max(seconds(s.held).Round(capture.Tick), capture.Tick), Open: s.open,
		}}
	}
	slices.SortStableFunc(played, func(a, b struck) int {
		return cmp.Or(cmp.Compare(a.On, b.On), cmp.Compare(a.Key, b.Key))
	})
	played = oneStroke(played)
	take := &capture.Take{Device: "simulated pupil"}
	for _, s := range played {
		take.Notes = append(take.Notes, s.Note)
	}
	leaveOpen(take)
	take.Pedals = p.pedals(take)
	return take, p.truth(played)
}

// oneStroke lets a key go before it is struck again, and makes strokes of one key that come too close
// for it one stroke: the one that belongs to the piece.
func oneStroke(played []struck) []struck {
	var out []struck
	var down [128]int // 1 + index in out of the last stroke of each key
	for _, s := range played {
		if i := down[s.Key] - 1; i >= 0 {
			prev := &out[i]
			if s.On-prev.On < leastAgain {
				if prev.role > Missing && s.role < Missing {
					on := prev.On
					*prev = s
					prev.On = on
				}
				continue
			}
			if prev.Off >= s.On || prev.Open {
				prev.Off, prev.Open = s.On-rise, false
			}
		}
		out = append(out, s)
		down[s.Key] = len(out)
	}
	return out
}

// leaveOpen ends the notes that are never let go with the take.
func leaveOpen(take *capture.Take) {
	var end time.Duration
	for _, n := range take.Notes {
		if !n.Open {
			end = max(end, n.Off)
		} else {
			end = max(end, n.On+capture.Tick)
		}
	}
	for i := range take.Notes {
		if take.Notes[i].Open {
			take.Notes[i].Off = end
		}
	}
}

// truth writes down what became of every note and what every stroke was.
func (p *performance) truth(played []struck) Truth {
	var t Truth
	for n := range p.s.ref.Notes {
		role := Missing
		if e := p.s.onset[n]; p.off[e] && p.last[e] < 0 {
			role = OffRoute
		}
		t.Expected = append(t.Expected, Expected{Role: role, Played: -1, Key: p.key(n)})
	}
	first := map[int]time.Duration{}
	for i, s := range played {
		is := Played{Role: s.role, Expected: -1, Near: s.note}
		if s.role <= Wrong {
			is.Expected = s.note
			t.Expected[s.note].Role, t.Expected[s.note].Played = s.role, i
		}
		t.Played = append(t.Played, is)
		if _, ok := first[s.step]; !ok {
			first[s.step] = s.On
		}
	}
	for _, d := range p.deeds {
		for i := d.step; i < len(p.steps); i++ { // of a step that was silent, the next
			if at, ok := first[i]; ok {
				d.At = at
				break
			}
		}
		t.Events = append(t.Events, d.Event)
	}
	slices.SortStableFunc(t.Events, func(a, b Event) int { return cmp.Compare(a.At, b.At) })
	if n := p.s.onsets(); n > 0 {
		t.Complete = p.last[n-1] >= 0
	}
	for _, e := range t.Events {
		j, _, ok := p.s.leaves(p.s.onset[e.From])
		if ok && e.Kind == RepeatLeftOut && t.Expected[e.Notes[0]].Role == OffRoute {
			t.Jumps = append(t.Jumps, j)
		}
	}
	t.Lines = lines(p.s.ref, played, &t)
	t.Apart = p.apart(played, &t)
	return t
}

// lines draws the correct notes of each hand and direction together.
func lines(ref *references.Reference, played []struck, t *Truth) []Line {
	var out []Line
	for _, hand := range [...]references.Hand{references.NoHand, references.Right, references.Left} {
		for _, dir := range [...]references.Direction{references.NoDirection, references.Up, references.Down} {
			l := Line{Hand: hand, Direction: dir}
			for n := range ref.Notes {
				note := &ref.Notes[n]
				if e := t.Expected[n]; e.Role == Correct && note.Hand.Has(hand) && note.Direction == dir && note.Grace == references.NoGrace {
					l.Notes = append(l.Notes, n)
					l.Onsets = append(l.Onsets, played[e.Played].On)
					l.Velocities = append(l.Velocities, played[e.Played].Velocity)
				}
			}
			if len(l.Notes) > 0 {
				out = append(out, l)
			}
		}
	}
	return out
}

// apart is the left hand's first onset less the right's, wherever each has a note of its own and plays
// it rightly; grace notes and rolled chords, which are free in time, are left out.
func (p *performance) apart(played []struck, t *Truth) []time.Duration {
	var out []time.Duration
	for e := range p.s.onsets() {
		var on [2]time.Duration
		var has [2]bool
		for _, n := range p.s.notes(e, references.Both) {
			note := &p.s.ref.Notes[n]
			h := note.Hand
			x := t.Expected[n]
			if h != references.Right && h != references.Left || x.Role != Correct || note.Grace != references.NoGrace || note.Rolled {
				continue
			}
			k := int(h - references.Right)
			if at := played[x.Played].On; !has[k] || at < on[k] {
				on[k], has[k] = at, true
			}
		}
		if has[0] && has[1] {
			out = append(out, on[1]-on[0])
		}
	}
	return out
}
