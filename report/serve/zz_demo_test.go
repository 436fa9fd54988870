package serve

import (
	"os"
	"testing"
	"time"

	"evenhand/capture/pupil"
	"evenhand/journal"
)

func TestDemoJournal(t *testing.T) {
	where := os.Getenv("DEMO_JOURNAL")
	if where == "" {
		t.Skip()
	}
	j, err := journal.Open(t.Context(), where)
	if err != nil {
		t.Fatal(err)
	}
	old := monday
	monday = time.Now().AddDate(0, 0, -7*9).Truncate(time.Hour)
	defer func() { monday = old }()
	lessons(t, j, 9, "Mia Sandberg", "Teodor Quill", "שירה", "<script>alert(1)</script>")
	for d, asked := range []string{"E flat major scale, hands together", "C minor arpeggio, right hand", "F sharp minor melodic scale, left hand"} {
		e := played(t, asked, monday.AddDate(0, 0, 7*8+d), pupil.Pupil{Seed: 9, Spread: 18, Faults: []pupil.Fault{{Kind: pupil.SemitoneOff, At: 9, By: 1}, {Kind: pupil.LeftOut, At: 15}}})
		id, err := j.Keep(t.Context(), "Mia Sandberg", e)
		if err != nil {
			t.Fatal(err)
		}
		m := 70 + d
		j.Say(t.Context(), id, journal.Words{Said: "Lovely line; now lighter in the left hand.\nThe thumb passes early.", Mark: &m, At: time.Now()})
	}
}
