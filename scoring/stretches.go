package scoring

import (
	"cmp"
	"fmt"
	"slices"

	"evenhand/references"
)

// merged are the kinds of which several in a row in one hand are one finding, and what they say.
var merged = map[Kind]string{
	MissingNote:     "%s notes were left out",
	ExtraNote:       "%s notes were struck that are not written",
	OrnamentLeftOut: "%s ornaments were left out",
	BrushedKey:      "%s neighbouring keys were brushed",
	StruckAgain:     "%s notes were struck twice",
}

// join makes one finding of StretchNotes like ones in the same hand, each within a bar of the last.
func (l *ledger) join() {
	if len(l.Reference.Bars) == 0 {
		return
	}
	var out []Finding
	groups := map[string][]Finding{}
	var keys []string
	for _, f := range l.findings {
		if merged[f.Kind] == "" || f.From == nil {
			out = append(out, f)
			continue
		}
		k := string(f.Kind)
		if f.Hand != nil {
			k += *f.Hand
		}
		if groups[k] == nil {
			keys = append(keys, k)
		}
		groups[k] = append(groups[k], f)
	}
	for _, k := range keys {
		fs := groups[k]
		slices.SortStableFunc(fs, func(a, b Finding) int { return cmp.Compare(a.From.Onset, b.From.Onset) })
		for i := 0; i < len(fs); {
			j := i + 1
			for j < len(fs) && l.barAt(fs[j].From)-l.barAt(fs[j-1].To) <= 1 {
				j++
			}
			if j-i >= l.piece.StretchNotes {
				out = append(out, l.joined(fs[i:j]))
			} else {
				out = append(out, fs[i:j]...)
			}
			i = j
		}
	}
	l.findings = out
}

// barAt is the index of the bar of a place.
func (p *performance) barAt(at *Place) int {
	k, _ := slices.BinarySearchFunc(p.Reference.Bars, at.Onset, func(b references.Bar, q float64) int {
		return cmp.Compare(b.Onset.Float(), q+1e-9)
	})
	return k - 1
}

func (l *ledger) joined(fs []Finding) Finding {
	f := fs[0]
	f.Notes = slices.Clone(f.Notes)
	for _, g := range fs[1:] {
		f.To = g.To
		f.Notes = append(f.Notes, g.Notes...)
		f.loss += g.loss
		for _, t := range []*float64{g.FromS, g.ToS} {
			if t == nil {
				continue
			}
			if f.FromS == nil || *t < *f.FromS {
				f.FromS = t
			}
			if f.ToS == nil || *t > *f.ToS {
				f.ToS = t
			}
		}
	}
	a, b := f.From.Bar, f.To.Bar
	where := "bar " + a
	if a != b {
		where = fmt.Sprintf("bars %s to %s", a, b)
		if l.barAt(f.To) == l.barAt(f.From)+1 {
			where = fmt.Sprintf("bars %s and %s", a, b)
		}
	}
	if f.Hand != nil && *f.Hand != references.Both.String() {
		where += ", " + *f.Hand + " hand"
	}
	f.Measured, f.Unit = known(float64(len(fs))), "notes"
	f.detail = fmt.Sprintf("%s: "+merged[f.Kind], where, number(len(fs)))
	f.Text = capital(f.detail) + "."
	return f
}

// apart is one onset at which notes meant together were not.
type apart struct {
	event int
	ms    float64 // signed: above 0 the left hand is late
	notes []int
}

// stretchesApart files where the hands were clearly apart several times in a row, the same one late,
// and where chords were broken that are not marked so. each is the loss of one onset.
func (l *ledger) stretchesApart(e *ensemble, each float64) {
	var hands []apart
	if e != nil {
		for k, ev := range e.events {
			if d := e.diffs[k]; d > l.limits.TogetherApartMS || d < -l.limits.TogetherApartMS {
				hands = append(hands, apart{ev, d, l.handNotes(ev, d)})
			}
		}
	}
	l.inStretches(hands, each, "each note comes late")
	for i := range l.lines {
		l.inStretches(l.brokenChords(&l.lines[i]), each, "the notes of the chords come one after another")
	}
}

// handNotes are the notes of the late hand at an event.
func (p *performance) handNotes(event int, ms float64) []int {
	late := references.Left
	if ms < 0 {
		late = references.Right
	}
	var out []int
	for i := p.starts[event]; i < p.starts[event+1]; i++ {
		if p.Reference.Notes[i].Hand == late {
			out = append(out, i)
		}
	}
	return out
}

// brokenChords are the chords of a hand whose notes are spread by more than TogetherApartMS.
func (p *performance) brokenChords(l *line) []apart {
	var out []apart
	for k := range l.steps {
		if d := p.chordSpread(&l.steps[k]); d > p.limits.TogetherApartMS {
			out = append(out, apart{l.steps[k].event, d, l.steps[k].notes})
		}
	}
	return out
}

// chordSpread is the time from the first to the last right note of a step, in ms; 0 of a single note,
// a rolled chord, or one with an ornament.
func (p *performance) chordSpread(s *step) float64 {
	if p.adorned(s) || p.trouble[s.event] {
		return 0
	}
	var on []float64
	for _, i := range s.notes {
		if p.strokes[i].correct {
			on = append(on, p.Take.Notes[p.strokes[i].played].On.Seconds())
		}
	}
	if len(on) < 2 {
		return 0
	}
	return 1000 * (slices.Max(on) - slices.Min(on))
}

func (l *ledger) inStretches(as []apart, each float64, what string) {
	for i := 0; i < len(as); {
		j := i + 1
		for j < len(as) && (as[j].ms > 0) == (as[i].ms > 0) && l.barsApart(as[j-1].event, as[j].event) <= 1 {
			j++
		}
		if j-i >= l.piece.StretchNotes {
			var notes []int
			var ms []float64
			for _, a := range as[i:j] {
				notes = append(notes, a.notes...)
				ms = append(ms, max(a.ms, -a.ms))
			}
			l.add(l.about(Finding{
				Kind: HandsApart, Measured: known(median(ms)), Limit: known(l.limits.TogetherApartMS), Unit: "ms", Source: apartSource,
				mark: timeMark, loss: each * float64(j-i), Severity: Light,
				Text: fmt.Sprintf("%s: %s.", capital(l.barsWords(notes)), what),
				try:  "Play it very slowly and listen for one sound on every beat.",
			}, notes...))
		}
		i = j
	}
}
