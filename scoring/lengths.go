package scoring

import (
	"fmt"
	"math"

	"evenhand/align"
	"evenhand/references"
)

// wrongLengths are the notes not held for what is written, by what is amiss.
type wrongLengths struct {
	early, rests, cut []int
	judged            int
}

// lengths compares how long keys were held with what is written, at the local tempo. Only what a
// teacher would miss counts: a long note, a note held under others, or the last chord let go before
// LengthShare of it, where no pedal holds it; and a rest filled for more than RestShare. Notes under a
// dot, ornaments, grace notes and written changes are left out.
func (p *performance) lengths(steps []beatStep) wrongLengths {
	var w wrongLengths
	pedal, rates := p.pedalDown(), p.rates(steps)
	for i := range p.lines {
		l := &p.lines[i]
		for k := range l.steps {
			s := &l.steps[k]
			rate := rates[s.event]
			if math.IsNaN(rate) || p.adorned(s) {
				continue
			}
			for _, i := range s.notes {
				if p.strokes[i].correct && p.Reference.Notes[i].Touch != references.Staccato && p.Reference.Notes[i].Touch != references.Portato {
					p.lengthOf(&w, l, k, i, rate, pedal)
				}
			}
		}
	}
	return w
}

func (p *performance) lengthOf(w *wrongLengths, l *line, k, i int, rate float64, pedal func(float64) bool) {
	n, played := &p.Reference.Notes[i], &p.Take.Notes[p.strokes[i].played]
	held, written := played.Length().Seconds(), n.Length.Float()*rate
	if played.Open || pedal(played.Off.Seconds()) {
		return
	}
	last := k+1 == len(l.steps)
	end := n.Onset.Add(n.Length)
	under := !last && l.steps[k+1].onset.Less(end)
	if last || under || n.Length.Float() >= p.piece.LongQuarters {
		w.judged++
		switch {
		case held >= p.piece.LengthShare*written:
		case last:
			w.cut = append(w.cut, i)
		default:
			w.early = append(w.early, i)
		}
	}
	if last || !end.Less(l.steps[k+1].onset) || !p.restAfter(l, k) {
		return
	}
	rest := l.steps[k+1].onset.Sub(end).Float()
	if next := &l.steps[k+1]; next.sounded && rest >= p.beat().Float()/2 {
		w.judged++
		silence := next.on - played.Off.Seconds()
		if silence < (1-p.piece.RestShare)*rest*rate {
			w.rests = append(w.rests, i)
		}
	}
}

// rates are the length of a quarter at each event, in seconds: that of the last step in time up to it, or
// of the first one after; NaN where no step is.
func (p *performance) rates(steps []beatStep) []float64 {
	out := make([]float64, len(p.starts))
	rate, from := math.NaN(), 0
	fill := func(to int) {
		for ; from < to; from++ {
			out[from] = rate
		}
	}
	for _, s := range steps {
		if s.out || math.IsNaN(s.expected) {
			continue
		}
		if !math.IsNaN(rate) {
			fill(p.all.steps[s.from].event)
		}
		rate = s.expected / s.quarters
	}
	fill(len(out))
	return out
}

// lengthFaults files what was not held, by its kind.
func (l *ledger) lengthFaults(w wrongLengths, c PieceCharges) {
	file := func(notes []int, what, try string) {
		if len(notes) == 0 {
			return
		}
		l.add(l.about(Finding{
			Kind: WrongLength, Measured: known(float64(len(notes))), Limit: known(100 * l.piece.LengthShare), Unit: "notes; percent of the written length",
			Source: commonPractice, mark: soundMark, loss: c.Length * float64(len(notes)) / float64(w.judged), Severity: Light,
			Text: fmt.Sprintf("%s: %s.", capital(l.barsWords(notes)), fmt.Sprintf(what, notesWords(len(notes)))), try: try,
		}, notes...))
	}
	file(w.early, "%s let go before the written end", "Count the long notes through to their last beat.")
	file(w.rests, "%s held on into the rest", "Lift the hand where the rest begins, and count it.")
	file(w.cut, "%s of the last chord cut short", "Listen to the last chord until its time is over.")
}

// tiedAgain reports whether a note struck again is the second half of a tie: the note is held over the
// bar line, and it was struck there, within a quarter of a beat.
func (l *ledger) tiedAgain(q align.Pair) bool {
	if !l.score || q.Near < 0 || l.strokes[q.Near].played < 0 || len(l.Reference.Bars) == 0 {
		return false
	}
	n := &l.Reference.Notes[q.Near]
	bar := l.Reference.Bars[n.Measure]
	line := bar.Onset.Add(bar.Length)
	if !line.Less(n.Onset.Add(n.Length)) {
		return false
	}
	rate := l.pulse().rate
	due := l.Take.Notes[l.strokes[q.Near].played].On.Seconds() + rate*line.Sub(n.Onset).Float()
	return math.Abs(l.Take.Notes[q.Played].On.Seconds()-due) <= rate*l.beat().Float()/4
}
