package musicxml

import (
	"fmt"
	"io"

	"evenhand/references"
)

// Read reads a score: MusicXML as text (.musicxml, .xml) or compressed (.mxl), partwise or
// timewise, told apart by content. What is odd is passed over and listed in the Warnings of the
// result. The error of what cannot be a score, or is too large for one, names the line.
func Read(r io.Reader) (*references.Reference, error) {
	data, err := readBounded(r)
	if err != nil {
		return nil, err
	}
	text, odd, err := decode(data)
	if err != nil {
		return nil, err
	}
	s, err := parse(text)
	if err != nil {
		return nil, err
	}
	if odd != "" {
		s.warn("", 1, "%s", odd)
	}
	w := merge(s.keyboard())
	way, err := unfold(w, s.warn)
	if err != nil {
		return nil, err
	}
	return build(s, w, way)
}

// maxWork bounds the work of playing a score out: its notes, each looked at once for some of the
// signs of its bar. The longest sonatas have some 30,000 notes and a few signs to the bar.
const maxWork = 2_000_000

// builder puts the bars as played together.
type builder struct {
	w       *written
	ref     *references.Reference
	at      references.Quarters
	voices  *held
	signs   *signReader
	signed  bool // a key signature was read
	current references.KeyChange
}

// build makes the reference of a route through a score.
func build(s *score, w *written, way *route) (*references.Reference, error) {
	b := &builder{w: w, ref: &references.Reference{Title: s.title()}, voices: newHeld()}
	b.signs = &signReader{ref: b.ref, hairpins: map[hairpinKey]int{}}
	keys := keysAt(w)
	total := 0
	for p, i := range way.bars {
		notes, signs := len(w.bars[i].notes), len(w.bars[i].signs)
		if total += notes + notes*signs/8; total > maxWork {
			return nil, fmt.Errorf("its repeats play out to more than a million notes: %w", errBounds)
		}
		jumped := p > 0 && i != way.bars[p-1]+1
		b.bar(i, way.pass[p], p, keys[i], jumped)
	}
	b.signs.finish(b.at)
	ref := b.ref
	ref.Sort()
	ref.Notes = mergeUnisons(ref.Notes)
	ref.Sections, ref.Jumps = way.sections(), way.jumps
	ref.Page = w.page()
	if len(ref.Bars) > 0 {
		first := ref.Bars[0].Meter
		ref.BarLength, ref.Beat = first.Length(), first.Beat()
	}
	if len(ref.Keys) > 0 {
		ref.Fifths, ref.Minor = ref.Keys[0].Fifths, ref.Keys[0].Minor
	}
	if len(ref.Tempos) > 0 && ref.Tempos[0].Onset == (references.Quarters{}) && ref.Tempos[0].Printed {
		ref.Tempo = ref.Tempos[0].Tempo
	}
	if s.dropped > 0 {
		s.warnings = append(s.warnings, references.Warning{Text: "and more of the kind"})
	}
	ref.Warnings = s.warnings
	return ref, nil
}

// title joins the names of the work and of the movement; where there is neither, the heading on the
// page.
func (s *score) title() string {
	switch {
	case s.work != "" && s.movement != "" && s.work != s.movement:
		return s.work + ", " + s.movement
	case s.movement != "":
		return s.movement
	case s.work != "":
		return s.work
	}
	return s.credit
}

// keysAt is the key that holds at the start of each bar as written: none signed, as in C, before the
// first; nil where there is none at all.
func keysAt(w *written) []*references.KeyChange {
	out := make([]*references.KeyChange, len(w.bars))
	var now *references.KeyChange
	for i := range w.bars {
		out[i] = now
		for j := range w.bars[i].keys {
			k := &w.bars[i].keys[j]
			if k.Onset == (references.Quarters{}) {
				out[i] = k
			}
			now = k
		}
	}
	for i := range out {
		if out[i] == nil && now != nil {
			out[i] = &references.KeyChange{}
		}
	}
	return out
}

// bar adds one bar as played.
func (b *builder) bar(i, pass, index int, key *references.KeyChange, jumped bool) {
	src, meter, skip := &b.w.bars[i], b.w.meter[i], b.w.skip[i]
	b.ref.Bars = append(b.ref.Bars, references.Bar{
		Number: src.number, Written: i, Pass: pass, Onset: b.at, Length: src.length, Skip: skip, Meter: meter, Signs: src.nav,
	})
	b.keys(src, key)
	b.signs.bar(src, b.at, jumped)
	beat := meter.Beat()
	for j := range src.notes {
		n := &src.notes[j]
		out := n.Note
		out.Bar, out.Pass, out.Measure = src.number, pass, index
		out.Beat = 1 + skip.Add(n.Onset).Times(beat.Den(), beat.Num()).Float()
		out.Onset = tame(b.at.Add(n.Onset))
		out.Dynamic = b.signs.dynamicAt(out.Hand, n.Onset)
		out.Accent = out.Accent || b.signs.accentAt(out.Hand, n.Onset)
		out.Touch = n.touch(b.signs.touchAt(out.Hand, n.Onset))
		b.voices.strike(&b.ref.Notes, n, out)
	}
	b.at = tame(b.at.Add(src.length))
}

// keys adds the key changes of a bar, and after a jump the key that holds where it leads.
func (b *builder) keys(src *bar, key *references.KeyChange) {
	change := func(k references.KeyChange) {
		if b.signed && k.Fifths == b.current.Fifths && k.Minor == b.current.Minor {
			return
		}
		b.signed, b.current = true, k
		k.Onset = tame(b.at.Add(k.Onset))
		b.ref.Keys = append(b.ref.Keys, k)
	}
	if key != nil {
		change(references.KeyChange{Fifths: key.Fifths, Minor: key.Minor})
	}
	for _, k := range src.keys {
		if k.Onset != (references.Quarters{}) {
			change(k)
		}
	}
}

// touch is how a note is to be joined: by its own signs, else by the last word that said so.
func (n *note) touch(word references.Touch) references.Touch {
	switch {
	case n.staccato && (n.tenuto || n.slurred):
		return references.Portato
	case n.staccato:
		return references.Staccato
	case n.tenuto:
		return references.Tenuto
	case n.slurred:
		return references.Legato
	}
	return word
}
