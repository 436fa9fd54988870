package references

import (
	"math"
	"testing"

	"pgregory.net/rapid"
)

// TestKeyNumbers compares key numbers with the frequencies of equal temperament at the standard
// pitch of A4 = 440 Hz (ISO 16:1975), as printed in the usual tables in hertz, and with the key
// numbers of MIDI 1.0.
func TestKeyNumbers(t *testing.T) {
	tests := []struct {
		p     Pitch
		key   int
		hertz float64
	}{
		{Pitch{Name{A, 0}, 0}, 21, 27.500},
		{Pitch{Name{C, 0}, 1}, 24, 32.703},
		{Pitch{Name{E, -1}, 2}, 39, 77.782},
		{Pitch{Name{F, 1}, 3}, 54, 184.997},
		{Pitch{Name{C, 0}, 4}, 60, 261.626},
		{Pitch{Name{B, 1}, 3}, 60, 261.626},
		{Pitch{Name{C, -1}, 5}, 71, 493.883},
		{Pitch{Name{A, 0}, 4}, 69, 440},
		{Pitch{Name{F, 2}, 4}, 67, 391.995},
		{Pitch{Name{G, 1}, 5}, 80, 830.609},
		{Pitch{Name{B, 0}, 7}, 107, 3951.066},
		{Pitch{Name{C, 0}, 8}, 108, 4186.009},
	}
	for _, tt := range tests {
		if tt.p.Key() != tt.key {
			t.Errorf("%s is key %d, want %d", tt.p, tt.p.Key(), tt.key)
		}
		if f := 440 * math.Pow(2, float64(tt.p.Key()-69)/12); math.Abs(f-tt.hertz) > 0.0005 {
			t.Errorf("%s sounds at %.3f Hz, want %.3f", tt.p, f, tt.hertz)
		}
	}
}

func TestTwins(t *testing.T) {
	// Common practice: the enharmonic pairs of the circle of fifths.
	for _, tt := range []struct{ key, twin Key }{
		{Key{Name{G, 1}, false}, Key{Name{A, -1}, false}},
		{Key{Name{C, -1}, false}, Key{Name{B, 0}, false}},
		{Key{Name{F, 1}, false}, Key{Name{G, -1}, false}},
		{Key{Name{D, 1}, true}, Key{Name{E, -1}, true}},
		{Key{Name{B, 1}, true}, Key{Name{C, 0}, true}},
		{Key{Name{C, 0}, false}, Key{Name{C, 0}, false}},
	} {
		if got := tt.key.Twin(); got != tt.twin {
			t.Errorf("the twin of %s is %s, want %s", tt.key, got, tt.twin)
		}
	}
}

func TestKeyOfFifths(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		fifths, minor := rapid.IntRange(-14, 14).Draw(t, "fifths"), rapid.Bool().Draw(t, "minor")
		k := KeyOf(fifths, minor)
		if k.Fifths() != fifths || k.Minor != minor {
			t.Fatalf("%s has %d fifths, want %d", k, k.Fifths(), fifths)
		}
		if d := k.Twin().Tonic.PitchClass() - k.Tonic.PitchClass(); d != 0 {
			t.Fatalf("the twin of %s is %s, on other keys", k, k.Twin())
		}
	})
}
