package calibrate

import (
	"math"
	"math/rand/v2"
	"slices"
)

// What the load of a feed does, as its logarithm. Common practice, no source.
const (
	levelSpread  = 0.15 // from the plan's water, the pen's factor included
	seasonSpread = 0.07 // of either part of a yearly wave
	walkSpread   = 0.08 // wandering in a year
	shortSpread  = 0.03 // from week to week
	shortDays    = 21.0 // time over which that is forgotten
	penSpread    = 0.03 // of one reading of a pen, share of what it shows
	penRound     = 0.5  // ppm
	yearDays     = 365.25
)

const (
	feedBins  = 240 // bounds the number of times at which the feed is computed
	feedPaths = 64  // equally likely ones
)

// covariance of the logarithm of the load at two times, in days.
func covariance(a, b, start float64) float64 {
	d := math.Abs(a - b)
	return levelSpread*levelSpread +
		seasonSpread*seasonSpread*math.Cos(2*math.Pi*d/yearDays) +
		walkSpread*walkSpread*max(0, min(a, b)-start)/yearDays +
		shortSpread*shortSpread*math.Exp(-d/shortDays)
}

// reading is one look at the feed.
type reading struct{ day, ppm float64 }

// feed is the load of the feed over that of the plan's water, as it may have
// been and may become: equally likely paths through the readings of the pen.
type feed struct {
	days  []float64   // rising
	mean  []float64   // expected logarithm at each of them
	paths [][]float64 // logarithm, path by path
}

// newFeed conditions the process on the readings. reference is what a true pen
// shows of the plan's water. What the pen is off is the same in all readings.
// The days cover from..to.
func newFeed(readings []reading, reference, from, to float64, paths int, rng *rand.Rand) feed {
	width := max(7, (to-from)/feedBins)
	count := int((to-from)/width) + 2
	f := feed{days: make([]float64, count), mean: make([]float64, count)}
	for i := range f.days {
		f.days[i] = from + float64(i)*width
	}
	bins := binned(readings, reference, from, width, count)
	off := math.Hypot(pensApart, penOffset/max(reference, 1))
	n := len(bins)
	k := newMatrix(n)
	y := make([]float64, n)
	for i, b := range bins {
		y[i] = b.log
		for j := range i + 1 {
			k[i][j] = covariance(b.day, bins[j].day, from) + off*off
		}
		k[i][i] += b.variance
	}
	cholesky(k)
	alpha := solveUpper(k, solveLower(k, y))
	cross := make([][]float64, count) // L^-1 k(bins, day)
	for i, d := range f.days {
		c := make([]float64, n)
		for j, b := range bins {
			c[j] = covariance(d, b.day, from)
			f.mean[i] += c[j] * alpha[j]
		}
		cross[i] = solveLower(k, c)
	}
	post := newMatrix(count)
	for i := range count {
		for j := range i + 1 {
			post[i][j] = covariance(f.days[i], f.days[j], from) - dot(cross[i], cross[j])
		}
		post[i][i] += 1e-9
	}
	cholesky(post)
	for range paths {
		z := make([]float64, count)
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		p := make([]float64, count)
		for i := range p {
			p[i] = f.mean[i] + dot(post[i][:i+1], z[:i+1])
		}
		f.paths = append(f.paths, p)
	}
	return f
}

// bin is the readings of one stretch of days as one, with less noise.
type bin struct{ day, log, variance float64 }

// alone is the ratio to both its neighbours beyond which a reading is taken
// for a slip, until a second one bears it out.
const alone = 1.5

// binned joins readings that stand close together, and leaves out what stands
// alone.
func binned(readings []reading, reference, from, width float64, count int) []bin {
	sums := make([]bin, count)
	for _, r := range readings {
		if r.ppm <= 0 || reference <= 0 {
			continue
		}
		noise := penSpread + penRound/r.ppm
		w := 1 / (noise * noise)
		b := &sums[min(max(int((r.day-from)/width), 0), count-1)]
		b.day += w * r.day
		b.log += w * math.Log(r.ppm/reference)
		b.variance += w // a weight until it is turned around below
	}
	sums = slices.DeleteFunc(sums, func(b bin) bool { return b.variance == 0 })
	for i := range sums {
		b := &sums[i]
		*b = bin{b.day / b.variance, b.log / b.variance, 1 / b.variance}
	}
	far := func(i, j int) bool {
		return j < 0 || j >= len(sums) || math.Abs(sums[i].log-sums[j].log) > math.Log(alone)
	}
	var kept []bin
	for i := range sums {
		if len(sums) < 3 || !far(i, i-1) || !far(i, i+1) {
			kept = append(kept, sums[i])
		}
	}
	return kept
}

// at interpolates a path at a day; outside the days it keeps its end.
func (f *feed) at(path []float64, day float64) float64 {
	i, exact := slices.BinarySearch(f.days, day)
	switch {
	case i == 0:
		return path[0]
	case i == len(f.days):
		return path[i-1]
	case exact:
		return path[i]
	}
	w := (day - f.days[i-1]) / (f.days[i] - f.days[i-1])
	return path[i-1] + w*(path[i]-path[i-1])
}

// A matrix here is symmetric and held by its lower triangle.
func newMatrix(n int) [][]float64 {
	m := make([][]float64, n)
	for i := range m {
		m[i] = make([]float64, i+1)
	}
	return m
}

// cholesky replaces a by its lower factor. A pivot that rounding made
// negative counts as 0: that direction has no spread.
func cholesky(a [][]float64) {
	for i := range a {
		for j := range i + 1 {
			s := a[i][j] - dot(a[i][:j], a[j][:j])
			switch {
			case i == j:
				a[i][i] = math.Sqrt(max(0, s))
			case a[j][j] > 0:
				a[i][j] = s / a[j][j]
			default:
				a[i][j] = 0
			}
		}
	}
}

// solveLower solves L x = b.
func solveLower(l [][]float64, b []float64) []float64 {
	x := slices.Clone(b)
	for i := range x {
		x[i] = (x[i] - dot(l[i][:i], x[:i])) / l[i][i]
	}
	return x
}

// solveUpper solves L' x = b.
func solveUpper(l [][]float64, b []float64) []float64 {
	x := slices.Clone(b)
	for i := range slices.Backward(x) {
		for k := i + 1; k < len(x); k++ {
			x[i] -= l[k][i] * x[k]
		}
		x[i] /= l[i][i]
	}
	return x
}

func dot(a, b []float64) float64 {
	var s float64
	for i, x := range a {
		s += x * b[i]
	}
	return s
}
