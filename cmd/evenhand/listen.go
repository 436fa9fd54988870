package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"evenhand/capture"
	"evenhand/references"
	"evenhand/scoring"
)

type listenOptions struct {
	scores    []string
	piano     string
	fromBytes string
	fromTake  string
	keep      string
	format    string
	level     string
	times     int
	journalOptions
	partOptions
	beatOptions
	loop     bool
	plain    bool
	ascii    bool
	keyboard int
	list     []*asked // to be asked one after another; nil for one request
	onScreen bool     // the results go to a terminal that a page can be drawn on
}

const listenHelp = `Listens to the piano until WHAT has been played, shows each note as it is
judged, notices the end by itself and tells how it went. The take is kept as a
Standard MIDI File and in the journal, with what was asked and how it was
marked, before anything is told. Ctrl-C ends a
take that is under way, which is kept and judged all the same.

Without WHAT it listens to free practice, and names and judges each scale and
arpeggio in it.

Take a rest now and then. Stop when playing hurts, and ask a teacher or a
doctor.

Exit status: 0 when the take was heard, kept and marked, whatever the marks; 1
when no piano or no note was heard (as when Ctrl-C ends it before the first
note), or the take could not be kept; 2 when the command line is wrong.`

func newListen() *cobra.Command {
	var o listenOptions
	c := &cobra.Command{
		Use:   "listen [WHAT...]",
		Short: "listen to the piano and judge what is played",
		Long:  listenHelp,
		Example: `  evenhand listen B flat major scale, hands together, contrary motion, piano
  evenhand listen "G minor arpeggio, right hand" --piano 2
  evenhand listen the ferryman --bars 9-16 --hand left --tempo 40 --count-in
  evenhand listen --from-bytes /dev/snd/midiC1D0 "D major scale"
  evenhand listen`,
		RunE: func(c *cobra.Command, words []string) error {
			return runListen(c.Context(), c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr(), strings.Join(words, " "), o)
		},
	}
	addSources(c, &o)
	c.Flags().IntVarP(&o.times, "times", "n", 1, "how `many` takes to hear; 0: on until Ctrl-C")
	addPupil(c, &o.journalOptions)
	addPart(c, &o.partOptions)
	c.Flags().BoolVar(&o.loop, "loop", false, "ask for the same again by itself, until q or\nCtrl-C")
	addBeat(c, &o.beatOptions)
	addPage(c, &o)
	addScores(c, &o.scores)
	addFormat(c, &o.format)
	addLevel(c, &o.level)
	return c
}

// addSources adds the options for what is listened to, and where it is kept.
func addSources(c *cobra.Command, o *listenOptions) {
	addInputs(c, o)
	c.Flags().StringVar(&o.keep, "keep", "", "`folder` to keep takes in\n(default $XDG_DATA_HOME/evenhand/takes)")
}

// addInputs adds the options for what is listened to.
func addInputs(c *cobra.Command, o *listenOptions) {
	c.Flags().StringVarP(&o.piano, "piano", "p", "", "the `input` to listen to, by number or part of its name")
	c.Flags().StringVar(&o.fromBytes, "from-bytes", "", "listen to raw MIDI bytes from a `file`, pipe or\ndevice; - is standard input")
	c.Flags().StringVar(&o.fromTake, "from-take", "", "listen to a recorded `take`, all at once")
}

// addPage adds the options for the page that a terminal shows.
func addPage(c *cobra.Command, o *listenOptions) {
	c.Flags().BoolVar(&o.plain, "plain", false, "write lines and no page, as to a pipe")
	c.Flags().BoolVar(&o.ascii, "ascii", false, "draw the page with ASCII characters only")
	c.Flags().IntVar(&o.keyboard, "keyboard", 88, "how many `keys` the piano has: 88, 76, 73,\n61 or 49")
}

func runListen(ctx context.Context, in io.Reader, out, errw io.Writer, words string, o listenOptions) error {
	writer := verdictWriter
	if words == "" && o.list == nil {
		writer = passageWriter
	}
	write, err := writer(o.format)
	if err != nil {
		return err
	}
	h := &hearing{show: out, errw: errw}
	if o.format == "json" {
		h.show = io.Discard
	}
	if err := h.settle(words, o); err != nil {
		return err
	}
	recoverTakes(errw, h.keep)
	if h.journal, err = o.keeper(ctx, errw); err != nil {
		return err
	}
	defer h.journal.close()
	o.onScreen = h.asked != nil && !o.plain && o.format != "json" && isTerminal(in) && isTerminal(out)
	src, err := openSource(ctx, in, o)
	if err != nil {
		return err
	}
	defer src.close()
	if err := writable(h.keep); err != nil {
		return err
	}
	if o.loop {
		o.times = 0
	}
	count, err := newCounter(h, src, o)
	if err != nil {
		return err
	}
	if o.onScreen {
		return h.onScreen(ctx, src, count, in, out, o)
	}
	tell := func(a *scoring.Assessment) error { return write(out, a) }
	if src.notice != "" {
		say(errw, errors.New(src.notice))
	}
	if count != nil {
		h.count, h.spoken = count, &spoken{w: h.show}
		count.show = h.spoken.show
		count.connected(true)
		defer count.close()
	}
	switch {
	case h.asked == nil:
		return practise(ctx, src, h, out, write)
	case o.list != nil:
		return h.hearEach(ctx, src, o.list, tell)
	}
	return h.hearTimes(ctx, src, o.times, tell)
}

