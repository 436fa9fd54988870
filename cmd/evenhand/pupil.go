package main

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"evenhand/capture"
	"evenhand/journal"
)

func newPupil() *cobra.Command {
	c := &cobra.Command{
		Use:   "pupil",
		Short: "add, list, rename and remove pupils",
		Long: `Takes are kept by pupil. What is kept of a pupil is the pupil's own: "evenhand
export" gives all of it, "evenhand pupil remove" removes all of it.`,
		Example: "  evenhand pupil add Anna\n  evenhand pupil list",
		Args:    noArguments,
		RunE:    func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	c.AddCommand(newPupilAdd(), newPupilList(), newPupilRename(), newPupilRemove())
	return c
}

// names is for commands that need so many names.
func names(n int, what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) != n {
			return misused(c, "%s needs %s", c.Name(), what)
		}
		return nil
	}
}

// withJournal runs a command on the journal.
func withJournal(o *journalOptions, run func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error) func(*cobra.Command, []string) error {
	return func(c *cobra.Command, args []string) error {
		j, err := o.open(c.Context(), c.ErrOrStderr())
		if err != nil {
			return err
		}
		defer j.Close()
		return run(c.Context(), c, j, args)
	}
}

func newPupilAdd() *cobra.Command {
	var o journalOptions
	c := &cobra.Command{
		Use:     "add NAME",
		Short:   "add a pupil, whose takes are kept from now on",
		Example: "  evenhand pupil add Anna",
		Args:    names(1, "one name; put quotes round a name with spaces"),
		RunE: withJournal(&o, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			if err := j.Add(ctx, args[0], time.Now()); err != nil {
				return err
			}
			_, err := fmt.Fprintf(c.OutOrStdout(), "%s is added, and the pupil from now on\n", plain(args[0]))
			return errors.Join(err, usePupil(args[0]))
		}),
	}
	addJournal(c, &o)
	return c
}

func newPupilList() *cobra.Command {
	var o journalOptions
	c := &cobra.Command{
		Use:     "list",
		Short:   "list the pupils; * is the last one used",
		Example: "  evenhand pupil list",
		Args:    noArguments,
		RunE: withJournal(&o, func(ctx context.Context, c *cobra.Command, j *journal.Journal, _ []string) error {
			pupils, err := j.Pupils(ctx)
			if err != nil {
				return err
			}
			var b strings.Builder
			for _, p := range pupils {
				used, last := " ", "nothing yet"
				if p.Name == lastPupil() {
					used = "*"
				}
				if p.Takes > 0 {
					last = fmt.Sprintf("%s, %s, last on %s", counted(p.Takes, "take", "takes"), minutes(p.Practised), p.Last.Local().Format("2 January 2006"))
				}
				fmt.Fprintf(&b, "%s %s: %s\n", used, plain(p.Name), last)
			}
			_, err = io.WriteString(c.OutOrStdout(), b.String())
			return err
		}),
	}
	addJournal(c, &o)
	return c
}

// minutes is a length of practice in words.
func minutes(d time.Duration) string {
	switch {
	case d == 0:
		return "none"
	case d < time.Minute:
		return "under a minute"
	case d < 2*time.Hour:
		return counted(int(d.Minutes()+0.5), "minute", "minutes")
	}
	return fmt.Sprintf("%.1f hours", d.Hours())
}

func newPupilRename() *cobra.Command {
	var o journalOptions
	c := &cobra.Command{
		Use:     "rename OLD NEW",
		Short:   "give a pupil another name",
		Example: "  evenhand pupil rename me Anna",
		Args:    names(2, "the old name and the new one"),
		RunE: withJournal(&o, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			if err := j.Rename(ctx, args[0], args[1]); err != nil {
				return err
			}
			if lastPupil() == args[0] {
				if err := usePupil(args[1]); err != nil {
					return err
				}
			}
			_, err := fmt.Fprintf(c.OutOrStdout(), "%s is called %s from now on\n", plain(args[0]), plain(args[1]))
			return err
		}),
	}
	addJournal(c, &o)
	return c
}

