package main

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/capture/pupil"
)

// binary builds the real program once, as this test was built, and returns its path.
func binary(t testing.TB) string {
	t.Helper()
	path, err := build()
	if err != nil {
		t.Fatalf("building evenhand: %v", err)
	}
	return path
}

// built is the folder it is in.
var built string

var build = sync.OnceValues(func() (string, error) {
	var err error
	if built, err = os.MkdirTemp("", "evenhand-test-"); err != nil {
		return "", err
	}
	path := filepath.Join(built, "evenhand")
	if out, err := exec.Command("go", "build", "-buildvcs=false", "-trimpath", "-o", path, ".").CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w\n%s", err, out)
	}
	return path, nil
})

// benchTakes writes two takes to files: one without a fault, and that of the demonstration, whose
// wrong notes have the program look for something else that may have been played.
func benchTakes(b *testing.B) (words string, files map[string]string) {
	what, err := findAsked(demoRequest, nil)
	if err != nil {
		b.Fatal(err)
	}
	clean, _ := pupil.Play(what.candidates[0], pupil.Pupil{Seed: 1})
	files = map[string]string{}
	for name, take := range map[string]*capture.Take{"clean": clean, "faults": demoTake(what.candidates[0], 1)} {
		files[name] = filepath.Join(b.TempDir(), name+".mid")
		save(b, files[name], take)
	}
	return what.against, files
}

// BenchmarkCheckProcess runs the whole program on one take, in turn with "version", which is its bare
// start, so that both meet the same machine. The ratio of the medians is the cost of reading, marking
// and telling a take.
func BenchmarkCheckProcess(b *testing.B) {
	path := binary(b)
	words, files := benchTakes(b)
	start := func(args ...string) float64 {
		from := time.Now()
		if out, err := exec.Command(path, args...).CombinedOutput(); err != nil {
			b.Fatalf("%v: %s", err, out)
		}
		return 1000 * time.Since(from).Seconds()
	}
	for _, name := range []string{"clean", "faults"} {
		b.Run(name, func(b *testing.B) {
			var bare, check []float64
			for b.Loop() {
				bare = append(bare, start("version"))
				check = append(check, start("check", files[name], "--against", words, "--format", "json"))
			}
			b.ReportMetric(median(check)/median(bare), "of-version")
			b.ReportMetric(median(check), "ms/check")
			b.ReportMetric(median(bare), "ms/version")
		})
	}
}

// BenchmarkCheckAgainstParsing is check within a process as a multiple of reading the file.
func BenchmarkCheckAgainstParsing(b *testing.B) {
	words, files := benchTakes(b)
	for _, name := range []string{"clean", "faults"} {
		b.Run(name, func(b *testing.B) {
			var parse, check []float64
			for b.Loop() {
				from := time.Now()
				if _, err := readTake(files[name]); err != nil {
					b.Fatal(err)
				}
				parsed := time.Now()
				var out bytes.Buffer
				if status := run(b.Context(), nil, &out, &out, []string{"check", files[name], "--against", words, "--format", "json"}); status != statusDone {
					b.Fatal(out.String())
				}
				parse = append(parse, 1e6*parsed.Sub(from).Seconds())
				check = append(check, 1e6*time.Since(parsed).Seconds())
			}
			b.ReportMetric(median(check)/median(parse), "of-parsing")
			b.ReportMetric(median(parse), "µs/parse")
		})
	}
}
