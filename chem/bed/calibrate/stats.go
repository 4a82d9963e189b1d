package calibrate

import (
	"math"
	"slices"
)

// quantile of sorted values, interpolated between the middles of equal shares.
func quantile(sorted []float64, p float64) float64 {
	at := p*float64(len(sorted)) - 0.5
	i := int(math.Floor(at))
	switch {
	case i < 0:
		return sorted[0]
	case i >= len(sorted)-1:
		return sorted[len(sorted)-1]
	}
	if sorted[i] == sorted[i+1] { // both may be +Inf
		return sorted[i]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// variance of the logarithm.
func variance(xs []float64) float64 {
	var sum, squares float64
	for _, x := range xs {
		l := math.Log(x)
		sum += l
		squares += l * l
	}
	n := float64(len(xs))
	return max(0, squares/n-sum*sum/(n*n))
}

func bandOf(xs []float64) Band {
	s := slices.Sorted(slices.Values(xs))
	return Band{quantile(s, 0.1), quantile(s, 0.5), quantile(s, 0.9)}
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }
