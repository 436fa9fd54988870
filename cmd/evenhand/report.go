package main

import (
	"bytes"
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
	"evenhand/journal"
	"evenhand/report"
)

type reportOptions struct {
	journalOptions
	against  string
	level    string
	choose   bool // the level was chosen
	scores   []string
	out      string
	pdf      string
	paper    string
	engraver string
}

const reportHelp = `Makes a page about a take, a pupil's weeks or a mock exam.

About a take: the score with what a teacher's pencil writes on it,
tempo, loudness and evenness bar by bar, and all that was noticed. The page is
one file, which any browser opens without a network; it can be sent, printed and
taken to the lesson.

TAKE is a Standard MIDI File, or the number of a take in the journal (see
"evenhand takes"), whose page has the teacher's words too. For a file, --against
and --level are as in "evenhand check". --pdf prints the page with Chromium.

About a pupil, by the name in the journal: today's plan, what the teacher set
and said, the minutes a day, and how each thing went over the weeks.

About an exam, by its number in "evenhand exam list": the mark sheet, to sign.

Exit status: 0 when the page was written; 1 when the take could not be read or
the page not written; 2 when the command line is wrong.`

func newReport() *cobra.Command {
	var o reportOptions
	c := &cobra.Command{
		Use:   "report TAKE|PUPIL|exam NUMBER",
		Short: "make a page about a take, a pupil or an exam, to print",
		Long:  reportHelp,
		Example: `  evenhand report monday.mid --against "D major scale" -o monday.html
  evenhand report 1 -o lesson.html
  evenhand report Anna -o weeks.html
  evenhand report exam 1 -o sheet.html`,
		RunE: func(c *cobra.Command, args []string) error {
			if len(args) == 2 && args[0] == "exam" {
				args = []string{"exam " + args[1]}
			}
			if len(args) != 1 {
				return misused(c, "report needs one take, pupil or exam: name a MIDI file, a number of a take, a pupil of the journal, or exam and a number")
			}
			if o.out == "" && o.pdf == "" {
				return misused(c, "report needs a file to write: name it with -o, or --pdf")
			}
			if o.paper != string(report.A4) && o.paper != string(report.Letter) {
				return misused(c, "no paper %q: choose a4 or letter", o.paper)
			}
			o.choose = c.Flags().Changed("level")
			return runReport(c.Context(), c.OutOrStdout(), c.ErrOrStderr(), args[0], &o)
		},
	}
	addPupil(c, &o.journalOptions)
	c.Flags().Lookup("pupil").Usage = "`name` to put on the page of a file"
	c.Flags().StringVarP(&o.against, "against", "a", "", "what was asked, in `words`, or a score;\nelse what the take says")
	addScores(c, &o.scores)
	addLevel(c, &o.level)
	c.Flags().StringVarP(&o.out, "output", "o", "", "`file` to write the page to; - is standard output")
	c.Flags().StringVar(&o.pdf, "pdf", "", "`file` to print the page to, with Chromium")
	c.Flags().StringVar(&o.paper, "paper", string(report.A4), "`size` of the paper: a4 or letter")
	c.Flags().StringVar(&o.engraver, "engraver", "", "`file` of another version of the engraver's script")
	return c
}

func runReport(ctx context.Context, out, errw io.Writer, what string, o *reportOptions) error {
	if o.pdf != "" && report.Chromium() == "" {
		return report.ErrNoBrowser
	}
	engraver, err := chooseEngraver(o.engraver)
	if err != nil {
		return err
	}
	var page bytes.Buffer
	if err := o.writeAbout(ctx, &page, errw, what, engraver); err != nil {
		return err
	}
	if err := writePage(out, o.out, page.Bytes()); err != nil {
		return err
	}
	if o.pdf == "" {
		return nil
	}
	pdf, err := report.PDF(ctx, page.Bytes(), report.Paper(o.paper))
	if err != nil {
		return err
	}
	return writePage(out, o.pdf, pdf)
}

// writePage writes a page where it was asked for, nowhere where it was not.
func writePage(out io.Writer, path string, page []byte) error {
	switch path {
	case "":
		return nil
	case "-":
		_, err := out.Write(page)
		return err
	}
	// A page is a pupil's own: only its owner reads it, until it is passed on.
	if err := os.WriteFile(path, page, 0o600); err != nil {
		return fmt.Errorf("%s: the page cannot be written: %w", path, cause(err))
	}
	_, err := fmt.Fprintf(out, "the page is in %s\n", plain(path))
	return err
}

// chooseEngraver is the user's own engraver, or else the one that is built in.
func chooseEngraver(path string) (report.Engraver, error) {
	if path == "" {
		return report.BuiltIn(), nil
	}
	e, err := report.ReadEngraver(path)
	if cause(err) != err {
		err = fmt.Errorf("%s: %w; name the script of the engraver", path, cause(err))
	}
	return e, err
}

