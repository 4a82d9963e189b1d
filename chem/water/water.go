package water

import "forebed/chem/unit"

// Ion indexes the ions that a mixed bed meets.
type Ion int

// The ions, cations first. Iron and Manganese are the dissolved, divalent
// forms; what is particulate or ferric stands in Matter.
const (
	Calcium Ion = iota
	Magnesium
	Strontium
	Barium
	Sodium
	Potassium
	Ammonium
	Iron
	Manganese
	Chloride
	Sulfate
	Nitrate
	Fluoride
	Bicarbonate
	Carbonate
	NumIons int = iota
)

// Water is one water, exactly charge-balanced:
//
//	sum z·c(ions) + [H+] - [OH-] - [H3SiO4-] - [HS-] = 0
//
// where the last four follow from PH, Silica and Sulfide (Imbalance checks
// it). It is a plain value: copying it copies the water. Completion makes many
// of them (draws), each stage turns one into another, and the bed takes up
// what is left. Whoever changes an ion closes the water again with WithCarbon,
// WithCO2 or WithPH.
type Water struct {
	PH          float64      // -log10 of the activity of H+, 2 to 12
	Temperature unit.Celsius // 0 to 60
	Ion         [NumIons]unit.MmolPerL
	CO2         unit.MmolPerL // dissolved carbon dioxide, carbonic acid included
	Silica      unit.MmolPerL // all dissolved silica, as SiO2
	Sulfide     unit.MmolPerL // H2S and HS- together
	Matter      Matter

	constants *equilibria // of Temperature, once it was closed
}

// Matter is what carries no charge, or is not exchanged, and yet decides on
// stages: particles, oxidants, organics. A quantity that nobody measured is
// marked in Unknown: it holds 0 here, or in the Water a draw from the statistics
// of wells where they describe it (iron, manganese, ammonium, silica, pH and
// temperature).
type Matter struct {
	ParticulateIron      unit.MgPerL // ferric or otherwise not dissolved, as Fe
	ParticulateManganese unit.MgPerL // as Mn
	FreeChlorine         unit.MgPerL // as Cl2
	Chloramine           unit.MgPerL // combined chlorine, as Cl2
	Turbidity            float64     // NTU
	SuspendedSolids      unit.MgPerL
	OrganicCarbon        unit.MgPerL // TOC
	Tannin               unit.MgPerL
	Oxygen               unit.MgPerL // dissolved oxygen
	Unknown              Unknown
}

// Unknown is a set of quantities that were not measured.
type Unknown uint16

// Members of Unknown.
const (
	UnknownIronForm Unknown = 1 << iota // iron was measured as total only
	UnknownIron
	UnknownManganese
	UnknownChlorine
	UnknownChloramine
	UnknownTurbidity
	UnknownOrganicCarbon
	UnknownTannin
	UnknownOxygen
	UnknownSulfide
	UnknownAmmonium
	UnknownSilica
	UnknownPH
	UnknownTemperature
)

// Has reports whether every quantity of q is in the set.
func (u Unknown) Has(q Unknown) bool { return u&q == q }

// valence is the charge of each ion.
var valence = [NumIons]float64{
	Calcium: 2, Magnesium: 2, Strontium: 2, Barium: 2, Sodium: 1, Potassium: 1, Ammonium: 1, Iron: 2, Manganese: 2,
	Chloride: -1, Sulfate: -2, Nitrate: -1, Fluoride: -1, Bicarbonate: -1, Carbonate: -2,
}

// Charge returns the charge number of an ion, with its sign.
func (i Ion) Charge() float64 { return valence[i] }

// IsCation reports whether the ion is a cation.
func (i Ion) IsCation() bool { return valence[i] > 0 }

// Load is what a water asks of the two halves of a mixed bed.
type Load struct {
	Cation unit.MeqPerL // metals and ammonium, at full charge
	Anion  unit.MeqPerL // Cl + 2 SO4 + NO3 + F, and one a mole: HCO3, CO3, CO2, SiO2, sulfide
}

// Load returns the load on each half of the bed. Carbon in any form counts
// one equivalent a mole, because the cation half turns bicarbonate and
// carbonate into carbonic acid, which the anion half holds as bicarbonate.
// Source: treatment ledger section 1.3 and rows A33 to A35.
func (w *Water) Load() Load {
	var l Load
	for i := range NumIons {
		switch i := Ion(i); {
		case i.IsCation():
			l.Cation += unit.MeqPerL(valence[i] * float64(w.Ion[i]))
		case i == Carbonate:
			l.Anion += unit.MeqPerL(w.Ion[i])
		default:
			l.Anion += unit.MeqPerL(-valence[i] * float64(w.Ion[i]))
		}
	}
	l.Anion += unit.MeqPerL(w.CO2 + w.Silica + w.Sulfide)
	return l
}

// TotalCarbon returns dissolved inorganic carbon: CO2, HCO3 and CO3.
func (w *Water) TotalCarbon() unit.MmolPerL {
	return w.CO2 + w.Ion[Bicarbonate] + w.Ion[Carbonate]
}
