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

// Saturation returns the saturation indices. An index is -Inf where one of
// the mineral's constituents is not there at all.
func (w *Water) Saturation() Saturation {
	p := pairsAt(w.Temperature).pairs(w)
	k := w.Temperature.Kelvin()
	lg := math.Log10(k)
	const perMole2 = 1e-6 // (mmol/L)² to (mol/L)²
	return Saturation{
		Calcite:         math.Log10(p.ca * float64(w.Ion[Carbonate]) * p.g2 * p.g2 * perMole2 / fitCalcite.at(k, lg)),
		Gypsum:          math.Log10(p.ca * p.so4 * p.g2 * p.g2 * perMole2 / fitGypsum.at(k, lg)),
		AmorphousSilica: math.Log10(float64(w.neutralSilica()) / 1000 / fitSilica.at(k, lg)),
	}
}

// neutralSilica returns the part of silica that is not ionised, in mmol/L.
func (w *Water) neutralSilica() float64 {
	eq := at(w.Temperature)
	a := eq.acidity(w.IonicStrength())
	return float64(w.Silica) / (1 + eq.silicic/(exp10(-w.PH)*a.g1))
}
