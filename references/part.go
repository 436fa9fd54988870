package references

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Part is a part of the music to practise by itself. The zero value is all of it.
type Part struct {
	// First and Last are the printed numbers of the first and the last bar; empty, the music begins
	// or ends as written.
	First, Last string
	Hand        Hand    // Right or Left alone; NoHand for all that is written
	BPM         float64 // the tempo to practise at, in the beat of the reference; 0 for the one printed
}

// Part cuts a score: its bars, its hand, at its tempo. The notes keep their ids, their bars and their
// passes, and the signs over them still hold; what counts from the start counts from the part's. A
// repeat that lies wholly in the part stays in it; of one that does not, the pass is taken that leads
// straight from the first bar to the last, so that a first-time bar is played where the part ends with
// it. A note tied over into the first bar may be struck or not. The error says what there is not.
func (r *Reference) Part(p Part) (*Reference, error) {
	if p.BPM != 0 && !(p.BPM >= minBPM && p.BPM <= maxBPM) {
		return nil, fmt.Errorf("%g beats a minute cannot be played to: say %d to %d", p.BPM, minBPM, maxBPM)
	}
	out := *r
	if p.First != "" || p.Last != "" {
		first, end, err := r.barsOf(p)
		if err != nil {
			return nil, err
		}
		out = r.cut(first, end)
	}
	if p.Hand == Right || p.Hand == Left {
		if !slices.ContainsFunc(r.Notes, func(n Note) bool { return n.Hand == Right || n.Hand == Left }) {
			return nil, errors.New("the score does not say which hand plays what: leave out the hand")
		}
		out.Notes, out.Marks = ofHand(out.Notes, p.Hand), marksOf(out.Marks, p.Hand)
	}
	if len(out.Notes) == 0 {
		return nil, fmt.Errorf("there is nothing to play in %s", p)
	}
	if p.BPM != 0 {
		out.pace(p.BPM)
	}
	return &out, nil
}

// Part is the request for one hand, or at another tempo. A request has no bars.
func (r Request) Part(p Part) (Request, error) {
	if p.First != "" || p.Last != "" {
		return r, fmt.Errorf("%s have no bars to choose: ask for fewer octaves", plural[r.Kind])
	}
	if p.Hand == Right || p.Hand == Left {
		r.Hands = RightAlone
		if p.Hand == Left {
			r.Hands = LeftAlone
		}
		r.Touch, r.Dynamic = Each(r.Touch.Of(p.Hand)), Each(r.Dynamic.Of(p.Hand))
	}
	if p.BPM != 0 {
		r.BPM = p.BPM
	}
	return r, r.Check()
}

// barsOf is where the part is among the bars as they are played: Bars[first:end].
func (r *Reference) barsOf(p Part) (first, end int, err error) {
	if len(r.Bars) == 0 {
		return 0, 0, errors.New("the music has no bars to choose")
	}
	from, to := 0, slices.MaxFunc(r.Bars, func(a, b Bar) int { return a.Written - b.Written }).Written
	if p.First != "" {
		if from = r.written(p.First, false); from < 0 {
			return 0, 0, r.noBar(p.First)
		}
	}
	if p.Last != "" {
		if to = r.written(p.Last, true); to < 0 {
			return 0, 0, r.noBar(p.Last)
		}
	}
	if to < from {
		return 0, 0, fmt.Errorf("bar %s comes before bar %s: name the earlier one first", p.Last, p.First)
	}
	for b := range r.Bars {
		if r.Bars[b].Written != to {
			continue
		}
		start := -1
		for a := b; a >= 0 && r.Bars[a].Written >= from && r.Bars[a].Written <= to; a-- {
			if r.Bars[a].Written == from {
				start = a
			}
		}
		if start >= 0 {
			return start, b + 1, nil
		}
	}
	return 0, 0, fmt.Errorf("%s are never played one after another: choose fewer bars", p)
}

// written is the place, as written, of the first or the last bar of this number, or else of one that differs
// only in capitals; -1 where there is none.
func (r *Reference) written(number string, last bool) int {
	exactly := func(a, b string) bool { return a == b }
	for _, same := range []func(a, b string) bool{exactly, strings.EqualFold} {
		found := -1
		for i := range r.Bars {
			b := &r.Bars[i]
			if same(b.Number, number) && (found < 0 || last == (b.Written > found)) {
				found = b.Written
			}
		}
		if found >= 0 {
			return found
		}
	}
	return -1
}

func (r *Reference) noBar(number string) error {
	return fmt.Errorf("there is no bar %s: they go from %s to %s", strconv.Quote(number), r.Bars[0].Number, r.Bars[len(r.Bars)-1].Number)
}

// cut is the music of Bars[first:end].
func (r *Reference) cut(first, end int) Reference {
	out := *r
	from := r.Bars[first].Onset
	to := r.Bars[end-1].Onset.Add(r.Bars[end-1].Length)
	out.Bars = slices.Clone(r.Bars[first:end])
	for i := range out.Bars {
		out.Bars[i].Onset = out.Bars[i].Onset.Sub(from)
	}
	out.Notes = r.notesOf(first, end, from, to)
	out.BarLength, out.Beat = out.Bars[0].Meter.Length(), out.Bars[0].Meter.Beat()
	out.cutSigns(r, from, to)
	out.Sections, out.Jumps = nil, nil
	for _, s := range r.Sections {
		s.First, s.End = max(s.First, first)-first, min(s.End, end)-first
		if s.First < s.End {
			out.Sections = append(out.Sections, s)
		}
	}
	for _, j := range r.Jumps {
		if j.From > first && j.From < end && j.To >= first && j.To < end {
			out.Jumps = append(out.Jumps, Jump{From: j.From - first, To: j.To - first, Why: j.Why})
		}
	}
	return out
}

