package journal

import "math"

// spacing is when a thing is to be heard again, by the repetition-spacing algorithm SM-2 of Wozniak
// (1990), Optimization of Learning, master's thesis, University of Technology in Poznan:
//
//	the first interval is 1 day, the second 6, each further one the last times the ease;
//	ease' = ease + 0.1 - (5-q)(0.08 + (5-q) 0.02), and never below 1.3, at first 2.5;
//	below q = 3 the intervals begin again, the ease stays.
//
// The quality q of 0 to 5 is made of the day's mark. A day before a thing is due counts only where it
// went badly, so that practising it daily does not put it off for months; that is chosen by us.
type spacing struct {
	times    int
	interval float64 // days
	ease     float64
	last     int // day
}

// qualities are the least marks for q = 1 to 5. Chosen by us.
var qualities = [...]float64{40, 60, 75, 88, 95}

func quality(mark float64) int {
	q := 0
	for _, least := range qualities {
		if mark >= least {
			q++
		}
	}
	return q
}

// heard takes a day on which the thing had a mark.
func (s spacing) heard(day int, mark float64) spacing {
	q := quality(mark)
	if s.ease == 0 {
		s.ease = 2.5
	}
	if q >= 3 && s.times > 0 && day < s.due() {
		return s
	}
	s.last = day
	if q < 3 {
		s.times, s.interval = 0, 1
		return s
	}
	switch s.times {
	case 0:
		s.interval = 1
	case 1:
		s.interval = 6
	default:
		s.interval = math.Ceil(s.interval * s.ease)
	}
	s.times++
	lack := float64(5 - q)
	s.ease = max(1.3, s.ease+0.1-lack*(0.08+lack*0.02))
	return s
}

// due is the day on which the thing is to be heard again.
func (s spacing) due() int { return s.last + int(s.interval) }
