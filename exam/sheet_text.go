package exam

import (
	"fmt"
	"io"
	"strings"
	"unicode/utf8"
)

// WriteText writes the sheet in lines of so many columns.
func (s *MarkSheet) WriteText(w io.Writer, columns int) error {
	p := sheetText{columns: max(columns, 24)}
	p.lines("", fmt.Sprintf("Mark sheet of a mock exam: %s, paper %d", s.List, s.Seed))
	p.lines("", s.Says)
	if who := strings.Trim(s.Pupil+", "+s.Date, ", "); who != "" {
		p.lines("", who)
	}
	for i := range s.Sections {
		p.section(&s.Sections[i])
	}
	p.lines("", "")
	p.lines("", s.totalLine())
	if s.Words != "" {
		p.lines("", s.Words)
	}
	if len(s.Notes) > 0 {
		p.lines("", "")
	}
	for _, n := range s.Notes {
		p.lines("", n)
	}
	_, err := io.WriteString(w, p.String())
	return err
}

func (s *MarkSheet) totalLine() string {
	if s.Total == nil {
		return "Total: nothing is marked yet."
	}
	line := fmt.Sprintf("Total: %d of 100 points.", *s.Total)
	switch {
	case s.Unmarked == 1:
		line += " One part has no mark yet, and is in no total."
	case s.Unmarked > 1:
		line += fmt.Sprintf(" %d parts have no mark yet, and are in no total.", s.Unmarked)
	}
	if s.Seconds > 0 {
		line += " It took " + clock(s.Seconds) + "."
	}
	return line
}

// sheetText gathers the lines.
type sheetText struct {
	strings.Builder
	columns int
}

func (p *sheetText) section(s *SheetSection) {
	p.lines("", "")
	if s.Points == nil {
		p.lines("", fmt.Sprintf("%s: not marked", s.Title))
	} else {
		p.lines("", fmt.Sprintf("%s: %.1f of %.1f points", s.Title, *s.Points, s.Weight))
	}
	for i := range s.Parts {
		part := &s.Parts[i]
		p.lines(fmt.Sprintf("%3d. ", part.Number), part.Asked)
		p.lines("     ", part.markLine())
		for _, r := range part.Reasons {
			p.lines("     - ", r)
		}
		if part.Words != "" {
			p.lines("     ", "The teacher: “"+strings.Join(strings.Fields(part.Words), " ")+"”")
		}
	}
}

// markLine is the marks of a part in a sentence.
func (p *SheetPart) markLine() string {
	var line string
	switch {
	case p.Teacher != nil && p.Proposed != nil:
		line = fmt.Sprintf("Mark %d by the teacher; %d was proposed.", *p.Teacher, *p.Proposed)
	case p.Teacher != nil:
		line = fmt.Sprintf("Mark %d by the teacher.", *p.Teacher)
	case p.Proposed != nil:
		line = fmt.Sprintf("Mark %d is proposed.", *p.Proposed)
	default:
		line = "No mark."
	}
	if p.Seconds > 0 {
		line += " " + clock(p.Seconds) + "."
	}
	return line
}

// clock is a time as a clock shows it: "1 min 20 s".
func clock(seconds float64) string {
	n := int(seconds + 0.5)
	if n < 60 {
		return fmt.Sprintf("%d s", n)
	}
	return fmt.Sprintf("%d min %d s", n/60, n%60)
}

// lines sets a paragraph. The first line begins with head and the others with as many blanks.
func (p *sheetText) lines(head, text string) {
	line, empty := head, true
	for _, word := range strings.Fields(printable(text)) {
		if !empty && utf8.RuneCountInString(line)+1+utf8.RuneCountInString(word) > p.columns {
			fmt.Fprintln(p, line)
			line, empty = strings.Repeat(" ", utf8.RuneCountInString(head)), true
		}
		if !empty {
			line += " "
		}
		line += word
		empty = false
	}
	fmt.Fprintln(p, strings.TrimRight(line, " "))
}

// printable leaves out control characters, which could steer a terminal.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t':
			return ' '
		case r < ' ' || r >= 0x7f && r < 0xa0:
			return -1
		}
		return r
	}, s)
}
