package report

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"evenhand/references"
	"evenhand/scoring"
)

// Sign is what the pencil writes. All but the ring stand in a lane below the staves, where no sign of
// printed music does.
type Sign string

// The signs.
const (
	Ring     Sign = "ring"     // round the head of a note that was played wrong, with what was played below
	Caret    Sign = "caret"    // ^ and the name of a note left out
	Struck   Sign = "struck"   // the name of a note too many, struck through
	Stop     Sign = "stop"     // a thin upright stroke where the playing stopped
	Scribble Sign = "scribble" // below an uneven stretch
	Hurrying Sign = "hurrying" // an arrow forward below it
	Dragging Sign = "dragging" // an arrow back below it
	Back     Sign = "back"     // from where it was broken off, back to where it went on
	Stretch  Sign = "stretch"  // a line below what a word is about
	Margin   Sign = "margin"   // a word about the whole, in the margin
)

// Mark is one thing the pencil writes: at note From of the reference, or below all from there to To;
// both are -1 in the margin.
type Mark struct {
	Sign     Sign    `json:"sign"`
	From     int     `json:"from"`
	To       int     `json:"to"`
	Pass     int     `json:"pass"`     // 1 the first time through a repeat
	Text     string  `json:"text"`     // what is written; empty where the sign says all
	Says     string  `json:"says"`     // the same in words, for who does not see it
	Findings []int   `json:"findings"` // the evidence: indices into the findings
	At       float64 `json:"at"`       // seconds into the take; -1 where it has no time
}

// Marks are all that the pencil writes on a take, in the order of the score, the margin first. Notes
// that a teacher left out, and those that only struck findings are about, have none.
func Marks(ref *references.Reference, a *scoring.Assessment, m scoring.Amendment) []Mark {
	p := &pencil{ref: ref, a: a, amended: m, marks: []Mark{}, line: make([]int, len(a.Notes))}
	for i := range p.line {
		p.line[i] = -1
	}
	p.notes()
	for i := range a.Findings {
		if !slices.Contains(m.Struck, i) {
			p.finding(i)
		}
	}
	slices.SortStableFunc(p.marks, func(x, y Mark) int {
		return cmp.Compare(p.onset(x.From), p.onset(y.From))
	})
	return p.marks
}

type pencil struct {
	ref     *references.Reference
	a       *scoring.Assessment
	amended scoring.Amendment
	marks   []Mark
	line    []int // of each line of notes, its mark, -1 where it has none
}

// onset is that of a note, before all others for the margin.
func (p *pencil) onset(note int) float64 {
	if note < 0 {
		return -1
	}
	return p.ref.Notes[note].Onset.Float()
}

// notes marks the lines of notes that were not right.
func (p *pencil) notes() {
	last := 0
	for k := range p.a.Notes {
		n := &p.a.Notes[k]
		if n.Expected != nil {
			last = n.Expected.Index
		}
		if p.passedOver(k) {
			continue
		}
		m := Mark{At: -1, Findings: []int{}}
		if n.Played != nil {
			m.At = n.Played.Onset
		}
		switch at := last; {
		case n.Verdict == "wrong":
			m.Sign = Ring
			p.wrong(&m, n)
		case n.Verdict == "missing":
			m.Sign, m.Text = Caret, p.ref.Notes[at].Pitch.Name.String()
			m.Says = fmt.Sprintf("%s left out, %s", p.ref.Notes[at].Pitch.Name.Words(), p.where(at))
		case n.Verdict == "extra" && n.Mistake():
			if n.Near != nil {
				at = *n.Near
			}
			name := p.extra(n.Played.Key)
			text, said := beside(name, p.ref.Notes[at].Pitch.Name)
			m.Sign, m.Text = Struck, text
			m.Says = fmt.Sprintf("%s too many%s, %s", said, whys[n.Why], p.where(at))
			m.From, m.To = at, at
		default:
			continue
		}
		if m.Sign != Struck {
			m.From, m.To = last, last
		}
		m.Pass = p.ref.Notes[m.From].Pass
		p.line[k] = len(p.marks)
		p.marks = append(p.marks, m)
	}
}

// whys say how an extra note came about.
var whys = map[string]string{
	"slip": " (brushed)", "repeat": " (played again)", "corrected": " (put right at once)",
}

// wrong tells what was played for a note.
func (p *pencil) wrong(m *Mark, n *scoring.NoteLine) {
	i := n.Expected.Index
	want := p.ref.Notes[i].Pitch.Name
	got := p.ref.Spell(n.Played.Key, want)
	if got == want {
		m.Text = fmt.Sprintf("%s %+d oct.", got, (n.Played.Key-n.Expected.Key)/12)
		m.Says = fmt.Sprintf("%s in another octave, %s", got.Words(), p.where(i))
		return
	}
	text, said := beside(got, want)
	m.Text, m.Says = text, fmt.Sprintf("%s for %s, %s", said, want.Words(), p.where(i))
}

