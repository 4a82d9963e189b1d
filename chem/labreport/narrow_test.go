package labreport

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"forebed/chem/analysis"
)

// brief writes a result in one line: what a test compares.
func brief(r analysis.Result) string {
	var b strings.Builder
	b.WriteString(string(r.Analyte))
	if r.Fraction != "" {
		b.WriteString(" " + string(r.Fraction))
	}
	switch {
	case r.Nondetect:
		b.WriteString(" <" + number(r.Limit))
	case r.Value != nil:
		b.WriteString(" " + number(r.Value))
	case r.Low != nil || r.High != nil:
		b.WriteString(" " + number(r.Low) + ".." + number(r.High))
	default:
		b.WriteString(" words")
	}
	fmt.Fprintf(&b, " %s", r.Unit)
	if r.Basis != "" {
		b.WriteString(" as " + string(r.Basis))
	}
	for _, w := range r.Warnings {
		b.WriteString(" !" + w.Code)
	}
	return b.String()
}

func briefly(doc analysis.Document) []string {
	var out []string
	for _, s := range doc.Samples {
		for _, r := range s.Results {
			out = append(out, brief(r))
		}
	}
	return out
}

const legacyHeading = "MonitoringLocationIdentifier,ActivityStartDate,ActivityIdentifier,ActivityTypeCode,ActivityMediaName,ResultDetectionConditionText,CharacteristicName,ResultSampleFractionText,ResultMeasureValue,ResultMeasure/MeasureUnitCode,MeasureQualifierCode,ResultStatusIdentifier,MethodSpecificationName,DetectionQuantitationLimitTypeName,DetectionQuantitationLimitMeasure/MeasureValue,DetectionQuantitationLimitMeasure/MeasureUnitCode\n"

// exchange makes a row of the legacy download for one invented well.
func exchange(condition, name, fraction, value, unit, flag, status, as, limitType, limit, limitUnit string) string {
	return "WILLOW-1,2024-06-05,A1,Sample-Routine,Water," + strings.Join([]string{condition, `"` + name + `"`, fraction, value, unit, flag, status, as, limitType, limit, limitUnit}, ",") + "\n"
}

