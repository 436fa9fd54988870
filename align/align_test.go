package align_test

import (
	"fmt"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
)

// pitch reads "C4", "F#3", "Bb2".
func pitch(t *testing.T, s string) references.Pitch {
	t.Helper()
	step := strings.IndexByte("CDEFGAB", s[0])
	alter := strings.Count(s, "#") - strings.Count(s, "b")
	octave, err := strconv.Atoi(s[len(s)-1:])
	if err != nil || step < 0 {
		t.Fatalf("not a pitch: %q", s)
	}
	return references.Pitch{Name: references.Name{Step: references.Step(step), Alter: int8(alter)}, Octave: int8(octave)}
}

// written builds a reference of quavers from words: "C3/C4" is the left hand and the right hand
// together, "C4" the right hand alone.
func written(t *testing.T, s string) *references.Reference {
	t.Helper()
	ref := &references.Reference{Beat: references.Q(1, 1), BarLength: references.Q(4, 1), Request: &references.Request{}}
	for j, word := range strings.Fields(s) {
		names := strings.Split(word, "/")
		for k, name := range names {
			hand := references.Right
			if k < len(names)-1 {
				hand = references.Left
			}
			ref.Notes = append(ref.Notes, references.Note{
				Onset: references.Q(int64(j), 2), Length: references.Q(1, 2), Pitch: pitch(t, name), Hand: hand,
			})
		}
	}
	ref.Sort()
	return ref
}

// step is the time between the notes that played builds.
const step = 300 * time.Millisecond

// played builds a take from words. Each word is one step later than the one before: "C4" a note,
// "C3/C4" two at once, "-" nothing. "~C#4" is grazed: 20 ms after the word before, short and soft,
// and takes no time of its own; "<C4" comes half a step after the word before and takes no time
// either; "?C4" is soft; "!C4" is grazed so softly that it hardly sounds.
func played(t *testing.T, s string) *capture.Take {
	t.Helper()
	take := &capture.Take{}
	now := time.Second
	for _, word := range strings.Fields(s) {
		if word == "-" {
			now += step
			continue
		}
		at, length, velocity := now, step*9/10, uint8(64)
		switch word[0] {
		case '~':
			at, length, velocity = now-step+20*time.Millisecond, 60*time.Millisecond, 30
		case '!':
			at, velocity = now-step+20*time.Millisecond, 1
		case '<':
			at, length = now-step/2, step/3
		case '?':
			velocity = 30
			now += step
		default:
			now += step
		}
		for _, name := range strings.Split(strings.TrimLeft(word, "~<?!"), "/") {
			take.Notes = append(take.Notes, capture.Note{
				Key: uint8(pitch(t, name).Key()), Velocity: velocity, On: at, Off: at + length,
			})
		}
	}
	return take
}

// story writes an alignment as a line: expected notes in order ("." correct, "W" wrong, "M"
// missing), then each extra with its reason.
func story(a *align.Alignment) string {
	marks := make([]byte, len(a.Reference.Notes))
	for i := range marks {
		marks[i] = '?'
	}
	var extras []string
	for _, p := range a.Pairs {
		switch p.Verdict {
		case align.Extra:
			extras = append(extras, fmt.Sprintf("%d %s", p.Played, p.Why))
		default:
			marks[p.Expected] = ".WM"[p.Verdict]
		}
	}
	out := []string{string(marks)}
	out = append(out, extras...)
	for _, r := range a.Restarts {
		kind := "back"
		if r.Fresh {
			kind = "fresh"
		}
		out = append(out, fmt.Sprintf("%s %s>%s", kind, r.From, r.To))
	}
	return strings.Join(out, ", ")
}

const (
	oneOctave = "C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4"
	together  = "C3/C4 D3/D4 E3/E4 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 B3/B4 A3/A4 G3/G4 F3/F4 E3/E4 D3/D4 C3/C4"
)

