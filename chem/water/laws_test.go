package water_test

import (
	"math"
	"testing"

	"pgregory.net/rapid"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// wells draws waters from very soft to brackish, with the charge of their
// strong ions from least to most meq/L (below 0 is mineral acid): sodium or
// chloride fills up to that. The carbonate system is not set yet.
func wells(t *rapid.T, least, most float64) water.Water {
	w := water.Water{Temperature: unit.Celsius(rapid.Float64Range(1, 35).Draw(t, "temperature"))}
	scale := math.Pow(10, rapid.Float64Range(-2, 1).Draw(t, "size"))
	for i := range water.Ion(water.NumIons) {
		if i != water.Bicarbonate && i != water.Carbonate {
			w.Ion[i] = unit.MmolPerL(scale * rapid.Float64Range(0, 1).Draw(t, string(i.ID())))
		}
	}
	w.Silica = unit.MmolPerL(rapid.Float64Range(0, 1.2).Draw(t, "silica"))
	w.Sulfide = unit.MmolPerL(rapid.Float64Range(0, 0.1).Draw(t, "sulfide"))
	if s := strong(w); s < least {
		w.Ion[water.Sodium] += unit.MmolPerL(least - s)
	} else if s > most {
		w.Ion[water.Chloride] += unit.MmolPerL(s - most)
	}
	return w
}

func strong(w water.Water) float64 { return float64(w.Alkalinity()) / 50.043 }

// TestEveryWaterBalances: whatever ions and carbon it is given, a closed water
// is charge-balanced within 1e-9 meq/L and keeps what it was given.
func TestEveryWaterBalances(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := wells(t, -8, 8)
		carbon := unit.MmolPerL(max(strong(w), 0) + rapid.Float64Range(0.01, 4).Draw(t, "carbon"))
		out, err := w.WithCarbon(carbon)
		if err != nil {
			t.Fatal(err)
		}
		if d := math.Abs(float64(out.Imbalance())); d > 1e-9 {
			t.Fatalf("imbalance %g meq/L at pH %g", d, out.PH)
		}
		if d := math.Abs(float64(out.TotalCarbon() - carbon)); d > 1e-12*float64(carbon) {
			t.Fatalf("carbon is off by %g", d)
		}
		for i := range water.Ion(water.NumIons) {
			if i != water.Bicarbonate && i != water.Carbonate && out.Ion[i] != w.Ion[i] {
				t.Fatalf("%s changed", i.ID())
			}
		}
		if out.CO2 < 0 || out.Ion[water.Bicarbonate] < 0 || out.Ion[water.Carbonate] < 0 {
			t.Fatalf("negative carbon: %+v", out)
		}
		// Its own pH gives the same water back.
		if strong(out) > 0.05 && out.PH > 4.5 && out.PH < 9 {
			back, err := w.WithPH(out.PH)
			if err != nil {
				t.Fatal(err)
			}
			if d := math.Abs(float64(back.TotalCarbon()/carbon - 1)); d > 1e-6 {
				t.Fatalf("pH %g gives %g of carbon, not %g", out.PH, float64(back.TotalCarbon()), float64(carbon))
			}
		}
	})
}

// TestMoreCarbonIsMoreAcid, and more alkali less.
func TestMoreCarbonIsMoreAcid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := wells(t, -8, 8)
		a := max(strong(w), 0) + rapid.Float64Range(0.01, 2).Draw(t, "carbon")
		less, err := w.WithCarbon(unit.MmolPerL(a))
		if err != nil {
			t.Fatal(err)
		}
		more, err := w.WithCarbon(unit.MmolPerL(a + rapid.Float64Range(0.01, 2).Draw(t, "more")))
		if err != nil {
			t.Fatal(err)
		}
		if more.PH > less.PH+1e-9 {
			t.Fatalf("carbon raised pH from %g to %g", less.PH, more.PH)
		}
		w.Ion[water.Sodium] += 0.1
		alkaline, err := w.WithCarbon(unit.MmolPerL(a))
		if err != nil {
			t.Fatal(err)
		}
		if alkaline.PH < less.PH-1e-9 {
			t.Fatalf("sodium lowered pH from %g to %g", less.PH, alkaline.PH)
		}
	})
}

// TestPressureHolds: a water under a pressure of carbon dioxide holds what
// Henry's law says, and balances.
func TestPressureHolds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := wells(t, -8, 8)
		logP := rapid.Float64Range(-3.5, -0.5).Draw(t, "log pCO2")
		out, err := w.WithPressure(logP)
		if err != nil {
			t.Fatal(err)
		}
		want := 1000 * water.HenryCO2(w.Temperature) * math.Pow(10, logP)
		if math.Abs(float64(out.CO2)/want-1) > 1e-9 || math.Abs(float64(out.Imbalance())) > 1e-9 {
			t.Fatalf("CO2 %g, expected %g; imbalance %g", float64(out.CO2), want, float64(out.Imbalance()))
		}
	})
}

