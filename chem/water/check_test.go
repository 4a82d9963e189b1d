package water_test

import (
	"slices"
	"strings"
	"testing"

	"forebed/chem/water"
)

const goodReport = "calcium 62, magnesium 18, sodium 38.81, potassium 4, chloride 32, sulfate 75, alkalinity 190 CaCO3, nitrate 6 NO3, fluoride 0.3, silica 21, ph 7.5 field"

// TestChecks: a report and the codes that its figures must raise, with their
// severity. Waters are those of the solver tables or of the source named in
// the check; each wrong figure was put in by hand.
func TestChecks(t *testing.T) {
	for _, x := range []struct {
		name, report string
		want         []string
	}{
		{"a good analysis (solver water W32)", goodReport, nil},
		{"the same with hardness, conductivity and solids that fit", goodReport + ", hardness 229 CaCO3, conductivity 610, tds 379", nil},
		{"sodium left out of the balance by a slip", strings.Replace(goodReport, "sodium 38.81", "sodium 22", 1), []string{"charge_balance warn"}},
		{"alkalinity with a slipped point (USGS site VPDCPAS1-23)", "calcium 89, magnesium 13, sodium 11, potassium 2, alkalinity 24 CaCO3, chloride 22, sulfate 15, nitrate 2 N, ph 7.2 field, conductivity 570",
			[]string{"charge_balance ask", "conductivity_ions ask"}},
		{"hardness that is not that of calcium and magnesium", goodReport + ", hardness 320 CaCO3", []string{"hardness_sum ask"}},
		{"hardness a little off", goodReport + ", hardness 262 CaCO3", []string{"hardness_sum warn"}},
		{"bicarbonate and alkalinity on one basis", goodReport + ", bicarbonate 190", []string{"alkalinity_parts warn"}},
		{"phenolphthalein alkalinity above the total", "hardness 100 CaCO3, alkalinity 80 CaCO3, phenolphthalein_alkalinity 90", []string{"phenolphthalein ask"}},
		{"phenolphthalein alkalinity at pH 7", "hardness 100 CaCO3, alkalinity 80 CaCO3, phenolphthalein_alkalinity 10, ph 7.1 field", []string{"phenolphthalein warn"}},
		{"alkalinity at pH 4", "hardness 20 CaCO3, alkalinity 40 CaCO3, ph 4.1 field", []string{"alkalinity_ph ask"}},
		{"no alkalinity at pH 8.6", "hardness 20 CaCO3, alkalinity 0 CaCO3, ph 8.6 field", []string{"alkalinity_ph ask"}},
		{"pH 9.8 beside an alkalinity that hydroxide and silica pass", "hardness 60 CaCO3, alkalinity 3 CaCO3, ph 9.8 field", []string{"alkalinity_ph ask"}},
		{"mine water has no carbon dioxide to check", "hardness 480 CaCO3, alkalinity 0 CaCO3, ph 3.6 field, conductivity 1300, sodium 10", nil},
		{"mine water balances with its acid", "calcium 120, magnesium 45, sodium 15, potassium 3, iron 40 dissolved, manganese 6 dissolved, sulfate 635, chloride 10, alkalinity 0 CaCO3, ph 3.5 field", nil},
		{"carbon dioxide of another pH", "hardness 160 CaCO3, alkalinity 150 CaCO3, ph 8.2 field, carbon_dioxide 160", []string{"carbon_dioxide_ph warn"}},
		{"anions alone pass the cations, alkalinity not reported", "calcium 40, magnesium 10, sodium 20, chloride 100, sulfate 120, ph 7.3 field", []string{"charge_balance ask"}},
		{"pH 5.1 beside hard alkaline water", strings.Replace(goodReport, "ph 7.5", "ph 5.1", 1), []string{"carbon_dioxide ask"}},
		{"pH 6.1 beside the same", strings.Replace(goodReport, "ph 7.5", "ph 6.05", 1), []string{"carbon_dioxide warn"}},
		{"negative manganese off an instrument", "hardness 100 CaCO3, alkalinity 100 CaCO3, manganese -0.007 total", []string{"negative_value warn"}},
		{"non-detects beside hardness are no blank", "hardness 100 CaCO3, alkalinity 90 CaCO3, chloride <2, sulfate <2, sodium <2", nil},
		{"pH from the laboratory", strings.Replace(goodReport, "7.5 field", "7.5 lab", 1), []string{"laboratory_ph note"}},
		{"pH from who knows where", strings.Replace(goodReport, "7.5 field", "7.5", 1), []string{"laboratory_ph note"}},
		{"nitrate without a basis", strings.Replace(goodReport, "6 NO3", "6", 1), []string{"nitrate_basis warn"}},
		{"conductivity of another water", goodReport + ", conductivity 780", []string{"conductivity_ions ask"}},
		{"conductivity not corrected from 13 degrees", goodReport + ", conductivity 474, temperature 13", []string{"conductivity_ions ask"}},
		{"conductivity below hardness", "hardness 300 CaCO3, alkalinity 250 CaCO3, conductivity 350", []string{"conductivity_floor ask"}},
		{"conductivity a little below hardness", "hardness 300 CaCO3, alkalinity 250 CaCO3, conductivity 480", []string{"conductivity_floor warn"}},
		{"conductivity of a salty well", "hardness 200 CaCO3, alkalinity 200 CaCO3, conductivity 1500", []string{"conductivity_excess note"}},
		{"the same with its chloride", "hardness 200 CaCO3, alkalinity 200 CaCO3, conductivity 1500, chloride 350", nil},
		{"conductivity below chloride", "hardness 100 CaCO3, alkalinity 100 CaCO3, chloride 3000, conductivity 700", []string{"conductivity_floor ask"}},
		{"gypsum water shows little for its ions", "hardness 1670 CaCO3, alkalinity 180 CaCO3, conductivity 2450", nil},
		{"conductivity in mS/cm", "hardness 300 CaCO3, alkalinity 250 CaCO3, conductivity 0.65", []string{"unit_suspicion ask", "conductivity_floor ask"}},
		{"solids that do not fit the ions", goodReport + ", tds 700", []string{"tds_sum ask"}},
		{"solids that are conductivity again", "hardness 300 CaCO3, alkalinity 250 CaCO3, conductivity 640, tds 416", []string{"tds_is_conductivity note"}},
		{"solids that do not fit the conductivity", "hardness 300 CaCO3, alkalinity 250 CaCO3, conductivity 640, tds 640", []string{"tds_conductivity warn"}},
		{"solids above conductivity", "hardness 300 CaCO3, alkalinity 250 CaCO3, conductivity 640, tds 900", []string{"tds_conductivity ask"}},
		{"dissolved iron above the total", "hardness 200 CaCO3, alkalinity 200 CaCO3, iron 1 total, iron 2.5 dissolved", []string{"dissolved_total warn"}},
		{"behind a softener (Indiana, typical)", "calcium 1, magnesium 0.05, sodium 180, alkalinity 320 CaCO3, chloride 20, sulfate 40", []string{"softened_sample ask"}},
		{"behind a softener, by strip", "hardness 0 CaCO3, alkalinity 240 CaCO3, ph 7.4", []string{"softened_sample ask"}},
		{"soft water that is no softener's", "hardness 14 CaCO3, alkalinity 10 CaCO3, ph 6.1", nil},
		{"field blank", "calcium <0.5, magnesium <0.1, sodium <0.5, alkalinity 0.5 CaCO3, chloride <0.5, sulfate <0.5, conductivity 1138", []string{"field_blank ask", "conductivity_ions ask"}},
		{"a meter that was off", "conductivity 0", []string{"field_blank ask"}},
		{"non-detects with high limits are no blank", "conductivity 400, sodium <50, chloride <100, sulfate <100, alkalinity <60 CaCO3", nil},
		{"sodium past anything", "hardness 100 CaCO3, alkalinity 100 CaCO3, sodium 20000", []string{"impossible_value ask"}},
		{"pH 12.8", "hardness 100 CaCO3, alkalinity 100 CaCO3, ph 12.8 field", []string{"impossible_value ask"}},
		{"55 degrees", "hardness 100 CaCO3, alkalinity 100 CaCO3, temperature 55", []string{"impossible_value warn"}},
		{"212 degrees", "hardness 100 CaCO3, alkalinity 100 CaCO3, temperature 212", []string{"impossible_value warn"}},
		{"lead in mg/L", "hardness 100 CaCO3, alkalinity 100 CaCO3, lead 4000", []string{"metal_unit ask"}},
	} {
		c, err := water.Complete(sample(x.report), water.Options{Draws: 20})
		if err != nil {
			t.Errorf("%s: %v", x.name, err)
			continue
		}
		var got []string
		for _, k := range c.Checks {
			got = append(got, k.Code+" "+string(k.Severity))
			if k.Sentence == "" || k.Source == "" || k.Effect == "" || k.Unit == "" {
				t.Errorf("%s: %s lacks a part: %+v", x.name, k.Code, k)
			}
			if !strings.ContainsAny(k.Sentence, "0123456789") {
				t.Errorf("%s: %s names no figure: %s", x.name, k.Code, k.Sentence)
			}
		}
		if !slices.Equal(got, x.want) {
			t.Errorf("%s: found %q, expected %q", x.name, got, x.want)
			for _, k := range c.Checks {
				t.Log(k.Sentence)
			}
		}
	}
}

