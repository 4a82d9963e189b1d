package process

import (
	"math"
	"testing"

	"forebed/chem/bed"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// What really lengthens the life: treatment ledger section 6 (F01 to F07),
// computed there by hand, not published: bed 1 ft3, 40:60, 1.9 and 1.0 eq/L,
// usable fraction 0.75, the end at the capacity of either half, uniform
// rejection, silica 88 %, carbon dioxide untouched by reverse osmosis.
func TestLifeRatios(t *testing.T) {
	raw := ledgerWater(t)
	atPH := func(ph float64) water.Water { // caustic soda turns CO2 into bicarbonate; ledger F07: about 0.56 meq/L
		w := raw
		low, high := 0.0, 5.0
		for range 60 {
			mid := (low + high) / 2
			w.Ion[water.Sodium] = raw.Ion[water.Sodium] + unit.MmolPerL(mid)
			c, err := w.WithCarbon(raw.TotalCarbon())
			if err != nil {
				t.Fatal(err)
			}
			if c.PH < ph {
				low = mid
			} else {
				high = mid
			}
			w = c
		}
		return w
	}
	ro := func(w water.Water, ions float64) water.Water {
		r := UniformRejection(ions, 0.88)
		p, _, err := Permeate(&w, r, 0)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	degas := func(w water.Water) water.Water {
		out, err := StripTo(&w, 5)
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	stage := func(s Stage, w water.Water) water.Water { return apply(t, s, &w).Out }
	chlorinated := raw
	chlorinated.Matter.FreeChlorine = 1

	want0 := life(&raw)
	// Ours is 1.4 % shorter: the bed gives carbonate more than one site.
	if got := want0 / float64(unit.CubicFeet(1)); !near(got, 57.2, 0.02) {
		t.Errorf("raw water: %.1f bed volumes, the ledger has 57.2", got)
	}
	for _, c := range []struct {
		name  string
		water water.Water
		want  float64
	}{
		{"softened", stage(&softener10, raw), 1.00},
		{"iron and manganese removed", stage(&mediaCoated, raw), 1.00},
		{"carbon after 1 mg/L of chlorine", stage(&carbonGranular, chlorinated), 1.00},
		{"degassed to 5 mg/L", degas(raw), 1.06},
		{"RO 90 %", ro(raw, 0.90), 6.0},
		{"RO 95 %", ro(raw, 0.95), 8.3},
		{"RO 98 %", ro(raw, 0.98), 10.7},
		{"RO 95 % and degassed", degas(ro(raw, 0.95)), 15.9},
		{"degassed and RO 95 %", ro(degas(raw), 0.95), 15.9},
	} {
		if got := life(&c.water) / want0; !near(got, c.want, 0.05) {
			t.Errorf("%s: life ratio %.2f, the ledger has %.2f", c.name, got, c.want)
		}
	}

	// "About 18" for 95 % on feed at pH 8.3 is the ratio of the loads, 7.871
	// to 0.431, which implies 0.02 mmol/L of CO2 in the permeate. With activity
	// corrections that CO2 is reached at pH 8.6; at pH 8.3 there is 0.05 and
	// the ratio is 17.0.
	ratio := func(ph float64) (ratio, co2 float64) {
		p := ro(atPH(ph), 0.95)
		return float64(raw.Load().Anion / p.Load().Anion), float64(p.CO2)
	}
	if got, co2 := ratio(8.61); !near(got, 18, 0.05) || !near(co2, 0.02, 0.1) {
		t.Errorf("RO 95 %% on alkaline feed: load ratio %.2f with %.3f mmol/L of CO2, the ledger has 18 and 0.02", got, co2)
	}
	if got, _ := ratio(8.3); !near(got, 17, 0.02) {
		t.Errorf("RO 95 %% on feed at pH 8.3: load ratio %.2f, computed by hand 17.0", got)
	}
}

// life returns the litres to the capacity of the half that runs out first.
func life(w *water.Water) float64 {
	v := bed.Vessel{Resin: unit.CubicFeet(1), CationShare: 0.4, CationCapacity: 1.9, AnionCapacity: 1.0,
		Conversion: bed.Halves{Cation: 0.75, Anion: 0.75}, Distribution: 1, BeadDiameter: 0.6e-3, Void: 0.38,
		Diameter: 0.2, Depth: 1000} // so deep that film kinetics take nothing: the ledger's closed form has none
	l := bed.Closed(&v, bed.Service{Flow: 8, Temperature: 25}, &bed.Ends{Residue: 10}, w)
	return math.Min(float64(l.Anion), float64(l.Cation))
}

// The loads of the same table, in meq/L.
func TestLedgerLoads(t *testing.T) {
	raw := ledgerWater(t)
	soft, iron := apply(t, &softener10, &raw).Out, apply(t, &mediaCoated, &raw).Out
	for _, c := range []struct {
		name          string
		w             water.Water
		cation, anion float64
	}{
		{"raw", raw, 7.057, 7.871},
		{"softened", soft, 7.057, 7.871},
		{"iron and manganese removed", iron, 6.996, 7.871},
	} {
		l := c.w.Load()
		if !near(float64(l.Cation), c.cation, 5e-4) || !near(float64(l.Anion), c.anion, 5e-4) {
			t.Errorf("%s: loads %.3f and %.3f, the ledger has %.3f and %.3f", c.name, float64(l.Cation), float64(l.Anion), c.cation, c.anion)
		}
	}
}
