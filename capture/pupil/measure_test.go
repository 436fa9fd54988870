package pupil

import (
	"math"
	"slices"
	"testing"
	"time"

	"evenhand/references"
)

// What is put in comes out. Each value is worked out from the onsets alone.

func ms(d time.Duration) float64 { return float64(d) / 1e6 }

func meanSD(x []float64) (mean, sd float64) {
	for _, v := range x {
		mean += v / float64(len(x))
	}
	for _, v := range x {
		sd += (v - mean) * (v - mean)
	}
	return mean, math.Sqrt(sd / float64(len(x)-1))
}

func near(t *testing.T, what string, got, want, tolerance float64) {
	t.Helper()
	if math.Abs(got-want) > tolerance {
		t.Errorf("%s is %.3f, want %.3f within %.3f", what, got, want, tolerance)
	}
}

// line is the notes of one hand, both directions.
func onsetsOf(truth Truth, hand references.Hand) (ms []float64) {
	for _, l := range truth.Lines {
		if l.Hand == hand {
			for _, on := range l.Onsets {
				ms = append(ms, float64(on)/1e6)
			}
		}
	}
	return ms
}

func TestExactIsExact(t *testing.T) {
	take, truth := Play(similar(t), Pupil{Exact: true, BPM: 60, Lead: time.Second})
	for i, n := range take.Notes {
		// Two notes to the beat, both hands at once: 500 ms apart.
		if want := time.Second + time.Duration(i/2)*500*time.Millisecond; n.On != want {
			t.Errorf("note %d at %v, want %v", i, n.On, want)
		}
		if n.Velocity != 84 { // the reference's forte
			t.Errorf("note %d has velocity %d", i, n.Velocity)
		}
		if i < len(take.Notes)-2 {
			near(t, "length in ms", ms(n.Length()), 0.97*500, 0.02)
		}
	}
	for _, d := range truth.Apart {
		if d != 0 {
			t.Errorf("hands are %v apart", d)
		}
	}
	if !truth.Complete || len(truth.Apart) != 29 {
		t.Errorf("complete %v, %d onsets together, want 29", truth.Complete, len(truth.Apart))
	}
}

// Onset jitter s gives an SD of s about the places, and s√2 between neighbours (standard statistics of
// a difference). 100 takes of 29 notes: the standard error is 1.3 %; 5 % is asked.
func TestJitterComesOut(t *testing.T) {
	ref := rightHand(t)
	for _, sd := range []float64{6, 15, 30} {
		var gaps, places []float64
		for seed := range uint64(100) {
			_, truth := Play(ref, Pupil{Seed: seed, Exact: true, BPM: 60, Jitter: references.Each(sd)})
			on := onsetsOf(truth, references.Right)
			for i := range on {
				places = append(places, on[i]-500-float64(i)*500)
				if i%2 == 1 { // every other gap: they share no note
					gaps = append(gaps, on[i]-on[i-1])
				}
			}
		}
		mean, got := meanSD(places)
		near(t, "mean lateness", mean, 0, 0.1*sd)
		near(t, "SD of onsets", got, sd, 0.05*sd)
		_, got = meanSD(gaps)
		near(t, "SD of gaps", got, sd*math.Sqrt2, 0.05*sd*math.Sqrt2)
	}
}

func TestHandsApartComesOut(t *testing.T) {
	var all []float64
	for seed := range uint64(100) {
		_, truth := Play(similar(t), Pupil{Seed: seed, Exact: true, BPM: 60, Apart: Offset{-35, 20}})
		for _, d := range truth.Apart {
			all = append(all, ms(d))
		}
	}
	mean, sd := meanSD(all)
	near(t, "mean of left minus right", mean, -35, 1)
	near(t, "SD of left minus right", sd, 20, 1)

	var lefts []float64
	for seed := range uint64(100) {
		_, truth := Play(similar(t), Pupil{Seed: seed, Exact: true, BPM: 60, Waver: 30})
		for i, on := range onsetsOf(truth, references.Left) {
			lefts = append(lefts, on-500-float64(i)*500)
		}
		for _, d := range truth.Apart {
			near(t, "left minus right of hands that waver together", ms(d), 0, 0)
		}
	}
	_, sd = meanSD(lefts)
	near(t, "SD of the left's onsets", sd, 30, 1.5)

	_, truth := Play(similar(t), Pupil{Exact: true, Parting: 112})
	near(t, "parting at the first note", ms(truth.Apart[0]), 0, 0.02)
	near(t, "parting half way", ms(truth.Apart[14]), 56, 0.02)
	near(t, "parting at the last note", ms(truth.Apart[28]), 112, 0.02)
}

