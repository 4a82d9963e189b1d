package bed

import (
	"errors"
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// SwapRule tells when the lead of two vessels in series is taken out. The lag
// then becomes the lead, and a fresh vessel the lag.
type SwapRule int

// The rules of swapping.
const (
	SwapAtLead SwapRule = iota // when the water between the vessels passes the limit of dry residue
	SwapAtLag                  // when the product of the lag passes it: the most that can be had, with nothing in reserve
)

// Series is two equal vessels in series in settled operation.
type Series struct {
	Run     unit.Litres // water between two swaps
	Single  unit.Litres // life of one vessel alone, for comparison
	Used    Halves      // share of the total capacity of the vessel taken out that was used
	Between float64     // what a pen between the vessels shows at the swap, ppm
	After   float64     // what a pen behind both shows, ppm
	Highest unit.MgPerL // highest dry residue of the product between swaps
	Swaps   int         // until the run settled
}

// The run between swaps has settled when it changes by less than this share.
const (
	settledSwap = 0.005
	mostSwaps   = 30
)

// RunSeries follows two equal vessels in series through swaps until the run
// between them settles. It fails as Run does, and where the run does not
// settle or the limit is never passed.
func RunSeries(v *Vessel, s Service, e *Ends, w *water.Water, rule SwapRule, o Options) (*Series, error) {
	if err := errors.Join(v.Check(), s.Check(), e.Check()); err != nil {
		return nil, err
	}
	o, err := o.filled()
	if err != nil {
		return nil, err
	}
	r, stretches, err := newRun(v, s, w, o)
	if err != nil {
		return nil, err
	}
	fresh := func() *column {
		c := r.column
		return newColumn(c.system, c.cells, c.qc, c.qa, c.leave)
	}
	lead, lag, most := r.column, fresh(), 3*stretches[len(stretches)-1].until
	var x Series
	var last unit.Litres
	limit := float64(e.Residue)
	for x.Swaps = 1; x.Swaps <= mostSwaps; x.Swaps++ {
		x.Run, x.Highest = 0, 0
		for spent := false; !spent; {
			if float64(x.Run) > most {
				return nil, fmt.Errorf("the dry residue never passes %.3g mg/L: there is no swap to make", limit)
			}
			if err := lead.pass(r.feed, 0); err != nil {
				return nil, fmt.Errorf("lead: %w", err)
			}
			between, _ := r.species.product(lead.water, r.celsius, 1e-7)
			if err := lag.pass(lead.water, 0); err != nil {
				return nil, fmt.Errorf("lag: %w", err)
			}
			after, _ := r.species.product(lag.water, r.celsius, 1e-7)
			x.Run += unit.Litres(r.batch)
			x.Highest = max(x.Highest, after.Residue)
			x.Between, x.After = between.Meter(e.MeterFactor), after.Meter(e.MeterFactor)
			passed := float64(between.Residue) >= limit
			if passed && x.Single == 0 {
				x.Single = x.Run // the first lead was fresh
			}
			spent = rule == SwapAtLead && passed || float64(after.Residue) >= limit
		}
		x.Used = r.species.held(lead, v.total(), r.batch)
		if math.Abs(float64(x.Run/last)-1) < settledSwap {
			break
		}
		last = x.Run
		lead, lag = lag, fresh()
	}
	if x.Swaps > mostSwaps {
		return nil, fmt.Errorf("the run between swaps does not settle in %d swaps", mostSwaps)
	}
	return &x, nil
}

// held returns the share of the total sites that something stands on.
func (s *species) held(c *column, total Halves, batch float64) (used Halves) {
	for k := range c.cells {
		for i, q := range c.resin[k*c.n : k*c.n+c.n] {
			if i < len(s.cations) {
				used.Cation += q * batch / total.Cation
			} else {
				used.Anion += q * batch / total.Anion
			}
		}
	}
	return used
}
