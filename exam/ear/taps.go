package ear

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"time"

	"evenhand/scoring"
)

// Tap is one tap of a key or the space bar. Time counts from the start of the hearing to which it is
// tapped, lead-in and all.
type Tap struct {
	At       time.Duration
	Velocity uint8 // 1 to 127 of a key
}

// Kept is what a pupil kept with the taps.
type Kept string

// What may be kept. All but the rhythm and nothing are accepted.
const (
	KeptBeat    Kept = "the beat"
	KeptHalf    Kept = "every second beat"
	KeptDouble  Kept = "two taps to the beat"
	KeptQuavers Kept = "the quavers"       // of a dotted beat
	KeptBar     Kept = "one tap to a bar"  // of three or four beats: in three, the dotted beat
	KeptRhythm  Kept = "the rhythm"        // of the tune instead of its beat
	KeptNothing Kept = "a tempo by itself" // steady or not, but none of these
)

// TapVerdict is how the beat was tapped. What could not be measured is nil.
type TapVerdict struct {
	Verdict
	Kept     Kept    // empty where there were too few taps
	Taps     int     // that were looked at
	Expected int     // taps there would be for all of the melody, at what was kept
	AskedBPM float64 // of the melody

	// BPM is the tapped tempo in beats of the melody: that of the least-squares line of the times of the
	// taps against their numbers.
	BPM          *float64
	TempoPercent *float64 // BPM over AskedBPM, minus one: above 0 faster
	// DriftPercent is the tempo at the last tap over that at the first, minus one, by the least-squares
	// line of the intervals: above 0 it got faster.
	DriftPercent *float64
	// UnsteadyPercent is the standard deviation (n-1) of the intervals, taken off that line, in percent of
	// their mean.
	UnsteadyPercent *float64
	// LateMS is the usual distance of a tap after its beat, or half or third of a beat where those were
	// kept; below 0 it was early. It is never charged.
	LateMS *float64
	// StressUnits is the median velocity of taps on first beats less that of the others.
	StressUnits *float64
}

// Limits of taps. Points are those that can be lost.
const (
	leastTaps  = 4                      // to judge anything by; chosen by us
	bounce     = 100 * time.Millisecond // a second tap sooner than this is the same; chosen by us
	nearTempo  = 0.25                   // how far a tempo may be from what it is taken for; chosen by us
	echoWithin = 80 * time.Millisecond  // of a note of the tune, for its rhythm to have been tapped; chosen by us

	tempoPoints, steadyPoints, driftPoints, stressPoints = 30, 30, 20, 20 // chosen by us
	rhythmPoints                                         = 70             // chosen by us
	goneTempo                                            = 20             // percent at which all points for tempo are lost; chosen by us
	goneDrift                                            = 30             // the same for drift; chosen by us
	goneSteady                                           = 3              // times the limit, the same for steadiness; chosen by us
)

// velocityStep is the larger just noticeable difference in velocity between piano tones of Slade et al.
const (
	velocityStep   = 4.48
	velocitySource = "Slade, Gascon, Comeau & Russell (2022), Psychology of Music, doi 10.1177/03057356221126203: just noticeable difference 2.71 to 4.48 velocity units"
	tempoSource    = "Drake & Botte (1993), Perception & Psychophysics 54(3), 277-286: a change of tempo is noticed from 6 % in a single interval"
	steadySource   = "15 % at first, 10 % in the middle, chosen by us; 8.6 % at the top, after Madison & Merker (2002), Psychological Research 66, 201-207 (value from memory)"
	chosen         = "chosen by us"
)

// scoringLevel is the level of the limits: the first up to 3, the middle up to 6. Chosen by us.
func scoringLevel(level int) scoring.Level {
	switch {
	case level <= 3:
		return scoring.First
	case level <= 6:
		return scoring.Middle
	}
	return scoring.Top
}

