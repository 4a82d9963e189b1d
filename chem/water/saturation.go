package water

import "math"

// Solubility products, log10 on activities, T in kelvin.
var (
	fitCalcite = analytic{-67.87, -0.051813, 0, 30.25746, 0} // 2025 database, ledger D-KC-NEW; -8.448 at 25 °C. PB82 (D-KC) has -8.480
	fitGypsum  = analytic{68.2401, 0, -3221.51, -25.0627, 0} // DAT (Langmuir and Melchior 1985); -4.58 at 25 °C
	fitSilica  = analytic{-0.26, 0, -731, 0, 0}              // amorphous silica, DAT; -2.71 at 25 °C
)

// Saturation holds saturation indices log10(ion activity product / K) at the
// water's own temperature: 0 at saturation, above 0 the mineral may form.
type Saturation struct {
	Calcite, Gypsum, AmorphousSilica float64
}

// none is the index of a mineral of which a constituent is not there, and the
// least that is returned.
const none = -10

// Saturation returns the saturation indices, -10 where a constituent of the
// mineral is not there. Against a geochemical solver: calcite within 0.04,
// gypsum 0.1, amorphous silica 0.01.
func (w *Water) Saturation() Saturation {
	eq := w.equilibria()
	p := eq.pair.pairs(w)
	ionised := eq.silicic / (exp10(-w.PH) * p.g1) // H3SiO4- over H4SiO4
	neutral := float64(w.Silica) / (1 + ionised)
	return Saturation{
		Calcite:         w.calcite(eq, &p),
		Gypsum:          index(p.ca * p.so4 * p.g2 * p.g2 * perMole2 / eq.gypsum),
		AmorphousSilica: index(neutral / 1000 / eq.amorphous),
	}
}

// perMole2 turns (mmol/L)² into (mol/L)².
const perMole2 = 1e-6

// calcite returns the saturation index of calcite.
func (w *Water) calcite(eq *equilibria, p *pairing) float64 {
	return index(p.ca * float64(w.Ion[Carbonate]) * p.g2 * p.g2 * perMole2 / eq.calcite)
}

// index is log10 of activity product over K.
func index(ratio float64) float64 {
	if !(ratio > 1e-10) {
		return none
	}
	return math.Log10(ratio)
}
