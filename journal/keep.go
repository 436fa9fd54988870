package journal

import (
	"bytes"
	"compress/flate"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"strings"
	"sync"
	"time"

	"evenhand/references"
	"evenhand/scoring"
)

// FreePractice is the subject of what was played with nothing asked.
const FreePractice = "free practice"

// Entry is one take to be kept.
type Entry struct {
	Asked     string        // the request in words or the path of a score; "" for free practice
	Started   time.Time     // when the take began
	Practised time.Duration // from the first key to the last release
	Device    string
	SMF       []byte              // the take as a Standard MIDI File
	Marked    time.Time           // when it was marked
	Outcome   *scoring.Assessment // nil for free practice
}

// Subject is what a request or a score is practised as: a request without its loudness and tempo, so
// that the same scale soft and loud, slow and fast, is one thing; the name of a score without its
// folder and ending, and a part of it as a thing of its own.
func Subject(asked string) string {
	if asked == "" {
		return FreePractice
	}
	q, err := references.Parse(asked)
	if err != nil {
		whole, part := references.ParsePart(asked)
		name := filepath.Base(filepath.ToSlash(whole))
		name = strings.TrimSuffix(name, filepath.Ext(name))
		if part.BPM = 0; part != (references.Part{}) {
			name += ", " + part.String()
		}
		return name
	}
	q.Dynamic, q.Shape = references.PerHand[references.Dynamic]{}, references.NoShape
	q.BPM, q.NotesPerBeat = 0, 0
	return q.String()
}

// Keep stores a take with its assessment in one transaction and returns the take's number. When it
// returns without an error the take is on disk. A take that is there already (the same bytes, pupil
// and subject) is not stored twice; its assessment takes the place of one by the same version.
func (j *Journal) Keep(ctx context.Context, pupil string, e Entry) (int64, error) {
	var id int64
	err := j.in(ctx, func(tx *sql.Tx) error {
		p, err := pupilID(ctx, tx, pupil)
		if err != nil {
			return err
		}
		id, err = keep(ctx, tx, p, e)
		return err
	})
	return id, err
}

func keep(ctx context.Context, tx *sql.Tx, pupil int64, e Entry) (int64, error) {
	subject, err := subjectID(ctx, tx, Subject(e.Asked))
	if err != nil {
		return 0, err
	}
	var id int64
	err = tx.QueryRowContext(ctx, `
		INSERT INTO takes (pupil, subject, digest, started, asked, device, smf) VALUES ($1, $2, $3, $4, $5, $6, $7)
		ON CONFLICT (pupil, digest, subject) DO UPDATE SET asked = excluded.asked RETURNING id`,
		pupil, subject, digest(e.SMF), stamp(e.Started), text(e.Asked), text(e.Device), e.SMF).Scan(&id)
	if err != nil {
		return 0, err
	}
	m := Measures{Take: id, Started: e.Started, Practised: e.Practised, AsAsked: true}
	if e.Outcome != nil {
		if err := putAssessment(ctx, tx, id, e.Outcome, e.Marked); err != nil {
			return 0, err
		}
		amended, err := amend(ctx, tx, id, e.Outcome)
		if err != nil {
			return 0, err
		}
		m.read(amended)
	}
	return id, putMeasures(ctx, tx, pupil, subject, m)
}

// subjectID finds a subject, or adds it.
func subjectID(ctx context.Context, tx *sql.Tx, name string) (int64, error) {
	name = text(name)
	var id int64
	err := tx.QueryRowContext(ctx, "SELECT id FROM subjects WHERE digest = $1", digest(name)).Scan(&id)
	if !errors.Is(err, sql.ErrNoRows) {
		return id, err
	}
	// Another program may add it between.
	err = tx.QueryRowContext(ctx, `INSERT INTO subjects (digest, name) VALUES ($1, $2)
		ON CONFLICT (digest) DO UPDATE SET name = excluded.name RETURNING id`, digest(name), name).Scan(&id)
	return id, err
}

func putAssessment(ctx context.Context, tx *sql.Tx, take int64, a *scoring.Assessment, at time.Time) error {
	body, err := pack(a)
	if err != nil {
		return err
	}
	return putPacked(ctx, tx, take, a.Version, body, at)
}

func putPacked(ctx context.Context, tx *sql.Tx, take int64, version string, body []byte, at time.Time) error {
	_, err := tx.ExecContext(ctx, `INSERT INTO assessments (take, version, marked, body) VALUES ($1, $2, $3, $4)
		ON CONFLICT (take, version) DO UPDATE SET marked = excluded.marked, body = excluded.body
			WHERE excluded.marked >= assessments.marked`,
		take, text(version), stamp(at), body)
	return err
}

// packers are used again: a new one takes more than a megabyte.
var packers = sync.Pool{New: func() any {
	w, err := flate.NewWriter(nil, flate.BestSpeed)
	if err != nil {
		panic(err) // there is such a level
	}
	return w
}}

// pack makes of an assessment what is stored: its JSON, deflated (RFC 1951).
func pack(a *scoring.Assessment) ([]byte, error) {
	var b bytes.Buffer
	w := packers.Get().(*flate.Writer)
	defer packers.Put(w)
	w.Reset(&b)
	if err := a.EncodeJSON(w); err != nil {
		return nil, err
	}
	if err := w.Close(); err != nil {
		return nil, err
	}
	return b.Bytes(), nil
}

// assessmentLimit is far more than any assessment takes, so that a damaged one cannot fill memory.
const assessmentLimit = 64 << 20

func unpack(body []byte) (*scoring.Assessment, error) {
	var a scoring.Assessment
	err := json.NewDecoder(io.LimitReader(flate.NewReader(bytes.NewReader(body)), assessmentLimit)).Decode(&a)
	if err != nil {
		return nil, fmt.Errorf("a stored assessment is damaged: %w", err)
	}
	return &a, nil
}
