package scoring

import (
	"slices"
	"sort"

	"evenhand/references"
)

// span is a stretch of a score in quarters, both ends in it.
type span struct{ from, to references.Quarters }

// touches reports whether the time from onset a to onset b lies in the span in part.
func (s span) touches(a, b references.Quarters) bool {
	return a.Less(s.to) && s.from.Less(b) || s.from == s.to && a.Less(s.from) && !b.Less(s.from)
}

// changedSpans are the stretches in which a written change sets the time: ritardando, accelerando,
// fermata, breath and caesura, and the closing bar, which may slow down unasked. What lies in them
// tells nothing of how steady the playing was.
func changedSpans(ref *references.Reference) []span {
	var out []span
	for k := range ref.Marks {
		m := &ref.Marks[k]
		switch m.Kind {
		case references.Ritardando, references.Accelerando:
			out = append(out, span{m.From, changeEnd(ref, m)})
		case references.Fermata:
			out = append(out, span{m.From, m.To})
		case references.Caesura, references.Breath:
			out = append(out, span{m.From, m.From})
		}
	}
	if n := len(ref.Bars); n > 3 {
		last := ref.Bars[n-1]
		out = append(out, span{last.Onset, last.Onset.Add(last.Length)})
	}
	return out
}

// changeEnd is where a change of tempo ends: where it says, else at the next mark of tempo, else at
// the end.
func changeEnd(ref *references.Reference, m *references.Mark) references.Quarters {
	if m.From.Less(m.To) {
		return m.To
	}
	end := ref.Notes[len(ref.Notes)-1].Onset
	for _, t := range ref.Tempos {
		if m.From.Less(t.Onset) && t.Onset.Less(end) {
			end = t.Onset
		}
	}
	for _, k := range ref.Marks {
		if k.Kind <= references.ATempo && m.From.Less(k.From) && k.From.Less(end) {
			end = k.From
		}
	}
	return end
}

// placeGap says of a gap between two onsets whether a written change sets its length, and under
// which tempo mark it stands. A gap over a change of tempo belongs to neither tempo.
func (p *performance) placeGap(g *gap, a, b references.Quarters) {
	g.free = slices.ContainsFunc(p.free, func(s span) bool { return s.touches(a, b) })
	g.section = sort.Search(len(p.tempi), func(k int) bool { return a.Less(p.tempi[k]) })
	if g.section < len(p.tempi) && p.tempi[g.section].Less(b) {
		g.free = true
	}
}

// countPasses counts how often each id has sounded when a note is played: a repeat left out makes
// the second time the first.
func (p *performance) countPasses() {
	p.pass = make([]int, len(p.strokes))
	seen := map[string]int{}
	for i, s := range p.strokes {
		if id := p.Reference.Notes[i].ID; s.present && id != "" {
			seen[id]++
			p.pass[i] = seen[id]
		}
	}
}

// passOf is which sounding of its id expected note i is.
func (p *performance) passOf(i int) int {
	if p.pass != nil && p.pass[i] > 0 {
		return p.pass[i]
	}
	return max(p.Reference.Notes[i].Pass, 1)
}

// timeOfScore fills in when a step of a score was played: the median over its notes, so that a note
// rolled or taken for another has no hold. Grace notes come before the beat and are left out.
func (p *performance) timeOfScore(s *step, right bool) {
	var on, off []float64
	main := slices.ContainsFunc(s.notes, func(i int) bool {
		return p.Reference.Notes[i].Grace == references.NoGrace && p.strokes[i].played >= 0 && (p.strokes[i].correct || !right)
	})
	for _, i := range s.notes {
		t := p.strokes[i]
		if t.played < 0 || right && !t.correct || main && p.Reference.Notes[i].Grace != references.NoGrace {
			continue
		}
		k := &p.Take.Notes[t.played]
		s.open = s.open || k.Open
		if len(on) == 0 {
			s.first, s.last = t.played, t.played
		}
		s.first, s.last = min(s.first, t.played), max(s.last, t.played)
		on, off = append(on, k.On.Seconds()), append(off, k.Off.Seconds())
	}
	if len(on) > 0 {
		s.sounded, s.on, s.off = true, median(on), median(off)
	}
}

// newTempi are the onsets at which a new tempo is printed, in figures or words; what is only meant for
// playback is not.
func newTempi(ref *references.Reference) []references.Quarters {
	var out []references.Quarters
	for _, t := range ref.Tempos {
		if t.Printed || t.Words != "" {
			out = append(out, t.Onset)
		}
	}
	return out
}
