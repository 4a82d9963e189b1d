package labreport

import (
	"slices"

	"forebed/chem/analyte"
	"forebed/chem/unit"
)

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
			if got == nil && v.number() && items[k-1].fold == "=" && counts(items[nm.next:k]) {
				continue // "17 drops (1 drop = 1 grain)"
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
			if v.op != 0 && !v.hasUnit && got == nil && r.stoodOn(i, nm.id) {
				return true // "hardness 17 grains, hard above 7"
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
			if got != nil && it.cell != got.cell && len(r.found) > before && disagrees(got.val, &v) {
				f := r.found[len(r.found)-1]
				f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "this row says both that something and that nothing was found; one of the two is a limit"))
				f.withhold = true
			}
			if got == nil {
				if r.proseBehind(items, k) {
					return false
				}
				got = it
				f := r.newFinding(i, nm, it, v)
				f.rejected = rejected
				if isYear(v.num.text) && v.op == 0 && !v.hasUnit && v.number() && numbers(items[k+1:]) > 0 {
					f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "this number may be the year, and another number follows it"))
				}
				if v.number() && !v.hasUnit && k+1 == len(items) && (!nm.hasUnit || isYear(v.num.text)) && r.valueBelow(i) {
					f.doubts = append(f.doubts, analysisWarning("ambiguous_layout", "a number stands alone on the line below and may be the result"))
					f.withhold = true
				}
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

// disagrees tells whether one of two values of a row says that nothing was
// found and the other that something was.
func disagrees(a, b *value) bool {
	nothing := func(v *value) bool {
		return v.none && !v.has || v.class&clsAbsent != 0 && v.class&clsPresent == 0 && !v.has
	}
	something := func(v *value) bool {
		return v.has && v.op == 0 && !v.counts || v.class&clsPresent != 0 && v.class&clsAbsent == 0 && !v.has
	}
	return nothing(a) && something(b) || something(a) && nothing(b)
}

// valueBelow tells whether the line below a line of one cell holds a value and
// nothing else.
func (r *reader) valueBelow(i int) bool {
	return i+1 < r.real && r.lines[i].from == nil && r.lines[i].cells <= 1 && r.shapeOf(i+1) == shValue
}

// stoodOn tells whether line i holds a result of an analyte.
func (r *reader) stoodOn(i int, id analyte.ID) bool {
	for k := len(r.found) - 1; k >= 0 && r.found[k].line == i; k-- {
		if r.found[k].id == id {
			return true
		}
	}
	return false
}

// counts tells whether something is counted among items.
func counts(items []item) bool {
	return slices.ContainsFunc(items, func(it item) bool { return it.kind == itValue && it.val.counts })
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

// valueFirst reads a row that has its value before its name: "0.42 mg/L iron".
func (r *reader) valueFirst(i int) bool {
	items := r.items[i]
	k := 0
	for k < len(items) && (items[k].kind == itPunct || items[k].kind == itDash) {
		k++
	}
	if k+1 >= len(items) || items[k].kind != itValue || !items[k].val.number() || items[k].val.counts || items[k+1].kind != itName {
		return false
	}
	nm := r.nameAt(items, k+1, &r.lines[i])
	if nm.id == "" || !items[k].val.hasUnit && nm.id != "ph" || items[k].val.hasUnit && !compatible(nm.id, items[k].val.unit.unit) || numbers(items[nm.next:]) > 0 || len(items)-nm.next > 4 {
		return false
	}
	f := r.newFinding(i, nm, &items[k], *items[k].val)
	f.unit, f.hasUnit = items[k].val.unit, items[k].val.hasUnit
	f.flags = items[k].val.flags
	r.add(f)
	return true
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
		case itValue:
			if j == k+2 && items[k+1].fold == "/" && it.val.hasUnit && it.cell == items[k].cell { // "8.4 / 10 mg/L"
				f.unit, f.hasUnit = it.val.unit, true
			}
			return
		case itName:
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
		if it.kind == itName && (!it.symbol || severalSymbols(items) && j+1 < len(items) && items[j+1].kind == itValue) {
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

// severalSymbols tells whether a line writes names as symbols, so that a letter
// on it is one too and no flag.
func severalSymbols(items []item) bool {
	n := 0
	for k := range items {
		if items[k].kind == itName && items[k].symbol {
			n++
		}
	}
	return n >= 3
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
		if f0.hasUnit && f0.unit.unit == v.unit.unit && v.op == 0 && !v.isRange && items[k].depth == 0 && items[k].cell != first.cell && items[k].cell == items[k-1].cell+1 {
			f0.extra++ // another water, another day, or a limit
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
	if measuredInDegrees(id) && a == unit.DegF { // French, not Fahrenheit
		a = unit.DegFrench
	}
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
