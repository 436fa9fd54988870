package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/capture"
	"evenhand/journal"
	"evenhand/scoring"
)

type againOptions struct {
	journalOptions
	all    bool
	every  bool
	jobs   int
	scores []string
}

func newMarkAgain() *cobra.Command {
	var o againOptions
	c := &cobra.Command{
		Use:   "mark-again --all",
		Short: "mark the takes in the journal again with this version",
		Long: `Marks all takes in the journal that this version has not marked, on all cores,
with the settings each was marked by before, and tells old and new marks side by
side where they differ. What was marked before, and all that the teacher said,
stays. Ended, it goes on where it stopped when it is run again. With a journal
on PostgreSQL as many machines as run it share the work, and each take is marked
once.`,
		Example: "  evenhand mark-again --all",
		Args:    noArguments,
		RunE: withJournal(&o.journalOptions, func(ctx context.Context, c *cobra.Command, j *journal.Journal, _ []string) error {
			if !o.all {
				return misused(c, "mark-again marks every take: say --all")
			}
			if o.jobs < 1 {
				return misused(c, "mark-again cannot have %d workers", o.jobs)
			}
			return runMarkAgain(ctx, c.OutOrStdout(), c.ErrOrStderr(), j, &o)
		}),
	}
	addJournal(c, &o.journalOptions)
	c.Flags().BoolVar(&o.all, "all", false, "mark all takes that this version has not marked")
	c.Flags().BoolVar(&o.every, "every", false, "tell of every take, not only those whose marks differ")
	c.Flags().IntVar(&o.jobs, "workers", runtime.GOMAXPROCS(0), "how `many` takes to mark at once")
	addScores(c, &o.scores)
	return c
}

func runMarkAgain(ctx context.Context, out, errw io.Writer, j *journal.Journal, o *againOptions) error {
	total, err := j.Unmarked(ctx, version)
	if err != nil {
		return err
	}
	scores := scoreFolders(o.scores)
	done, changed, failed := 0, 0, 0
	bar := newBar(errw, total)
	err = j.MarkAgain(ctx, version, o.jobs, func(t *journal.Take) (*scoring.Assessment, error) { return markTake(t, scores) }, func(a journal.Again) {
		done++
		bar.clear()
		switch {
		case a.Err != nil:
			failed++
			say(errw, fmt.Errorf("take %d: %w", a.Take, a.Err))
		case marksOf(a.Old) != marksOf(a.New):
			changed++
			fmt.Fprintf(out, "%6d  %s  ->  %s  %s\n", a.Take, marksOf(a.Old), marksOf(a.New), plain(a.Subject))
		case o.every:
			fmt.Fprintf(out, "%6d  %s   =  %s  %s\n", a.Take, marksOf(a.Old), marksOf(a.New), plain(a.Subject))
		}
		bar.draw(done)
	})
	bar.clear()
	if err != nil {
		return fmt.Errorf("%w; %d of %d takes are marked, the rest when you run it again", err, done, total)
	}
	_, err = fmt.Fprintf(out, "%s marked by version %s here, %s with other marks\n", counted(done-failed, "take", "takes"), version, counted(changed, "take", "takes"))
	if failed > 0 {
		return errors.Join(err, errTold)
	}
	return err
}

// markTake marks a take of the journal with the settings it was marked by.
func markTake(t *journal.Take, scores []string) (*scoring.Assessment, error) {
	take, err := capture.ReadSMF(bytes.NewReader(t.SMF), t.Outcome.Take)
	if err != nil {
		return nil, err
	}
	a, err := findAsked(t.Asked, scores)
	if err != nil {
		return nil, err
	}
	return a.judge(take, t.Outcome.Take, t.Outcome.Settings), nil
}

// marksOf are the marks in a row: notes, time, sound and overall.
func marksOf(a *scoring.Assessment) string {
	var b strings.Builder
	for _, m := range []*int{a.Marks.Notes, a.Marks.Time, a.Marks.Sound, a.Marks.Overall} {
		s := "-"
		if m != nil {
			s = strconv.Itoa(*m)
		}
		fmt.Fprintf(&b, "%4s", s)
	}
	return b.String()
}

// bar shows on a terminal how far a long task has come.
type bar struct {
	w     io.Writer
	total int
	shown int // percent
}

// newBar draws nothing where w is no terminal.
func newBar(w io.Writer, total int) *bar {
	if isTerminal(w) {
		return &bar{w, total, -1}
	}
	return &bar{}
}

func (b *bar) draw(done int) {
	if b.w == nil {
		return
	}
	b.shown = 100 * done / max(b.total, done, 1)
	fmt.Fprintf(b.w, "\r[%-40s] %d of %d", strings.Repeat("=", b.shown*40/100), done, b.total)
}

func (b *bar) clear() {
	if b.w != nil && b.shown >= 0 {
		fmt.Fprint(b.w, "\r\x1b[K")
	}
}
