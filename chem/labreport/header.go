package labreport

import (
	"strings"

	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// heading reads a line as the heading of a table; nil if it is none.
func (r *reader) heading(i int) *table {
	l := &r.lines[i]
	items := r.items[i]
	if len(items) == 0 || r.isKeyLine(i) || r.hasResult(items) || decimals(items) >= 2 {
		return nil
	}
	t := &table{index: l.index, line: i, width: l.cells}
	if l.cells >= 2 {
		for a := 0; a < len(items); {
			b := a
			for b < len(items) && items[b].cell == items[a].cell {
				b++
			}
			t.cols = append(t.cols, cellColumn(l, items[a:b]))
			a = b
		}
	}
	roles, bad := 0, 0
	seen := [roleWater + 1]bool{}
	for k := range t.cols {
		c := &t.cols[k]
		if c.role != roleNone && !seen[c.role] {
			roles++
		}
		seen[c.role] = true
		if c.role == roleNone && !c.hasUnit && !c.date {
			bad++
		}
	}
	core := seen[roleResult] || seen[roleMean] || seen[roleLimit] || seen[roleRL] || seen[roleUnit] || seen[roleQC] || seen[roleRange]
	if roles >= 2 && core && !r.hasResult(items) {
		r.wordsAbove(t, i)
		if !t.has(roleName) && !t.has(roleResult) && !t.has(roleMean) { // nothing stands over the names
			if w := r.watersHeading(i, t); w != nil && w.waters() > 0 {
				return w
			}
		}
		r.settleRoles(t)
		return t
	}
	if t2 := r.flowHeading(i); t2 != nil {
		return t2
	}
	if d := r.datesHeading(i); d != nil {
		return d
	}
	if l.cells >= 2 && !r.hasResult(items) {
		if w := r.watersHeading(i, t); w != nil {
			return w
		}
	}
	return nil
}

// decimals counts the numbers with decimals outside brackets: a heading has none.
func decimals(items []item) int {
	n := 0
	for k := range items {
		if it := &items[k]; it.kind == itValue && it.depth == 0 && it.val.number() && !it.val.counts && strings.ContainsAny(it.val.num.text, ".,") {
			n++
		}
	}
	return n
}

// wordsAbove takes up the line above a heading whose cells all stand over
// columns of it and make headings together with them: "Reporting" over "Limit".
func (r *reader) wordsAbove(t *table, i int) {
	if i == 0 || t.index || r.lines[i-1].blank || r.lines[i-1].index || r.isRule(i-1) || r.isKeyLine(i-1) {
		return
	}
	items := r.items[i-1]
	l := &r.lines[i-1]
	type pair struct {
		col  int
		role role
	}
	var found []pair
	for a := 0; a < len(items); {
		b := a
		for b < len(items) && items[b].cell == items[a].cell {
			if items[b].kind == itName || items[b].kind == itValue && items[b].val.number() {
				return
			}
			b++
		}
		over := items[a]
		over.xe = items[b-1].xe
		col := -1
		for c := range t.cols {
			if place(&over, &t.cols[c], false, true, 0) == 0 {
				col = c
			}
		}
		if col < 0 {
			return
		}
		if both, ok := phrase(analyte.Fold(strings.Join(strings.Fields(l.text[items[a].start:items[b-1].end]+" "+t.cols[col].label), " "))); ok && both.role != roleNone {
			found = append(found, pair{col, both.role})
		}
		a = b
	}
	for _, p := range found {
		t.cols[p.col].role = p.role
	}
}

// cellColumn reads the heading in one cell.
func cellColumn(l *line, items []item) column {
	first, last := &items[0], &items[len(items)-1]
	c := column{cell: first.cell, x: first.x, xe: last.xe, label: strings.TrimSpace(l.text[first.start:last.end])}
	words, known := 0, 0
	best := 0
	for k := range items {
		it := &items[k]
		n := it.t1 - it.t0
		switch it.kind {
		case itPunct:
			continue
		case itUnit:
			if !c.hasUnit {
				c.unit, c.hasUnit = it.unit, true
			}
			known += n
			words += n
			continue
		case itDate:
			c.date = true
		case itBasis:
			c.basis = it.basis
			known += n
			words += n
			continue
		}
		words += n
		c.class |= it.class
		if it.kind == itValue {
			c.class |= it.val.class
			if it.val.number() && isYear(it.val.num.text) {
				c.date = true
			}
		}
		if it.class&clsTotal != 0 {
			c.total = true
		}
		if it.class&clsDissolved != 0 {
			c.dissolve = true
		}
		if it.role == roleNone {
			if it.kind == itWord && smallWord(it.fold) {
				words--
			}
			continue
		}
		known += n
		if it.depth > 0 && c.role != roleNone {
			continue // "Analyte (unit)"
		}
		if n > best || n == best && stronger(it.role, c.role) {
			best, c.role = n, it.role
		}
	}
	if 2*known < words {
		c.role = roleNone
	}
	return c
}

// stronger tells which of two roles in one heading decides: "Limit for
// results" is a limit.
func stronger(a, b role) bool {
	rank := func(r role) int {
		switch r {
		case roleQC:
			return 9
		case roleRL, roleMDL:
			return 8
		case roleLimit:
			return 7
		case roleDate, roleMethod, roleFlag:
			return 6
		case roleMean, roleLow, roleHigh, roleRange:
			return 5
		case roleResult, roleUnit:
			return 4
		case roleName:
			return 3
		}
		return 1
	}
	return rank(a) > rank(b)
}

func smallWord(w string) bool {
	switch w {
	case "the", "of", "in", "for", "or", "and", "your", "this", "per", "at", "our", "de", "la", "le", "du", "der", "die", "das", "by", "is", "on", "with", "to", "no", "(", "s", "water", "drinking", "new", "actual":
		return true
	}
	return false
}

// datedSamples takes columns headed by several dates as samples: an average or a
// trend beside them is about them, and no sample.
func (t *table) datedSamples() {
	dated := 0
	for k := range t.cols {
		if t.cols[k].date && t.cols[k].role == roleNone {
			dated++
		}
	}
	if dated < 2 || t.has(roleResult) {
		return
	}
	for k := range t.cols {
		switch c := &t.cols[k]; {
		case c.date && c.role == roleNone:
			c.role = roleWater
		case c.role == roleMean, c.role == roleLow, c.role == roleHigh, c.role == roleRange, c.role == roleNone && !c.hasUnit && k > 0 && t.has(roleName):
			c.role = roleOther
		}
	}
}

// settleRoles decides what the roles of a heading mean together.
func (r *reader) settleRoles(t *table) {
	unitCols := 0
	for k := range t.cols {
		c := &t.cols[k]
		if c.role == roleNone && c.hasUnit && !c.unit.area {
			unitCols++
		}
	}
	t.datedSamples()
	hasResult := t.has(roleResult) || t.has(roleMean)
	for k := range t.cols {
		c := &t.cols[k]
		switch {
		case c.role == roleNone && c.hasUnit && c.unit.area:
			c.role = roleOther
		case c.role == roleNone && c.hasUnit && c.unit.unit == unit.Percent:
			c.role = roleOther
		case c.role == roleNone && c.hasUnit && (!hasResult || unitCols >= 2):
			c.role = roleResult
		case c.role == roleLow || c.role == roleHigh:
			// minimum and maximum beside a mean are extremes; beside a result, limits
			if !t.has(roleMean) {
				if t.has(roleResult) {
					c.role = roleLimit
				}
			}
		case c.role == roleQC:
			t.qc = t.qc || !t.has(roleRL)
		case c.role == roleName && k > 0 && t.find(roleName) < k && !c.hasUnit:
			// "Analysis" or "Test" again: a date or method column, unless a second panel begins
			if !t.index && t.count(roleResult) < 2 {
				c.role = roleOther
			}
		}
		if c.class&clsQC != 0 && c.role != roleRL {
			if c.role == roleNone || c.role == roleSample {
				c.role = roleOther // a blank beside the sample
			} else if c.role == roleResult || c.role == roleMean {
				t.qc = true
			}
		}
	}
	dated := 0
	for k := range t.cols {
		if t.cols[k].role == roleResult && t.cols[k].date {
			dated++
		}
	}
	for k := range t.cols {
		if c := &t.cols[k]; dated >= 2 && c.role == roleResult && c.date { // "2022 result", "2023 result"
			c.role = roleWater
		}
	}
	if t.has(roleMean) && t.has(roleResult) && t.count(roleResult) == 1 {
		// a result column beside an average: single reading
		return
	}
	// "Highest" alone with a range is the level reported
	if !t.has(roleMean) && !t.has(roleResult) && (t.has(roleRange) || t.has(roleLow)) {
		if k := t.find(roleHigh); k >= 0 {
			t.cols[k].role = roleMean
		}
	}
	// columns with a name of their own between known ones: several waters
	if !t.has(roleResult) && !t.has(roleMean) {
		for k := range t.cols {
			c := &t.cols[k]
			if c.role == roleNone && (k > 0 || t.has(roleName)) || c.role == roleSample && t.has(roleName) && k > t.find(roleName) || c.role == roleFraction {
				c.role = roleWater
			}
		}
	} else if t.count(roleResult) >= 1 {
		for k := range t.cols {
			c := &t.cols[k]
			if c.role == roleNone && c.date {
				c.role = roleWater
			}
		}
	}
}

// flowHeading reads a heading whose columns have run together: role words
// one behind the other and hardly anything else.
func (r *reader) flowHeading(i int) *table {
	l := &r.lines[i]
	if l.index {
		return nil
	}
	items := r.items[i]
	t := &table{flow: true, line: i}
	seen := map[role]bool{}
	other := 0
	for k := range items {
		it := &items[k]
		switch {
		case it.role != roleNone && it.kind != itName:
			if n := len(t.cols); n > 0 && t.cols[n-1].role == roleName && it.role == roleName {
				continue // "Test parameter"
			}
			if n := len(t.cols); n > 0 && k > 0 && items[k-1].fold == "/" && t.cols[n-1].role == it.role {
				continue // "Result / Résultat"
			}
			if it.role == roleUnit && it.t1-it.t0 == 2 && vocabulary().phrases[it.fold].role == roleResult { // "Result Units"
				t.cols = append(t.cols, column{role: roleResult, x: it.x, xe: it.xe, label: l.text[it.start:it.end]})
				seen[roleResult] = true
			}
			t.cols = append(t.cols, column{role: it.role, x: it.x, xe: it.xe, label: l.text[it.start:it.end], class: it.class})
			seen[it.role] = true
		case it.kind == itUnit && len(t.cols) > 0:
			c := &t.cols[len(t.cols)-1]
			c.unit, c.hasUnit = it.unit, true
		case it.kind == itPunct || it.kind == itWord && smallWord(it.fold):
		default:
			other++
		}
	}
	if len(t.cols) < 3 || len(seen) < 3 || other > 1 || !seen[roleResult] && !seen[roleMean] || !seen[roleName] && !seen[roleUnit] {
		return nil
	}
	r.settleRoles(t)
	return t
}

// datesHeading reads a line of nothing but dates, run together, over rows of
// as many values.
func (r *reader) datesHeading(i int) *table {
	items := r.items[i]
	if r.lines[i].cells > 1 || len(items) < 2 {
		return nil
	}
	t := &table{flow: true, line: i}
	for k := range items {
		it := &items[k]
		if it.kind != itDate && !(it.kind == itValue && it.val.number() && isYear(it.val.num.text)) {
			return nil
		}
		t.cols = append(t.cols, column{role: roleWater, cell: k, x: it.x, xe: it.xe, date: true, label: r.lines[i].text[it.start:it.end]})
	}
	for j := i + 1; j < len(r.lines) && j < i+4; j++ {
		if r.valueCells(j) == len(t.cols) {
			return t
		}
	}
	return nil
}

// watersHeading reads a line as the heading of several waters: the row below
// has a value under each of its cells.
func (r *reader) watersHeading(i int, t *table) *table {
	if _, ok := r.rowName(i); ok {
		return nil
	}
	for k := range r.items[i] {
		switch r.items[i][k].fold {
		case "page", "seite", "pagina", "sida", "side", "printed", "gedruckt":
			return nil // the foot of a page
		}
		if it := &r.items[i][k]; it.kind == itValue && it.val.number() && (it.val.hasUnit && !it.val.counts || it.val.op != 0 || it.val.num.doubt != 0 || strings.ContainsAny(it.val.num.text, ".,e")) {
			return nil
		}
	}
	words := 0
	for k := range t.cols {
		if t.cols[k].label != "" {
			words += len(strings.Fields(t.cols[k].label))
		}
	}
	if words > 8*len(t.cols) || r.table != nil && bareNumbers(r.items[i]) {
		return nil // a row about something else
	}
	rows, good := 0, 0
	for j := i + 1; j < len(r.lines) && rows < 4 && j < i+12; j++ {
		if r.lines[j].blank || r.isRule(j) {
			continue
		}
		n := r.valueCells(j)
		if n < 0 && rows == 0 && r.lines[j].cells >= 2 && r.acrossKind(j) != shUnit {
			return nil // a line nearer to the rows
		}
		if n < 0 {
			if rows == 0 && good == 0 && j > i+3 {
				return nil
			}
			continue
		}
		rows++
		if n >= 2 {
			good++
		}
		if rows == 1 && n < 2 {
			return nil
		}
	}
	if good == 0 || 2*good < rows {
		return nil
	}
	j := i + 1
	for r.valueCells(j) < 2 {
		j++
	}
	// every value of that row must stand under a cell of the heading
	under := map[int]bool{}
	stood := 0
	nm, _ := r.rowName(j)
	shift := 0
	if r.lines[j].index && t.index && t.cols[0].cell <= nm.cell && len(t.cols) <= r.valueCells(j)+r.unitCells(j) {
		shift = nm.cell + 1 - t.cols[0].cell // the empty cell over the names was lost
	} else if u := t.find(roleUnit); u >= 0 && r.lines[j].index && t.index && t.cols[0].cell <= nm.cell {
		for k := nm.next; k < len(r.items[j]); k++ { // the same, seen by the column of units
			if it := &r.items[j][k]; it.kind == itUnit && it.cell == t.cols[u].cell+1 {
				shift = 1
			}
		}
	}
	for k := range r.items[j] {
		it := &r.items[j][k]
		if it.kind == itName && it.name.ID != "" && it.role == roleNone && it.cell > nm.cell {
			return nil // names and values side by side
		}
		if it.kind != itValue && it.kind != itDash || it.start < nm.end {
			continue
		}
		hit := -1
		for c := range t.cols {
			if d := place(it, &t.cols[c], r.lines[j].index && t.index, !r.lines[j].index, shift); d <= 3 {
				if hit < 0 || place(it, &t.cols[hit], r.lines[j].index && t.index, true, shift) > d {
					hit = c
				}
			}
		}
		if hit < 0 {
			return nil
		}
		under[hit] = true
		stood++
	}
	if !t.index && !t.has(roleName) && stood == len(t.cols) && len(under) < stood && t.cols[0].x < r.items[j][nm.next-1].xe {
		for c := range t.cols {
			under[c] = true // as many values as headings, which have moved to the left
		}
	}
	n, blanks := 0, 0
	t.width += shift
	for c := range t.cols {
		col := &t.cols[c]
		col.cell += shift
		switch {
		case under[c] && (col.role == roleNone || col.role == roleSample || col.role == roleFraction || col.role == roleDate || col.role == roleName):
			col.role = roleWater
			if col.hasUnit && !col.unit.area && len(strings.Fields(col.label)) <= 3 {
				col.role = roleResult
			}
			if col.unit.area || col.hasUnit && col.unit.unit == unit.Percent {
				col.role = roleOther
			}
			n++
		case under[c] && (col.role == roleResult || col.role == roleMean):
			n++
		}
		if col.class&clsQC != 0 {
			col.role = roleOther
			blanks++
		}
	}
	if !t.index && !t.has(roleName) && len(t.cols) > 0 && t.cols[0].x < r.items[j][nm.next-1].xe {
		t.flow = true // the blanks over the names were lost
	}
	n -= blanks
	if n < 2 && blanks == 0 && !(n == 1 && t.count(roleResult)+t.waters() == 1) {
		return nil
	}
	return t
}

// bareNumbers tells whether two or more cells of a line behind the first hold
// nothing but a number.
func bareNumbers(items []item) bool {
	n := 0
	for k := 1; k < len(items); k++ {
		alone := items[k].cell > items[k-1].cell && (k+1 == len(items) || items[k+1].cell > items[k].cell)
		if alone && items[k].kind == itValue && items[k].val.number() && !isYear(items[k].val.num.text) {
			n++
		}
	}
	return n >= 2
}

// unitCells counts the units of a line that stand in cells of their own.
func (r *reader) unitCells(j int) int {
	n := 0
	for k := range r.items[j] {
		if it := &r.items[j][k]; it.kind == itUnit && (k == 0 || r.items[j][k-1].cell != it.cell) {
			n++
		}
	}
	return n
}

// valueCells returns how many values stand in cells of their own behind a
// name; -1 if the line is no row.
func (r *reader) valueCells(j int) int {
	if j >= len(r.lines) {
		return -1
	}
	nm, ok := r.rowName(j)
	if !ok {
		return -1
	}
	n := 0
	for k := range r.items[j] {
		it := &r.items[j][k]
		if it.start < nm.end {
			continue
		}
		if it.kind == itValue && !it.val.counts || it.kind == itDash {
			n++
		}
	}
	return n
}

// hasResult tells whether a line holds a name and a value behind it.
func (r *reader) hasResult(items []item) bool {
	name := false
	for k := range items {
		switch {
		case items[k].kind == itName && items[k].role == roleNone:
			name = true
		case items[k].kind == itValue && name && items[k].val.number() && !items[k].val.counts && !isYear(items[k].val.num.text) && items[k].depth == 0:
			return true
		}
	}
	return false
}

// isKeyLine tells whether a line is made of labels with a colon.
func (r *reader) isKeyLine(i int) bool {
	items := r.items[i]
	for k := range items {
		if items[k].kind == itPunct && items[k].fold == ":" && k > 0 && k+1 < len(items) && items[k+1].cell <= items[k].cell+1 {
			return true
		}
	}
	return false
}

// isRule tells whether a line only draws a rule.
func (r *reader) isRule(i int) bool {
	l := &r.lines[i]
	for k := range l.toks {
		t := &l.toks[k]
		if t.kind == tokDash || t.kind == tokPunct && (t.fold == "+" || t.fold == "=" || t.fold == ":" || t.fold == "|" || t.fold == "*" || t.fold == "_") {
			continue
		}
		return false
	}
	return len(strings.TrimSpace(l.text)) > 0
}

// joinHeading takes up a second heading line under the first: more words for
// its columns, or their units.
func (r *reader) joinHeading(t *table, i int) bool {
	if i >= len(r.lines) || r.lines[i].blank || t.flow || r.isRule(i) || r.hasResult(r.items[i]) || r.isKeyLine(i) {
		return false
	}
	items := r.items[i]
	if len(items) == 0 || r.lines[i].index != t.index {
		return false
	}
	hits, units, cells := 0, 0, 0
	type hit struct{ col, a, b int }
	var hs []hit
	for a := 0; a < len(items); {
		b := a
		for b < len(items) && items[b].cell == items[a].cell {
			if items[b].kind == itValue && items[b].val.number() || items[b].kind == itName && items[b].role == roleNone {
				return false
			}
			b++
		}
		cells++
		col := -1
		for c := range t.cols {
			it := items[a]
			it.xe = items[b-1].xe
			if place(&it, &t.cols[c], t.index, !t.index, 0) <= 1 {
				col = c
				break
			}
		}
		if col >= 0 {
			hits++
			hs = append(hs, hit{col, a, b})
			if items[a].kind == itUnit || items[a].kind == itPunct && b > a+1 && items[a+1].kind == itUnit {
				units++
			}
		}
		a = b
	}
	if hits < cells || hits == 0 {
		return false
	}
	if units == 0 && r.looksProse(i) {
		return false
	}
	roleful := units > 0
	for _, h := range hs {
		c := cellColumn(&r.lines[i], items[h.a:h.b])
		if c.role != roleNone {
			roleful = true
		}
	}
	if !roleful {
		return false
	}
	for _, h := range hs {
		c := cellColumn(&r.lines[i], items[h.a:h.b])
		old := &t.cols[h.col]
		if both, ok := phrase(analyte.Fold(strings.Join(strings.Fields(old.label+" "+c.label), " "))); ok && both.role != roleNone {
			old.role = both.role
		} else if c.role != roleNone && (old.role == roleNone || stronger(c.role, old.role)) {
			old.role = c.role
		}
		if c.hasUnit && !old.hasUnit {
			old.unit, old.hasUnit = c.unit, true
		}
		if c.basis != "" {
			old.basis = c.basis
		}
		old.label = strings.TrimSpace(old.label + " " + c.label)
		old.x, old.xe = min(old.x, c.x), max(old.xe, c.xe)
		old.class |= c.class
		old.total, old.dissolve = old.total || c.total, old.dissolve || c.dissolve
	}
	return true
}
