package musicxml

import (
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// Bounds on the shape of a file. Scores nest about ten deep, and their longest texts are credits.
const (
	maxDepth    = 64
	maxText     = 64 << 10 // bytes of one text or attribute
	maxElements = 100_000  // in one bar
)

// errBounds marks the errors for which a file is refused, whatever was read before.
var errBounds = errors.New("too large for a score")

// element is one XML element with what is inside it. Namespaces are passed over: MusicXML has none.
type element struct {
	name, text  string
	attrs       []xml.Attr
	first, next *element // first child, next sibling
	line        int
}

// attr is the value of an attribute, "" where it is absent.
func (e *element) attr(name string) string {
	for i := range e.attrs {
		if e.attrs[i].Name.Local == name {
			return e.attrs[i].Value
		}
	}
	return ""
}

// child is the first child of a name, nil where there is none.
func (e *element) child(name string) *element {
	for c := e.first; c != nil; c = c.next {
		if c.name == name {
			return c
		}
	}
	return nil
}

// has reports whether there is a child of a name.
func (e *element) has(name string) bool { return e.child(name) != nil }

// textOf is the text of the first child of a name, "" where there is none.
func (e *element) textOf(name string) string {
	if c := e.child(name); c != nil {
		return c.text
	}
	return ""
}

// lineError is what is wrong with a file, and where.
type lineError struct {
	line int
	err  error
}

func (e *lineError) Error() string { return fmt.Sprintf("line %d: %v", e.line, e.err) }
func (e *lineError) Unwrap() error { return e.err }

// treeReader reads XML tokens and builds trees of the elements asked for. The elements of a tree
// are its own until the next call of reset.
type treeReader struct {
	d     *xml.Decoder
	open  []string  // names of the elements that are open
	late  xml.Token // an end that must wait until what is inside it is closed
	slab  []element
	used  int
	mends func(line int, name string) // told of an element that was not closed
}

func newTreeReader(text []byte) *treeReader {
	d := xml.NewDecoder(bytes.NewReader(text))
	d.Strict = false // an entity that is not known stays as it stands
	d.CharsetReader = asIs
	return &treeReader{d: d, mends: func(int, string) {}}
}

func (t *treeReader) line() int {
	line, _ := t.d.InputPos()
	return line
}

func (t *treeReader) fail(format string, args ...any) error {
	return &lineError{t.line(), fmt.Errorf(format, args...)}
}

// token returns the next start, end or text; its error tells the line. At the end of a file in
// which nothing is open it returns io.EOF. An element left open is closed with the one around it.
func (t *treeReader) token() (xml.Token, error) {
	tok := t.late
	if t.late = nil; tok == nil {
		var err error
		if tok, err = t.d.RawToken(); err != nil {
			return nil, t.broken(err)
		}
	}
	switch tok := tok.(type) {
	case xml.StartElement:
		if len(t.open) >= maxDepth {
			return nil, t.fail("elements nest more than %d deep: %w", maxDepth, errBounds)
		}
		for _, a := range tok.Attr {
			if len(a.Value) > maxText {
				return nil, t.fail("attribute %.40q is longer than %d KB: %w", a.Name.Local, maxText>>10, errBounds)
			}
		}
		t.open = append(t.open, tok.Name.Local)
	case xml.EndElement:
		return t.end(tok)
	case xml.CharData:
		if len(tok) > maxText && len(bytes.TrimSpace(tok)) > maxText {
			return nil, t.fail("a text is longer than %d KB: %w", maxText>>10, errBounds)
		}
	}
	return tok, nil
}

// broken words the error of text that is not XML.
func (t *treeReader) broken(err error) error {
	var syntax *xml.SyntaxError
	switch {
	case err == io.EOF && len(t.open) == 0:
		return io.EOF
	case err == io.EOF || errors.As(err, &syntax) && strings.Contains(syntax.Msg, "unexpected EOF"):
		return t.fail("the file breaks off")
	case errors.As(err, &syntax):
		return &lineError{syntax.Line, errors.New("not XML: " + syntax.Msg)}
	}
	return t.fail("not XML: %w", err)
}

// end closes the innermost element. Where the end is that of an element further out, it waits; where
// it is of none, it is no token of interest.
func (t *treeReader) end(tok xml.EndElement) (xml.Token, error) {
	n := len(t.open)
	if !slices.Contains(t.open, tok.Name.Local) {
		t.mends(t.line(), tok.Name.Local)
		return xml.Comment(nil), nil
	}
	inner := t.open[n-1]
	t.open = t.open[:n-1]
	if inner != tok.Name.Local {
		t.mends(t.line(), inner)
		t.late = tok
	}
	return xml.EndElement{Name: xml.Name{Local: inner}}, nil
}

// child returns the start of the next child of the element that is open, nil at its end.
func (t *treeReader) child() (*xml.StartElement, error) {
	for {
		tok, err := t.token()
		if err != nil {
			return nil, err
		}
		switch tok := tok.(type) {
		case xml.StartElement:
			return &tok, nil
		case xml.EndElement:
			return nil, nil
		}
	}
}

// skip reads on to the end of the element that was last opened.
func (t *treeReader) skip() error {
	for depth := len(t.open); len(t.open) >= depth; {
		if _, err := t.token(); err != nil {
			return err
		}
	}
	return nil
}

// reset gives the elements of all trees back.
func (t *treeReader) reset() { t.used, t.slab = 0, t.slab[:min(len(t.slab), 4096)] }

// take returns a fresh element. Slabs are never moved, so that pointers stay good.
func (t *treeReader) take() *element {
	if t.used == len(t.slab) {
		t.slab, t.used = make([]element, min(4096, 256+2*len(t.slab))), 0
	}
	e := &t.slab[t.used]
	t.used++
	*e = element{}
	return e
}

// unheard are elements that never bear on what is played or marked; they are read over.
var unheard = map[string]bool{
	"print": true, "harmony": true, "figured-bass": true, "lyric": true, "beam": true,
	"stem": true, "notehead": true, "notehead-text": true, "play": true, "listen": true, "listening": true,
	"accidental": true, "staff-details": true, "grouping": true, "link": true, "bookmark": true,
}

// tree reads the element that was last opened, to its end.
func (t *treeReader) tree(start *xml.StartElement) (*element, error) {
	root := t.take()
	*root = element{name: start.Name.Local, attrs: start.Attr, line: t.line()}
	type level struct{ e, last *element }
	path := []level{{e: root}}
	for n := 0; ; {
		tok, err := t.token()
		if err != nil {
			return nil, err
		}
		top := &path[len(path)-1]
		switch tok := tok.(type) {
		case xml.StartElement:
			if unheard[tok.Name.Local] {
				if err := t.skip(); err != nil {
					return nil, err
				}
				continue
			}
			if n++; n > maxElements {
				return nil, t.fail("more than %d elements in one bar: %w", maxElements, errBounds)
			}
			e := t.take()
			*e = element{name: tok.Name.Local, attrs: tok.Attr, line: t.line()}
			if top.last == nil {
				top.e.first = e
			} else {
				top.last.next = e
			}
			top.last = e
			path = append(path, level{e: e})
		case xml.CharData:
			if s := bytes.TrimSpace(tok); len(s) > 0 && len(top.e.text)+len(s) <= maxText {
				top.e.text += string(s)
			}
		case xml.EndElement:
			if path = path[:len(path)-1]; len(path) == 0 {
				return root, nil
			}
		}
	}
}
