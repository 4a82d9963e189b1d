package labreport

import (
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// nameCell returns the first item of the cell that the heading calls that of
// the names, in a table of counted cells; 0 if there is none.
func (r *reader) nameCell(i int) int {
	if r.table == nil || !r.table.index || !r.lines[i].index {
		return 0
	}
	c := r.table.find(roleName)
	if c < 0 {
		return 0
	}
	items := r.items[i]
	for k := range items {
		if items[k].cell >= r.table.cols[c].cell {
			for j := k; j < len(items) && items[j].cell == items[k].cell; j++ {
				if items[j].kind == itPunct && items[j].fold == ":" && j+1 < len(items) && items[j+1].kind == itName {
					return j + 1 // "probe: pH"
				}
			}
			return k
		}
	}
	return 0
}

// sampleCell takes up the name of the sample in a column of its own.
func (r *reader) sampleCell(i int) {
	if !r.table.index || !r.lines[i].index {
		return
	}
	c := r.table.find(roleSample)
	if c < 0 || r.table.find(roleName) < 0 {
		return
	}
	l := &r.lines[i]
	start, end := -1, 0
	for k := range l.toks {
		if l.toks[k].cell == r.table.cols[c].cell {
			if start < 0 {
				start = l.toks[k].start
			}
			end = l.toks[k].end
		}
	}
	if start >= 0 {
		r.newBlock(i, r.label(i, start, end), true)
	}
}

// fits tells whether a line has the shape of a row of the table: little text
// outside its cells.
func (r *reader) fits(i int, nm named) bool {
	items := r.items[i]
	if r.table.flow && nm.next < len(items) {
		switch items[nm.next].kind {
		case itValue, itUnit, itDash, itCode:
			return true
		}
	}
	if r.table.count(roleName) <= 1 {
		for k := nm.next + 1; k+1 < len(items); k++ {
			if it := &items[k]; it.kind == itName && it.name.ID != nm.id && !it.symbol && it.role == roleNone && it.cell > items[k-1].cell && items[k+1].kind == itValue && items[k+1].val.number() {
				return false // names and values side by side
			}
		}
	}
	return !r.looksProse(i)
}

// tableRow reads a row under the heading of its table.
func (r *reader) tableRow(i int, nm named) bool {
	t := r.table
	l := &r.lines[i]
	items := r.items[i]
	rest := items[nm.next:]
	r.sampleCell(i)
	// a second name in the row opens a second panel, or ends this one
	for k := range rest {
		if rest[k].kind == itName && (!rest[k].symbol || k+1 < len(rest) && rest[k+1].cell > rest[k].cell && r.opensPanel(&rest[k])) && rest[k].role == roleNone && rest[k].class == 0 && (k == 0 || rest[k].cell != rest[k-1].cell) && k+1 < len(rest) && r.secondPanel(rest, k) {
			sub := r.nameAt(items, nm.next+k, l)
			r.cellsOf(i, nm, rest[:k], t, 0)
			if sub.id != "" {
				r.cellsOf(i, sub, items[sub.next:], t, sub.x)
			}
			return true
		}
	}
	r.cellsOf(i, nm, rest, t, 0)
	return true
}

// isShort tells whether a row of delimited text has lost a cell: it is shorter
// than the heading of its table, though most rows below that are whole.
func (r *reader) isShort(i int) bool {
	t := r.table
	if t == nil || !t.index || r.lines[i].cells >= t.width {
		return false
	}
	whole, short := 0, 0
	for j := t.line + 1; j < min(r.real, t.line+1+shortLooked); j++ {
		switch n := r.lines[j].cells; {
		case n < 2:
		case n < t.width:
			short++
		default:
			whole++
		}
	}
	return short <= whole
}

// shortLooked bounds how many rows below a heading are asked how long they are.
const shortLooked = 100

// opensPanel tells whether an item stands under a second heading of names.
func (r *reader) opensPanel(it *item) bool {
	first := true
	for k := range r.table.cols {
		c := &r.table.cols[k]
		if c.role != roleName {
			continue
		}
		if !first && place(it, c, false, true, 0) <= 1 {
			return true
		}
		first = false
	}
	return false
}

// secondPanel tells whether a value follows the name at k.
func (r *reader) secondPanel(rest []item, k int) bool {
	values := 0
	for j := 0; j < k; j++ {
		if rest[j].kind == itValue {
			values++
		}
	}
	return values > 0 && r.table.count(roleName) > 1
}

// cellHit is a value in a column of results.
type cellHit struct {
	item, col int
	val       value
}

// cellRow is what the cells of a row hold: its results, and what stands beside
// them.
type cellRow struct {
	hits           []cellHit
	limits         []value // reporting limits first, then detection limits
	low, high      *value
	unit           stated
	hasUnit, ditto bool
	basis          analyte.Basis
	fraction       analysis.Fraction
	flags          string
	rejected       bool
}

// columnsBehind returns the columns behind that of the names, up to a second
// panel, and how many stand before them.
func (t *table) columnsBehind(l *line, nm named, secondPanel bool) ([]column, int) {
	cols, base := t.cols, 0
	if k := t.find(roleName); k >= 0 {
		if secondPanel {
			for j := k + 1; j < len(t.cols); j++ {
				if t.cols[j].role == roleName {
					k = j
				}
			}
		}
		base = k + 1
		cols = t.cols[base:]
		for j := range cols {
			if cols[j].role == roleName && !t.cols[k].hasUnit {
				cols = cols[:j]
				break
			}
		}
	}
	if l.index && t.index && base == 0 {
		for base < len(t.cols) && t.cols[base].cell <= nm.cell && !t.cols[base].result() { // over the names stands nothing, or the cell over them was lost
			base++
		}
		cols = t.cols[base:]
	}
	return cols, base
}

// cellsOf aligns what stands behind a name with the columns and makes the
// findings of the row.
func (r *reader) cellsOf(i int, nm named, rest []item, t *table, fromX int) {
	l := &r.lines[i]
	cols, base := t.columnsBehind(l, nm, fromX > 0)
	byIndex := l.index && t.index
	byPlace := !byIndex && !t.flow && !t.index && l.cells >= 2
	shift := 0
	if k := t.find(roleName); byIndex && k >= 0 && fromX == 0 {
		shift = l.toks[r.items[i][nm.first].t0].cell - t.cols[k].cell
	} else if byIndex && k < 0 && len(cols) > 0 && cols[0].cell <= nm.cell {
		shift = nm.cell + 1 - cols[0].cell
	}
	put, sure := arrange(rest, cols, byIndex && !valueInCell(rest, nm), byPlace, shift == 0 && l.cells == t.width, shift)
	if t.flow && !byIndex && sure && unevenFlow(rest, cols, put) {
		sure = false
	}
	adrift := t.flow && !byIndex && shortOfWaters(cols, put)
	if t.flow && r.rowPending(rest) {
		r.pending++
		r.emptyRows++
		r.ignore(i, "pending")
		return
	}
	row := r.gather(l, nm, rest, cols, put)
	row.rejected = row.rejected || r.verdict(r.items[i][:nm.before])
	if !row.hasUnit && !row.ditto {
		row.unit, row.hasUnit = r.strayUnit(rest, put, cols)
	}
	done := 0
	if t.has(roleMean) && len(row.hits) > 0 {
		row.low, row.high = r.singleReadings(t, base, rest, put, row.low, row.high)
	}
	seenCol := map[int]bool{}
	for _, h := range row.hits {
		c := &cols[h.col]
		it := &rest[h.item]
		if seenCol[h.col] && !h.val.number() {
			continue
		}
		if h.val.counts && h.val.number() {
			continue
		}
		if c.role == roleResult && t.has(roleMean) {
			continue // single readings beside their mean
		}
		if seenCol[h.col] && !(h.val.hasUnit) {
			continue
		}
		seenCol[h.col] = true
		if h.val.untested || h.val.pending {
			if h.val.pending {
				r.pending++
			}
			done++
			continue
		}
		f := r.newFinding(i, nm, it, h.val)
		if !sure || r.outsideExtremes(h.val, row.low, row.high) {
			f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "this row has lost cells, so another of its numbers may be the result"))
			f.withhold = byIndex && !row.hasUnit && !row.ditto && t.has(roleUnit)
		}
		if adrift && c.role == roleWater {
			f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "this row has fewer values than there are samples, and nothing tells whose they are"))
			f.withhold = true
		}
		if h.val.number() && !h.val.none && noneOmitted(rest, put) {
			f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "this row says that nothing was found, so its number may be a limit"))
			f.withhold = true
		}
		if sure && splitNumber(rest, put, h.item) {
			f.doubts = append(f.doubts, analysisWarning("ocr_suspect", "two numbers stand where one should be; they may be pieces of one"))
			f.withhold = true
		}
		if sure && r.isShort(i) {
			f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "this row has fewer cells than the heading, so what is read may stand in the wrong column"))
		}
		f.fraction = row.fraction
		f.flags = h.val.flags + row.flags
		f.limits, f.low, f.high = row.limits, row.low, row.high
		f.rejected = row.rejected || strings.Contains(h.val.flags, "ejected")
		r.unitOfCell(&f, h, &row, nm, t, cols, rest, put)
		if c.dissolve && !c.total && c.role != roleName {
			f.fraction = analysis.Dissolved
		} else if c.total && !c.dissolve && f.fraction == analysis.NotStated && (c.role == roleWater || t.count(roleResult) > 1) {
			f.fraction = analysis.Total
		}
		if c.class&clsPrelim != 0 {
			f.prelim = true
		}
		if c.class&clsFinal != 0 {
			f.final = true
		}
		if c.role == roleWater {
			if c.total != c.dissolve && t.waters() == 2 && t.fractionColumns() {
				f.column = -1
			} else {
				f.water, f.column = c.label, base+h.col
			}
		}
		r.add(f)
		done++
	}
	if done == 0 {
		r.ignore(i, "no result on this row")
		r.emptyRows++
		if r.rowPending(rest) {
			r.pending++
		}
	}
	if !row.ditto && row.hasUnit {
		r.lastUnit, r.hadUnit = row.unit, true
		r.lastBasis = ""
		if b := row.unit.basis; b != "" {
			r.lastBasis = b
		} else if row.basis != "" {
			r.lastBasis = row.basis
		}
	}
}

