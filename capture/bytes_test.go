package capture

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"
)

// parsed feeds bytes, one a millisecond from 0, and shows the messages: "ms:hex".
func parsed(p *Bytes, b []byte) string {
	var s []string
	for i, c := range b {
		p.Write(time.Duration(i)*ms, []byte{c}, func(m Message) { s = append(s, show(m)) })
	}
	return strings.Join(s, " ")
}

func show(m Message) string {
	return fmt.Sprintf("%d:%02x%02x%02x", m.At/ms, m.Status, m.Data1, m.Data2)
}

func TestBytes(t *testing.T) {
	for _, c := range []struct{ name, bytes, want string }{
		{"plain", "903c50 803c20", "2:903c50 5:803c20"},
		{"running status", "903c50 3e51 4052", "2:903c50 4:903e51 6:904052"},
		{"velocity 0 lets go", "903c50 3c00", "2:903c50 4:803c40"},
		{"clock inside a message", "90 f8 3c fe 50 fa 3e fc 51", "4:903c50 8:903e51"},
		{"undefined real-time bytes", "90 f9 3c fd 50", "4:903c50"},
		{"sysex is skipped and ends running status", "903c50 f07e7f0601f7 3e51 903e51", "2:903c50 13:903e51"},
		{"clock inside sysex", "f07e f8 7ff7 903c50", "7:903c50"},
		{"sysex without its end", "f07e7f 903c50", "5:903c50"},
		{"system common ends running status", "903c50 f17f 3e51 f27f7f 3e51 f37f f6 3e51 903e51", "2:903c50 19:903e51"},
		{"undefined status", "903c50 f4 3e51 f5 3e51 903e51", "2:903c50 11:903e51"},
		{"data before any status", "3c50 903c50", "4:903c50"},
		{"one data byte", "c005 06 d07f 903c50", "7:903c50"},
		{"other channel messages", "a03c50 e00040 b34064", "8:b34064"},
		{"cut by a new status", "903c 903e51", "4:903e51"},
		{"reset lets go", "913c50 ff 3e51 913e51", "2:913c50 3:b17b00 3:b17900 8:913e51"},
	} {
		b, _ := hex.DecodeString(strings.ReplaceAll(c.bytes, " ", ""))
		if got := parsed(new(Bytes), b); got != c.want {
			t.Errorf("%s: %s\nwant %s", c.name, got, c.want)
		}
	}
}

// MIDI 1.0 lets a sender of active sensing be silent for 300 ms; keys are let go 330 ms after it was
// last heard, on time however late that is noticed.
func TestActiveSensing(t *testing.T) {
	var p Bytes
	var got []string
	emit := func(m Message) { got = append(got, show(m)) }
	p.Write(0, []byte{0x90, 60, 80, 0xFE}, emit)
	p.Write(300*ms, []byte{0xFE}, emit)
	p.Idle(630*ms, emit)
	if want := "0:903c50"; strings.Join(got, " ") != want {
		t.Fatalf("after 330 ms of silence: %v, want %s", got, want)
	}
	p.Idle(800*ms, emit)
	p.Idle(900*ms, emit)
	if want := "0:903c50 630:b07b00 630:b07900"; strings.Join(got, " ") != want {
		t.Fatalf("after more: %v, want %s", got, want)
	}
	p.Write(2000*ms, []byte{0x90, 62, 80}, emit)
	p.Idle(9000*ms, emit)
	if want := "2000:903e50"; got[len(got)-1] != want {
		t.Fatalf("without active sensing silence ends nothing: %v", got)
	}
}

// What comes after too long a silence comes after the keys were let go.
func TestActiveSensingNoticedLate(t *testing.T) {
	b := NewBuilder(Take{})
	var p Bytes
	emit := func(m Message) { b.Add(m) }
	p.Write(0, []byte{0xFE, 0x90, 60, 80}, emit)
	p.Write(time.Second, []byte{60, 80}, emit)
	p.Write(1100*ms, []byte{60, 0}, emit)
	want := []Note{{Key: 60, Velocity: 80, Off: 330 * ms}, {Key: 60, Velocity: 80, On: time.Second, Off: 1100 * ms}}
	if got := b.Take().Notes; len(got) != 2 || got[0] != want[0] || got[1] != want[1] {
		t.Errorf("%+v", got)
	}
}

