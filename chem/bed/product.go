package bed

import (
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Product is the water that leaves the bed.
type Product struct {
	Water        water.Water
	Conductivity unit.MicroSPerCm // at 25 degC
	Residue      unit.MgPerL      // what stays when it dries
	Silica       unit.MgPerL      // as SiO2
	Hardness     unit.MgPerL      // as CaCO3
}

// Meter returns what a pen shows that turns one uS/cm into factor ppm.
func (p *Product) Meter(factor float64) float64 { return factor * float64(p.Conductivity) }

// product makes a water of what is dissolved (eq/L, weak acids mol/L). Its pH
// closes the charge balance with ideal activities, as in the cells; start is
// near the [H+] sought. It returns the charge left over too, in eq/L.
func (s *species) product(dissolved []float64, t unit.Celsius, start float64) (Product, float64) {
	h := s.neutral(dissolved, start)
	charge, _ := s.imbalance(dissolved, h)
	w := water.Water{PH: -math.Log10(h), Temperature: t}
	for k, i := range s.ions {
		w.Ion[i] = unit.MmolPerL(1000 * dissolved[k] / math.Abs(i.Charge()))
	}
	if s.carbon >= 0 {
		a := &s.weak[s.carbon-len(s.ions)]
		total := 1000 * dissolved[s.carbon]
		second := a.k2 / h
		hco3 := total / (1 + h/a.k1 + second)
		w.CO2 = unit.MmolPerL(hco3 * h / a.k1)
		w.Ion[water.Bicarbonate] = unit.MmolPerL(hco3)
		w.Ion[water.Carbonate] = unit.MmolPerL(hco3 * second)
	}
	if s.silica >= 0 {
		w.Silica = unit.MmolPerL(1000 * dissolved[s.silica])
	}
	if s.sulfide >= 0 {
		w.Sulfide = unit.MmolPerL(1000 * dissolved[s.sulfide])
	}
	return Product{
		Water: w, Conductivity: water.Conductivity(&w), Residue: water.DryResidue(&w),
		Silica: w.SilicaMilligrams(), Hardness: w.Hardness(),
	}, charge
}

// imbalance returns the charge of dissolved matter at one h, in eq/L, and its
// derivative to ln h.
func (s *species) imbalance(dissolved []float64, h float64) (charge, slope float64) {
	charge, slope = h-s.kw/h, h+s.kw/h
	for k := range s.ions {
		if k < len(s.cations) {
			charge += dissolved[k]
		} else {
			charge -= dissolved[k]
		}
	}
	for k := range s.weak {
		a, total := &s.weak[k], dissolved[len(s.ions)+k]
		acid, second := h/a.k1, a.k2/h
		free := 1 + acid + second
		mean := (1 + 2*second) / free // charges a mole
		charge -= total * mean
		slope += total * ((1+4*second)/free - mean*mean)
	}
	return charge, slope
}

// neutral returns the h of electroneutral water, to 1e-13 eq/L, by Newton's
// method inside a bracket: the charge rises with h.
func (s *species) neutral(dissolved []float64, start float64) float64 {
	lo, hi := math.Log(1e-16), math.Log(10)
	x := min(max(math.Log(start), lo), hi)
	for range 200 {
		f, slope := s.imbalance(dissolved, math.Exp(x))
		if f > 0 {
			hi = x
		} else {
			lo = x
		}
		next := x - f/slope
		if !(next > lo && next < hi) {
			next = lo + (hi-lo)/2
		}
		if next == x || math.Abs(f) < 1e-16 || hi-lo < 1e-15 {
			break
		}
		x = next
	}
	return math.Exp(x)
}
