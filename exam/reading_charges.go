package exam

import "evenhand/scoring"

// readingCharges are what faults cost in reading at sight, where keeping going comes before the notes:
//
//	a wrong note, a note left out and an extra one cost two fifths of what they cost in a piece that was
//	prepared, and a passage left out two thirds, since leaving something out to stay with the beat is
//	what a good reader does;
//	a step out of time (a stop among them) costs half as much again, going back and each fresh start
//	three times as much;
//	what is done with the loudness costs a fifth, for there was no time to think of it.
//
// Chosen by us.
func readingCharges(s *scoring.Settings) {
	p, c := &s.Piece.Charges, &s.Charges
	for _, x := range []*float64{&p.Wrong, &p.Missing, &p.Extra} {
		*x *= 0.4
	}
	p.Passage *= 2.0 / 3
	p.OutOfTime *= 1.5
	p.WentBack *= 3
	c.Restart *= 3
	c.RestartMore *= 3
	for _, x := range []*float64{&p.Flat, &p.Contrast, &p.Hairpin, &p.Touch, &p.Length} {
		*x *= 0.2
	}
}
