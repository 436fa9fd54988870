// Package layers holds the table of who may import whom, as a test. It reads the sources themselves:
// a test that ran "go list" would be answered from go test's cache.
package layers

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"evenhand/internal/outside"
)

// row is what a package and those below it may import. Packages of the project are named by their
// path in it, with /... for all below; others by module. A package may always import itself, those
// below it, and the standard library.
type row struct {
	may []string
	// pure packages are functions of their inputs: no files, no clock, no goroutines.
	pure bool
}

// everything is for the commands, which wire the rest together.
var everything = []string{"..."}

// table has the longest fitting row for each package.
var table = map[string]row{
	"references":      {may: []string{"internal/smf", "github.com/pelletier/go-toml/v2"}},
	"capture":         {may: []string{"internal/smf", "gitlab.com/gomidi/midi/v2"}},
	"capture/ports":   {may: []string{"capture", "gitlab.com/gomidi/midi/v2"}},
	"capture/pupil":   {may: []string{"capture", "references"}},
	"align":           {may: []string{"references", "capture"}, pure: true},
	"scoring":         {may: []string{"align", "references", "capture", "gonum.org/v1/gonum"}, pure: true},
	"exam":            {may: []string{"exam/questions", "references", "capture", "align", "scoring"}},
	"exam/ear":        {may: []string{"references", "capture", "align", "scoring"}, pure: true},
	"exam/questions":  {may: []string{"references"}, pure: true},
	"journal":         {may: []string{"scoring", "align", "references", "capture", "modernc.org/sqlite", "github.com/jackc/pgx/v5", "github.com/pressly/goose/v3", "github.com/riverqueue/river"}},
	"report":          {may: []string{"journal", "exam/...", "scoring", "align", "references", "references/...", "capture", "internal/smf", "gonum.org/v1/gonum", "gonum.org/v1/plot", "github.com/chromedp"}},
	"cmd/evenhand":    {may: everything},
	"internal/smf":    {},
	"internal/layers": {}, "internal/testsum": {},
	"internal/accuracy": {may: []string{"capture", "gonum.org/v1/gonum"}},
	// For tests only.
	"internal/pgtest":   {may: []string{"github.com/jackc/pgx/v5"}},
	"internal/outside":  {},
	"internal/jacktest": {may: []string{"capture", "capture/ports", "gitlab.com/gomidi/midi/v2"}},
}

// inTests are what tests of any package may import besides.
var inTests = []string{
	"internal/outside", "internal/jacktest", "internal/pgtest", "internal/smf", "capture", "capture/pupil", "references", "references/...",
	"pgregory.net/rapid", "github.com/google/go-cmp", "github.com/rogpeppe/go-internal",
	"github.com/charmbracelet/x/exp/teatest", "github.com/charmbracelet/x/exp/golden",
	"gitlab.com/gomidi/midi/v2", "gonum.org/v1/gonum",
}

// testsOnly may be imported by nothing but tests and each other.
var testsOnly = []string{"internal/outside", "internal/jacktest", "internal/pgtest"}

const module = "evenhand"

// source is one parsed Go file.
type source struct {
	dir  string // of its package, from the top of the project
	path string
	test bool
	file *ast.File
}

// sources are all Go files of the project.
func sources(t *testing.T) []source {
	t.Helper()
	var all []source
	walk(t, func(name string) {
		if path.Ext(name) != ".go" {
			return
		}
		f, err := parser.ParseFile(token.NewFileSet(), filepath.Join(outside.Root(), name), nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, source{path.Dir(name), name, strings.HasSuffix(name, "_test.go"), f})
	})
	if len(all) < 10 {
		t.Fatalf("only %d sources found", len(all))
	}
	return all
}

