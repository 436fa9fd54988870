package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"evenhand/journal"
)

func newTakes() *cobra.Command {
	var o journalOptions
	c := &cobra.Command{
		Use:     "takes [NUMBER]",
		Short:   "list the takes in the journal, or tell one again",
		Example: "  evenhand takes --pupil Anna\n  evenhand takes 1",
		RunE: withJournal(&o, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			if len(args) > 1 {
				return misused(c, "takes tells one take at a time")
			}
			if len(args) == 1 {
				return tellTake(ctx, c.OutOrStdout(), j, args[0])
			}
			pupil, err := o.chosen(ctx, j)
			if err != nil {
				return err
			}
			return listTakes(ctx, c.OutOrStdout(), j, pupil)
		}),
	}
	addPupil(c, &o)
	return c
}

func listTakes(ctx context.Context, out io.Writer, j *journal.Journal, pupil string) error {
	takes, err := j.History(ctx, pupil, time.Time{})
	if err != nil {
		return err
	}
	var b strings.Builder
	for _, m := range takes {
		mark := "-"
		if m.Mark != nil {
			mark = strconv.Itoa(*m.Mark)
		}
		fmt.Fprintf(&b, "%6d  %s  %3s  %s\n", m.Take, m.Started.Local().Format("2006-01-02 15:04"), mark, plain(m.Subject))
	}
	_, err = io.WriteString(out, b.String())
	return err
}

func takeNumber(s string) (int64, error) {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		return 0, usageError{fmt.Errorf("%q is no number of a take: see evenhand takes", s)}
	}
	return n, nil
}

// tellTake tells a take with what the teacher said of it.
func tellTake(ctx context.Context, out io.Writer, j *journal.Journal, number string) error {
	id, err := takeNumber(number)
	if err != nil {
		return err
	}
	t, err := j.Take(ctx, id)
	if err != nil {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "take %d of %s, %s\n", t.ID, plain(t.Pupil), t.Started.Local().Format("Monday 2 January 2006 15:04"))
	if t.Words != nil {
		mark := ""
		if t.Words.Mark != nil {
			mark = fmt.Sprintf(" (mark %d)", *t.Words.Mark)
		}
		wrap(&b, columnsOf(out), "the teacher"+mark+": ", plain(t.Words.Said))
	}
	if _, err := io.WriteString(out, b.String()); err != nil || t.Outcome == nil {
		return err
	}
	if err := writeVerdict(out, t.Outcome.Amend(t.Amendment())); err != nil {
		return err
	}
	b.Reset()
	struck := t.Amendment().Struck
	for i, f := range t.Outcome.Findings {
		gone := ""
		if slices.Contains(struck, i) {
			gone = "[struck out] "
		}
		wrap(&b, columnsOf(out), fmt.Sprintf("%4d  ", i+1), gone+plain(f.Text))
	}
	_, err = io.WriteString(out, b.String())
	return err
}

type sayOptions struct {
	journalOptions
	mark int
	why  string
}

func newSay() *cobra.Command {
	var o sayOptions
	c := &cobra.Command{
		Use:     "say TAKE WORDS...",
		Short:   "put the teacher's own words and mark beside a take",
		Long:    "The teacher's own words and mark stand beside the computed ones and are never\noverwritten by them.",
		Example: "  evenhand say 1 \"Lovely line; now lighter in the left hand\" --mark 85",
		RunE: withJournal(&o.journalOptions, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			if len(args) == 0 || len(args) == 1 && !c.Flags().Changed("mark") {
				return misused(c, "say needs the number of a take, and words or --mark")
			}
			id, err := takeNumber(args[0])
			if err != nil {
				return err
			}
			w := journal.Words{Said: strings.Join(args[1:], " "), At: time.Now()}
			if c.Flags().Changed("mark") {
				w.Mark = &o.mark
			}
			if err := j.Say(ctx, id, w); err != nil {
				return err
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "kept beside take %d\n", id)
			return err
		}),
	}
	addJournal(c, &o.journalOptions)
	c.Flags().IntVar(&o.mark, "mark", 0, "the teacher's own `mark`, 0 to 100")
	return c
}

func newStrike() *cobra.Command {
	var o sayOptions
	var notes []int
	c := &cobra.Command{
		Use:   "strike TAKE [FINDING]",
		Short: "strike out a finding, or leave notes out by agreement",
		Long: `Strikes out a finding of a take by its number in "evenhand takes TAKE": that was
fine. With --notes the expected notes of these indices (see check --format json)
are left out by agreement: small hands, another edition, a cut. The marks
follow, and stay so when the take is marked again.`,
		Example: "  evenhand strike 1 1 --why \"that was fine\"\n  evenhand strike 1 --notes 5,6 --why \"small hands\"",
		RunE: withJournal(&o.journalOptions, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			if len(args) == 0 || len(args) > 2 || (len(args) == 2) == (len(notes) > 0) {
				return misused(c, "strike needs the number of a take, and that of a finding or --notes")
			}
			id, err := takeNumber(args[0])
			if err != nil {
				return err
			}
			if len(notes) > 0 {
				err = j.LeaveOut(ctx, id, notes, o.why, time.Now())
			} else {
				finding, e := strconv.Atoi(args[1])
				if e != nil {
					return usageError{errors.New("a finding has a number: see evenhand takes " + args[0])}
				}
				err = j.Strike(ctx, id, finding, o.why, time.Now())
			}
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "struck out of take %d; its marks follow\n", id)
			return err
		}),
	}
	addJournal(c, &o.journalOptions)
	c.Flags().StringVar(&o.why, "why", "", "`words` to remember")
	c.Flags().IntSliceVar(&notes, "notes", nil, "`indices` of expected notes")
	return c
}
