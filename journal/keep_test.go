package journal

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"evenhand/capture/pupil"
)

func TestKeptTakeComesBackEqual(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		add(t, j, "Ada")
		e := judged(t, "D major scale, right hand, piano", monday, wrongNotes(1, 1))
		id := mustKeep(t, j, "Ada", e)
		got, err := j.Take(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if encoded(t, got.Outcome) != encoded(t, e.Outcome) {
			t.Error("the assessment came back changed")
		}
		if !bytes.Equal(got.SMF, e.SMF) || got.Asked != e.Asked || !got.Started.Equal(e.Started) || got.Practised != e.Practised.Truncate(time.Microsecond) || got.Device != e.Device || got.Pupil != "Ada" {
			t.Errorf("the take came back changed: %+v", got.Entry)
		}
		h, err := j.History(t.Context(), "Ada", monday)
		if err != nil || len(h) != 1 {
			t.Fatalf("history %v, %v", h, err)
		}
		if m := h[0]; m.Take != id || *m.Mark != *e.Outcome.Marks.Overall || *m.Wrong != 1 || m.Subject != "D major scale, right hand, 2 octaves, legato" {
			t.Errorf("measures %+v", m)
		}
		if later, err := j.History(t.Context(), "Ada", monday.Add(time.Second)); err != nil || len(later) != 0 {
			t.Errorf("what began before is in the history: %v, %v", later, err)
		}
	})
}

func TestSameTakeIsKeptOnce(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		add(t, j, "Ada", "Ben")
		e := judged(t, "D major scale, right hand", monday, pupil.Pupil{Seed: 1})
		first := mustKeep(t, j, "Ada", e)
		if second := mustKeep(t, j, "Ada", e); second != first {
			t.Errorf("kept as %d and again as %d", first, second)
		}
		if other := mustKeep(t, j, "Ben", e); other == first {
			t.Error("two pupils share one take")
		}
		if ps, err := j.Pupils(t.Context()); err != nil || ps[0].Takes != 1 || ps[1].Takes != 1 {
			t.Errorf("%+v, %v", ps, err)
		}
	})
}

func TestSubject(t *testing.T) {
	for asked, want := range map[string]string{
		"B flat major scale, hands together, contrary motion, piano":  "B flat major scale, hands together, contrary motion, 2 octaves, legato",
		"Bb major, HT, contrary, ff, ♩=90":                            "B flat major scale, hands together, contrary motion, 2 octaves, legato",
		"scores/Winter Song.musicxml":                                 "Winter Song",
		"scores/Winter Song.musicxml, bars 9 to 16, left hand, at 60": "Winter Song, bars 9 to 16, left hand",
		"": FreePractice,
	} {
		if got := Subject(asked); got != want {
			t.Errorf("Subject(%q) = %q, want %q", asked, got, want)
		}
	}
}

// Names and notes are data: whatever is in them, they come back as they are and nothing else breaks.
func TestNamesAreData(t *testing.T) {
	names := []string{
		`Robert'); DROP TABLE pupils;--`, `"quoted" 'twice' \ \' $1 %s ?`, "two\nlines\tand a tab", "🎹 Zoë Nováková-Ōe",
		strings.Repeat("é", 10_000), "  spaces  ", "-- /* */", "NULL", "../../etc/passwd",
	}
	each(t, func(t *testing.T, j *Journal, _ string) {
		e := judged(t, "D major scale, right hand", monday, pupil.Pupil{Seed: 1})
		for _, n := range names {
			add(t, j, n)
			mustKeep(t, j, n, e)
			if err := j.Set(t.Context(), n, Task{Asked: n, Note: n, At: monday, Until: day(7)}); err != nil {
				t.Errorf("%.20q: %v", n, err)
			}
		}
		ps, err := j.Pupils(t.Context())
		if err != nil || len(ps) != len(names) {
			t.Fatalf("%d pupils, %v", len(ps), err)
		}
		for _, p := range ps {
			if !slices.Contains(names, p.Name) || p.Takes != 1 {
				t.Errorf("%.40q came back with %d takes", p.Name, p.Takes)
			}
			if ts, err := j.Tasks(t.Context(), p.Name, monday); err != nil || len(ts) != 1 || ts[0].Note != p.Name {
				t.Errorf("tasks of %.40q: %v", p.Name, err)
			}
		}
		if err := j.Add(t.Context(), "nul\x00and\xff", monday); err != nil {
			t.Error(err)
		}
		if err := j.Rename(t.Context(), "nuland\uFFFD", names[0]); err == nil {
			t.Error("two pupils have one name")
		}
		for _, n := range []string{"", " \n", "\x00"} {
			if err := j.Add(t.Context(), n, monday); err == nil {
				t.Errorf("a pupil is named %q", n)
			}
		}
	})
}