// beside names a key that was struck near a written note: a natural is said where that note has the
// same letter.
func beside(got, want references.Name) (text, said string) {
	if got.Step == want.Step && got.Alter == 0 && want.Alter != 0 {
		return got.String() + "♮", got.String() + " natural"
	}
	return got.String(), got.Words()
}

// extra names a key too many: as the music has it, else as a white key, else by the sharps or flats
// of the key signature.
func (p *pencil) extra(key int) references.Name {
	class := ((key % 12) + 12) % 12
	for i := range p.ref.Notes {
		if n := p.ref.Notes[i].Pitch.Name; n.PitchClass() == class {
			return n
		}
	}
	black := int8(1)
	if p.ref.Fifths < 0 {
		black = -1
	}
	for _, alter := range []int8{0, black} {
		for s := references.C; s <= references.B; s++ {
			if n := (references.Name{Step: s, Alter: alter}); n.PitchClass() == class {
				return n
			}
		}
	}
	return references.Name{}
}

// passedOver reports whether a line has no mark of its own: what the teacher let pass, and what is
// part of a passage left out, which is marked as one.
func (p *pencil) passedOver(k int) bool {
	n := &p.a.Notes[k]
	if n.Expected != nil && slices.Contains(p.amended.LeftOut, n.Expected.Index) {
		return true
	}
	struck, kept := false, false
	for i := range p.a.Findings {
		f := &p.a.Findings[i]
		if !slices.Contains(f.Notes, k) {
			continue
		}
		if slices.Contains(p.amended.Struck, i) {
			struck = true
		} else {
			kept = true
		}
		if f.Kind == scoring.PassageLeftOut && n.Verdict == "missing" {
			return true
		}
	}
	return struck && !kept
}

// ofNotes are the kinds whose signs stand at the notes they are about, and need none of their own.
var ofNotes = []scoring.Kind{
	scoring.WrongNote, scoring.WrongAccidental, scoring.WrongOctave, scoring.SlippedAlong, scoring.MissingNote,
	scoring.ExtraNote, scoring.BrushedKey, scoring.PutRight, scoring.StruckAgain, scoring.OrnamentLeftOut,
}

// finding makes finding i the evidence of the marks of its notes, or marks its place.
func (p *pencil) finding(i int) {
	f := &p.a.Findings[i]
	has := false
	if slices.Contains(ofNotes, f.Kind) {
		for _, k := range f.Notes {
			if m := p.line[k]; m >= 0 {
				p.marks[m].Findings = append(p.marks[m].Findings, i)
				has = true
			}
		}
	}
	if has {
		return
	}
	for _, place := range p.places(f) {
		m := Mark{
			Sign: signOf(f), From: place[0], To: place[1], Pass: 1, Text: p.word(f), Says: f.Text,
			Findings: []int{i}, At: p.played(place[0]),
		}
		if place[0] >= 0 {
			m.Pass = p.ref.Notes[place[0]].Pass
		} else {
			m.Text = arrows[m.Sign] + m.Text
			m.Sign = Margin
		}
		p.marks = append(p.marks, m)
	}
}

// arrows stand before the words in the margin.
var arrows = map[Sign]string{Hurrying: "→ ", Dragging: "← "}

// signOf is the sign of a finding that has a place.
func signOf(f *scoring.Finding) Sign {
	switch f.Kind {
	case scoring.Stop:
		return Stop
	case scoring.Uneven, scoring.LongShort, scoring.LateCrossing:
		return Scribble
	case scoring.FreshStart, scoring.WentBack, scoring.OnceMore:
		return Back
	case scoring.Drift:
		if f.Measured != nil && *f.Measured < 0 {
			return Dragging
		}
		return Hurrying
	}
	return Stretch
}

// words are what is written for a kind; the kind itself where it is not here.
var words = map[scoring.Kind]string{
	scoring.Stop: "", scoring.Uneven: "uneven", scoring.LongShort: "long–short", scoring.LateCrossing: "thumb",
	scoring.FreshStart: "again", scoring.WentBack: "back", scoring.OnceMore: "once more",
	scoring.PassageLeftOut: "left out", scoring.HandsApart: "hands apart", scoring.UnevenLoudness: "uneven loudness",
	scoring.NoSwell: "cresc./dim.", scoring.OtherTouch: "touch", scoring.NoContrast: "contrast", scoring.WrongLength: "length",
	scoring.PedalMarked: "pedal", scoring.PedalDown: "pedal", scoring.UnsteadyTempo: "unsteady", scoring.WrittenChange: "tempo",
	scoring.OrnamentLeftOut: "ornament", scoring.OtherRegister: "two octaves apart", scoring.FormHeard: "form",
}

