package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"evenhand/exam/ear"
	"evenhand/references/musicxml"
)

type earOptions struct {
	level  int
	seed   uint64
	wav    string
	midi   string
	score  string
	answer bool
}

const earHelp = `Makes an ear test, by lot, of one KIND:

  beat        tap the beat of a melody
  interval    name the interval of two notes
  chord       name a chord
  change      find the one change in a melody
  echo        play back a short phrase
  cadence     name the cadence of a phrase of chords (from level 5)
  modulation  name the key a phrase of chords goes to (from level 6)

--wav and --midi write its sound into a new file, all hearings one after
another; --score writes the notes of a melody. The same kind, level and seed are
the same test again, so that the answer can be asked for later with --answer.
What is asked at which level is a choice of ours, and no examination's.

Exit status: 0 when it was made; 1 when a file could not be written; 2 when the
command line is wrong.`

func newEar() *cobra.Command {
	var o earOptions
	c := &cobra.Command{
		Use:   "ear KIND",
		Short: "make an ear test: what is asked, its sound, its answer",
		Long:  earHelp,
		Example: `  evenhand ear interval --level 4
  evenhand ear change --level 2 --seed 7 --wav change.wav
  evenhand ear change --level 2 --seed 7 --answer`,
		Args: names(1, "one kind of test, such as interval"),
		RunE: func(c *cobra.Command, args []string) error {
			kind := ear.Kind(strings.ToLower(args[0]))
			if !c.Flags().Changed("level") {
				o.level = max(usualEarLevel, kind.From())
			}
			if !c.Flags().Changed("seed") {
				o.seed = uint64(rand.Uint32()) // short enough to be copied by hand
			}
			if err := kind.Check(o.level); err != nil {
				return usageError{err}
			}
			return o.run(c.OutOrStdout(), ear.Draw(kind, o.level, o.seed))
		},
	}
	c.Flags().IntVarP(&o.level, "level", "l", usualEarLevel, "`number` from 0, the first step, to 8")
	c.Flags().Uint64Var(&o.seed, "seed", 0, "`number` the test is drawn from\n(default: another each time)")
	c.Flags().StringVar(&o.wav, "wav", "", "write the sound as a WAV `file`")
	c.Flags().StringVar(&o.midi, "midi", "", "write the sound as a MIDI `file`")
	c.Flags().StringVar(&o.score, "score", "", "write a melody's notes as a MusicXML `file`")
	c.Flags().BoolVar(&o.answer, "answer", false, "tell the right answer")
	return c
}

// usualEarLevel is taken where none is named.
const usualEarLevel = 3

// run writes the files that are asked for, and tells the test.
func (o *earOptions) run(out io.Writer, it ear.Item) error {
	if o.score != "" && it.Melody == nil {
		return usageError{fmt.Errorf("the %s test has no melody whose notes could be written: leave out --score", it.Kind)}
	}
	for _, f := range []struct {
		path  string
		write func(io.Writer) error
	}{
		{o.wav, it.WriteWAV},
		{o.midi, it.WriteMIDI},
		{o.score, func(w io.Writer) error { return musicxml.Write(w, it.Melody) }},
	} {
		if f.path == "" {
			continue
		}
		if err := writeNew(f.path, f.write); err != nil {
			return err
		}
	}
	_, err := io.WriteString(out, o.tell(it, columnsOf(out)))
	return err
}

// tell is the test in words, and the answer where it is asked for.
func (o *earOptions) tell(it ear.Item, columns int) string {
	var b strings.Builder
	fmt.Fprintf(&b, "%s, level %d, seed %d\n\n", upperFirst(string(it.Kind)), it.Level, it.Seed)
	wrap(&b, columns, "", it.Ask)
	for i, choice := range it.Choices {
		fmt.Fprintf(&b, "  %c  %s\n", 'a'+i, choice)
	}
	if o.wav != "" || o.midi != "" {
		fmt.Fprintln(&b)
		for i, h := range it.Hearings {
			line := "heard from " + clock(it.Begins(i))
			if h.Say != "" {
				line += fmt.Sprintf(", with the words %q", h.Say)
			}
			wrap(&b, columns, "  ", line)
		}
	}
	if o.answer {
		fmt.Fprintln(&b)
		wrap(&b, columns, "", answerOf(it))
	}
	return b.String()
}

// clock is a time into a file: "0:07.5".
func clock(d time.Duration) string {
	return fmt.Sprintf("%d:%04.1f", int(d.Minutes()), d.Seconds()-60*float64(int(d.Minutes())))
}

// answerOf is the answer with the other wordings that are taken, or what is to be tapped or played.
func answerOf(it ear.Item) string {
	if it.Answer != "" {
		return fmt.Sprintf("Answer: %s (also taken: %s).", it.Answer, strings.Join(it.Accepted, "; "))
	}
	ref := it.Melody
	if it.Kind == ear.Beat {
		return fmt.Sprintf("Answer: %s, %.0f beats to the minute.", ref.Title, ref.Tempo.BPM)
	}
	var names []string
	for i := range ref.Notes {
		names = append(names, ref.Notes[i].Pitch.String())
	}
	return "Answer: " + strings.Join(names, " ") + "."
}

// writeNew writes a file that is not there yet, and leaves none where it fails.
func writeNew(path string, write func(io.Writer) error) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	switch {
	case errors.Is(err, fs.ErrExist):
		return fmt.Errorf("%s is there already: name a new file", path)
	case err != nil:
		return fmt.Errorf("%s cannot be written: %w", path, cause(err))
	}
	err = write(f)
	if err = errors.Join(err, f.Close()); err != nil {
		os.Remove(path)
		return fmt.Errorf("%s cannot be written: %w", path, cause(err))
	}
	return nil
}
