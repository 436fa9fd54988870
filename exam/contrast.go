package exam

import (
	"fmt"
	"slices"

	"evenhand/scoring"
)

// contrast is how far apart soft and loud requests of one sitting were, in MIDI velocity. On a piano that
// was never measured a level has no velocity of its own, so that what was asked softly is judged against
// what was asked loudly: markings are no fixed loudness (Kosta et al. (2016), J. Mathematics and Music
// 10(2)).
type contrast struct {
	known bool
	units float64 // median of the loud ones less median of the soft ones
	least float64 // what is heard for certain: twice the upper just noticeable difference, see scoring.Limits
}

// contrastOf compares the requests of a paper. It is unknown where not both were heard, and where the
// piano was measured.
func contrastOf(p *Paper, evidence []Evidence) contrast {
	var quiet, loud []float64
	c := contrast{}
	for i := range p.Parts {
		a := evidence[i].Assessment
		if p.Parts[i].Kind != Request || a == nil || a.Dynamics == nil || !a.Heard.AsAsked {
			continue
		}
		asked := p.Parts[i].Request.Request.Dynamic
		if !asked.Same() || asked.Right == 0 {
			continue
		}
		if a.Settings.Calibration != nil {
			return contrast{}
		}
		c.least = a.Settings.Limits.SwellUnits
		if soft(asked.Right) {
			quiet = append(quiet, a.Dynamics.MedianVelocity)
		} else {
			loud = append(loud, a.Dynamics.MedianVelocity)
		}
	}
	if len(quiet) > 0 && len(loud) > 0 {
		c.known, c.units = true, median(loud)-median(quiet)
	}
	return c
}

// String is what was heard, in a sentence.
func (c contrast) String() string {
	switch {
	case c.units >= c.least:
		return fmt.Sprintf("Soft and loud scales and arpeggios are told apart: %.0f of 127 units of key velocity between them.", c.units)
	case c.units > 0:
		return fmt.Sprintf("Soft and loud scales and arpeggios are hardly told apart: %.0f of 127 units of key velocity between them.", c.units)
	}
	return "What was asked softly was played no softer than what was asked loudly."
}

// noContrast is what a soft request loses that is hardly softer than the loud ones. Chosen by us.
const noContrast = 6

// amend makes the loudness of one request a matter of contrast: where soft and loud were told apart no
// request is at fault for its level alone, and where they were not the soft ones lose a little. It returns
// what is to be taken off.
func (c contrast) amend(q *Part, a *scoring.Assessment, m *scoring.Amendment, reasons *[]string) int {
	if !c.known {
		return 0
	}
	level := -1
	for i := range a.Findings {
		if a.Findings[i].Kind == scoring.OtherLoudness && !slices.Contains(m.Struck, i) {
			level = i
		}
	}
	switch {
	case c.units >= c.least && level >= 0:
		m.Struck = append(m.Struck, level)
		*reasons = append(*reasons, "Its loudness is right against the other requests, and so costs nothing.")
	case c.units < c.least && level < 0 && soft(q.Request.Request.Dynamic.Right) && q.Request.Request.Dynamic.Right > 0:
		*reasons = append(*reasons, fmt.Sprintf("Hardly softer than what was asked loudly. (%d off)", noContrast))
		return noContrast
	}
	return 0
}

func median(xs []float64) float64 {
	s := slices.Sorted(slices.Values(xs))
	return (s[len(s)/2] + s[(len(s)-1)/2]) / 2
}
