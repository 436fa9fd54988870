package pupil

import (
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/references"
)

func blow(role Role, key uint8, on, off time.Duration) struck {
	return struck{stroke{role: role}, capture.Note{Key: key, Velocity: 60, On: on * time.Millisecond, Off: off * time.Millisecond}}
}

func TestStrokesThatMeetOnOneKey(t *testing.T) {
	open := blow(Correct, 60, 0, 50)
	open.Open = true
	for _, c := range []struct {
		name string
		in   []struck
		want []struck
	}{
		{"apart", []struck{blow(Correct, 60, 0, 50), blow(Correct, 60, 90, 140)}, []struck{blow(Correct, 60, 0, 50), blow(Correct, 60, 90, 140)}},
		{"another key", []struck{blow(Correct, 60, 0, 50), blow(Correct, 61, 10, 140)}, []struck{blow(Correct, 60, 0, 50), blow(Correct, 61, 10, 140)}},
		{"still down", []struck{blow(Correct, 60, 0, 300), blow(Repeat, 60, 90, 140)}, []struck{blow(Correct, 60, 0, 75), blow(Repeat, 60, 90, 140)}},
		{"stuck", []struck{open, blow(Correct, 60, 900, 950)}, []struck{blow(Correct, 60, 0, 885), blow(Correct, 60, 900, 950)}},
		{"two hands at once", []struck{blow(Correct, 60, 0, 50), blow(Correct, 60, 20, 140)}, []struck{blow(Correct, 60, 0, 50)}},
		{"a graze with the note itself", []struck{blow(Graze, 60, 0, 50), blow(Correct, 60, 20, 140)}, []struck{blow(Correct, 60, 0, 140)}},
	} {
		got := oneStroke(c.in)
		if len(got) != len(c.want) {
			t.Errorf("%s: %+v", c.name, got)
			continue
		}
		for i := range got {
			if got[i].Note != c.want[i].Note || got[i].role != c.want[i].role {
				t.Errorf("%s: %+v %s, want %+v %s", c.name, got[i].Note, got[i].role, c.want[i].Note, c.want[i].role)
			}
		}
	}
}

// A held note under a moving line, a rest, and a last long note, as in a piece; at 60 a quarter is 1 s.
func TestNotesAreHeldAsWritten(t *testing.T) {
	ref := &references.Reference{}
	part(t, ref, references.Right, "C4 E4 - G4 E4")
	for i, quarters := range []int64{4, 1, 1, 3} { // in halves of a quarter
		ref.Notes[i].Length = references.Q(quarters, 2)
	}
	take, _ := Play(ref, Pupil{Exact: true, BPM: 60, Touch: references.Each(Hold{Share: 0.9})})
	for i, want := range []float64{1800, 450, 450, 1350} {
		near(t, "length in ms", ms(take.Notes[i].Length()), want, 0.02)
	}
}

func TestKeysWaitOrAreLetGo(t *testing.T) {
	ref := rightHand(t)
	held := 0
	for seed := range uint64(60) {
		take, _ := Play(ref, Pupil{Seed: seed, Exact: true, BPM: 60, Faults: []Fault{{Kind: Wait, At: 8, Pause: time.Second}}})
		switch got := ms(take.Notes[7].Length()); {
		case got > 1400:
			held++
		case got > 490:
			t.Errorf("a key is held for %v ms of a 1500 ms wait", got)
		}
	}
	if held < 15 || held > 45 {
		t.Errorf("%d of 60 waits are waited out on the key", held)
	}
	take, _ := Play(ref, Pupil{Exact: true, BPM: 60, Faults: []Fault{{Kind: Restart, At: 8}}})
	near(t, "length before a fresh start", ms(take.Notes[8].Length()), 0.97*500, 0.02)
}

func TestOctavesStayOnTheKeyboard(t *testing.T) {
	ref := rightHand(t) // C4 to C6, keys 60 to 84
	for octaves, want := range map[int]uint8{9: 96, 3: 96, 1: 72, -1: 48, -5: 0, -9: 0} {
		take, _ := Play(ref, Pupil{Exact: true, Octaves: references.Each(octaves)})
		if got := take.Notes[0].Key; got != want {
			t.Errorf("%+d octaves: first key %d, want %d", octaves, got, want)
		}
	}
}

func TestTimeGoesOnAfterTheEnd(t *testing.T) {
	p := Pupil{BPM: 60, Drift: -50, Exact: true}
	tempo := p.tempo(read(rightHand(t)))
	// 14 beats in 14 s, twice as slow at the end as at the start: a beat takes 2/3 s there, then 4/3 s.
	near(t, "the last onset", tempo.at(14), 14, 1e-9)
	near(t, "a beat later", tempo.at(15)-tempo.at(14), 4.0/3, 1e-9)
	near(t, "a short while at the start", tempo.at(0.001)/0.001, 2.0/3, 1e-3)
}
