package ear

import (
	"fmt"
	"strings"
	"testing"

	"evenhand/references"
)

// differences finds what is different between two melodies note by note, from what is written alone.
func differences(a, b *references.Reference) (pitches, onsets, lengths []int, err error) {
	if len(a.Notes) != len(b.Notes) {
		return nil, nil, nil, fmt.Errorf("%d notes became %d", len(a.Notes), len(b.Notes))
	}
	for i := range a.Notes {
		x, y := a.Notes[i], b.Notes[i]
		if x.Pitch != y.Pitch {
			pitches = append(pitches, i)
		}
		if x.Onset != y.Onset {
			onsets = append(onsets, i)
		}
		if x.Length != y.Length {
			lengths = append(lengths, i)
		}
	}
	return pitches, onsets, lengths, nil
}

// changeFaults are all that is wrong with a change.
func changeFaults(it Item) []string {
	var out []string
	fault := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	pitches, onsets, lengths, err := differences(it.Melody, it.Changed)
	if err != nil {
		return []string{err.Error()}
	}
	last := len(it.Melody.Notes) - 1
	var sort string
	var note, firstTouched int
	switch {
	case len(pitches) == 1 && len(onsets) == 0 && len(lengths) == 0:
		sort, note, firstTouched = "pitch", pitches[0], pitches[0]
		a, b := it.Melody.Notes[note].Pitch.Key(), it.Changed.Notes[note].Pitch.Key()
		if max(a-b, b-a) < 2 || max(a-b, b-a) > 12 {
			fault("a change of %d semitones", b-a)
		}
	case len(pitches) == 0 && len(onsets) == 1 && len(lengths) == 2 && lengths[1] == onsets[0] && lengths[0] == onsets[0]-1:
		sort, note, firstTouched = "rhythm", onsets[0], lengths[0]
		d := it.Melody.Notes[note].Onset.Sub(it.Changed.Notes[note].Onset).Float()
		if least := map[bool]float64{true: 0.25, false: 0.5}[it.Level >= 5]; max(d, -d) < least {
			fault("moved by %v quarters", d)
		}
		if it.Melody.Notes[lengths[0]].Bar != it.Melody.Notes[note].Bar {
			fault("over the bar line")
		}
	default:
		fault("pitches %v, onsets %v, lengths %v", pitches, onsets, lengths)
		return out
	}
	if firstTouched < 2 || note >= last {
		fault("note %d of %d is touched", note, last)
	}
	bar := it.Changed.Notes[note].Bar
	if want := fmt.Sprintf("%s, bar %s", sort, bar); it.Answer != want || !it.Right(want) || it.Change.Note != note || string(it.Change.Sort) != sort {
		fault("the answer is %q and %+v, found %q", it.Answer, *it.Change, want)
	}
	return append(out, (written{it.Changed}).faults()...)
}

// TestChanges: in ten thousand melodies there is one change each, found here from what is written alone,
// clear, in key and in full bars, never in the first two notes or the last.
func TestChanges(t *testing.T) {
	counts := map[Sort]int{}
	for seed := range seeds() {
		for _, level := range levelsOf(seed) {
			it := Draw(Change, level, seed)
			counts[it.Change.Sort]++
			for _, f := range append((written{it.Melody}).faults(), changeFaults(it)...) {
				t.Errorf("level %d seed %d: %s", level, seed, f)
			}
		}
	}
	if p, r := counts[PitchChange], counts[RhythmChange]; p < r/3 || r < p/3 {
		t.Errorf("%d changes of pitch, %d of rhythm", p, r)
	}
}

// TestChangeIsHeard: what is sounded the second time is the changed melody, and the rest is the same.
func TestChangeIsHeard(t *testing.T) {
	for seed := range uint64(300) {
		it := Draw(Change, int(seed%9), seed)
		a, b := it.Hearings[0].Sounds, it.Hearings[1].Sounds
		different := 0
		for i := range a {
			if a[i].Key != b[i].Key || a[i].On != b[i].On {
				different++
			}
		}
		if len(a) != len(b) || different != 1 {
			t.Errorf("seed %d: %d sounds of %d and %d differ", seed, different, len(a), len(b))
		}
	}
}

// TestChangeAnswers: half of an answer is worth half, and any wording will do.
func TestChangeAnswers(t *testing.T) {
	it := Draw(Change, 4, 11)
	bar, other := it.Change.Bar, it.Change.Bar%4+1
	sort, wrong := "pitch", "rhythm"
	if it.Change.Sort == RhythmChange {
		sort, wrong = wrong, sort
	}
	words := []string{"", "one", "two", "three", "four"}
	for answer, want := range map[string]int{
		fmt.Sprintf("%s, bar %d", sort, bar):                           100,
		fmt.Sprintf("Bar %s: %s!", words[bar], strings.ToUpper(sort)):  100,
		fmt.Sprintf("a change of %s in measure %d", sort, bar):         100,
		fmt.Sprintf("%s, bar %d", wrong, bar):                          50,
		fmt.Sprintf("%s, bar %d", sort, other):                         50,
		fmt.Sprintf("bar %d", bar):                                     50,
		sort:                                                           50,
		fmt.Sprintf("%s, bar %d", wrong, other):                        0,
		fmt.Sprintf("pitch and rhythm, bar %d and bar %d", bar, other): 0,
		"":          0,
		"no idea":   0,
		"\x00 ‽ 𝄞":  0,
		"bar bar 9": 0,
	} {
		v := it.JudgeAnswer(answer)
		if *v.Mark != want || it.Right(answer) != (want == 100) {
			t.Errorf("%q: %d, want %d: %s", answer, *v.Mark, want, v.Reason)
		}
	}
}
