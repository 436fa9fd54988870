package journal

import (
	"bytes"
	"database/sql"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strconv"
	"testing"
	"time"

	"evenhand/capture/pupil"
	"evenhand/internal/pgtest"
)

// benchTakes is how many takes the journal of the benchmarks has: EVENHAND_TAKES, or 100,000.
func benchTakes() int {
	if n, err := strconv.Atoi(os.Getenv("EVENHAND_TAKES")); err == nil {
		return n
	}
	return 100_000
}

// Of a school: so many pupils practised so many things over two years.
const (
	benchPupils   = 40
	benchSubjects = 60
	benchDays     = 730
)

// benchNow is the moment at which the benchmarks ask.
var benchNow = monday.AddDate(0, 0, benchDays)

// school makes a journal of many takes, all with files and assessments of full size.
func school(b *testing.B) *Journal {
	b.Helper()
	j := open(b, filepath.Join(b.TempDir(), "journal.db"))
	for p := range benchPupils {
		add(b, j, name(p))
	}
	e := judged(b, "D major scale, hands together", monday, wrongNotes(1, 2))
	body, err := pack(e.Outcome)
	if err != nil {
		b.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	n := benchTakes()
	for done := 0; done < n; {
		err := j.in(b.Context(), func(tx *sql.Tx) error {
			for end := min(n, done+2000); done < end; done++ {
				started := monday.Add(time.Duration(float64(done) / float64(n) * float64(benchDays*24) * float64(time.Hour)))
				if err := schoolTake(b, tx, e, body, int64(done+1), rng, started); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			b.Fatal(err)
		}
	}
	return j
}

// schoolTake stores one take as keep does, without packing the same assessment anew.
func schoolTake(b *testing.B, tx *sql.Tx, e Entry, body []byte, id int64, rng *rand.Rand, started time.Time) error {
	subject, err := subjectID(b.Context(), tx, fmt.Sprintf("thing %d", rng.IntN(benchSubjects)))
	if err != nil {
		return err
	}
	p := int64(1 + rng.IntN(benchPupils))
	if _, err = tx.ExecContext(b.Context(), "INSERT INTO takes (id, pupil, subject, digest, started, asked, device, smf) VALUES ($1, $2, $3, $4, $5, 'x', '', $6)",
		id, p, subject, fmt.Sprint(id), stamp(started), e.SMF); err != nil {
		return err
	}
	if _, err = tx.ExecContext(b.Context(), "INSERT INTO assessments (take, version, marked, body) VALUES ($1, '1', $2, $3)", id, stamp(started), body); err != nil {
		return err
	}
	m := Measures{Take: id, Started: started, Practised: e.Practised}
	m.read(e.Outcome)
	m.Mark, m.Evenness = new(60+rng.IntN(40)), new(5+5*rng.Float64())
	return putMeasures(b.Context(), tx, p, subject, m)
}

// BenchmarkSchool asks a journal of 100,000 takes of 40 pupils.
func BenchmarkSchool(b *testing.B) {
	j := school(b)
	b.Run("progress", func(b *testing.B) {
		for b.Loop() {
			h, err := j.History(b.Context(), name(7), time.Time{})
			if err != nil || len(h) == 0 || len(Progress(h, benchNow, time.UTC)) == 0 {
				b.Fatal(err)
			}
		}
	})
	b.Run("plan", func(b *testing.B) {
		for b.Loop() {
			h, err := j.History(b.Context(), name(7), time.Time{})
			if err != nil || len(Plan(h, Wishes{Minutes: 20, Now: benchNow, Place: time.UTC})) == 0 {
				b.Fatal(err)
			}
		}
	})
	b.Run("week", func(b *testing.B) {
		for b.Loop() {
			r, err := j.Week(b.Context(), benchNow, time.UTC)
			if err != nil || len(r) != benchPupils || r[0].Takes == 0 {
				b.Fatal(err)
			}
		}
	})
	b.Run("keep", func(b *testing.B) {
		e := judged(b, "D major scale, hands together", benchNow, pupil.Pupil{Seed: 3})
		for n := int64(0); b.Loop(); n++ {
			mustKeep(b, j, name(7), nthTake(e, n))
		}
	})
	b.Run("open", func(b *testing.B) {
		for b.Loop() {
			again, err := Open(b.Context(), j.Name())
			if err != nil {
				b.Fatal(err)
			}
			again.Close()
		}
	})
}

// BenchmarkMarkAgain marks takes of a scale in SQLite by one worker and by two.
func BenchmarkMarkAgain(b *testing.B) {
	j := open(b, filepath.Join(b.TempDir(), "journal.db"))
	add(b, j, "Ada")
	e := judged(b, "D major scale, hands together", monday, wrongNotes(1, 2))
	const takes = 300
	for n := range int64(takes) {
		mine := e
		mine.SMF = append(bytes.Clone(e.SMF), byte(n), byte(n>>8))
		mustKeep(b, j, "Ada", mine)
	}
	for _, workers := range []int{1, 2} {
		b.Run(fmt.Sprintf("%d workers", workers), func(b *testing.B) {
			for n := 0; b.Loop(); n++ {
				v := fmt.Sprintf("%d by %d", n, workers)
				if err := j.MarkAgain(b.Context(), v, workers, marking(v), func(Again) {}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(takes*float64(b.N)/b.Elapsed().Seconds(), "takes/s")
		})
	}
}

// BenchmarkMarkAgainShared marks one PostgreSQL again by one process of one worker and by two. The time
// includes the start of the processes but not that of the server.
func BenchmarkMarkAgainShared(b *testing.B) {
	for _, processes := range []int{1, 2} {
		b.Run(fmt.Sprintf("%d processes", processes), func(b *testing.B) {
			const takes = 2000
			for b.Loop() {
				b.StopTimer()
				where := pgtest.Database(b)
				j := open(b, where)
				add(b, j, "Ada")
				e := judged(b, "D major scale, hands together", monday, wrongNotes(1, 2))
				for n := range int64(takes) {
					mustKeep(b, j, "Ada", nthTake(e, n))
				}
				b.StartTimer()
				seen := map[int64]bool{}
				for _, ids := range runMarking(b, where, processes) {
					for _, id := range ids {
						if seen[id] {
							b.Errorf("take %d was marked twice", id)
						}
						seen[id] = true
					}
				}
				if len(seen) != takes {
					b.Errorf("%d of %d takes", len(seen), takes)
				}
			}
			b.ReportMetric(takes*float64(b.N)/b.Elapsed().Seconds(), "takes/s")
		})
	}
}
