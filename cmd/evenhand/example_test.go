package main

import (
	"bytes"
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/spf13/cobra"

	"evenhand/capture"
)

// Every example in every help text runs. Those that would wait for a piano are stopped before they
// begin to wait; on a machine without one they say so.
func TestExamplesRun(t *testing.T) {
	t.Chdir(t.TempDir())
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	t.Setenv("JACK_DEFAULT_SERVER", "none-for-examples")
	t.Setenv("JACK_NO_START_SERVER", "1")
	take, err := writtenTake("C4 D4 E4 F4 G4 A4 B4 C5")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"monday.mid", "tuesday.mid"} {
		var b bytes.Buffer
		if err := capture.WriteSMF(&b, take); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(name, b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	examples := 0
	each(newRoot(), func(c *cobra.Command) {
		if c.Example == "" {
			t.Errorf("%s has no example", c.CommandPath())
		}
		for _, line := range strings.Split(c.Example, "\n") {
			examples++
			words := shellWords(t, line)
			if words[0] != "evenhand" {
				t.Errorf("%q is no example of evenhand", line)
			}
			given(t, words)
			runExample(t, line, words[1:])
		}
	})
	if examples < 10 {
		t.Errorf("only %d examples", examples)
	}
}

// given makes the journal that an example is about: a pupil, a take, and an export; or a list.
func given(t *testing.T, words []string) {
	t.Helper()
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	name := "Anna"
	if words[1] == "pupil" && words[2] != "remove" {
		name = "me"
	}
	os.RemoveAll("anna-2026")
	os.Remove("my-list.toml")
	steps := [][]string{{"pupil", "add", name}, {"check", "monday.mid", "--against", "B flat minor arpeggio", "--keep"}, {"export", "anna-2026"}}
	if words[1] == "export" {
		steps = steps[:2]
	}
	if words[1] == "list" && words[2] == "check" {
		steps = [][]string{{"list", "copy", "level 3", "my-list.toml"}}
	}
	if words[1] == "exam" || words[1] == "report" && words[2] == "exam" {
		steps = append(steps[:1], []string{"exam", "sit", "--level", "1", "--from-take", "monday.mid"})
	}
	for _, args := range steps {
		var out bytes.Buffer
		if status := run(t.Context(), strings.NewReader(""), &out, &out, args); status != statusDone {
			t.Fatalf("%v: %s", args, &out)
		}
	}
}

func runExample(t *testing.T, line string, args []string) {
	t.Helper()
	ctx, cancel := context.WithCancel(t.Context())
	defer cancel()
	piano := slices.Contains([]string{"listen", "ask", "pianos", "hear", "loudness"}, args[0]) || // which may not be there
		args[0] == "exam" && (args[1] == "sit" || args[1] == "resume")
	if piano {
		cancel()
	}
	if args[0] == "demo" {
		args = append(args, "--at-once")
	}
	if args[0] == "serve" { // which would go on, and whose port may be taken
		cancel()
		args = append(args, "--port", "0")
	}
	var out, errw bytes.Buffer
	status := run(ctx, strings.NewReader("yes\nyes\n"), &out, &errw, args)
	switch {
	case !piano:
		if status != statusDone || out.Len() == 0 {
			t.Errorf("%s\nstatus %d: %s", line, status, &errw)
		}
	case status == statusUsage:
		t.Errorf("%s\n%s", line, &errw)
	case status == statusFault && strings.Count(errw.String(), "\n") < 1:
		t.Errorf("%s\nstatus %d without a word", line, status)
	}
}

func each(c *cobra.Command, f func(*cobra.Command)) {
	f(c)
	for _, sub := range c.Commands() {
		each(sub, f)
	}
}

// shellWords parts a line as a shell does: at blanks outside double quotes, names with * filled in.
func shellWords(t *testing.T, line string) []string {
	t.Helper()
	var words []string
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			words = append(words, part)
			continue
		}
		for _, w := range strings.Fields(part) {
			if !strings.Contains(w, "*") {
				words = append(words, w)
				continue
			}
			files, err := filepath.Glob(w)
			if err != nil || len(files) == 0 {
				t.Fatalf("no files for %s: %v", w, err)
			}
			words = append(words, files...)
		}
	}
	return words
}

// Help fits a window of 80 columns.
func TestHelpFitsTheWindow(t *testing.T) {
	each(newRoot(), func(c *cobra.Command) {
		var out bytes.Buffer
		args := append(strings.Fields(c.CommandPath())[1:], "--help")
		if status := run(t.Context(), nil, &out, &out, args); status != statusDone {
			t.Fatalf("%v: status %d", args, status)
		}
		for _, line := range strings.Split(out.String(), "\n") {
			if n := len([]rune(line)); n > 80 {
				t.Errorf("%s: %d columns: %s", c.CommandPath(), n, line)
			}
		}
	})
}
