package labreport

import (
	"strings"

	"forebed/chem/unit"
)

// across reads a table whose analytes stand side by side in the heading, with
// one sample a line below. It returns the number of lines read.
func (r *reader) across(i int) int {
	cols := r.acrossHeading(i)
	if cols == nil {
		return 0
	}
	l := &r.lines[i]
	flow := l.cells <= 2 && !l.index
	rows := 0
	j := i + 1
	lastData := i
	for ; j < r.real; j++ {
		if r.lines[j].blank || r.isRule(j) {
			if rows > 0 && r.lines[j].blank {
				break
			}
			continue
		}
		if r.acrossHeading(j) != nil {
			break
		}
		switch r.acrossKind(j) {
		case shUnit:
			r.acrossUnits(cols, j, flow)
			r.explains(j)
		case shValue:
			r.acrossRow(cols, j, flow)
			rows++
			lastData = j
		case shHead:
			r.ignore(j, "limits, not results")
		default:
			if rows == 0 {
				if j > i+3 {
					return 0
				}
				continue
			}
			goto done
		}
	}
done:
	if rows == 0 {
		return 0
	}
	r.explains(i)
	return lastData + 1 - i
}

// test is an analyte that heads a column.
type test struct {
	named
	own  bool // the unit stands in the heading itself
	led  bool // words before the first analyte head columns of their own
	cell int
	x    int
	xe   int
}

// acrossHeading returns the analytes of a heading line; nil if it is none.
func (r *reader) acrossHeading(i int) []test {
	items := r.items[i]
	l := &r.lines[i]
	if len(items) < 3 {
		return nil
	}
	var out []test
	others := 0
	for k := 0; k < len(items); {
		it := &items[k]
		switch {
		case it.kind == itName && (!it.symbol || k == 0 || items[k-1].cell != it.cell || items[k-1].kind != itWord):
			nm := r.nameAt(items, k, l)
			// columns side by side: the name ends with its cell, or before the next name
			for n := k + 1; n < nm.next; n++ {
				if items[n].kind == itName && items[n].cell != it.cell {
					nm.next = n
				}
			}
			out = append(out, test{named: nm, own: nm.hasUnit, cell: it.cell, x: it.x, xe: items[nm.next-1].xe})
			k = nm.next
			continue
		case it.kind == itValue && it.val.number() && it.depth == 0:
			return nil
		case it.kind == itWord || it.kind == itValue:
			if it.role == roleNone || it.role == roleUnit || it.role == roleLimit || it.role == roleResult {
				if !(len(out) == 0 && k == 0) {
					others += it.t1 - it.t0
				}
				if it.role == roleResult || it.role == roleUnit {
					return nil
				}
			}
		case it.kind == itCode:
			others++
		}
		k++
	}
	n := 0
	for _, t := range out {
		if t.id != "" {
			n++
		}
	}
	for k := range items {
		if items[k].kind == itName && items[k].name.ID != "" {
			break
		}
		if items[k].kind == itWord && len(out) > 0 {
			out[0].led = true
		}
	}
	if n < 2 || n < 3 && !(out[0].led && l.cells >= 3) || others > n || r.looksProse(i) && l.cells == 1 && others > 1 {
		return nil
	}
	return out
}

// acrossKind tells what a line under such a heading holds: units, values,
// limits (shHead) or nothing of the kind.
func (r *reader) acrossKind(j int) shape {
	items := r.items[j]
	values, units, words, names := 0, 0, 0, 0
	for k := range items {
		switch it := &items[k]; it.kind {
		case itValue:
			if it.val.counts {
				words++
			} else {
				values++
			}
		case itUnit, itBasis:
			units++
		case itWord:
			words++
		case itName:
			names++
		}
	}
	if len(items) > 0 && values > 0 {
		if f := &items[0]; f.kind == itWord || f.kind == itValue && !f.val.number() {
			switch f.role {
			case roleLimit, roleRL, roleMDL, roleMethod, roleOther, roleLow, roleHigh:
				return shHead
			}
		}
	}
	switch {
	case values >= 2 && values >= units && names <= 2 && words <= values+6:
		return shValue
	case units >= 1 && values == 0:
		return shUnit
	}
	return shOther
}

