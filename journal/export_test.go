package journal

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/internal/pgtest"
)

// full gives a pupil some of everything.
func full(t *testing.T, j *Journal, name string) {
	t.Helper()
	add(t, j, name)
	asked := []string{"D major scale, right hand", "E flat major arpeggio, left hand, piano"}
	for i := range 4 {
		id := mustKeep(t, j, name, judged(t, asked[i%2], day(i), wrongNotes(uint64(i), i)))
		var err error
		switch i {
		case 1:
			err = j.Say(t.Context(), id, Words{Said: "A lovely “line”,\nbut hurried.", Mark: new(80), At: day(1)})
		case 2:
			err = j.Strike(t.Context(), id, 1, "that was fine", day(2))
		case 3:
			err = j.LeaveOut(t.Context(), id, []int{5, 9}, "small hands", day(3))
		}
		if err != nil {
			t.Fatal(err)
		}
	}
	free := judged(t, asked[0], day(5), pupil.Pupil{Seed: 9})
	free.Asked, free.Outcome = "", nil
	mustKeep(t, j, name, free)
	if err := j.Set(t.Context(), name, Task{Asked: asked[0], Note: "slowly", At: day(1), Until: day(8)}); err != nil {
		t.Fatal(err)
	}
	sat(t, j, name)
}

// exported is an export as the text of its files.
func exported(t *testing.T, j *Journal, name string) (dir, files string) {
	t.Helper()
	dir = filepath.Join(t.TempDir(), "export")
	if err := j.Export(t.Context(), name, dir); err != nil {
		t.Fatal(err)
	}
	var b strings.Builder
	for _, pattern := range []string{"*.jsonl", "*.csv", "takes/*"} {
		found, _ := filepath.Glob(filepath.Join(dir, pattern))
		for _, f := range found {
			text, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			if info, _ := os.Stat(f); info.Mode().Perm() != 0o600 {
				t.Errorf("%s can be read by others", f)
			}
			b.WriteString(filepath.Base(f) + "\n" + string(text))
		}
	}
	return dir, b.String()
}

// What is exported from one database and read into the other, in either direction, is exported equal.
func TestExportReadsBackEqual(t *testing.T) {
	lite := filepath.Join(t.TempDir(), "other.db")
	for name, ways := range map[string][2]string{"sqlite to postgresql": {lite, pgtest.Database(t)}, "postgresql to sqlite": {pgtest.Database(t), filepath.Join(t.TempDir(), "third.db")}} {
		t.Run(name, func(t *testing.T) {
			from, to := open(t, ways[0]), open(t, ways[1])
			full(t, from, "Zoë “Z” 🎹")
			dir, want := exported(t, from, "Zoë “Z” 🎹")
			for range 2 { // a second time changes nothing
				if n, err := to.Import(t.Context(), "", dir); err != nil || n != 5 {
					t.Fatalf("%d takes, %v", n, err)
				}
			}
			_, got := exported(t, to, "Zoë “Z” 🎹")
			if got != want {
				t.Errorf("read back:\n%.3000s\nwas:\n%.3000s", got, want)
			}
			if strings.Count(want, `"kind":"take"`) != 5 || !strings.Contains(want, "but hurried") || !strings.Contains(want, "small hands") {
				t.Errorf("something is lacking in %.2000s", want)
			}
			takes, _ := filepath.Glob(filepath.Join(dir, "takes", "*.mid"))
			if take, err := capture.ReadFile(takes[0]); err != nil || len(take.Notes) == 0 {
				t.Errorf("an exported take cannot be read: %v", err)
			}
		})
	}
}

func TestImportRefusesWhatIsDamaged(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		full(t, j, "Ada")
		for name, damage := range map[string]func(lines, take string) (string, string){
			"line 2: the take takes/": func(lines, take string) (string, string) { return lines, take + "x" },
			"line 3": func(lines, take string) (string, string) {
				return strings.Replace(lines, "\n{\"kind\":\"take\"", "\n{\"kind\":\"take\"\n{", 1), take
			},
			"newer": func(lines, take string) (string, string) {
				return strings.ReplaceAll(lines, `"schema":1,"asked"`, `"schema":2,"asked"`), take
			},
			"unknown kind": func(lines, take string) (string, string) {
				return strings.ReplaceAll(lines, `"kind":"task"`, `"kind":"tusk"`), take
			},
			"escapes": func(lines, take string) (string, string) {
				return strings.ReplaceAll(lines, `"file":"takes/`, `"file":"../takes/`), take
			},
			"before its pupil": func(lines, take string) (string, string) { _, rest, _ := strings.Cut(lines, "\n"); return rest, take },
		} {
			dir, _ := exported(t, j, "Ada")
			file := filepath.Join(dir, exportLines)
			lines, _ := os.ReadFile(file)
			first := strings.Split(strings.SplitN(string(lines), `"file":"`, 2)[1], `"`)[0]
			take, err := os.ReadFile(filepath.Join(dir, first))
			if err != nil {
				t.Fatal(err)
			}
			l, k := damage(string(lines), string(take))
			if os.WriteFile(file, []byte(l), 0o600) != nil || os.WriteFile(filepath.Join(dir, first), []byte(k), 0o600) != nil {
				t.Fatal("cannot write")
			}
			_, err = j.Import(t.Context(), "Ben", dir)
			if err == nil || (name != "line 3" && !strings.Contains(err.Error(), name)) {
				t.Errorf("%s: %v", name, err)
			}
			if ps, _ := j.Pupils(t.Context()); len(ps) != 1 {
				t.Fatalf("%s: half of it was read in: %v", name, ps)
			}
		}
		dir, _ := exported(t, j, "Ada")
		if err := j.Export(t.Context(), "Ada", dir); err == nil {
			t.Error("an export was written over another")
		}
	})
}

func TestBackupWhileInUse(t *testing.T) {
	each(t, func(t *testing.T, j *Journal, _ string) {
		full(t, j, "Ada")
		full(t, j, "Ben")
		stop, stopped := make(chan struct{}), make(chan error, 1)
		e := judged(t, "G major scale, right hand", day(9), pupil.Pupil{Seed: 5})
		go func() {
			for i := 0; ; i++ {
				mine := e
				mine.SMF = append(mine.SMF[:len(mine.SMF):len(mine.SMF)], byte(i), byte(i>>8))
				if _, err := j.Keep(t.Context(), "Ben", mine); err != nil {
					stopped <- err
					return
				}
				select {
				case <-stop:
					stopped <- nil
					return
				default:
				}
			}
		}()
		file := filepath.Join(t.TempDir(), "it's a backup.db")
		err := j.Backup(t.Context(), file)
		close(stop)
		if err := <-stopped; err != nil {
			t.Error("could not be written meanwhile:", err)
		}
		if err != nil {
			t.Fatal(err)
		}
		if info, _ := os.Stat(file); info.Mode().Perm() != 0o600 {
			t.Error("the backup can be read by others")
		}
		if err := j.Backup(t.Context(), file); err == nil {
			t.Error("a backup was written over another")
		}
		_, want := exported(t, j, "Ada")
		if _, got := exported(t, open(t, file), "Ada"); got != want {
			t.Errorf("the backup has\n%.2000s\nwant\n%.2000s", got, want)
		}
	})
}
