package scoring

import (
	"fmt"
	"math"

	"evenhand/align"
	"evenhand/references"
)

const commonPractice = "common practice"

// flow tells where the playing stopped, went back or left something out; skips are the passages left out.
func (p *performance) flow(skips [][2]int) Flow {
	f := Flow{Restarts: []Jump{}, Repeats: []Jump{}, Hesitations: []Hesitation{}, Skips: []Skip{}}
	for _, r := range p.Restarts {
		if r.Allowed {
			continue
		}
		j := Jump{At: seconds(r.At), FromOnset: r.From.Float(), ToOnset: r.To.Float()}
		if r.Fresh {
			f.Restarts = append(f.Restarts, j)
		} else {
			f.Repeats = append(f.Repeats, j)
		}
	}
	for _, w := range p.all.waits {
		f.Hesitations = append(f.Hesitations, Hesitation{
			Onset: p.onset(w.event).Float(), ExtraMS: tenths(1000 * w.extra), Turn: w.turn,
		})
	}
	for _, s := range skips {
		f.Skips = append(f.Skips, Skip{p.onset(s[0]).Float(), p.onset(s[1]).Float()})
	}
	return f
}

func (p *performance) onset(event int) references.Quarters {
	return p.Reference.Notes[p.starts[event]].Onset
}

// restarts files fresh starts and goings back. A fresh start within the first octave of a request,
// or the first two bars of a score, costs nothing; a later one a little, each further one more.
func (l *ledger) restarts() {
	fresh := 0
	for _, r := range l.Restarts {
		if r.Allowed {
			continue
		}
		if !r.Fresh {
			l.jump(r, WentBack, "A few notes were played again", l.charges.WentBack,
				"Keep going even after a slip, then practise that place on its own.")
			continue
		}
		if l.afterEnd(r) {
			l.jump(r, OnceMore, "It was begun once more after the end, which is not marked", 0, "")
			continue
		}
		loss, what := 0.0, "There was a fresh start near the beginning, which costs nothing"
		if !r.From.Less(l.freeUntil()) {
			what = "There was a fresh start"
			if fresh++; fresh == 1 {
				loss = l.charges.Restart
			} else {
				loss = l.charges.RestartMore
			}
		}
		l.jump(r, FreshStart, what, loss,
			"Play slowly over the place where it stopped, then from the beginning.")
	}
}

// afterEnd reports whether a fresh start came when everything had been played.
func (p *performance) afterEnd(r align.Restart) bool {
	return r.Fresh && !r.From.Less(p.onset(len(p.starts)-2))
}

func (l *ledger) jump(r align.Restart, k Kind, what string, loss float64, try string) {
	f := Finding{Kind: k, Unit: "quarter notes", Source: commonPractice, try: try}
	if i := l.noteAt(r.From); i >= 0 && k != OnceMore {
		what += fmt.Sprintf(": it stopped after %s, %s", l.noteWords(i), l.where(i))
		f = l.about(f, i)
	}
	if i := l.noteAt(r.To); i >= 0 {
		f.To = l.place(i)
	}
	at := seconds(r.At)
	f.FromS, f.ToS = &at, &at
	f.Measured = known(r.From.Sub(r.To).Float())
	f.Text = what + "."
	if loss > 0 {
		f.mark, f.loss, f.Severity = timeMark, loss, Light
	}
	l.add(f)
}

// noteAt is the highest expected note at an onset, or the last before it; -1 before the first.
func (p *performance) noteAt(q references.Quarters) int {
	at := -1
	for e := range len(p.starts) - 1 {
		if q.Less(p.onset(e)) {
			break
		}
		at = p.starts[e+1] - 1
	}
	return at
}

// freeUntil is the onset before which a fresh start costs nothing.
func (p *performance) freeUntil() references.Quarters {
	if p.Reference.Request == nil {
		return p.Reference.BarLength.Times(2, 1)
	}
	var until references.Quarters
	for i := range p.lines {
		steps := p.lines[i].steps
		for _, s := range steps {
			if d := p.Key(s.notes[0]) - p.Key(steps[0].notes[0]); d >= 12 || d <= -12 {
				if until.Less(s.onset) {
					until = s.onset
				}
				break
			}
		}
	}
	return until
}

// hesitations files the stops. One beside a wrong note is part of that and costs nothing more.
func (l *ledger) hesitations() {
	for _, w := range l.all.waits {
		first := l.starts[w.event]
		for i := first; i < l.starts[w.event+1]; i++ {
			if h := l.Reference.Notes[i].Hand; h == w.hand || w.hand == references.NoHand && h == references.Right {
				first = i
			}
		}
		f := l.about(Finding{
			Kind: Stop, Measured: known(1000 * w.extra), Limit: known(l.limits.HesitationMS), Unit: "ms", Source: commonPractice,
		}, first)
		long := longWords(w.extra)
		if w.turn {
			f.Text = fmt.Sprintf("There was a stop of %s at the turn.", long)
			f.try = "Think of the way back before you reach the turn."
		} else {
			f.Text = fmt.Sprintf("There was a stop of %s before %s, %s.", long, l.noteWords(first), l.where(first))
			f.detail = fmt.Sprintf("%s before %s, %s", long, l.noteWords(first), l.where(first))
			f.try = "Play the notes on both sides of it as one group."
		}
		if w.blame {
			f.mark, f.loss, f.Severity = timeMark, l.charges.Hesitation, Light
		}
		l.add(f)
	}
}

// longWords tells a time in words: "about half a second", "about 2 seconds".
func longWords(s float64) string {
	switch tenths, whole := int(math.Round(10*s)), int(math.Round(s)); {
	case tenths == 5:
		return "about half a second"
	case tenths < 10:
		return fmt.Sprintf("about %s tenths of a second", number(tenths))
	case whole == 1:
		return "about a second"
	default:
		return fmt.Sprintf("about %s seconds", number(whole))
	}
}
