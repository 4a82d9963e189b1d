package bed

import (
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Closed is the closed form of a life: no cells, no allocation.
func Closed(v *Vessel, s Service, e *Ends, w *water.Water) Life {
	nf := v.TransferUnits(s)
	load := w.Load()
	filled := v.filled()
	var l Life
	l.Kinetic = Halves{Cation: breakthrough(nf.Cation, 0.01), Anion: breakthrough(nf.Anion, 0.01)}
	l.Usable = Halves{
		Cation: l.Kinetic.Cation * v.Conversion.Cation * v.Distribution,
		Anion:  l.Kinetic.Anion * v.Conversion.Anion * v.Distribution,
	}
	cation := stoichiometric(filled.Cation, float64(load.Cation))
	anion := stoichiometric(filled.Anion, float64(load.Anion))
	l.Cation = unit.Litres(l.Kinetic.Cation * cation)
	l.Anion = unit.Litres(l.Kinetic.Anion * anion)
	l.First = EndAnion
	if l.Cation < l.Anion {
		l.First = EndCation
	}
	l.Silica = unit.Litres(math.Inf(1))
	l.Residue = l.Cation
	if si := float64(w.Silica); si > 0 {
		l.Silica = unit.Litres(anion * max(0, 0.97-4.3/nf.Anion))
		x := float64(e.Residue) / (60.084 * float64(load.Anion)) // share of the displaced silica band
		if x < 0.5 {
			l.Residue = min(l.Residue, unit.Litres(anion*0.97*breakthrough(nf.Anion, x)))
		}
	}
	return l
}

// filled returns the equivalents that each half can take up as filled, in eq:
// volume x capacity x conversion x distribution.
func (v *Vessel) filled() Halves {
	r := float64(v.Resin) * v.Distribution
	return Halves{
		Cation: r * v.CationShare * float64(v.CationCapacity) * v.Conversion.Cation,
		Anion:  r * (1 - v.CationShare) * float64(v.AnionCapacity) * v.Conversion.Anion,
	}
}

// stoichiometric returns the litres whose load equals the capacity.
func stoichiometric(eq, meqPerL float64) float64 {
	if meqPerL <= 0 {
		return math.Inf(1)
	}
	return 1000 * eq / meqPerL
}

// breakthrough returns the throughput, as a share of the stoichiometric one,
// at which c/c0 reaches x: T = 1 + (1 + ln x)/Nf, the constant pattern of an
// irreversible uptake under film control (Vermeulen; ledger B46, from
// memory, checked numerically). It holds for T <= 1 + 1/Nf, that is x < 1;
// 0 where even the fresh bed leaks more.
func breakthrough(nf, x float64) float64 {
	return max(0, 1+(1+math.Log(x))/nf)
}
