// Accuracy measures how right the program is on open data with known truth, and prints a table. The
// data is not part of the project: it is read below EVENHAND_DATA (or ../shared/data), and where a set
// is absent its rows say so. The grading of alignments and the putting in of mistakes are done by the
// tools that lie beside the data, not by this project.
//
// It is run by "make accuracy", and exits with 1 where a figure is below its bar. The mistakes are drawn from
// seeds: who mends the program while looking at some of them measures it on others, as in
// "go run ./internal/accuracy -first 25 -last 32".
package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"text/tabwriter"
)

// row is one figure.
type row struct {
	what, data string
	got        float64
	bar        float64 // 0 where there is none
	note       string
	absent     bool
}

// set is one set of open data, with where it comes from in words.
type set struct{ folder, source string }

var (
	vienna = set{"vienna4x22", "Vienna 4x22 corpus (Goebl 1999), no licence stated"}
	nasap  = set{"nasap", "(n)ASAP (Foscarin 2020, Peter 2023), CC BY-NC-SA 4.0"}
	pupils = set{"pupils", "expert-novice recordings (Jiang 2023), CC BY 4.0 by the author's copy"}
)

func main() {
	first := flag.Int("first", 1, "the first `seed` of the mistakes")
	last := flag.Int("last", 3, "and the last")
	flag.Parse()
	m, err := newMeasurer()
	if err != nil {
		fmt.Fprintf(os.Stderr, "accuracy: %v\n", err)
		os.Exit(1)
	}
	defer os.RemoveAll(m.temp)
	m.first, m.last = *first, *last
	var rows []row
	for _, measure := range []func() ([]row, error){
		func() ([]row, error) { return m.alignments(vienna, 0.995) },
		func() ([]row, error) { return m.alignments(nasap, 0.98) },
		func() ([]row, error) { return m.mistakes(vienna, 0.97, 0.99) },
		func() ([]row, error) { return m.mistakes(nasap, 0, 0) },
		m.teachers,
	} {
		r, err := measure()
		if err != nil {
			fmt.Fprintf(os.Stderr, "accuracy: %v\n", err)
			os.Exit(1)
		}
		rows = append(rows, r...)
	}
	if !print(rows) {
		os.Exit(1)
	}
}

// print writes the table and reports whether every figure reaches its bar.
func print(rows []row) bool {
	w := tabwriter.NewWriter(os.Stdout, 0, 0, 1, ' ', 0)
	fmt.Fprintln(w, "| measured\t| figure\t| at least\t| data\t|")
	fmt.Fprintln(w, "|---\t|---\t|---\t|---\t|")
	good := true
	for _, r := range rows {
		figure, bar := fmt.Sprintf("%.3f", r.got), "-"
		if r.note != "" {
			figure += " (" + r.note + ")"
		}
		if r.bar > 0 {
			bar = fmt.Sprintf("%.3f", r.bar)
			good = good && (r.absent || r.got >= r.bar)
		}
		if r.absent {
			figure = "data absent"
		}
		fmt.Fprintf(w, "| %s\t| %s\t| %s\t| %s\t|\n", r.what, figure, bar, r.data)
	}
	_ = w.Flush()
	return good
}

// measurer runs the built program and the tools beside the data.
type measurer struct {
	program, data, tools, temp string
	first, last                int // seeds of the mistakes
}

func newMeasurer() (*measurer, error) {
	data := os.Getenv("EVENHAND_DATA")
	if data == "" {
		data = filepath.Join("..", "shared", "data")
	}
	temp, err := os.MkdirTemp("", "evenhand-accuracy-")
	if err != nil {
		return nil, err
	}
	m := &measurer{
		program: filepath.Join("bin", "evenhand"), data: data, temp: temp,
		tools: filepath.Join(filepath.Dir(filepath.Clean(data)), "tools"),
	}
	if _, err := os.Stat(m.program); err != nil {
		return nil, fmt.Errorf("no %s: run make build first", m.program)
	}
	return m, nil
}

// here reports whether a set is there.
func (m *measurer) here(s set) bool {
	_, err := os.Stat(filepath.Join(m.data, s.folder))
	return err == nil
}

// takes lists the files of a set that match, with the score beside each.
func (m *measurer) takes(s set, pattern string) (takes, scores []string) {
	all, _ := filepath.Glob(filepath.Join(m.data, s.folder, "*", pattern))
	for _, t := range all {
		if strings.HasSuffix(t, ".mistakes.mid") {
			continue
		}
		score, _ := filepath.Glob(filepath.Join(filepath.Dir(t), "score.*"))
		if len(score) > 0 {
			takes, scores = append(takes, t), append(scores, score[0])
		}
	}
	return takes, scores
}
