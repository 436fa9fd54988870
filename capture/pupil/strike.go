package pupil

import "evenhand/references"

// strike sets the time of every step and strikes its notes.
func (p *performance) strike() {
	now := p.p.Lead.Seconds()
	for _, f := range p.p.Faults {
		if f.Kind == TriedBefore {
			now = p.try(f, now)
		}
	}
	p.at = make([]float64, len(p.steps))
	for i, st := range p.steps {
		if i > 0 {
			now += st.gap
		}
		now += st.wait
		p.at[i] = now + p.swingOf(st.onset)
	}
	for i := range p.steps {
		p.strikeStep(i)
	}
}

// strikeStep strikes the notes of a step: grace notes, then each hand's others, low to high.
func (p *performance) strikeStep(i int) {
	e := p.steps[i].onset
	right, left := p.stray(e)
	hand := func(h references.Hand) float64 {
		if h == references.Left {
			return left
		}
		return right
	}
	delayed := p.graceNotes(i, hand)
	rolled := p.rolled(e)
	chord := map[references.Hand]float64{}
	for _, n := range p.s.notes(e, references.Both) {
		note := &p.s.ref.Notes[n]
		if note.Grace != references.NoGrace {
			continue
		}
		late := hand(note.Hand)
		if d := delayed[note.Hand]; d > 0 && n == p.s.leadsTo(e, note.Hand) {
			late += d
		}
		if by, ok := rolled[n]; ok {
			p.strikeNote(i, n, late+by)
			continue
		}
		width, further := chord[note.Hand]
		if further {
			width = min(width+p.hands.ExpFloat64()*p.p.ChordWidth/1000, 0.03)
		}
		chord[note.Hand] = width
		late += width
		if note.Finger == 1 && e > 0 && !further {
			late += p.p.ThumbDelay / 1000
		}
		p.strikeNote(i, n, late)
	}
}

// strikeNote strikes note n in step i, with whatever the faults put beside it.
func (p *performance) strikeNote(i, n int, late float64) {
	st, hand := p.steps[i], p.s.ref.Notes[n].Hand
	s := stroke{note: n, role: st.role, step: i, key: p.key(n) + st.off, hand: hand, on: p.at[i] + late}
	if st.role != Correct {
		p.strokes = append(p.strokes, s)
		return
	}
	c := p.changes[n]
	if c.silent {
		return
	}
	if c.ahead {
		s.step, s.on = c.step, p.at[c.step]+late
	}
	for _, b := range c.beside {
		b.note, b.step, b.hand = n, s.step, hand
		b.key += s.key
		b.on += s.on
		p.strokes = append(p.strokes, b)
	}
	s.on += c.late
	s.open = c.open
	if c.by != 0 {
		s.key, s.role = s.key+c.by, Wrong
	}
	if s.role == Correct && !c.plain && p.s.ref.Notes[n].Ornament != references.NoOrnament {
		s = p.adorn(s, p.written(n))
	}
	p.strokes = append(p.strokes, s)
}

// written is how many seconds note n lasts as written, less the time of grace notes that close it.
func (p *performance) written(n int) float64 {
	note := &p.s.ref.Notes[n]
	start := p.s.quarters(p.s.onset[n])
	end := note.Onset.Add(note.Length)
	d := p.tempo.at(start+note.Length.Float()) - p.tempo.at(start)
	for m := p.s.firstFrom(end); m < len(p.s.ref.Notes) && p.s.ref.Notes[m].Onset == end; m++ {
		if g := &p.s.ref.Notes[m]; g.Grace != references.NoGrace && g.Hand == note.Hand {
			d -= graceHi
		}
	}
	return max(d, 0)
}

// leadsTo is the note that grace notes of hand h at onset e lead to: the nearest to the last of them.
func (s *score) leadsTo(e int, h references.Hand) int {
	last, best := 0, -1
	far := func(n int) int {
		d := s.ref.Notes[n].Key() - last
		return max(d, -d)
	}
	for _, n := range s.notes(e, references.Both) {
		switch note := &s.ref.Notes[n]; {
		case note.Hand != h:
		case note.Grace != references.NoGrace:
			last = note.Key()
		case best < 0 || far(n) < far(best):
			best = n
		}
	}
	return best
}

// stray is how late each hand is at onset e, in seconds. Chance moves it by at most 0.3 of the time to
// the neighbours, so that a hand does not overtake itself.
func (p *performance) stray(e int) (right, left float64) {
	room := 300 * min(p.gap(e), p.ioi(e))
	waver := bell(p.hands, p.p.Waver)
	right = waver + bell(p.hands, p.p.Jitter.Right)
	left = waver + bell(p.hands, p.p.Jitter.Left)
	apart, mean := bell(p.hands, p.p.Apart.SD), p.p.Apart.Mean
	if n := p.s.onsets(); n > 1 {
		mean += p.p.Parting * float64(e) / float64(n-1)
	}
	if !p.s.two {
		apart, mean = 0, 0
	}
	right = min(max(right, -room), room)
	left = min(max(left+apart, -room), room) + mean
	return right / 1000, left / 1000
}

// try plays the first notes softly, one at a time, and waits; it returns when the piece can begin.
func (p *performance) try(f Fault, now float64) float64 {
	hand := p.s.ref.Notes[0].Hand
	if hand == references.Both {
		hand = references.Right
	}
	for e := range min(f.Count, p.s.onsets()) {
		for _, n := range p.s.notes(e, hand) {
			p.strokes = append(p.strokes, stroke{
				note: n, role: Before, step: -1, key: p.key(n), hand: hand, on: now,
				held: between(p.details, 0.15, 0.3), velocity: -between(p.details, 12, 25),
			})
		}
		now += between(p.details, 0.35, 0.6)
	}
	return now + f.Pause.Seconds()
}
