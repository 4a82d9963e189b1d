package labreport

import (
	"slices"
	"strings"

	"forebed/chem/unit"
)

// isTidy tells whether a table with one result a row, without a column for the
// unit or the sample, leaves nothing open that only its layout could tell:
// further headings say what stands beside the values, every row has its cells,
// no other numbers stand under headings that are not understood, and the units
// are stated.
func (n narrow) isTidy() bool {
	further := 0
	for _, f := range []field{fieldUnit, fieldQualifier, fieldReporting, fieldDetection, fieldFraction, fieldDate, fieldSample, fieldLocation, fieldCondition, fieldDetected, fieldCensored, fieldCode, fieldStatus, fieldRemark} {
		if n.columns.has(f) {
			further++
		}
	}
	return further >= leastFurther && n.isPlain() && n.openNumbers() < 0 && n.statesUnits()
}

// leastFurther is how many headings beside name and value must be understood.
const leastFurther = 2

// body are the rows below the heading, up to the last that has a name and
// something beside it.
func (n narrow) body() []row {
	last := len(n.rows) - 1
	for last > n.head && (n.cell(n.rows[last].cells, fieldName) == "" || filled(n.rows[last]) < 3) {
		last--
	}
	return n.rows[n.head+1 : last+1]
}

// filled counts the cells of a row that are not empty.
func filled(r row) int {
	full := 0
	for _, c := range r.cells {
		if c != "" {
			full++
		}
	}
	return full
}

// isPlain tells whether all rows of the body are alike: no sections, no second
// heading.
func (n narrow) isPlain() bool {
	body := n.body()
	return len(body) > 0 && !slices.ContainsFunc(body, func(r row) bool {
		if r.text == "" {
			return false
		}
		f, isHeading := headingField(n.cell(r.cells, fieldName))
		return filled(r) < 2 || isHeading && f == fieldName
	})
}

// plainWords stand in headings of columns that change nothing about a result
// (common practice, no source).
var plainWords = []string{"mcl", "smcl", "mac", "limit", "limits", "standard", "standards", "guideline", "guidelines", "goal", "criteria", "df", "dilution", "uncertainty", "cas", "code", "casno", "casrn", "batch", "rpd", "rec", "recovery", "error", "sd", "order", "seq", "page", "year", "lat", "lon", "latitude", "longitude", "depth", "elevation", "easting", "northing", "time", "analyzed", "analysed", "prepared", "method", "row", "rows", "line", "nr", "no", "number", "id", "zip", "epsg", "price"}

// openNumbers returns the first column that mostly holds numbers under a
// heading that is not understood, or -1: an average, another sample, another unit.
func (n narrow) openNumbers() int {
	heads := n.rows[n.head].cells
	for j, h := range heads {
		if _, known := headingField(h); known || slices.ContainsFunc(headingWords(h), func(w string) bool { return slices.Contains(plainWords, w) }) {
			continue
		}
		numbers, others := 0, 0
		for _, r := range n.body() {
			switch c := cellAt(r, j); readMeasure(c, n.style).kind {
			case measureEmpty:
			case measureNumber, measureBelow, measureAbove:
				numbers++
			default:
				others++
			}
		}
		if numbers > others {
			return j
		}
	}
	return -1
}

// statesUnits tells whether a column of units stands in the table, or most
// names or values carry theirs.
func (n narrow) statesUnits() bool {
	if n.columns.has(fieldUnit) {
		return true
	}
	with, without := 0, 0
	for _, r := range n.body()[:min(50, len(n.body()))] {
		h, ok := n.named(r)
		if !ok || h.ID == "ph" {
			continue
		}
		m, _ := n.value(r)
		limit := readMeasure(n.cell(r.cells, fieldReporting), n.style)
		if h.unit != unit.None || m.unit.unit != unit.None || limit.unit.unit != unit.None {
			with++
		} else {
			without++
		}
	}
	return with > 4*without
}

// preface tells what the lines above and below a table say about its sample
// and its flags.
func (n narrow) preface() *reader {
	end := n.head + 1 + len(n.body())
	var rows []row
	for i, r := range n.rows {
		if (i < n.head || i >= end) && strings.TrimSpace(r.text) != "" {
			rows = append(rows, r)
		}
	}
	return surroundings(rows)
}
