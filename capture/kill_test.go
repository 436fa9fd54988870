package capture

import (
	"bufio"
	"fmt"
	"os"
	"os/exec"
	"strconv"
	"testing"
	"time"
)

// The folder that the child process of TestKilled records in, and how often a note comes there.
const (
	killFolder = "EVENHAND_TEST_KILL_FOLDER"
	killNote   = 2 * ms
)

// A recording whose process is killed outright is recovered but for its last 200 ms. By itself the
// test kills a few; EVENHAND_SOAK=N kills N.
func TestKilled(t *testing.T) {
	rounds := 4
	if n, err := strconv.Atoi(os.Getenv("EVENHAND_SOAK")); err == nil {
		rounds = n
	}
	for round := range rounds {
		dir := t.TempDir()
		told := killAfter(t, dir, 20+37*round%400)
		list, err := Recover(dir)
		if err != nil || len(list) != 1 || list[0].Err != nil || list[0].Take == nil {
			t.Fatalf("after %d notes: %+v, %v", told, list, err)
		}
		take, err := ReadFile(list[0].Path)
		if err != nil {
			t.Fatal(err)
		}
		if least := told - int(200*ms/killNote); len(take.Notes) < max(least, 1) {
			t.Errorf("%d notes were played and %d recovered", told, len(take.Notes))
		}
		for i, n := range take.Notes {
			if int(n.Key) != i%128 || n.On != time.Duration(i)*killNote {
				t.Fatalf("note %d came back as %+v", i, n)
			}
		}
	}
}

// killAfter runs a process that records into dir, and kills it when it has played n notes.
func killAfter(t *testing.T, dir string, n int) (told int) {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), killFolder+"="+dir)
	out, err := cmd.StdoutPipe()
	if err != nil {
		t.Fatal(err)
	}
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	lines := bufio.NewScanner(out)
	for told < n && lines.Scan() {
		told++
	}
	if list, err := Recover(dir); err != nil || len(list) != 0 {
		t.Errorf("a take that another process plays was touched: %+v, %v", list, err)
	}
	if err := cmd.Process.Kill(); err != nil {
		t.Fatal(err)
	}
	for lines.Scan() {
		told++
	}
	if err := cmd.Wait(); err == nil {
		t.Fatal("the process ended by itself")
	}
	return told
}

// TestMain is also the child process of TestKilled.
func TestMain(m *testing.M) {
	if dir := os.Getenv(killFolder); dir != "" {
		recordUntilKilled(dir)
	}
	os.Exit(m.Run())
}

func recordUntilKilled(dir string) {
	r, err := Record(dir, Take{}, nil)
	if err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
	for i := range 5000 {
		r.Add(on(time.Duration(i)*killNote, byte(i%128), 80))
		r.Add(off(time.Duration(i)*killNote+ms, byte(i%128)))
		fmt.Println(i)
		time.Sleep(killNote)
	}
	os.Exit(0)
}
