package labreport

import (
	"slices"
	"strings"
)

// columnList reads a table that was copied one column after the other: names,
// then values, then units. It returns the number of lines read.
func (r *reader) columnList(i int) int {
	if r.lines[i].cells > 1 {
		return 0
	}
	start := i
	if r.shapeOf(i) == shHead && r.headRole(i) == roleName {
		start = i + 1
	}
	var names []int
	known := 0
	j := start
	for ; j < r.real && len(names) < 400; j++ {
		s := r.shapeOf(j)
		if s == shName {
			known++
		} else if s != shOther || r.lines[j].cells > 1 {
			break
		} else if known == 0 && start == i {
			return 0
		}
		names = append(names, j)
	}
	if known < 3 || 2*known < len(names) {
		return 0
	}
	if start == i && r.shapeOf(i) != shName {
		return 0
	}
	// columns of values, units, limits
	type list struct {
		role  role
		lines []int
	}
	var lists []list
	cur := list{}
	flush := func() {
		if len(cur.lines) > 0 {
			lists = append(lists, cur)
		}
		cur = list{}
	}
	kind := shBlank
	end := j
	for ; j < r.real; j++ {
		s := r.shapeOf(j)
		if s == shBlank {
			continue
		}
		if s == shHead {
			flush()
			cur.role = r.headRole(j)
			kind = shBlank
			continue
		}
		if s == shName && r.isPHUnit(j) && kind == shUnit {
			s = shUnit
		}
		if s != shValue && s != shUnit {
			break
		}
		if s != kind && kind != shBlank && !(len(cur.lines) < len(names) && s == shValue && r.isRule(j)) {
			role := cur.role
			if len(cur.lines) < len(names) && role != roleNone && s != shUnit {
				role = cur.role
			} else {
				role = roleNone
			}
			flush()
			cur.role = role
		}
		if len(cur.lines) == len(names) {
			flush()
		}
		kind = s
		cur.lines = append(cur.lines, j)
		end = j + 1
	}
	flush()
	var results, units []int
	for _, l := range lists {
		s := r.shapeOf(l.lines[0])
		switch {
		case l.role == roleUnit || l.role == roleNone && (s == shUnit || r.isPHUnit(l.lines[0])):
			if units == nil {
				units = l.lines
			}
		case (l.role == roleResult || l.role == roleMean || l.role == roleNone && results == nil) && s == shValue:
			if results == nil {
				results = l.lines
			}
		}
	}
	if results == nil {
		return 0
	}
	if start > i {
		r.explains(start - 1)
	}
	if len(results) != len(names) {
		r.uneven(names, results)
		return end - i
	}
	unknown := 0 // columns of values that no heading tells apart
	for _, l := range lists {
		if l.role == roleNone && r.shapeOf(l.lines[0]) == shValue {
			unknown++
		}
	}
	short := len(units) > 1 && len(units) != len(names)
	fitsAll := short && r.unitsFit(names, units)
	for n, line := range names {
		nm, ok := r.rowName(line)
		if !ok || nm.id == "" {
			r.ignore(line, "not an analyte that the tool uses")
			r.ignore(results[n], "not an analyte that the tool uses")
			continue
		}
		r.explains(line)
		text := []int{line, results[n]}
		if len(units) == len(names) {
			text = append(text, units[n])
			r.explains(units[n])
		} else if len(units) == 1 {
			text = append(text, units[0])
		}
		before := len(r.found)
		if short {
			if n < len(units) && fitsAll {
				text = append(text, units[n])
				r.explains(units[n])
			}
		}
		r.cellRow(text, nil)
		if unknown > 1 {
			for _, f := range r.found[before:] {
				f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "several columns of values follow the names and no heading tells them apart; the first was taken"))
			}
		}
		if short {
			for _, f := range r.found[before:] {
				f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "the column of units does not have as many cells as that of values, so this unit may belong to another row"))
			}
		}
	}
	return end - i
}

// unitsFit tells whether units, put to the names from the top, are all such as
// can measure them.
func (r *reader) unitsFit(names, units []int) bool {
	for n, line := range units {
		if n >= len(names) {
			return false
		}
		nm, ok := r.rowName(names[n])
		if !ok || nm.id == "" {
			continue
		}
		it := &r.items[line][0]
		if it.kind == itUnit && !compatible(nm.id, it.unit.unit) && !(it.unit.unit == "") || it.kind != itUnit && !(r.isPHUnit(line) && nm.id == "ph") {
			return false
		}
	}
	return true
}

func (r *reader) isPHUnit(i int) bool {
	return len(r.items[i]) == 1 && r.items[i][0].kind == itName && r.items[i][0].fold == "ph"
}

