package smf

import (
	"bytes"
	"encoding/hex"
	"errors"
	"fmt"
	"math/big"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"
)

// The examples of variable-length quantities that the Standard MIDI Files 1.0 specification prints
// beside its definition, and a few worked by hand the same way.
var vlqAnswers = []struct {
	value uint32
	bytes string
}{
	{0x00, "00"},
	{0x40, "40"},
	{0x7F, "7f"},
	{0x80, "8100"},
	{1000, "8768"},
	{0x2000, "c000"},
	{0x3FFF, "ff7f"},
	{0x4000, "818000"},
	{100_000, "868d20"},
	{1_000_000, "bd8440"},
	{0x100000, "c08000"},
	{0x1FFFFF, "ffff7f"},
	{0x200000, "81808000"},
	{0x8000000, "c0808000"},
	{0xFFFFFFF, "ffffff7f"},
}

func TestVLQ(t *testing.T) {
	for _, c := range vlqAnswers {
		want, _ := hex.DecodeString(c.bytes)
		if got := appendVLQ(nil, c.value); !bytes.Equal(got, want) {
			t.Errorf("%d is written %x, want %x", c.value, got, want)
		}
		if got, n := vlq(append(want, 0x55)); got != c.value || n != len(want) {
			t.Errorf("%x reads as %d in %d bytes, want %d in %d", want, got, n, c.value, len(want))
		}
	}
}

func TestVLQFaults(t *testing.T) {
	for _, c := range []struct {
		bytes string
		value uint32
		n     int
	}{
		{"", 0, 0},
		{"81", 0, 0},
		{"ffffffff7f", 0, -1}, // five bytes that all count
		{"8180808000", 0, -1}, // 2^28, one more than fits
		{"80808080807f", 0x7F, 6},
		{"80ffffff7f", maxVLQ, 5},
	} {
		b, _ := hex.DecodeString(c.bytes)
		if v, n := vlq(b); v != c.value || n != c.n {
			t.Errorf("%s: %d, %d; want %d, %d", c.bytes, v, n, c.value, c.n)
		}
	}
}

// song puts tracks, given in hex without their heads, behind a header with right lengths.
func song(format, division uint16, tracks ...string) []byte {
	f := []byte{'M', 'T', 'h', 'd', 0, 0, 0, 6, 0, byte(format), 0, byte(len(tracks)), byte(division >> 8), byte(division)}
	for _, t := range tracks {
		body := unhex(t)
		f = append(f, 'M', 'T', 'r', 'k', 0, 0, byte(len(body)>>8), byte(len(body)))
		f = append(f, body...)
	}
	return f
}

func unhex(s string) []byte {
	b, err := hex.DecodeString(strings.ReplaceAll(s, " ", ""))
	if err != nil {
		panic(err)
	}
	return b
}

// show writes the channel events of a file in the order played: time in microseconds and bytes.
func show(f *File) string {
	var b strings.Builder
	events, _ := f.Timeline()
	for _, e := range events {
		if e.Status < 0xF0 {
			b.WriteString(e.At.String() + ":" + hex.EncodeToString(append([]byte{e.Status}, e.Data...)) + " ")
		}
	}
	return strings.TrimSpace(b.String())
}

