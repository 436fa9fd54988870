package musicxml

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"sort"
	"strings"
	"testing"

	"evenhand/internal/outside"
	"evenhand/references"
)

// timemapScript loads each score that is given and prints its onsets: the id, the time in quarters
// with repeats played out, how often that id has sounded, and the first time its key.
const timemapScript = `
import createVerovioModule from 'verovio/wasm';
import { VerovioToolkit } from 'verovio/esm';
import fs from 'fs';
const tk = new VerovioToolkit(await createVerovioModule());
tk.setOptions({ breaks: 'none' });
console.warn = console.error = () => {};
const out = {};
for (const [name, xml] of Object.entries(JSON.parse(fs.readFileSync(0, 'utf8')))) {
	if (!tk.loadData(xml)) { out[name] = null; continue; }
	out[name] = [];
	for (const e of tk.renderToTimemap({ includeRests: false })) {
		for (const id of e.on || []) {
			const m = id.match(/^(.*?)(?:-rend(\d+))?$/);
			out[name].push({ id: m[1], pass: +(m[2] || 1), at: e.qstamp, key: m[2] ? 0 : tk.getMIDIValuesForElement(id).pitch });
		}
	}
}
fs.writeSync(1, JSON.stringify(out));
`

// stroke is one sounding of a note of a score.
type stroke struct {
	ID   string  `json:"id"`
	Pass int     `json:"pass"`
	At   float64 `json:"at"`
	Key  int     `json:"key"` // 0 where it is not told
}

// timemaps asks verovio 6.3.0, an engraver that plays repeats out by its own rules, for the onsets
// of scores given as XML text.
func timemaps(t *testing.T, scores map[string]string) map[string][]stroke {
	t.Helper()
	in, err := json.Marshal(scores)
	if err != nil {
		t.Fatal(err)
	}
	var out map[string][]stroke
	raw := outside.Node(t, timemapScript, in)
	if i := bytes.IndexByte(raw, '{'); i > 0 {
		raw = raw[i:]
	}
	if err := json.Unmarshal(raw, &out); err != nil {
		t.Fatalf("verovio's answer: %v\n%.200s", err, raw)
	}
	return out
}

var noteTag = regexp.MustCompile(`<note( [^>]*)?>`)

// withIDs gives every note of a score an id.
func withIDs(xml string) string {
	n := 0
	return noteTag.ReplaceAllStringFunc(xml, func(tag string) string {
		if strings.Contains(tag, " id=") {
			return tag
		}
		n++
		return fmt.Sprintf(`<note id="x%d"%s`, n, strings.TrimPrefix(tag, "<note"))
	})
}

// strokes lists the soundings of a reference, each voice of a unison for itself.
func strokes(ref *references.Reference) []stroke {
	var out []stroke
	for i := range ref.Notes {
		n := &ref.Notes[i]
		for _, id := range append([]string{n.ID}, n.Also...) {
			out = append(out, stroke{id, n.Pass, n.Onset.Float(), n.Key()})
		}
	}
	return out
}

// tiedOn finds the ids of the notes that a tie stops at.
func tiedOn(xml string) map[string]bool {
	out := map[string]bool{}
	for _, m := range noteBlock.FindAllStringSubmatch(xml, -1) {
		if strings.Contains(m[2], `<tie type="stop"`) {
			out[m[1]] = true
		}
	}
	return out
}

var noteBlock = regexp.MustCompile(`(?s)<note[^>]* id="([^"]*)"[^>]*>(.*?)</note>`)

