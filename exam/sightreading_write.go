package exam

import (
	"slices"
	"strconv"

	"evenhand/references"
)

// readingTitle is what stands over the music.
const readingTitle = "To be read at sight"

// tempi are the words over the music, with a suggestion in beats a minute for playing it back. Common practice.
var tempi = []struct {
	words string
	bpm   float64
}{{"Andante", 76}, {"Moderato", 88}, {"Allegretto", 100}}

// write makes a reference of the tune and its accompaniment.
func (c *composer) write() *references.Reference {
	ref := &references.Reference{
		Title: readingTitle, BarLength: quarters(c.bar()), Beat: c.meter.Beat(), Fifths: c.key.Fifths(), Minor: c.key.Minor,
		Keys:     []references.KeyChange{{Fifths: c.key.Fifths(), Minor: c.key.Minor}},
		Sections: []references.Section{{End: c.bars, Pass: 1}},
	}
	tempo := pick(c.lot, tempi)
	ref.Tempos = []references.TempoMark{{Words: tempo.words, Tempo: references.Tempo{BPM: tempo.bpm * ref.Beat.Float(), Beat: references.Q(1, 1)}}}
	for i := range c.bars {
		ref.Bars = append(ref.Bars, references.Bar{
			Number: strconv.Itoa(i + 1), Written: i, Pass: 1, Onset: quarters(i * c.bar()), Length: quarters(c.bar()), Meter: c.meter,
			Signs: references.BarSigns{Final: i == c.bars-1},
		})
	}
	if c.with == turns {
		c.byTurns(ref)
	} else {
		c.together(ref)
	}
	c.loudness(ref)
	ref.Sort()
	for i := range ref.Notes {
		ref.Notes[i].ID = "s" + strconv.Itoa(i+1)
	}
	return ref
}

func quarters(ticks int) references.Quarters { return references.Q(int64(ticks), 4) }

// note writes a degree for a hand.
func (c *composer) note(ref *references.Reference, hand references.Hand, at, length, degree int) *references.Note {
	bar := at / c.bar()
	ref.Notes = append(ref.Notes, references.Note{
		Bar: strconv.Itoa(bar + 1), Pass: 1, Measure: bar, Onset: quarters(at), Length: quarters(length),
		Beat: 1 + float64(at%c.bar())/float64(c.beat()), Pitch: c.pitch(hand, degree), Hand: hand,
	})
	return &ref.Notes[len(ref.Notes)-1]
}

// pitch is that of a degree: 0 of the right hand is the key-note from middle C up, and of the left hand
// an octave lower.
func (c *composer) pitch(hand references.Hand, degree int) references.Pitch {
	p := references.Pitch{Name: c.key.Tonic, Octave: 4}
	for p.Key() < 60 {
		p.Octave++
	}
	for p.Key() > 71 {
		p.Octave--
	}
	if hand == references.Left {
		p.Octave--
	}
	scale := [7]int{0, 2, 4, 5, 7, 9, 11}
	if c.key.Minor {
		scale = [7]int{0, 2, 3, 5, 7, 8, 11}
	}
	octaves := (degree - mod7(degree)) / 7
	return p.Up(degree, 12*octaves+scale[mod7(degree)])
}

// byTurns gives the tune to the right hand and then to the left; both have the last note.
func (c *composer) byTurns(ref *references.Reference) {
	half := c.bars / 2 * c.bar()
	for i, t := range c.tune {
		hand := references.Right
		if t.at >= half {
			hand = references.Left
		}
		c.note(ref, hand, t.at, t.length, t.degree)
		if i == len(c.tune)-1 {
			c.note(ref, references.Right, t.at, t.length, t.degree)
		}
	}
}