func TestParse(t *testing.T) {
	const c4 = "00 903c40 60 803c40 00 ff2f00" // struck at once, held for 96 ticks
	const c4Heard = "0s:903c40 500ms:803c40"
	good := song(0, 96, c4)
	cut := func(b []byte, n int) []byte { return b[:len(b)-n] }
	set := func(b []byte, at int, v ...byte) []byte {
		b = bytes.Clone(b)
		copy(b[at:], v)
		return b
	}
	tests := []struct {
		name     string
		data     []byte
		heard    string
		warnings []string // parts of them, in order
	}{
		{"plain", good, c4Heard, nil},
		{"running status", song(0, 96, "00 903c40 60 3c00 00 ff2f00"), "0s:903c40 500ms:903c00", nil},
		{"running status kept over a meta event", song(0, 96, "00 903c40 00 ff0100 60 3c00 00 ff2f00"), "0s:903c40 500ms:903c00", []string{"byte 30: running status goes on"}},
		{"running status kept over sysex", song(0, 96, "00 903c40 00 f0027ef7 60 3c00 00 ff2f00"), "0s:903c40 500ms:903c00", []string{"running status goes on"}},
		{"one data byte", song(0, 96, "00 c005 00 06 00 d07f 00 ff2f00"), "0s:c005 0s:c006 0s:d07f", nil},
		{"tempo change in another track", song(1, 96, "60 ff5103 0f4240 00 ff2f00", "00 903c40 8140 803c40 00 ff2f00"), "0s:903c40 1.5s:803c40", nil},
		{"tempo of nothing", song(0, 96, "00 ff5103 000000 "+c4), c4Heard, []string{"byte 22: a tempo event that gives no tempo"}},
		{"smpte 25 frames of 40 ticks: milliseconds", song(0, 0xE728, "00 903c40 8768 803c40 00 ff2f00"), "0s:903c40 1s:803c40", nil},
		{"smpte ignores tempo", song(0, 0xE728, "00 ff5103 0f4240 00 903c40 8768 803c40 00 ff2f00"), "0s:903c40 1s:803c40", nil},
		{"smpte drop frame: 30000 frames of 1 tick in 1001 s", song(0, 0xE301, "00 903c40 81ea30 803c40 00 ff2f00"), "0s:903c40 16m41s:803c40", nil},
		{"smpte rate of no standard", song(0, 0xF628, "00 903c40 8310 803c40 00 ff2f00"), "0s:903c40 1s:803c40", []string{"10 frames to the second"}},
		{"same tick: track order", song(1, 96, "00 903c40 60 803c40 00 ff2f00", "60 903c41 00 ff2f00"), "0s:903c40 500ms:803c40 500ms:903c41", nil},
		{"unknown chunk", append(append(bytes.Clone(good[:14]), "Abcd\x00\x00\x00\x03xyz"...), good[14:]...), c4Heard, nil},
		{"longer header", append(append(set(good[:14], 7, 8), 1, 2), good[14:]...), c4Heard, []string{"the header is longer"}},
		{"riff", append([]byte("RIFF\x2c\x00\x00\x00RMIDdata\x24\x00\x00\x00"), append(bytes.Clone(good), "LIST\x00\x00\x00\x00"...)...), c4Heard, []string{"bytes after the last track passed over"}},
		{"riff of right length", append([]byte("RIFF\x30\x00\x00\x00RMIDDISP\x01\x00\x00\x00x\x00data\x22\x00\x00\x00"), good...), c4Heard, nil},
		{"no end of track", song(0, 96, "00 903c40 60 803c40"), c4Heard, []string{"byte 30: the track has no end-of-track"}},
		{"bytes after end of track", song(0, 96, c4+"002a2a"), c4Heard, []string{"byte 34: 3 bytes after the end"}},
		{"bytes after last track", append(bytes.Clone(good), 0, 0, 0), c4Heard, []string{"byte 34: 3 bytes after the last track"}},
		{"track length too short", set(good, 21, 5), c4Heard, []string{"byte 34: the track ends here, though its head says byte 27"}},
		{"track length too long", set(good, 18, 0x7F), c4Heard, []string{"though its head says"}},
		{"track length too long before another", append(set(song(1, 96, c4), 11, 2, 0, 96, 'M', 'T', 'r', 'k', 9), song(0, 96, c4)[14:]...), "0s:903c40 0s:903c40 500ms:803c40 500ms:803c40", []string{"though its head says"}},
		{"file cut short", cut(good, 5), "0s:903c40", []string{"byte 26: the file breaks off within", "though its head says"}},
		{"wrong count of tracks", set(good, 11, 3), c4Heard, []string{"byte 10: the header's count of tracks (3) is wrong; the file has 1"}},
		{"format 0 with two tracks", set(song(1, 96, c4, c4), 9, 0), "0s:903c40 0s:903c40 500ms:803c40 500ms:803c40", []string{"format 0 has one track"}},
		{"format 2", song(2, 96, c4, c4), c4Heard, []string{"2 separate sequences"}},
		{"format 7", song(7, 96, c4), c4Heard, []string{"format 7 is unknown"}},
		{"system messages", song(0, 96, "00 f17f 00 f27f7f 00 f6 00 f8 00 fe "+c4), c4Heard, []string{"byte 22: a system message that has no place in a file is passed over (5 times in this track)"}},
		{"time of five bytes", song(0, 96, "80 80 80 80 00 903c40 60 803c40 00 ff2f00"), c4Heard, []string{"more than four bytes"}},
		{"time that does not fit", song(0, 96, c4[:10]+" ff ff ff ff 7f 803c40 00 ff2f00"), "0s:903c40 661.458ms:803c40", []string{"a time or length of more than four bytes; 4 bytes passed over"}},
		{"one byte too many", song(0, 96, "00 903c40 60 80 ff 3c40 00 903e40 60 803e40 00 ff2f00"), "0s:903c40 0s:903e40 500ms:803e40", []string{"byte 26: a data byte above 127; 5 bytes passed over"}},
		{"data byte where a status should be", song(0, 96, "00 3c40 60 803c40 00 ff2f00"), "500ms:803c40", []string{"byte 22: data bytes where a status"}},
		{"lost beyond repair", song(0, 96, "00 903c40 00 90ff40 00 90ff40"), "0s:903c40", []string{"byte 26: a data byte above 127; the rest of this track (8 bytes)"}},
		{"content longer than the file", song(0, 96, "00 903c40 00 ff01 ffffff7f 00"), "0s:903c40", []string{"byte 26: the file breaks off within an event"}},
	}
	for _, c := range tests {
		t.Run(c.name, func(t *testing.T) {
			f, err := Parse(c.data, "take.mid")
			if err != nil {
				t.Fatal(err)
			}
			if got := show(f); got != c.heard {
				t.Errorf("heard %s\n want %s", got, c.heard)
			}
			var got []string
			for _, w := range f.Warnings {
				got = append(got, w.Error())
			}
			if len(got) < len(c.warnings) || len(c.warnings) == 0 && len(got) > 0 {
				t.Fatalf("warnings %q, want %q", got, c.warnings)
			}
			for i, w := range c.warnings {
				if !strings.Contains(got[i], w) {
					t.Errorf("warning %d is %q, want %q", i, got[i], w)
				}
			}
		})
	}
}

