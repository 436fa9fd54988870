package scoring

import (
	"fmt"
	"math"

	"evenhand/references"
)

// TempoChange is a change of tempo that is written, and what became of it. Ratio is the tempo at the
// end over the one before, of a fermata the time held over the time written, of a return the new
// tempo over the former one; null where it could not be measured.
type TempoChange struct {
	Kind    string   `json:"kind"`
	From    *Place   `json:"from"`
	To      *Place   `json:"to"`
	Ratio   *float64 `json:"ratio"`
	Verdict string   `json:"verdict"` // as asked, not heard, too much, not measured
}

// The verdicts on what is written, besides those on loudness.
const (
	tooMuch     = "too much"
	otherWay    = "the other way"
	notMeasured = "not measured"
)

// slowingTime is the time to go from place a to place b of a change of tempo, where the whole change
// goes from 0 to 1 and would take the time 1 at the first tempo. The tempo is that of a runner coming
// to a stop,
//
//	v(x) = (1 + (w^q - 1) x)^(1/q),
//
// with w the last tempo over the first and q = 3 (Friberg & Sundberg (1999), JASA 105(3), 1469-1484;
// listeners there rated q = 2 and q = 3 highest; the formula is from memory), and the time is the
// integral of 1/v.
func slowingTime(w, a, b float64) float64 {
	const q = 3.0
	c := math.Pow(w, q) - 1
	if math.Abs(c) < 1e-9 {
		return b - a
	}
	at := func(x float64) float64 { return math.Pow(1+c*x, 1-1/q) / (c * (1 - 1/q)) }
	return at(b) - at(a)
}

// finalTempo is the w that fits best: places from 0 to 1 and the time between each two as a multiple
// of what it would be at the first tempo. It is found by golden-section search on the sum of squares.
func finalTempo(places, times []float64) float64 {
	misfit := func(lw float64) float64 {
		var sum float64
		for i, t := range times {
			d := slowingTime(math.Exp(lw), places[i], places[i+1]) - t
			sum += d * d
		}
		return sum
	}
	const golden = 0.6180339887498949
	low, high := math.Log(0.1), math.Log(4)
	for high-low > 1e-6 {
		a, b := high-golden*(high-low), low+golden*(high-low)
		if misfit(a) < misfit(b) {
			high = b
		} else {
			low = a
		}
	}
	return math.Exp((low + high) / 2)
}

// changes judges every written change of tempo by what it asks.
func (p *performance) changes(steps []beatStep) []TempoChange {
	out := []TempoChange{}
	for k := range p.Reference.Marks {
		m := &p.Reference.Marks[k]
		if m.Kind > references.Breath || !p.onRoute(m.From) {
			continue
		}
		c := TempoChange{Kind: m.Kind.String(), Verdict: notMeasured}
		c.From, c.To = p.placeAt(m.From), p.placeAt(m.To)
		var r float64
		switch m.Kind {
		case references.Ritardando, references.Accelerando:
			end := changeEnd(p.Reference, m)
			c.To = p.placeAt(end)
			r = p.changeRatio(steps, m.From, end)
		case references.ATempo:
			r = p.returnRatio(steps, m.From)
		default:
			r = p.holdRatio(steps, m)
		}
		if !math.IsNaN(r) && !math.IsInf(r, 0) {
			c.Ratio = new(thousandths(r))
			c.Verdict = p.piece.changeVerdict(m, r)
		}
		out = append(out, c)
	}
	return out
}

// changeVerdict says whether a change is what its mark asks. A mild one (poco) need only be begun.
func (l PieceLimits) changeVerdict(m *references.Mark, r float64) string {
	little := 1 - l.RitardandoMost
	if m.Mild {
		little /= 2
	}
	enough, most := true, true
	switch m.Kind {
	case references.Ritardando:
		enough, most = r <= 1-little, r >= l.RitardandoLeast
	case references.Accelerando:
		enough, most = r >= 1+little, r <= 1/l.RitardandoLeast
	case references.ATempo:
		off := l.TempoPercent / 100
		enough, most = r >= 1-off, r <= 1+off
	case references.Fermata:
		enough, most = r >= l.FermataLeast, r <= l.FermataMost
	default:
		enough, most = r > 1+little, r <= l.FermataMost
	}
	switch {
	case !enough:
		return notHeard
	case !most:
		return tooMuch
	}
	return asAsked
}

