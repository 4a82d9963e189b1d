package bed

import (
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// affinity is one row of a selectivity scale.
type affinity struct {
	ion    water.Ion
	k      float64 // relative to the reference ion of its table
	source string  // ledger row and status: seen, computed, from memory
}

// cationScale is the affinity for sulfonated polystyrene of 8 % crosslinking,
// Li = 1. Source: Bonner and Smith, J. Phys. Chem. 61 (1957) 326, as tabulated
// in Helfferich, Ion Exchange (1962). Iron(II) is about 3 times hydrogen.
var cationScale = []affinity{
	{water.Sodium, 1.98, "B03 seen"},
	{water.Ammonium, 2.55, "B04 seen"},
	{water.Potassium, 2.90, "B05 seen"},
	{water.Magnesium, 3.29, "B06 seen"},
	{water.Iron, 3.8, "B16 from memory"},
	{water.Manganese, 4.09, "B07 from memory"},
	{water.Calcium, 5.16, "B08 seen"},
	{water.Strontium, 6.51, "B09 seen"},
	{water.Barium, 11.5, "B10 seen"},
}

// hydrogenAffinity is the place of H on that scale (B02 seen).
const hydrogenAffinity = 1.27

// anionScale is the affinity for type I strong-base resin, OH = 1. Source:
// treatment ledger 2.2.
var anionScale = []affinity{
	{water.Fluoride, 1.6, "B22 from memory"},
	{water.Chloride, 22, "B18 seen, secondary quotation"},
	{water.Nitrate, 65, "B19 seen, secondary quotation"},
	{water.Sulfate, 150, "B20 seen, secondary quotation"},
}

// Affinities of the anions of weak acids, type I resin, OH = 1.
const (
	bicarbonateAffinity = 6.0 // B21 from memory
	carbonateAffinity   = 6.0 // B27: of the order of bicarbonate; 2 to 200 shift the silica front by up to 7 %
	silicateAffinity    = 1.0 // B26: below 1 to 1; the result is insensitive to it
	bisulfideAffinity   = 6.0 // no published figure; taken as bicarbonate, another weak acid's ion
)

// gainesThomas turns a place on a published scale into the constant
// K = y_M [H]^z / ([M] y_H^z) in mol/L. The published constants of divalent
// ions are in eq/L throughout, hence K = 2 Q k with Q the capacity of the
// resin in eq per litre of it (ledger 2.3). Scales are moved to another
// reference ion by plain division, the textbook way.
func gainesThomas(k, reference, capacity float64, i water.Ion) float64 {
	if z := i.Charge(); z == 2 || z == -2 {
		return 2 * capacity * k / reference
	}
	return k / reference
}

// species ties the places in a system to what a water holds. What neither the
// water nor the resin holds has no place.
type species struct {
	system
	ions                    []water.Ion // cations, then anions, in the order of the system
	carbon, silica, sulfide int         // places of the weak acids; -1 for none
}

// mixed returns the chemistry of the two resins for one temperature and one
// water. reference is the place on cationScale of the ion that fills the
// cation resin at first; present tells which ions have a place.
func mixed(capacity Halves, reference float64, w *water.Water, present func(water.Ion) bool) *species {
	acids := water.AcidsAt(w.Temperature)
	s := &species{system: system{kH: hydrogenAffinity / reference, kOH: 1, kw: acids.Water}}
	cations, univalent := s.places(cationScale, reference, capacity.Cation, present)
	s.cations, s.univalentCations = cations, univalent
	anions, univalent := s.places(anionScale, 1, capacity.Anion, present)
	s.anions, s.univalentAnions = anions, univalent
	place := func(total unit.MmolPerL, a weakAcid) int {
		if total <= 0 {
			return -1
		}
		s.weak = append(s.weak, a)
		return len(s.ions) + len(s.weak) - 1
	}
	s.carbon = place(w.TotalCarbon(), weakAcid{k1: acids.Carbonic1, k2: acids.Carbonic2, ka: bicarbonateAffinity, kb: 2 * capacity.Anion * carbonateAffinity})
	s.silica = place(w.Silica, weakAcid{k1: acids.Silicic, ka: silicateAffinity})
	s.sulfide = place(w.Sulfide, weakAcid{k1: acids.Sulfide, ka: bisulfideAffinity})
	return s
}

// places gives each ion of a scale its place, univalent ions first.
func (s *species) places(scale []affinity, reference, capacity float64, present func(water.Ion) bool) (list []exchanged, univalent int) {
	for _, z := range []float64{1, 2} {
		for _, a := range scale {
			if math.Abs(a.ion.Charge()) == z && present(a.ion) {
				s.ions = append(s.ions, a.ion)
				list = append(list, exchanged{gainesThomas(a.k, reference, capacity, a.ion) / z})
			}
		}
		if z == 1 {
			univalent = len(list)
		}
	}
	return list, univalent
}

// feed returns what a water brings, in the order of the system: eq/L of each
// ion, mol/L of each weak acid.
func (s *species) feed(w *water.Water) []float64 {
	all := make([]float64, len(s.ions)+len(s.weak))
	for k, i := range s.ions {
		all[k] = float64(w.Equivalents(i)) / 1000
	}
	put := func(place int, total unit.MmolPerL) {
		if place >= 0 {
			all[place] = float64(total) / 1000
		}
	}
	put(s.carbon, w.TotalCarbon())
	put(s.silica, w.Silica)
	put(s.sulfide, w.Sulfide)
	return all
}
