package journal

import (
	"errors"
	"fmt"
	"strings"
	"testing"
)

// sat gives a pupil a mock exam of three events.
func sat(t *testing.T, j *Journal, name string) int64 {
	t.Helper()
	id, err := j.OpenSitting(t.Context(), name, "Level 3", day(2), []byte(`{"schema":1,"kind":"opened"}`))
	if err != nil {
		t.Fatal(err)
	}
	for n := 1; n < 3; n++ {
		if err := j.AddEvent(t.Context(), id, n, fmt.Appendf(nil, `{"schema":1,"kind":"remarked","words":"“%d” <ü>"}`, n)); err != nil {
			t.Fatal(err)
		}
	}
	return id
}

func TestSittingsAreKeptEventByEvent(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		add(t, j, "Ada", "Ben")
		id := sat(t, j, "Ada")
		s, err := j.Sitting(t.Context(), id)
		if err != nil || s.Pupil != "Ada" || s.Title != "Level 3" || !s.Opened.Equal(day(2)) || len(s.Events) != 3 ||
			string(s.Events[2]) != `{"schema":1,"kind":"remarked","words":"“2” <ü>"}` {
			t.Errorf("%+v, %v", s, err)
		}
		for name, want := range map[string]int{"Ada": 1, "Ben": 0} {
			if all, err := j.Sittings(t.Context(), name); err != nil || len(all) != want {
				t.Errorf("%s: %+v, %v", name, all, err)
			}
		}
		if _, err := j.Sitting(t.Context(), id+1); !errors.Is(err, ErrNoSitting) {
			t.Errorf("a sitting that is not there: %v", err)
		}
		if _, err := j.OpenSitting(t.Context(), "Cy", "Level 3", day(2), []byte("{}")); !errors.Is(err, ErrNoPupil) {
			t.Errorf("a sitting of nobody: %v", err)
		}
	})
}

// The same event again is no fault: a program that was cut off cannot know whether it was stored. Another
// event of the same number is one of another program.
func TestAddEventTwice(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		add(t, j, "Ada")
		id := sat(t, j, "Ada")
		for range 2 {
			if err := j.AddEvent(t.Context(), id, 3, []byte(`{"kind":"closed"}`)); err != nil {
				t.Error(err)
			}
		}
		if err := j.AddEvent(t.Context(), id, 3, []byte(`{"kind":"other"}`)); !errors.Is(err, ErrTaken) {
			t.Errorf("another event in its place: %v", err)
		}
		if s, err := j.Sitting(t.Context(), id); err != nil || len(s.Events) != 4 {
			t.Errorf("%d events, %v", len(s.Events), err)
		}
	})
}

// With a pupil go the pupil's exams.
func TestRemoveTakesSittings(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		add(t, j, "Ada", "Ben")
		gone, kept := sat(t, j, "Ada"), sat(t, j, "Ben")
		g, err := j.Remove(t.Context(), "Ada")
		if err != nil || g.Sittings != 1 {
			t.Errorf("%+v, %v", g, err)
		}
		if _, err := j.Sitting(t.Context(), gone); !errors.Is(err, ErrNoSitting) {
			t.Errorf("it is still there: %v", err)
		}
		if s, err := j.Sitting(t.Context(), kept); err != nil || len(s.Events) != 3 {
			t.Errorf("another's: %+v, %v", s, err)
		}
		var left int
		if err := j.db.QueryRowContext(t.Context(), "SELECT count(*) FROM sitting_events").Scan(&left); err != nil || left != 3 {
			t.Errorf("%d events left, %v", left, err)
		}
	})
}

func TestTakeInRefusesAnEmptySitting(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		records := []Record{{Kind: "pupil", Schema: 1, Name: "Ada", Added: new(day(0))}, {Kind: "sitting", Schema: 1, Sitting: &Sitting{}}}
		_, err := j.TakeIn(t.Context(), "", func() (Record, error) {
			r := records[0]
			records = records[1:]
			return r, nil
		})
		if err == nil || !strings.Contains(err.Error(), "no events") {
			t.Error(err)
		}
	})
}
