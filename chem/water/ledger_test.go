package water_test

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// This file holds the worked examples W-01 to W-23 and the cross-check waters
// W-X1 to W-X7 of the standards ledger, whose ids and sources stand beside each.
// The tolerance is the rounding of the source, unless a comment says why not.

// mix is a composition in mg/L (alk as CaCO3, no3n as N).
type mix map[string]float64

var names = map[string]water.Ion{"ca": water.Calcium, "mg": water.Magnesium, "na": water.Sodium, "k": water.Potassium, "nh4": water.Ammonium,
	"cl": water.Chloride, "so4": water.Sulfate, "no3": water.Nitrate, "f": water.Fluoride, "hco3": water.Bicarbonate, "co3": water.Carbonate}

// build makes a water of the figures as they stand, balanced or not: the
// carbonate system follows from pH and the alkalinity that was stated.
func build(t testing.TB, celsius, ph float64, m mix) water.Water {
	t.Helper()
	w := water.Water{Temperature: unit.Celsius(celsius), PH: ph}
	for name, v := range m {
		switch ion, ok := names[name]; {
		case ok:
			w.SetMilligrams(ion, unit.MgPerL(v))
		case name == "no3n":
			w.SetMilligrams(water.Nitrate, unit.MgPerL(v*4.4266))
		case name == "sio2":
			w.Silica = unit.MmolPerL(v / 60.083)
		case name != "alk":
			t.Fatalf("no column %q", name)
		}
	}
	if alk, ok := m["alk"]; ok {
		meq := unit.MeqPerL(alk / 50.043)
		w.Ion[water.Bicarbonate] = unit.MmolPerL(meq) // for the ionic strength
		c, ok := water.Speciate(ph, meq, w.Silica, w.Temperature, w.IonicStrength())
		if !ok {
			t.Fatalf("no carbonate at pH %g and alkalinity %g", ph, alk)
		}
		w.CO2, w.Ion[water.Bicarbonate], w.Ion[water.Carbonate] = c.CO2, c.HCO3, c.CO3
	}
	return w
}

// chargeError is 100 (C-A)/(C+A) over the ions, alkalinity as stated.
func chargeError(w water.Water, alk float64) float64 {
	var c, a float64
	for i := range water.Ion(water.NumIons) {
		switch {
		case i.IsCation():
			c += float64(w.Equivalents(i))
		case i != water.Bicarbonate && i != water.Carbonate:
			a += float64(w.Equivalents(i))
		}
	}
	a += alk / 50.043
	return 100 * (c - a) / (c + a)
}

func logPCO2(w water.Water) float64 {
	return math.Log10(float64(w.CO2) / 1000 / water.HenryCO2(w.Temperature))
}

func TestHardnessExamples(t *testing.T) {
	w := build(t, 25, 7, mix{"ca": 35, "mg": 22})
	near(t, "W-01 (Water Quality Mathematical Expressions sheet, p. 3)", float64(w.Hardness()), 178, 0.5)
	near(t, "W-01 in grains a US gallon", float64(w.Hardness())/17.1181, 10.4, 0.05)
	w = build(t, 25, 7, mix{"ca": 50, "mg": 10})
	near(t, "W-02 (documentation of a public water-chemistry package)", float64(w.Hardness()), 166.0447, 0.05)
	f, ok := unit.GrainsUS.CaCO3()
	if !ok {
		t.Fatal("a grain a gallon is a unit of hardness")
	}
	near(t, "W-22 (conversion article): 180 mg/L in grains", 180/f, 10.515, 0.005)
}

// TestSumOfSolids: USGS WRI 02-4045, table 4, samples 1 and 2. The report
// prints 624 and 4020; its own figures with bicarbonate x 0.4917 make 619 and
// 4010 (ledger note), because it sums further constituents not printed.
func TestSumOfSolids(t *testing.T) {
	w := build(t, 25, 7.5, mix{"alk": 580, "ca": 25, "mg": 14, "na": 190, "k": 13, "cl": 7, "so4": 1.2, "f": 1.1, "sio2": 20})
	near(t, "W-03 hardness", float64(w.Hardness()), 120, 0.5)
	within(t, "W-03 HCO3", 580*1.2193, 707, 0.1)
	within(t, "W-03 sum", float64(w.Residue180()), 619, 0.5)
	near(t, "W-03 charge balance", chargeError(w, 580), -3.8, 0.1)
	w = build(t, 25, 7.5, mix{"alk": 267, "ca": 550, "mg": 280, "na": 270, "k": 14, "cl": 18, "so4": 2700, "f": 0.3, "sio2": 17})
	within(t, "W-04 hardness", float64(w.Hardness()), 2500, 1.5) // printed to two figures
	within(t, "W-04 HCO3", 267*1.2193, 326, 0.2)
	within(t, "W-04 sum", float64(w.Residue180()), 4010, 0.3)
}

