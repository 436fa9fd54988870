package capture

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"time"
)

// The endings of the files in a folder of takes. A growing take has GrowingEnding, a finished one
// TakeEnding.
const (
	GrowingEnding = ".growing"
	TakeEnding    = ".mid"
)

// syncAfter is how long after the first event that is not yet safe the disk is told to make it so:
// half of the 100 ms that may pass, which leaves the disk the other half.
const syncAfter = 50 * time.Millisecond

// Recorder builds a take and writes every message to disk as it comes. Add never waits for the
// disk: what is not written yet waits in memory, and so does the whole take, so that a disk that is
// full or slow costs no note.
type Recorder struct {
	disk  disk
	dir   string
	base  string // file name without ending
	file  handle
	fault func(error)

	mu      sync.Mutex
	builder *Builder
	pending []byte // records not yet handed to the disk
	closed  bool

	wake chan struct{}
	quit chan struct{}
	done chan struct{}

	broken error // what the disk said first; the writing goroutine's until done

	closing sync.Once
	path    string // what Close returned
	err     error
}

// Record begins a take in a folder, which is made where it is not there. The file grows under a
// name made from about.Started; of about, Device, Started, Facts and Period are kept. Where the
// disk fails later, fault (which may be nil) is told once, from another goroutine; the take goes on
// in memory. The error here is that the folder cannot be written.
func Record(dir string, about Take, fault func(error)) (*Recorder, error) {
	d, err := openFolder(dir)
	if err != nil {
		return nil, unwritable(dir, err)
	}
	r, err := newRecorder(d, dir, about, fault)
	if err != nil {
		return nil, unwritable(dir, err)
	}
	go r.run()
	return r, nil
}

func unwritable(dir string, err error) error {
	return fmt.Errorf("takes cannot be kept in %s: %w; choose a folder that can be written", dir, cause(err))
}

// cause leaves out the paths that the operating system's errors carry and ours has said.
func cause(err error) error {
	var p *fs.PathError
	var l *os.LinkError
	switch {
	case errors.As(err, &p):
		return p.Err
	case errors.As(err, &l):
		return l.Err
	}
	return err
}

func newRecorder(d disk, dir string, about Take, fault func(error)) (*Recorder, error) {
	b := NewBuilder(about)
	head, err := growingHead(b.take)
	if err != nil {
		return nil, err
	}
	base, file, err := createGrowing(d, about.Started)
	if err != nil {
		return nil, err
	}
	if err := begin(d, file, head); err != nil {
		return nil, cmp.Or(err, file.Close(), d.remove(base+GrowingEnding))
	}
	return &Recorder{
		disk: d, dir: dir, base: base, file: file, fault: fault, builder: b,
		wake: make(chan struct{}, 1), quit: make(chan struct{}), done: make(chan struct{}),
	}, nil
}

func begin(d disk, file handle, head []byte) error {
	if _, err := file.Write(head); err != nil {
		return err
	}
	if err := file.Sync(); err != nil {
		return err
	}
	return d.sync()
}

// createGrowing makes a growing file under a name that no take has.
func createGrowing(d disk, started time.Time) (base string, file handle, err error) {
	names, err := d.names()
	if err != nil {
		return "", nil, err
	}
	for n := 1; ; n++ {
		base = takeName(started, n)
		if slices.Contains(names, base+TakeEnding) {
			continue
		}
		file, err = d.create(base + GrowingEnding)
		if !errors.Is(err, fs.ErrExist) {
			return base, file, err
		}
	}
}

// takeName is the n-th name of a take: "take-2026-03-01-171502", "take-2026-03-01-171502-2".
func takeName(started time.Time, n int) string {
	name := "take"
	if !started.IsZero() {
		name = started.Format("take-2006-01-02-150405")
	}
	if n > 1 {
		name = fmt.Sprintf("%s-%d", name, n)
	}
	return name
}

// Growing is the path of the growing file.
func (r *Recorder) Growing() string { return filepath.Join(r.dir, r.base+GrowingEnding) }

// Add takes the next message and returns what it changed; see Builder.Add. It does not wait for
// the disk. After Close it changes nothing.
func (r *Recorder) Add(m Message) []Change {
	r.mu.Lock()
	defer r.mu.Unlock()
	if r.closed {
		return nil
	}
	changes := r.builder.Add(m)
	r.pending = appendMessage(r.pending, m)
	select {
	case r.wake <- struct{}{}:
	default:
	}
	return changes
}