func TestRefuse(t *testing.T) {
	many := make([]byte, MaxBytes+1)
	copy(many, "MThd")
	tests := []struct {
		name string
		data []byte
		kind error
		want string
	}{
		{"empty", nil, ErrNotMIDI, "take.mid: byte 0: the file is empty; save the take again"},
		{"text", []byte("not a midi file"), ErrNotMIDI, "take.mid: byte 0: not a midi file (it does not begin with MThd); give a .mid file"},
		{"cut header", []byte("MThd\x00\x00\x00\x06\x00"), ErrNotMIDI, "take.mid: byte 9: the midi file ends within its header; save or copy it again"},
		{"short header", []byte("MThd\x00\x00\x00\x02\x00\x00\x00\x01\x00\x60"), ErrNotMIDI, "take.mid: byte 4: the midi header says it is 2 bytes long and must be 6; save the file again"},
		{"no division", song(0, 0, "00ff2f00"), ErrNotMIDI, "take.mid: byte 12: the midi header gives its ticks no length (division 0x0000), so no time can be told; save the file again"},
		{"smpte with no ticks", song(0, 0xE700, "00ff2f00"), ErrNotMIDI, "take.mid: byte 12: the midi header gives its ticks no length (division 0xe700), so no time can be told; save the file again"},
		{"no track", song(0, 96), ErrNotMIDI, "take.mid: byte 14: the midi file holds no track; save it again"},
		{"riff of another kind", []byte("RIFF\x04\x00\x00\x00WAVEfmt "), ErrNotMIDI, "take.mid: byte 0: not a midi file (it does not begin with MThd); give a .mid file"},
		{"too many bytes", many, ErrTooBig, "take.mid: byte 16777216: more than 16 MB is no piano take; give a smaller file"},
	}
	for _, c := range tests {
		f, err := Parse(c.data, "take.mid")
		var e *Error
		if f != nil || !errors.Is(err, c.kind) || !errors.As(err, &e) || err.Error() != c.want {
			t.Errorf("%s: %v, want %s", c.name, err, c.want)
		}
	}
}

func TestEventsAreBounded(t *testing.T) {
	data := song(1, 96, "00 903c40 60 3c00 00 ff2f00", "00 903c40 00 ff2f00") // five with the tracks
	if _, err := parse(data, "take.mid", 5); err != nil {
		t.Error(err)
	}
	_, err := parse(data, "take.mid", 4)
	if want := "take.mid: byte 33: this many events are no piano take; give a smaller file"; !errors.Is(err, ErrTooBig) || err.Error() != want {
		t.Errorf("%v, want %s", err, want)
	}
}

