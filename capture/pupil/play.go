package pupil

import (
	"math/rand/v2"
	"time"

	"evenhand/capture"
	"evenhand/references"
)

// performance is one playing in the making. Each stage fills in what the next one reads: the way
// through the score, what the faults change, the strokes with their onsets, how loud and how long
// they are, and at last the take.
type performance struct {
	s     *score
	p     Pupil
	tempo tempo

	// Each kind of chance has its own stream, so that a fault more leaves the unevenness alone.
	hands, sound, faults, details, graces *rand.Rand

	steps   []step
	last    []int     // the step of each onset that counts, -1 where none does
	off     []bool    // onsets in a repeat that is left out
	swing   []float64 // see swung
	at      []float64 // seconds, of each step
	changes []change
	strokes []stroke
	deeds   []deed
}

// deed is an event, with the step whose first stroke gives its time.
type deed struct {
	Event
	step int
}

// stroke is one key going down.
type stroke struct {
	note     int // the reference note it is about
	role     Role
	step     int // -1 before the start
	key      int
	hand     references.Hand
	on, held float64 // seconds
	into     float64 // seconds of the note's written length that are over
	velocity float64
	open     bool
}

// Play plays ref as p would, and returns the take with the truth about it. Times are whole
// capture.Ticks, so that the take is the same when saved and read back. The same ref and p give the
// same take. An empty reference gives an empty take.
func Play(ref *references.Reference, p Pupil) (*capture.Take, Truth) {
	pf := prepare(ref, p)
	pf.route()
	pf.change()
	pf.strike()
	pf.voice()
	pf.hold()
	return pf.finish()
}

// prepare reads the score and settles what was left to the seed.
func prepare(ref *references.Reference, p Pupil) *performance {
	if ref == nil {
		ref = &references.Reference{}
	}
	pf := &performance{s: read(ref), p: p.usual(ref)}
	pf.tempo = pf.p.tempo(pf.s)
	pf.hands, pf.sound, pf.faults, pf.details, pf.graces = stream(p.Seed, 1), stream(p.Seed, 2), stream(p.Seed, 3), stream(p.Seed, 5), stream(p.Seed, 6)
	pf.fitOctaves()
	pf.p.Faults = pf.settle(pf.p.Faults)
	pf.tempo = pf.p.tempo(pf.s) // with what the faults pass over
	pf.swing = pf.swung()
	return pf
}

// stream is the n-th source of chance of a seed.
func stream(seed, n uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, n)) }

// did notes down a fault as done: its event begins with step i.
func (p *performance) did(f Fault, i, to int, notes []int) {
	from := f.At
	if f.Kind.breaks() || f.Kind.leaps() {
		from = p.s.bounds[p.s.onset[f.At]]
	}
	p.deeds = append(p.deeds, deed{Event{Kind: f.Kind, From: from, To: to, By: f.By, Extra: f.Pause.Round(capture.Tick), Notes: notes}, i})
}

// moveDeeds makes up for step i having been taken out.
func (p *performance) moveDeeds(i int) {
	for k := range p.deeds {
		if p.deeds[k].step > i {
			p.deeds[k].step--
		}
	}
}

// fitOctaves moves the hands' octaves towards the written ones until all keys are MIDI keys.
func (p *performance) fitOctaves() {
	for _, n := range p.s.ref.Notes {
		o := &p.p.Octaves.Right
		if n.Hand == references.Left {
			o = &p.p.Octaves.Left
		}
		for *o > 0 && n.Key()+12**o > 127 {
			*o--
		}
		for *o < 0 && n.Key()+12**o < 0 {
			*o++
		}
	}
}

// key is the key that note n should sound, in the pupil's octave.
func (p *performance) key(n int) int {
	note := &p.s.ref.Notes[n]
	return note.Key() + 12*p.p.Octaves.Of(note.Hand)
}

// onKeyboard reports whether there is such a MIDI key.
func onKeyboard(key int) bool { return key >= 0 && key <= 127 }

// between draws evenly from lo to hi.
func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

// bell draws from a normal distribution of mean 0 that is cut off at 2.5 SD: hands do not stray further
// but for a fault. Cutting takes 4.5 % off the SD, which is put back.
func bell(r *rand.Rand, sd float64) float64 {
	if sd <= 0 {
		return 0
	}
	for {
		if x := r.NormFloat64(); x >= -2.5 && x <= 2.5 {
			return x * sd * 1.047
		}
	}
}

func seconds(s float64) time.Duration { return time.Duration(s * float64(time.Second)) }
