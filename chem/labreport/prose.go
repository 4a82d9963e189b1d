package labreport

import (
	"fmt"
	"strings"

	"forebed/chem/analyte"
)

// enoughRows is the number of results in rows from which running text counts
// as a comment on them: letters quote limits, earlier values and advice.
const enoughRows = 3

// readProse reads results out of running text, sentence by sentence. Lines
// that follow each other are one paragraph.
func (r *reader) readProse() {
	rows := 0
	for k := range r.found {
		if f := r.found[k]; !f.withhold && !r.isSentenceLine(f.line) {
			rows++
		}
	}
	if rows >= enoughRows {
		r.readBeside()
		return
	}
	for a := 0; a < len(r.prose); {
		b := a + 1
		for b < len(r.prose) && r.prose[b] == r.prose[b-1]+1 && !r.isListItem(r.prose[b]) {
			b++
		}
		r.paragraph(r.prose[a:b])
		a = b
	}
}

// isListItem tells whether a line begins with a running number and a mark
// behind it: "2. Name two ions". "3.2 ppm. The pH was" goes on with a sentence.
func (r *reader) isListItem(i int) bool {
	items := r.items[i]
	return len(items) > 2 && items[0].kind == itValue && items[0].val.number() && !items[0].val.hasUnit &&
		!strings.ContainsAny(items[0].val.num.text, ".,") && (items[1].fold == "." || items[1].fold == ")") && items[1].start == items[0].end
}

// asks tells whether a sentence is a question.
func asks(items []item) bool {
	if len(items) == 0 || items[len(items)-1].fold != "?" {
		return false
	}
	for k := range items {
		switch items[k].fold {
		case "what", "why", "how", "is", "are", "does", "do", "can", "which", "should", "could", "would":
			return true
		}
		if items[k].kind != itValue && items[k].kind != itPunct {
			return false
		}
	}
	return false
}

// isSentenceLine tells whether a line that was read as a row may as well be a
// sentence of a letter: one cell that ends with a full stop.
func (r *reader) isSentenceLine(i int) bool {
	l := &r.lines[i]
	return l.cells == 1 && strings.HasSuffix(strings.TrimRight(l.text, " \r"), ".")
}

// readBeside reads the running text beside a table: what corrects it, and
// what its writer has measured and no row holds ("on site we also measured pH
// 6.9"). The latter never goes without a doubt.
func (r *reader) readBeside() {
	for _, i := range r.prose {
		if r.lineClass(i)&(clsPrelim|clsFinal|clsCorrect) != 0 {
			r.paragraph([]int{i})
			r.ignore(i, "running text beside a table")
		}
	}
	held := map[analyte.ID]bool{}
	for _, f := range r.found {
		held[f.id] = true
	}
	n := len(r.found)
	r.beside = true
	for a := 0; a < len(r.prose); {
		b := a + 1
		for b < len(r.prose) && r.prose[b] == r.prose[b-1]+1 {
			b++
		}
		if r.block == 0 && len(r.blocks) == 1 {
			r.paragraph(r.prose[a:b])
		}
		a = b
	}
	r.beside = false
	kept := r.found[:n]
	for _, f := range r.found[n:] {
		if held[f.id] || f.val.op != 0 || !f.val.number() || !f.hasUnit && f.id != "ph" {
			continue
		}
		f.doubts = append(f.doubts, analysisWarning("outside_table", "this figure stands in the text beside the table, not in it"))
		kept = append(kept, f)
	}
	r.found = kept
	for _, i := range r.prose {
		r.ignore(i, "running text beside a table")
	}
}

// measuredHere tells whether a sentence says that its writer has measured.
func measuredHere(items []item) bool {
	for k := range items {
		switch items[k].fold {
		case "measured", "tested", "came", "found", "read", "reads", "showed", "gemessen", "mesuré", "uppmätt":
			return items[k].kind == itWord
		}
	}
	return false
}