// TestLangelier: short formulas and pool factors, W-05 to W-10. Their tables
// are rounded to 0.1 and know no ion pairs or activities; the short formula is
// within 0.2 of a full calculation (ledger D-LSI-SHORT).
func TestLangelier(t *testing.T) {
	for _, x := range []struct {
		id                                 string
		celsius, ph, calcium, alk, tds, si float64
		tol                                float64
	}{
		{"W-05 (widely copied example)", 25, 7.5, 150, 34, 320, -0.7, 0.15},
		// At 82 °C the short formula's temperature term (B) is a straight line
		// through data below 50 °C; the fits used here end at 90 °C and give less.
		{"W-06 (the same, hot)", 82, 7.5, 150, 34, 320, 0.3, 0.35},
		// The pool factors take 1000 mg/L of dissolved solids for granted.
		{"W-07 (pool-operator training page)", 24.4, 7.0, 200, 50, 1000, -0.9, 0.3},
		{"W-08 (pool-operator training page)", 28.9, 7.6, 300, 75, 1000, 0.2, 0.3},
		{"W-09 (pool-operator training page)", 34.4, 8.0, 400, 150, 1000, 1.1, 0.3},
		{"W-10 (pool test-kit manual)", 24, 7.6, 400, 125, 1000, 0.4, 0.3},
	} {
		// Sodium chloride fills up to the dissolved solids.
		salt := x.tds - x.calcium*0.4004 - x.alk*1.2193
		w := build(t, x.celsius, x.ph, mix{"ca": x.calcium * 0.40043, "alk": x.alk, "na": salt * 0.3934, "cl": salt * 0.6066})
		near(t, x.id, w.Saturation().Calcite, x.si, x.tol)
	}
}

func TestAlkalinityExamples(t *testing.T) {
	for _, x := range []struct {
		id                     string
		p, total, oh, co3, bic float64
	}{
		{"W-11 (operator-training text)", 50, 80, 20, 60, 0},
		{"W-12 (operator-training text)", 0, 80, 0, 0, 80},
	} {
		f, err := water.AlkalinityForms(unit.MgPerL(x.p), unit.MgPerL(x.total))
		if err != nil {
			t.Fatal(err)
		}
		near(t, x.id+" OH", float64(f.Hydroxide), x.oh, 1e-9)
		near(t, x.id+" CO3", float64(f.Carbonate), x.co3, 1e-9)
		near(t, x.id+" HCO3", float64(f.Bicarbonate), x.bic, 1e-9)
	}
	// The forum answer (W-13, W-14) adds 2.5 mg/L for the acid that is left at
	// the end point of pH 4.3; total alkalinity as used here has no such term.
	hco3 := 122 / 61.016 * 50.043
	near(t, "W-13 (brewing-chemistry forum): 122 mg/L HCO3 at pH 7", hco3, 100, 0.5)
	near(t, "W-14: 112.2 HCO3 and 3.6 CO3", (112.2/61.016+3.6/30.004)*50.043, 100.5-2.5, 0.5)
	// W-14's carbonate is 0.033 of its bicarbonate, which by PB82 belongs to pH
	// 8.8, not to the 9 that is stated: only the sum is held to.
}

// TestCalciteUnderCarbonDioxide: W-15, USGS geochemical program, example 3
// part A (stored output): pure water, calcite, CO2 at 0.01 atm, 25 °C. It used
// the 1982 calcite constant (-8.480); the one used here (-8.448, ledger
// D-KC-NEW) dissolves 10^(0.032/3) = 2.5 % more calcium.
func TestCalciteUnderCarbonDioxide(t *testing.T) {
	low, high := 0.0, 10.0
	var w water.Water
	for range 60 {
		mid := (low + high) / 2
		x := water.Water{Temperature: 25, PH: 7}
		x.Ion[water.Calcium] = unit.MmolPerL(mid)
		var err error
		if w, err = x.WithPressure(-2); err != nil {
			t.Fatal(err)
		}
		if w.Saturation().Calcite < 0 {
			low = mid
		} else {
			high = mid
		}
	}
	near(t, "W-15 pH", w.PH, 7.295, 0.02)
	within(t, "W-15 Ca", float64(w.Ion[water.Calcium]), 1.623*1.025, 1)
	within(t, "W-15 alkalinity", float64(w.Alkalinity())/50.043, 3.245*1.025, 1)
	within(t, "W-15 EC", float64(water.Conductivity(&w)), 307*1.025, 3)
	within(t, "W-15 I", w.IonicStrength(), 4.826e-3*1.025, 3)
}

