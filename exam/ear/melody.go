package ear

import (
	"fmt"
	"math"
	"time"

	"evenhand/references"
)

// reference writes the tune out.
func (t *tune) reference(title string) *references.Reference {
	bars := t.tones[len(t.tones)-1].bar + 1
	ref := &references.Reference{
		Title: title, BarLength: t.meter.Length(), Beat: t.meter.Beat(),
		Fifths: t.key.Fifths(), Minor: t.key.Minor,
		Tempo: references.Tempo{BPM: float64(t.bpm), Beat: t.meter.Beat()},
		Keys:  []references.KeyChange{{Fifths: t.key.Fifths(), Minor: t.key.Minor}},
	}
	ref.Tempos = []references.TempoMark{{Tempo: ref.Tempo, Printed: true}}
	for i := range bars {
		ref.Bars = append(ref.Bars, references.Bar{
			Number: fmt.Sprint(i + 1), Written: i, Pass: 1, Onset: ref.BarLength.Times(int64(i), 1),
			Length: ref.BarLength, Meter: t.meter,
		})
	}
	ref.Bars[bars-1].Signs.Final = true
	ref.Sections = []references.Section{{First: 0, End: bars, Pass: 1}}
	for i, o := range t.tones {
		ref.Notes = append(ref.Notes, references.Note{
			ID: fmt.Sprintf("n%d", i+1), Bar: fmt.Sprint(o.bar + 1), Pass: 1, Measure: o.bar,
			Onset: quarters(o.at), Length: quarters(o.length),
			Beat:  1 + float64(o.at-o.bar*t.bar)/float64(t.beat),
			Pitch: t.pitches[i], Hand: references.Right,
		})
	}
	return ref
}

func quarters(ticks int) references.Quarters { return references.Q(int64(ticks), crotchet) }

// title names the key and the metre.
func (t *tune) title() string {
	return fmt.Sprintf("Melody in %s, %d/%d", t.key, t.meter.Beats, t.meter.Unit)
}

// tick is how long a tick lasts.
func (t *tune) tick() time.Duration {
	return time.Minute / time.Duration(t.bpm) / time.Duration(t.beat)
}

// hearing plays the tune after the chord of its key and a bar of count.
func (t *tune) hearing(say string) Hearing {
	h := t.leadIn(say)
	for i, o := range t.tones {
		on := h.Start + time.Duration(o.at)*t.tick()
		length := time.Duration(o.length) * t.tick()
		held := length * 19 / 20
		if o.end {
			held = length * 17 / 20 // a breath
		}
		h.Sounds = append(h.Sounds, Sound{uint8(t.pitches[i].Key()), uint8(t.loudness(o)), on, on + held})
	}
	return h
}

// The loudness of the metre in MIDI velocity: each step up in strength is more than twice the 4.48 units
// that are just noticed between two piano tones (Slade et al. (2022), Psychology of Music, doi
// 10.1177/03057356221126203), but for the notes between beats, which are a step below.
const (
	plainVelocity = 66
	firstBeat     = 16
	middleBeat    = 9
	betweenBeats  = -7
	archVelocity  = 6
)

// loudness makes the metre felt: the first beat, then the middle of a bar of four or six, then other
// beats, then what is between. A phrase swells a little towards its middle.
func (t *tune) loudness(o tone) int {
	return plainVelocity + t.accent(o.at%t.bar) + int(math.Round(archVelocity*math.Sin(math.Pi*t.through(o))))
}

// accent is the stress of a place in the bar.
func (t *tune) accent(at int) int {
	switch {
	case at == 0:
		return firstBeat
	case at%t.beat != 0:
		return betweenBeats
	case 2*at == t.bar && t.meter.Beats != 2:
		return middleBeat
	}
	return 0
}

// through is how far through its phrase a note is, from 0 to 1.
func (t *tune) through(o tone) float64 {
	start := 0
	for _, p := range t.phrases {
		length := len(p.rhythm) * t.bar
		if o.at < start+length {
			return float64(o.at-start) / float64(length)
		}
		start += length
	}
	return 1
}

// countedOn is C6: the octave above it is clear of the melody, and the smallest usual keyboard, of 61 keys,
// has it.
const countedOn = 84

// leadIn is the chord of the key, and one bar counted on its tonic, high and short.
func (t *tune) leadIn(say string) Hearing {
	h := Hearing{Say: say}
	third := 4
	if t.key.Minor {
		third = 3
	}
	root := 53 + (t.key.Tonic.PitchClass()-53%12+12)%12 // from F3 up to E4
	beat := time.Duration(t.beat) * t.tick()
	p := player{}
	p.chord(max(2*beat, 1500*time.Millisecond), plainVelocity, root, root+third, root+7)
	p.rest(beat)
	for i := range t.bar / t.beat {
		velocity := plainVelocity - 8
		if i == 0 {
			velocity += 12
		}
		h.Count = append(h.Count, p.at)
		p.chord(min(beat/2, 150*time.Millisecond), velocity, countedOn+t.key.Tonic.PitchClass())
		p.at = h.Count[i] + beat
	}
	h.Sounds, h.Start = p.sounds, p.at
	return h
}