// unitOfCell gives a finding the unit nearest to its cell, and its basis.
func (r *reader) unitOfCell(f *finding, h cellHit, row *cellRow, nm named, t *table, cols []column, rest []item, put []int) {
	c := &cols[h.col]
	switch {
	case h.val.hasUnit:
		f.unit, f.hasUnit = h.val.unit, true
	case t.count(roleUnit) > 1 && t.count(roleResult)+t.waters() > 1:
		f.unit, f.hasUnit = unitBeside(rest, put, cols, h.col)
	case row.ditto:
		f.unit, f.hasUnit, f.ditto = r.lastUnit, r.hadUnit, true
		if f.basis == "" {
			f.basis = r.lastBasis
		}
	case row.hasUnit:
		f.unit, f.hasUnit = row.unit, true
	case nm.hasUnit:
		f.unit, f.hasUnit = nm.unit, true
	case c.hasUnit:
		f.unit, f.hasUnit = c.unit, true
	}
	if f.basis == "" {
		f.basis = row.basis
	}
	if f.basis == "" && f.unit.basis == "" {
		f.basis = c.basis
	}
}

// gather reads the cells of a row, each by the role of its column.
func (r *reader) gather(l *line, nm named, rest []item, cols []column, put []int) cellRow {
	row := cellRow{fraction: nm.fraction}
	for k := range rest {
		it := &rest[k]
		if it.kind == itBasis && it.as && row.basis == "" && (put[k] < 0 || cols[put[k]].role == roleNone || cols[put[k]].role == roleOther || cols[put[k]].role == roleMethod || cols[put[k]].role == roleFlag) {
			row.basis = it.basis // a remark "as NO3"
		}
		if put[k] < 0 {
			continue
		}
		c := &cols[put[k]]
		switch c.role {
		case roleUnit:
			switch {
			case it.kind == itUnit && !row.hasUnit:
				row.unit, row.hasUnit = it.unit, true
			case it.kind == itUnit && row.hasUnit && row.unit.unit == "":
				row.unit = it.unit
			case it.kind == itDitto:
				row.ditto = true
			case it.kind == itBasis:
				row.basis = it.basis
			case it.kind == itName && it.fold == "ph":
				row.unit, row.hasUnit = stated{unit: unit.PH}, true
			case it.kind == itWord && !row.hasUnit:
				if u, ok := degreesWord(it.fold, nm); ok {
					row.unit, row.hasUnit = stated{unit: u}, true
				} else if it.fold == "do" || it.fold == "ditto" || it.fold == "dto" || it.fold == "idem" {
					row.ditto = true
				}
			}
		case roleRL, roleMDL:
			if it.kind == itValue && it.val.number() {
				if c.role == roleRL {
					row.limits = append([]value{*it.val}, row.limits...)
				} else {
					row.limits = append(row.limits, *it.val)
				}
			}
		case roleLow:
			if it.kind == itValue {
				v := *it.val
				row.low = &v
			}
		case roleHigh:
			if it.kind == itValue {
				v := *it.val
				row.high = &v
			}
		case roleRange:
			if it.kind == itValue {
				row.low, row.high = r.extremes(it, rest, put, k, row.low)
			}
		case roleBasis:
			if it.kind == itBasis || it.kind == itName && it.symbol {
				row.basis = it.basis
			}
		case roleFraction:
			if it.class&clsDissolved != 0 || it.fold == "d" {
				row.fraction = analysis.Dissolved
			} else if it.class&clsTotal != 0 || it.fold == "t" {
				row.fraction = analysis.Total
			}
		case roleFlag:
			row.flags += r.flagText(l, it)
			if it.class&clsRejected != 0 && !(it.fold == "r" && !isUpper(l.text[it.start])) {
				row.rejected = true
			}
		case roleResult, roleMean, roleWater:
			switch it.kind {
			case itValue:
				row.hits = append(row.hits, cellHit{k, put[k], *it.val})
			case itWord, itCode, itPunct, itName, itBasis:
				if n := len(row.hits); n > 0 && row.hits[n-1].col == put[k] {
					w := l.text[it.start:it.end]
					if it.fold == "*" || len(w) <= 3 && flagLetters(w) || it.class&clsRejected != 0 {
						row.hits[n-1].val.flags += w
					}
				}
			case itUnit:
				if n := len(row.hits); n > 0 && row.hits[n-1].col == put[k] && !row.hits[n-1].val.hasUnit {
					row.hits[n-1].val.unit, row.hits[n-1].val.hasUnit = it.unit, true
				}
			}
		}
	}
	return row
}

