package labreport

import (
	"strings"
)

// turned is a table with one analyte a row and one sample a column, whose
// samples are told by rows of their own above: "Sample ID", "Date sampled". It
// is read as the table with one sample a row that it becomes when it is turned.
// Tables of this shape whose samples stand in the heading itself are left to
// the reader of layouts.
type turned struct {
	wide
	from grid
}

// Bounds of a table that is worth turning.
const turnedRows, turnedColumns = 400, 60

// turnedTable tells a table of this kind: a row above the analytes whose first
// cell names samples or places, and at least two names behind it.
func turnedTable(t grid) (turned, bool) {
	if len(t.rows) > turnedRows {
		return turned{}, false
	}
	keys, width := -1, 0
	for i, r := range t.rows {
		width = max(width, len(r.cells))
		if keys < 0 && i < searchedForHeading && namesSamples(r) {
			keys = i
		}
	}
	if keys < 0 || width > turnedColumns {
		return turned{}, false
	}
	for _, r := range t.rows[keys+1:] {
		if t.delimited && filled(r) > 1 && len(r.cells) < len(t.rows[keys].cells) {
			return turned{}, false // a cell may be lost, and what stands behind it under another sample
		}
	}
	flat := grid{style: t.style, notes: t.notes}
	for j := range width {
		r := row{line: j + 1}
		for _, from := range t.rows[keys:] {
			r.cells = append(r.cells, cellAt(from, j))
		}
		r.text = strings.Trim(strings.Join(r.cells, "\t"), "\t")
		flat.rows = append(flat.rows, r)
	}
	w, ok := wideTable(flat)
	if !ok || w.head != 0 {
		return turned{}, false
	}
	for j := range w.columns {
		c := &w.columns[j]
		c.line = t.rows[keys+j].line
		if f, ok := headingField(c.text); ok && !c.isResult() {
			switch f {
			case fieldLocation:
				w.label = j
			case fieldSample:
				w.sample = j
			case fieldDate:
				w.date = j
			}
		}
	}
	if w.label < 0 || w.columns[w.label].isResult() {
		w.label = w.sample
	}
	return turned{wide: w, from: t}, true
}

// namesSamples tells a row that names samples: a heading for them, and at least
// two names.
func namesSamples(r row) bool {
	if len(r.cells) < 3 {
		return false
	}
	f, ok := headingField(r.cells[0])
	if !ok || f != fieldLocation && f != fieldSample {
		return false
	}
	names := 0
	for _, c := range r.cells[1:] {
		if _, isHeading := headingField(c); isHeading {
			return false
		}
		if c != "" {
			names++
		}
	}
	return names >= 2
}

// read reads the turned table, and tells the fate of the lines as they stood.
func (w turned) read(format string) *Reading {
	r := w.wide.read()
	r.Format = format
	used := map[int]bool{}
	for i := range r.Document.Samples {
		for _, res := range r.Document.Samples[i].Results {
			used[res.Line] = true
		}
	}
	r.Lines = nil
	for _, from := range w.from.rows {
		f := Fate{Line: from.line, Why: "no result of an analyte"}
		switch {
		case from.text == "":
			continue
		case used[from.line]:
			f = Fate{Line: from.line, What: HasResult}
		case namesSamples(from):
			f.What, f.Why = Explains, "the samples of the columns"
		}
		r.Lines = append(r.Lines, f)
	}
	return r
}
