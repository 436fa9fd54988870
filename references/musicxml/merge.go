package musicxml

import "evenhand/references"

// written is the music of all parts that are read, bar by bar, before repeats are unfolded.
type written struct {
	bars  []bar
	meter []references.Meter    // of each bar
	skip  []references.Quarters // of each bar: see references.Bar
}

// merge puts the parts together. Staves are from here on counted over all parts.
func merge(parts []*part) *written {
	hands := staffHands(parts)
	w := &written{}
	for _, pt := range parts {
		homes(pt)
		for i := range pt.bars {
			b := &pt.bars[i]
			assignHands(b, hands[pt.first:])
			b.printStaves(pt.first, hands)
			for j := range b.signs {
				if b.signs[j].staff >= 0 {
					b.signs[j].staff += pt.first
				}
			}
			if i == len(w.bars) {
				w.bars = append(w.bars, *b)
			} else {
				w.bars[i].join(b)
			}
		}
	}
	var meter references.Meter
	for i := range w.bars {
		b := &w.bars[i]
		assignSigns(b, hands)
		if b.meter != nil {
			meter = *b.meter
		}
		if b.length == (references.Quarters{}) {
			b.length = meter.Length()
		}
		w.meter = append(w.meter, meter)
	}
	w.upbeats()
	w.endings()
	w.codaSigns()
	return w
}

// join adds the same bar of another part.
func (b *bar) join(o *bar) {
	b.notes = append(b.notes, o.notes...)
	b.signs = append(b.signs, o.signs...)
	b.page.Notes = append(b.page.Notes, o.page.Notes...)
	b.page.Directions = append(b.page.Directions, o.page.Directions...)
	b.codas = append(b.codas, o.codas...)
	if b.length.Less(o.length) {
		b.length = o.length
	}
	if b.meter == nil {
		b.meter = o.meter
	}
	if len(b.keys) == 0 {
		b.keys = o.keys
	}
	if b.endStart == "" {
		b.endStart = o.endStart
	}
	b.endStop = b.endStop || o.endStop
	if b.segno == "" {
		b.segno = o.segno
	}
	if b.toSegno == "" {
		b.toSegno = o.toSegno
	}
	b.nav = joinSigns(b.nav, o.nav)
}

func joinSigns(a, b references.BarSigns) references.BarSigns {
	return references.BarSigns{
		RepeatStart: a.RepeatStart || b.RepeatStart,
		RepeatEnd:   max(a.RepeatEnd, b.RepeatEnd),
		AfterJump:   a.AfterJump || b.AfterJump,
		Segno:       a.Segno || b.Segno,
		Coda:        a.Coda || b.Coda,
		ToCoda:      a.ToCoda || b.ToCoda,
		Fine:        a.Fine || b.Fine,
		Back:        max(a.Back, b.Back),
		Double:      a.Double || b.Double,
		Final:       a.Final || b.Final,
	}
}

// upbeats finds how far into the full bar a short bar starts: an upbeat at the end of it, and the
// second half of a bar that a repeat cuts in two where the first half left off.
func (w *written) upbeats() {
	w.skip = make([]references.Quarters, len(w.bars))
	for i := range w.bars {
		b, full := &w.bars[i], w.meter[i].Length()
		if !b.length.Less(full) {
			continue
		}
		if i == 0 {
			w.skip[i] = full.Sub(b.length)
			continue
		}
		prev := &w.bars[i-1]
		end := w.skip[i-1].Add(prev.length)
		cut := b.implicit || prev.nav.RepeatEnd > 0 || prev.nav.Double || prev.nav.Final || prev.endStop
		if cut && end.Less(full) && !full.Less(end.Add(b.length)) {
			w.skip[i] = end
		} else if prev.nav.Final {
			w.skip[i] = full.Sub(b.length)
		}
	}
}

// endings carries the number of an ending over all bars under its bracket. A bracket that is not
// closed ends with the repeat, or with its first bar.
func (w *written) endings() {
	for i := 0; i < len(w.bars); i++ {
		text := w.bars[i].endStart
		if text == "" {
			continue
		}
		end := i
		for j := i; j < len(w.bars) && (j == i || w.bars[j].endStart == ""); j++ {
			if w.bars[j].endStop || w.bars[j].nav.RepeatEnd > 0 {
				end = j
				break
			}
		}
		w.bars[i].nav.EndingStarts = true
		for j := i; j <= end; j++ {
			w.bars[j].nav.Endings = text
		}
	}
}

// codaSigns gives bare coda signs their meaning, where nothing else tells it: the first of two is
// where a jump leaves, the last is where it arrives.
func (w *written) codaSigns() {
	var at []int
	leave := false
	for i := range w.bars {
		for range w.bars[i].codas {
			if len(at) == 0 || at[len(at)-1] != i {
				at = append(at, i)
			}
		}
		leave = leave || w.bars[i].nav.ToCoda
	}
	if len(at) == 0 {
		return
	}
	if !leave && len(at) > 1 {
		first := at[0]
		if w.bars[first].codas[0] == (references.Quarters{}) && first > 0 {
			first--
		}
		w.bars[first].nav.ToCoda = true
	}
	for _, i := range at[min(1, len(at)-1):] {
		w.bars[i].nav.Coda = true
	}
}