// paragraph reads lines of running text as one.
func (r *reader) paragraph(lines []int) {
	var b strings.Builder
	var from []origin
	for k, i := range lines {
		if k > 0 {
			b.WriteByte(' ')
		}
		from = append(from, origin{b.Len(), i})
		l := &r.lines[i]
		b.WriteString(squeeze(l.text[l.prefix:]))
		if b.Len() > MaxLineLength/2 {
			break
		}
	}
	v := r.virtual(b.String(), false, from)
	items := r.items[v]
	a := 0
	for k := range items {
		if k+1 == len(items) || r.sentenceEnd(v, items, k) {
			r.readSentence(v, items[a:k+1])
			a = k + 1
		}
	}
	for _, i := range lines {
		r.ignore(i, "running text without a result")
	}
}

// squeeze makes runs of blanks single, so that a sentence stays one cell.
func squeeze(s string) string { return strings.Join(strings.Fields(s), " ") }

func (r *reader) sentenceEnd(v int, items []item, k int) bool {
	it := &items[k]
	if it.kind != itPunct || it.depth > 0 {
		return false
	}
	switch it.fold {
	case ";", "!", "?":
		return true
	case ".":
		return k+1 < len(items) && items[k+1].start > it.end && !(k > 0 && abbreviated(items[k-1].fold))
	}
	return false
}

func abbreviated(w string) bool {
	switch w {
	case "approx", "ca", "nr", "no", "mr", "mrs", "dr", "st", "vs", "max", "min", "deg", "temp", "alk", "cond", "diss", "std", "tot", "e", "g", "i":
		return true
	}
	return false
}

// readSentence reads the names and values of one sentence.
func (r *reader) readSentence(v int, items []item) {
	var c class
	names := 0
	for k := range items {
		if items[k].kind != itName {
			c |= items[k].class
		}
		if items[k].kind == itName && items[k].name.ID != "" && (!items[k].symbol || r.symbolInProse(items, k)) {
			names++
		}
	}
	if names == 0 || asks(items) {
		return
	}
	switch {
	case c&clsProgram != 0:
		r.text.program++
		return
	case c&(clsOther|clsSkip) != 0:
		return
	case c&clsPast != 0 && c&clsPrelim == 0:
		return
	}
	if r.beside && !measuredHere(items) {
		return
	}
	guess := c&clsGuess != 0
	pre, fin := r.prelim, r.final
	if c&clsPrelim != 0 && c&clsFinal == 0 {
		r.prelim, r.final = true, false
	} else if c&clsFinal != 0 && c&clsPrelim == 0 {
		r.prelim, r.final = false, true
	}
	defer func() { r.prelim, r.final = pre, fin }()
	l := &r.lines[v]
	type open struct {
		nm   named
		used bool
		at   int
	}
	var cur *open
	limited, goals := false, false
	no := -1
	for k := 0; k < len(items); k++ {
		it := &items[k]
		switch it.kind {
		case itName:
			if it.symbol && !r.symbolInProse(items, k) {
				continue
			}
			nm := r.nameAt(items, k, l)
			if nm.open { // "sodium + potassium": a sum is neither
				cur, k = nil, nm.next
				continue
			}
			if nm.id == "" {
				cur = nil
				continue
			}
			if no >= 0 && k-no <= 2 {
				r.noneFound(v, nm, items, no, k)
				cur = nil
				continue
			}
			// a value right before: "15 gpg hardness", "mg/L 312 total dissolved solids"
			if cur == nil || cur.used {
				if p := valueBefore(items, k); p >= 0 && !limited && !guess && r.unclaimed(v, &items[p]) && r.nothingBehind(items, nm.next) {
					f := r.newFinding(v, nm, &items[p], *items[p].val)
					f.prose = true
					r.plainUnit(&f, nm, items, p)
					r.add(f)
					cur = &open{nm: nm, used: true, at: k}
					k = nm.next - 1
					continue
				}
			}
			if cur == nil && limited {
				goals = true // "Target for the tank is pH 6.8, GH 5"
			}
			cur = &open{nm: nm, at: k}
			limited = limited || nm.limited
			k = nm.next - 1
		case itWord:
			if it.fold == "no" || it.fold == "zero" || it.fold == "without" {
				no = k
			}
			if it.class&clsLimit != 0 {
				limited = true
			}
			switch it.fold {
			case "ours", "mine", "yours", "but", "came":
				limited, goals = false, false
			}
		case itPunct:
			if it.fold == ")" || it.fold == "," && !limitGoesOn(items, k) {
				limited = false
			}
		case itValue:
			val := *it.val
			if cur == nil || val.counts || cur.nm.isCondition(&val) {
				continue
			}
			if !val.number() {
				if !cur.used && k-cur.at <= 6 && (val.none && !val.untested || val.class&clsWords != 0 && k-cur.at <= 3 && onlySmall(items, cur.at+1, k)) && it.fold != "no" && !limited && !guess {
					f := r.newFinding(v, cur.nm, it, val)
					f.prose = true
					r.add(f)
					cur.used = true
				}
				if val.pending && !cur.used {
					r.pending++
				}
				if val.untested || val.pending {
					cur.used = true
				}
				continue
			}
			if guess || limited || goals || val.op != 0 && !val.hasUnit && items[k-1].kind != itUnit && cur.nm.id != "ph" || val.class&clsLimit != 0 && r.limitSentence(items, k) || r.limitBehind(items, k, true) || r.goalBehind(items, k) {
				limited = false
				continue
			}
			if cur.used {
				if n := len(r.found); n > 0 && r.found[n-1].line == v && val.hasUnit && r.found[n-1].hasUnit && r.found[n-1].unit.unit != val.unit.unit && sameQuantity(cur.nm.id, r.found[n-1].unit.unit, val.unit.unit) {
					f := r.newFinding(v, cur.nm, it, val)
					f.prose = true
					f.unit, f.hasUnit = val.unit, true
					r.add(f)
				} else if r.correction(items, k) && n > 0 && r.found[n-1].line == v {
					r.found[n-1].val, r.found[n-1].start, r.found[n-1].end = val, it.start, it.end
				}
				continue
			}
			if k-cur.at > 14 || isYear(val.num.text) && !val.hasUnit || !val.hasUnit && items[k-1].kind != itUnit && !copulaOnly(items, cur.at+1, k) {
				continue
			}
			f := r.newFinding(v, cur.nm, it, val)
			f.prose = true
			r.plainUnit(&f, cur.nm, items, k)
			if c&clsCorrect != 0 {
				r.replace(f)
			} else {
				r.add(f)
			}
			cur.used = true
		}
	}
}

