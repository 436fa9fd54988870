package report

import (
	"encoding/base64"
	"fmt"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/journal"
	"evenhand/scoring"
)

// practised is a pupil's practice: a take a day of each thing, with marks that rise.
func practised(days int, subjects ...string) (takes []journal.Measures) {
	from := time.Date(2026, 9, 7, 16, 0, 0, 0, time.UTC)
	for d := range days {
		for k, s := range subjects {
			takes = append(takes, journal.Measures{
				Take: int64(len(takes) + 1), Subject: s, Started: from.AddDate(0, 0, d).Add(time.Duration(k) * time.Hour), Practised: 90 * time.Second, AsAsked: true,
				Mark: new(60 + d), Evenness: new(9 - 0.2*float64(d)), Speed: new(3.0), Wrong: new(2), Expected: new(29),
			})
		}
	}
	return takes
}

func TestWeeksTellThePractice(t *testing.T) {
	now := time.Date(2026, 9, 28, 9, 0, 0, 0, time.UTC)
	set := []journal.Task{{Asked: "G major arpeggio", Subject: "G major arpeggio", Note: "slowly", At: now, Until: now.AddDate(0, 0, 4)}}
	w := NewWeeks("Mia", practised(21, "D major scale", "harbour-waltz"), set, now, time.UTC)
	w.Said = []journal.Said{{Take: 3, Subject: "D major scale", Started: now, Words: journal.Words{Said: "Sing it.", Mark: new(80)}}}
	var b strings.Builder
	if err := WriteWeeks(&b, w); err != nil {
		t.Fatal(err)
	}
	page := b.String()
	for _, want := range []string{
		"Mia", "to Monday 28 September 2026", "G major arpeggio", "slowly", "until Friday 2 October", "Sing it.", "(80 of 100)",
		"In the last six weeks: 63 minutes on 21 days.", "The last take was yesterday.", "harbour-waltz", "21 takes, 32 minutes since 7 September 2026.", "Stop when playing hurts",
	} {
		if !strings.Contains(page, want) {
			t.Errorf("no %q in the page", want)
		}
	}
	if strings.Contains(page, `href="/`) || strings.Contains(page, "<form") {
		t.Error("a file leads to a server")
	}
}

// Every axis has its unit, and its numbers.
func TestPicturesHaveUnits(t *testing.T) {
	w := NewWeeks("Mia", practised(21, "D major scale"), nil, time.Date(2026, 9, 28, 9, 0, 0, 0, time.UTC), time.UTC)
	line, err := lineFigure(w.Lines[0], time.UTC)
	if err != nil {
		t.Fatal(err)
	}
	days, err := w.practice()
	if err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		figure Figure
		words  []string
	}{
		{line, []string{"mark, of 100", "unevenness, %", "tempo, notes a second", "wrong notes, a take", "week from", "7 Sep", "100"}},
		{days, []string{"minutes", "day", "28 Sep"}},
	} {
		for _, picture := range []string{string(tt.figure.Wide), string(tt.figure.Narrow)} {
			svg := drawnIn(t, picture)
			for _, want := range tt.words {
				if !strings.Contains(svg, ">"+want+"<") {
					t.Errorf("%s: no %q in the picture", tt.figure.Title, want)
				}
			}
		}
	}
	if got := fmt.Sprint(line.Rows[0]); !strings.HasPrefix(got, "[mark, of 100 61 79 ") {
		t.Errorf("figures %s", got)
	}
}

func drawnIn(t *testing.T, address string) string {
	t.Helper()
	b, err := base64.StdEncoding.DecodeString(regexp.MustCompile(`^data:image/svg\+xml;base64,`).ReplaceAllString(address, ""))
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// Whatever there is, the page can be written: nobody practised, once, something else was played, 40 things.
func TestWeeksOfAnything(t *testing.T) {
	now := time.Date(2026, 9, 28, 9, 0, 0, 0, time.UTC)
	var many []string
	for i := range 40 {
		many = append(many, fmt.Sprint("thing ", i))
	}
	other := practised(3, "D major scale")
	for i := range other {
		other[i] = journal.Measures{Take: other[i].Take, Subject: other[i].Subject, Started: other[i].Started, Faults: []journal.Fault{{Kind: scoring.WrongNote}}}
	}
	for name, takes := range map[string][]journal.Measures{
		"none": nil, "once": practised(1, "D major scale"), "other": other, "many": practised(15, many...), "free": practised(9, journal.FreePractice),
	} {
		for _, h := range append(hostile, "Mia") {
			for i := range takes {
				if takes[i].Subject == "D major scale" {
					takes[i].Subject = h
				}
			}
			var b strings.Builder
			if err := WriteWeeks(&b, NewWeeks(h, takes, nil, now, time.UTC)); err != nil {
				t.Errorf("%s: %v", name, err)
			}
			if strings.Contains(b.String(), "<script>alert") || strings.Contains(b.String(), "<img src=x") {
				t.Errorf("%s: %q is more than text", name, h)
			}
			if name == "many" {
				break
			}
		}
	}
}

func TestDay(t *testing.T) {
	now := time.Date(2026, 3, 30, 0, 30, 0, 0, time.UTC)
	for days, want := range map[int]string{0: "today", 1: "yesterday", 2: "on Saturday", 6: "on Tuesday", 7: "on 23 March", 100: "on 20 December 2025"} {
		if got := day(now.AddDate(0, 0, -days), now); got != want {
			t.Errorf("%d days ago is %q, want %q", days, got, want)
		}
	}
}