// notesOf are the notes of Bars[first:end], from and to being where these begin and end.
func (r *Reference) notesOf(first, end int, from, to Quarters) []Note {
	var notes, tied []Note
	for _, n := range r.Notes {
		stop := n.Onset.Add(n.Length)
		switch {
		case n.Measure >= first && n.Measure < end:
			if to.Less(stop) {
				n.Length = to.Sub(n.Onset)
			}
			n.Onset, n.Measure = n.Onset.Sub(from), n.Measure-first
			notes = append(notes, n)
		case n.Measure < first && from.Less(stop) && n.Grace == NoGrace:
			tied = append(tied, n)
		}
	}
	for _, n := range tied {
		stop := n.Onset.Add(n.Length)
		if to.Less(stop) {
			stop = to
		}
		b := &r.Bars[first]
		again := Note{
			ID: n.ID, Also: n.Also, Bar: b.Number, Pass: b.Pass, Length: stop.Sub(from), Beat: 1,
			Pitch: n.Pitch, Hand: n.Hand, Finger: n.Finger, Finger2: n.Finger2, Dynamic: n.Dynamic, Optional: true,
		}
		struck := func(m Note) bool { return m.Key() == n.Key() && m.Onset == (Quarters{}) && m.Grace == NoGrace }
		if !slices.ContainsFunc(notes, struck) {
			notes = append(notes, again)
		}
	}
	whole := Reference{Notes: notes}
	whole.Sort()
	return whole.Notes
}

// cutSigns takes over the signs of r that hold between from and to.
func (out *Reference) cutSigns(r *Reference, from, to Quarters) {
	out.Keys = nil
	for _, k := range r.Keys {
		if k.Onset = k.Onset.Sub(from); to.Sub(from).Cmp(k.Onset) <= 0 {
			break
		}
		if k.Onset.Cmp(Quarters{}) <= 0 {
			out.Keys, k.Onset = nil, Quarters{} // the last one before the part holds in it
		}
		out.Keys = append(out.Keys, k)
	}
	if len(out.Keys) > 0 {
		out.Fifths, out.Minor = out.Keys[0].Fifths, out.Keys[0].Minor
	}
	out.Tempos, out.Tempo = nil, Tempo{}
	for _, t := range r.Tempos {
		if t.Onset = t.Onset.Sub(from); to.Sub(from).Cmp(t.Onset) <= 0 {
			break
		}
		if t.Onset.Cmp(Quarters{}) <= 0 {
			out.Tempos, t.Onset = nil, Quarters{}
		}
		out.Tempos = append(out.Tempos, t)
	}
	if len(out.Tempos) > 0 && out.Tempos[0].Onset == (Quarters{}) && out.Tempos[0].Printed {
		out.Tempo = out.Tempos[0].Tempo
	}
	out.Marks, out.Pedals = nil, nil
	for _, m := range r.Marks {
		if cutStretch(&m.From, &m.To, from, to, m.Kind == Breath || m.Kind == Caesura) {
			out.Marks = append(out.Marks, m)
		}
	}
	for _, p := range r.Pedals {
		if cutStretch(&p.From, &p.To, from, to, false) {
			out.Pedals = append(out.Pedals, p)
		}
	}
}

// cutStretch leaves of a stretch what lies between from and to, and reports whether there is anything.
// A place, where both its ends are one, belongs to what begins there, or, where it closes, to what ends.
func cutStretch(a, b *Quarters, from, to Quarters, closes bool) bool {
	if *a == *b {
		inside := from.Cmp(*a) <= 0 && a.Less(to)
		if closes {
			inside = from.Less(*a) && a.Cmp(to) <= 0
		}
		*a, *b = a.Sub(from), b.Sub(from)
		return inside
	}
	if a.Less(from) {
		*a = from
	}
	if to.Less(*b) {
		*b = to
	}
	inside := a.Less(*b)
	*a, *b = a.Sub(from), b.Sub(from)
	return inside
}

// ofHand are the notes of one hand. A unison of both is that hand's alone.
func ofHand(notes []Note, h Hand) []Note {
	var out []Note
	for _, n := range notes {
		if n.Hand.Has(h) {
			n.Finger, n.Finger2, n.Hand = n.Fingering(h), 0, h
			out = append(out, n)
		}
	}
	return out
}

// marksOf are the marks that stand over the part of one hand.
func marksOf(marks []Mark, h Hand) []Mark {
	var out []Mark
	for _, m := range marks {
		if m.Hand == NoHand || m.Hand.Has(h) {
			out = append(out, m)
		}
	}
	return out
}

// pace sets the tempo at the start; those marked later change with it.
func (out *Reference) pace(bpm float64) {
	beat := out.Beat
	if out.Tempo.BPM > 0 {
		beat = out.Tempo.Beat
	}
	if beat.Cmp(Quarters{}) <= 0 {
		beat = Q(1, 1)
	}
	scale, start := 0.0, Tempo{BPM: bpm, Beat: beat}
	marks := []TempoMark{{Tempo: start, Printed: true}}
	for _, t := range out.Tempos {
		if t.Tempo.BPM > 0 && scale == 0 {
			scale = bpm * beat.Float() / (t.Tempo.BPM * t.Tempo.Beat.Float())
		}
		if t.Onset == (Quarters{}) {
			continue
		}
		t.Tempo.BPM *= scale
		marks = append(marks, t)
	}
	out.Tempos, out.Tempo = marks, start
}
