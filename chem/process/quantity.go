package process

import (
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// Quantity is something of a water that a window bounds.
type Quantity int

// The quantities.
const (
	PH Quantity = iota
	Temperature
	Hardness      // calcium and magnesium, as CaCO3
	Alkalinity    // as CaCO3
	CarbonDioxide // dissolved, as CO2
	DissolvedIron // as Fe
	AnyIron       // dissolved and particulate, as Fe
	FlocIron      // particulate, as Fe
	DissolvedManganese
	IronAndManganese // all forms
	Sulfide          // as H2S
	FreeChlorine     // as Cl2
	Chloramine       // combined chlorine, as Cl2
	Oxygen
	OxygenPerIron // mg of oxygen per mg of dissolved iron
	Turbidity
	SuspendedSolids
	OrganicCarbon
	Tannin
	DissolvedSolids // sum of ions and silica
	numQuantities   = iota
)

type quantityRow struct {
	name, unit string
	unknown    water.Unknown // any of these unknown makes the quantity unknown
}

var quantityRows = [numQuantities]quantityRow{
	PH:                 {"ph", "pH", 0},
	Temperature:        {"temperature", "degC", 0},
	Hardness:           {"hardness", "mg/L as CaCO3", 0},
	Alkalinity:         {"alkalinity", "mg/L as CaCO3", 0},
	CarbonDioxide:      {"carbon_dioxide", "mg/L", 0},
	DissolvedIron:      {"iron_dissolved", "mg/L", water.UnknownIron},
	AnyIron:            {"iron", "mg/L", water.UnknownIron},
	FlocIron:           {"iron_particulate", "mg/L", water.UnknownIron},
	DissolvedManganese: {"manganese_dissolved", "mg/L", water.UnknownManganese},
	IronAndManganese:   {"iron_and_manganese", "mg/L", water.UnknownIron | water.UnknownManganese},
	Sulfide:            {"hydrogen_sulfide", "mg/L", water.UnknownSulfide},
	FreeChlorine:       {"free_chlorine", "mg/L", water.UnknownChlorine},
	Chloramine:         {"chloramine", "mg/L", water.UnknownChloramine},
	Oxygen:             {"dissolved_oxygen", "mg/L", water.UnknownOxygen},
	OxygenPerIron:      {"oxygen_per_iron", "mg/mg", water.UnknownOxygen | water.UnknownIron},
	Turbidity:          {"turbidity", "NTU", water.UnknownTurbidity},
	SuspendedSolids:    {"suspended_solids", "mg/L", water.UnknownTurbidity},
	OrganicCarbon:      {"toc", "mg/L", water.UnknownOrganicCarbon},
	Tannin:             {"tannin", "mg/L", water.UnknownTannin},
	DissolvedSolids:    {"dissolved_solids", "mg/L", 0},
}

// String returns the name of the quantity, as rules spell it.
func (q Quantity) String() string { return quantityRows[q].name }

// Unit returns the unit in which Of gives the quantity and windows state it.
func (q Quantity) Unit() string { return quantityRows[q].unit }

// Known reports whether the water tells the quantity: whether it was measured
// or drawn from what was.
func (q Quantity) Known(w *water.Water) bool { return w.Matter.Unknown&quantityRows[q].unknown == 0 }

// Of returns the quantity of a water, in the unit that Unit names. What the
// water does not tell counts as 0, see Known.
func (q Quantity) Of(w *water.Water) float64 {
	m := &w.Matter
	switch q {
	case PH:
		return w.PH
	case Temperature:
		return float64(w.Temperature)
	case Hardness:
		return float64(w.Hardness())
	case Alkalinity:
		return float64(w.Alkalinity())
	case CarbonDioxide:
		return float64(w.CarbonDioxide())
	case DissolvedIron:
		return float64(w.Milligrams(water.Iron))
	case AnyIron:
		return float64(w.Milligrams(water.Iron) + m.ParticulateIron)
	case FlocIron:
		return float64(m.ParticulateIron)
	case DissolvedManganese:
		return float64(w.Milligrams(water.Manganese))
	case IronAndManganese:
		return float64(w.Milligrams(water.Iron) + w.Milligrams(water.Manganese) + m.ParticulateIron + m.ParticulateManganese)
	case Sulfide:
		return float64(w.SulfideMilligrams())
	case FreeChlorine:
		return float64(m.FreeChlorine)
	case Chloramine:
		return float64(m.Chloramine)
	case Oxygen:
		return float64(m.Oxygen)
	case OxygenPerIron:
		iron := float64(w.Milligrams(water.Iron))
		if iron < leastIron {
			return 100 // nothing to oxidize
		}
		return float64(m.Oxygen) / iron
	case Turbidity:
		return m.Turbidity
	case SuspendedSolids:
		return float64(m.SuspendedSolids)
	case OrganicCarbon:
		return float64(m.OrganicCarbon)
	case Tannin:
		return float64(m.Tannin)
	case DissolvedSolids:
		return float64(w.DissolvedSolids())
	}
	return 0
}

// leastIron is the dissolved iron in mg/L below which a ratio to it says
// nothing.
const leastIron = 0.01

// Molar masses in g/mol, from the atomic weights of package analyte.
var (
	molarFe    = analyte.Must("iron").MolarMass()
	molarMn    = analyte.Must("manganese").MolarMass()
	molarH2S   = analyte.Must("hydrogen_sulfide").MolarMass()
	molarCO2   = analyte.Must("carbon_dioxide").MolarMass()
	molarCl2   = analyte.Must("free_chlorine").MolarMass()
	molarN     = formula("N")
	molarS     = formula("S")
	molarCaCO3 = formula("CaCO3")
	molarMgO   = formula("MgO")
	molarKMnO4 = formula("KMnO4")

	ferricHydroxide  = formula("FeO3H3") / molarFe // g of Fe(OH)3 per g of iron
	manganeseDioxide = formula("MnO2") / molarMn   // g of MnO2 per g of manganese
)

// formula is the molar mass of a formula known to be sound.
func formula(f string) float64 {
	m, err := analyte.MolarMass(f)
	if err != nil {
		panic(err) // a slip in this file; every test of the package meets it
	}
	return m
}

// mmol and mg turn a mass concentration into an amount and back.
func mmol(c unit.MgPerL, molar float64) unit.MmolPerL { return unit.MmolPerL(float64(c) / molar) }

func mg(n unit.MmolPerL, molar float64) unit.MgPerL { return unit.MgPerL(float64(n) * molar) }
