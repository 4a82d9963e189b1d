package water_test

import (
	"encoding/csv"
	"math"
	"os"
	"path/filepath"
	"strconv"
	"testing"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// row is one row of a table by column name.
type row map[string]string

// num returns a number of the row; an empty cell is 0.
func (r row) num(t testing.TB, column string) float64 {
	t.Helper()
	s, ok := r[column]
	if !ok {
		t.Fatalf("no column %q", column)
	}
	if s == "" {
		return 0
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatalf("%s: %v", column, err)
	}
	return v
}

// table reads a CSV file below testdata.
func table(t testing.TB, name string) []row {
	t.Helper()
	f, err := os.Open(filepath.Join("..", "..", "testdata", filepath.FromSlash(name)))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	all, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	var rows []row
	for _, rec := range all[1:] {
		r := row{}
		for i, h := range all[0] {
			r[h] = rec[i]
		}
		rows = append(rows, r)
	}
	return rows
}

// feed builds a water from the columns of the solver's tables and its pH.
func feed(t testing.TB, r row) water.Water {
	t.Helper()
	w := water.Water{Temperature: unit.Celsius(r.num(t, "temp_c"))}
	for column, ion := range map[string]water.Ion{"ca_mgL": water.Calcium, "mg_mgL": water.Magnesium, "na_mgL": water.Sodium,
		"k_mgL": water.Potassium, "fe2_mgL": water.Iron, "mn2_mgL": water.Manganese, "nh4_mgL": water.Ammonium,
		"cl_mgL": water.Chloride, "so4_mgL": water.Sulfate, "no3_mgL": water.Nitrate, "f_mgL": water.Fluoride} {
		if _, ok := r[column]; ok {
			w.SetMilligrams(ion, unit.MgPerL(r.num(t, column)))
		}
	}
	if _, ok := r["sio2_mgL"]; ok {
		w.Silica = unit.MmolPerL(r.num(t, "sio2_mgL") / 60.084)
	}
	w, err := w.WithPH(r.num(t, "ph"))
	if err != nil {
		t.Fatal(r["id"], err)
	}
	return w
}

func off(got, want float64) float64 { return 100 * (got/want - 1) }

func TestDump(t *testing.T) {
	var worst, worstH float64
	for _, r := range table(t, "solver/carbonate.csv") {
		alk := unit.MeqPerL(r.num(t, "alk_mgL_caco3") / 50.043)
		c, _ := water.Speciate(r.num(t, "ph"), alk, 0, unit.Celsius(r.num(t, "temp_c")), r.num(t, "ionic_strength_molkgw"))
		e := off(float64(c.CO2)*44.009, r.num(t, "co2_mgL"))
		eh := off(float64(c.HCO3)*61.017, r.num(t, "hco3_incl_pairs_mgL"))
		if math.Abs(e) > 2 || math.Abs(eh) > 1 {
			t.Log(r["id"], r["ph"], r["alk_mgL_caco3"], r["temp_c"], r["ionic_strength_molkgw"], e, eh)
		}
		worst, worstH = max(worst, math.Abs(e)), max(worstH, math.Abs(eh))
	}
	t.Log("carbonate worst", worst, worstH)
	for _, r := range table(t, "solver/waters.csv") {
		w := feed(t, r)
		s := w.Saturation()
		alk := r.num(t, "alk_mgL_caco3")
		c, _ := water.Speciate(r.num(t, "ph"), unit.MeqPerL(alk/50.043), w.Silica, w.Temperature, w.IonicStrength())
		t.Logf("%s %-24s co2 %+.2f (%+.2f) hco3 %+.2f (%+.2f) I %+.2f SI %+.3f gyp %+.3f sil %+.3f EC %+.2f alk %+.2f bal %.1e res %+.2f", r["id"], r["type"],
			off(float64(w.CarbonDioxide()), r.num(t, "co2_mgL")), off(float64(c.CO2)*44.009, r.num(t, "co2_mgL")),
			off(float64(w.Milligrams(water.Bicarbonate)), r.num(t, "hco3_incl_pairs_mgL")), off(float64(c.HCO3)*61.017, r.num(t, "hco3_incl_pairs_mgL")),
			off(w.IonicStrength(), r.num(t, "ionic_strength_molkgw")), s.Calcite-r.num(t, "si_calcite"), s.Gypsum-r.num(t, "si_gypsum"), s.AmorphousSilica-r.num(t, "si_amorphous_silica"),
			off(float64(water.Conductivity(&w)), r.num(t, "sc25_uScm")), off(float64(w.Alkalinity()), alk), float64(w.Imbalance()), off(float64(w.Residue180()), r.num(t, "tds_residue_mgL")))
	}
	for _, r := range table(t, "solver/neutralize.csv") {
		w := feed(t, r)
		out, x, err := w.Calcite(r.num(t, "target_si_calcite"))
		if err != nil {
			t.Error(err)
		}
		t.Logf("%s pH %+.3f Ca %+.2f x %+.2f", r["id"], out.PH-r.num(t, "final_ph"), off(float64(out.Milligrams(water.Calcium)), r.num(t, "final_ca_mgL")), off(float64(x), r.num(t, "calcite_dissolved_mmolL")))
	}
}
