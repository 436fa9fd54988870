package align

import (
	"iter"
	"slices"
	"sort"

	"evenhand/capture"
	"evenhand/references"
)

// How clearly something else must fit better before it is said that something else was played; in
// wrong notes, chosen by us. Below the first no one looks for it: a few wrong notes are a few wrong
// notes.
const (
	doubt         = 1.5  // what the asked reading must at least cost
	clearly       = 0.35 // the other must cost at most this share of it
	preference    = 0.05 // a later candidate must be better by this
	costUneven    = 1.00 // the hands in octaves other than the reading has them
	fitsTolerance = 0.85 // shifts with this share of the best overlap are looked at closely
)

// Best aligns the take with whichever accepted reading fits it best, the earlier one where two fit
// alike, each hand in the octave it was played in. Where none fits well and one of the likely
// misreadings does by a clear margin, that is what was heard, and AsAsked is false. neighbours may
// be nil. candidates must not be empty.
func Best(candidates []*references.Reference, neighbours iter.Seq[references.Entry], take *capture.Take) *Alignment {
	h := newHistogram(take)
	var best fit
	for _, ref := range candidates {
		for _, s := range h.shifts(ref) {
			f := tryFit(ref, s, take)
			f.odd = h.odd(f.plan)
			if best.plan == nil || f.cost+f.odd < best.cost+best.odd-preference {
				best = f
			}
		}
		if best.cost+best.odd <= preference {
			break // no later one can be preferred
		}
	}
	a := best.plan.align(take, best.pace)
	if neighbours != nil && best.cost >= doubt && a.systematic(best.plan.keys) {
		if other := h.closest(neighbours, take); other.plan != nil && other.cost+other.unreached <= clearly*best.cost {
			a := other.plan.align(take, other.pace)
			a.AsAsked = false
			return a
		}
	}
	return a
}

// systematic reports whether the faults may come from something else being played: they are many, or
// a note of the scale was never right in one direction. A few slips here and there come from nothing
// else, and a search for it would take longer than all the rest. Whatever they are taken for, keys
// below or above all that is written count: in an octave more than was asked, the notes of its middle
// are there twice, and look like a fresh start. keys are those of the expected notes.
func (a *Alignment) systematic(keys []int16) bool {
	const many = 0.15 // of the notes
	faults := 0
	low, high := int(slices.Min(keys)), int(slices.Max(keys))
	var right, wrong [3][12]int
	for _, p := range a.Pairs {
		switch {
		case p.Verdict == Extra:
			key := int(a.Take.Notes[p.Played].Key)
			if p.Why == Other || p.Why == Corrected || key < low || key > high {
				faults++
			}
		case p.Expected < 0:
		default:
			n := &a.Reference.Notes[p.Expected]
			count := &wrong
			if p.Verdict == Correct {
				count = &right
			} else {
				faults++
			}
			count[n.Direction][n.Pitch.PitchClass()]++
		}
	}
	if float64(faults) >= many*float64(len(a.Reference.Notes)) {
		return true
	}
	for d := range wrong {
		for pc, n := range wrong[d] {
			if n > 0 && right[d][pc] == 0 {
				return true
			}
		}
	}
	return false
}

// fit is how well a reading fits: what was played against it, what of it was never reached, and how
// odd it would be to take it for what was meant.
type fit struct {
	plan                 *plan
	cost, unreached, odd float64
	pace                 float64 // seconds a quarter; 0 where it was not found
}

func tryFit(ref *references.Reference, s shift, take *capture.Take) fit {
	p := newPlan(ref, s.right, s.left)
	f := fit{plan: p}
	if s.right != s.left {
		f.cost = costUneven
	}
	if len(p.events) == 0 || len(take.Notes) == 0 {
		return f
	}
	r := p.route(take.Notes, 0)
	end := r.cells.at(r.best())
	f.unreached = float64(p.owed(end.state, end.got))
	f.cost += r.total - f.unreached
	f.pace = p.pace(r.path())
	for j := int(end.state) + 1; j < len(p.events); j++ {
		f.unreached += float64(r.missing[j])
	}
	return f
}

// shift is the octaves in semitones by which each hand is moved.
type shift struct{ right, left int }

// histogram counts how often each key was struck, and remembers with which keys playing began: at
// the start, and after each silence.
type histogram struct {
	played [128]int
	total  int
	starts keySet
}

func newHistogram(take *capture.Take) *histogram {
	const opening = 6 // notes
	h := &histogram{total: len(take.Notes)}
	left := opening
	for i := range take.Notes {
		n := &take.Notes[i]
		h.played[n.Key&127]++
		if i > 0 && (n.On-take.Notes[i-1].On).Seconds() >= pauseFloor {
			left = opening
		}
		if left > 0 {
			h.starts.add(int(n.Key))
			left--
		}
	}
	return h
}

// odd is the cost of a reading that did not begin in the octaves it has the hands in: a hand that
// strays into another octave strays from where it began. Each hand must have struck one of its first
// notes.
func (h *histogram) odd(p *plan) float64 {
	const share = 0.3 // of the notes played
	const first = 3
	for _, hand := range [...]references.Hand{references.Right, references.Left} {
		seen, struck := 0, false
		for i := 0; i < len(p.keys) && seen < first; i++ {
			if p.ref.Notes[i].Hand.Has(hand) {
				seen++
				struck = struck || h.starts.has(int(p.keys[i])&127)
			}
		}
		if seen > 0 && !struck {
			return share * float64(h.total)
		}
	}
	return 0
}

