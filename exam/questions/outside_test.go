package questions

import (
	"archive/zip"
	"bytes"
	_ "embed"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenhand/internal/outside"
	"evenhand/references"
	"evenhand/references/musicxml"
)

//go:embed testdata/reading.mjs
var reading string

var noteTag = regexp.MustCompile(`<note( [^>]*)?>`)

var comment = regexp.MustCompile(`(?s)<!--.*?-->`)

// withIDs gives every note and rest of a score an id of its own, by which both readings find it.
func withIDs(xml string) string {
	n := 0
	return noteTag.ReplaceAllStringFunc(comment.ReplaceAllString(xml, ""), func(tag string) string {
		n++
		tag = regexp.MustCompile(` (xml:)?id="[^"]*"`).ReplaceAllString(tag, "")
		return fmt.Sprintf(`<note id="q%d"%s`, n, strings.TrimPrefix(tag, "<note"))
	})
}

// scoreText is the XML of a score, unpacked where it is compressed.
func scoreText(t *testing.T, path string) string {
	t.Helper()
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	if filepath.Ext(path) != ".mxl" {
		return string(data)
	}
	z, err := zip.NewReader(bytes.NewReader(data), int64(len(data)))
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range z.File {
		if ext := filepath.Ext(f.Name); (ext == ".xml" || ext == ".musicxml") && !strings.HasPrefix(f.Name, "META-INF") {
			r, err := f.Open()
			if err != nil {
				t.Fatal(err)
			}
			defer r.Close()
			text, err := io.ReadAll(r)
			if err != nil {
				t.Fatal(err)
			}
			return string(text)
		}
	}
	t.Fatalf("%s: no score in it", path)
	return ""
}

// job is one score with all that can be asked on it.
type job struct {
	XML       string     `json:"xml"`
	Questions []Question `json:"questions"`
}

// everything is all that can be asked on a score at one level, not a draw of it.
func everything(ref *references.Reference, level int) []Question {
	var out []Question
	for _, c := range candidates(newScore(ref, level)) {
		if len(c.choices()) > 0 {
			out = append(out, c.question(1))
		}
	}
	return out
}

// known are the scores that the second reading has otherwise, and why.
var known = map[string]string{
	"xmlFiles/32c-MultipleNotationChildren.xml": "verovio takes the accidental over an ornament for the note's own",
}

// Every answer on every open score and on our own is the answer of a second reading: an XML reader of
// its own, pitches and values from verovio 6.3.0, key signatures, relative keys, intervals and chords
// from @tonaljs/tonal 4.10.0.
func TestAnswersAgreeWithASecondReading(t *testing.T) {
	jobs := map[string]job{}
	for _, pattern := range scorePatterns(t) {
		files, err := filepath.Glob(pattern)
		if err != nil {
			t.Fatal(err)
		}
		for _, f := range files {
			xml := withIDs(scoreText(t, f))
			ref, err := musicxml.Read(strings.NewReader(xml))
			if err != nil {
				continue // no score, as some of the torture set are none
			}
			jobs[filepath.Join(filepath.Base(filepath.Dir(f)), filepath.Base(f))] = job{xml, everything(ref, 8)}
		}
	}
	in, err := json.Marshal(jobs)
	if err != nil {
		t.Fatal(err)
	}
	var theirs map[string][]*string
	raw := outside.Node(t, reading, in)
	if err := json.Unmarshal(raw[max(bytes.IndexByte(raw, '{'), 0):], &theirs); err != nil {
		t.Fatalf("the second reading: %v\n%.300s", err, raw)
	}
	asked, wrong, kinds := 0, 0, map[Kind]int{}
	for name, j := range jobs {
		for i, q := range j.Questions {
			if theirs[name] == nil {
				continue // timewise: read by one side alone
			}
			asked++
			kinds[q.Kind]++
			if other := theirs[name][i]; known[name] == "" && (other == nil || !q.Right(*other)) {
				wrong++
				if wrong <= 60 {
					said := "nothing"
					if other != nil {
						said = *other
					}
					t.Errorf("%s: %s\n\t%q here, %q by the second reading", name, q.Text, q.Answer, said)
				}
			}
		}
	}
	if asked < 200 {
		t.Errorf("only %d questions were compared", asked)
	}
	t.Logf("%d questions on %d scores, %d wrong: %v", asked, len(jobs), wrong, kinds)
}

// scorePatterns are where scores are: our own, and the open ones where there are any.
func scorePatterns(t *testing.T) []string {
	t.Helper()
	out := []string{filepath.Join(outside.Root(), "references", "repertoire", "*.musicxml")}
	data := outside.Data(t)
	for _, p := range []string{"hanon/*.musicxml", "nasap/*/*.musicxml", "vienna4x22/*/*.musicxml", "pupils/*/*.mxl", "musicxml_suite/xmlFiles/*"} {
		out = append(out, filepath.Join(data, p))
	}
	return out
}