// noneOmitted tells whether words for "nothing found" were put into no column.
func noneOmitted(rest []item, put []int) bool {
	for k := range rest {
		if put[k] < 0 && rest[k].kind == itValue && rest[k].val.none && rest[k].depth == 0 {
			return true
		}
	}
	return false
}

// splitNumber tells whether beside the value at k stands a second number, one
// blank away in the same cell, that belongs to no other column.
func splitNumber(rest []item, put []int, k int) bool {
	for _, n := range [...]int{k - 1, k + 1} {
		if n < 0 || n >= len(rest) || put[n] >= 0 && put[n] != put[k] {
			continue
		}
		a, b := &rest[min(n, k)], &rest[max(n, k)]
		if a.kind == itValue && b.kind == itValue && a.val.number() && b.val.number() && !a.val.hasUnit && !a.val.counts && !b.val.counts && a.depth == b.depth && a.cell == b.cell && b.val.op == 0 && b.x-a.xe == 1 {
			return true
		}
	}
	return false
}

// outsideExtremes tells whether a value lies outside the smallest and largest
// that its row gives: they have been put into the wrong columns.
func (r *reader) outsideExtremes(v value, low, high *value) bool {
	if !v.number() || v.op != 0 || v.isRange {
		return false
	}
	x, _, _ := v.num.value(r.style)
	if low != nil && low.number() && low.op == 0 {
		if a, _, _ := low.num.value(r.style); a > x {
			return true
		}
	}
	if high != nil && high.number() && high.op == 0 {
		if b, _, _ := high.num.value(r.style); b < x {
			return true
		}
	}
	return false
}

