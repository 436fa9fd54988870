package report

import (
	"cmp"
	"fmt"
	"html/template"
	"math"
	"slices"
	"sort"
	"strings"

	"evenhand/references"
	"evenhand/scoring"
)

// Figure is a picture of curves, with the same in words and figures for who cannot see it.
type Figure struct {
	Title   string
	Says    string          // the gist, in a sentence
	Key     string          // what the points, lines and shades are
	Wide    template.URL    // the picture as data: address, for a page of usual width and for print
	Narrow  template.Srcset // the same drawn for a narrow screen
	Columns []string
	Rows    [][]string
}

// Curves are the pictures about a take: tempo, loudness, evenness, and the hands together, each as
// far as it was measured, over the bars of the reference with its repeats unfolded.
func Curves(ref *references.Reference, a *scoring.Assessment) ([]Figure, error) {
	p := newPlayed(ref, a)
	if len(ref.Notes) == 0 {
		return nil, nil
	}
	var panels []panel
	for _, q := range []panel{p.tempoPanel(), p.loudnessPanel(), p.evennessPanel(), p.togetherPanel()} {
		if q.chart != nil {
			panels = append(panels, q)
		}
	}
	return figures(panels)
}

func (p *played) chart(unit string) *chart {
	return &chart{bars: p.bars(), end: p.end(), unit: unit}
}

func (p *played) tempoPanel() panel {
	points := p.tempo()
	if len(points) < 2 {
		return panel{}
	}
	c := p.chart("beats a minute")
	c.low, c.up = 0.8*p.a.Tempo.BPM, 1.2*p.a.Tempo.BPM
	c.series = append(c.series, series{"played", points, joined})
	says := fmt.Sprintf("Played at %s beats a minute on the whole", number(math.Round(p.a.Tempo.BPM)))
	if asked := p.notated(); len(asked) > 0 {
		c.series = append(c.series, series{"as written", asked, dashes})
		says += fmt.Sprintf("; %s is written", number(math.Round(asked[0].y)))
	}
	slow, fast := extremes(points)
	says += fmt.Sprintf(". Slowest in bar %s (%.0f), fastest in bar %s (%.0f).", p.barAt(slow.x), slow.y, p.barAt(fast.x), fast.y)
	f := Figure{Title: "Tempo", Says: says}
	f.Columns = []string{"bar", "beats a minute"}
	for _, v := range points {
		f.Rows = append(f.Rows, []string{p.barAt(v.x), fmt.Sprintf("%.0f", v.y)})
	}
	return panel{f, c}
}

// notated is the tempo as written, as a line of steps in the beat of the reference; nothing where no
// figure is.
func (p *played) notated() []xy {
	beat := p.ref.Beat.Float()
	var out []xy
	add := func(at float64, t references.Tempo) {
		bpm := t.BPM * t.Beat.Float() / beat
		if k := len(out); k > 0 {
			out = append(out, xy{at, out[k-1].y})
		}
		out = append(out, xy{at, bpm})
	}
	for _, m := range p.ref.Tempos {
		if m.Tempo.BPM > 0 && m.Printed {
			add(m.Onset.Float(), m.Tempo)
		}
	}
	if len(out) == 0 && p.ref.Tempo.BPM > 0 && len(p.ref.Tempos) == 0 {
		add(0, p.ref.Tempo)
	}
	if k := len(out); k > 0 {
		out = append(out, xy{p.end(), out[k-1].y})
	}
	return out
}

