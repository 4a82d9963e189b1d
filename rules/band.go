package rules

import (
	"slices"
)

// over returns the band of a quantity over the draws of the bench. Its middle
// is the central draw, which is chosen for its life: in another quantity it may
// lie outside P10 to P90, and the band is then widened to hold it.
func (b *bench) over(of func(i int) float64) Band {
	xs := make([]float64, len(b.raw))
	for i := range xs {
		xs[i] = of(i)
	}
	mid := xs[b.central]
	slices.Sort(xs)
	return Band{P10: min(percentile(xs, 0.10), mid), P50: mid, P90: max(percentile(xs, 0.90), mid)}
}

// share returns the share of the draws in which something holds.
func (b *bench) shareOf(holds func(i int) bool) float64 {
	n := 0
	for i := range b.raw {
		if holds(i) {
			n++
		}
	}
	return float64(n) / float64(len(b.raw))
}

// ratio of two lives; 1 where neither ends, and bounded where only one does.
func ratio(with, without float64) float64 {
	const most = 1e6
	switch {
	case without > 0:
		return min(with/without, most)
	case with > 0:
		return most
	}
	return 1
}
