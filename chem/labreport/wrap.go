package labreport

import (
	"strings"
)

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
		above := r.cellAbove(i, b[0].x, b[0].xe)
		return openEnded(above) || r.crosses(above, right)
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

// crosses tells whether the name of an analyte, a unit, or a fraction, spans the end
// of one cell and the start of the next.
func (r *reader) crosses(left, right string) bool {
	if right == "" || !isLetter(right[0]) && right[0] < 0x80 && right[0] != '(' {
		return false
	}
	text, cut := joinText(left, right)
	l := r.work.lex(row{text: text})
	for _, it := range r.work.itemize(&l) {
		if it.start < cut && it.end > cut && (it.kind == itName && it.name.ID != "" || it.kind == itUnit || it.kind == itValue && it.val.hasUnit || it.class&(clsTotal|clsDissolved) != 0) {
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
	add(j, true)
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
	r.lines[at] = l
	r.items[at] = r.work.itemize(&r.lines[at])
	r.lines[other].gone = true
	r.fate[other] = Fate{Line: r.lines[other].line, What: Explains}
}