func (p *played) loudnessPanel() panel {
	right, left := p.loudness(references.Right), p.loudness(references.Left)
	if len(right)+len(left) < 2 || p.a.Dynamics == nil {
		return panel{}
	}
	c := p.chart("key velocity")
	c.low, c.up = 20, 100
	for _, l := range p.levels() {
		c.bands = append(c.bands, band{name: "as marked", low: []xy{{l.from, l.low}, {l.to, l.low}}, high: []xy{{l.from, l.high}, {l.to, l.high}}})
		c.words = append(c.words, note{xy{(l.from + l.to) / 2, l.low}, l.dynamic.String()})
	}
	for _, h := range p.a.Dynamics.Hairpins {
		if h.From != nil && h.To != nil {
			c.words = append(c.words, note{xy{(h.From.Onset + h.To.Onset) / 2, 20}, map[string]string{"crescendo": "cresc.", "diminuendo": "dim."}[h.Asked]})
		}
	}
	c.hands(right, left)
	says := fmt.Sprintf("On the whole %s (key velocity %s).", p.a.Dynamics.Heard, number(p.a.Dynamics.MedianVelocity))
	if len(c.bands) > 0 {
		says += " The dynamics that are marked are where they lie on this piano."
		if p.a.Settings.Calibration == nil {
			says = strings.Replace(says, "on this piano", "on a usual piano; this one has not been measured", 1)
		}
	}
	f := Figure{Title: "Loudness", Says: says}
	f.Columns = []string{"bar", "right hand", "left hand"}
	f.Rows = p.byBar(func(v []xy) string { return fmt.Sprintf("%.0f", median(v)) }, right, left)
	return panel{f, c}
}

// hands adds the two hands' points, told apart by their form.
func (c *chart) hands(right, left []xy) {
	c.series = append(c.series, series{"right hand", right, dots}, series{"left hand", left, rings})
}

func (p *played) evennessPanel() panel {
	c := p.chart("ms (+ late)")
	c.zero = true
	var points [2][]xy
	var all []displaced
	var crossings []xy
	for k, h := range []references.Hand{references.Right, references.Left} {
		for _, d := range p.displacements(h) {
			points[k] = append(points[k], xy{d.q, d.ms})
			if d.crossing != references.NoCrossing {
				crossings = append(crossings, xy{d.q, d.ms})
			}
			all = append(all, d)
		}
	}
	if len(all) < 4 {
		return panel{}
	}
	slices.SortStableFunc(all, func(a, b displaced) int { return cmp.Compare(a.q, b.q) })
	c.bands = append(c.bands, hearing(all))
	c.hands(points[0], points[1])
	c.series = append(c.series, series{"a crossing at the thumb", crossings, crosses})
	heard := p.name(c, all)
	c.low, c.up = -35, 35
	says := "No single note lay so far from its neighbours that it can be heard."
	switch {
	case len(heard) > 0 && p.ref.Request == nil:
		says = fmt.Sprintf("%d of %d notes lay so far from the line through their neighbours that it can be heard, which in a piece may well be meant; most of all %s.", len(heard), len(all), p.tell(heard[0]))
	case len(heard) > 0:
		says = fmt.Sprintf("%d of %d notes lay so far from their neighbours that it can be heard, most of all %s.", len(heard), len(all), p.tell(heard[0]))
	}
	says += " The limit of hearing is that of Friberg and Sundberg (1992)."
	return panel{Figure{
		Title: "Evenness, note by note", Says: says, Rows: p.evennessRows(all),
		Columns: []string{"note", "place", "ms early (−) or late (+)", "heard from"},
	}, c}
}

// hearing is the band within which nothing is heard. The limit goes with the pace, so it is the median
// of a few notes around each.
func hearing(all []displaced) band {
	b := band{name: "too little to hear"}
	for i, d := range all {
		var near []float64
		for k := max(0, i-3); k < min(len(all), i+4); k++ {
			near = append(near, all[k].limit)
		}
		slices.Sort(near)
		l := near[len(near)/2]
		if k := len(b.high); k == 0 || b.high[k-1].x < d.q {
			b.high, b.low = append(b.high, xy{d.q, l}), append(b.low, xy{d.q, -l})
		}
	}
	return b
}

// name writes the names of the thumb's crossings that are heard beside them, the furthest first and
// none over another, and returns all notes that are heard, the furthest off first.
func (p *played) name(c *chart, all []displaced) []displaced {
	var heard []displaced
	for _, d := range all {
		if math.Abs(d.ms) > d.limit {
			heard = append(heard, d)
		}
	}
	sort.SliceStable(heard, func(i, j int) bool {
		return math.Abs(heard[i].ms)/heard[i].limit > math.Abs(heard[j].ms)/heard[j].limit
	})
	room := c.end / 14
	for _, d := range heard {
		free := !slices.ContainsFunc(c.words, func(n note) bool { return math.Abs(n.x-d.q) < room })
		if d.crossing != references.NoCrossing && free {
			c.words = append(c.words, note{xy{d.q, d.ms}, p.ref.Notes[d.note].Pitch.Name.String()})
		}
	}
	return heard
}

