package labreport

import (
	"encoding/binary"
	"errors"
	"strings"
	"testing"
	"unicode/utf16"

	"golang.org/x/text/encoding/charmap"
)

func inUTF16(s string, order binary.AppendByteOrder) []byte {
	var b []byte
	for _, u := range utf16.Encode([]rune(s)) {
		b = order.AppendUint16(b, u)
	}
	return b
}

func TestEncodings(t *testing.T) {
	const text = "Leitfähigkeit 512 µS/cm\r\nTemperatur 11,2 °C – gut\n"
	cp1252, err := charmap.Windows1252.NewEncoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	twice, err := charmap.Windows1252.NewDecoder().String(text)
	if err != nil {
		t.Fatal(err)
	}
	for name, b := range map[string][]byte{
		"UTF-8":                    []byte(text),
		"UTF-8 with a mark":        []byte("\ufeff" + text),
		"UTF-16 LE with a mark":    append([]byte("\xff\xfe"), inUTF16(text, binary.LittleEndian)...),
		"UTF-16 BE with a mark":    append([]byte("\xfe\xff"), inUTF16(text, binary.BigEndian)...),
		"UTF-16 LE without a mark": inUTF16(text, binary.LittleEndian),
		"UTF-16 BE without a mark": inUTF16(text, binary.BigEndian),
		"Windows-1252":             []byte(cp1252),
		"UTF-8 cut in a character": []byte(text + "µ")[:len(text)+1],
		"UTF-8 encoded twice":      []byte(twice),
	} {
		got, err := decode(b, Options{})
		if err != nil {
			t.Errorf("%s: %v", name, err)
			continue
		}
		if got = undoDoubleEncoding(got); got != text {
			t.Errorf("%s: %q", name, got)
		}
	}
	// A text that only looks as if it were encoded twice stays.
	if s := "Âµ and 漢"; undoDoubleEncoding(s) != s {
		t.Error("a text was changed that cannot have been encoded twice")
	}
}

func TestLines(t *testing.T) {
	lines, err := splitLines("a\r\nb\rc\nd\u2028e\ff\u200b\n", Options{})
	if err != nil || strings.Join(lines, "|") != "a|b|c|d|e f|" {
		t.Errorf("%q, %v", lines, err)
	}
}

// TestRefused: input that holds no report is refused with a reason, a remedy
// and the code of the corpus.
func TestRefused(t *testing.T) {
	for name, c := range map[string]struct {
		input []byte
		err   error
		found string
	}{
		"PDF source pasted": {[]byte("%PDF-1.7\n4 0 obj\n<< /Type /Page >>\nendobj\n5 0 obj\n<< /Length 1184 >>\nstream\nx=Q0+bf 0.42\nendstream\nendobj\ntrailer << /Root 1 0 R >>\n%%EOF\n"), ErrBroken, "PDF"},
		"PDF of a scan":     {portable(pdfStyle{}, nil), ErrBroken, "a scan"},
		"encrypted PDF":     {[]byte(strings.Replace(string(portable(pdfStyle{}, wellPage())), "/Root", "/Encrypt 9 0 R /Root", 1)), ErrBroken, "encrypted"},
		"noise":             {[]byte("\x00\x01\x02\x03\xff\xfa\xc3\x28\x80\x81\x90 iron 0.3 mg/L \x05\x06\x07"), ErrBroken, "no text"},
		"old office file":   {[]byte("\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1......"), ErrBroken, "office"},
		"RTF":               {[]byte(`{\rtf1 iron 0.3 mg/L}`), ErrBroken, "RTF"},
		"picture":           {[]byte("\x89PNG\r\n\x1a\n"), ErrBroken, "picture"},
		"gzip":              {[]byte("\x1f\x8b\x08"), ErrBroken, "compressed"},
		"another archive":   {archive(map[string]string{"report.txt": "iron 0.3 mg/L"}), ErrBroken, "no XLSX"},
		"torn archive":      {workbook(map[string][][]string{"A": wellSheet}, "A")[:400], ErrBroken, "archive"},
		"too many bytes":    {make([]byte, MaxBytes+1), ErrTooLarge, "16.0 MiB"},
		"too many lines":    {[]byte(strings.Repeat("a\n", MaxLines+1)), ErrTooLarge, "200000 lines"},
		"too long a line":   {[]byte("Iron " + strings.Repeat("1", MaxLineLength)), ErrTooLarge, "65536 bytes a line"},
	} {
		_, err := Read(c.input, Options{File: "x"})
		var r *Refusal
		if !errors.As(err, &r) || !errors.Is(err, c.err) || !strings.Contains(err.Error(), c.found) || !strings.Contains(err.Error(), "try: ") {
			t.Errorf("%s: %v, want %q", name, err, c.found)
			continue
		}
		if errors.Is(err, ErrBroken) && r.Warnings[len(r.Warnings)-1].Code != "no_results" {
			t.Errorf("%s: warnings %v", name, r.Warnings)
		}
	}
}

