package ear

import (
	"fmt"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/references"
	"evenhand/scoring"
)

// EchoVerdict is how a phrase was played back.
type EchoVerdict struct {
	Verdict
	Semitones  int                 // above what was heard; whole octaves are free
	Assessment *scoring.Assessment // nil where nothing was played
}

// The points of an echo, and when it is taken to be the right phrase from another note. Chosen by us.
const (
	echoNotes, echoTime = 60, 40
	otherNotePoints     = 30
	fewRight            = 0.5 // of the notes, at most, are right in any octave
	mostRight           = 0.8 // of the notes, at least, are right from the other note
)

// JudgeEcho marks a phrase that was played back, by aligning it with the phrase that was heard. Sixty
// points are for the notes, by the share that was right, an extra note taking half a note away; forty for
// the rhythm of those played. Any octave will do, and any tempo that is kept. The whole phrase begun on
// another note loses thirty points and is else judged like the right one. Where nothing was played there
// is no mark.
func (it Item) JudgeEcho(take *capture.Take) EchoVerdict {
	if it.Kind != Echo || it.Melody == nil {
		return EchoVerdict{Verdict: Verdict{Reason: "There was nothing to play back."}}
	}
	if take == nil || len(take.Notes) == 0 {
		return EchoVerdict{Verdict: Verdict{Reason: "Nothing was played."}}
	}
	ref := *it.Melody
	ref.Tempo, ref.Tempos = references.Tempo{}, nil // the pace is the pupil's own
	alignment := echoed(&ref, take)
	v := EchoVerdict{Semitones: alignment.RightShift}
	v.Assessment = scoring.Assess(alignment, scoring.Asked{Against: ref.Title}, scoring.ForLevel(scoringLevel(it.Level)))
	v.judge()
	return v
}

// echoed aligns the take with the phrase in the octave in which most notes are right, the nearest where
// two are alike; or from another note, where few are right in any octave and most from there.
func echoed(ref *references.Reference, take *capture.Take) *align.Alignment {
	best := align.Align(ref, take, 0, 0)
	try := func(semitones int) {
		if a := align.Align(ref, take, semitones, semitones); right(a) > right(best) {
			best = a
		}
	}
	for _, octaves := range []int{-1, 1, -2, 2, -3, 3} {
		try(12 * octaves)
	}
	notes := float64(len(ref.Notes))
	if float64(right(best)) > fewRight*notes {
		return best
	}
	octave := best
	for semitones := -30; semitones <= 30; semitones++ {
		try(semitones)
	}
	if float64(right(best)) < mostRight*notes {
		return octave
	}
	return best
}

// right counts the notes that were right.
func right(a *align.Alignment) int {
	n := 0
	for _, p := range a.Pairs {
		if p.Verdict == align.Correct {
			n++
		}
	}
	return n
}

// judge makes losses and the mark out of the assessment.
func (v *EchoVerdict) judge() {
	a := v.Assessment
	expected := float64(a.Counts.Expected)
	correct := float64(a.Counts.Correct)
	played := max(0, correct-float64(a.Counts.Extra)/2) / expected
	time := 0.0
	if a.Marks.Time != nil {
		time = float64(*a.Marks.Time)
	}
	if v.Semitones%12 != 0 {
		v.lose(otherNotePoints, float64(v.Semitones), 0, "semitones", chosen, "The phrase was begun on another note.")
	}
	if played < 1 {
		text := fmt.Sprintf("%d of %d notes were right", a.Counts.Correct, a.Counts.Expected)
		if why := v.worst("notes"); why != "" {
			text += ": " + lowerFirst(why)
		} else {
			text += "."
		}
		v.lose(echoNotes*(1-played), 100*played, 100, "percent of the notes", chosen, text)
	}
	struck := (correct + float64(a.Counts.Wrong)) / expected
	if t := time / 100 * struck; t < 1 {
		v.lose(echoTime*(1-t), 100*t, 100, "of 100", "the mark for time of a piece, times the share that was played", v.rhythmText())
	}
	v.Verdict = concluded(v.Losses, "Played back as it was heard.")
}

// worst is what the assessment has against the notes or the time first of all, or "".
func (v *EchoVerdict) worst(mark string) string {
	a := v.Assessment
	best := -1
	for i, l := range a.Losses {
		if l.Mark == mark && (best < 0 || l.Points > a.Losses[best].Points) {
			best = i
		}
	}
	if best < 0 {
		return ""
	}
	return a.Findings[a.Losses[best].Finding].Text
}

// rhythmText says what was amiss with the rhythm.
func (v *EchoVerdict) rhythmText() string {
	if text := v.worst("time"); text != "" {
		return text
	}
	if v.Assessment.Marks.Time == nil {
		return "Too few notes were right to tell the rhythm."
	}
	return "The rhythm counts for the notes that were played."
}
