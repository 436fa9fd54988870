package scoring

import (
	"fmt"
	"strings"

	"evenhand/references"
)

// tempoBands are how fast a tempo word is in beats a minute, in wide bands. Common practice; books
// differ.
var tempoBands = []struct {
	word      string
	low, high float64
}{
	{"prestissimo", 160, 260},
	{"presto", 140, 240},
	{"vivace", 112, 200},
	{"allegretto", 84, 144},
	{"allegro", 96, 190},
	{"moderato", 72, 138},
	{"andantino", 60, 120},
	{"andante", 50, 116},
	{"adagio", 36, 90},
	{"larghetto", 44, 84},
	{"largo", 30, 76},
	{"lento", 32, 84},
	{"grave", 24, 64},
}

// tempoOfScore compares the tempo with what is printed at the head of the score: a figure within
// TempoPercent, or a word within its band. It costs nothing: slow practice is practice.
func (l *ledger) tempoOfScore(t *Tempo) {
	t.Verdict, t.Asked = notAsked, nil
	if len(l.Reference.Tempos) == 0 || l.Reference.Tempos[0].Onset.Cmp(references.Quarters{}) != 0 {
		return
	}
	m := l.Reference.Tempos[0]
	bpm := func(beat references.Quarters) float64 {
		return t.BPM * l.toldBeat().Float() / beat.Float()
	}
	if m.Printed && m.Tempo.BPM > 0 && m.Tempo.Beat.Cmp(references.Quarters{}) > 0 {
		t.Asked = &l.Reference.Tempos[0].Tempo.BPM
		off := l.piece.TempoPercent / 100
		t.Verdict = withinBand(bpm(m.Tempo.Beat), m.Tempo.BPM*(1-off), m.Tempo.BPM*(1+off))
		return
	}
	words := strings.ToLower(m.Words)
	for _, b := range tempoBands {
		if strings.Contains(words, b.word) {
			t.Words = m.Words
			t.Verdict = withinBand(bpm(l.beat()), b.low, b.high)
			return
		}
	}
}

// toldBeat is the beat in which the tempo is told: the printed one, else that of the metre.
func (p *performance) toldBeat() references.Quarters {
	if b := p.Reference.Tempo.Beat; p.Reference.Tempo.BPM > 0 && b.Cmp(references.Quarters{}) > 0 {
		return b
	}
	return p.beat()
}

func withinBand(x, low, high float64) string {
	switch {
	case x < low:
		return "slower"
	case x > high:
		return "faster"
	}
	return asAsked
}

// otherTempoOfScore says where the tempo is not the printed one. It costs nothing.
func (l *ledger) otherTempoOfScore(t *Tempo) {
	if t.Verdict == asAsked || t.Verdict == notAsked {
		return
	}
	f := Finding{
		Kind: OtherTempo, Measured: &t.BPM, Limit: t.Asked, Unit: "beats a minute", Source: commonPractice,
		try: "Once it is steady, bring the tempo up a little each day.",
	}
	if t.Verdict == "faster" {
		f.try = "Keep it at a tempo at which every bar is steady."
	}
	if t.Asked != nil {
		f.Text = fmt.Sprintf("It was %s than printed: about %.0f beats a minute for %.0f.", t.Verdict, t.BPM, *t.Asked)
	} else {
		f.Text = fmt.Sprintf("It was %s than is usual for %q: about %.0f beats a minute.", t.Verdict, t.Words, t.BPM)
	}
	l.add(f)
}
