package labreport

import (
	"bytes"
	"compress/zlib"
	"fmt"
	"regexp"
	"strings"
	"testing"
)

// placed is a text at a place on a page, in points.
type placed struct {
	x, y float64
	text string
}

// tableAt places the cells of a table.
func tableAt(x0, y0 float64, widths []float64, rows ...[]string) []placed {
	var out []placed
	for i, cells := range rows {
		x := x0
		for j, c := range cells {
			if c != "" {
				out = append(out, placed{x, y0 - 16*float64(i), c})
			}
			x += widths[j%len(widths)]
		}
	}
	return out
}

// pdfStyle is how a test PDF is put together.
type pdfStyle struct {
	flate bool // contents compressed
	packs bool // objects in an object stream, cross-references in a stream
	cids  bool // a composite font with two-byte codes and a ToUnicode table
	turn  int  // Rotate of the pages
}

// portable builds a PDF with one page a list.
func portable(style pdfStyle, pages ...[]placed) []byte {
	var texts []string // objects 1..n; streams hold their whole text
	kids := make([]string, len(pages))
	font := 3
	texts = append(texts, "<< /Type /Catalog /Pages 2 0 R >>", "", "")
	for i, p := range pages {
		var c strings.Builder
		c.WriteString("q BT /F1 10 Tf\n")
		for _, t := range p {
			m := fmt.Sprintf("1 0 0 1 %g %g", t.x, t.y)
			if style.turn == 90 {
				m = fmt.Sprintf("0 1 -1 0 %g %g", -t.y+800, t.x)
			}
			fmt.Fprintf(&c, "%s Tm %s Tj\n", m, pdfString(t.text, style.cids))
		}
		c.WriteString("ET Q\n")
		body, filter := []byte(c.String()), ""
		if style.flate {
			body, filter = deflate(body), "/Filter /FlateDecode "
		}
		page := len(texts) + 1
		kids[i] = fmt.Sprintf("%d 0 R", page)
		rotate := ""
		if style.turn != 0 {
			rotate = fmt.Sprintf("/Rotate %d ", style.turn)
		}
		texts = append(texts, fmt.Sprintf("<< /Type /Page /Parent 2 0 R %s/Resources << /Font << /F1 %d 0 R >> >> /Contents %d 0 R >>", rotate, font, page+1))
		texts = append(texts, fmt.Sprintf("<< %s/Length %d >>\nstream\n%s\nendstream", filter, len(body), body))
	}
	texts[1] = fmt.Sprintf("<< /Type /Pages /Count %d /Kids [%s] >>", len(pages), strings.Join(kids, " "))
	texts[2] = "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica /Encoding /WinAnsiEncoding /FirstChar 32 /LastChar 255 /Widths [" + strings.Repeat("520 ", 224) + "] >>"
	if style.cids {
		n := len(texts) + 1
		texts[2] = fmt.Sprintf("<< /Type /Font /Subtype /Type0 /BaseFont /ABCDEF+Some /Encoding /Identity-H /DescendantFonts [%d 0 R] /ToUnicode %d 0 R >>", n, n+1)
		cmap := "/CIDInit /ProcSet findresource begin begincmap 1 begincodespacerange <0000> <FFFF> endcodespacerange 2 beginbfrange <0101> <01FF> <0001> <0120> <0121> [<0020> <0021>] endbfrange 1 beginbfchar <0300> <006600690020> endbfchar endcmap"
		texts = append(texts, "<< /Type /Font /Subtype /CIDFontType2 /DW 520 >>", fmt.Sprintf("<< /Length %d >>\nstream\n%s\nendstream", len(cmap), cmap))
	}
	return assemble(texts, style.packs)
}

func deflate(b []byte) []byte {
	var z bytes.Buffer
	w := zlib.NewWriter(&z)
	w.Write(b)
	w.Close()
	return z.Bytes()
}

