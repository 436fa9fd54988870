package report

import (
	"html/template"
	"time"
)

// functions are what every template may use.
var functions = template.FuncMap{
	// date is a day as it is said: Monday 2 January 2006.
	"date": func(t time.Time) string { return t.Format("Monday 2 January 2006") },
	// mark is a mark or a dash: what was not measured is no 0.
	"mark": func(m *int) any {
		if m == nil {
			return "–"
		}
		return *m
	},
}
