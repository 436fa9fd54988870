package serve

import (
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"time"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
	"evenhand/report"
)

// Asked is what a recording is of, as the music desk shows it.
type Asked struct {
	Title      string
	Candidates []*references.Reference // every accepted reading, the likeliest first
}

// following is one take while it is played: it has a follower of its own and writes what that says into
// the bars. It is a function of the notes it is told.
type following struct {
	asked    Asked
	follower *align.Follower
	first    int // the note that the follower was told first
	notes    []capture.Note
	pairs    []align.Pair // by note since first
	missing  map[int]bool // expected notes
	reading  int
	shift    int
	sheets   map[int]*sheet // by reading
}

// sheet is a reading as it is written down.
type sheet struct {
	ref   *references.Reference
	ids   []string // of each note in the score
	bars  []Bar    // as played, without marks
	of    []int    // by note: its bar
	score string   // MusicXML
}

// Bar is one bar as it is played.
type Bar struct {
	At     int    `json:"at"`     // index, repeats unfolded
	Number string `json:"number"` // as printed
	Sheet  int    `json:"sheet"`  // index of the bar as written, from 0
	Pass   int    `json:"pass"`
	State  State  `json:"state"`
	Marks  []Mark `json:"marks"`
}

// State is how far a bar is.
type State string

// The states. A bar that was begun and left again, by a fresh start, is to come.
const (
	ToCome State = ""
	Now    State = "now"
	Done   State = "done"
)

// Sign is what the pencil writes.
type Sign string

// The signs: a ring round a wrong note, a caret where one is left out, a stroke through one too many.
const (
	Ring   Sign = "ring"
	Caret  Sign = "caret"
	Stroke Sign = "stroke"
)

// Mark is one mark of the pencil.
type Mark struct {
	Sign Sign   `json:"sign"`
	Note string `json:"note"` // id of the note in the score that it belongs to
	Text string `json:"text"` // the names of the notes, short: "G♯ for G"

	order int // index of the note, repeats unfolded
}

// newFollowing begins a take. A request that nobody can read has no candidates, and only its title.
func newFollowing(a Asked) *following {
	f := &following{asked: a, sheets: map[int]*sheet{}}
	f.begin(0)
	return f
}

// begin begins anew with a note.
func (f *following) begin(first int) {
	f.first, f.pairs, f.missing = first, nil, map[int]bool{}
	f.reading, f.shift = 0, 0
	if len(f.asked.Candidates) > 0 {
		f.follower = align.NewFollower(f.asked.Candidates)
	}
}

// Notes tried before the start: so many, and a silence after them. As on the page at the piano.
const (
	tries    = 3
	tryPause = time.Second
)

// note takes the next note.
func (f *following) note(n capture.Note) {
	if f.follower == nil {
		return
	}
	if tried := len(f.notes) - f.first; tried > 0 && tried <= tries && n.On-f.notes[len(f.notes)-1].On > tryPause && f.opens(n) {
		f.begin(len(f.notes))
	}
	f.notes = append(f.notes, n)
	updates := f.follower.Note(n)
	_, reading, shift := f.follower.Where()
	if reading != f.reading {
		clear(f.missing) // of another reading
	}
	f.reading, f.shift = reading, shift
	for _, u := range updates {
		switch {
		case u.Played < 0:
			f.missing[u.Expected] = true
		case u.Played < len(f.pairs):
			f.pairs[u.Played] = u.Pair
		default:
			f.pairs = append(f.pairs, u.Pair)
		}
	}
}

// opens reports whether a note, in any octave, is one that the music begins with.
func (f *following) opens(n capture.Note) bool {
	for _, ref := range f.asked.Candidates {
		for i := range ref.Notes {
			if ref.Notes[i].Onset != ref.Notes[0].Onset {
				break
			}
			if (ref.Notes[i].Key()-int(n.Key))%12 == 0 {
				return true
			}
		}
	}
	return false
}

// sheet is the reading that fits best, written down; nil where nothing can be.
func (f *following) sheet() *sheet {
	if f.follower == nil {
		return nil
	}
	s := f.sheets[f.reading]
	if s == nil {
		s = newSheet(f.asked.Candidates[f.reading])
		f.sheets[f.reading] = s
	}
	return s
}