// The drift is the ratio of the first and last IOI, carried out to the ends: with n equal written steps
// the IOIs are a straight line, so that the instant tempo lies half a step beyond each.
func TestDriftAndMeanTempoComeOut(t *testing.T) {
	for _, drift := range []float64{-30, -8, 0, 12, 40} {
		_, truth := Play(rightHand(t), Pupil{Exact: true, BPM: 72, Drift: drift})
		on := onsetsOf(truth, references.Right)
		n := len(on)
		first, last := on[1]-on[0], on[n-1]-on[n-2]
		step := (last - first) / float64(n-2)
		got := ((first-step/2)/(last+step/2) - 1) * 100
		near(t, "drift", got, drift, 0.05)
		near(t, "mean tempo", 60e3*float64(n-1)/2/(on[n-1]-on[0]), 72, 0.01)
	}
}

func TestPhraseAndCloseSlowTheEnds(t *testing.T) {
	_, truth := Play(rightHand(t), Pupil{Exact: true, BPM: 60, Phrase: 20})
	on := onsetsOf(truth, references.Right)
	n := len(on)
	near(t, "mean IOI", (on[n-1]-on[0])/float64(n-1), 500, 0.01)
	// 1 + 0.2 · 3/2 ((2x-1)² - 1/3) at the middle of the step: x = 1/56, 27/56
	near(t, "first IOI", on[1]-on[0], 500*(1+0.3*(math.Pow(1-2.0/56, 2)-1.0/3)), 0.1)
	near(t, "last IOI", on[n-1]-on[n-2], on[1]-on[0], 0.05)
	near(t, "middle IOI", on[14]-on[13], 500*(1+0.3*(math.Pow(54.0/56-1, 2)-1.0/3)), 0.1)

	_, truth = Play(rightHand(t), Pupil{Exact: true, BPM: 60, Close: 30})
	on = onsetsOf(truth, references.Right)
	for i, want := range []float64{500, 550, 600, 650} {
		near(t, "closing IOI", on[n-4+i]-on[n-5+i], want, 0.05)
	}
}

func TestThumbsComeLate(t *testing.T) {
	ref := rightHand(t)
	_, truth := Play(ref, Pupil{Exact: true, BPM: 60, ThumbDelay: 12})
	for i, on := range onsetsOf(truth, references.Right) {
		want := 500 + 500*float64(i)
		if i > 0 && ref.Notes[i].Finger == 1 {
			want += 12
		}
		near(t, "onset", on, want, 0.02)
	}
}

func TestWaitsAndRestartsTakeTheirTime(t *testing.T) {
	const pause = 700 * time.Millisecond
	ref := rightHand(t)
	p := Pupil{Exact: true, BPM: 60, Faults: []Fault{{Kind: Wait, At: 5, Pause: pause}, {Kind: Restart, At: 10, Pause: pause}}}
	take, truth := Play(ref, p)
	on := func(i int) time.Duration { return take.Notes[i].On }
	if gap := on(11) - on(10); gap != 500*time.Millisecond+pause {
		t.Errorf("the restart comes after %v", gap)
	}
	if gap := on(5) - on(4); gap != 500*time.Millisecond {
		t.Errorf("the run given up waits: %v", gap)
	}
	if gap := on(16) - on(15); gap != 500*time.Millisecond+pause {
		t.Errorf("the run that counts waits %v", gap)
	}
	want := []Event{
		{Kind: Restart, At: on(11), From: 10, To: 0, Extra: pause, Notes: []int{0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10}},
		{Kind: Wait, At: on(16), From: 5, To: 5, Extra: pause},
	}
	if !slices.EqualFunc(truth.Events, want, func(a, b Event) bool {
		return a.Kind == b.Kind && a.At == b.At && a.From == b.From && a.To == b.To && a.Extra == b.Extra && slices.Equal(a.Notes, b.Notes)
	}) {
		t.Errorf("events %+v", truth.Events)
	}
}

