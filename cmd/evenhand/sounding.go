package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/journal"
	"evenhand/references"
	"evenhand/scoring"
)

type hearOptions struct {
	partOptions
	journalOptions
	piano  string
	output string
	scores []string
	midi   string
	loop   bool
}

const hearHelp = `Plays on the piano itself, through its MIDI input: how WHAT goes, cleanly and at
its tempo, or a TAKE as it was played, with its marks passing by as it sounds.
A take is a file that "evenhand listen" kept, or its number in the journal (see
evenhand takes). Ctrl-C ends it.

A piano without a MIDI input cannot be made to sound: --midi writes a Standard
MIDI File instead, which any other player of such files plays.

Exit status: 0 when it was played or written; 1 when there is no piano to sound
it, or what was named cannot be read; 2 when the command line is wrong.`

func newHear() *cobra.Command {
	var o hearOptions
	c := &cobra.Command{
		Use:   "hear WHAT|TAKE",
		Short: "hear how it goes, or a take with its marks",
		Long:  hearHelp,
		Example: `  evenhand hear "D major scale, left hand"
  evenhand hear the ferryman --bars 9-16 --tempo 40
  evenhand hear 1
  evenhand hear harbour waltz --hand left --midi waltz-left.mid`,
		Args: someArguments("what to hear: a scale, a piece, or a take"),
		RunE: func(c *cobra.Command, words []string) error {
			return runHear(c.Context(), c.OutOrStdout(), c.ErrOrStderr(), strings.Join(words, " "), o)
		},
	}
	addPart(c, &o.partOptions)
	c.Flags().BoolVar(&o.loop, "loop", false, "again and again, until Ctrl-C")
	c.Flags().StringVarP(&o.piano, "piano", "p", "", "the piano, by the `input` that listen knows it by")
	c.Flags().StringVar(&o.output, "output", "", "the `output` to sound it through, by number or part\nof its name (default: that of the piano)")
	c.Flags().StringVar(&o.midi, "midi", "", "write it to this `file` instead")
	addScores(c, &o.scores)
	addJournal(c, &o.journalOptions)
	return c
}

// sounding is what is to be heard.
type sounding struct {
	title string
	take  *capture.Take
	words [][]string // to show as each note begins
	after func(io.Writer) error
}

func runHear(ctx context.Context, out, errw io.Writer, what string, o hearOptions) error {
	s, err := findSounding(ctx, errw, what, &o)
	if err != nil {
		return err
	}
	if o.midi != "" {
		return s.write(out, o.midi)
	}
	p, err := openPlayer(o.piano, o.output)
	if err != nil {
		return fmt.Errorf("%w; --midi writes it to a file instead", err)
	}
	defer p.close()
	fmt.Fprintf(out, "%s, on %s.\n", plain(strings.TrimSuffix(s.title, ".")), plain(p.name))
	for {
		if err := s.sound(ctx, p, out); err != nil {
			return err
		}
		if ctx.Err() != nil || !o.loop {
			break
		}
	}
	if s.after == nil || ctx.Err() != nil {
		return nil
	}
	fmt.Fprintln(out)
	return s.after(out)
}

// sound plays it once and writes what passes by.
func (s *sounding) sound(ctx context.Context, p *player, out io.Writer) error {
	pen := &pencil{w: out, columns: columnsOf(out)}
	note := 0
	err := p.play(ctx, s.take, func(m capture.Message) {
		if !strikes(&m) {
			return
		}
		for _, word := range s.words[note] {
			if word == anew {
				pen.line()
			}
			pen.write(word)
		}
		note++
	})
	pen.line()
	return err
}

// write makes a file of it, but not of one that is there.
func (s *sounding) write(out io.Writer, path string) error {
	f, err := os.OpenFile(path, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o644)
	if errors.Is(err, os.ErrExist) {
		return fmt.Errorf("%s is there already: name another file", path)
	}
	if err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, cause(err))
	}
	if err := errors.Join(capture.WriteSMF(f, s.take), f.Close()); err != nil {
		return fmt.Errorf("%s cannot be written: %w", path, cause(err))
	}
	_, err = fmt.Fprintf(out, "%s: written to %s\n", plain(strings.TrimSuffix(s.title, ".")), plain(path))
	return err
}

