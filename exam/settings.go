package exam

import "evenhand/scoring"

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
