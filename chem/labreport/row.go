package labreport

import (
	"strings"

	"forebed/chem/analysis"
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
			if k == 1 && items[0].kind == itUnit && !nm.hasUnit {
				nm.unit, nm.hasUnit = items[0].unit, true
			}
			if k > 0 && items[k-1].kind == itBasis && !items[k-1].as && nm.basis == "" { // "CaCO3 hardness"
				nm.basis = items[k-1].basis
			}
			return nm, true
		case itPunct, itDash, itCode, itBasis, itDate:
			continue
		case itUnit:
			if k == 0 && len(items) > 2 && items[1].kind == itName {
				continue // "mg/L   Calcium   58.2"
			}
			return named{}, false
		case itValue:
			second := k == 1 && items[0].kind == itValue && it.cell > items[0].cell && k+1 < len(items) && items[k+1].cell > it.cell
			if (k == 0 || second) && it.val.number() && !it.val.hasUnit && it.val.op == 0 && !it.val.isRange && !strings.ContainsAny(it.val.num.text, ".,e-") {
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

// afterLabel returns the item behind a label of one to three words and a colon
// that stands before the name: "Kitchen: iron 0.3 mg/L".
func (r *reader) afterLabel(i int) int {
	items := r.items[i]
	inside := 0 // items in brackets
	for k := 0; k < len(items) && k <= 3+inside; k++ {
		it := &items[k]
		switch {
		case it.depth > 0 || it.fold == "(" || it.fold == ")":
			inside++
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
	if k > 0 && items[k-1].cell == it.cell && (items[k-1].kind == itWord || items[k-1].fold == "/" && items[k-1].end == it.start) {
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

// newFinding makes a finding of a value under a name.
func (r *reader) newFinding(i int, nm named, it *item, v value) finding {
	var doubts []analysis.Warning
	if nm.open {
		doubts = append(doubts, analysisWarning("ambiguous_layout", "the name goes on where it cannot be followed"))
	}
	return finding{doubts: doubts, id: nm.id, fraction: nm.fraction, basis: nm.basis, val: v, line: i, start: it.start, end: it.end, block: r.block, column: -1, prelim: r.prelim, final: r.final, nameText: nm.text, nameOCR: nm.damaged, foreign: nm.foreign}
}
