package report

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"image/color"
	"math"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/font"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/text"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// The colours of the paper. What a line or point is, its form says too.
var (
	ink    = color.RGBA{0x23, 0x25, 0x2b, 0xff}
	faint  = color.RGBA{0x5d, 0x5f, 0x66, 0xff}
	rule   = color.RGBA{0xd8, 0xd2, 0xc2, 0xff}
	wash   = color.RGBA{0xed, 0xe7, 0xd8, 0xff}
	accent = color.RGBA{0x9a, 0x3a, 0x24, 0xff}
)

// chart is one picture: points and lines over the bars of a score.
type chart struct {
	bars    []barStart
	end     float64
	unit    string // of the upright axis
	series  []series
	bands   []band
	words   []note
	low, up float64 // at least this much is shown; up 0 leaves it to the points
	zero    bool    // a line at 0
}

// series is one line of points with a name for the legend.
type series struct {
	name   string
	points []xy
	form   form
}

// form is how the points of a series look.
type form int

const (
	dots    form = iota // filled
	rings               // open
	joined              // a line with dots
	dashes              // a dashed line alone
	crosses             // over others, in the accent
)

// band is an area: the limit of hearing, or a dynamic.
type band struct {
	low, high []xy
	name      string
}

// note is a word at a place.
type note struct {
	xy
	text string
}

// The sizes of a picture, in points of 1/72 inch.
type size struct{ w, h, text vg.Length }

var (
	wide   = size{690, 190, 10}
	narrow = size{270, 200, 9}
)

// plot lays the chart out for a size.
func (c *chart) plot(s size) (*plot.Plot, error) {
	p := plot.New()
	p.BackgroundColor = nil
	style := text.Style{Font: font.Font{Typeface: "Liberation", Variant: "Serif", Size: s.text}, Color: faint, Handler: plot.DefaultTextHandler}
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.Color, a.Tick.Color, a.Width = faint, faint, 0.6
		a.Tick.Width, a.Tick.Length = 0.6, 3
		a.Label.TextStyle.Font, a.Label.TextStyle.Color = style.Font, faint
		a.Tick.Label.Font, a.Tick.Label.Color = style.Font, faint
	}
	p.X.Label.Text, p.Y.Label.Text = "bar", c.unit
	p.X.Tick.Marker = c.ticks(int(s.w / 45))
	p.Y.Tick.Marker = few{}
	for _, b := range c.bands {
		if err := b.draw(p); err != nil {
			return nil, err
		}
	}
	p.Add(barLines{c.bars})
	for i := range c.series {
		if err := c.series[i].draw(p); err != nil {
			return nil, err
		}
	}
	if err := c.write(p, style); err != nil {
		return nil, err
	}
	c.scale(p)
	return p, nil
}

// left is how much room a plot needs left of its data.
func left(p *plot.Plot, s size) vg.Length {
	c := draw.New(vgsvg.NewWith(vgsvg.UseWH(s.w, s.h)))
	return p.DataCanvas(c).Min.X
}

// picture draws a plot as SVG, its data beginning so far from the left.
func picture(p *plot.Plot, s size, from vg.Length) ([]byte, error) {
	canvas := vgsvg.NewWith(vgsvg.UseWH(s.w, s.h))
	p.Draw(draw.Crop(draw.New(canvas), from-left(p, s), -4, 0, 0))
	var out bytes.Buffer
	if _, err := canvas.WriteTo(&out); err != nil {
		return nil, err
	}
	return tidy(out.Bytes()), nil
}

// scale sets how much the axes show.
func (c *chart) scale(p *plot.Plot) {
	p.X.Min, p.X.Max = 0, math.Max(c.end, 1)
	if c.up > c.low {
		p.Y.Min, p.Y.Max = math.Min(p.Y.Min, c.low), math.Max(p.Y.Max, c.up)
	}
	room := 0.06 * (p.Y.Max - p.Y.Min)
	p.Y.Min, p.Y.Max = p.Y.Min-room, p.Y.Max+room
	if p.Y.Max-p.Y.Min < 1e-6 {
		p.Y.Min, p.Y.Max = p.Y.Min-1, p.Y.Max+1
	}
}

