package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	tea "github.com/charmbracelet/bubbletea"
	"github.com/spf13/cobra"

	"evenhand/cmd/evenhand/screen"
	"evenhand/exam"
	"evenhand/journal"
)

// sitOptions say how an exam is sat.
type sitOptions struct {
	listenOptions // the piano, the folder of takes, the page and the journal
	output        string
}

func addSitting(c *cobra.Command, o *sitOptions) {
	addSources(c, &o.listenOptions)
	c.Flags().StringVar(&o.output, "output", "", "the MIDI `output` that ear tests sound by, by\nnumber or part of its name (default: the piano's)")
	addPage(c, &o.listenOptions)
	addPupil(c, &o.journalOptions)
}

const sitHelp = `Draws a paper from a list of requirements and holds the exam: asks for one thing
after another, listens at the piano, asks questions on the favourite piece, and
sounds the ear tests through the piano. Nothing is said of how it went until
somebody asks. The teacher can ask again, skip, write words or a mark at any
time, and has the last word. Everything is kept as it happens: a stop, wanted or
not, loses nothing, and "evenhand exam resume" goes on.

It is for practice and gives no official result. Stop when playing hurts, and
ask a teacher or a doctor.

Without a terminal, or with --plain, it is told in lines:
` + linesHelp + `
Exit status: 0 when the exam came to its end or was left to be resumed; 1 when a
list, a score or a piano could not be read; 2 when the command line is wrong.`

func newExamSit() *cobra.Command {
	var o sitOptions
	var p paperOptions
	c := &cobra.Command{
		Use:   "sit",
		Short: "hold a mock exam at the piano",
		Long:  sitHelp,
		Example: `  evenhand exam sit --level 3 --piece "Harbour Waltz" --piece "The Ferryman"
  evenhand exam sit --level 1 --seed 7 --without questions --pupil Anna`,
		Args: noArguments,
		RunE: func(c *cobra.Command, _ []string) error {
			paper, err := p.draw(c)
			if err != nil {
				return err
			}
			o.scores = p.scores
			return o.sit(c, func(ctx context.Context, j *journal.Journal) (*examAt, error) {
				return o.open(ctx, j, paper)
			})
		},
	}
	addPaper(c, &p)
	addSitting(c, &o)
	return c
}

func newExamResume() *cobra.Command {
	var o sitOptions
	c := &cobra.Command{
		Use:   "resume [NUMBER]",
		Short: "go on with an exam that was left or broken off",
		Long: `Goes on with an exam where it was: the last one of the pupil, or that of a
NUMBER in "evenhand exam list". What was being played when it stopped is in the
folder of takes, and is asked once more. An exam that is finished is opened for
the teacher's marks and words, and to be signed.`,
		Example: "  evenhand exam resume --pupil Anna",
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) > 1 {
				return misused(c, "resume goes on with one exam at a time")
			}
			return o.sit(c, func(ctx context.Context, j *journal.Journal) (*examAt, error) {
				return o.resume(ctx, j, args)
			})
		},
	}
	addScores(c, &o.scores)
	addSitting(c, &o)
	return c
}

// examAt is a sitting with its place in the journal.
type examAt struct {
	id      int64
	pupil   string
	sitting *exam.Sitting
	resumed bool
	faults  []error // scores that could not be opened
}

// inJournal keeps the events of one sitting in a journal.
type inJournal struct {
	j  *journal.Journal
	id int64
}

// AddEvent implements exam.Store.
func (s inJournal) AddEvent(ctx context.Context, n int, event []byte) error {
	return s.j.AddEvent(ctx, s.id, n, event)
}

// open begins a new sitting, which is in the journal when it returns.
func (o *sitOptions) open(ctx context.Context, j *journal.Journal, paper *exam.Paper) (*examAt, error) {
	pupil, err := o.chosen(ctx, j)
	if err != nil {
		return nil, err
	}
	e := exam.Event{Schema: exam.EventSchema, Kind: exam.Opened, At: time.Now().UTC().Truncate(time.Microsecond), Open: begin(paper)}
	s := new(exam.Sitting)
	if _, err := s.Apply(e); err != nil {
		return nil, err
	}
	text, err := e.Encode()
	if err != nil {
		return nil, err
	}
	id, err := j.OpenSitting(ctx, pupil, paper.List, e.At, text)
	return &examAt{id: id, pupil: pupil, sitting: s}, err
}

// resume takes up a sitting: that of a number, or the pupil's last. Scores that cannot be opened are told.
func (o *sitOptions) resume(ctx context.Context, j *journal.Journal, args []string) (*examAt, error) {
	at, err := o.kept(ctx, j, args)
	if err != nil {
		return nil, err
	}
	at.resumed, at.faults = true, at.sitting.Paper.OpenScores(openPaperScore(o.scores))
	return at, nil
}

// kept is a sitting as it was kept.
func (o *sitOptions) kept(ctx context.Context, j *journal.Journal, args []string) (*examAt, error) {
	id, err := o.sittingNumber(ctx, j, args)
	if err != nil {
		return nil, err
	}
	return keptExam(ctx, j, id)
}

