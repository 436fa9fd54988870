package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"
)

// Exit statuses.
const (
	statusDone  = 0 // every take was read and marked, whatever the marks
	statusFault = 1 // a take, a reference or a piano could not be read, or the results not written
	statusUsage = 2 // the command line is wrong
)

// usageError is a fault of the command line.
type usageError struct{ error }

// Unwrap gives the fault itself.
func (e usageError) Unwrap() error { return e.error }

// errTold is an error whose parts have been told already.
var errTold = errors.New("already told")

// run is the whole program: it reads in, writes results to out and everything else to errw, and
// returns the exit status.
func run(ctx context.Context, in io.Reader, out, errw io.Writer, args []string) int {
	results := newResults(out)
	root := newRoot()
	root.SetIn(in)
	root.SetOut(results)
	root.SetErr(errw)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	if err == nil {
		err = results.err
	}
	var usage usageError
	switch {
	case err == nil:
		return statusDone
	case errors.Is(err, errTold), readerGone(err):
		return statusFault
	case errors.As(err, &usage):
		say(errw, err)
		return statusUsage
	}
	say(errw, err)
	return statusFault
}

// say tells of an error in one line.
func say(errw io.Writer, err error) { fmt.Fprintf(errw, "evenhand: %s\n", plain(err.Error())) }

const rootHelp = `Evenhand listens to a digital piano. Ask for a scale, an arpeggio or an
exercise in a teacher's words; play it; and it says at once what was wrong, how
even and how steady it was, how loud against what was asked, and what to try
next.

Marks are for practice and are no official result. Stop when playing hurts, and
ask a teacher or a doctor.

Exit status: 0 when everything was read and marked, whatever the marks; 1 when a
take, a score or a piano could not be read, or the results could not be written;
2 when the command line is wrong.`

// more are the commands of builds with a tag.
var more []func() *cobra.Command

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "evenhand",
		Short:         "hear how a scale or arpeggio went",
		Long:          rootHelp,
		Example:       "  evenhand demo",
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          noArguments,
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.CompletionOptions.DisableDefaultCmd = true
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error { return misused(c, "%w", err) })
	root.AddCommand(
		newCheck(), newListen(), newAsk(), newPianos(), newDemo(), newRequest(), newEar(),
		newPupil(), newExport(), newImport(), newBackup(), newMarkAgain(), newProgress(), newPlan(),
		newSet(), newWeek(), newTakes(), newSay(), newStrike(), newTerms(), newList(),
		newExam(), newReport(), newHear(), newLoudness(), newServe(),
		newVersion(),
	)
	for _, command := range more {
		root.AddCommand(command())
	}
	root.SetHelpCommand(newHelp(root))
	return root
}

func newHelp(root *cobra.Command) *cobra.Command {
	return &cobra.Command{
		Use:     "help [COMMAND]",
		Short:   "tell about a command",
		Example: "  evenhand help check",
		RunE: func(c *cobra.Command, args []string) error {
			found, rest, err := root.Find(args)
			if err != nil || len(rest) > 0 {
				return misused(root, "no command %q", strings.Join(args, " "))
			}
			return found.Help()
		},
	}
}

// misused is a fault of the command line, with where to read more.
func misused(c *cobra.Command, format string, args ...any) error {
	return usageError{fmt.Errorf(format+" (see %s --help)", append(args, c.CommandPath())...)}
}

// noArguments is for commands that take none.
func noArguments(c *cobra.Command, args []string) error {
	switch {
	case len(args) == 0:
		return nil
	case c.HasParent():
		return misused(c, "%s takes nothing after it, but there is %q", c.Name(), args[0])
	}
	return misused(c, "no command %q", args[0])
}

// someArguments is for commands that need what.
func someArguments(what string) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if len(args) > 0 {
			return nil
		}
		return misused(c, "%s needs %s", c.Name(), what)
	}
}
