package main

import (
	"bufio"
	"bytes"
	"context"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"time"

	"evenhand/internal/jacktest"
)

// served is the real program, serving pages as another process, and its address.
func served(t *testing.T, args ...string) (address string) {
	t.Helper()
	cmd := exec.Command(binary(t), append([]string{"serve", "--port", "0"}, args...)...)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	var errs bytes.Buffer
	cmd.Stderr = &errs
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	t.Cleanup(func() {
		if err := cmd.Process.Signal(os.Interrupt); err != nil {
			t.Error(err)
		}
		for lines.Scan() { // to its end
		}
		if err := cmd.Wait(); err != nil || errs.Len() > 0 {
			t.Errorf("the server ended with %v: %s", err, &errs)
		}
	})
	if !lines.Scan() || !strings.HasPrefix(lines.Text(), "http://127.0.0.1:") {
		t.Fatalf("%q, %s", lines.Text(), &errs)
	}
	return strings.TrimSuffix(lines.Text(), "/")
}

// A piano on the sound server, a program that listens to it, another that serves pages, and somebody who
// follows them on the music desk: the wrong notes are told while the scale is played, and in the end the
// page of the take is there.
func TestLiveDesk(t *testing.T) {
	jacktest.Start(t)
	_, take, _ := scaleWithTwoWrongNotes(t)
	piano := jacktest.Piano(t, "toy piano")
	dir := t.TempDir()
	where := []string{"--keep", dir, "--journal", filepath.Join(dir, "journal.db")}
	address := served(t, where...)
	ctx, stop := context.WithTimeout(t.Context(), time.Minute)
	defer stop()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, address+"/desk/events", nil)
	if err != nil {
		t.Fatal(err)
	}
	desk, err := http.DefaultClient.Do(req)
	if err != nil {
		t.Fatal(err)
	}
	defer desk.Body.Close()
	l := listen(t, append([]string{contraryScale, "--format", "json"}, where...)...)
	jacktest.Play(t, piano, jacktest.Messages(take))
	var told strings.Builder
	page := ""
	lines := bufio.NewScanner(desk.Body)
	lines.Buffer(nil, 16<<20)
	for page == "" && lines.Scan() {
		told.WriteString(lines.Text() + "\n")
		if m := regexp.MustCompile(`^data: {"take":([1-9]\d*)}`).FindStringSubmatch(lines.Text()); m != nil {
			page = address + "/takes/" + m[1]
		}
	}
	l.ends(statusDone)
	for _, want := range []string{"score-partwise", `"sign":"ring"`, "E♮4 for E♭4", "C♯6 for C6", "event: over"} {
		if !strings.Contains(told.String(), want) {
			t.Errorf("the desk never told %s: %.3000s", want, told.String())
		}
	}
	answer, err := http.Get(page)
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	body, err := io.ReadAll(answer.Body)
	if err != nil || answer.StatusCode != http.StatusOK || !strings.Contains(string(body), "Two wrong notes") {
		t.Errorf("%s: %s, %v: %.2000s", page, answer.Status, err, body)
	}
}

// What the command line of serve gets wrong is told before anything is served.
func TestServeMisused(t *testing.T) {
	t.Setenv("XDG_DATA_HOME", t.TempDir())
	t.Setenv("EVENHAND_PASSPHRASE", "")
	empty := filepath.Join(t.TempDir(), "empty")
	if err := os.WriteFile(empty, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for _, tt := range []struct {
		args, phrase, says string
		status             int
	}{
		{"--listen 0.0.0.0:0", "", "only with a passphrase", statusUsage},
		{"--listen 0.0.0.0:0", "short", "too short", statusUsage},
		{"--listen 127.0.0.1:many", "", "no port", statusUsage},
		{"--port 70000", "", "no port 70000", statusUsage},
		{"--listen 192.0.2.1:0", "seven small otters", "nothing can be served at 192.0.2.1", statusFault},
		{"--phrase " + empty, "", "empty", statusFault},
		{"--phrase " + empty + "x", "", "no passphrase from", statusFault},
		{"--engraver " + empty, "", "engraver", statusFault},
		{"--journal none", "", "needs a journal", statusUsage},
		{"more", "", "takes nothing after it", statusUsage},
	} {
		t.Setenv("EVENHAND_PASSPHRASE", tt.phrase)
		var out, errw bytes.Buffer
		status := run(t.Context(), strings.NewReader(""), &out, &errw, append([]string{"serve"}, strings.Fields(tt.args)...))
		if status != tt.status || !strings.Contains(errw.String(), tt.says) || strings.Count(errw.String(), "\n") != 1 {
			t.Errorf("serve %s: status %d, %q, want %d and %q", tt.args, status, &errw, tt.status, tt.says)
		}
	}
}

// With a passphrase from the environment or a file nothing is shown before it is given.
func TestServeBehindAPassphrase(t *testing.T) {
	file := filepath.Join(t.TempDir(), "phrase")
	if err := os.WriteFile(file, []byte("seven small otters\nmore\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	address := served(t, "--phrase", file, "--journal", filepath.Join(t.TempDir(), "journal.db"), "--listen", "127.0.0.1:0")
	answer, err := http.Get(address + "/week")
	if err != nil {
		t.Fatal(err)
	}
	defer answer.Body.Close()
	if answer.Request.URL.Path != "/enter" {
		t.Errorf("%s leads to %s", address, answer.Request.URL)
	}
}