// TestSeawater: W-16, USGS geochemical program, example 1 (stored output). Far
// outside the range of this package (ionic strength 0.67; Davies holds below
// 0.5 and conductivity below 0.1): it must come out finite and balanced, near
// enough to show that nothing runs away.
func TestSeawater(t *testing.T) {
	w := build(t, 25, 8.22, mix{"ca": 412.3, "mg": 1291.8, "na": 10768, "k": 399.1, "cl": 19353, "alk": 141.682 / 61.0168 * 50.043, "so4": 2712, "sio2": 4.28 * 2.1393})
	near(t, "W-16 charge error", chargeError(w, 141.682/61.0168*50.043), 0.07, 0.05)
	near(t, "W-16 SI calcite", w.Saturation().Calcite, 0.78, 0.5)
	within(t, "W-16 EC", float64(water.Conductivity(&w)), 52941, 20)
}

// TestSierraSprings: W-17 and W-18, USGS geochemical program, example 16
// (stored output; Garrels and Mackenzie's springs).
func TestSierraSprings(t *testing.T) {
	for _, x := range []struct {
		id                                    string
		ca, mg, na, k, alk, so4, cl, sio2, ph float64 // mmol/L
		cbe, ec, si, logP                     float64
	}{
		{"W-17", 0.078, 0.029, 0.134, 0.028, 0.328, 0.01, 0.014, 0.273, 6.2, 1.90, 38, -3.30, -1.87},
		{"W-18", 0.26, 0.071, 0.259, 0.04, 0.895, 0.025, 0.03, 0.41, 6.8, -0.73, 97, -1.77, -2.05},
	} {
		w := build(t, 25, x.ph, mix{"ca": x.ca * 40.078, "mg": x.mg * 24.305, "na": x.na * 22.99, "k": x.k * 39.098, "alk": x.alk * 50.043,
			"so4": x.so4 * 96.056, "cl": x.cl * 35.45, "sio2": x.sio2 * 60.083})
		near(t, x.id+" charge error", chargeError(w, x.alk*50.043), x.cbe, 0.03)
		within(t, x.id+" EC", float64(water.Conductivity(&w)), x.ec, 4)
		near(t, x.id+" SI calcite", w.Saturation().Calcite, x.si, 0.05)
		near(t, x.id+" log pCO2", logPCO2(w), x.logP, 0.01)
	}
}

// TestConductivityStandards: W-19, Standard Methods 2510 table 2510:I, KCl at
// 25 °C (0.1 M is beyond well waters, and 2 % off), and W-21, the scales of
// meters (two makers' manuals, same table).
func TestConductivityStandards(t *testing.T) {
	for _, x := range []struct{ molar, ec, tol float64 }{
		{0.0001, 14.9, 1}, {0.0005, 73.9, 1}, {0.001, 146.9, 1}, {0.005, 717.5, 1}, {0.01, 1412, 1}, {0.02, 2765, 1}, {0.1, 12890, 2.5},
	} {
		w := water.Water{Temperature: 25, PH: 7}
		w.Ion[water.Potassium], w.Ion[water.Chloride] = unit.MmolPerL(1000*x.molar), unit.MmolPerL(1000*x.molar)
		within(t, fmt.Sprintf("W-19 KCl %g M", x.molar), float64(water.Conductivity(&w)), x.ec, x.tol)
	}
	for _, x := range []struct {
		id  string
		m   mix
		tol float64
	}{
		{"W-21 NaCl 215.5 mg/L", mix{"na": 215.5 * 0.39339, "cl": 215.5 * 0.60661}, 2},
		{"W-21 KCl 225.6 mg/L", mix{"k": 225.6 * 0.52445, "cl": 225.6 * 0.47555}, 2},
		// 40 % Na2SO4, 40 % NaHCO3, 20 % NaCl by mass
		{"W-21 40/40/20 300 mg/L", mix{"na": 120*0.32371 + 120*0.27367 + 60*0.39339, "so4": 120 * 0.67629, "hco3": 120 * 0.72633, "cl": 60 * 0.60661}, 3},
	} {
		w := build(t, 25, 7, x.m)
		within(t, x.id, float64(water.Conductivity(&w)), 447, x.tol)
	}
}

