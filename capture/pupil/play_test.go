package pupil

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"evenhand/capture"
	"evenhand/references"
)

var update = flag.Bool("update", false, "write the golden files anew")

// letters writes the roles of a take in order: . correct, W wrong, g graze, c corrected, r repeat,
// x given up, b before, a after; then - for each missing note.
func letters(t Truth) string {
	var b strings.Builder
	for _, p := range t.Played {
		b.WriteByte(".W-gcrxbao~"[p.Role])
	}
	b.WriteString(strings.Repeat("-", t.Count(Missing)))
	return b.String()
}

func TestEachFault(t *testing.T) {
	five := &references.Reference{}
	part(t, five, references.Right, "C4 D4 E4 F4 G4 F4 E4 D4 C4")
	sharp := &references.Reference{Fifths: 1}
	part(t, sharp, references.Right, "D4 E4 F#4 G4 A4 G4 F#4 E4 D4")
	two := &references.Reference{}
	part(t, two, references.Right, "C4 D4 E4 F4 G4 F4 E4 D4 C4")
	part(t, two, references.Left, "C3 D3 E3 F3 G3 F3 E3 D3 C3")
	const s = time.Second
	for _, c := range []struct {
		name  string
		ref   *references.Reference
		fault Fault
		roles string
		keys  string // of the whole take
	}{
		{"none", five, Fault{Kind: -1}, ".........", "60 62 64 65 67 65 64 62 60"},
		{"semitone", five, Fault{Kind: SemitoneOff, At: 2, By: -1}, "..W......", "60 62 63 65 67 65 64 62 60"},
		{"letter", five, Fault{Kind: LetterOff, At: 4, By: 2}, "....W....", "60 62 64 65 69 65 64 62 60"},
		{"accidental", sharp, Fault{Kind: ForgottenAccidental, At: 2}, "..W...W..", "62 64 65 67 69 67 65 64 62"},
		{"left out", five, Fault{Kind: LeftOut, At: 3}, "........-", "60 62 64 67 65 64 62 60"},
		{"skipped", five, Fault{Kind: Skipped, At: 3}, "........-", "60 62 64 67 65 64 62 60"},
		{"put right", five, Fault{Kind: PutRight, At: 2, By: -1}, "..c.......", "60 62 63 64 65 67 65 64 62 60"},
		{"struck twice", five, Fault{Kind: StruckTwice, At: 2}, "...r......", "60 62 64 64 65 67 65 64 62 60"},
		{"go back", five, Fault{Kind: GoBack, At: 3, Count: 2}, "..rr.......", "60 62 64 65 64 65 67 65 64 62 60"},
		{"restart", five, Fault{Kind: Restart, At: 2}, "xxx.........", "60 62 64 60 62 64 65 67 65 64 62 60"},
		{"restart over a wrong key", five, Fault{Kind: Restart, At: 2, By: -1}, "xxx.........", "60 62 63 60 62 64 65 67 65 64 62 60"},
		{"restart in the middle", five, Fault{Kind: Restart, At: 5, To: 3}, "...xxx......", "60 62 64 65 67 65 65 67 65 64 62 60"},
		{"wait", five, Fault{Kind: Wait, At: 3, Pause: s}, ".........", "60 62 64 65 67 65 64 62 60"},
		{"give up", five, Fault{Kind: GiveUp, At: 4}, ".....----", "60 62 64 65 67"},
		{"tried", five, Fault{Kind: TriedBefore, Count: 2}, "bb.........", "60 62 60 62 64 65 67 65 64 62 60"},
		{"again", five, Fault{Kind: PlayedAgain, Count: 2}, ".........aa", "60 62 64 65 67 65 64 62 60 60 62"},
		{"octave", two, Fault{Kind: WrongOctave, At: 12, By: -12}, "............W.W.W.", "48 60 50 62 52 64 53 65 55 67 53 65 40 64 38 62 36 60"},
		{"out of range", five, Fault{Kind: SemitoneOff, At: 9, By: 1}, ".........", "60 62 64 65 67 65 64 62 60"},
		{"no accidental", five, Fault{Kind: ForgottenAccidental, At: 2}, ".........", "60 62 64 65 67 65 64 62 60"},
	} {
		take, truth := Play(c.ref, Pupil{Exact: true, Faults: []Fault{c.fault}})
		if got := letters(truth); got != c.roles {
			t.Errorf("%s: roles %s, want %s", c.name, got, c.roles)
		}
		if got := keysOf(take); got != c.keys {
			t.Errorf("%s: keys %s, want %s", c.name, got, c.keys)
		}
		done := 1
		if slices.Contains([]string{"none", "out of range", "no accidental"}, c.name) {
			done = 0
		}
		if len(truth.Events) != done {
			t.Errorf("%s: %d events told, want %d", c.name, len(truth.Events), done)
		}
	}
}

