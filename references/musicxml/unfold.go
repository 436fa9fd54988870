package musicxml

import (
	"fmt"
	"slices"

	"evenhand/references"
)

// route is the order in which the bars as written are played.
type route struct {
	bars  []int // indices of bars as written
	pass  []int // of each: the how-manieth time it is played
	jumps []references.Jump
}

// walker plays the bars out. The rules are common practice: a repeat goes back to its start sign,
// or without one to the end of the last repeat, a final bar line or the beginning; an ending is
// played on the passes it names; after a jump in words repeats are not taken, last endings are, and
// Fine and the sign to the coda hold.
type walker struct {
	bars   []bar
	warn   func(bar string, line int, format string, args ...any)
	out    route
	played []int // how often each bar has been played

	start  int     // where the repeat goes back to
	pass   int     // of the repeat that is being played
	starts []int   // where in the route each pass began
	jumped bool    // after a jump in words
	used   []bool  // jumps in words that were made
	group  [][]int // of each bar: all numbers of the endings it stands among
}

// unfold finds the route through a score.
func unfold(w *written, warn func(bar string, line int, format string, args ...any)) (*route, error) {
	k := &walker{
		bars: w.bars, warn: warn, played: make([]int, len(w.bars)), used: make([]bool, len(w.bars)),
		pass: 1, starts: []int{0}, group: endingGroups(w.bars),
	}
	for i := 0; i >= 0 && i < len(k.bars); {
		if len(k.out.bars) >= maxBars {
			return nil, fmt.Errorf("its repeats play out to more than %d bars: %w", maxBars, errBounds)
		}
		i = k.step(i)
	}
	k.leaveRepeats()
	return &k.out, nil
}

// step plays bar i, or passes it over, and returns the next one, -1 for the end.
func (k *walker) step(i int) int {
	nav := &k.bars[i].nav
	if nav.Endings != "" && !k.ending(i) {
		if k.groupEnds(i) && k.pass > slices.Max(k.group[i]) {
			k.begin(i + 1)
		}
		return i + 1
	}
	if nav.RepeatStart && (i != k.start || k.pass == 1) {
		k.begin(i)
	}
	k.played[i]++
	k.out.bars = append(k.out.bars, i)
	k.out.pass = append(k.out.pass, k.played[i])
	if next, ok := k.repeat(i); ok {
		return next
	}
	return k.leave(i)
}

// begin starts a part that may be repeated at bar i, which is played next.
func (k *walker) begin(i int) {
	k.leaveRepeats()
	k.start, k.pass, k.starts = i, 1, []int{len(k.out.bars)}
}

// groupEnds reports whether bar i is the last one under the endings of a repeat.
func (k *walker) groupEnds(i int) bool { return i+1 == len(k.bars) || !k.sameEndings(i, i+1) }

// sameEndings reports whether two bars stand under the endings of one repeat.
func (k *walker) sameEndings(i, j int) bool {
	return max(i, j) < len(k.group) && len(k.group[i]) > 0 && len(k.group[j]) > 0 && &k.group[i][0] == &k.group[j][0]
}

// ending reports whether a bar under an ending's bracket is played now.
func (k *walker) ending(i int) bool {
	own := numbers(k.bars[i].nav.Endings)
	if k.jumped {
		return slices.Max(own) == slices.Max(k.group[i])
	}
	return slices.Contains(own, k.pass)
}

// endingGroups collects, for each bar under a bracket, the numbers of all brackets that follow one
// another there.
func endingGroups(bars []bar) [][]int {
	out := make([][]int, len(bars))
	for i := 0; i < len(bars); {
		if bars[i].nav.Endings == "" {
			i++
			continue
		}
		j, all := i, []int(nil)
		for ; j < len(bars) && bars[j].nav.Endings != ""; j++ {
			own := numbers(bars[j].nav.Endings)
			if j > i && bars[j].nav.EndingStarts && slices.Contains(own, 1) {
				break // the endings of the next repeat
			}
			all = append(all, own...)
		}
		for ; i < j; i++ {
			out[i] = all
		}
	}
	return out
}

