package questions

import (
	"flag"
	"fmt"
	"os"
	"strings"
	"testing"

	"evenhand/references/repertoire"

	"github.com/google/go-cmp/cmp"
)

var update = flag.Bool("update", false, "write the golden files again")

// Twelve questions on each of our own scores at three levels, to be read by a person after a change.
func TestQuestionsAsWritten(t *testing.T) {
	var b strings.Builder
	for _, s := range repertoire.All() {
		ref, err := s.Read()
		if err != nil {
			t.Fatal(err)
		}
		for _, level := range []int{1, 4, 8} {
			fmt.Fprintf(&b, "%s, level %d\n\n", s.Title, level)
			for _, q := range Ask(ref, level, 1, 12) {
				fmt.Fprintf(&b, "%s\n  %s\n  (%s)\n  %s\n\n", q.Text, q.Answer, strings.Join(q.Choices, " / "), q.Because)
			}
		}
	}
	const golden = "testdata/questions.golden"
	if *update {
		if err := os.WriteFile(golden, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(golden)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), b.String()); d != "" {
		t.Error(d)
	}
}
