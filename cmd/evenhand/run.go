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
	statusFault = 1 // a take, a reference or a piano could not be read
	statusUsage = 2 // the command line is wrong
)

// usageError is a fault of the command line.
type usageError struct{ error }

func (e usageError) Unwrap() error { return e.error }

// faults is an error whose parts have been told already.
var errTold = errors.New("already told")

// run is the whole program: it reads in, writes results to out and everything else to errw, and
// returns the exit status.
func run(ctx context.Context, in io.Reader, out, errw io.Writer, args []string) int {
	root := newRoot()
	root.SetIn(in)
	root.SetOut(out)
	root.SetErr(errw)
	root.SetArgs(args)
	err := root.ExecuteContext(ctx)
	switch {
	case err == nil:
		return statusDone
	case errors.Is(err, errTold):
		return statusFault
	}
	fmt.Fprintf(errw, "evenhand: %s\n", oneLine(err))
	var usage usageError
	if errors.As(err, &usage) || isCobraUsage(err) {
		return statusUsage
	}
	return statusFault
}

// isCobraUsage recognises the command library's own complaints, which have no type: they are made
// before any command of ours runs.
func isCobraUsage(err error) bool {
	return strings.HasPrefix(err.Error(), "unknown command") || strings.HasPrefix(err.Error(), "required flag")
}

func oneLine(err error) string {
	return strings.Join(strings.Fields(err.Error()), " ")
}

const rootHelp = `Evenhand listens to a digital piano. Ask for a scale, an arpeggio or an exercise in a teacher's
words; play it; and it says at once what was wrong, how even and how steady it was, how loud against
what was asked, and what to try next.

Marks are for practice and are no official result. Stop when playing hurts, and ask a teacher or a
doctor.

Exit status: 0 when everything was read and marked, whatever the marks; 1 when a take, a score or a
piano could not be read; 2 when the command line is wrong.`

func newRoot() *cobra.Command {
	root := &cobra.Command{
		Use:           "evenhand",
		Short:         "hear how a scale or arpeggio went",
		Long:          rootHelp,
		SilenceErrors: true,
		SilenceUsage:  true,
		Args:          usageArgs(cobra.NoArgs),
		RunE:          func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.CompletionOptions.HiddenDefaultCmd = true
	root.SetFlagErrorFunc(func(c *cobra.Command, err error) error {
		return usageError{fmt.Errorf("%w (see %s --help)", err, c.CommandPath())}
	})
	root.AddCommand(newCheck(), newListen(), newPianos(), newDemo(), newRequest(), newVersion())
	return root
}

// usageArgs makes a complaint about arguments a usage error.
func usageArgs(check cobra.PositionalArgs) cobra.PositionalArgs {
	return func(c *cobra.Command, args []string) error {
		if err := check(c, args); err != nil {
			return usageError{fmt.Errorf("%w (see %s --help)", err, c.CommandPath())}
		}
		return nil
	}
}