func TestAlignTellsWhatATeacherWouldHear(t *testing.T) {
	tests := []struct {
		name, written, played, want string
	}{
		{"clean", oneOctave, oneOctave, "..............."},
		{"wrong", oneOctave, "C4 D4 E4 F#4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "...W..........."},
		{"wrong key that comes next", oneOctave, "C4 D4 F4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..W............"},
		{"two wrong in a row", oneOctave, "C4 D4 E4 F#4 G#4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "...WW.........."},
		{"missing", oneOctave, "C4 D4 E4 - G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "...M..........."},
		{"missing and closed up", oneOctave, "C4 D4 E4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "...M..........."},
		{"first missing", oneOctave, "D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "M.............."},
		{"last missing", oneOctave, "C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4", "..............M"},
		{"top missing", oneOctave, "C4 D4 E4 F4 G4 A4 B4 - B4 A4 G4 F4 E4 D4 C4", ".......M......."},
		{"top wrong", oneOctave, "C4 D4 E4 F4 G4 A4 B4 C#5 B4 A4 G4 F4 E4 D4 C4", ".......W......."},
		{"top struck twice", oneOctave, "C4 D4 E4 F4 G4 A4 B4 C5 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 7 repeat"},
		{"grazed", oneOctave, "C4 D4 ~D#4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 2 slip"},
		{"corrected", oneOctave, "C4 D4 E4 F#4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 3 corrected"},
		{"corrected with the next key", oneOctave, "C4 D4 F4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 2 corrected"},
		{"stutter", oneOctave, "C4 D4 E4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 2 repeat"},
		{"bounce", oneOctave, "C4 D4 E4 ~E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 3 repeat"},
		{"back two", oneOctave, "C4 D4 E4 F4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 1 repeat, 2 repeat, 3 repeat, back 3/2>1/2"},
		{"back one", oneOctave, "C4 D4 E4 F4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 2 repeat, 3 repeat, back 3/2>1"},
		{"fresh start", oneOctave, "C4 D4 E4 F4 - - - - C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 0 restart, 1 restart, 2 restart, 3 restart, fresh 3/2>0"},
		{"fresh start after a wrong note", oneOctave, "C4 D4 E4 F#4 - - - - C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 0 restart, 1 restart, 2 restart, 3 restart, fresh 3/2>0"},
		{"fresh start coming down", oneOctave, "C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 - - - C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 0 restart, 1 restart, 2 restart, 3 restart, 4 restart, 5 restart, 6 restart, 7 restart, 8 restart, 9 restart, fresh 9/2>0"},
		{"given up", oneOctave, "C4 D4 E4 F4 G4 A4 B4 C5", "........MMMMMMM"},
		{"last run given up", oneOctave, oneOctave + " - - - - C4 D4 E4", "..............., 15 repeat, 16 repeat, 17 repeat, fresh 7>0"},
		{"tried before", oneOctave, "?C4 - - - - C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 0 before"},
		{"another tried before", oneOctave, "G4 - - - - C4 D4 E4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 0 before"},
		{"waits", oneOctave, "C4 D4 E4 - - - F4 G4 A4 B4 - - C5 B4 A4 G4 F4 E4 D4 C4", "..............."},
		{"wrong after a wait", oneOctave, "C4 D4 E4 - - - F#4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "...W..........."},
		{"stray", oneOctave, "C4 D4 E4 F4 <C6 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 4 other"},
		{"hardly sounded", oneOctave, "C4 D4 E4 !A4 F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "..............., 3 unheard"},
		{"hardly sounded, and nothing else", oneOctave, "C4 D4 E4 - !F4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "...M..........., 3 unheard"},
		{"hardly sounded in place of a note", oneOctave, "C4 D4 E4 - !F#4 G4 A4 B4 C5 B4 A4 G4 F4 E4 D4 C4", "...M..........., 3 unheard"},

		{"together clean", together, together, strings.Repeat(".", 30)},
		{"together one wrong each", together, "C3/C4 D#3/D4 E3/E4 F3/F#4 G3/G4 A3/A4 B3/B4 C4/C5 B3/B4 A3/A4 G3/G4 F3/F4 E3/E4 D3/D4 C3/C4", "..W....W......................"},
		{"together both wrong at once", together, "C3/C4 D#3/D#4 E3/E4 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 B3/B4 A3/A4 G3/G4 F3/F4 E3/E4 D3/D4 C3/C4", "..WW.........................."},
		{"together a missing one", together, "C3/C4 D4 E3/E4 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 B3/B4 A3/A4 G3/G4 F3/F4 E3/E4 D3/D4 C3/C4", "..M..........................."},
		{"together both missing", together, "C3/C4 - E3/E4 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 B3/B4 A3/A4 G3/G4 F3/F4 E3/E4 D3/D4 C3/C4", "..MM.........................."},
		{"left hand half a step behind", together, "C4 <C3 D4 <D3 E4 <E3 F4 <F3 G4 <G3 A4 <A3 B4 <B3 C5 <C4 B4 <B3 A4 <A3 G4 <G3 F4 <F3 E4 <E3 D4 <D3 C4 <C3", strings.Repeat(".", 30)},
		{"left hand a step ahead coming down", together, "C3/C4 D3/D4 E3/E4 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 A3/B4 G3/A4 F3/G4 E3/F4 D3/E4 C3/D4 C4", "................M............."},
		{"left hand an octave down from the top", together, "C3/C4 D3/D4 E3/E4 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 B2/B4 A2/A4 G2/G4 F2/F4 E2/E4 D2/D4 C2/C4", "................W.W.W.W.W.W.W."},
		{"together grazed, and another missing", together, "C3/C4 D3/D4 E3 ~D#3 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 B3/B4 A3/A4 G3/G4 F3/F4 E3/E4 D3/D4 C3/C4", ".....M........................, 5 slip"},
		{"together bounced, and another missing", together, "C3/C4 D3/D4 E3 ~E3 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 B3/B4 A3/A4 G3/G4 F3/F4 E3/E4 D3/D4 C3/C4", ".....M........................, 5 repeat"},
		{"together a stop between the hands", together, "C3/C4 D3 - - - D4 E3/E4 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 B3/B4 A3/A4 G3/G4 F3/F4 E3/E4 D3/D4 C3/C4", strings.Repeat(".", 30)},
		{"a stop between the hands, the same keys after it", "C3/E4 C3/G4 C3/E4 C3/G4 D3/A4 C3/G4", "C3/E4 C3/G4 E4 - - - C3 C3/G4 D3/A4 C3/G4", strings.Repeat(".", 12)},
		{"together fresh start", together, "C3/C4 D3/D4 E3/E4 - - - C3/C4 D3/D4 E3/E4 F3/F4 G3/G4 A3/A4 B3/B4 C4/C5 B3/B4 A3/A4 G3/G4 F3/F4 E3/E4 D3/D4 C3/C4", strings.Repeat(".", 30) + ", 0 restart, 1 restart, 2 restart, 3 restart, 4 restart, 5 restart, fresh 1>0"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			a := align.Align(written(t, tt.written), played(t, tt.played), 0, 0)
			if diff := cmp.Diff(tt.want, story(a)); diff != "" {
				t.Errorf("story of %s (-want +got):\n%s", tt.played, diff)
			}
		})
	}
}
