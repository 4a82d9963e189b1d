package bed

import (
	"forebed/chem/unit"
	"forebed/chem/water"
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

// Life is the closed-form answer, in litres of water through the vessel.
type Life struct {
	Residue, Silica, Anion, Cation unit.Litres // EndResidue, EndSilica, EndAnion, EndCation
	Usable                         Halves      // usable fraction of each half: kinetics x conversion x distribution
	Kinetic                        Halves      // the kinetic part of it
	First                          Endpoint    // EndAnion or EndCation: which half runs out first
}

// LifeOf is the seam between the plan and the bed: the closed form, without
// allocation. The cell model answers the same question in full (Run).
type LifeOf func(v *Vessel, s Service, e *Ends, w *water.Water) Life
