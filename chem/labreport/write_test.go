package labreport

import (
	"bytes"
	"fmt"
	"math"
	"reflect"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// anyDocument draws a valid analysis.
func anyDocument(t *rapid.T) analysis.Document {
	line := rapid.StringOfN(rapid.RuneFrom([]rune("ab XÄµ²,;\"'=@<>-+|\\/{}[]()0123456789.\u00a0\u2028\ufeffÂ")), 0, 20, -1)
	doc := analysis.Document{Version: analysis.Version, Samples: []analysis.Sample{}, Warnings: anyWarnings(t, line, "document")}
	for range rapid.IntRange(1, 3).Draw(t, "samples") {
		s := analysis.Sample{Label: line.Draw(t, "label"), Source: line.Draw(t, "source"), Results: []analysis.Result{}}
		if rapid.Bool().Draw(t, "dated") {
			s.Date = fmt.Sprintf("20%02d-%02d-%02d", rapid.IntRange(0, 99).Draw(t, "y"), rapid.IntRange(1, 12).Draw(t, "m"), rapid.IntRange(1, 28).Draw(t, "d"))
		}
		for range rapid.IntRange(0, 4).Draw(t, "results") {
			s.Results = append(s.Results, anyResult(t, line))
		}
		doc.Samples = append(doc.Samples, s)
	}
	return doc
}

func anyResult(t *rapid.T, line *rapid.Generator[string]) analysis.Result {
	a := rapid.SampledFrom(analyte.All()).Draw(t, "analyte")
	r := analysis.Result{Analyte: a.ID, AsWritten: line.Draw(t, "written"), Note: line.Draw(t, "note"), Line: rapid.IntRange(0, 900).Draw(t, "line"), Warnings: anyWarnings(t, line, "result")}
	units := []unit.Unit{unit.None}
	for _, u := range []unit.Unit{unit.MgL, unit.UgL, unit.MeqL, unit.GrainsUS, unit.USCm, unit.PH, unit.DegC, unit.Presence, unit.CFU100, unit.NTU} {
		if compatible(a.ID, u) {
			units = append(units, u)
		}
	}
	r.Unit = rapid.SampledFrom(units).Draw(t, "unit")
	bases := []analyte.Basis{""}
	for _, b := range []analyte.Basis{"N", "NO3", "CaCO3", "SiO2", "P", "S"} {
		if got, ok := cellBasis(string(b), a); ok && got == b {
			bases = append(bases, b)
		}
	}
	r.Basis = rapid.SampledFrom(bases).Draw(t, "basis")
	if a.Metal {
		r.Fraction = rapid.SampledFrom([]analysis.Fraction{analysis.NotStated, analysis.Total, analysis.Dissolved}).Draw(t, "fraction")
	}
	v := analysis.Number(rapid.Float64Range(-1e9, 1e9).Draw(t, "value"))
	switch rapid.IntRange(0, 3).Draw(t, "form") {
	case 0:
		r.Value = v
	case 1:
		r.Nondetect = true
		if rapid.Bool().Draw(t, "limited") {
			r.Limit = analysis.Number(math.Abs(*v))
		}
	case 2:
		r.Low = v
		if rapid.Bool().Draw(t, "closed") {
			r.High = analysis.Number(*v + 1)
		}
	}
	return r
}

func anyWarnings(t *rapid.T, line *rapid.Generator[string], of string) []analysis.Warning {
	var ws []analysis.Warning
	if of == "document" {
		ws = []analysis.Warning{}
	}
	for range rapid.IntRange(0, 2).Draw(t, of+" warnings") {
		w := analysis.Warning{Code: "unit_missing", Message: line.Draw(t, "message"), Line: rapid.IntRange(0, 99).Draw(t, "at"), Analyte: "iron"}
		if rapid.Bool().Draw(t, "readings") {
			w.Readings = []analysis.Reading{{Flag: "--set iron=1mg/L", Means: line.Draw(t, "means")}}
		}
		ws = append(ws, w)
	}
	return ws
}

// TestWrittenIsReadBack: what is written as JSON or as CSV is read back to the
// same analysis, whatever stands in it.
func TestWrittenIsReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		doc := anyDocument(t)
		for name, write := range map[string]func(*bytes.Buffer) error{
			"json": func(b *bytes.Buffer) error { return WriteJSON(b, doc) },
			"csv":  func(b *bytes.Buffer) error { return WriteCSV(b, doc) },
		} {
			var b bytes.Buffer
			if err := write(&b); err != nil {
				t.Fatal(err)
			}
			r, err := Read(b.Bytes(), Options{File: "written"})
			if err != nil {
				t.Fatalf("%s: %v\n%s", name, err, b.String())
			}
			if !reflect.DeepEqual(r.Document, doc) {
				t.Fatalf("%s: read back\n%#v\nwant\n%#v\nfrom\n%s", name, r.Document, doc, b.String())
			}
		}
	})
}

