package capture

import (
	"bytes"
	"encoding/hex"
	"fmt"
	"slices"
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

// stroke is some bytes sent at one time.
type stroke struct {
	at    time.Duration
	bytes []byte
}

// fiveHundred are 500 notes as a piano sends them, a note every 250 ms: each message with its status, or
// leaning on the first one as many pianos do, with velocity 0 for a release.
func fiveHundred(leaning bool) []stroke {
	var out []stroke
	for i := range 500 {
		key, at := byte(30+i%60), time.Duration(i)*250*ms
		on, off := []byte{0x90, key, 80}, []byte{0x80, key, 64}
		if leaning {
			on, off = []byte{key, 80}, []byte{key, 0}
			if i == 0 {
				on = []byte{0x90, key, 80}
			}
		}
		out = append(out, stroke{at, on}, stroke{at + 125*ms, off})
	}
	return out
}

// heardNotes are the keys that strokes give, by the time they are struck at.
func heardNotes(strokes []stroke) map[time.Duration]byte {
	builder := NewBuilder(Take{})
	var p Bytes
	for _, s := range strokes {
		p.Write(s.at, s.bytes, func(m Message) { builder.Add(m) })
	}
	notes := map[time.Duration]byte{}
	for _, n := range builder.Take().Notes {
		notes[n.On] = n.Key
	}
	return notes
}

// TestEveryBadByte loses, doubles and flips each bit of each byte of 500 notes, one at a time: no more
// is spoilt than the note it belongs to and those beside it.
func TestEveryBadByte(t *testing.T) {
	if testing.Short() {
		t.Skip("long: left out by -short")
	}
	for _, leaning := range []bool{false, true} {
		clean := fiveHundred(leaning)
		want := heardNotes(clean)
		if len(want) != 500 {
			t.Fatalf("%d notes in the stream", len(want))
		}
		worst := 0
		try := func(k int, bad []byte) {
			// Around the fault is enough: what came before is not touched, and what comes after says so.
			from, to := max(0, k-6), min(len(clean), k+40)
			strokes := append([]stroke{{clean[from].at, []byte{0x90}}}, clean[from:to]...)
			strokes[1+k-from].bytes = bad
			got, spoilt := heardNotes(strokes), 0
			for at, key := range want {
				if at >= clean[from].at && at < clean[to-1].at && got[at] != key {
					spoilt++
				}
			}
			for at := range got {
				if _, is := want[at]; !is {
					spoilt++
				}
			}
			worst = max(worst, spoilt)
			if spoilt > 3 {
				t.Errorf("stroke %d as % x: %d notes spoilt", k, bad, spoilt)
			}
		}
		for k, s := range clean {
			for i := range s.bytes {
				if k == 0 && leaning && i == 0 {
					continue // the only status there is: without it nothing can be told
				}
				try(k, slices.Delete(bytes.Clone(s.bytes), i, i+1))
				try(k, slices.Insert(bytes.Clone(s.bytes), i, s.bytes[i]))
				for bit := range 8 {
					bad := bytes.Clone(s.bytes)
					bad[i] ^= 1 << bit
					if leaning && i == 0 && bad[i]&0xE0 == 0xC0 {
						continue // a status of one data byte, as good as a true one until the next status
					}
					try(k, bad)
				}
			}
		}
		t.Logf("leaning on one status %v: at most %d notes spoilt", leaning, worst)
	}
}

// TestALostByteInAFile: the bytes of a file have no times, and releases alone tell where a message begins.
func TestALostByteInAFile(t *testing.T) {
	if testing.Short() {
		t.Skip("long: left out by -short")
	}
	var clean []byte
	for _, s := range fiveHundred(true) {
		clean = append(clean, s.bytes...)
	}
	want := heardKeys(clean)
	for at := 1; at < len(clean); at++ {
		for _, bad := range [][]byte{slices.Delete(bytes.Clone(clean), at, at+1), slices.Insert(bytes.Clone(clean), at, clean[at])} {
			spoilt := 0
			for key, n := range heardKeys(bad) {
				spoilt += max(n-want[key], want[key]-n)
			}
			if spoilt > 3 {
				t.Fatalf("byte %d lost or doubled: %d notes spoilt", at, spoilt)
			}
		}
	}
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
