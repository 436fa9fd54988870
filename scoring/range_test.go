package scoring

import (
	"testing"

	"evenhand/references"
)

// The range that is told to the player is the range that is judged as asked.
func TestVelocitiesAgreeWithTheVerdict(t *testing.T) {
	louder := DefaultSettings()
	louder.Calibration = &Calibration{Piano: "toy piano", Levels: []LevelVelocity{{"p", 30}, {"mf", 60}, {"f", 85}}}
	for name, s := range map[string]Settings{"usual": DefaultSettings(), "measured": louder} {
		scale := newLoudnessScale(s.Calibration)
		for d := references.Pianississimo; d <= references.Fortississimo; d++ {
			low, high := s.Velocities(d)
			for v := 1.0; v <= 127; v++ {
				verdict := s.Limits.loudnessVerdict(d, scale.level(v))
				if v > low && v < high && verdict != asAsked || (v < low || v > high) && verdict == asAsked {
					t.Errorf("%s: %v asked, velocity %v is %s, but the range is %v to %v", name, d, v, verdict, low, high)
				}
			}
		}
	}
	s := DefaultSettings()
	if low, high := s.Velocities(references.NoDynamic); low != 0 || high != 0 {
		t.Errorf("no dynamic asked: range %v to %v, want none", low, high)
	}
}
