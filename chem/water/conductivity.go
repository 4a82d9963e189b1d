package water

import (
	"math"

	"forebed/chem/unit"
)

// conductance holds the parameters at 25 °C of one ion's molal conductivity,
//
//	lambda(I) = lambda0 - A·sqrt(I)/(1 + B·sqrt(I))   mS/cm per mol/kg
type conductance struct{ lambda0, a, b float64 }

// mccleskey evaluates a published parameter set c0 + c1·T + c2·T² at 25 °C.
func mccleskey(l2, l1, l0, a2, a1, a0, b float64) conductance {
	const t = 25
	return conductance{l2*t*t + l1*t + l0, a2*t*t + a1*t + a0, b}
}

// Parameters of McCleskey, Nordstrom, Ryan and Ball (2012), Geochim.
// Cosmochim. Acta 77, 369; seen in two public repositories, ledger rows
// C-MCC. Order: lambda0's T², T, 1; A's T², T, 1; B.
var (
	conductivities = [NumIons]conductance{
		Calcium:     mccleskey(0.009645, 1.984, 62.28, 0.03174, 2.334, 132.3, 2.8),
		Magnesium:   mccleskey(0.01068, 1.695, 57.16, 0.02453, 1.915, 80.5, 2.1),
		Strontium:   mccleskey(0.009645, 1.984, 62.28, 0.03174, 2.334, 132.3, 2.8), // as calcium: limiting values 118.8 and 118.9, ledger C-LAM
		Barium:      mccleskey(0.009645, 1.984, 62.28, 0.03174, 2.334, 132.3, 2.8), // as calcium, 7 % low at most
		Sodium:      mccleskey(0.003763, 0.877, 26.23, 0.00027, 1.141, 32.07, 1.7),
		Potassium:   mccleskey(0.003046, 1.261, 40.7, 0.00535, 0.9316, 22.59, 1.5),
		Ammonium:    mccleskey(0.003341, 1.285, 39.04, 0.00132, 0.607, 11.19, 0.3),
		Iron:        mccleskey(0.009939, 1.878, 54.8, 0.03997, 3.217, 164.5, 4),
		Manganese:   mccleskey(0.01275, 2.109, 46.19, 0.1071, 9.023, 135.4, 7.6),
		Chloride:    mccleskey(0.003817, 1.337, 40.99, 0.00613, 0.9469, 22.01, 1.5),
		Sulfate:     mccleskey(0.01037, 2.838, 82.37, 0.03324, 5.889, 193.5, 2.6),
		Nitrate:     mccleskey(0.001925, 1.214, 39.9, 0.00118, 0.5045, 23.31, 0.1),
		Fluoride:    mccleskey(0.002764, 1.087, 26.66, 0.00178, 0.6202, 19.34, 0.5),
		Bicarbonate: mccleskey(0.000614, 0.9048, 21.14, -0.00503, 0.8957, 10.97, 0.1),
		Carbonate:   mccleskey(-0.000326, 2.998, 64.03, -0.00181, 5.542, 120.2, 2.3),
	}
	conductHydrogen  = mccleskey(-0.01414, 5.355, 224.2, -0.00918, 1.842, 39.23, 0.3)
	conductHydroxide = mccleskey(0.003396, 2.925, 121.3, 0.00933, 0.1086, 35.9, 0.01)
)

// Limiting conductivities of the charged sulfate pairs, from their diffusion
// coefficients 6.18e-10 and 7.46e-10 m²/s (DAT) by lambda = z²·D·F²/(R·T).
const (
	lambdaNaSO4 = 23.2 // S·cm²/mol, 25 °C
	lambdaKSO4  = 28.0
	kgPerLitre  = 0.99705 // of water at 25 °C; turns mmol/L into mmol/kg
)

// Conductivity returns the electrical conductivity at 25 °C from theory: the
// sum of the free ions' molal conductivities (McCleskey et al. 2012), with
// sulfate pairs taken out first. Up to an ionic strength of about 0.1 mol/L.
// Against a geochemical solver: within 3 % for chloride, sodium and
// bicarbonate waters, up to 12 % lower where calcium or magnesium sulfate
// rules (the solver is high there).
func Conductivity(w *Water) unit.MicroSPerCm {
	p := w.pairs()
	root := math.Sqrt(p.ionic)
	at := func(c conductance) float64 { return c.lambda0 - c.a*root/(1+c.b*root) }
	free := w.Ion
	free[Calcium], free[Magnesium] = unit.MmolPerL(p.ca), unit.MmolPerL(p.mg)
	free[Sodium], free[Potassium] = unit.MmolPerL(p.na), unit.MmolPerL(p.k)
	free[Sulfate] = unit.MmolPerL(p.so4)
	var sum float64
	for i, c := range free {
		if c != 0 {
			sum += at(conductivities[i]) * float64(c)
		}
	}
	h := math.Pow(10, -w.PH)
	sum += at(conductHydrogen) * 1000 * h / p.g1
	sum += at(conductHydroxide) * 1000 * 1e-14 / (h * p.g1)
	shrink := p.g1 * p.g1 // the pairs' conductivity falls about as the monovalent ions' does
	sum += (lambdaNaSO4*p.naSO4 + lambdaKSO4*p.kSO4) * shrink
	return unit.MicroSPerCm(sum / kgPerLitre)
}

// legacy holds the limiting equivalent conductivities of the empirical
// formula, uS/cm per meq/L at 25 °C (ledger C-LAM; well-statistics section 7).
var legacy = [NumIons]float64{
	Calcium: 59.5, Magnesium: 53.0, Strontium: 59.4, Barium: 63.6, Sodium: 50.1, Potassium: 73.5, Ammonium: 73.5, Iron: 54, Manganese: 53.5,
	Chloride: 76.3, Sulfate: 80.0, Nitrate: 71.4, Fluoride: 55.4, Bicarbonate: 44.5, Carbonate: 69.3,
}

// empirical returns the conductivity at 25 °C by the empirical formula, for
// ions in meq/L, all alkalinity as bicarbonate.
func empirical(meq *[NumIons]float64) float64 {
	var k0, i float64
	for n, c := range meq {
		k0 += legacy[n] * c
		i += math.Abs(valence[n]) * c
	}
	s := math.Sqrt(i / 2000)
	y2 := math.Exp(-math.Ln10 * (s/(1+s) - 0.3*s*s)) // y², log10 y = -0.5·(...)
	return k0 * y2
}

// EmpiricalConductivity returns the conductivity at 25 °C by the formula that
// was fitted to real wells; completion uses it.
func EmpiricalConductivity(w *Water) unit.MicroSPerCm {
	var meq [NumIons]float64
	for i := range Ion(NumIons) {
		meq[i] = float64(w.Equivalents(i))
	}
	return unit.MicroSPerCm(empirical(&meq))
}