// word is what is written of a finding, with the hand where there are two.
func (p *pencil) word(f *scoring.Finding) string {
	w := wordOf(f)
	if f.Hand != nil && w != "" && signOf(f) != Back && p.a.Heard.Hands != "right" && p.a.Heard.Hands != "left" {
		switch *f.Hand {
		case "right":
			w += ", r.h."
		case "left":
			w += ", l.h."
		}
	}
	return w
}

func wordOf(f *scoring.Finding) string {
	switch {
	case f.Kind == scoring.Drift && signOf(f) == Dragging:
		return "slower"
	case f.Kind == scoring.Drift:
		return "faster"
	}
	if w, ok := words[f.Kind]; ok {
		return w
	}
	return string(f.Kind)
}

// places are the stretches of notes that a finding is about: from and to, or one of -1, where it is
// about no place, or about all. A finding about notes far from one another is marked at each group.
func (p *pencil) places(f *scoring.Finding) [][2]int {
	nowhere := [][2]int{{-1, -1}}
	switch {
	case f.From == nil && f.Kind == scoring.Drift && p.ref.Request != nil:
		return [][2]int{{0, len(p.ref.Notes) - 1}}
	case f.From == nil:
		return nowhere
	}
	from, to := p.noteAt(f.From.Onset, f.Hand), -1
	if f.To != nil {
		to = p.noteAt(f.To.Onset, f.Hand)
	}
	switch sign := signOf(f); {
	case from < 0:
		return nowhere
	case sign == Stop:
		return [][2]int{{from, from}}
	case sign == Back:
		return [][2]int{{from, max(to, 0)}}
	}
	var notes []int
	for _, k := range f.Notes {
		if e := p.a.Notes[k].Expected; e != nil {
			notes = append(notes, e.Index)
		}
	}
	slices.Sort(notes)
	if groups := p.groups(notes); len(groups) > 1 {
		return groups
	}
	if to < from {
		to = from
	}
	return [][2]int{{from, to}}
}

// groups puts notes into those that are a bar apart at most.
func (p *pencil) groups(notes []int) [][2]int {
	apart := p.ref.BarLength.Float()
	if apart <= 0 {
		apart = 4
	}
	var out [][2]int
	for _, i := range notes {
		if n := len(out); n > 0 && p.onset(i)-p.onset(out[n-1][1]) <= apart {
			out[n-1][1] = i
		} else {
			out = append(out, [2]int{i, i})
		}
	}
	return out
}

// noteAt is a note of the hand at an onset, else any there, else the last one before it; -1 where
// there is none.
func (p *pencil) noteAt(onset float64, hand *string) int {
	best := -1
	for i := range p.ref.Notes {
		n := &p.ref.Notes[i]
		at := n.Onset.Float()
		if at > onset+1e-6 {
			break
		}
		if best < 0 || at > p.onset(best)+1e-6 || hand != nil && n.Hand.String() == *hand {
			best = i
		}
	}
	return best
}

// played is when a note was struck, in seconds; -1 where it was not.
func (p *pencil) played(note int) float64 {
	for k := range p.a.Notes {
		if n := &p.a.Notes[k]; n.Expected != nil && n.Played != nil && n.Expected.Index == note {
			return n.Played.Onset
		}
	}
	return -1
}

// where tells a place in words.
func (p *pencil) where(i int) string {
	n := &p.ref.Notes[i]
	var parts []string
	if n.Bar != "" {
		parts = append(parts, fmt.Sprintf("bar %s, beat %s", n.Bar, number(n.Beat)))
	}
	switch n.Hand {
	case references.Right, references.Left:
		parts = append(parts, n.Hand.String()+" hand")
	case references.Both:
		parts = append(parts, "both hands")
	}
	if n.Direction != references.NoDirection {
		parts = append(parts, "going "+n.Direction.String())
	}
	if n.Pass > 1 {
		parts = append(parts, ordinal(n.Pass)+" time")
	}
	return strings.Join(parts, ", ")
}

func ordinal(n int) string {
	if n >= 2 && n <= 4 {
		return [...]string{"second", "third", "fourth"}[n-2]
	}
	return fmt.Sprintf("%dth", n)
}

// number is a number as short as it can be told to two places.
func number(v float64) string {
	return strings.TrimSuffix(strings.TrimRight(fmt.Sprintf("%.2f", v), "0"), ".")
}
