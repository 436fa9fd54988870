package report

import (
	"bytes"
	"encoding/base64"
	"fmt"
	"html/template"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/vg"
)

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