// rateBefore is the median rate of up to twice four steps in steady time before an onset.
func (p *performance) rateBefore(steps []beatStep, at references.Quarters) float64 {
	var rates []float64
	for k := len(steps) - 1; k >= 0 && len(rates) < 2*neighbours; k-- {
		if s := steps[k]; s.steady() && !at.Less(p.all.steps[s.to].onset) {
			rates = append(rates, s.rate())
		}
	}
	if len(rates) < 2 {
		return math.NaN()
	}
	return median(rates)
}

// changeRatio is the tempo at the last onset of a change over the tempo before it.
func (p *performance) changeRatio(steps []beatStep, from, to references.Quarters) float64 {
	before := p.rateBefore(steps, from)
	last := from
	for k := range p.all.steps {
		if s := &p.all.steps[k]; s.sounded && !to.Less(s.onset) {
			last = s.onset
		}
	}
	length := last.Sub(from).Float()
	if math.IsNaN(before) || length <= 0 {
		return math.NaN()
	}
	var places, times []float64
	for _, s := range steps {
		a, b := &p.all.steps[s.from], &p.all.steps[s.to]
		if a.onset.Less(from) || to.Less(b.onset) || s.broken {
			continue
		}
		if len(places) == 0 {
			places = append(places, a.onset.Sub(from).Float()/length)
		}
		places = append(places, b.onset.Sub(from).Float()/length)
		times = append(times, s.seconds/(before*length))
	}
	if len(times) == 0 || len(places) != len(times)+1 {
		return math.NaN()
	}
	return finalTempo(places, times)
}

// returnRatio is the tempo after a return over the one before the change it returns from.
func (p *performance) returnRatio(steps []beatStep, at references.Quarters) float64 {
	from := at
	for _, m := range p.Reference.Marks {
		if m.Kind <= references.Accelerando && m.From.Less(at) {
			from = m.From
		}
	}
	before := p.rateBefore(steps, from)
	var rates []float64
	for _, s := range steps {
		if len(rates) < 2*neighbours && s.steady() && !p.all.steps[s.from].onset.Less(at) {
			rates = append(rates, s.rate())
		}
	}
	if from == at || len(rates) < 2 {
		return math.NaN()
	}
	return before / median(rates)
}

// holdRatio is how long the step under a fermata, or before a breath or caesura, lasted, over what is
// written; of the last step of all, how long its keys were held.
func (p *performance) holdRatio(steps []beatStep, m *references.Mark) float64 {
	before := p.rateBefore(steps, m.From)
	for _, s := range steps {
		a, b := &p.all.steps[s.from], &p.all.steps[s.to]
		held := !a.onset.Less(m.From) && a.onset.Less(m.To)
		if m.Kind != references.Fermata {
			held = a.onset.Less(m.From) && !b.onset.Less(m.From)
		}
		if !held {
			continue
		}
		if m.Kind == references.Fermata && b.onset.Less(m.To) {
			continue
		}
		if s.broken {
			return math.NaN()
		}
		return s.seconds / (before * s.quarters)
	}
	last := &p.all.steps[len(p.all.steps)-1]
	if m.Kind != references.Fermata || !last.sounded || p.pedalDown()(last.off) || !m.From.Less(last.onset.Add(references.Q(1, 1))) {
		return math.NaN()
	}
	n := &p.Reference.Notes[last.notes[0]]
	return (last.off - last.on) / (before * n.Length.Float())
}

// placeAt is the place of the last onset not after q, nil before the first.
func (p *performance) placeAt(q references.Quarters) *Place {
	i := p.noteAt(q)
	if i < 0 {
		return nil
	}
	return p.place(i)
}

// tempoChanges files the changes that were not heard. Each bears its share of the loss.
func (l *ledger) tempoChanges(cs []TempoChange, c PieceCharges) {
	for _, t := range cs {
		if t.Verdict != notHeard && t.Verdict != tooMuch {
			continue
		}
		where := ""
		if t.From != nil {
			where = ", bar " + t.From.Bar
		}
		f := Finding{
			Kind: WrittenChange, From: t.From, To: t.To, Measured: t.Ratio, Unit: "times", Source: chosenSource,
			mark: timeMark, loss: c.Notated / float64(len(cs)), Severity: Light,
			Text: fmt.Sprintf("%s%s: it could not be heard.", capital(t.Kind), where),
			try:  "Sing it once with the change, then play it the same way.",
		}
		if t.Verdict == tooMuch {
			f.loss /= 2
			f.Text = fmt.Sprintf("%s%s: it was more than is asked.", capital(t.Kind), where)
		}
		l.add(l.timed(f))
	}
}
