package process

import (
	"math"
	"testing"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// near reports whether got lies within a share of want.
func near(got, want, share float64) bool { return math.Abs(got-want) <= share*math.Abs(want) }

// ledgerWater is the example water of treatment ledger section 6, with its
// bicarbonate (5.009 meq/L) and carbon dioxide (0.565 mmol/L) as the ledger
// has them: there the carbonate system is ideal (pK1 6.352), here the total of
// carbon is taken over and the pH follows.
func ledgerWater(t testing.TB) water.Water {
	t.Helper()
	w := water.Water{PH: 7.3, Temperature: 25}
	for _, c := range []struct {
		ion water.Ion
		mg  unit.MgPerL
	}{
		{water.Calcium, 80}, {water.Magnesium, 25}, {water.Sodium, 20}, {water.Potassium, 3}, {water.Iron, 1.5}, {water.Manganese, 0.2},
		{water.Chloride, 25}, {water.Sulfate, 56}, {water.Nitrate, 10}, {water.Fluoride, 0.3},
	} {
		w.SetMilligrams(c.ion, c.mg)
	}
	w.Silica = mmol(15, formula("SiO2"))
	out, err := w.WithCarbon(5.009 + 0.565)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

// apply is Apply where it must not fail.
func apply(t testing.TB, s Stage, w *water.Water) Outcome {
	t.Helper()
	o, err := s.Apply(w)
	if err != nil {
		t.Fatal(err)
	}
	return o
}

// Published tables of oxidant demand, ledger E-STOICH-TABLE1 and 2 (a
// treatment company's page, seen in a stored copy), and the ledger's own
// stoichiometry (computed there by hand). The table prints 0.91 for
// permanganate on iron, a common variant; 0.943 is the stoichiometry with
// three iron to one MnO2, so that row is held to 4 %.
func TestStoichiometry(t *testing.T) {
	for _, c := range []struct {
		oxidant   Oxidant
		reductant Reductant
		want, tol float64
		source    string
	}{
		{OxygenGas, FerrousIron, 0.14, 0.005, "E-STOICH-TABLE1"},
		{ChlorineGas, FerrousIron, 0.62, 0.02, "E-STOICH-TABLE1"},
		{CalciumHypochlorite, FerrousIron, 0.64, 0.005, "E-STOICH-TABLE1"},
		{SodiumHypochlorite, FerrousIron, 0.67, 0.005, "E-STOICH-TABLE1"},
		{ChlorineDioxide, FerrousIron, 1.21, 0.005, "E-STOICH-TABLE1"},
		{Permanganate, FerrousIron, 0.91, 0.04, "E-STOICH-TABLE1, a printed variant"},
		{OxygenGas, DivalentManganese, 0.29, 0.005, "E-STOICH-TABLE2"},
		{ChlorineGas, DivalentManganese, 1.30, 0.01, "E-STOICH-TABLE2"},
		{CalciumHypochlorite, DivalentManganese, 1.30, 0.005, "E-STOICH-TABLE2"},
		{SodiumHypochlorite, DivalentManganese, 1.36, 0.006, "E-STOICH-TABLE2"},
		{ChlorineDioxide, DivalentManganese, 2.45, 0.006, "E-STOICH-TABLE2"},
		{Permanganate, DivalentManganese, 1.91, 0.01, "E-STOICH-TABLE2"},
		{OxygenGas, FerrousIron, 0.143, 0.0005, "E-FE-O2, E11"},
		{ChlorineGas, FerrousIron, 0.635, 0.0005, "E-FE-CL2, E13"},
		{Permanganate, FerrousIron, 0.943, 0.0005, "E-FE-KMNO4, E14"},
		{Peroxide, FerrousIron, 0.305, 0.0005, "E-FE-H2O2"},
		{Ozone, FerrousIron, 0.430, 0.0005, "E-FE-O3"},
		{ChlorineDioxide, FerrousIron, 1.208, 0.0005, "E-FE-CLO2"},
		{OxygenGas, DivalentManganese, 0.291, 0.0005, "E-MN-O2, E12"},
		{ChlorineGas, DivalentManganese, 1.291, 0.0005, "E-MN-CL2, E13"},
		{Permanganate, DivalentManganese, 1.918, 0.0005, "E-MN-KMNO4, E14"},
		{Ozone, DivalentManganese, 0.874, 0.0005, "E-MN-O3"},
		{ChlorineDioxide, DivalentManganese, 2.455, 0.0006, "E-MN-CLO2"},
		{Peroxide, DivalentManganese, 0.619, 0.0005, "E-MN-H2O2"},
		{ChlorineGas, SulfideToSulfur, 2.081, 0.0005, "E-H2S-CL2S, E15"},
		{ChlorineGas, SulfideToSulfate, 8.323, 0.001, "E-H2S-CL2SO4, E15; handbook page on sulfide prints 8 (E-H2S-OX)"},
		{Permanganate, SulfideToSulfur, 3.092, 0.0005, "E-H2S-KMNO4S"},
		{Peroxide, SulfideToSulfur, 0.998, 0.0005, "E-H2S-H2O2S"},
		{Peroxide, SulfideToSulfate, 3.993, 0.0006, "E-H2S-H2O2SO4"},
		{OxygenGas, SulfideToSulfur, 0.470, 0.0005, "E-H2S-O2S"},
		{OxygenGas, SulfideToSulfate, 1.88, 0.003, "treatment ledger section 5.3"},
		{Ozone, SulfideToSulfur, 1.409, 0.0005, "E-H2S-O3S"},
		{ChlorineGas, AmmoniumToNitrogen, 7.6, 0.01, "breakpoint, 3 Cl2 for 2 NH3: textbook, from memory"},
	} {
		if got := Stoichiometry(c.oxidant, c.reductant); math.Abs(got-c.want) > c.tol {
			t.Errorf("oxidant %d on reductant %d: %.4f mg/mg, want %.4f (%s)", c.oxidant, c.reductant, got, c.want, c.source)
		}
	}
}

// Worked examples of handbooks and manuals, ledger section C; the last column
// of a row names the document behind it.
func TestWorkedExamples(t *testing.T) {
	gal := func(v unit.Litres) float64 { return v.Gallons() }
	ft3 := unit.CubicFeet
	base := ledgerWater(t)
	var fe3 water.Water // C09: Fe 3.0, Mn 0.3, H2S 0.2 mg/L
	fe3.SetMilligrams(water.Iron, 3)
	fe3.SetMilligrams(water.Manganese, 0.3)
	fe3.Sulfide = mmol(0.2, molarH2S)
	ironOnly := water.Water{}
	ironOnly.SetMilligrams(water.Iron, 1)
	manganeseOnly := water.Water{}
	manganeseOnly.SetMilligrams(water.Manganese, 1)
	sulfideOnly := water.Water{Sulfide: mmol(1, molarH2S)}
	for _, c := range []struct {
		name, source string
		got, want    float64
		tol          float64 // share; the rounding of the source
	}{
		{"gallons per ft3, 24,000 gr at 20 gpg", "C04: Michaud, trade article Mar 2017", gal(RunLength(ft3(1), 24, 20)), 1200, 1e-9},
		{"gallons, 10,000 gr/ft3 x 20 ft3 at 25 gpg", "C06: service deionization trade note", gal(RunLength(ft3(20), 10, 25)), 8000, 1e-9},
		{"gallons, 3.6 ft3 at 15 gpg", "C07: service deionization trade note", gal(RunLength(ft3(3.6), 10, 15)), 2400, 1e-9},
		{"gallons, 50,000 gr at 45 gpg", "C11: certification study question prints 1,100", gal(RunLength(ft3(1), 50, 45)), 1100, 0.011},
		{"days, 20,000 gr at 6,000 gr/d", "C13: utility/trade softener note", gal(RunLength(ft3(1), 20, 15)) / 400, 3.3, 0.011},
		{"grains per lb of salt, 6 lb", "E28: utility/trade softener note, 3,333", saltSettings[0].Capacity * 1000 / saltSettings[0].Salt, 3333, 1e-3},
		{"grains per lb of salt, 15 lb", "treatment ledger section 5.4, 2,000", saltSettings[3].Capacity * 1000 / saltSettings[3].Salt, 2000, 1e-9},
		{"salt per kilograin at the public limit", "E29: Ten States Standards sec. 4.4, 0.3 lb/kgr", saltSettings[0].Salt / saltSettings[0].Capacity, 0.3, 1e-9},
		{"bypass, 245 to 100 mg/L", "C15: university exercise; answer computed in the ledger", BypassShare(245, 100), 0.408, 1e-3},
		{"sodium per hardness", "E34: computed", SodiumPerHardness(), 0.4594, 1e-4},
		{"sodium per gpg", "E34: appliance manual, 7.5 mg a quart", SodiumPerHardness() * mgPerGrain, 7.9, 0.006},
		{"permanganate demand, mg/L", "C09: manganese-coated media sheet (name withheld)", float64(MediaDemand(&fe3)), 4.6, 1e-9},
		{"gallons per ft3 at that demand", "C09: prints 2,175", gal(CoatedRun(ft3(1), 4.6)), 2175, 1e-3},
		{"gallons per ft3, 1 mg/L of iron", "E16: capacity table", gal(CoatedRun(ft3(1), MediaDemand(&ironOnly))), 10000, 1e-9},
		{"gallons per ft3, 1 mg/L of manganese", "E16: capacity table", gal(CoatedRun(ft3(1), MediaDemand(&manganeseOnly))), 5000, 1e-9},
		{"gallons per ft3, 1 mg/L of sulfide", "E16: capacity table", gal(CoatedRun(ft3(1), MediaDemand(&sulfideOnly))), 2000, 1e-9},
		{"EBCT, 1 ft3 at 2 gpm", "treatment ledger section 5.2: 7.48 x ft3 / gpm", EmptyBedContactTime(ft3(1), unit.GallonsPerMinute(2)), 3.74, 1e-3},
		{"EBCT at 3 gpm/ft3", "F-GAC-RATE: 2.5 min", EmptyBedContactTime(ft3(1), unit.GallonsPerMinute(3)), 2.5, 0.01},
		{"EBCT at 2 gpm/ft3", "F-GAC-RATE: 3.7 min", EmptyBedContactTime(ft3(1), unit.GallonsPerMinute(2)), 3.7, 0.015},
		{"alkalinity per iron", "E-FE-ALK-O2", AlkalinityPerIron, 1.792, 1e-3},
		{"alkalinity per manganese", "E-MN-ALK", AlkalinityPerManganese, 1.822, 1e-3},
		{"membrane flow at 10 degC", "treatment ledger section 5.6: 0.64", TemperatureFactor(10), 0.64, 0.005},
		{"area of a 10 in tank, ft2", "treatment ledger section 5.3: 0.545", Tank{Diameter: 10}.Area() / squareMetresPerFt2, 0.545, 1e-3},
		{"backwash of a 10 in tank at 10 gpm/ft2", "treatment ledger section 5.3: 5.5 gpm", flowPerArea(10, Tank{Diameter: 10}.Area()).GallonsPerMinute(), 5.5, 0.01},
		{"backwash of a 10 in tank at 28 gpm/ft2", "treatment ledger section 5.3: 15 gpm", flowPerArea(28, Tank{Diameter: 10}.Area()).GallonsPerMinute(), 15, 0.02},
		{"iron half-life at pH 6.5, min", "E-FE-KIN: about 90, Stumm and Lee 1961, from memory", halfLife(6.5), 90, 0.05},
		{"iron half-life at pH 7.0, min", "E-FE-KIN: 9", halfLife(7), 9, 0.05},
		{"iron half-life at pH 7.5, min", "E-FE-KIN: 1, rounded", halfLife(7.5), 1, 0.15},
		{"oxygen at 0 degC", "Standard Methods 4500-O table, from memory: 14.62", float64(OxygenSaturation(0)), 14.62, 1e-3},
		{"oxygen at 10 degC", "the same: 11.29", float64(OxygenSaturation(10)), 11.29, 1e-3},
		{"oxygen at 20 degC", "the same: 9.09", float64(OxygenSaturation(20)), 9.09, 1e-3},
		{"oxygen at 25 degC", "the same: 8.26", float64(OxygenSaturation(25)), 8.26, 1e-3},
		{"CO2 at air equilibrium, 10 degC", "E71: 0.8, from memory", float64(airEquilibrium(10)), 0.8, 1e-9},
		{"concentration factor at 50 %, high rejection", "E69: 1/(1-Y)", concentrationFactor(t, 0.5), 2, 0.001},
		{"concentration factor at 75 %, high rejection", "E69", concentrationFactor(t, 0.75), 4, 0.003},
		{"resin of an anion bed, m3", "C08: course item, 37 kg/m3 x 0.9, 100 mg/L, 35 m3/h x 10 h; prints 1.1", 350 / (float64(RunLength(unit.Litres(1000), 37*0.9/2.2885, GrainsPerGallon(100))) / 1000), 1.05, 0.002},
		{"EBCT of a municipal softener, min", "C18: EPA unit cost document prints 2.5 at 9.02 gpm/ft2, of a 3 ft bed", EmptyBedContactTime(ft3(3), unit.GallonsPerMinute(9.02)), 2.5, 0.01},
		{"reject per product of a tap-pressure unit", "E63: manual, 3-4 x product", apply(t, &membraneTap, &base).Use.Feed - 1, 3.5, 0.15},
		{"reject per product at a third", "treatment ledger section 7: 2", 1/recoveryTap.High - 1, 2, 0.02},
		{"well pump, kWh per 1,000 gal", "G11: 50 m lift and 40 psi, 2 kWh; computed there", 1000 * litresPerGallon * pumpEnergy(unit.Kilopascals(50*9.81)+unit.PSI(40)), 2, 0.01},
		{"RO pump and repump, kWh per 1,000 gal", "G10: 1-4, common practice", 1000 * litresPerGallon * apply(t, &membranePumped, &base).Use.Energy, 4, 0.2},
		{"pressure at the end of a membrane, psi", "E62 E65: 40 psi and 1,500 mg/L, a fifth recovered, so that the concentrate holds 1,875", EndPressure(unit.PSI(40), 1500, 0.2).PSI(), 21.25, 1e-6},
		{"osmotic pressure of 500 mg/L, psi", "E62: 1 psi per 100 mg/L", (unit.PSI(60) - NetPressure(unit.PSI(60), 500, 0)).PSI(), 5, 1e-6},
	} {
		if !near(c.got, c.want, c.tol) {
			t.Errorf("%s: %.4f, want %.4f (%s)", c.name, c.got, c.want, c.source)
		}
	}
}

// halfLife returns the minutes in which air oxidizes half of the iron at 20
// degC and full saturation.
func halfLife(ph float64) float64 {
	return math.Ln2 / -math.Log(1-IronOxidized(ph, 20, 1, 1))
}

func concentrationFactor(t *testing.T, recovery float64) float64 {
	w := ledgerWater(t)
	r := UniformRejection(0.9999, 0.9999)
	_, c, err := Permeate(&w, r, recovery)
	if err != nil {
		t.Fatal(err)
	}
	return float64(c.Ion[water.Chloride] / w.Ion[water.Chloride])
}

// Compensated hardness: ledger C17 (sizing note in an engineering course
// site) with its own factor of 2 for iron: 18 + 1.5 x 2 = 21 gpg, 4 persons x
// 60 gal x 21 = 5,040 gr a day, 15,120 in three days. C05 (consumer guide):
// 4 x 70 gal x 20 gpg x 3 days = 16,800 gr.
func TestCompensatedHardness(t *testing.T) {
	var w water.Water
	w.Ion[water.Calcium] = mmol(unit.MgPerL(18*mgPerGrain), molarCaCO3)
	if got := CompensatedHardness(&w); !near(got, 18, 1e-4) {
		t.Errorf("18 gpg without iron: %.3f", got)
	}
	w.SetMilligrams(water.Iron, 1.5)
	if got, want := CompensatedHardness(&w), 18+1.5*compensateIron.Value; !near(got, want, 1e-4) {
		t.Errorf("18 gpg and 1.5 mg/L iron: %.3f, want %.3f by the middle of the printed factors", got, want)
	}
	if low, high := 18+1.5*compensateIron.Low, 18+1.5*compensateIron.High; low != 21 || high != 25.5 {
		t.Errorf("range %g to %g gpg, C17 has 21 at its factor of 2", low, high)
	}
	for _, c := range []struct {
		gal, gpg, days, want float64
		source               string
	}{{4 * 60, 21, 3, 15120, "C17"}, {4 * 70, 20, 3, 16800, "C05"}} {
		resin := unit.CubicFeet(c.want / 1000 / 20) // ft3 at 20 kgr/ft3 that the day's grains ask for
		if got := RunLength(resin, 20, c.gpg).Gallons(); !near(got, c.gal*c.days, 1e-9) {
			t.Errorf("%s: %.0f grains last %.0f gal, want %.0f", c.source, c.want, got, c.gal*c.days)
		}
	}
}