type removeOptions struct {
	journalOptions
	yes  bool
	keep string
}

func newPupilRemove() *cobra.Command {
	var o removeOptions
	c := &cobra.Command{
		Use:   "remove NAME",
		Short: "remove every trace of a pupil",
		Long: `Removes a pupil and all that is kept of one: takes, marks, words of the teacher
and tasks in the journal, and the files of the takes in the folder of takes. It
asks twice, and says what went. Backups, exports and files that were copied
elsewhere are not touched: remove them by hand.`,
		Example: "  evenhand pupil remove Anna",
		Args:    names(1, "one name"),
		RunE: withJournal(&o.journalOptions, func(ctx context.Context, c *cobra.Command, j *journal.Journal, args []string) error {
			return runRemove(ctx, c, j, args[0], o)
		}),
	}
	addJournal(c, &o.journalOptions)
	c.Flags().BoolVar(&o.yes, "yes", false, "do not ask")
	c.Flags().StringVar(&o.keep, "keep", "", "`folder` that takes were kept in\n(default $XDG_DATA_HOME/evenhand/takes)")
	return c
}

func runRemove(ctx context.Context, c *cobra.Command, j *journal.Journal, name string, o removeOptions) error {
	pupils, err := j.Pupils(ctx)
	if err != nil {
		return err
	}
	i := slices.IndexFunc(pupils, func(p journal.Pupil) bool { return p.Name == name })
	if i < 0 {
		return fmt.Errorf("no pupil %q: there is %s", name, namesOf(pupils))
	}
	if !o.yes {
		ask := bufio.NewReader(c.InOrStdin())
		for _, question := range []string{
			fmt.Sprintf("Remove %s with %s? This cannot be undone. Type yes: ", plain(name), counted(pupils[i].Takes, "take", "takes")),
			"Really remove all of it? Type yes once more: ",
		} {
			fmt.Fprint(c.OutOrStdout(), question)
			answer, _ := ask.ReadString('\n')
			if strings.TrimSpace(answer) != "yes" {
				return errors.New("nothing was removed")
			}
		}
	}
	gone, err := j.Remove(ctx, name)
	if err != nil {
		return err
	}
	files, err := removeTakes(o.keep, gone.Digests)
	if waiting, e := waitingFolder(); e == nil {
		n, e := journal.Forget(waiting, name)
		files, err = files+n, errors.Join(err, e)
	}
	if lastPupil() == name {
		path, e := lastPupilFile()
		err = errors.Join(err, e, os.Remove(path))
	}
	_, e := fmt.Fprintf(c.OutOrStdout(), "gone: %s, %s, %s of the teacher, %s, %s set, %s, %s\n",
		counted(gone.Takes, "take", "takes"), counted(gone.Assessments, "assessment", "assessments"), counted(gone.Words, "remark", "remarks"),
		counted(gone.Amendments, "finding or note struck out", "findings or notes struck out"), counted(gone.Tasks, "task", "tasks"), counted(gone.Sittings, "mock exam", "mock exams"), counted(files, "file", "files"))
	return errors.Join(err, e)
}

// removeTakes removes the files in the folder of takes whose bytes have one of the digests.
func removeTakes(folder string, digests []string) (int, error) {
	dir, err := takesFolder(folder)
	if err != nil {
		return 0, err
	}
	files, err := filepath.Glob(filepath.Join(globQuoted(dir), "*"+capture.TakeEnding))
	if err != nil {
		return 0, err
	}
	n := 0
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			return n, err
		}
		sum := sha256.Sum256(b)
		if !slices.Contains(digests, hex.EncodeToString(sum[:])) {
			continue
		}
		if err := os.Remove(f); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}

// globQuoted is a path of which no character is a pattern.
func globQuoted(path string) string {
	return strings.NewReplacer(`\`, `\\`, "*", `\*`, "?", `\?`, "[", `\[`).Replace(path)
}
