package water

import (
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// ids names the analyte of each ion.
var ids = [NumIons]analyte.ID{
	Calcium: "calcium", Magnesium: "magnesium", Strontium: "strontium", Barium: "barium", Sodium: "sodium",
	Potassium: "potassium", Ammonium: "ammonium", Iron: "iron", Manganese: "manganese", Chloride: "chloride",
	Sulfate: "sulfate", Nitrate: "nitrate", Fluoride: "fluoride", Bicarbonate: "bicarbonate", Carbonate: "carbonate",
}

// Molar masses in g/mol, from the table of analytes.
var (
	molar = func() (m [NumIons]float64) {
		for i, id := range ids {
			m[i] = analyte.Must(id).MolarMass()
		}
		return m
	}()
	molarCO2    = analyte.Must("carbon_dioxide").MolarMass()
	molarSilica = analyte.Must("silica").MolarMass()
	molarH2S    = analyte.Must("hydrogen_sulfide").MolarMass()
	molarCaCO3  = 2 * analyte.CaCO3Equivalent
)

// ID returns the analyte that the ion is.
func (i Ion) ID() analyte.ID { return ids[i] }

// Milligrams returns the mass concentration of an ion (nitrate as NO3,
// ammonium as NH4).
func (w *Water) Milligrams(i Ion) unit.MgPerL { return unit.MgPerL(float64(w.Ion[i]) * molar[i]) }

// SetMilligrams sets an ion from its mass concentration. The water is out of
// balance afterwards until WithCarbon or WithPH closes it.
func (w *Water) SetMilligrams(i Ion, c unit.MgPerL) {
	w.Ion[i] = unit.MmolPerL(float64(c) / molar[i])
}

// Equivalents returns the concentration of charge of an ion, without its
// sign: |z|·c.
func (w *Water) Equivalents(i Ion) unit.MeqPerL {
	z := valence[i]
	if z < 0 {
		z = -z
	}
	return unit.MeqPerL(z * float64(w.Ion[i]))
}

// CarbonDioxide returns dissolved CO2 as CO2.
func (w *Water) CarbonDioxide() unit.MgPerL { return unit.MgPerL(float64(w.CO2) * molarCO2) }

// SilicaMilligrams returns dissolved silica as SiO2.
func (w *Water) SilicaMilligrams() unit.MgPerL { return unit.MgPerL(float64(w.Silica) * molarSilica) }

// SulfideMilligrams returns dissolved sulfide as H2S.
func (w *Water) SulfideMilligrams() unit.MgPerL { return unit.MgPerL(float64(w.Sulfide) * molarH2S) }

// Hardness returns total hardness as CaCO3, from calcium and magnesium.
// Source: Standard Methods 2340 B, ledger row C-HARD-EQ.
func (w *Water) Hardness() unit.MgPerL {
	return unit.MgPerL(float64(w.Ion[Calcium]+w.Ion[Magnesium]) * molarCaCO3)
}

// Alkalinity returns total alkalinity as CaCO3: the charge of the strong ions,
// which in a balanced water is HCO3 + 2 CO3 + OH - H and the weak acids. It is
// negative in a water that holds mineral acid.
func (w *Water) Alkalinity() unit.MgPerL {
	return unit.MgPerL(w.strong() * analyte.CaCO3Equivalent)
}

// DissolvedSolids returns the mass of all dissolved ions and silica,
// bicarbonate at full weight and without carbon dioxide: the sum of
// constituents.
func (w *Water) DissolvedSolids() unit.MgPerL {
	sum := w.SilicaMilligrams()
	for i := range Ion(NumIons) {
		sum += w.Milligrams(i)
	}
	return sum
}

// Residue180 returns the dissolved solids as a laboratory finds them by
// evaporation at 180 °C: the sum of constituents with bicarbonate weighed as
// the carbonate it leaves (x 0.4917, ledger row A-HCO3-TDS).
func (w *Water) Residue180() unit.MgPerL {
	lost := float64(w.Ion[Bicarbonate]) * (molar[Bicarbonate] - molar[Carbonate]/2)
	return w.DissolvedSolids() - unit.MgPerL(lost)
}
