package journal

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"
)

// waitingEnding is that of a take that waits to be taken in.
const waitingEnding = ".waiting.json"

// waits is a take in a file until the journal can be written again.
type waits struct {
	Pupil string `json:"pupil"`
	Record
}

// Wait keeps a take as a file in dir until the journal can be written, and returns its path. It is on
// disk when Wait returns.
func Wait(dir, pupil string, e Entry) (string, error) {
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return "", err
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return "", err
	}
	defer root.Close()
	w := waits{pupil, Record{
		Kind: "take", Schema: RecordSchema, Asked: e.Asked, Started: &e.Started, Practised: e.Practised.Microseconds(),
		Device: e.Device, Digest: digest(e.SMF), SMF: e.SMF,
	}}
	if e.Outcome != nil {
		w.Assessments = []Assessed{{e.Outcome.Version, e.Marked, e.Outcome}}
	}
	name := digest(pupil + "\x00" + w.Digest + "\x00" + Subject(e.Asked))
	part := name + ".part"
	if err := create(root, part, func(f io.Writer) error { return json.NewEncoder(f).Encode(w) }); err != nil {
		return "", errors.Join(err, root.Remove(part))
	}
	name += waitingEnding
	return filepath.Join(dir, name), root.Rename(part, name)
}

// Waiting is what became of a take that waited.
type Waiting struct {
	File string
	Err  error // why it waits on; nil where it was taken in
}

// Collect takes the takes in that wait in dir. Each is in the journal before its file is removed, and
// is there once however often it is collected. A folder that is not there has none.
func (j *Journal) Collect(ctx context.Context, dir string) ([]Waiting, error) {
	files, err := waitingIn(dir)
	if err != nil {
		return nil, err
	}
	var all []Waiting
	for _, f := range files {
		all = append(all, Waiting{f, j.collect(ctx, f)})
	}
	return all, nil
}

func waitingIn(dir string) ([]string, error) {
	entries, err := os.ReadDir(dir)
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, err
	}
	var files []string
	for _, e := range entries {
		if strings.HasSuffix(e.Name(), waitingEnding) {
			files = append(files, filepath.Join(dir, e.Name()))
		}
	}
	return files, nil
}

func readWaiting(file string) (waits, error) {
	var w waits
	b, err := os.ReadFile(file)
	if err != nil {
		return w, err
	}
	if err := json.Unmarshal(b, &w); err != nil {
		return w, fmt.Errorf("%s cannot be read: %w", file, err)
	}
	return w, nil
}

func (j *Journal) collect(ctx context.Context, file string) error {
	w, err := readWaiting(file)
	if errors.Is(err, fs.ErrNotExist) {
		return nil // another program took it in
	}
	if err != nil {
		return err
	}
	records := []Record{{Kind: "pupil", Schema: RecordSchema, Name: w.Pupil, Added: new(time.Now())}, w.Record, {}}
	_, err = j.TakeIn(ctx, "", func() (Record, error) {
		r := records[0]
		records = records[1:]
		return r, nil
	})
	if err != nil {
		return err
	}
	if err := os.Remove(file); !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// Forget removes the takes of a pupil that wait in dir and says how many there were.
func Forget(dir, pupil string) (int, error) {
	files, err := waitingIn(dir)
	if err != nil {
		return 0, err
	}
	n := 0
	for _, f := range files {
		if w, err := readWaiting(f); err != nil || w.Pupil != pupil {
			continue
		}
		if err := os.Remove(f); err != nil {
			return n, err
		}
		n++
	}
	return n, nil
}
