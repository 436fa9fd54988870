package references

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// String is the part in words that [ParsePart] reads: "bars 9 to 16, left hand, at 60".
func (p Part) String() string {
	var words []string
	switch {
	case p.First != "" && p.First == p.Last:
		words = append(words, "bar "+p.First)
	case p.First != "" && p.Last != "":
		words = append(words, fmt.Sprintf("bars %s to %s", p.First, p.Last))
	case p.First != "":
		words = append(words, fmt.Sprintf("from bar %s", p.First))
	case p.Last != "":
		words = append(words, fmt.Sprintf("to bar %s", p.Last))
	}
	if p.Hand == Right || p.Hand == Left {
		words = append(words, p.Hand.String()+" hand")
	}
	if p.BPM != 0 {
		words = append(words, "at "+strconv.FormatFloat(p.BPM, 'f', -1, 64))
	}
	return strings.Join(words, ", ")
}

var (
	barsWords  = regexp.MustCompile(`(?i)^bars? (\S+?)(?: ?(?:-|–|to) ?(\S+))?$`)
	fromWords  = regexp.MustCompile(`(?i)^from bar (\S+)$`)
	toWords    = regexp.MustCompile(`(?i)^to bar (\S+)$`)
	handWords  = regexp.MustCompile(`(?i)^(left|right) hand$`)
	paceWords  = regexp.MustCompile(`(?i)^at (\d+(?:\.\d+)?)$`)
	barNumbers = regexp.MustCompile(`^([^\s–-]*)(?:(-|–)([^\s–-]*))?$`)
)

// ParsePart takes the words for a part off the end of what is asked for: "Evening Tide, bars 9 to 16,
// left hand" is "Evening Tide" and the part. Where there are none, all is left and the part is zero.
func ParsePart(words string) (rest string, p Part) {
	rest = strings.TrimSpace(words)
	for {
		i := strings.LastIndexByte(rest, ',')
		if i < 0 || !p.read(strings.Join(strings.Fields(rest[i+1:]), " ")) {
			return rest, p
		}
		rest = strings.TrimSpace(rest[:i])
	}
}

// read takes in one clause of the words for a part, unless it has been said already.
func (p *Part) read(clause string) bool {
	bars := p.First == "" && p.Last == ""
	if m := barsWords.FindStringSubmatch(clause); m != nil && bars {
		p.First, p.Last = m[1], m[2]
		if p.Last == "" {
			p.Last = p.First
		}
		return true
	}
	if m := fromWords.FindStringSubmatch(clause); m != nil && bars {
		p.First = m[1]
		return true
	}
	if m := toWords.FindStringSubmatch(clause); m != nil && bars {
		p.Last = m[1]
		return true
	}
	if m := handWords.FindStringSubmatch(clause); m != nil && p.Hand == NoHand {
		p.Hand, _ = HandNamed(m[1])
		return true
	}
	if m := paceWords.FindStringSubmatch(clause); m != nil && p.BPM == 0 {
		// Digits and a point are a number; one too great for the piano is told by [Reference.Part].
		p.BPM, _ = strconv.ParseFloat(m[1], 64)
		return true
	}
	return false
}

// HandNamed is the hand of this name, "left" or "right", and whether there is one.
func HandNamed(name string) (Hand, bool) {
	switch strings.ToLower(strings.TrimSpace(name)) {
	case "left":
		return Left, true
	case "right":
		return Right, true
	}
	return NoHand, false
}

// BarsNamed reads printed numbers of bars: "9-16", "9" for one alone, "9-" and "-16" with an open end.
func BarsNamed(words string) (first, last string, ok bool) {
	m := barNumbers.FindStringSubmatch(strings.TrimSpace(words))
	switch {
	case m == nil || m[1] == "" && m[3] == "":
		return "", "", false
	case m[2] == "":
		return m[1], m[1], true
	}
	return m[1], m[3], true
}
