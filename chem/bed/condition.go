package bed

import (
	"math"
	"math/rand/v2"

	"forebed/chem/unit"
)

// Interval is an uncertain number: its ends and the value to use when one is
// wanted.
type Interval struct {
	Low, Typical, High float64
}

// Draw returns one value, triangularly distributed with its mode at Typical.
func (i Interval) Draw(rng *rand.Rand) float64 {
	width := i.High - i.Low
	if width <= 0 {
		return i.Typical
	}
	u, left := rng.Float64(), (i.Typical-i.Low)/width
	if u < left {
		return i.Low + width*math.Sqrt(u*left)
	}
	return i.High - width*math.Sqrt((1-u)*(1-left))
}

// Condition is what is known of the resin in a vessel.
type Condition struct {
	Name             string
	CationCapacity   Interval // eq per litre of cation resin
	AnionCapacity    Interval // eq per litre of anion resin
	CationConversion Interval // share in H form as filled
	AnionConversion  Interval // share in OH form as filled
	Distribution     Interval // share of the bed that the flow reaches evenly
	Source           string
}

// New is virgin resin as shipped.
func New() Condition {
	return Condition{
		Name:             "new",
		CationCapacity:   Interval{1.8, 1.9, 2.0},
		AnionCapacity:    Interval{0.9, 1.0, 1.1},
		CationConversion: Interval{0.95, 0.99, 0.997},
		AnionConversion:  Interval{0.90, 0.95, 0.99},
		Distribution:     Interval{0.85, 0.90, 0.95},
		Source:           "ledger A01, A03, A13, A14: data sheets, verified; distribution A12, computed from the trade rating of new resin A08",
	}
}

// Regenerated is resin that a service company regenerated: the same beads,
// less completely converted, the halves less cleanly separated.
func Regenerated() Condition {
	return Condition{
		Name:             "regenerated",
		CationCapacity:   Interval{1.7, 1.85, 2.0},
		AnionCapacity:    Interval{0.8, 0.95, 1.05},
		CationConversion: Interval{0.90, 0.95, 0.99},
		AnionConversion:  Interval{0.85, 0.90, 0.95},
		Distribution:     Interval{0.80, 0.87, 0.95},
		Source:           "ledger 2.5 and A09 (0.70 of the total, 9,000 gr/ft3); the ends are common practice, no source",
	}
}

// UnknownCondition spans new and regenerated resin.
func UnknownCondition() Condition {
	a, b := New(), Regenerated()
	hull := func(x, y Interval) Interval {
		return Interval{min(x.Low, y.Low), (x.Typical + y.Typical) / 2, max(x.High, y.High)}
	}
	return Condition{
		Name:             "unknown",
		CationCapacity:   hull(a.CationCapacity, b.CationCapacity),
		AnionCapacity:    hull(a.AnionCapacity, b.AnionCapacity),
		CationConversion: hull(a.CationConversion, b.CationConversion),
		AnionConversion:  hull(a.AnionConversion, b.AnionConversion),
		Distribution:     hull(a.Distribution, b.Distribution),
		Source:           "from the worst of regenerated to the best of new resin",
	}
}

// Typical returns the vessel with the typical values of the condition.
func (c Condition) Typical(v Vessel) Vessel {
	return c.fill(v, func(i Interval) float64 { return i.Typical })
}

// Draw returns the vessel with one random set of values of the condition. The
// same seed gives the same vessel.
func (c Condition) Draw(v Vessel, rng *rand.Rand) Vessel {
	return c.fill(v, func(i Interval) float64 { return i.Draw(rng) })
}

func (c Condition) fill(v Vessel, pick func(Interval) float64) Vessel {
	v.CationCapacity = unit.EqPerL(pick(c.CationCapacity))
	v.AnionCapacity = unit.EqPerL(pick(c.AnionCapacity))
	v.Conversion.Cation = pick(c.CationConversion)
	v.Conversion.Anion = pick(c.AnionConversion)
	v.Distribution = pick(c.Distribution)
	return v
}
