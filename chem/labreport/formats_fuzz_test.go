package labreport

import (
	"bytes"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"forebed/chem/analysis"
	"forebed/chem/unit"
	"forebed/schemas"
)

// longest is how long one input may take before it counts as a hang. No input
// takes a second on an idle machine; the rest is room for a busy one, with the
// race detector on.
const longest = 30 * time.Second

// within fails when f takes too long.
func within(t *testing.T, f func()) {
	start := time.Now()
	f()
	if d := time.Since(start); d > longest {
		t.Errorf("took %v", d)
	}
}

// refusalOrNil fails on an error that is no refusal with a problem.
func refusalOrNil(t *testing.T, err error) {
	var r *Refusal
	if err != nil && (!errors.As(err, &r) || len(r.Problems) == 0 || r.Problems[0].Found == "" || r.Problems[0].Remedy == "") {
		t.Errorf("%T: %v", err, err)
	}
}

var digitRuns = regexp.MustCompile(`[-+]?[0-9.,]*[0-9][0-9.,]*(?:[eE][-+]?[0-9]+)?`)

// standsIn tells whether a row holds a number that reads as v.
func standsIn(text string, v float64) bool {
	return slices.ContainsFunc(digitRuns.FindAllString(text, -1), func(s string) bool {
		for _, form := range []string{s, strings.TrimLeft(s, "+-"), strings.Replace(s, ",", ".", 1), strings.ReplaceAll(s, ".", ""), strings.ReplaceAll(s, ",", ""), strings.Replace(strings.ReplaceAll(s, ".", ""), ",", ".", 1)} {
			if got, ok := plainNumber(form); ok && math.Abs(got-v) <= 1e-12*math.Abs(v) {
				return true
			}
		}
		return false
	})
}

// nothingInvented fails when a number or a token of a machine reading does not
// stand in the row that it cites.
func nothingInvented(t *testing.T, rows []row, doc analysis.Document) {
	at := map[int]string{}
	for _, r := range rows {
		at[r.line] = r.text
	}
	for _, s := range doc.Samples {
		for _, r := range s.Results {
			text, ok := at[r.Line]
			if !ok || !strings.Contains(text, r.AsWritten) {
				t.Errorf("%s %q is not on line %d: %q", r.Analyte, r.AsWritten, r.Line, text)
			}
			if r.Unit == unit.Presence {
				continue
			}
			if _, note, ok := strings.Cut(r.Note, "limit on line "); ok { // of all samples, in a row of its own
				line, err := strconv.Atoi(note)
				if err != nil || r.Limit == nil || !standsIn(at[line], *r.Limit) {
					t.Errorf("%s: the limit is not on line %s", r.Analyte, note)
				}
				r.Limit = nil
			}
			for _, v := range []*float64{r.Value, r.Low, r.High, r.Limit} {
				if v != nil && !standsIn(text, *v) {
					t.Errorf("%s: %v was invented on line %d: %q", r.Analyte, *v, r.Line, text)
				}
			}
		}
	}
}

func FuzzCSV(f *testing.F) {
	f.Add([]byte(legacyHeading + exchange("Not Detected", "Arsenic", "Total", "", "", "", "Final", "", "Drinking Water Maximum", "10", "ug/L")))
	f.Add([]byte("Point,Date,pH,Conductivity (uS/cm),\"Iron, total (mg/L)\",Nitrate-N (mg/L)\nBarn,2024-04-02,7.4,655,2.9,<0.1\n"))
	f.Add([]byte("Probe;pH;Calcium (mg/l);Eisen (mg/l);Chlorid (mg/l)\nB1;7,4;92,0;0,24;1.250\n"))
	f.Add([]byte("id,Na,Fe,NH4\n-,mg/L,µg/L,mg NH4/L\nw1,19,120,0.05\n"))
	f.Add([]byte("sep=;\nParameter;Wert;Einheit\nEisen;\"0,24\";mg/l\n"))
	f.Add([]byte("Sample,Parameter,Value,Units,Comment\nA,Iron,0.3,mg/L,\"x\ny\"\n"))
	f.Fuzz(func(t *testing.T, b []byte) {
		within(t, func() {
			text, err := decode(b, Options{})
			if err != nil {
				refusalOrNil(t, err)
				return
			}
			lines, err := splitLines(text, Options{})
			if err != nil {
				refusalOrNil(t, err)
				return
			}
			g, ok := delimited(lines)
			if !ok {
				return
			}
			covered := 0
			for _, r := range g.rows {
				covered += 1 + r.span
			}
			if covered != len(lines) {
				t.Errorf("%d lines in, rows for %d", len(lines), covered)
			}
			if _, r, _ := machine(source{format: "csv", rows: g.rows}, Options{}); r != nil {
				nothingInvented(t, g.rows, r.Document)
			}
		})
	})
}

