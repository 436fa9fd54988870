package main

import (
	"fmt"
	"io"
	"math"
	"strings"

	"evenhand/scoring"
)

// writeVerdict tells an assessment to people: what to do next first, then the marks, then the
// evidence.
func writeVerdict(w io.Writer, a *scoring.Assessment) error {
	fmt.Fprintf(w, "take      %s\n", plain(a.Take)) // a name is not to be wrapped
	heading := []fact{{"asked", a.Against}}
	if !a.Heard.AsAsked || !strings.HasPrefix(a.Against, a.Heard.What) {
		heading = append(heading, fact{"heard", a.Heard.What})
	}
	return writeFacts(w, heading, a)
}

// writePassage tells the assessment of a passage of free practice, for which nothing was asked.
func writePassage(w io.Writer, a *scoring.Assessment) error {
	var from, to float64
	for _, n := range a.Notes {
		if n.Played != nil {
			if to == 0 {
				from = n.Played.Onset
			}
			to = max(to, n.Played.Onset+n.Played.Length)
		}
	}
	return writeFacts(w, []fact{{"heard", fmt.Sprintf("%s, from %.1f s to %.1f s", a.Heard.What, from, to)}}, a)
}

// fact is one line of a verdict.
type fact struct{ about, text string }

func writeFacts(w io.Writer, heading []fact, a *scoring.Assessment) error {
	var b strings.Builder
	columns := columnsOf(w)
	list := func(facts []fact) {
		last := ""
		for _, f := range facts {
			if f.about == last {
				f.about = ""
			} else {
				last = f.about
			}
			wrap(&b, columns, fmt.Sprintf("%-9s ", f.about), f.text)
		}
	}
	list(heading)
	b.WriteByte('\n')
	for _, r := range a.Remarks {
		wrap(&b, columns, "  - ", r)
	}
	if len(a.Remarks) > 0 {
		b.WriteByte('\n')
	}
	list(append([]fact{{"marks", marksText(a.Marks)}}, evidence(a)...))
	_, err := io.WriteString(w, b.String())
	return err
}

func marksText(m scoring.Marks) string {
	show := func(v *int) string {
		if v == nil {
			return "-"
		}
		return fmt.Sprint(*v)
	}
	if m.Overall == nil && m.Notes == nil {
		return "none"
	}
	return fmt.Sprintf("notes %s, time %s, sound %s, overall %s of 100; no official result",
		show(m.Notes), show(m.Time), show(m.Sound), show(m.Overall))
}

// evidence lists what was measured; what was not is left out.
func evidence(a *scoring.Assessment) []fact {
	facts := []fact{{"notes", countText(a)}}
	if t := a.Tempo; t != nil {
		facts = append(facts, fact{"tempo", tempoText(t, a.Settings.Limits.DriftNoticePercent)})
	}
	for _, e := range a.Evenness {
		if e.SD != nil && e.CV != nil {
			facts = append(facts, fact{"evenness", evennessText(&e)})
		}
	}
	if d := a.Dynamics; d != nil {
		facts = append(facts, fact{"loudness", dynamicsText(d)})
	}
	if t := a.Together; t != nil {
		facts = append(facts, fact{"together", togetherText(t)})
	}
	if t := a.Touch; t != nil {
		facts = append(facts, fact{"touch", touchText(t)})
	}
	if f := flowText(&a.Flow); f != "" {
		facts = append(facts, fact{"flow", f})
	}
	return facts
}

func countText(a *scoring.Assessment) string {
	c := a.Counts
	s := fmt.Sprintf("%d of %d right", c.Correct, c.Expected)
	for _, part := range []struct {
		n    int
		what string
	}{{c.Wrong, "wrong"}, {c.Missing, "left out"}, {c.Extra, "extra"}} {
		if part.n > 0 {
			s += fmt.Sprintf(", %d %s", part.n, part.what)
		}
	}
	whys := map[string]int{}
	var order []string
	for _, n := range a.Notes {
		if n.Why != "" {
			if whys[n.Why] == 0 {
				order = append(order, n.Why)
			}
			whys[n.Why]++
		}
	}
	var parts []string
	for _, w := range order {
		parts = append(parts, fmt.Sprintf("%d %s", whys[w], whyWords[w]))
	}
	if len(parts) > 0 {
		s += " (" + strings.Join(parts, ", ") + ")"
	}
	return s
}