// pdfString spells text for WinAnsi, or as codes 256 above those of Latin-1.
func pdfString(s string, cids bool) string {
	var b strings.Builder
	for _, r := range s {
		if cids {
			fmt.Fprintf(&b, "%04X", 0x100+r)
			continue
		}
		if strings.ContainsRune(`()\`, r) {
			b.WriteByte('\\')
		}
		b.WriteByte(byte(r))
	}
	if cids {
		return "<" + b.String() + ">"
	}
	return "(" + b.String() + ")"
}

// assemble writes objects as a file. With packs, those without a stream go
// into an object stream, as later versions of the format do.
func assemble(texts []string, packs bool) []byte {
	var b bytes.Buffer
	b.WriteString("%PDF-1.5\n%\xe2\xe3\xcf\xd3\n")
	offsets := make([]int, len(texts)+1)
	var head, body strings.Builder
	packed := 0
	for i, t := range texts {
		if packs && !strings.Contains(t, "stream\n") {
			fmt.Fprintf(&head, "%d %d ", i+1, body.Len())
			body.WriteString(t + " ")
			packed++
			continue
		}
		offsets[i+1] = b.Len()
		fmt.Fprintf(&b, "%d 0 obj\n%s\nendobj\n", i+1, t)
	}
	if packs {
		z := deflate([]byte(head.String() + body.String()))
		fmt.Fprintf(&b, "%d 0 obj\n<< /Type /ObjStm /N %d /First %d /Filter /FlateDecode /Length %d >>\nstream\n%s\nendstream\nendobj\n", len(texts)+1, packed, head.Len(), len(z), z)
		fmt.Fprintf(&b, "%d 0 obj\n<< /Type /XRef /Size %d /Root 1 0 R /W [1 4 2] /Length 0 >>\nstream\n\nendstream\nendobj\nstartxref\n0\n%%%%EOF\n", len(texts)+2, len(texts)+3)
		return b.Bytes()
	}
	at := b.Len()
	fmt.Fprintf(&b, "xref\n0 %d\n0000000000 65535 f \n", len(texts)+1)
	for _, o := range offsets[1:] {
		fmt.Fprintf(&b, "%010d 00000 n \n", o)
	}
	fmt.Fprintf(&b, "trailer\n<< /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n", len(texts)+1, at)
	return b.Bytes()
}

// wellPage is an invented analysis on a page.
func wellPage() []placed {
	page := []placed{{60, 760, "Quince Hollow boatyard, dock hydrant"}}
	return append(page, tableAt(60, 720, []float64{180, 80, 80, 80},
		[]string{"Parameter", "Result", "Unit", "Limit"},
		[]string{"Iron, total", "0.42", "mg/L", "0.3"},
		[]string{"Manganese", "<0.005", "mg/L", "0.05"},
		[]string{"Alkalinity (as CaCO3)", "203", "mg/L", ""},
		[]string{"Conductivity", "512", "\u00b5S/cm", "2500"},
	)...)
}

// columnGap parts the cells of a line set in columns.
var columnGap = regexp.MustCompile(`  +`)

func TestPDFRows(t *testing.T) {
	want := strings.Join([]string{
		"Quince Hollow boatyard, dock hydrant",
		"Parameter\tResult\tUnit\tLimit",
		"Iron, total\t0.42\tmg/L\t0.3",
		"Manganese\t<0.005\tmg/L\t0.05",
		"Alkalinity (as CaCO3)\t203\tmg/L",
		"Conductivity\t512\t\u00b5S/cm\t2500",
	}, "\n")
	for name, style := range map[string]pdfStyle{
		"plain": {}, "compressed": {flate: true}, "packed": {flate: true, packs: true}, "two-byte codes": {flate: true, cids: true},
		"turned": {turn: 90}, "packed two-byte codes": {packs: true, cids: true},
	} {
		t.Run(name, func(t *testing.T) {
			src, err := readPDF(portable(style, wellPage()), Options{})
			if err != nil {
				t.Fatal(err)
			}
			var got []string
			for _, r := range src.rows {
				got = append(got, columnGap.ReplaceAllString(r.text, "\t"))
			}
			if s := strings.Join(got, "\n"); s != want {
				t.Errorf("rows\n%s\nwant\n%s", s, want)
			}
		})
	}
}

// TestScripts: small raised and lowered characters belong to their line, and a
// raised digit cannot run into the number before it.
func TestScripts(t *testing.T) {
	var gs []glyph
	place := func(text string, x, y, size float64) {
		for _, r := range text {
			w := 0.5 * size
			gs = append(gs, glyph{x: x, y: y, end: x + w, size: size, text: string(r), order: len(gs)})
			x += w
		}
	}
	place("Nitrate as NO", 50, 700, 10)
	place("3", 115, 696, 6)
	place("39", 200, 700, 10)
	place("2", 210, 704.5, 6)
	place("mg/L", 260, 700, 10)
	place("next line", 50, 688, 10)
	var m margins
	var got []string
	for _, r := range m.layOut(gs) {
		got = append(got, columnGap.ReplaceAllString(r.text, "\t"))
	}
	if want := "Nitrate as NO3\t39²\tmg/L\nnext line"; strings.Join(got, "\n") != want {
		t.Errorf("%q, want %q", strings.Join(got, "\n"), want)
	}
}
