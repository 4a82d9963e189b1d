package labreport

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/schemas"
)

// WriteJSON writes an analysis as the JSON document that Read reads back to
// the same analysis.
func WriteJSON(w io.Writer, doc analysis.Document) error {
	e := json.NewEncoder(w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(doc)
}

// ownColumns are the columns of an analysis as CSV. The first, headed by the
// version of the document, numbers the samples, so that two of the same label
// stay apart; a row without a number holds doubts about the whole report, and
// a row without an analyte a sample without results.
var ownColumns = []string{analysis.Version, "label", "date", "source", "analyte", "fraction", "value", "low", "high", "nondetect", "limit", "unit", "basis", "as_written", "line", "note", "doubts"}

// WriteCSV writes an analysis as CSV (RFC 4180), one result a row, that opens
// in a spreadsheet and that Read reads back to the same analysis. Doubts stand
// in the last column as JSON.
func WriteCSV(w io.Writer, doc analysis.Document) error {
	out := csv.NewWriter(w)
	rows := [][]string{ownColumns}
	if len(doc.Warnings) > 0 {
		d, err := doubtsCell(doc.Warnings)
		if err != nil {
			return err
		}
		row := make([]string, len(ownColumns))
		row[len(row)-1] = d
		rows = append(rows, row)
	}
	for i, s := range doc.Samples {
		head := []string{strconv.Itoa(i + 1), s.Label, s.Date, s.Source}
		if len(s.Results) == 0 {
			rows = append(rows, append(head, make([]string, len(ownColumns)-len(head))...))
		}
		for _, r := range s.Results {
			d, err := doubtsCell(r.Warnings)
			if err != nil {
				return err
			}
			line := ""
			if r.Line > 0 {
				line = strconv.Itoa(r.Line)
			}
			rows = append(rows, append(slices.Clone(head), string(r.Analyte), string(r.Fraction), number(r.Value), number(r.Low), number(r.High),
				strconv.FormatBool(r.Nondetect), number(r.Limit), string(r.Unit), string(r.Basis), r.AsWritten, line, r.Note, d))
		}
	}
	for _, row := range rows {
		for i := range row {
			row[i] = guardCell(row[i])
		}
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}

func doubtsCell(ws []analysis.Warning) (string, error) {
	if len(ws) == 0 {
		return "", nil
	}
	b, err := json.Marshal(ws)
	return string(b), err
}

// guardCell keeps a spreadsheet from taking a text of the report for a
// formula: an apostrophe is put before it, and taken off again by Read.
func guardCell(s string) string {
	if s != "" && strings.IndexByte("=@'", s[0]) >= 0 {
		return "'" + s
	}
	return s
}

func unguardCell(s string) string {
	if len(s) > 1 && s[0] == '\'' && strings.IndexByte("=@'", s[1]) >= 0 {
		return s[1:]
	}
	return s
}

func isOwnCSV(text string) bool { return strings.HasPrefix(text, analysis.Version+",") }

// readOwnCSV reads what WriteCSV wrote.
func readOwnCSV(text string, o Options) (*Reading, error) {
	in := csv.NewReader(strings.NewReader(text))
	in.FieldsPerRecord = len(ownColumns)
	in.ReuseRecord = true
	r := &Reading{Format: "csv", Document: analysis.Document{Version: analysis.Version, Samples: []analysis.Sample{}, Warnings: []analysis.Warning{}}}
	var ps schemas.Problems
	places := map[string][2]int{}
	for {
		record, err := in.Read()
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil {
			return nil, notADocument(csvProblem(err, o), o)
		}
		if len(ps) > maxFaults {
			break
		}
		line, _ := in.FieldPos(0)
		c := ownRow{cells: record, fault: func(i int, found, want string) {
			l, col := in.FieldPos(i)
			ps = append(ps, schemas.Problem{File: o.File, Line: l, Column: col, Field: ownColumns[i], Found: found, Want: want, Remedy: "correct the cell", Err: schemas.ErrInvalid})
		}}
		switch {
		case record[0] == analysis.Version:
			if !slices.Equal(record, ownColumns) {
				c.fault(0, "other columns", "the columns "+strings.Join(ownColumns, ","))
			}
			r.Lines = append(r.Lines, Fate{Line: line, What: Explains, Why: "the heading of the table"})
		case record[0] == "":
			r.Document.Warnings = append(r.Document.Warnings, c.doubts()...)
			r.Lines = append(r.Lines, Fate{Line: line, What: Explains, Why: "doubts about the report"})
		default:
			f := Fate{Line: line, What: Explains, Why: "a sample without results"}
			if sample := c.sample(&r.Document); sample != nil && c.text(4) != "" {
				at := fmt.Sprintf("/samples/%d/results/%d", len(r.Document.Samples)-1, len(sample.Results))
				places[at] = [2]int{line, 0}
				sample.Results = append(sample.Results, c.result())
				f = Fate{Line: line, What: HasResult}
			}
			r.Lines = append(r.Lines, f)
		}
	}
	place := func(pointer string) (int, int) {
		for pointer != "" {
			if p, ok := places[pointer]; ok {
				return p[0], p[1]
			}
			pointer = pointer[:strings.LastIndexByte(pointer, '/')]
		}
		return 0, 0
	}
	if ps = append(ps, checkDocument(r.Document, o.File, place)...); len(ps) > 0 {
		return nil, notADocument(ps, o)
	}
	if len(r.Document.Samples) == 0 {
		return nil, refuse(ErrNoResults, o, 0, "an analysis without samples", "at least one sample", "write the rows below the heading")
	}
	return r, nil
}

func csvProblem(err error, o Options) schemas.Problems {
	p := schemas.Problem{File: o.File, Found: err.Error(), Want: "CSV with the columns of an analysis", Remedy: "write the analysis anew", Err: schemas.ErrInvalid}
	var pe *csv.ParseError
	if errors.As(err, &pe) {
		p.Line, p.Column, p.Found = pe.Line, pe.Column, pe.Err.Error()
	}
	return schemas.Problems{p}
}

// ownRow is one row of our own CSV.
type ownRow struct {
	cells []string
	fault func(i int, found, want string)
}

func (c ownRow) text(i int) string { return unguardCell(c.cells[i]) }

// sample returns the sample that the row belongs to: the last, or a new one
// when the row carries the next number.
func (c ownRow) sample(doc *analysis.Document) *analysis.Sample {
	n, err := strconv.Atoi(c.cells[0])
	have := len(doc.Samples)
	switch {
	case err != nil || n != have && n != have+1 || n == 0:
		c.fault(0, strconv.Quote(c.cells[0]), "the samples numbered 1, 2, 3 in this order")
		return nil
	case n == have+1:
		doc.Samples = append(doc.Samples, analysis.Sample{Label: c.text(1), Date: c.text(2), Source: c.text(3), Results: []analysis.Result{}})
	}
	return &doc.Samples[n-1]
}

func (c ownRow) result() analysis.Result {
	r := analysis.Result{
		Analyte: analyte.ID(c.text(4)), Fraction: analysis.Fraction(c.text(5)), Value: c.number(6), Low: c.number(7), High: c.number(8),
		Nondetect: c.text(9) == "true", Limit: c.number(10), Unit: unit.Unit(c.text(11)), Basis: analyte.Basis(c.text(12)),
		AsWritten: c.text(13), Note: c.text(15), Warnings: c.doubts(),
	}
	if f := r.Fraction; f != analysis.NotStated && f != analysis.Total && f != analysis.Dissolved {
		c.fault(5, strconv.Quote(string(f)), "total, dissolved or nothing")
	}
	if s := c.text(9); s != "true" && s != "false" {
		c.fault(9, strconv.Quote(s), "true or false")
	}
	if s := c.text(14); s != "" {
		n, err := strconv.Atoi(s)
		if err != nil || n < 1 {
			c.fault(14, strconv.Quote(s), "the number of a line")
		}
		r.Line = n
	}
	return r
}

func (c ownRow) number(i int) *float64 {
	s := c.text(i)
	if s == "" {
		return nil
	}
	v, ok := plainNumber(s)
	if !ok {
		c.fault(i, strconv.Quote(s), "a number with a decimal point, or nothing")
		return nil
	}
	return &v
}

func (c ownRow) doubts() []analysis.Warning {
	i := len(c.cells) - 1
	if c.text(i) == "" {
		return nil
	}
	d := json.NewDecoder(strings.NewReader(c.text(i)))
	d.DisallowUnknownFields()
	var ws []analysis.Warning
	if err := d.Decode(&ws); err != nil || d.More() {
		c.fault(i, "text that is no list of doubts", "the JSON that was written there, or nothing")
	}
	return ws
}
