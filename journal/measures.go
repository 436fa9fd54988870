package journal

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"time"

	"evenhand/scoring"
)

// Measures are what is asked of one take over weeks. A nil pointer means that nothing was measured.
type Measures struct {
	Take      int64
	Pupil     int64
	Subject   string
	Started   time.Time
	Practised time.Duration
	AsAsked   bool // not so, nothing but the time is measured

	Mark, MarkNotes, MarkTime, MarkSound *int // 0 to 100

	Evenness *float64 // SD of the intervals in percent of their mean, over all runs by their notes
	Speed    *float64 // notes a second
	Wrong    *int     // notes wrong, left out or besides, of Expected
	Expected *int
	Faults   []Fault // what cost marks, each kind and hand once, the most useful first
}

// Fault is a kind of finding in one hand.
type Fault struct {
	Kind scoring.Kind `json:"kind"`
	Hand string       `json:"hand,omitempty"`
}

// read takes the measures out of an assessment.
func (m *Measures) read(a *scoring.Assessment) {
	m.AsAsked = a.Heard.AsAsked
	if !m.AsAsked {
		return
	}
	m.Mark, m.MarkNotes, m.MarkTime, m.MarkSound = a.Marks.Overall, a.Marks.Notes, a.Marks.Time, a.Marks.Sound
	var sum, notes float64
	for _, e := range a.Evenness {
		if e.CV != nil {
			sum += *e.CV * float64(e.Notes)
			notes += float64(e.Notes)
		}
	}
	if notes > 0 {
		m.Evenness = new(sum / notes)
	}
	if a.Tempo != nil {
		m.Speed = a.Tempo.NotesPerSecond
	}
	// The counts have what the teacher left out of them; of the notes too many, some are no mistakes.
	wrong := a.Counts.Wrong + a.Counts.Missing
	for i := range a.Notes {
		if n := &a.Notes[i]; n.Verdict == "extra" && n.Mistake() {
			wrong++
		}
	}
	m.Wrong, m.Expected = new(wrong), new(a.Counts.Expected)
	seen := map[Fault]bool{}
	for _, f := range a.Findings {
		fault := Fault{Kind: f.Kind}
		if f.Hand != nil {
			fault.Hand = *f.Hand
		}
		if f.Severity != scoring.Said && !seen[fault] {
			seen[fault] = true
			m.Faults = append(m.Faults, fault)
		}
	}
}

func putMeasures(ctx context.Context, tx *sql.Tx, pupil, subject int64, m Measures) error {
	faults, err := json.Marshal(m.Faults)
	if err != nil {
		return err
	}
	if len(m.Faults) == 0 {
		faults = nil
	}
	asAsked := 0
	if m.AsAsked {
		asAsked = 1
	}
	_, err = tx.ExecContext(ctx, `
		INSERT INTO measures (take, pupil, subject, started, practised, as_asked, mark, mark_notes, mark_time, mark_sound,
			evenness, speed, wrong, expected, faults)
		VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10, $11, $12, $13, $14, $15)
		ON CONFLICT (take) DO UPDATE SET as_asked = excluded.as_asked, mark = excluded.mark, mark_notes = excluded.mark_notes,
			mark_time = excluded.mark_time, mark_sound = excluded.mark_sound, evenness = excluded.evenness,
			speed = excluded.speed, wrong = excluded.wrong, expected = excluded.expected, faults = excluded.faults`,
		m.Take, pupil, subject, stamp(m.Started), m.Practised.Microseconds(), asAsked,
		null(m.Mark), null(m.MarkNotes), null(m.MarkTime), null(m.MarkSound),
		null(m.Evenness), null(m.Speed), null(m.Wrong), null(m.Expected), string(faults))
	return err
}

const selectMeasures = `SELECT m.take, m.pupil, s.name, m.started, m.practised, m.as_asked, m.mark, m.mark_notes, m.mark_time, m.mark_sound,
	m.evenness, m.speed, m.wrong, m.expected, m.faults FROM measures m JOIN subjects s ON s.id = m.subject `

func scanMeasures(r *sql.Rows) (Measures, error) {
	var m Measures
	var started, practised int64
	var asAsked int
	var marks [4]sql.Null[int]
	var evenness, speed sql.Null[float64]
	var wrong, expected sql.Null[int]
	var faults string
	err := r.Scan(&m.Take, &m.Pupil, &m.Subject, &started, &practised, &asAsked, &marks[0], &marks[1], &marks[2], &marks[3],
		&evenness, &speed, &wrong, &expected, &faults)
	if err != nil {
		return m, err
	}
	m.Started, m.Practised, m.AsAsked = moment(started), time.Duration(practised)*time.Microsecond, asAsked != 0
	m.Mark, m.MarkNotes, m.MarkTime, m.MarkSound = pointer(marks[0]), pointer(marks[1]), pointer(marks[2]), pointer(marks[3])
	m.Evenness, m.Speed, m.Wrong, m.Expected = pointer(evenness), pointer(speed), pointer(wrong), pointer(expected)
	if faults != "" {
		if err := json.Unmarshal([]byte(faults), &m.Faults); err != nil {
			return m, fmt.Errorf("the faults of take %d are damaged: %w", m.Take, err)
		}
	}
	return m, nil
}

// History is what a pupil played since a time, oldest first.
func (j *Journal) History(ctx context.Context, pupil string, since time.Time) ([]Measures, error) {
	id, err := pupilID(ctx, j.db, pupil)
	if err != nil {
		return nil, j.fault(err)
	}
	ms, err := rows(ctx, j.db, scanMeasures, selectMeasures+"WHERE m.pupil = $1 AND m.started >= $2 ORDER BY m.started, m.take", id, stamp(since))
	return ms, j.fault(err)
}

// since is what all pupils played since a time, oldest first.
func (j *Journal) since(ctx context.Context, since time.Time) ([]Measures, error) {
	ms, err := rows(ctx, j.db, scanMeasures, selectMeasures+"WHERE m.started >= $1 ORDER BY m.started, m.take", stamp(since))
	return ms, j.fault(err)
}