// TestWellsReadBack: the same for real data.
func TestWellsReadBack(t *testing.T) {
	b := []byte(legacyHeading + exchange("", "Iron", "Dissolved", "1080", "ug/L", "J", "Final", "", "", "", "") + exchange("Not Detected", "Nitrate", "", "", "", "", "Final", "as N", "Lower Reporting Limit", "0.04", "mg/L"))
	r, err := Read(b, Options{})
	if err != nil {
		t.Fatal(err)
	}
	var out bytes.Buffer
	if err := WriteCSV(&out, r.Document); err != nil {
		t.Fatal(err)
	}
	back, err := Read(out.Bytes(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !reflect.DeepEqual(back.Document, r.Document) {
		t.Errorf("read back\n%#v\nwant\n%#v", back.Document, r.Document)
	}
}

// TestFormulasGuarded: a cell of the report cannot become a formula of the
// spreadsheet that opens it.
func TestFormulasGuarded(t *testing.T) {
	doc := analysis.Document{Version: analysis.Version, Samples: []analysis.Sample{{Label: "=1+1", Results: []analysis.Result{{Analyte: "iron", Value: analysis.Number(1), Unit: unit.MgL, AsWritten: "@x"}}}}}
	var b bytes.Buffer
	if err := WriteCSV(&b, doc); err != nil {
		t.Fatal(err)
	}
	if s := b.String(); strings.Contains(s, ",=") || strings.Contains(s, ",@") {
		t.Errorf("a formula was written:\n%s", s)
	}
}

// TestDocumentsRefused: every way in which a document can be wrong is told with
// its place.
func TestDocumentsRefused(t *testing.T) {
	result := func(body string) string {
		return `{"version": "forebed.analysis/1", "samples": [{"results": [` + "\n" + body + "\n]}]}"
	}
	for _, c := range []struct{ name, text, found string }{
		{"unknown analyte", result(`{"analyte": "unobtainium", "value": 1}`), "unobtainium"},
		{"a name instead of an id", result(`{"analyte": "Total hardness", "value": 1}`), `write "hardness"`},
		{"unit not canonical", result(`{"analyte": "iron", "value": 1, "unit": "ppm"}`), `write "mg/L"`},
		{"unit of another quantity", result(`{"analyte": "iron", "value": 1, "unit": "uS/cm"}`), "iron is measured"},
		{"basis of another substance", result(`{"analyte": "chloride", "value": 1, "unit": "mg/L", "basis": "N"}`), `"N"`},
		{"value of a non-detect", result(`{"analyte": "iron", "value": 1, "nondetect": true}`), "null beside nondetect"},
		{"limit of a value", result(`{"analyte": "iron", "value": 1, "limit": 0.1}`), "only for a non-detect"},
		{"range upside down", result(`{"analyte": "iron", "value": null, "low": 2, "high": 1}`), "at most high"},
		{"unknown field", result(`{"analyte": "iron", "value": 1, "colour": "red"}`), "colour"},
		{"no value", result(`{"analyte": "iron"}`), "value"},
		{"a field twice", result(`{"analyte": "iron", "value": 1, "value": 2}`), "second time"},
		{"not a number", result(`{"analyte": "iron", "value": NaN}`), "JSON"},
		{"too large a number", result(`{"analyte": "iron", "value": 1e999}`), "1e999"},
		{"too long a number", result(`{"analyte": "iron", "value": 1` + strings.Repeat("0", 10_000_000) + `}`), "10000001 characters"},
		{"a number of 100 digits", result(`{"analyte": "iron", "value": 1` + strings.Repeat("0", 100) + `}`), "101 characters"},
		{"nested too deep", strings.Repeat(`{"a":`, 100_000), "nested"},
		{"cut off", `{"version": "forebed.analysis/1", "samples": [`, "end of the document"},
		{"another version", `{"version": "forebed.analysis/9", "samples": [{"results": []}]}`, "forebed.analysis/9"},
		{"another document", `{"name": "shopping", "items": [1, 2]}`, "version"},
		{"bad date", `{"version": "forebed.analysis/1", "samples": [{"date": "5.6.2024", "results": []}]}`, "5.6.2024"},
		{"own CSV, other columns", "forebed.analysis/1,analyte,value\n1,iron,2\n", "wrong number of fields"},
		{"own CSV, words for a number", strings.Join(ownColumns, ",") + "\n1,A,,,iron,,lots,,,false,,mg/L,,lots,1,,\n", "lots"},
		{"own CSV, NaN", strings.Join(ownColumns, ",") + "\n1,A,,,iron,,NaN,,,false,,mg/L,,NaN,1,,\n", "NaN"},
		{"own CSV, samples out of order", strings.Join(ownColumns, ",") + "\n7,A,,,iron,,1,,,false,,mg/L,,1,1,,\n", "numbered"},
		{"own CSV, no samples", strings.Join(ownColumns, ",") + "\n", "without samples"},
	} {
		r, err := Read([]byte(c.text), Options{File: "a.json"})
		if err == nil {
			t.Errorf("%s: read as %v", c.name, briefly(r.Document))
			continue
		}
		if !strings.Contains(err.Error(), c.found) {
			t.Errorf("%s: %v, want %q in it", c.name, err, c.found)
		}
		if refusal, ok := err.(*Refusal); !ok || len(refusal.Warnings) == 0 || len(refusal.Problems) == 0 {
			t.Errorf("%s: %T without problems or warnings", c.name, err)
		}
	}
}
