package musicxml

import (
	"cmp"
	"maps"
	"slices"

	"evenhand/references"
)

// slurReader joins the two ends of each slur of a part. Ends are met in the order of the file, in
// which a later voice comes after an earlier one: so an end may stand before its start, within a bar.
type slurReader struct {
	score *score
	part  *part
	open  map[string]slurPlace // by number
	early map[string]slurPlace // ends of this bar that found no start yet
}

type slurPlace struct {
	bar int
	end slurEnd
}

// joinSlurs marks the notes of a part that a slur joins to the next one: those of the voice in
// which it starts, from its first note up to its last, that one and grace notes left out. A slur with one end joins
// nothing, which is said.
func joinSlurs(s *score, pt *part) {
	r := &slurReader{s, pt, map[string]slurPlace{}, map[string]slurPlace{}}
	for b := range pt.bars {
		for _, e := range pt.bars[b].slurs {
			r.end(slurPlace{b, e})
		}
		for _, e := range inOrder(r.early) {
			s.warn(pt.bars[b].number, e.end.line, "the end of a slur that did not start was passed over")
		}
		clear(r.early)
	}
	for _, e := range inOrder(r.open) {
		s.warn(pt.bars[e.bar].number, e.end.line, "a slur that does not end was passed over")
	}
}

// inOrder are the ends of slurs in the order of the file.
func inOrder(ends map[string]slurPlace) []slurPlace {
	return slices.SortedFunc(maps.Values(ends), func(a, b slurPlace) int {
		return cmp.Or(cmp.Compare(a.end.line, b.end.line), cmp.Compare(a.end.number, b.end.number))
	})
}

// end reads one end of a slur.
func (r *slurReader) end(p slurPlace) {
	number := p.end.number
	if !p.end.start {
		if from, ok := r.open[number]; ok {
			delete(r.open, number)
			r.mark(from, p)
		} else {
			r.early[number] = p
		}
		return
	}
	if to, ok := r.early[number]; ok && !to.end.at.Less(p.end.at) {
		delete(r.early, number)
		r.mark(p, to)
		return
	}
	if old, ok := r.open[number]; ok {
		r.score.warn(r.part.bars[old.bar].number, old.end.line, "a slur that does not end was passed over")
	}
	r.open[number] = p
}

// mark marks the notes under a slur.
func (r *slurReader) mark(from, to slurPlace) {
	for i := from.bar; i <= to.bar; i++ {
		var lo references.Quarters
		if i == from.bar {
			lo = from.end.at
		}
		notes := r.part.bars[i].notes
		for j := range notes {
			n := &notes[j]
			if n.Grace == references.NoGrace && n.voice == from.end.voice && !n.Onset.Less(lo) && (i < to.bar || n.Onset.Less(to.end.at)) {
				n.slurred = true
			}
		}
	}
}