// writeAbout writes the page about what is named: a take in a file of that name, or else a take of that
// number or a pupil of that name in the journal.
func (o *reportOptions) writeAbout(ctx context.Context, page, errw io.Writer, what string, e report.Engraver) error {
	if named, err := isTakeFile(what); named {
		if err != nil {
			return err
		}
		return o.writeTake(page, errw, what, e, func() (*report.Take, error) { return o.fileTake(errw, what) })
	}
	j, err := o.open(ctx, errw)
	if err != nil {
		return err
	}
	defer j.Close()
	if number, err := strconv.ParseInt(what, 10, 64); err == nil {
		return o.writeTake(page, errw, what, e, func() (*report.Take, error) {
			t, err := j.Take(ctx, number)
			if err != nil {
				return nil, err
			}
			return keptTake(t, scoreFolders(o.scores))
		})
	}
	if number, is, err := examNamed(what); is {
		if err != nil {
			return err
		}
		at, err := keptExam(ctx, j, number)
		if err != nil {
			return err
		}
		return report.WriteSheet(page, sheetOf(at.sitting, at.pupil))
	}
	weeks, err := report.ReadWeeks(ctx, j, what, time.Now(), time.Local)
	if errors.Is(err, journal.ErrNoPupil) {
		return fmt.Errorf("no file, and no pupil in the journal, is called %q: see evenhand pupil list", what)
	}
	if err != nil {
		return err
	}
	return report.WriteWeeks(page, weeks)
}

// isTakeFile reports whether what is named can only be a file: it is there, or is called as one.
func isTakeFile(what string) (bool, error) {
	info, err := os.Stat(what)
	switch {
	case err == nil && info.IsDir():
		return true, fmt.Errorf("%s is a folder: name a take in it", what)
	case err == nil:
		return true, nil
	}
	ending := strings.ToLower(filepath.Ext(what))
	return ending == ".mid" || ending == ".midi" || strings.ContainsRune(what, filepath.Separator), nil
}

func (o *reportOptions) writeTake(page, errw io.Writer, what string, e report.Engraver, take func() (*report.Take, error)) error {
	t, err := take()
	if err != nil {
		return err
	}
	if err := report.WriteTake(page, t, e); err != nil {
		return fmt.Errorf("%s: %w", what, err)
	}
	if e.Empty() {
		say(errw, errors.New("built without the engraver: the page has the marks in words and no engraved music (see README, make engraver)"))
	}
	return nil
}

// fileTake judges a take in a file.
func (o *reportOptions) fileTake(errw io.Writer, path string) (*report.Take, error) {
	take, err := readTake(path)
	if err != nil {
		return nil, err
	}
	settings, err := settingsFor(o.level)
	if err != nil {
		return nil, err
	}
	scores := scoreFolders(o.scores)
	var a *asked
	if o.against != "" {
		if a, err = findAsked(o.against, scores); err != nil {
			return nil, unreadable(o.against, err)
		}
	} else if a, err = keptRequest(take, path, scores); err != nil {
		return nil, err
	}
	if !o.choose {
		if settings, err = keptSettings(take, path, settings); err != nil {
			return nil, err
		}
	}
	for _, w := range a.warnings() {
		fmt.Fprintf(errw, "evenhand: %s\n", w)
	}
	alignment, assessment := a.judgeWhole(take, path, settings)
	return &report.Take{
		Reference: alignment.Reference, Assessment: assessment, Asked: a.title,
		Pupil: o.pupil, Started: take.Started, Piano: take.Device,
	}, nil
}

// keptTake is a take of the journal as it was marked, with what the teacher said.
func keptTake(t *journal.Take, scores []string) (*report.Take, error) {
	if t.Outcome == nil {
		return nil, fmt.Errorf("take %d is free practice, of which there is no page", t.ID)
	}
	take, err := capture.ReadSMF(bytes.NewReader(t.SMF), t.Outcome.Take)
	if err != nil {
		return nil, fmt.Errorf("take %d: %w", t.ID, err)
	}
	a, err := findAsked(t.Asked, scores)
	if err != nil {
		return nil, fmt.Errorf("take %d: %w", t.ID, err)
	}
	out := &report.Take{
		Reference: a.align(take).Reference, Assessment: t.Outcome, Amended: t.Amendment(), Asked: a.title,
		Pupil: t.Pupil, Started: t.Started.Local(), Piano: t.Device,
	}
	if t.Words != nil {
		out.Words, out.Mark = t.Words.Said, t.Words.Mark
	}
	return out, nil
}