// bars are all bars with what is written into them so far.
func (f *following) bars() []Bar {
	s := f.sheet()
	if s == nil {
		return nil
	}
	out := slices.Clone(s.bars)
	for i := range out {
		out[i].Marks = []Mark{}
	}
	at := -1
	if len(f.pairs) > 0 {
		first, _, _ := f.follower.Where()
		at = s.of[first]
	}
	put := func(expected int, m Mark) {
		if b := &out[s.of[expected]]; m.Sign != "" {
			m.Note, m.order = s.ids[expected], expected
			b.Marks = append(b.Marks, m)
		}
	}
	for i := range f.pairs {
		p := &f.pairs[i]
		// What was given up is gone, as it will be at the end.
		if near := max(p.Expected, p.Near); near >= 0 && p.Why != align.Again {
			if b := s.of[near]; b != at {
				out[b].State = Done
			}
			put(near, f.mark(s, p))
		}
	}
	for _, e := range f.leftOut() {
		put(e, Mark{Sign: Caret, Text: f.name(s, e)})
	}
	if at >= 0 {
		out[at].State = Now
	}
	for i := range out {
		slices.SortStableFunc(out[i].Marks, func(a, b Mark) int { return cmp.Compare(a.order, b.order) })
	}
	return out
}

// leftOut are the missing notes in their order. One that was heard after all is none.
func (f *following) leftOut() (out []int) {
	heard := map[int]bool{}
	for _, p := range f.pairs {
		if p.Why != align.Again {
			heard[p.Expected] = true
		}
	}
	for e := range f.missing {
		if !heard[e] {
			out = append(out, e)
		}
	}
	slices.Sort(out)
	return out
}

// mark is what is written for a played note; its Sign is empty where nothing is.
func (f *following) mark(s *sheet, p *align.Pair) Mark {
	switch p.Verdict {
	case align.Wrong:
		return Mark{Sign: Ring, Text: fmt.Sprintf("%s for %s", f.played(s, p, p.Expected), f.name(s, p.Expected))}
	case align.Extra:
		if p.Why == align.Slip || p.Why == align.Other {
			return Mark{Sign: Stroke, Text: f.played(s, p, p.Near)}
		}
	}
	return Mark{}
}

// name is an expected note in the octave it is played in.
func (f *following) name(s *sheet, expected int) string {
	p := s.ref.Notes[expected].Pitch
	p.Octave += int8(f.shift / 12)
	return p.String()
}

// played is the key of a played note, spelled as it is likely to be meant beside an expected one.
func (f *following) played(s *sheet, p *align.Pair, beside int) string {
	key := int(f.notes[f.first+p.Played].Key)
	want := s.ref.Notes[beside].Pitch.Name
	got := references.Pitch{Name: s.ref.Spell(key, want)}
	got.Octave = int8((key - got.Key()) / 12)
	if got.Alter == 0 && want.Step == got.Step && want.Alter != 0 {
		return fmt.Sprintf("%s♮%d", got.Step, got.Octave)
	}
	return got.String()
}

// newSheet writes a reading down. One that cannot be written has bars, and no score.
func newSheet(ref *references.Reference) *sheet {
	own := *ref
	own.Title = "" // the page has it
	s := &sheet{ref: ref, of: make([]int, len(ref.Notes))}
	var err error
	if s.score, s.ids, err = report.Engraving(&own); err != nil {
		s.score, s.ids = "", make([]string, len(ref.Notes))
	}
	for i, bar := range ref.Bars {
		s.bars = append(s.bars, Bar{At: i, Number: bar.Number, Sheet: bar.Written, Pass: bar.Pass})
	}
	for i := range ref.Notes {
		n := &ref.Notes[i]
		if s.of[i] = n.Measure; len(ref.Bars) > 0 {
			continue
		}
		length := ref.BarLength
		if length.Num() <= 0 {
			length = ref.Beat.Times(4, 1)
		}
		s.of[i] = int(n.Onset.Float()/length.Float() + 1e-9)
		for at := len(s.bars); at <= s.of[i]; at++ {
			s.bars = append(s.bars, Bar{At: at, Number: strconv.Itoa(at + 1), Sheet: at, Pass: 1})
		}
	}
	return s
}
