package main

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"evenhand/scoring"
)

// measured is what was learnt of one piano, and when.
type measured struct {
	scoring.Calibration
	Measured time.Time `json:"measured"`
}

// measuredPianos are the pianos of this machine that were measured, in a file of the user's.
type measuredPianos struct {
	path string
	all  []measured
}

// openMeasured reads what was learnt of the pianos. That nothing was is no error.
func openMeasured() (*measuredPianos, error) {
	data, err := dataFolder()
	if err != nil {
		return nil, err
	}
	m := &measuredPianos{path: filepath.Join(data, "pianos.json")}
	text, err := os.ReadFile(m.path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return m, nil
	case err == nil:
		err = json.Unmarshal(text, &m.all)
	}
	if err != nil {
		return nil, fmt.Errorf("what was learnt of the pianos cannot be read (%s: %v): move the file away and run evenhand loudness again", m.path, cause(err))
	}
	return m, nil
}

// of is what was learnt of the piano of this name, or nil.
func (m *measuredPianos) of(name string) *measured {
	for i := range m.all {
		if m.all[i].Piano == name {
			return &m.all[i]
		}
	}
	return nil
}

// find is the piano that name names, wholly or in part.
func (m *measuredPianos) find(name string) (*measured, error) {
	if p := m.of(name); p != nil {
		return p, nil
	}
	var found []*measured
	var names []string
	for i := range m.all {
		names = append(names, fmt.Sprintf("%q", m.all[i].Piano))
		if strings.Contains(strings.ToLower(m.all[i].Piano), strings.ToLower(name)) {
			found = append(found, &m.all[i])
		}
	}
	switch {
	case len(found) == 1:
		return found[0], nil
	case len(m.all) == 0:
		return nil, fmt.Errorf("no piano was measured yet: evenhand loudness does it")
	}
	return nil, fmt.Errorf("no one piano %q was measured: there is %s", name, strings.Join(names, ", "))
}

// keep puts a piano in the place of what was known of it before.
func (m *measuredPianos) keep(p measured) error {
	m.all = slices.DeleteFunc(m.all, func(q measured) bool { return q.Piano == p.Piano })
	m.all = append(m.all, p)
	slices.SortFunc(m.all, func(a, b measured) int { return cmp.Compare(a.Piano, b.Piano) })
	return m.write()
}

// forget leaves one out.
func (m *measuredPianos) forget(name string) error {
	m.all = slices.DeleteFunc(m.all, func(q measured) bool { return q.Piano == name })
	return m.write()
}

// write puts the file in the place of the old one at one stroke, so that a fault leaves the old one.
func (m *measuredPianos) write() error {
	text, err := json.MarshalIndent(m.all, "", "  ")
	if err != nil {
		return err
	}
	fault := func(err error) error {
		return fmt.Errorf("what was learnt of the piano cannot be kept in %s: %w", m.path, cause(err))
	}
	if err := os.MkdirAll(filepath.Dir(m.path), 0o700); err != nil {
		return fault(err)
	}
	f, err := os.CreateTemp(filepath.Dir(m.path), ".pianos-*")
	if err != nil {
		return fault(err)
	}
	defer os.Remove(f.Name())
	_, err = f.Write(append(text, '\n'))
	if err = cmp.Or(err, f.Sync()); err != nil {
		_ = f.Close() // what is wrong is known
		return fault(err)
	}
	if err := f.Close(); err != nil {
		return fault(err)
	}
	if err := os.Rename(f.Name(), m.path); err != nil {
		return fault(err)
	}
	return nil
}

// String says what is known of a piano in one line.
func (p *measured) String() string {
	var words []string
	for _, l := range p.Levels {
		words = append(words, fmt.Sprintf("%s %.0f", l.Dynamic, l.Velocity))
	}
	loud := strings.Join(words, ", ")
	if loud == "" {
		loud = "one loudness for every key"
	}
	legato := ""
	if p.LegatoGapMS > 0 {
		legato = fmt.Sprintf("; joined notes come up to %.0f ms apart", p.LegatoGapMS)
	}
	return fmt.Sprintf("%s: %s%s", plain(p.Piano), loud, legato)
}

// calibrationOf is the scale of the piano of this name, or nil where it was never measured.
func calibrationOf(name string) (*scoring.Calibration, error) {
	m, err := openMeasured()
	if err != nil {
		return nil, err
	}
	if p := m.of(name); p != nil {
		return &p.Calibration, nil
	}
	return nil, nil
}
