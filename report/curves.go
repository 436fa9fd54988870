package report

import (
	"html/template"

	"evenhand/references"
	"evenhand/scoring"
)

// Figure is a picture of curves, with the same in words and figures for who cannot see it.
type Figure struct {
	Title   string
	Says    string          // the gist, in a sentence
	Wide    template.URL    // the picture as data: address, for a page of usual width and for print
	Narrow  template.Srcset // the same drawn for a narrow screen
	Columns []string
	Rows    [][]string
}

// Curves are the pictures about a take.
func Curves(ref *references.Reference, a *scoring.Assessment) ([]Figure, error) { return nil, nil }
