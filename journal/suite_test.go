package journal

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/internal/pgtest"
	"evenhand/references"
	"evenhand/scoring"
)

func TestMain(m *testing.M) {
	if does, where := os.Getenv("JOURNAL_TEST_PROCESS"), os.Getenv("JOURNAL_TEST_WHERE"); does != "" {
		if err := map[string]func(string) error{"mark": markProcess, "keep": keepProcess}[does](where); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	os.Exit(pgtest.Main(m))
}

// process is this test program as a process of its own that does one thing to a journal, on one core.
func process(does, where string) *exec.Cmd {
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), "JOURNAL_TEST_PROCESS="+does, "JOURNAL_TEST_WHERE="+where, "GOMAXPROCS=1")
	cmd.Stderr = os.Stderr
	return cmd
}

// each runs a test on an empty journal of each kind: every test of what the journal does runs on
// both databases.
func each(t *testing.T, test func(t *testing.T, j *Journal, where string)) {
	for name, where := range map[string]func(testing.TB) string{
		"sqlite":     func(t testing.TB) string { return filepath.Join(t.TempDir(), "journal.db") },
		"postgresql": pgtest.Database,
	} {
		t.Run(name, func(t *testing.T) {
			at := where(t)
			test(t, open(t, at), at)
		})
	}
}

func open(t testing.TB, where string) *Journal {
	t.Helper()
	j, err := Open(t.Context(), where)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { j.Close() })
	return j
}

var monday = time.Date(2026, 9, 7, 16, 0, 0, 0, time.UTC)

// judged is a take by the simulated pupil, judged as the program does.
func judged(t testing.TB, asked string, started time.Time, p pupil.Pupil) Entry {
	t.Helper()
	q, err := references.Parse(asked)
	if err != nil {
		t.Fatal(err)
	}
	candidates := q.Candidates()
	take, _ := pupil.Play(candidates[0], p)
	take.Started = started
	var smf bytes.Buffer
	if err := capture.WriteSMF(&smf, take); err != nil {
		t.Fatal(err)
	}
	return Entry{
		Asked: asked, Started: started, Practised: take.End() - take.Notes[0].On, Device: "a piano", SMF: smf.Bytes(),
		Marked: started.Add(time.Minute), Outcome: judge(q, candidates, take, "1"),
	}
}

func judge(q references.Request, candidates []*references.Reference, take *capture.Take, version string) *scoring.Assessment {
	return scoring.Assess(align.Best(candidates, q.Neighbours(), take), scoring.Asked{
		Take: "take.mid", Against: q.String(), Request: &q, Version: version,
	}, scoring.DefaultSettings())
}

// wrongNotes is a pupil with n wrong notes.
func wrongNotes(seed uint64, n int) pupil.Pupil {
	p := pupil.Pupil{Seed: seed}
	for i := range n {
		p.Faults = append(p.Faults, pupil.Fault{Kind: pupil.SemitoneOff, At: 5 + 4*i})
	}
	return p
}

func add(t testing.TB, j *Journal, names ...string) {
	t.Helper()
	for _, n := range names {
		if err := j.Add(t.Context(), n, monday); err != nil {
			t.Fatal(err)
		}
	}
}

func mustKeep(t testing.TB, j *Journal, name string, e Entry) int64 {
	t.Helper()
	id, err := j.Keep(t.Context(), name, e)
	if err != nil {
		t.Fatal(err)
	}
	return id
}

// encoded is an assessment as its bytes.
func encoded(t testing.TB, a *scoring.Assessment) string {
	t.Helper()
	var b bytes.Buffer
	if err := a.EncodeJSON(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func day(n int) time.Time { return monday.AddDate(0, 0, n) }

func name(i int) string { return fmt.Sprintf("Pupil %d", i) }
