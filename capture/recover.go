package capture

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"
)

// Recovered is what became of one unfinished recording.
type Recovered struct {
	Growing string // path of the recording
	Path    string // path of the take made from it; empty where none was
	Take    *Take  // the take; nil where none was made
	Text    string // what was done, one plain line
	Err     error  // why the recording could not be dealt with; it is then left as it is
}

// Recover looks in a folder for recordings that were not finished, because the program or the
// machine stopped, and makes a take of each. Recordings that another process is writing are left
// alone. A folder that is not there holds none.
func Recover(dir string) ([]Recovered, error) {
	list, err := recoverAll(folder(dir))
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("unfinished takes cannot be looked for in %s: %w", dir, cause(err))
	}
	for i := range list {
		r := &list[i]
		r.Growing = filepath.Join(dir, r.Growing)
		if r.Path != "" {
			r.Path = filepath.Join(dir, r.Path)
		}
		if r.Err != nil {
			r.Err = fmt.Errorf("the unfinished take %s cannot be recovered: %w", r.Growing, cause(r.Err))
		}
	}
	return list, nil
}

func recoverAll(d disk) ([]Recovered, error) {
	names, err := d.names()
	if err != nil {
		return nil, err
	}
	slices.Sort(names)
	var list []Recovered
	for _, name := range names {
		if !strings.HasSuffix(name, GrowingEnding) {
			continue
		}
		r := Recovered{Growing: name}
		r.Err = r.recover(d)
		if !errors.Is(r.Err, errLocked) && !errors.Is(r.Err, fs.ErrNotExist) {
			list = append(list, r)
		}
	}
	return list, nil
}

// recover deals with one recording, holding its lock so that no other process does.
func (r *Recovered) recover(d disk) error {
	file, err := d.lock(r.Growing)
	if err != nil {
		return err
	}
	data, err := d.read(r.Growing)
	if err != nil {
		return cmp.Or(err, file.Close())
	}
	take, err := readGrowing(data)
	switch {
	case errors.Is(err, ErrTorn):
		damaged := strings.TrimSuffix(r.Growing, GrowingEnding) + ".damaged"
		r.Text = fmt.Sprintf("an unfinished take is damaged from its beginning and cannot be read; it is kept as %s", damaged)
		return cmp.Or(file.Close(), d.rename(r.Growing, damaged), d.sync())
	case err != nil || len(take.Notes) == 0:
		r.Text = fmt.Sprintf("an unfinished take (%s) held no notes and is removed", r.Growing)
	default:
		if err := r.save(d, take); err != nil {
			return cmp.Or(err, file.Close())
		}
	}
	return cmp.Or(file.Close(), d.remove(r.Growing), d.sync())
}

// save writes the take, unless an earlier try came so far that it is written already.
func (r *Recovered) save(d disk, take *Take) error {
	var b bytes.Buffer
	if err := WriteSMF(&b, take); err != nil {
		return err
	}
	names, err := d.names()
	if err != nil {
		return err
	}
	base := strings.TrimSuffix(r.Growing, GrowingEnding)
	r.Path = base + TakeEnding
	for n := 2; slices.Contains(names, r.Path); n++ {
		if there, err := d.read(r.Path); err == nil && bytes.Equal(there, b.Bytes()) {
			r.Take, r.Text = take, fmt.Sprintf("the take %s is whole; its recording is removed", r.Path)
			return nil
		}
		r.Path = fmt.Sprintf("%s-recovered-%d%s", base, n, TakeEnding)
	}
	if err := writeTake(d, strings.TrimSuffix(r.Path, TakeEnding), take); err != nil {
		r.Path = ""
		return err
	}
	r.Take, r.Text = take, fmt.Sprintf("an unfinished take was recovered: %s in %s", count(len(take.Notes), "note"), r.Path)
	return nil
}

// readGrowing makes a take of a growing file, as far as it goes. The error is ErrTorn where nothing
// can be read, or io.EOF where not even its head was written, before which there is no note.
func readGrowing(data []byte) (*Take, error) {
	g, err := OpenGrowing(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	b := NewBuilder(g.About())
	for {
		m, err := g.Next()
		if err != nil {
			break
		}
		b.Add(m)
	}
	take := b.Take()
	if !g.Ended() {
		take.Warnings = append(take.Warnings, fmt.Sprintf("the recording stopped before the take was ended; recovered up to %.1f s", b.Now().Seconds()))
	}
	return take, nil
}
