package questions

import (
	"fmt"
	"strings"

	"evenhand/references"
)

// intervalNumbers are the names by the number of letters from one note to the other, less one.
var intervalNumbers = []string{"unison", "second", "third", "fourth", "fifth", "sixth", "seventh", "octave"}

// natural is the size in semitones of the perfect and major intervals.
var natural = []int{0, 2, 4, 5, 7, 9, 11, 12}

// perfect reports whether an interval of so many letters is perfect where it is natural.
func perfect(steps int) bool { return steps == 0 || steps == 3 || steps == 4 || steps == 7 }

// quality is the quality of an interval, "" for one that is beyond what is asked.
func quality(steps, semitones int) string {
	d := semitones - natural[steps]
	switch {
	case d == 1:
		return "augmented"
	case d == 0 && perfect(steps):
		return "perfect"
	case d == 0:
		return "major"
	case d == -1 && perfect(steps):
		return "diminished"
	case d == -1:
		return "minor"
	case d == -2 && !perfect(steps):
		return "diminished"
	}
	return ""
}

// intervals asks for the interval from a note on a beat to the next one, and between the two notes of
// a chord. Neither unisons nor what is wider than an octave are asked.
func intervals(s *score) []candidate {
	var out []candidate
	s.spots(func(p spot) {
		st := p.staves[p.hand]
		if p.rest() {
			return
		}
		where := fmt.Sprintf("In bar %s%s, ", p.Number, s.inHand(p.hand))
		switch {
		case len(p.notes) == 2:
			text := where + "what is the interval between the two notes on " + p.bar.beatName(p.beat) + "?"
			out = append(out, interval(p, p.notes[0], p.notes[1], text)...)
		case p.lone() && p.at+1 < len(st.columns) && !st.grace && st.columns[p.at+1].lone():
			next := st.columns[p.at+1].first()
			text := where + "what is the interval between the note on " + p.bar.beatName(p.beat) + " and the next note?"
			out = append(out, interval(p, p.first(), next, text)...)
		}
	})
	return out
}

// interval asks for the number of an interval, and for its quality too.
func interval(p spot, from, to *references.Printed, text string) []candidate {
	low, high := from.Pitch, to.Pitch
	if diatonic(high) < diatonic(low) {
		low, high = high, low
	}
	steps, semitones := diatonic(high)-diatonic(low), high.Key()-low.Key()
	if steps < 1 || steps > 7 || to.TieStop || semitones <= 0 {
		return nil
	}
	place := p.bar.place(to)
	name := intervalNumbers[steps]
	count := candidate{
		Question: Question{
			Kind: Interval, Text: strings.Replace(text, "what is the interval", "what interval, by its number, is there", 1), Where: p.bar.place(from), To: &place,
			Answer: name, Accepted: []string{number(steps + 1), fmt.Sprint(steps + 1), "a " + name},
			Because: fmt.Sprintf("Count the letters, both notes with them: %s.", letters(low.Step, steps)),
		},
		from: 2, to: 4, about: fmt.Sprintf("interval %s %s", low, high), even: true,
	}
	if steps == 7 {
		count.Accepted = append(count.Accepted, "eighth")
	}
	for _, d := range []int{-1, 1, 2, -2, 3} {
		if w := steps + d; w >= 1 && w < len(intervalNumbers) {
			count.wrong = append(count.wrong, intervalNumbers[w])
		}
	}
	kind := quality(steps, semitones)
	if kind == "" {
		return []candidate{count}
	}
	full := count
	full.Text, full.Answer, full.from, full.to, full.wrong = text, kind+" "+name, 5, 8, nil
	full.Accepted = []string{"a " + kind + " " + name}
	if short := map[string]string{"augmented": "aug", "diminished": "dim", "perfect": "perf"}[kind]; short != "" {
		full.Accepted = append(full.Accepted, short+" "+name)
	}
	if kind == "perfect" && steps == 7 {
		full.Accepted = append(full.Accepted, "octave", "eighth", "perfect eighth")
	}
	if semitones == 6 {
		full.Accepted = append(full.Accepted, "tritone", "a tritone")
	}
	full.Because = fmt.Sprintf("%s to %s is a %s by its letters, and %s wide.", low.Name, high.Name, name, plural(semitones, "semitone"))
	for _, w := range []struct{ steps, semitones int }{
		{steps, semitones - 1},
		{steps, semitones + 1},
		{steps - 1, natural[max(steps-1, 0)]},
		{min(steps+1, 7), natural[min(steps+1, 7)]},
		{max(steps-1, 1), natural[max(steps-1, 1)] - 1},
		{min(steps+1, 7), natural[min(steps+1, 7)] - 1},
	} {
		if k := quality(w.steps, w.semitones); k != "" && w.steps > 0 && w.semitones > 0 {
			full.wrong = append(full.wrong, k+" "+intervalNumbers[w.steps])
		}
	}
	return []candidate{count, full}
}

// diatonic counts the letters from C0 up.
func diatonic(p references.Pitch) int { return 7*int(p.Octave) + int(p.Step) }

// letters are the letters from one up to another: "C D E".
func letters(from references.Step, steps int) string {
	var out []string
	for i := range steps + 1 {
		out = append(out, references.Step((int(from)+i)%7).String())
	}
	return strings.Join(out, " ")
}