func FuzzJSON(f *testing.F) {
	f.Add([]byte(`{"version": "forebed.analysis/1", "samples": [{"label": "A", "results": [{"analyte": "iron", "value": 0.3, "unit": "mg/L", "as_written": "0.3"}]}], "warnings": []}`))
	f.Add([]byte(strings.Join(ownColumns, ",") + "\n1,A,2024-06-05,,iron,total,0.3,,,false,,mg/L,,0.3,1,,\n"))
	f.Add([]byte("version: forebed.analysis/1\nsamples:\n- results:\n  - {analyte: iron, value: 1}\n"))
	f.Add([]byte(`{"a":{"a":{"a":[[[[[[`))
	f.Fuzz(func(t *testing.T, b []byte) {
		if !looksLikeDocument(string(b)) {
			return
		}
		within(t, func() {
			r, err := readDocument(strings.ToValidUTF8(string(b), "\uFFFD"), Options{File: "f"})
			if err != nil {
				refusalOrNil(t, err)
				return
			}
			for name, write := range map[string]func(*bytes.Buffer, analysis.Document) error{
				"json": func(b *bytes.Buffer, d analysis.Document) error { return WriteJSON(b, d) },
				"csv":  func(b *bytes.Buffer, d analysis.Document) error { return WriteCSV(b, d) },
			} {
				var out bytes.Buffer
				if err := write(&out, r.Document); err != nil {
					t.Fatal(err)
				}
				if out.Len() > schemas.MaxBytes {
					continue
				}
				back, err := readDocument(out.String(), Options{})
				if err != nil {
					t.Fatalf("%s: %v\n%s", name, err, out.String())
				}
				if !reflect.DeepEqual(plainLists(back.Document), plainLists(r.Document)) {
					t.Errorf("%s: read back as\n%#v\nwas\n%#v", name, back.Document, r.Document)
				}
			}
		})
	})
}

