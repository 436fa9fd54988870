package capture

import (
	"errors"
	"io/fs"
	"maps"
	"slices"
	"sync"
	"time"

	"pgregory.net/rapid"
)

var (
	errPower = errors.New("the power is gone")
	errFull  = errors.New("no space left on device")
)

// fakeDisk is a disk in memory that knows what would outlast the power: of a file what was synced,
// of the folder the names up to its last sync.
type fakeDisk struct {
	mu      sync.Mutex
	now     map[string]*fakeFile
	safe    map[string]*fakeFile
	changes []func(map[string]*fakeFile) // of names since the last sync, in order

	steps int           // operations until the power fails; negative for never
	space int           // bytes until it is full; negative for no end
	gate  chan struct{} // where not nil, every write waits for one
	syncs []fakeSync    // of files, as they were
}

type fakeFile struct {
	disk   *fakeDisk
	data   []byte
	safe   int // bytes that outlast the power
	locked bool
}

type fakeSync struct {
	at   time.Time
	size int
}

func newFakeDisk() *fakeDisk {
	return &fakeDisk{now: map[string]*fakeFile{}, safe: map[string]*fakeFile{}, steps: -1, space: -1}
}

// step counts one operation down and says when the power is gone.
func (d *fakeDisk) step() error {
	if d.steps == 0 {
		return errPower
	}
	d.steps--
	return nil
}

func (d *fakeDisk) change(f func(map[string]*fakeFile)) {
	f(d.now)
	d.changes = append(d.changes, f)
}

func (d *fakeDisk) names() ([]string, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	return slices.Sorted(maps.Keys(d.now)), d.step()
}

func (d *fakeDisk) read(name string) ([]byte, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	f := d.now[name]
	if f == nil {
		return nil, fs.ErrNotExist
	}
	return slices.Clone(f.data), d.step()
}

func (d *fakeDisk) create(name string) (handle, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.now[name] != nil {
		return nil, fs.ErrExist
	}
	if err := d.step(); err != nil {
		return nil, err
	}
	f := &fakeFile{disk: d, locked: true}
	d.change(func(m map[string]*fakeFile) { m[name] = f })
	return f, nil
}

func (d *fakeDisk) lock(name string) (handle, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	f := d.now[name]
	switch {
	case f == nil:
		return nil, fs.ErrNotExist
	case f.locked:
		return nil, errLocked
	}
	f.locked = true
	return f, d.step()
}

func (d *fakeDisk) rename(from, to string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.step(); err != nil {
		return err
	}
	f := d.now[from]
	d.change(func(m map[string]*fakeFile) { delete(m, from); m[to] = f })
	return nil
}

func (d *fakeDisk) remove(name string) error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.step(); err != nil {
		return err
	}
	if d.now[name] == nil {
		return fs.ErrNotExist
	}
	d.change(func(m map[string]*fakeFile) { delete(m, name) })
	return nil
}

func (d *fakeDisk) sync() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	if err := d.step(); err != nil {
		return err
	}
	d.safe, d.changes = maps.Clone(d.now), nil
	return nil
}

func (f *fakeFile) Write(b []byte) (int, error) {
	if gate := f.disk.gate; gate != nil {
		<-gate
	}
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	if err := f.disk.step(); err != nil {
		return 0, err
	}
	if space := f.disk.space; space >= 0 && len(b) > space {
		f.data = append(f.data, b[:space]...)
		f.disk.space = 0
		return space, errFull
	}
	f.data = append(f.data, b...)
	if f.disk.space >= 0 {
		f.disk.space -= len(b)
	}
	return len(b), nil
}

func (f *fakeFile) Sync() error {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	if err := f.disk.step(); err != nil {
		return err
	}
	f.safe = len(f.data)
	f.disk.syncs = append(f.disk.syncs, fakeSync{time.Now(), f.safe})
	return nil
}

func (f *fakeFile) Close() error {
	f.disk.mu.Lock()
	defer f.disk.mu.Unlock()
	f.locked = false
	return nil
}

// powerLoss is the disk as it may be found when the power is back: of the changes of names since
// the last sync the first few are there; of what was written to a file since its last sync some
// part from the front, the end of which may be torn.
func (d *fakeDisk) powerLoss(t *rapid.T) *fakeDisk {
	after := newFakeDisk()
	names := maps.Clone(d.safe)
	for _, change := range d.changes[:rapid.IntRange(0, len(d.changes)).Draw(t, "changes kept")] {
		change(names)
	}
	for _, name := range slices.Sorted(maps.Keys(names)) {
		f := names[name]
		kept := rapid.IntRange(f.safe, len(f.data)).Draw(t, "bytes kept of "+name)
		data := slices.Clone(f.data[:kept])
		for i := max(f.safe, kept-rapid.IntRange(0, 16).Draw(t, "torn")); i < kept; i++ {
			data[i] = rapid.SampledFrom([]byte{0, 0xFF, data[i] ^ 0x10}).Draw(t, "torn byte")
		}
		g := &fakeFile{disk: after, data: data, safe: len(data)}
		after.now[name], after.safe[name] = g, g
	}
	return after
}