// together gives the tune to the right hand and an accompaniment to the left.
func (c *composer) together(ref *references.Reference) {
	for i, t := range c.tune {
		n := c.note(ref, references.Right, t.at, t.length, t.degree)
		slurEnds := i == len(c.tune)-1 || c.slurStarts(i+1)
		touch := references.NoTouch
		if c.slurs && !slurEnds {
			touch = references.Legato
		}
		n.Touch = touch
		if second, ok := c.second(t); ok && c.double && i < len(c.tune)-1 {
			c.note(ref, references.Right, t.at, t.length, second).Touch = touch
		}
	}
	for bar := range c.bars {
		c.accompany(ref, bar)
	}
}

// second is a note of the chord below the first note of a bar, where there is room for one.
func (c *composer) second(t tone) (int, bool) {
	if t.at%c.bar() != 0 {
		return 0, false
	}
	for d := t.degree - 2; d >= max(t.degree-5, c.low); d-- {
		if in := mod7(d - c.chords[t.at/c.bar()]); in == 0 || in == 2 || in == 4 {
			return d, true
		}
	}
	return 0, false
}

// accompany writes the left hand of one bar.
func (c *composer) accompany(ref *references.Reference, bar int) {
	at, root := bar*c.bar(), c.chords[bar]
	if root > 2 {
		root -= 7 // to keep below the right hand
	}
	chord := [3]int{root, root + 2, root + 4}
	play := func(at, length int, tones ...int) {
		for _, d := range tones {
			c.note(ref, references.Left, at, length, d)
		}
	}
	switch last := bar == c.bars-1; {
	case last && c.with >= pairs:
		play(at, c.bar(), chord[0], chord[2])
	case last || c.with == held:
		play(at, c.bar(), c.within(chord))
	case c.with == halves:
		first := c.firstHalf()
		play(at, first, chord[0])
		play(at+first, c.bar()-first, chord[1+c.lot.IntN(2)])
	case c.with == pairs:
		first := c.firstHalf()
		play(at, first, chord[0], chord[2])
		play(at+first, c.bar()-first, chord[0], chord[1])
	case c.with == afterbeats:
		play(at, c.beat(), chord[0])
		for b := c.beat(); b < c.bar(); b += c.beat() {
			play(at+b, c.beat(), chord[1], chord[2])
		}
	default:
		for i, k := range c.quavers() {
			play(at+2*i, 2, chord[k])
		}
	}
}

// within is the root of a chord, or in a level that keeps to five notes the first of its notes in reach.
func (c *composer) within(chord [3]int) int {
	if c.low < 0 {
		return chord[0]
	}
	for _, d := range chord {
		if mod7(d) <= c.high {
			return mod7(d)
		}
	}
	return 0
}

// firstHalf is the longer or the equal first part of a bar.
func (c *composer) firstHalf() int { return (c.bar()/c.beat() + 1) / 2 * c.beat() }

// quavers is the order in which a bar of quavers breaks a chord.
func (c *composer) quavers() []int {
	switch c.bar() {
	case 16:
		return []int{0, 2, 1, 2, 0, 2, 1, 2}
	case 8:
		return []int{0, 2, 1, 2}
	}
	if c.beat() == 6 {
		return []int{0, 1, 2, 0, 1, 2}
	}
	return []int{0, 2, 1, 2, 1, 2}
}

// loudness writes how loud each phrase is, and the hairpin over the last.
func (c *composer) loudness(ref *references.Reference) {
	levels := []references.Dynamic{references.Piano, references.Forte}
	if c.lot.IntN(2) == 0 {
		slices.Reverse(levels)
	}
	phrase := quarters(4 * c.bar())
	for i := range ref.Notes {
		n := &ref.Notes[i]
		k := 0
		if c.contrast {
			k = int(n.Onset.Float()/phrase.Float()) % 2
		}
		n.Dynamic = levels[k]
	}
	if c.hairpin {
		from := (c.bars - 4) * c.bar()
		ref.Marks = []references.Mark{{
			Kind: references.Crescendo, From: quarters(from + c.bar()), To: quarters(from + 3*c.bar()), Hand: references.Both,
		}}
	}
}
