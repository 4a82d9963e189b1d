package water

import (
	"math"
	"math/rand/v2"

	"forebed/chem/unit"
)

// draw takes one value of a known quantity: around a value with its error,
// or from the whole interval. Nothing below 0 comes out (but a temperature).
func (g given) draw(r *rand.Rand, widen float64) float64 {
	switch {
	case !g.interval:
		if v := g.value + g.sigma*widen*r.NormFloat64(); v > 0 || g.source == nil {
			return v
		}
		return math.Abs(g.sigma*r.NormFloat64()) / 2
	case math.IsInf(g.high, 1):
		return g.low * math.Exp(0.35*r.ExpFloat64()) // past the end of a scale: half within 1.27 times its end
	case g.low > 0:
		return g.low * math.Exp(r.Float64()*math.Log(g.high/g.low))
	}
	return r.Float64() * g.high
}

// quantiles is a distribution by its values at 5, 10, 25, 50, 75, 90 and 95 %.
type quantiles [7]float64

var levels = [9]float64{0, 0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95, 1}

// at returns the value at probability u, straight between the levels; past
// the outer levels it goes on at the slope of the outer interval.
func (q *quantiles) at(u float64) float64 {
	i := 1
	for i < 6 && u > levels[i+1] {
		i++
	}
	return q[i-1] + (u-levels[i])/(levels[i+1]-levels[i])*(q[i]-q[i-1])
}

// draw takes one value, not below 0.
func (q *quantiles) draw(r *rand.Rand) float64 { return max(q.at(r.Float64()), 0) }

// candidate is one water on the way to becoming a draw: meq/L, mmol/L for
// silica and sulfide, and the logarithm of its weight.
type candidate struct {
	ion       [NumIons]float64 // meq/L; bicarbonate is the alkalinity
	silica    float64
	sulfide   float64
	ph        float64
	logPCO2   float64
	celsius   float64
	matter    Matter
	logWeight float64
}

func (c *candidate) cations() (sum float64) {
	for i := Calcium; i <= Manganese; i++ {
		sum += c.ion[i]
	}
	return sum
}

// unbalanced turns a candidate into a water whose alkalinity is all
// bicarbonate.
func (c *candidate) unbalanced() Water {
	w := Water{PH: c.ph, Temperature: unit.Celsius(c.celsius), Silica: unit.MmolPerL(c.silica), Sulfide: unit.MmolPerL(c.sulfide), Matter: c.matter}
	for i := range Ion(NumIons) {
		w.Ion[i] = unit.MmolPerL(c.ion[i] / math.Abs(valence[i]))
	}
	if w.PH == 0 {
		w.PH = 7
	}
	return w
}

// water turns a candidate into a balanced water.
func (c *candidate) water() (Water, error) {
	w := c.unbalanced()
	w.set(Carbon{})
	if c.ph > 0 {
		if out, err := w.WithPH(c.ph); err == nil {
			return out, nil
		}
	}
	return w.WithPressure(c.logPCO2)
}