// unevenFlow tells whether a row under a heading whose columns have run together
// may have been put wrongly: numbers stand before the result, or on both sides
// of a mean, and there are not as many values as columns for them.
func unevenFlow(rest []item, cols []column, put []int) bool {
	want, ahead, result, spread := 0, false, false, false
	for k := range cols {
		switch cols[k].role {
		case roleResult, roleMean, roleWater:
			want++
			result = true
		case roleLow, roleHigh:
			want++
			spread = true
			ahead = ahead || !result
		case roleLimit, roleRL, roleMDL, roleOther, roleDate, roleMethod:
			if cols[k].role != roleMethod && cols[k].role != roleDate || !result {
				want++
			}
			ahead = ahead || !result
		case roleRange:
			want++
		}
	}
	if !ahead && !spread {
		return false
	}
	have, code := 0, false
	for k := range rest {
		switch rest[k].kind {
		case itValue, itDash, itDate:
			have++
			code = false
		case itCode:
			if !code {
				have++
			}
			code = true
		default:
			code = false
		}
	}
	return have < want || spread && !fills(rest, cols, put)
}

// valueInCell tells whether a value stands in the cell of the name: the cells
// have run together and cannot be counted.
func valueInCell(rest []item, nm named) bool {
	return len(rest) > 0 && rest[0].kind == itValue && rest[0].cell == nm.cell
}

