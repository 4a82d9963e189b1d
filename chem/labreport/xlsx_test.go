package labreport

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"fmt"
	"strings"
	"testing"
)

// workbook builds a small XLSX. A cell that starts with "#" is a number, the
// others are texts, every second of them a shared string.
func workbook(sheets map[string][][]string, names ...string) []byte {
	var parts = map[string]string{}
	var shared, list, rels strings.Builder
	n := 0
	for i, name := range names {
		var b strings.Builder
		b.WriteString(`<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData>`)
		for r, cells := range sheets[name] {
			fmt.Fprintf(&b, `<row r="%d">`, r+1)
			for c, text := range cells {
				at := fmt.Sprintf("%c%d", 'A'+c, r+1)
				var esc bytes.Buffer
				xml.EscapeText(&esc, []byte(text))
				switch {
				case text == "":
				case text[0] == '#':
					fmt.Fprintf(&b, `<c r="%s"><v>%s</v></c>`, at, text[1:])
				case n%2 == 0:
					fmt.Fprintf(&b, `<c r="%s" t="s"><v>%d</v></c>`, at, strings.Count(shared.String(), "<si>"))
					fmt.Fprintf(&shared, `<si><t>%s</t></si>`, esc.String())
				default:
					fmt.Fprintf(&b, `<c r="%s" t="inlineStr"><is><t>%s</t></is></c>`, at, esc.String())
				}
				n++
			}
			b.WriteString(`</row>`)
		}
		b.WriteString(`</sheetData></worksheet>`)
		file := fmt.Sprintf("worksheets/sheet%d.xml", i+1)
		parts["xl/"+file] = b.String()
		fmt.Fprintf(&list, `<sheet name="%s" sheetId="%d" r:id="rId%d"/>`, name, i+1, i+1)
		fmt.Fprintf(&rels, `<Relationship Id="rId%d" Type="t" Target="%s"/>`, i+1, file)
	}
	parts["xl/sharedStrings.xml"] = `<sst xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">` + shared.String() + `</sst>`
	parts["xl/styles.xml"] = `<styleSheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"/>`
	parts["xl/workbook.xml"] = `<workbook xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main" xmlns:r="http://schemas.openxmlformats.org/officeDocument/2006/relationships"><sheets>` + list.String() + `</sheets></workbook>`
	parts["xl/_rels/workbook.xml.rels"] = `<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">` + rels.String() + `</Relationships>`
	return archive(parts)
}

// archive packs parts in a fixed order.
func archive(parts map[string]string) []byte {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, name := range sortedKeys(parts) {
		w, err := z.Create(name)
		if err != nil {
			panic(err)
		}
		if _, err := w.Write([]byte(parts[name])); err != nil {
			panic(err)
		}
	}
	if err := z.Close(); err != nil {
		panic(err)
	}
	return b.Bytes()
}

// wellSheet is an invented analysis.
var wellSheet = [][]string{
	{"Orchard pump house"},
	{},
	{"Parameter", "Result", "Unit", "Reporting limit"},
	{"Iron, total", "#0.41999999999999998", "mg/L", "#0.02"},
	{"Manganese", "<0.005", "mg/L", "#0.005"},
	{"Chloride", "#64", "mg/L", "#1"},
	{"Alkalinity (as CaCO3)", "#203", "mg/L", "#5"},
}

func TestWorkbookRows(t *testing.T) {
	src, err := readXLSX(workbook(map[string][][]string{"Results": wellSheet}, "Results"), Options{})
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, r := range src.rows {
		got = append(got, fmt.Sprintf("%d %s", r.line, r.text))
	}
	want := []string{"1 Orchard pump house", "2 Parameter\tResult\tUnit\tReporting limit", "3 Iron, total\t0.42\tmg/L\t0.02", "4 Manganese\t<0.005\tmg/L\t0.005", "5 Chloride\t64\tmg/L\t1", "6 Alkalinity (as CaCO3)\t203\tmg/L\t5"}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("rows\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
