package report

import (
	"slices"
	"testing"

	"evenhand/capture/pupil"
	"evenhand/references"
	"evenhand/scoring"
)

// written is how often each sign is written.
func written(marks []Mark) map[Sign]int {
	out := map[Sign]int{}
	for _, m := range marks {
		out[m.Sign]++
	}
	return out
}

// due is how often each sign of single notes should be, counted from the lines of the assessment.
func due(a *scoring.Assessment) map[Sign]int {
	out := map[Sign]int{Stop: len(a.Flow.Hesitations), Back: len(a.Flow.Restarts) + len(a.Flow.Repeats)}
	inPassage := map[int]bool{}
	for _, f := range a.Findings {
		if f.Kind == scoring.PassageLeftOut {
			for _, k := range f.Notes {
				inPassage[k] = true
			}
		}
	}
	for k, n := range a.Notes {
		switch {
		case n.Verdict == "wrong":
			out[Ring]++
		case n.Verdict == "missing" && !inPassage[k]:
			out[Caret]++
		case n.Verdict == "extra" && n.Why != "before" && n.Why != "restart" && n.Why != "ornament" && n.Why != "unheard":
			out[Struck]++
		}
	}
	return out
}

func requests(t *testing.T, words ...string) []*references.Reference {
	var out []*references.Reference
	for _, w := range words {
		r, err := references.Parse(w)
		if err != nil {
			t.Fatal(err)
		}
		out = append(out, r.Candidates()[0])
	}
	return out
}

func TestMarksAreThoseOfTheAssessment(t *testing.T) {
	refs := requests(t, "E flat major, hands together", "B flat major contrary", "A minor harmonic, left hand", "G major arpeggio right hand")
	for i, c := range pupil.Cases(11, 66, refs) {
		take := scaleTake(t, c.Reference.Request.String(), c.Pupil)
		marks := Marks(take.Reference, take.Assessment, scoring.Amendment{})
		got, want := written(marks), due(take.Assessment)
		for _, sign := range []Sign{Ring, Caret, Struck, Stop} {
			if got[sign] != want[sign] {
				t.Errorf("case %d (%s, %s): %d of %s, want %d", i, c.Reference.Title, c.Label.Class, got[sign], sign, want[sign])
			}
		}
		said := map[int]bool{}
		for _, m := range marks {
			if m.From >= len(take.Reference.Notes) || m.To >= len(take.Reference.Notes) || (m.From < 0) != (m.Sign == Margin) || m.Says == "" {
				t.Fatalf("case %d: mark %+v", i, m)
			}
			for _, f := range m.Findings {
				said[f] = true
			}
		}
		for f := range take.Assessment.Findings {
			if !said[f] {
				t.Errorf("case %d: no mark leads to %q", i, take.Assessment.Findings[f].Text)
			}
		}
	}
}

func TestWhatTheTeacherStruckOutHasNoMark(t *testing.T) {
	take := aScale(t)
	for f := range take.Assessment.Findings {
		for _, m := range Marks(take.Reference, take.Assessment, scoring.Amendment{Struck: []int{f}}) {
			if slices.Contains(m.Findings, f) {
				t.Errorf("%q is struck out and has the mark %q", take.Assessment.Findings[f].Text, m.Says)
			}
		}
	}
	before := written(Marks(take.Reference, take.Assessment, scoring.Amendment{}))
	for _, n := range take.Assessment.Notes {
		if n.Verdict == "wrong" {
			after := written(Marks(take.Reference, take.Assessment, scoring.Amendment{LeftOut: []int{n.Expected.Index}}))
			if after[Ring] != before[Ring]-1 {
				t.Errorf("a note left out by agreement: %d rings, want %d", after[Ring], before[Ring]-1)
			}
		}
	}
}

func TestWhatIsWritten(t *testing.T) {
	ref := requests(t, "D major, right hand, 1 octave")[0]
	line := func(verdict, why string, expected, key int) scoring.NoteLine {
		n := scoring.NoteLine{Verdict: verdict, Why: why}
		if expected >= 0 {
			e := &ref.Notes[expected]
			n.Expected = &scoring.Expected{Index: expected, Key: e.Key(), Name: e.Pitch.String()}
		}
		if key > 0 {
			n.Played = &scoring.Played{Key: key, Onset: 1}
		}
		return n
	}
	f := ref.Notes[2] // F sharp
	for _, tt := range []struct {
		line scoring.NoteLine
		sign Sign
		text string
		says string
	}{
		{line("wrong", "", 2, f.Key()-1), Ring, "F♮", "F natural for F sharp, bar 1, beat 2, right hand, going up"},
		{line("wrong", "", 2, f.Key()+1), Ring, "G", "G for F sharp, bar 1, beat 2, right hand, going up"},
		{line("wrong", "", 2, f.Key()+12), Ring, "F♯ +1 oct.", "F sharp in another octave, bar 1, beat 2, right hand, going up"},
		{line("missing", "", 2, 0), Caret, "F♯", "F sharp left out, bar 1, beat 2, right hand, going up"},
		{line("extra", "slip", -1, f.Key()-2), Struck, "E", "E too many (brushed), bar 1, beat 1, right hand, going up"},
		{line("extra", "restart", -1, f.Key()), "", "", ""},
		{line("extra", "before", -1, f.Key()), "", "", ""},
		{line("extra", "unheard", -1, f.Key()), "", "", ""},
	} {
		marks := Marks(ref, &scoring.Assessment{Notes: []scoring.NoteLine{tt.line}}, scoring.Amendment{})
		switch {
		case tt.sign == "" && len(marks) > 0:
			t.Errorf("%s %s is marked: %+v", tt.line.Verdict, tt.line.Why, marks)
		case tt.sign == "":
		case len(marks) != 1:
			t.Errorf("%s: %d marks", tt.says, len(marks))
		case marks[0].Sign != tt.sign || marks[0].Text != tt.text || marks[0].Says != tt.says:
			t.Errorf("got %s %q %q, want %s %q %q", marks[0].Sign, marks[0].Text, marks[0].Says, tt.sign, tt.text, tt.says)
		}
	}
}
