package align_test

import (
	"fmt"
	"strings"
	"testing"
	"time"

	"pgregory.net/rapid"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/references"
	"evenhand/references/musicxml"
)

// tune is a score of bars of notes for the right hand, four crotchets to a bar: "C5 4", with what stands
// under <notations> after them, or "g" for a grace note.
func tune(t testing.TB, bars ...[]string) *references.Reference {
	t.Helper()
	var b strings.Builder
	b.WriteString(`<score-partwise version="4.0"><part-list><score-part id="P1"><part-name>Piano</part-name></score-part></part-list><part id="P1">`)
	for i, bar := range bars {
		fmt.Fprintf(&b, `<measure number="%d">`, i+1)
		if i == 0 {
			b.WriteString(`<attributes><divisions>1</divisions><time><beats>4</beats><beat-type>4</beat-type></time><clef><sign>G</sign><line>2</line></clef></attributes>`)
		}
		for _, n := range bar {
			f := strings.SplitN(n, " ", 3)
			b.WriteString("<note>")
			if f[1] == "g" {
				b.WriteString("<grace/>")
			}
			fmt.Fprintf(&b, "<pitch><step>%c</step><octave>%c</octave></pitch>", f[0][0], f[0][1])
			if f[1] != "g" {
				fmt.Fprintf(&b, "<duration>%s</duration>", f[1])
			}
			if len(f) > 2 {
				fmt.Fprintf(&b, "<notations><ornaments><%s/></ornaments></notations>", f[2])
			}
			b.WriteString("</note>")
		}
		b.WriteString("</measure>")
	}
	b.WriteString("</part></score-partwise>")
	ref, err := musicxml.Read(strings.NewReader(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	return ref
}

// A turn or a trill may begin with the key of the note before it: that key's first stroke is then that note.
func TestOrnamentBegunWithTheNoteBefore(t *testing.T) {
	for _, tt := range []struct{ before, ornament string }{
		{"E5", "turn"}, {"C5", "inverted-turn"}, {"E5", "trill-mark"}, {"A5", "turn"},
	} {
		bar := []string{"G5 1", tt.before + " 1", "D5 2 " + tt.ornament}
		ref := tune(t, bar, bar, bar, bar, []string{"C5 4"})
		for seed := range uint64(20) {
			take, truth := pupil.Play(ref, pupil.Pupil{Seed: seed, BPM: 80})
			for _, p := range align.Best([]*references.Reference{ref}, nil, take).Pairs {
				if p.Expected >= 0 && p.Played != truth.Expected[p.Expected].Played {
					t.Errorf("%s before %s, seed %d: note %d is matched to stroke %d, was stroke %d", tt.before, tt.ornament, seed, p.Expected, p.Played, truth.Expected[p.Expected].Played)
				}
			}
		}
	}
}

// A moment that has only grace notes, as where they end a piece, has no note that a wrong one could stand for.
func TestFollowingToGraceNotesAtTheEnd(t *testing.T) {
	ref := tune(t, []string{"C5 1", "D5 1", "E5 2", "D5 g", "E5 g"})
	f := align.NewFollower([]*references.Reference{ref})
	for i, key := range []uint8{72, 74, 76, 60, 61, 72} {
		on := time.Duration(i) * 500 * time.Millisecond
		for _, u := range f.Note(capture.Note{Key: key, Velocity: 70, On: on, Off: on + 400*time.Millisecond}) {
			if u.Expected >= len(ref.Notes) || i > 2 && u.Played == i && u.Verdict != align.Extra {
				t.Errorf("key %d: %+v of %d notes", key, u.Pair, len(ref.Notes))
			}
		}
	}
}

// Whatever is written and whatever is struck, every note has one line, and every line a note that is there.
func TestAnythingWrittenAnythingStruck(t *testing.T) {
	pitches := rapid.SampledFrom([]string{"C5", "D5", "E5", "F5", "G5"})
	kinds := rapid.SampledFrom([]string{"1", "1", "2", "g", "1 turn", "2 trill-mark", "1 mordent", "1 inverted-turn"})
	rapid.Check(t, func(rt *rapid.T) {
		var bars [][]string
		for range rapid.IntRange(1, 3).Draw(rt, "bars") {
			bar := []string{"C5 1"}
			for range rapid.IntRange(1, 6).Draw(rt, "notes") {
				bar = append(bar, pitches.Draw(rt, "pitch")+" "+kinds.Draw(rt, "kind"))
			}
			bars = append(bars, bar)
		}
		ref := tune(t, bars...)
		var take capture.Take
		var at time.Duration
		for range rapid.IntRange(0, 30).Draw(rt, "struck") {
			at += time.Duration(rapid.IntRange(0, 900).Draw(rt, "ms")) * time.Millisecond
			key := uint8(rapid.IntRange(70, 82).Draw(rt, "key"))
			take.Notes = append(take.Notes, capture.Note{Key: key, Velocity: uint8(rapid.IntRange(1, 127).Draw(rt, "velocity")), On: at, Off: at + 100*time.Millisecond})
		}
		fits := func(p align.Pair) {
			if p.Expected >= len(ref.Notes) || p.Near >= len(ref.Notes) || p.Played >= len(take.Notes) {
				rt.Fatalf("%+v of %d notes written and %d struck", p, len(ref.Notes), len(take.Notes))
			}
		}
		f := align.NewFollower([]*references.Reference{ref})
		for _, n := range take.Notes {
			for _, u := range f.Note(n) {
				fits(u.Pair)
			}
		}
		seen := make([]int, len(take.Notes))
		for _, p := range align.Best([]*references.Reference{ref}, nil, &take).Pairs {
			if fits(p); p.Played >= 0 {
				seen[p.Played]++
			}
		}
		for n, times := range seen {
			if times != 1 {
				rt.Fatalf("stroke %d has %d lines", n, times)
			}
		}
	})
}