// Note is the note of index i as it stands; see Builder.Note.
func (r *Recorder) Note(i int) Note {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.builder.Note(i)
}

// Take returns the take as it stands; see Builder.Take.
func (r *Recorder) Take() *Take {
	r.mu.Lock()
	defer r.mu.Unlock()
	return r.builder.Take()
}

// run hands records to the disk as they come, and has them made safe within the time allowed.
func (r *Recorder) run() {
	defer close(r.done)
	var due <-chan time.Time
	for {
		select {
		case <-r.wake:
			if r.flush() && due == nil {
				due = time.After(syncAfter)
			}
		case <-due:
			due = nil
			r.sync()
		case <-r.quit:
			r.flush()
			return
		}
	}
}

// flush writes what is pending and reports whether there is something to make safe.
func (r *Recorder) flush() bool {
	r.mu.Lock()
	b := r.pending
	r.pending = nil
	r.mu.Unlock()
	if len(b) == 0 || r.broken != nil {
		return false
	}
	if _, err := r.file.Write(b); err != nil {
		r.fail(err)
		return false
	}
	return true
}

func (r *Recorder) sync() {
	if r.broken != nil {
		return
	}
	if err := r.file.Sync(); err != nil {
		r.fail(err)
	}
}

// fail notes the first fault of the disk. Nothing more goes into the growing file, since a record
// after a torn one could not be read.
func (r *Recorder) fail(err error) {
	r.broken = fmt.Errorf("the take cannot be written to %s while it is played: %w; it is kept in memory, so free some space before it ends", r.Growing(), cause(err))
	if r.fault != nil {
		r.fault(r.broken)
	}
}

// Close ends the take, writes it as a Standard MIDI File beside the growing one, and removes that.
// It returns the path of the take, and ErrNoNotes where nothing was played, in which case nothing
// is left. Another error with a path says that the disk failed on the way and the take is whole all
// the same; an error without one, that the take could not be written: what was safe of it stays in
// the growing file, for Recover. Close may be called again, and returns the same.
func (r *Recorder) Close() (path string, err error) {
	r.closing.Do(func() {
		r.mu.Lock()
		r.closed = true
		r.mu.Unlock()
		close(r.quit)
		<-r.done
		r.path, r.err = r.finish()
	})
	return r.path, r.err
}

func (r *Recorder) finish() (string, error) {
	take := r.builder.Take()
	if len(take.Notes) == 0 {
		return "", cmp.Or(ErrNoNotes, r.file.Close(), r.disk.remove(r.base+GrowingEnding))
	}
	r.end()
	if err := writeTake(r.disk, r.base, take); err != nil {
		_ = r.file.Close()
		return "", fmt.Errorf("the take could not be written to %s: %w; what is in %s is recovered later",
			filepath.Join(r.dir, r.base+TakeEnding), cause(err), r.Growing())
	}
	path := filepath.Join(r.dir, r.base+TakeEnding)
	if err := cmp.Or(r.file.Close(), r.disk.remove(r.base+GrowingEnding)); err != nil {
		return path, fmt.Errorf("the take is written, but %s is left over: %w", r.Growing(), cause(err))
	}
	return path, r.broken
}

// end marks the growing file as complete and makes it safe, so that whatever happens from now on
// Recover knows what it has.
func (r *Recorder) end() {
	if r.broken != nil {
		return
	}
	if _, err := r.file.Write(appendRecord(nil, []byte{endRecord})); err != nil {
		r.fail(err)
		return
	}
	r.sync()
}

// writeTake writes a take under its name so that the name never means half a file: into a file of
// another name first, made safe, then renamed, and the renaming made safe.
func writeTake(d disk, base string, t *Take) error {
	part := "." + base + TakeEnding + ".part"
	_ = d.remove(part) // a leftover of a try that was cut off, if there is one
	f, err := d.create(part)
	if err != nil {
		return err
	}
	if err := cmp.Or(WriteSMF(f, t), f.Sync(), f.Close()); err != nil {
		return cmp.Or(err, d.remove(part))
	}
	if err := d.rename(part, base+TakeEnding); err != nil {
		return cmp.Or(err, d.remove(part))
	}
	return d.sync()
}
