package labreport

import (
	"errors"
	"math"
	"strings"
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// TestPadTables guards the data: the count and the sum of the steps of each
// analyte catch a slip of the hand. Steps: ledger rows I-STRIP-*, as named in
// the file.
func TestPadTables(t *testing.T) {
	sums := map[analyte.ID]float64{}
	for _, p := range Pads() {
		for _, s := range p.Steps {
			sums[p.Analyte] += s
		}
	}
	for id, want := range map[analyte.ID]float64{"iron": 190 + 9.8, "hardness": 870 + 42 + 1.7 + 750, "ph": 36.4, "alkalinity": 660, "nitrate": 935 + 87.5, "nitrite": 16.5, "free_chlorine": 19.5} {
		if math.Abs(sums[id]-want) > 1e-9 {
			t.Errorf("%s: steps sum to %v, want %v", id, sums[id], want)
		}
	}
}

// TestPadIntervals: worked by hand from ledger I-STRIP-INT.
func TestPadIntervals(t *testing.T) {
	apply := func(names string, r analysis.Result) string {
		pads, err := PadsNamed(Pads(), names)
		if err != nil {
			t.Fatal(err)
		}
		doc := analysis.Document{Samples: []analysis.Sample{{Results: []analysis.Result{r}}}}
		got := ApplyPads(doc, pads).Samples[0].Results[0]
		if got.AsWritten != r.AsWritten {
			t.Errorf("what is written changed to %q", got.AsWritten)
		}
		if doc.Samples[0].Results[0].Value != r.Value {
			t.Error("the analysis given was changed")
		}
		return brief(got)
	}
	value := func(id analyte.ID, v float64, u unit.Unit, b analyte.Basis) analysis.Result {
		return analysis.Result{Analyte: id, Value: analysis.Number(v), Unit: u, Basis: b, AsWritten: "x"}
	}
	for _, c := range []struct {
		tables string
		r      analysis.Result
		want   string
	}{
		{"general", value("iron", 0, unit.MgL, ""), "iron 0..2.5 mg/L !range_only"},
		{"general", value("iron", 5, unit.MgL, ""), "iron 2.5..7.07 mg/L !range_only"},
		{"general", value("iron", 100, unit.MgL, ""), "iron 70.7.. mg/L !range_only"},
		{"general,low-iron", value("iron", 0, unit.MgL, ""), "iron 0..0.15 mg/L !range_only"},
		{"general", value("ph", 6.2, unit.PH, ""), "ph ..6.5 pH !range_only"},
		{"general", value("ph", 7.2, unit.PH, ""), "ph 7..7.5 pH !range_only"},
		{"general", value("hardness", 50, unit.MgL, "CaCO3"), "hardness 35.4..77.5 mg/L as CaCO3 !range_only"},
		{"hardness", value("hardness", 0, unit.GrainsUS, ""), "hardness 0..0.5 gpg !range_only"},
		{"softened", value("hardness", 17, unit.MgL, ""), "hardness 12.1.. mg/L !range_only"},
		{"general", value("nitrate", 10, unit.MgL, "NO3"), "nitrate 5..15.8 mg/L as NO3 !range_only"},
		{"general", value("nitrate", 10, unit.MgL, "N"), "nitrate 7.07..14.1 mg/L as N !range_only"},
		{"general", value("nitrate", 10, unit.MgL, ""), "nitrate 10 mg/L"}, // on which basis? the doubt stays
		{"general", value("iron", 3, unit.MgL, ""), "iron 0..5 mg/L !range_only"},
		{"general", value("ph", 7.5, unit.PH, ""), "ph 7.2..7.8 pH !range_only"},
		{"general", value("ph", 9.5, unit.PH, ""), "ph 9.5 pH !pad_step_unknown"},
		{"general", value("iron", 250, unit.MgL, ""), "iron 250 mg/L !pad_step_unknown"},
		{"general", value("iron", 0, "", ""), "iron 0 "}, // without a unit nothing is applied
		{"general", value("chloride", 0, unit.MgL, ""), "chloride 0 mg/L"},
		{"general", analysis.Result{Analyte: "iron", Nondetect: true, Limit: analysis.Number(5), Unit: unit.MgL}, "iron <5 mg/L"},
		{"general", analysis.Result{Analyte: "iron", Low: analysis.Number(5), High: analysis.Number(10), Unit: unit.MgL}, "iron 5..10 mg/L"},
	} {
		if got := apply(c.tables, c.r); got != c.want {
			t.Errorf("%s, %s: %q, want %q", c.tables, brief(c.r), got, c.want)
		}
	}
}

func TestPadsRefused(t *testing.T) {
	if _, err := PadsNamed(Pads(), "general,nonsense"); !errors.Is(err, ErrNoPads) || !strings.Contains(err.Error(), "general, low-iron, hardness") {
		t.Errorf("an unknown table: %v", err)
	}
	const head = "table,analyte,unit,basis,steps,source,status\n"
	for text, want := range map[string]string{
		"":      "columns",
		"a,b\n": "columns",
		head + "x,unobtainium,mg/L,,0 1,s,seen\n": "id of an analyte",
		head + "x,iron,uS/cm,,0 1,s,seen\n":       "a unit of iron",
		head + "x,iron,mg/L,N,0 1,s,seen\n":       "a basis of iron",
		head + "x,iron,mg/L,,0 5 5,s,seen\n":      "numbers that grow",
		head + "x,iron,mg/L,,0,s,seen\n":          "two steps",
		head + "x,iron,mg/L,,0 1,,seen\n":         "a source",
		head + "x,iron,mg/L,,0 NaN,s,seen\n":      "numbers that grow",
		head + "x,iron\n":                         "wrong number of fields",
	} {
		if _, err := ReadPads("p.csv", text); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", text, err, want)
		}
	}
}
