package scoring

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/stat"

	"evenhand/references"
)

// Passage is a stretch of a score under one dynamic, of one hand or of both. It is judged by the
// contrast with the passage before it, of the first one with the one after it: a level has no fixed
// velocity.
type Passage struct {
	From           *Place   `json:"from"`
	To             *Place   `json:"to"`
	Hand           *string  `json:"hand"` // null where it holds for both
	Asked          string   `json:"asked"`
	MedianVelocity *float64 `json:"median_velocity"`
	Verdict        string   `json:"verdict"` // as asked, not heard, the other way, not measured

	level references.Dynamic
	notes []int
}

// Hairpin is a crescendo or diminuendo as it is marked, and by how much the velocity rose over it
// (fell: negative).
type Hairpin struct {
	From    *Place   `json:"from"`
	To      *Place   `json:"to"`
	Hand    *string  `json:"hand"`
	Asked   string   `json:"asked"` // crescendo, diminuendo
	Rise    *float64 `json:"rise"`
	Verdict string   `json:"verdict"` // as asked, not heard, the other way, not measured
}

// passages cuts the score where its dynamic changes. Hands with different dynamics are told apart.
func (p *performance) passages() []Passage {
	out := []Passage{}
	if p.handsDiffer() {
		for i := range p.lines {
			out = append(out, p.passagesOf(&p.lines[i], unless(p.lines[i].hand.String()))...)
		}
		return out
	}
	return p.passagesOf(&p.all, nil)
}

// handsDiffer reports whether the hands have different dynamics at any onset.
func (p *performance) handsDiffer() bool {
	for k := range p.all.steps {
		s := &p.all.steps[k]
		for _, i := range s.notes {
			if p.Reference.Notes[i].Dynamic != p.Reference.Notes[s.notes[0]].Dynamic {
				return true
			}
		}
	}
	return false
}

func (p *performance) passagesOf(l *line, hand *string) []Passage {
	out := []Passage{}
	for k := range l.steps {
		s := &l.steps[k]
		d := p.Reference.Notes[s.notes[0]].Dynamic
		if n := len(out); n == 0 || out[n-1].level != d {
			out = append(out, Passage{From: p.place(s.notes[0]), Hand: hand, Asked: d.String(), Verdict: notMeasured, level: d})
		}
		now := &out[len(out)-1]
		now.To = p.place(s.notes[0])
		now.notes = append(now.notes, s.notes...)
	}
	kept := out[:0]
	for _, q := range out {
		if q.level == references.NoDynamic {
			continue
		}
		if v := p.plainVelocity(q.notes); !math.IsNaN(v) {
			q.MedianVelocity = known(v)
		}
		kept = append(kept, q)
	}
	for k := range kept {
		other := k - 1
		if k == 0 {
			other = 1
		}
		if other < len(kept) {
			kept[k].Verdict = p.piece.contrast(&kept[other], &kept[k])
		}
	}
	return kept
}

// plainVelocity is the median over the onsets of the loudest note of each: what is heard of it, however
// full the chords are. Onsets under a hairpin or an accent are left out. NaN of fewer than two.
func (p *performance) plainVelocity(notes []int) float64 {
	var vs []float64
	event := -1
	for _, i := range notes {
		n := &p.Reference.Notes[i]
		k := p.strokes[i].played
		if k < 0 || n.Accent || n.Grace != references.NoGrace || p.inHairpin(n.Onset) {
			continue
		}
		v := float64(p.Take.Notes[k].Velocity)
		if p.event[i] == event {
			vs[len(vs)-1] = math.Max(vs[len(vs)-1], v)
			continue
		}
		event = p.event[i]
		vs = append(vs, v)
	}
	if len(vs) < 2 {
		return math.NaN()
	}
	return median(vs)
}

func (p *performance) inHairpin(q references.Quarters) bool {
	for _, m := range p.Reference.Marks {
		if (m.Kind == references.Crescendo || m.Kind == references.Diminuendo) && m.From.Less(q) && q.Less(m.To) {
			return true
		}
	}
	return false
}

// contrast compares a passage with its neighbour: louder where it should be, by a difference for each
// level between them, up to two.
func (l PieceLimits) contrast(other, p *Passage) string {
	if other.MedianVelocity == nil || p.MedianVelocity == nil || other.level == p.level {
		return notMeasured
	}
	levels := float64(p.level) - float64(other.level)
	rise := *p.MedianVelocity - *other.MedianVelocity
	need := l.ContrastUnits * math.Min(2, math.Abs(levels))
	switch rise *= math.Copysign(1, levels); {
	case rise >= need:
		return asAsked
	case rise <= -l.ContrastUnits:
		return otherWay
	}
	return notHeard
}

