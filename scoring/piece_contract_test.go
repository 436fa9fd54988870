package scoring

import (
	"bytes"
	"encoding/json"
	"strings"
	"testing"

	"evenhand/align"
	"evenhand/references"
)

// pieceLesson is a piece with one of each: wrong and missing notes, an extra key, a stop, a misread
// rhythm, loudness all on one level, a crescendo and a ritardando not made.
func pieceLesson(t testing.TB) *stage {
	ref := eightBars(t)
	for i := range ref.Notes {
		n := &ref.Notes[i]
		n.Dynamic = references.Piano
		if n.Measure >= 4 {
			n.Dynamic = references.Forte
		}
	}
	ref.Marks = []references.Mark{
		{Kind: references.Crescendo, From: references.Q(8, 1), To: references.Q(16, 1), Hand: references.Both},
		{Kind: references.Ritardando, From: references.Q(24, 1), To: references.Q(28, 1), Hand: references.Both, Words: "rit."},
	}
	ref.Tempo = references.Tempo{BPM: 132, Beat: references.Q(1, 1)}
	ref.Tempos = []references.TempoMark{{Tempo: ref.Tempo, Printed: true}}
	s := plainly(ref, 0.6).reshape(references.Right, []float64{3, 1}, []float64{1, 1})
	s.each(func(h *hit, n *references.Note) { h.velocity = 60 + n.Measure%3 })
	for i := range ref.Notes {
		if n := &ref.Notes[i]; n.Pitch.String() == "B♭4" {
			s.of(i).key++
		}
	}
	s.drop(s.note(references.Left, 9))
	i := s.note(references.Right, 5)
	s.extra(i, 2, s.of(i).on+0.01, 0.2, 50, align.Other)
	s.later(1+0.6*17-0.01, 0.8)
	s.hits[len(s.hits)-1].length = 0.3
	return s
}

func TestPieceContract(t *testing.T) {
	al := pieceLesson(t).aligned()
	al.Route = []align.Stretch{{To: references.Q(32, 1)}}
	a := Assess(al, Asked{Take: "a.mid", Against: "piece.musicxml", Version: "test"}, DefaultSettings())
	var line, page bytes.Buffer
	if err := a.EncodeJSON(&line); err != nil {
		t.Fatal(err)
	}
	if err := json.Indent(&page, line.Bytes(), "", " "); err != nil {
		t.Fatal(err)
	}
	golden(t, "piece.json", page.Bytes())
	golden(t, "piece_remarks.txt", []byte(strings.Join(a.Remarks, "\n")+"\n"))

	var whole map[string]any
	if err := json.Unmarshal(line.Bytes(), &whole); err != nil {
		t.Fatal(err)
	}
	for _, path := range strings.Fields(`tempo.curve.bar tempo.curve.pass tempo.curve.onset tempo.curve.bpm tempo.unsteady_percent
		tempo.changes.kind tempo.changes.from.bar tempo.changes.to tempo.changes.ratio tempo.changes.verdict
		dynamics.passages.from.bar dynamics.passages.to.bar dynamics.passages.hand dynamics.passages.asked
		dynamics.passages.median_velocity dynamics.passages.verdict dynamics.hairpins.asked dynamics.hairpins.rise
		dynamics.hairpins.verdict dynamics.range dynamics.melody dynamics.balance flow.route.from_onset flow.route.to_onset
		flow.hesitations.steady_after_beats flow.hesitations.steady_after_s settings.piece.limits settings.piece.charges
		findings.from.bar findings.from.pass`) {
		if !holds(whole, strings.Split(path, ".")) {
			t.Errorf("no field %s", path)
		}
	}
}

// TestRequestsCarryNothingOfPieces: the fields of a score are not in the assessment of a request.
func TestRequestsCarryNothingOfPieces(t *testing.T) {
	var b bytes.Buffer
	if err := right(t).judged().EncodeJSON(&b); err != nil {
		t.Fatal(err)
	}
	for _, name := range strings.Fields("curve changes passages hairpins route range melody piece unsteady_percent chord_spread_ms steady_after_s") {
		if strings.Contains(b.String(), `"`+name+`":`) {
			t.Errorf("a request has the field %s", name)
		}
	}
}

// TestStoredSettingsOfPieces: a take is marked by the settings stored with it; those of an earlier
// day, which had none for scores, get the present ones.
func TestStoredSettingsOfPieces(t *testing.T) {
	al := pieceLesson(t).aligned()
	now := Assess(al, Asked{}, DefaultSettings())
	old := DefaultSettings()
	old.Piece = nil
	if a := Assess(al, Asked{}, old); *a.Marks.Overall != *now.Marks.Overall {
		t.Errorf("without settings for scores %d, with %d", *a.Marks.Overall, *now.Marks.Overall)
	}
	mild := DefaultSettings()
	mild.Piece.Charges.Wrong = 0
	if a := Assess(al, Asked{}, mild); *a.Marks.Notes <= *now.Marks.Notes {
		t.Errorf("wrong notes free: %d, else %d", *a.Marks.Notes, *now.Marks.Notes)
	}
	if DefaultSettings().Piece.Charges.Wrong == 0 {
		t.Error("changed settings change the default")
	}
}

// TestCompoundTime: in 6/8 tempo is told in dotted quarters, and a beat holds three quavers.
func TestCompoundTime(t *testing.T) {
	ref := compose(t, references.Meter{Beats: 6, Unit: 8}, 0,
		strings.Repeat("C5:1/2 D5:1/2 E5:1/2 F5:1 E5:1/2 ", 5)+"C5:3", strings.Repeat("C3+E3:3/2 G3:3/2 ", 6))
	a := plainly(ref, 0.5).scored()
	if len(a.Findings) > 0 || a.Tempo.Beat != "dotted quarter" || !near(a.Tempo.BPM, 80, 0.1) || !near(*a.Tempo.Curve[1].BPM, 80, 0.1) {
		t.Errorf("%v %v: %v", a.Tempo.Beat, a.Tempo.BPM, a.Remarks)
	}
	a = plainly(ref, 0.5).reshape(references.Right, []float64{2, 1}, []float64{1, 1}).scored()
	if fs := a.find(WrongRhythm); len(fs) != 1 || !strings.Contains(fs[0].Text, "a rhythm of 2 to 1 was played as 1 to 1") {
		t.Errorf("two in the time of three: %v", a.Remarks)
	}
}

func BenchmarkAssessTenThousandNotes(b *testing.B) {
	right, left := strings.Repeat("C5:1/2 D5:1/2 E5:1/2 F5:1/2 G5:1/2 F5:1/2 E5:1/2 D5:1/2 ", 833), strings.Repeat("C3+G3:2 F3+A3:2 ", 833)
	s := plainly(compose(b, fourFour, 0, right, left), 0.5)
	al := s.aligned()
	for b.Loop() {
		Assess(al, Asked{}, DefaultSettings())
	}
}
