package labreport

import (
	"slices"
	"strings"

	"forebed/chem/analysis"
)

// merged is a table with one analyte a row and a group of columns for each of
// several samples: result and unit, or result, flag and limit. The names of
// the samples stand in the row above, in cells that were merged over the
// columns of their group.
type merged struct {
	grid
	head   int // index of the row of headings; the names stand above it
	groups []narrow
	labels []string
}

// mergedTable tells a table of this kind by its headings: a name of the
// analyte, then the same word for a result several times, with a name above
// each and nothing above the columns that follow it.
func mergedTable(t grid) (merged, bool) {
	for i := 1; i < min(len(t.rows), searchedForHeading); i++ {
		if len(t.headings(i)) < leastMerged {
			continue
		}
		for up := i - 1; up >= max(0, i-mergedAbove); up-- {
			if m, ok := mergedHeading(t, i, up); ok {
				return m, true
			}
			if m, ok := panelHeading(t, i, up); ok {
				return m, true
			}
		}
	}
	return merged{}, false
}

// leastMerged is how many headings such a row has: a name, and two results.
const leastMerged = 3

// mergedAbove bounds how many rows above the headings the names may stand:
// dates and numbers of samples may come between.
const mergedAbove = 4

// mergedHeading reads the headings in row i, with the names of the samples in
// the row up.
func mergedHeading(t grid, i, up int) (merged, bool) {
	m := merged{grid: t, head: i}
	var common fieldColumns
	above := t.rows[up]
	for _, h := range t.headings(i) {
		f, j := h.field, h.column
		label := cellAt(above, j)
		if f == fieldValue {
			if label == "" {
				return merged{}, false
			}
			m.groups = append(m.groups, narrow{grid: t, head: i})
			m.labels = append(m.labels, label)
		}
		columns := &common
		if n := len(m.groups); n > 0 {
			columns = &m.groups[n-1].columns
			if f != fieldValue && label != "" && label != m.labels[n-1] {
				continue // under a heading of its own: a limit, a remark
			}
		}
		if !columns.has(f) {
			columns[f] = []int{j}
		}
	}
	if !common.has(fieldName) || len(m.groups) < 2 {
		return merged{}, false
	}
	for k := range m.groups {
		own := &m.groups[k].columns
		for f := range common {
			if !own.has(field(f)) {
				own[f] = common[f]
			}
		}
		if !own.has(fieldUnit) || slices.Contains(m.labels[:k], m.labels[k]) {
			return merged{}, false
		}
	}
	return m, true
}

// panelHeading reads the headings of tables that stand side by side, each with a
// name of its own above its first column.
func panelHeading(t grid, i, up int) (merged, bool) {
	m := merged{grid: t, head: i}
	for _, h := range t.headings(i) {
		f, j := h.field, h.column
		if f == fieldName {
			m.groups = append(m.groups, narrow{grid: t, head: i})
			m.labels = append(m.labels, cellAt(t.rows[up], j))
		}
		if n := len(m.groups); n > 0 && !m.groups[n-1].columns.has(f) {
			m.groups[n-1].columns[f] = []int{j}
		}
	}
	if len(m.groups) < 2 {
		return merged{}, false
	}
	for k, g := range m.groups {
		_, isHeading := headingField(m.labels[k])
		if m.labels[k] == "" || isHeading || slices.Contains(m.labels[:k], m.labels[k]) || !g.columns.has(fieldValue) || !g.columns.has(fieldUnit) {
			return merged{}, false
		}
	}
	return m, true
}

// read reads every row: a result for each sample that has one, or explained.
func (m merged) read(format string) *Reading {
	r := &Reading{Format: format}
	samples := newGrouping()
	lost := lostCells(m.grid, m.head, m.head+1)
	for i, row := range m.rows {
		if row.text == "" {
			continue
		}
		f := Fate{Line: row.line}
		switch {
		case i < m.head-mergedAbove:
			f.Why = "stands before the heading of the table"
		case i <= m.head:
			f.What, f.Why = Explains, "the heading of the table"
		default:
			f = m.readRow(row, samples, lost(row))
		}
		r.Lines = append(r.Lines, f)
	}
	r.Document = samples.document(func(string) string { return "" })
	order := map[string]int{}
	for k, l := range m.labels {
		order[l] = k
	}
	slices.SortStableFunc(r.Document.Samples, func(a, b analysis.Sample) int { return order[a.Label] - order[b.Label] })
	r.Lines = spread(r.Lines, m.rows)
	return r
}

// readRow reads a row for each sample. The row counts as the best of what it
// is to them.
func (m merged) readRow(row row, samples *grouping, lost bool) Fate {
	best := Fate{Line: row.line}
	for k, n := range m.groups {
		n.label = m.labels[k]
		if f := n.readRow(row, samples, lost); k == 0 || f.What == HasResult || best.What == Ignored {
			best = f
		}
	}
	return best
}

// signs are cells that hold nothing but the sign of the number beside them.
var signs = []string{"<", ">", "≤", "≥", "<=", ">=", "=", "~"}

func isSign(c string) bool {
	return c != "" && len(c) <= 3 && slices.Contains(signs, c)
}

// joinSigns puts signs that have a column of their own before the numbers
// beside them, where both are read as one. A column holds signs if nothing else
// stands in it below its heading. The numbers are those on the side that has
// them, or that the headings tell; a column that could go with both is left.
func joinSigns(rows []row) {
	type tally struct {
		signs, others, right, left int
		heading                    row
	}
	columns := map[int]*tally{}
	for _, r := range rows {
		for j, c := range r.cells {
			if isSign(c) && columns[j] == nil {
				columns[j] = new(tally)
			}
		}
	}
	for j, t := range columns {
		for _, r := range rows {
			c := cellAt(r, j)
			switch {
			case isSign(c):
				t.signs++
				if opensNumber(cellAt(r, j+1)) {
					t.right++
				}
				if opensNumber(cellAt(r, j-1)) {
					t.left++
				}
			case c != "" && t.signs > 0:
				t.others++
			case c != "":
				t.heading = r
			}
		}
		toRight, toLeft := t.right == t.signs, t.left == t.signs
		if toRight && toLeft {
			right, _ := headingField(cellAt(t.heading, j+1))
			left, _ := headingField(cellAt(t.heading, j-1))
			_, flags := flagHeading(cellAt(t.heading, j))
			toLeft = left == fieldValue && right != fieldValue
			toRight = !toLeft && !flags && (right == fieldValue || slices.Contains(signHeadings, foldHeading(cellAt(t.heading, j))))
		}
		switch {
		case t.others > 0:
		case toRight:
			joinColumn(rows, j, j+1)
		case toLeft:
			joinColumn(rows, j, j-1)
		}
	}
}

// signHeadings are those of a column of signs that stands before its numbers
// (common practice, no source).
var signHeadings = []string{"sign", "symbol", "operator", "prefix", "modifier", "censor", "censored", "lessthan"}

// opensNumber tells whether a cell begins with a digit or a decimal mark.
func opensNumber(c string) bool {
	return c != "" && (isDigit(c[0]) || c[0] == '.')
}

// joinColumn joins the signs of column j with the numbers of another.
func joinColumn(rows []row, j, number int) {
	for i := range rows {
		cells := rows[i].cells
		if max(j, number) < len(cells) && isSign(cells[j]) {
			if cells[j] == "=" {
				cells[j] = ""
			}
			cells[j], cells[number] = "", cells[j]+cells[number]
			rows[i].text = strings.Join(cells, "\t")
		}
	}
}
