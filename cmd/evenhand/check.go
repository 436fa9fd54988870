package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"syscall"

	"github.com/spf13/cobra"

	"evenhand/capture"
	"evenhand/references"
	"evenhand/scoring"
)

type checkOptions struct {
	against string
	scores  []string
	format  string
	level   string
	choose  bool // the level was chosen
	keep    bool
	piano   string
	partOptions
	journalOptions
}

const checkHelp = `Reads each TAKE, a Standard MIDI File, and judges it against a request in words;
- is standard input. A take that "evenhand listen" kept carries its request and
the settings it was marked by: --against and --level may then be left out, and
it has the same marks on any day. Many takes are judged at once on all cores and
told in the order they were named.

Exit status: 0 when every take was read and marked, whatever the marks; 1 when
one could not be read (the others are still done); 2 when the command line is
wrong.`

func newCheck() *cobra.Command {
	var o checkOptions
	c := &cobra.Command{
		Use:   "check TAKE...",
		Short: "judge recorded takes against what was asked",
		Long:  checkHelp,
		Example: `  evenhand check monday.mid --against "B flat major scale, contrary, piano"
  evenhand check *.mid --against "D minor harmonic, right hand" --format json`,
		Args: someArguments("at least one take: name a MIDI file"),
		RunE: func(c *cobra.Command, takes []string) error {
			o.choose = c.Flags().Changed("level")
			return runCheck(c.Context(), c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr(), takes, o)
		},
	}
	c.Flags().StringVarP(&o.against, "against", "a", "", "what was asked, in `words`, or a score;\nelse what the take says")
	c.Flags().BoolVar(&o.keep, "keep", false, "keep the takes in the journal, with their marks")
	c.Flags().StringVarP(&o.piano, "piano", "p", "", "on the scale of this `piano`, by its name in\nevenhand loudness --list")
	addPart(c, &o.partOptions)
	addPupil(c, &o.journalOptions)
	addScores(c, &o.scores)
	addFormat(c, &o.format)
	addLevel(c, &o.level)
	return c
}

func addFormat(c *cobra.Command, format *string) {
	c.Flags().StringVarP(format, "format", "f", "text", "`text`, or json: one object a line")
}

func addLevel(c *cobra.Command, level *string) {
	c.Flags().StringVarP(level, "level", "l", string(scoring.Middle), "`whose` limits: first, middle or top")
}

// verdictWriter returns how an assessment is written in the format.
func verdictWriter(format string) (func(io.Writer, *scoring.Assessment) error, error) {
	switch format {
	case "text":
		return writeVerdict, nil
	case "json":
		return func(w io.Writer, a *scoring.Assessment) error { return a.EncodeJSON(w) }, nil
	}
	return nil, usageError{fmt.Errorf("no format %q: choose text or json", format)}
}

// passageWriter is verdictWriter for passages of free practice.
func passageWriter(format string) (func(io.Writer, *scoring.Assessment) error, error) {
	if format == "text" {
		return writePassage, nil
	}
	return verdictWriter(format)
}

func runCheck(ctx context.Context, in io.Reader, out, errw io.Writer, takes []string, o checkOptions) error {
	k := &checker{in: in, columns: columnsOf(out), choose: o.choose, scores: scoreFolders(o.scores)}
	var err error
	if k.write, err = verdictWriter(o.format); err != nil {
		return err
	}
	if k.settings, err = settingsFor(o.level); err != nil {
		return err
	}
	if o.piano != "" {
		known, err := openMeasured()
		if err != nil {
			return err
		}
		if k.piano, err = known.find(o.piano); err != nil {
			return usageError{err}
		}
	}
	if k.part, err = o.part(); err != nil {
		return err
	}
	if o.against != "" {
		if k.against, err = findPart(o.against, k.scores, k.part); err != nil {
			return unreadable(o.against, err)
		}
		for _, w := range k.against.warnings() {
			fmt.Fprintf(errw, "evenhand: %s\n", w)
		}
	}
	if o.keep {
		if k.journal, err = o.keeper(ctx, errw); err != nil {
			return err
		}
		defer k.journal.close()
	}
	between := ""
	check := func(path string) (verdict, error) { return k.check(ctx, path) }
	return eachInOrder(ctx, takes, check, func(v verdict, err error) error {
		if err != nil {
			say(errw, err)
			return nil
		}
		for _, w := range v.warnings {
			say(errw, w)
		}
		if o.format == "text" {
			v.text, between = append([]byte(between), v.text...), "\n"
		}
		_, err = out.Write(v.text)
		return err
	})
}

// checker judges takes.
type checker struct {
	in       io.Reader
	against  *asked // nil: what the take says
	part     references.Part
	piano    *measured // that it was played on, where that was said
	settings scoring.Settings
	scores   []string
	choose   bool // settings stand above those the take says
	write    func(io.Writer, *scoring.Assessment) error
	columns  int
	journal  *keeper
}

// verdict is what there is to tell of one take.
type verdict struct {
	text     []byte
	warnings []error
}

func (k *checker) check(ctx context.Context, path string) (v verdict, err error) {
	take, err := k.read(path)
	if err != nil {
		return v, err
	}
	against, settings := k.against, k.settings
	if against == nil {
		if against, err = keptRequest(take, path, k.scores); err != nil {
			return v, err
		}
		if against, err = against.cut(k.part); err != nil {
			return v, fmt.Errorf("%s: %w", path, err)
		}
	}
	if !k.choose {
		if settings, err = keptSettings(take, path, k.settings); err != nil {
			return v, err
		}
	}
	if k.piano != nil {
		settings.Calibration = &k.piano.Calibration
	}
	for _, w := range take.Warnings {
		v.warnings = append(v.warnings, fmt.Errorf("%s: %s", path, w))
	}
	a := against.judge(take, path, settings)
	if err := k.journal.keep(ctx, take, path, against.against, practised(take), a); err != nil {
		return v, err
	}
	var b bytes.Buffer
	err = k.write(&results{w: &b, columns: k.columns}, a)
	v.text = b.Bytes()
	return v, err
}

func (k *checker) read(path string) (*capture.Take, error) {
	if path == "-" {
		return capture.ReadSMF(k.in, "standard input")
	}
	return readTake(path)
}

// readTake reads a take from a file.
func readTake(path string) (*capture.Take, error) {
	take, err := capture.ReadFile(path)
	var missing syscall.Errno
	switch {
	case errors.As(err, &missing):
		return nil, fmt.Errorf("%s: %w; name a MIDI file that can be read", path, missing)
	case err != nil && cause(err) != err:
		return nil, fmt.Errorf("%s: %w", path, cause(err))
	}
	return take, err
}
