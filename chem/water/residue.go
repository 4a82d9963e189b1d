package water

import "forebed/chem/unit"

// DryResidue returns what stays on a panel when the water dries, in mg per
// litre of water: the salts of the metals, and silica.
//
// Drying drives off CO2, NH3 and H2S, so ammonium counts as H+ here. The
// metals keep the least volatile acids: sulfate first, then chloride, nitrate
// and fluoride, and the rest of them ends as carbonate (bicarbonate x 0.4917,
// ledger row A-HCO3-TDS; caustic takes up CO2 from the air). Chloride, nitrate
// and fluoride that no metal holds leave as acid vapour; sulfuric acid stays.
// Particles are not counted.
func DryResidue(w *Water) unit.MgPerL {
	mg := w.SilicaMilligrams()
	var metals float64 // meq/L
	for i := range Ion(NumIons) {
		if i.IsCation() && i != Ammonium {
			mg += w.Milligrams(i)
			metals += valence[i] * float64(w.Ion[i])
		}
	}
	sulfate := 2 * float64(w.Ion[Sulfate])
	mg += w.Milligrams(Sulfate)
	if sulfate >= metals {
		return mg + unit.MgPerL((sulfate-metals)*molarHydrogen)
	}
	metals -= sulfate
	volatile := float64(w.Ion[Chloride] + w.Ion[Nitrate] + w.Ion[Fluoride])
	kept := 1.0
	if volatile > metals {
		kept = metals / volatile
	}
	mg += unit.MgPerL(kept) * (w.Milligrams(Chloride) + w.Milligrams(Nitrate) + w.Milligrams(Fluoride))
	return mg + unit.MgPerL((metals-kept*volatile)*molar[Carbonate]/2)
}

// molarHydrogen is the atomic weight of hydrogen, g/mol (AW21).
const molarHydrogen = 1.008
