package smfscore

import (
	"fmt"

	"evenhand/references"
)

// grids are the steps that onsets may lie on, in parts of a quarter, coarsest first: halves, thirds
// and so on down to 64th notes and their triplets.
var grids = []int64{1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48}

// findGrid finds the coarsest grid that the onsets lie on: all of them exactly, as a notation program
// writes them (but for a tick, where the division is not a multiple), else nearly all of them closely,
// as in a part that was played in to a click. Where there is none, twelfths of a quarter, which hold
// sixteenths and triplets, and a warning.
func (s *score) findGrid() {
	for _, parts := range grids {
		if s.near(parts, func(off, step float64) bool { return off <= 1 && off <= step/8 }) == 1 {
			s.setGrid(parts)
			return
		}
	}
	for _, parts := range grids[:len(grids)-3] {
		// One onset in three lies as close by chance.
		if s.near(parts, func(off, step float64) bool { return off <= step/6 }) >= 0.97 {
			s.setGrid(parts)
			s.warn(fmt.Sprintf("onsets were brought to the nearest 1/%d of a quarter note", parts))
			return
		}
	}
	s.setGrid(12)
	s.warn("the onsets lie on no grid, as in a recording: they were brought to the nearest 1/12 of a quarter note; a score would be a better reference")
}

func (s *score) setGrid(parts int64) {
	s.step = references.Q(1, parts)
	s.ref.Grid = s.step
}

// near is the share of onsets that lie near a step, told by how far off they are, both in ticks.
func (s *score) near(parts int64, close func(off, step float64) bool) float64 {
	step := float64(s.quarter) / float64(parts)
	hits := 0
	for _, n := range s.notes {
		off := float64(n.on) - step*float64(nearest(n.on, s.quarter, parts))
		if close(max(off, -off), step) {
			hits++
		}
	}
	return float64(hits) / float64(len(s.notes))
}

// nearest is the step of a grid that is nearest to a tick.
func nearest(tick, quarter, parts int64) int64 { return (2*tick*parts + quarter) / (2 * quarter) }

// onGrid brings a tick to the grid.
func (s *score) onGrid(tick int64) references.Quarters {
	return references.Q(nearest(tick, s.quarter, s.step.Den()), s.step.Den())
}
