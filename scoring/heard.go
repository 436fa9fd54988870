package scoring

import (
	"fmt"
	"strings"

	"evenhand/align"
	"evenhand/references"
)

var kindWords = map[references.Kind]string{
	references.Scale: "scale", references.Arpeggio: "arpeggio", references.BrokenChord: "broken chord",
	references.FiveFinger: "five-finger pattern", references.Triads: "triads", references.Cadence: "cadence",
}

var formWords = map[references.Form]string{
	references.Major: "major", references.Minor: "minor", references.NaturalMinor: "natural minor",
	references.HarmonicMinor: "harmonic minor", references.MelodicMinor: "melodic minor",
	references.MelodicRaised: "raised melodic minor",
	references.MixedMinor:    "mixed minor",
	references.Chromatic:     "chromatic", references.WholeTone: "whole-tone",
	references.DominantSeventh: "dominant seventh", references.DiminishedSeventh: "diminished seventh",
}

var handsWords = map[references.Hands]string{
	references.Together: "together", references.RightAlone: "right", references.LeftAlone: "left",
}

var motionWords = map[references.Motion]string{references.Similar: "similar", references.Contrary: "contrary"}

var apartWords = map[references.Apart]string{
	references.OctaveApart: "an octave apart", references.TwoOctavesApart: "two octaves apart",
	references.ThirdApart: "a third apart", references.SixthApart: "a sixth apart", references.TenthApart: "a tenth apart",
}

var doubleWords = map[references.Double]string{
	references.Single: "single notes", references.InThirds: "in thirds",
	references.InSixths: "in sixths", references.InOctaves: "in octaves",
}

var inversionWords = [...]string{"root position", "first inversion", "second inversion", "third inversion"}

// heard tells what the take turned out to be.
func heard(a *align.Alignment) Heard {
	h := Heard{AsAsked: a.AsAsked, What: a.Reference.Title}
	if q := a.Reference.Request; q != nil {
		h.Kind, h.Tonic, h.Form, h.Octaves = kindWords[q.Kind], q.Tonic.String(), formWords[q.Form], q.Octaves
		h.Hands = handsWords[q.Hands]
		if q.Hands == references.Together {
			h.Motion = motionWords[q.Motion]
		}
		h.Shift = &Shift{Right: a.RightShift / 12, Left: a.LeftShift / 12}
	}
	return h
}

// keyWords names tonic and form: "B flat major", "chromatic on D".
func keyWords(q *references.Request) string {
	switch q.Form {
	case references.Chromatic, references.WholeTone, references.DominantSeventh, references.DiminishedSeventh:
		return formWords[q.Form] + " on " + q.Tonic.Words()
	case references.MixedMinor:
		return q.Tonic.Words() + " minor in mixed forms, harmonic going up and natural coming down"
	}
	return q.Tonic.Words() + " " + formWords[q.Form]
}

func octavesWords(n int) string {
	if n == 1 {
		return "1 octave"
	}
	return fmt.Sprintf("%d octaves", n)
}

// handsAsked gives "hands together", "right hand".
func handsAsked(h references.Hands) string {
	switch h {
	case references.RightAlone:
		return "right hand"
	case references.LeftAlone:
		return "left hand"
	}
	return "hands together"
}

// otherwise says in one sentence what was played and what was asked, where they differ: "This was B
// major, 2 octaves; B flat major was asked."
func otherwise(was, asked *references.Request) string {
	this, that := []string{}, []string{}
	differ := func(is bool, w, a string) {
		if is {
			this, that = append(this, w), append(that, a)
		}
	}
	key := keyWords(was)
	differ(was.Tonic != asked.Tonic || was.Form != asked.Form, key, keyWords(asked))
	if len(this) == 0 {
		this = append(this, key)
	}
	differ(was.Kind != asked.Kind, kindWords[was.Kind], kindWords[asked.Kind])
	differ(was.Inversion != asked.Inversion, inversion(was), inversion(asked))
	differ(was.Double != asked.Double, doubleWords[was.Double], doubleWords[asked.Double])
	differ(was.Hands != asked.Hands, handsAsked(was.Hands), handsAsked(asked.Hands))
	differ(was.Motion != asked.Motion, motionWords[was.Motion]+" motion", motionWords[asked.Motion]+" motion")
	differ(was.Apart != asked.Apart && was.Motion == asked.Motion, apartWords[was.Apart], apartWords[asked.Apart])
	if was.Octaves != asked.Octaves {
		differ(true, octavesWords(was.Octaves), octavesWords(asked.Octaves))
	} else if was.Kind != references.FiveFinger && was.Kind != references.Cadence {
		this = append(this, octavesWords(was.Octaves))
	}
	if len(that) == 0 {
		that = append(that, "another pattern")
	}
	verb := "was"
	if len(that) == 1 && strings.HasSuffix(that[0], "octaves") {
		verb = "were"
	}
	return fmt.Sprintf("This was %s; %s %s asked.", strings.Join(this, ", "), strings.Join(that, ", "), verb)
}

func inversion(q *references.Request) string {
	if q.Inversion < 0 || q.Inversion >= len(inversionWords) {
		return ""
	}
	return inversionWords[q.Inversion]
}

// reading files what was heard, where that is worth a word: something else than was asked, the form
// of a minor scale that named none, hands two octaves apart.
func (l *ledger) reading(against string) {
	was, asked := l.Reference.Request, l.request
	if !l.AsAsked {
		f := Finding{Kind: NotAsAsked, Severity: Fault, Unit: "", Source: commonPractice, try: "Play it once more, as it was asked."}
		if was != nil && asked != nil {
			f.Text = otherwise(was, asked)
		} else {
			f.Text = fmt.Sprintf("This was %s; %s was asked.", l.Reference.Title, against)
		}
		l.add(f)
		return
	}
	if was == nil || asked == nil {
		return
	}
	if asked.Form == references.Minor && was.Form != references.Minor {
		l.add(Finding{
			Kind: FormHeard, Source: commonPractice,
			Text: fmt.Sprintf("The form that was heard is the %s, which is right where none is named.", formWords[was.Form]),
		})
	}
	if asked.Apart == references.OctaveApart && was.Apart == references.TwoOctavesApart {
		l.add(Finding{Kind: OtherRegister, Source: commonPractice, Text: "The hands were two octaves apart; one is usual, and two are accepted."})
	}
}
