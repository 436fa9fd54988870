package musicxml

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"

	"evenhand/internal/outside"
)

// Every score note that the open performances' ground truth names, by its id and the number of its
// playing, is a stroke of the reference with the key that was struck for it.
func TestTruthNamesStrokes(t *testing.T) {
	root := outside.Data(t)
	named, other := 0, 0
	for _, pattern := range []string{"nasap/*/*.truth.tsv", "vienna4x22/*/*.truth.tsv"} {
		files, _ := filepath.Glob(filepath.Join(root, pattern))
		for _, f := range files {
			data, err := os.ReadFile(filepath.Join(filepath.Dir(f), "score.musicxml"))
			if err != nil {
				t.Fatal(err)
			}
			ref, err := Read(bytes.NewReader(data))
			if err != nil {
				t.Fatal(err)
			}
			keys := map[string]int{}
			for _, s := range strokes(ref) {
				keys[s.ID] = s.Key
				keys[fmt.Sprintf("%s-%d", s.ID, s.Pass)] = s.Key
			}
			truth, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			for _, line := range strings.Split(strings.TrimSpace(string(truth)), "\n")[1:] {
				field := strings.Split(line, "\t")
				if field[0] != "match" {
					continue
				}
				named++
				key, ok := keys[field[1]]
				if !ok {
					t.Errorf("%s names %s, which is no stroke", f, field[1])
				} else if strconv.Itoa(key) != field[2] {
					other++
				}
			}
		}
	}
	t.Logf("%d notes named, %d of them struck on another key", named, other)
	if other*1000 > named {
		t.Errorf("%d of %d notes were struck on another key than written", other, named)
	}
}
