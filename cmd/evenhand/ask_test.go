package main

import (
	"strings"
	"testing"

	"evenhand/references"
)

func TestDraw(t *testing.T) {
	against := func(only string, seed uint64) []string {
		list, err := draw("", only, seed)
		if err != nil {
			t.Fatal(err)
		}
		var out []string
		for _, a := range list {
			out = append(out, a.against)
		}
		return out
	}
	all := against("", 7)
	if len(all) != len(usualRequests()) {
		t.Errorf("%d requests drawn of %d", len(all), len(usualRequests()))
	}
	if again := against("", 7); strings.Join(again, "|") != strings.Join(all, "|") {
		t.Error("one seed gives two orders")
	}
	if other := against("", 8); strings.Join(other, "|") == strings.Join(all, "|") {
		t.Error("two seeds give one order")
	}
	for _, tt := range []struct {
		only string
		want int
	}{
		{"minor", 37}, {"harmonic minor", 13}, {"arpeggio", 24}, {"minor arpeggio", 12}, {"contrary", 7}, {"B flat", 6}, {"Chromatic", 13},
	} {
		got := against(tt.only, 7)
		if len(got) != tt.want {
			t.Errorf("--only %q: %d requests, want %d: %q", tt.only, len(got), tt.want, got)
		}
	}
	if _, err := draw("", "bagpipes", 1); err == nil {
		t.Error("--only bagpipes found something")
	}
}

// Every key is asked for once in each kind: the circle of fifths is complete.
func TestUsualRequestsAreInAllKeys(t *testing.T) {
	seen := map[[2]int8]map[int]bool{}
	for _, words := range usualRequests() {
		r, err := references.Parse(words)
		if err != nil {
			t.Fatalf("%q: %v", words, err)
		}
		if r.Motion == references.Contrary {
			continue
		}
		kind := [2]int8{int8(r.Kind), int8(r.Form)}
		if seen[kind] == nil {
			seen[kind] = map[int]bool{}
		}
		seen[kind][r.Tonic.PitchClass()] = true
	}
	if len(seen) != 6 {
		t.Errorf("%d kinds, want 6", len(seen))
	}
	for kind, keys := range seen {
		if len(keys) != 12 {
			t.Errorf("kind %v is asked in %d keys, want 12", kind, len(keys))
		}
	}
}