// tell is a displaced note in words.
func (p *played) tell(d displaced) string {
	way := "late"
	if d.ms < 0 {
		way = "early"
	}
	s := fmt.Sprintf("%s, %s (%.0f ms %s", p.ref.Notes[d.note].Pitch.Words(), p.where(d.note), math.Abs(d.ms), way)
	if d.crossing != references.NoCrossing {
		s += ", " + d.crossing.String() + " with the usual fingering"
	}
	return s + ")"
}

func (p *played) where(i int) string { return (&pencil{ref: p.ref}).where(i) }

// mostRows is how long a table of notes may be; of more notes only those that are heard are in it.
const mostRows = 130

func (p *played) evennessRows(all []displaced) [][]string {
	var out [][]string
	for _, d := range all {
		if len(all) > mostRows && math.Abs(d.ms) <= d.limit {
			continue
		}
		out = append(out, []string{
			p.ref.Notes[d.note].Pitch.Name.String(), p.where(d.note), signed(d.ms), fmt.Sprintf("%.0f ms", d.limit),
		})
	}
	return out[:min(len(out), mostRows)]
}

func signed(ms float64) string { return strings.Replace(fmt.Sprintf("%+.0f", ms), "-", "−", 1) }

func (p *played) togetherPanel() panel {
	points := p.together()
	if len(points) < 4 || p.a.Together == nil {
		return panel{}
	}
	c := p.chart("ms (+ left late)")
	c.zero = true
	limit := p.a.Settings.Limits.TogetherMS
	c.low, c.up = -1.2*limit, 1.2*limit
	c.bands = append(c.bands, band{low: []xy{{0, -limit}, {c.end, -limit}}, high: []xy{{0, limit}, {c.end, limit}}, name: "together"})
	c.series = append(c.series, series{"left hand against right", points, dots})
	mean := p.a.Together.Mean
	says := "The hands were together"
	if math.Abs(mean) >= 1 {
		says = fmt.Sprintf("The left hand came %.0f ms %s than the right on average", math.Abs(mean), map[bool]string{true: "later", false: "earlier"}[mean > 0])
	}
	says += fmt.Sprintf(". Up to %s ms apart counts as together.", number(limit))
	f := Figure{Title: "Hands together", Says: says}
	f.Columns = []string{"bar", "left against right, ms"}
	f.Rows = p.byBar(func(v []xy) string { return signed(median(v)) }, points)
	return panel{f, c}
}

// byBar tells each series bar by bar.
func (p *played) byBar(tell func([]xy) string, all ...[]xy) [][]string {
	var out [][]string
	bars := p.bars()
	for i, b := range bars {
		end := p.end() + 1
		if i+1 < len(bars) {
			end = bars[i+1].onset
		}
		row, some := []string{p.barAt(b.onset)}, false
		for _, points := range all {
			var in []xy
			for _, v := range points {
				if v.x >= b.onset && v.x < end {
					in = append(in, v)
				}
			}
			cell := "–"
			if len(in) > 0 {
				cell, some = tell(in), true
			}
			row = append(row, cell)
		}
		if some {
			out = append(out, row)
		}
	}
	return out
}

// barAt is the printed number of the bar at an onset.
func (p *played) barAt(q float64) string {
	at := barStart{number: "1", pass: 1}
	for _, b := range p.bars() {
		if b.onset <= q+1e-6 {
			at = b
		}
	}
	if at.pass > 1 {
		return fmt.Sprintf("%s (%s time)", at.number, ordinal(at.pass))
	}
	return at.number
}

func extremes(points []xy) (low, high xy) {
	by := func(a, b xy) int { return cmp.Compare(a.y, b.y) }
	return slices.MinFunc(points, by), slices.MaxFunc(points, by)
}

func median(points []xy) float64 {
	y := make([]float64, len(points))
	for i, v := range points {
		y[i] = v.y
	}
	slices.Sort(y)
	n := len(y)
	return (y[(n-1)/2] + y[n/2]) / 2
}
