package report

import (
	"bytes"
	"encoding/base64"
	"html/template"
	"image/color"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Sizes of the small pictures of the weeks, in points: a row of panels on a page of usual width, two
// panels beside each other on a narrow screen.
const (
	panelsWide   = 720
	panelsNarrow = 350
	panelHigh    = 130
)

// panels draws plots beside each other, for wide and for narrow pages. plots makes them anew, since
// laying a plot out changes it.
func (f *Figure) panels(plots func(width vg.Length) ([]*plot.Plot, error)) error {
	wide, err := drawPanels(panelsWide, 4, plots)
	if err != nil {
		return err
	}
	narrow, err := drawPanels(panelsNarrow, 2, plots)
	f.Wide, f.Narrow = template.URL(wide), template.Srcset(narrow)
	return err
}

// drawPanels draws plots in rows of so many at most, and returns the picture as a data: address.
func drawPanels(width vg.Length, columns int, plots func(vg.Length) ([]*plot.Plot, error)) (string, error) {
	all, err := plots(width)
	if err != nil {
		return "", err
	}
	columns = min(columns, len(all))
	rows := (len(all) + columns - 1) / columns
	c := vgsvg.New(width, vg.Length(rows)*panelHigh)
	grid := draw.Tiles{Rows: rows, Cols: columns, PadX: vg.Points(12), PadY: vg.Points(8)}
	placed := make([][]*plot.Plot, rows)
	for i := range placed {
		placed[i] = make([]*plot.Plot, columns)
		copy(placed[i], all[i*columns:])
	}
	for i, row := range plot.Align(placed, grid, draw.New(c)) {
		for k, tile := range row {
			if placed[i][k] != nil {
				placed[i][k].Draw(tile)
			}
		}
	}
	var b bytes.Buffer
	if _, err := c.WriteTo(&b); err != nil {
		return "", err
	}
	return "data:image/svg+xml;base64," + base64.StdEncoding.EncodeToString(b.Bytes()), nil
}

// newPanel is an empty plot with axes of fine lines.
func newPanel() *plot.Plot {
	p := plot.New()
	p.BackgroundColor = color.Transparent
	for _, a := range []*plot.Axis{&p.X, &p.Y} {
		a.LineStyle.Width, a.LineStyle.Color = vg.Points(0.5), panelFaint
		a.Tick.LineStyle.Width, a.Tick.LineStyle.Color = vg.Points(0.5), panelFaint
		a.Tick.Length = vg.Points(3)
		a.Tick.Label.Font.Size, a.Tick.Label.Color = vg.Points(8), panelFaint
		a.Label.TextStyle.Font.Size, a.Label.TextStyle.Color = vg.Points(9), panelInk
		a.Label.Padding = vg.Points(2)
	}
	p.Title.TextStyle.Font.Size, p.Title.TextStyle.Color, p.Title.Padding = vg.Points(9), panelInk, vg.Points(6)
	return p
}

var (
	panelInk   = color.RGBA{0x23, 0x25, 0x2b, 0xff}
	panelFaint = color.RGBA{0x5d, 0x5f, 0x66, 0xff}
)
