package labreport

import (
	"archive/zip"
	"bytes"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"github.com/thedatashed/xlsxreader"
)

// readXLSX reads the sheets of a workbook as rows with cells. A sheet of a
// workbook with several is headed by a row with its name. Lines are counted
// over all sheets, without empty rows.
//
// The library does the reading; admitXLSX looks the archive through first,
// because the library has no bounds, stops silently where the XML breaks, and
// indexes its table of strings with whatever number a cell holds.
func readXLSX(input []byte, o Options) (src source, err error) {
	archive, err := zip.NewReader(bytes.NewReader(input), int64(len(input)))
	if err != nil {
		return source{}, brokenInput(o, "a damaged archive: "+err.Error(), "save the workbook again")
	}
	if err := admitXLSX(archive, o); err != nil {
		return source{}, err
	}
	defer func() {
		if r := recover(); r != nil {
			src, err = source{}, brokenInput(o, "a damaged workbook", "save it again, or as CSV")
		}
	}()
	book, err := xlsxreader.NewReaderZip(archive)
	if err != nil {
		return source{}, brokenInput(o, "a damaged workbook: "+err.Error(), "save it again, or as CSV")
	}
	src.format = "xlsx"
	for _, name := range book.Sheets {
		rows, err := sheetRows(book, name, o)
		if err != nil {
			return source{}, err
		}
		if len(rows) > 0 && len(book.Sheets) > 1 {
			src.rows = append(src.rows, row{text: name})
		}
		if len(rows) > 0 && len(book.Sheets) > 1 {
			src.sheets = append(src.sheets, sheet{name, len(src.rows), len(src.rows) + len(rows)})
		}
		src.rows = append(src.rows, rows...)
	}
	for i := range src.rows {
		src.rows[i].line = i + 1
	}
	return src, nil
}

// sheetRows reads one sheet. The channel is always drained: the library has
// no other way to end its goroutine.
func sheetRows(book *xlsxreader.XlsxFile, name string, o Options) (rows []row, err error) {
	for r := range book.ReadRows(name) {
		if r.Error != nil && err == nil {
			err = brokenInput(o, fmt.Sprintf("a cell that cannot be read in row %d of the sheet %q: %v", r.Index, name, r.Error), "save the workbook again, or as CSV")
		}
		if err != nil {
			continue
		}
		var cells []string
		for _, c := range r.Cells {
			i := c.ColumnIndex()
			if i < 0 || i >= maxSheetColumns {
				err = refuse(ErrTooLarge, o, r.Index, "a cell in column "+c.Column, countOf(maxSheetColumns, "column")+" at most", "delete the columns that hold no results")
				break
			}
			for len(cells) <= i {
				cells = append(cells, "")
			}
			cells[i] = cellText(c)
		}
		if text := strings.Join(cells, "\t"); strings.TrimSpace(text) != "" {
			rows = append(rows, row{text: text, cells: cells})
		}
	}
	return rows, err
}

// cellText is a cell as the spreadsheet shows it: a number with at most 15
// digits (0.0236, stored as 0.023600000000000003), text on one line.
func cellText(c xlsxreader.Cell) string {
	if c.Type == xlsxreader.TypeNumerical && len(c.Value) > 15 {
		if v, err := strconv.ParseFloat(c.Value, 64); err == nil && !math.IsInf(v, 0) && !math.IsNaN(v) {
			return strconv.FormatFloat(v, 'g', 15, 64)
		}
	}
	return strings.Join(strings.FieldsFunc(c.Value, func(r rune) bool { return strings.ContainsRune("\t\r\n", r) }), " ")
}

var errUnpacked = errors.New("the workbook unpacks to more than the limit")

// admitXLSX walks all XML of a workbook once, within bounds.
func admitXLSX(archive *zip.Reader, o Options) error {
	tooLarge := func(found, want string) error {
		return refuse(ErrTooLarge, o, 0, found, want, "save the sheet with the results as CSV")
	}
	if len(archive.File) > maxParts {
		return tooLarge(countOf(len(archive.File), "file")+" in the archive", "at most "+countOf(maxParts, "file"))
	}
	w := bookWalk{left: maxUnpacked, opaque: map[string]bool{}}
	workbook := false
	for _, f := range archive.File {
		workbook = workbook || f.Name == "xl/workbook.xml"
		if ext := path.Ext(f.Name); ext != ".xml" && ext != ".rels" {
			continue
		}
		switch err := w.part(f); {
		case errors.Is(err, errUnpacked):
			return tooLarge("a workbook that unpacks to more", "at most "+sizeOf(maxUnpacked)+" of XML")
		case err != nil:
			return brokenInput(o, fmt.Sprintf("a damaged workbook: %s: %v", f.Name, err), "save it again, or as CSV")
		case w.rows > maxSheetRows:
			return tooLarge("more rows", "at most "+countOf(maxSheetRows, "row")+" in all sheets")
		case w.cells > maxSheetCells:
			return tooLarge("more cells", "at most "+countOf(maxSheetCells, "cell")+" in all sheets")
		}
	}
	switch {
	case !workbook:
		return brokenInput(o, "an archive that is no XLSX workbook", "unpack it, or save the report as XLSX, CSV or PDF")
	case w.asked > w.strings:
		return brokenInput(o, "a workbook with a cell whose text is missing", "save it again, or as CSV")
	case slices.ContainsFunc(w.sheets, func(id string) bool { return w.opaque[id] }):
		return brokenInput(o, "a workbook with a sheet that is no XML", "save it again, or as CSV")
	}
	return nil
}

