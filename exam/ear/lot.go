package ear

// lot draws by lot: the generator SplitMix64 of Steele, Lea & Flood (2014), "Fast splittable
// pseudorandom number generators", OOPSLA, 453-472. It is our own so that a seed gives the same music
// whatever the version of the standard library.
type lot struct{ state uint64 }

// newLot keeps kinds and levels apart: one seed gives each of them music of its own.
func newLot(seed uint64, kind Kind, level int) *lot {
	l := &lot{seed}
	for _, c := range []byte(kind) {
		l.state = l.next() ^ uint64(c)
	}
	l.state = l.next() ^ uint64(level)
	return l
}

func (l *lot) next() uint64 {
	l.state += 0x9E3779B97F4A7C15
	z := l.state
	z = (z ^ z>>30) * 0xBF58476D1CE4E5B9
	z = (z ^ z>>27) * 0x94D049BB133111EB
	return z ^ z>>31
}

// unit is from 0 up to but not including 1.
func (l *lot) unit() float64 { return float64(l.next()>>11) / (1 << 53) }

// below is a whole number from 0 to n-1.
func (l *lot) below(n int) int { return int(l.unit() * float64(n)) }

// between is a whole number from low to high, both included.
func (l *lot) between(low, high int) int { return low + l.below(high-low+1) }

// chance is true percent times in a hundred.
func (l *lot) chance(percent int) bool { return l.below(100) < percent }

// weighted is the index of one of the weights, as likely as it is heavy; -1 where all are zero.
func (l *lot) weighted(weights []float64) int {
	var sum float64
	for _, w := range weights {
		sum += w
	}
	if sum <= 0 {
		return -1
	}
	at, last := l.unit()*sum, -1
	for i, w := range weights {
		if w <= 0 {
			continue
		}
		if last = i; at < w {
			break
		}
		at -= w
	}
	return last
}

// one picks one of several.
func one[T any](l *lot, of []T) T { return of[l.below(len(of))] }

// mixed is the list in another order.
func mixed[T any](l *lot, list []T) []T {
	out := append([]T(nil), list...)
	for i := len(out) - 1; i > 0; i-- {
		j := l.below(i + 1)
		out[i], out[j] = out[j], out[i]
	}
	return out
}
