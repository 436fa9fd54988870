package ear

import (
	"math"
	"slices"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenhand/capture"
	"evenhand/references"
)

// playedBack is the phrase of an echo test as it was heard, each note put through change; one of velocity
// 0 is left out.
func playedBack(it Item, change func(i int, n capture.Note) capture.Note) *capture.Take {
	h := it.Hearings[1]
	take := &capture.Take{}
	for i, s := range h.Sounds[len(h.Sounds)-len(it.Melody.Notes):] {
		n := change(i, capture.Note{Key: s.Key, Velocity: s.Velocity, On: s.On - h.Start + time.Second, Off: s.Off - h.Start + time.Second})
		if n.Velocity > 0 {
			take.Notes = append(take.Notes, n)
		}
	}
	return take
}

// TestEchoes: each fault costs what it should, and is the reason that is given.
func TestEchoes(t *testing.T) {
	for _, level := range []int{0, 2, 4, 6, 8} {
		it := Draw(Echo, level, 5)
		notes := len(it.Melody.Notes)
		one := 100 / notes
		for _, c := range []struct {
			name      string
			change    func(i int, n capture.Note) capture.Note
			low, high int
			says      string
		}{
			{"well", func(_ int, n capture.Note) capture.Note { return n }, 100, 100, "as it was heard"},
			{"an octave up", func(_ int, n capture.Note) capture.Note { n.Key += 12; return n }, 100, 100, "as it was heard"},
			{"two octaves down", func(_ int, n capture.Note) capture.Note { n.Key -= 24; return n }, 100, 100, "as it was heard"},
			{"at half the pace", func(_ int, n capture.Note) capture.Note { n.On *= 2; n.Off *= 2; return n }, 100, 100, "as it was heard"},
			{"a wrong note", func(i int, n capture.Note) capture.Note {
				if i == 3 {
					n.Key += 2
				}
				return n
			}, 99 - one, 100 - one/2, "one wrong note"},
			{"a note left out", func(i int, n capture.Note) capture.Note {
				if i == 3 {
					n.Velocity = 0
				}
				return n
			}, 98 - one, 99 - one/2, "one note left out"},
			{"half of it", func(i int, n capture.Note) capture.Note {
				if i >= notes/2 {
					n.Velocity = 0
				}
				return n
			}, 35, 55, "stopped before the end"},
			{"from another note", func(_ int, n capture.Note) capture.Note { n.Key += 2; return n }, 70, 70, "begun on another note"},
			{"other notes altogether", func(i int, n capture.Note) capture.Note { n.Key = uint8(40 + 17*i%30); return n }, 0, 20, "notes were right"},
		} {
			v := it.JudgeEcho(playedBack(it, c.change))
			if v.Mark == nil || *v.Mark < c.low || *v.Mark > c.high || !strings.Contains(v.Reason, c.says) {
				t.Errorf("level %d, %s: %d, want %d to %d: %s", level, c.name, *v.Mark, c.low, c.high, v.Reason)
			}
			for _, l := range v.Losses {
				if l.Points <= 0 || l.Source == "" || l.Unit == "" || l.Text == "" {
					t.Errorf("level %d, %s: a loss without its reason: %+v", level, c.name, l)
				}
			}
		}
	}
}

// TestEchoRhythm: the right notes in another rhythm lose points for the rhythm alone.
func TestEchoRhythm(t *testing.T) {
	tried := 0
	for seed := range uint64(20) {
		it := Draw(Echo, 5, seed)
		var lengths []float64
		for _, n := range it.Melody.Notes {
			lengths = append(lengths, n.Length.Float())
		}
		if slices.Max(lengths[:len(lengths)-1]) == slices.Min(lengths) {
			continue
		}
		tried++
		v := it.JudgeEcho(playedBack(it, func(i int, n capture.Note) capture.Note {
			n.On = time.Duration(i+1) * time.Second / 2
			n.Off = n.On + 450*time.Millisecond
			return n
		}))
		if *v.Mark < 60 || *v.Mark > 97 || len(v.Losses) != 1 {
			t.Errorf("seed %d: %d: %s", seed, *v.Mark, v.Reason)
		}
	}
	if tried < 10 {
		t.Errorf("only %d have a rhythm", tried)
	}
}

// TestEchoPhrases: echoes are two or four full bars in key and range; the first note is named at first.
func TestEchoPhrases(t *testing.T) {
	for seed := range uint64(900) {
		level := int(seed % 9)
		it := Draw(Echo, level, seed)
		want := 2
		if level > 4 {
			want = 4
		}
		if len(it.Melody.Bars) != want {
			t.Errorf("level %d seed %d: %d bars", level, seed, len(it.Melody.Bars))
		}
		for _, f := range (written{it.Melody}).faults() {
			if f != "2 bars" {
				t.Errorf("level %d seed %d: %s", level, seed, f)
			}
		}
		if named := strings.Contains(it.Ask, "It begins on "+it.Melody.Notes[0].Pitch.Words()+"."); named != (level <= 5) {
			t.Errorf("level %d: %q", level, it.Ask)
		}
	}
}

// TestEchoNonsense: nothing played has no mark; anything else has one; nothing panics.
func TestEchoNonsense(t *testing.T) {
	it := Draw(Echo, 3, 2)
	for _, take := range []*capture.Take{nil, {}} {
		if v := it.JudgeEcho(take); v.Mark != nil || v.Reason != "Nothing was played." {
			t.Errorf("%v, %q", v.Mark, v.Reason)
		}
	}
	if v := Draw(Beat, 3, 2).JudgeEcho(&capture.Take{}); v.Mark != nil || v.Reason == "" {
		t.Errorf("of a beat test: %v, %q", v.Mark, v.Reason)
	}
	rapid.Check(t, func(t *rapid.T) {
		take := &capture.Take{}
		at := time.Duration(0)
		for range rapid.IntRange(1, 40).Draw(t, "notes") {
			at += time.Duration(rapid.IntRange(0, 900).Draw(t, "gap")) * time.Millisecond
			take.Notes = append(take.Notes, capture.Note{
				Key: uint8(rapid.IntRange(0, 127).Draw(t, "key")), Velocity: uint8(rapid.IntRange(1, 127).Draw(t, "velocity")),
				On: at, Off: at + time.Duration(rapid.IntRange(1, 2000).Draw(t, "length"))*time.Millisecond,
			})
		}
		v := Draw(Echo, rapid.IntRange(0, 8).Draw(t, "level"), rapid.Uint64().Draw(t, "seed")).JudgeEcho(take)
		if v.Mark == nil || *v.Mark < 0 || *v.Mark > 100 || v.Reason == "" {
			t.Fatalf("%+v", v)
		}
		for _, l := range v.Losses {
			if math.IsNaN(l.Points) || l.Points < 0 {
				t.Fatalf("%+v", l)
			}
		}
	})
}

// TestReferenceIsAScore: the melody can be written on a page: its bars follow one another.
func TestReferenceIsAScore(t *testing.T) {
	ref := Draw(Beat, 5, 1).Melody
	at := references.Quarters{}
	for i, b := range ref.Bars {
		if b.Onset != at || b.Length != ref.BarLength || b.Written != i {
			t.Errorf("bar %d: %+v", i, b)
		}
		at = at.Add(b.Length)
	}
	if last := ref.Bars[len(ref.Bars)-1]; !last.Signs.Final {
		t.Error("there is no final bar line")
	}
}
