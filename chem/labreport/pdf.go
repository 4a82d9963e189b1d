package labreport

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"unicode/utf8"

	"github.com/ledongthuc/pdf"
)

// Bounds on a PDF. Each is named in the refusal of a larger file.
const (
	maxPages      = 60        // pages
	maxPDFStream  = 2 << 20   // bytes of one unpacked stream
	maxPDFUnpacks = 24 << 20  // bytes unpacked in all
	maxPDFReads   = 40_000    // times that the library may ask for bytes
	maxGlyphs     = 200_000   // characters on all pages
	maxOperators  = 2_000_000 // drawing instructions on all pages
	maxForms      = 4         // depth of drawings within drawings
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

// glyph is one character on a page, in points from the lower left corner of
// the page as it is shown.
type glyph struct {
	x, y  float64
	end   float64 // x where the next one starts
	size  float64 // font size
	text  string
	order int     // in which it was drawn
	blank bool    // one blank is drawn before it
	wide  float64 // its own width
}

// lineTolerance is how far, in points, characters of one line may stand apart
// in height: subscripts do.
const lineTolerance = 3

// Gaps between characters, in font sizes: those that part cells, those that
// part cells where other lines have a cell beginning at the same place, and
// those that part words. Measured on files of four generators.
const (
	cellGap   = 0.8
	narrowGap = 0.32
	blankGap  = 0.15
	wordGap   = 1.5 // around a blank that is drawn: words stretched to fill a line
)

// alignedLines is how many lines must have a word begin at one place, behind
// more than a blank, for that place to be the edge of a column.
const alignedLines = 3

// margins is how points become columns of characters, learnt from the first
// page with text: its left edge, and points a column.
type margins struct{ left, pitch float64 }

// layOut gathers the characters of a page into lines: by height, then from
// left to right, set in columns of blanks as on the page. Where a cell is
// empty, the next one still stands under its heading then, even one on an
// earlier page.
func (m *margins) layOut(gs []glyph) []row {
	slices.SortStableFunc(gs, func(a, b glyph) int { return cmp.Compare(b.y, a.y) })
	var lines [][]glyph
	for len(gs) > 0 {
		n := 1
		for n < len(gs) && gs[0].y-gs[n].y <= lineTolerance {
			n++
		}
		line := gs[:n]
		slices.SortStableFunc(line, func(a, b glyph) int { return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.order, b.order)) })
		if line = shown(line); len(line) > 0 {
			lines = append(lines, line)
		}
		gs = gs[n:]
	}
	// Where words begin behind more than a blank, by whole points.
	begins := map[int]int{}
	left, width, letters := math.Inf(1), 0.0, 0
	for _, line := range lines {
		left = math.Min(left, line[0].x)
		for i, g := range line {
			width, letters = width+g.wide, letters+1
			if i > 0 && !g.blank && g.x-line[i-1].end > narrowGap*g.size {
				begins[int(math.Round(g.x))]++
			}
		}
	}
	if m.pitch == 0 && letters > 0 {
		// A little less than the mean letter, so that a cell seldom outgrows its place.
		m.left, m.pitch = left, math.Max(0.8*width/float64(letters), 0.5)
	}
	var rows []row
	for _, line := range lines {
		rows = append(rows, row{text: m.setLine(line, begins)})
	}
	return rows
}

// shown leaves out blanks, noting where one stood, and characters drawn twice
// to look bold; end then never lies left of that of a character before.
func shown(line []glyph) []glyph {
	var out []glyph
	blanks := 0
	for _, g := range line {
		if strings.TrimSpace(g.text) == "" {
			blanks++
			continue
		}
		g.blank, g.wide = blanks == 1, g.end-g.x
		if n := len(out); n > 0 {
			if last := out[n-1]; g.text == last.text && math.Abs(g.x-last.x) < 0.1*g.size && math.Abs(g.y-last.y) < 0.1*g.size {
				continue
			}
			g.end = math.Max(g.end, out[n-1].end)
		}
		blanks = 0
		out = append(out, g)
	}
	return out
}

// maxLineText bounds the text of one line, in characters: a page that says it
// is kilometres wide.
const maxLineText = 1000

// setLine sets a line in columns of blanks. Two blanks at least part cells.
func (m *margins) setLine(line []glyph, begins map[int]int) string {
	var b strings.Builder
	at := 0 // characters set so far
	pad := func(to int) {
		for ; at < min(to, maxLineText); at++ {
			b.WriteByte(' ')
		}
	}
	for i, g := range line {
		gap := math.Inf(1)
		if i > 0 {
			gap = g.x - line[i-1].end
		}
		near := int(math.Round(g.x))
		edge := begins[near-1]+begins[near]+begins[near+1] >= alignedLines
		switch {
		case i > 0 && g.blank && gap <= wordGap*g.size, gap <= narrowGap*g.size && gap > blankGap*g.size:
			pad(at + 1)
		case gap > cellGap*g.size, gap > narrowGap*g.size && edge:
			if i > 0 {
				pad(at + 2)
			}
			pad(int(math.Min((g.x-m.left)/m.pitch, maxLineText)))
		case gap > blankGap*g.size:
			pad(at + 1)
		}
		b.WriteString(g.text)
		at += utf8.RuneCountInString(g.text)
	}
	return b.String()
}

// ligatures are the joined letters of a font, as letters (Unicode FB00-FB06).
var ligatures = strings.NewReplacer("ﬀ", "ff", "ﬁ", "fi", "ﬂ", "fl", "ﬃ", "ffi", "ﬄ", "ffl", "ﬅ", "st", "ﬆ", "st", "\u00ad", "", "\t", " ", "\n", " ", "\r", " ")
