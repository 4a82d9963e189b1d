package labreport

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/unit"
)

// unsettled is an invented reading with doubts to settle.
func unsettled() analysis.Document {
	doubt := func(code string) []analysis.Warning { return []analysis.Warning{{Code: code, Message: "m"}} }
	return analysis.Document{
		Version: analysis.Version,
		Samples: []analysis.Sample{{Label: "Kitchen", Date: "2024-06-05", Results: []analysis.Result{
			{Analyte: "iron", Fraction: analysis.Total, Value: analysis.Number(12), AsWritten: "12", Line: 3, Warnings: doubt("unit_missing")},
			{Analyte: "iron", Fraction: analysis.Dissolved, Value: analysis.Number(0.2), Unit: unit.MgL, AsWritten: "0.2", Line: 4},
			{Analyte: "nitrate", Value: analysis.Number(10), Unit: unit.MgL, AsWritten: "10", Line: 5, Warnings: doubt("basis_unstated")},
			{Analyte: "hardness", Value: analysis.Number(25), AsWritten: "25", Line: 6, Warnings: doubt("unit_missing")},
			{Analyte: "ph", Value: analysis.Number(7), Unit: unit.PH, AsWritten: "7", Line: 7},
		}}},
		Warnings: []analysis.Warning{{Code: "unit_missing", Analyte: "hardness"}, {Code: "charge_imbalance"}, {Code: "utility_report"}},
	}
}

func TestEdits(t *testing.T) {
	for _, c := range []struct {
		name  string
		edits Edits
		want  []string // results that must be there
		gone  string   // result that must not
	}{
		{"set with a unit", Edits{Set: []string{"hardness=25gpg"}}, []string{"hardness 25 gpg"}, "hardness 25 "},
		{"set with a blank", Edits{Set: []string{"hardness = 430 mg/L"}}, []string{"hardness 430 mg/L"}, ""},
		{"set one fraction", Edits{Set: []string{"total iron=1.2mg/L"}}, []string{"iron total 1.2 mg/L", "iron dissolved 0.2 mg/L"}, "iron total 12 "},
		{"set a basis", Edits{Set: []string{"nitrate=10mg/L as N"}}, []string{"nitrate 10 mg/L as N"}, ""},
		{"set a non-detect", Edits{Set: []string{"manganese=<0.05mg/L"}}, []string{"manganese <0.05 mg/L"}, ""},
		{"set a range", Edits{Set: []string{"hardness=120-250mg/L"}}, []string{"hardness 120..250 mg/L"}, ""},
		{"set an open end", Edits{Set: []string{"hardness=>25gpg"}}, []string{"hardness 25.. gpg"}, ""},
		{"set without a unit where none is needed", Edits{Set: []string{"pH=6.8"}}, []string{"ph 6.8 pH"}, "ph 7 pH"},
		{"set a presence", Edits{Set: []string{"e_coli=absent"}}, []string{"e_coli 0 presence"}, ""},
		{"set by another spelling", Edits{Set: []string{"Total hardness=25gpg"}}, []string{"hardness 25 gpg"}, ""},
		{"set in units with an e", Edits{Set: []string{"calcium=3.5epm", "hardness=10eH"}}, []string{"calcium 3.5 meq/L", "hardness 10 eH"}, ""},
		{"drop", Edits{Drop: []string{"dissolved iron"}}, []string{"iron total 12  !unit_missing"}, "iron dissolved 0.2 mg/L"},
		{"drop all of it", Edits{Drop: []string{"iron"}}, nil, "iron total 12  !unit_missing"},
		{"basis", Edits{Basis: []string{"nitrate=NO3"}}, []string{"nitrate 10 mg/L as NO3"}, ""},
		{"several at once", Edits{Drop: []string{"dissolved iron"}, Set: []string{"iron=1.2mg/L"}, Basis: []string{"nitrate=N"}}, []string{"iron total 1.2 mg/L", "nitrate 10 mg/L as N"}, ""},
	} {
		before := briefly(unsettled())
		original := unsettled()
		doc, err := Apply(original, c.edits)
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		got := briefly(doc)
		for _, w := range c.want {
			if !slices.Contains(got, w) {
				t.Errorf("%s: %q, want %q among them", c.name, got, w)
			}
		}
		if c.gone != "" && slices.Contains(got, c.gone) {
			t.Errorf("%s: %q is still there", c.name, c.gone)
		}
		if !slices.Equal(briefly(original), before) {
			t.Errorf("%s changed the analysis that it was given", c.name)
		}
	}
}

// TestEditsLeaveTraces: a note on the result, and no doubt that is settled.
func TestEditsLeaveTraces(t *testing.T) {
	doc, err := Apply(unsettled(), Edits{Set: []string{"hardness=25gpg"}, Basis: []string{"nitrate=N"}})
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range doc.Samples[0].Results {
		switch r.Analyte {
		case "hardness":
			if r.Note != "given by the user; the report says 25" || r.Line != 6 {
				t.Errorf("hardness: note %q, line %d", r.Note, r.Line)
			}
		case "nitrate":
			if r.Note != "as N, says the user" || len(r.Warnings) != 0 {
				t.Errorf("nitrate: note %q, warnings %v", r.Note, r.Warnings)
			}
		}
	}
	if len(doc.Warnings) != 1 || doc.Warnings[0].Code != "utility_report" {
		t.Errorf("warnings of the report: %v", doc.Warnings)
	}
	if back := unsettled(); len(back.Warnings) != 3 {
		t.Errorf("the original lost warnings")
	}
}