// whyWords says in lesson words how extra notes came about.
var whyWords = map[string]string{
	"slip": "brushed beside the right key", "repeat": "struck again", "restart": "before a fresh start",
	"corrected": "put right at once", "before": "tried before the start, not counted",
	"ornament": "of an ornament", "unheard": "hardly sounded, not counted", "other": "besides what is written",
}

// beatText is a beat as a metronome mark has it, in the sign of the note where typefaces have one.
func beatText(beat string) string {
	switch beat {
	case "quarter":
		return "♩"
	case "dotted quarter":
		return "♩."
	case "eighth":
		return "♪"
	case "dotted eighth":
		return "♪."
	}
	if strings.HasSuffix(beat, "quarters") {
		return beat
	}
	return beat + " note"
}

// driftText says how the tempo changed; what is below notice is steady.
func driftText(percent, notice float64) string {
	how := "faster"
	if percent < 0 {
		how = "slower"
	}
	change := fmt.Sprintf("%.1f %% %s at the end", math.Abs(percent), how)
	switch {
	case math.Abs(percent) < 0.5:
		return "steady"
	case math.Abs(percent) < notice:
		return "steady (" + change + ")"
	case percent > 0:
		return change + " (→)"
	}
	return change + " (←)"
}

func tempoText(t *scoring.Tempo, notice float64) string {
	s := fmt.Sprintf("%s = %.0f", beatText(t.Beat), t.BPM)
	if t.NotesPerSecond != nil {
		s += fmt.Sprintf(", %.1f notes a second", *t.NotesPerSecond)
	}
	if t.Asked != nil {
		s += fmt.Sprintf("; asked %.0f: %s", *t.Asked, t.Verdict)
	}
	if t.DriftPercent != nil {
		s += "; " + driftText(*t.DriftPercent, notice)
	}
	return s
}

func evennessText(e *scoring.Evenness) string {
	s := fmt.Sprintf("%s hand %s: %.0f ms a note, ± %.1f ms (%.1f %%)", e.Hand, e.Direction, e.IOI, *e.SD, *e.CV)
	if e.Audible != nil && !*e.Audible {
		return s + ", not audible"
	}
	if w := e.Worst; w != nil {
		s += fmt.Sprintf("; furthest off %s, by %+.0f ms", w.Notes, w.Deviation)
		if w.Fingers != "" {
			s += fmt.Sprintf(" (usual fingers %s)", w.Fingers)
		}
	}
	return s
}

func dynamicsText(d *scoring.Dynamics) string {
	s := fmt.Sprintf("heard %s (key velocity %.0f)", d.Heard, d.MedianVelocity)
	if d.Asked != nil {
		how := d.Verdict
		if how == "as asked" && d.Heard != *d.Asked {
			how = "near enough"
		}
		s = fmt.Sprintf("asked %s, %s: %s", *d.Asked, s, how)
	}
	if d.Balance != nil {
		switch b := *d.Balance; {
		case b >= 0.5:
			s += fmt.Sprintf("; left hand louder by %.0f", b)
		case b <= -0.5:
			s += fmt.Sprintf("; right hand louder by %.0f", -b)
		}
	}
	return s
}

func togetherText(t *scoring.Together) string {
	s := "hands exactly together"
	switch {
	case t.Mean >= 0.5:
		s = fmt.Sprintf("left hand %.0f ms after the right", t.Mean)
	case t.Mean <= -0.5:
		s = fmt.Sprintf("left hand %.0f ms before the right", -t.Mean)
	}
	if t.SD != nil {
		s += fmt.Sprintf(", ± %.0f ms", *t.SD)
	}
	return s
}

func touchText(t *scoring.Touch) string {
	s := "heard " + t.Heard
	if t.Asked != nil {
		s = fmt.Sprintf("asked %s, %s", *t.Asked, s)
	}
	if t.Pedal {
		s += "; the pedal was down"
	}
	return s
}

func flowText(f *scoring.Flow) string {
	var parts []string
	count := func(n int, one, many string) {
		switch {
		case n == 1:
			parts = append(parts, one)
		case n > 1:
			parts = append(parts, fmt.Sprintf(many, n))
		}
	}
	count(len(f.Restarts), "one fresh start", "%d fresh starts")
	count(len(f.Repeats), "went back once", "went back %d times")
	count(len(f.Hesitations), "stopped for a moment once", "stopped for a moment %d times")
	count(len(f.Skips), "one passage left out", "%d passages left out")
	return strings.Join(parts, ", ")
}