// The times of single faults in a row of notes 500 ms apart from 0.5 s on, in ms.
func TestFaultsTakeTheirTime(t *testing.T) {
	ref := &references.Reference{}
	part(t, ref, references.Right, "C4 D4 E4 F4 G4 A4")
	for _, c := range []struct {
		fault Fault
		want  []float64
	}{
		{Fault{Kind: LeftOut, At: 2}, []float64{500, 1000, 2000, 2500, 3000}},
		{Fault{Kind: Skipped, At: 2}, []float64{500, 1000, 1500, 2000, 2500}},
		{Fault{Kind: PutRight, At: 2, Pause: 300e6}, []float64{500, 1000, 1500, 1800, 2300, 2800, 3300}},
		{Fault{Kind: StruckTwice, At: 2, Pause: 400e6}, []float64{500, 1000, 1500, 1900, 2400, 2900, 3400}},
		{Fault{Kind: GoBack, At: 2, Count: 1, Pause: 20e6}, []float64{500, 1000, 1500, 2020, 2520, 3020, 3520}},
		{Fault{Kind: PlayedAgain, Count: 2, Pause: 2e9}, []float64{500, 1000, 1500, 2000, 2500, 3000, 5500, 6000}},
	} {
		take, _ := Play(ref, Pupil{Exact: true, BPM: 60, Faults: []Fault{c.fault}})
		var got []float64
		for _, n := range take.Notes {
			got = append(got, ms(n.On))
		}
		if !slices.Equal(got, c.want) {
			t.Errorf("%s: onsets %v, want %v", c.fault.Kind, got, c.want)
		}
	}
}

func TestTriesAreSoftAndFollowedBySilence(t *testing.T) {
	for seed := range uint64(30) {
		take, truth := Play(contrary(t), Pupil{Seed: seed, Faults: []Fault{{Kind: TriedBefore}}})
		n := truth.Count(Before)
		if n < 1 || n > 4 {
			t.Fatalf("%d notes tried", n)
		}
		last, first := take.Notes[n-1], take.Notes[n]
		if truth.Played[n].Role != Correct || first.On-last.Off < time.Second {
			t.Errorf("the piece begins %v after the last try", first.On-last.Off)
		}
		for _, note := range take.Notes[:n] {
			if note.Velocity > 66 { // the reference's mezzo forte is 70
				t.Errorf("tried with velocity %d", note.Velocity)
			}
		}
	}
}

func TestTempoAskedIsPlayed(t *testing.T) {
	for _, c := range []struct {
		tempo references.Tempo
		own   float64
		ioi   float64 // ms, of two notes to a crotchet
	}{
		{references.Tempo{}, 0, 60e3 / 72 / 2},
		{references.Tempo{BPM: 100, Beat: references.Q(1, 1)}, 0, 300},
		{references.Tempo{BPM: 60, Beat: references.Q(2, 1)}, 0, 250}, // minims
		{references.Tempo{BPM: 60, Beat: references.Q(2, 1)}, 50, 600},
	} {
		ref := rightHand(t)
		ref.Tempo = c.tempo
		_, truth := Play(ref, Pupil{Exact: true, BPM: c.own})
		on := onsetsOf(truth, references.Right)
		near(t, "IOI", (on[28]-on[0])/28, c.ioi, 0.01)
	}
}

func TestLinesPartTheHandsAndDirections(t *testing.T) {
	_, truth := Play(similar(t), Pupil{Faults: []Fault{{Kind: LeftOut, At: 3}}}) // D4, right, going up
	var got []int
	for _, l := range truth.Lines {
		got = append(got, int(l.Hand), int(l.Direction), len(l.Notes))
		if !slices.IsSorted(l.Onsets) {
			t.Errorf("onsets of %s %s are out of order", l.Hand, l.Direction)
		}
	}
	r, l, up, down := int(references.Right), int(references.Left), int(references.Up), int(references.Down)
	if want := []int{r, up, 14, r, down, 14, l, up, 15, l, down, 14}; !slices.Equal(got, want) {
		t.Errorf("lines %v, want %v", got, want)
	}
}

func TestShapeIsWhatTheRequestAsks(t *testing.T) {
	for shape, want := range map[references.Shape]float64{references.NoShape: 70, references.SwellUp: 94, references.EbbUp: 46} {
		ref := rightHand(t)
		ref.Request = &references.Request{Octaves: 2, Shape: shape}
		take, _ := Play(ref, Pupil{Exact: true})
		near(t, "velocity of the top note", float64(take.Notes[14].Velocity), want, 0)
	}
}

