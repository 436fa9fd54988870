package scoring

import "math"

// mark is one of the marks a finding counts against.
type mark int8

const (
	noMark mark = iota
	notesMark
	timeMark
	soundMark
)

var markNames = [...]string{"", "notes", "time", "sound"}

// marks works the marks out of the findings by the formula of Charges; has says which of them there
// is anything to mark for, and played is the share of the expected notes that were played at all.
func (c Charges) marks(fs []Finding, has [4]bool, played float64) (Marks, []Loss) {
	losses := make([]Loss, 0, len(fs))
	var sums, value [4]float64
	for i := range fs {
		sums[fs[i].mark] += fs[i].loss
	}
	for m := range value {
		value[m] = 100 * math.Exp(-sums[m])
	}
	for i := range fs {
		m := fs[i].mark
		if m == noMark || !has[m] || fs[i].loss == 0 {
			continue
		}
		losses = append(losses, Loss{
			Mark: markNames[m], Points: tenths((100 - value[m]) * fs[i].loss / sums[m]), Finding: i,
		})
	}
	var m Marks
	m.Notes, m.Time, m.Sound = whole(value[notesMark], has[notesMark]), whole(value[timeMark], has[timeMark]), whole(value[soundMark], has[soundMark])
	weights := [4]float64{0, c.WeightNotes, c.WeightTime, c.WeightSound}
	var sum, weight float64
	for k := notesMark; k <= soundMark; k++ {
		if !has[k] {
			continue
		}
		v := value[k]
		if k != notesMark {
			v *= played
		}
		sum += weights[k] * v
		weight += weights[k]
	}
	m.Overall = whole(sum/weight, weight > 0)
	return m, losses
}

// whole is x as a whole mark, nil where there is none.
func whole(x float64, is bool) *int {
	if !is || math.IsNaN(x) {
		return nil
	}
	return new(int(math.Round(x)))
}
