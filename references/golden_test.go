package references

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

var update = flag.Bool("update", false, "write the golden files anew")

// written are requests of every kind, whose notes and fingers are kept in a golden file.
var written = []string{
	"B flat major, contrary motion, from a unison, piano",
	"G sharp harmonic minor rh",
	"F sharp melodic minor, 1 octave, ♩ = 60, 3 notes to the beat",
	"C flat major lh 1 octave",
	"A minor contrary 1 octave, starting an octave apart",
	"chromatic scale on E flat, contrary, starting a minor third apart, 1 octave",
	"whole-tone scale on D flat rh 1 octave",
	"C major a third apart, 1 octave",
	"E flat major in thirds rh 1 octave",
	"D major in sixths lh 1 octave",
	"F major in octaves, 1 octave",
	"E flat minor arpeggio",
	"A flat major arpeggio second inversion lh",
	"dominant seventh in the key of F rh",
	"diminished seventh on F sharp contrary 1 octave",
	"G major broken chord rh 1 octave",
	"E minor broken chord, four-note pattern, lh 1 octave",
	"C major alberti bass lh 1 octave",
	"B minor five-finger",
	"F major triads with inversions rh 1 octave",
	"C minor cadence chords",
	"D major, right hand staccato, left hand legato, right hand f, left hand p, 1 octave",
	"E major rh 1 octave, p, crescendo up, diminuendo down",
}

func TestGolden(t *testing.T) {
	var b strings.Builder
	for _, words := range written {
		writeOut(&b, build(t, parsed(t, words)))
	}
	path := filepath.Join("testdata", "written.golden")
	if *update {
		if err := os.MkdirAll("testdata", 0o755); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(b.String()), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	got, old := strings.Split(b.String(), "\n"), strings.Split(string(want), "\n")
	for i := range max(len(got), len(old)) {
		switch {
		case i >= len(got) || i >= len(old):
			t.Fatalf("%s has %d lines, now there are %d", path, len(old), len(got))
		case got[i] != old[i]:
			t.Fatalf("line %d of %s:\n got %s\nwant %s", i+1, path, got[i], old[i])
		}
	}
}

// writeOut writes one line for each onset: bar and beat, and each note with hand and finger.
func writeOut(b *strings.Builder, ref *Reference) {
	fmt.Fprintf(b, "%s\n  signature %d, bar of %s, beat of %s\n", ref.Request, ref.Fifths, ref.BarLength, ref.Beat)
	events := ref.Events()
	for i := range len(events) - 1 {
		first := &ref.Notes[events[i]]
		fmt.Fprintf(b, "  %s:%.4g %s+%s", first.Bar, first.Beat, first.Onset, first.Length)
		for _, n := range ref.Notes[events[i]:events[i+1]] {
			fmt.Fprintf(b, "  %s %s %d", n.Hand, n.Pitch, n.Finger)
			if n.Hand == Both {
				fmt.Fprintf(b, "/%d", n.Finger2)
			}
			fmt.Fprintf(b, " %s", strings.TrimSpace(strings.Join([]string{n.Direction.String(), n.Dynamic.String(), n.Touch.String()}, " ")))
		}
		b.WriteByte('\n')
	}
}
