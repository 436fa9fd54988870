package journal

import (
	"bufio"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path"
	"strconv"
	"time"
)

// The files of an export.
const (
	exportLines = "journal.jsonl"
	exportCSV   = "takes.csv"
	exportTakes = "takes"
)

// Export writes all there is of a pupil into a new folder: journal.jsonl has one Record a line, takes/
// the takes as Standard MIDI Files, takes.csv the measures for a spreadsheet. All of it is readable by
// its owner alone.
func (j *Journal) Export(ctx context.Context, pupil, dir string) error {
	if err := os.Mkdir(dir, 0o700); err != nil {
		return fmt.Errorf("no new folder for the export: %w", err)
	}
	root, err := os.OpenRoot(dir)
	if err != nil {
		return err
	}
	defer root.Close()
	if err := root.Mkdir(exportTakes, 0o700); err != nil {
		return err
	}
	err = create(root, exportLines, func(w io.Writer) error {
		lines := json.NewEncoder(w)
		lines.SetEscapeHTML(false)
		return j.Records(ctx, pupil, func(r Record) error {
			if r.Kind == "take" {
				r.File = path.Join(exportTakes, r.Digest+".mid")
				smf := r.SMF
				r.SMF = nil
				if err := create(root, r.File, func(w io.Writer) error { _, err := w.Write(smf); return err }); err != nil {
					return err
				}
			}
			return lines.Encode(r)
		})
	})
	if err != nil {
		return err
	}
	h, err := j.History(ctx, pupil, moment(0))
	if err != nil {
		return err
	}
	return create(root, exportCSV, func(w io.Writer) error { return WriteCSV(w, h) })
}

// create writes a file in a folder, readable by its owner alone. It is on disk when create returns.
func create(root *os.Root, name string, write func(io.Writer) error) error {
	f, err := root.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	b := bufio.NewWriter(f)
	if err = write(b); err == nil {
		if err = b.Flush(); err == nil {
			err = f.Sync()
		}
	}
	return errors.Join(err, f.Close())
}

// Import reads what Export wrote, into the pupil of its name or, where as is not "", another. It returns
// how many takes there were. What is wrong with a record is told with its line, and nothing is read in.
func (j *Journal) Import(ctx context.Context, as, dir string) (int, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return 0, fmt.Errorf("nothing to import: %w", err)
	}
	defer root.Close()
	f, err := root.Open(exportLines)
	if err != nil {
		return 0, fmt.Errorf("nothing to import in %s: %w", dir, err)
	}
	defer f.Close()
	lines := bufio.NewReader(f)
	line := 0
	n, err := j.TakeIn(ctx, as, func() (Record, error) {
		line++
		b, err := lines.ReadBytes('\n')
		if errors.Is(err, io.EOF) && len(b) == 0 {
			return Record{}, nil
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return Record{}, err
		}
		var r Record
		if err := json.Unmarshal(b, &r); err != nil {
			return Record{}, err
		}
		if r.Kind == "" {
			return Record{}, errors.New("a record without its kind")
		}
		if r.Kind == "take" && r.File != "" {
			if r.SMF, err = root.ReadFile(r.File); err != nil {
				return Record{}, err
			}
		}
		return r, nil
	})
	if err != nil {
		return 0, fmt.Errorf("%s line %d: %w", path.Join(dir, exportLines), line, err)
	}
	return n, nil
}

// WriteCSV writes measures as a table (RFC 4180), one line a take; what was not measured is empty.
func WriteCSV(w io.Writer, ms []Measures) error {
	c := csv.NewWriter(w)
	err := c.Write([]string{
		"take", "started", "minutes", "what", "as asked", "mark", "notes", "time", "sound",
		"evenness percent", "notes a second", "wrong notes", "notes expected",
	})
	for i := 0; i < len(ms) && err == nil; i++ {
		m := &ms[i]
		err = c.Write([]string{
			strconv.FormatInt(m.Take, 10), m.Started.Format(time.RFC3339), decimal(new(m.Practised.Minutes()), 2), cell(m.Subject), strconv.FormatBool(m.AsAsked),
			whole(m.Mark), whole(m.MarkNotes), whole(m.MarkTime), whole(m.MarkSound),
			decimal(m.Evenness, 2), decimal(m.Speed, 2), whole(m.Wrong), whole(m.Expected),
		})
	}
	c.Flush()
	return errors.Join(err, c.Error())
}

// cell is a text that a spreadsheet does not take for a formula.
func cell(s string) string {
	if s != "" && (s[0] == '=' || s[0] == '+' || s[0] == '-' || s[0] == '@') {
		return "'" + s
	}
	return s
}

func whole(v *int) string {
	if v == nil {
		return ""
	}
	return strconv.Itoa(*v)
}

func decimal(v *float64, places int) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', places, 64)
}
