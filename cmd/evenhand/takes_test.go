package main

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"evenhand/capture"
	"evenhand/capture/pupil"
	"evenhand/references"
	"evenhand/scoring"
)

// TestTakesAreJudgedWhollyRight sends takes of the simulated pupil, written as files, through the
// whole program, and asks of each whether everything came out as it was put in: every note, and every
// measure against figures worked out here from the onsets the pupil meant.
func TestTakesAreJudgedWhollyRight(t *testing.T) {
	const takes, wanted = 200, 0.99
	cases, words := casesOf(t, 11, takes)
	dir := t.TempDir()
	total, good := map[pupil.Class]int{}, map[pupil.Class]int{}
	right, measured := 0, map[string]int{}
	for i, c := range cases {
		take, truth := pupil.Play(c.Reference, c.Pupil)
		path := filepath.Join(dir, fmt.Sprintf("%d.mid", i))
		save(t, path, take)
		a := one(t, must(t, "check", path, "-f", "json", "-a", words[c.Reference]))
		bad := misjudged(a, &truth)
		if a.Heard.AsAsked {
			bad = append(bad, mismeasured(a, c.Reference, take, &truth, measured)...)
		}
		total[c.Label.Class]++
		if len(bad) > 0 {
			t.Logf("take %d, %s, %q: %s", i, c.Label, words[c.Reference], strings.Join(bad, "; "))
			continue
		}
		good[c.Label.Class]++
		right++
	}
	for _, c := range pupil.Classes() {
		t.Logf("%-22s %d of %d", c, good[c], total[c])
	}
	t.Logf("%d of %d wholly right; measures compared: %v", right, takes, measured)
	if share := float64(right) / takes; share < wanted {
		t.Errorf("%d of %d takes judged wholly right, %.3f; want %.2f", right, takes, share, wanted)
	}
	for _, m := range []string{"evenness", "drift", "loudness", "together"} {
		if measured[m] < takes/4 {
			t.Errorf("%s was compared only %d times", m, measured[m])
		}
	}
}

// whyOf is what a listener calls a stroke of each role.
var whyOf = map[pupil.Role][]string{
	pupil.Graze: {"slip"}, pupil.Corrected: {"corrected"}, pupil.Repeat: {"repeat"},
	pupil.GivenUp: {"restart"}, pupil.Before: {"before"}, pupil.After: {"repeat", "restart"},
}

// misjudged lists the notes that were not judged as they were played.
func misjudged(a *scoring.Assessment, truth *pupil.Truth) (bad []string) {
	if !a.Heard.AsAsked {
		return []string{"taken for " + a.Heard.What}
	}
	verdicts, whys := map[int]string{}, map[string]int{}
	for _, n := range a.Notes {
		if n.Expected != nil {
			verdicts[n.Expected.Index] = n.Verdict
		}
		if n.Verdict == "extra" {
			whys[n.Why]++
		}
	}
	for i, e := range truth.Expected {
		if verdicts[i] != e.Role.String() {
			bad = append(bad, fmt.Sprintf("note %d was %s, judged %q", i, e.Role, verdicts[i]))
		}
	}
	for role := pupil.Graze; role <= pupil.After; role++ {
		n := truth.Count(role)
		for _, why := range whyOf[role] {
			taken := min(n, whys[why])
			n -= taken
			whys[why] -= taken
		}
		if n > 0 {
			bad = append(bad, fmt.Sprintf("%d strokes %s not found", n, role))
		}
	}
	for why, n := range whys {
		if n > 0 {
			bad = append(bad, fmt.Sprintf("%d strokes too many called %s", n, why))
		}
	}
	return bad[:min(len(bad), 4)]
}

// mismeasured compares evenness, drift, loudness and the hands with what is worked out from the truth,
// and counts the comparisons. Where something happened in the playing that a measure leaves out in a
// way of its own (a stop, a fresh start, a key put right), time is not compared.
func mismeasured(a *scoring.Assessment, ref *references.Reference, take *capture.Take, truth *pupil.Truth, measured map[string]int) (bad []string) {
	off := func(what string, got, want, least float64) {
		measured[strings.Fields(what)[0]]++
		if math.Abs(got-want) > max(least, 0.05*math.Abs(want)) {
			bad = append(bad, fmt.Sprintf("%s is %.2f, by hand %.2f", what, got, want))
		}
	}
	if d := a.Dynamics; d != nil {
		off("loudness", d.MedianVelocity, medianVelocity(take, truth), 0)
	}
	if smooth(ref, truth) {
		for _, e := range a.Evenness {
			if sd := unevenness(ref, truth, e.Hand, e.Direction); e.SD != nil && !math.IsNaN(sd) {
				off(fmt.Sprintf("evenness %s %s", e.Hand, e.Direction), *e.SD, sd, 1)
			}
		}
		if drift := drift(ref, truth); a.Tempo != nil && a.Tempo.DriftPercent != nil && !math.IsNaN(drift) {
			off("drift", *a.Tempo.DriftPercent, drift, 1)
		}
		if a.Together != nil && len(truth.Apart) > 0 {
			off("together", a.Together.Mean, mean(milliseconds(truth.Apart)), 1)
		}
	}
	return bad
}

