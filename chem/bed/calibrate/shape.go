package calibrate

import (
	"fmt"
	"math"

	"forebed/chem/bed"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// Shape is what the meters show on the way of one fill, as the plan expects
// it. Throughput counts in lives: 1 is the end by dry residue, on water of the
// plan. See the package comment for the equations.
type Shape struct {
	Anion       float64 // throughput at which the load equals what the anion half takes up, in lives
	Carbon      float64 // the same with the silica, which runs ahead, left out of the load: where carbonic acid comes
	Cation      float64 // throughput at which the load equals what the cation half takes up
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
	return max(s.Carbonic*math.Sqrt(front(t, s.Carbon, s.AnionUnits)), s.Feed*front(t, s.Cation, s.CationUnits))
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

// Expectation is what a plan says of one fill, from which its shape follows.
type Expectation struct {
	Life        bed.Life      // of the closed form, at the median
	Load        water.Load    // of the feed
	Carbon      unit.MmolPerL // CO2, bicarbonate and carbonate of the feed
	Silica      unit.MmolPerL // of the feed
	Residue     unit.MgPerL   // limit at which Life.Residue was taken
	MeterFactor float64       // ppm a pen shows per uS/cm
	Feed        float64       // what the pen shows of the feed, ppm; 0 if unknown
}

const (
	molarSi  = 60.084 // g/mol of SiO2
	saltMass = 53.0   // mg of dry residue a meq of metal, as sodium carbonate
)

// Shape returns the curve that an expectation implies. A half whose life to
// 1 % is V has its throughput at V/k, with k the kinetic fraction, since
// k = 1 + (1 + ln 0.01)/Nf; the same gives Nf. The height of the silica band,
// or of the salts, is set so that the residue is at its limit at T = 1.
func (x *Expectation) Shape() (Shape, error) {
	l := &x.Life
	life := float64(l.Residue)
	units := func(kinetic float64) float64 { return (math.Log(100) - 1) / (1 - min(kinetic, 0.997)) }
	s := Shape{
		Anion: float64(l.Anion) / l.Kinetic.Anion / life, Cation: float64(l.Cation) / l.Kinetic.Cation / life,
		AnionUnits: units(l.Kinetic.Anion), CationUnits: units(l.Kinetic.Cation),
		Feed: x.Feed, Carbonic: carbonicPen(x.Carbon, x.MeterFactor), Solids: saltMass * float64(x.Load.Cation),
	}
	rest := float64(x.Load.Anion) - float64(x.Silica)
	s.Carbon = s.Anion * float64(x.Load.Anion) / rest
	for _, c := range []struct {
		name string
		v    float64
	}{
		{"residue life", life}, {"anion life", s.Anion}, {"cation life", s.Cation}, {"anion load beside silica", rest},
		{"transfer units", s.AnionUnits * s.CationUnits},
	} {
		if !(c.v > 0) || math.IsInf(c.v, 1) {
			return Shape{}, fmt.Errorf("%w: the %s of the plan is %v", ErrInput, c.name, c.v)
		}
	}
	limit := float64(x.Residue)
	silica := float64(l.Silica) < 1.2*life // a tenth of the feed's silica passes about when residue does
	salts := s.Solids * front(1, s.Cation, s.CationUnits)
	switch {
	case silica && salts < limit/2:
		s.Band = molarSi * float64(x.Load.Anion)
		if at := front(1, bandLead*s.Anion, s.AnionUnits); at > 0 {
			s.Band = limit / at
		}
	case salts > 0:
		s.Solids = limit / front(1, s.Cation, s.CationUnits)
	}
	return s, nil
}

// carbonicPen is what a pen shows of carbonic acid alone, at 25 degC:
// [H+] = sqrt(K1 C), and 349.8 + 44.5 S cm2/mol for H+ and bicarbonate at
// infinite dilution (handbook values, from memory).
func carbonicPen(carbon unit.MmolPerL, factor float64) float64 {
	h := math.Sqrt(water.AcidsAt(25).Carbonic1 * float64(carbon) / 1000)
	return factor * 1000 * (349.8 + 44.5) * h
}

// later returns the shape with both halves that much later after the end by
// residue.
func (s *Shape) later(factor float64) Shape {
	l := *s
	l.Anion *= factor
	l.Carbon *= factor
	l.Cation *= factor
	return l
}
