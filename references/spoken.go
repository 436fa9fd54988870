package references

import (
	"strconv"
	"strings"
)

// Spoken is the request as one would call for it at the piano: "B flat major, hands together, contrary
// motion, two octaves. Piano." What is taken for granted (a scale, similar motion, legato) is left out.
func (r Request) Spoken() string {
	parts := r.what(r.Start != AnyStart)
	if r.Kind == Scale && r.Form < Chromatic {
		parts[0] = strings.TrimSuffix(parts[0], " "+kindWords[Scale])
	}
	said := parts[:0]
	for _, p := range parts {
		switch p {
		case motionWords[Similar]:
			continue
		case octaveWords(r.Octaves):
			p = strings.Replace(p, strconv.Itoa(r.Octaves), numeral(r.Octaves), 1)
		}
		said = append(said, p)
	}
	sentences := []string{strings.Join(said, ", ")}
	if r.Touch.Right == Staccato || r.Touch.Left == Staccato {
		right, left := max(r.Touch.Right, Legato).String(), max(r.Touch.Left, Legato).String()
		sentences = append(sentences, strings.Join(eachHand(r.Touch.Same(), right, left), ", "))
	}
	if dynamic := eachHand(r.Dynamic.Same(), r.Dynamic.Right.Words(), r.Dynamic.Left.Words()); len(dynamic) > 0 {
		sentences = append(sentences, strings.Join(dynamic, ", "))
	}
	if r.Shape != NoShape {
		sentences = append(sentences, shapeWords[r.Shape])
	}
	if tempo := r.spokenTempo(); tempo != "" {
		sentences = append(sentences, tempo)
	}
	for i, s := range sentences {
		sentences[i] = strings.ToUpper(s[:1]) + s[1:] + "."
	}
	return strings.Join(sentences, " ")
}

func (r *Request) spokenTempo() string {
	var parts []string
	if r.BPM != 0 {
		bpm := strconv.FormatFloat(r.BPM, 'f', -1, 64)
		if beat := beatWords[r.BeatLength]; beat != "" {
			parts = append(parts, beat+" equals "+bpm)
		} else {
			parts = append(parts, bpm+" beats a minute")
		}
	}
	switch {
	case r.NotesPerBeat == 1:
		parts = append(parts, "one note to the beat")
	case r.NotesPerBeat > 1:
		parts = append(parts, numeral(r.NotesPerBeat)+" notes to the beat")
	}
	return strings.Join(parts, ", ")
}

// numeral is a small number in letters.
func numeral(n int) string {
	for word, v := range numberWords {
		if v == float64(n) {
			return word
		}
	}
	return strconv.Itoa(n)
}
