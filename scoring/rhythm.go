package scoring

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"evenhand/references"
)

// figure is a small rhythm of one hand: the steps from one beat to the next that has one, and how its
// time is shared out, as written and as played.
type figure struct {
	line    *line
	gaps    []gap
	written []float64 // shares of the whole, adding up to 1
	played  []float64
	seconds float64
}

// off is the share of the time that lies in the wrong place: half the sum of the differences.
func off(a, b []float64) float64 {
	var d float64
	for i := range a {
		d += math.Abs(a[i] - b[i])
	}
	return d / 2
}

// rhythms are the small rhythms that others are taken for, by the number of their notes.
var rhythms = map[int][][]float64{
	2: {{1, 1}, {2, 1}, {1, 2}, {3, 1}, {1, 3}},
	3: {{1, 1, 1}, {2, 1, 1}, {1, 1, 2}, {1, 2, 1}},
	4: {{1, 1, 1, 1}, {2, 1, 2, 1}, {3, 1, 3, 1}, {1, 2, 1, 2}},
}

// shares scales xs so that they add up to 1.
func shares(xs []float64) []float64 {
	var sum float64
	for _, x := range xs {
		sum += x
	}
	out := make([]float64, len(xs))
	for i, x := range xs {
		out[i] = x / sum
	}
	return out
}

// figures gathers the small rhythms of a hand: two to four steps from a beat to the next beat on which
// a step falls, at most two beats on. Those in which time was broken, changed as written, or free
// for an ornament are left out.
func (p *performance) figures(l *line) []figure {
	var out []figure
	var now []gap
	gs := p.gaps(l)
	for k, g := range gs {
		a, b := &l.steps[g.from], &l.steps[g.to]
		if g.broken || g.free || g.wait && g.quarters >= p.beat().Float() || g.to != g.from+1 || g.seconds <= 0 || p.adorned(a) || p.adorned(b) {
			now = nil
			continue
		}
		if len(now) == 0 && !p.onBeat(a) || len(now) > 0 && gs[k-1].to != g.from {
			now = nil
			continue
		}
		now = append(now, g)
		if p.onBeat(b) {
			if f := newFigure(l, now); len(now) > 1 && len(now) <= 4 && f.length() <= 2*p.beat().Float() {
				out = append(out, f)
			}
			now = nil
		}
	}
	return inBeat(out)
}

// inBeat drops the figures with a wait in them that took more than a quarter longer than the others: there
// the playing stopped. Within the beat a long step is rhythm.
func inBeat(fs []figure) []figure {
	var rates []float64
	for i := range fs {
		rates = append(rates, fs[i].seconds/fs[i].length())
	}
	usual := median(rates)
	return slices.DeleteFunc(fs, func(f figure) bool {
		waits := slices.ContainsFunc(f.gaps, func(g gap) bool { return g.wait })
		return waits && f.seconds > 5*usual*f.length()/4
	})
}

func newFigure(l *line, gs []gap) figure {
	var written, played []float64
	f := figure{line: l, gaps: gs}
	for _, g := range gs {
		written, played = append(written, g.quarters), append(played, g.seconds)
		f.seconds += g.seconds
	}
	f.written, f.played = shares(written), shares(played)
	return f
}

// length is the written length of the figure in quarters.
func (f *figure) length() float64 {
	var q float64
	for _, g := range f.gaps {
		q += g.quarters
	}
	return q
}

// key names the hand and the written rhythm.
func (f *figure) key() string { return fmt.Sprintf("%d %.3f %.3f", f.line.hand, f.length(), f.written) }

// onBeat reports whether a step falls on a beat.
func (p *performance) onBeat(s *step) bool {
	b := p.Reference.Notes[s.notes[0]].Beat
	return math.Abs(b-math.Round(b)) < 1e-6
}

// adorned reports whether a step has an ornament, a grace note or a rolled chord in it.
func (p *performance) adorned(s *step) bool {
	for _, i := range s.notes {
		n := &p.Reference.Notes[i]
		if n.Ornament != references.NoOrnament || n.Grace != references.NoGrace || n.Rolled {
			return true
		}
	}
	return false
}

// takenFor is the small rhythm nearest to shares, where that is clearly nearer than what is written.
func takenFor(played, written []float64) ([]float64, bool) {
	near, best := off(played, written)/2, []float64(nil)
	for _, r := range rhythms[len(played)] {
		s := shares(r)
		if d := off(played, s); d < near && off(s, written) > 0.02 {
			near, best = d, r
		}
	}
	return best, best != nil
}

// wrongRhythm is one rhythm played as another, at one place or more.
type wrongRhythm struct {
	figures []figure
	as      []float64
	off     float64
	swing   float64 // even pairs played long and short almost throughout: how long to one; else 0
}

// wrongRhythms finds the rhythms played as others: a dotted pair played 2 to 1, even notes played long
// and short, three in the time of two. A rhythm that comes again is judged by the median of its
// shares and may be nearer to the written one than one that comes once.
func (p *performance) wrongRhythms() []wrongRhythm {
	byKey := map[string][]figure{}
	var keys []string
	for i := range p.lines {
		for _, f := range p.figures(&p.lines[i]) {
			if p.swungRightly(&f) {
				continue
			}
			if byKey[f.key()] == nil {
				keys = append(keys, f.key())
			}
			byKey[f.key()] = append(byKey[f.key()], f)
		}
	}
	var out []wrongRhythm
	for _, k := range keys {
		fs := byKey[k]
		if w, ok := p.always(fs); ok {
			out = append(out, w)
			continue
		}
		for _, f := range fs {
			if w, ok := p.isWrong([]figure{f}, f.played, f.seconds, p.piece.RhythmOnceShare); ok {
				out = append(out, w)
			}
		}
	}
	return out
}

