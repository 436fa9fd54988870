package musicxml

import (
	"encoding/xml"
	"errors"
	"io"
	"strconv"
	"strings"

	"evenhand/references"
)

// parser turns the text of a score into bars as written.
type parser struct {
	t      *treeReader
	score  *score
	states map[*part]*state
}

// parse reads a whole score. Where the file breaks off or stops being XML after some bars, what
// came before is kept and the rest is a warning; a file with no bar at all is an error.
func parse(text []byte) (*score, error) {
	p := &parser{t: newTreeReader(text), score: &score{}, states: map[*part]*state{}}
	p.t.mends = func(line int, name string) {
		p.score.warn(p.lastBar(), line, "<%.40s> is not opened and closed rightly: taken as best it can be", name)
	}
	root, err := p.root()
	if err != nil {
		return nil, err
	}
	err = p.children(root == "score-timewise")
	for _, st := range p.states {
		st.finish()
	}
	if err != nil {
		var le *lineError
		if !p.begun() || !errors.As(err, &le) || errors.Is(err, errBounds) {
			return nil, err
		}
		p.score.warn(p.lastBar(), le.line, "%v: the rest of the score is missing", le.err)
	}
	if !p.begun() {
		return nil, p.t.fail("the score has no bars")
	}
	return p.score, nil
}

// root reads the first element, which says what the file is.
func (p *parser) root() (string, error) {
	for {
		tok, err := p.t.token()
		if err == io.EOF {
			return "", p.t.fail("the file is empty: no score")
		}
		if err != nil {
			return "", err
		}
		start, ok := tok.(xml.StartElement)
		if !ok {
			continue
		}
		switch name := start.Name.Local; name {
		case "score-partwise", "score-timewise":
			return name, nil
		case "opus":
			return "", p.t.fail("this is a list of scores (opus): open one of them")
		default:
			return "", p.t.fail("<%.40s> does not begin a score: MusicXML begins with score-partwise or score-timewise", name)
		}
	}
}

// begun reports whether a bar was read.
func (p *parser) begun() bool {
	for _, pt := range p.score.parts {
		if len(pt.bars) > 0 {
			return true
		}
	}
	return false
}

// lastBar is the number of the last bar of the last part that has any.
func (p *parser) lastBar() string {
	for i := len(p.score.parts) - 1; i >= 0; i-- {
		if b := p.score.parts[i].bars; len(b) > 0 {
			return b[len(b)-1].number
		}
	}
	return ""
}

// children reads what is in the root element.
func (p *parser) children(timewise bool) error {
	for {
		start, err := p.t.child()
		if err != nil || start == nil {
			return err
		}
		switch start.Name.Local {
		case "work", "movement-title", "credit", "defaults", "part-list":
			err = p.header(start)
		case "part":
			if timewise {
				err = p.t.skip()
				break
			}
			err = p.partwise(p.part(attrOf(start, "id")))
		case "measure":
			if !timewise {
				err = p.t.skip()
				break
			}
			err = p.timewise(start)
		default:
			err = p.t.skip()
		}
		if err != nil {
			return err
		}
	}
}

func attrOf(start *xml.StartElement, name string) string {
	return (&element{attrs: start.Attr}).attr(name)
}

// header reads one of the elements before the music.
func (p *parser) header(start *xml.StartElement) error {
	p.t.reset()
	e, err := p.t.tree(start)
	if err != nil {
		return err
	}
	switch e.name {
	case "work":
		p.score.work = tidy(e.textOf("work-title"))
	case "movement-title":
		p.score.movement = tidy(e.text)
	case "credit":
		if e.textOf("credit-type") == "title" && p.score.credit == "" {
			p.score.credit = tidy(e.textOf("credit-words"))
		}
	case "defaults":
		p.score.concert = e.has("concert-score")
	case "part-list":
		for c := e.first; c != nil; c = c.next {
			if c.name == "score-part" {
				pt := p.part(c.attr("id"))
				pt.name = tidy(c.textOf("part-name"))
			}
		}
	}
	return nil
}

// tidy puts a title on one line.
func tidy(s string) string { return strings.Join(strings.Fields(s), " ") }

// maxParts bounds the parts of a score. Large orchestras have some forty.
const maxParts = 500

// part returns the part of an id, new where it was not listed. A part without an id is the first
// that has no music yet.
func (p *parser) part(id string) *part {
	for _, pt := range p.score.parts {
		if pt.id == id || id == "" && len(pt.bars) == 0 {
			return pt
		}
	}
	pt := &part{id: id, staves: 1}
	if len(p.score.parts) < maxParts {
		p.score.parts = append(p.score.parts, pt)
	}
	return pt
}

// partwise reads the measures of one part.
func (p *parser) partwise(pt *part) error {
	for {
		start, err := p.t.child()
		if err != nil || start == nil {
			return err
		}
		if start.Name.Local != "measure" {
			err = p.t.skip()
		} else {
			err = p.measure(pt, start, attrOf(start, "number"), attrOf(start, "implicit") == "yes")
		}
		if err != nil {
			return err
		}
	}
}

// timewise reads the parts of one measure.
func (p *parser) timewise(m *xml.StartElement) error {
	number, implicit := attrOf(m, "number"), attrOf(m, "implicit") == "yes"
	for {
		start, err := p.t.child()
		if err != nil || start == nil {
			return err
		}
		if start.Name.Local != "part" {
			err = p.t.skip()
		} else {
			err = p.measure(p.part(attrOf(start, "id")), start, number, implicit)
		}
		if err != nil {
			return err
		}
	}
}

// maxBars bounds the bars of one part as written, and of the whole as played.
const maxBars = 20_000

// measure reads one bar of one part.
func (p *parser) measure(pt *part, start *xml.StartElement, number string, implicit bool) error {
	if len(pt.bars) >= maxBars {
		return p.t.fail("more than %d bars: %w", maxBars, errBounds)
	}
	p.t.reset()
	e, err := p.t.tree(start)
	if err != nil {
		return err
	}
	st := p.states[pt]
	if st == nil {
		st = newState(p.score, pt, len(p.states))
		p.states[pt] = st
	}
	st.measure(e, number, implicit)
	return nil
}

// whole reads an integer, and reports whether it is one.
func whole(s string) (int, bool) {
	n, err := strconv.Atoi(strings.TrimSpace(s))
	return n, err == nil
}

// decimal reads a number that may have a decimal point as an exact fraction.
func decimal(s string) (references.Quarters, bool) {
	s = strings.TrimSpace(s)
	intPart, frac, _ := strings.Cut(s, ".")
	if len(intPart) > 9 || len(frac) > 5 {
		f, err := strconv.ParseFloat(s, 64)
		if err != nil || f < 0 || f > 1e9 {
			return references.Quarters{}, false
		}
		return references.Q(int64(f*1000+0.5), 1000), true
	}
	n, err := strconv.ParseUint(intPart+frac, 10, 50)
	if err != nil {
		return references.Quarters{}, false
	}
	den := int64(1)
	for range frac {
		den *= 10
	}
	return references.Q(int64(n), den), true
}
