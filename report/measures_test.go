package report

import (
	"encoding/xml"
	"math"
	"strings"
	"testing"

	"evenhand/capture/pupil"
	"evenhand/references"
	"evenhand/references/musicxml"
	"evenhand/references/repertoire"
	"evenhand/scoring"
)

// onTime is an assessment of a reference whose every note was played at so many seconds a quarter, but
// for how late each is.
func onTime(ref *references.Reference, quarter float64, late map[int]float64) *scoring.Assessment {
	a := &scoring.Assessment{Settings: scoring.DefaultSettings()}
	for i := range ref.Notes {
		n := &ref.Notes[i]
		a.Notes = append(a.Notes, scoring.NoteLine{
			Verdict: "correct", Expected: &scoring.Expected{Index: i, Key: n.Key()},
			Played: &scoring.Played{Index: i, Onset: 1 + quarter*n.Onset.Float() + late[i], Key: n.Key(), Velocity: 60},
		})
	}
	return a
}

// One note late by 40 ms is told as such; each of its neighbours leans on it by a quarter of that the
// other way, where it has two notes on both sides; and nothing else is displaced. Worked by hand: the
// line through four equally spaced notes has their mean in the middle.
func TestOneLateNoteIsDisplaced(t *testing.T) {
	ref := requests(t, "C major, right hand, 2 octaves")[0]
	p := newPlayed(ref, onTime(ref, 0.6, map[int]float64{10: 0.040}))
	for _, d := range p.displacements(references.Right) {
		want := map[int]float64{10: 40, 9: -10, 11: -10, 8: -10, 12: -10}[d.note]
		if math.Abs(d.ms-want) > 1e-6 {
			t.Errorf("note %d: %.3f ms, want %g", d.note, d.ms, want)
		}
		// 5 % of 300 ms is more than 10 ms.
		if math.Abs(d.limit-15) > 0.6 {
			t.Errorf("note %d: limit %.2f ms, want 15", d.note, d.limit)
		}
	}
}

// A steady quickening displaces nothing that could be heard.
func TestASteadyChangeOfTempoDisplacesNothing(t *testing.T) {
	ref := requests(t, "C major, hands together, 3 octaves")[0]
	a := onTime(ref, 0.6, nil)
	for i := range a.Notes {
		q := ref.Notes[i].Onset.Float()
		a.Notes[i].Played.Onset = 0.6*q - 0.004*q*q // a fifth faster at the end
	}
	for _, h := range []references.Hand{references.Right, references.Left} {
		for _, d := range newPlayed(ref, a).displacements(h) {
			if math.Abs(d.ms) > 4 {
				t.Errorf("%s note %d: %.1f ms", h, d.note, d.ms)
			}
		}
	}
}

func TestBeatByBeat(t *testing.T) {
	ref := requests(t, "C major, hands together, 2 octaves, ♩=100")[0]
	a := onTime(ref, 0.5, nil)
	a.Tempo = &scoring.Tempo{BPM: 120}
	p := newPlayed(ref, a)
	points := p.tempo()
	if len(points) < 10 {
		t.Fatalf("%d points", len(points))
	}
	for _, v := range points {
		if math.Abs(v.y-120) > 1e-6 {
			t.Errorf("at %.2f: %.3f beats a minute, want 120", v.x, v.y)
		}
	}
	if asked := p.notated(); len(asked) < 2 || asked[0].y != 100 {
		t.Errorf("the tempo asked is %v, want 100", asked)
	}
	for _, v := range p.together() {
		if v.y != 0 {
			t.Errorf("hands %.1f ms apart", v.y)
		}
	}
}

// Every note of every built-in score has an id that is on paper once, and a note of a repeat that of
// the first time.
func TestEveryNoteIsOnThePaperOnce(t *testing.T) {
	refs := requests(t, "B flat major, hands together, contrary motion", "G major broken chords", "E minor melodic, left hand")
	for _, s := range repertoire.All() {
		ref, err := s.Read()
		if err != nil {
			t.Fatal(err)
		}
		refs = append(refs, ref)
	}
	for _, ref := range refs {
		e, err := engrave(ref)
		if err != nil {
			t.Fatal(err)
		}
		printed := idsOf(t, e.xml)
		seen := map[string]int{}
		for i, id := range e.ids {
			first, again := seen[id]
			switch {
			case printed[id] != 1:
				t.Errorf("%s: note %d is on the paper %d times", ref.Title, i, printed[id])
			case again && (ref.Notes[first].Bar != ref.Notes[i].Bar || ref.Notes[first].Key() != ref.Notes[i].Key() || ref.Notes[i].Pass < 2):
				t.Errorf("%s: notes %d and %d share %s", ref.Title, first, i, id)
			case !again:
				seen[id] = i
			}
		}
		back, err := musicxml.Read(strings.NewReader(e.xml))
		if err != nil || len(back.Notes) != len(ref.Notes) {
			t.Errorf("%s: read again it has %d notes, want %d (%v)", ref.Title, len(back.Notes), len(ref.Notes), err)
		}
	}
}

// idsOf counts the ids of the notes of a score.
func idsOf(t *testing.T, score string) map[string]int {
	t.Helper()
	out := map[string]int{}
	d := xml.NewDecoder(strings.NewReader(score))
	for {
		token, err := d.Token()
		if err != nil {
			return out
		}
		if e, ok := token.(xml.StartElement); ok && e.Name.Local == "note" {
			for _, a := range e.Attr {
				if a.Name.Local == "id" {
					out[a.Value]++
				}
			}
		}
	}
}

// No curve needs more than was measured, whatever was played.
func TestCurvesOfAnything(t *testing.T) {
	refs := requests(t, "E flat major, hands together", "A minor harmonic, left hand", "C major five finger, right hand")
	for _, c := range pupil.Cases(5, 22, refs) {
		take := scaleTake(t, c.Reference.Request.String(), c.Pupil)
		figures, err := Curves(take.Reference, take.Assessment)
		if err != nil {
			t.Fatalf("%s, %s: %v", c.Reference.Title, c.Label.Class, err)
		}
		for _, f := range figures {
			if f.Says == "" || f.Wide == "" || f.Narrow == "" || len(f.Rows) == 0 || len(f.Rows[0]) != len(f.Columns) {
				t.Errorf("%s, %s: figure %q is not whole", c.Reference.Title, c.Label.Class, f.Title)
			}
		}
	}
	for _, a := range []*scoring.Assessment{{}, onTime(refs[0], 0, nil)} {
		if _, err := Curves(refs[0], a); err != nil {
			t.Error(err)
		}
	}
}
