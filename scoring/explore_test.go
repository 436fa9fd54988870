package scoring

import (
	"fmt"
	"os"
	"path/filepath"
	"sort"
	"testing"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/internal/outside"
)

func TestExperts(t *testing.T) {
	root := filepath.Join(outside.Root(), "..", "shared", "data")
	for _, d := range []string{"vienna4x22/*", "nasap/*"} {
		dirs, _ := filepath.Glob(filepath.Join(root, d))
		for _, dir := range dirs {
			if _, err := os.Stat(filepath.Join(dir, "score.musicxml")); err != nil {
				continue
			}
			ref := readScore(t, filepath.Join(dir, "score.musicxml"))
			mids, _ := filepath.Glob(filepath.Join(dir, "*.mid"))
			for k, m := range mids {
				if k > 2 && os.Getenv("ALL") == "" {
					break
				}
				take, err := capture.ReadFile(m)
				if err != nil {
					t.Error(err)
					continue
				}
				t0 := time.Now()
				al := align.Align(ref, take, 0, 0)
				t1 := time.Now()
				a := Assess(al, Asked{}, DefaultSettings())
				t2 := time.Now()
				kinds := map[string]int{}
				loss := map[string]float64{}
				for _, f := range a.Findings {
					kinds[string(f.Kind)]++
					loss[string(f.Kind)] += f.loss
				}
				var ks []string
				for k := range kinds {
					ks = append(ks, k)
				}
				sort.Strings(ks)
				fmt.Printf("%s %s exp %d miss %d wrong %d extra %d | overall %d n %d t %d s %d | align %v score %v\n   ", filepath.Base(dir), filepath.Base(m), a.Counts.Expected, a.Counts.Missing, a.Counts.Wrong, a.Counts.Extra, iv(a.Marks.Overall), iv(a.Marks.Notes), iv(a.Marks.Time), iv(a.Marks.Sound), t1.Sub(t0), t2.Sub(t1))
				for _, k := range ks {
					fmt.Printf(" %s %d (%.3f);", k, kinds[k], loss[k])
				}
				fmt.Println()
				if k == 0 {
					for i, f := range a.Findings {
						if i < 8 {
							fmt.Printf("      %.3f %s\n", f.loss, f.Text)
						}
					}
				}
			}
		}
	}
}
func iv(p *int) int {
	if p == nil {
		return -1
	}
	return *p
}
