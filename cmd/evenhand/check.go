package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"runtime"
	"sync"

	"github.com/spf13/cobra"

	"evenhand/capture"
	"evenhand/scoring"
)

type checkOptions struct {
	against string
	format  string
	level   string
}

func newCheck() *cobra.Command {
	var o checkOptions
	c := &cobra.Command{
		Use:   "check TAKE...",
		Short: "judge recorded takes against what was asked",
		Long: `Reads each TAKE, a Standard MIDI File, and judges it against a request in words. A take that
"evenhand listen" kept carries its request; --against may then be left out. Many takes are judged at
once on all cores and told in the order they were named.

Exit status: 0 when every take was read and marked, whatever the marks; 1 when one could not be read
(the others are still done); 2 when the command line is wrong.`,
		Example: `  evenhand check monday.mid --against "B flat major scale, hands together, contrary motion, piano"
  evenhand check *.mid --against "D minor harmonic, right hand" --format json`,
		Args: usageArgs(cobra.MinimumNArgs(1)),
		RunE: func(c *cobra.Command, takes []string) error {
			return runCheck(c.Context(), c.OutOrStdout(), c.ErrOrStderr(), takes, o)
		},
	}
	c.Flags().StringVarP(&o.against, "against", "a", "", "what was asked, in words")
	addFormat(c, &o.format)
	addLevel(c, &o.level)
	return c
}

func addFormat(c *cobra.Command, format *string) {
	c.Flags().StringVarP(format, "format", "f", "text", "text for people, or json: one object a take, one a line")
}

func addLevel(c *cobra.Command, level *string) {
	c.Flags().StringVarP(level, "level", "l", string(scoring.Middle), "limits for the first, middle or top levels")
}

// verdictWriter returns how an assessment is written in the format.
func verdictWriter(format string) (func(io.Writer, *scoring.Assessment) error, error) {
	switch format {
	case "text":
		return func(w io.Writer, a *scoring.Assessment) error { return writeVerdict(w, a) }, nil
	case "json":
		return func(w io.Writer, a *scoring.Assessment) error { return a.EncodeJSON(w) }, nil
	}
	return nil, usageError{fmt.Errorf("no format %q: choose text or json", format)}
}

func runCheck(ctx context.Context, out, errw io.Writer, takes []string, o checkOptions) error {
	write, err := verdictWriter(o.format)
	if err != nil {
		return err
	}
	settings, err := settingsFor(o.level)
	if err != nil {
		return err
	}
	var against *asked
	if o.against != "" {
		if against, err = parseAsked(o.against); err != nil {
			return usageError{err}
		}
	}
	one := func(path string) (text, said []byte, err error) {
		var b, notes bytes.Buffer
		take, err := capture.ReadFile(path)
		if err != nil {
			return nil, nil, err
		}
		a, err := askedOf(take, against, path)
		if err != nil {
			return nil, nil, err
		}
		for _, w := range take.Warnings {
			fmt.Fprintf(&notes, "evenhand: %s: %s\n", path, w)
		}
		err = write(&b, a.judge(take, path, settings))
		return b.Bytes(), notes.Bytes(), err
	}
	return eachInOrder(ctx, takes, one, func(i int, text, said []byte, err error) error {
		if err != nil {
			fmt.Fprintf(errw, "evenhand: %s\n", oneLine(err))
			return nil
		}
		if i > 0 && o.format == "text" {
			fmt.Fprintln(out)
		}
		if _, err := errw.Write(said); err != nil {
			return err
		}
		_, err = out.Write(text)
		return err
	})
}

// askedOf is what the take is judged against: what the command line says, or else what was asked
// when it was recorded.
func askedOf(take *capture.Take, against *asked, path string) (*asked, error) {
	if against != nil {
		return against, nil
	}
	words, ok := take.Facts[factRequest]
	if !ok {
		return nil, fmt.Errorf("%s: the take does not say what was asked; say it with --against \"B flat major scale\"", path)
	}
	a, err := parseAsked(words)
	if err != nil {
		return nil, fmt.Errorf("%s: the request kept with the take cannot be read: %w; say it with --against", path, err)
	}
	return a, nil
}

// eachInOrder works on the files on all cores and hands over the results in the order of the files.
// Only a few results are ever held back, so memory does not grow with the number of files. Where
// some failed, the error is errTold: tell has told them.
func eachInOrder(ctx context.Context, files []string, work func(string) (text, said []byte, err error), tell func(i int, text, said []byte, err error) error) error {
	type result struct {
		text, said []byte
		err        error
	}
	workers := min(runtime.GOMAXPROCS(0), len(files))
	slots := make([]chan result, len(files))
	ahead := make(chan struct{}, 4*workers) // results begun and not yet told
	next := make(chan int)
	var wg sync.WaitGroup
	ctx, cancel := context.WithCancel(ctx)
	defer wg.Wait()
	defer cancel()
	for i := range slots {
		slots[i] = make(chan result, 1)
	}
	for range workers {
		wg.Go(func() {
			for i := range next {
				text, said, err := work(files[i])
				slots[i] <- result{text, said, err}
			}
		})
	}
	go func() {
		defer close(next)
		for i := range files {
			select {
			case ahead <- struct{}{}:
			case <-ctx.Done():
				return
			}
			next <- i
		}
	}()
	failed := false
	for i := range files {
		select {
		case r := <-slots[i]:
			failed = failed || r.err != nil
			if err := tell(i, r.text, r.said, r.err); err != nil {
				return err
			}
			<-ahead
		case <-ctx.Done():
			return errors.New("stopped")
		}
	}
	if failed {
		return errTold
	}
	return nil
}
