package exam_test

import (
	"bytes"
	"encoding/json"
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"evenhand/capture/pupil"
	"evenhand/exam"
	"evenhand/references"
	"evenhand/references/repertoire"
	"evenhand/scoring"
)

var update = flag.Bool("update", false, "write the golden files")

func golden(t *testing.T, name string, got []byte) {
	t.Helper()
	file := filepath.Join("testdata", name)
	if *update {
		if err := os.WriteFile(file, got, 0o644); err != nil {
			t.Fatal(err)
		}
	}
	want, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(string(want), string(got)); diff != "" {
		t.Errorf("%s (-want +got):\n%s", file, diff)
	}
}

// open opens a built-in score.
func open(title string) (exam.Score, error) {
	ref, path, err := repertoire.Open(title)
	if err != nil {
		return exam.Score{}, err
	}
	return exam.Score{Title: ref.Title, Path: path, Reference: ref}, nil
}

// sitting is a paper of level 3 and what came of it: a pupil with one known fault in each part.
func sitting(t *testing.T) (*exam.Paper, []exam.Evidence) {
	t.Helper()
	list, err := references.FindList("level 3")
	if err != nil {
		t.Fatal(err)
	}
	c := exam.Choices{Find: open}
	for _, title := range []string{"Harbour Waltz", "The Ferryman"} {
		s, err := open(title)
		if err != nil {
			t.Fatal(err)
		}
		c.Pieces = append(c.Pieces, s)
	}
	study, err := open("Evening Tide")
	if err != nil {
		t.Fatal(err)
	}
	c.Studies = []exam.Score{study}
	p, err := exam.Draw(list.List, c, 7)
	if err != nil {
		t.Fatal(err)
	}
	pupils := map[int]pupil.Pupil{
		0: {Faults: []pupil.Fault{{Kind: pupil.LetterOff, At: 12}}},
		1: {BPM: 88, Faults: []pupil.Fault{{Kind: pupil.Wait, At: 5}}},
		2: {BPM: 50},
		3: {BPM: 70, Faults: []pupil.Fault{{Kind: pupil.PutRight, At: 8}}},
		4: {BPM: 88, Faults: []pupil.Fault{{Kind: pupil.ForgottenAccidental, At: pupil.Anywhere, Hand: references.Right}}},
		5: {BPM: 88},
		6: {Faults: []pupil.Fault{{Kind: pupil.Restart, At: 10}}},
		7: {Faults: []pupil.Fault{{Kind: pupil.LeftOut, At: 9}}},
	}
	evidence := make([]exam.Evidence, len(p.Parts))
	for i := range p.Parts {
		q := &p.Parts[i]
		e := &evidence[i]
		e.Seconds = float64(20 + i)
		switch q.Kind {
		case exam.Questions:
			e.Answers = []exam.Answer{
				{Question: "How many sharps or flats are in the key signature?", Given: "one flat", Expected: "one flat", Right: true},
				{Question: "What does diminuendo mean?", Given: "gradually slower", Expected: "gradually softer", Because: "Gradually slower is ritardando."},
				{Question: "Which sign stands over the last note?", Expected: "a fermata"},
			}
		case exam.Ear:
			e.Ear = &exam.EarResult{Mark: 100, Reasons: []string{"Right."}}
		default:
			who := pupils[i]
			who.Seed = uint64(i)
			e.Assessment = judge(t, p, q, played(t, q, who))
		}
	}
	evidence[0].Mark, evidence[0].Words = new(90), "A warm tone, and a real waltz."
	evidence[1].Restarts = 1
	evidence[11].Ear = &exam.EarResult{Mark: 50, Reasons: []string{"The bar is right, and it was the rhythm that changed, not the pitch."}}
	return p, evidence
}

