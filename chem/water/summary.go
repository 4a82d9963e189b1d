package water

import (
	"math"
	"slices"
)

// summarise makes a composition of draws: bands, and the central draw.
func summarise(draws []Water) *Composition {
	c := &Composition{Draws: draws}
	column := make([]float64, len(draws))
	band := func(of func(w *Water) float64) Band {
		for i := range draws {
			column[i] = of(&draws[i])
		}
		return bandOf(column)
	}
	for i := range Ion(NumIons) {
		b := band(func(w *Water) float64 { return float64(w.Ion[i]) })
		c.Ions[i] = Reading{Milligrams: b.times(molar[i]), Equivalents: b.times(math.Abs(valence[i]))}
	}
	neutral := func(mass float64, of func(w *Water) float64) Reading {
		b := band(of)
		return Reading{Milligrams: b.times(mass), Equivalents: b}
	}
	c.Silica = neutral(molarSilica, func(w *Water) float64 { return float64(w.Silica) })
	c.Sulfide = neutral(molarH2S, func(w *Water) float64 { return float64(w.Sulfide) })
	c.CO2 = neutral(molarCO2, func(w *Water) float64 { return float64(w.CO2) })
	c.PH = band(func(w *Water) float64 { return w.PH })
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
		for i := range saturation {
			column[i] = of(&saturation[i])
		}
		return bandOf(column)
	}
	c.Calcite = index(func(s *Saturation) float64 { return s.Calcite })
	c.Gypsum = index(func(s *Saturation) float64 { return s.Gypsum })
	c.AmorphousSilica = index(func(s *Saturation) float64 { return s.AmorphousSilica })
	c.Central = central(draws, c.AnionLoad.P50)
	return c
}

// central returns the draw whose anion load is nearest to the median, the first
// of those that are equally near to single precision: the last bits of a number
// differ between processors, and the median of an even number of draws lies
// just between two of them.
func central(draws []Water, median float64) Water {
	best, distance := 0, float32(math.Inf(1))
	for i := range draws {
		// The digits that differ are those of the load, not of the difference.
		if d := float32(1 + math.Abs(float64(draws[i].Load().Anion)-median)); d < distance {
			best, distance = i, d
		}
	}
	return draws[best]
}

// origins says which quantity of a report measures each ion; iron and
// manganese only where their dissolved part was measured.
var origins = [NumIons]quantity{
	Calcium: qCalcium, Magnesium: qMagnesium, Strontium: qStrontium, Barium: qBarium, Sodium: qSodium, Potassium: qPotassium,
	Ammonium: qAmmonium, Iron: qIronDissolved, Manganese: qManganeseDissolved, Chloride: qChloride, Sulfate: qSulfate,
	Nitrate: qNitrate, Fluoride: qFluoride, Bicarbonate: qAlkalinity, Carbonate: qAlkalinity,
}

// attribute says where each figure of a composition comes from.
func (r *report) attribute(c *Composition) {
	known := func(qs ...quantity) bool { return r.whole(qs...) }
	origin := func(q quantity) Origin {
		if known(q) {
			return Measured
		}
		return Estimated
	}
	for i := range Ion(NumIons) {
		c.Ions[i].Origin = origin(origins[i])
	}
	c.Silica.Origin, c.Sulfide.Origin, c.CO2.Origin, c.PHOrigin = origin(qSilica), origin(qSulfide), origin(qCO2), origin(qPH)
	derive := func(to *Origin, from ...quantity) {
		if *to == Estimated && known(from...) {
			*to = Derived
		}
	}
	// Hardness less the one is the other; the charge balance gives the last ion.
	derive(&c.Ions[Calcium].Origin, qHardness, qMagnesium)
	derive(&c.Ions[Magnesium].Origin, qHardness, qCalcium)
	anchors := known(qAlkalinity) && (known(qHardness) || known(qCalcium, qMagnesium))
	if anchors {
		derive(&c.Ions[Sodium].Origin, qChloride, qSulfate)
		derive(&c.Ions[Chloride].Origin, qSodium, qSulfate)
		derive(&c.Ions[Sulfate].Origin, qSodium, qChloride)
	}
	if known(qAlkalinity) {
		c.Ions[Bicarbonate].Origin, c.Ions[Carbonate].Origin = Derived, Derived
		if known(qPH) { // carbon dioxide follows from the two, whatever was reported
			c.CO2.Origin = Derived
		}
		derive(&c.PHOrigin, qCO2)
	}
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
