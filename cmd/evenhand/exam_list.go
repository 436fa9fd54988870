package main

import (
	"context"
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/exam"
	"evenhand/journal"
)

func newExamList() *cobra.Command {
	var o journalOptions
	c := &cobra.Command{
		Use:     "list",
		Short:   "list the exams of a pupil",
		Example: "  evenhand exam list --pupil Anna",
		Args:    noArguments,
		RunE: withJournal(&o, func(ctx context.Context, c *cobra.Command, j *journal.Journal, _ []string) error {
			pupil, err := o.chosen(ctx, j)
			if err != nil {
				return err
			}
			all, err := j.Sittings(ctx, pupil)
			if err != nil {
				return err
			}
			var b strings.Builder
			for _, s := range all {
				state, err := howFar(ctx, j, s.ID)
				if err != nil {
					return err
				}
				fmt.Fprintf(&b, "%4d  %s  %s: %s\n", s.ID, s.Opened.Local().Format("2006-01-02 15:04"), plain(s.Title), state)
			}
			if len(all) == 0 {
				fmt.Fprintf(&b, "%s has sat no exam yet.\n", plain(pupil))
			}
			_, err = io.WriteString(c.OutOrStdout(), b.String())
			return err
		}),
	}
	addPupil(c, &o)
	return c
}

// howFar says where an exam has come to, or why it cannot be taken up. The error is the journal's.
func howFar(ctx context.Context, j *journal.Journal, id int64) (string, error) {
	kept, err := j.Sitting(ctx, id)
	if err != nil {
		return "", err
	}
	s, err := exam.Replay(kept.Events)
	switch {
	case err != nil:
		return plain(err.Error()), nil
	case s.Signed != "":
		return "signed by " + plain(s.Signed), nil
	case s.Phase == exam.Ended:
		return "finished, to be signed", nil
	}
	return fmt.Sprintf("at part %d of %d", s.At+1, len(s.Parts)), nil
}

// sittingNumber reads the number of an exam.
func sittingNumber(s string) (int64, error) {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil {
		return 0, usageError{fmt.Errorf("%q is no number of an exam: see evenhand exam list", s)}
	}
	return n, nil
}
