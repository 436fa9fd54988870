package scoring

import "evenhand/references"

// Velocities are the lowest and the highest MIDI velocity at which a dynamic is judged to be as asked
// on this piano; 0 and 0 where none is asked.
func (s *Settings) Velocities(asked references.Dynamic) (low, high float64) {
	if asked == references.NoDynamic {
		return 0, 0
	}
	scale := newLoudnessScale(s.Calibration)
	i := int(asked - references.Pianississimo)
	off := max(2, s.Limits.DynamicLevels)
	low, high = 1, 127
	if j := i - off; j >= 0 {
		low = max(low, (scale[j]+scale[j+1])/2)
	}
	if j := i + off; j < len(scale) {
		high = min(high, (scale[j-1]+scale[j])/2)
	}
	return low, high
}