func keysOf(take *capture.Take) string {
	var b []string
	for _, n := range take.Notes {
		b = append(b, fmt.Sprint(n.Key))
	}
	return strings.Join(b, " ")
}

func TestHandAheadPlaysEarlyAndFindsItsPlace(t *testing.T) {
	ref := similar(t)
	at := slices.IndexFunc(ref.Notes, func(n references.Note) bool { return n.Pitch.Key() == 65 && n.Hand == references.Right })
	p := Pupil{Exact: true, BPM: 60, Lead: time.Second}
	_, clean := Play(ref, p)
	p.Faults = []Fault{{Kind: HandAhead, At: at, Count: 3}}
	take, truth := Play(ref, p)
	plain, _ := Play(ref, Pupil{Exact: true, BPM: 60, Lead: time.Second})
	if truth.Expected[at].Role != Missing || truth.Count(Missing) != 1 || truth.Count(Wrong) != 0 {
		t.Fatalf("the note slipped over should be the only one missing:\n%s", truth.Text(ref, take))
	}
	early := 0
	for n, e := range truth.Expected {
		if e.Role == Missing {
			continue
		}
		was := plain.Notes[clean.Expected[n].Played].On
		switch d := was - take.Notes[e.Played].On; d {
		case 0:
		case 500 * time.Millisecond:
			early++
		default:
			t.Errorf("note %d is %v early", n, d)
		}
	}
	if early != 3 {
		t.Errorf("%d notes are early, want 3", early)
	}
}

func TestSameSeedSameTake(t *testing.T) {
	for _, c := range Cases(3, 40, allRefs(t)) {
		a, ta := Play(c.Reference, c.Pupil)
		b, tb := Play(c.Reference, c.Pupil)
		if d := cmp.Diff(a, b); d != "" {
			t.Fatal(d)
		}
		if d := cmp.Diff(ta, tb); d != "" {
			t.Fatal(d)
		}
		c.Pupil.Seed++
		if other, _ := Play(c.Reference, c.Pupil); cmp.Equal(a, other) {
			t.Errorf("%s: another seed plays the same", c.Label)
		}
	}
}

// A fault more leaves the unevenness of the rest alone.
func TestFaultsHaveTheirOwnChance(t *testing.T) {
	ref := rightHand(t)
	clean, _ := Play(ref, Pupil{Seed: 9})
	wrong, truth := Play(ref, Pupil{Seed: 9, Faults: []Fault{{Kind: SemitoneOff, At: Anywhere}}})
	if truth.Count(Wrong) != 1 {
		t.Fatal(letters(truth))
	}
	for i := range clean.Notes {
		if clean.Notes[i].On != wrong.Notes[i].On || clean.Notes[i].Velocity != wrong.Notes[i].Velocity {
			t.Errorf("note %d moved", i)
		}
	}
}

func drawnPupil(t *rapid.T, ref *references.Reference) Pupil {
	f := func(lo, hi float64, name string) float64 { return rapid.Float64Range(lo, hi).Draw(t, name) }
	p := Pupil{
		Seed: rapid.Uint64().Draw(t, "seed"), Exact: rapid.Bool().Draw(t, "exact"),
		BPM: f(0, 400, "bpm"), Drift: f(-200, 200, "drift"), Phrase: f(-200, 200, "phrase"), Close: f(-200, 200, "close"),
		Jitter: references.Each(f(0, 300, "jitter")), ThumbDelay: f(-50, 50, "thumb"), ChordWidth: f(0, 50, "width"),
		Apart: Offset{f(-300, 300, "mean"), f(0, 100, "sd")}, Parting: f(-500, 500, "parting"),
		Level: references.Each(f(0, 200, "level")), Spread: f(0, 80, "spread"), Shape: f(-90, 90, "shape"),
		Touch: references.Each(Hold{f(0, 3, "share"), f(0, 1, "holds")}), Pedal: Pedalling(rapid.IntRange(0, 2).Draw(t, "pedal")),
		Octaves: references.PerHand[int]{Right: rapid.IntRange(-9, 9).Draw(t, "right"), Left: rapid.IntRange(-9, 9).Draw(t, "left")},
	}
	for range rapid.IntRange(0, 5).Draw(t, "faults") {
		p.Faults = append(p.Faults, Fault{
			Kind: Kind(rapid.IntRange(-1, kinds).Draw(t, "kind")), At: rapid.IntRange(-2, len(ref.Notes)).Draw(t, "at"),
			Hand: references.Hand(rapid.IntRange(0, 3).Draw(t, "hand")), By: rapid.IntRange(-70, 70).Draw(t, "by"),
			Count: rapid.IntRange(-1, 40).Draw(t, "count"), To: rapid.IntRange(-2, 90).Draw(t, "to"),
			Pause: time.Duration(rapid.Int64Range(-1e9, 3e9).Draw(t, "pause")),
		})
	}
	return p
}

