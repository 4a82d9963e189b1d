package labreport

import (
	"strings"

	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// shape is what a line of one cell holds.
type shape uint8

const (
	shOther shape = iota
	shBlank
	shName  // the name of an analyte and nothing else
	shValue // a value and nothing else
	shUnit
	shHead // words over a column
)

// shapeOf classifies a line of one cell.
func (r *reader) shapeOf(i int) shape {
	l := &r.lines[i]
	if l.blank {
		return shBlank
	}
	items := r.items[i]
	if l.cells > 1 && items[len(items)-1].cell > items[0].cell {
		return shOther
	}
	roles, values, units, others := 0, 0, 0, 0
	for k := range items {
		it := &items[k]
		switch it.kind {
		case itPunct, itDash:
		case itValue:
			if it.val.counts {
				others++
			}
			values++
			if it.role != roleNone && !it.val.number() {
				roles++
			}
		case itUnit, itDitto:
			units++
		case itWord, itName, itBasis:
			switch {
			case it.role != roleNone && (it.kind != itName || len(items) == 1 && it.fold != "ph"):
				roles++
			case it.kind == itWord && smallWord(it.fold):
			case it.kind == itWord && it.class&clsLimit != 0:
			default:
				others++
			}
		default:
			others++
		}
	}
	switch {
	case roles > 0 && others == 0 && values <= roles && !(len(items) == 1 && items[0].kind == itValue && items[0].val.untested):
		return shHead
	case values > 0 && others == 0 && roles == 0:
		return shValue
	case units > 0 && values == 0 && others == 0 && roles == 0:
		return shUnit
	case len(items) > 0 && values == 0 && others == 0 && roles == 0 && r.isRule(i):
		return shValue // a dash stands for a value
	}
	if nm, ok := r.rowName(i); ok && nm.next == len(items) && !nm.limited {
		return shName
	}
	return shOther
}

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
		r.cellRow(text, nil)
	}
	return end - i
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
	first := j
	type span struct{ a, b int }
	var rows []span
	for j < r.real {
		s := r.shapeOf(j)
		if s == shBlank {
			j++
			continue
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
			if s == shName && !(len(t.cols) > 2 && k-j < len(t.cols) && r.isPHUnit(k)) {
				break
			}
			if s == shHead && !(len(t.cols) > 2 && k-j < len(t.cols)) || s == shOther && (len(t.cols) == 0 || k-j >= len(t.cols)) {
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

// regular tells whether line j begins a row of n one-cell lines whose name is
// no known analyte.
func (r *reader) regular(j, n int) bool {
	return j+n < r.real && (r.shapeOf(j+n) == shName || j+2*n < r.real && r.shapeOf(j+2*n) == shName) && r.shapeOf(j+1) == shValue
}

// records reads blocks of labelled lines, one block an analyte: "Parameter:
// Iron", "Result: 0.31". It returns the number of lines read.
func (r *reader) records(i int) int {
	if k, _ := r.labelled(i); k != roleName {
		return 0
	}
	j := i
	var name, result, units, limit, flag int = -1, -1, -1, -1, -1
	for ; j < r.real && !r.lines[j].blank; j++ {
		role, _ := r.labelled(j)
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

// joinWrapped joins lines that belong to one row: names, units and brackets
// that go on below.
func (r *reader) joinWrapped() {
	for i := 0; i+1 < r.real; i++ {
		a, b := &r.lines[i], &r.lines[i+1]
		if a.blank || b.blank || a.gone || a.index || b.index || r.isRule(i) || r.isRule(i+1) {
			continue
		}
		if r.tail(i) {
			r.merge(i, i+1, i)
		} else if r.head(i) {
			r.merge(i, i+1, i+1)
		}
	}
}

// firstCell returns the bytes of the first cell of a line.
func (r *reader) firstCell(i int) (start, end int) {
	toks := r.lines[i].toks
	end = toks[0].end
	for k := 1; k < len(toks) && toks[k].cell == toks[0].cell; k++ {
		end = toks[k].end
	}
	return toks[0].start, end
}

// tail tells whether line i+1 only goes on with cells of row i.
func (r *reader) tail(i int) bool {
	a, b := r.items[i], r.items[i+1]
	if r.lines[i].cells < 2 {
		return false
	}
	firstValue := -1
	for k := range a {
		if a[k].kind == itValue {
			firstValue = k
			break
		}
	}
	if firstValue <= 0 || a[0].kind == itValue {
		return false
	}
	for k := range b {
		if (b[k].kind == itValue || b[k].kind == itDash) && b[k].x < a[firstValue].xe+3 && b[k].xe > a[firstValue].x-3 && b[k].depth == 0 {
			return false // a row of its own
		}
	}
	if rowLike(b) {
		return false
	}
	as, ae := r.firstCell(i)
	bs, be := r.firstCell(i + 1)
	left, right := r.lines[i].text[as:ae], r.lines[i+1].text[bs:be]
	if b[0].x > a[firstValue].x-2 { // no name cell below: a unit that goes on
		return openEnded(r.cellAbove(i, b[0].x, b[0].xe))
	}
	if openEnded(left) || strings.Count(left, "(") > strings.Count(left, ")") {
		return true
	}
	if strings.HasPrefix(right, "(") && len(b) <= 9 && !strings.Contains(right, ":") && r.lines[i+1].cells <= 2 && b[0].x >= a[0].x {
		return true
	}
	return r.crosses(left, right)
}

// rowLike tells whether items hold a name and, in a later cell, a value.
func rowLike(items []item) bool {
	name := -1
	for k := range items {
		switch {
		case items[k].kind == itName && items[k].role == roleNone && name < 0:
			name = items[k].cell
		case (items[k].kind == itValue && !items[k].val.counts || items[k].kind == itDash) && name >= 0 && items[k].cell > name && items[k].depth == 0:
			return true
		}
	}
	return false
}

// cellAbove returns the text of the cell of line i over columns x to xe.
func (r *reader) cellAbove(i, x, xe int) string {
	toks := r.lines[i].toks
	for k := range toks {
		if toks[k].x < xe && x < toks[k].xe {
			a, b := k, k
			for a > 0 && toks[a-1].cell == toks[k].cell {
				a--
			}
			for b+1 < len(toks) && toks[b+1].cell == toks[k].cell {
				b++
			}
			return r.lines[i].text[toks[a].start:toks[b].end]
		}
	}
	return ""
}

// head tells whether line i is the first half of the name of row i+1.
func (r *reader) head(i int) bool {
	if items := r.items[i]; items[len(items)-1].cell != items[0].cell || len(items) > 8 {
		return false
	}
	for k := range r.items[i] {
		if it := &r.items[i][k]; it.kind == itValue && it.val.number() || it.kind == itPunct && it.fold == ":" {
			return false
		}
	}
	below := r.items[i+1]
	values := 0
	for k := range below {
		if below[k].kind == itValue || below[k].kind == itUnit {
			values++
		}
	}
	if values == 0 || r.lines[i+1].cells < 2 || below[0].kind == itValue {
		return false
	}
	bs, be := r.firstCell(i + 1)
	as, ae := r.firstCell(i)
	left, right := r.lines[i].text[as:ae], r.lines[i+1].text[bs:be]
	if abs(r.items[i][0].x-below[0].x) > 3 {
		return false
	}
	if strings.Count(left, "(") > strings.Count(left, ")") && strings.Count(right, ")") > strings.Count(right, "(") {
		return true
	}
	if nm, ok := r.rowName(i + 1); ok && nm.id != "" && !openEnded(left) {
		return false
	}
	return r.crosses(left, right)
}

// openEnded tells whether a cell ends in the middle of something.
func openEnded(s string) bool {
	s = strings.TrimRight(s, " ")
	if s == "" {
		return false
	}
	switch s[len(s)-1] {
	case '-', '+', ',', '/', '&':
		return len(s) > 2
	}
	for _, w := range []string{" as", " and", " of", " by", " (as"} {
		if strings.HasSuffix(strings.ToLower(s), w) {
			return true
		}
	}
	return false
}

// crosses tells whether the name of an analyte, or a fraction, spans the end
// of one cell and the start of the next.
func (r *reader) crosses(left, right string) bool {
	if right == "" || !isLetter(right[0]) && right[0] < 0x80 && right[0] != '(' {
		return false
	}
	text, cut := joinText(left, right)
	l := r.work.lex(row{text: text})
	for _, it := range r.work.itemize(&l) {
		if it.start < cut && it.end > cut && (it.kind == itName && it.name.ID != "" || it.class&(clsTotal|clsDissolved) != 0) {
			return true
		}
	}
	return false
}

// joinText joins two halves; a hyphen at the end of the first goes if a small
// letter follows.
func joinText(left, right string) (string, int) {
	left = strings.TrimRight(left, " ")
	if strings.HasSuffix(left, "-") && len(right) > 0 && 'a' <= right[0] && right[0] <= 'z' {
		left = left[:len(left)-1]
		return left + right, len(left)
	}
	if strings.HasSuffix(left, "/") {
		return left + right, len(left)
	}
	return left + " " + right, len(left)
}

// merge puts line b under line a, cell by cell; the values stand on line at.
func (r *reader) merge(i, j, at int) {
	type piece struct {
		x    int
		text string
	}
	var cells []piece
	add := func(n int, below bool) {
		toks := r.lines[n].toks
		for a := 0; a < len(toks); {
			b := a
			for b+1 < len(toks) && toks[b+1].cell == toks[a].cell {
				b++
			}
			text := r.lines[n].text[toks[a].start:toks[b].end]
			done := false
			if below {
				for k := range cells {
					end := cells[k].x + len([]rune(cells[k].text))
					if toks[a].x < end && toks[b].xe > cells[k].x || abs(toks[a].x-cells[k].x) <= 2 {
						cells[k].text, _ = joinText(cells[k].text, text)
						done = true
						break
					}
				}
			}
			if !done {
				cells = append(cells, piece{toks[a].x, text})
			}
			a = b + 1
		}
	}
	add(i, false)
	if at == j {
		// the name goes on in the first cell of the row below
		add(j, true)
	} else {
		add(j, true)
	}
	for k := 1; k < len(cells); k++ {
		for m := k; m > 0 && cells[m].x < cells[m-1].x; m-- {
			cells[m], cells[m-1] = cells[m-1], cells[m]
		}
	}
	var b strings.Builder
	n := 0
	for k, c := range cells {
		pad := c.x - n
		if k > 0 && pad < 2 {
			pad = 2
		}
		if pad > 0 {
			b.WriteString(strings.Repeat(" ", pad))
			n += pad
		}
		b.WriteString(c.text)
		n += len([]rune(c.text))
	}
	l := r.work.lex(row{line: r.lines[at].line, text: b.String()})
	other := i + j - at
	l.from = []origin{{0, at}}
	l.joined = other
	r.lines[at] = l
	r.items[at] = r.work.itemize(&r.lines[at])
	r.lines[other].gone = true
	r.fate[other] = Fate{Line: r.lines[other].line, What: Explains}
}

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
	var units []int
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
			units = append(units, j)
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

// fold is the folded text of one cell, for looking up headings.
func fold(s string) string { return strings.Join(strings.Fields(analyte.Fold(s)), " ") }
