package align_test

import (
	"encoding/json"
	"fmt"
	"strconv"
	"strings"
	"testing"

	"evenhand/align"
	"evenhand/capture"
	"evenhand/internal/outside"
	"evenhand/references"
)

// keysOf are the keys of a score and of a performance, each in order of time: what a plain dynamic
// time warping compares.
func keysOf(ref *references.Reference, take *capture.Take) (expected, played []int32) {
	for i := range ref.Notes {
		expected = append(expected, int32(ref.Notes[i].Key()))
	}
	for i := range take.Notes {
		played = append(played, int32(take.Notes[i].Key))
	}
	return expected, played
}

// warp is dynamic time warping as the textbooks have it (Sakoe & Chiba (1978), IEEE Trans. ASSP 26(1),
// 43-49, without slope weights): the whole matrix, the distance of two keys as the cost, and the way
// back through it. It returns the cost and the pairs.
func warp(a, b []int32) (cost int32, pairs [][2]int32) {
	from := make([]uint8, len(a)*len(b))
	above := make([]int32, len(b))
	row := make([]int32, len(b))
	for i := range a {
		for j := range b {
			d := a[i] - b[j]
			if d < 0 {
				d = -d
			}
			best, way := int32(0), uint8(0)
			switch {
			case i > 0 && j > 0:
				best, way = above[j-1], 0
				if above[j] < best {
					best, way = above[j], 1
				}
				if row[j-1] < best {
					best, way = row[j-1], 2
				}
			case i > 0:
				best, way = above[j], 1
			case j > 0:
				best, way = row[j-1], 2
			}
			row[j] = best + d
			from[i*len(b)+j] = way
		}
		above, row = row, above
	}
	cost = above[len(b)-1]
	for i, j := len(a)-1, len(b)-1; i >= 0 && j >= 0; {
		pairs = append(pairs, [2]int32{int32(i), int32(j)})
		switch way := from[i*len(b)+j]; {
		case i == 0 && j == 0:
			return cost, pairs
		case way == 0:
			i, j = i-1, j-1
		case way == 1:
			i--
		default:
			j--
		}
	}
	return cost, pairs
}

// others warps the same keys with the npm library dynamic-time-warping 1.0.0 under Node.js, and tells
// the cost and the seconds its own work took.
func others(t testing.TB, a, b []int32) (cost, seconds float64) {
	t.Helper()
	in, err := json.Marshal([2][]int32{a, b})
	if err != nil {
		t.Fatal(err)
	}
	out := strings.Fields(string(outside.Node(t, `
		import DynamicTimeWarping from "dynamic-time-warping";
		import { readFileSync } from "node:fs";
		const [a, b] = JSON.parse(readFileSync(0));
		const start = performance.now();
		const warping = new DynamicTimeWarping(a, b, (x, y) => Math.abs(x - y));
		warping.getPath();
		console.log(warping.getDistance(), (performance.now() - start) / 1000);`, in)))
	for i, x := range []*float64{&cost, &seconds} {
		if *x, err = strconv.ParseFloat(out[i], 64); err != nil {
			t.Fatal(err)
		}
	}
	return cost, seconds
}

// TestWarpAgreesWithALibrary: the plain warping that speed is told against is the usual one.
func TestWarpAgreesWithALibrary(t *testing.T) {
	ref, take := longPiece(600)
	a, b := keysOf(ref, take)
	cost, pairs := warp(a, b)
	if theirs, _ := others(t, a, b); theirs != float64(cost) {
		t.Errorf("cost %d, by dynamic-time-warping %v", cost, theirs)
	}
	sum := int32(0)
	for _, p := range pairs {
		sum += max(a[p[0]]-b[p[1]], b[p[1]]-a[p[0]])
	}
	if sum != cost {
		t.Errorf("the way back costs %d, there %d", sum, cost)
	}
}

// BenchmarkAgainstWarping aligns a piece of 10,000 notes, warps its bare keys over the full matrix, and
// has a general-purpose library warp a fifth of it (its matrix of 10,000 by 10,000 does not fit in 4 GB),
// told for the whole by the square of the length.
func BenchmarkAgainstWarping(b *testing.B) {
	const notes, part = 10_000, 5
	ref, take := longPiece(notes)
	x, y := keysOf(ref, take)
	var ours float64
	b.Run("align", func(b *testing.B) {
		for b.Loop() {
			align.Align(ref, take, 0, 0)
		}
		ours = b.Elapsed().Seconds() / float64(b.N)
	})
	b.Run("full-matrix", func(b *testing.B) {
		for b.Loop() {
			warp(x, y)
		}
		b.ReportMetric(b.Elapsed().Seconds()/float64(b.N)/ours, "times-align")
	})
	b.Run(fmt.Sprintf("library-a-%dth", part), func(b *testing.B) {
		var sum float64
		for b.Loop() {
			_, s := others(b, x[:len(x)/part], y[:len(y)/part])
			sum += s
		}
		b.ReportMetric(sum/float64(b.N), "s-own-work")
		b.ReportMetric(part*part*sum/float64(b.N)/ours, "times-align")
	})
}
