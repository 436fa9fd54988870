package journal

import (
	"testing"
	"time"

	"evenhand/scoring"
)

// Two wrong notes of one chord say the same at the same place; each is struck out by itself.
func TestFindingsAlikeAreToldApart(t *testing.T) {
	at := &scoring.Place{Onset: 4, Pass: 1}
	hand := "right"
	wrong := scoring.Finding{Kind: scoring.WrongNote, Hand: &hand, From: at, To: at}
	a := &scoring.Assessment{Findings: []scoring.Finding{wrong, {Kind: scoring.Uneven, Hand: &hand}, wrong}}
	first, second := keyOf(a, 0), keyOf(a, 2)
	for _, tt := range []struct {
		name   string
		struck []FindingKey
		want   []int
	}{
		{"the first", []FindingKey{first}, []int{0}},
		{"the second", []FindingKey{second}, []int{2}},
		{"both", []FindingKey{first, second}, []int{0, 2}},
	} {
		take := &Take{Entry: Entry{Outcome: a}}
		for _, k := range tt.struck {
			take.Amended = append(take.Amended, Amendment{Finding: &k, Note: -1})
		}
		got := amendmentOf(a, take.Amended).Struck
		for i := range a.Findings {
			want := false
			for _, w := range tt.want {
				want = want || w == i
			}
			if struck, _ := take.Struck(i); struck != want {
				t.Errorf("%s: finding %d struck: %v", tt.name, i, struck)
			}
		}
		if len(got) != len(tt.want) {
			t.Errorf("%s: %v struck, want %v", tt.name, got, tt.want)
		}
	}
}

// Strokes of ornaments, what was given up before a fresh start, and keys that hardly sounded are no wrong notes.
func TestWrongNotesAreMistakes(t *testing.T) {
	a := &scoring.Assessment{Heard: scoring.Heard{AsAsked: true}, Counts: scoring.Counts{Expected: 10, Correct: 8, Wrong: 1, Missing: 1, Extra: 6}}
	for _, why := range []string{"ornament", "ornament", "restart", "unheard", "slip", "other"} {
		a.Notes = append(a.Notes, scoring.NoteLine{Verdict: "extra", Why: why})
	}
	var m Measures
	if m.read(a); *m.Wrong != 4 {
		t.Errorf("%d wrong notes, want the wrong one, the one left out, the slip and the other", *m.Wrong)
	}
}

// What was exported before does not undo what was marked and said since.
func TestImportOfWhatIsOlder(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		add(t, j, "Ada")
		id := mustKeep(t, j, "Ada", judged(t, "D major scale, right hand", day(0), wrongNotes(1, 3)))
		if err := j.Say(t.Context(), id, Words{Said: "at first", At: day(1)}); err != nil {
			t.Fatal(err)
		}
		dir, _ := exported(t, j, "Ada")
		marks := func() (wrong int, version, words string) {
			t.Helper()
			ms, err := j.History(t.Context(), "Ada", time.Time{})
			if err != nil || len(ms) != 1 {
				t.Fatalf("%d takes, %v", len(ms), err)
			}
			take, err := j.Take(t.Context(), id)
			if err != nil {
				t.Fatal(err)
			}
			return *ms[0].Wrong, take.Outcome.Version, take.Words.Said
		}
		clean := func(take *Take) (*scoring.Assessment, error) {
			a := *take.Outcome
			a.Version, a.Notes, a.Counts.Wrong, a.Counts.Missing = "2", nil, 0, 0
			return &a, nil
		}
		if err := j.MarkAgain(t.Context(), "2", 1, clean, func(Again) {}); err != nil {
			t.Fatal(err)
		}
		if err := j.Say(t.Context(), id, Words{Said: "since", At: day(2)}); err != nil {
			t.Fatal(err)
		}
		if _, err := j.Import(t.Context(), "", dir); err != nil {
			t.Fatal(err)
		}
		if wrong, version, words := marks(); wrong != 0 || version != "2" || words != "since" {
			t.Errorf("%d wrong notes by version %s, %q", wrong, version, words)
		}
	})
}

// A week has seven days, whatever the hours at which there was practice and at which it is asked for.
func TestAWeekHasSevenDays(t *testing.T) {
	now := time.Date(2026, 3, 9, 16, 0, 0, 0, time.UTC)
	takes := []Measures{{Subject: "scale", Started: now.AddDate(0, 0, -7).Add(time.Hour), Practised: time.Minute}}
	for d := -6; d <= 0; d++ {
		takes = append(takes, Measures{Subject: "scale", Started: now.AddDate(0, 0, d).Add(-time.Hour), Practised: time.Minute})
	}
	if r := review7("Ada", takes, nil, now, time.UTC); r.Days != 7 || r.Takes != 7 || r.Before != 1 {
		t.Errorf("%d takes on %d days, %.0f minutes before", r.Takes, r.Days, r.Before)
	}
}
