package labreport

import (
	"archive/zip"
	"bytes"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"
)

// TestMutatedFiles damages files of the binary formats in many ways: a reading
// or a refusal, never a panic, a hang or an invented number. Fuzzing alone
// seldom gets past the checksums; so workbooks are damaged before they are
// packed, and PDFs are left unpacked.
func TestMutatedFiles(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 1))
	var pdfs [][]byte
	for _, s := range []pdfStyle{{}, {cids: true}, {turn: 90}} {
		pdfs = append(pdfs, portable(s, wellPage(), wellPage()[:9]))
	}
	book := parts(t, workbook(map[string][][]string{"A": wellSheet, "B": wellSheet}, "A", "B"))
	names := sortedKeys(book)
	readings := 0
	for range 600 {
		damaged := map[string]string{}
		for name, text := range book {
			damaged[name] = text
		}
		name := names[rng.IntN(len(names))]
		damaged[name] = string(damage(rng, []byte(book[name])))
		for _, c := range []struct {
			in   []byte
			read func([]byte, Options) (source, error)
		}{{damage(rng, pdfs[rng.IntN(len(pdfs))]), readPDF}, {archive(damaged), readXLSX}} {
			within(t, func() { rowsOrRefusal(t, c.in, c.read) })
			if _, err := c.read(c.in, Options{}); err == nil {
				readings++
			}
		}
		if t.Failed() {
			t.FailNow()
		}
	}
	if readings < 120 {
		t.Errorf("only %d of 1200 damaged files could be read: the damage tests nothing", readings)
	}
}

// damage changes one to three places: a byte, a piece cut, doubled or put in
// from elsewhere, a digit made long, the end torn off.
func damage(rng *rand.Rand, in []byte) []byte {
	b := bytes.Clone(in)
	for range 1 + rng.IntN(3) {
		if len(b) < 4 {
			return b
		}
		i := rng.IntN(len(b))
		n := min(1+rng.IntN(40), len(b)-i)
		switch rng.IntN(7) {
		case 0:
			b[i] = byte(rng.IntN(256))
		case 1:
			b = append(b[:i:i], b[i+n:]...)
		case 2:
			b = append(b[:i:i], append(bytes.Repeat(b[i:i+n], 1+rng.IntN(5)), b[i:]...)...)
		case 3:
			j := rng.IntN(len(b) - n + 1)
			copy(b[i:], bytes.Clone(b[j:j+n]))
		case 4:
			for i < len(b)-1 && (b[i] < '0' || b[i] > '9') {
				i++
			}
			b = append(b[:i:i], append([]byte(strings.Repeat("9", 1+rng.IntN(30))), b[i:]...)...)
		case 5:
			b = b[:i]
		case 6:
			word := []string{"endobj", "stream", "<", "(", "0 R", ">>", "-1", "obj", "<v>", "</c>", "&", "%"}[rng.IntN(12)]
			b = append(b[:i:i], append([]byte(word), b[i:]...)...)
		}
	}
	return b
}

func parts(t *testing.T, book []byte) map[string]string {
	z, err := zip.NewReader(bytes.NewReader(book), int64(len(book)))
	if err != nil {
		t.Fatal(err)
	}
	m := map[string]string{}
	for _, f := range z.File {
		r, err := f.Open()
		if err != nil {
			t.Fatal(err)
		}
		text, err := io.ReadAll(r)
		if err != nil {
			t.Fatal(err)
		}
		m[f.Name] = string(text)
	}
	return m
}

