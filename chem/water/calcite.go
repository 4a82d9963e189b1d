package water

import (
	"fmt"
	"math"

	"forebed/chem/unit"
)

// Calcite brings a water into contact with calcite (limestone) in a closed
// vessel until its saturation index reaches target: 0 is equilibrium, -0.5
// and -1 an incomplete approach. It returns the water and the calcite that
// dissolved. Total carbon grows by what dissolves and no gas is exchanged. A
// water that is above the target already comes back as it was, with 0: the
// stage only dissolves.
//
// It fails when the target lies above 0.
func (w Water) Calcite(target float64) (Water, unit.MmolPerL, error) {
	if !(target <= 0) || math.IsInf(target, 0) {
		return w, 0, fmt.Errorf("target saturation index is %v, expected 0 or less", target)
	}
	// index returns the water with so much calcite dissolved, and how far its
	// index lies above the target. Each trial starts from the one before.
	last := w
	eq := w.equilibria()
	above := func(w *Water) float64 {
		p := eq.pair.pairs(w)
		return max(lowestIndex, w.calcite(eq, &p)) - target
	}
	index := func(x float64) (Water, float64, error) {
		last.Ion[Calcium] = w.Ion[Calcium] + unit.MmolPerL(x)
		out, err := last.WithCarbon(w.TotalCarbon() + unit.MmolPerL(x))
		if err == nil {
			last = out
		}
		return out, above(&out), err
	}
	below := above(&w)
	if below >= 0 {
		return w, 0, nil
	}
	// The index rises steadily with what dissolves. Calcite takes up about its
	// own amount of CO2, so that little more than the CO2 brackets the end.
	low, high, over := 0.0, float64(w.CO2)+0.05, 0.0
	for ; ; high *= 2 {
		var err error
		if _, over, err = index(high); err != nil {
			return w, 0, err
		}
		if over >= 0 {
			break
		}
		if low, below = high, over; high > 100 {
			return w, 0, fmt.Errorf("100 mmol/L of calcite do not bring the water to a saturation index of %g", target)
		}
	}
	// Ridders' method: the end stays bracketed, and each step of two trials
	// doubles the figures that are right.
	for range 60 {
		middle := (low + high) / 2
		_, f, err := index(middle)
		if err != nil {
			return w, 0, err
		}
		x := middle - (middle-low)*f/math.Sqrt(f*f-below*over)
		out, g, err := index(x)
		if err != nil {
			return w, 0, err
		}
		if math.Abs(g) <= indexTolerance || high-low <= 1e-9 {
			return out, unit.MmolPerL(x), nil
		}
		for _, p := range [...]struct{ x, f float64 }{{middle, f}, {x, g}} {
			switch {
			case p.f < 0 && p.x > low:
				low, below = p.x, p.f
			case p.f >= 0 && p.x < high:
				high, over = p.x, p.f
			}
		}
	}
	return w, 0, fmt.Errorf("the calcite that dissolves does not settle between %v and %v mmol/L", low, high)
}

// indexTolerance is how near to the target the index comes: far within what
// the constants are known to.
const indexTolerance = 1e-6

// lowestIndex stands for the index of a water without calcium or carbonate.
const lowestIndex = -20