func (s *series) draw(p *plot.Plot) error {
	if len(s.points) == 0 {
		return nil
	}
	if s.form == joined || s.form == dashes {
		for _, run := range s.runs() {
			line, err := plotter.NewLine(run)
			if err != nil {
				return err
			}
			line.Width, line.Color = 0.9, ink
			if s.form == dashes {
				line.Dashes, line.Color = []vg.Length{5, 3}, faint
			}
			p.Add(line)
		}
	}
	if s.form == dashes {
		return nil
	}
	scatter, err := plotter.NewScatter(coordinates(s.points))
	if err != nil {
		return err
	}
	scatter.Color, scatter.Radius, scatter.Shape = ink, 2, draw.CircleGlyph{}
	switch s.form {
	case rings:
		scatter.Shape = draw.RingGlyph{}
	case crosses:
		scatter.Shape, scatter.Color, scatter.Radius = draw.CrossGlyph{}, accent, 3.5
	}
	p.Add(scatter)
	return nil
}

// runs are the points cut where some are missing: no line goes over what was not measured.
func (s *series) runs() []plotter.XYs {
	points := coordinates(s.points)
	if s.form == dashes || len(points) < 3 {
		return []plotter.XYs{points}
	}
	gaps := make([]float64, len(points)-1)
	for i := range gaps {
		gaps[i] = points[i+1].X - points[i].X
	}
	usual := slices.Sorted(slices.Values(gaps))[len(gaps)/2]
	var out []plotter.XYs
	first := 0
	for i, gap := range gaps {
		if gap > 1.7*usual {
			out = append(out, points[first:i+1])
			first = i + 1
		}
	}
	return append(out, points[first:])
}

func coordinates(points []xy) plotter.XYs {
	out := make(plotter.XYs, len(points))
	for i, v := range points {
		out[i] = plotter.XY{X: v.x, Y: v.y}
	}
	return out
}

func (b *band) draw(p *plot.Plot) error {
	var points plotter.XYs
	for _, v := range b.high {
		points = append(points, plotter.XY{X: v.x, Y: v.y})
	}
	for i := len(b.low) - 1; i >= 0; i-- {
		points = append(points, plotter.XY{X: b.low[i].x, Y: b.low[i].y})
	}
	if len(points) < 3 {
		return nil
	}
	area, err := plotter.NewPolygon(points)
	if err != nil {
		return err
	}
	area.Color, area.LineStyle.Width, area.LineStyle.Color = wash, 0.4, rule
	p.Add(area)
	return nil
}

// write puts words at their places.
func (c *chart) write(p *plot.Plot, style text.Style) error {
	if c.zero {
		line, err := plotter.NewLine(plotter.XYs{{X: 0, Y: 0}, {X: c.end, Y: 0}})
		if err != nil {
			return err
		}
		line.Width, line.Color = 0.5, faint
		p.Add(line)
	}
	if len(c.words) == 0 {
		return nil
	}
	var l plotter.XYLabels
	for _, w := range c.words {
		l.XYs = append(l.XYs, plotter.XY{X: w.x, Y: w.y})
		l.Labels = append(l.Labels, w.text)
	}
	labels, err := plotter.NewLabels(l)
	if err != nil {
		return err
	}
	for i := range labels.TextStyle {
		labels.TextStyle[i] = style
		labels.TextStyle[i].Color = ink
		labels.TextStyle[i].XAlign = text.XCenter
	}
	labels.Offset = vg.Point{Y: 4}
	p.Add(labels)
	return nil
}

// ticks are the bars, of which at most so many have their number.
func (c *chart) ticks(most int) plot.ConstantTicks {
	var out plot.ConstantTicks
	every := 1
	for _, n := range []int{1, 2, 4, 5, 10, 20, 50, 100, 200} {
		if every = n; len(c.bars)/n <= most {
			break
		}
	}
	for i, b := range c.bars {
		t := plot.Tick{Value: b.onset}
		if i%every == 0 {
			t.Label = b.number
			if b.pass > 1 {
				t.Label = fmt.Sprintf("%s (%d×)", b.number, b.pass)
			}
		}
		out = append(out, t)
	}
	return out
}

// few are at most five ticks at round numbers.
type few struct{}

// Ticks implements plot.Ticker.
func (few) Ticks(low, high float64) []plot.Tick {
	step := math.Pow(10, math.Floor(math.Log10((high-low)/5)))
	for k := 0; (high-low)/step > 5; k++ {
		step *= [...]float64{2, 2.5, 2}[k%3]
	}
	var out []plot.Tick
	for i := int(math.Ceil(low / step)); float64(i)*step <= high; i++ {
		v := float64(i) * step
		out = append(out, plot.Tick{Value: v, Label: strings.Replace(number(v), "-", "−", 1)})
	}
	return out
}

// barLines are thin upright lines where bars begin.
type barLines struct{ bars []barStart }