// headRole returns the role that a heading of one cell states.
func (r *reader) headRole(i int) role {
	c := cellColumn(&r.lines[i], r.items[i])
	return c.role
}

// uneven gives the names of a table whose columns have lost cells: no number
// can be put to a name with certainty.
func (r *reader) uneven(names, results []int) {
	for _, line := range names {
		nm, ok := r.rowName(line)
		if !ok || nm.id == "" {
			continue
		}
		f := finding{id: nm.id, fraction: nm.fraction, basis: nm.basis, line: line, start: r.items[line][nm.first].start, end: r.items[line][nm.first].start, block: r.block, column: -1, withhold: true}
		f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "the columns do not have the same number of cells, so no value can be put to this name with certainty"))
		r.add(f)
	}
	for _, line := range results {
		r.fate[line].What, r.fate[line].Why = Doubtful, "cannot be put to a name"
	}
}

// cellRow reads lines of one cell each as the cells of one row.
func (r *reader) cellRow(lines []int, t *table) bool {
	var b strings.Builder
	var from []origin
	for k, line := range lines {
		if k > 0 {
			b.WriteByte('\t')
		}
		from = append(from, origin{b.Len(), line})
		b.WriteString(strings.TrimSpace(r.lines[line].text[r.lines[line].prefix:]))
	}
	v := r.virtual(b.String(), true, from)
	old := r.table
	r.table = t
	ok := r.row(v)
	r.table = old
	return ok
}

// stacked reads a table that was copied one cell a line, row after row. It
// returns the number of lines read.
func (r *reader) stacked(i int) int {
	if r.lines[i].cells > 1 {
		return 0
	}
	j := i
	t := &table{flow: true, line: i}
	for j < r.real && r.shapeOf(j) == shHead {
		for _, c := range []column{cellColumn(&r.lines[j], r.items[j])} {
			c.cell = len(t.cols)
			t.cols = append(t.cols, c)
		}
		j++
	}
	if len(t.cols) == 1 {
		return 0
	}
	if len(t.cols) > 1 && !t.has(roleName) { // nothing stands over the names
		t.cols = slices.Insert(t.cols, 0, column{role: roleName})
		for k := range t.cols {
			t.cols[k].cell = k
		}
	}
	if n := r.period(t, j); n > 0 {
		for k := i; k < j; k++ {
			r.explains(k)
		}
		return n - i
	}
	j = r.pastSections(t, j)
	first := j
	type span struct{ a, b int }
	var rows []span
	for j < r.real {
		s := r.shapeOf(j)
		if s == shBlank {
			j++
			continue
		}
		if len(rows) > 0 && s == shOther && len(t.cols) > 2 && !r.regular(j, len(t.cols)) {
			if k := r.pastSections(t, j); k > j {
				j = k
				continue
			}
		}
		if s != shName && !(s == shOther && len(rows) > 0 && len(t.cols) > 2 && r.regular(j, len(t.cols))) {
			break
		}
		k := j + 1
		values := 0
		for k < r.real && k-j < 9 {
			s := r.shapeOf(k)
			if s == shBlank && (k+1 >= r.real || r.shapeOf(k+1) == shName || r.shapeOf(k+1) == shBlank || len(t.cols) == 0) && values > 0 {
				break
			}
			if s == shBlank {
				k++
				continue
			}
			if s == shName && !(len(t.cols) > 2 && k-j < len(t.cols) && (r.isPHUnit(k) || t.has(roleFlag) && r.loneFlag(k))) {
				break
			}
			if s == shHead && !(len(t.cols) > 2 && k-j < len(t.cols)) || s == shOther && !r.loneFlag(k) && (len(t.cols) == 0 || k-j >= len(t.cols)) {
				break
			}
			if len(t.cols) > 0 && k-j >= len(t.cols) {
				break
			}
			if s == shValue {
				values++
			}
			k++
		}
		if values == 0 && s == shName {
			if len(rows) == 0 {
				return 0
			}
			rows = append(rows, span{j, k})
			j = k
			continue
		}
		rows = append(rows, span{j, k})
		j = k
	}
	if len(rows) < 2 && !(len(rows) == 1 && len(t.cols) >= 2) || len(rows) > 0 && rows[0].a != first {
		return 0
	}
	var use *table
	if len(t.cols) >= 2 {
		r.settleRoles(t)
		use = t
		for k := i; k < first; k++ {
			r.explains(k)
		}
	}
	for _, s := range rows {
		var lines []int
		for k := s.a; k < s.b; k++ {
			if !r.lines[k].blank {
				lines = append(lines, k)
			}
		}
		tab := use
		if use != nil && len(lines) == len(t.cols) {
			c := *use
			c.index, c.flow, c.width = true, false, len(lines)
			tab = &c
		}
		r.cellRow(lines, tab)
	}
	return j - i
}

