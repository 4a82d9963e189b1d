package water

import (
	"math"

	"forebed/chem/unit"
)

// IonicStrength returns I = sum(z²·c)/2 in mol/L over the ions, H+ and OH-,
// every ion taken as free. With ion pairs it is lower: by 1 % in most well
// waters, by 15 to 20 % in gypsum waters.
func (w *Water) IonicStrength() float64 {
	h := exp10(-w.PH)
	return w.ionic() + (h+1e-14/h)/2
}

// ionic is the part of the ionic strength that the ions have, without H+ and
// OH-.
func (w *Water) ionic() float64 {
	var sum float64
	for i, c := range w.Ion {
		sum += valence[i] * valence[i] * float64(c)
	}
	return sum / 2000
}

// davies returns the activity coefficients of ions of charge 1 and 2 at ionic
// strength I (mol/L), for a Debye-Hückel constant a.
//
//	log10 gamma = -A·z²·(sqrt(I)/(1+sqrt(I)) - 0.3·I)
//
// Valid for I < 0.5 mol/L. Source: Davies equation with 0.3·I, ledger row
// D-DAVIES.
func davies(a, i float64) (gamma1, gamma2 float64) {
	s := math.Sqrt(i)
	gamma1 = math.Exp(-math.Ln10 * a * (s/(1+s) - 0.3*i))
	gamma2 = gamma1 * gamma1
	return gamma1, gamma2 * gamma2
}

// debyeHuckel returns A in (kg/mol)^½ for log10: 0.491 at 0 °C, 0.511 at
// 25 °C. Source: A = 1.82e6·(E·T)^-1.5 with E = 60954/(T+116) - 68.937,
// T in kelvin; ledger row D-A-E.
func debyeHuckel(kelvin float64) float64 {
	et := (60954/(kelvin+116) - 68.937) * kelvin
	return 1.82e6 / (et * math.Sqrt(et))
}

// exp10 returns 10^x. It is several times as fast as math.Pow.
func exp10(x float64) float64 { return math.Exp(math.Ln10 * x) }

// equilibria holds the constants of one temperature, on activities, mol/L.
type equilibria struct {
	celsius unit.Celsius
	k1, k2  float64 // carbonic acid
	kw      float64 // water
	silicic float64 // H4SiO4 = H3SiO4- + H+
	sulfide float64 // H2S = HS- + H+
	a       float64 // Debye-Hückel

	calcite, gypsum, amorphous float64 // solubility products, and amorphous silica
	pair                       pairConstants
}

// analytic is a fit log10 K = c0 + c1·T + c2/T + c3·log10(T) + c4/T², T in
// kelvin.
type analytic [5]float64

// at returns K at T = kelvin, whose logarithm to base 10 is lgT.
func (c analytic) at(kelvin, lgT float64) float64 {
	return math.Exp(math.Ln10 * (c[0] + c[1]*kelvin + c[2]/kelvin + c[3]*lgT + c[4]/(kelvin*kelvin)))
}

// The fits of the equilibrium constants, 0 to 90 °C. PB82 is Plummer and
// Busenberg (1982); DAT is the database of the USGS geochemical program, whose
// text was seen. Values at 25 °C in log10.
var (
	fitK1      = analytic{-356.3094, -0.06091964, 21834.37, 126.8339, -1684915} // PB82, ledger D-K1; -6.352
	fitK2      = analytic{-107.8871, -0.03252849, 5151.79, 38.92561, -563713.9} // PB82, ledger D-K2; -10.329
	fitHenry   = analytic{108.3865, 0.01985076, -6919.53, -40.45154, 669365}    // PB82, ledger D-KH; -1.468
	fitKw      = analytic{-283.971, -0.05069842, 13323, 102.24447, -1119669}    // DAT, ledger D-KW; -13.9995
	fitSilicic = analytic{-302.3724, -0.050698, 15669.69, 108.18466, -1119669}  // DAT; -9.83
	fitSulfide = analytic{11.17, -0.02386, -3279, 0, 0}                         // DAT; -6.94
)

// at returns the equilibrium constants at a temperature, but for Henry's
// constant, see HenryCO2.
func at(t unit.Celsius) equilibria {
	k := t.Kelvin()
	lg := math.Log10(k)
	return equilibria{
		celsius: t,
		k1:      fitK1.at(k, lg), k2: fitK2.at(k, lg), kw: fitKw.at(k, lg),
		silicic: fitSilicic.at(k, lg), sulfide: fitSulfide.at(k, lg), a: debyeHuckel(k),
		calcite: fitCalcite.at(k, lg), gypsum: fitGypsum.at(k, lg), amorphous: fitSilica.at(k, lg),
		pair: pairsAt(k),
	}
}

// equilibria returns the constants of the water's temperature. A closed water
// holds them, and they go with its copies through all stages.
func (w *Water) equilibria() *equilibria {
	if w.constants != nil && w.constants.celsius == w.Temperature {
		return w.constants
	}
	eq := at(w.Temperature)
	return &eq
}

// HenryCO2 returns Henry's constant of carbon dioxide in mol/(L·atm): 0.034 at
// 25 °C. Source: PB82, ledger row D-KH.
func HenryCO2(t unit.Celsius) float64 {
	k := t.Kelvin()
	return fitHenry.at(k, math.Log10(k))
}
