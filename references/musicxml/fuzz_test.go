package musicxml

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"evenhand/internal/outside"
	"evenhand/references"
)

// seeds are small scores of every sort.
func seeds() []string {
	slur := note1(`<slur type="start"/>`)
	return []string{
		piano(n("C4", 16)),
		piano(open + n("C4", 4, slur) + n("D4", 4, `<tie type="start"/>`) + back(8) + n("E3", 8) + closed + "|" + n("D4", 16, `<tie type="stop"/>`)),
		piano(n("C4", 0, `<grace slash="yes"/>`) + n("C4", 8, note1("<ornaments><trill-mark/><accidental-mark>sharp</accidental-mark></ornaments><fermata/>")) + `<note><rest/><duration>8</duration></note>`),
		piano(dir(`<words>poco rit.</words><wedge type="crescendo"/>`) + n("C4", 16) + `<sound dacapo="yes" tempo="60"/>`),
		piano(endingStart("1,2") + n("C4", 16) + endingStop("1,2", `<repeat direction="backward" times="3"/>`) + "|" + endingStart("3") + n("C4", 16)),
	}
}

// addSuite adds the smaller files of the open suite, where it is there.
func addSuite(f *testing.F) {
	files, _ := filepath.Glob(filepath.Join(outside.Root(), "..", "shared", "data", "musicxml_suite", "xmlFiles", "*"))
	for _, file := range files {
		if data, err := os.ReadFile(file); err == nil && len(data) < 8000 {
			f.Add(data)
		}
	}
}

// FuzzRead asserts that no bytes make the reader panic, that what is read holds to what a Reference
// promises, and that it can be written and read again with as many strokes.
func FuzzRead(f *testing.F) {
	for _, s := range seeds() {
		f.Add([]byte(s))
	}
	addSuite(f)
	f.Fuzz(func(t *testing.T, data []byte) { checkRead(t, data) })
}

// FuzzReadCompressed does the same within a compressed file, and with its own bytes.
func FuzzReadCompressed(f *testing.F) {
	for _, s := range seeds() {
		f.Add(packed(f, "score.xml", []byte(s), true), []byte(s))
	}
	f.Fuzz(func(t *testing.T, archive, inside []byte) {
		checkRead(t, archive)
		checkRead(t, packed(t, "score.xml", inside, true))
	})
}

func checkRead(t *testing.T, data []byte) {
	ref, err := Read(bytes.NewReader(data))
	if err != nil {
		if ref != nil {
			t.Fatal("an error and a reference")
		}
		return
	}
	checkPromises(t, ref)
	if len(ref.Notes) > 2000 {
		return
	}
	var out bytes.Buffer
	if err := Write(&out, ref); err != nil {
		t.Fatal(err)
	}
	again, err := Read(&out)
	if err != nil {
		t.Fatalf("what was written is not read: %v", err)
	}
	checkPromises(t, again)
}

// checkPromises asserts what the documentation of Reference says.
func checkPromises(t *testing.T, ref *references.Reference) {
	t.Helper()
	for i := range ref.Notes {
		n := &ref.Notes[i]
		bar := ref.Bars[n.Measure]
		switch {
		case i > 0 && n.Onset.Less(ref.Notes[i-1].Onset):
			t.Fatal("notes out of order")
		case n.Onset.Less(bar.Onset) || n.Pass != bar.Pass || n.Bar != bar.Number:
			t.Fatalf("%+v is not in its bar %+v", n, bar)
		case n.Length.Num() < 0 || n.Key() < 0 || n.Key() > 127:
			t.Fatalf("%+v", n)
		case n.Grace == references.NoGrace && i > 0 && ref.Notes[i-1].Grace == references.NoGrace && n.Onset == ref.Notes[i-1].Onset && n.Key() == ref.Notes[i-1].Key():
			t.Fatalf("%+v and %+v are one stroke", ref.Notes[i-1], n)
		}
	}
	for i := 1; i < len(ref.Bars); i++ {
		if b := ref.Bars[i-1]; ref.Bars[i].Onset != tame(b.Onset.Add(b.Length)) {
			t.Fatal("bars do not follow one another")
		}
	}
	checkSections(t, "fuzz", ref)
}
