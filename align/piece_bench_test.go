package align_test

import (
	"fmt"
	"math/rand/v2"
	"testing"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
)

// longPiece is a made-up score for two hands of about so many notes, a wandering melody over broken
// chords, and a performance of it with a wrong, a missing and an extra note in every hundred, waits,
// and a fresh start now and then.
func longPiece(notes int) (*references.Reference, *capture.Take) {
	rng := rand.New(rand.NewPCG(1, uint64(notes)))
	ref := &references.Reference{Beat: references.Q(1, 1), BarLength: references.Q(4, 1)}
	pitch := func(key int) references.Pitch {
		p := references.Pitch{Name: references.Name{Step: references.C}, Octave: int8(key/12 - 1)}
		p.Alter = int8(key % 12)
		return p
	}
	melody := 72
	for j := 0; len(ref.Notes) < notes; j++ {
		melody = min(88, max(62, melody+rng.IntN(9)-4))
		onset := references.Q(int64(j), 2)
		ref.Notes = append(ref.Notes,
			references.Note{Onset: onset, Length: references.Q(1, 2), Pitch: pitch(36 + rng.IntN(24)), Hand: references.Left},
			references.Note{Onset: onset, Length: references.Q(1, 2), Pitch: pitch(melody), Hand: references.Right})
	}
	ref.Sort()
	take := &capture.Take{}
	now := time.Second
	strike := func(key int, at time.Duration) {
		take.Notes = append(take.Notes, capture.Note{Key: uint8(key), Velocity: 64, On: at, Off: at + 200*time.Millisecond})
	}
	for i := 0; i < len(ref.Notes); i++ {
		if i > 0 && ref.Notes[i].Onset != ref.Notes[i-1].Onset {
			now += 250*time.Millisecond + time.Duration(rng.IntN(20))*time.Millisecond
		}
		key := ref.Notes[i].Key()
		switch rng.IntN(100) {
		case 0:
			key += 1 + rng.IntN(2)
		case 1:
			continue
		case 2:
			strike(key+1, now)
		}
		strike(key, now)
		if i > 40 && i%2 == 1 && rng.IntN(400) == 0 {
			now += 1200 * time.Millisecond
			i -= 2 * (5 + rng.IntN(15))
		}
	}
	return ref, take
}

// BenchmarkAlignPiece aligns pieces of 10,000 notes and of four times as many: the time for a note
// should hardly grow.
func BenchmarkAlignPiece(b *testing.B) {
	for _, n := range []int{10_000, 40_000} {
		b.Run(fmt.Sprintf("notes=%d", n), func(b *testing.B) {
			ref, take := longPiece(n)
			b.ReportAllocs()
			for b.Loop() {
				align.Align(ref, take, 0, 0)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(n), "ns/note")
		})
	}
}