// smooth reports whether nothing broke the flow: no event that does, and no interval that is a
// hesitation by itself (200 ms and 60 % longer than those about it), as unevenness may bring about.
func smooth(ref *references.Reference, truth *pupil.Truth) bool {
	for _, e := range truth.Events {
		switch e.Kind {
		case pupil.SemitoneOff, pupil.LetterOff, pupil.ForgottenAccidental, pupil.LeftOut, pupil.GrazedKey:
		default:
			return false
		}
	}
	for _, hand := range []references.Hand{references.Right, references.Left} {
		_, ys := row(ref, ofHand(truth, hand)).over(1)
		for i, y := range ys {
			about := slices.Concat(ys[max(0, i-4):i], ys[i+1:min(len(ys), i+5)])
			if len(about) == 0 {
				continue
			}
			if extra := y - median(about); extra >= 190 && extra >= 0.55*median(about) {
				return false
			}
		}
	}
	return true
}

func ofHand(truth *pupil.Truth, hand references.Hand) []pupil.Line {
	return slices.DeleteFunc(slices.Clone(truth.Lines), func(l pupil.Line) bool { return l.Hand != hand })
}

// onsets has the time, in ms, at each place in the row of onsets of a reference; NaN where no right
// note was played. Notes struck together are one onset, at their mean.
type onsets []float64

func row(ref *references.Reference, lines []pupil.Line) onsets {
	starts := ref.Events()
	place := make([]int, len(ref.Notes))
	for e := range len(starts) - 1 {
		for i := starts[e]; i < starts[e+1]; i++ {
			place[i] = e
		}
	}
	at := make([][]float64, len(starts)-1)
	for _, l := range lines {
		for k, n := range l.Notes {
			at[place[n]] = append(at[place[n]], milliseconds(l.Onsets[k : k+1])[0])
		}
	}
	o := make(onsets, len(at))
	for e := range at {
		o[e] = mean(at[e])
	}
	return o
}

// over gives the places in the middle of so many steps, and the time a step takes there. The last two
// notes of the whole, which may slow down, are left out.
func (o onsets) over(steps int) (places, times []float64) {
	for e := steps; e < len(o)-2; e++ {
		whole := true
		for k := e - steps; k <= e; k++ {
			whole = whole && !math.IsNaN(o[k])
		}
		if whole {
			places = append(places, float64(e)-float64(steps)/2)
			times = append(times, (o[e]-o[e-steps])/float64(steps))
		}
	}
	return places, times
}

// unevenness is by the book: the intervals between right notes of one hand in one direction, less
// their least-squares line; then the SD with n-1. Two notes struck together must both be right.
func unevenness(ref *references.Reference, truth *pupil.Truth, hand, direction string) float64 {
	lines := slices.DeleteFunc(slices.Clone(truth.Lines), func(l pupil.Line) bool {
		return l.Hand.String() != hand || l.Direction.String() != direction
	})
	o := row(ref, lines)
	starts := ref.Events()
	for e := range o {
		for i := starts[e]; i < starts[e+1]; i++ {
			if n := &ref.Notes[i]; n.Hand.String() == hand && truth.Expected[i].Role != pupil.Correct {
				o[e] = math.NaN()
			}
		}
	}
	xs, ys := o.over(1)
	if len(xs) < 5 {
		return math.NaN()
	}
	a, b := leastSquares(xs, ys)
	squares := 0.0
	for i := range xs {
		r := ys[i] - a - b*xs[i]
		squares += r * r
	}
	return math.Sqrt(squares / float64(len(xs)-1))
}

// drift is the tempo at the last note over that at the first, less one, in percent, by the
// least-squares line through the intervals, both hands together.
func drift(ref *references.Reference, truth *pupil.Truth) float64 {
	o := row(ref, truth.Lines)
	xs, ys := o.over(1)
	if len(xs) < 4 {
		return math.NaN()
	}
	a, b := leastSquares(xs, ys)
	return 100 * (a/(a+b*float64(len(o)-1)) - 1)
}

// medianVelocity is of all keys struck for a note of the request, right or wrong.
func medianVelocity(take *capture.Take, truth *pupil.Truth) float64 {
	var vs []float64
	for _, e := range truth.Expected {
		if e.Played >= 0 {
			vs = append(vs, float64(take.Notes[e.Played].Velocity))
		}
	}
	return median(vs)
}

func median(xs []float64) float64 {
	xs = slices.Sorted(slices.Values(xs))
	return (xs[(len(xs)-1)/2] + xs[len(xs)/2]) / 2
}

// leastSquares fits y = a + b x.
func leastSquares(xs, ys []float64) (a, b float64) {
	mx, my := mean(xs), mean(ys)
	var sxy, sxx float64
	for i := range xs {
		sxy += (xs[i] - mx) * (ys[i] - my)
		sxx += (xs[i] - mx) * (xs[i] - mx)
	}
	b = sxy / sxx
	return my - b*mx, b
}

func mean(xs []float64) float64 {
	sum := 0.0
	for _, x := range xs {
		sum += x
	}
	return sum / float64(len(xs))
}

func milliseconds(ds []time.Duration) []float64 {
	out := make([]float64, len(ds))
	for i, d := range ds {
		out[i] = d.Seconds() * 1000
	}
	return out
}
