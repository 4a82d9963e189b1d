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
	AnyChlorine      // free and combined, as Cl2
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
	PH:                 {"ph", "pH", water.UnknownPH},
	Temperature:        {"temperature", "degC", water.UnknownTemperature},
	Hardness:           {"hardness", "mg/L as CaCO3", 0},
	Alkalinity:         {"alkalinity", "mg/L as CaCO3", 0},
	CarbonDioxide:      {"carbon_dioxide", "mg/L", water.UnknownPH},
	DissolvedIron:      {"iron_dissolved", "mg/L", water.UnknownIron | water.UnknownIronForm},
	AnyIron:            {"iron", "mg/L", water.UnknownIron},
	FlocIron:           {"iron_particulate", "mg/L", water.UnknownIron | water.UnknownIronForm},
	DissolvedManganese: {"manganese_dissolved", "mg/L", water.UnknownManganese},
	IronAndManganese:   {"iron_and_manganese", "mg/L", water.UnknownIron | water.UnknownManganese},
	Sulfide:            {"hydrogen_sulfide", "mg/L", water.UnknownSulfide},
	FreeChlorine:       {"free_chlorine", "mg/L", water.UnknownChlorine},
	AnyChlorine:        {"total_chlorine", "mg/L", water.UnknownChlorine | water.UnknownChloramine},
	Oxygen:             {"dissolved_oxygen", "mg/L", water.UnknownOxygen},
	OxygenPerIron:      {"oxygen_per_iron", "mg/mg", water.UnknownOxygen | water.UnknownIron | water.UnknownIronForm},
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

// Known reports whether the water tells the quantity.
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
		return 2 * float64(w.Ion[water.Calcium]+w.Ion[water.Magnesium]) * analyte.CaCO3Equivalent
	case Alkalinity:
		return float64(w.Ion[water.Bicarbonate]+2*w.Ion[water.Carbonate]) * analyte.CaCO3Equivalent
	case CarbonDioxide:
		return float64(w.CO2) * molarCO2
	case DissolvedIron:
		return float64(w.Ion[water.Iron]) * molarFe
	case AnyIron:
		return float64(w.Ion[water.Iron])*molarFe + float64(m.ParticulateIron)
	case FlocIron:
		return float64(m.ParticulateIron)
	case DissolvedManganese:
		return float64(w.Ion[water.Manganese]) * molarMn
	case IronAndManganese:
		return float64(w.Ion[water.Iron])*molarFe + float64(w.Ion[water.Manganese])*molarMn +
			float64(m.ParticulateIron+m.ParticulateManganese)
	case Sulfide:
		return float64(w.Sulfide) * molarH2S
	case FreeChlorine:
		return float64(m.FreeChlorine)
	case AnyChlorine:
		return float64(m.FreeChlorine + m.Chloramine)
	case Oxygen:
		return float64(m.Oxygen)
	case OxygenPerIron:
		fe := float64(w.Ion[water.Iron]) * molarFe
		if fe < 0.01 {
			return 100 // nothing to oxidize
		}
		return float64(m.Oxygen) / fe
	case Turbidity:
		return m.Turbidity
	case SuspendedSolids:
		return float64(m.SuspendedSolids)
	case OrganicCarbon:
		return float64(m.OrganicCarbon)
	case Tannin:
		return float64(m.Tannin)
	case DissolvedSolids:
		var sum float64
		for i, n := range w.Ion {
			sum += float64(n) * molarIon[i]
		}
		return sum + float64(w.Silica)*molarSiO2
	}
	return 0
}

// Molar masses in g/mol, from the atomic weights of package analyte.
var (
	molarFe    = analyte.Must("iron").MolarMass()
	molarMn    = analyte.Must("manganese").MolarMass()
	molarCO2   = analyte.Must("carbon_dioxide").MolarMass()
	molarH2S   = analyte.Must("hydrogen_sulfide").MolarMass()
	molarSiO2  = analyte.Must("silica").MolarMass()
	molarCl2   = analyte.Must("free_chlorine").MolarMass()
	molarO2    = analyte.Must("dissolved_oxygen").MolarMass()
	molarN     = formula("N")
	molarCaCO3 = formula("CaCO3")
	molarMgO   = formula("MgO")
	molarNaCl  = formula("NaCl")
	molarKMnO4 = formula("KMnO4")
)

var molarIon = [water.NumIons]float64{
	water.Calcium: formula("Ca"), water.Magnesium: formula("Mg"), water.Strontium: formula("Sr"), water.Barium: formula("Ba"),
	water.Sodium: formula("Na"), water.Potassium: formula("K"), water.Ammonium: formula("NH4"), water.Iron: formula("Fe"),
	water.Manganese: formula("Mn"), water.Chloride: formula("Cl"), water.Sulfate: formula("SO4"), water.Nitrate: formula("NO3"),
	water.Fluoride: formula("F"), water.Bicarbonate: formula("HCO3"), water.Carbonate: formula("CO3"),
}

// formula is the molar mass of a formula known to be sound.
func formula(f string) float64 {
	m, err := analyte.MolarMass(f)
	if err != nil {
		panic(err) // a slip in this file; every test of the package meets it
	}
	return m
}

// judge returns which windows a water breaks and which it cannot tell.
func judge(windows []Window, w *water.Water) (outside, unsure Set) {
	for i := range windows {
		x := &windows[i]
		if !x.Quantity.Known(w) {
			unsure |= 1 << i
			continue
		}
		if v := x.Quantity.Of(w); v < x.Low || v > x.High {
			outside |= 1 << i
		}
	}
	return outside, unsure
}

// mgFe and its like turn amounts into masses at the one place where a molar
// mass is needed.
func milligrams(n unit.MmolPerL, molar float64) unit.MgPerL { return unit.MgPerL(float64(n) * molar) }

func millimoles(c unit.MgPerL, molar float64) unit.MmolPerL { return unit.MmolPerL(float64(c) / molar) }
