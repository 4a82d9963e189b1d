package water

import (
	"math"
	"slices"
)

// summarise makes the composition of the draws of a report.
func summarise(r *report, draws []Water) *Composition {
	c := &Composition{Label: r.sample.Label, Draws: draws, Checks: r.checks, Assumptions: r.assumptions}
	column := make([]float64, len(draws))
	band := func(of func(w *Water) float64) Band {
		for i := range draws {
			column[i] = of(&draws[i])
		}
		return bandOf(column)
	}
	for i := range Ion(NumIons) {
		b := band(func(w *Water) float64 { return float64(w.Ion[i]) })
		c.Ions[i] = Reading{Milligrams: b.times(molar[i]), Equivalents: b.times(math.Abs(valence[i])), Origin: r.origin(i)}
	}
	neutral := func(mass float64, q quantity, of func(w *Water) float64) Reading {
		b := band(of)
		return Reading{Milligrams: b.times(mass), Equivalents: b, Origin: r.reported(q, Estimated)}
	}
	c.Silica = neutral(molarSilica, qSilica, func(w *Water) float64 { return float64(w.Silica) })
	c.Sulfide = neutral(molarH2S, qSulfide, func(w *Water) float64 { return float64(w.Sulfide) })
	c.CO2 = neutral(molarCO2, qCO2, func(w *Water) float64 { return float64(w.CO2) })
	if r.q[qPH].known && r.q[qAlkalinity].known {
		c.CO2.Origin = Derived
	}
	c.PH, c.PHOrigin = band(func(w *Water) float64 { return w.PH }), r.reported(qPH, Estimated)
	c.Temperature = band(func(w *Water) float64 { return float64(w.Temperature) })
	c.CationLoad = band(func(w *Water) float64 { return float64(w.Load().Cation) })
	c.AnionLoad = band(func(w *Water) float64 { return float64(w.Load().Anion) })
	c.IonicStrength = band(func(w *Water) float64 { return w.IonicStrength() })
	c.Hardness = band(func(w *Water) float64 { return float64(w.Hardness()) })
	c.Alkalinity = band(func(w *Water) float64 { return float64(w.Alkalinity()) })
	c.DissolvedSolids = band(func(w *Water) float64 { return float64(w.DissolvedSolids()) })
	c.Residue = band(func(w *Water) float64 { return float64(DryResidue(w)) })
	c.Conductivity = band(func(w *Water) float64 { return float64(Conductivity(w)) })
	saturation := make([]Saturation, len(draws))
	for i := range draws {
		saturation[i] = draws[i].Saturation()
	}
	index := func(of func(s *Saturation) float64) Band {
		i := -1
		return band(func(*Water) float64 { i++; return of(&saturation[i]) })
	}
	c.Calcite = index(func(s *Saturation) float64 { return s.Calcite })
	c.Gypsum = index(func(s *Saturation) float64 { return s.Gypsum })
	c.AmorphousSilica = index(func(s *Saturation) float64 { return s.AmorphousSilica })
	c.Central = central(draws, c.AnionLoad.P50)
	return c
}

// central returns the draw whose anion load is nearest to the median.
func central(draws []Water, median float64) Water {
	best, distance := 0, math.Inf(1)
	for i := range draws {
		if d := math.Abs(float64(draws[i].Load().Anion) - median); d < distance {
			best, distance = i, d
		}
	}
	return draws[best]
}

// reported is Measured where the report gives a quantity, else otherwise.
func (r *report) reported(q quantity, otherwise Origin) Origin {
	if r.q[q].known {
		return Measured
	}
	return otherwise
}

// origin tells where the figure of an ion comes from.
func (r *report) origin(i Ion) Origin {
	known := func(q quantity) bool { return r.q[q].known }
	switch i {
	case Calcium, Magnesium:
		q, other := qCalcium, qMagnesium
		if i == Magnesium {
			q, other = other, q
		}
		if !known(q) && known(other) && known(qHardness) {
			return Derived // hardness less the other
		}
		return r.reported(q, Estimated)
	case Sodium:
		if !known(qSodium) && known(qChloride) && known(qSulfate) && known(qAlkalinity) {
			return Derived // the charge balance
		}
		return r.reported(qSodium, Estimated)
	case Chloride, Sulfate:
		q, other := qChloride, qSulfate
		if i == Sulfate {
			q, other = other, q
		}
		if !known(q) && known(other) && known(qSodium) && known(qAlkalinity) {
			return Derived
		}
		return r.reported(q, Estimated)
	case Bicarbonate, Carbonate:
		if known(qAlkalinity) {
			return Derived
		}
		return Estimated
	case Iron:
		if known(qIronDissolved) {
			return Measured
		}
		return Estimated // a total says nothing of the form
	case Manganese:
		if known(qManganeseDissolved) {
			return Measured
		}
		return Estimated
	case Strontium:
		return r.reported(qStrontium, Estimated)
	case Barium:
		return r.reported(qBarium, Estimated)
	case Potassium:
		return r.reported(qPotassium, Estimated)
	case Ammonium:
		return r.reported(qAmmonium, Estimated)
	case Nitrate:
		return r.reported(qNitrate, Estimated)
	}
	return r.reported(qFluoride, Estimated)
}

// times scales a band.
func (b Band) times(f float64) Band { return Band{f * b.P10, f * b.P50, f * b.P90} }

// bandOf returns the 10, 50 and 90 % points of values, and reorders them. The
// points are those of the sorted values, straight between two of them.
func bandOf(v []float64) Band {
	return Band{point(v, 0.1), point(v, 0.5), point(v, 0.9)}
}

// point returns the value at probability p.
func point(v []float64, p float64) float64 {
	x := p * float64(len(v)-1)
	i := int(x)
	selectNth(v, i)
	if i+1 == len(v) {
		return v[i]
	}
	return v[i] + (x-float64(i))*(slices.Min(v[i+1:])-v[i])
}

// selectNth puts the n-th smallest value at n, the smaller ones before it
// (Hoare's quickselect): ten times as fast as sorting for three points.
func selectNth(v []float64, n int) {
	low, high := 0, len(v)-1
	for low < high {
		pivot := v[(low+high)/2]
		i, j := low, high
		for i <= j {
			for v[i] < pivot {
				i++
			}
			for v[j] > pivot {
				j--
			}
			if i <= j {
				v[i], v[j] = v[j], v[i]
				i++
				j--
			}
		}
		switch {
		case n <= j:
			high = j
		case n >= i:
			low = i
		default:
			return
		}
	}
}
