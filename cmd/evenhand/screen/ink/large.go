package ink

import "strings"

// letters are capital letters and figures of five rows, drawn by us, three dots wide and up to five.
var letters = map[rune]string{
	'A': ".#./#.#/###/#.#/#.#", 'B': "##./#.#/##./#.#/##.", 'C': ".##/#../#../#../.##",
	'D': "##./#.#/#.#/#.#/##.", 'E': "###/#../##./#../###", 'F': "###/#../##./#../#..",
	'G': ".###/#.../#.##/#..#/.###", 'H': "#.#/#.#/###/#.#/#.#", 'I': "#/#/#/#/#",
	'J': "..#/..#/..#/#.#/.#.", 'K': "#..#/#.#./##../#.#./#..#", 'L': "#../#../#../#../###",
	'M': "#...#/##.##/#.#.#/#...#/#...#", 'N': "#..#/##.#/#.##/#..#/#..#", 'O': ".##./#..#/#..#/#..#/.##.",
	'P': "##./#.#/##./#../#..", 'Q': ".##./#..#/#..#/#.##/.###", 'R': "##./#.#/##./#.#/#.#",
	'S': ".##/#../.#./..#/##.", 'T': "###/.#./.#./.#./.#.", 'U': "#..#/#..#/#..#/#..#/.##.",
	'V': "#.#/#.#/#.#/#.#/.#.", 'W': "#...#/#...#/#.#.#/##.##/#...#", 'X': "#.#/#.#/.#./#.#/#.#",
	'Y': "#.#/#.#/.#./.#./.#.", 'Z': "###/..#/.#./#../###", ' ': "../../../../..",
	'0': ".#./#.#/#.#/#.#/.#.", '1': ".#/##/.#/.#/.#", '2': "##./..#/.#./#../###", '3': "##./..#/.#./..#/##.",
	'4': "#.#/#.#/###/..#/..#", '5': "###/#../##./..#/##.", '6': ".##/#../##./#.#/.#.", '7': "###/..#/.#./.#./.#.",
	'8': ".#./#.#/.#./#.#/.#.", '9': ".#./#.#/.##/..#/##.", '-': ".../.../###/.../...", '\'': "#/#/././.",
}

// halves are two dots over one another, in one character.
var halves = map[string]string{"..": " ", "#.": "▀", ".#": "▄", "##": "█"}

// Large writes words in large letters, to be read from the piano, in as many lines as they need, and
// returns how many rows they took. ASCII has no characters to draw them with: there the letters stand
// apart. So it is too with letters that have no large form.
func (s *Signs) Large(p *Paper, x, y int, words string) int {
	text := strings.ToUpper(words)
	rows := 0
	var line []string
	flush := func() {
		if len(line) == 0 {
			return
		}
		rows += s.largeLine(p, x, y+rows, strings.Join(line, " "))
		line = nil
	}
	for _, word := range strings.Fields(text) {
		if len(line) > 0 && x+s.largeWidth(strings.Join(append(line[:len(line):len(line)], word), " ")) > p.width {
			flush()
		}
		line = append(line, word)
	}
	flush()
	return rows
}

func (s *Signs) largeWidth(text string) int {
	w := 0
	for _, r := range text {
		w += len(s.letter(r)[0]) + 1
	}
	return w
}

// letter is the rows of dots of a letter.
func (s *Signs) letter(r rune) []string {
	dots, ok := letters[r]
	if !ok || s.ascii {
		return []string{"?"}
	}
	return strings.Split(dots, "/")
}

func (s *Signs) largeLine(p *Paper, x, y int, text string) int {
	for _, r := range text {
		if _, ok := letters[r]; !ok || s.ascii {
			p.Write(x, y+1, Strong, strings.Join(strings.Split(text, ""), " "))
			return 3
		}
	}
	for _, r := range text {
		dots := s.letter(r)
		for row := 0; row < len(dots); row += 2 {
			for c := range dots[row] {
				low := byte('.')
				if row+1 < len(dots) {
					low = dots[row+1][c]
				}
				p.Write(x+c, y+row/2, Strong, halves[string([]byte{dots[row][c], low})])
			}
		}
		x += len(dots[0]) + 1
	}
	return 3
}