func TestMarkSheetOfASitting(t *testing.T) {
	p, evidence := sitting(t)
	s := exam.Mark(p, evidence)
	s.Pupil, s.Date = "Anna", "4 September 2026"
	var b bytes.Buffer
	if err := s.WriteText(&b, 78); err != nil {
		t.Fatal(err)
	}
	golden(t, "sheet.txt", b.Bytes())
	text, err := json.MarshalIndent(s, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	golden(t, "sheet.json", append(text, '\n'))
}

// Every fault the pupil was told to make is on the sheet, under its part.
func TestMarkSheetHasEachFault(t *testing.T) {
	p, evidence := sitting(t)
	var parts []exam.SheetPart
	for _, section := range exam.Mark(p, evidence).Sections {
		parts = append(parts, section.Parts...)
	}
	for i, says := range map[int]string{
		0: "One wrong note", 1: "There was a stop", 2: "Slower by 24 %", 3: "put right at once", 4: "natural was played for",
		6: "fresh start", 7: "left out", 11: "rhythm that changed", 13: "Gradually slower is ritardando",
	} {
		if text := strings.ToLower(strings.Join(parts[i].Reasons, "\n")); !strings.Contains(text, strings.ToLower(says)) {
			t.Errorf("part %d, %s: %q does not say %q", i, parts[i].Asked, parts[i].Reasons, says)
		}
	}
}

// twoParts is a paper of one section with weight 30 and one with 70, and nothing heard.
func twoParts(t *testing.T) *exam.Paper {
	t.Helper()
	p := aPaper(t)
	p.Sections = []exam.Section{{Title: "One", Weight: 30}, {Title: "Two", Weight: 70}}
	p.Parts = []exam.Part{
		{Section: 0, Number: 1, Kind: exam.Piece, Words: "A piece."},
		{Section: 1, Number: 1, Kind: exam.Piece, Words: "A piece."},
		{Section: 1, Number: 2, Kind: exam.Ear, Words: "Listen.", Ear: &exam.EarItem{Kind: "chord"}},
	}
	p.Total = []references.TotalWords{{From: 60, Say: "Much."}, {From: 0, Say: "Little."}}
	return p
}

// Worked by hand: 30 x 0.80 + 70 x (0.50 + 1.00) / 2 = 24 + 52.5 = 76.5, which is rounded up.
func TestMarkSheetWeighs(t *testing.T) {
	p := twoParts(t)
	s := exam.Mark(p, []exam.Evidence{{Mark: new(80)}, {Mark: new(50)}, {Ear: &exam.EarResult{Mark: 100}}})
	if *s.Sections[0].Points != 24 || *s.Sections[1].Points != 52.5 || *s.Total != 77 || s.Words != "Much." {
		t.Errorf("%v and %v points, %v in all: %q", *s.Sections[0].Points, *s.Sections[1].Points, *s.Total, s.Words)
	}
}

func TestMarkSheetWaits(t *testing.T) {
	p := twoParts(t)
	if s := exam.Mark(p, nil); s.Total != nil || s.Unmarked != 3 || s.Words != "" {
		t.Errorf("nothing was heard, and the sheet has %v, %d, %q", s.Total, s.Unmarked, s.Words)
	}
	// One section alone is marked: the total is of it, and nothing is said of it yet.
	s := exam.Mark(p, []exam.Evidence{{}, {Mark: new(40)}, {Skipped: true}})
	if *s.Total != 40 || s.Sections[0].Mark != nil || s.Sections[1].Weight != 100 || s.Unmarked != 2 || s.Words != "" {
		t.Errorf("%+v", s)
	}
	var b strings.Builder
	if err := s.WriteText(&b, 200); err != nil {
		t.Fatal(err)
	}
	for _, line := range []string{
		exam.SheetSays, "One: not marked\n", "No mark yet: the teacher's is waited for.", "Left out in the sitting",
		"Total: 40 of 100 points. 2 parts have no mark yet", "One: not marked, and in no total. The other parts weigh more",
	} {
		if !strings.Contains(b.String(), line) {
			t.Errorf("no %q in\n%s", line, &b)
		}
	}
}

// requestPaper is a paper of requests at one level.
func requestPaper(t *testing.T, least float64, words ...string) *exam.Paper {
	t.Helper()
	p := aPaper(t)
	p.Sections, p.Parts = []exam.Section{{Title: "Scales", Weight: 100}}, nil
	for i, w := range words {
		r, err := references.Parse(w)
		if err != nil {
			t.Fatal(err)
		}
		p.Parts = append(p.Parts, exam.Part{
			Number: i + 1, Kind: exam.Request, Words: r.Spoken(),
			Request: &exam.Asked{Request: r, Least: least, Tempo: "crotchet = 60, two notes to the beat"},
		})
	}
	return p
}

func sheetOf(t *testing.T, p *exam.Paper, pupils ...pupil.Pupil) ([]exam.SheetPart, *exam.MarkSheet) {
	t.Helper()
	var evidence []exam.Evidence
	for i := range pupils {
		evidence = append(evidence, exam.Evidence{Assessment: judge(t, p, &p.Parts[i], played(t, &p.Parts[i], pupils[i]))})
	}
	s := exam.Mark(p, evidence)
	return s.Sections[0].Parts, s
}

// The least speed is 2 notes a second: 60 beats of two notes. At 40 it is missed by a third: 33 - 5 percent
// are 14 points. Faster is no fault, and a little slower is none.
func TestMarkSheetLeastSpeed(t *testing.T) {
	p := requestPaper(t, 2, "D major, right hand")
	marks := map[float64]int{}
	for _, bpm := range []float64{40, 58.5, 60, 90} {
		parts, _ := sheetOf(t, p, pupil.Pupil{Seed: 3, BPM: bpm, Exact: true, Spread: 1})
		marks[bpm] = *parts[0].Proposed
		if says := strings.Contains(strings.Join(parts[0].Reasons, " "), "Slower by 33 % than crotchet = 60"); says != (bpm == 40) {
			t.Errorf("%g beats a minute: %q", bpm, parts[0].Reasons)
		}
	}
	if marks[60]-marks[40] != 14 || marks[58.5] != marks[60] || marks[90] < marks[60] {
		t.Errorf("marks by beats a minute: %v", marks)
	}
}

// On a piano that was never measured, soft is what is softer than loud. Here all is loud by the usual scale,
// and then all is on one level.
func TestMarkSheetComparesSoftWithLoud(t *testing.T) {
	p := requestPaper(t, 0, "D major, right hand, piano", "E major, right hand, forte")
	at := func(velocity float64) pupil.Pupil {
		return pupil.Pupil{Seed: 5, Level: references.Each(velocity)}
	}
	parts, s := sheetOf(t, p, at(92), at(116))
	if text := strings.Join(s.Notes, " "); !strings.Contains(text, "are told apart: 24 of 127") && !strings.Contains(text, "are told apart: 23 of 127") && !strings.Contains(text, "are told apart: 25 of 127") {
		t.Errorf("notes %q", s.Notes)
	}
	if *parts[0].Proposed < 90 || !strings.Contains(strings.Join(parts[0].Reasons, " "), "right against the other requests") {
		t.Errorf("the soft one has %d: %q", *parts[0].Proposed, parts[0].Reasons)
	}
	flat, s := sheetOf(t, p, at(62), at(62))
	if !strings.Contains(strings.Join(flat[0].Reasons, " "), "Hardly softer") || *flat[0].Proposed >= *parts[0].Proposed {
		t.Errorf("on one level the soft one has %d: %q; notes %q", *flat[0].Proposed, flat[0].Reasons, s.Notes)
	}
}

func TestMarkSheetOfSomethingElse(t *testing.T) {
	p := requestPaper(t, 0, "B flat major, hands together")
	other := requestPaper(t, 0, "B major, hands together")
	e := exam.Evidence{Assessment: judge(t, p, &p.Parts[0], played(t, &other.Parts[0], pupil.Pupil{Seed: 2})), AskAgain: true}
	s := exam.Mark(p, []exam.Evidence{e})
	part := s.Sections[0].Parts[0]
	text := strings.Join(part.Reasons, " ")
	if part.Proposed != nil || !strings.Contains(text, "Something else was played: B major scale") || !strings.Contains(text, "second try") {
		t.Errorf("proposed %v: %q", part.Proposed, part.Reasons)
	}
	e.Mark = new(20)
	if s := exam.Mark(p, []exam.Evidence{e}); *s.Total != 20 {
		t.Errorf("the teacher's 20 is %d", *s.Total)
	}
}

func TestMarkSheetFollowsWhatTheTeacherStrikesOut(t *testing.T) {
	p := requestPaper(t, 0, "D major, right hand")
	a := judge(t, p, &p.Parts[0], played(t, &p.Parts[0], pupil.Pupil{Seed: 1, Faults: []pupil.Fault{{Kind: pupil.LetterOff, At: 6}}}))
	if len(a.Findings) == 0 || a.Findings[0].Kind != scoring.WrongNote {
		t.Fatalf("findings %+v", a.Findings)
	}
	before := exam.Mark(p, []exam.Evidence{{Assessment: a}}).Sections[0].Parts[0]
	after := exam.Mark(p, []exam.Evidence{{Assessment: a, Struck: []int{0}}}).Sections[0].Parts[0]
	if *after.Proposed <= *before.Proposed || !strings.Contains(strings.Join(after.Reasons, " "), "Struck out by the teacher: one finding") {
		t.Errorf("%d before and %d after: %q", *before.Proposed, *after.Proposed, after.Reasons)
	}
}

func TestMarkSheetProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p, err := exam.Draw(anyList(t), exam.Choices{Find: find}, rapid.Uint64().Draw(t, "seed"))
		if err != nil {
			t.Fatal(err)
		}
		evidence := make([]exam.Evidence, rapid.IntRange(0, len(p.Parts)).Draw(t, "heard"))
		for i := range evidence {
			if rapid.Bool().Draw(t, "marked") {
				evidence[i].Mark = new(rapid.IntRange(-5, 105).Draw(t, "mark"))
			}
			evidence[i].Skipped = rapid.IntRange(0, 9).Draw(t, "skipped") == 0
		}
		s := exam.Mark(p, evidence)
		points, weights := 0.0, 0.0
		for _, section := range s.Sections {
			if section.Points != nil {
				points, weights = points+*section.Points, weights+section.Weight
			}
		}
		if s.Total == nil {
			return
		}
		// Points are kept to a tenth and the total to one.
		if math.Abs(points-float64(*s.Total)) > 0.5+0.05*float64(len(s.Sections)) || math.Abs(weights-100) > 1e-6 || *s.Total < 0 || *s.Total > 100 {
			t.Errorf("%g points of %g, and a total of %d", points, weights, *s.Total)
		}
		if (s.Words != "") != (s.Unmarked == 0 && len(p.Total) > 0) {
			t.Errorf("%q is said with %d parts unmarked", s.Words, s.Unmarked)
		}
		for i := range evidence {
			if evidence[i].Mark == nil || *evidence[i].Mark > 90 {
				continue
			}
			better := append([]exam.Evidence(nil), evidence...)
			better[i].Mark = new(*evidence[i].Mark + 10)
			if more := exam.Mark(p, better); *more.Total < *s.Total {
				t.Errorf("a better part %d makes the total %d of %d", i, *more.Total, *s.Total)
			}
		}
	})
}
