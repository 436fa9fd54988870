package ink

import (
	"strings"
	"testing"
)

// Every large letter has five rows of one width.
func TestLettersAreWhole(t *testing.T) {
	for r, dots := range letters {
		rows := strings.Split(dots, "/")
		if len(rows) != 5 {
			t.Errorf("%q has %d rows", r, len(rows))
		}
		for _, row := range rows {
			if len(row) != len(rows[0]) || strings.Trim(row, ".#") != "" {
				t.Errorf("%q has a row %q", r, row)
			}
		}
		p := NewPaper(20, 5)
		if n := Unicode.Large(p, 0, 0, string(r)+"A"); n != 3 {
			t.Errorf("%q takes %d rows", r, n)
		}
	}
}