// shortOfWaters tells whether some but not all columns of waters were filled.
func shortOfWaters(cols []column, put []int) bool {
	filled, all := 0, 0
	for c := range cols {
		if cols[c].role == roleWater {
			all++
			if slices.Contains(put, c) {
				filled++
			}
		}
	}
	return filled > 0 && filled < all
}

// strayUnit finds the unit of a row that has no cell of its own: it stands
// behind a limit whose column is followed by that of the units, or between the
// columns.
func (r *reader) strayUnit(rest []item, put []int, cols []column) (stated, bool) {
	for k := range rest {
		it := &rest[k]
		c := put[k]
		switch {
		case it.kind == itValue && it.val.hasUnit && c >= 0 && c+1 < len(cols) && cols[c+1].role == roleUnit:
			return it.val.unit, true
		case it.kind == itUnit && !it.unit.area && (c < 0 || cols[c].role == roleNone || cols[c].role == roleFlag):
			return it.unit, true
		}
	}
	return stated{}, false
}

// unitBeside finds the unit of a result on a row with several columns of units:
// the one between it and the next result.
func unitBeside(rest []item, put []int, cols []column, col int) (stated, bool) {
	for k := range rest {
		c := put[k]
		if c <= col {
			continue
		}
		if cols[c].result() {
			break
		}
		if cols[c].role == roleUnit && rest[k].kind == itUnit {
			return rest[k].unit, true
		}
	}
	return stated{}, false
}

