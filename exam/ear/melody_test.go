package ear

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"evenhand/references"
)

// The checks of this file read the written music alone, with tables of their own.

// seeds is how many melodies are looked at: ten thousand, or a tenth under the race detector.
func seeds() uint64 {
	if testing.Short() {
		return 1_000
	}
	return 10_000
}

// levelsOf spreads seeds over the levels; the long run tries all of them at each.
func levelsOf(seed uint64) []int {
	if os.Getenv("EVENHAND_SOAK") != "" {
		return []int{0, 1, 2, 3, 4, 5, 6, 7, 8}
	}
	return []int{int(seed % 9)}
}

// scaleDegree is how many letters and semitones a pitch is above the tonic, within an octave. The tonic
// is found on the circle of fifths: its letter goes up four letters a fifth, from C, or from A in minor.
func scaleDegree(ref *references.Reference, p references.Pitch) (letters, semitones int) {
	letter, class := 4*ref.Fifths, 7*ref.Fifths
	if ref.Minor {
		letter, class = letter+5, class+9
	}
	mod := func(a, n int) int { return ((a % n) + n) % n }
	return mod(int(p.Step)-letter, 7), mod(p.Key()-class, 12)
}

// inKey says whether a pitch belongs to its key as it is spelled: major, or minor with the sixth and the
// seventh in both their forms (common practice).
func (m written) inKey(p references.Pitch) bool {
	steps := [][]int{{0}, {2}, {4}, {5}, {7}, {9}, {11}}
	if m.ref.Minor {
		steps = [][]int{{0}, {2}, {3}, {5}, {7}, {8, 9}, {10, 11}}
	}
	letters, semitones := scaleDegree(m.ref, p)
	for _, s := range steps[letters] {
		if s == semitones {
			return true
		}
	}
	return false
}

// written is a melody as it stands on paper.
type written struct{ ref *references.Reference }

// faults are all that is wrong with a melody.
func (m written) faults() []string {
	var out []string
	fault := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	bars, notes := len(m.ref.Bars), m.ref.Notes
	meter := m.ref.Bars[0].Meter
	if bars < 4 || bars > 8 {
		fault("%d bars", bars)
	}
	switch meter {
	case references.Meter{Beats: 2, Unit: 4}, references.Meter{Beats: 3, Unit: 4}, references.Meter{Beats: 4, Unit: 4}, references.Meter{Beats: 6, Unit: 8}:
	default:
		fault("the metre is %v", meter)
	}
	// Each bar is full: its lengths add up, and no note crosses a bar line. In 48ths of a quarter.
	at, full := int64(0), int64(48*4*meter.Beats/meter.Unit)
	low, high := 127, 0
	for i, n := range notes {
		onset, length := 48*n.Onset.Num()/n.Onset.Den(), 48*n.Length.Num()/n.Length.Den()
		if onset != at || length <= 0 {
			fault("note %d begins at %d, not at %d", i, onset, at)
		}
		at += length
		if onset/full != (at-1)/full || fmt.Sprint(onset/full+1) != n.Bar {
			fault("note %d crosses a bar line or is not in bar %s", i, n.Bar)
		}
		low, high = min(low, n.Pitch.Key()), max(high, n.Pitch.Key())
		if !m.inKey(n.Pitch) {
			fault("%s is not in the key", n.Pitch)
		}
		if i > 0 {
			out = append(out, m.leap(notes[i-1].Pitch, n.Pitch)...)
		}
	}
	if at != int64(bars)*full {
		fault("the notes last %d of %d", at, int64(bars)*full)
	}
	if low < 57 || high > 77 || high-low > 17 {
		fault("the range is %d to %d", low, high)
	}
	return append(out, m.ends()...)
}

// leap is what is wrong with a step: augmented seconds, tritones, sevenths and more than an octave.
func (m written) leap(a, b references.Pitch) []string {
	semis := max(a.Key()-b.Key(), b.Key()-a.Key())
	letters := max(int(a.Step-b.Step)+7*int(a.Octave-b.Octave), int(b.Step-a.Step)+7*int(b.Octave-a.Octave))
	if letters == 1 && semis == 3 || semis == 6 || semis == 10 || semis == 11 || semis > 12 {
		return []string{fmt.Sprintf("a step from %s to %s", a, b)}
	}
	return nil
}

// ends is what is wrong with the beginning and the cadences: the first note is of the tonic chord, the
// last is the tonic, long, on a strong beat; where there are two phrases the first ends on a long note of
// the dominant chord.
func (m written) ends() []string {
	var out []string
	notes := m.ref.Notes
	if letters, _ := scaleDegree(m.ref, notes[0].Pitch); letters != 0 && letters != 2 && letters != 4 {
		out = append(out, "it begins on "+notes[0].Pitch.String())
	}
	last := notes[len(notes)-1]
	if _, s := scaleDegree(m.ref, last.Pitch); s != 0 || last.Length.Float() < 1.5 || last.Beat != 1 && last.Beat != 3 && (last.Beat != 2 || m.ref.Bars[0].Meter.Unit != 8) {
		out = append(out, fmt.Sprintf("it ends on %s, %s long, beat %v", last.Pitch, last.Length, last.Beat))
	}
	if bars := len(m.ref.Bars); bars > 4 {
		for i, n := range notes {
			if n.Bar == fmt.Sprint(bars/2) && notes[i+1].Bar != n.Bar {
				letters, semitones := scaleDegree(m.ref, n.Pitch)
				if letters == 6 && semitones != 11 {
					out = append(out, "the half cadence has no leading note: "+n.Pitch.String())
				}
				if n.Length.Float() < 1.5 || letters != 4 && letters != 6 && letters != 1 {
					out = append(out, fmt.Sprintf("the first phrase ends on %s, %s long", n.Pitch, n.Length))
				}
			}
		}
	}
	return out
}

