package align

import (
	"slices"

	"evenhand/references"
)

// ornaments marks, for each event, the keys that an ornament may sound meanwhile without being
// written: the note itself and its neighbours, from the event before (an ornament may come early) to
// the end of its note. The neighbours a semitone off are taken too.
func (p *plan) ornaments() {
	for j := range p.events {
		e := &p.events[j]
		for i := e.first; i < e.last; i++ {
			n := &p.ref.Notes[i]
			if n.Ornament == references.NoOrnament {
				continue
			}
			end := n.Onset.Add(n.Length).Float()
			for k := max(0, j-1); k < len(p.events) && (k <= j || p.events[k].onset < end); k++ {
				p.grace(k, int(p.keys[i]), int(n.Above), int(n.Below))
			}
		}
	}
}

// grace adds the keys of an ornament to what event k may sound.
func (p *plan) grace(k, key, above, below int) {
	free := &p.events[k].free
	free.add(key)
	for _, d := range []int{1, 2, above} {
		free.add(key + d)
	}
	for _, d := range []int{1, 2, below} {
		free.add(key - d)
	}
}

// mayBegin reports whether an ornament of event j may begin with the key.
func (p *plan) mayBegin(j int32, key int) bool {
	if int(j) >= len(p.events) {
		return false
	}
	e := &p.events[j]
	for i := e.first; i < e.last; i++ {
		n := &p.ref.Notes[i]
		if d := key - int(p.keys[i]); n.Ornament != references.NoOrnament && (d >= -2 && d <= 2 || d == int(n.Above) || d == -int(n.Below)) {
			return true
		}
	}
	return false
}

// ornamented returns the expected note whose ornament sounds the key at event j, or -1.
func (p *plan) ornamented(j int32, key int) int {
	const ahead = 1
	for k := min(int(j)+ahead, len(p.events)-1); k >= 0; k-- {
		e := &p.events[k]
		for i := e.first; i < e.last; i++ {
			n := &p.ref.Notes[i]
			if d := key - int(p.keys[i]); n.Ornament != references.NoOrnament && d >= -3 && d <= 3 {
				return i
			}
		}
		if k < int(j)-64 {
			break // no ornament is that long
		}
	}
	return -1
}

// jumps finds, for each event that a player may rightly leave for elsewhere, where to: repeats left
// out, or taken where that is not usual.
func (p *plan) jumps() {
	for _, jump := range p.ref.Jumps {
		from, ok := p.lastBefore(jump.From)
		to, there := p.firstAt(jump.To)
		if ok && there {
			if p.links == nil {
				p.links = map[int32][]int32{}
			}
			p.links[from] = append(p.links[from], to)
		}
	}
}

// lastBefore is the last event before the bar begins.
func (p *plan) lastBefore(bar int) (int32, bool) {
	if bar <= 0 || bar > len(p.ref.Bars) {
		return 0, false
	}
	j := len(p.events)
	if bar < len(p.ref.Bars) {
		j = p.eventAt(p.ref.Bars[bar].Onset)
	}
	return int32(j - 1), j > 0
}

// firstAt is the first event of a bar.
func (p *plan) firstAt(bar int) (int32, bool) {
	if bar < 0 || bar >= len(p.ref.Bars) {
		return 0, false
	}
	j := p.eventAt(p.ref.Bars[bar].Onset)
	return int32(j), j < len(p.events)
}

// eventAt is the first event at the onset or after it.
func (p *plan) eventAt(onset references.Quarters) int {
	j, _ := slices.BinarySearchFunc(p.events, onset, func(e event, q references.Quarters) int {
		return p.ref.Notes[e.first].Onset.Cmp(q)
	})
	return j
}