// settle reads what was asked for on the command line.
func (h *hearing) settle(words string, o listenOptions) (err error) {
	sources := 0
	for _, s := range []string{o.piano, o.fromBytes, o.fromTake} {
		if s != "" {
			sources++
		}
	}
	switch {
	case sources > 1:
		return usageError{errors.New("listen to one thing at a time: --piano, --from-bytes or --from-take")}
	case o.times < 0:
		return usageError{fmt.Errorf("no %d takes can be heard: give --times a number, or 0 to go on until Ctrl-C", o.times)}
	}
	if h.settings, err = settingsFor(o.level); err != nil {
		return err
	}
	part, err := o.part()
	if err != nil {
		return err
	}
	for i, a := range o.list {
		if o.list[i], err = a.cut(part); err != nil {
			return usageError{err}
		}
	}
	switch {
	case o.list != nil:
		h.asked = o.list[0]
	case words != "":
		if h.asked, err = findPart(words, scoreFolders(o.scores), part); err != nil {
			return unreadable(words, err)
		}
	case part != references.Part{} || o.loop || o.countIn || o.metronome:
		return usageError{errors.New("what is to be played? Name a piece, a scale or an arpeggio")}
	}
	h.keep, err = takesFolder(o.keep)
	return err
}

// hearTimes hears and judges so many tries, or with 0 as many as come until the source or the program
// is ended.
func (h *hearing) hearTimes(ctx context.Context, src *source, times int, tell func(*scoring.Assessment) error) error {
	var unkept error
	for n := 0; n == 0 || !src.over && (times == 0 || n < times); n++ {
		h.prompt("Play when you are ready.")
		h.spoken.again()
		h.count.ask(h.asked)
		take, path, err := h.hear(ctx, src)
		switch {
		case take == nil && n > 0 && (errors.Is(err, errNothing) || errors.Is(err, errEnded)):
			return unkept
		case take == nil:
			return err
		case err != nil:
			// What was played is still known, and the player wants to hear of it.
			say(h.errw, err)
			unkept = errTold
		}
		a, err := h.verdict(ctx, take, path)
		if err != nil {
			say(h.errw, err)
			unkept = errTold
		}
		fmt.Fprintln(h.show)
		if err := tell(a); err != nil {
			return err
		}
		if ctx.Err() != nil {
			break
		}
	}
	return unkept
}

// prompt says what is to be played, and how its notes will be marked.
func (h *hearing) prompt(last string) {
	var b strings.Builder
	for _, line := range []string{h.asked.title, legend, last} {
		wrap(&b, columnsOf(h.show), "", line)
	}
	fmt.Fprint(h.show, b.String())
}

func openSource(ctx context.Context, in io.Reader, o listenOptions) (*source, error) {
	switch {
	case o.fromBytes != "":
		return openBytes(ctx, o.fromBytes, in)
	case o.fromTake != "":
		take, err := readTake(o.fromTake)
		if err != nil {
			return nil, err
		}
		return openTake(ctx, take, o.fromTake, false), nil
	}
	return openPiano(o.piano, o.onScreen)
}

// takesFolder is where takes are kept: the folder asked for, else that of the user's data.
func takesFolder(asked string) (string, error) {
	if asked != "" {
		return asked, nil
	}
	data, err := dataFolder()
	if err != nil {
		return "", fmt.Errorf("no folder to keep takes in: %w; name one with --keep", err)
	}
	return filepath.Join(data, "takes"), nil
}

// writable finds out that takes can be kept before anybody plays one.
func writable(dir string) error {
	rec, err := capture.Record(dir, capture.Take{}, nil)
	if err != nil {
		return fmt.Errorf("%w, with --keep", err)
	}
	if _, err := rec.Close(); !errors.Is(err, capture.ErrNoNotes) {
		return err
	}
	return nil
}

// recoverTakes makes takes of recordings that were cut off, and says so.
func recoverTakes(errw io.Writer, dir string) {
	found, err := capture.Recover(dir)
	if err != nil {
		say(errw, err)
	}
	for _, r := range found {
		switch {
		case r.Err != nil:
			say(errw, r.Err)
		case r.Text != "":
			say(errw, errors.New(r.Text))
		}
	}
}