func TestSoundComesOut(t *testing.T) {
	ref := similar(t)
	velocities := func(p Pupil, hand references.Hand) (out []float64) {
		for seed := range uint64(60) {
			p.Seed, p.Exact = seed, true
			_, truth := Play(ref, p)
			for _, l := range truth.Lines {
				if l.Hand == hand {
					for _, v := range l.Velocities {
						out = append(out, float64(v))
					}
				}
			}
		}
		return out
	}
	level := references.PerHand[float64]{Right: 70, Left: 52}
	mean, sd := meanSD(velocities(Pupil{Level: level, Spread: 6}, references.Right))
	near(t, "right level", mean, 70, 0.5)
	near(t, "right spread", sd, 6, 0.4)
	mean, _ = meanSD(velocities(Pupil{Level: level, Spread: 6}, references.Left))
	near(t, "left level", mean, 52, 0.5)
	mean, sd = meanSD(velocities(Pupil{Velocity: 64, Spread: 9}, references.Left))
	near(t, "fixed velocity", mean, 64, 1e-9)
	near(t, "its spread", sd, 0, 1e-9)
	mean, _ = meanSD(velocities(Pupil{Louder: references.Each(-30.0)}, references.Right))
	near(t, "forte played 30 softer", mean, 84-30, 0.01)

	shaped := velocities(Pupil{Level: level, Shape: 20}, references.Right)
	near(t, "the start", shaped[0], 70, 0)
	near(t, "the top", shaped[14], 90, 0)
	near(t, "half way down", shaped[21], 80, 0)
	accents := velocities(Pupil{Level: level, Accent: Accent{4, 9}}, references.Right)
	near(t, "an accent", accents[8], 79, 0)
	near(t, "beside it", accents[9], 70, 0)
}

func TestTouchComesOut(t *testing.T) {
	ref := rightHand(t)
	for _, share := range []float64{0.35, 0.9, 1.15} {
		var got []float64
		for seed := range uint64(40) {
			take, _ := Play(ref, Pupil{Seed: seed, Exact: true, Jitter: references.Each(8.0), Touch: references.Each(Hold{share, 0.05})})
			for i := range len(take.Notes) - 1 {
				got = append(got, float64(take.Notes[i].Length())/float64(take.Notes[i+1].On-take.Notes[i].On))
			}
		}
		mean, sd := meanSD(got)
		near(t, "share", mean, share, 0.01)
		near(t, "spread of the share", sd, 0.05, 0.005)
	}
	for fault, times := range map[Kind]float64{EndCut: 0.15, EndHeld: 3} {
		take, _ := Play(ref, Pupil{Exact: true, BPM: 60, Faults: []Fault{{Kind: fault}}})
		near(t, fault.String(), ms(take.Notes[28].Length()), 0.97*500*times, 0.1)
	}
}

func TestRepeatedKeyIsLetGoFirst(t *testing.T) {
	ref := &references.Reference{}
	part(t, ref, references.Right, "C4 C4 C4 D4")
	take, _ := Play(ref, Pupil{Exact: true, Touch: references.Each(Hold{Share: 1.5})})
	for i := range 2 {
		if rest := take.Notes[i+1].On - take.Notes[i].Off; rest != rise {
			t.Errorf("the key is up for %v", rest)
		}
	}
}

func TestGrazesAreSlips(t *testing.T) {
	grazes := 0
	for seed := range uint64(100) {
		take, truth := Play(rightHand(t), Pupil{Seed: seed, Faults: []Fault{{Kind: GrazedKey, At: Anywhere}}})
		for i, p := range truth.Played {
			if p.Role != Graze {
				continue
			}
			grazes++
			right := take.Notes[truth.Expected[p.Near].Played]
			n := take.Notes[i]
			apart := int(n.Key) - int(right.Key)
			if apart == 0 || apart > 2 || apart < -2 || (n.On-right.On).Abs() > 50*time.Millisecond || n.Length() >= 100*time.Millisecond {
				t.Errorf("seed %d: %+v beside %+v", seed, n, right)
			}
		}
	}
	if grazes != 100 {
		t.Errorf("%d grazes, want 100", grazes)
	}
}

func TestOctavesOfTheHands(t *testing.T) {
	ref := similar(t)
	take, truth := Play(ref, Pupil{Exact: true, Octaves: references.PerHand[int]{Right: 1, Left: -1}})
	for n, e := range truth.Expected {
		want := ref.Notes[n].Key() + 12
		if ref.Notes[n].Hand == references.Left {
			want -= 24
		}
		if e.Role != Correct || e.Key != want || int(take.Notes[e.Played].Key) != want {
			t.Errorf("note %d: %+v, want key %d", n, e, want)
		}
	}
}