// tuneOf is a melody without its key: lengths, and intervals from the first note.
func tuneOf(ref *references.Reference) string {
	var b strings.Builder
	for _, n := range ref.Notes {
		fmt.Fprintf(&b, "%s:%d ", n.Length, n.Pitch.Key()-ref.Notes[0].Pitch.Key())
	}
	return fmt.Sprint(ref.Bars[0].Meter, b.String())
}

// TestMelodies: ten thousand melodies are in range, in key, in full bars, begin and end as melodies do,
// and no two are alike, in whatever key.
func TestMelodies(t *testing.T) {
	seen := map[string]string{}
	counts := map[string]int{}
	for seed := range seeds() {
		for _, level := range levelsOf(seed) {
			it := Draw(Beat, level, seed)
			where := fmt.Sprintf("level %d seed %d", level, seed)
			for _, f := range (written{it.Melody}).faults() {
				t.Errorf("%s: %s", where, f)
			}
			tune := tuneOf(it.Melody)
			if other := seen[tune]; other != "" {
				t.Errorf("%s is like %s: %s", where, other, tune)
			}
			seen[tune] = where
			counts[fmt.Sprint(it.Melody.Bars[0].Meter)]++
			counts[fmt.Sprintf("minor %v", it.Melody.Minor)]++
		}
	}
	for what, n := range counts {
		if n < int(seeds()/50) {
			t.Errorf("only %d melodies are %s", n, what)
		}
	}
}

// TestMelodiesOfLevel: keys, metres and note values are no harder than the level.
func TestMelodiesOfLevel(t *testing.T) {
	sharps := []int{1, 1, 2, 2, 3, 3, 4, 4, 5}
	for seed := range uint64(900) {
		level := int(seed % 9)
		ref := Draw(Beat, level, seed).Melody
		shortest := 4.0
		for _, n := range ref.Notes {
			shortest = min(shortest, n.Length.Float())
		}
		if abs(ref.Fifths) > sharps[level] || level < 2 && ref.Minor {
			t.Errorf("level %d: %d fifths, minor %v", level, ref.Fifths, ref.Minor)
		}
		if level < 4 && shortest < 0.5 || shortest < 0.25 {
			t.Errorf("level %d: a note of %v quarters", level, shortest)
		}
		if level < 3 && ref.Bars[0].Meter.Unit == 8 {
			t.Errorf("level %d: 6/8", level)
		}
	}
}

// TestMetreIsHeard: first beats are louder than other beats, those than what is between, by about what
// can be noticed or more.
func TestMetreIsHeard(t *testing.T) {
	for seed := range uint64(200) {
		it := Draw(Beat, int(seed%9), seed)
		h := it.Hearings[0]
		var first, beats, between []float64
		for i, n := range it.Melody.Notes {
			v := float64(h.Sounds[len(h.Sounds)-len(it.Melody.Notes)+i].Velocity)
			switch {
			case n.Beat == 1:
				first = append(first, v)
			case n.Beat == float64(int(n.Beat)):
				beats = append(beats, v)
			default:
				between = append(between, v)
			}
		}
		if len(beats) > 0 && median(first)-median(beats) < 4 || len(beats) > 0 && len(between) > 0 && median(beats)-median(between) < 4 {
			t.Errorf("seed %d: %v, %v, %v", seed, median(first), median(beats), median(between))
		}
	}
}

// TestLeadIn: before a melody or a phrase of chords the chord of the key is heard, then one bar is
// counted at the tempo of the music, then the music begins on the next beat.
func TestLeadIn(t *testing.T) {
	for _, kind := range []Kind{Beat, Change, Echo} {
		for seed := range uint64(90) {
			it := Draw(kind, int(seed%9), seed)
			ref := it.Melody
			beat := 60 / ref.Tempo.BPM
			perBar := int(ref.BarLength.Float()/ref.Beat.Float() + 0.5)
			for _, h := range it.Hearings {
				chord := map[int]bool{}
				for _, s := range h.Sounds[:3] {
					_, semitones := scaleDegree(ref, references.Pitch{Name: references.Name{}, Octave: 4}.Up(0, int(s.Key)-60))
					chord[semitones] = true
				}
				third := map[bool]int{false: 4, true: 3}[ref.Minor]
				if !chord[0] || !chord[third] || !chord[7] || h.Sounds[2].On != 0 || h.Sounds[3].On <= h.Sounds[0].Off {
					t.Errorf("%s seed %d: the chord of the key is %v", kind, seed, h.Sounds[:3])
				}
				if len(h.Count) != perBar {
					t.Errorf("%s seed %d: %d counts to %d beats", kind, seed, len(h.Count), perBar)
				}
				for i, at := range append(h.Count, h.Start) {
					near(t, "count", new((at - h.Count[0]).Seconds()), float64(i)*beat, 0.001)
				}
				if h.Sounds[3+perBar].On != h.Start || h.Sounds[3].Velocity <= h.Sounds[4].Velocity {
					t.Errorf("%s seed %d: after the count comes %v", kind, seed, h.Sounds[3:5+perBar])
				}
			}
		}
	}
}

func BenchmarkMelody(b *testing.B) {
	seed := uint64(0)
	for b.Loop() {
		Draw(Beat, 8, seed)
		seed++
	}
}
