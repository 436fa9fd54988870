package exam

import (
	"fmt"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
	"evenhand/scoring"
)

// References are the accepted ways to play a part, the likeliest first, for align.Best and for a
// follower. It is empty for what is answered and not played, and for a score that is not there: then
// nothing can be compared, and the teacher marks alone.
func (q *Part) References() []*references.Reference {
	switch {
	case q.Request != nil:
		return q.Request.Request.Candidates()
	case q.Reading != nil:
		return []*references.Reference{ReadAtSight(q.Reading.Level, q.Reading.Seed)}
	case (q.Kind == Study || q.Kind == Piece) && q.Score != nil && q.Score.Reference != nil:
		return []*references.Reference{q.Score.Reference}
	}
	return nil
}

// Settings are what a part is marked by: those of the paper's level and piano, with the limits of its
// list. Reading at sight has charges of its own (see readingCharges).
func (p *Paper) Settings(q *Part, piano *scoring.Calibration) scoring.Settings {
	s := scoring.ForLevel(stage(p.Level))
	s.Calibration = piano
	set := func(limit *float64, to float64) {
		if to > 0 {
			*limit = to
		}
	}
	set(&s.Limits.EvennessPercent, p.Limits.EvennessPercent)
	set(&s.Limits.TogetherMS, p.Limits.TogetherMS)
	set(&s.Limits.TogetherApartMS, p.Limits.ChordMS)
	set(&s.Limits.SpreadUnits, p.Limits.LoudnessUnits)
	if q.Kind == SightReading {
		readingCharges(&s)
	}
	return s
}

// stage is how far a pupil of a level has come: the first step and the first two levels, the middle, and
// from the sixth on. Chosen by us.
func stage(level int) scoring.Level {
	switch {
	case level <= 2:
		return scoring.First
	case level <= 5:
		return scoring.Middle
	}
	return scoring.Top
}

// Judge marks a finished take of a part that is played. name is that of the take and version the
// program's; piano may be nil. It fails where the part has nothing to compare a take with.
func (p *Paper) Judge(q *Part, take *capture.Take, name, version string, piano *scoring.Calibration) (*scoring.Assessment, error) {
	candidates := q.References()
	if len(candidates) == 0 {
		return nil, fmt.Errorf("there is nothing to compare %q with: the teacher marks it alone", q.Words)
	}
	asked := scoring.Asked{Take: name, Against: q.Words, Version: version}
	var alignment *align.Alignment
	switch {
	case q.Request != nil:
		asked.Request, asked.Against = &q.Request.Request, q.Request.Request.String()
		alignment = align.Best(candidates, q.Request.Request.Neighbours(), take)
	default:
		if q.Score != nil {
			asked.Against = q.Score.Path
		}
		alignment = align.Best(candidates, nil, take)
	}
	return scoring.Assess(alignment, asked, p.Settings(q, piano)), nil
}
