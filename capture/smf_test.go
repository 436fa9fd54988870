package capture

import (
	"bytes"
	"encoding/binary"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// Live equals file: what was played, written and read back is the same take.
func TestLiveEqualsFile(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := NewBuilder(genAbout(t))
		for _, m := range genMessages(t) {
			b.Add(m)
		}
		live := b.Take()
		got, err := ReadSMF(bytes.NewReader(written(t, live)), "live.mid")
		if len(live.Notes) == 0 {
			if !errors.Is(err, ErrNoNotes) {
				t.Fatalf("a take without notes gave %v, %v", got, err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if d := cmp.Diff(live, got); d != "" {
			t.Fatal(d)
		}
	})
}

func genAbout(t *rapid.T) Take {
	about := Take{
		Device:  rapid.SampledFrom([]string{"", "Stage piano", "Flügel <2> & \"so\""}).Draw(t, "device"),
		Started: time.Unix(rapid.Int64Range(0, 4e9).Draw(t, "started"), 123456789),
		Period:  time.Duration(rapid.Int64Range(0, 1e8).Draw(t, "period")),
	}
	if facts := rapid.MapOf(rapid.String(), rapid.String()).Draw(t, "facts"); len(facts) > 0 {
		about.Facts = facts
	}
	return about
}

func written(t rapid.TB, take *Take) []byte {
	t.Helper()
	var b bytes.Buffer
	if err := WriteSMF(&b, take); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

// Where two notes of one key overlap, the second ends the first, as on a piano; times that are no
// whole ticks go to the nearest.
func TestWriteOverlap(t *testing.T) {
	take := &Take{Notes: []Note{
		{Key: 60, Velocity: 80, On: 0, Off: 100 * ms},
		{Key: 60, Velocity: 70, On: 50*ms + 11*time.Microsecond, Off: 150 * ms},
	}}
	got, err := ReadSMF(bytes.NewReader(written(t, take)), "x.mid")
	want := []Note{
		{Key: 60, Velocity: 80, On: 0, Off: 50*ms + Tick},
		{Key: 60, Velocity: 70, On: 50*ms + Tick, Off: 150 * ms},
	}
	if err != nil || !cmp.Equal(got.Notes, want) {
		t.Errorf("%+v, %v", got, err)
	}
}

// The facts stand in a text event that begins as documented.
func TestFactsAreText(t *testing.T) {
	b := written(t, &Take{Facts: map[string]string{"request": "B flat major"}})
	if !bytes.Contains(b, []byte(`evenhand:{"facts":{"request":"B flat major"}}`)) {
		t.Errorf("%q", b)
	}
}

// song puts tracks, given with their delta times, behind a header.
func song(format, division uint16, tracks ...string) []byte {
	b := []byte("MThd\x00\x00\x00\x06")
	for _, v := range []uint16{format, uint16(len(tracks)), division} {
		b = binary.BigEndian.AppendUint16(b, v)
	}
	for _, t := range tracks {
		b = append(b, "MTrk"...)
		b = binary.BigEndian.AppendUint32(b, uint32(len(t)))
		b = append(b, t...)
	}
	return b
}

const (
	end   = "\x00\xff\x2f\x00"
	c4    = "\x00\x90\x3c\x50\x60\x80\x3c\x40"                             // 96 ticks of middle C
	slow  = "\x00\xff\x51\x03\x0f\x42\x40"                                 // a second to the quarter
	third = "\x00\xff\x51\x03\x05\x16\x15\x01\x90\x3c\x50\x01\x80\x3c\x40" // 333,333 us to the quarter
)

func TestReadSMF(t *testing.T) {
	const us = time.Microsecond
	for _, c := range []struct {
		name     string
		data     []byte
		notes    []Note
		warnings []string
	}{
		{"format 0", song(0, 96, c4+end), []Note{{Key: 60, Velocity: 80, Off: 500 * ms}}, nil},
		{"format 1, the tempo in a track of its own", song(1, 96, slow+end, c4+end), []Note{{Key: 60, Velocity: 80, Off: 1000 * ms}}, nil},
		{"milliseconds of smpte", song(0, 0xE728, c4+end), []Note{{Key: 60, Velocity: 80, Off: 96 * ms}}, nil},
		{"exact to the microsecond, not rounded to our tick", song(0, 96, third+end), []Note{{Key: 60, Velocity: 80, On: 3472 * us, Off: 6944 * us}}, nil},
		{"never released", song(0, 96, c4+"\x00\x90\x3e\x50\x60\xff\x2f\x00"), []Note{{Key: 60, Velocity: 80, Off: 500 * ms}, {Key: 62, Velocity: 80, On: 500 * ms, Off: 1000 * ms, Open: true}}, []string{"1 note never released; closed where the take ends"}},
		{"faults ride along", song(0, 96, c4), []Note{{Key: 60, Velocity: 80, Off: 500 * ms}}, []string{"byte 30: the track has no end-of-track event; it is taken to end here"}},
		{"kept text that is broken", song(0, 96, "\x00\xff\x01\x0aevenhand:{"+c4+end), []Note{{Key: 60, Velocity: 80, Off: 500 * ms}}, []string{"byte 22: what was kept with the take (its request and settings) cannot be read"}},
		{"kept text that lies", song(0, 96, "\x00\xff\x01\x18evenhand:{\"open\":[-1,9]}"+c4+end), []Note{{Key: 60, Velocity: 80, Off: 500 * ms}}, nil},
	} {
		t.Run(c.name, func(t *testing.T) {
			got, err := ReadSMF(bytes.NewReader(c.data), "take.mid")
			if err != nil {
				t.Fatal(err)
			}
			if d := cmp.Diff(&Take{Notes: c.notes, Warnings: c.warnings}, got); d != "" {
				t.Error(d)
			}
		})
	}
}

func TestReadSMFRefuses(t *testing.T) {
	for _, c := range []struct {
		data []byte
		kind error
		want string
	}{
		{nil, ErrNotMIDI, "take.mid: byte 0: the file is empty; save the take again"},
		{[]byte("hello"), ErrNotMIDI, "take.mid: byte 0: not a midi file (it does not begin with MThd); give a .mid file"},
		{song(0, 96, end), ErrNoNotes, "take.mid: byte 14: nothing is played in it: no notes; record the take again"},
		{song(0, 96, "\x00\x99\x26\x50"+end), ErrNoNotes, "take.mid: byte 14: all its notes are on the percussion channel (10): no piano notes; record the take on another channel"},
		{song(0, 96, "\x00\x90"), ErrNoNotes, "take.mid: byte 22: the file breaks off within an event; what came before is read; nothing is played in it: no notes; record the take again"},
	} {
		take, err := ReadSMF(bytes.NewReader(c.data), "take.mid")
		var refused *Refused
		if take != nil || !errors.Is(err, c.kind) || !errors.As(err, &refused) || err.Error() != c.want {
			t.Errorf("%q: %v\nwant %s", c.data, err, c.want)
		}
	}
}

func TestReadFile(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "take.mid")
	if err := os.WriteFile(path, song(0, 96, c4+end), 0o600); err != nil {
		t.Fatal(err)
	}
	if take, err := ReadFile(path); err != nil || len(take.Notes) != 1 {
		t.Errorf("%v, %v", take, err)
	}
	if _, err := ReadFile(filepath.Join(dir, "none.mid")); !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a file that is not there: %v", err)
	}
	if _, err := ReadFile(dir); err == nil || !strings.HasSuffix(err.Error(), "is a folder; name a file in it") {
		t.Errorf("a folder: %v", err)
	}
}

// scale is a take of a four-octave scale, hands together, up and down, with its pedal.
func scale() *Take {
	b := NewBuilder(Take{Device: "bench"})
	at := time.Duration(0)
	steps := []byte{0, 2, 4, 5, 7, 9, 11}
	for i := range 57 {
		n := min(i, 56-i)
		key := 36 + 12*byte(n/7) + steps[n%7]
		b.Add(on(at, key, 70))
		b.Add(on(at+3*ms, key+12, 72))
		b.Add(off(at+120*ms, key))
		b.Add(off(at+124*ms, key+12))
		at += 125 * ms
	}
	return b.Take()
}

func BenchmarkReadSMF(b *testing.B) {
	data := written(b, scale())
	b.SetBytes(int64(len(data)))
	b.ReportAllocs()
	for b.Loop() {
		if _, err := ReadSMF(bytes.NewReader(data), "scale.mid"); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkBuilderAdd(b *testing.B) {
	messages := []Message{on(0, 60, 80), off(0, 60)}
	builder := NewBuilder(Take{})
	b.ReportAllocs()
	for i := 0; b.Loop(); i++ {
		builder.Add(messages[i%2])
	}
}
