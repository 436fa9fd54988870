package screen

import (
	"fmt"
	"testing"
	"time"

	"evenhand/capture/pupil"
	"evenhand/cmd/evenhand/screen/ink"
	"evenhand/references"
	"evenhand/references/repertoire"
)

func pieceRoom(t *testing.T, width, height int, title string) *room {
	t.Helper()
	ref, _, err := repertoire.Open(title)
	if err != nil {
		t.Fatal(err)
	}
	r := &room{t: t, refs: []*references.Reference{ref}}
	return r.open(width, height, &ink.Unicode)
}

// A piece is shown line by line, a line ending with a bar, and turned over as it is played.
func TestPagesOfAPiece(t *testing.T) {
	for _, size := range sizes {
		r := pieceRoom(t, size.width, size.height, "the ferryman")
		ref := r.refs[0]
		take, _ := pupil.Play(ref, pupil.Pupil{Seed: 4, Faults: []pupil.Fault{
			{Kind: pupil.SemitoneOff, At: 30}, {Kind: pupil.Wait, At: 36, Pause: time.Second}, {Kind: pupil.LeftOut, At: 44},
		}})
		messages := pupil.Messages(take)
		r.plays(messages[:len(messages)/2])
		r.golden(fmt.Sprintf("piece-playing-%dx%d", size.width, size.height))
		r.plays(since(messages[len(messages)/2:], messages[len(messages)/2-1].At))
		r.waits(8 * time.Second)
		r.golden(fmt.Sprintf("piece-words-%dx%d", size.width, size.height))
		r.types("tab")
		r.golden(fmt.Sprintf("piece-notes-%dx%d", size.width, size.height))
	}
}

// Turning over goes through all lines of a piece and all pages, and back again to the first.
func TestTurningOver(t *testing.T) {
	r := pieceRoom(t, 80, 24, "the ferryman")
	take, _ := pupil.Play(r.refs[0], pupil.Pupil{Seed: 4})
	r.plays(pupil.Messages(take))
	r.waits(8 * time.Second)
	var seen []string
	for range 20 {
		seen = append(seen, r.view())
		r.types("tab")
	}
	last := r.view()
	r.sees("[in figures]")
	for range 20 {
		r.types("shift+tab")
	}
	r.sees("[in words]")
	if r.view() != seen[0] || last != seen[len(seen)-1] {
		t.Error("turning over and back does not end where it began")
	}
}
