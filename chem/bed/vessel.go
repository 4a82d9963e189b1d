package bed

import (
	"errors"
	"fmt"
	"math"

	"forebed/chem/unit"
)

// Vessel is a mixed bed of strong-acid cation resin (hydrogen form) and
// strong-base anion resin (hydroxide form).
type Vessel struct {
	Resin          unit.Litres // volume of mixed resin, voids included
	CationShare    float64     // share of the resin volume that is cation resin, 0.4 for 40:60
	CationCapacity unit.EqPerL // total capacity, per litre of cation resin
	AnionCapacity  unit.EqPerL // total capacity, per litre of anion resin
	Conversion     Halves      // share of each half in H or OH form as filled, 0.90 to 0.99
	Distribution   float64     // share of the bed that the flow reaches evenly, 0.85 to 0.95
	BeadDiameter   unit.Metres // 0.6 mm for common gel resin
	Diameter       unit.Metres // inner diameter of the bed
	Depth          unit.Metres // depth of the bed
	Void           float64     // void fraction of the bed, 0.35 to 0.42
}

// Halves holds one number for each half of the bed.
type Halves struct {
	Cation, Anion float64
}

// Service is how the vessel is run.
type Service struct {
	Flow        unit.LitresPerMinute
	Temperature unit.Celsius
}

// Endpoint names an end of life.
type Endpoint string

// The ends of life, with the ids of the plan document.
const (
	EndResidue  Endpoint = "residue"         // dry residue of the product passes the limit: spots
	EndMeter    Endpoint = "meter"           // the pen passes the limit
	EndSilica   Endpoint = "silica"          // silica of the product passes a share of the feed
	EndHardness Endpoint = "hardness"        // hardness of the product passes the limit
	EndPH       Endpoint = "product_ph"      // product turns acid or caustic
	EndAnion    Endpoint = "anion_capacity"  // usable anion capacity used up
	EndCation   Endpoint = "cation_capacity" // usable cation capacity used up
)

// Ends holds the limits at which a life ends.
type Ends struct {
	Residue     unit.MgPerL // dry residue, default 10 (common practice, no standard exists)
	Meter       float64     // reading of the pen in ppm
	MeterFactor float64     // ppm a pen shows per uS/cm, 0.5 to 0.7
	Silica      float64     // share of the feed's silica, default 0.10
	Hardness    unit.MgPerL // as CaCO3
	LowPH       float64
	HighPH      float64
}

// DefaultEnds returns the limits used when nobody states others. All are
// common practice without a standard: 10 mg/L of residue is the glass limit of
// trade use (ledger A40, seen); a pen that shows half the uS/cm, watched to
// 10 ppm; a tenth of the feed's silica (as ledger F09); 1 mg/L of hardness;
// and a product pH of 4.0 to 9.0: carbonic acid alone stays above 4, free
// mineral acid goes below (ledger 1.4), caustic of an exhausted cation half
// stands at 8 to 11 (A37).
func DefaultEnds() Ends {
	return Ends{Residue: 10, Meter: 10, MeterFactor: 0.5, Silica: 0.10, Hardness: 1, LowPH: 4.0, HighPH: 9.0}
}

// Life is the closed-form answer, in litres of water through the vessel. A
// life is +Inf where the water holds nothing that could end it.
type Life struct {
	Residue, Silica, Anion, Cation unit.Litres // EndResidue, EndSilica, EndAnion, EndCation
	Carbonic                       unit.Litres // 1 % of the feed's carbonic acid is in the product; no end, but the pen begins to see it

	// Anion is the plain balance of capacity, one equivalent a mole of carbon
	// and silica; the cells come out up to a quarter shorter on dilute or
	// alkaline water, where carbonate takes two sites. Where the cation half
	// ends first, Silica and Anion are what the anion half could have taken:
	// caustic water shortens them by a tenth to a half.

	// Where a band of silica ends the residue life and passes (after reverse
	// osmosis), the product is within the limit again from Back, and the bed
	// serves on until Final. Otherwise Back and Final equal Residue.
	Back, Final  unit.Litres
	Conductivity unit.MicroSPerCm // of the product at the residue end; times Ends.MeterFactor it is what a pen shows

	Usable  Halves   // usable fraction of each half: kinetics x conversion x distribution
	Kinetic Halves   // the kinetic part of it
	First   Endpoint // EndAnion or EndCation: which half runs out first
}

// beadDiameter is the mean bead of common gel resin, 16 to 50 mesh.
// Source: treatment ledger 2.4 (0.6 mm), common practice.
const beadDiameter unit.Metres = 0.6e-3

// voidFraction of a settled bed. Source: treatment ledger A18, 0.35 to 0.42
// (0.4 verified); 0.38 is the typical value of the row.
const voidFraction = 0.38