// walk calls visit with the path of each file of the project, from its top.
func walk(t *testing.T, visit func(string)) {
	t.Helper()
	err := fs.WalkDir(os.DirFS(outside.Root()), ".", func(name string, d fs.DirEntry, err error) error {
		base := path.Base(name)
		switch {
		case err != nil:
			return err
		case d.IsDir() && (base == "node_modules" || base == ".git" || name == "bin" || name == "dist"):
			return fs.SkipDir
		case d.Type().IsRegular():
			visit(name)
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
}

// rowOf is the row for a package: its own, or that of the nearest package above it.
func rowOf(dir string) (name string, r row, ok bool) {
	for name = dir; name != "."; name = path.Dir(name) {
		if r, ok = table[name]; ok {
			return name, r, true
		}
	}
	return "", row{}, false
}

// allows says whether one entry of a row allows an import.
func allows(entry, imported string) bool {
	if entry == "..." {
		return true
	}
	if below, ok := strings.CutSuffix(entry, "/..."); ok {
		return under(imported, module+"/"+below)
	}
	if imported == module+"/"+entry {
		return true
	}
	// Only modules have a dot in their first element.
	host, _, _ := strings.Cut(entry, "/")
	return strings.Contains(host, ".") && under(imported, entry)
}

// under says whether a path is that of a package or of one below it.
func under(p, top string) bool { return p == top || strings.HasPrefix(p, top+"/") }

// standard says whether an import is of the standard library, or cgo.
func standard(imported string) bool {
	first, _, _ := strings.Cut(imported, "/")
	return first != module && !strings.Contains(first, ".")
}

func TestImports(t *testing.T) {
	for _, s := range sources(t) {
		name, r, ok := rowOf(s.dir)
		if !ok {
			t.Errorf("%s: package %s is not in the table of %s/internal/layers: add who may import whom", s.path, s.dir, module)
			continue
		}
		for _, spec := range s.file.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				t.Fatal(err)
			}
			if fault := fault(s, name, r, imported); fault != "" {
				t.Errorf("%s imports %s: %s", s.path, imported, fault)
			}
		}
	}
}

// fault says what is wrong with an import, or nothing.
func fault(s source, name string, r row, imported string) string {
	entries := r.may
	if s.test {
		entries = slices.Concat(entries, inTests)
	}
	allowed := func(entry string) bool { return allows(entry, imported) }
	own, ours := strings.CutPrefix(imported, module+"/")
	home, _, _ := rowOf(own)
	switch {
	case imported == "C" && s.dir != "capture/ports":
		return "only capture/ports may use cgo"
	case slices.Contains(testsOnly, own) && !s.test && !slices.Contains(testsOnly, s.dir):
		return "that is for tests"
	case standard(imported) || ours && home == name:
		return ""
	case !slices.ContainsFunc(entries, allowed):
		return "not in the row of " + name
	}
	return ""
}

// impure are the parts of the standard library that bring in the world. Of sync, pure packages may have what is
// worked out once.
var impure = regexp.MustCompile(`^(os|net|io/fs|io/ioutil|math/rand|crypto/rand|sync/atomic|syscall|runtime|log)(/|$)`)

func TestPurePackagesAreFunctionsOfTheirInputs(t *testing.T) {
	for _, s := range sources(t) {
		_, r, _ := rowOf(s.dir)
		if !r.pure || s.test {
			continue
		}
		for _, spec := range s.file.Imports {
			if imported := strings.Trim(spec.Path.Value, `"`); impure.MatchString(imported) {
				t.Errorf("%s imports %s: the package is pure", s.path, imported)
			}
		}
		ast.Inspect(s.file, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.GoStmt:
				t.Errorf("%s starts a goroutine: the package is pure", s.path)
			case *ast.SelectorExpr:
				if x, ok := n.X.(*ast.Ident); ok && x.Name == "sync" && n.Sel.Name != "OnceValue" {
					t.Errorf("%s uses sync.%s: the package is pure", s.path, n.Sel.Name)
				}
				if x, ok := n.X.(*ast.Ident); ok && x.Name == "time" && slices.Contains([]string{"Now", "Since", "Until", "Sleep", "After", "NewTimer", "NewTicker", "Tick", "AfterFunc"}, n.Sel.Name) {
					t.Errorf("%s looks at the clock, time.%s: the package is pure", s.path, n.Sel.Name)
				}
			}
			return true
		})
	}
}

// A path of one machine, and a host that packages are fetched from. They are put together here so
// that this file does not have them.
var (
	machine  = regexp.MustCompile(`(^|[\s"'` + "`" + `=(:])/` + `(work|root|home|Users)/\w`)
	registry = regexp.MustCompile(`(proxy|sum)\.golang\.` + `org|registry\.npmjs\.` + `org|deb\.debian\.` + `org|pypi\.` + `org|archive\.ubuntu\.` + `com`)
)

func TestNoPathOfAMachineAndNoRegistry(t *testing.T) {
	text := []string{".go", ".cpp", ".h", ".md", ".sh", ".json", ".toml", ".yml", ".mod", ".txt", ".txtar", ".sql", ".html", ".js", ".css", ""}
	walk(t, func(name string) {
		if !slices.Contains(text, path.Ext(name)) {
			return
		}
		b, err := os.ReadFile(filepath.Join(outside.Root(), name))
		if err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(string(b), "\n") {
			if machine.MatchString(line) || registry.MatchString(line) {
				t.Errorf("%s:%d names a path of one machine, or a registry: %s", name, i+1, strings.TrimSpace(line))
			}
		}
	})
}

func TestRules(t *testing.T) {
	for _, tt := range []struct {
		dir, imported string
		test, ok      bool
	}{
		{"align", "evenhand/references", false, true},
		{"align", "evenhand/scoring", false, false},
		{"align", "evenhand/capture/ports", false, false},
		{"align", "evenhand/capture/pupil", false, false},
		{"align", "evenhand/capture/pupil", true, true},
		{"align", "sort", false, true},
		{"references", "evenhand/internal/smf", false, true},
		{"references", "github.com/pelletier/go-toml/v2/unstable", false, true},
		{"references", "gonum.org/v1/gonum/stat", false, false},
		{"scoring", "gonum.org/v1/gonum/stat", false, true},
		{"scoring", "gonum.org/v1/plot", false, false},
		{"exam/questions", "evenhand/exam", false, false},
		{"exam", "evenhand/exam/questions", false, true},
		{"exam", "evenhand/journal", false, false},
		{"journal", "evenhand/exam", false, false},
		{"report", "evenhand/capture/ports", false, false},
		{"report", "evenhand/exam/questions", false, true},
		{"capture", "C", false, false},
		{"capture", "evenhand/capture/ports", false, false},
		{"capture", "evenhand/capture/pupil", true, true},
		{"capture/ports", "evenhand/capture/ports", true, true},
		{"capture/ports", "C", false, true},
		{"cmd/evenhand/screen", "github.com/charmbracelet/bubbletea", false, true},
		{"cmd/evenhand", "evenhand/internal/outside", false, false},
		{"cmd/evenhand", "evenhand/internal/jacktest", true, true},
		{"internal/jacktest", "evenhand/capture/ports", false, true},
	} {
		name, r, ok := rowOf(tt.dir)
		if got := fault(source{dir: tt.dir, test: tt.test}, name, r, tt.imported); !ok || (got == "") != tt.ok {
			t.Errorf("%s (test %v) imports %s: %q, want allowed %v", tt.dir, tt.test, tt.imported, got, tt.ok)
		}
	}
	if _, _, ok := rowOf("util"); ok {
		t.Error("a package nobody knows is in the table")
	}
}
