package questions

import (
	"fmt"
	"hash/fnv"
	"slices"

	"evenhand/references"
)

// Ask asks at most n questions on a score that fit a level (0 the first step, 8 the highest), fewer
// where the score has no more. They are of as many kinds as can be, no two on the same matter, and go
// from what is said of the whole to what stands in one bar. A Reference that is no printed score (a
// scale, a file of MIDI) gives none.
func Ask(r *references.Reference, level int, seed uint64, n int) []Question {
	if r == nil || r.Page == nil || n <= 0 {
		return nil
	}
	level = min(max(level, 0), 8)
	picked := pick(candidates(newScore(r, level)), level, seed, n)
	out := make([]Question, len(picked))
	for i := range picked {
		out[i] = picked[i].question(seed)
	}
	return out
}

// candidate is a question that could be asked.
type candidate struct {
	Question
	from, to int      // the levels it is meant for
	about    string   // its matter: one question on it is enough
	wrong    []string // what a pupil may believe, most likely first
	even     bool     // they are equally likely: any of them may be a choice, so that the answer cannot be told by its place among them
}

// makers make the questions of one sort each, in the order in which they are put to a pupil.
var makers = []func(*score) []candidate{
	clefs, signatures, keys, relatives, times, tempos, firstNotes, noteNames, noteValues, ties, rests, intervals,
	noteSigns, barSigns, accidentals, terms, slowing, loudness, hairpins, loudestMark, lines, comings, sequences, cadences,
}

// candidates are all questions on a score up to its level that can be asked.
func candidates(s *score) []candidate {
	var out []candidate
	for _, f := range makers {
		for _, c := range f(s) {
			if c.from <= s.level {
				out = append(out, c)
			}
		}
	}
	return out
}

// choices are the wrong choices that are left when those are taken out that say the right thing too, or
// the same as another.
func (c *candidate) choices() []string {
	said := map[string]bool{"": true, plain(c.Answer): true}
	for _, a := range c.Accepted {
		said[plain(a)] = true
	}
	var out []string
	for _, w := range c.wrong {
		if p := plain(w); !said[p] {
			said[p] = true
			out = append(out, w)
		}
	}
	return out
}

// pick draws n candidates: kind after kind in an order by lot, those that are meant for the level
// first, then easier ones.
func pick(all []candidate, level int, seed uint64, n int) []candidate {
	by := newLot(seed, 0)
	var kinds []Kind
	byKind := map[Kind][]int{}
	for _, i := range by.order(len(all)) {
		k := all[i].Kind
		if byKind[k] == nil {
			kinds = append(kinds, k)
		}
		byKind[k] = append(byKind[k], i)
	}
	slices.Sort(kinds)
	shuffle(by, kinds)
	done := map[string]bool{}
	var chosen []int
	for _, fits := range []bool{true, false} {
		for more := true; more && len(chosen) < n; {
			more = false
			for _, k := range kinds {
				for len(byKind[k]) > 0 && len(chosen) < n {
					i := slices.IndexFunc(byKind[k], func(i int) bool { return !fits || all[i].to >= level })
					if i < 0 {
						break
					}
					c := byKind[k][i]
					byKind[k] = slices.Delete(byKind[k], i, i+1)
					if done[all[c].about] || len(all[c].choices()) == 0 {
						continue
					}
					done[all[c].about] = true
					chosen = append(chosen, c)
					more = true
					break
				}
			}
		}
	}
	slices.Sort(chosen)
	out := make([]candidate, len(chosen))
	for i, c := range chosen {
		out[i] = all[c]
	}
	return out
}

// maxWrong is how many wrong choices there are beside the answer.
const maxWrong = 3

// question finishes a candidate with wrong choices, in an order by lot: the likeliest, and some of the
// next ones.
func (c *candidate) question(seed uint64) Question {
	q := c.Question
	q.ID = fmt.Sprintf("%s: %s: bar %s, beat %.4g", c.Kind, c.about, c.Where.Bar, c.Where.Beat)
	h := fnv.New64a()
	h.Write([]byte(q.ID))
	by := newLot(seed, h.Sum64())
	wrong := c.choices()
	wrong = wrong[:min(len(wrong), 2*maxWrong)]
	first := 1
	if c.even {
		first = 0
	}
	if rest := wrong[min(first, len(wrong)):]; len(wrong) > maxWrong {
		shuffle(by, rest)
		wrong = wrong[:maxWrong]
	}
	q.Choices = append([]string{q.Answer}, wrong...)
	shuffle(by, q.Choices)
	return q
}