// findSounding takes what is to be heard as a take, by its number in the journal or its file, or as
// something to be played as it should be.
func findSounding(ctx context.Context, errw io.Writer, what string, o *hearOptions) (*sounding, error) {
	part, err := o.part()
	if err != nil {
		return nil, err
	}
	whole := part == references.Part{}
	take, err := findTake(ctx, errw, what, o)
	switch {
	case err != nil:
		return nil, err
	case take == nil || !whole && take.Facts[factRequest] == "":
		// A MIDI file of which a part is wanted is a score.
		return model(what, part, o)
	case !whole:
		return nil, usageError{errors.New("a take is heard as it was played: leave out --bars, --hand and --tempo")}
	}
	return own(take, what, scoreFolders(o.scores))
}

// findTake is the take that is named, or nil where it is none.
func findTake(ctx context.Context, errw io.Writer, what string, o *hearOptions) (*capture.Take, error) {
	if _, err := strconv.ParseInt(what, 10, 64); err == nil {
		return journalTake(ctx, errw, what, o)
	}
	switch strings.ToLower(filepath.Ext(what)) {
	case ".mid", ".midi":
		return readTake(what)
	}
	return nil, nil
}

func journalTake(ctx context.Context, errw io.Writer, number string, o *hearOptions) (*capture.Take, error) {
	id, err := takeNumber(number)
	if err != nil {
		return nil, err
	}
	j, err := o.open(ctx, errw)
	if err != nil {
		return nil, err
	}
	defer j.Close()
	kept, err := j.Take(ctx, id)
	if err != nil {
		return nil, err
	}
	return takeOf(kept)
}

// takeOf is a take of the journal with what was asked, where its own bytes do not say.
func takeOf(kept *journal.Take) (*capture.Take, error) {
	take, err := capture.ReadSMF(strings.NewReader(string(kept.SMF)), fmt.Sprintf("take %d", kept.ID))
	if err != nil {
		return nil, err
	}
	if take.Facts == nil {
		take.Facts = map[string]string{}
	}
	if take.Facts[factRequest] == "" {
		take.Facts[factRequest] = kept.Asked
	}
	return take, nil
}

// model is how it goes: a simulated pupil plays it, with the shaping that is written and no mistakes.
func model(what string, part references.Part, o *hearOptions) (*sounding, error) {
	a, err := findPart(what, scoreFolders(o.scores), part)
	if err != nil {
		return nil, unreadable(what, err)
	}
	ref := a.candidates[0]
	take, truth := pupil.Play(ref, modelPupil)
	take.Device = simulated
	take.Facts = map[string]string{factRequest: a.against}
	s := &sounding{title: a.title, take: take, words: make([][]string, len(take.Notes))}
	for i, e := range truth.Expected {
		if e.Played >= 0 {
			s.words[e.Played] = []string{ref.Notes[i].Pitch.String()}
		}
	}
	return s, nil
}

// modelPupil plays as a good teacher does who shows how it goes: a human hand, but hardly uneven (figures in
// the units of pupil.Pupil, chosen by us).
var modelPupil = pupil.Pupil{
	Seed: 1, Lead: 500 * time.Millisecond,
	Jitter: references.Each(2.0), Spread: 2, ChordWidth: 3, Apart: pupil.Offset{SD: 2}, Rubato: 2,
}

// own is a take as it was played, with the marks of its final judgement.
func own(take *capture.Take, name string, scores []string) (*sounding, error) {
	s := &sounding{title: name, take: take, words: make([][]string, len(take.Notes))}
	if take.Facts[factRequest] == "" {
		for i, n := range take.Notes {
			s.words[i] = []string{keyName(int(n.Key))}
		}
		return s, nil
	}
	a, err := keptRequest(take, name, scores)
	if err != nil {
		return nil, err
	}
	settings, err := keptSettings(take, name, scoring.DefaultSettings())
	if err != nil {
		return nil, err
	}
	alignment, assessment := a.judgeWhole(take, name, settings)
	s.title, s.words = a.title, passingBy(alignment, assessment)
	s.after = func(w io.Writer) error { return writeVerdict(w, assessment) }
	return s, nil
}

// keyName is a key where nothing is known of the music it belongs to.
func keyName(key int) string {
	var none references.Reference
	return spelled(&none, key, references.Name{})
}
