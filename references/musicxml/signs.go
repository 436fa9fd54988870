package musicxml

import (
	"slices"
	"sort"

	"evenhand/references"
)

// signReader turns the signs of the bars, in the order of playing, into what holds at each note and
// into the marks of the reference.
type signReader struct {
	ref  *references.Reference
	src  *bar
	base references.Quarters // onset of the bar

	dynamic [4]references.Dynamic // what holds at the start of the bar, by hand
	touch   [4]references.Touch

	hairpins map[hairpinKey]int // open hairpins: index into the marks
	words    []openWords        // marks in words that are open
	pedal    bool
	down     references.Quarters
}

// openWords is a mark in words that goes on: its index, and the dashes that belong to it.
type openWords struct {
	mark   int
	dashes string
}

// hairpinKey tells hairpins apart that are open at once.
type hairpinKey struct {
	staff  int
	number string
}

// bar reads the signs of the next bar as played. At a jump, hairpins and words that are open end.
func (r *signReader) bar(src *bar, base references.Quarters, jumped bool) {
	if r.src != nil {
		r.carry()
	}
	if jumped {
		r.closeAll(base)
	}
	r.src, r.base = src, base
	sort.SliceStable(src.signs, func(i, j int) bool { return src.signs[i].at.Less(src.signs[j].at) })
	for i := range src.signs {
		r.sign(&src.signs[i])
	}
	if src.nav.Double || src.nav.Final {
		r.endWords(base.Add(src.length), isTempoMark)
	}
}

// carry moves what holds to the end of the bar that was read.
func (r *signReader) carry() {
	for h := range r.dynamic {
		r.dynamic[h] = r.dynamicAt(references.Hand(h), far)
		r.touch[h] = r.touchAt(references.Hand(h), far)
	}
}

// far is later than any place in a bar.
var far = references.Q(1<<40, 1)

// covers reports whether a sign for one hand is meant for a note of another: a note of both hands
// goes with the right one.
func covers(sign, hand references.Hand) bool {
	return sign == references.Both || sign == references.NoHand || hand == references.NoHand || sign == hand ||
		hand == references.Both && sign == references.Right
}

func (r *signReader) dynamicAt(hand references.Hand, at references.Quarters) references.Dynamic {
	out := r.dynamic[hand]
	for i := range r.src.signs {
		g := &r.src.signs[i]
		if g.kind == signDynamic && covers(g.hand, hand) && (g.at.Less(at) || g.at == at && !g.after) {
			out = g.dynamic
		}
	}
	return out
}

func (r *signReader) accentAt(hand references.Hand, at references.Quarters) bool {
	for i := range r.src.signs {
		if g := &r.src.signs[i]; g.kind == signAccent && g.at == at && covers(g.hand, hand) {
			return true
		}
	}
	return false
}

func (r *signReader) touchAt(hand references.Hand, at references.Quarters) references.Touch {
	out := r.touch[hand]
	for i := range r.src.signs {
		if g := &r.src.signs[i]; g.kind == signTouch && covers(g.hand, hand) && !at.Less(g.at) {
			out = g.touch
		}
	}
	return out
}

// sign reads one sign.
func (r *signReader) sign(g *sign) {
	at := tame(r.base.Add(g.at))
	mark := references.Mark{From: at, To: at, Hand: g.hand, Mild: g.mild, Niente: g.niente, Words: g.words}
	switch g.kind {
	case signDynamic:
		r.endWords(at, isLoudnessMark)
	case signHairpin:
		r.endWords(at, isLoudnessMark)
		mark.Kind, mark.Words, mark.Mild = g.mark, "", false
		key := hairpinKey{g.staff, g.number}
		if i, ok := r.hairpins[key]; ok {
			if o := r.ref.Marks[i]; o.From == at && o.Kind == g.mark {
				return // told twice
			}
			r.ref.Marks[i].To = at // it was not closed, and ends where the next begins
		}
		r.hairpins[key] = r.add(mark)
	case signHairEnd:
		key := hairpinKey{g.staff, g.number}
		if i, ok := r.hairpins[key]; ok {
			r.ref.Marks[i].To = at
			r.ref.Marks[i].Niente = r.ref.Marks[i].Niente || g.niente
			delete(r.hairpins, key)
		}
	case signWords:
		r.wordMark(mark, g, at)
	case signDashesEnd:
		r.endDashes(at, g.number)
	case signTempo:
		r.tempoMark(g, at)
	case signFermata:
		mark.Kind, mark.Hand, mark.To = references.Fermata, references.Both, tame(r.base.Add(g.to))
		r.once(mark)
	case signBreath, signCaesura:
		mark.Kind = references.Breath
		if g.kind == signCaesura {
			mark.Kind = references.Caesura
		}
		mark.Hand = references.Both
		r.once(mark)
	case signSwing:
		mark.Kind, mark.Hand, mark.Mild = references.Swing, references.Both, false
		r.once(mark)
	case signPedalDown, signPedalUp, signPedalChange:
		r.pedalling(g.kind, at)
	}
}