func TestBytesCountsWhatIsLost(t *testing.T) {
	var p Bytes
	parsed(&p, []byte{1, 2, 0x90, 60, 0x90, 60, 80, 62})
	if p.Lost() != 3 || !p.Half() {
		t.Errorf("%d lost, half a message %v", p.Lost(), p.Half())
	}
}

// However the bytes are cut into pieces, the messages are the same.
func TestBytesInPieces(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		b := rapid.SliceOf(rapid.Byte()).Draw(t, "bytes")
		var whole, pieces bytes.Buffer
		var p, q Bytes
		p.Write(0, b, func(m Message) { fmt.Fprint(&whole, show(m)) })
		for len(b) > 0 {
			n := rapid.IntRange(1, len(b)).Draw(t, "piece")
			q.Write(0, b[:n], func(m Message) { fmt.Fprint(&pieces, show(m)) })
			b = b[n:]
		}
		if whole.String() != pieces.String() {
			t.Fatalf("%s\n%s", &whole, &pieces)
		}
	})
}

// One byte lost, doubled or changed in a scale sent with every status spoils two notes at most: the
// message it belongs to, and the release or the note it is paired with.
func TestOneBadByte(t *testing.T) {
	var clean []byte
	for key := byte(40); key < 70; key++ {
		clean = append(clean, 0x90, key, 80, 0x80, key, 64)
	}
	want := heardKeys(clean)
	rapid.Check(t, func(t *rapid.T) {
		at := rapid.IntRange(0, len(clean)-1).Draw(t, "at")
		bad := bytes.Clone(clean)
		switch rapid.IntRange(0, 2).Draw(t, "fault") {
		case 0:
			bad = append(bad[:at], bad[at+1:]...)
		case 1:
			bad = append(bad[:at+1], clean[at:]...)
		default:
			bad[at] ^= 1 << rapid.IntRange(0, 7).Draw(t, "bit")
		}
		got := heardKeys(bad)
		spoilt := 0
		for key, n := range want {
			if got[key] != n {
				spoilt++
			}
		}
		for key := range got {
			if want[key] == 0 {
				spoilt++
			}
		}
		if bad[min(at, len(bad)-1)] == 0xFF {
			return // a reset, which lets all keys go and spoils no note-on
		}
		if spoilt > 2 {
			t.Fatalf("%d keys differ: %v, want %v", spoilt, got, want)
		}
	})
}

// heardKeys counts the notes of each key that bytes give.
func heardKeys(b []byte) map[byte]int {
	builder := NewBuilder(Take{})
	new(Bytes).Write(0, b, func(m Message) { builder.Add(m) })
	keys := map[byte]int{}
	for _, n := range builder.Take().Notes {
		keys[n.Key]++
	}
	return keys
}

func FuzzBytes(f *testing.F) {
	f.Add([]byte{0x90, 60, 80, 62, 0xF8, 80, 0xF0, 1, 2, 0xF7, 0x80, 60, 64})
	f.Add([]byte{0xFE, 0x90, 60, 80, 0xFF, 0xF2, 1, 2, 0xB0, 123, 0})
	f.Fuzz(func(t *testing.T, data []byte) {
		var p Bytes
		b := NewBuilder(Take{})
		var last time.Duration
		emit := func(m Message) {
			if kind := m.Status & 0xF0; kind != 0x80 && kind != 0x90 && kind != 0xB0 || m.Data1 > 127 || m.Data2 > 127 || m.At < last {
				t.Fatalf("%+v after %v", m, last)
			}
			last = m.At
			b.Add(m)
		}
		for i := range data {
			p.Write(time.Duration(i)*200*ms, data[i:i+1], emit)
		}
		p.Idle(time.Hour, emit)
	})
}