// bookWalk is what the walk over a workbook has seen.
type bookWalk struct {
	left        int // bytes that may still be unpacked
	rows, cells int
	strings     int             // shared strings there are
	asked       int             // of those, how many the cells need
	opaque      map[string]bool // relationships to parts that were not walked
	sheets      []string        // relationships of the sheets
}

// counted is a reader that counts down what may be unpacked.
type counted struct {
	r    io.Reader
	left *int
}

func (c counted) Read(p []byte) (int, error) {
	if *c.left <= 0 {
		return 0, errUnpacked
	}
	n, err := c.r.Read(p[:min(len(p), *c.left)])
	*c.left -= n
	return n, err
}

// part walks one part to its end: it must be well formed, and hold nothing
// that the library would read wrongly or die of.
func (w *bookWalk) part(f *zip.File) error {
	r, err := f.Open()
	if err != nil {
		return err
	}
	defer r.Close()
	d := xml.NewDecoder(counted{r, &w.left})
	p := partWalk{book: w}
	for {
		t, err := d.RawToken()
		if errors.Is(err, io.EOF) {
			if len(p.open) > 0 {
				return fmt.Errorf("<%s> is not closed", p.open[len(p.open)-1].Local)
			}
			return nil
		}
		if err == nil {
			err = p.token(t)
		}
		if err != nil {
			return err
		}
	}
}

// partWalk is the state of the walk over one part.
type partWalk struct {
	book     *bookWalk
	open     []xml.Name // open elements
	cellType string
	texts    int // runs of characters in the open value
	runs     int // t elements in the open inline string
}

func (p *partWalk) token(t xml.Token) error {
	switch t := t.(type) {
	case xml.StartElement:
		return p.start(t)
	case xml.EndElement:
		n := len(p.open)
		if n == 0 || p.open[n-1] != t.Name {
			return fmt.Errorf("</%s> closes nothing", t.Name.Local)
		}
		p.open = p.open[:n-1]
	case xml.CharData:
		return p.text(string(t))
	case xml.Comment, xml.ProcInst:
		if p.in("v") || p.in("t") {
			return errors.New("a comment inside a value")
		}
	case xml.Directive:
		return errors.New("a document type")
	}
	return nil
}

func (p *partWalk) in(name string) bool {
	return len(p.open) > 0 && p.open[len(p.open)-1].Local == name
}

func (p *partWalk) inside(name string) bool {
	return slices.ContainsFunc(p.open, func(n xml.Name) bool { return n.Local == name })
}

func (p *partWalk) start(t xml.StartElement) error {
	name := t.Name.Local
	attr := func(name string) string {
		for _, a := range t.Attr {
			if a.Name.Local == name {
				return a.Value
			}
		}
		return ""
	}
	if p.in("v") || p.in("t") {
		return errors.New("an element inside a value")
	}
	if p.open = append(p.open, t.Name); len(p.open) > maxXMLDepth {
		return errors.New("elements nested too deep")
	}
	switch {
	case name == "row":
		p.book.rows++
	case name == "c":
		p.book.cells++
		if p.cellType = attr("t"); len(attr("r")) > 12 {
			return errors.New("a cell with an impossible address")
		}
	case name == "is":
		p.runs = 0
	case name == "t" && p.inside("is"):
		if p.runs++; p.runs > 1 {
			return errors.New("a text in several pieces") // the library would keep the first only
		}
	case name == "sst":
		if n := attr("count"); len(n) > 6 {
			return errors.New("an impossible count of texts") // the library would make room for them
		}
	case name == "si":
		p.book.strings++
	case name == "Relationship" && path.Ext(attr("Target")) != ".xml":
		p.book.opaque[attr("Id")] = true
	case name == "sheet":
		p.book.sheets = append(p.book.sheets, attr("id"))
	case name == "rPh":
		return errors.New("phonetic text") // the library would put it in the place of the text
	}
	p.texts = 0
	return nil
}

func (p *partWalk) text(s string) error {
	if !p.in("v") && !p.in("t") {
		return nil
	}
	if p.texts++; p.texts > 1 {
		return errors.New("a value in several pieces") // the library would keep the first only
	}
	if p.in("v") && p.cellType == "s" {
		n, err := strconv.Atoi(s)
		if err != nil || n < 0 {
			return fmt.Errorf("a cell that asks for the text %q", s)
		}
		p.book.asked = max(p.book.asked, n+1)
	}
	return nil
}
