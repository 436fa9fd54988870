package main

import (
	"context"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/references"
	"evenhand/scoring"
)

type demoOptions struct {
	seed   uint64
	atOnce bool
	keep   string
	format string
}

// simulated is the name of the pupil, and of a take that is not kept.
const simulated = "simulated pupil"

const demoRequest = "B flat major scale, hands together, contrary motion, piano"

func newDemo() *cobra.Command {
	var o demoOptions
	c := &cobra.Command{
		Use:   "demo [WHAT...]",
		Short: "hear a simulated pupil play, and judge it",
		Long: `Needs no piano: a simulated pupil plays WHAT in real time, with two wrong notes,
one brushed key and a wait, all from the seed, through the same path as a piano.
Another seed plays it another way.`,
		Example: `  evenhand demo
  evenhand demo "G minor harmonic, right hand" --seed 7 --at-once`,
		RunE: func(c *cobra.Command, words []string) error {
			what := strings.Join(words, " ")
			if what == "" {
				what = demoRequest
			}
			return runDemo(c.Context(), c.OutOrStdout(), c.ErrOrStderr(), what, o)
		},
	}
	c.Flags().Uint64Var(&o.seed, "seed", 1, "`number` that the pupil's playing is drawn from")
	c.Flags().BoolVar(&o.atOnce, "at-once", false, "do not wait for the music")
	c.Flags().StringVar(&o.keep, "keep", "", "`folder` to keep the take in (default: it is not kept)")
	addFormat(c, &o.format)
	return c
}

func runDemo(ctx context.Context, out, errw io.Writer, words string, o demoOptions) error {
	write, err := verdictWriter(o.format)
	if err != nil {
		return err
	}
	what, err := findAsked(words, scoreFolders(nil))
	if err != nil {
		return unreadable(words, err)
	}
	keep := o.keep
	if keep == "" {
		if keep, err = os.MkdirTemp("", "evenhand-demo-"); err != nil {
			return fmt.Errorf("no folder for the take: %w; name one with --keep", cause(err))
		}
		defer os.RemoveAll(keep)
	} else if err := writable(keep); err != nil {
		return err
	}
	show := out
	if o.format == "json" {
		show = io.Discard
	}
	settings := scoring.DefaultSettings()
	src := openTake(ctx, demoTake(what.candidates[0], o.seed), simulated, !o.atOnce)
	defer src.close()
	h := &hearing{asked: what, settings: settings, keep: keep, show: show, errw: errw}
	h.prompt("A simulated pupil plays.")
	take, path, err := h.hear(ctx, src)
	if err != nil {
		return err
	}
	if o.keep == "" {
		path = simulated
	}
	fmt.Fprintln(show)
	return write(out, what.judge(take, path, settings))
}

// demoTake has the pupil play with a few ordinary faults.
func demoTake(ref *references.Reference, seed uint64) *capture.Take {
	p := pupil.Pupil{Seed: seed, Faults: []pupil.Fault{
		{Kind: pupil.SemitoneOff, At: pupil.Anywhere},
		{Kind: pupil.LetterOff, At: pupil.Anywhere},
		{Kind: pupil.GrazedKey, At: pupil.Anywhere},
		{Kind: pupil.Wait, At: pupil.Anywhere},
	}}
	take, _ := pupil.Play(ref, p)
	return take
}
