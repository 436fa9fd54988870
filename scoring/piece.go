package scoring

import (
	"cmp"
	"math"
	"slices"

	"evenhand/references"
)

// forPiece are the charges by which the notes of a score are weighed, in the form of those of a
// request: all shares of the notes, with a small base so that one slip does not ruin eight bars.
func (c Charges) forPiece(p PieceCharges) Charges {
	c.Wrong, c.Missing = p.Wrong, p.Missing
	c.Extra, c.PutRight, c.Brushed, c.StruckAgain = p.Extra, p.Extra, p.Extra/2, p.Extra/2
	c.NotesRate, c.NotesBase = 1, pieceNotesBase
	c.WentBack = p.WentBack
	c.WeightNotes, c.WeightTime, c.WeightSound = 1, 1, 1
	return c
}

// pieceNotesBase is the number of notes that is added to a score's. Chosen by us.
const pieceNotesBase = 10

// judgePiece measures and judges what a score asks besides its notes.
func (l *ledger) judgePiece(out *Assessment, c PieceCharges) {
	rhythms := l.wrongRhythms()
	l.takeSwing(rhythms)
	claimed := l.claim(rhythms)
	values := l.otherValues(l.beatSteps(), claimed)
	l.claimValues(values, claimed)
	l.withoutWaits(claimed)
	for _, w := range l.all.waits {
		delete(claimed, w.event)
	}
	steps := l.beatSteps()
	each := c.OutOfTime / math.Max(1, float64(len(steps)))
	l.charges.Hesitation = each

	skips := l.skipped()
	out.Flow = l.flow(skips)
	l.flowOfPiece(&out.Flow, steps)
	l.playing(skips)
	l.ornaments(l.ornamentCharge)
	l.rhythm(rhythms, steps, claimed, each)
	l.values(values, each)
	l.outOfTime(steps, claimed, each)

	l.timeOfPiece(out, steps, c)
	l.soundOfPiece(out, steps, c)
	l.join()
}

// timeOfPiece judges the tempo as a whole, what is written about it, and the hands together.
func (l *ledger) timeOfPiece(out *Assessment, steps []beatStep, c PieceCharges) {
	u, ps := l.pulse(), l.paces()
	out.Tempo = l.tempo(u, nil)
	unsteady, drift := l.steadiness(ps, c)
	changes := l.changes(steps)
	l.tempoChanges(changes, c)
	if t := out.Tempo; t != nil {
		t.Curve, t.Changes = l.curve(ps), changes
		t.Unsteady, t.DriftPercent = known(unsteady), known(drift)
		l.tempoOfScore(t)
		l.otherTempoOfScore(t)
	}
	hands := l.together()
	out.Together = hands.tell(l.performance)
	if out.Together != nil {
		out.Together.ChordSpread = known(l.usualSpread())
	}
	l.stretchesApart(hands, c.Apart/math.Max(1, float64(len(l.all.steps))))
	out.Evenness = []Evenness{}
}

// usualSpread is the median spread of the chords, in ms; NaN without chords.
func (p *performance) usualSpread() float64 {
	var ms []float64
	for i := range p.lines {
		for k := range p.lines[i].steps {
			if d := p.chordSpread(&p.lines[i].steps[k]); d > 0 {
				ms = append(ms, d)
			}
		}
	}
	return median(ms)
}

// soundOfPiece judges loudness, touch, lengths and pedal.
func (l *ledger) soundOfPiece(out *Assessment, steps []beatStep, c PieceCharges) {
	loud, joints, marked := l.volume(), l.touches(), l.markedTouches()
	scale := newLoudnessScale(out.Settings.Calibration)
	out.Dynamics, out.Touch = l.dynamics(loud, nil, &scale), l.tellMarkedTouch(joints, marked)
	if d := out.Dynamics; d == nil {
		l.loudness(nil, nil, &scale, false)
	} else {
		ps, hs := l.passages(), l.hairpins()
		v := l.voicing(ps, hs)
		d.Passages, d.Hairpins = ps, hs
		d.Spread, d.Range, d.Melody, d.Balance = nil, known(v.spread), known(v.melody), known(v.balance)
		l.marksOfLoudness(ps, hs, c)
		l.flat(v, c)
		l.leftLouder(v)
	}
	l.articulation(marked, c)
	l.lengthFaults(l.lengths(steps), c)
	l.pedalling(steps, c)
}

// leftLouder says where the left hand's part was louder than the right hand's. It costs nothing, since
// the tune may lie there.
func (l *ledger) leftLouder(v voicing) {
	if !(v.balance > l.piece.ContrastUnits) {
		return
	}
	l.add(Finding{
		Kind: Balance, Measured: known(v.balance), Limit: known(l.piece.ContrastUnits), Unit: "velocity", Source: spreadSource,
		Hand: unless(references.Left.String()),
		Text: "The left hand's part was louder than the right hand's.",
		try:  "If the tune is in the right hand, play the left one very softly for once.",
	})
}

// flowOfPiece adds the route through the score, and how soon after each stop the playing was steady
// again.
func (l *ledger) flowOfPiece(f *Flow, steps []beatStep) {
	f.Route = []Skip{}
	for _, s := range l.Route {
		f.Route = append(f.Route, Skip{s.From.Float(), s.To.Float()})
	}
	for k, w := range l.all.waits {
		if beats, secs, ok := l.recovery(steps, w.event); ok {
			f.Hesitations[k].SteadyAfterBeats, f.Hesitations[k].SteadyAfterS = new(tenths(beats)), new(thousandths(secs))
		}
	}
	for _, js := range [2][]Jump{f.Restarts, f.Repeats} {
		for k := range js {
			event := l.eventPlayedAt(js[k].At)
			if beats, secs, ok := l.recovery(steps, event); ok {
				js[k].SteadyAfterBeats, js[k].SteadyAfterS = new(tenths(beats)), new(thousandths(secs))
			}
		}
	}
}

// eventPlayedAt is the first event played at a time in seconds or later.
func (p *performance) eventPlayedAt(at float64) int {
	for k := range p.all.steps {
		if s := &p.all.steps[k]; s.sounded && s.on >= at-1e-6 {
			return s.event
		}
	}
	return len(p.starts)
}

// orderPiece sorts the findings of a score by what they cost; those that are gathered into one remark
// count by their own weight.
func orderPiece(fs []Finding) {
	slices.SortStableFunc(fs, func(a, b Finding) int {
		return cmp.Or(cmp.Compare(b.loss, a.loss), cmp.Compare(a.Kind, b.Kind))
	})
}

// wholeOfPiece is the overall mark of a score by the formula of PieceCharges; null without notes.
func wholeOfPiece(fs []Finding, has [4]bool) *int {
	var sum float64
	for i := range fs {
		if has[fs[i].mark] {
			sum += fs[i].loss
		}
	}
	return whole(100*math.Exp(-sum), has[notesMark])
}