func TestDelimited(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		want string // the cells of the last row, or "" for free text
	}{
		"quotes":            {"a,b,c\n\"x, y\",\"say \"\"hi\"\"\",3\n", `x, y|say "hi"|3`},
		"semicolons":        {"Parameter;Wert;Einheit\nEisen;0,24;mg/l\nMangan;< 0,02;mg/l\n", "Mangan|< 0,02|mg/l"},
		"tabs":              {"Test\t\tFound\tUnit\nCalcium\t\t52\tppm\n", "Calcium||52|ppm"},
		"named separator":   {"sep=;\na;b\nIron;3\n", "Iron|3"},
		"short last rows":   {"a;b;c;d\n1;2;3;4\n5;6;7;8\nx;y\n", "x|y"},
		"an open quote":     {"a,b,c\n\"x,2,3\n4,5,6\n", "4|5|6"},
		"a quote in a word": {"a,b,c\n5\" pipe,2,3\n4,6\" pipe,6\n", `4|6" pipe|6`},
		"prose":             {"Hello, here is the water test, as promised.\nIron was 0.4 mg/L, which is high.\nRegards, J.\n", ""},
		"fixed columns":     {"Iron          0.4   mg/L\nChloride      12    mg/L\n", ""},
		"decimal commas":    {"Eisen 0,24 mg/l\nMangan 0,02 mg/l\nChlorid 12,1 mg/l\n", ""},
	} {
		lines, err := splitLines(strings.TrimSuffix(c.text, "\n"), Options{})
		if err != nil {
			t.Fatal(err)
		}
		got := ""
		if g, ok := delimited(lines); ok {
			got = strings.Join(g.rows[len(g.rows)-1].cells, "|")
		}
		if got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

func TestHTMLRows(t *testing.T) {
	src := readHTML(`<!DOCTYPE html><html><head><title>Iron 9 mg/L</title><style>td{}</style></head><body>
<p>Willow Ferry,<br>dock&nbsp;hydrant</p>
<table><tr><td>
 <table class=r><thead><tr><th>Test</th><th>Result</th><th>Unit</th></tr></thead>
 <tr><td>Iron<td><s>4.2</s> 0.42<sup>2</sup><td>mg/L
 <tr><td>Manganese</td><td>&lt;0.005</td><td>mg/L</td></tr>
 <tr><td colspan=2>Plate count</td><td>3&times;10<sup>2</sup></td></tr>
 <tr style="display: none"><td>Lead</td><td>99</td><td>ug/L</td></tr>
 </table>
</td></tr></table>
<div hidden>Nitrate 50</div><ul><li>CO<sub>2</sub> 12 mg/L</ul><pre>
Iron       0.3   mg/L
Chloride  12     <b>mg/L</b>
</pre>the
end</body></html>`)
	var got []string
	for _, r := range src.rows {
		got = append(got, r.text)
	}
	want := []string{"Willow Ferry,", "dock\u00a0hydrant", "Test\tResult\tUnit", "Iron\t0.42²\tmg/L", "Manganese\t<0.005\tmg/L", "Plate count\t\t3×10²", "CO2 12 mg/L", "Iron       0.3   mg/L", "Chloride  12     mg/L", "the end"}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("rows\n%s\nwant\n%s", strings.Join(got, "\n"), strings.Join(want, "\n"))
	}
}
