package main

import (
	"bytes"
	"testing"
	"time"

	"evenhand/cmd/evenhand/screen"
)

func TestMeasureOf(t *testing.T) {
	for _, tt := range []struct {
		what string
		beat time.Duration
		bar  int
		in   int
	}{
		{"D major scale, crotchet = 60", time.Second, 4, 4},
		{"the ferryman, at 40", 1500 * time.Millisecond, 2, 2},  // 6/8 in two
		{"harbour waltz, at 120", 500 * time.Millisecond, 3, 5}, // an upbeat of one crotchet
		{"harbour waltz, from bar 1, at 120", 500 * time.Millisecond, 3, 3},
	} {
		a, err := findAsked(tt.what, nil)
		if err != nil {
			t.Fatal(err)
		}
		m, err := measureOf(a)
		if err != nil || m.beat != tt.beat || m.bar != tt.bar || m.in != tt.in {
			t.Errorf("%s: %+v, %v", tt.what, m, err)
		}
		for _, ref := range a.candidates {
			for i := range ref.Notes {
				if key := uint8(ref.Notes[i].Key()); key == m.keys[0] || key == m.keys[1] {
					t.Errorf("%s: a beat sounds on key %d, which is asked for", tt.what, key)
				}
			}
		}
	}
	a, err := findAsked("D major scale", nil)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := measureOf(a); err == nil {
		t.Error("there is a tempo where none is asked")
	}
}

func TestEchoes(t *testing.T) {
	var e echoes
	now := time.Now()
	on := noteOn(0, 100)
	on.Data2 = 79
	if e.is(on, now) {
		t.Error("an echo of nothing")
	}
	e.send(100, 79, now)
	other := on
	other.Data2 = 78
	for what, m := range map[string]bool{
		"another velocity": e.is(other, now.Add(time.Millisecond)),
		"another key":      e.is(noteOn(0, 99), now.Add(time.Millisecond)),
		"a release":        e.is(noteOff(0, 100), now.Add(time.Millisecond)),
		"too late":         e.is(on, now.Add(time.Second)),
	} {
		if m {
			t.Errorf("%s is taken for an echo", what)
		}
	}
	if !e.is(on, now.Add(20*time.Millisecond)) || e.is(on, now.Add(21*time.Millisecond)) || !e.is(noteOff(0, 100), now.Add(time.Second)) || e.is(noteOff(0, 100), now.Add(time.Second)) {
		t.Error("one note-on and one note-off are the echo")
	}
}

func TestSpokenCount(t *testing.T) {
	var b bytes.Buffer
	s := &spoken{w: &b}
	for n := range 3 {
		s.show(screen.Beat{N: n + 1, Of: 3})
	}
	s.begin()
	s.show(screen.Beat{N: 1, Of: 3})
	if b.String() != "  1  2  3\n" {
		t.Errorf("%q", &b)
	}
}
