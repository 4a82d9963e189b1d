package bed

import (
	"fmt"
	"math"
	"math/rand/v2"
	"sort"
	"testing"

	"pgregory.net/rapid"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// ledgerVessel is the bed of treatment ledger section 6: 1 ft3, 40:60, 1.88
// and 0.95 eq/L, 43 and 64 transfer units (8 x 35 in, 2 gpm, 10 degC).
func ledgerVessel() (Vessel, Service) {
	v := Cartridge(unit.Inches(8), unit.Inches(35))
	v.Conversion, v.Distribution = Halves{Cation: 1.88 / 1.9, Anion: 0.95}, 1
	return v, Service{Flow: unit.GallonsPerMinute(2), Temperature: 10}
}

func ledgerWaters() map[string]water.Water {
	raw := exampleWater()
	softened := raw
	softened.Ion[water.Sodium] += 2 * (raw.Ion[water.Calcium] + raw.Ion[water.Magnesium])
	softened.Ion[water.Calcium], softened.Ion[water.Magnesium] = 0, 0
	filtered := raw // 1.5 mg/L Fe and 0.2 mg/L Mn out: their acid turns bicarbonate into CO2
	acid := 2 * (raw.Ion[water.Iron] + raw.Ion[water.Manganese])
	filtered.Ion[water.Iron], filtered.Ion[water.Manganese] = 0, 0
	filtered.Ion[water.Bicarbonate] -= acid
	filtered.CO2 += acid
	carbon := raw // 1 mg/L of chlorine: 0.0282 meq/L of hydrochloric acid (ledger E10)
	carbon.Ion[water.Chloride] += 0.0282
	carbon.Ion[water.Bicarbonate] -= 0.0282
	carbon.CO2 += 0.0282
	osmosis := reverseOsmosis(raw, 0.95)
	// Feed at pH 8.3: its CO2 is bicarbonate, rejected with the rest.
	caustic := raw
	caustic.Ion[water.Bicarbonate] += raw.CO2
	caustic.Ion[water.Sodium] += raw.CO2
	caustic.CO2 = 0
	caustic = reverseOsmosis(caustic, 0.95)
	caustic.CO2 = unit.MmolPerL(0.431 - float64(caustic.Load().Anion)) // the ledger's anion load
	return map[string]water.Water{
		"raw": raw, "softened": softened, "Fe, Mn filtered": filtered, "carbon": carbon,
		"degassed": degassed(raw, 5), "RO 90 %": reverseOsmosis(raw, 0.90), "RO 95 %": osmosis,
		"RO 98 %": reverseOsmosis(raw, 0.98), "RO 95 % + degas": degassed(osmosis, 5), "RO 95 % at pH 8.3": caustic,
	}
}

// Treatment ledger section 6, first table (F01 to F07, computed there from
// loads alone): ratio of lives at the anion_capacity end.
func TestLedgerRatios(t *testing.T) {
	v, s := ledgerVessel()
	e, waters := DefaultEnds(), ledgerWaters()
	raw := waters["raw"]
	base := Closed(&v, s, &e, &raw)
	for name, want := range map[string]float64{
		"raw": 1, "softened": 1, "Fe, Mn filtered": 1, "carbon": 1, "degassed": 1.06, "RO 90 %": 6.0, "RO 95 %": 8.3,
		"RO 98 %": 10.7, "RO 95 % + degas": 15.9, "RO 95 % at pH 8.3": 18,
	} {
		w := waters[name]
		within(t, name, float64(Closed(&v, s, &e, &w).Anion/base.Anion), want, 0.05*want)
	}
}

// Treatment ledger section 6, second table (F09): ends in bed volumes of a
// finite-rate simulation by other code (nested bisection), read to 5 %; its
// chemistry stood at 25 degC.
func TestLedgerSimulation(t *testing.T) {
	waters := ledgerWaters()
	for _, c := range []struct {
		name                 string
		cationShare          float64
		silica, co2, us5, na float64
	}{
		{"raw", 0.4, 65.5, 71.8, 71.5, 97.8},
		{"softened", 0.4, 65.5, 71.8, 71.5, 97.8},
		{"Fe, Mn filtered", 0.4, 65.8, 72.0, 71.8, 98.8},
		{"degassed", 0.4, 67.2, 73.5, 73.5, 97.8},
		{"RO 95 %", 0.4, 532, 592, 608, 1952},
		{"RO 95 % + degas", 0.4, 980, 1120, 1160, 1956},
		{"raw", 0.5, 54.2, 60.2, 59.8, 124},
	} {
		v, s := ledgerVessel()
		v.CationShare = c.cationShare
		w, e := waters[c.name], DefaultEnds()
		e.Meter, e.MeterFactor = 5, 1 // 5 uS/cm
		b, err := Run(&v, s, &e, &w, Options{})
		if err != nil {
			t.Fatal(err)
		}
		volumes := func(id Endpoint) float64 { return float64(b.End(id).Life / v.Resin) }
		within(t, c.name+", silica 10 %", volumes(EndSilica), c.silica, 0.05*c.silica)
		within(t, c.name+", cations 1 %", volumes(EndCation), c.na, 0.05*c.na)
		within(t, c.name+", CO2 10 %", carbonEnd(t, &v, s, &w, 0.10)/float64(v.Resin), c.co2, 0.05*c.co2)
		if c.name != "RO 95 % + degas" { // the effluent creeps past 5 uS/cm there: 2 % of conductivity is 15 % of volume
			within(t, c.name+", 5 uS/cm", volumes(EndMeter), c.us5, 0.05*c.us5)
		}
	}
}

// carbonEnd returns the volume at which a share of the feed's carbon is in the
// product of the cells.
func carbonEnd(t interface{ Fatal(...any) }, v *Vessel, s Service, w *water.Water, share float64) float64 {
	o, err := Options{}.filled()
	if err != nil {
		t.Fatal(err)
	}
	r, stretches, err := newRun(v, s, w, o)
	if err != nil {
		t.Fatal(err)
	}
	carbon := &tracker{limit: share, signal: func(r *Row) float64 { return float64(r.Water.TotalCarbon() / w.TotalCarbon()) }}
	for _, part := range stretches {
		if part.batch != r.batch {
			r.resize(part.batch)
		}
		for r.volume < part.until && len(carbon.end.Bands) == 0 {
			p, at, err := r.next(r.feed)
			if err != nil {
				t.Fatal(err)
			}
			carbon.see(&Row{Volume: at, Product: p})
		}
	}
	return float64(carbon.end.Life)
}

// The laws of a run over random waters and vessels.
func TestRunLaws(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWater(byRapid(t), 0)
		v, s, _ := drawVessel(byRapid(t))
		e := DefaultEnds()
		b, err := Run(&v, s, &e, &w, Options{Cells: 30, Batches: 5})
		if err != nil {
			t.Fatal(err)
		}
		if !(b.Balance < 1e-9) {
			t.Fatalf("%.2g of the equivalents are unaccounted for", b.Balance)
		}
		if !(b.Charge < 1e-12) {
			t.Fatalf("charge left over: %.2g eq/L", b.Charge)
		}
		last := unit.Litres(-1)
		for _, r := range b.Rows {
			for _, x := range []float64{r.Water.PH, float64(r.Conductivity), float64(r.Residue), float64(r.Silica), float64(r.Hardness), r.Meter} {
				if math.IsNaN(x) || math.IsInf(x, 0) || x < 0 {
					t.Fatalf("at %v L: %+v", r.Volume, r)
				}
			}
			if r.Volume <= last {
				t.Fatalf("volumes do not rise: %v after %v", r.Volume, last)
			}
			last = r.Volume
		}
		for _, end := range append(b.Ends, b.ResidueAt...) {
			if end.Reached() && (len(end.Bands) == 0 || end.Final < end.Life) {
				t.Fatalf("end out of order: %+v", end)
			}
		}
		if b.ResidueAt[0].Life > b.ResidueAt[1].Life || b.ResidueAt[1].Life > b.ResidueAt[2].Life {
			t.Fatalf("a higher limit came first: %+v", b.ResidueAt)
		}
		if b.Usable.Anion > 1 && b.Usable.Cation > 1 {
			t.Fatalf("more used than there is: %+v", b.Usable)
		}
	})
}

