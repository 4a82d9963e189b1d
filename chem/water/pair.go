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

// pairConstants holds the pairs' K and A of Debye and Hückel at one
// temperature.
type pairConstants struct{ ca, mg, na, k, a float64 }

// at returns K at a temperature by van 't Hoff's equation.
func (p pairFit) at(kelvin float64) float64 {
	const gas = 8.314462618e-3 // kJ/(mol·K), exact (SI 2019)
	return math.Exp(math.Ln10*p.logK - p.enthalpy/gas*(1/kelvin-1/298.15))
}

func pairsAt(kelvin float64) pairConstants {
	return pairConstants{ca: pairCa.at(kelvin), mg: pairMg.at(kelvin), na: pairNa.at(kelvin), k: pairK.at(kelvin), a: debyeHuckel(kelvin)}
}

// pairs25 is for conductivity, which is stated at 25 °C.
var pairs25 = pairsAt(298.15)

// pairs solves the sulfate pairs of calcium, magnesium, sodium and potassium
// by repeated substitution; iron, manganese, strontium and barium are paired
// as calcium is. Bicarbonate and carbonate pairs are left out: they move the
// saturation index of calcite by less than 0.04 in these waters.
func (c pairConstants) pairs(w *Water) pairing {
	const unit = 1e-3 // K is in L/mol, the ions in mmol/L
	other := float64(w.Ion[Strontium] + w.Ion[Barium] + w.Ion[Iron] + w.Ion[Manganese])
	ca, mg := float64(w.Ion[Calcium]), float64(w.Ion[Magnesium])
	na, k, total := float64(w.Ion[Sodium]), float64(w.Ion[Potassium]), float64(w.Ion[Sulfate])
	full := w.IonicStrength()
	p := pairing{ca: ca, mg: mg, na: na, k: k, so4: total, ionic: full}
	for range rounds {
		p.g1, p.g2 = davies(c.a, p.ionic)
		// K·gamma(M)·gamma(SO4)/gamma(pair)
		divalent, monovalent := unit*p.g2*p.g2, unit*p.g2
		kCa, kMg, kNa, kK := c.ca*divalent, c.mg*divalent, c.na*monovalent, c.k*monovalent
		freeOther := other / (1 + kCa*p.so4)
		free := total / (1 + kCa*(p.ca+freeOther) + kMg*p.mg + kNa*p.na + kK*p.k)
		done := math.Abs(free-p.so4) <= 1e-6*total
		p.so4 = free
		p.ca, p.mg, p.na, p.k = ca/(1+kCa*free), mg/(1+kMg*free), na/(1+kNa*free), k/(1+kK*free)
		p.naSO4, p.kSO4 = na-p.na, k-p.k
		// A neutral pair takes two ions of z² = 4 out of I; a charged one takes
		// z² = 1 and 4 out and puts 1 back.
		p.ionic = full - (4*(ca-p.ca+mg-p.mg+other-freeOther)+2*(p.naSO4+p.kSO4))/1000
		if done {
			break
		}
	}
	return p
}