func TestEditsRefused(t *testing.T) {
	for edit, want := range map[string]string{
		"--set iron":                  "NAME=VALUE",
		"--set iron=1.2mg/L":          "several fractions",
		"--set unobtainium=1mg/L":     "name of an analyte",
		"--set hardness=25":           "no unit",
		"--set hardness=25uS/cm":      "a unit of total hardness",
		"--set hardness=0,35mg/L":     "a number with a decimal point",
		"--set hardness=lots":         "a number",
		"--set hardness=NaN mg/L":     "a number",
		"--set hardness=250-120 mg/L": "a range",
		"--set manganese=<mg/L":       "a limit",
		"--set nitrate=1mg/L as Ca":   "a unit of nitrate",
		"--drop manganese":            "no result of manganese",
		"--drop nonsense":             "name of an analyte",
		"--basis nitrate":             "NAME=BASIS",
		"--basis nitrate=S":           "N, NO3",
		"--basis nitrate=":            "N, NO3",
		"--basis nitrite=N":           "no result of nitrite",
	} {
		flag, text, _ := strings.Cut(edit, " ")
		var e Edits
		switch flag {
		case "--set":
			e.Set = []string{text}
		case "--drop":
			e.Drop = []string{text}
		case "--basis":
			e.Basis = []string{text}
		}
		_, err := Apply(unsettled(), e)
		if err == nil || !errors.Is(err, ErrEdit) || !strings.Contains(err.Error(), want) || !strings.Contains(err.Error(), "try: ") {
			t.Errorf("%s: %v, want %q and a remedy", edit, err, want)
		}
	}
	_, err := Apply(unsettled(), Edits{Drop: []string{"nonsense"}, Set: []string{"iron"}, Basis: []string{"nitrate=S"}})
	if err == nil || strings.Count(err.Error(), "try: ") != 3 {
		t.Errorf("three faults, told as: %v", err)
	}
}

func TestSampleChosen(t *testing.T) {
	two := unsettled()
	two.Samples = append(two.Samples, analysis.Sample{Label: "Barn", Date: "2024-06-05", Results: []analysis.Result{{Analyte: "iron", Value: analysis.Number(3), Unit: unit.MgL, AsWritten: "3"}}})
	two.Samples = append(two.Samples, analysis.Sample{Label: "Barn", Date: "2024-09-01", Results: []analysis.Result{}})
	two.Warnings = append(two.Warnings, analysis.Warning{Code: "multiple_samples"})
	for name, want := range map[string]string{"Kitchen": "Kitchen", "kitchen ": "Kitchen", "barn 2024-09-01": "Barn", "2024-09-01": "Barn", "2": "Barn", "1": "Kitchen"} {
		doc, err := Apply(two, Edits{Sample: name})
		if err != nil || len(doc.Samples) != 1 || doc.Samples[0].Label != want {
			t.Errorf("%q: %v, %d samples", name, err, len(doc.Samples))
			continue
		}
		if slices.ContainsFunc(doc.Warnings, func(w analysis.Warning) bool { return w.Code == "multiple_samples" }) {
			t.Errorf("%q: still warns of several samples", name)
		}
	}
	for name, want := range map[string]string{"Attic": `"Kitchen", "Barn"`, "Barn": "2 samples", "2024-06-05": "2 samples", "4": "Kitchen", "0": "Kitchen"} {
		if _, err := Apply(two, Edits{Sample: name}); err == nil || !strings.Contains(err.Error(), want) {
			t.Errorf("%q: %v, want %q", name, err, want)
		}
	}
	if _, err := Apply(two, Edits{Drop: []string{"ph"}}); err == nil || !strings.Contains(err.Error(), "--sample") {
		t.Errorf("a correction without a sample: %v", err)
	}
}

// A table of many samples is told no doubts sample by sample; the sample that
// is chosen from it is told its own.
func TestChosenFromManyIsDoubted(t *testing.T) {
	var b strings.Builder
	b.WriteString("Well,Calcium (mg/L),Magnesium (mg/L),Sodium (mg/L),Potassium (mg/L),Bicarbonate (mg/L),Chloride (mg/L),Sulfate (mg/L)\n")
	for i := range fewSamples + 5 {
		fmt.Fprintf(&b, "W-%d,80,20,400,2,150,10,10\n", i+1) // far more cations than anions
	}
	r, err := Read([]byte(b.String()), Options{})
	if err != nil {
		t.Fatal(err)
	}
	doubted := func(ws []analysis.Warning) bool {
		return slices.ContainsFunc(ws, func(w analysis.Warning) bool { return w.Code == "charge_imbalance" })
	}
	chosen, err := Apply(r.Document, Edits{Sample: "W-3"})
	if err != nil || len(chosen.Samples) != 1 {
		t.Fatalf("%d samples, %v", len(chosen.Samples), err)
	}
	if doubted(r.Document.Warnings) || !doubted(chosen.Warnings) {
		t.Errorf("of all: %v; of the chosen one: %v", r.Document.Warnings, chosen.Warnings)
	}
}

// TestReadingsThatNoWaterHas: 570 without a unit is no conductivity in mS/cm,
// in which a saturated brine has 250; in the other two units it may be.
func TestReadingsThatNoWaterHas(t *testing.T) {
	var flags []string
	for _, r := range unitReadings("conductivity", 570) {
		flags = append(flags, r.Flag)
	}
	if want := []string{"--set conductivity=570uS/cm", "--set conductivity=570mS/m"}; !slices.Equal(flags, want) {
		t.Errorf("readings of 570: %q, expected %q", flags, want)
	}
}