// hairpins measures every crescendo and diminuendo: the least-squares slope of velocity over the
// onset, the level of each hand taken off, times the length.
func (p *performance) hairpins() []Hairpin {
	out := []Hairpin{}
	for _, m := range p.Reference.Marks {
		if m.Kind != references.Crescendo && m.Kind != references.Diminuendo || !p.onRoute(m.From) {
			continue
		}
		h := Hairpin{From: p.placeAt(m.From), To: p.placeAt(m.To), Asked: m.Kind.String(), Verdict: notMeasured}
		if m.Hand == references.Right || m.Hand == references.Left {
			h.Hand = unless(m.Hand.String())
		}
		sign := 1.0
		if m.Kind == references.Diminuendo {
			sign = -1
		}
		if rise := p.riseOver(&m); !math.IsNaN(rise) {
			h.Rise = known(rise)
			h.Verdict = notHeard
			switch {
			case sign*rise >= p.piece.HairpinUnits:
				h.Verdict = asAsked
			case sign*rise <= -p.piece.HairpinUnits:
				h.Verdict = otherWay
			}
		}
		out = append(out, h)
	}
	return out
}

// riseOver is by how much the velocity rises from one end of a mark to the other; NaN where fewer than
// three onsets tell.
func (p *performance) riseOver(m *references.Mark) float64 {
	var xs, ys []float64
	onsets := map[references.Quarters]bool{}
	for i := range p.lines {
		l := &p.lines[i]
		if m.Hand != references.NoHand && !m.Hand.Has(l.hand) && l.hand != references.NoHand {
			continue
		}
		var x, y []float64
		for k := range l.steps {
			s := &l.steps[k]
			if s.onset.Less(m.From) || m.To.Less(s.onset) {
				continue
			}
			if v := p.loudest(s); v > 0 {
				x, y = append(x, s.onset.Float()), append(y, v)
				onsets[s.onset] = true
			}
		}
		if len(x) > 1 {
			mx, my := stat.Mean(x, nil), stat.Mean(y, nil)
			for k := range x {
				xs, ys = append(xs, x[k]-mx), append(ys, y[k]-my)
			}
		}
	}
	if len(onsets) < 3 || len(xs) < 3 {
		return math.NaN()
	}
	_, slope := stat.LinearRegression(xs, ys, nil, true)
	return slope * m.To.Sub(m.From).Float()
}

// loudest is the velocity of the loudest note of a step, grace notes left out; 0 where it is silent.
func (p *performance) loudest(s *step) float64 {
	var v float64
	for _, i := range s.notes {
		if k := p.strokes[i].played; k >= 0 && p.Reference.Notes[i].Grace == references.NoGrace {
			v = math.Max(v, float64(p.Take.Notes[k].Velocity))
		}
	}
	return v
}

// marksOfLoudness files the passages and hairpins that were not heard; each kind bears its loss by the
// share that failed.
func (l *ledger) marksOfLoudness(ps []Passage, hs []Hairpin, c PieceCharges) {
	pairs := 0
	for k := range ps {
		if k > 0 && ps[k].Verdict != notMeasured && same(ps[k].Hand, ps[k-1].Hand) {
			pairs++
		}
	}
	for k := 1; k < len(ps); k++ {
		a, b := &ps[k-1], &ps[k]
		if b.Verdict != notHeard && b.Verdict != otherWay || !same(a.Hand, b.Hand) {
			continue
		}
		word := "hardly any louder"
		if b.level < a.level {
			word = "hardly any softer"
		}
		l.add(l.about(Finding{
			Kind: NoContrast, Hand: b.Hand, Measured: known(*b.MedianVelocity - *a.MedianVelocity),
			Limit: known(l.piece.ContrastUnits * (float64(b.level) - float64(a.level))), Unit: "velocity", Source: spreadSource,
			mark: soundMark, loss: c.Contrast / float64(pairs), Severity: Light,
			Text:   fmt.Sprintf("From bar %s, %s after %s: it was %s.", b.From.Bar, b.Asked, a.Asked, word),
			detail: fmt.Sprintf("%s after %s, bar %s", b.Asked, a.Asked, b.From.Bar),
			try:    "Play only the last bar before and the first bar after, and make the step between them too big.",
		}, b.notes...))
	}
	for _, h := range hs {
		if h.Verdict != notHeard && h.Verdict != otherWay {
			continue
		}
		f := Finding{
			Kind: NoSwell, Hand: h.Hand, From: h.From, To: h.To, Measured: h.Rise, Limit: known(l.piece.HairpinUnits), Unit: "velocity",
			Source: spreadSource, mark: soundMark, loss: c.Hairpin / float64(len(hs)), Severity: Light,
			Text: "The " + h.Asked + " could not be heard.", detail: "the " + h.Asked,
			try: "Decide how loud its first and its last note are, then fill in between.",
		}
		if h.From != nil {
			f.detail = fmt.Sprintf("the %s in bar %s", h.Asked, h.From.Bar)
			f.Text = fmt.Sprintf("The %s in bar %s could not be heard.", h.Asked, h.From.Bar)
		}
		l.add(l.timed(f))
	}
}

// same reports whether two hands are the same, nil for both.
func same(a, b *string) bool { return a == nil && b == nil || a != nil && b != nil && *a == *b }

// timed gives a finding between two places the seconds at which they were played.
func (l *ledger) timed(f Finding) Finding {
	for i := range l.Reference.Notes {
		on := l.Reference.Notes[i].Onset.Float()
		if k := l.strokes[i].played; k >= 0 && f.From != nil && f.To != nil && on >= f.From.Onset && on <= f.To.Onset {
			f = l.heardAt(f, k)
		}
	}
	return f
}