func TestExchangeRows(t *testing.T) {
	for _, c := range []struct{ name, row, want string }{
		{"a value", exchange("", "Iron", "Dissolved", "1080", "ug/L", "", "Final", "", "", "", ""), "iron dissolved 1080 ug/L"},
		{"fraction of an ion is not kept", exchange("", "Chloride", "Dissolved", "12.0", "mg/L", "", "Final", "", "", "", ""), "chloride 12 mg/L"},
		{"speciation", exchange("", "Nitrate", "Dissolved", "2.4", "mg/L", "", "Final", "as NO3", "", "", ""), "nitrate 2.4 mg/L as NO3"},
		{"speciation of the substance itself", exchange("", "Sulfate", "", "342", "mg/L", "", "Final", "as SO4", "", "", ""), "sulfate 342 mg/L"},
		{"limit columns", exchange("Not Detected", "Nitrate", "", "", "", "", "Final", "as N", "Lower Reporting Limit", "0.04", "mg/L"), "nitrate <0.04 mg/L as N"},
		{"limit in another unit", exchange("Not Detected", "Arsenic", "Total", "", "mg/L", "", "Final", "", "Method Detection Level", "1.0", "ug/L"), "arsenic total <1 ug/L"},
		{"a drinking-water maximum is no detection limit", exchange("Not Detected", "Arsenic", "Total", "", "", "", "Final", "", "Drinking Water Maximum", "10", "ug/L"), "arsenic total <  !nondetect_no_limit"},
		{"an upper limit is none either", exchange("Not Detected", "Lead", "Total", "", "ug/L", "", "Final", "", "Upper Quantitation Limit", "500", "ug/L"), "lead total < ug/L !nondetect_no_limit"},
		{"flag U", exchange("", "Lead", "Total", "2.0", "ug/L", "U", "Final", "", "", "", ""), "lead total <2 ug/L"},
		{"flag J", exchange("", "Lead", "Total", "2.0", "ug/L", "J", "Final", "", "", "", ""), "lead total 2 ug/L !estimated_value"},
		{"flags UJ", exchange("", "Lead", "Total", "2.0", "ug/L", "UJ", "Final", "", "", "", ""), "lead total <2 ug/L !estimated_value"},
		{"flag B", exchange("", "Zinc", "Total", "9", "ug/L", "B", "Final", "", "", "", ""), "zinc total 9 ug/L !blank_contamination"},
		{"below quantification, with a value", exchange("Present Below Quantification Limit", "Zinc", "Total", "9", "ug/L", "", "Final", "", "", "", ""), "zinc total 9 ug/L !estimated_value"},
		{"less than, in the value", exchange("", "Escherichia coli", "", "<1", "MPN/100mL", "", "Final", "", "", "", ""), "e_coli <1 MPN/100mL"},
		{"more than, in the value", exchange("", "Total Coliform", "", ">2419.6", "MPN/100mL", "", "Final", "", "", "", ""), "total_coliform 2419.6.. MPN/100mL !over_range"},
		{"present", exchange("", "Total Coliform", "", "Present", "", "", "Final", "", "", "", ""), "total_coliform 1 presence"},
		{"pH has no unit", exchange("", "pH", "", "7.4", "None", "", "Final", "", "", "", ""), "ph 7.4 pH"},
		{"reference temperature in the unit", exchange("", "Specific conductance", "", "1440", "uS/cm @25C", "", "Final", "", "", "", ""), "conductivity 1440 uS/cm"},
		{"detected, not quantified", exchange("Detected Not Quantified", "Iron", "Total", "", "", "", "Final", "", "", "", ""), "iron total words  !qualitative_only"},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := Read([]byte(legacyHeading+c.row), Options{})
			if err != nil {
				t.Fatal(err)
			}
			if r.Format != "wqx" {
				t.Errorf("format %q", r.Format)
			}
			if got := strings.Join(briefly(r.Document), "; "); got != c.want {
				t.Errorf("got %q, want %q", got, c.want)
			}
		})
	}
}

