package scoring

import (
	"math"

	"evenhand/align"
	"evenhand/references"
)

// Asked is what a take was meant to be, as far as the alignment does not tell.
type Asked struct {
	Take    string              // the name of the take
	Against string              // the request in words, or the path of a score
	Request *references.Request // as it was asked, before any reading of it was chosen; nil for a score
	Version string              // of the program
}

// Assess judges an alignment. It is pure: the same input gives the same assessment, and nothing it
// is given is changed.
//
// Where something else was played than was asked, everything is measured against what was heard and
// there are no marks.
func Assess(a *align.Alignment, asked Asked, s Settings) *Assessment {
	limits := s.Limits
	if s.Calibration != nil {
		limits.LegatoGapMS = max(limits.LegatoGapMS, s.Calibration.LegatoGapMS)
	}
	p := newPerformance(a, limits)
	out := &Assessment{
		Schema: Schema, Version: asked.Version, Take: asked.Take, Against: asked.Against,
		Heard: heard(a), Counts: p.counts(), Notes: p.noteLines(), Settings: s,
	}
	l := newLedger(p, s.Charges, asked.Request)
	l.reading(asked.Against)
	var rate float64
	if p.score {
		piece := s.Piece
		if piece == nil {
			piece = defaultPiece()
		}
		out.Settings.Piece = piece
		l.piece, l.passage, l.swingCharge = piece.Limits, piece.Charges.Passage, piece.Charges.Swing
		l.charges, l.ornamentCharge = s.Charges.forPiece(piece.Charges), piece.Charges.Missing*piece.Charges.OrnamentLeftOut
		l.judgePiece(out, piece.Charges)
		rate = p.pulse().rate
		orderPiece(l.findings)
	} else {
		out.Settings.Piece = nil
		rate = l.judgeRequest(out)
		s.Charges.order(l.findings)
	}
	has := [4]bool{
		notesMark: !p.lone && a.AsAsked,
		timeMark:  !math.IsNaN(rate) && a.AsAsked,
		soundMark: out.Dynamics != nil && a.AsAsked,
	}
	out.Marks, out.Losses = l.charges.marks(l.findings, has, p.played())
	if p.score {
		out.Marks.Overall = wholeOfPiece(l.findings, has)
	}
	out.Findings = l.findings
	if out.Findings == nil {
		out.Findings = []Finding{}
	}
	out.Remarks = remarks(l.findings, l.praise(has, out), p.score)
	if p.lone {
		out.Remarks = append(out.Remarks[:0], "No notes were heard.")
	}
	return out
}

// judgeRequest measures and judges a scale or the like, and returns how long a quarter note lasted.
func (l *ledger) judgeRequest(out *Assessment) float64 {
	p := l.performance
	skips := p.skipped()
	out.Flow = p.flow(skips)
	l.playing(skips)
	rs, beat, hands := p.runs(), p.pulse(), p.together()
	out.Evenness, out.Together, out.Tempo = p.evenness(rs), hands.tell(p), p.tempo(beat, l.request)
	l.timing(rs)
	l.drift(beat, out.Tempo)
	l.otherTempo(out.Tempo)
	l.handsApart(hands)

	loud, joints := p.volume(), p.touches()
	scale := newLoudnessScale(out.Settings.Calibration)
	xs, _ := out.Settings.Calibration.points()
	out.Dynamics, out.Touch = p.dynamics(loud, l.request, &scale), p.tellTouch(joints, l.request)
	l.loudness(loud, out.Dynamics, &scale, len(xs) > 1)
	l.touch(joints)
	return beat.rate
}

// playing files what became of the notes and where the playing halted; skips are the passages left out.
func (l *ledger) playing(skips [][2]int) {
	l.wrongNotes()
	l.missingNotes(skips)
	l.leadsOfHands()
	l.extraNotes()
	l.restarts()
	l.hesitations()
}

// played is the share of the expected notes that were played, right or wrong.
func (p *performance) played() float64 {
	n, played := 0, 0
	for _, s := range p.strokes {
		if s.present {
			n++
			if s.played >= 0 {
				played++
			}
		}
	}
	if n == 0 {
		return 0
	}
	return float64(played) / float64(n)
}

func (p *performance) counts() Counts {
	var c Counts
	for _, q := range p.Pairs {
		switch q.Verdict {
		case align.Correct:
			c.Correct++
		case align.Wrong:
			c.Wrong++
		case align.Missing:
			c.Missing++
		case align.Extra:
			if q.Why != align.Before && q.Why != align.Unheard {
				c.Extra++
			}
		}
	}
	c.Expected, c.Played = c.Correct+c.Wrong+c.Missing, c.Correct+c.Wrong+c.Extra
	return c
}

func (p *performance) noteLines() []NoteLine {
	lines := make([]NoteLine, 0, len(p.Pairs))
	for _, q := range p.Pairs {
		n := NoteLine{Verdict: q.Verdict.String()}
		if q.Verdict == align.Extra {
			n.Why = q.Why.String()
			if q.Why == align.NoWhy {
				n.Why = align.Other.String()
			}
			if q.Near >= 0 {
				n.Near = new(q.Near)
			}
		}
		if q.Expected >= 0 {
			n.Expected = p.expected(q.Expected)
		}
		if q.Played >= 0 {
			k := &p.Take.Notes[q.Played]
			n.Played = &Played{
				Index: q.Played, Onset: seconds(k.On), Length: seconds(k.Length()),
				Key: int(k.Key), Velocity: int(k.Velocity),
			}
		}
		lines = append(lines, n)
	}
	return lines
}

func (p *performance) expected(i int) *Expected {
	n := &p.Reference.Notes[i]
	e := &Expected{
		Index: i, ID: n.ID, Also: n.Also, Pass: p.passOf(i), Bar: n.Bar, Beat: n.Beat, Onset: n.Onset.Float(),
		Key: p.Key(i), Name: p.pitch(i).String(), Hand: n.Hand.String(),
	}
	if n.Finger > 0 {
		e.Finger = new(int(n.Finger))
	}
	if n.Hand == references.Both && n.Finger2 > 0 {
		e.FingerLeft = new(int(n.Finger2))
	}
	return e
}