// TestResidueLaws: drying drives off carbon dioxide and ammonia and keeps
// metals, sulfate and silica; it never weighs more than what was dissolved.
func TestResidueLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := wells(t, -8, 8)
		w, err := w.WithCarbon(unit.MmolPerL(max(strong(w), 0) + 1))
		if err != nil {
			t.Fatal(err)
		}
		residue := float64(water.DryResidue(&w))
		gassier, err := w.WithCarbon(w.TotalCarbon() + 1)
		if err != nil {
			t.Fatal(err)
		}
		if math.Abs(float64(water.DryResidue(&gassier))-residue) > 1e-9 {
			t.Fatal("carbon dioxide left a residue")
		}
		least := w.SilicaMilligrams() + w.Milligrams(water.Sulfate) + w.Milligrams(water.Calcium) + w.Milligrams(water.Sodium)
		if residue < float64(least)-1e-9 {
			t.Fatalf("residue %g is below its silica, sulfate, calcium and sodium %g", residue, float64(least))
		}
		// Caustic takes up carbon dioxide from the air, up to 30 mg a meq of it.
		if most := float64(w.DissolvedSolids()) + 30.1*math.Max(strong(w)-float64(w.Ion[water.Bicarbonate])-2*float64(w.Ion[water.Carbonate]), 0); residue > most+1.1*float64(w.Ion[water.Sulfate])*2 {
			t.Fatalf("residue %g passes the %g dissolved", residue, most)
		}
	})
}

// TestDryResidue: waters dried by hand.
func TestDryResidue(t *testing.T) {
	for _, x := range []struct {
		name string
		m    mix
		want float64
	}{
		{"2 meq/L of sodium bicarbonate ends as soda: 106 mg", mix{"na": 45.98, "hco3": 122.03}, 105.988},
		{"sodium chloride stays", mix{"na": 22.99, "cl": 35.45}, 58.44},
		{"ammonium bicarbonate leaves", mix{"nh4": 18.039, "hco3": 61.016}, 0},
		{"hydrochloric acid leaves", mix{"cl": 35.45}, 0},
		{"sulfuric acid stays: 49 mg a meq", mix{"so4": 48.028}, 49.036},
		{"sulfate has the metals first, chloride leaves", mix{"na": 22.99, "so4": 48.028, "cl": 35.45}, 71.018},
		{"caustic ends as soda", mix{"na": 22.99}, 52.994},
		{"silica stays", mix{"sio2": 20}, 20},
	} {
		w := water.Water{Temperature: 20, PH: 7}
		for name, v := range x.m {
			if name == "sio2" {
				w.Silica = unit.MmolPerL(v / 60.083)
			} else {
				w.SetMilligrams(names[name], unit.MgPerL(v))
			}
		}
		within(t, x.name, float64(water.DryResidue(&w))+1e-9, x.want+1e-9, 0.05)
	}
}

// TestCalciteLaws: calcite never makes water softer or more acid, and stops
// where it was told.
func TestCalciteLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := wells(t, -1, 3)
		w, err := w.WithCarbon(unit.MmolPerL(max(strong(w), 0) + rapid.Float64Range(0.05, 3).Draw(t, "carbon")))
		if err != nil {
			t.Fatal(err)
		}
		target := rapid.Float64Range(-1.5, 0).Draw(t, "target")
		out, dissolved, err := w.Calcite(target)
		if err != nil {
			t.Fatal(err)
		}
		if dissolved < 0 || out.PH < w.PH-1e-9 {
			t.Fatalf("dissolved %g, pH %g to %g", float64(dissolved), w.PH, out.PH)
		}
		if d := float64(out.TotalCarbon() - w.TotalCarbon() - dissolved); math.Abs(d) > 1e-9 {
			t.Fatalf("carbon is off by %g", d)
		}
		if dissolved > 1e-6 && math.Abs(out.Saturation().Calcite-target) > 1e-3 {
			t.Fatalf("stopped at %g, expected %g", out.Saturation().Calcite, target)
		}
		if math.Abs(float64(out.Imbalance())) > 1e-9 {
			t.Fatalf("imbalance %g", float64(out.Imbalance()))
		}
	})
}

// TestConductivityGrows with every ion that is added.
func TestConductivityGrows(t *testing.T) {
	w := water.Water{Temperature: 25, PH: 7}
	w.Ion[water.Calcium], w.Ion[water.Sulfate], w.Ion[water.Bicarbonate] = 1, 0.5, 1
	before := water.Conductivity(&w)
	for i := range water.Ion(water.NumIons) {
		x := w
		x.Ion[i] += 0.1
		if water.Conductivity(&x) <= before {
			t.Errorf("%s lowers the conductivity", i.ID())
		}
	}
	if e := water.EmpiricalConductivity(&w); !(e < before) || e < 0.9*before {
		t.Errorf("empirical %g of theory %g", float64(e), float64(before))
	}
}

// TestRefused: what the functions refuse.
func TestRefused(t *testing.T) {
	w := water.Water{Temperature: 12}
	w.Ion[water.Sodium] = 1
	for name, err := range map[string]error{
		"negative carbon": second(w.WithCarbon(-1)),
		"NaN carbon":      second(w.WithCarbon(unit.MmolPerL(math.NaN()))),
		"pH 15":           second(w.WithPH(15)),
		"pressure":        second(w.WithPressure(3)),
		"no bicarbonate":  second(acid().WithPH(7)),
		"far too caustic": second(caustic().WithCarbon(0)),
	} {
		if err == nil {
			t.Errorf("%s: expected an error", name)
		}
	}
	if _, _, err := w.Calcite(0.5); err == nil {
		t.Error("a target above saturation: expected an error")
	}
	if _, err := water.AlkalinityForms(90, 80); err == nil {
		t.Error("a part above the whole: expected an error")
	}
}

func caustic() water.Water {
	w := water.Water{Temperature: 12}
	w.Ion[water.Sodium] = 500
	return w
}

func acid() water.Water {
	w := water.Water{Temperature: 12}
	w.Ion[water.Chloride] = 1
	return w
}

func second(_ water.Water, err error) error { return err }