// replace puts a finding in the place of an earlier one of the same sentence.
func (r *reader) replace(f finding) {
	for k := len(r.found) - 1; k >= 0; k-- {
		if old := r.found[k]; old.id == f.id && old.fraction == f.fraction && old.block == f.block && old.column == f.column {
			if old.line != f.line && r.written(old) != r.written(&f) {
				r.warnings = append(r.warnings, analysisWarningAt("conflicting_values", fmt.Sprintf("an earlier figure on line %d, %s, is put right by a later one; the later one is kept", r.lineNo(old), r.written(old)), r.lineNo(&f), f.id))
			}
			r.found = append(r.found[:k], r.found[k+1:]...)
			break
		}
	}
	r.add(f)
}

// correction tells whether a value puts the one before it right in the same
// sentence: "22, no wait, 20".
func (r *reader) correction(items []item, k int) bool {
	if k > 0 && items[k-1].fold == "not" {
		return false // "0.21, not 0.12"
	}
	for j := k - 1; j >= 0 && j >= k-5; j-- {
		if items[j].class&clsCorrect != 0 || items[j].fold == "no" {
			return true
		}
	}
	return false
}

// unclaimed tells whether no finding holds this value yet.
func (r *reader) unclaimed(v int, it *item) bool {
	for k := len(r.found) - 1; k >= 0; k-- {
		if r.found[k].line == v && r.found[k].start == it.start {
			return false
		}
	}
	return true
}

// nothingBehind tells whether no value of its own follows a name soon.
func (r *reader) nothingBehind(items []item, k int) bool {
	for j := k; j < len(items) && j < k+4; j++ {
		if items[j].kind == itValue && items[j].val.number() && !items[j].val.counts {
			return false
		}
		if items[j].kind == itPunct && (items[j].fold == "," || items[j].fold == ";" || items[j].fold == ".") {
			return true
		}
	}
	return true
}

