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
		for up := i - 1; up >= max(0, i-mergedAbove); up-- {
			if m, ok := mergedHeading(t, i, up); ok {
				return m, true
			}
		}
	}
	return merged{}, false
}

// mergedAbove bounds how many rows above the headings the names may stand:
// dates and numbers of samples may come between.
const mergedAbove = 4

// mergedHeading reads the headings in row i, with the names of the samples in
// the row up.
func mergedHeading(t grid, i, up int) (merged, bool) {
	m := merged{grid: t, head: i}
	var common fieldColumns
	above, cells := t.rows[up], t.rows[i].cells
	for j, c := range cells {
		f, ok := headingField(c)
		if !ok {
			continue
		}
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

// signs are cells that hold nothing but the sign of the number beside them,
// signHeadings those of a column of such cells (common practice, no source).
var (
	signs        = []string{"<", ">", "≤", "≥", "<=", ">="}
	signHeadings = []string{"sign", "symbol", "operator", "prefix", "modifier", "censor", "censored", "lessthan"}
)

// joinSigns puts a sign that has a column of its own before the number on its
// right, where both are read as one: the column says that it holds signs, or
// stands before that of the results.
func joinSigns(rows []row) {
	for i, head := range rows[:min(len(rows), searchedForHeading)] {
		for j := range head.cells[:max(0, len(head.cells)-1)] {
			f, known := headingField(head.cells[j+1])
			if slices.Contains(signHeadings, foldHeading(head.cells[j])) || known && f == fieldValue {
				joinColumn(rows[i+1:], j)
			}
		}
	}
}

// joinColumn joins the signs of column j with the numbers on their right.
func joinColumn(rows []row, j int) {
	for i := range rows {
		cells := rows[i].cells
		if j+1 < len(cells) && slices.Contains(signs, cells[j]) && cells[j+1] != "" && (isDigit(cells[j+1][0]) || cells[j+1][0] == '.') {
			cells[j], cells[j+1] = "", cells[j]+cells[j+1]
			rows[i].text = strings.Join(cells, "\t")
		}
	}
}
