package references

import "sort"

// Nearest is at most n words, nearest first, that are fewest edits away from the given one: the
// nearest of all, and those at most one edit further.
func Nearest(word string, words []string, n int) []string {
	type near struct {
		word  string
		edits int
	}
	all := make([]near, len(words))
	for i, w := range words {
		all[i] = near{w, edits([]rune(word), []rune(w))}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].edits < all[j].edits })
	var out []string
	for _, a := range all[:min(n, len(all))] {
		if a.edits <= all[0].edits+1 {
			out = append(out, a.word)
		}
	}
	return out
}

// edits is the edit distance of Levenshtein (1966), with the exchange of two neighbouring letters
// counted as one edit as well.
func edits(a, b []rune) int {
	before, row, next := make([]int, len(b)+1), make([]int, len(b)+1), make([]int, len(b)+1)
	for j := range row {
		row[j] = j
	}
	for i := range a {
		next[0] = i + 1
		for j := range b {
			change := 1
			if a[i] == b[j] {
				change = 0
			}
			next[j+1] = min(row[j]+change, row[j+1]+1, next[j]+1)
			if i > 0 && j > 0 && a[i] == b[j-1] && a[i-1] == b[j] {
				next[j+1] = min(next[j+1], before[j-1]+1)
			}
		}
		before, row, next = row, next, before
	}
	return row[len(b)]
}
