package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"

	"evenhand/journal"
)

// daysShown and weeksShown are how far back pictures go.
const (
	daysShown  = 42
	weeksShown = 26
)

// practice is the picture of the minutes a day.
func (w *Weeks) practice() (Figure, error) {
	by := map[string]journal.Day{}
	for _, d := range w.Days {
		by[d.Date] = d
	}
	f := Figure{Title: "Minutes a day", Columns: []string{"Day", "Minutes", "Takes"}}
	values := make(plotter.Values, daysShown)
	var sum float64
	practised := 0
	today := midnight(w.Now)
	for i := range values {
		date := today.AddDate(0, 0, i-daysShown+1)
		d, ok := by[date.Format(time.DateOnly)]
		values[i] = d.Minutes
		if ok {
			sum += d.Minutes
			practised++
			f.Rows = append(f.Rows, []string{date.Format("Monday 2 January"), fmt.Sprintf("%.1f", d.Minutes), strconv.Itoa(d.Takes)})
		}
	}
	f.Says = fmt.Sprintf("In the last six weeks: %s on %s.", minutes(sum), counted(practised, "day", "days"))
	if practised == 0 {
		return f, nil // there is nothing to draw
	}
	return f, f.panels(func(width vg.Length) ([]*plot.Plot, error) {
		p := newPanel()
		p.Y.Label.Text, p.X.Label.Text = "minutes", "day"
		p.X.Tick.Length = 0
		bars, err := plotter.NewBarChart(values, (width-vg.Points(60))/daysShown*0.7)
		if err != nil {
			return nil, err
		}
		bars.Color, bars.LineStyle.Width = panelFaint, 0
		p.Add(bars)
		upTo(p, max(5, p.Y.Max))
		p.X.Min, p.X.Max = -1, daysShown
		var ticks []plot.Tick
		for i := daysShown - 1; i >= 0; i -= 7 {
			ticks = append(ticks, plot.Tick{Value: float64(i), Label: today.AddDate(0, 0, i-daysShown+1).Format("2 Jan")})
		}
		p.X.Tick.Marker = plot.ConstantTicks(ticks)
		return []*plot.Plot{p}, nil
	})
}

// measure is one that is drawn for a thing that is practised.
type measure struct {
	name, unit string
	places     int
	least      float64 // that the axis goes up to
	trend      *journal.Trend
}

func measuresOf(l journal.Line) (out []measure) {
	for _, m := range []measure{
		{"mark", "of 100", 0, 100, l.Mark},
		{"unevenness", "%", 1, 1, l.Evenness},
		{"tempo", "notes a second", 2, 1, l.Speed},
		{"wrong notes", "a take", 1, 1, l.Wrong},
	} {
		if m.trend != nil {
			out = append(out, m)
		}
	}
	return out
}

// lineFigure is the picture of one thing that is practised: each measure by weeks.
func lineFigure(l journal.Line, place *time.Location) (Figure, error) {
	f := Figure{
		Title: l.Subject, Says: capital(l.Sentence) + ".",
		Columns: []string{"Measure", "First three days", "Last three days", "A week (95 % interval)"},
	}
	measures := measuresOf(l)
	for _, m := range measures {
		t := m.trend
		row := []string{m.name + ", " + m.unit, fmt.Sprintf("%.*f", m.places, t.First), "–", "–"}
		if t.Days > 1 {
			row[2] = fmt.Sprintf("%.*f", m.places, t.Last)
		}
		if t.Days > 2 {
			row[3] = fmt.Sprintf("%+.2g (%+.2g to %+.2g)", t.Slope, t.Low, t.High)
		}
		f.Rows = append(f.Rows, row)
	}
	if weeksHeard(l) < 2 {
		return f, nil // there is nothing to draw
	}
	first := midnight(l.From.In(place))
	return f, f.panels(func(vg.Length) (all []*plot.Plot, err error) {
		for _, m := range measures {
			p, err := m.plot(first)
			if err != nil {
				return nil, err
			}
			all = append(all, p)
		}
		return all, nil
	})
}

// weeksHeard is in how many of the weeks shown a thing was measured.
func weeksHeard(l journal.Line) (n int) {
	for _, m := range measuresOf(l) {
		heard := 0
		for _, v := range m.trend.Weeks[max(0, len(m.trend.Weeks)-weeksShown):] {
			if v != nil {
				heard++
			}
		}
		n = max(n, heard)
	}
	return n
}

// once are the measures of a thing that was heard in too few weeks for a picture.
func once(l journal.Line) string {
	var parts []string
	for _, m := range measuresOf(l) {
		parts = append(parts, fmt.Sprintf("%s %.*f %s", m.name, m.places, m.trend.Last, m.unit))
	}
	return capital(strings.Join(parts, ", "))
}

// plot draws the medians of the last weeks, joined where one week follows another.
func (m *measure) plot(first time.Time) (*plot.Plot, error) {
	p := newPanel()
	p.Title.Text, p.X.Label.Text = m.name+", "+m.unit, "week from"
	weeks := m.trend.Weeks
	from := max(0, len(weeks)-weeksShown)
	var run, all plotter.XYs
	join := func() error {
		if len(run) > 1 {
			line, err := plotter.NewLine(run)
			if err != nil {
				return err
			}
			line.LineStyle = draw.LineStyle{Color: panelInk, Width: vg.Points(1.2)}
			p.Add(line)
		}
		run = nil
		return nil
	}
	for i, v := range weeks[from:] {
		if v == nil {
			if err := join(); err != nil {
				return nil, err
			}
			continue
		}
		at := plotter.XY{X: float64(from + i), Y: *v}
		run, all = append(run, at), append(all, at)
	}
	if err := join(); err != nil {
		return nil, err
	}
	dots, err := plotter.NewScatter(all)
	if err != nil {
		return nil, err
	}
	dots.GlyphStyle = draw.GlyphStyle{Color: panelInk, Radius: vg.Points(1.8), Shape: draw.CircleGlyph{}}
	p.Add(dots)
	upTo(p, max(m.least, highest(all)))
	p.X.Min, p.X.Max = float64(from)-0.5, float64(len(weeks))-0.5
	p.X.Tick.Marker = weekTicks(first, from, len(weeks))
	return p, nil
}

func highest(all plotter.XYs) float64 {
	high := 0.0
	for _, xy := range all {
		high = max(high, xy.Y)
	}
	return high
}

// upTo makes an axis from 0 to at least high, with a few round numbers at it.
func upTo(p *plot.Plot, high float64) {
	step := math.Pow(10, math.Floor(math.Log10(high)))
	for _, smaller := range []float64{0.1, 0.2, 0.5} {
		if high <= 4*smaller*step {
			step *= smaller
			break
		}
	}
	p.Y.Min, p.Y.Max = 0, math.Ceil(high/step-1e-9)*step
	var ticks plot.ConstantTicks
	for n := 0.0; n*step <= p.Y.Max*(1+1e-9); n++ {
		ticks = append(ticks, plot.Tick{Value: n * step, Label: strconv.FormatFloat(n*step, 'g', 4, 64)})
	}
	p.Y.Tick.Marker = ticks
}

// weekTicks are up to four dates along the weeks.
func weekTicks(first time.Time, from, to int) plot.ConstantTicks {
	step := int(math.Ceil(float64(to-from) / 4))
	var out plot.ConstantTicks
	for w := from; w < to; w += step {
		out = append(out, plot.Tick{Value: float64(w), Label: first.AddDate(0, 0, 7*w).Format("2 Jan")})
	}
	return out
}
