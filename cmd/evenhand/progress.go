package main

import (
	"context"
	"encoding/json"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"evenhand/journal"
)

type progressOptions struct {
	journalOptions
	format string
}

func newProgress() *cobra.Command {
	var o progressOptions
	c := &cobra.Command{
		Use:   "progress [WHAT...]",
		Short: "tell how practice changed over the weeks",
		Long: `Tells of each thing practised, or of WHAT alone, a request or a part of its
name: the median by week of the mark, the evenness, the tempo and the wrong
notes; the median of the first three days and of the last three; the slope a
week with its 95 % interval (Theil-Sen); and a plain sentence. A change is told
only where it would come about by chance for fewer than 5 of 100 things
(Mann-Kendall). Where the evenness follows a power law of practice (Drake &
Palmer 2000), the law is told.`,
		Example: "  evenhand progress\n  evenhand progress B flat minor arpeggio --pupil Anna --format csv",
		RunE: withJournal(&o.journalOptions, func(ctx context.Context, c *cobra.Command, j *journal.Journal, words []string) error {
			return runProgress(ctx, c.OutOrStdout(), j, strings.Join(words, " "), &o)
		}),
	}
	addPupil(c, &o.journalOptions)
	c.Flags().StringVarP(&o.format, "format", "f", "text", "`text`, json, or csv: one line a take")
	return c
}

func runProgress(ctx context.Context, out io.Writer, j *journal.Journal, what string, o *progressOptions) error {
	pupil, err := o.chosen(ctx, j)
	if err != nil {
		return err
	}
	all, err := j.History(ctx, pupil, time.Time{})
	if err != nil {
		return err
	}
	takes := about(all, what)
	if what != "" && len(takes) == 0 {
		return fmt.Errorf("nothing called %q was practised: see evenhand progress", what)
	}
	now := time.Now()
	switch o.format {
	case "csv":
		return journal.WriteCSV(out, takes)
	case "json":
		return writeJSON(out, map[string]any{
			"schema": 1, "pupil": pupil, "days": journal.Days(takes, time.Local), "progress": journal.Progress(takes, now, time.Local),
		})
	case "text":
		return writeProgress(out, journal.Progress(takes, now, time.Local), journal.Days(takes, time.Local), now)
	}
	return usageError{fmt.Errorf("no format %q: choose text, json or csv", o.format)}
}

func writeJSON(out io.Writer, v any) error {
	e := json.NewEncoder(out)
	e.SetEscapeHTML(false)
	return e.Encode(v)
}

// about are the takes of what is asked for: of that request, or else of all whose name has the words.
func about(takes []journal.Measures, what string) []journal.Measures {
	if what == "" {
		return takes
	}
	filter := func(fits func(string) bool) (out []journal.Measures) {
		for _, m := range takes {
			if fits(m.Subject) {
				out = append(out, m)
			}
		}
		return out
	}
	subject := journal.Subject(what)
	if exact := filter(func(s string) bool { return s == subject }); len(exact) > 0 {
		return exact
	}
	return filter(func(s string) bool { return strings.Contains(strings.ToLower(s), strings.ToLower(what)) })
}

func writeProgress(out io.Writer, lines []journal.Line, days []journal.Day, now time.Time) error {
	var b strings.Builder
	if len(lines) == 0 {
		b.WriteString("Nothing asked for has been played yet.\n")
	}
	for _, l := range lines {
		wrap(&b, columnsOf(out), "", plain(l.Subject))
		wrap(&b, columnsOf(out), "  ", plain(l.Sentence)+".")
		for _, m := range []struct {
			name, unit string
			places     int
			trend      *journal.Trend
		}{{"mark", "", 0, l.Mark}, {"evenness", " %, lower is evener", 1, l.Evenness}, {"tempo", " notes a second", 2, l.Speed}, {"wrong", " notes a take", 1, l.Wrong}} {
			if m.trend != nil {
				b.WriteString(trendLine(m.name, m.unit, m.places, m.trend))
			}
		}
		if p := l.PowerLaw; p != nil {
			fmt.Fprintf(&b, "  evenness follows %.1f %% x days^-%.2f (R2 %.2f)\n", p.Start, p.Rate, p.R2)
		}
		fmt.Fprintf(&b, "  %s, %s\n\n", counted(l.Takes, "take", "takes"), minutes(l.Practised))
	}
	writeDays(&b, days, now)
	_, err := io.WriteString(out, b.String())
	return err
}

// chartWeeks is how many weeks a small chart shows: the last ones.
const chartWeeks = 26

// trendLine is one measure with its small chart, a week a column.
func trendLine(name, unit string, places int, t *journal.Trend) string {
	s := fmt.Sprintf("  %-9s %s  %.*f", name, chart(t.Weeks[max(0, len(t.Weeks)-chartWeeks):]), places, t.First)
	if t.Days > 1 {
		s += fmt.Sprintf(" to %.*f", places, t.Last)
	}
	s += unit
	if t.Days > 2 {
		s += fmt.Sprintf(" (%+.2g a week, %+.2g to %+.2g)", t.Slope, t.Low, t.High)
	}
	return s + "\n"
}

// chartSpan is the least that the height of a chart stands for, as a share of its middle: what hardly
// changes is to look so. Chosen by us.
const chartSpan = 0.2

// chart draws values as columns of eighths between the least and the greatest; a dot is none.
func chart(values []*float64) string {
	bars := []rune("▁▂▃▄▅▆▇█")
	low, high, any := 0.0, 0.0, false
	for _, v := range values {
		if v != nil {
			if !any {
				low, high, any = *v, *v, true
			}
			low, high = min(low, *v), max(high, *v)
		}
	}
	if short := chartSpan*(low+high)/2 - (high - low); short > 0 {
		low, high = low-short/2, high+short/2
	}
	var b strings.Builder
	for _, v := range values {
		switch {
		case v == nil:
			b.WriteRune('·')
		case high == low:
			b.WriteRune(bars[3])
		default:
			b.WriteRune(bars[int((*v-low)/(high-low)*7+0.5)])
		}
	}
	return b.String()
}

// writeDays writes the minutes of the last fortnight.
func writeDays(b *strings.Builder, days []journal.Day, now time.Time) {
	by := map[string]float64{}
	for _, d := range days {
		by[d.Date] = d.Minutes
	}
	var fortnight []*float64
	var sum float64
	practised := 0
	for i := 13; i >= 0; i-- {
		var v *float64
		if m, ok := by[now.AddDate(0, 0, -i).Format(time.DateOnly)]; ok {
			v = &m
			sum += m
			practised++
		}
		fortnight = append(fortnight, v)
	}
	fmt.Fprintf(b, "practice  %s  last 14 days: %s on %s\n", chart(fortnight), minutes(time.Duration(sum*float64(time.Minute))), counted(practised, "day", "days"))
}
