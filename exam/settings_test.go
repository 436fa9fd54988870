package exam_test

import (
	"iter"
	"testing"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/exam"
	"evenhand/references"
	"evenhand/scoring"
)

// toPlay are the accepted ways to play a part, the likeliest first.
func toPlay(t *testing.T, q *exam.Part) []*references.Reference {
	t.Helper()
	switch {
	case q.Request != nil:
		return q.Request.Request.Candidates()
	case q.Reading != nil:
		return []*references.Reference{exam.ReadAtSight(q.Reading.Level, q.Reading.Seed)}
	case q.Score != nil && q.Score.Reference != nil:
		return []*references.Reference{q.Score.Reference}
	}
	t.Fatalf("%s has nothing to play", q.Words)
	return nil
}

// played is a take of the first way to play a part.
func played(t *testing.T, q *exam.Part, p pupil.Pupil) *capture.Take {
	t.Helper()
	take, _ := pupil.Play(toPlay(t, q)[0], p)
	return take
}

// judge marks a take as a part of a paper.
func judge(t *testing.T, p *exam.Paper, q *exam.Part, take *capture.Take) *scoring.Assessment {
	t.Helper()
	asked := scoring.Asked{Take: "a.mid", Version: "test"}
	var neighbours iter.Seq[references.Entry]
	if q.Request != nil {
		asked.Request, neighbours = &q.Request.Request, q.Request.Request.Neighbours()
		asked.Against = asked.Request.String()
	}
	return scoring.Assess(align.Best(toPlay(t, q), neighbours, take), asked, p.Settings(q, nil))
}

func TestSettingsGoByTheListsLimits(t *testing.T) {
	p := aPaper(t)
	p.Limits = references.ListLimits{EvennessPercent: 12.5, TogetherMS: 43, ChordMS: 66, LoudnessUnits: 11.5}
	s := p.Settings(&p.Parts[0], nil)
	if l := s.Limits; l.EvennessPercent != 12.5 || l.TogetherMS != 43 || l.TogetherApartMS != 66 || l.SpreadUnits != 11.5 {
		t.Errorf("limits %+v", l)
	}
	p.Limits = references.ListLimits{}
	for level, stage := range map[int]scoring.Level{0: scoring.First, 2: scoring.First, 3: scoring.Middle, 5: scoring.Middle, 6: scoring.Top, 8: scoring.Top} {
		p.Level = level
		if s, want := p.Settings(&p.Parts[0], nil), scoring.ForLevel(stage); s.Level != stage || s.Limits != want.Limits {
			t.Errorf("level %d has the limits of %q: %+v", level, s.Level, s.Limits)
		}
	}
}

// A reader who keeps going over wrong and missing notes is marked above one who stops and goes back to
// have every note right. In a prepared piece the same wrong notes cost more.
func TestReadingGoesOnBeforeItIsRight(t *testing.T) {
	p := aPaper(t)
	q := &exam.Part{Kind: exam.SightReading, Words: "Read.", Reading: &exam.Fresh{Level: 4, Seed: 3}}
	n := len(toPlay(t, q)[0].Notes)
	goesOn := played(t, q, pupil.Pupil{Seed: 1, Faults: []pupil.Fault{
		{Kind: pupil.LetterOff, At: n / 5}, {Kind: pupil.LetterOff, At: n / 2}, {Kind: pupil.LeftOut, At: n / 3}, {Kind: pupil.LeftOut, At: 3 * n / 4},
	}})
	stops := played(t, q, pupil.Pupil{Seed: 1, Faults: []pupil.Fault{
		{Kind: pupil.Restart, At: n / 3}, {Kind: pupil.Restart, At: n / 2, To: n / 4}, {Kind: pupil.Wait, At: 2 * n / 3, Pause: 2 * time.Second},
	}})
	going, stopping := *judge(t, p, q, goesOn).Marks.Overall, *judge(t, p, q, stops).Marks.Overall
	if going <= stopping {
		t.Errorf("keeping going has %d, stopping %d", going, stopping)
	}
	piece := *q
	piece.Kind = exam.Piece
	asPiece := *judge(t, p, &piece, goesOn).Marks.Overall
	t.Logf("going on %d (as a piece %d), stopping %d (as a piece %d)", going, asPiece, stopping, *judge(t, p, &piece, stops).Marks.Overall)
	if asPiece >= going {
		t.Errorf("wrong notes cost %d in a piece and %d at sight", 100-asPiece, 100-going)
	}
}