// acrossUnits gives the columns the units of a line: each its own, or one unit
// for the columns that dashes on both sides of it reach.
func (r *reader) acrossUnits(cols []test, j int, flow bool) {
	defer settleUnits(cols)
	items := r.items[j]
	l := &r.lines[j]
	type mark struct {
		x, xe, cell int
		u           stated
		has, dash   bool
	}
	var marks []mark
	for k := 0; k < len(items); k++ {
		it := &items[k]
		switch it.kind {
		case itUnit:
			marks = append(marks, mark{it.x, it.xe, it.cell, it.unit, true, false})
		case itDash:
			// "- meq  /L ---": a unit in two pieces inside dashes
			marks = append(marks, mark{x: it.x, xe: it.xe, cell: it.cell, dash: true})
		case itWord:
			for n := min(k+2, len(items)-1); n > k; n-- {
				text := strings.ReplaceAll(l.text[it.start:items[n].end], " ", "")
				if u, m := scanUnit(text); m == len(text) && m > 0 {
					marks = append(marks, mark{it.x, items[n].xe, it.cell, u, true, false})
					k = n
					break
				}
			}
		case itName:
			if it.fold == "ph" {
				marks = append(marks, mark{it.x, it.xe, it.cell, stated{}, false, false})
			}
		}
	}
	// a unit that touches a dash reaches over the run of dashes around it
	for k := range marks {
		if !marks[k].has {
			continue
		}
		touches := k > 0 && marks[k-1].dash && marks[k].x-marks[k-1].xe <= 1 || k+1 < len(marks) && marks[k+1].dash && marks[k+1].x-marks[k].xe <= 1
		if !touches {
			continue
		}
		for a := k - 1; a >= 0 && marks[a].dash; a-- {
			marks[a].u, marks[a].has = marks[k].u, true
		}
		for a := k + 1; a < len(marks) && marks[a].dash; a++ {
			marks[a].u, marks[a].has = marks[k].u, true
		}
	}
	fits, last := !flow, -1
	for m := range marks {
		best, d := -1, 5
		for k := range cols {
			dist := abs(marks[m].x + marks[m].xe - cols[k].x - cols[k].xe)
			if marks[m].x < cols[k].xe && cols[k].x < marks[m].xe {
				dist = 0
			}
			if dist < d {
				best, d = k, dist
			}
		}
		fits = fits && (best > last || marks[m].dash)
		last = max(last, best)
	}
	if len(marks) == len(cols) && !l.index && !fits {
		for k := range cols {
			if marks[k].has {
				cols[k].unit, cols[k].hasUnit = marks[k].u, true
			}
		}
		return
	}
	if flow {
		us := marks
		if len(us) == 1 && us[0].has {
			for k := range cols {
				if concentration(cols[k].id) {
					cols[k].unit, cols[k].hasUnit = us[0].u, true
				}
			}
		}
		return
	}
	for k := range cols {
		best, d := -1, 5
		for m := range marks {
			if l.index {
				if marks[m].cell == cols[k].cell {
					best = m
				}
				continue
			}
			dist := min(abs(marks[m].x-cols[k].x), abs(marks[m].xe-cols[k].xe), abs(marks[m].x+marks[m].xe-cols[k].x-cols[k].xe)/2)
			if marks[m].x < cols[k].xe && cols[k].x < marks[m].xe {
				dist = 0
			}
			if dist < d {
				best, d = m, dist
			}
		}
		if best >= 0 && marks[best].has && !cols[k].hasUnit {
			cols[k].unit, cols[k].hasUnit = marks[best].u, true
		}
	}
}

// settleUnits takes back the units of a line when one of them cannot belong to
// its analyte: the line has lost cells, and the others may be wrong as well.
func settleUnits(cols []test) {
	for k := range cols {
		if cols[k].hasUnit && !cols[k].own && cols[k].id != "" && !compatible(cols[k].id, cols[k].unit.unit) && cols[k].id != "ph" || cols[k].id == "ph" && cols[k].hasUnit && !cols[k].own && cols[k].unit.unit != unit.PH && cols[k].unit.unit != "" {
			for n := range cols {
				if !cols[n].own {
					cols[n].hasUnit, cols[n].unit = false, stated{}
				}
			}
			return
		}
	}
}

// acrossRow reads the values of one sample under such a heading.
func (r *reader) acrossRow(cols []test, j int, flow bool) {
	items := r.items[j]
	l := &r.lines[j]
	first := 0
	// words, codes and dates before the first value name the sample
	label := ""
	for first < len(items) {
		it := &items[first]
		value := it.kind == itValue || it.kind == itDash
		switch {
		case l.index:
			value = it.cell >= cols[0].cell
		case !value:
		case it.kind == itValue && !it.val.number() && first == 0:
			value = false
		case cols[0].led && !flow && l.cells >= 2:
			value = it.xe > cols[0].x
		case cols[0].led && flow:
			value = len(items)-first <= len(cols)
		}
		if value {
			break
		}
		first++
	}
	if first > 0 {
		label = r.label(j, items[0].start, items[first-1].end)
		if items[0].role == roleResult || items[0].role == roleMean {
			label = ""
		}
	}
	var vals []*item
	for k := first; k < len(items); k++ {
		if it := &items[k]; it.kind == itValue || it.kind == itDash || it.kind == itDitto {
			vals = append(vals, it)
		}
	}
	if label != "" && r.blocks[r.block].results > 0 || label != "" && r.blocks[r.block].label == "" {
		r.newBlock(j, label, true)
	} else if label == "" && r.blocks[r.block].results > 0 && r.repeats(cols) {
		r.newBlock(j, r.blocks[r.block].label+" (line "+itoa(l.line)+")", true)
	}
	put := func(c *test, it *item, ds ...string) {
		if c.id == "" || it.kind != itValue || it.val.untested || it.val.pending {
			return
		}
		f := r.newFinding(j, c.named, it, *it.val)
		f.nameText = ""
		f.flags = it.val.flags
		switch {
		case it.val.hasUnit:
			f.unit, f.hasUnit = it.val.unit, true
		case c.hasUnit:
			f.unit, f.hasUnit = c.unit, true
		}
		for _, d := range ds {
			f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", d))
		}
		r.add(f)
	}
	switch {
	case l.index && !(len(vals) < len(cols) && r.implausibleCells(cols, vals)):
		for _, it := range vals {
			for k := range cols {
				if it.cell == cols[k].cell {
					put(&cols[k], it)
				}
			}
		}
	case len(vals) == len(cols):
		for k := range cols {
			put(&cols[k], vals[k])
		}
	case len(vals) < len(cols) && len(vals) > 0:
		if at := byPlace(cols, vals); at != nil && !flow {
			for n, k := range at {
				put(&cols[k], vals[n])
			}
			break
		}
		r.shortRow(cols, vals, j, put)
	default:
		r.warnings = append(r.warnings, analysisWarningAt("ambiguous_layout", "more values than names on this line; none was read", l.line, ""))
		r.fate[j].What, r.fate[j].Why = Doubtful, "more values than names"
	}
}

