package process

import (
	"encoding/csv"
	"math"
	"os"
	"strconv"
	"testing"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Calcite against the solver tables (testdata/solver/neutralize.csv, PHREEQC
// 3.8.9): final pH within 0.06, calcium and what dissolved within 3 %, at each
// of the three approaches.
func TestNeutralizeAgainstSolver(t *testing.T) {
	f, err := os.Open("../../testdata/solver/neutralize.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	if len(rows) != 19 {
		t.Fatalf("%d rows, expected a header and 18", len(rows))
	}
	for _, row := range rows[1:] {
		v := func(name string) float64 {
			for i, h := range rows[0] {
				if h == name {
					x, err := strconv.ParseFloat(row[i], 64)
					if err != nil {
						t.Fatal(err)
					}
					return x
				}
			}
			t.Fatalf("no column %s", name)
			return 0
		}
		w := water.Water{PH: v("ph"), Temperature: unit.Celsius(v("temp_c"))}
		for ion, column := range map[water.Ion]string{water.Calcium: "ca_mgL", water.Magnesium: "mg_mgL", water.Sodium: "na_mgL",
			water.Potassium: "k_mgL", water.Chloride: "cl_mgL", water.Sulfate: "so4_mgL"} {
			w.SetMilligrams(ion, unit.MgPerL(v(column)))
		}
		w.Silica = mmol(unit.MgPerL(v("sio2_mgL")), formula("SiO2"))
		// The tables' total carbon; the pH of so soft a water follows from it.
		if w, err = w.WithCarbon(unit.MmolPerL(v("tic_mmolL"))); err != nil {
			t.Fatal(err)
		}
		out, calcite, magnesia, err := Neutralize(&w, v("target_si_calcite"), 0)
		if err != nil {
			t.Fatal(err)
		}
		name := row[0] + " to " + row[1]
		if math.Abs(out.PH-v("final_ph")) > 0.06 {
			t.Errorf("%s: pH %.3f, the solver has %.3f", name, out.PH, v("final_ph"))
		}
		if got := float64(out.Milligrams(water.Calcium)); !near(got, v("final_ca_mgL"), 0.03) {
			t.Errorf("%s: calcium %.2f mg/L, the solver has %.2f", name, got, v("final_ca_mgL"))
		}
		if got := float64(calcite); !near(got, v("calcite_dissolved_mmolL"), 0.03) || magnesia != 0 {
			t.Errorf("%s: %.4f mmol/L dissolved, the solver has %.4f", name, got, v("calcite_dissolved_mmolL"))
		}
	}
}

// What a stage does to the ions, against the stoichiometry that the ledger
// prints (treatment ledger section 5, first table; status "computed" there).
func TestSideEffects(t *testing.T) {
	raw := ledgerWater(t)
	alkalinity := func(w water.Water) float64 { return float64(w.Alkalinity()) }
	load := func(w water.Water) (c, a float64) { l := w.Load(); return float64(l.Cation), float64(l.Anion) }
	check := func(name string, got, want, tol float64, source string) {
		t.Helper()
		if math.Abs(got-want) > tol {
			t.Errorf("%s: %.5f, want %.5f (%s)", name, got, want, source)
		}
	}

	// Iron and manganese by air or by the grains: alkalinity 1.79 and 1.82 mg
	// per mg, load of the anion half unchanged.
	iron := apply(t, &mediaCoated, &raw).Out
	fe := DissolvedIron.Of(&raw) - DissolvedIron.Of(&iron)
	mn := DissolvedManganese.Of(&raw) - DissolvedManganese.Of(&iron)
	check("alkalinity used by the filter", alkalinity(raw)-alkalinity(iron), 1.792*fe+1.822*mn, 0.002, "E-FE-ALK-O2, E-MN-ALK")
	_, before := load(raw)
	_, after := load(iron)
	check("anion load behind the filter", after, before, 1e-9, "F02")

	// Bleach takes the same alkalinity as air for iron and manganese, and puts
	// in two sodium and two chloride for each chlorine: 0.0282 meq/L of
	// chloride for each mg/L, once carbon has taken what is left (E10).
	fed := apply(t, &chlorineFeed, &raw)
	done := apply(t, &carbonGranular, &fed.Out).Out
	dose := fed.Use.Oxidant * 1000
	check("chloride of bleach", float64(done.Ion[water.Chloride]-raw.Ion[water.Chloride]), 0.0282*dose, 2e-4*dose, "E10")
	check("sodium of bleach", float64(fed.Out.Ion[water.Sodium]-raw.Ion[water.Sodium]), 0.0282*dose, 2e-4*dose, "bleach is made as NaOCl and NaCl in equal parts, from memory")
	check("chlorine left", float64(fed.Out.Matter.FreeChlorine), chlorineResidual.Value+0.05*1.5*chlorinePerIron+0.2*chlorinePerManganese, 1e-9,
		"residual, and what the iron and manganese left in solution would take")

	// Permanganate: one potassium and one manganese for each.
	purple := apply(t, &permanganateFeed, &raw)
	n := purple.Use.Oxidant * 1000 / 158.03
	check("potassium of permanganate", float64(purple.Out.Ion[water.Potassium]-raw.Ion[water.Potassium]), n, 1e-4, "KMnO4, 158.03 g/mol")
	check("manganese of permanganate", float64(purple.Out.Matter.ParticulateManganese), n*54.938+0.9*0.2, 1e-3, "MnO2 of the dose and of the manganese oxidized")

	// Carbon on a water that carries chlorine: one chloride for each HOCl. The
	// other half of E10's 0.0282 came with the dose.
	chlorinated := raw
	chlorinated.Matter.FreeChlorine = 1
	quiet := apply(t, &carbonDeep, &chlorinated).Out
	gone := 1 - float64(quiet.Matter.FreeChlorine)
	check("chloride from carbon", float64(quiet.Ion[water.Chloride]-raw.Ion[water.Chloride]), 0.0141*gone, 1e-4, "E10, C + HOCl -> CO + H + Cl")
	check("alkalinity taken on carbon", (alkalinity(raw)-alkalinity(quiet))/50.043, 0.0141*gone, 1e-4, "E10")

	// Softening: 0.459 mg of sodium for each mg of hardness.
	soft := apply(t, &softener10, &raw).Out
	metals := 0.95 * (2*1.5/55.845 + 2*0.2/54.938) * 22.99
	check("sodium of softening", float64(soft.Milligrams(water.Sodium)-raw.Milligrams(water.Sodium)-unit.MgPerL(metals*outsideShare.Value/softenerIron.Value)),
		0.4594*float64(raw.Hardness()-soft.Hardness()), 0.05, "E34; iron and manganese beside it")
	if h := float64(soft.Hardness()); !(h > 0 && h < 5) {
		t.Errorf("leakage %.2f mg/L, Davis (2010) p. 8-19 has below 5 (E33)", h)
	}

	// Calcite: 2.27 mg of CaCO3 for each mg of CO2; loads rise by 2 and 1 meq
	// for each mmol of CO2 used.
	sour := water.Water{PH: 6, Temperature: 12, Silica: 0.2}
	sour.SetMilligrams(water.Calcium, 5)
	sour.SetMilligrams(water.Sodium, 5)
	sour.SetMilligrams(water.Chloride, 8)
	sour, err := sour.WithPH(6)
	if err != nil {
		t.Fatal(err)
	}
	// At an index of -1 hardly any of the carbon is carbonate, and the plain
	// reaction holds; nearer to equilibrium carbonate takes some calcite more.
	hard, calcite, _, err := Neutralize(&sour, -1, 0)
	if err != nil {
		t.Fatal(err)
	}
	used := float64(sour.CO2 - hard.CO2)
	c0, a0 := load(sour)
	c1, a1 := load(hard)
	check("calcite used per CO2", float64(calcite)*100.086/(used*44.009), 2.27, 0.02, "E41")
	check("cation load of calcite", (c1-c0)/used, 2, 0.02, "E43")
	check("anion load of calcite", (a1-a0)/used, 1, 0.01, "E43")

	// Magnesia gives +1 meq of cation load for each mmol of CO2 and none of
	// anion load (E44): what the anion load gains is the calcite alone.
	mixed, calcite, magnesia, err := Neutralize(&sour, 0, 0.4)
	if err != nil {
		t.Fatal(err)
	}
	c4, a4 := load(mixed)
	check("magnesia for its share of the CO2", float64(magnesia)*40.304/(0.4*float64(sour.CO2)*44.009), 0.458, 5e-4, "E42")
	check("cation load of the blend", c4-c0, 2*float64(calcite+magnesia), 1e-9, "E43 E44")
	check("anion load of the blend", a4-a0, float64(calcite), 1e-9, "E43 E44")

	// Degassing leaves the ions and takes 5 mg/L as its end.
	light := apply(t, &degasserTower, &raw).Out
	check("CO2 behind the degasser", float64(light.CarbonDioxide()), 5, 0.01, "E70")
	check("alkalinity behind it", alkalinity(light), alkalinity(raw), 1e-6, "no ion leaves with the air")

	// Reverse osmosis passes CO2, so the pH falls (E59).
	tap := apply(t, &membraneTap, &raw).Out
	if tap.PH > raw.PH-1 {
		t.Errorf("permeate at pH %.2f from a feed at %.2f; carbon dioxide should pass (E59)", tap.PH, raw.PH)
	}
	// The organics trap is no relief of the bed (E75).
	trapped := apply(t, &organicsTrap, &raw).Out
	c2, a2 := load(trapped)
	c3, a3 := load(raw)
	check("cation load behind the trap", c2, c3, 1e-9, "E75")
	check("anion load behind the trap", a2, a3, 1e-6, "E75")
}

// Rejection of the catalogue at a tap-pressure recovery lies below the printed
// range of the bare membrane, and ions that the ledger lists follow its order.
func TestRejectionRows(t *testing.T) {
	want := map[water.Ion]float64{ // ledger E45 to E56, the low end
		water.Calcium: 0.96, water.Magnesium: 0.96, water.Sodium: 0.92, water.Potassium: 0.92, water.Ammonium: 0.85,
		water.Iron: 0.98, water.Manganese: 0.96, water.Chloride: 0.94, water.Bicarbonate: 0.95, water.Nitrate: 0.93,
		water.Sulfate: 0.99, water.Fluoride: 0.94,
	}
	r := ThinFilm()
	for ion, v := range want {
		if r.Ion[ion] != v {
			t.Errorf("%s: rejection %.3f, the ledger's low end is %.3f", ion.ID(), r.Ion[ion], v)
		}
	}
	if r.Silica != 0.85 {
		t.Errorf("silica: rejection %.3f, ledger E57 has 0.85", r.Silica)
	}
	if got := meanPassage(0.95, 0); math.Abs(got-0.05) > 1e-12 {
		t.Errorf("passage at no recovery: %.4f, want 1 - R", got)
	}
	// Plug flow by hand: R 0.95, Y 0.5: (1 - 0.5^0.05)/0.5 = 0.0681.
	if got := meanPassage(0.95, 0.5); !near(got, 0.0681, 0.001) {
		t.Errorf("passage at half recovery: %.4f, want 0.0681 (computed by hand)", got)
	}
}

// Oxidant demand counts ammonia, sulfide and organics, and says what nobody
// measured.
func TestDemand(t *testing.T) {
	var w water.Water
	w.SetMilligrams(water.Iron, 2)
	w.Sulfide = mmol(1, molarH2S)
	w.Ion[water.Ammonium] = mmol(0.5, molarN)
	w.Matter.OrganicCarbon = 3
	d := ChlorineDemand(&w)
	if got, want := float64(d.Total()), 2*0.635+8.323+0.5*10+3; !near(got, want, 1e-3) {
		t.Errorf("chlorine demand %.2f mg/L, want %.2f (E13, E15, breakpoint, organics)", got, want)
	}
	if d.Unmeasured != 0 {
		t.Errorf("all was measured, yet %b is said to be missing", d.Unmeasured)
	}
	w.Matter.Unknown = water.UnknownAmmonium | water.UnknownOrganicCarbon | water.UnknownSulfide
	if got := ChlorineDemand(&w).Unmeasured; got != NoteAmmoniumUnknown|NoteOrganicsUnknown|NoteSulfideUnknown {
		t.Errorf("unmeasured: %b", got)
	}
	if got := PermanganateDemand(&w).Unmeasured; got.Has(NoteAmmoniumUnknown) {
		t.Error("permanganate does not take up ammonia")
	}
}

// Windows: what a stage says and does outside them.
func TestWindows(t *testing.T) {
	base := ledgerWater(t)
	with := func(change func(w *water.Water)) water.Water { w := base; change(&w); return w }
	light := apply(t, &degasserTower, &base).Out
	for _, c := range []struct {
		name     string
		stage    Stage
		w        water.Water
		quantity Quantity
		effect   Effect
	}{
		{"chlorine at a membrane", &membranePumped, with(func(w *water.Water) { w.Matter.FreeChlorine = 0.5 }), FreeChlorine, Damages},
		{"iron at a membrane", &membranePumped, base, AnyIron, Fouls},
		{"hardness at a membrane", &membraneTap, base, Hardness, Fouls},
		{"chlorine at a trap", &organicsTrap, with(func(w *water.Water) { w.Matter.FreeChlorine = 0.5 }), FreeChlorine, Damages},
		{"tannin at an iron filter", &mediaCoated, with(func(w *water.Water) { w.Matter.Tannin = 1 }), Tannin, Refuses},
		{"no air ahead of a catalyst", &mediaCatalyst, base, OxygenPerIron, Reduced},
		{"iron at a softener", &softener10, base, DissolvedIron, Fouls},
		{"floc at a cartridge", &sediment5um, with(func(w *water.Water) { w.Matter.ParticulateIron = 1 }), FlocIron, Fouls},
		{"chloramine at a short bed", &carbonGranular, with(func(w *water.Water) { w.Matter.Chloramine = 2 }), Chloramine, Reduced},
		{"no carbon dioxide at a degasser", &degasserTower, apply(t, &aerationOpen, &light).Out, CarbonDioxide, Refuses},
		{"turbid water at a lamp", &ultraviolet, with(func(w *water.Water) { w.Matter.Turbidity = 4 }), Turbidity, Reduced},
	} {
		o := apply(t, c.stage, &c.w)
		var broken bool
		for i := range o.Outside.All() {
			x := c.stage.Facts().Windows[i]
			broken = broken || x.Quantity == c.quantity && x.Effect == c.effect
		}
		if !broken {
			t.Errorf("%s: no broken window says that it %s by %s", c.name, c.effect, c.quantity)
		}
	}
	tannin := with(func(w *water.Water) { w.Matter.Tannin = 1 })
	for _, s := range []Stage{&mediaCoated, &mediaOre, &mediaCatalyst, &aerationOpen, &chlorineFeed, &permanganateFeed, &softener10, &softenerFerrous} {
		o := apply(t, s, &tannin)
		if o.Out.Ion[water.Iron] < tannin.Ion[water.Iron] {
			t.Errorf("%s promises iron that is bound to organics", s.Title())
		}
		if !o.Notes.Has(NoteOrganicIron) {
			t.Errorf("%s does not say that iron may be bound to organics", s.Title())
		}
	}
	unknown := with(func(w *water.Water) { w.Matter.Unknown = water.UnknownOxygen | water.UnknownTannin })
	if o := apply(t, &mediaCatalyst, &unknown); o.Unsure == 0 {
		t.Error("an unmeasured oxygen is taken for known")
	}
}

// Every note fires on some water, and on a clear soft water with nothing
// unmeasured hardly any does.
func TestEveryNoteFires(t *testing.T) {
	balance := func(w water.Water) water.Water {
		t.Helper()
		out, err := w.WithCarbon(w.TotalCarbon())
		if err != nil {
			t.Fatal(err)
		}
		return out
	}
	rough := ledgerWater(t)
	rough.Sulfide, rough.Ion[water.Ammonium] = 0.05, 0.05
	rough.Matter = water.Matter{ParticulateIron: 2, Tannin: 1, OrganicCarbon: 5,
		Unknown: water.UnknownOrganicCarbon | water.UnknownAmmonium | water.UnknownSulfide | water.UnknownIronForm}
	gypsum := ledgerWater(t)
	gypsum.Ion[water.Calcium] += 12
	gypsum.Ion[water.Sulfate] += 12
	gypsum.Silica = 1.8
	gypsum.Ion[water.Ammonium] = 0.05 // measured here, unlike in the rough one
	acid := water.Water{PH: 5, Temperature: 10, CO2: 1}
	acid.Ion[water.Sodium], acid.Ion[water.Chloride] = 0.3, 0.29
	waters := []water.Water{balance(rough), balance(gypsum), balance(acid)}
	duties := []Duty{
		{PeakFlow: 8, YearVolume: 2400, DaysInUse: 78, FeedPressure: 310},
		{PeakFlow: 300, YearVolume: 5e6, DaysInUse: 100, FeedPressure: 100},
	}
	var fired Notes
	for i := range waters {
		for _, s := range Catalogue() {
			fired |= apply(t, s, &waters[i]).Notes
			for _, d := range duties {
				fired |= s.Size(&waters[i], d).Notes
			}
		}
	}
	for n := range (^fired & (1<<numNotes - 1)).All() {
		t.Errorf("note %s never fires", n.ID)
	}

	clear := water.Water{PH: 7.2, Temperature: 15, Silica: 0.05}
	clear.Ion[water.Sodium], clear.Ion[water.Calcium], clear.Ion[water.Chloride] = 0.5, 0.05, 0.2
	clear, err := clear.WithPH(7.2)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range Catalogue() {
		if n := apply(t, s, &clear).Notes; n != 0 && s.Kind() != AcidNeutralizer {
			t.Errorf("%s has notes %b on a clear soft water", s.Title(), n)
		}
	}
}

// Air, chlorine or permanganate ahead of a manganese-dioxide bed: each train
// brings iron below what a mixed bed wants (D06), and those that oxidize
// manganese bring that down too.
func TestOxidationTrains(t *testing.T) {
	base := ledgerWater(t)
	for _, c := range []struct {
		name      string
		train     []Stage
		manganese float64 // most mg/L behind it
	}{
		{"open tank and filter bed", []Stage{&aerationOpen, &sedimentBed}, 0.21},
		{"air and ore", []Stage{&aerationOpen, &mediaOre}, 0.05},
		{"air chamber and catalyst", []Stage{&aerationChamber, &mediaCatalyst}, 0.21},
		{"chlorine, ore, carbon", []Stage{&chlorineFeed, &mediaOre, &carbonGranular}, 0.05},
		{"permanganate and ore", []Stage{&permanganateFeed, &mediaOre}, 0.05},
		{"coated", []Stage{&mediaCoated}, 0.05},
	} {
		w := base
		for _, s := range c.train {
			w = apply(t, s, &w).Out
		}
		if fe := AnyIron.Of(&w); fe > 0.16 {
			t.Errorf("%s leaves %.2f mg/L of iron", c.name, fe)
		}
		if mn := DissolvedManganese.Of(&w); mn > c.manganese {
			t.Errorf("%s leaves %.2f mg/L of manganese", c.name, mn)
		}
		if o, broken := Misplaced(c.train); broken {
			t.Errorf("%s: out of place: %s", c.name, o.Why)
		}
	}
}
