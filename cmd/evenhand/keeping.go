package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"evenhand/capture"
	"evenhand/journal"
	"evenhand/scoring"
)

// journalOptions say which journal, and whose takes.
type journalOptions struct {
	journal string
	pupil   string
}

func addJournal(c *cobra.Command, o *journalOptions) {
	c.Flags().StringVar(&o.journal, "journal", "", "`file` or postgres:// address of the journal, or none\n(default $EVENHAND_JOURNAL, or else\n$XDG_DATA_HOME/evenhand/journal.db)")
}

func addPupil(c *cobra.Command, o *journalOptions) {
	addJournal(c, o)
	c.Flags().StringVar(&o.pupil, "pupil", "", "`name` of the pupil (default the last one used)")
}

// noJournal is the name of no journal at all.
const noJournal = "none"

// where is the journal that was chosen.
func (o *journalOptions) where() (string, error) {
	for _, chosen := range []string{o.journal, os.Getenv("EVENHAND_JOURNAL")} {
		if chosen != "" {
			return chosen, nil
		}
	}
	data, err := dataFolder()
	return filepath.Join(data, "journal.db"), err
}

// open opens the journal and takes in what waits for it.
func (o *journalOptions) open(ctx context.Context, errw io.Writer) (*journal.Journal, error) {
	where, err := o.where()
	if err != nil {
		return nil, err
	}
	if where == noJournal {
		return nil, usageError{errors.New("this needs a journal: name one with --journal")}
	}
	// What was begun is ended though the program is told to end.
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), journalPatience)
	defer stop()
	j, err := journal.Open(ctx, where)
	if err != nil {
		return nil, err
	}
	waiting, err := waitingFolder()
	if err != nil {
		return j, nil // nothing can wait
	}
	all, err := j.Collect(ctx, waiting)
	if err != nil {
		say(errw, err)
	}
	in := 0
	for _, w := range all {
		if w.Err != nil {
			say(errw, fmt.Errorf("%w; the take waits in %s", w.Err, w.File))
			continue
		}
		in++
	}
	if in > 0 {
		say(errw, fmt.Errorf("%s waiting, now in the journal", counted(in, "take was", "takes were")))
	}
	return j, nil
}

// journalPatience is how long a journal may take before a take is kept beside it.
const journalPatience = 10 * time.Second

func waitingFolder() (string, error) {
	data, err := dataFolder()
	return filepath.Join(data, "waiting"), err
}

// onlyPupil is the name of a pupil who was never given one.
const onlyPupil = "me"

// chosen is the pupil who is meant: the one named, or the last one used, or the only one there is.
func (o *journalOptions) chosen(ctx context.Context, j *journal.Journal) (string, error) {
	pupils, err := j.Names(ctx)
	if err != nil {
		return "", err
	}
	known := func(name string) bool {
		for _, p := range pupils {
			if p.Name == name {
				return true
			}
		}
		return false
	}
	switch last := lastPupil(); {
	case o.pupil != "" && known(o.pupil):
		return o.pupil, usePupil(o.pupil)
	case o.pupil != "":
		return "", usageError{fmt.Errorf("no pupil %q: there is %s; add one with evenhand pupil add", o.pupil, namesOf(pupils))}
	case known(last):
		return last, nil
	case len(pupils) == 1:
		return pupils[0].Name, usePupil(pupils[0].Name)
	case len(pupils) == 0:
		return onlyPupil, errors.Join(j.Add(ctx, onlyPupil, time.Now()), usePupil(onlyPupil))
	}
	return "", usageError{fmt.Errorf("whose takes? Say --pupil: there is %s", namesOf(pupils))}
}

func namesOf(pupils []journal.Pupil) string {
	var names []string
	for _, p := range pupils {
		names = append(names, plain(p.Name))
	}
	switch n := len(names); n {
	case 0:
		return "none yet"
	case 1:
		return names[0]
	default:
		return strings.Join(names[:n-1], ", ") + " and " + names[n-1]
	}
}

