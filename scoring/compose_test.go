package scoring

import (
	"strconv"
	"strings"
	"testing"

	"evenhand/references"
)

// compose writes a score out of two lines of words: "C5:1 E5+G5:1/2 r:1/2 F#4:2", each a note, a
// chord or a rest with its length in quarters. A line may be empty.
func compose(t testing.TB, meter references.Meter, fifths int, right, left string) *references.Reference {
	t.Helper()
	ref := &references.Reference{
		Title: "a piece", BarLength: meter.Length(), Beat: meter.Beat(), Fifths: fifths,
		Keys: []references.KeyChange{{Fifths: fifths}},
	}
	var end references.Quarters
	for hand, line := range map[references.Hand]string{references.Right: right, references.Left: left} {
		var at references.Quarters
		for _, word := range strings.Fields(line) {
			names, value, _ := strings.Cut(word, ":")
			length := quarters(t, value)
			if names != "r" {
				for _, name := range strings.Split(names, "+") {
					ref.Notes = append(ref.Notes, references.Note{
						Onset: at, Length: length, Pitch: pitchOf(t, name), Hand: hand,
					})
				}
			}
			at = at.Add(length)
		}
		if end.Less(at) {
			end = at
		}
	}
	var on references.Quarters
	for n := 1; on.Less(end); n++ {
		ref.Bars = append(ref.Bars, references.Bar{Number: strconv.Itoa(n), Written: n - 1, Pass: 1, Onset: on, Length: meter.Length(), Meter: meter})
		on = on.Add(meter.Length())
	}
	ref.Sort()
	seat(ref)
	return ref
}

// seat gives the notes their ids, bars and beats.
func seat(ref *references.Reference) {
	for i := range ref.Notes {
		n := &ref.Notes[i]
		for k, b := range ref.Bars {
			if !n.Onset.Less(b.Onset) {
				n.Measure, n.Bar = k, b.Number
				n.Beat = 1 + n.Onset.Sub(b.Onset).Float()/ref.Beat.Float()
			}
		}
		n.ID, n.Pass = "n"+strconv.Itoa(i), 1
	}
}

func quarters(t testing.TB, s string) references.Quarters {
	t.Helper()
	num, den, _ := strings.Cut(s, "/")
	n, err := strconv.Atoi(num)
	if err != nil {
		t.Fatal(err)
	}
	d := 1
	if den != "" {
		if d, err = strconv.Atoi(den); err != nil {
			t.Fatal(err)
		}
	}
	return references.Q(int64(n), int64(d))
}

func pitchOf(t testing.TB, s string) references.Pitch {
	t.Helper()
	steps := map[byte]references.Step{
		'C': references.C, 'D': references.D, 'E': references.E, 'F': references.F,
		'G': references.G, 'A': references.A, 'B': references.B,
	}
	p := references.Pitch{Name: references.Name{Step: steps[s[0]]}}
	octave := s[1:]
	switch octave[0] {
	case '#':
		p.Alter, octave = 1, octave[1:]
	case 'b':
		p.Alter, octave = -1, octave[1:]
	}
	n, err := strconv.Atoi(octave)
	if err != nil {
		t.Fatal(err)
	}
	p.Octave = int8(n)
	return p
}

var fourFour = references.Meter{Beats: 4, Unit: 4}

// plainly plays a score as it is written, a quarter in spq seconds from the first second on: the tune
// above the rest, the dynamics by the usual steps, keys held to the end, short under a dot.
func plainly(ref *references.Reference, spq float64) *stage {
	s := &stage{ref: ref}
	starts := ref.Events()
	for e := range len(starts) - 1 {
		for i := starts[e]; i < starts[e+1]; i++ {
			n := &ref.Notes[i]
			v := 64
			if n.Dynamic != references.NoDynamic {
				v = int(levelSteps[n.Dynamic-references.Pianississimo])
			}
			if n.Hand == references.Left {
				v -= 28
			}
			length := n.Length.Float() * spq
			if n.Touch == references.Staccato {
				length *= 0.4
			}
			s.hits = append(s.hits, hit{
				expected: i, near: -1, key: n.Key(), velocity: min(max(v+12+e%2, 5), 127),
				on: 1 + n.Onset.Float()*spq, length: length,
			})
		}
	}
	return s
}

// warp moves every hit, by its place in the score, to when the time map says, and holds it to its end.
func (s *stage) warp(at func(quarters float64) float64) *stage {
	return s.each(func(h *hit, n *references.Note) {
		h.on = at(n.Onset.Float())
		h.length = at(n.Onset.Add(n.Length).Float()) - h.on
	})
}

// scored judges the stage as a score.
func (s *stage) scored() *Assessment {
	return Assess(s.aligned(), Asked{Take: "a.mid", Against: "a.musicxml", Version: "test"}, DefaultSettings())
}

// eightBars is a small piece in F: eight bars of tune over chords, with a dotted bar.
func eightBars(t testing.TB) *references.Reference {
	return compose(t, fourFour, -1,
		"F4:1 G4:1 A4:1 Bb4:1  C5:2 A4:2  Bb4:1/2 A4:1/2 G4:1 G4:1 Bb4:1  A4:3/2 F4:1/2 F4:2 "+
			"A4:1 Bb4:1 C5:1 D5:1  C5:3/2 A4:1/2 A4:2  G4:1/2 A4:1/2 Bb4:1 A4:1 G4:1  F4:4",
		"F3+A3:2 F3+A3:2  F3+A3:4  E3+G3:2 E3+G3:2  F3+A3:4  F3+A3:2 D3+F3:2  F3+A3:4  E3+Bb3:2 E3+Bb3:2  F3+A3:4")
}
