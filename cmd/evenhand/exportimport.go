package main

import (
	"context"
	"fmt"

	"github.com/spf13/cobra"

	"evenhand/journal"
)

func newExport() *cobra.Command {
	var o journalOptions
	c := &cobra.Command{
		Use:   "export FOLDER",
		Short: "write all that is kept of a pupil into a new folder",
		Long: `Writes all that is kept of a pupil into a new folder: journal.jsonl, one JSON
object a line; takes/, each take as a Standard MIDI File; and takes.csv, the
marks and measures for a spreadsheet. "evenhand import" reads it back.`,
		Example: "  evenhand export anna-2026 --pupil Anna",
		Args:    names(1, "the name of a new folder"),
		RunE: withJournal(&o, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			pupil, err := o.chosen(ctx, j)
			if err != nil {
				return err
			}
			if err := j.Export(ctx, pupil, args[0]); err != nil {
				return err
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "%s is in %s\n", plain(pupil), plain(args[0]))
			return err
		}),
	}
	addPupil(c, &o)
	return c
}

func newImport() *cobra.Command {
	var o journalOptions
	c := &cobra.Command{
		Use:   "import FOLDER",
		Short: "read an exported pupil into the journal",
		Long: `Reads what "evenhand export" wrote into the journal: all of it, or nothing where
something is wrong with it. The pupil is added if there is none of the name;
--pupil gives another name. What is there already is not stored twice.`,
		Example: "  evenhand import anna-2026",
		Args:    names(1, "the folder of an export"),
		RunE: withJournal(&o, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			n, err := j.Import(ctx, o.pupil, args[0])
			if err != nil {
				return err
			}
			_, err = fmt.Fprintf(c.OutOrStdout(), "%s read in\n", counted(n, "take", "takes"))
			return err
		}),
	}
	addPupil(c, &o)
	return c
}

func newBackup() *cobra.Command {
	var o journalOptions
	c := &cobra.Command{
		Use:   "backup FILE",
		Short: "write the whole journal into a new file",
		Long: `Writes the whole journal, of all pupils, into a new file, while it may be in
use. The file is a journal itself: open it with --journal FILE, or put it in the
place of a damaged one. A journal on PostgreSQL is backed up into such a file
too.`,
		Example: "  evenhand backup sunday.db",
		Args:    names(1, "the name of a new file"),
		RunE: withJournal(&o, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			if err := j.Backup(ctx, args[0]); err != nil {
				return err
			}
			_, err := fmt.Fprintf(c.OutOrStdout(), "%s is in %s\n", plain(j.Name()), plain(args[0]))
			return err
		}),
	}
	addJournal(c, &o)
	return c
}
