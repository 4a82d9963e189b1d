package water

import "math"

// pairing is what sulfate pairs leave free, in mmol/L, with the ionic
// strength and the activity coefficients that follow.
type pairing struct {
	ca, mg, na, k, so4 float64 // free ions
	naSO4, kSO4        float64 // charged pairs, which conduct
	ionic, g1, g2      float64
}

// pairFit is log10 K at 25 °C of M + SO4-- = MSO4 and its enthalpy in kJ/mol.
// Source: database of the USGS geochemical program (text seen), enthalpies
// there in kcal, 4.184 kJ each.
type pairFit struct{ logK, enthalpy float64 }

var (
	pairCa = pairFit{2.25, 1.325 * 4.184}
	pairMg = pairFit{2.37, 4.55 * 4.184}
	pairNa = pairFit{0.7, 1.12 * 4.184}
	pairK  = pairFit{0.85, 2.25 * 4.184}
)

// at returns K at a temperature by van 't Hoff's equation.
func (p pairFit) at(kelvin float64) float64 {
	const gas = 8.314462618e-3 // kJ/(mol·K), exact (SI 2019)
	return math.Exp(math.Ln10*p.logK - p.enthalpy/gas*(1/kelvin-1/298.15))
}

// pairs solves the sulfate pairs of calcium, magnesium, sodium and potassium;
// iron, manganese, strontium and barium are paired as calcium is. Bicarbonate
// and carbonate pairs are left out: they move the saturation index of calcite
// by less than 0.02 in these waters.
func (w *Water) pairs() pairing {
	kelvin := w.Temperature.Kelvin()
	a := debyeHuckel(kelvin)
	kCa, kMg, kNa, kK := pairCa.at(kelvin), pairMg.at(kelvin), pairNa.at(kelvin), pairK.at(kelvin)
	other := float64(w.Ion[Strontium] + w.Ion[Barium] + w.Ion[Iron] + w.Ion[Manganese])
	ca, mg := float64(w.Ion[Calcium]), float64(w.Ion[Magnesium])
	na, k, total := float64(w.Ion[Sodium]), float64(w.Ion[Potassium]), float64(w.Ion[Sulfate])
	full := w.IonicStrength()
	p := pairing{ca: ca, mg: mg, na: na, k: k, so4: total, ionic: full}
	for range rounds {
		p.g1, p.g2 = davies(a, p.ionic)
		divalent, monovalent := p.g2*p.g2/1000, p.g2/1000 // of K: gamma(M)·gamma(SO4)/gamma(pair), mmol/L
		cCa, cMg, cNa, cK := kCa*divalent, kMg*divalent, kNa*monovalent, kK*monovalent
		free := total / (1 + cCa*(p.ca+other/(1+cCa*p.so4)) + cMg*p.mg + cNa*p.na + cK*p.k)
		done := math.Abs(free-p.so4) <= 1e-9*total
		p.so4 = free
		p.ca, p.mg = ca/(1+cCa*free), mg/(1+cMg*free)
		p.na, p.k = na/(1+cNa*free), k/(1+cK*free)
		p.naSO4, p.kSO4 = na-p.na, k-p.k
		otherPaired := other - other/(1+cCa*free)
		// A neutral pair takes 4 mmol/L·z²/2 from I on each side; a charged one leaves one charge.
		p.ionic = full - (4*(ca-p.ca+mg-p.mg+otherPaired)+2*(p.naSO4+p.kSO4))/1000
		if done {
			break
		}
	}
	return p
}
