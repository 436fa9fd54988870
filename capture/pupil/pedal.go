package pupil

import (
	"math"
	"sort"
	"time"

	"evenhand/capture"
)

// Seconds after the onset at which the foot goes down again when the pedal is changed, and when it goes
// down fresh: with the new harmony up, and down once it sounds. Common practice.
const (
	pedalAgain = 0.12
	pedalFresh = 0.05
)

// pedals presses the sustaining pedal as the pupil does.
func (p *performance) pedals(take *capture.Take) []capture.Pedal {
	if len(take.Notes) == 0 || p.p.Pedal == PedalLeftOut {
		return nil
	}
	if p.p.Pedal == NoPedal {
		return p.marked(take.End())
	}
	out := []capture.Pedal{down(max(take.Notes[0].On-100*time.Millisecond, 0).Round(capture.Tick))}
	if p.p.Pedal == PedalChanged {
		bar := p.s.ref.BarLength.Float()
		if bar <= 0 {
			bar = p.tempo.quart
		}
		length := max(seconds(bar/p.tempo.quart*p.tempo.beat), 200*time.Millisecond)
		for at := take.Notes[0].On + length; at < take.End(); at += length {
			// Up with the new harmony, down again once it sounds: common practice.
			out = append(out, up(at.Round(capture.Tick)), down((at + 120*time.Millisecond).Round(capture.Tick)))
		}
	}
	return append(out, up(max(take.End(), out[len(out)-1].At)+100*time.Millisecond))
}

func down(at time.Duration) capture.Pedal {
	return capture.Pedal{At: at, Controller: capture.Sustain, Value: 127}
}

func up(at time.Duration) capture.Pedal { return capture.Pedal{At: at, Controller: capture.Sustain} }

// foot is the right foot on its way through the piece.
type foot struct {
	moves []capture.Pedal
	last  float64 // seconds, of the last move
	held  bool
}

func (f *foot) press(at float64, hold bool) {
	f.last, f.held = max(at, f.last, 0), hold
	move := up
	if hold {
		move = down
	}
	f.moves = append(f.moves, move(seconds(f.last).Round(capture.Tick)))
}

// marked presses the pedal where the score marks it, along the way that was played. At a break the foot
// comes up with the hands.
func (p *performance) marked(end time.Duration) []capture.Pedal {
	var f foot
	if len(p.s.ref.Pedals) == 0 {
		return nil
	}
	for i, st := range p.steps {
		if f.held && (st.fresh || st.onset != p.steps[i-1].onset+1) {
			f.press(p.at[i], false)
		}
		p.pedalStep(&f, i, end)
	}
	if f.held {
		f.press(end.Seconds(), false)
	}
	return f.moves
}

// pedalStep moves the foot between the onset of step i and the next that is written.
func (p *performance) pedalStep(f *foot, i int, end time.Duration) {
	e := p.steps[i].onset
	here, next := p.s.quarters(e), math.Inf(1)
	if e+1 < p.s.onsets() {
		next = p.s.quarters(e + 1)
	}
	when := func(q float64) float64 {
		at := p.at[i] + p.tempo.at(max(q, here)) - p.tempo.at(here)
		if math.IsInf(next, 1) { // after the last onset
			at = min(at, max(end.Seconds(), p.at[i]))
		}
		return at
	}
	marks := p.s.ref.Pedals
	on := p.s.ref.Notes[p.s.bounds[e]].Onset
	for _, m := range marks[sort.Search(len(marks), func(k int) bool { return !marks[k].To.Less(on) }):] {
		from, to := p.s.since(m.From), p.s.since(m.To)
		if from >= next {
			return
		}
		if f.held && to >= here && to < next {
			f.press(when(to), false)
			continue
		}
		if f.held || to <= here {
			continue
		}
		at := when(from)
		late := pedalFresh
		if len(f.moves) > 0 && f.last >= at-0.001 { // changed at once
			late = pedalAgain
		}
		if to >= next {
			f.press(at+late, true)
		} else { // down and up before the next onset
			f.press(at+min(late, (when(to)-at)/2), true)
			f.press(when(to), false)
		}
	}
}