// Times are compared with exact fractions, whatever tempo changes lie on the way.
func TestClockIsExact(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		division := rapid.Uint16Range(1, 0x7FFF).Draw(t, "division")
		c := newClock(Division(division))
		exact, tempo, tick := new(big.Rat), int64(defaultTempo), int64(0)
		for range rapid.IntRange(1, 40).Draw(t, "events") {
			delta := rapid.Int64Range(0, maxVLQ).Draw(t, "delta")
			tick += delta
			exact.Add(exact, new(big.Rat).SetFrac(
				new(big.Int).Mul(big.NewInt(delta), big.NewInt(tempo)), big.NewInt(int64(division))))
			if got, want := c.at(tick).Microseconds(), nearest(exact); got != want {
				t.Fatalf("tick %d is at %d us, want %d", tick, got, want)
			}
			tempo = rapid.Int64Range(1, 1<<24-1).Draw(t, "tempo")
			c.setTempo(uint32(tempo))
		}
	})
}

// nearest rounds r to the nearest whole number, halves up.
func nearest(r *big.Rat) int64 {
	r = new(big.Rat).Add(r, big.NewRat(1, 2))
	return new(big.Int).Div(r.Num(), r.Denom()).Int64()
}

// 25,000 ticks to the quarter at 120 to the minute are 20 microseconds each, exactly.
func TestTwentyMicroseconds(t *testing.T) {
	c := newClock(25_000)
	for _, tick := range []int64{0, 1, 7, 25_000, 1 << 40} {
		if got := c.at(tick); got != time.Duration(tick)*20*time.Microsecond {
			t.Errorf("tick %d at %v", tick, got)
		}
	}
}

func TestTimesStopAtTheEndOfTime(t *testing.T) {
	c := newClock(1)
	c.setTempo(1<<24 - 1)
	if got := c.at(1 << 48); got < 290*365*24*time.Hour {
		t.Errorf("2^48 quarters of 16.8 s are at %v", got)
	}
}

// What is written reads back the same, and without a warning.
func TestWriteParse(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f := genFile(t)
		var b bytes.Buffer
		if err := f.Write(&b); err != nil {
			t.Fatal(err)
		}
		got, err := Parse(b.Bytes(), "written")
		if err != nil {
			t.Fatal(err)
		}
		for i := range got.Tracks {
			got.Tracks[i].Offset = 0
			for j := range got.Tracks[i].Events {
				got.Tracks[i].Events[j].Offset = 0
			}
		}
		if d := cmp.Diff(f, got); d != "" {
			t.Fatal(d)
		}
	})
}

func genFile(t *rapid.T) *File {
	f := &File{Format: 1, Division: Division(rapid.Uint16Range(1, 0x7FFF).Draw(t, "division"))}
	for range rapid.IntRange(1, 3).Draw(t, "tracks") {
		tr := Track{}
		for range rapid.IntRange(0, 20).Draw(t, "events") {
			tr.End += rapid.Int64Range(0, maxVLQ).Draw(t, "delta")
			tr.Events = append(tr.Events, genEvent(t, tr.End))
		}
		f.Tracks = append(f.Tracks, tr)
	}
	return f
}

func genEvent(t *rapid.T, tick int64) Event {
	data := rapid.ByteRange(0, 0x7F)
	switch rapid.IntRange(0, 2).Draw(t, "kind") {
	case 0:
		status := rapid.ByteRange(0x80, 0xEF).Draw(t, "status")
		n := dataBytes(status)
		return Event{Tick: tick, Status: status, Data: rapid.SliceOfN(data, n, n).Draw(t, "data")}
	case 1:
		return Event{Tick: tick, Status: Meta, Meta: Text, Data: append([]byte{}, rapid.SliceOf(rapid.Byte()).Draw(t, "text")...)}
	}
	return Event{Tick: tick, Status: SysEx, Data: append([]byte{}, rapid.SliceOf(data).Draw(t, "sysex")...)}
}

func TestWriteBridgesLongGaps(t *testing.T) {
	const gap = 3*maxVLQ + 5 // at 20 microseconds a tick, over four hours
	f := &File{Division: 25_000, Tracks: []Track{{End: gap, Events: []Event{{Tick: gap, Status: 0x90, Data: []byte{60, 64}}}}}}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	got, err := Parse(b.Bytes(), "gap")
	if err != nil || len(got.Warnings) > 0 {
		t.Fatal(err, got.Warnings)
	}
	if last := got.Tracks[0].Events[len(got.Tracks[0].Events)-1]; last.Tick != gap || last.Status != 0x90 {
		t.Errorf("the note came back as %+v", last)
	}
}