// repeat goes back at the end of bar i where a repeat asks for it.
func (k *walker) repeat(i int) (int, bool) {
	nav := &k.bars[i].nav
	if nav.RepeatEnd == 0 {
		if nav.Final || nav.Endings != "" && k.groupEnds(i) && !k.sameEndings(k.start, i) {
			k.begin(i + 1)
		}
		return 0, false
	}
	times := nav.RepeatEnd
	if len(k.group[i]) > 0 {
		times = max(slices.Max(k.group[i]), min(times, slices.Max(k.group[i])+1))
	}
	if k.jumped && !nav.AfterJump {
		if from := k.starts[0]; from < len(k.out.bars) && k.out.bars[from] == k.start {
			k.out.jumps = append(k.out.jumps, references.Jump{From: len(k.out.bars), To: from, Why: references.TakeRepeat})
		}
	} else if k.pass < times {
		k.pass++
		k.starts = append(k.starts, len(k.out.bars))
		return k.start, true
	}
	k.begin(i + 1)
	return 0, false
}

// leaveRepeats notes, at the end of a part played several times, the jumps by which a player leaves
// repeats out: each earlier pass may go on where the last one differs from it.
func (k *walker) leaveRepeats() {
	n := len(k.starts)
	last := k.out.bars[k.starts[n-1]:]
	for p := range n - 1 {
		pass := k.out.bars[k.starts[p]:k.starts[p+1]]
		same := 0
		for same < len(pass) && same < len(last) && pass[same] == last[same] {
			same++
		}
		k.out.jumps = append(k.out.jumps, references.Jump{From: k.starts[p] + same, To: k.starts[n-1] + same})
	}
}

// leave goes on from the end of bar i: to the next one, back by words, on to the coda, or nowhere.
func (k *walker) leave(i int) int {
	nav := &k.bars[i].nav
	if k.jumped && nav.Fine {
		return -1
	}
	if k.jumped && nav.ToCoda {
		for j := i + 1; j < len(k.bars); j++ {
			if k.bars[j].nav.Coda {
				k.jumped = false
				k.begin(j)
				return j
			}
		}
		k.warn(k.bars[i].number, k.bars[i].line, "a jump to a coda that is not there was passed over")
	}
	if nav.Back == references.NoBack || k.used[i] {
		return i + 1
	}
	k.used[i] = true
	to := 0
	if nav.Back == references.DalSegno {
		if to = k.segno(i); to < 0 {
			k.warn(k.bars[i].number, k.bars[i].line, "a jump to a sign that is not there was passed over")
			return i + 1
		}
	}
	k.jumped = true
	k.begin(to)
	return to
}

// segno finds the sign that a dal segno at bar i names: the one of its name, else the last one up
// to there.
func (k *walker) segno(i int) int {
	found := -1
	for j := range k.bars[:i+1] {
		b := &k.bars[j]
		if !b.nav.Segno {
			continue
		}
		if found = j; k.bars[i].toSegno != "" && b.segno == k.bars[i].toSegno {
			return j
		}
	}
	return found
}

// sections cuts the route wherever it may be left or entered.
func (r *route) sections() []references.Section {
	cuts := map[int]bool{}
	for p := 1; p < len(r.bars); p++ {
		if r.bars[p] != r.bars[p-1]+1 || r.pass[p] != r.pass[p-1] {
			cuts[p] = true
		}
	}
	for _, j := range r.jumps {
		cuts[j.From], cuts[j.To] = true, true
	}
	var out []references.Section
	first := 0
	for p := 1; p <= len(r.bars); p++ {
		if p == len(r.bars) || cuts[p] {
			out = append(out, references.Section{First: first, End: p, Pass: r.pass[first]})
			first = p
		}
	}
	return out
}