// shifts lists the octaves in which the reference may have been played: those in which its keys are
// the ones struck, best first, at most four.
func (h *histogram) shifts(ref *references.Reference) []shift {
	const most = 4
	all := allShifts(ref)
	if len(all) == 1 {
		return all
	}
	keys := handKeys(ref)
	overlap := make(map[shift]int, len(all))
	top := 0
	for _, s := range all {
		overlap[s] = h.overlap(keys, s)
		top = max(top, overlap[s])
	}
	slices.SortStableFunc(all, func(a, b shift) int { return overlap[b] - overlap[a] })
	n := 0
	for n < len(all) && n < most && float64(overlap[all[n]]) >= fitsTolerance*float64(top) {
		n++
	}
	return all[:max(n, 1)]
}

// allShifts lists the octaves that keep the reference on the piano, those first in which the hands
// stay as written.
func allShifts(ref *references.Reference) []shift {
	var out []shift
	same := octaves(ref)
	for _, s := range same {
		out = append(out, shift{s, s})
	}
	if ref.Request == nil || !apart(ref) {
		return out
	}
	for _, s := range same {
		for _, wider := range []int{12, 24} {
			out = append(out, shift{s, s - wider})
		}
	}
	return out
}

// apart reports whether the hands have notes of their own only, so that one may be in another
// octave.
func apart(ref *references.Reference) bool {
	right, left := false, false
	for i := range ref.Notes {
		switch ref.Notes[i].Hand {
		case references.Right:
			right = true
		case references.Left:
			left = true
		case references.Both:
			return false
		}
	}
	return right && left
}

// keyCounts counts the keys of a reference, by whether the left hand has them.
type keyCounts struct{ right, left [128]int }

func handKeys(ref *references.Reference) *keyCounts {
	k := &keyCounts{}
	for i := range ref.Notes {
		n := &ref.Notes[i]
		if n.Hand == references.Left {
			k.left[n.Key()&127]++
		} else {
			k.right[n.Key()&127]++
		}
	}
	return k
}

// overlap counts the strokes that the shifted reference explains.
func (h *histogram) overlap(k *keyCounts, s shift) int {
	sum := 0
	for key := pianoLow; key <= pianoHigh; key++ {
		if h.played[key] == 0 {
			continue
		}
		want := 0
		if r := key - s.right; r >= 0 && r < 128 {
			want += k.right[r]
		}
		if l := key - s.left; l >= 0 && l < 128 {
			want += k.left[l]
		}
		sum += min(want, h.played[key])
	}
	return sum
}

// closest finds the neighbour that fits best. Three sieves, each finer and dearer than the one before:
// which notes of the scale were struck and how many, then which keys in which octaves, and the
// warping itself for those few that are left.
func (h *histogram) closest(neighbours iter.Seq[references.Entry], take *capture.Take) fit {
	var best fit
	for _, l := range h.byKeys(h.byClasses(neighbours)) {
		f := tryFit(l.ref, l.shift, take)
		if best.plan == nil || f.cost+f.unreached < best.cost+best.unreached-preference {
			best = f
		}
	}
	return best
}

// byClasses returns the entries whose pitch classes and number of strokes are nearest to the take's;
// a few strokes more or less are no matter.
func (h *histogram) byClasses(neighbours iter.Seq[references.Entry]) []references.Entry {
	var struck [12]int
	for key, n := range h.played {
		struck[key%12] += n
	}
	list := shortlist[references.Entry]{most: 120}
	few := max(4, h.total/8)
	for e := range neighbours {
		off := max(0, max(e.Strokes-h.total, h.total-e.Strokes)-few)
		for pc, n := range struck {
			if in := e.Classes>>pc&1 != 0; !in {
				off += 2 * n
			} else if n == 0 {
				off += 2
			}
		}
		list.add(e, off)
	}
	return list.values()
}

// placed is a reference in certain octaves.
type placed struct {
	ref   *references.Reference
	shift shift
}

// byKeys returns the entries, in octaves, whose keys are nearest to the take's.
func (h *histogram) byKeys(entries []references.Entry) []placed {
	list := shortlist[placed]{most: 10}
	for _, e := range entries {
		ref := e.Reference()
		keys := handKeys(ref)
		for _, s := range allShifts(ref) {
			list.add(placed{ref, s}, len(ref.Notes)+h.total-2*h.overlap(keys, s))
		}
	}
	return list.values()
}

// shortlist keeps the most values with the least off, the earlier of two alike.
type shortlist[T any] struct {
	most int
	list []rated[T]
}

type rated[T any] struct {
	value T
	off   int
}

func (l *shortlist[T]) add(v T, off int) {
	n := len(l.list)
	if n == l.most && off >= l.list[n-1].off {
		return
	}
	at := sort.Search(n, func(i int) bool { return l.list[i].off > off })
	l.list = slices.Insert(l.list, at, rated[T]{v, off})
	l.list = l.list[:min(n+1, l.most)]
}

func (l *shortlist[T]) values() []T {
	out := make([]T, len(l.list))
	for i := range l.list {
		out[i] = l.list[i].value
	}
	return out
}