// JudgeTaps marks the taps to the second hearing of a beat test. They are judged for the tempo they keep,
// for how steady they are, for drifting, and, where it is asked for and the velocity of the taps is known
// (the space bar has none), for the stress of first beats; never for being early or late as a whole.
// Every second beat, two taps to the beat, the quavers of a dotted beat or one tap to a bar are as good
// as the beat. Taps before the melody begins, to the count, are left out. With fewer than four taps there
// is no mark.
func (it Item) JudgeTaps(taps []Tap, hasVelocity bool) TapVerdict {
	i := slices.IndexFunc(it.Hearings, func(h Hearing) bool { return h.Taps })
	if i < 0 || it.Melody == nil {
		return TapVerdict{Verdict: Verdict{Reason: "There was nothing to tap to."}}
	}
	g := it.grid(&it.Hearings[i])
	g.take(taps)
	v := TapVerdict{Taps: len(g.taps), AskedBPM: it.Melody.Tempo.BPM}
	if len(g.taps) < leastTaps {
		v.Reason = fmt.Sprintf("%s heard during the melody: too few to judge.", counted(len(g.taps), "tap was", "taps were"))
		return v
	}
	g.measure(&v)
	limits := scoring.ForLevel(scoringLevel(it.Level)).Limits
	if *v.UnsteadyPercent > limits.EvennessPercent && g.tappedRhythm() {
		v.Kept = KeptRhythm
		v.lose(rhythmPoints, 1, 0, "share of the taps", chosen, "You tapped the rhythm of the tune; its beat was asked for.")
		v.conclude()
		return v
	}
	g.stress(&v, it.Stress && hasVelocity)
	v.judge(limits, g)
	if it.Stress && v.StressUnits == nil && v.Kept != KeptBar {
		v.Reason += " The loudness of the taps is not known: the stress of first beats was not judged."
	}
	return v
}

// grid is the beats of a melody as it sounds, and the taps to it.
type grid struct {
	start, beat time.Duration
	beats       int // in all
	perBar      int
	dotted      bool
	notes       []time.Duration // when the notes of the tune begin
	taps        []Tap
	number      []int // of each tap, counted in taps, those that were left out too
	factor      float64
}

func (it Item) grid(h *Hearing) *grid {
	ref := it.Melody
	g := &grid{start: h.Start, dotted: ref.Beat.Den() > 1}
	g.beat = time.Duration(float64(time.Minute) / ref.Tempo.BPM)
	g.perBar = int(math.Round(ref.BarLength.Float() / ref.Beat.Float()))
	g.beats = g.perBar * len(ref.Bars)
	for i := range ref.Notes {
		g.notes = append(g.notes, g.start+time.Duration(ref.Notes[i].Onset.Float()/ref.Beat.Float()*float64(g.beat)))
	}
	return g
}

// take keeps the taps from half a beat before the melody to a beat after it, in order of time, without
// those that bounced, and numbers them.
func (g *grid) take(taps []Tap) {
	sorted := slices.Clone(taps)
	slices.SortStableFunc(sorted, func(a, b Tap) int { return cmp.Compare(a.At, b.At) })
	from, to := g.start-g.beat/2, g.start+time.Duration(g.beats+1)*g.beat
	for _, t := range sorted {
		n := len(g.taps)
		if t.At >= from && t.At <= to && (n == 0 || t.At-g.taps[n-1].At >= bounce) {
			g.taps = append(g.taps, t)
		}
	}
	g.count()
}

// count numbers the taps: an interval of about two, three or more of those round it has taps missing.
func (g *grid) count() {
	const round = 3
	g.number = make([]int, len(g.taps))
	gaps := make([]float64, 0, len(g.taps))
	for i := 1; i < len(g.taps); i++ {
		gaps = append(gaps, (g.taps[i].At - g.taps[i-1].At).Seconds())
	}
	for i, gap := range gaps {
		usual := median(gaps[max(0, i-round):min(len(gaps), i+round+1)])
		g.number[i+1] = g.number[i] + max(1, int(math.Round(gap/usual)))
	}
}

