package journal

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"
	"time"

	"evenhand/capture/pupil"
	"evenhand/references"
)

// things are what the simulated pupils practise. The first ones get better by a power law (see learning),
// the others stay as they are.
var things = []string{
	"D major scale, right hand", "B flat major scale, left hand", "E minor harmonic scale, right hand", "A flat major scale, left hand",
	"G minor arpeggio, left hand", "F major scale, right hand", "C minor melodic scale, left hand", "E major scale, right hand",
}

// learning is a pupil's way of playing on the nth day of practice of a thing that gets better: the jitter
// of onsets is 25 ms x n^-0.35, wrong notes come at 2.5 x n^-0.5 a take. In a relapse it is as on the
// second day. A thing that stays has n = 4 throughout.
func learning(n float64, rng *rand.Rand) pupil.Pupil {
	jitter := 25 * math.Pow(n, -0.35) * math.Exp(0.1*rng.NormFloat64()) // good and bad days
	p := pupil.Pupil{Seed: rng.Uint64(), Jitter: references.Each(jitter)}
	for range int(2.5*math.Pow(n, -0.5)*rng.ExpFloat64() + 0.5) {
		p.Faults = append(p.Faults, pupil.Fault{Kind: pupil.SemitoneOff, At: pupil.Anywhere})
	}
	return p
}

// twelveWeeks has a pupil practise each thing three days a week, the better half of them improving, with a
// relapse in one week of each.
func twelveWeeks(t *testing.T, j *Journal, who string, seed uint64) {
	t.Helper()
	rng := rand.New(rand.NewPCG(seed, 12))
	add(t, j, who)
	for k, asked := range things {
		relapse := 3 + rng.IntN(8)
		for d := range 36 {
			week := d / 3
			n := float64(d + 1)
			switch {
			case k >= len(things)/2:
				n = 4
			case week == relapse:
				n = 2
			}
			at := day(7*week + 2*(d%3)).Add(time.Duration(k) * 5 * time.Minute)
			mustKeep(t, j, who, judged(t, asked, at, learning(n, rng)))
		}
	}
}

// Simulated pupils practise for twelve weeks, played, heard, judged and kept as real ones are: progress
// finds each thing that gets better, in spite of a relapse, and says so of none that stays, but for 5 of
// 100. Two pupils, or ten where EVENHAND_SOAK is set.
func TestTwelveWeeks(t *testing.T) {
	if testing.Short() {
		t.Skip("long: left out by -short")
	}
	pupils := 2
	if os.Getenv("EVENHAND_SOAK") != "" {
		pupils = 10
	}
	j := open(t, filepath.Join(t.TempDir(), "journal.db"))
	found, improving, alarms, steady := 0, 0, 0, 0
	for p := range pupils {
		who := fmt.Sprintf("Pupil %d", p)
		twelveWeeks(t, j, who, uint64(p))
		h, err := j.History(t.Context(), who, monday)
		if err != nil {
			t.Fatal(err)
		}
		for _, l := range Progress(h, day(84), time.UTC) {
			better := l.Evenness.Sure && l.Evenness.Slope < 0
			isImproving := false
			for _, asked := range things[:len(things)/2] {
				isImproving = isImproving || l.Subject == Subject(asked)
			}
			switch {
			case isImproving:
				improving++
				if better {
					found++
				} else {
					t.Errorf("%s, %s: not found: %s (%+v)", who, l.Subject, l.Sentence, l.Evenness)
				}
			default:
				steady++
				if sure(&l) {
					alarms++
				}
			}
		}
	}
	t.Logf("%d pupils: %d of %d that get better are found, %d of %d that stay are false alarms", pupils, found, improving, alarms, steady)
	if float64(alarms) > 0.05*float64(steady) {
		t.Errorf("%d of %d are false alarms", alarms, steady)
	}
}
