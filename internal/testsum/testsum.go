// Command testsum reads what "go test -json" writes and prints it as go test does without -v, and
// then every test that was skipped with its reason, and the count of each outcome. Its exit status
// is 1 where a test failed, or, with CI=true, where a skipped test lacked something that can be
// installed.
package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
)

func main() {
	ok, err := summarise(os.Stdin, os.Stdout, os.Getenv("CI") == "true")
	if err != nil {
		fmt.Fprintln(os.Stderr, "testsum:", err)
	}
	if !ok || err != nil {
		os.Exit(1)
	}
}

// mayLack marks the reasons to skip that nothing installed from a registry can mend.
var mayLack = []string{"EVENHAND_DATA", "only root may mount a disk"}

// event is a line of go test -json, as "go doc test2json" defines it, and of go build -json.
type event struct {
	Action, Package, Test, Output string
	ImportPath                    string
}

// summary gathers the events of a run.
type summary struct {
	w       io.Writer
	strict  bool
	output  map[string][]string // what each test that has not ended wrote, by package and test
	counts  map[string]int
	skipped []string
	ok      bool
}

// summarise copies a run from r to w and says whether all is well. Strict, a skip that could have
// been helped is not.
func summarise(r io.Reader, w io.Writer, strict bool) (bool, error) {
	s := &summary{w: w, strict: strict, output: map[string][]string{}, counts: map[string]int{}, ok: true}
	lines := bufio.NewReader(r)
	for {
		line, err := lines.ReadString('\n')
		if line != "" {
			var e event
			if json.Unmarshal([]byte(line), &e) != nil {
				fmt.Fprint(w, line)
			} else {
				s.add(e)
			}
		}
		if err == io.EOF {
			break
		}
		if err != nil {
			return false, err
		}
	}
	for _, line := range s.skipped {
		fmt.Fprintln(w, line)
	}
	fmt.Fprintf(w, "%d tests passed, %d failed, %d skipped\n", s.counts["pass"], s.counts["fail"], s.counts["skip"])
	return s.ok, nil
}

func (s *summary) add(e event) {
	id := e.Package + " " + e.Test
	switch e.Action {
	case "output":
		s.write(e, id)
	case "build-output":
		fmt.Fprint(s.w, e.Output)
	case "build-fail":
		s.ok = false
	case "pass", "fail", "skip":
		s.end(e, id)
		delete(s.output, id)
	}
}

// write keeps what a test wrote until it is known how it ended, and copies what the package says.
func (s *summary) write(e event, id string) {
	if e.Test != "" {
		s.output[id] = append(s.output[id], e.Output)
	} else if e.Output != "PASS\n" && e.Output != "FAIL\n" && !strings.HasPrefix(e.Output, "coverage:") {
		fmt.Fprint(s.w, e.Output)
	}
}

func (s *summary) end(e event, id string) {
	if e.Action == "fail" {
		s.ok = false
		fmt.Fprint(s.w, strings.Join(s.output[id], ""))
	}
	if e.Test == "" {
		return
	}
	s.counts[e.Action]++
	if e.Action == "skip" {
		s.skip(e, s.output[id])
	}
}

// skip notes a skipped test with its reason: what it wrote, without go test's own lines.
func (s *summary) skip(e event, output []string) {
	var reason []string
	for _, line := range output {
		line = strings.TrimSpace(line)
		if !strings.HasPrefix(line, "=== ") && !strings.HasPrefix(line, "--- ") && line != "" {
			reason = append(reason, line)
		}
	}
	why := strings.Join(reason, " ")
	line := fmt.Sprintf("--- SKIP: %s %s: %s", e.Package, e.Test, why)
	if s.strict && !slices.ContainsFunc(mayLack, func(reason string) bool { return strings.Contains(why, reason) }) {
		s.ok = false
		line += " (not allowed here: what it lacks can be installed)"
	}
	s.skipped = append(s.skipped, line)
}