func FuzzRecords(f *testing.F) {
	f.Add([]byte(`[{"sample": "A", "analyte": "Iron", "result": "<0.3", "unit": "mg/L", "rl": 0.3}, {"sample": "A", "analyte": "pH", "result": 7}]`))
	f.Add([]byte(`{"units": "mg/L", "wells": {"B1": {"Calcium": 61, "Iron": 0.4}, "B2": {"Calcium": 7.7e1, "Iron": null}}}`))
	f.Add([]byte(`{"columns": ["well", "pH", "fe_mg_l"], "data": [["B-4", 7.2, 0.33], ["B-5", "6.8", "ND"]]}`))
	f.Add([]byte(`{"samples": [{"id": "G", "results": {"iron": {"value": 0.9, "unit": "mg/L"}, "lead": {"value": null, "qualifier": "<", "limit": 0.5, "unit": "ug/L"}}}]}`))
	f.Fuzz(func(t *testing.T, b []byte) {
		text := strings.ToValidUTF8(string(b), "\uFFFD")
		within(t, func() {
			r := readRecords(text)
			if r == nil {
				return
			}
			for _, s := range r.Document.Samples {
				for _, res := range s.Results {
					if res.Line < 1 || res.Line > strings.Count(text, "\n")+1 {
						t.Errorf("%s stands on line %d", res.Analyte, res.Line)
					}
					for _, v := range []*float64{res.Value, res.Low, res.High, res.Limit} {
						if v != nil && res.Unit != unit.Presence && !strings.Contains(text, `\`) && !standsIn(text, *v) {
							t.Errorf("%s: %v was invented: %s", res.Analyte, *v, text)
						}
					}
				}
			}
		})
	})
}

func FuzzMail(f *testing.F) {
	files, err := filepath.Glob("testdata/formats/*/report.eml")
	if err != nil || len(files) == 0 {
		f.Fatal("no mails", err)
	}
	for _, file := range files {
		b, err := os.ReadFile(file)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(b)
	}
	f.Fuzz(func(t *testing.T, b []byte) {
		if !looksLikeMail(string(b)) {
			return
		}
		within(t, func() {
			_, err := readMail(b, Options{File: "f"})
			refusalOrNil(t, err)
		})
	})
}

// plainLists makes empty lists nil, so that "no list" and "an empty one" in
// hand-written JSON compare equal.
func plainLists(d analysis.Document) analysis.Document {
	d.Samples = slices.Clone(d.Samples)
	for i := range d.Samples {
		s := &d.Samples[i]
		s.Results = slices.Clone(s.Results)
		for j := range s.Results {
			if s.Results[j].Warnings = plainWarnings(s.Results[j].Warnings); s.Results[j].Line == 0 {
				s.Results[j].Line = 0
			}
		}
		if len(s.Results) == 0 {
			s.Results = nil
		}
	}
	d.Warnings = plainWarnings(d.Warnings)
	return d
}

func plainWarnings(ws []analysis.Warning) []analysis.Warning {
	ws = slices.Clone(ws)
	for i := range ws {
		if len(ws[i].Readings) == 0 {
			ws[i].Readings = nil
		}
	}
	if len(ws) == 0 {
		return nil
	}
	return ws
}

func FuzzXLSX(f *testing.F) {
	book := workbook(map[string][][]string{"Results": wellSheet}, "Results")
	f.Add(book)
	f.Add(workbook(map[string][][]string{"A": wellSheet, "B": {{"Iron", "#1e3", "mg/L"}}}, "A", "B"))
	f.Add(archive(map[string]string{"xl/workbook.xml": "<workbook><sheets/></workbook>"}))
	f.Add(book[:len(book)/2])
	f.Fuzz(func(t *testing.T, b []byte) {
		within(t, func() { rowsOrRefusal(t, b, readXLSX) })
	})
}

func FuzzPDF(f *testing.F) {
	for _, s := range []pdfStyle{{}, {flate: true}, {flate: true, packs: true}, {cids: true}, {turn: 90}} {
		f.Add(portable(s, wellPage()))
	}
	f.Add(portable(pdfStyle{}, wellPage(), wellPage()))
	f.Fuzz(func(t *testing.T, b []byte) {
		within(t, func() { rowsOrRefusal(t, b, readPDF) })
	})
}

func FuzzHTML(f *testing.F) {
	f.Add([]byte("<html><table><tr><td>Iron<td>0.42<sup>2</sup><td>mg/L</table>"))
	f.Add([]byte("<div><table><tr><td><table><tr><td colspan=99>Iron</table></table><s>4</s>"))
	f.Fuzz(func(t *testing.T, b []byte) {
		within(t, func() {
			rowsOrRefusal(t, b, func(b []byte, _ Options) (source, error) {
				return readHTML(strings.ToValidUTF8(string(b), "\uFFFD")), nil
			})
		})
	})
}

// rowsOrRefusal reads a file into rows, which are numbered from 1 on, or into
// a refusal.
func rowsOrRefusal(t *testing.T, b []byte, read func([]byte, Options) (source, error)) {
	src, err := read(b, Options{File: "f"})
	refusalOrNil(t, err)
	for i, r := range src.rows {
		if r.line != i+1 {
			t.Errorf("row %d has the line %d", i+1, r.line)
		}
		if strings.TrimSpace(r.text) == "" || strings.Contains(r.text, "\n") {
			t.Errorf("row %d: %q", i+1, r.text)
		}
		if r.cells != nil && strings.Join(r.cells, "\t") != r.text {
			t.Errorf("row %d: cells %q, text %q", i+1, r.cells, r.text)
		}
	}
	if err != nil {
		return
	}
	if _, r, _ := machine(src, Options{}); r != nil {
		nothingInvented(t, src.rows, r.Document)
	}
}

// BenchmarkFormats reads the open data of testdata/wells (CSV with one result
// and with one sample a row) and small files of the other formats.
func BenchmarkFormats(b *testing.B) {
	inputs := map[string][]byte{}
	for _, file := range wellFiles(b) {
		text, err := os.ReadFile(file)
		if err != nil {
			b.Fatal(err)
		}
		inputs[filepath.Base(file)] = text
	}
	for name, in := range inputs {
		b.Run(name, func(b *testing.B) {
			b.SetBytes(int64(len(in)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := Read(in, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkRows rebuilds the rows of a workbook of 2,000 rows and of a PDF of
// 20 pages.
func BenchmarkRows(b *testing.B) {
	var sheet [][]string
	for len(sheet) < 2000 {
		sheet = append(sheet, wellSheet[2:]...)
	}
	pages := make([][]placed, 20)
	for i := range pages {
		for j := range 8 {
			for _, p := range wellPage() {
				p.y -= 90 * float64(j)
				pages[i] = append(pages[i], p)
			}
		}
	}
	for _, c := range []struct {
		name string
		in   []byte
		read func([]byte, Options) (source, error)
	}{
		{"xlsx", workbook(map[string][][]string{"A": sheet}, "A"), readXLSX},
		{"pdf", portable(pdfStyle{flate: true, packs: true}, pages...), readPDF},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.SetBytes(int64(len(c.in)))
			b.ReportAllocs()
			for b.Loop() {
				if _, err := c.read(c.in, Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
