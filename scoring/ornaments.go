package scoring

import (
	"fmt"

	"evenhand/align"
	"evenhand/references"
)

// ornamentsLeftOut are the notes with an ornament of which only the note itself was played. How an
// ornament is played is free; tremolos and slides are not looked for.
func (p *performance) ornamentsLeftOut() []int {
	with := map[int]bool{}
	for _, q := range p.Pairs {
		if q.Verdict == align.Extra && q.Why == align.Ornament && q.Near >= 0 {
			with[q.Near] = true
		}
	}
	var out []int
	for i, s := range p.strokes {
		switch o := p.Reference.Notes[i].Ornament; {
		case o < references.Trill || o > references.Schleifer:
		case s.played >= 0 && !with[i] && !p.Reference.Notes[i].Optional:
			out = append(out, i)
		}
	}
	return out
}

// ornaments files each ornament left out, lightly.
func (l *ledger) ornaments(charge float64) {
	for _, i := range l.ornamentsLeftOut() {
		name := l.Reference.Notes[i].Ornament.String()
		detail := fmt.Sprintf("the %s on %s, %s", name, l.noteWords(i), l.where(i))
		l.chargeNote(l.about(Finding{
			Kind: OrnamentLeftOut, Text: fmt.Sprintf("%s was left out.", capital(detail)), detail: detail,
			try: "Play the passage without its ornaments until it is easy, then add them.",
		}, i), charge)
	}
}