// period reads a table copied one cell a line whose names do not stand first,
// as long as each row has all its cells. It returns the line behind it; 0 if
// there is no such table.
func (r *reader) period(t *table, j int) int {
	name, n := t.find(roleName), len(t.cols)
	if name <= 0 || n < 3 || !t.has(roleResult) {
		return 0
	}
	r.settleRoles(t)
	c := *t
	c.index, c.flow, c.width = true, false, n
	start := j
	for ; j+n <= r.real; j += n {
		if nm, ok := r.rowName(j + name); !ok || nm.next < len(r.items[j+name]) {
			break
		}
		lines := make([]int, n)
		for k := range lines {
			lines[k] = j + k
			if r.lines[j+k].blank || r.lines[j+k].cells > 1 {
				lines = nil
				break
			}
		}
		if lines == nil {
			break
		}
		r.cellRow(lines, &c)
	}
	if j == start {
		return 0
	}
	return j
}

// pastSections returns the line behind up to three heads of sections that stand
// before the next name; j if none follows so soon.
func (r *reader) pastSections(t *table, j int) int {
	for k := j; len(t.cols) > 2 && k < r.real && k <= j+3; k++ {
		switch s := r.shapeOf(k); {
		case s == shName:
			for n := j; n < k; n++ {
				r.explain(n)
				r.explains(n)
			}
			return k
		case s != shOther && s != shBlank || r.lines[k].cells > 1:
			return j
		}
	}
	return j
}

// loneFlag tells whether a line holds a laboratory's flag and nothing else.
func (r *reader) loneFlag(i int) bool {
	w := strings.TrimSpace(r.lines[i].text[r.lines[i].prefix:])
	return len(w) <= 3 && flagLetters(w)
}

// regular tells whether line j begins a row of n one-cell lines whose name is
// no known analyte.
func (r *reader) regular(j, n int) bool {
	return j+n < r.real && (r.shapeOf(j+n) == shName || j+2*n < r.real && r.shapeOf(j+2*n) == shName) && r.shapeOf(j+1) == shValue
}

// records reads blocks of labelled lines, one block an analyte: "Parameter:
// Iron", "Result: 0.31". It returns the number of lines read.
func (r *reader) records(i int) int {
	if k, _ := r.labelled(i); k != roleName {
		// "Iron", and below it "Your result: 0.62 mg/L"
		if i+1 >= r.real || r.lines[i].blank || r.lines[i+1].blank {
			return 0
		}
		if k, _ := r.labelled(i + 1); k != roleResult || r.shapeOf(i) != shName {
			return 0
		}
	}
	j := i
	var name, result, units, limit, flag int = -1, -1, -1, -1, -1
	for ; j < r.real && !r.lines[j].blank; j++ {
		role, _ := r.labelled(j)
		if role == roleNone && r.shapeOf(j) == shName {
			role = roleName
		}
		if role == roleName && j > i {
			break
		}
		switch role {
		case roleName:
			name = j
		case roleResult, roleMean:
			if result < 0 {
				result = j
			}
		case roleUnit:
			units = j
		case roleRL, roleMDL:
			if limit < 0 || role == roleRL {
				limit = j
			}
		case roleFlag:
			flag = j
		}
	}
	if name < 0 || result < 0 {
		return 0
	}
	t := &table{index: true, line: i}
	var b strings.Builder
	var from []origin
	put := func(line int, ro role) {
		if line < 0 {
			return
		}
		_, at := r.labelled(line)
		if len(from) > 0 {
			b.WriteByte('\t')
		}
		from = append(from, origin{b.Len(), line})
		t.cols = append(t.cols, column{role: ro, cell: len(t.cols)})
		b.WriteString(strings.TrimSpace(r.lines[line].text[at:]))
	}
	put(name, roleName)
	put(result, roleResult)
	put(units, roleUnit)
	put(limit, roleRL)
	put(flag, roleFlag)
	t.width = len(from)
	v := r.virtual(b.String(), true, from)
	old := r.table
	r.table = t
	r.row(v)
	r.table = old
	for k := i; k < j; k++ {
		r.ignore(k, "belongs to a block of labelled lines")
	}
	return j - i
}

// labelled returns the role of the key of a line "Key: text", and the byte
// where the text begins.
func (r *reader) labelled(i int) (role, int) {
	items := r.items[i]
	for k := range items {
		if items[k].kind == itPunct && items[k].fold == ":" {
			if k == 0 || k > 5 {
				return roleNone, 0
			}
			c := cellColumn(&r.lines[i], items[:k])
			if c.role == roleNone {
				return roleNone, 0
			}
			return c.role, items[k].end
		}
	}
	return roleNone, 0
}
