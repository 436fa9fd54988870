package repertoire

import (
	"strings"
	"unicode"
)

// plain gives the letters of western languages without their accents, and with them some that are
// written with two.
var plain = func() map[rune]string {
	out := map[rune]string{'æ': "ae", 'œ': "oe", 'ß': "ss", 'ø': "o", 'ł': "l", 'đ': "d", 'ð': "d", 'þ': "th", 'ı': "i"}
	for letter, accented := range map[string]string{
		"a": "àáâãäåāăą", "c": "çćĉċč", "d": "ď", "e": "èéêëēĕėęě", "g": "ĝğġģ", "h": "ĥħ", "i": "ìíîïĩīĭį", "j": "ĵ",
		"k": "ķ", "l": "ĺļľŀ", "n": "ñńņňŉ", "o": "òóôõöōŏő", "r": "ŕŗř", "s": "śŝşšș", "t": "ţťŧț", "u": "ùúûüũūŭůűų",
		"w": "ŵ", "y": "ýÿŷ", "z": "źżž",
	} {
		for _, r := range accented {
			out[r] = letter
		}
	}
	return out
}()

// fold is a title as it is compared: lower case, without accents and apostrophes, every run of other
// signs a space.
func fold(s string) string {
	var b strings.Builder
	space := false
	for _, r := range s {
		r = unicode.ToLower(r)
		switch {
		case unicode.Is(unicode.Mn, r) || r == '\'' || r == '’':
		case unicode.IsLetter(r) || unicode.IsDigit(r):
			if space && b.Len() > 0 {
				b.WriteByte(' ')
			}
			space = false
			if p, ok := plain[r]; ok {
				b.WriteString(p)
			} else {
				b.WriteRune(r)
			}
		default:
			space = true
		}
	}
	return b.String()
}