// TestHostileFiles: files made to exhaust or to crash a reader.
func TestHostileFiles(t *testing.T) {
	book := func(name, text string) []byte {
		m := parts(t, workbook(map[string][][]string{"A": wellSheet}, "A"))
		m[name] = text
		return archive(m)
	}
	sheet := func(rows string) []byte {
		return book("xl/worksheets/sheet1.xml", "<worksheet><sheetData>"+rows+"</sheetData></worksheet>")
	}
	object := func(text string) []byte {
		texts := []string{"<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Count 1 /Kids [4 0 R] >>", "<< /Type /Font /Subtype /Type1 /BaseFont /Helvetica >>",
			"<< /Type /Page /Parent 2 0 R /Resources << /Font << /F1 3 0 R >> >> /Contents 5 0 R >>", text}
		return assemble(texts, false)
	}
	stream := func(text string) []byte {
		return object(fmt.Sprintf("<< /Length %d >>\nstream\n%s\nendstream", len(text), text))
	}
	bomb := deflate(make([]byte, 64<<20))
	for name, c := range map[string]struct {
		in    []byte
		reads bool  // a reading is fine too
		err   error // else the reason of the refusal
	}{
		"xlsx: zip bomb":                   {book("xl/worksheets/sheet1.xml", "<worksheet>"+strings.Repeat(" ", 30<<20)+"</worksheet>"), false, ErrTooLarge},
		"xlsx: bomb beside the sheets":     {book("xl/other.xml", strings.Repeat(" ", 30<<20)), false, ErrTooLarge},
		"xlsx: too many rows":              {sheet(strings.Repeat("<row/>", maxSheetRows+1)), false, ErrTooLarge},
		"xlsx: too many cells":             {sheet("<row>" + strings.Repeat("<c/>", maxSheetCells+1) + "</row>"), false, ErrTooLarge},
		"xlsx: a column far away":          {sheet(`<row><c r="XFD1"><v>1</v></c></row>`), false, ErrTooLarge},
		"xlsx: an impossible column":       {sheet(`<row><c r="ZZZZZZZZZZZZZZ1"><v>1</v></c></row>`), false, ErrBroken},
		"xlsx: a text of negative number":  {sheet(`<row><c r="A1" t="s"><v>-1</v></c></row>`), false, ErrBroken},
		"xlsx: a text that is not there":   {sheet(`<row><c r="A1" t="s"><v>999999</v></c></row>`), false, ErrBroken},
		"xlsx: a value in two pieces":      {sheet(`<row><c r="A1"><v>1<!-- -->2</v></c></row>`), false, ErrBroken},
		"xlsx: a text in two pieces":       {sheet(`<row><c r="A1" t="inlineStr"><is><r><t>1</t></r><r><t>2</t></r></is></c></row>`), false, ErrBroken},
		"xlsx: a sheet cut off":            {book("xl/worksheets/sheet1.xml", `<worksheet><sheetData><row><c r="A1"><v>1</v></c></row>`), false, ErrBroken},
		"xlsx: room for a billion texts":   {book("xl/sharedStrings.xml", `<sst count="999999999999"></sst>`), false, ErrBroken},
		"xlsx: nested elements":            {sheet(strings.Repeat("<a>", 10_000)), false, ErrBroken},
		"xlsx: entities":                   {book("xl/workbook.xml", `<!DOCTYPE x [<!ENTITY a "aaaa">]><workbook>&a;</workbook>`), false, ErrBroken},
		"xlsx: a sheet that is no XML":     {book("xl/_rels/workbook.xml.rels", `<Relationships><Relationship Id="rId1" Target="media/a.bin"/></Relationships>`), false, ErrBroken},
		"pdf: bomb":                        {object(fmt.Sprintf("<< /Filter /FlateDecode /Length %d >>\nstream\n%s\nendstream", len(bomb), bomb)), false, ErrTooLarge},
		"pdf: a torn hexadecimal string":   {stream("BT /F1 9 Tf <4142"), true, nil},
		"pdf: a torn string":               {stream("BT /F1 9 Tf (((("), false, ErrBroken},
		"pdf: nested arrays":               {stream(strings.Repeat("[", 1<<20)), false, ErrBroken},
		"pdf: saved states":                {stream(strings.Repeat("q ", 1<<19)), false, ErrBroken},
		"pdf: too many characters":         {stream("BT /F1 9 Tf " + strings.Repeat("("+strings.Repeat("x", 1000)+") Tj ", 400)), false, ErrTooLarge},
		"pdf: too many instructions":       {object(fmt.Sprintf("<< /Filter /FlateDecode /Length %d >>\nstream\n%s\nendstream", len(manyOps), manyOps)), false, ErrBroken},
		"pdf: pages that hold each other":  {assemble([]string{"<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Count 9 /Kids [2 0 R] >>"}, false), false, ErrTooLarge},
		"pdf: a parent that is its child":  {assemble([]string{"<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Count 1 /Kids [3 0 R] >>", "<< /Type /Page /Parent 3 0 R /Contents 4 0 R >>", "<< /Length 9 >>\nstream\nBT (x) Tj\nendstream"}, false), false, ErrBroken},
		"pdf: a billion pages":             {assemble([]string{"<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Count 999999999 /Kids [] >>"}, false), false, ErrTooLarge},
		"pdf: a form that draws itself":    {assemble([]string{"<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Count 1 /Kids [3 0 R] >>", "<< /Type /Page /Resources << /XObject << /X 4 0 R >> >> /Contents 4 0 R >>", "<< /Subtype /Form /Resources << /XObject << /X 4 0 R >> >> /Length 11 >>\nstream\n/X Do /X Do\nendstream"}, false), false, ErrBroken},
		"pdf: an object stream in itself":  {packInItself(), false, ErrBroken},
		"pdf: a table with room for all":   {[]byte(strings.Replace(string(portable(pdfStyle{}, wellPage())), "/Size 5", "/Size 99999999999", 1)), true, nil},
		"pdf: a predictor with huge rows":  {object("<< /Filter /FlateDecode /DecodeParms << /Predictor 12 /Columns 99999999999 >> /Length 1 >>\nstream\nx\nendstream"), false, ErrBroken},
		"pdf: a character map of billions": {withCharacterMap("1 begincodespacerange <00000000> <FFFFFFFF> endcodespacerange 999999999 beginbfrange <0000> <FFFF> <0000> <0000> <FFFF> <0000> endbfrange endbfrange <41"), true, nil},
		"html: tables in tables":           {[]byte("<html>" + strings.Repeat("<table><tr><td>Iron", 20_000)), true, nil},
		"html: an open tag":                {[]byte("<html><table " + strings.Repeat("a ", 1<<20)), true, nil},
		"csv: quotes":                      {[]byte(strings.Repeat(`"a,"",`, 10_000) + "\n" + strings.Repeat(strings.Repeat(`"x",`, 500)+"\n", 500)), true, nil},
		"csv: an open quote on every line": {[]byte(strings.Repeat("a,\"b,c\n", 50_000)), true, nil},
	} {
		t.Run(name, func(t *testing.T) {
			within(t, func() {
				_, err := Read(c.in, Options{File: "h"})
				refusalOrNil(t, err)
				switch {
				case c.reads:
				case err == nil:
					t.Error("was read")
				case !errors.Is(err, c.err):
					t.Errorf("%v, want %v", err, c.err)
				}
			})
		})
	}
}