// always reports whether a rhythm was wrong for the most part, and where.
func (p *performance) always(fs []figure) (wrongRhythm, bool) {
	if len(fs) < 2 {
		return wrongRhythm{}, false
	}
	typical := make([]float64, len(fs[0].played))
	for i := range typical {
		var xs []float64
		for _, f := range fs {
			xs = append(xs, f.played[i])
		}
		typical[i] = median(xs)
	}
	var secs []float64
	for _, f := range fs {
		secs = append(secs, f.seconds)
	}
	w, ok := p.isWrong(fs, shares(typical), median(secs), p.piece.RhythmShare)
	if !ok {
		return w, false
	}
	w.figures = nil
	for _, f := range fs {
		if off(f.played, shares(w.as)) < off(f.played, f.written) {
			w.figures = append(w.figures, f)
		}
	}
	if s := shares(typical); p.evenPair(&fs[0]) && len(w.figures) >= swungPairs && 4*len(w.figures) >= 3*len(fs) && s[0] > s[1] && s[0]/s[1] <= p.piece.SwingMost {
		w.swing = s[0] / s[1]
	}
	return w, len(w.figures) > 1
}

func (p *performance) isWrong(fs []figure, played []float64, seconds, limit float64) (wrongRhythm, bool) {
	d := off(played, fs[0].written)
	if d <= limit || 1000*d*seconds < p.piece.RhythmMS*limit/p.piece.RhythmShare {
		return wrongRhythm{}, false
	}
	as, ok := takenFor(played, fs[0].written)
	return wrongRhythm{figures: fs, as: as, off: d}, ok
}

func ones(n int) []float64 {
	out := make([]float64, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

// rhythm files the wrong rhythms. Each costs its own steps, or all those of its bars that are out of
// time for it, whichever are more; they are then no hesitation and not out of time besides.
func (l *ledger) rhythm(ws []wrongRhythm, steps []beatStep, claimed map[int]int, each float64) {
	late := make([]int, len(ws))
	for _, s := range steps {
		if k, ok := claimed[l.all.steps[s.to].event]; ok && s.out && k < len(ws) {
			late[k]++
		}
	}
	for k, w := range ws {
		var notes []int
		n := 0
		for _, f := range w.figures {
			for _, g := range f.gaps {
				notes = append(notes, f.line.steps[g.from].notes...)
				n++
			}
		}
		if w.swing > 0 {
			l.swing(w, notes, math.Min(each*float64(n), l.swingCharge))
			continue
		}
		f := w.figures[0]
		text := fmt.Sprintf("%s: a rhythm of %s was played as %s.", capital(l.barsWords(notes)), ratioWords(f.written), ratioWords(shares(w.as)))
		l.add(l.about(Finding{
			Kind: WrongRhythm, Text: text, Measured: known(100 * w.off), Limit: known(100 * l.piece.RhythmShare), Unit: "percent of the time in the wrong place",
			Source: chosenSource, mark: timeMark, loss: each * float64(max(n, late[k])), Severity: Fault,
			try: "Say the rhythm in its smallest notes, clap it, then play it.",
		}, notes...))
	}
}

// claim are the events at which wrong rhythms account for the time, with the rhythm: those of its own
// steps, and all others of the same bars and the beat after them, which shift with it.
func (p *performance) claim(ws []wrongRhythm) map[int]int {
	bars := map[int]int{}
	for k, w := range ws {
		if w.swing > 0 {
			continue
		}
		for _, f := range w.figures {
			first, last := f.line.steps[f.gaps[0].from], f.line.steps[f.gaps[len(f.gaps)-1].to]
			for m := p.measure(first.event); m <= p.measure(last.event); m++ {
				bars[m] = k
			}
		}
	}
	at := map[int]int{}
	for e := range len(p.starts) - 1 {
		if k, ok := bars[p.measure(e)]; ok {
			at[e] = k
		} else if k, ok := bars[p.measure(e)-1]; ok && p.measure(e-1) != p.measure(e) {
			at[e] = k
		}
	}
	for k, w := range ws {
		for _, f := range w.figures {
			for _, g := range f.gaps {
				e := f.line.steps[g.to].event
				if _, is := at[e]; !is && w.swing > 0 {
					at[e] = k
				}
			}
		}
	}
	return at
}

// measure is the index of the bar that an event lies in.
func (p *performance) measure(event int) int { return p.Reference.Notes[p.starts[event]].Measure }

// ratioWords tells shares of a beat in small whole numbers: "3 to 1".
func ratioWords(s []float64) string {
	least := math.Inf(1)
	for _, x := range s {
		least = math.Min(least, x)
	}
	for times := 1.0; times <= 6; times++ {
		words := make([]string, len(s))
		whole := true
		for i, x := range s {
			r := times * x / least
			whole = whole && math.Abs(r-math.Round(r)) < 0.02
			words[i] = strconv.Itoa(int(math.Round(r)))
		}
		if whole {
			return strings.Join(words, " to ")
		}
	}
	return "uneven notes"
}