// measure finds tempo, drift, steadiness and lateness, and what was kept.
func (g *grid) measure(v *TapVerdict) {
	var ks, ts, at, each []float64
	for i, t := range g.taps {
		ks, ts = append(ks, float64(g.number[i])), append(ts, t.At.Seconds())
		if i > 0 {
			steps := ks[i] - ks[i-1]
			at, each = append(at, (ks[i]+ks[i-1])/2), append(each, (ts[i]-ts[i-1])/steps)
		}
	}
	_, period := line(ks, ts)
	v.Kept, g.factor = g.kept(period)
	bpm := 60 / period * g.factor
	v.BPM = &bpm
	v.TempoPercent = percent(bpm, v.AskedBPM)
	v.Expected = int(math.Round(float64(g.beats) / g.factor))

	a, b := line(at, each)
	if first, last := a+b*ks[0], a+b*ks[len(ks)-1]; first > 0 && last > 0 {
		v.DriftPercent = percent(first, last)
	}
	var squares, sum float64
	for i := range each {
		off := each[i] - a - b*at[i]
		squares += off * off
		sum += each[i]
	}
	n := float64(len(each))
	unsteady := 100 * math.Sqrt(squares/(n-1)) / (sum / n)
	late := g.late()
	v.UnsteadyPercent, v.LateMS = &unsteady, &late
}

// kept finds what a period is nearest to, and how many beats it is taken for.
func (g *grid) kept(period float64) (Kept, float64) {
	ways := []struct {
		kept   Kept
		factor float64
	}{{KeptBeat, 1}, {KeptHalf, 2}, {KeptDouble, 0.5}}
	if g.dotted {
		ways[2].kept, ways[2].factor = KeptQuavers, 1./3
	}
	if g.perBar > 2 {
		ways = append(ways, struct {
			kept   Kept
			factor float64
		}{KeptBar, float64(g.perBar)})
	}
	best, kept, factor := math.Log(1+nearTempo), KeptNothing, 1.0
	for _, w := range ways {
		if off := math.Abs(math.Log(period / g.beat.Seconds() / w.factor)); off < best {
			best, kept, factor = off, w.kept, w.factor
		}
	}
	return kept, factor
}

// late is the mean distance of the taps after their beats in ms, as a mean direction on the circle of one
// beat, or of the part of a beat that was kept.
func (g *grid) late() float64 {
	period := g.beat.Seconds() * math.Min(1, g.factor)
	var x, y float64
	for _, t := range g.taps {
		turn := 2 * math.Pi * (t.At - g.start).Seconds() / period
		x, y = x+math.Cos(turn), y+math.Sin(turn)
	}
	return 1000 * period * math.Atan2(y, x) / (2 * math.Pi)
}

// tappedRhythm says whether the taps are the notes of the tune, where those are not the beats: most taps
// are near notes, but for a constant distance, and about as many.
func (g *grid) tappedRhythm() bool {
	notes, taps := float64(len(g.notes)), float64(len(g.taps))
	if math.Abs(notes-float64(g.beats)) < 0.2*float64(g.beats) || taps < 0.7*notes || taps > 1.2*notes {
		return false
	}
	var off []float64
	for _, t := range g.taps {
		off = append(off, nearest(g.notes, t.At).Seconds())
	}
	usual, near := median(off), 0
	for _, o := range off {
		if math.Abs(o-usual) <= echoWithin.Seconds() {
			near++
		}
	}
	return float64(near) >= 0.8*taps
}

// nearest is how long after the nearest of the times t is.
func nearest(times []time.Duration, t time.Duration) time.Duration {
	best := time.Duration(math.MaxInt64)
	for _, n := range times {
		if (t - n).Abs() < best.Abs() {
			best = t - n
		}
	}
	return best
}

// stress compares the loudness of first beats with that of the others. Where the bar begins is told from
// the first taps and then counted, so that drifting away does not matter.
func (g *grid) stress(v *TapVerdict, asked bool) {
	perBar := float64(g.perBar) / g.factor // taps to a bar
	if !asked || v.Kept == KeptNothing || perBar <= 1 || perBar != math.Trunc(perBar) {
		return
	}
	step := g.beat.Seconds() * g.factor
	late := *v.LateMS / 1000
	first := int(math.Round(((g.taps[0].At - g.start).Seconds() - late) / step))
	var firsts, others []float64
	same := true
	for i, t := range g.taps {
		same = same && t.Velocity == g.taps[0].Velocity
		if n := int(perBar); ((first+g.number[i])%n+n)%n == 0 {
			firsts = append(firsts, float64(t.Velocity))
		} else {
			others = append(others, float64(t.Velocity))
		}
	}
	if same || len(firsts) < 2 || len(others) < 2 {
		return
	}
	d := median(firsts) - median(others)
	v.StressUnits = &d
}