var manyOps = deflate([]byte(strings.Repeat("q Q ", 1<<19)))

// packInItself is a PDF whose cross-references say that an object stream is
// packed in itself.
func packInItself() []byte {
	index := deflate([]byte{0, 0, 0, 0, 2, 0, 2, 0, 2, 0, 2, 0})
	return []byte(fmt.Sprintf("%%PDF-1.5\n2 0 obj\n<< /Type /ObjStm /N 1 /First 4 /Length 4 >>\nstream\n2 0 \nendstream\nendobj\n3 0 obj\n<< /Type /XRef /Size 4 /Root 1 0 R /W [1 1 1] /Filter /FlateDecode /Length %d >>\nstream\n%s\nendstream\nendobj\nstartxref\n80\n%%%%EOF\n", len(index), index))
}

func withCharacterMap(m string) []byte {
	texts := []string{"<< /Type /Catalog /Pages 2 0 R >>", "<< /Type /Pages /Count 1 /Kids [4 0 R] >>", "<< /Type /Font /Subtype /Type0 /Encoding /Identity-H /ToUnicode 6 0 R >>",
		"<< /Type /Page /Resources << /Font << /F1 3 0 R >> >> /Contents 5 0 R >>", "<< /Length 26 >>\nstream\nBT /F1 9 Tf <00410042> Tj ET\nendstream", fmt.Sprintf("<< /Length %d >>\nstream\n%s\nendstream", len(m), m)}
	return assemble(texts, false)
}
