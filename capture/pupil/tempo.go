package pupil

import "math"

// tempo says when each written moment is reached when nothing goes wrong.
//
// The time to play a beat changes in a straight line with the written position x, from the first
// onset (0) to the last (1), so that its integral, the onsets, is a parabola and the tempo at the end
// over that at the start is 1 + Drift/100 exactly. Phrase adds a parabola that is slow at both ends:
// scales at slow tempi are slowed at beginning and end (van Vugt et al. 2014, Exp Brain Res 232:3555).
// Neither changes the mean tempo. In a score, written position is counted after the bends of its signs.
type tempo struct {
	beat   float64 // mean seconds to a beat
	quart  float64 // quarters in a beat
	total  float64 // beats from the first onset to the last
	ratio  float64 // of the last beat's length to the first's
	phrase float64
	bends  bends
}

func (p *Pupil) tempo(s *score) tempo {
	t := tempo{beat: 60 / min(max(p.BPM, 5), 2000), quart: beatOf(s.ref), bends: p.bends(s)}
	if n := len(s.ref.Notes); n > 0 {
		t.total = t.bends.warp(s.since(s.ref.Notes[n-1].Onset)) / t.quart
	}
	t.ratio = 1 / (1 + min(max(p.Drift, -90), 900)/100)
	t.phrase = min(max(p.Phrase, -90), 150) / 100
	return t
}

// at is the time in seconds of a moment so many quarters after the first onset. After the last onset
// time goes on as it was there.
func (t tempo) at(quarters float64) float64 {
	beats := t.bends.warp(quarters) / t.quart
	if t.total <= 0 {
		return beats * t.beat
	}
	x := min(beats/t.total, 1)
	drift := (x + (t.ratio-1)*x*x/2) / ((1 + t.ratio) / 2)
	// ∫ 3/2 ((2x-1)² - 1/3) dx
	phrase := t.phrase * 1.5 * ((math.Pow(2*x-1, 3)+1)/6 - x/3)
	last := t.ratio/((1+t.ratio)/2) + t.phrase
	return t.beat * (t.total*(drift+phrase) + (beats-x*t.total)*last)
}

// onset is the time in seconds of an onset there: after the breath before it.
func (t tempo) onset(quarters float64) float64 { return t.at(quarters) + t.bends.waited(quarters) }