// TestSampleOfStandardMethods: W-23. The legacy formula of Standard Methods
// 2510 makes 483 uS/cm of this water (about 478 in the book, from memory); a
// geochemical program 522. The formula is known to run low (ledger
// W-STUYF-STAT), and the program high where a third of the anions is sulfate:
// the figure here, 496, lies between the two.
func TestSampleOfStandardMethods(t *testing.T) {
	w := build(t, 25, 7.5, mix{"ca": 55, "mg": 12, "na": 28, "k": 3.2, "hco3": 170, "so4": 77, "cl": 20})
	within(t, "W-23 I", w.IonicStrength(), 0.00766, 1)
	within(t, "W-23 EC", float64(water.Conductivity(&w)), 522, 5.5)
}

// TestUnitSlip: W-20, well 102 of a county archive (1988): with the alkalinity
// of 145 mg/L as CaCO3 divided by 100 instead of 50.04 its reviewers found 45 %
// of imbalance; the correct one is +6.8 %, with the two non-detects at their
// limits. Here a non-detect counts half its limit, which makes +7.0.
func TestUnitSlip(t *testing.T) {
	s := sample("calcium 34, sodium 33, potassium <5, magnesium 15, alkalinity 145 CaCO3, chloride <5, sulfate 23, nitrate 5.7 N")
	c, err := water.Complete(s, water.Options{Draws: 50})
	if err != nil {
		t.Fatal(err)
	}
	for _, k := range c.Checks {
		if k.Code == "charge_balance" {
			near(t, "W-20 charge balance", 100*(k.Found-k.Expected)/(k.Found+k.Expected), 6.8, 0.3)
			if k.Severity != water.Warn || !strings.Contains(k.Sentence, "%") {
				t.Errorf("W-20: %+v", k)
			}
			return
		}
	}
	t.Error("W-20: the imbalance was not found")
}

// TestCrossCheckWaters: W-X1 to W-X7, computed with the USGS geochemical
// program. CO2 within 5 % and conductivity within 5 % at 25 °C are the ledger's
// own tolerances (8 % for W-X3, half of whose anions are sulfate: the program
// reads high there, see TestSolverConductivity); indices are held to the 2025
// constants within 0.05.
func TestCrossCheckWaters(t *testing.T) {
	for _, x := range []struct {
		id          string
		celsius, ph float64
		m           mix
		ec, cbe, si float64
		logP, co2   float64
		ionic, hco3 float64 // mol/kg; mmol/kg of the free ion
	}{
		{"W-X1", 12, 7.4, mix{"ca": 80, "mg": 18, "na": 14, "k": 2, "alk": 240, "so4": 35, "cl": 22, "no3n": 2, "f": 0.2, "sio2": 14}, 606, -1.36, 0.06, -2.02, 21.0, 9.062e-3, 4.743},
		{"W-X2", 10, 5.9, mix{"ca": 4, "mg": 1.5, "na": 5, "k": 1, "alk": 10, "so4": 6, "cl": 7, "no3n": 1, "f": 0.1, "sio2": 10}, 69, -2.82, -4.01, -1.88, 31.4, 8.035e-4, 0.201},
		{"W-X3", 15, 7.2, mix{"ca": 160, "mg": 48, "na": 35, "k": 4, "alk": 300, "so4": 330, "cl": 30, "no3n": 0.1, "f": 0.3, "sio2": 18}, 1294, -0.72, 0.20, -1.73, 37.6, 2.023e-2, 5.898},
		{"W-X4", 14, 8.4, mix{"ca": 3, "mg": 1, "na": 190, "k": 2, "alk": 380, "so4": 25, "cl": 28, "no3n": 0.05, "f": 1.2, "sio2": 12}, 823, -2.43, -0.16, -2.82, 3.1, 9.159e-3, 7.378},
		{"W-X5", 15, 7.3, mix{"ca": 120, "mg": 45, "na": 260, "k": 9, "alk": 250, "so4": 120, "cl": 480, "no3n": 0.5, "f": 0.4, "sio2": 16}, 2242, 0.34, 0.09, -1.91, 24.4, 2.625e-2, 4.899},
		{"W-X6", 25, 7.5, mix{"ca": 55, "mg": 12, "na": 28, "k": 3.2, "alk": 139.4, "so4": 77, "cl": 20}, 522, 0.83, -0.01, -2.28, 7.9, 7.202e-3, 2.750},
		{"W-X7", 11, 6.6, mix{"ca": 45, "mg": 12, "na": 11, "k": 1.5, "alk": 150, "so4": 18, "cl": 12, "no3n": 0.05, "f": 0.2, "sio2": 22}, 370, 0.34, -1.16, -1.42, 87.0, 5.448e-3, 2.984},
	} {
		w := build(t, x.celsius, x.ph, x.m)
		within(t, x.id+" CO2", float64(w.CarbonDioxide()), x.co2, 3)
		near(t, x.id+" log pCO2", logPCO2(w), x.logP, 0.02)
		near(t, x.id+" SI calcite", w.Saturation().Calcite, x.si, 0.05)
		near(t, x.id+" charge error", chargeError(w, x.m["alk"]), x.cbe, 0.1)
		within(t, x.id+" HCO3", float64(w.Ion[water.Bicarbonate]), x.hco3, 2) // pairs included here
		tol := 5.0
		if x.id == "W-X3" {
			tol = 8
		}
		within(t, x.id+" EC", float64(water.Conductivity(&w)), x.ec, tol)
		within(t, x.id+" I", w.IonicStrength(), x.ionic, 18) // without pairs: up to 17 % above in W-X3
	}
}

