package pupil

import (
	"time"

	"evenhand/references"
)

// Pupil is a way of playing. The zero value plays what is written at an easy tempo, cleanly, with the
// small unevenness that every human hand has. A field left at zero takes the usual value named
// beside it; with Exact it is taken as it stands.
type Pupil struct {
	Seed  uint64
	Exact bool // no unevenness but what the fields name: zero is zero

	// Time.
	BPM        float64                     // mean tempo, in the reference's beat; usual: the tempo asked, else 72
	Drift      float64                     // percent: tempo at the end over tempo at the start, less one
	Phrase     float64                     // percent by which the first and last notes are slower than the mean of a phrase
	Rubato     float64                     // the same within every four bars of a score; usual: 3
	Close      float64                     // percent by which the very last step is slower; the two before it less
	Jitter     references.PerHand[float64] // ms, SD of each onset about its place; usual: 8
	Waver      float64                     // ms, SD of each onset about its place, both hands together
	ThumbDelay float64                     // ms by which thumbs come late, the first note excepted
	ChordWidth float64                     // ms, mean lateness of each further note of a chord in one hand; usual: 8
	Apart      Offset                      // left minus right where both play; usual SD: 6
	Parting    float64                     // ms by which the left falls behind the right from the first note to the last

	// Signs of a score, with Exact too: zero takes the usual value.
	Rit     float64 // tempo at the end of a rit. over that at its start; poco: half the way; usual: 0.6
	Fermata float64 // length as held, over what it would be in the tempo there; usual: 1.5

	// Sound.
	Level    references.PerHand[float64] // velocity; usual: that of the dynamic written, else of mf
	Louder   references.PerHand[float64] // velocity added to that
	Spread   float64                     // SD of velocity; usual: 5
	Shape    float64                     // velocity gained from the start to the middle and lost again; usual: what the request asks
	Accent   Accent
	Velocity uint8 // of every note, as on a keyboard without touch; 0 for a piano

	// Touch.
	Touch references.PerHand[Hold] // usual: as written
	Pedal Pedalling

	// Octaves by which each hand plays above what is written. A unison of the hands is one stroke and goes
	// with the right; to start contrary motion on an octave, play that candidate of the request.
	Octaves references.PerHand[int]

	// Lead is the silence before the first note; usual: half a second.
	Lead time.Duration

	Faults []Fault
}

// Offset is a distance in time: its mean and standard deviation in ms.
type Offset struct{ Mean, SD float64 }

// Accent is a stress of so much velocity on every n-th onset, from the first; none where Every is 0.
type Accent struct {
	Every int
	By    float64
}

// Hold is how long keys are held, as a share of the time to the next written onset: above 1 notes
// overlap, at 0.4 they are staccato (Bresin and Battel 2000: about 40 % of the IOI). Spread is the SD
// of that share.
type Hold struct{ Share, Spread float64 }

// Pedalling is what the right foot does.
type Pedalling int8

// The ways of pedalling.
const (
	NoPedal         Pedalling = iota // none but where the score marks it
	PedalThroughout                  // down before the first note, up after the last
	PedalChanged                     // changed with each bar, or each beat where there are no bars
	PedalLeftOut                     // none at all
)

// The usual values, from common practice; the recordings named are the pupils' takes of
// EN-augmented-data (github.com/anusfoil, 2024), measured over onsets less than 60 ms apart.
const (
	usualBPM    = 72
	usualJitter = 8  // ms: a steady beginner on one hand position
	usualWidth  = 5  // ms within a chord
	usualApart  = 6  // ms, SD between the hands
	usualSpread = 4  // velocity units
	usualSwell  = 24 // velocity units: two dynamics, where a crescendo is asked
	usualLead   = 500 * time.Millisecond

	usualRubato  = 3   // percent
	usualRit     = 0.6 // common practice
	usualFermata = 1.5 // half as long again, over the tempo there: common practice
)

// levels gives each dynamic a velocity, about 13 apart: common practice, since MIDI 1.0 leaves the
// mapping open.
var levels = [...]float64{70, 20, 32, 45, 58, 70, 84, 98, 112}

// usualHold is the hold of each touch: none, legato, staccato, tenuto, portato.
var usualHold = [...]Hold{{0.97, 0.02}, {1.06, 0.02}, {0.42, 0.04}, {1, 0.02}, {0.72, 0.04}}

// usual fills in what was left unsaid.
func (p Pupil) usual(ref *references.Reference) Pupil {
	if p.BPM <= 0 {
		p.BPM = ref.Tempo.BPM
		if beat := ref.Tempo.Beat; p.BPM > 0 && beat.Num() > 0 {
			p.BPM *= beat.Float() / beatOf(ref)
		}
	}
	if p.BPM <= 0 {
		p.BPM = usualBPM
	}
	if p.Shape == 0 && ref.Request != nil {
		p.Shape = [...]float64{0, usualSwell, -usualSwell}[ref.Request.Shape]
	}
	if p.Lead <= 0 {
		p.Lead = usualLead
	}
	if p.Rit <= 0 {
		p.Rit = usualRit
	}
	if p.Fermata <= 0 {
		p.Fermata = usualFermata
	}
	if p.Exact {
		return p
	}
	fill(&p.Jitter.Right, usualJitter)
	fill(&p.Jitter.Left, usualJitter)
	fill(&p.ChordWidth, usualWidth)
	fill(&p.Apart.SD, usualApart)
	fill(&p.Spread, usualSpread)
	if len(ref.Bars) > 0 {
		fill(&p.Rubato, usualRubato)
	}
	return p
}

func fill(v *float64, usual float64) {
	if *v == 0 {
		*v = usual
	}
}

// beatOf is the reference's beat in quarters.
func beatOf(ref *references.Reference) float64 {
	if ref.Beat.Num() > 0 {
		return ref.Beat.Float()
	}
	return 1
}

// hold is how hand h holds a note of touch t.
func (p *Pupil) hold(h references.Hand, t references.Touch) Hold {
	held := p.Touch.Of(h)
	if held.Share <= 0 {
		held = usualHold[t]
		if p.Exact {
			held.Spread = 0
		}
	}
	return held
}