// Plot implements plot.Plotter.
func (b barLines) Plot(c draw.Canvas, p *plot.Plot) {
	x, _ := p.Transforms(&c)
	for _, at := range b.bars {
		c.StrokeLine2(draw.LineStyle{Color: rule, Width: 0.4}, x(at.onset), c.Min.Y, x(at.onset), c.Max.Y)
	}
}

var (
	styles   = regexp.MustCompile(`style="([^"]*)"`)
	decimals = regexp.MustCompile(`(\d+\.\d)\d+`)
	circles  = regexp.MustCompile(`A([\d.]+),[\d.]+ 0 1 1 [\d.]+,[\d.]+A[\d.]+,[\d.]+ 0 1 1 [\d.]+,[\d.]+Z`)
	paths    = regexp.MustCompile(`<path d="([^"]*)" class="(\w+)" />\n`)
)

// tidy makes a picture small: each style is told once, places to a tenth of a point, and what is drawn
// alike is one path. Its letters are those of the page.
func tidy(svg []byte) []byte {
	if i := bytes.Index(svg, []byte("<svg")); i > 0 {
		svg = svg[i:]
	}
	names := map[string]string{}
	var sheet strings.Builder
	svg = styles.ReplaceAllFunc(svg, func(attribute []byte) []byte {
		style := string(styles.FindSubmatch(attribute)[1])
		if names[style] == "" {
			names[style] = "s" + strconv.Itoa(len(names))
			fmt.Fprintf(&sheet, ".%s{%s}", names[style], strings.Replace(style, "font-family:", "font-family:Palatino Linotype,Palatino,P052,", 1))
		}
		return []byte(`class="` + names[style] + `"`)
	})
	svg = joinPaths(circles.ReplaceAllFunc(decimals.ReplaceAll(svg, []byte("$1")), func(c []byte) []byte {
		r, _ := strconv.ParseFloat(string(circles.FindSubmatch(c)[1]), 64)
		return fmt.Appendf(nil, "a%g,%g 0 1 1-%g,0a%g,%g 0 1 1 %g,0Z", r, r, 2*r, r, r, 2*r)
	}))
	return bytes.Replace(svg, []byte("<g "), []byte("<style>"+sheet.String()+"</style><g "), 1)
}

// joinPaths puts paths of one style that follow one another into one.
func joinPaths(svg []byte) []byte {
	var out []byte
	last, style := 0, ""
	for _, m := range paths.FindAllSubmatchIndex(svg, -1) {
		d, class := svg[m[2]:m[3]], string(svg[m[4]:m[5]])
		if m[0] == last && class == style {
			out = append(bytes.TrimSuffix(out, []byte(`" class="`+style+"\" />\n")), d...)
		} else {
			out = append(append(append(out, svg[last:m[0]]...), `<path d="`...), d...)
		}
		out = fmt.Appendf(out, "\" class=\"%s\" />\n", class)
		last, style = m[1], class
	}
	return append(out, svg[last:]...)
}

// panel is a chart with its words and figures, to be drawn.
type panel struct {
	Figure
	chart *chart
}

// figures draws panels for wide and narrow pages, all with their bars at the same places.
func figures(panels []panel) ([]Figure, error) {
	out := make([]Figure, len(panels))
	for _, s := range []size{wide, narrow} {
		plots := make([]*plot.Plot, len(panels))
		var from vg.Length
		for i, q := range panels {
			p, err := q.chart.plot(s)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", q.Title, err)
			}
			plots[i], from = p, max(from, left(p, s))
		}
		for i, q := range panels {
			svg, err := picture(plots[i], s, from)
			if err != nil {
				return nil, fmt.Errorf("%s: %w", q.Title, err)
			}
			if s == wide {
				out[i] = q.Figure
				out[i].Key = q.chart.key()
				out[i].Wide = template.URL(dataAddress(svg))
			} else {
				out[i].Narrow = template.Srcset(dataAddress(svg))
			}
		}
	}
	return out, nil
}

// key says what the points and lines are.
func (c *chart) key() string {
	signs := map[form]string{dots: "●", rings: "○", joined: "●–●", dashes: "– –", crosses: "⊠"}
	var parts []string
	for _, s := range c.series {
		if len(s.points) > 0 {
			parts = append(parts, signs[s.form]+" "+s.name)
		}
	}
	for _, b := range c.bands {
		if b.name != "" {
			parts = append(parts, "shaded: "+b.name)
		}
	}
	return strings.Join(slices.Compact(parts), "   ")
}

func dataAddress(svg []byte) string {
	return "data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString(svg)
}
