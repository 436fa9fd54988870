package journal

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/capture/pupil"
)

// Every change is seen in the state, by this journal or by another program's; reading changes nothing.
func TestStateChangesWithEveryChange(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, where string) {
		other := open(t, where)
		state := func() string {
			t.Helper()
			s, err := j.State(t.Context())
			if err != nil {
				t.Fatal(err)
			}
			return s
		}
		seen := []string{state()}
		var id int64
		for _, change := range []func() error{
			func() error { return j.Add(t.Context(), "Ada", monday) },
			func() error { return other.Add(t.Context(), "Ben", monday) },
			func() (err error) {
				id, err = j.Keep(t.Context(), "Ada", judged(t, "D major scale, right hand, 1 octave", monday, wrongNotes(1, 1)))
				return err
			},
			func() error { return other.Say(t.Context(), id, Words{Said: "Good.", At: monday}) },
			func() error { return other.Strike(t.Context(), id, 1, "", monday) },
			func() error { return j.Set(t.Context(), "Ada", Task{Asked: "C major scale", Until: monday}) },
			func() error { return other.Rename(t.Context(), "Ben", "Bea") },
		} {
			if err := change(); err != nil {
				t.Fatal(err)
			}
			s := state()
			if slices.Contains(seen, s) {
				t.Errorf("after change %d the state is %q as before", len(seen), s)
			}
			seen = append(seen, s)
		}
		if _, err := j.History(t.Context(), "Ada", time.Time{}); err != nil {
			t.Fatal(err)
		}
		// PostgreSQL's own housekeeping may come between, but not every time.
		for try := 0; ; try++ {
			if before := state(); before == state() {
				break
			} else if try == 100 {
				t.Fatal("the state changes though nothing does")
			}
		}
	})
}

func TestLatestGoesBackPageByPage(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		add(t, j, "Ada", "Ben")
		e := judged(t, "D major scale, right hand, 1 octave", monday, pupil.Pupil{Seed: 1})
		var want []int64
		for n := range int64(7) {
			mine := nthTake(e, n)
			mine.Started = day(int(n / 2)) // two at a time begin at one moment
			id := mustKeep(t, j, "Ada", mine)
			want = append([]int64{id}, want...)
			mustKeep(t, j, "Ben", nthTake(e, 100+n))
		}
		var got []int64
		for before := int64(0); ; before = got[len(got)-1] {
			page, err := j.Latest(t.Context(), "Ada", before, 3)
			if err != nil {
				t.Fatal(err)
			}
			for _, m := range page {
				got = append(got, m.Take)
			}
			if len(page) < 3 {
				break
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("takes %v, want %v", got, want)
		}
		if page, err := j.Latest(t.Context(), "Ada", 99999, 3); err != nil || len(page) != 3 || page[0].Take != want[0] {
			t.Errorf("before no take: %v, %v", page, err)
		}
	})
}

func TestSaidAndTakeBegun(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		add(t, j, "Ada")
		first := mustKeep(t, j, "Ada", judged(t, "D major scale, right hand", day(0), pupil.Pupil{Seed: 1}))
		second := mustKeep(t, j, "Ada", judged(t, "C major scale, right hand", day(1), pupil.Pupil{Seed: 2}))
		for i, id := range []int64{second, first} {
			if err := j.Say(t.Context(), id, Words{Said: name(i), Mark: new(80 + i), At: day(2 + i)}); err != nil {
				t.Fatal(err)
			}
		}
		said, err := j.Said(t.Context(), "Ada", 5)
		if err != nil || len(said) != 2 || said[0].Take != first || *said[0].Mark != 81 || said[1].Words.Said != name(0) || !said[1].Started.Equal(day(1)) {
			t.Errorf("%+v, %v", said, err)
		}
		if id, err := j.TakeBegun(t.Context(), day(1)); id != second || err != nil {
			t.Errorf("take %d, %v, want %d", id, err, second)
		}
		if id, err := j.TakeBegun(t.Context(), day(9)); id != 0 || err != nil {
			t.Errorf("take %d, %v of a moment at which nothing began", id, err)
		}
	})
}

func TestNoTake(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		_, err := j.Take(t.Context(), 7)
		if !errors.Is(err, ErrNoTake) || !strings.Contains(err.Error(), "no take 7") {
			t.Error(err)
		}
		if err := j.Say(t.Context(), 7, Words{}); !errors.Is(err, ErrNoTake) {
			t.Error(err)
		}
	})
}
