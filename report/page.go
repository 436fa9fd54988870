package report

import (
	"bytes"
	"crypto/sha256"
	"embed"
	"encoding/base64"
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"strings"
	"sync"
)

//go:embed web/style.css web/*.js web/pages/*.html
var web embed.FS

// Page is one page: a frame round the template "content" of web/pages/NAME.html.
type Page struct {
	Name    string   // of its template in web/pages, without .html
	Title   string   // of the window, and the heading
	Lead    string   // a line below the heading; may be empty
	Nav     []Link   // other pages; none in a file
	Scripts []string // of web, in order, such as "take.js"; "/" + name with Links
	Data    any      // what the template gets
	Teacher *Teacher // what the teacher may say on the page, below the content; nil in a file
	// Engraver is put into the page where it is not empty; a server gives its address by Links.
	Engraver Engraver
	// Links are where a server has what a file holds; nil for a file.
	Links *Links
}

// Link is a way to another page. Here marks the one being shown.
type Link struct {
	Address, Text string
	Here          bool
}

// Links are the addresses at which a server has the stylesheet (Stylesheet), the folder of the
// scripts (Script), ending with a slash, and the engraver's script; the last is empty where there is
// none.
type Links struct{ Style, Scripts, Engraver string }

// Stylesheet is the one stylesheet of all pages, for screen and print.
func Stylesheet() []byte { return asset("style.css") }

// Script is one of the scripts that a Page may name; an error where there is none of that name.
func Script(name string) ([]byte, error) {
	if !strings.HasSuffix(name, ".js") {
		return nil, fs.ErrNotExist
	}
	return web.ReadFile("web/" + name)
}

// asset is an embedded file, which must be there.
func asset(name string) []byte {
	b, err := web.ReadFile("web/" + name)
	if err != nil {
		panic(err)
	}
	return b
}

// frame is what web/pages/page.html gets.
type frame struct {
	*Page
	Policy   template.HTMLAttr // the content-security policy, of a file
	Style    template.CSS
	Inlined  []template.JS
	Embedded template.HTML // the engraver, in base64
}

// Write writes the page. The error is that of the writer, or of a template, in which case nothing is
// written.
func (p *Page) Write(w io.Writer) error {
	t, err := pages(p.Name)
	if err != nil {
		return fmt.Errorf("page %q: %w", p.Name, err)
	}
	f := frame{Page: p}
	if p.Links == nil {
		if err := f.fill(); err != nil {
			return err
		}
	}
	var b bytes.Buffer
	if err := t.ExecuteTemplate(&b, "page", &f); err != nil {
		return fmt.Errorf("page %q: %w", p.Name, err)
	}
	_, err = w.Write(b.Bytes())
	return err
}

// fill puts everything into the page, and the hashes of what may run into its policy.
func (f *frame) fill() error {
	style := Stylesheet()
	f.Style = template.CSS(style)
	var scripts []string
	for _, name := range f.Scripts {
		s, err := Script(name)
		if err != nil {
			return fmt.Errorf("script %q: %w", name, err)
		}
		f.Inlined = append(f.Inlined, template.JS(s))
		scripts = append(scripts, hash(s))
	}
	if !f.Engraver.Empty() {
		f.Embedded = template.HTML(base64.StdEncoding.EncodeToString(f.Engraver.packed))
		scripts = append(scripts, f.Engraver.hash(), "'wasm-unsafe-eval'")
	}
	if len(scripts) == 0 {
		scripts = []string{"'none'"}
	}
	f.Policy = template.HTMLAttr(fmt.Sprintf(`content="default-src 'none'; script-src %s; style-src %s; img-src data:; font-src data:; base-uri 'none'; form-action 'none'"`,
		strings.Join(scripts, " "), hash(style)))
	return nil
}

// hash is a source of a content-security policy: the SHA-256 of a script or stylesheet (Content
// Security Policy Level 3, 2.3.1).
func hash(b []byte) string {
	sum := sha256.Sum256(b)
	return "'sha256-" + base64.StdEncoding.EncodeToString(sum[:]) + "'"
}

var (
	parsed   = map[string]*template.Template{}
	parsedMu sync.Mutex
)

// pages is the frame with the content of one page in it, and the pieces that contents share.
func pages(name string) (*template.Template, error) {
	parsedMu.Lock()
	defer parsedMu.Unlock()
	if t := parsed[name]; t != nil {
		return t, nil
	}
	t, err := template.New("").Funcs(functions).ParseFS(web, "web/pages/page.html", "web/pages/pieces.html", "web/pages/teacher.html", "web/pages/"+name+".html")
	if err == nil {
		parsed[name] = t
	}
	return t, err
}
