package capture

import (
	"bytes"
	"errors"
	"io"
	"slices"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// grown is a growing file with messages, ended or not.
func grown(t rapid.TB, about Take, messages []Message, ended bool) []byte {
	t.Helper()
	b, err := growingHead(about)
	if err != nil {
		t.Fatal(err)
	}
	for _, m := range messages {
		b = appendMessage(b, m)
	}
	if ended {
		b = appendRecord(b, []byte{endRecord})
	}
	return b
}

// growingBytes is a file that can be made to grow under its reader.
type growingBytes []byte

func (g *growingBytes) ReadAt(b []byte, at int64) (int, error) {
	return bytes.NewReader(*g).ReadAt(b, at)
}

// A reader that follows the file byte by byte gets every message once, as soon as it is whole.
func TestGrowingIsFollowed(t *testing.T) {
	about := Take{Device: "Stage piano", Started: time.Date(2026, 3, 1, 17, 15, 2, 5, time.UTC), Facts: map[string]string{"request": "C major"}, Period: ms}
	messages := []Message{on(0, 60, 80), control(5*ms, Sustain, 127), off(3*time.Hour, 60)}
	whole := grown(t, about, messages, true)
	var file growingBytes
	var g *Growing
	var got []Message
	for i, c := range whole {
		file = append(file, c)
		if g == nil {
			var err error
			if g, err = OpenGrowing(&file); err != nil {
				if !errors.Is(err, io.EOF) {
					t.Fatal(err)
				}
				continue
			}
			if d := cmp.Diff(about, g.About()); d != "" {
				t.Fatal(d)
			}
		}
		m, err := g.Next()
		if err == nil {
			got = append(got, m)
		} else if !errors.Is(err, io.EOF) {
			t.Fatal(err)
		}
		if g.Ended() != (i == len(whole)-1) {
			t.Fatalf("ended is %v at byte %d of %d", g.Ended(), i+1, len(whole))
		}
	}
	if !slices.Equal(got, messages) {
		t.Errorf("%v, want %v", got, messages)
	}
}

// Whatever one byte is changed to, no message comes out that did not go in.
func TestGrowingTellsDamage(t *testing.T) {
	messages := []Message{on(0, 60, 80), off(10*ms, 60), on(20*ms, 62, 81)}
	whole := grown(t, Take{}, messages, true)
	head := len(grown(t, Take{}, nil, false))
	rapid.Check(t, func(t *rapid.T) {
		bad := bytes.Clone(whole)
		bad[rapid.IntRange(0, len(bad)-1).Draw(t, "at")] ^= rapid.ByteRange(1, 255).Draw(t, "by")
		g, err := OpenGrowing(bytes.NewReader(bad))
		if err != nil {
			if bytes.Equal(bad[:head], whole[:head]) {
				t.Fatalf("a good head is refused: %v", err)
			}
			return
		}
		for _, want := range messages {
			m, err := g.Next()
			if err != nil {
				return
			}
			if m != want {
				t.Fatalf("%v, want %v", m, want)
			}
		}
	})
}

func TestFactsThatDoNotFit(t *testing.T) {
	if _, err := growingHead(Take{Facts: map[string]string{"score": string(make([]byte, maxRecord))}}); err == nil {
		t.Error("a header longer than a record was taken")
	}
}

func FuzzGrowing(f *testing.F) {
	f.Add(grown(f, Take{Device: "x"}, []Message{on(0, 60, 80), off(10*ms, 60)}, true))
	f.Add([]byte(growingMagic + "\xff\xff\xff\xff    "))
	f.Fuzz(func(t *testing.T, data []byte) {
		take, err := readGrowing(data)
		if (take == nil) == (err == nil) {
			t.Fatal(take, err)
		}
	})
}