// Whatever a pupil is told to do, the take is one a piano could send and the truth covers it.
func TestTruthCoversTheTake(t *testing.T) {
	refs := append(allRefs(t), &references.Reference{}, nil)
	rapid.Check(t, func(t *rapid.T) {
		ref := refs[rapid.IntRange(0, len(refs)-1).Draw(t, "ref")]
		if ref == nil {
			ref = &references.Reference{}
		}
		p := drawnPupil(t, ref)
		take, truth := Play(ref, p)
		checkTake(t, take)
		checkTruth(t, ref, take, &truth)
	})
}

func checkTake(t *rapid.T, take *capture.Take) {
	down := map[uint8]capture.Note{}
	for i, n := range take.Notes {
		if i > 0 && n.On < take.Notes[i-1].On {
			t.Fatalf("note %d comes before the one before it", i)
		}
		if n.Velocity < 1 || n.Velocity > 127 || n.Key > 127 || n.On < 0 || n.Off <= n.On {
			t.Fatalf("note %d is none: %+v", i, n)
		}
		if n.On%capture.Tick != 0 || n.Off%capture.Tick != 0 {
			t.Fatalf("note %d is off the grain: %+v", i, n)
		}
		if was, ok := down[n.Key]; ok && was.Off >= n.On {
			t.Fatalf("note %d strikes a key that is down: %+v, %+v", i, was, n)
		}
		down[n.Key] = n
	}
	for i, p := range take.Pedals {
		if i > 0 && p.At < take.Pedals[i-1].At || p.At < 0 || p.At%capture.Tick != 0 {
			t.Fatalf("pedal %d is out of order or off the grain: %+v", i, take.Pedals)
		}
	}
}

func checkTruth(t *rapid.T, ref *references.Reference, take *capture.Take, truth *Truth) {
	if len(truth.Expected) != len(ref.Notes) || len(truth.Played) != len(take.Notes) {
		t.Fatalf("%d of %d notes, %d of %d strokes are told", len(truth.Expected), len(ref.Notes), len(truth.Played), len(take.Notes))
	}
	for n, e := range truth.Expected {
		switch e.Role {
		case Missing, OffRoute:
			if e.Played != -1 {
				t.Fatalf("note %d, %s, was played", n, e.Role)
			}
			continue
		case Correct, Wrong:
		default:
			t.Fatalf("expected note %d is %s", n, e.Role)
		}
		if back := truth.Played[e.Played]; back.Expected != n || back.Role != e.Role {
			t.Fatalf("note %d is stroke %d, which is note %d, %s", n, e.Played, back.Expected, back.Role)
		}
		if got := int(take.Notes[e.Played].Key); (got == e.Key) != (e.Role == Correct) {
			t.Fatalf("note %d should be key %d, is %d and called %s", n, e.Key, got, e.Role)
		}
	}
	extra := 0
	for i, p := range truth.Played {
		if p.Near < 0 || p.Near >= len(ref.Notes) || p.Role == Missing || (p.Expected >= 0) != (p.Role <= Wrong) {
			t.Fatalf("stroke %d: %+v", i, p)
		}
		if p.Role > Missing {
			extra++
		}
	}
	if truth.Count(Correct)+truth.Count(Wrong)+truth.Count(Missing)+truth.Count(OffRoute) != len(ref.Notes) {
		t.Fatal("expected is not correct + wrong + missing, and what is off the route")
	}
	if truth.Count(Correct)+truth.Count(Wrong)+extra != len(take.Notes) {
		t.Fatal("played is not correct + wrong + extra")
	}
	for i, e := range truth.Events {
		if i > 0 && e.At < truth.Events[i-1].At {
			t.Fatalf("events are out of order: %+v", truth.Events)
		}
	}
}

func TestGolden(t *testing.T) {
	ref := contrary(t)
	p := Pupil{Seed: 12, BPM: 80, Faults: []Fault{
		{Kind: SemitoneOff, At: Anywhere, Hand: references.Left},
		{Kind: LeftOut, At: Anywhere, Hand: references.Right},
		{Kind: GrazedKey, At: Anywhere},
		{Kind: Wait, At: Anywhere},
		{Kind: Restart, At: 11},
		{Kind: TriedBefore},
	}}
	take, truth := Play(ref, p)
	got := truth.Text(ref, take)
	file := filepath.Join("testdata", "contrary.txt")
	if *update {
		if err := os.WriteFile(file, []byte(got), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if d := cmp.Diff(string(want), got); d != "" {
		t.Error(d)
	}
}
