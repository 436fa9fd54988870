package references

import (
	"strings"
	"unicode"
)

// token is one word, number or sign of a request.
type token struct {
	text   string // as written
	word   string // in lower case, with plain signs
	clause int    // commas before it
}

// signs are musical and other signs, as the words they stand for.
var signs = strings.NewReplacer(
	"♩.", " dotted crotchet ", "♪.", " dotted quaver ", "♩", " crotchet ", "♪", " quaver ",
	"𝅝", " semibreve ", "𝅗𝅥", " minim ", "𝅘𝅥", " crotchet ", "𝅘𝅥𝅮", " quaver ",
	" ♭", "b", " ♯", "#", "𝄫", "bb", "𝄪", "##", "♭", "b", "♯", "#", "♮", " natural ",
	"=", " = ", "–", " ", "—", " ", "-", " ", "‑", " ", "/", " ", "+", " and ", "&", " and ",
	"(", " ", ")", " ", ":", " ", "\"", " ", "“", " ", "”", " ", "’", "'", "!", ".", ";", " , ", ",", " , ",
)

// tokens cuts a request into words. A full stop counts as a comma, but not in a decimal number.
func tokens(words string) []token {
	var out []token
	clause := 0
	for _, field := range strings.Fields(signs.Replace(words)) {
		if field == "," {
			clause++
			continue
		}
		for _, piece := range pieces(field) {
			if piece == "." {
				clause++
				continue
			}
			out = append(out, token{text: piece, word: strings.ToLower(piece), clause: clause})
		}
	}
	return out
}

// pieces cuts "2oct" into a number and a word, and full stops off words; "2nd" and "72.5" stay whole.
func pieces(field string) []string {
	var out []string
	for len(field) > 0 {
		n := 0
		for n < len(field) && (field[n] >= '0' && field[n] <= '9' || field[n] == '.' && n > 0 && n+1 < len(field) && field[n+1] >= '0' && field[n+1] <= '9') {
			n++
		}
		switch {
		case n == 0 && field[0] == '.':
			n = 1
		case n == 0 || ordinalEnding(field[n:]):
			if dot := strings.IndexByte(field[n:], '.'); dot >= 0 {
				n += dot
			} else {
				n = len(field)
			}
		}
		out = append(out, field[:n])
		field = field[n:]
	}
	return out
}

func ordinalEnding(s string) bool {
	s = strings.ToLower(strings.TrimRightFunc(s, unicode.IsPunct))
	return s == "st" || s == "nd" || s == "rd" || s == "th" || s == "ve" || s == "ves"
}
