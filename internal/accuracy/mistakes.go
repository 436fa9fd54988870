package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
)

// kinds are the mistakes the tool puts in.
var kinds = []string{"wrong", "missing", "extra", "restart", "skip", "hesitation"}

// done is one mistake that was put into a take.
type done struct {
	ScoreID          string `json:"score_id"`
	Key, Played      int
	At, Wait, Length float64
	BackTo           float64 `json:"back_to"`

	After float64 `json:"-"` // when the note after a wait sounds, in the take with all its waits
}

// mistakes puts known mistakes into the performances of a set, and counts those found and named. The bars are
// of all kinds together, and of the notes beside them; 0 is none.
func (m *measurer) mistakes(s set, bar, beside float64) ([]row, error) {
	var rows []row
	allFound, all, sum := 0, 0, 0.0
	for _, kind := range kinds {
		r := row{what: "mistakes put in and found: " + kind, data: s.source, absent: !m.here(s)}
		if r.absent {
			rows = append(rows, r)
			continue
		}
		found, total, f1, err := m.kind(s, kind)
		if err != nil {
			return nil, err
		}
		r.got, r.note = float64(found)/float64(total), fmt.Sprintf("%d of %d; notes matched %.4f", found, total, f1)
		rows = append(rows, r)
		allFound, all, sum = allFound+found, all+total, sum+f1
	}
	if all > 0 {
		rows = append(rows,
			row{what: "mistakes put in and found: all", data: s.source, bar: bar, got: float64(allFound) / float64(all)},
			row{what: "notes matched beside mistakes, mean F1", data: s.source, bar: beside, got: sum / float64(len(kinds))})
	}
	return rows, nil
}

func (m *measurer) kind(s set, kind string) (found, total int, f1 float64, err error) {
	takes, scores := m.takes(s, "*.mid")
	var graded []string
	for i, take := range takes {
		for seed := m.first; seed <= m.last; seed++ {
			base := filepath.Join(m.temp, fmt.Sprintf("%s-%s-%d-%d", s.folder, kind, i, seed))
			f, n, err := m.one(take, scores[i], kind, seed, base)
			if err != nil {
				return 0, 0, 0, err
			}
			found, total = found+f, total+n
			graded = append(graded, base+".truth.tsv", base+".json")
		}
	}
	f1, err = m.grade(graded)
	return found, total, f1, err
}

func (m *measurer) one(take, score, kind string, seed int, base string) (found, total int, err error) {
	tool := filepath.Join(m.tools, "inject_mistakes.py")
	out, err := exec.Command("python3", tool, take, strings.TrimSuffix(take, ".mid")+".truth.tsv", kind, strconv.Itoa(seed), base).CombinedOutput()
	if err != nil {
		return 0, 0, fmt.Errorf("inject_mistakes.py: %w: %s", err, bytes.TrimSpace(out))
	}
	text, err := os.ReadFile(base + ".mistakes.json")
	if err != nil {
		return 0, 0, err
	}
	var put struct{ Done []done }
	if err := json.Unmarshal(text, &put); err != nil {
		return 0, 0, err
	}
	judged, err := m.check(base+".mid", score)
	if err != nil {
		return 0, 0, err
	}
	if err := os.WriteFile(base+".json", judged, 0o600); err != nil {
		return 0, 0, err
	}
	v, err := readVerdict(judged)
	for _, d := range put.Done {
		const ahead = 0.03 // s that a wait begins before its note
		d.After = d.At + ahead
		for _, other := range put.Done {
			if other.At <= d.At {
				d.After += other.Wait
			}
		}
		if v.names(kind, d) {
			found++
		}
	}
	return found, len(put.Done), err
}

// names reports whether the verdict has the mistake, and as what it is.
func (v *verdict) names(kind string, d done) bool {
	const near = 0.05 // s
	switch kind {
	case "wrong", "missing":
		for _, n := range v.Notes {
			if n.Expected == nil || n.Verdict != kind || !n.Expected.has(d.ScoreID) {
				continue
			}
			return kind == "missing" || n.Played.Key == d.Played
		}
	case "extra":
		for _, n := range v.Notes {
			if n.Verdict == "extra" && n.Played.Key == d.Played && math.Abs(n.Played.Onset-d.At) < near {
				return true
			}
		}
	case "restart":
		for _, r := range v.Flow.Restarts {
			if math.Abs(r.At-d.At-d.Wait) < 0.5 {
				return true
			}
		}
	case "skip":
		return len(v.Flow.Skips) > 0
	case "hesitation":
		for _, h := range v.Flow.Hesitations {
			for _, n := range v.Notes {
				if n.Expected != nil && n.Played != nil && n.Expected.Onset == h.Onset && math.Abs(n.Played.Onset-d.After) < 0.5 {
					return true
				}
			}
		}
	}
	return false
}
