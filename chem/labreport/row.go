package labreport

import (
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// rowName finds the name that a row begins with. Running numbers, list marks,
// flags and codes may stand before it; other words may not.
func (r *reader) rowName(i int) (named, bool) {
	items := r.items[i]
	first := max(r.afterLabel(i), r.nameCell(i))
	for k := range items {
		it := &items[k]
		if k < first {
			continue
		}
		switch it.kind {
		case itName:
			if it.symbol && k+1 < len(items) && items[k+1].kind == itName && !items[k+1].symbol && items[k+1].cell > it.cell && items[k+1].name.ID != it.name.ID && !related(it.name.ID, items[k+1].name.ID) && it.end-it.start == 1 {
				continue // a mark before the name
			}
			if it.symbol && !r.symbolStands(items, k) {
				return named{}, false
			}
			nm := r.nameAt(items, k, &r.lines[i])
			nm.before = k
			if k > 0 && items[k-1].kind == itBasis && !items[k-1].as && nm.basis == "" { // "CaCO3 hardness"
				nm.basis = items[k-1].basis
			}
			return nm, true
		case itPunct, itDash, itCode, itBasis, itDate:
			continue
		case itValue:
			if k == 0 && it.val.number() && !it.val.hasUnit && it.val.op == 0 && !it.val.isRange && !strings.ContainsAny(it.val.num.text, ".,e-") {
				continue // running number
			}
			if !it.val.number() && (k == 0 || it.cell < 2) && it.xe-it.x <= 10 {
				continue // a verdict before the name: P, ok, Rejected
			}
			return named{}, false
		case itWord:
			if it.class&(clsTotal|clsDissolved) != 0 && k+1 < len(items) && it.cell == items[k+1].cell {
				continue // "Total arsenic"
			}
			if it.class&clsRejected != 0 || it.xe-it.x <= 2 && k == 0 && it.fold != "no" || it.role == roleName && k+1 < len(items) && (items[k+1].fold == ":" || items[k+1].cell > it.cell) {
				continue
			}
			if it.cell == 0 && k+1 < len(items) && items[k+1].cell > it.cell && it.xe-it.x <= 3 {
				continue
			}
			if it.fold == "probe" || it.fold == "test" || it.fold == "result" || it.fold == "the" || it.fold == "my" || it.fold == "your" || it.fold == "our" || it.fold == "residual" || it.fold == "lab" || it.fold == "field" || it.fold == "of" || it.fold == "which" || it.fold == "est" {
				continue
			}
			return named{}, false
		default:
			return named{}, false
		}
	}
	return named{}, false
}

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

// afterLabel returns the item behind a label of one to three words and a colon
// that stands before the name: "Kitchen: iron 0.3 mg/L".
func (r *reader) afterLabel(i int) int {
	items := r.items[i]
	for k := 0; k < len(items) && k <= 3; k++ {
		it := &items[k]
		switch {
		case it.kind == itPunct && it.fold == ":" && k > 0 && k+1 < len(items) && items[k+1].kind == itName:
			return k + 1
		case it.kind != itWord || it.role != roleNone && it.role != roleOther && it.role != roleSample && it.role != roleDate || it.class&^(clsTreated|clsRaw|clsCount|clsTo) != 0:
			return 0
		}
	}
	return 0
}

// symbolStands tells whether a symbol is used as a name: it opens its cell and
// nothing but a value, a unit, a name or a bracket follows it.
func (r *reader) symbolStands(items []item, k int) bool {
	it := &items[k]
	if k > 0 && items[k-1].cell == it.cell && items[k-1].kind == itWord {
		return false
	}
	if k+1 == len(items) || items[k+1].cell != it.cell {
		return true
	}
	switch n := &items[k+1]; n.kind {
	case itValue, itUnit, itName, itBasis, itDash:
		return true
	case itPunct:
		return n.fold != "."
	default:
		return n.class&(clsTotal|clsDissolved) != 0
	}
}

// row reads a line as a row, under the table that stands if there is one. It
// tells whether it was one.
func (r *reader) row(i int) bool {
	nm, ok := r.rowName(i)
	if !ok {
		return false
	}
	if nm.id == "" { // looks like an analyte and is none
		if r.hasResult(r.items[i]) || r.table != nil {
			k := nm.next
			for k < len(r.items[i]) && !(r.items[i][k].kind == itName && r.items[i][k].cell > r.items[i][k-1].cell) {
				k++
			}
			if !r.pairs(i, k) {
				r.ignore(i, "not an analyte that the tool uses")
			}
			return true
		}
		return false
	}
	if r.table != nil && r.fits(i, nm) {
		if r.table.qc {
			r.ignore(i, "quality control of the laboratory")
			return true
		}
		return r.tableRow(i, nm)
	}
	return r.plainRow(i, nm)
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

// looksProse tells whether a line is running text.
func (r *reader) looksProse(i int) bool {
	words, run, longest := 0, 0, 0
	items := r.items[i]
	cell := -1
	for k := range items {
		it := &items[k]
		if it.cell != cell {
			cell, run = it.cell, 0
		}
		switch it.kind {
		case itWord, itName:
			if it.depth > 0 {
				continue
			}
			words++
			run++
			longest = max(longest, run)
		case itPunct:
			if it.fold == "." && k+1 < len(items) && items[k+1].cell == it.cell {
				run += 2
				longest = max(longest, run)
			}
		case itValue:
			run++
		}
	}
	return longest >= 7 || words >= 6 && r.lines[i].cells == 1 && len(items) >= 9
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
		if rest[k].kind == itName && rest[k].name.ID != "" && !rest[k].symbol && rest[k].role == roleNone && rest[k].class == 0 && (k == 0 || rest[k].cell != rest[k-1].cell) && k+1 < len(rest) && r.secondPanel(rest, k) {
			sub := r.nameAt(items, nm.next+k, l)
			r.cellsOf(i, nm, rest[:k], t, 0)
			r.cellsOf(i, sub, items[sub.next:], t, sub.x)
			return true
		}
	}
	r.cellsOf(i, nm, rest, t, 0)
	return true
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

// cellsOf aligns what stands behind a name with the columns and makes the
// findings of the row.
func (r *reader) cellsOf(i int, nm named, rest []item, t *table, fromX int) {
	l := &r.lines[i]
	cols, base := t.cols, 0
	if k := t.find(roleName); k >= 0 {
		if fromX > 0 {
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
		for base < len(t.cols) && t.cols[base].cell <= nm.cell {
			base++
		}
		cols = t.cols[base:]
	}
	byIndex := l.index && t.index
	byPlace := !byIndex && !t.flow && !t.index && l.cells >= 2
	shift := 0
	if k := t.find(roleName); byIndex && k >= 0 && fromX == 0 {
		shift = l.toks[r.items[i][nm.first].t0].cell - t.cols[k].cell
	} else if byIndex && k < 0 && len(cols) > 0 && cols[0].cell <= nm.cell {
		shift = nm.cell + 1 - cols[0].cell
	}
	put, sure := arrange(rest, cols, byIndex && !valueInCell(rest, nm), byPlace, shift == 0 && l.cells == t.width, shift)
	var limits []value
	var low, high *value
	var colUnit stated
	var rowBasis analyte.Basis
	rowFraction := nm.fraction
	hasUnit, ditto := false, false
	flags := ""
	rejected := r.verdict(r.items[i][:nm.before])
	if t.flow && r.rowPending(rest) {
		r.pending++
		r.emptyRows++
		r.ignore(i, "pending")
		return
	}
	type hit struct {
		item, col int
		val       value
	}
	var hits []hit
	empty := map[int]int{}
	for k := range rest {
		it := &rest[k]
		if put[k] < 0 {
			continue
		}
		c := &cols[put[k]]
		switch c.role {
		case roleUnit:
			switch {
			case it.kind == itUnit && !hasUnit:
				colUnit, hasUnit = it.unit, true
			case it.kind == itUnit && hasUnit && colUnit.unit == "":
				colUnit = it.unit
			case it.kind == itDitto:
				ditto = true
			case it.kind == itBasis:
				rowBasis = it.basis
			case it.kind == itName && it.fold == "ph":
				colUnit, hasUnit = stated{unit: unit.PH}, true
			case it.kind == itWord && !hasUnit:
				if u, ok := degreesWord(it.fold, nm); ok {
					colUnit, hasUnit = stated{unit: u}, true
				} else if it.fold == "do" || it.fold == "ditto" || it.fold == "dto" || it.fold == "idem" {
					ditto = true
				}
			}
		case roleRL, roleMDL:
			if it.kind == itValue && it.val.number() {
				if c.role == roleRL {
					limits = append([]value{*it.val}, limits...)
				} else {
					limits = append(limits, *it.val)
				}
			}
		case roleLow:
			if it.kind == itValue {
				v := *it.val
				low = &v
			}
		case roleHigh:
			if it.kind == itValue {
				v := *it.val
				high = &v
			}
		case roleRange:
			if it.kind == itValue {
				low, high = r.extremes(it, rest, put, k, low)
			}
		case roleBasis:
			if it.kind == itBasis || it.kind == itName && it.symbol {
				rowBasis = it.basis
			}
		case roleFraction:
			if it.class&clsDissolved != 0 || it.fold == "d" {
				rowFraction = analysis.Dissolved
			} else if it.class&clsTotal != 0 || it.fold == "t" {
				rowFraction = analysis.Total
			}
		case roleFlag:
			flags += r.flagText(l, it)
			if it.class&clsRejected != 0 && !(it.fold == "r" && !isUpper(l.text[it.start])) {
				rejected = true
			}
		case roleResult, roleMean, roleWater:
			switch it.kind {
			case itValue:
				hits = append(hits, hit{k, put[k], *it.val})
			case itWord, itCode, itPunct, itName, itBasis:
				if n := len(hits); n > 0 && hits[n-1].col == put[k] {
					w := l.text[it.start:it.end]
					if it.fold == "*" || len(w) <= 3 && flagLetters(w) || it.class&clsRejected != 0 {
						hits[n-1].val.flags += w
					}
				} else {
					empty[put[k]] = k
				}
			case itUnit:
				if n := len(hits); n > 0 && hits[n-1].col == put[k] && !hits[n-1].val.hasUnit {
					hits[n-1].val.unit, hits[n-1].val.hasUnit = it.unit, true
				}
			}
		}
	}
	if !hasUnit && !ditto {
		colUnit, hasUnit = r.strayUnit(rest, put, cols)
	}
	done := 0
	if t.has(roleMean) && len(hits) > 0 {
		low, high = r.singleReadings(t, base, rest, put, low, high)
	}
	seenCol := map[int]bool{}
	for _, h := range hits {
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
		if !sure {
			f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "this row has lost cells, so another of its numbers may be the result"))
		}
		f.fraction = rowFraction
		f.flags = h.val.flags + flags
		f.limits, f.low, f.high = limits, low, high
		f.rejected = rejected || strings.Contains(h.val.flags, "ejected")
		switch {
		case h.val.hasUnit:
			f.unit, f.hasUnit = h.val.unit, true
		case ditto:
			f.unit, f.hasUnit, f.ditto = r.lastUnit, r.hadUnit, true
			if f.basis == "" {
				f.basis = r.lastBasis
			}
		case hasUnit:
			f.unit, f.hasUnit = colUnit, true
		case nm.hasUnit:
			f.unit, f.hasUnit = nm.unit, true
		case c.hasUnit:
			f.unit, f.hasUnit = c.unit, true
		}
		if f.basis == "" {
			f.basis = rowBasis
		}
		if f.basis == "" && f.unit.basis == "" {
			f.basis = c.basis
		}
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
	if !ditto && hasUnit {
		r.lastUnit, r.hadUnit = colUnit, true
		r.lastBasis = ""
		if b := colUnit.basis; b != "" {
			r.lastBasis = b
		} else if rowBasis != "" {
			r.lastBasis = rowBasis
		}
	}
}

// valueInCell tells whether a value stands in the cell of the name: the cells
// have run together and cannot be counted.
func valueInCell(rest []item, nm named) bool {
	return len(rest) > 0 && rest[0].kind == itValue && rest[0].cell == nm.cell
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

// newFinding makes a finding of a value under a name.
func (r *reader) newFinding(i int, nm named, it *item, v value) finding {
	var doubts []analysis.Warning
	if nm.open {
		doubts = append(doubts, analysisWarning("ambiguous_layout", "the name goes on where it cannot be followed"))
	}
	return finding{doubts: doubts, id: nm.id, fraction: nm.fraction, basis: nm.basis, val: v, line: i, start: it.start, end: it.end, block: r.block, column: -1, prelim: r.prelim, final: r.final, nameText: nm.text, nameOCR: nm.damaged}
}

// plainRow reads a row without a heading: a name, its value, and perhaps more
// names and values behind.
func (r *reader) plainRow(i int, nm named) bool {
	items := r.items[i]
	if r.lineClass(i)&(clsQC|clsSkip) != 0 && r.lineClass(i)&clsWords == 0 {
		if r.skipLine(i) {
			return true
		}
	}
	before := len(r.found)
	limited := nm.limited
	words := 0
	rejected := r.verdict(items[:nm.before])
	k := nm.next
	var got *item
	for ; k < len(items); k++ {
		it := &items[k]
		if it.kind == itName && (it.name.ID != "" || !it.symbol) && !(it.symbol && it.depth > 0) && it.role == roleNone {
			break
		}
		switch it.kind {
		case itPunct:
			switch it.fold {
			case ")", "]":
				limited = false
			case ";":
				words += 3
			}
		case itWord:
			if it.depth == 0 && it.class == 0 && !smallWord(it.fold) && it.fold != "[]" {
				words++
			}
			if it.class&clsLimit != 0 {
				limited = true
			}
		case itValue:
			v := *it.val
			if !v.number() && v.class&clsLimit != 0 && (got != nil || r.numberBehind(items, k)) {
				limited = true // "ideal 200-400"
				continue
			}
			if got == nil && !v.number() && v.class&(clsPresent|clsAbsent) != 0 && !v.none && r.numberBehind(items, k) {
				continue // PASS, FAIL before the number
			}
			if limited && v.number() || v.counts || nm.isCondition(&v) || it.class&clsLimit != 0 && v.number() && got != nil {
				limited = false
				continue
			}
			if v.number() && r.limitBehind(items, k, got != nil) {
				continue
			}
			if words > 4 {
				return false
			}
			if v.untested || v.pending {
				if got == nil {
					if v.pending {
						r.pending++
					}
					r.emptyRows++
					r.ignore(i, "not tested")
					return r.pairs(i, k+1) || true
				}
				continue
			}
			if got == nil {
				if r.proseBehind(items, k) {
					return false
				}
				got = it
				f := r.newFinding(i, nm, it, v)
				f.rejected = rejected
				r.plainUnit(&f, nm, items, k)
				r.plainFlags(&f, i, items, k)
				r.add(f)
				continue
			}
			r.second(i, nm, items, k, got, before)
		}
	}
	if got != nil && r.rowPending(items[nm.next:k]) {
		r.found = r.found[:before] // the number is the limit of a result still to come
		r.pending++
		r.ignore(i, "pending")
		return true
	}
	if got == nil {
		if r.rowPending(items[nm.next:]) {
			r.pending++
			r.ignore(i, "pending")
			return true
		}
		return false
	}
	if k < len(items) {
		r.pairs(i, k)
	}
	return true
}

// numberBehind tells whether a number with a unit follows before the next
// name or bracket.
func (r *reader) numberBehind(items []item, k int) bool {
	for j := k + 1; j < len(items); j++ {
		switch it := &items[j]; it.kind {
		case itName, itPunct:
			return false
		case itValue:
			if it.val.number() {
				return it.val.hasUnit && !it.val.counts
			}
		}
	}
	return false
}

// plainUnit finds the unit of a value in a row without a heading.
func (r *reader) plainUnit(f *finding, nm named, items []item, k int) {
	switch v := items[k].val; {
	case v.hasUnit:
		f.unit, f.hasUnit = v.unit, true
		if b := nextBasis(items, k); b != "" && f.basis == "" {
			f.basis = b
		}
		r.lastUnit, r.hadUnit, r.lastBasis = f.unit, true, f.unit.basis
		if r.lastBasis == "" && items[k].val.unit.basis == "" {
			r.lastBasis = nextBasis(items, k)
		}
		return
	case nm.hasUnit:
		f.unit, f.hasUnit = nm.unit, true
	case k > 0 && items[k-1].kind == itUnit: // "mg/L 312"
		f.unit, f.hasUnit = items[k-1].unit, true
	}
	for j := k + 1; j < len(items) && j <= k+4; j++ {
		it := &items[j]
		switch it.kind {
		case itUnit:
			if it.depth > items[k].depth && nm.hasUnit {
				return
			}
			f.unit, f.hasUnit = it.unit, true
			if b := nextBasis(items, j); b != "" && f.basis == "" {
				f.basis = b
			}
			r.lastUnit, r.hadUnit, r.lastBasis = it.unit, true, it.unit.basis
			if r.lastBasis == "" {
				r.lastBasis = nextBasis(items, j)
			}
			return
		case itDitto:
			f.unit, f.hasUnit, f.ditto = r.lastUnit, r.hadUnit, true
			if f.basis == "" {
				f.basis = r.lastBasis
			}
			return
		case itBasis:
			if f.basis == "" {
				f.basis = it.basis
			}
		case itWord:
			if nm.scale == "" {
				nm.scale = scaleBehind(items, j)
			}
			if u, ok := degreesWord(it.fold, nm); ok {
				f.unit, f.hasUnit = stated{unit: u}, true
				return
			}
			if it.class&clsLimit != 0 {
				return
			}
			if it.fold == "do" || it.fold == "ditto" || it.fold == "dto" {
				f.unit, f.hasUnit, f.ditto = r.lastUnit, r.hadUnit, true
				return
			}
		case itValue, itName:
			return
		}
	}
}

// nextBasis returns the basis right behind item k: "mg/L as N", "mg/L (as N)".
func nextBasis(items []item, k int) analyte.Basis {
	for j := k + 1; j < len(items) && j <= k+2; j++ {
		switch items[j].kind {
		case itBasis:
			return items[j].basis
		case itName:
			if items[j].symbol {
				return items[j].basis
			}
			return ""
		case itPunct:
			if items[j].fold != "(" && items[j].fold != "," {
				return ""
			}
		default:
			return ""
		}
	}
	return ""
}

// plainFlags takes up flags in a row without a heading.
func (r *reader) plainFlags(f *finding, i int, items []item, k int) {
	f.flags = items[k].val.flags
	for j := k + 1; j < len(items) && j <= k+4; j++ {
		it := &items[j]
		if it.kind == itName && !it.symbol {
			return
		}
		if it.kind == itWord && it.class&clsRejected != 0 && it.t1-it.t0 == 1 && len(r.lines[i].text[it.start:it.end]) > 1 {
			f.rejected = true
		}
		if it.cell != items[k].cell && it.xe-it.x <= 2 && (j+1 == len(items) || items[j+1].cell != it.cell) {
			f.flags += r.flagText(&r.lines[i], it)
		}
	}
}

// limitBehind tells whether the words behind a number make it a limit:
// "0.3 SMCL", "0.3 mg/L or less". A first number may be the result with its
// limit behind ("3.4 limit 0.3").
func (r *reader) limitBehind(items []item, k int, again bool) bool {
	for j := k + 1; j < len(items) && j <= k+2; j++ {
		it := &items[j]
		if it.kind == itUnit {
			continue
		}
		if it.kind == itPunct && it.fold == "(" && again {
			continue
		}
		if it.kind != itWord && !(it.kind == itValue && !it.val.number()) || it.class&clsLimit == 0 {
			return false
		}
		// a number behind the word is the limit, and this one is not
		for n := j + 1; n < len(items) && n <= j+3; n++ {
			if items[n].kind == itValue && items[n].val.number() {
				return false
			}
		}
		return again || it.depth == items[k].depth && j == k+1 && it.cell == items[k].cell
	}
	return false
}

// proseBehind tells whether a value stands in a sentence that goes on.
func (r *reader) proseBehind(items []item, k int) bool {
	words := 0
	for j := k + 1; j < len(items); j++ {
		it := &items[j]
		if it.cell != items[k].cell {
			return false
		}
		switch it.kind {
		case itWord:
			if it.depth == items[k].depth && it.fold != "[]" {
				words += it.t1 - it.t0
			}
		case itName, itValue:
			if it.kind == itName {
				return words > 6
			}
		case itPunct:
			if it.fold == "(" || it.fold == ";" {
				return words > 3
			}
		}
	}
	return words > 6
}

// second reads a further value of the same row: the reading in another unit,
// or one more number that nothing explains.
func (r *reader) second(i int, nm named, items []item, k int, first *item, before int) {
	v := *items[k].val
	if !v.number() || v.counts {
		return
	}
	if wasBefore(items, first, k) && len(r.found) > before {
		f := r.found[len(r.found)-1]
		f.doubts = append(f.doubts, analysisWarning("conflicting_values", "the report gives an earlier figure beside this one: "+r.label(i, items[k].start, items[k].end)))
		return
	}
	if v.hasUnit && len(r.found) > before {
		f0 := r.found[len(r.found)-1]
		b := v.unit.basis
		if b == "" {
			b = nextBasis(items, k)
		}
		if b != "" && f0.hasUnit && f0.unit.unit == v.unit.unit && r.basis(f0) != ownBasis(nm.id, b) && joined(items, first, k) {
			f := r.newFinding(i, nm, &items[k], v)
			f.unit, f.hasUnit, f.basis = v.unit, true, b
			r.add(f)
			return
		}
		if f0.hasUnit && f0.unit.unit != v.unit.unit && sameQuantity(nm.id, f0.unit.unit, v.unit.unit) && joined(items, first, k) {
			f := r.newFinding(i, nm, &items[k], v)
			f.unit, f.hasUnit = v.unit, true
			if b := nextBasis(items, k); b != "" {
				f.basis = b
			}
			r.add(f)
		}
		return
	}
	if len(r.found) > before && items[k].depth == 0 && !v.isRange && (items[k].cell != first.cell && r.lines[i].cells >= 3 || &items[k-1] == first && !first.val.hasUnit) {
		for j := k - 1; &items[j] != first; j-- {
			if items[j].kind == itUnit || items[j].kind == itDitto {
				return // behind the unit stands a limit
			}
		}
		r.found[len(r.found)-1].extra++
	}
}

// wasBefore tells whether a number is given as the one that the value
// replaces: "0.9 mg/L (was 9.0)".
func wasBefore(items []item, first *item, k int) bool {
	for j := k - 1; j >= 0 && &items[j] != first; j-- {
		switch items[j].fold {
		case "was", "previously", "formerly", "originally", "original", "old", "replaces", "instead", "corrected", "not", "war", "etait":
			return true
		}
	}
	return false
}

// joined tells whether a value is given as another form of the one before:
// in brackets, behind an equals sign, a slash or "or".
func joined(items []item, first *item, k int) bool {
	j := k - 1
	for j >= 0 && items[j].kind == itWord && items[j].class&clsAbout != 0 {
		j--
	}
	if j < 0 {
		return false
	}
	p := &items[j]
	if &items[j] == first {
		return items[k].cell > first.cell
	}
	switch p.fold {
	case "(", "=", "/", "or", "≈", "~", "i.e", "ie", "[", ",", ")", "resp", "bzw", "soit":
		return true
	}
	return p.kind == itUnit || p.kind == itDash || p.kind == itBasis
}

// sameQuantity tells whether two units measure the analyte alike.
func sameQuantity(id analyte.ID, a, b unit.Unit) bool {
	return compatible(id, a) && compatible(id, b)
}

// pairs reads further names with values from item k on.
func (r *reader) pairs(i, k int) bool {
	items := r.items[i]
	for ; k < len(items); k++ {
		it := &items[k]
		if it.kind != itName || it.symbol && !r.symbolStands(items, k) {
			continue
		}
		nm := r.nameAt(items, k, &r.lines[i])
		nm.before = k
		if nm.id == "" {
			continue
		}
		return r.plainRow(i, nm)
	}
	return false
}
