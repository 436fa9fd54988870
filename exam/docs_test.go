package exam_test

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"evenhand/exam"
	"evenhand/internal/outside"
)

// Every name in the JSON of a paper and of a mark sheet is explained.
func TestEveryFieldIsExplained(t *testing.T) {
	text, err := os.ReadFile(filepath.Join(outside.Root(), "docs", "exam.md"))
	if err != nil {
		t.Fatal(err)
	}
	p, evidence := sitting(t)
	names := map[string]bool{}
	for _, v := range []any{p, exam.Mark(p, evidence)} {
		encoded, err := json.Marshal(v)
		if err != nil {
			t.Fatal(err)
		}
		var decoded any
		if err := json.Unmarshal(encoded, &decoded); err != nil {
			t.Fatal(err)
		}
		gather(decoded, names)
	}
	if len(names) < 40 {
		t.Errorf("only %d names", len(names))
	}
	for name := range names {
		if !strings.Contains(string(text), "`"+name+"`") {
			t.Errorf("%q is in the JSON and not in docs/exam.md", name)
		}
	}
}

func gather(v any, names map[string]bool) {
	switch v := v.(type) {
	case map[string]any:
		for name, x := range v {
			names[name] = true
			gather(x, names)
		}
	case []any:
		for _, x := range v {
			gather(x, names)
		}
	}
}
