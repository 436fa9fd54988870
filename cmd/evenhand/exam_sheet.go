package main

import (
	"context"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/exam"
	"evenhand/journal"
)

func newExamSheet() *cobra.Command {
	var o sitOptions
	var format string
	c := &cobra.Command{
		Use:   "sheet [NUMBER]",
		Short: "print the mark sheet of an exam",
		Long: `Prints the mark sheet of an exam as it stands: the last one of the pupil, or
that of a NUMBER in "evenhand exam list". Marks and words of the teacher are
given in the exam itself: "evenhand exam resume NUMBER" opens it again. It is
for practice and gives no official result.`,
		Example: "  evenhand exam sheet --pupil Anna\n  evenhand exam sheet --format json",
		RunE: withJournal(&o.journalOptions, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			if len(args) > 1 {
				return misused(c, "sheet prints one at a time")
			}
			at, err := o.kept(ctx, j, args)
			if err != nil {
				return err
			}
			sheet := sheetOf(at.sitting, at.pupil)
			switch format {
			case "json":
				return writeJSON(c.OutOrStdout(), sheet)
			case "text":
				return sheet.WriteText(c.OutOrStdout(), columnsOf(c.OutOrStdout()))
			}
			return usageError{fmt.Errorf("no format %q: choose text or json", format)}
		}),
	}
	addPupil(c, &o.journalOptions)
	addFormat(c, &format)
	return c
}

// sheetOf is the mark sheet of a sitting as it stands.
func sheetOf(s *exam.Sitting, pupil string) *exam.MarkSheet {
	sheet := exam.Mark(s.Paper, s.Evidence())
	sheet.Pupil, sheet.Date = pupil, s.Opened.Local().Format("2 January 2006")
	if s.Signed != "" {
		sheet.Notes = append(sheet.Notes, "Signed: "+s.Signed+".")
	}
	return sheet
}

// sheetLines is the mark sheet for the page.
func (x *hall) sheetLines() []string {
	var b strings.Builder
	if err := sheetOf(x.sitting, x.pupil).WriteText(&b, usualColumns); err != nil {
		return []string{err.Error()}
	}
	return strings.Split(strings.TrimRight(b.String(), "\n"), "\n")
}
