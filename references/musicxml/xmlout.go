package musicxml

import (
	"bytes"
	"encoding/xml"
	"strings"
)

// xmlOut writes indented XML. Errors cannot arise before the bytes are handed on.
type xmlOut struct {
	bytes.Buffer
	stack []string
}

// open starts an element. Attributes come as name and value by turns; one with an empty value is
// left out.
func (x *xmlOut) open(name string, attrs ...string) {
	x.tag(name, attrs)
	x.WriteString(">\n")
	x.stack = append(x.stack, name)
}

// close ends the innermost open element.
func (x *xmlOut) close() {
	name := x.stack[len(x.stack)-1]
	x.stack = x.stack[:len(x.stack)-1]
	x.indent()
	x.WriteString("</" + name + ">\n")
}

// leaf writes an element with text in it, or an empty one.
func (x *xmlOut) leaf(name, text string, attrs ...string) {
	x.tag(name, attrs)
	if text == "" {
		x.WriteString("/>\n")
		return
	}
	x.WriteString(">")
	x.escape(text)
	x.WriteString("</" + name + ">\n")
}

func (x *xmlOut) tag(name string, attrs []string) {
	x.indent()
	x.WriteString("<" + name)
	for i := 0; i+1 < len(attrs); i += 2 {
		if attrs[i+1] != "" {
			x.WriteString(" " + attrs[i] + `="`)
			x.escape(attrs[i+1])
			x.WriteString(`"`)
		}
	}
}

func (x *xmlOut) indent() { x.WriteString(strings.Repeat("\t", len(x.stack))) }

func (x *xmlOut) escape(s string) { _ = xml.EscapeText(&x.Buffer, []byte(s)) } // a Buffer never fails
