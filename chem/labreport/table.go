package labreport

import (
	"slices"

	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// column is one column of a table.
type column struct {
	role     role
	cell     int // index of its cell, for lines whose cells are counted
	x, xe    int // extent of its heading
	unit     stated
	hasUnit  bool
	basis    analyte.Basis
	total    bool
	dissolve bool
	class    class  // classes of the words of its heading
	label    string // its heading as written
	date     bool   // the heading is a date
}

// table is the heading that rows are read under.
type table struct {
	cols  []column
	index bool // columns are known by the number of their cell
	flow  bool // the heading has lost its columns: only their order is known
	line  int  // index of the heading line
	width int  // number of its cells
	qc    bool
}

// waters tells whether the table has a column for each of several waters.
func (t *table) waters() int { return t.count(roleWater) }

func (t *table) count(r role) int {
	n := 0
	for i := range t.cols {
		if t.cols[i].role == r {
			n++
		}
	}
	return n
}

func (t *table) has(r role) bool { return t.count(r) > 0 }

// find returns the first column of a role; -1 if there is none.
func (t *table) find(r role) int {
	for i := range t.cols {
		if t.cols[i].role == r {
			return i
		}
	}
	return -1
}

// skipCost is what it costs to leave a column empty. Where the places of the
// columns count, an empty one is seen: a limit must not move into it.
func (c *column) skipCost(byPlace bool) float64 {
	switch c.role {
	case roleResult, roleMean, roleWater:
		if byPlace {
			return 1
		}
		return 6
	case roleRange, roleUnit:
		return 0.6
	}
	return 0.2
}

// fit is what it costs to put an item into a column by what both are;
// impossible is more than anything else.
func fit(it *item, c *column) float64 {
	const impossible = 1000
	numeric := it.kind == itValue && it.val.number() && !it.val.counts
	switch c.role {
	case roleName:
		if it.kind == itName {
			return 0
		}
		return impossible
	case roleResult, roleMean, roleLow, roleHigh, roleRange, roleWater:
		switch {
		case numeric && c.role == roleRange && !it.val.isRange && it.val.op == 0:
			return 4
		case numeric && c.role == roleRange:
			return 0
		case numeric && it.val.isRange && c.role != roleResult && c.role != roleWater:
			return 3
		case numeric && c.hasUnit && it.val.hasUnit && c.unit.unit != it.val.unit.unit:
			return 2
		case numeric:
			return 0
		case it.kind == itValue:
			return 0.1
		case it.kind == itDash, it.kind == itName && it.symbol:
			return 1
		}
		return impossible
	case roleLimit:
		switch {
		case numeric:
			return 0.5
		case it.kind == itValue, it.kind == itWord, it.kind == itCode, it.kind == itDash:
			return 1
		case it.kind == itUnit, it.kind == itName:
			return 6
		}
	case roleRL, roleMDL:
		switch {
		case numeric && it.val.isRange:
			return 6
		case numeric:
			return 0.5
		case it.kind == itDash:
			return 0.5
		case it.kind == itValue && it.val.untested:
			return 1
		}
		return 12
	case roleOther, roleNumber, roleQC:
		switch {
		case numeric:
			return 1
		case it.kind == itUnit && it.unit.unit != unit.Percent:
			return 20
		case it.kind == itValue:
			return 2
		}
		return 1
	case roleUnit:
		switch {
		case it.kind == itUnit, it.kind == itDitto:
			return 0
		case it.kind == itDash:
			return 0.2
		case it.kind == itWord || it.kind == itBasis || it.kind == itName || it.kind == itPunct || it.kind == itValue && !it.val.number():
			return 2
		}
		return impossible
	case roleFlag:
		switch {
		case numeric:
			return 14
		case it.kind == itUnit || it.kind == itDate:
			return 14
		}
		return 0.4
	case roleMethod:
		switch it.kind {
		case itCode:
			return 0
		case itValue:
			if numeric {
				return 10
			}
			return 3
		case itUnit:
			return 14
		}
		return 0.6
	case roleDate:
		switch {
		case it.kind == itDate, it.kind == itCode:
			return 0
		case numeric && isYear(it.val.num.text):
			return 0
		case numeric:
			return 6
		case it.kind == itUnit:
			return 14
		}
		return 1
	case roleBasis, roleFraction, roleSample:
		switch {
		case numeric:
			return 8
		case it.kind == itUnit:
			return 10
		}
		return 0.5
	}
	if numeric {
		return 2
	}
	if it.kind == itUnit {
		return 8
	}
	return 1.5
}

func isYear(s string) bool { return year(s) && isDigit(s[2]) && isDigit(s[3]) }

// omitCost is what it costs to put an item into no column.
func omitCost(it *item) float64 {
	switch it.kind {
	case itValue:
		if it.val.number() && !it.val.counts {
			return 14
		}
		return 7
	case itUnit:
		return 12
	case itPunct:
		return 0.1
	case itDash, itCode, itDate:
		return 1.2
	}
	return 1.5
}

// arrange puts items into columns. A row that fills every column in order is
// put so whatever the places; else the cells count, or the places. In a whole
// row, with as many cells as the heading, no cell was lost. sure is false when neither helps and another way was possible.
func arrange(items []item, cols []column, byIndex, byPlace, whole bool, shift int) (put []int, sure bool) {
	if !byIndex {
		put, cost := align(items, cols, false, false, 0, -1)
		if fills(items, cols, put) {
			return put, true
		}
		if byPlace {
			put, _ = align(items, cols, false, true, 0, -1)
			return put, !omitsNumber(items, put)
		}
		return put, !omitsNumber(items, put) && !rivalled(items, cols, put, cost)
	}
	put, _ = align(items, cols, true, false, shift, -1)
	if whole {
		return put, true
	}
	for k := range items {
		if put[k] < 0 && (items[k].kind == itValue && items[k].val.number() && !items[k].val.counts || items[k].kind == itUnit) || put[k] >= 0 && fit(&items[k], &cols[put[k]]) >= 12 {
			put, _ = align(items, cols, false, false, 0, -1) // cells were lost on the way
			return put, fills(items, cols, put) || numbers(items) <= 1 && (hasUnit(items) || !slices.ContainsFunc(cols, func(c column) bool { return c.role == roleUnit }))
		}
	}
	return put, true
}

// rival is how much dearer the next best way to fill the column of the result
// must be, for the best one to be taken without a doubt.
const rival = 0.6

// rivalled tells whether another number of a row whose places are not known
// may be its result almost as well.
func rivalled(items []item, cols []column, put []int, cost float64) bool {
	for k := range items {
		if put[k] < 0 || !cols[put[k]].result() || items[k].kind != itValue || !items[k].val.number() {
			continue
		}
		other, c := align(items, cols, false, false, 0, k)
		if c-cost < rival && slices.ContainsFunc(other, func(n int) bool { return n >= 0 && cols[n].result() }) {
			return true
		}
	}
	return false
}

// result tells whether the column holds what was measured.
func (c *column) result() bool {
	return c.role == roleResult || c.role == roleMean || c.role == roleWater
}

// fills tells whether every column has an item, every item a column, and all
// fit.
func fills(items []item, cols []column, put []int) bool {
	used := 0
	last := -1
	for k := range items {
		if put[k] < 0 {
			if items[k].kind == itPunct {
				continue
			}
			return false
		}
		if put[k] != last {
			used++
			last = put[k]
			if fit(&items[k], &cols[put[k]]) > 1.2 {
				return false
			}
		}
	}
	return used == len(cols)
}

// omitsNumber tells whether a number found no column.
func omitsNumber(items []item, put []int) bool {
	for k := range items {
		if put[k] < 0 && items[k].kind == itValue && items[k].val.number() && !items[k].val.counts && items[k].depth == 0 {
			return true
		}
	}
	return false
}

func hasUnit(items []item) bool {
	return slices.ContainsFunc(items, func(it item) bool { return it.kind == itUnit || it.kind == itValue && it.val.hasUnit })
}

func numbers(items []item) int {
	n := 0
	for k := range items {
		if items[k].kind == itValue && items[k].val.number() && !items[k].val.counts {
			n++
		}
	}
	return n
}

// align puts items into columns, in order, at the least cost. It returns the
// column of each item, or -1, and the cost. Several items may share a column if
// they stand side by side. The item with the index barred is put into no column
// of results.
func align(items []item, cols []column, byIndex, byPlace bool, shift, barred int) ([]int, float64) {
	n, m := len(items), len(cols)
	cost := make([]float64, (n+1)*(m+1))
	from := make([]int8, (n+1)*(m+1))
	at := func(i, j int) int { return i*(m+1) + j }
	const huge = 1e9
	for k := range cost {
		cost[k] = huge
	}
	cost[0] = 0
	relax := func(k int, c float64, f int8) {
		if c < cost[k] {
			cost[k], from[k] = c, f
		}
	}
	for i := 0; i <= n; i++ {
		for j := 0; j <= m; j++ {
			c := cost[at(i, j)]
			if c >= huge {
				continue
			}
			if j < m {
				relax(at(i, j+1), c+cols[j].skipCost(byPlace), 1)
			}
			if i < n {
				relax(at(i+1, j), c+omitCost(&items[i]), 2)
			}
			if i < n && j < m && !(i == barred && cols[j].result()) {
				relax(at(i+1, j+1), c+fit(&items[i], &cols[j])+place(&items[i], &cols[j], byIndex, byPlace, shift), 3)
			}
			if i < n && j > 0 && i > 0 && from[at(i, j)] >= 3 && shares(&items[i-1], &items[i], &cols[j-1]) {
				relax(at(i+1, j), c+shareCost(&items[i-1], &items[i]), 4)
			}
		}
	}
	out := make([]int, n)
	i, j := n, m
	for i > 0 || j > 0 {
		switch from[at(i, j)] {
		case 1:
			j--
		case 2:
			i--
			out[i] = -1
		case 3:
			i, j = i-1, j-1
			out[i] = j
		case 4:
			i--
			out[i] = j - 1
		default:
			return out, cost[at(n, m)]
		}
	}
	return out, cost[at(n, m)]
}

// shares tells whether an item may join the one before it in the same column:
// words beside words, a basis behind a unit, a remark behind a limit.
func shares(prev, it *item, c *column) bool {
	if prev.cell != it.cell && it.x-prev.xe > 1 {
		return false
	}
	numeric := it.kind == itValue && it.val.number()
	switch c.role {
	case roleUnit:
		return it.kind == itBasis || it.kind == itPunct || it.kind == itWord || it.kind == itName || it.kind == itUnit
	case roleResult, roleMean, roleWater:
		return it.kind == itPunct || it.kind == itWord || it.kind == itBasis || it.kind == itUnit || it.kind == itValue && !numeric || it.kind == itCode || it.kind == itName && it.symbol
	case roleRange:
		return it.kind == itDash || prev.kind == itDash || prev.kind == itValue && !prev.val.number()
	case roleLimit, roleMethod, roleFlag, roleDate, roleOther, roleNone, roleSample:
		return (it.kind != itUnit || c.role == roleLimit) && !(numeric && it.depth == 0)
	}
	return !numeric
}

// shareCost is what it costs to put an item beside the one before it.
func shareCost(prev, it *item) float64 {
	if prev.cell != it.cell {
		return 1
	}
	switch it.kind {
	case itPunct:
		return 0
	case itValue:
		return 1
	case itDash:
		return 0.6 // it stands for an empty cell of its own
	}
	return 0.05
}

// place is what it costs to put an item into a column by where both stand.
func place(it *item, c *column, byIndex, byPlace bool, shift int) float64 {
	if byIndex {
		if it.cell == c.cell+shift {
			return 0
		}
		return 1000
	}
	if !byPlace {
		return 0
	}
	if it.x < c.xe && c.x < it.xe {
		return 0
	}
	d := min(abs(it.x-c.x), abs(it.xe-c.xe), abs(it.x+it.xe-c.x-c.xe)/2)
	return 0.5 * float64(min(d, 24))
}

func abs(n int) int { return max(n, -n) }