func TestRename(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		add(t, j, "Ada", "Ben")
		mustKeep(t, j, "Ada", judged(t, "D major scale, right hand", monday, pupil.Pupil{Seed: 1}))
		if err := j.Rename(t.Context(), "Ada", "Ada B."); err != nil {
			t.Fatal(err)
		}
		if h, err := j.History(t.Context(), "Ada B.", monday); err != nil || len(h) != 1 {
			t.Errorf("%v, %v", h, err)
		}
		if err := j.Rename(t.Context(), "Ada", "Cas"); !errors.Is(err, ErrNoPupil) {
			t.Errorf("renamed somebody who is not there: %v", err)
		}
		if err := j.Rename(t.Context(), "Ben", "Ada B."); err == nil || !strings.Contains(err.Error(), "already") {
			t.Errorf("two pupils have one name: %v", err)
		}
	})
}

// A removed pupil leaves no trace: nothing that was stored for her, and not her name or notes in the
// bytes of the database's files.
func TestRemoveRemovesEveryTrace(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, where string) {
		add(t, j, "Wilhelmina Traceless", "Ben")
		scale, arpeggio := "D major scale, right hand", "E flat major arpeggio, left hand"
		id := mustKeep(t, j, "Wilhelmina Traceless", judged(t, scale, monday, wrongNotes(1, 1)))
		mustKeep(t, j, "Wilhelmina Traceless", judged(t, arpeggio, monday, wrongNotes(2, 1)))
		kept := mustKeep(t, j, "Ben", judged(t, scale, monday, pupil.Pupil{Seed: 3}))
		check := func(err error) {
			t.Helper()
			if err != nil {
				t.Fatal(err)
			}
		}
		check(j.Say(t.Context(), id, Words{Said: "unmistakable words", At: monday}))
		check(j.Strike(t.Context(), id, 1, "", monday))
		check(j.Set(t.Context(), "Wilhelmina Traceless", Task{Asked: scale, Note: "unmistakable note", At: monday, Until: day(7)}))
		g, err := j.Remove(t.Context(), "Wilhelmina Traceless")
		check(err)
		if g.Takes != 2 || g.Assessments != 2 || g.Words != 1 || g.Amendments != 1 || g.Tasks != 1 || len(g.Digests) != 2 {
			t.Errorf("went: %+v", g)
		}
		if _, err := j.Take(t.Context(), kept); err != nil {
			t.Error("another pupil's take went too:", err)
		}
		var left int
		check(j.db.QueryRowContext(t.Context(), "SELECT count(*) FROM subjects").Scan(&left))
		if left != 1 {
			t.Errorf("%d subjects are left, want that of the other pupil", left)
		}
		if _, err := j.Remove(t.Context(), "Wilhelmina Traceless"); !errors.Is(err, ErrNoPupil) {
			t.Errorf("removed twice: %v", err)
		}
		if strings.HasPrefix(where, "postgres") {
			return
		}
		files, _ := filepath.Glob(where + "*")
		for _, f := range files {
			b, err := os.ReadFile(f)
			check(err)
			for _, trace := range []string{"Wilhelmina", "unmistakable", "arpeggio"} {
				if bytes.Contains(b, []byte(trace)) {
					t.Errorf("%q is still in %s", trace, filepath.Base(f))
				}
			}
		}
	})
}

// Two programs are two pools of connections on one database.
func TestTwoWriteAtOnce(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, where string) {
		add(t, j, "Ada")
		e := judged(t, "D major scale, right hand", monday, pupil.Pupil{Seed: 1})
		const writers, takes = 4, 15
		var wg sync.WaitGroup
		for w := range writers {
			other := open(t, where)
			wg.Go(func() {
				for i := range takes {
					mine := e
					mine.SMF = append(bytes.Clone(e.SMF), byte(w), byte(i))
					mine.Asked = []string{"D major scale, right hand", "E major scale, right hand"}[i%2]
					if _, err := other.Keep(t.Context(), "Ada", mine); err != nil {
						t.Error(err)
					}
				}
			})
		}
		wg.Wait()
		if ps, err := j.Pupils(t.Context()); err != nil || ps[0].Takes != writers*takes {
			t.Errorf("%+v, %v", ps, err)
		}
	})
}

func TestJournalIsReadByItsOwnerAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "new folder ?%20#", "journal.db")
	j := open(t, path)
	add(t, j, "Ada")
	files, _ := filepath.Glob(filepath.Join(filepath.Dir(path), "*"))
	if len(files) != 3 {
		t.Errorf("files %v: want the database, its log and its index", files)
	}
	for _, f := range append(files, filepath.Dir(path)) {
		info, err := os.Stat(f)
		if err != nil || info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s: %v, %v", filepath.Base(f), info.Mode(), err)
		}
	}
	if err := os.Chmod(path, 0o644); err != nil {
		t.Fatal(err)
	}
	open(t, path)
	if info, err := os.Stat(path); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("a journal open to all stays open: %v, %v", info.Mode(), err)
	}
}