// compare tells in words where two lists of strokes differ, when what is only another way of
// telling the same is taken off:
//   - a grace note's place in time is the player's, and is not compared;
//   - a note that a tie stops at is listed there, and is no stroke here;
//   - a grace note takes time from its main note there, which then comes later, and so do the upper
//     notes of a rolled chord.
func compare(ref *references.Reference, xml string, theirs []stroke) []string {
	grace, delayed := map[string]bool{}, map[references.Quarters]bool{}
	for i := range ref.Notes {
		if n := &ref.Notes[i]; n.Grace != references.NoGrace {
			grace[n.ID] = true
			delayed[n.Onset] = true
		}
	}
	late := map[string]float64{} // by id: how much later a main note may come
	for i := range ref.Notes {
		if n := &ref.Notes[i]; delayed[n.Onset] || n.Rolled {
			late[n.ID] = n.Length.Float()
		}
	}
	tied := tiedOn(xml)
	type key struct {
		id string
		at int
	}
	ours, keys := map[key]int{}, map[string]int{}
	place := func(s stroke) key {
		if grace[s.ID] {
			return key{s.ID, 0}
		}
		return key{s.ID, int(math.Round(s.At * 1000))}
	}
	for _, s := range strokes(ref) {
		ours[place(s)]++
		keys[s.ID] = s.Key
	}
	var out []string
	for _, s := range theirs {
		k := place(s)
		for back := 0; ours[k] == 0 && float64(back) < 1000*late[s.ID]; back++ {
			k.at--
		}
		if ours[k] > 0 {
			ours[k]--
			if s.Key != 0 && s.Key != keys[s.ID] {
				out = append(out, fmt.Sprintf("%8.3f %s key %d here, %d there", s.At, s.ID, keys[s.ID], s.Key))
			}
		} else if !tied[s.ID] {
			out = append(out, fmt.Sprintf("%8.3f %s there alone", s.At, s.ID))
		}
	}
	for k, n := range ours {
		if n != 0 {
			out = append(out, fmt.Sprintf("%8.3f %s here alone", float64(k.at)/1000, k.id))
		}
	}
	sort.Strings(out)
	return out
}

// openScores are the scores of the open test data.
func openScores(t *testing.T) map[string]string {
	t.Helper()
	root := outside.Data(t)
	out := map[string]string{}
	for _, pattern := range []string{"hanon/*.musicxml", "nasap/*/*.musicxml", "vienna4x22/*/*.musicxml", "pupils/*/*.mxl"} {
		files, _ := filepath.Glob(filepath.Join(root, pattern))
		for _, f := range files {
			data, err := os.ReadFile(f)
			if err != nil {
				t.Fatal(err)
			}
			text, _, err := decode(data)
			if err != nil {
				t.Fatal(err)
			}
			name, _ := filepath.Rel(root, filepath.Dir(f))
			out[name] = withIDs(string(text))
		}
	}
	return out
}

// differ are the open scores in which verovio hears other onsets: how many, and why.
var differ = map[string]struct {
	onsets int
	why    string
}{
	"nasap/Beethoven_Piano_Sonatas_18-3": {16, "hidden notes after a gap within a triplet, bars 11 and 12: it leaves the gap out of the triplet"},
}

func TestOnsetsAgreeWithVerovio(t *testing.T) {
	if testing.Short() {
		t.Skip("loads long scores into verovio")
	}
	scores := openScores(t)
	there := map[string]string{}
	for name, xml := range scores {
		there[name] = xml
	}
	// The studies of this book end with final bar lines and have repeats with no start signs: each
	// goes back to the start of its study. Verovio takes them all to the beginning of the book, so
	// it is given the start signs.
	there["hanon"] = regexp.MustCompile(`<measure number="1"[^>]*>`).
		ReplaceAllString(scores["hanon"], `$0<barline location="left"><repeat direction="forward"/></barline>`)
	theirs := timemaps(t, there)
	for name, xml := range scores {
		ref, err := Read(strings.NewReader(xml))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		diff := compare(ref, xml, theirs[name])
		t.Logf("%-45s %5d strokes, %d onsets differ, %d warnings", name, len(ref.Notes), len(diff), len(ref.Warnings))
		if known := differ[name]; len(diff) != known.onsets {
			t.Errorf("%s: %d onsets differ, want %d (%s): %q", name, len(diff), known.onsets, known.why, diff[:min(len(diff), 10)])
		}
	}
}