func TestWriteRefuses(t *testing.T) {
	for _, events := range [][]Event{
		{{Tick: 5, Status: 0x90, Data: []byte{60, 64}}, {Tick: 4, Status: 0x90, Data: []byte{60, 64}}},
		{{Status: 0x90, Data: []byte{60}}},
		{{Status: 0xC0, Data: []byte{0x80}}},
		{{Status: 0xF8}},
		{{Status: 0x10, Data: []byte{1}}},
	} {
		f := &File{Division: 96, Tracks: []Track{{Events: events}}}
		if err := f.Write(new(bytes.Buffer)); err == nil {
			t.Errorf("%+v was written", events)
		}
	}
}

func TestText(t *testing.T) {
	for in, want := range map[string]string{"B♭ major": "B♭ major", "Fl\xfcgel": "Flügel", "": ""} {
		if got := (&Event{Data: []byte(in)}).Text(); got != want {
			t.Errorf("%q reads %q", in, got)
		}
	}
}

func TestWarningsAreBounded(t *testing.T) {
	data := song(0, 96)
	for range 500 {
		data = append(data, "MTrk\x00\x00\x00\x00"...)
	}
	f, err := Parse(data, "odd.mid")
	if err != nil || len(f.Warnings) != maxWarnings+1 {
		t.Fatal(err, len(f.Warnings))
	}
}

// Whatever the bytes: an answer and no panic, times in order, and what was read writes and reads
// back the same.
func FuzzParse(f *testing.F) {
	f.Add(song(0, 96, "00 903c40 60 3c00 00 ff2f00"))
	f.Add(song(1, 0xE728, "00 ff5103 0f4240 00 ff2f00", "00 903c40 8768 803c40 00 ff2f00"))
	f.Add(song(0, 96, "00 903c40 60 80 ff 3c40 00 f0027ef7 3c40 ff ff ff ff"))
	f.Add([]byte("RIFF\x30\x00\x00\x00RMIDdata\x22\x00\x00\x00MThd\x00\x00\x00\x06\x00\x00\x00\x01\x00\x60MTrk"))
	f.Fuzz(func(t *testing.T, data []byte) {
		file, err := Parse(data, "fuzz")
		if (err == nil) == (file == nil) {
			t.Fatalf("file %v with error %v", file, err)
		}
		if err != nil {
			return
		}
		events, end := file.Timeline()
		var at time.Duration
		for _, e := range events {
			if e.At < at || e.At > end {
				t.Fatalf("an event at %v after one at %v, the end at %v", e.At, at, end)
			}
			at = e.At
		}
		var b bytes.Buffer
		if err := file.Write(&b); err != nil {
			t.Fatal(err)
		}
		again, err := Parse(b.Bytes(), "again")
		if err != nil {
			t.Fatal(err)
		}
		if show(again) != show(file) {
			t.Fatalf("written and read again: %s\nwas %s", show(again), show(file))
		}
	})
}

// A byte lost from a file or added to it, wherever, is never passed over in silence: it is told or
// the file is refused, unless what is read is the same all the same.
func TestLostAndAddedBytesAreTold(t *testing.T) {
	good := song(1, 96, "00 ff5103 07a120 00 ff2f00", "00 903c40 60 803c40 00 903e40 8140 803e40 00 b04000 00 ff0102 6869 00 ff2f00")
	f, err := Parse(good, "good.mid")
	if err != nil || len(f.Warnings) > 0 {
		t.Fatal(err, f.Warnings)
	}
	want := show(f)
	check := func(what string, at int, data []byte) {
		f, err := Parse(data, "bad.mid")
		if err == nil && len(f.Warnings) == 0 && show(f) != want {
			t.Errorf("byte %d %s: %s, and nothing is told", at, what, show(f))
		}
	}
	for at := range good {
		check("lost", at, append(bytes.Clone(good[:at]), good[at+1:]...))
		for extra := range 256 {
			check(fmt.Sprintf("before an added %02x", extra), at, append(append(bytes.Clone(good[:at]), byte(extra)), good[at:]...))
		}
	}
}