// implausibleCells tells whether a value is implausible under the analyte of
// its cell: the line has lost a cell.
func (r *reader) implausibleCells(cols []test, vals []*item) bool {
	for _, it := range vals {
		for k := range cols {
			if it.cell == cols[k].cell && !r.plausible(&cols[k], it) {
				return true
			}
		}
	}
	return false
}

// byPlace puts each value under the name it stands under; nil when two share
// one or one stands under none.
func byPlace(cols []test, vals []*item) []int {
	at := make([]int, len(vals))
	last := -1
	for n, it := range vals {
		best, d := -1, 5
		for k := range cols {
			dist := min(abs(it.x-cols[k].x), abs(it.xe-cols[k].xe), abs(it.x+it.xe-cols[k].x-cols[k].xe)/2)
			if it.x < cols[k].xe && cols[k].x < it.xe {
				dist = 0
			}
			if dist < d {
				best, d = k, dist
			}
		}
		if best <= last {
			return nil
		}
		at[n], last = best, best
	}
	return at
}

// repeats tells whether the present block already holds one of the tests.
func (r *reader) repeats(cols []test) bool {
	for k := range r.found {
		if r.found[k].block != r.block {
			continue
		}
		for c := range cols {
			if cols[c].id == r.found[k].id && cols[c].id != "" && cols[c].fraction == r.found[k].fraction && cols[c].basis == r.found[k].basis {
				return true
			}
		}
	}
	return false
}

// shortRow puts fewer values than names to their names where only one way is
// plausible, and withholds the others. Every order-keeping way to leave names
// out is tried; one that gives an impossible value is dropped.
func (r *reader) shortRow(cols []test, vals []*item, j int, put func(*test, *item, ...string)) {
	const most = 2000
	n, m := len(vals), len(cols)
	choice := make([]int, n)
	seen := make([]map[int]bool, n)
	for k := range seen {
		seen[k] = map[int]bool{}
	}
	tries := 0
	var walk func(v, from int)
	walk = func(v, from int) {
		if tries > most {
			return
		}
		if v == n {
			tries++
			for k, c := range choice {
				seen[k][c] = true
			}
			return
		}
		for c := from; c <= m-(n-v); c++ {
			if !r.plausible(&cols[c], vals[v]) {
				continue
			}
			choice[v] = c
			walk(v+1, c+1)
		}
	}
	walk(0, 0)
	const why = "this line has fewer values than names"
	settled := map[int]int{}
	for k := range vals {
		if len(seen[k]) == 1 && tries <= most {
			for c := range seen[k] {
				settled[c] = k
			}
		}
	}
	for c := range cols {
		if k, ok := settled[c]; ok {
			put(&cols[c], vals[k], why+"; this one was put to its name because no other way is plausible")
			continue
		}
		if cols[c].id == "" {
			continue
		}
		f := finding{id: cols[c].id, fraction: cols[c].fraction, basis: cols[c].basis, line: j, start: vals[0].start, end: vals[0].start, block: r.block, column: -1, withhold: true}
		f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", why+", and more than one way to put them together is plausible"))
		r.add(f)
	}
}

// plausible tells whether a value may belong to an analyte.
func (r *reader) plausible(c *test, it *item) bool {
	if c.id == "" || it.kind != itValue || !it.val.number() {
		return true
	}
	v, _, _ := it.val.num.value(r.style)
	u := c.unit.unit
	if c.id == "ph" {
		u = "pH"
	}
	return !impossible(c.id, v, u) && !unlikely(c.id, v, u)
}