// The last pupil used is this machine's: many machines may share a journal.
func lastPupilFile() (string, error) {
	data, err := dataFolder()
	return filepath.Join(data, "pupil"), err
}

func lastPupil() string {
	if path, err := lastPupilFile(); err == nil {
		if b, err := os.ReadFile(path); err == nil {
			return string(b)
		}
	}
	return ""
}

func usePupil(name string) error {
	path, err := lastPupilFile()
	if err != nil || lastPupil() == name {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
		return err
	}
	return os.WriteFile(path, []byte(name), 0o600)
}

// keeper keeps takes in the journal. A nil keeper keeps nothing.
type keeper struct {
	journal *journal.Journal // nil where it cannot be had: takes wait
	pupil   string
	waiting string
	errw    io.Writer
	mu      sync.Mutex // of errw
}

// keeper opens the journal for takes that are to come. A journal that cannot be had is said, and no
// reason not to play.
func (o *journalOptions) keeper(ctx context.Context, errw io.Writer) (*keeper, error) {
	if where, err := o.where(); err != nil || where == noJournal {
		return nil, err
	}
	waiting, err := waitingFolder()
	if err != nil {
		return nil, err
	}
	k := &keeper{waiting: waiting, errw: errw}
	if k.journal, err = o.open(ctx, errw); err == nil {
		k.pupil, err = o.chosen(context.WithoutCancel(ctx), k.journal)
	}
	var cannot *journal.Unavailable
	if errors.As(err, &cannot) {
		say(errw, fmt.Errorf("%w; what is played waits in %s", err, waiting))
		k.pupil = firstOf(o.pupil, lastPupil(), onlyPupil)
		k.close()
		k.journal, err = nil, nil
	}
	return k, err
}

func firstOf(names ...string) string {
	for _, n := range names {
		if n != "" {
			return n
		}
	}
	return ""
}

func (k *keeper) close() {
	if k != nil && k.journal != nil {
		k.journal.Close()
	}
}

// keep stores a take with its outcome, nil in free practice, before anybody is told of it. Where the
// journal cannot be written the take waits as a file; the error is of a take that is in neither.
func (k *keeper) keep(ctx context.Context, take *capture.Take, path, what string, practised time.Duration, a *scoring.Assessment) error {
	if k == nil {
		return nil
	}
	e, err := entry(take, path, what, practised, a)
	if err != nil {
		return err
	}
	// A take that was heard is kept though the program is told to end.
	ctx, stop := context.WithTimeout(context.WithoutCancel(ctx), journalPatience)
	defer stop()
	why := errors.New("the journal cannot be written")
	if k.journal != nil {
		if _, why = k.journal.Keep(ctx, k.pupil, e); why == nil {
			return nil
		}
	}
	file, err := journal.Wait(k.waiting, k.pupil, e)
	if err != nil {
		return fmt.Errorf("%w, and no take can wait in %s: %w; it is in the file %s: keep it later with evenhand check --keep", why, k.waiting, cause(err), path)
	}
	k.mu.Lock()
	defer k.mu.Unlock()
	say(k.errw, fmt.Errorf("%w; the take waits in %s", why, file))
	return nil
}

// entry is a take as the journal keeps it, with the bytes of its file where it has one.
func entry(take *capture.Take, path, what string, practised time.Duration, a *scoring.Assessment) (journal.Entry, error) {
	e := journal.Entry{Asked: what, Started: take.Started, Practised: practised, Device: take.Device, Marked: time.Now(), Outcome: a}
	if e.Started.IsZero() {
		e.Started = e.Marked
		if info, err := os.Stat(path); err == nil {
			e.Started = info.ModTime()
		}
	}
	var err error
	if e.SMF, err = os.ReadFile(path); err == nil {
		return e, nil
	}
	var b bytes.Buffer
	err = capture.WriteSMF(&b, take)
	e.SMF = b.Bytes()
	return e, err
}

// practised is the time from the first key to the last release.
func practised(take *capture.Take) time.Duration {
	if len(take.Notes) == 0 {
		return 0
	}
	return take.End() - take.Notes[0].On
}
