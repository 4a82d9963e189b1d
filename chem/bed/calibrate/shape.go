package calibrate

import "math"

// Shape is what the meters show on the way of one fill, as the plan expects
// it. Throughput counts in lives: 1 is the end by dry residue, on water of the
// plan. See the package comment for the equations.
type Shape struct {
	Anion       float64 // throughput at which the load equals what the anion half takes up, in lives
	Cation      float64 // the same of the cation half
	AnionUnits  float64 // film transfer units of the anion half (Nf), 5 to 300
	CationUnits float64 // the same of the cation half
	Feed        float64 // what the pen shows of the feed, ppm
	Carbonic    float64 // what the pen shows of the feed's carbon once it passes as carbonic acid, ppm
	Band        float64 // silica of the displaced band, mg/L as SiO2: 60.084 x anion load; 0 where the feed holds none
	Solids      float64 // dry residue of the feed without its silica, mg/L
}

// front is the share of the feed that passes a half at a throughput: the
// constant pattern of an irreversible uptake under film control,
// c/c0 = exp(Nf (T - 1) - 1) up to 1 (Vermeulen; treatment ledger B46, from
// memory, checked there numerically).
func front(t, centre, units float64) float64 {
	x := units*(t/centre-1) - 1
	switch {
	case x >= 0:
		return 1
	case x < -16:
		return 0
	}
	return math.Exp(x)
}

// Pen returns what a true pen shows of the product, in ppm. Carbonic acid is
// weak: its conductivity goes with the root of its concentration.
func (s *Shape) Pen(t float64) float64 {
	return max(s.Carbonic*math.Sqrt(front(t, s.Anion, s.AnionUnits)), s.Feed*front(t, s.Cation, s.CationUnits))
}

// bandLead is how far the displaced silica runs ahead of the anion half.
// Source: fit of treatment ledger B50, Nf 30 to 400.
const bandLead = 0.97

// Silica returns the silica of the product in mg/L as SiO2.
func (s *Shape) Silica(t float64) float64 {
	if s.Band == 0 {
		return 0
	}
	return s.Band * front(t, bandLead*s.Anion, s.AnionUnits)
}

// Residue returns the dry residue of the product in mg/L.
func (s *Shape) Residue(t float64) float64 {
	return s.Silica(t) + s.Solids*front(t, s.Cation, s.CationUnits)
}

// later returns the shape with both halves that much later after the end by
// residue.
func (s *Shape) later(factor float64) Shape {
	l := *s
	l.Anion *= factor
	l.Cation *= factor
	return l
}
