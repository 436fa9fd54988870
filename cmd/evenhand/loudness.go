package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"github.com/spf13/cobra"
)

type loudnessOptions struct {
	listenOptions
	list   bool
	forget string
}

const loudnessHelp = `Measures this piano: it asks for five notes softly, five middling and five
strongly, by ear, then for five joined ones, and keeps what it heard by the name
of the piano. From then on "listen", "ask" and exams judge loudness and legato
on it by that, and store it with each take; so does "check --piano NAME".

A piano that was never measured is judged by common steps of 16 (p 49, mp 64, mf
80, f 96), and too soft or too loud only from two steps off: every piano has its
own touch. One that sends the same for every key is told so: its loudness is
left out of the marks.

Exit status: 0 when the piano was measured; 1 when there is none, or what was
heard could not be used; 2 when the command line is wrong.`

func newLoudness() *cobra.Command {
	var o loudnessOptions
	c := &cobra.Command{
		Use:   "loudness",
		Short: "measure how soft and how loud this piano is",
		Long:  loudnessHelp,
		Example: `  evenhand loudness
  evenhand loudness --list`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			switch {
			case o.list:
				return listMeasured(c.OutOrStdout())
			case o.forget != "":
				return forgetMeasured(c.OutOrStdout(), o.forget)
			}
			return runLoudness(c.Context(), c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr(), o.listenOptions)
		},
	}
	addInputs(c, &o.listenOptions)
	c.Flags().BoolVar(&o.list, "list", false, "tell what is known of the pianos")
	c.Flags().StringVar(&o.forget, "forget", "", "forget the `piano` of this name")
	return c
}

func runLoudness(ctx context.Context, in io.Reader, out, errw io.Writer, o listenOptions) error {
	known, err := openMeasured()
	if err != nil {
		return err
	}
	src, err := openSource(ctx, in, o)
	if err != nil {
		return err
	}
	defer src.close()
	if src.notice != "" {
		say(errw, errors.New(src.notice))
	}
	m := newMeasuring(func(format string, args ...any) { fmt.Fprintf(out, format, args...) })
	err = src.each(ctx, func(e event) error {
		if e.message == nil {
			src.connected(e)
			say(errw, errors.New(e.said))
			return nil
		}
		m.take(*e.message)
		return nil
	}, func(time.Duration) (bool, error) { return m.done(), nil })
	switch {
	case err != nil || m.fault != nil:
		return errors.Join(err, m.fault)
	case !m.done():
		return errors.New("ended before the piano was measured: nothing is kept")
	}
	learnt := m.result(src.name)
	learnt.Measured = time.Now().UTC().Truncate(time.Second)
	if err := known.keep(learnt); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "Kept for %s.\n", &learnt)
	return err
}

func listMeasured(out io.Writer) error {
	known, err := openMeasured()
	if err != nil {
		return err
	}
	if len(known.all) == 0 {
		fmt.Fprintln(out, "No piano was measured yet: evenhand loudness does it.")
	}
	for i := range known.all {
		fmt.Fprintf(out, "%s; measured on %s\n", &known.all[i], known.all[i].Measured.Local().Format("2 January 2006"))
	}
	_, err = fmt.Fprintln(out, "Others: common steps, p 49, mp 64, mf 80, f 96.")
	return err
}

func forgetMeasured(out io.Writer, name string) error {
	known, err := openMeasured()
	if err != nil {
		return err
	}
	p, err := known.find(name)
	if err != nil {
		return err
	}
	name = p.Piano
	if err := known.forget(name); err != nil {
		return err
	}
	_, err = fmt.Fprintf(out, "%s is forgotten.\n", plain(name))
	return err
}
