package screen

import (
	"math"
	"slices"
	"strings"

	"evenhand/align"
	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/references"
	"evenhand/scoring"
)

// Where a live trace says that something is off. The finished take is judged more closely.
const (
	hurrying   = 0.06 // of the tempo: a change that is noticed at once, Drake & Botte (1993)
	over       = 4    // steps that hurrying is looked for over
	around     = 4    // steps on either side that a single one is compared with
	stopShare  = 0.6  // of a step, and
	stopMore   = 0.2  // seconds: what makes a stop. Common practice
	unevenMore = 2    // times what is audible, before the pencil scribbles
)

// trace is what the playing was like at each event, as far as it is known.
type trace struct {
	pace  []float64 // seconds a quarter from the event before; NaN where it is not known
	usual []float64 // the same, of the steps around it
	whole float64   // of the whole take so far; NaN where it is not known
}

// traceOf measures the pace of one hand, or of both as one (NoHand).
func traceOf(w *written, h references.Hand) *trace {
	n := w.events()
	t := &trace{pace: make([]float64, n), usual: make([]float64, n)}
	var all []float64
	for e := range n {
		t.pace[e] = math.NaN()
		if e == 0 {
			continue
		}
		a, ok := w.onset(e-1, h)
		b, also := w.onset(e, h)
		gap := w.ref.Notes[w.first[e]].Onset.Sub(w.ref.Notes[w.first[e-1]].Onset).Float()
		if ok && also && b.On > a.On && gap > 0 {
			t.pace[e] = (b.On - a.On).Seconds() / gap
			all = append(all, t.pace[e])
		}
	}
	for e := range n {
		t.usual[e] = median(known(t.pace[max(0, e-around):min(n, e+around+1)]))
	}
	t.whole = median(all)
	return t
}

func known(all []float64) []float64 {
	var out []float64
	for _, v := range all {
		if !math.IsNaN(v) {
			out = append(out, v)
		}
	}
	return out
}

// median is NaN of nothing.
func median(all []float64) float64 {
	if len(all) == 0 {
		return math.NaN()
	}
	slices.Sort(all)
	return (all[(len(all)-1)/2] + all[len(all)/2]) / 2
}

// stopped reports whether the playing stopped before event e.
func (t *trace) stopped(w *written, e int) bool {
	if e < 3 || math.IsNaN(t.pace[e]) {
		return false
	}
	before := median(known(t.pace[max(0, e-2*around):e]))
	gap := w.ref.Notes[w.first[e]].Onset.Sub(w.ref.Notes[w.first[e-1]].Onset).Float()
	return t.pace[e] > before*(1+stopShare) && (t.pace[e]-before)*gap > stopMore
}

// tempo is above 0 where the playing hurries at event e, below where it drags.
func (t *trace) tempo(e int) int {
	k := known(t.pace[max(0, e-over+1) : e+1])
	if len(k) < over {
		return 0
	}
	switch m := median(k) / t.whole; {
	case m < 1-hurrying:
		return 1
	case m > 1+hurrying:
		return -1
	}
	return 0
}

// off is by how many times what is audible event e came late (below 0: early) between its neighbours.
// It is 0 where that is not known.
func (t *trace) off(w *written, e int, limits *scoring.Limits) float64 {
	if math.IsNaN(t.pace[e]) {
		return 0
	}
	gap := w.ref.Notes[w.first[e]].Onset.Sub(w.ref.Notes[w.first[e-1]].Onset).Float()
	return (t.pace[e] - t.usual[e]) * gap / max(limits.AudibleMS/1000, limits.AudibleShare*t.usual[e]*gap)
}

// uneven reports whether event e came plainly early or late between its neighbours.
func (t *trace) uneven(w *written, e int, limits *scoring.Limits) bool {
	return !t.stopped(w, e) && math.Abs(t.off(w, e, limits)) > unevenMore
}

// heard reports whether anything of event e was played.
func (w *written) heard(e int) bool {
	for i := w.first[e]; i < w.first[e+1]; i++ {
		if h := w.heads[i]; h.heard && h.verdict != align.Missing {
			return true
		}
	}
	return false
}

// drawTraces draws tempo, evenness and loudness under the columns of a system: in three rows, or with
// more of them loudness over a shaded range.
//
// The traces stand under the very columns of the notes, and have to be read without colour and in ASCII,
// which is why no library of charts draws them: such a library has its own axes and its own columns.
func (s *sheet) drawTraces(p *ink.Paper, y, rows int, sys *system, settings *scoring.Settings) {
	t := traceOf(s.written, references.NoHand)
	p.Write(0, y, ink.Faint, "tempo")
	p.Write(0, y+1, ink.Faint, "even")
	for e := sys.from; e < sys.to; e++ {
		if !s.heard(e) {
			continue
		}
		x := sys.x(e)
		switch t.tempo(e) {
		case 1:
			p.Write(x, y, ink.Pencil, s.signs.Hurry)
		case -1:
			p.Write(x, y, ink.Pencil, s.signs.Drag)
		default:
			p.Write(x, y, ink.Plain, s.signs.Steady)
		}
		if t.uneven(s.written, e, &settings.Limits) {
			p.Write(x, y+1, ink.Pencil, s.signs.Scribble)
		} else {
			p.Write(x, y+1, ink.Plain, s.signs.Steady)
		}
	}
	s.drawLoudness(p, y+2, max(1, rows-2), sys, settings)
}

// drawLoudness draws how hard each event was struck. Where there is room it is a dot
// over the range that is asked, which is shaded; in one row it is shaded only where nothing has been played yet, and arrows stand for what is
// above and below it.
func (s *sheet) drawLoudness(p *ink.Paper, y, rows int, sys *system, settings *scoring.Settings) {
	p.Write(0, y+rows/2, ink.Faint, "loud")
	for e := sys.from; e < sys.to; e++ {
		x, asked := sys.x(e), s.ref.Notes[s.first[e]].Dynamic
		low, high := settings.Velocities(asked)
		v := float64(s.velocity(e))
		if rows == 1 {
			s.loudnessInOne(p, x, y, v, low, high, asked)
			continue
		}
		row := func(v float64) int { return y + rows - 1 - min(rows-1, int(v)*rows/128) }
		next := sys.width
		if e+1 < sys.to {
			next = sys.x(e + 1)
		}
		if asked != references.NoDynamic {
			for r := row(high); r <= row(low); r++ {
				p.Write(x, r, ink.Faint, strings.Repeat(s.signs.Shade, max(0, min(next-x, wide))))
			}
		}
		switch {
		case v == 0:
		case asked != references.NoDynamic && (v < low || v > high):
			p.Write(x, row(v), ink.Pencil, s.signs.Dot)
		default:
			p.Write(x, row(v), ink.Strong, s.signs.Dot)
		}
	}
}

func (s *sheet) loudnessInOne(p *ink.Paper, x, y int, v, low, high float64, asked references.Dynamic) {
	switch {
	case v == 0 && asked != references.NoDynamic:
		p.Write(x, y, ink.Faint, s.signs.Shade)
	case v == 0:
	case high > 0 && v > high:
		p.Write(x, y, ink.Pencil, s.signs.Up)
	case high > 0 && v < low:
		p.Write(x, y, ink.Pencil, s.signs.Down)
	default:
		p.Write(x, y, ink.Plain, s.signs.Heights[min(8, 1+int(v)*8/128)])
	}
}
