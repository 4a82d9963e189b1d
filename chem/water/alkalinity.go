package water

import (
	"fmt"

	"forebed/chem/unit"
)

// Forms are the kinds of alkalinity that two titrations tell apart, each in
// mg/L as CaCO3.
type Forms struct {
	Hydroxide, Carbonate, Bicarbonate unit.MgPerL
}

// AlkalinityForms splits a total alkalinity by the phenolphthalein alkalinity
// (end point pH 8.3), both in mg/L as CaCO3. It fails where the phenolphthalein
// alkalinity is negative or above the total. Source: table of Standard Methods
// 2320 B, ledger rows C-ALK-PT1 to PT5.
func AlkalinityForms(phenolphthalein, total unit.MgPerL) (Forms, error) {
	p, t := phenolphthalein, total
	switch {
	case !(p >= 0) || !(t >= p):
		return Forms{}, fmt.Errorf("found phenolphthalein alkalinity %g and total alkalinity %g, expected 0 or more and no more than the total", float64(p), float64(t))
	case 2*p <= t:
		return Forms{Carbonate: 2 * p, Bicarbonate: t - 2*p}, nil
	}
	return Forms{Hydroxide: 2*p - t, Carbonate: 2 * (t - p)}, nil
}
