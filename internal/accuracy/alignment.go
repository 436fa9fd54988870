package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
)

// check has the program judge a take and returns its JSON.
func (m *measurer) check(take, score string) ([]byte, error) {
	var errw bytes.Buffer
	c := exec.Command(m.program, "check", take, "--against", score, "--format", "json")
	c.Stderr = &errw
	out, err := c.Output()
	if err != nil {
		return nil, fmt.Errorf("%s: %w: %s", take, err, strings.TrimSpace(errw.String()))
	}
	return out, nil
}

// alignments grades the alignment of every take of a set by the tool beside the data.
func (m *measurer) alignments(s set, bar float64) ([]row, error) {
	r := row{what: "notes matched, mean F1 over the takes", data: s.source, bar: bar, absent: !m.here(s)}
	if r.absent {
		return []row{r}, nil
	}
	takes, scores := m.takes(s, "*.mid")
	var graded []string
	for i, take := range takes {
		out, err := m.check(take, scores[i])
		if err != nil {
			return nil, err
		}
		result := filepath.Join(m.temp, fmt.Sprintf("%s-%d.json", s.folder, i))
		if err := os.WriteFile(result, out, 0o600); err != nil {
			return nil, err
		}
		graded = append(graded, strings.TrimSuffix(take, ".mid")+".truth.tsv", result)
	}
	f1, err := m.grade(graded)
	r.got, r.note = f1, fmt.Sprintf("%d takes", len(takes))
	return []row{r}, err
}

var meanF1 = regexp.MustCompile(`mean F1 over \d+ takes: match ([0-9.]+)`)

// grade runs the grading tool over pairs of truth and result.
func (m *measurer) grade(pairs []string) (float64, error) {
	args := append([]string{filepath.Join(m.tools, "grade_alignment.py")}, pairs...)
	out, err := exec.Command("python3", args...).CombinedOutput()
	if err != nil {
		return 0, fmt.Errorf("grade_alignment.py: %w: %s", err, bytes.TrimSpace(out))
	}
	found := meanF1.FindSubmatch(out)
	if found == nil {
		return 0, fmt.Errorf("grade_alignment.py did not say a mean: %s", bytes.TrimSpace(out))
	}
	return strconv.ParseFloat(string(found[1]), 64)
}

// verdict is what is read back of the program's JSON.
type verdict struct {
	Notes []struct {
		Verdict, Why string
		Expected     *written
		Played       *struct {
			Onset float64
			Key   int
		}
	}
	Flow struct {
		Restarts, Repeats []struct {
			At float64
			To float64 `json:"to_onset"`
		}
		Hesitations []struct{ Onset float64 }
		Skips       []struct {
			From float64 `json:"from_onset"`
			To   float64 `json:"to_onset"`
		}
	}
	Marks    struct{ Overall *float64 }
	Findings []struct {
		Kind, Severity string
		From           *float64 `json:"from_s"`
		To             *float64 `json:"to_s"`
	}
}

// written is an expected note.
type written struct {
	ID    string
	Also  []string
	Pass  int
	Onset float64
	Key   int
}

// has reports whether the note goes by a name of the score: its id, or that with the pass.
func (w *written) has(name string) bool {
	for _, id := range append([]string{w.ID}, w.Also...) {
		if name == fmt.Sprintf("%s-%d", id, w.Pass) || name == id {
			return true
		}
	}
	return false
}

func readVerdict(out []byte) (v verdict, err error) {
	err = json.Unmarshal(out, &v)
	return v, err
}