// valueBefore returns the index of a value with a unit that stands right
// before a name; -1 if none does.
func valueBefore(items []item, k int) int {
	j := k - 1
	for j >= 0 && items[j].kind == itWord && (items[j].fold == "of" || items[j].fold == "total" || items[j].fold == "the") {
		j--
	}
	if j < 0 || items[j].kind != itValue || !items[j].val.number() || items[j].val.counts {
		return -1
	}
	if items[j].val.hasUnit || j > 0 && items[j-1].kind == itUnit {
		return j
	}
	return -1
}

// limitSentence tells whether "below 0.5" states a rule, not a finding: a word
// for a limit stands before it in the sentence.
func (r *reader) limitSentence(items []item, k int) bool {
	for j := k - 1; j >= 0 && j > k-6; j-- {
		if items[j].kind == itName {
			break
		}
		if items[j].class&clsLimit != 0 && items[j].kind == itWord {
			return true
		}
	}
	return false
}

// goalBehind tells whether the words behind a number, up to the next sign,
// make it a goal: "0.3 mg/L is a common goal".
func (r *reader) goalBehind(items []item, k int) bool {
	for j := k + 1; j < len(items) && j <= k+6; j++ {
		it := &items[j]
		if it.kind == itPunct && it.fold != ")" || it.kind == itName || it.kind == itValue && it.val.number() || it.kind == itDash {
			return false
		}
		if it.class&clsLimit != 0 {
			return true
		}
	}
	return false
}

// limitGoesOn tells whether a limit phrase goes on behind a comma.
func limitGoesOn(items []item, k int) bool {
	return k+1 < len(items) && items[k+1].class&clsLimit != 0
}

func onlySmall(items []item, a, b int) bool {
	for k := a; k < b; k++ {
		if items[k].kind == itWord && !smallWord(items[k].fold) && items[k].fold != "was" && items[k].fold != "are" {
			return false
		}
	}
	return true
}

// copulaOnly tells whether nothing but words such as "was" and "about" stands
// between a name and a bare number: "hardness 22", "pH of 7.1".
func copulaOnly(items []item, a, b int) bool {
	for k := a; k < b; k++ {
		it := &items[k]
		switch it.kind {
		case itWord:
			if smallWord(it.fold) || it.class&(clsAbout|clsTotal|clsDissolved) != 0 {
				continue
			}
			switch it.fold {
			case "was", "are", "were", "came", "back", "at", "read", "reads", "tested", "measured", "pad", "looks", "like", "level", "value", "result", "out", "up", "only", "also", "now", "still", "reading", "hit", "showed", "shows", "strip", "somewhere", "between", "card", "test", "says", "it", "=", "meter", "lab", "field", "as", "well", "just":
				continue
			}
			return false
		case itPunct:
			if it.fold == ":" || it.fold == "=" || it.fold == "," || it.fold == "(" || it.fold == ")" {
				continue
			}
			return false
		case itBasis, itUnit, itName, itDash:
		default:
			return false
		}
	}
	return true
}

// symbolInProse tells whether a symbol in running text is a name: a number
// with or without a sign follows it, and it is no common word.
func (r *reader) symbolInProse(items []item, k int) bool {
	if k+2 < len(items) && items[k+1].fold == "=" && items[k+2].kind == itValue && items[k+2].val.number() {
		return true // "K=1.4 mg/L"
	}
	switch items[k].fold {
	case "as", "in", "no", "u", "i", "b", "f", "k", "p", "s", "v", "co", "se", "be", "al", "do", "ta", "th", "si", "u2":
		return false
	}
	if k+1 >= len(items) {
		return false
	}
	n := &items[k+1]
	return n.kind == itValue && n.val.number() || n.kind == itPunct && (n.fold == ":" || n.fold == "=")
}

// noneFound reads "no coliform bacteria were found".
func (r *reader) noneFound(v int, nm named, items []item, no, k int) {
	a, ok := analyte.Lookup(nm.id)
	if !ok || a.Kind != analyte.Microbe {
		return
	}
	end := nm.next
	for j := nm.next; j < len(items) && j < nm.next+5; j++ {
		if items[j].class&(clsPresent|clsAbsent) != 0 || items[j].fold == "grew" {
			end = j + 1
		}
	}
	it := items[no]
	it.end = items[end-1].end
	f := r.newFinding(v, nm, &it, value{none: true, class: clsAbsent})
	f.prose = true
	r.add(f)
}
