package repertoire

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"evenhand/internal/smf"
)

// folder makes a folder of small scores: by path, the title.
func folder(t *testing.T, scores map[string]string) string {
	t.Helper()
	dir := t.TempDir()
	for path, title := range scores {
		path = filepath.Join(dir, path)
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			t.Fatal(err)
		}
		xml := fmt.Sprintf(`<score-partwise version="4.0"><movement-title>%s</movement-title><part-list><score-part id="P1"><part-name/></score-part></part-list>
<part id="P1"><measure number="1"><attributes><divisions>1</divisions><time><beats>1</beats><beat-type>4</beat-type></time></attributes>
<note><pitch><step>C</step><octave>4</octave></pitch><duration>1</duration></note></measure></part></score-partwise>`, title)
		if err := os.WriteFile(path, []byte(xml), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	return dir
}

func TestFind(t *testing.T) {
	dir := folder(t, map[string]string{
		"etude.musicxml": "Étude à l’aube", "album/etude.xml": "Evening Study", "album/2.musicxml": "Frühlingsgruß", "album/untitled walk.musicxml": "",
		"waltz.musicxml": "Harbour Waltz", ".hidden.musicxml": "Secret", ".cache/x.musicxml": "Secret", "notes.txt": "Secret", "upper.MUSICXML": "Shouting Song",
	})
	in := func(name string) string { return filepath.Join(dir, name) }
	for _, c := range []struct{ what, path string }{
		{"The Ferryman", "the-ferryman.musicxml"},
		{"the ferryman", "the-ferryman.musicxml"},
		{"ferry", "the-ferryman.musicxml"},
		{"clockmakers dance", "clockmakers-dance.musicxml"},
		{"Clockmaker’s", "clockmakers-dance.musicxml"},
		{"puddles raindrops", "raindrops.musicxml"},
		{"evening-tide.musicxml", "evening-tide.musicxml"},
		{"raindrops", "raindrops.musicxml"},
		{"etude a l'aube", in("etude.musicxml")},
		{"ÉTUDE À L'AUBE", in("etude.musicxml")},
		{"E\u0301tude a\u0300", in("etude.musicxml")},
		{"fruhlingsgruss", in("album/2.musicxml")},
		{"evening s", in("album/etude.xml")},
		{"album/etude", in("album/etude.xml")},
		{"untitled walk", in("album/untitled walk.musicxml")},
		{"harbour waltz", in("waltz.musicxml")}, // the user's own before the built-in one
		{"shouting", in("upper.MUSICXML")},
		{in("album/2.musicxml"), in("album/2.musicxml")},
	} {
		s, err := Find(c.what, dir, filepath.Join(dir, "no such folder"))
		if err != nil || s.Path != c.path {
			t.Errorf("%q: %q, %v; want %q", c.what, s.Path, err, c.path)
		}
	}
}

func TestFindSaysWhyNot(t *testing.T) {
	dir := folder(t, map[string]string{"a/song.musicxml": "Song", "b/song.musicxml": "Song", "walking.musicxml": "Walking Song"})
	for _, c := range []struct{ what, want string }{
		{"steping stones", `no score is called "steping stones": did you mean "Stepping Stones"?`},
		{"walz", `no score is called "walz": did you mean "Harbour Waltz"?`},
		{"evening", ""},
		{"", `no score is called ""`},
		{"ing", `"ing" fits 3 scores: say which of "Walking Song", "Stepping Stones" or "Evening Tide"`},
		{"song", fmt.Sprintf("%q fits 2 scores: say which of %q or %q", "song", filepath.Join(dir, "a", "song.musicxml"), filepath.Join(dir, "b", "song.musicxml"))},
		{"./nowhere.mxl", `there is no file "./nowhere.mxl", and no score of that name: did you mean `},
		{"steping-stones.mxl", `there is no file "steping-stones.mxl", and no score of that name: did you mean "Stepping Stones"?`},
		{dir, dir + " is a folder: name a score in it"},
	} {
		_, err := Find(c.what, dir)
		got := ""
		if err != nil {
			got = err.Error()
		}
		if !strings.HasPrefix(got, c.want) || (got == "") != (c.want == "") || strings.Contains(got, "\n") {
			t.Errorf("%q: %s\nwant %s", c.what, got, c.want)
		}
	}
	var missing *NotFound
	if _, err := Find("steping stones"); !errors.As(err, &missing) || len(missing.Nearest) == 0 {
		t.Errorf("%v is no NotFound", err)
	}
	var several *Ambiguous
	if _, err := Find("the"); !errors.As(err, &several) || len(several.Scores) != 2 {
		t.Errorf("%v is no Ambiguous of two", err)
	}
}

func TestOpen(t *testing.T) {
	dir := folder(t, map[string]string{"walk.musicxml": "", "torn.musicxml": "Torn"})
	if err := os.WriteFile(filepath.Join(dir, "torn.musicxml"), []byte("<score-partwise>"), 0o644); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "feed.xml"), []byte("<feed/>"), 0o644); err != nil {
		t.Fatal(err)
	}
	ref, path, err := Open("ferryman", dir)
	if err != nil || path != "the-ferryman.musicxml" || len(ref.Notes) < 100 {
		t.Errorf("%s, %v", path, err)
	}
	if ref, _, err = Open("walk", dir); err != nil || ref.Title != "walk" {
		t.Errorf("a score without a title is called %+v, %v", ref, err)
	}
	if _, _, err := Open("torn", dir); err == nil || !strings.HasPrefix(err.Error(), filepath.Join(dir, "torn.musicxml")+": line 1: ") {
		t.Errorf("a torn score: %v", err)
	}
	for _, s := range List(dir) {
		if s.Title == "feed" {
			t.Error("an XML file that is no score is listed")
		}
	}
	if _, _, err := Open(filepath.Join(dir, "feed.xml")); err == nil {
		t.Error("an XML file that is no score is read")
	}
}

