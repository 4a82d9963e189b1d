package labreport

import (
	"bytes"
	"errors"
	"fmt"
	"io"

	"github.com/ledongthuc/pdf"
)

// readPDF reads the text of a PDF as rows, rebuilt from where each character
// stands. There is no table in a PDF; the rows that were recognised are shown
// back to the user with the reading.
//
// The file is first written anew with plain objects only (plainPDF), so that
// the library never follows a cross-reference of the input; the library then
// resolves objects, unpacks streams and knows the encodings; drawing
// instructions are read here, because its own interpreter has no bounds and
// does not end on a torn string.
func readPDF(input []byte, o Options) (src source, err error) {
	plain, err := plainPDF(input)
	if err != nil {
		return source{}, pdfRefusal(err, o)
	}
	defer func() {
		if r := recover(); r != nil {
			e, ok := r.(error)
			if !ok {
				e = fmt.Errorf("%v", r)
			}
			src, err = source{}, pdfRefusal(e, o)
		}
	}()
	file, err := pdf.NewReader(&countedReaderAt{r: bytes.NewReader(plain), left: maxPDFReads}, int64(len(plain)))
	if err != nil {
		return source{}, pdfRefusal(err, o)
	}
	n := file.NumPage()
	if n > maxPages {
		return source{}, pdfRefusal(pdfLimit{countOf(n, "page"), "at most " + countOf(maxPages, "page")}, o)
	}
	d := drawing{unpack: maxPDFUnpacks, glyphs: maxGlyphs, operators: maxOperators}
	src.format = "pdf"
	var m margins
	for i := range n {
		for _, r := range m.layOut(d.page(file.Page(i + 1))) {
			r.line = len(src.rows) + 1
			src.rows = append(src.rows, r)
		}
	}
	if len(src.rows) == 0 {
		return source{}, brokenInput(o, "a PDF that holds no text, perhaps a scan", "type the results, or have the pages read by OCR first")
	}
	return src, nil
}

// pdfLimit is the error of a PDF beyond one of the bounds.
type pdfLimit struct{ found, want string }

func (l pdfLimit) Error() string { return l.found }

// pdfRefusal makes the refusal for any fault of a PDF.
func pdfRefusal(err error, o Options) error {
	var l pdfLimit
	if errors.As(err, &l) {
		return refuse(ErrTooLarge, o, 0, "a PDF with "+l.found, l.want, "print the pages with the results to a PDF of their own, or copy their text")
	}
	return brokenInput(o, "a PDF that cannot be read ("+err.Error()+")", "open it in a viewer and copy the text, or print it to a new PDF")
}

// countedReaderAt bounds how often the library may read: a loop in the object
// graph reads for ever. It panics, as the library does on a fault.
type countedReaderAt struct {
	r    io.ReaderAt
	left int
}

func (c *countedReaderAt) ReadAt(p []byte, off int64) (int, error) {
	if c.left--; c.left < 0 {
		panic(pdfLimit{"more objects than can be followed", countOf(maxPDFReads, "read")})
	}
	return c.r.ReadAt(p, off)
}