// TestExchangeExplained: rows that are not used, each with its reason. A good
// row stands beside each, so that the table is a report.
func TestExchangeExplained(t *testing.T) {
	good := exchange("", "Chloride", "", "12.0", "mg/L", "", "Final", "", "", "", "")
	for _, c := range []struct{ row, why string }{
		{exchange("", "Temperature, air", "", "21", "deg C", "", "Final", "", "", "", ""), "no analyte"},
		{exchange("", "Acidity, (H+)", "", "0.00002", "mg/L", "", "Final", "", "", "", ""), "no analyte"},
		{exchange("", "Sodium plus potassium", "", "80", "mg/L", "", "Final", "", "", "", ""), "no analyte"},
		{exchange("", "Total dissolved solids", "", "0.79", "tons/ac ft", "", "Final", "", "", "", ""), `the unit "tons/ac ft"`},
		{exchange("", "Iron", "Suspended", "0.3", "mg/L", "", "Final", "", "", "", ""), "particles only"},
		{exchange("", "Iron", "Total", "", "mg/L", "", "Final", "", "", "", ""), "no value"},
		{exchange("", "Iron", "Total", "88", "mg/L", "", "Rejected", "", "", "", ""), "rejected"},
		{exchange("", "Iron", "Total", "88", "mg/L", "R", "Final", "", "", "", ""), "rejected"},
		{strings.Replace(exchange("", "Iron", "Total", "0.3", "mg/L", "", "Final", "", "", "", ""), "Sample-Routine", "Quality Control Sample-Field Blank", 1), "quality-control"},
		{strings.Replace(exchange("", "Iron", "Total", "0.3", "mg/L", "", "Final", "", "", "", ""), ",Water,", ",Sediment,", 1), "not water"},
	} {
		r, err := Read([]byte(legacyHeading+good+c.row), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got := briefly(r.Document); len(got) != 1 {
			t.Errorf("%s: read as %q", c.row, got)
		}
		if f := r.Lines[2]; f.What == HasResult || !strings.Contains(f.Why, c.why) {
			t.Errorf("%s: %d %q, want %q", c.row, f.What, f.Why, c.why)
		}
		if rejected := slices.ContainsFunc(r.Document.Warnings, func(w analysis.Warning) bool { return w.Code == "rejected_value" && w.Line == 3 }); rejected != (c.why == "rejected") {
			t.Errorf("%s: warnings %v", c.row, r.Document.Warnings)
		}
	}
}

// TestExchangeHeadings: the three downloads, and a slash that arrived as a dot.
func TestExchangeHeadings(t *testing.T) {
	for name, text := range map[string]string{
		"dots":   strings.ReplaceAll(legacyHeading, "/", ".") + exchange("", "Calcium", "Dissolved", "61.0", "mg/L", "", "Final", "", "", "", ""),
		"3.x":    "Location_Identifier,Activity_StartDate,Activity_ActivityIdentifier,Result_ResultDetectionCondition,Result_Characteristic,Result_SampleFraction,Result_Measure,Result_MeasureUnit,USGSpcode\nW1,2024-06-05,a,,Calcium,Filtered field and/or lab,61.0,mg/L,00915\n",
		"export": "Monitoring Location ID,Activity ID,Activity Start Date,Characteristic,Fraction,Value,Unit,Detection Condition,Status\nW1,a,2024-06-05,Calcium,Dissolved,61.0,mg/l,,Final\n",
		"tabs":   "Monitoring Location ID\tActivity ID\tActivity Start Date\tCharacteristic\tFraction\tValue\tUnit\tDetection Condition\tStatus\nW1\ta\t2024-06-05\tCalcium\tDissolved\t61.0\tmg/l\t\tFinal\n",
	} {
		r, err := Read([]byte(text), Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got := strings.Join(briefly(r.Document), "; "); r.Format != "wqx" || got != "calcium dissolved 61 mg/L" || r.Document.Samples[0].Date != "2024-06-05" {
			t.Errorf("%s: %s %q", name, r.Format, got)
		}
	}
}

// TestVisitsJoined: field measurements and the bottle of one visit are one
// sample; two bottles of one day are two.
func TestVisitsJoined(t *testing.T) {
	head := "Monitoring Location ID,Activity ID,Activity Start Date,Activity Type,Characteristic,Value,Unit,Detection Condition\n"
	r, err := Read([]byte(head+
		"W1,a1,2024-06-05,Sample-Routine,Calcium,61,mg/l,\n"+
		"W1,a1-FM,2024-06-05,Field Msr/Obs,pH,7.1,None,\n"+
		"W2,b1,2024-06-05,Sample-Routine,Calcium,62,mg/l,\n"+
		"W2,b1-FM,2024-06-05,Field Msr/Obs,pH,7.2,None,\n"+
		"W2,b2,2024-06-05,Sample-Routine,Calcium,63,mg/l,\n"+
		"W1,a2,2024-09-01,Sample-Routine,Calcium,64,mg/l,\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, s := range r.Document.Samples {
		var rs []string
		for _, x := range s.Results {
			rs = append(rs, brief(x))
		}
		got = append(got, s.Label+": "+strings.Join(rs, ", "))
	}
	want := []string{
		"W1 2024-06-05: calcium 61 mg/L, ph 7.1 pH",
		"W2 2024-06-05 b1: calcium 62 mg/L, ph 7.2 pH",
		"W2 2024-06-05 b2: calcium 63 mg/L",
		"W1 2024-09-01: calcium 64 mg/L",
	}
	if !slices.Equal(got, want) {
		t.Errorf("samples\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
	if w := r.Document.Warnings; len(w) != 1 || w[0].Code != "multiple_samples" {
		t.Errorf("warnings %v", w)
	}
}

// TestStateFormat: a plain table with a sample column, non-detects in words
// and the limit in a column.
func TestStateFormat(t *testing.T) {
	r, err := Read([]byte("SiteID,SampleID,SampleDate,Method,Analyte,Result,DetectionLimit,Unit\n"+
		"S1,K1,2011-05-02,200.8,Arsenic,BDL,2,UG/L\nS1,K1,2011-05-02,200.7,Silicon,7.2,0.1,MG/L\nS1,K1,2011-05-02,310.2,\"Alkalinity, Total\",280,10,mg/L as CaCO3\n"+
		"S1,K1,2011-05-02,353.2,\"Nitrogen, Nitrate-Nitrite\",BDL,0.1,mg/L\nS1,K1,2011-05-02,200.7,\"Silica, Total\",15,,mg/L\nS1,K1,2011-05-02,200.7,Boron,,5,ug/L\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	want := []string{"arsenic <2 ug/L", "silica 7.2 mg/L as Si", "alkalinity 280 mg/L as CaCO3", "nitrate_nitrite <0.1 mg/L", "silica 15 mg/L"}
	for i, g := range briefly(r.Document) {
		if i >= len(want) || !strings.HasPrefix(g, want[i]) {
			t.Errorf("result %d: %q, want %q", i, g, want)
		}
	}
	if f := r.Lines[6]; f.What != Ignored || f.Why != "no value is reported" {
		t.Errorf("empty result: %v", f)
	}
}

// TestQuotedLines: a cell that runs over two lines belongs to one row, and both
// lines have a fate.
func TestQuotedLines(t *testing.T) {
	r, err := Read([]byte("Sample,Parameter,Value,Units,Comment\nA,Iron,0.3,mg/L,\"client says: \"\"rusty\"\"\nafter rain\"\nA,Chloride,12,mg/L,\n"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if got := strings.Join(briefly(r.Document), "; "); got != "iron 0.3 mg/L; chloride 12 mg/L" {
		t.Errorf("got %q", got)
	}
	var lines []int
	for _, f := range r.Lines {
		lines = append(lines, f.Line)
	}
	if !slices.Equal(lines, []int{1, 2, 3, 4}) {
		t.Errorf("fates of lines %v", lines)
	}
}

// TestEveryLineHasAFate: one for each line that is not blank, in order, for
// every report of the corpora that is text.
func TestEveryLineHasAFate(t *testing.T) {
	files, err := filepath.Glob("testdata/*/*/report.*")
	if err != nil || len(files) < 60 {
		t.Fatalf("%d files, %v", len(files), err)
	}
	for _, f := range files {
		b, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		r, err := Read(b, Options{})
		if err != nil || r.Format != "text" && r.Format != "csv" && r.Format != "wide" && r.Format != "wqx" {
			continue
		}
		text, err := decode(b, Options{})
		if err != nil {
			t.Fatal(err)
		}
		lines, err := splitLines(text, Options{})
		if err != nil {
			t.Fatal(err)
		}
		var want, got []int
		for i, l := range lines {
			if strings.TrimSpace(strings.Trim(l, ";,>\t ")) != "" {
				want = append(want, i+1)
			}
		}
		for _, x := range r.Lines {
			if strings.TrimSpace(strings.Trim(lines[x.Line-1], ";,>\t ")) != "" {
				got = append(got, x.Line)
			}
		}
		if !slices.Equal(got, want) {
			t.Errorf("%s: fates of lines %v, want %v", f, got, want)
		}
	}
}

// TestUnknownUnitWithheld: a known analyte in a unit that nobody knows is not
// guessed, and the report is doubted for it.
func TestUnknownUnitWithheld(t *testing.T) {
	r, err := Read([]byte(legacyHeading+exchange("", "Chloride", "", "12.0", "mg/L", "", "Final", "", "", "", "")+exchange("", "Iron", "Total", "0.3", "mg/kg", "", "Final", "", "", "", "")), Options{})
	if err != nil {
		t.Fatal(err)
	}
	w := r.Document.Warnings
	if f := r.Lines[2]; f.What != Doubtful || len(w) != 1 || w[0].Code != "unit_suspect" || w[0].Analyte != "iron" || w[0].Line != 3 {
		t.Errorf("fate %v, warnings %v", f, w)
	}
}