// wordMark opens a mark in words. A new direction of tempo ends the one before, as one of loudness
// does.
func (r *signReader) wordMark(mark references.Mark, g *sign, at references.Quarters) {
	kind := g.mark
	mark.Kind = kind
	if isTempoMark(kind) {
		mark.Hand = references.Both
	}
	for i := range r.ref.Marks {
		if o := &r.ref.Marks[len(r.ref.Marks)-1-i]; o.From.Less(at) {
			break
		} else if o.Kind == kind && o.From == at && o.Hand == mark.Hand {
			return // over both staves, or in two voices
		}
	}
	if isTempoMark(kind) {
		r.endWords(at, isTempoMark)
	} else {
		r.endWords(at, isLoudnessMark)
	}
	i := r.add(mark)
	if kind != references.ATempo {
		r.words = append(r.words, openWords{i, g.number})
	}
}

func isTempoMark(k references.MarkKind) bool {
	return k == references.Ritardando || k == references.Accelerando || k == references.ATempo
}

func isLoudnessMark(k references.MarkKind) bool {
	return k == references.Crescendo || k == references.Diminuendo
}

// tempoMark adds a tempo; one that is printed, or has words, ends a ritardando.
func (r *signReader) tempoMark(g *sign, at references.Quarters) {
	if g.printed || g.words != "" {
		r.endWords(at, isTempoMark)
	}
	n := len(r.ref.Tempos)
	if n > 0 && r.ref.Tempos[n-1].Onset == at && r.ref.Tempos[n-1].Tempo == g.tempo && r.ref.Tempos[n-1].Words == g.words {
		return
	}
	r.ref.Tempos = append(r.ref.Tempos, references.TempoMark{Onset: at, Tempo: g.tempo, Words: g.words, Printed: g.printed})
}

func (r *signReader) add(m references.Mark) int {
	r.ref.Marks = append(r.ref.Marks, m)
	return len(r.ref.Marks) - 1
}

// once adds a mark unless the same one is there: a fermata stands over each staff.
func (r *signReader) once(m references.Mark) {
	for i := len(r.ref.Marks) - 1; i >= 0 && !r.ref.Marks[i].From.Less(m.From); i-- {
		if o := &r.ref.Marks[i]; o.Kind == m.Kind && o.From == m.From {
			if o.To.Less(m.To) {
				o.To = m.To
			}
			return
		}
	}
	r.add(m)
}

// endWords ends the open words of some kinds. Words with dashes go on as far as these.
func (r *signReader) endWords(at references.Quarters, of func(references.MarkKind) bool) {
	kept := r.words[:0]
	for _, w := range r.words {
		if w.dashes == "" && of(r.ref.Marks[w.mark].Kind) {
			r.ref.Marks[w.mark].To = at
		} else {
			kept = append(kept, w)
		}
	}
	r.words = kept
}

// endDashes ends the words that dashes belong to; where they belong to none, all words.
func (r *signReader) endDashes(at references.Quarters, dashes string) {
	mine := func(w openWords) bool { return w.dashes == dashes }
	if !slices.ContainsFunc(r.words, mine) {
		mine = func(w openWords) bool { return w.dashes == "" }
	}
	kept := r.words[:0]
	for _, w := range r.words {
		if mine(w) {
			r.ref.Marks[w.mark].To = at
		} else {
			kept = append(kept, w)
		}
	}
	r.words = kept
}

// pedalling reads the marks of the sustaining pedal.
func (r *signReader) pedalling(kind signKind, at references.Quarters) {
	if r.pedal && r.down.Less(at) {
		r.ref.Pedals = append(r.ref.Pedals, references.Pedalling{From: r.down, To: at})
	}
	r.pedal = kind == signPedalDown || kind == signPedalChange
	r.down = at
}

// closeAll ends everything that is open.
func (r *signReader) closeAll(at references.Quarters) {
	for _, w := range r.words {
		r.ref.Marks[w.mark].To = at
	}
	r.words = nil
	for key, i := range r.hairpins {
		r.ref.Marks[i].To = at
		delete(r.hairpins, key)
	}
	if r.pedal {
		r.pedalling(signPedalUp, at)
	}
}

// finish ends everything at the end of the music, and sorts the marks. A change over no time asks
// for nothing.
func (r *signReader) finish(end references.Quarters) {
	r.closeAll(end)
	r.ref.Marks = slices.DeleteFunc(r.ref.Marks, func(m references.Mark) bool {
		return m.From == m.To && (isLoudnessMark(m.Kind) || m.Kind == references.Ritardando || m.Kind == references.Accelerando)
	})
	sort.SliceStable(r.ref.Marks, func(i, j int) bool { return r.ref.Marks[i].From.Less(r.ref.Marks[j].From) })
	sort.SliceStable(r.ref.Tempos, func(i, j int) bool { return r.ref.Tempos[i].Onset.Less(r.ref.Tempos[j].Onset) })
}
