package analyte

import (
	"fmt"
	"math"

	"forebed/chem/unit"
)

// ID names an analyte in documents, rules and code ("iron", "alkalinity").
type ID string

// Kind tells what sort of thing is measured.
type Kind int

// The kinds of analyte.
const (
	Ion      Kind = iota // a dissolved ion with a charge
	Neutral              // a dissolved substance without a charge in water (CO2, SiO2)
	Lumped               // a sum stated as one substance (hardness as CaCO3)
	Element              // a trace element or metal, usually given as the element
	Physical             // pH, conductivity, temperature, turbidity ...
	Microbe              // counts and present/absent tests
	Words                // odour, taste, appearance: words, seldom a number
)

// Basis names the substance as which a result is expressed ("N", "CaCO3").
// The empty basis means the analyte's own substance.
type Basis string

// Weighed is what a basis weighs for one mole of the analyte: so many moles of
// a formula. One mole of phosphorus "as P2O5" is half a mole of P2O5.
type Weighed struct {
	Formula string
	Moles   float64
}

// Analyte is one row of the table.
type Analyte struct {
	ID       ID
	Name     string // plain English name, lower case
	Symbol   string // as the trade writes it: "Ca", "NO3", "SiO2"; empty if there is none
	Formula  string // substance of the empty basis, as MolarMass reads it; empty for what has no mass
	Charge   int    // of the ion; 0 for everything else
	Loads    int    // equivalents one mole takes up on a mixed bed; 0 when it does not load
	Kind     Kind
	Own      Basis             // how the empty basis is spelt ("CaCO3" for hardness); empty if obvious
	Bases    map[Basis]Weighed // other bases in use, and what is weighed on them
	Metal    bool              // has a total and a dissolved fraction
	Default  unit.Unit         // the usual unit, for messages and output
	Needless bool              // read, but of no use to the plan
}

// MolarMass returns the molar mass of the analyte's own substance in g/mol,
// and 0 for what has none (pH, hardness as a measurement has CaCO3).
func (a Analyte) MolarMass() float64 {
	if a.Formula == "" {
		return 0
	}
	return mass(a.Formula)
}

// EquivalentWeight returns the mass in mg of one milliequivalent of load on a
// mixed bed: molar mass over equivalents a mole. Silica and carbon dioxide
// count one equivalent a mole. It is 0 for what does not load.
func (a Analyte) EquivalentWeight() float64 {
	if a.Loads == 0 {
		return 0
	}
	return a.MolarMass() / float64(a.Loads)
}

// AsCaCO3 returns the factor that turns mg/L of the substance into mg/L as
// CaCO3, by equivalents of load. It is 0 for what does not load.
func (a Analyte) AsCaCO3() float64 {
	if a.Loads == 0 {
		return 0
	}
	return CaCO3Equivalent / a.EquivalentWeight()
}

// Equivalents converts a mass concentration of this analyte to load.
func (a Analyte) Equivalents(c unit.MgPerL) unit.MeqPerL {
	w := a.EquivalentWeight()
	if w == 0 {
		return 0
	}
	return unit.MeqPerL(float64(c) / w)
}

// Millimoles converts a mass concentration of this analyte to an amount.
func (a Analyte) Millimoles(c unit.MgPerL) unit.MmolPerL {
	m := a.MolarMass()
	if m == 0 {
		return 0
	}
	return unit.MmolPerL(float64(c) / m)
}

// Milligrams converts an amount concentration of this analyte to a mass.
func (a Analyte) Milligrams(n unit.MmolPerL) unit.MgPerL {
	return unit.MgPerL(float64(n) * a.MolarMass())
}

// MgPerL turns a reported number with its unit and basis into mg/L of the
// analyte's own substance (hardness and alkalinity as CaCO3, silica as SiO2,
// nitrate as NO3). It fails on a unit that is no concentration, on a basis
// that the analyte does not have, and on a number that is not finite.
func (a Analyte) MgPerL(v float64, u unit.Unit, b Basis) (unit.MgPerL, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("%s: the value is not a finite number", a.Name)
	}
	if a.Formula == "" {
		return 0, fmt.Errorf("%s has no mass concentration", a.Name)
	}
	mg, perCharge := 0.0, false
	switch u {
	case unit.MgL:
		mg = v
	case unit.UgL:
		mg = v / 1000
	case unit.NgL:
		mg = v / 1e6
	case unit.GL:
		mg = v * 1000
	case unit.MmolL:
		if a.ID == "alkalinity" || a.ID == "phenolphthalein_alkalinity" {
			return unit.MgPerL(v * CaCO3Equivalent), nil // acid capacity: 1 mmol/L of acid is 1 meq/L
		}
		return unit.MgPerL(v * a.MolarMass()), nil
	case unit.MeqL:
		if a.Loads == 0 {
			return 0, fmt.Errorf("%s: %s needs a charge, which it does not have", a.Name, u)
		}
		mg, perCharge = v*a.EquivalentWeight(), true
	case unit.GrainsUS, unit.GrainsUK, unit.DegGerman, unit.DegFrench:
		f, _ := u.CaCO3()
		if a.Loads == 0 {
			return 0, fmt.Errorf("%s: %s is a unit of hardness", a.Name, u)
		}
		mg, perCharge = v*f/CaCO3Equivalent*a.EquivalentWeight(), true
	default:
		return 0, fmt.Errorf("%s: found unit %q, expected a concentration such as mg/L", a.Name, u)
	}
	if perCharge || b == "" || b == a.Own {
		return unit.MgPerL(mg), nil
	}
	if b == "CaCO3" && a.Loads != 0 {
		return unit.MgPerL(mg / CaCO3Equivalent * a.EquivalentWeight()), nil
	}
	w, ok := a.Bases[b]
	if !ok {
		return 0, fmt.Errorf("%s is not reported as %s", a.Name, b)
	}
	return unit.MgPerL(mg / (mass(w.Formula) * w.Moles) * a.MolarMass()), nil
}

// Lookup returns the analyte with that id.
func Lookup(id ID) (Analyte, bool) {
	i, ok := byID[id]
	if !ok {
		return Analyte{}, false
	}
	return table[i], true
}

// Must returns the analyte with an id that is known to be in the table.
func Must(id ID) Analyte {
	a, ok := Lookup(id)
	if !ok {
		panic("analyte: no row " + string(id))
	}
	return a
}

// All returns the table in its own order.
func All() []Analyte { return append([]Analyte(nil), table...) }

var byID = func() map[ID]int {
	m := make(map[ID]int, len(table))
	for i, a := range table {
		m[a.ID] = i
	}
	return m
}()