// fractionColumns tells whether the columns are the total and the dissolved
// fraction of one water.
func (t *table) fractionColumns() bool {
	tot, dis := false, false
	for k := range t.cols {
		if t.cols[k].role == roleWater {
			tot = tot || t.cols[k].total && !t.cols[k].dissolve
			dis = dis || t.cols[k].dissolve && !t.cols[k].total
		}
	}
	return tot && dis
}

func (r *reader) rowPending(rest []item) bool {
	for k := range rest {
		if rest[k].class&clsPending != 0 || rest[k].kind == itValue && rest[k].val.pending {
			return true
		}
	}
	return false
}

// extremes reads "0.09 - 0.13", "ND - 12" in a range column.
func (r *reader) extremes(it *item, rest []item, put []int, k int, low *value) (*value, *value) {
	v := *it.val
	if v.isRange {
		a, b := v, v
		a.isRange, a.op = false, 0
		b.num, b.isRange, b.op = v.to, false, 0
		return &a, &b
	}
	if low == nil && k+1 < len(rest) {
		return &v, nil
	}
	if low != nil {
		return low, &v
	}
	return &v, nil
}

// singleReadings turns the readings beside a mean into its extremes.
func (r *reader) singleReadings(t *table, base int, rest []item, put []int, low, high *value) (*value, *value) {
	if low != nil || high != nil {
		return low, high
	}
	var lo, hi float64
	n := 0
	var a, b *value
	for k := range rest {
		if put[k] < 0 || rest[k].kind != itValue || !rest[k].val.number() {
			continue
		}
		if c := &t.cols[base+put[k]]; c.role != roleResult && c.role != roleWater {
			continue
		}
		x, _, _ := rest[k].val.num.value(r.style)
		v := *rest[k].val
		if n == 0 || x < lo {
			lo, a = x, &v
		}
		if n == 0 || x > hi {
			hi, b = x, &v
		}
		n++
	}
	if n < 2 {
		return nil, nil
	}
	return a, b
}

// degreesWord understands a bare "degrees" under a name that states the scale.
func degreesWord(w string, nm named) (unit.Unit, bool) {
	if w != "degrees" && w != "degree" && w != "deg" && w != "grad" && w != "degres" && w != "graden" && w != "grader" {
		return "", false
	}
	if nm.scale != "" {
		return nm.scale, true
	}
	if nm.hasUnit {
		return nm.unit.unit, true
	}
	return "", false
}

// scaleBehind finds the scale of hardness named behind "degrees".
func scaleBehind(items []item, j int) unit.Unit {
	for k := j + 1; k < len(items) && k <= j+2; k++ {
		if u := scaleOf(items[k].fold); u != "" {
			return u
		}
	}
	return ""
}

// scaleOf returns the scale of hardness that a word names.
func scaleOf(w string) unit.Unit {
	switch w {
	case "german", "deutsch", "deutsche", "dh", "duits", "duitse":
		return unit.DegGerman
	case "french", "francais", "franzosisch":
		return unit.DegFrench
	case "clark", "english", "imperial":
		return unit.GrainsUK
	}
	return ""
}

// verdict looks for a rejection before the name.
func (r *reader) verdict(items []item) bool {
	for k := range items {
		if items[k].class&clsRejected != 0 {
			return true
		}
	}
	return false
}

// flagText returns the qualifiers in an item of a qualifier column.
func (r *reader) flagText(l *line, it *item) string {
	w := l.text[it.start:it.end]
	if len(w) > 4 || it.kind != itWord && it.kind != itPunct && it.kind != itName && it.kind != itValue && it.kind != itBasis {
		return ""
	}
	for i := 0; i < len(w); i++ {
		if !isUpper(w[i]) && w[i] != '*' && w[i] != '^' && w[i] != '#' && w[i] != '<' {
			return ""
		}
	}
	return w
}