// TestMeasuredGroundwaters: 22 groundwaters of Stuyfzand (1987, KIWA, table
// 3.1), conductivity measured at 20 °C; EC25 = 1.116·EC20 (a geochemical
// program gives 1.11 to 1.125 for these waters, ledger C-EC20). The ledger
// asks for 10 % above 200 uS/cm. Below, every formula reads 2 to 19 % high
// (ledger W-STUYF-STAT): a microsiemens of error in dilute acid water whose pH
// was read later is enough.
func TestMeasuredGroundwaters(t *testing.T) {
	explained := map[string]string{
		"W-ST16": "a calcium nitrate water (372 mg/L); every simple formula reads 7 to 12 % high here",
		"W-ST12": "a sodium sulfate water; every formula, the geochemical program included, reads 6 to 19 % high: the analysis has 3 % more cations than anions and the conductivity is rounded",
	}
	for _, r := range table(t, "waters/measured_groundwaters.csv", 22) {
		w := water.Water{Temperature: 25, PH: r.num(t, "ph")}
		for name, ion := range names {
			if name != "f" {
				w.SetMilligrams(ion, unit.MgPerL(r.num(t, name+"_mgL")))
			}
		}
		measured := 1.116 * r.num(t, "ec20_uScm")
		tol := 10.0
		switch {
		case measured < 110:
			tol = 19
		case explained[r["id"]] != "":
			tol = 16
		}
		within(t, r["id"], float64(water.Conductivity(&w)), measured, tol)
	}
}

// sample writes a sample from "calcium 34, potassium <5, nitrate 5.7 N,
// hardness 120-250 CaCO3, iron 0.3 total".
func sample(s string) analysis.Sample {
	var out analysis.Sample
	for part := range strings.SplitSeq(s, ",") {
		f := strings.Fields(part)
		r := analysis.Result{AsWritten: f[1]}
		r.Analyte = analyteID(f[0])
		r.Unit = defaultUnit(r.Analyte)
		var low, high float64
		switch {
		case strings.HasPrefix(f[1], "<"):
			r.Nondetect, r.Limit = true, number(f[1][1:])
		case strings.HasPrefix(f[1], ">"):
			r.Low = number(f[1][1:])
		case strings.Contains(f[1][1:], "-"):
			fmt.Sscanf(f[1], "%g-%g", &low, &high)
			r.Low, r.High = &low, &high
		default:
			r.Value = number(f[1])
		}
		for _, word := range f[2:] {
			switch word {
			case "total":
				r.Fraction = analysis.Total
			case "dissolved":
				r.Fraction = analysis.Dissolved
			case "field", "lab", "meter":
				r.Note = word
			default:
				r.Basis = basis(word)
			}
		}
		out.Results = append(out.Results, r)
	}
	return out
}