func TestOpenMIDI(t *testing.T) {
	dir := t.TempDir()
	note := func(tick int64, status byte) smf.Event {
		return smf.Event{Tick: tick, Status: status, Data: []byte{60, 64}}
	}
	write := func(name string, f *smf.File) {
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), b.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	write("Short Tune.mid", &smf.File{Division: 96, Tracks: []smf.Track{{Events: []smf.Event{note(0, 0x90), note(96, 0x80)}, End: 96}}})
	write("silence.midi", &smf.File{Division: 96, Tracks: []smf.Track{{End: 96}}})
	if err := os.WriteFile(filepath.Join(dir, "torn.mid"), []byte("MThd"), 0o644); err != nil {
		t.Fatal(err)
	}
	ref, path, err := Open("short tune", dir)
	if err != nil || path != filepath.Join(dir, "Short Tune.mid") || ref.Title != "Short Tune" || len(ref.Notes) != 1 {
		t.Errorf("%s, %v", path, err)
	}
	for _, name := range []string{"silence.midi", "torn.mid"} {
		path := filepath.Join(dir, name)
		if _, _, err := Open(path); err == nil || strings.Count(err.Error(), path) != 1 {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// Any title finds its score, however it is written.
func TestTitlesAreFoundHoweverWritten(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := rapid.SampledFrom(All()).Draw(t, "score")
		var b strings.Builder
		for _, r := range s.Title {
			what := string(r)
			if rapid.Bool().Draw(t, "upper") {
				what = strings.ToUpper(what)
			}
			if rapid.IntRange(0, 9).Draw(t, "accent") == 0 && r != ' ' {
				what += "\u0301"
			}
			if r == ' ' {
				what = rapid.SampledFrom([]string{" ", "  ", "-", ", ", "_"}).Draw(t, "gap")
			}
			b.WriteString(what)
		}
		if got, err := Find(b.String()); err != nil || got != s {
			t.Fatalf("%q: %+v, %v", b.String(), got, err)
		}
	})
}

// Whatever is asked for, there is an answer in one line.
func TestFindAnswersAnything(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		if _, err := Find(rapid.String().Draw(t, "what")); err != nil && strings.Contains(err.Error(), "\n") {
			t.Fatal(err)
		}
	})
}
