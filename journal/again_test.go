package journal

import (
	"bufio"
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"strconv"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/internal/pgtest"
	"evenhand/references"
	"evenhand/scoring"
)

// marking marks a take by a version.
func marking(version string) Marker {
	return func(t *Take) (*scoring.Assessment, error) {
		take, err := capture.ReadSMF(bytes.NewReader(t.SMF), "take")
		if err != nil {
			return nil, err
		}
		q, err := references.Parse(t.Asked)
		if err != nil {
			return nil, err
		}
		return judge(q, q.Candidates(), take, version), nil
	}
}

// many keeps n takes that differ.
func many(t testing.TB, j *Journal, n int) {
	t.Helper()
	add(t, j, "Ada")
	for i := range n {
		mustKeep(t, j, "Ada", judged(t, "D major scale, right hand", day(i), wrongNotes(uint64(i), i%3)))
	}
}

func TestMarkAgain(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		many(t, j, 25)
		if err := j.Strike(t.Context(), 2, 1, "", monday); err != nil {
			t.Fatal(err)
		}
		before, err := j.History(t.Context(), "Ada", monday)
		if err != nil {
			t.Fatal(err)
		}
		seen := map[int64]int{}
		mark := marking("2")
		fails := func(take *Take) (*scoring.Assessment, error) {
			if take.ID == 7 {
				return nil, errors.New("no")
			}
			return mark(take)
		}
		err = j.MarkAgain(t.Context(), "2", 2, fails, func(a Again) {
			seen[a.Take]++
			if (a.Err != nil) != (a.Take == 7) || a.Err == nil && *a.Old.Marks.Overall != *a.New.Marks.Overall {
				t.Errorf("%+v", a)
			}
		})
		if err != nil || len(seen) != 25 {
			t.Fatalf("%d seen, %v", len(seen), err)
		}
		for take, n := range seen {
			if n != 1 {
				t.Errorf("take %d was marked %d times", take, n)
			}
		}
		// The strike outlives it, and the marks are as they were.
		after, err := j.History(t.Context(), "Ada", monday)
		if err != nil {
			t.Fatal(err)
		}
		for i := range after {
			if *after[i].Mark != *before[i].Mark || after[i].Practised != before[i].Practised {
				t.Errorf("take %d: mark %d, was %d", after[i].Take, *after[i].Mark, *before[i].Mark)
			}
		}
		take, err := j.Take(t.Context(), 2)
		if err != nil || len(take.Versions) != 2 || take.Versions[0].Outcome.Version != "1" || take.Outcome.Version != "2" {
			t.Errorf("%+v, %v", take.Versions, err)
		}
		// Only what failed is left.
		again := 0
		if err := j.MarkAgain(t.Context(), "2", 2, mark, func(Again) { again++ }); err != nil || again != 1 {
			t.Errorf("%d more, %v", again, err)
		}
	})
}

// A run that is ended goes on where it stopped.
func TestMarkAgainResumes(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		const takes = 90
		add(t, j, "Ada")
		e := judged(t, "D major scale, right hand", monday, pupil.Pupil{Seed: 1})
		for i := range takes {
			mine := e
			mine.SMF = append(bytes.Clone(e.SMF), byte(i))
			mustKeep(t, j, "Ada", mine)
		}
		ctx, stop := context.WithCancel(t.Context())
		var first, second atomic.Int64
		err := j.MarkAgain(ctx, "2", 1, marking("2"), func(Again) {
			if first.Add(1) == 30 {
				stop()
			}
		})
		if err == nil {
			t.Error("an ended run says nothing")
		}
		left, err := j.Unmarked(t.Context(), "2")
		if err != nil || left == 0 || left > takes-30 {
			t.Fatalf("%d left, %v", left, err)
		}
		if err := j.MarkAgain(t.Context(), "2", 1, marking("2"), func(Again) { second.Add(1) }); err != nil {
			t.Fatal(err)
		}
		if int(second.Load()) != left {
			t.Errorf("%d marked the second time, %d were left", second.Load(), left)
		}
	})
}

// markProcess marks a journal again as a process of its own; see process.
func markProcess(where string) error {
	j, err := Open(context.Background(), where)
	if err != nil {
		return err
	}
	fmt.Println("ready")
	if _, err := bufio.NewReader(os.Stdin).ReadString('\n'); err != nil {
		return err
	}
	return j.MarkAgain(context.Background(), "2", 1, marking("2"), func(a Again) { fmt.Println("marked", a.Take) })
}

// runMarking runs so many processes of one worker on a journal and returns what each marked.
func runMarking(t testing.TB, where string, processes int) [][]int64 {
	t.Helper()
	all := make([][]int64, processes)
	var ready, done sync.WaitGroup
	ready.Add(processes)
	start := make(chan struct{})
	for p := range processes {
		done.Go(func() {
			cmd := process("mark", where)
			in, err1 := cmd.StdinPipe()
			out, err2 := cmd.StdoutPipe()
			if err := errors.Join(err1, err2, cmd.Start()); err != nil {
				t.Error(err)
				ready.Done()
				return
			}
			lines := bufio.NewScanner(out)
			for lines.Scan() {
				if lines.Text() == "ready" {
					ready.Done()
					<-start
					fmt.Fprintln(in)
				} else if n, ok := strings.CutPrefix(lines.Text(), "marked "); ok {
					id, _ := strconv.ParseInt(n, 10, 64)
					all[p] = append(all[p], id)
				}
			}
			if err := cmd.Wait(); err != nil {
				t.Error(err)
			}
		})
	}
	ready.Wait()
	close(start)
	done.Wait()
	return all
}

// Two processes mark one PostgreSQL again: both do a part of it, and no take is marked twice.
func TestMarkAgainIsShared(t *testing.T) {
	where := pgtest.Database(t)
	j := open(t, where)
	many(t, j, 200)
	all := runMarking(t, where, 2)
	seen := map[int64]int{}
	for _, ids := range all {
		if len(ids) == 0 {
			t.Error("one process did it all")
		}
		for _, id := range ids {
			seen[id]++
		}
	}
	for id, n := range seen {
		if n != 1 {
			t.Errorf("take %d was marked %d times", id, n)
		}
	}
	if left, err := j.Unmarked(t.Context(), "2"); err != nil || left != 0 || len(seen) != 200 {
		t.Errorf("%d marked, %d left, %v", len(seen), left, err)
	}
	t.Logf("%d and %d takes", len(all[0]), len(all[1]))
}
