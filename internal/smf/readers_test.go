package smf

import (
	"bytes"
	"fmt"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	gomidi "gitlab.com/gomidi/midi/v2/smf"
	"pgregory.net/rapid"

	"evenhand/internal/outside"
)

// openFiles are the MIDI files of the open data, the torture files among them.
func openFiles(t *testing.T) (names []string, files [][]byte) {
	t.Helper()
	for _, set := range []string{"smf_torture", "hanon", "vienna4x22", "nasap", "pupils"} {
		err := filepath.WalkDir(outside.Data(t, set), func(path string, _ fs.DirEntry, err error) error {
			if err != nil || filepath.Ext(path) != ".mid" {
				return err
			}
			data, err := os.ReadFile(path)
			names, files = append(names, path), append(files, data)
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	return names, files
}

// lines shows the channel messages that keep lets pass, a line each: track, tick, bytes.
func lines(f *File, keep func(status byte) bool) []string {
	var list []string
	for i, tr := range f.Tracks {
		for _, e := range tr.Events {
			if e.Status < 0xF0 && keep(e.Status) {
				list = append(list, fmt.Sprintf("%d %d %x", i+1, e.Tick, append([]byte{e.Status}, e.Data...)))
			}
		}
	}
	return list
}

// Every file that the Go MIDI library gomidi reads, and all of these but damaged ones should be,
// has the same channel messages at the same ticks here. Where gomidi panics there is nothing to
// compare.
func TestAgreesWithGomidi(t *testing.T) {
	names, files := openFiles(t)
	taken := 0
	for i, data := range files {
		want, ok := gomidiLines(data)
		if !ok {
			continue
		}
		taken++
		f, err := Parse(data, names[i])
		if err != nil {
			t.Errorf("gomidi reads it: %v", err)
			continue
		}
		if got := lines(f, func(byte) bool { return true }); !slices.Equal(got, want) {
			t.Errorf("%s: %d channel messages, and %d by gomidi, or not the same", filepath.Base(names[i]), len(got), len(want))
		}
	}
	t.Logf("%d of %d files", taken, len(files))
	if taken < 120 {
		t.Errorf("only %d of %d files were read by gomidi", taken, len(files))
	}
}

func gomidiLines(data []byte) (list []string, ok bool) {
	defer func() {
		if recover() != nil {
			ok = false
		}
	}()
	s, err := gomidi.ReadFrom(bytes.NewReader(data))
	if err != nil {
		return nil, false
	}
	for i, tr := range s.Tracks {
		tick := int64(0)
		for _, e := range tr {
			tick += int64(e.Delta)
			if b := e.Message.Bytes(); len(b) > 0 && b[0] >= 0x80 && b[0] < 0xF0 {
				list = append(list, fmt.Sprintf("%d %d %x", i+1, tick, b))
			}
		}
	}
	return list, true
}

// And so with the notes and controllers of midicsv, a translator of MIDI files to text.
func TestAgreesWithMidicsv(t *testing.T) {
	tool := outside.Tool(t, "midicsv")
	names, files := openFiles(t)
	taken := 0
	for i, data := range files {
		out, err := exec.Command(tool, names[i]).Output()
		if err != nil {
			continue // refused
		}
		if strings.Contains(names[i], "illegal-message-f1") || strings.Contains(names[i], "illegal-message-f2") ||
			strings.Contains(names[i], "illegal-message-f3") || strings.Contains(names[i], "illegal-message-all") {
			continue // midicsv takes system messages with data for single bytes, and the data for a time
		}
		want, ok := midicsvLines(string(out))
		if !ok {
			continue
		}
		taken++
		f, err := Parse(data, names[i])
		if err != nil {
			t.Errorf("midicsv reads it: %v", err)
			continue
		}
		got := lines(f, func(status byte) bool { return status < 0xA0 || status&0xF0 == 0xB0 })
		if !slices.Equal(got, want) {
			t.Errorf("%s: %d messages, and %d by midicsv, or not the same", filepath.Base(names[i]), len(got), len(want))
		}
	}
	t.Logf("%d of %d files", taken, len(files))
	if taken < 120 {
		t.Errorf("only %d of %d files were read by midicsv", taken, len(files))
	}
}

// midicsvLines reads midicsv's "track, tick, name, channel, number, value". It reports false where
// midicsv met something that it does not know.
func midicsvLines(out string) (list []string, ok bool) {
	kinds := map[string]int{"Note_off_c": 0x80, "Note_on_c": 0x90, "Control_c": 0xB0}
	for line := range strings.Lines(out) {
		p := strings.Split(strings.TrimSpace(line), ", ")
		if len(p) > 2 && p[2] == "Unknown_meta_event" {
			return nil, false
		}
		if len(p) != 6 || kinds[p[2]] == 0 {
			continue
		}
		var n [6]int
		for i := range p {
			n[i], _ = strconv.Atoi(p[i])
		}
		list = append(list, fmt.Sprintf("%d %d %02x%02x%02x", n[0], n[1], kinds[p[2]]|n[3], n[4], n[5]))
	}
	return list, true
}

// The small files are damaged here and there in every way a byte can be: an answer and no panic.
func TestDamage(t *testing.T) {
	names, files := openFiles(t)
	for i, data := range files {
		if len(data) > 2000 {
			continue // the small ones have every kind of event
		}
		for at := 0; at < len(data); at += 1 + len(data)/100 {
			for _, bad := range [][]byte{
				append(bytes.Clone(data[:at]), data[at+1:]...),
				append(append(bytes.Clone(data[:at]), 0x90), data[at:]...),
				append(append(bytes.Clone(data[:at]), data[at]^0x80), data[at+1:]...),
				data[:at],
			} {
				if f, err := Parse(bad, names[i]); (f == nil) == (err == nil) {
					t.Fatalf("%s damaged at byte %d: %v, %v", names[i], at, f, err)
				}
			}
		}
	}
}

// What is written here, gomidi reads the same.
func TestGomidiReadsWhatIsWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := genFile(t)
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		got, ok := gomidiLines(b.Bytes())
		if want := lines(f, func(byte) bool { return true }); !ok || !slices.Equal(got, want) {
			t.Fatalf("%v: %q, want %q", ok, got, want)
		}
	})
}
