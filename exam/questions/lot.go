package questions

// lot draws numbers from a seed: SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number
// generators", OOPSLA 2014). The numbers are part of what a seed means, so they are no library's.
type lot uint64

// newLot is the lot of a seed and of what is drawn for.
func newLot(seed, what uint64) *lot {
	l := lot(seed)
	l = lot(l.next() ^ what)
	return &l
}

func (l *lot) next() uint64 {
	*l += 0x9e3779b97f4a7c15
	z := uint64(*l)
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}

// order is the numbers from 0 up to n in an order by lot.
func (l *lot) order(n int) []int {
	out := make([]int, n)
	for i := range out {
		out[i] = i
	}
	shuffle(l, out)
	return out
}

// shuffle puts a list into an order by lot (Fisher and Yates; Durstenfeld 1964).
func shuffle[T any](l *lot, list []T) {
	for i := len(list) - 1; i > 0; i-- {
		j := int(l.next() % uint64(i+1))
		list[i], list[j] = list[j], list[i]
	}
}
