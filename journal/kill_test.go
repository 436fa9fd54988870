package journal

import (
	"bufio"
	"bytes"
	"context"
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"
	"time"

	"evenhand/capture/pupil"
)

// kills is how many random moments the test kills at: a few, or as many as EVENHAND_SOAK says.
func kills() int {
	if n, err := strconv.Atoi(os.Getenv("EVENHAND_SOAK")); err == nil {
		return n
	}
	return 6
}

// nthTake is a take that differs from all others.
func nthTake(e Entry, n int64) Entry {
	e.SMF = binary.AppendVarint(bytes.Clone(e.SMF), n)
	return e
}

// keepProcess keeps takes one after the other, says each that is stored, and goes on until it is killed.
func keepProcess(where string) error {
	j, err := Open(context.Background(), where)
	if err != nil {
		return err
	}
	e := judged(plainT{}, "D major scale, right hand", monday, pupil.Pupil{Seed: 1})
	for n := time.Now().UnixNano(); ; n++ {
		id, err := j.Keep(context.Background(), "Ada", nthTake(e, n))
		if err != nil {
			return err
		}
		fmt.Println("shown", id)
	}
}

// plainT is a testing.TB for a process that is no test.
type plainT struct{ testing.TB }

func (plainT) Helper()           {}
func (plainT) Fatal(args ...any) { panic(fmt.Sprint(args...)) }

// Killed at any moment, the program loses nothing that it has shown, and what is stored is whole.
func TestKilledAtRandomMoments(t *testing.T) {
	if testing.Short() {
		t.Skip("long: left out by -short")
	}
	each(t, func(t *testing.T, j *Journal, where string) {
		add(t, j, "Ada")
		rng := rand.New(rand.NewPCG(5, 1))
		shown := 0
		for range kills() {
			cmd := process("keep", where)
			out, err := cmd.StdoutPipe()
			if err != nil {
				t.Fatal(err)
			}
			if err := cmd.Start(); err != nil {
				t.Fatal(err)
			}
			lines := bufio.NewScanner(out)
			lines.Scan() // it has begun
			first := lines.Text()
			time.AfterFunc(time.Duration(rng.IntN(60_000))*time.Microsecond, func() { _ = cmd.Process.Kill() })
			ids := []string{first}
			for lines.Scan() {
				ids = append(ids, lines.Text())
			}
			_ = cmd.Wait() // killed
			for _, line := range ids {
				number, ok := strings.CutPrefix(line, "shown ")
				if !ok {
					t.Fatalf("the process says %q", line)
				}
				id, err := strconv.ParseInt(number, 10, 64)
				if err != nil {
					continue // cut off while it was written
				}
				shown++
				take, err := j.Take(t.Context(), id)
				if err != nil || take.Outcome == nil || len(take.SMF) == 0 {
					t.Fatalf("take %d was shown and is not whole: %v", id, err)
				}
			}
		}
		var takes, whole int
		err := j.db.QueryRowContext(t.Context(), `SELECT (SELECT count(*) FROM takes), (SELECT count(*) FROM takes t
			JOIN measures m ON m.take = t.id JOIN assessments a ON a.take = t.id)`).Scan(&takes, &whole)
		if err != nil || takes != whole || takes < shown {
			t.Errorf("%d takes, %d whole, %d shown, %v", takes, whole, shown, err)
		}
		t.Logf("%d kills, %d takes shown, %d kept", kills(), shown, takes)
	})
}
