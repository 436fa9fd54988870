package ear

import (
	"math"
	"time"
)

// rate is the number of samples a second.
const rate = 44_100

// The tone: harmonics that get weaker and die away sooner the higher they are, as those of a struck
// string do. Chosen by us, by ear and by eye.
const (
	harmonics    = 8
	brightness   = 1.35   // the strength of harmonic n is n to the power of minus this
	highest      = 10_000 // Hz, above which there are no harmonics
	attack       = 6 * time.Millisecond
	release      = 70 * time.Millisecond
	dieAway      = 1.6              // seconds in which the lowest harmonic of middle C falls to 1/e; higher keys sooner
	decibelsUnit = 0.26             // a unit of velocity: from Slade et al., see velocityStep
	loudest      = 0.7              // of full scale, for the loudest sample of a file
	tail         = time.Second / 2  // of silence at the end
	longest      = 15 * time.Minute // what lasts longer is cut
)

// frequency of a MIDI key: equal temperament, A4 (69) at 440 Hz (ISO 16).
func frequency(key uint8) float64 { return 440 * math.Exp2((float64(key)-69)/12) }

// render adds up the sounds to samples from -1 to 1.
func render(sounds []Sound) []float64 {
	var end time.Duration
	for _, s := range sounds {
		end = max(end, s.Off+release)
	}
	out := make([]float64, samples(min(end+tail, longest)))
	for _, s := range sounds {
		addTone(out, s)
	}
	peak := 0.0
	for _, x := range out {
		peak = math.Max(peak, math.Abs(x))
	}
	if peak > 0 {
		for i := range out {
			out[i] *= loudest / peak
		}
	}
	return out
}

func samples(d time.Duration) int { return int(d.Seconds() * rate) }

// addTone adds one note. It begins and ends smoothly, so that there is no click.
func addTone(out []float64, s Sound) {
	first := samples(max(0, s.On))
	held := samples(s.Off) - first
	n := min(held+samples(release), len(out)-first)
	f := frequency(s.Key)
	loud := math.Pow(10, decibelsUnit*(float64(s.Velocity)-127)/20)
	for h := 1; h <= harmonics && float64(h)*f < highest; h++ {
		strength := loud * math.Pow(float64(h), -brightness)
		life := dieAway / (1 + 0.5*float64(h-1)) * math.Exp2((60-float64(s.Key))/24)
		// One turn of a vector a sample, each a little shorter: a sine that dies away.
		turn := 2 * math.Pi * float64(h) * f / rate
		c, d := math.Cos(turn), math.Sin(turn)
		shrink := math.Exp(-1 / (life * rate))
		x, y := strength, 0.0
		for i := range max(0, n) {
			out[first+i] += y * envelope(i, held)
			x, y = shrink*(x*c-y*d), shrink*(x*d+y*c)
		}
	}
}

// envelope is how open the sound is at a sample: it opens over the attack and closes over the release,
// each by half a cosine.
func envelope(i, held int) float64 {
	e := 1.0
	if a := samples(attack); i < a {
		e = (1 - math.Cos(math.Pi*float64(i)/float64(a))) / 2
	}
	if i > held {
		e *= (1 + math.Cos(math.Pi*math.Min(1, float64(i-held)/float64(samples(release))))) / 2
	}
	return e
}
