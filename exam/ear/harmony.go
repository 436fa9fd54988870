package ear

import (
	"math"
	"slices"
	"time"

	"evenhand/references"
)

// harmony is a triad of a key: the degree of its root and that in the bass, 0 the tonic.
type harmony struct {
	key        references.Key
	root, bass int
}

// class is the pitch class of a degree of the key; the leading note of a minor key is raised in the
// dominant.
func (h harmony) class(degree int) int {
	scale := [...]int{0, 2, 4, 5, 7, 9, 11}
	if h.key.Minor {
		scale = [...]int{0, 2, 3, 5, 7, 8, 10}
		if h.root == dominant.root {
			scale[6] = 11
		}
	}
	return (h.key.Tonic.PitchClass() + scale[degree%7]) % 12
}

// voicing is the keys of bass, tenor, alto and soprano.
type voicing [4]int

// The ranges of the bass and of the soprano. Common practice for hymns, taken a little narrower.
const (
	lowestBass, highestBass       = 40, 60
	lowestSoprano, highestSoprano = 60, 77
)

// voicings are all ways to sound the chord with the upper three voices close together, the bass below
// them.
func (h harmony) voicings() []voicing {
	classes := []int{h.class(h.root), h.class(h.root + 2), h.class(h.root + 4)}
	var out []voicing
	for bass := lowestBass; bass <= highestBass; bass++ {
		if bass%12 != h.class(h.bass) {
			continue
		}
		for soprano := lowestSoprano; soprano <= highestSoprano; soprano++ {
			if !slices.Contains(classes, soprano%12) {
				continue
			}
			alto := below(soprano, classes)
			tenor := below(alto, classes)
			if tenor > bass {
				out = append(out, voicing{bass, tenor, alto, soprano})
			}
		}
	}
	return out
}

// below is the next key under k whose pitch class is one of those.
func below(k int, classes []int) int {
	for k--; !slices.Contains(classes, k%12); k-- {
	}
	return k
}

// leading is how badly one voicing follows another: how far the voices move, and more for what is not
// done: parallel fifths and octaves, and a leading note on top that does not rise at a close. Common
// practice.
func leading(a, b voicing, from, to harmony) float64 {
	cost := 0.3 * float64(abs(b[0]-a[0]))
	if abs(b[0]-a[0]) > 7 {
		cost += 6
	}
	for v := 1; v < 4; v++ {
		moved := abs(b[v] - a[v])
		cost += float64(moved)
		if moved > 5 {
			cost += 10
		}
	}
	if parallels(a, b) {
		cost += 1000
	}
	if from.root == dominant.root && to.root == tonic.root && a[3]%12 == from.class(6) && b[3]-a[3] != 1 {
		cost += 40
	}
	return cost
}

// parallels says whether two voices move from a fifth to a fifth, or from an octave to an octave.
func parallels(a, b voicing) bool {
	for v := range a {
		for w := v + 1; w < len(a); w++ {
			before, after := (a[w]-a[v])%12, (b[w]-b[v])%12
			if before == after && (before == 7 || before == 0) && a[v] != b[v] {
				return true
			}
		}
	}
	return false
}

// voiced chooses the voicings of a phrase: of all ways the one whose voices lead best, from a beginning
// drawn by lot. The soprano ends on the tonic where the last chord is one.
func voiced(l *lot, chords []harmony) []voicing {
	first := one(l, chords[0].voicings())
	for first[3] < 64 || first[3] > 71 || first[0] < 43 || first[0] > 55 {
		first = one(l, chords[0].voicings()) // in the middle, with room to go up and down
	}
	options := [][]voicing{{first}}
	costs := []float64{0}
	var from [][]int
	for i := 1; i < len(chords); i++ {
		options = append(options, chords[i].voicings())
		next := make([]float64, len(options[i]))
		back := make([]int, len(options[i]))
		for k, b := range options[i] {
			next[k] = math.Inf(1)
			for j, a := range options[i-1] {
				if c := costs[j] + leading(a, b, chords[i-1], chords[i]); c < next[k] {
					next[k], back[k] = c, j
				}
			}
			if last := chords[i]; i == len(chords)-1 && last.root == tonic.root && b[3]%12 != last.class(0) {
				next[k] += 12
			}
		}
		costs, from = next, append(from, back)
	}
	out := make([]voicing, len(chords))
	k := slices.Index(costs, slices.Min(costs))
	for i := len(chords) - 1; i >= 0; i-- {
		out[i] = options[i][k]
		if i > 0 {
			k = from[i-1][k]
		}
	}
	return out
}

// hymn sounds a phrase of chords in four parts after the chord of its key, a chord to the beat and
// the last one held.
func hymn(l *lot, key references.Key, chords []harmony) Hearing {
	t := &tune{key: key, bpm: l.between(60, 76), palette: palette{beat: crotchet, bar: 4 * crotchet, meter: fourFour}}
	h := t.leadIn("")
	beat := time.Duration(t.beat) * t.tick()
	p := player{at: h.Start}
	for i, v := range voiced(l, chords) {
		length := beat
		if i == len(chords)-1 {
			length = 3 * beat
		}
		velocity := plainVelocity + t.accent(i*t.beat%t.bar)/2
		for voice, k := range v {
			loud := velocity
			if voice == 3 {
				loud += 8 // the tune is on top
			}
			p.sounds = append(p.sounds, Sound{uint8(k), uint8(loud), p.at, p.at + length*19/20})
		}
		p.at += length
	}
	h.Sounds = append(h.Sounds, p.sounds...)
	return h
}
