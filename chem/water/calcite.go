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
	dissolve := func(x float64) (Water, error) {
		out := w
		out.Ion[Calcium] += unit.MmolPerL(x)
		return out.WithCarbon(w.TotalCarbon() + unit.MmolPerL(x))
	}
	if s := w.Saturation().Calcite; s >= target {
		return w, 0, nil
	}
	// The index rises steadily with what dissolves. High grows until it is past
	// the target, then the interval is halved.
	low, high := 0.0, 0.1
	for ; ; high *= 2 {
		out, err := dissolve(high)
		if err != nil {
			return w, 0, err
		}
		if out.Saturation().Calcite >= target {
			break
		}
		if low = high; high > 100 {
			return w, 0, fmt.Errorf("100 mmol/L of calcite do not bring the water to a saturation index of %g", target)
		}
	}
	for high-low > 1e-9 {
		mid := (low + high) / 2
		out, err := dissolve(mid)
		if err != nil {
			return w, 0, err
		}
		if out.Saturation().Calcite < target {
			low = mid
		} else {
			high = mid
		}
	}
	out, err := dissolve(high)
	return out, unit.MmolPerL(high), err
}
