package main

import (
	"context"
	"fmt"
	"io"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"evenhand/journal"
)

func newWeek() *cobra.Command {
	var o journalOptions
	var format string
	c := &cobra.Command{
		Use:   "week",
		Short: "review the last seven days of all pupils",
		Long: `For the teacher: who practised what and how long in the last seven days, what
got better or worse over twelve weeks, what to listen for in the lesson, and
what was set and not heard.`,
		Example: "  evenhand week\n  evenhand week --journal school.db --format json",
		Args:    noArguments,
		RunE: withJournal(&o, func(ctx context.Context, c *cobra.Command, j *journal.Journal, _ []string) error {
			reviews, err := j.Week(ctx, time.Now(), time.Local)
			switch {
			case err != nil:
				return err
			case format == "json":
				return writeJSON(c.OutOrStdout(), map[string]any{"schema": 1, "week": reviews})
			case format == "text":
				return writeWeek(c.OutOrStdout(), reviews)
			}
			return usageError{fmt.Errorf("no format %q: choose text or json", format)}
		}),
	}
	addJournal(c, &o)
	addFormat(c, &format)
	return c
}

func writeWeek(out io.Writer, reviews []journal.Review) error {
	var b strings.Builder
	columns := columnsOf(out)
	for i, r := range reviews {
		if i > 0 {
			b.WriteByte('\n')
		}
		if r.Takes == 0 {
			wrap(&b, columns, "", plain(r.Pupil)+": no practice this week.")
		} else {
			wrap(&b, columns, "", fmt.Sprintf("%s: %s on %s, %s (the week before: %s).", plain(r.Pupil), minutes(inMinutes(r.Minutes)),
				counted(r.Days, "day", "days"), counted(r.Takes, "take", "takes"), minutes(inMinutes(r.Before))))
		}
		for _, a := range r.Practised {
			mark := ""
			if a.Mark != nil {
				mark = fmt.Sprintf(", last mark %d", *a.Mark)
			}
			wrap(&b, columns, "  ", fmt.Sprintf("%s: %s, %s%s", plain(a.Subject), minutes(inMinutes(a.Minutes)), counted(a.Takes, "take", "takes"), mark))
		}
		for _, part := range []struct {
			name string
			all  []string
		}{{"better", r.Better}, {"worse", r.Worse}, {"listen for", r.ListenFor}, {"set, not heard", r.Set}} {
			for _, s := range part.all {
				wrap(&b, columns, "  "+part.name+": ", plain(s))
			}
		}
	}
	if len(reviews) == 0 {
		b.WriteString("There is no pupil yet: add one with evenhand pupil add.\n")
	}
	_, err := io.WriteString(out, b.String())
	return err
}

func inMinutes(m float64) time.Duration { return time.Duration(m * float64(time.Minute)) }