// keptExam is the sitting of a number.
func keptExam(ctx context.Context, j *journal.Journal, id int64) (*examAt, error) {
	kept, err := j.Sitting(ctx, id)
	if err != nil {
		return nil, err
	}
	s, err := exam.Replay(kept.Events)
	if err != nil {
		return nil, fmt.Errorf("exam %d cannot be taken up: %w", id, err)
	}
	return &examAt{id: id, pupil: kept.Pupil, sitting: s}, nil
}

// sittingNumber is the one that was named, or the pupil's last.
func (o *sitOptions) sittingNumber(ctx context.Context, j *journal.Journal, args []string) (int64, error) {
	if len(args) > 0 {
		return sittingNumber(args[0])
	}
	pupil, err := o.chosen(ctx, j)
	if err != nil {
		return 0, err
	}
	all, err := j.Sittings(ctx, pupil)
	if err != nil {
		return 0, err
	}
	if len(all) == 0 {
		return 0, fmt.Errorf("%s has sat no exam yet: begin one with evenhand exam sit", plain(pupil))
	}
	return all[len(all)-1].ID, nil
}

// sit holds an exam.
func (o *sitOptions) sit(c *cobra.Command, begin func(context.Context, *journal.Journal) (*examAt, error)) error {
	ctx, in, out, errw := c.Context(), c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr()
	o.level, o.format = "first", "text"
	h := &hearing{show: out, errw: errw}
	if err := h.settle("", o.listenOptions); err != nil {
		return err
	}
	keyboard, ok := keyboards[o.keyboard]
	if !ok {
		return usageError{fmt.Errorf("no piano of %d keys is known here: --keyboard takes 88, 76, 73, 61 or 49", o.keyboard)}
	}
	recoverTakes(errw, h.keep)
	var err error
	if h.journal, err = o.ownKeeper(ctx, errw); err != nil {
		return err
	}
	defer h.journal.close()
	o.onScreen = !o.plain && isTerminal(in) && isTerminal(out)
	if o.fromBytes == "-" && !o.onScreen {
		return usageError{errors.New("standard input has the lines of whoever holds the exam: give --from-bytes a pipe or a device")}
	}
	src, err := openSource(ctx, in, o.listenOptions)
	if err != nil {
		return err
	}
	defer src.close()
	if err := writable(h.keep); err != nil {
		return err
	}
	at, err := begin(ctx, h.journal.journal)
	if err != nil {
		return err
	}
	h.journal.pupil = at.pupil
	x := newHall(ctx, at.sitting, inJournal{h.journal.journal, at.id}, openParts(at.sitting.Paper), h, src, keyboard)
	x.pupil, x.resumed, x.faults = at.pupil, at.resumed, at.faults
	if p, err := openPlayer(o.piano, o.output); err == nil {
		defer p.close()
		x.sounder = p
	}
	if o.onScreen {
		err = x.onScreen(in, out, o.ascii)
	} else {
		err = x.inLines(in, out)
	}
	next := "Go on with it by: evenhand exam resume"
	if x.sitting.Phase == exam.Ended {
		next = "Its mark sheet: evenhand exam sheet"
	}
	if x.book.Waiting() == 0 {
		fmt.Fprintf(out, "The exam is kept. %s %d\n", next, at.id)
	}
	return err
}

// ownKeeper keeps the takes of an exam in the journal that has its events.
func (o *sitOptions) ownKeeper(ctx context.Context, errw io.Writer) (*keeper, error) {
	k, err := o.keeper(ctx, errw)
	if err == nil && (k == nil || k.journal == nil) {
		err = errors.New("an exam is kept in the journal as it goes, and there is none: name one with --journal")
	}
	return k, err
}

// onScreen shows the exam on a page.
func (x *hall) onScreen(in io.Reader, out io.Writer, ascii bool) error {
	ctx, stop := context.WithCancel(x.ctx)
	defer stop()
	x.ctx = ctx
	acts := make(chan screen.Act, 64)
	model := screen.NewSitting(screen.SittingOptions{Signs: signsFor(ascii), Do: func(a screen.Act) {
		select {
		case acts <- a:
		case <-ctx.Done():
		}
	}})
	e := newEasel(page(out))
	program := tea.NewProgram(painted{model, e}, append(e.options(), tea.WithInput(in), tea.WithoutSignalHandler())...)
	x.tell(program.Send)
	over := make(chan error, 1)
	go func() {
		err := x.run(acts)
		program.Quit()
		over <- err
	}()
	_, err := program.Run()
	e.close()
	stop()
	return errors.Join(err, <-over)
}

// inLines tells the exam in lines.
func (x *hall) inLines(in io.Reader, out io.Writer) error {
	ctx, stop := context.WithCancel(x.ctx)
	defer stop()
	lines := &examLines{out: out}
	x.tell(lines.show)
	fmt.Fprint(out, linesHelp)
	acts := make(chan screen.Act)
	go lines.read(ctx, in, acts)
	return x.run(acts)
}

// tell has all that is said go to show.
func (x *hall) tell(show func(tea.Msg)) {
	x.show = show
	x.h.errw = notices{show}
	x.h.journal.errw = x.h.errw
}