// NewVessel returns a tank of new mixed-bed resin, 40:60 by volume (ledger
// A06), in the commonest tank for that volume (see Shape) and in typical new
// condition (see New). Change any field afterwards.
func NewVessel(resin unit.Litres) Vessel {
	v := Vessel{Resin: resin, CationShare: 0.4, BeadDiameter: beadDiameter, Void: voidFraction}
	v.Diameter, v.Depth = Shape(resin)
	return New().Typical(v)
}

// Cartridge returns a cartridge of the given inner size, filled to the depth
// given, otherwise as NewVessel.
func Cartridge(diameter, depth unit.Metres) Vessel {
	v := NewVessel(cylinder(diameter, depth))
	v.Diameter, v.Depth = diameter, depth
	return v
}

// HabitualDensity is the 43 lb/ft3 by which the trade turns pounds of drained
// mixed-bed resin into volume: a habit (ledger A15: 43 common practice, 45
// and 46.8 on two data sheets, 42 the low end), hence 10 % uncertain.
const HabitualDensity = 43 * 0.45359237 / 28.316846592 // kg/L

// FromWeight returns the volume of so much drained mixed-bed resin by the
// habitual density, with the low and high that the ledger's 47 and 42 lb/ft3
// allow.
func FromWeight(m unit.Kilograms) (typical, low, high unit.Litres) {
	const lb = HabitualDensity / 43
	return unit.Litres(float64(m) / HabitualDensity), unit.Litres(float64(m) / (47 * lb)), unit.Litres(float64(m) / (42 * lb))
}

// tankInches are the inner diameters of common cartridges and tanks. Source:
// common practice, no source.
var tankInches = [...]float64{2.5, 4.5, 6, 7, 8, 9, 10, 12, 13, 14, 16, 18, 21, 24, 30, 36}

// deepest is the bed depth beyond which the next wider tank is taken: the
// upper end of ledger A22 (0.9 m), with room for a 12 x 36 in bed.
const deepest unit.Metres = 0.95

// Shape returns the diameter and bed depth of the narrowest common tank that
// holds so much resin no deeper than 0.95 m. It is a default, not a finding:
// state the real size where it is known.
func Shape(resin unit.Litres) (diameter, depth unit.Metres) {
	for _, in := range tankInches {
		diameter = unit.Inches(in)
		if depth = depthOf(resin, diameter); depth <= deepest {
			break
		}
	}
	return diameter, depth
}

func area(diameter unit.Metres) float64 { return math.Pi / 4 * float64(diameter) * float64(diameter) }

func cylinder(diameter, depth unit.Metres) unit.Litres {
	return unit.Litres(1000 * area(diameter) * float64(depth))
}

func depthOf(resin unit.Litres, diameter unit.Metres) unit.Metres {
	return unit.Metres(float64(resin) / 1000 / area(diameter))
}

// Check reports what about a vessel cannot be, all of it at once.
func (v *Vessel) Check() error {
	within := func(what string, x, low, high float64) error {
		if x >= low && x <= high {
			return nil
		}
		return fmt.Errorf("%s is %v, expected %v to %v", what, x, low, high)
	}
	err := errors.Join(
		within("resin in litres", float64(v.Resin), 0.05, 20000),
		within("cation share of the resin", v.CationShare, 0.05, 0.95),
		within("cation capacity in eq/L", float64(v.CationCapacity), 0.1, 3),
		within("anion capacity in eq/L", float64(v.AnionCapacity), 0.1, 2),
		within("conversion of the cation half", v.Conversion.Cation, 0.05, 1),
		within("conversion of the anion half", v.Conversion.Anion, 0.05, 1),
		within("distribution", v.Distribution, 0.05, 1),
		within("bead diameter in metres", float64(v.BeadDiameter), 0.1e-3, 2e-3),
		within("bed diameter in metres", float64(v.Diameter), 0.01, 5),
		within("bed depth in metres", float64(v.Depth), 0.01, 5),
		within("void fraction", v.Void, 0.2, 0.6),
	)
	if err != nil {
		return err
	}
	if in := float64(cylinder(v.Diameter, v.Depth)) / float64(v.Resin); in < 0.8 || in > 1.25 {
		return fmt.Errorf("a bed %.3g m wide and %.3g m deep holds %.3g L, but the resin is %.3g L: state two of the three and let the third follow",
			float64(v.Diameter), float64(v.Depth), float64(cylinder(v.Diameter, v.Depth)), float64(v.Resin))
	}
	return nil
}

// Check reports what about a service cannot be.
func (s Service) Check() error {
	if !(s.Flow > 0 && s.Flow < 1e5) {
		return fmt.Errorf("flow is %v L/min, expected more than 0", float64(s.Flow))
	}
	if !(s.Temperature >= 0 && s.Temperature <= 60) {
		return fmt.Errorf("temperature is %v degC, expected 0 to 60 (ledger A28: 60 is the limit of type I anion resin)", float64(s.Temperature))
	}
	return nil
}
