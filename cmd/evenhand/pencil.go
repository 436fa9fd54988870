package main

import (
	"fmt"
	"io"
	"unicode/utf8"

	"evenhand/align"
	"evenhand/references"
)

// pencil writes each note as it is judged, as a teacher marks a page: a ring round a wrong note, a
// caret before the name of one left out, a stroke through one too many. It writes whole lines only
// where they are full, so that each note is seen at once.
type pencil struct {
	w       io.Writer
	asked   *asked
	columns int
	column  int
}

// legend explains the marks.
const legend = "Marks: (A♮4 for A♭4) a wrong note, ^B♭4 one left out, /C4/ one too many."

// take writes what the follower told after the played note n.
func (p *pencil) take(f *align.Follower, n, key int, updates []align.Update) {
	_, reading, shift := f.Where()
	ref := p.asked.candidates[reading]
	replaced := 0
	for _, u := range updates {
		switch {
		case u.Revised && (u.Why == align.Again || u.Why == align.Repeat):
			replaced++
		case u.Verdict == align.Missing:
			p.write("^" + name(ref, u.Expected, shift))
		}
	}
	if replaced > 1 {
		p.line()
		p.write("again:")
	}
	for _, u := range updates {
		if u.Played == n {
			p.write(mark(ref, u.Pair, key, shift))
		}
	}
}

// mark is how one played note is written.
func mark(ref *references.Reference, pair align.Pair, key, shift int) string {
	switch pair.Verdict {
	case align.Correct:
		return name(ref, pair.Expected, shift)
	case align.Wrong:
		want := name(ref, pair.Expected, shift)
		return fmt.Sprintf("(%s for %s)", spelled(ref, key, ref.Notes[pair.Expected].Pitch.Name), want)
	}
	near := ref.Notes[0].Pitch.Name
	if pair.Near >= 0 {
		near = ref.Notes[pair.Near].Pitch.Name
	}
	return "/" + spelled(ref, key, near) + "/"
}

// name is the expected note i in the octave it is played in.
func name(ref *references.Reference, i, shift int) string {
	p := ref.Notes[i].Pitch
	p.Octave += int8(shift / 12)
	return p.String()
}

// spelled names a key as it is likely to be meant beside an expected note.
func spelled(ref *references.Reference, key int, want references.Name) string {
	p := references.Pitch{Name: ref.Spell(key, want)}
	p.Octave = int8((key - p.Key()) / 12)
	s := p.String()
	if p.Alter == 0 && want.Step == p.Step && want.Alter != 0 {
		s = fmt.Sprintf("%s♮%d", p.Step, p.Octave)
	}
	return s
}

func (p *pencil) write(word string) {
	width := utf8.RuneCountInString(word) + 1
	if p.column > 0 && p.column+width > p.columns {
		p.line()
	}
	if p.column == 0 {
		fmt.Fprint(p.w, "  ", word)
		p.column = 2 + width
		return
	}
	fmt.Fprint(p.w, " ", word)
	p.column += width
}

// line ends the line that is being written.
func (p *pencil) line() {
	if p.column > 0 {
		fmt.Fprintln(p.w)
		p.column = 0
	}
}
