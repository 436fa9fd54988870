package scoring

import (
	"time"

	"evenhand/align"
)

// withChordMS is how near a right note an extra one is struck with it. Above 60 ms the order of two
// sounds is heard very surely (Sapp (2005), Mazurka project).
const withChordMS = 60

// withChord reports whether played note k was struck together with a right note: an extra key in a
// chord takes no time of its own, whatever it was meant for.
func (p *performance) withChord(k int) bool { return p.chordNote(k) >= 0 }

// chordNote is the expected note nearest in time to played note k within withChordMS, -1 where there is
// none.
func (p *performance) chordNote(k int) int {
	if p.meant == nil {
		p.meant = make([]int, len(p.Take.Notes))
		for i := range p.meant {
			p.meant[i] = -1
		}
		for _, q := range p.Pairs {
			if q.Verdict == align.Correct {
				p.meant[q.Played] = q.Expected
			}
		}
	}
	notes := p.Take.Notes
	best, near := -1, withChordMS*time.Millisecond+1
	for _, step := range []int{-1, 1} {
		for i := k + step; i >= 0 && i < len(notes); i += step {
			d := (notes[i].On - notes[k].On).Abs()
			if d >= near {
				break
			}
			if p.meant[i] >= 0 {
				best, near = p.meant[i], d
				break
			}
		}
	}
	return best
}