// Softening does not lengthen the life: calcium and magnesium replaced by
// sodium, equivalent for equivalent (ledger F01).
func TestSofteningInvariance(t *testing.T) {
	v, s := ledgerVessel()
	e, waters := DefaultEnds(), ledgerWaters()
	hard, soft := waters["raw"], waters["softened"]
	a, err := Run(&v, s, &e, &hard, Options{})
	if err != nil {
		t.Fatal(err)
	}
	b, err := Run(&v, s, &e, &soft, Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, id := range []Endpoint{EndResidue, EndSilica, EndMeter, EndAnion, EndCation} {
		within(t, string(id), float64(b.End(id).Life/a.End(id).Life), 1, 0.002)
	}
	x, y := Closed(&v, s, &e, &hard), Closed(&v, s, &e, &soft)
	within(t, "closed form", float64(y.Residue/x.Residue), 1, 0.002)
}

// From 40 to 160 cells a life moves by less than 2 %; from the default cells
// to 200 with finer batches by less than 1 %, and the silica peak by 6 %.
func TestRefinement(t *testing.T) {
	for name, w := range ledgerWaters() {
		v, s := ledgerVessel()
		e := DefaultEnds()
		coarse, err := Run(&v, s, &e, &w, Options{Cells: 40})
		if err != nil {
			t.Fatal(err)
		}
		fine, err := Run(&v, s, &e, &w, Options{Cells: 160})
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range []Endpoint{EndResidue, EndSilica, EndAnion, EndCation} {
			a, b := float64(coarse.End(id).Life), float64(fine.End(id).Life)
			if math.Abs(a/b-1) >= 0.02 {
				t.Errorf("%s, %s: %.4g L with 40 cells, %.4g with 160", name, id, a, b)
			}
		}
		if name != "raw" && name != "RO 95 %" {
			continue
		}
		usual, err := Run(&v, s, &e, &w, Options{})
		if err != nil {
			t.Fatal(err)
		}
		if fine, err = Run(&v, s, &e, &w, Options{Cells: 200, Batches: 12}); err != nil {
			t.Fatal(err)
		}
		for _, id := range []Endpoint{EndResidue, EndSilica, EndAnion, EndCation} {
			within(t, name+", "+string(id), float64(usual.End(id).Life/fine.End(id).Life), 1, 0.01)
		}
		within(t, name+", silica peak", usual.End(EndSilica).Bands[0].Peak/fine.End(EndSilica).Bands[0].Peak, 1, 0.06)
		serving := v.Serving(s)
		f := newFronts(&serving, &w)
		within(t, name+", silica peak in closed form", f.peak/float64(w.Silica)/fine.End(EndSilica).Bands[0].Peak, 1, 0.1)
	}
}

// The closed form is held to the cells over 150 waters at 30 to 130 transfer
// units, at worst and for 95 of 100: sodium and carbonate at 1 %, silica at
// 10 %, and the residue end where the limit is not within a third of the
// silica peak (there the life jumps from the silica band to the metals,
// and neither model can tell which). The rougher ends are those of metals that
// meet strong acid, and of alkaline waters almost without CO2.
func TestClosedAgainstCells(t *testing.T) {
	draw := bySeed(rand.New(rand.NewPCG(5, 1882)))
	off := map[string][]float64{}
	compare := func(what string, closed, cells unit.Litres) {
		if !(math.IsInf(float64(closed), 1) && math.IsInf(float64(cells), 1)) {
			off[what] = append(off[what], math.Abs(float64(closed/cells)-1))
		}
	}
	for n := 0; n < 150; {
		w := drawWater(draw, 0.1)
		v, s, ok := drawVessel(draw)
		if !ok {
			continue
		}
		n++
		e := DefaultEnds()
		e.Residue = unit.MgPerL(5 * math.Pow(10, draw("limit", 0, 1)))
		b, err := Run(&v, s, &e, &w, Options{})
		if err != nil {
			t.Fatal(err)
		}
		compare("sodium", b.Closed.Cation, b.End(EndCation).Life)
		compare("carbonate", b.Closed.Carbonic, unit.Litres(carbonEnd(t, &v, s, &w, capacityShare)))
		compare("silica", b.Closed.Silica, b.End(EndSilica).Life)
		serving := v.Serving(s)
		f := newFronts(&serving, &w)
		if f.sites < 1.05 && f.grip > 0.95 {
			compare("anion capacity", b.Closed.Anion, b.End(EndAnion).Life)
		}
		if peak := f.peak * 60.084; float64(e.Residue) < 0.75*peak || float64(e.Residue) > 1.35*peak {
			residue := b.End(EndResidue)
			compare("residue", b.Closed.Residue, residue.Life)
			compare("final", b.Closed.Final, residue.Final)
			if residue.Returns() && b.Closed.Back < b.Closed.Final {
				compare("back", b.Closed.Back, residue.Bands[0].To)
			}
		}
	}
	for _, c := range []struct {
		end        string
		most, of95 float64
	}{
		// What doc.go states, and half a percent.
		{"sodium", 0.07, 0.025}, {"carbonate", 0.045, 0.02}, {"silica", 0.045, 0.03}, {"residue", 0.035, 0.025},
		{"final", 0.065, 0.025}, {"back", 0.035, 0.025}, {"anion capacity", 0.055, 0.045},
	} {
		x := off[c.end]
		sort.Float64s(x)
		p95, worst := x[len(x)*95/100], x[len(x)-1]
		t.Logf("%-14s %3d waters: 95 %% within %.3f, worst %.3f", c.end, len(x), p95, worst)
		if p95 > c.of95 || worst > c.most {
			t.Errorf("%s: 95 %% within %.3f, worst %.3f; want %.3f and %.3f", c.end, p95, worst, c.of95, c.most)
		}
	}
}

// Alkaline waters, whose carbon is bicarbonate and carbonate with hardly any
// CO2: the closed form is held to the cells from pH 8 to 10, within the 7 % that
// doc.go states (it lies 6 % short at pH 9 to 9.5).
func TestClosedOnAlkalineWater(t *testing.T) {
	v, s := ledgerVessel()
	e := DefaultEnds()
	for _, ph := range []float64{8, 8.3, 8.6, 9, 9.5, 10} {
		w := water.Water{Temperature: 10, Silica: 0.25}
		w.Ion[water.Calcium], w.Ion[water.Sodium], w.Ion[water.Chloride] = 0.2, 4.6, 1
		w, err := w.WithPH(ph)
		if err != nil {
			t.Fatal(err)
		}
		b, err := Run(&v, s, &e, &w, Options{})
		if err != nil {
			t.Fatal(err)
		}
		within(t, fmt.Sprintf("residue at pH %g", ph), float64(b.Closed.Residue/b.End(EndResidue).Life), 1, 0.07)
		within(t, fmt.Sprintf("silica at pH %g", ph), float64(b.Closed.Silica/b.End(EndSilica).Life), 1, 0.07)
	}
}

// The ledger's own check of the constant pattern (B51): sodium at 1 % in the
// cells at 20, 43 and 130 transfer units: 0.820, 0.916 and 0.972.
func TestConstantPattern(t *testing.T) {
	for nf, want := range map[float64]float64{20: 0.820, 43: 0.916, 130: 0.972} {
		within(t, "closed form", breakthrough(nf, 0.01), want, 0.005)
	}
}

// More resin of the same depth and velocity never shortens the life, and the
// life per litre is the same.
func TestLifeScales(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWater(byRapid(t), 0)
		v, s, _ := drawVessel(byRapid(t))
		e := DefaultEnds()
		big, fast := v, s
		f := rapid.Float64Range(1, 4).Draw(t, "factor")
		big.Resin *= unit.Litres(f)
		big.Diameter *= unit.Metres(math.Sqrt(f))
		fast.Flow *= unit.LitresPerMinute(f)
		a, b := Closed(&v, s, &e, &w), Closed(&big, fast, &e, &w)
		if math.Abs(float64(b.Cation/a.Cation)/f-1) > 1e-9 || math.Abs(float64(b.Anion/a.Anion)/f-1) > 1e-9 {
			t.Fatalf("%v times the resin: %+v after %+v", f, b, a)
		}
		// Slower flow through the same vessel uses more of it.
		slow := s
		slow.Flow /= unit.LitresPerMinute(f)
		if c := Closed(&v, slow, &e, &w); c.Cation < a.Cation || c.Anion < a.Anion {
			t.Fatalf("slower flow gave %+v after %+v", c, a)
		}
	})
}

// BenchmarkRun is a full breakthrough of a 1 ft3 vessel to 1.3 times
// exhaustion, with the default cells and with 60 cells in finer batches.
func BenchmarkRun(b *testing.B) {
	v, s := ledgerVessel()
	e, w := DefaultEnds(), exampleWater()
	for name, o := range map[string]Options{"default": {}, "60x8": {Cells: 60, Batches: 8}} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Run(&v, s, &e, &w, o); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkSeries is a rig of two equal vessels, lead and lag, swapped when the
// lag ends.
func BenchmarkSeries(b *testing.B) {
	v, s := ledgerVessel()
	e, w := DefaultEnds(), exampleWater()
	b.ReportAllocs()
	for b.Loop() {
		if _, err := RunSeries(&v, s, &e, &w, SwapAtLag, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
