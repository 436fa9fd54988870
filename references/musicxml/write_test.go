package musicxml

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"evenhand/internal/outside"
	"evenhand/references"
)

// schema lays the W3C schema of MusicXML 4.0 out in a folder of its own, with the two schemas that
// it imports read from there and not from the network.
func schema(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	src := outside.Data(t, "musicxml_schema")
	for _, name := range []string{"musicxml.xsd", "xml.xsd", "xlink.xsd"} {
		data, err := os.ReadFile(filepath.Join(src, name))
		if err != nil {
			t.Fatal(err)
		}
		text := string(data)
		for _, local := range []string{"xml.xsd", "xlink.xsd"} {
			text = strings.ReplaceAll(text, "http://www.musicxml.org/xsd/"+local, local)
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte(text), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return filepath.Join(dir, "musicxml.xsd")
}

// allScores are the scores of the open data and of the suite, by name.
func allScores(t *testing.T) map[string][]byte {
	t.Helper()
	out := map[string][]byte{}
	for name, xml := range openScores(t) {
		out[name] = []byte(xml)
	}
	files, _ := filepath.Glob(outside.Data(t, "musicxml_suite", "xmlFiles") + "/*")
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		out[filepath.Base(f)] = data
	}
	return out
}

// changed are the scores that do not come back quite the same: how many differences there are.
var changed = map[string]int{
	// Bar 17 ends with a note tied into the first ending alone, and the tie decides how it is joined.
	"nasap/Beethoven_Piano_Sonatas_18-3": 1,
}

func TestWrittenScoresAreValidAndReadBackTheSame(t *testing.T) {
	xsd := schema(t)
	lint := outside.Tool(t, "xmllint")
	dir := t.TempDir()
	args := []string{"--noout", "--nonet", "--schema", xsd}
	for name, data := range allScores(t) {
		ref, err := Read(bytes.NewReader(data))
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		var buf bytes.Buffer
		if err := Write(&buf, ref); err != nil {
			t.Errorf("%s: %v", name, err)
		}
		file := filepath.Join(dir, strings.ReplaceAll(name, "/", "_")+".musicxml")
		if err := os.WriteFile(file, buf.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		args = append(args, file)
		again, err := Read(&buf)
		if err != nil {
			t.Errorf("%s read again: %v", name, err)
			continue
		}
		for i := range ref.Notes {
			if n := &ref.Notes[i]; n.Hand == references.NoHand && i < len(again.Notes) {
				n.Hand = again.Notes[i].Hand // written by pitch where it is not known
			}
		}
		if d := differences(ref, again); len(d) != changed[name] {
			t.Errorf("%s: %d differences, want %d: %.5v", name, len(d), changed[name], d)
		}
	}
	if out, err := exec.Command(lint, args...).CombinedOutput(); err != nil {
		t.Errorf("xmllint: %v\n%.4000s", err, out)
	}
}

// differences tells in words how two references differ.
func differences(a, b *references.Reference) []string {
	var out []string
	list := func(what string, x, y any) {
		vx, vy := reflect.ValueOf(x), reflect.ValueOf(y)
		if vx.Len() != vy.Len() {
			out = append(out, fmt.Sprintf("%d %s became %d", vx.Len(), what, vy.Len()))
		}
		for i := range min(vx.Len(), vy.Len()) {
			if p, q := vx.Index(i).Interface(), vy.Index(i).Interface(); !reflect.DeepEqual(p, q) {
				out = append(out, fmt.Sprintf("%s %d: %+v\n\tbecame %+v", what, i, p, q))
			}
		}
	}
	list("notes", a.Notes, b.Notes)
	list("bars", a.Bars, b.Bars)
	list("keys", a.Keys, b.Keys)
	list("tempos", a.Tempos, b.Tempos)
	list("marks", a.Marks, b.Marks)
	list("pedals", a.Pedals, b.Pedals)
	list("sections", a.Sections, b.Sections)
	list("jumps", a.Jumps, b.Jumps)
	if a.Title != b.Title || a.Fifths != b.Fifths || a.Minor != b.Minor || a.Tempo != b.Tempo || a.BarLength != b.BarLength || a.Beat != b.Beat {
		out = append(out, fmt.Sprintf("%q %v became %q %v", a.Title, a.Tempo, b.Title, b.Tempo))
	}
	return out
}
