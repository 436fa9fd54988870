package ink

import "strings"

// Signs are the characters a page is drawn with.
type Signs struct {
	Line, Bar            string    // of the staff
	Stop                 string    // where the playing stopped
	Hurry, Drag          string    // arrows over faster and slower playing
	Steady               string    // neither
	Scribble             string    // under what is uneven
	Caret, Stroke        string    // before a note left out; through one too many
	Open, Close          string    // a ring, round a wrong note
	Shade                string    // of a range that is asked
	Tick                 string    // a bar that is done
	Dot                  string    // a step in time
	Up, Down             string    // which way something changed
	Heights              [9]string // from nothing to a full row, for drawing amounts
	Sharp, Flat, Natural string
	ascii                bool
}

// Unicode are the signs for terminals that can show them.
var Unicode = Signs{
	Line: "─", Bar: "│", Stop: "╵", Hurry: "→", Drag: "←", Steady: "·", Scribble: "≈",
	Caret: "^", Stroke: "/", Open: "(", Close: ")", Shade: "░", Tick: "✓", Dot: "•", Up: "↑", Down: "↓",
	Heights: [9]string{" ", "▁", "▂", "▃", "▄", "▅", "▆", "▇", "█"},
	Sharp:   "♯", Flat: "♭", Natural: "♮",
}

// ASCII are the signs for all others.
var ASCII = Signs{
	Line: "-", Bar: "|", Stop: "!", Hurry: ">", Drag: "<", Steady: ".", Scribble: "~",
	Caret: "^", Stroke: "/", Open: "(", Close: ")", Shade: ":", Tick: "v", Dot: "o", Up: "+", Down: "-",
	Heights: [9]string{" ", "1", "2", "3", "4", "5", "6", "7", "8"},
	Sharp:   "#", Flat: "b", Natural: "n", ascii: true,
}

// plain is how signs that other parts of the program write are shown in ASCII.
var plain = strings.NewReplacer(
	"♯", "#", "♭", "b", "♮", "n", "𝄪", "x", "𝄫", "bb", "→", ">", "←", "<", "–", "-", "—", "-", "’", "'", "…", "...", "♩", "crotchet", "½", "1/2", "×", "x",
)

// single writes double signs with characters that every font has.
var single = strings.NewReplacer("𝄪", "x", "𝄫", "♭♭")

// Text is text of other parts of the program, in the signs of this page.
func (s *Signs) Text(text string) string {
	if s.ascii {
		return strings.Map(func(r rune) rune {
			if r > 126 {
				return '?'
			}
			return r
		}, plain.Replace(text))
	}
	return single.Replace(text)
}

// Alter is an accidental, by semitones; natural writes the natural sign too.
func (s *Signs) Alter(alter int8, natural bool) string {
	switch {
	case alter == 0 && natural:
		return s.Natural
	case alter == 2:
		return "x"
	case alter > 0:
		return strings.Repeat(s.Sharp, int(alter))
	case alter < 0:
		return strings.Repeat(s.Flat, int(-alter))
	}
	return ""
}