// TestChecksWiden: a disputed figure makes the band wider, never narrower.
func TestChecksWiden(t *testing.T) {
	width := func(report string) float64 {
		c, err := water.Complete(sample(report), water.Options{Draws: 4000})
		if err != nil {
			t.Fatal(err)
		}
		return (c.CationLoad.P90 - c.CationLoad.P10) / c.CationLoad.P50
	}
	for _, x := range []struct{ name, good, doubtful string }{
		{"charge balance", goodReport, strings.Replace(goodReport, "sodium 38.81", "sodium 22", 1)},
		{"hardness", goodReport, goodReport + ", hardness 320 CaCO3"},
		{"conductivity beside hardness", "hardness 300 CaCO3, alkalinity 250 CaCO3, conductivity 640", "hardness 300 CaCO3, alkalinity 250 CaCO3, conductivity 480"},
	} {
		if a, b := width(x.good), width(x.doubtful); b <= a {
			t.Errorf("%s: the good report has a band of %.3f, the doubtful one %.3f", x.name, a, b)
		}
	}
}

// TestSlips: the sentence names the figure that, read otherwise, would close
// the balance.
func TestSlips(t *testing.T) {
	for _, x := range []struct{ report, want string }{
		// USGS site VPDCPAS1-23: bicarbonate 29.3 where 293 would balance.
		{"calcium 89, magnesium 13, sodium 11, potassium 2, bicarbonate 29.3, chloride 22, sulfate 15, nitrate 2 N, ph 7.2 field", "bicarbonate of 293 instead of 29.3"},
		{"calcium 90, magnesium 20, sodium 20, alkalinity 100 CaCO3, chloride 40, sulfate 40, nitrate 40 NO3", "nitrate of 177.1 instead of 40 it would close: it may be as N"},
		{"calcium 62, magnesium 18, sodium 38.81, potassium 4, chloride 10, sulfate 20, alkalinity 370 CaCO3", "it may be as HCO3 instead of as CaCO3"},
	} {
		c, err := water.Complete(sample(x.report), water.Options{Draws: 20})
		if err != nil {
			t.Fatal(err)
		}
		if len(c.Checks) == 0 || c.Checks[0].Code != "charge_balance" || !strings.Contains(c.Checks[0].Sentence, x.want) {
			t.Errorf("%s: found %+v", x.report, c.Checks)
		}
	}
}
