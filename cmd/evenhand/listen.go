package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/capture"
)

type listenOptions struct {
	piano     string
	fromBytes string
	fromTake  string
	keep      string
	format    string
	level     string
	times     int
}

const listenHelp = `Listens to the piano until WHAT has been played, shows each note as it is judged, notices the end by
itself and tells how it went. The take is kept as a Standard MIDI File, with what was asked, before
anything is told.

Without WHAT it listens to free practice, and names and judges each scale and arpeggio in it.

Take a rest now and then. Stop when playing hurts, and ask a teacher or a doctor.

Exit status: 0 when the take was heard and marked, whatever the marks; 1 when no piano or no note was
heard; 2 when the command line is wrong.`

func newListen() *cobra.Command {
	var o listenOptions
	c := &cobra.Command{
		Use:   "listen [WHAT...]",
		Short: "listen to the piano and judge what is played",
		Long:  listenHelp,
		Example: `  evenhand listen B flat major scale, hands together, contrary motion, piano
  evenhand listen "G minor arpeggio, right hand" --piano 2
  evenhand listen --from-bytes /dev/snd/midiC1D0 "D major scale"
  evenhand listen`,
		RunE: func(c *cobra.Command, words []string) error {
			return runListen(c.Context(), c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr(), strings.Join(words, " "), o)
		},
	}
	c.Flags().StringVarP(&o.piano, "piano", "p", "", "the input to listen to, by number or part of its name")
	c.Flags().StringVar(&o.fromBytes, "from-bytes", "", "listen to raw MIDI bytes from a file, a pipe or a device node; - is standard input")
	c.Flags().StringVar(&o.fromTake, "from-take", "", "listen to a recorded take as if it were played now, at once")
	c.Flags().StringVar(&o.keep, "keep", "", "folder to keep takes in (default $XDG_DATA_HOME/evenhand/takes)")
	c.Flags().IntVarP(&o.times, "times", "n", 1, "how many takes to hear; 0 goes on until interrupted")
	addFormat(c, &o.format)
	addLevel(c, &o.level)
	c.MarkFlagsMutuallyExclusive("piano", "from-bytes", "from-take")
	return c
}

func runListen(ctx context.Context, in io.Reader, out, errw io.Writer, words string, o listenOptions) error {
	write, err := verdictWriter(o.format)
	if err != nil {
		return err
	}
	settings, err := settingsFor(o.level)
	if err != nil {
		return err
	}
	var what *asked
	if words != "" {
		if what, err = parseAsked(words); err != nil {
			return usageError{err}
		}
	}
	keep, err := takesFolder(o.keep)
	if err != nil {
		return err
	}
	recoverTakes(errw, keep)
	src, err := openSource(ctx, in, o)
	if err != nil {
		return err
	}
	defer src.close()
	show := out
	if o.format == "json" {
		show = io.Discard
	}
	if what == nil {
		return practise(ctx, src, &hearing{settings: settings, keep: keep, show: show, errw: errw}, out, write)
	}
	h := &hearing{asked: what, settings: settings, keep: keep, show: show, errw: errw}
	for n := 0; o.times == 0 || n < o.times; n++ {
		fmt.Fprintf(show, "%s\n%s\nPlay when you are ready.\n", what.request.Spoken(), legend)
		take, path, err := h.hear(ctx, src)
		if err != nil {
			if n > 0 && errors.Is(err, errNothing) {
				return nil
			}
			return err
		}
		fmt.Fprintln(show)
		if err := write(out, what.judge(take, path, settings)); err != nil {
			return err
		}
		if ctx.Err() != nil {
			return nil
		}
	}
	return nil
}

func openSource(ctx context.Context, in io.Reader, o listenOptions) (*source, error) {
	switch {
	case o.fromBytes != "":
		return openBytes(ctx, o.fromBytes, in)
	case o.fromTake != "":
		take, err := capture.ReadFile(o.fromTake)
		if err != nil {
			return nil, err
		}
		return openTake(ctx, take, o.fromTake, false), nil
	}
	return openPiano(o.piano)
}

// takesFolder is where takes are kept: the folder asked for, else the one that the XDG base
// directory specification gives to a user's data.
func takesFolder(asked string) (string, error) {
	if asked != "" {
		return asked, nil
	}
	data := os.Getenv("XDG_DATA_HOME")
	if data == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			return "", fmt.Errorf("no folder to keep takes in: %w; name one with --keep", err)
		}
		data = filepath.Join(home, ".local", "share")
	}
	return filepath.Join(data, "evenhand", "takes"), nil
}

// recoverTakes makes takes of recordings that were cut off, and says so.
func recoverTakes(errw io.Writer, dir string) {
	found, err := capture.Recover(dir)
	if err != nil {
		fmt.Fprintf(errw, "evenhand: %s\n", oneLine(err))
	}
	for _, r := range found {
		switch {
		case r.Err != nil:
			fmt.Fprintf(errw, "evenhand: %s\n", oneLine(r.Err))
		case r.Text != "":
			fmt.Fprintf(errw, "evenhand: %s\n", r.Text)
		}
	}
}

