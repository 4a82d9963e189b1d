package labreport

import (
	"slices"
	"strings"

	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// itemKind is what an item of a line is.
type itemKind uint8

const (
	itWord  itemKind = iota // words without a part in reading
	itName                  // the name of an analyte, or of something that only looks like one (id "")
	itValue                 // a number, a range, or words in the place of a number
	itUnit
	itBasis // "as N", or a bare formula
	itDate
	itDash
	itDitto
	itPunct
	itCode // codes, methods, times
)

// value is a result as written, before the style of numbers is known.
type value struct {
	op       byte    // 0, '<', '>'
	num      numeral // the number, or the lower end of a range
	has      bool    // num is set
	to       numeral // the upper end
	isRange  bool
	none     bool   // found nothing, in words
	below    bool   // ... and the limit stands elsewhere on the row
	untested bool   // no measurement
	pending  bool   // no measurement yet
	words    string // the words, folded, of a result without a number
	class    class  // classes of the words
	flags    string // qualifiers glued to it or behind it
	unit     stated
	hasUnit  bool
	counts   bool // counts something else: "12 years", "100 mL"
	ticked   bool // a box that is ticked
}

// number tells whether the value carries one.
func (v *value) number() bool { return v.has }

// item is one or more tokens that say one thing.
type item struct {
	kind       itemKind
	t0, t1     int // tokens
	start, end int // bytes
	x, xe      int // rune columns
	cell       int
	name       analyte.Naming
	symbol     bool   // the name is a chemical symbol
	damaged    bool   // the name was only understood after letters were put right
	depth      int    // brackets open before it
	val        *value // never nil; noValue for what is none
	unit       stated
	basis      analyte.Basis
	formula    string // the formula of a basis, or of the element it names
	as         bool   // the basis was opened by "as"
	foreign    bool   // the basis is none that is known
	class      class
	role       role
	fold       string
}

// noValue is the value of items that are none. Nothing writes to it.
var noValue value

// parser turns the tokens of a line into items.
type parser struct {
	l     *line
	items []item
	depth int
}

// itemize finds the items of a line.
func itemize(l *line) []item { return new(workspace).itemize(l) }

// itemize finds the items of a line in the buffers of the workspace.
func (w *workspace) itemize(l *line) []item {
	p := parser{l: l, items: w.items[:0]}
	for i := 0; i < len(l.toks); {
		i = p.next(i)
	}
	capitalSodium(l, p.items)
	w.items = p.items
	return slices.Clone(p.items)
}

// capitalSodium reads NA as sodium on a line that writes other symbols in
// capitals (CA, MG, FE).
func capitalSodium(l *line, items []item) {
	n, at := 0, -1
	for k := range items {
		switch w := l.text[items[k].start:items[k].end]; {
		case w == "NA":
			at = k
		case items[k].symbol && (w == "CA" || w == "MG" || w == "FE" || w == "MN" || w == "CL"):
			n++
		}
	}
	if at >= 0 && n >= 2 {
		it := &items[at]
		it.kind, it.name, it.symbol, it.val, it.class, it.role = itName, analyte.Naming{ID: "sodium"}, true, &noValue, 0, roleNone
	}
}

func (p *parser) text(t *token) string { return p.l.text[t.start:t.end] }

func (p *parser) push(k itemKind, t0, t1 int) *item {
	a, b := &p.l.toks[t0], &p.l.toks[t1-1]
	p.items = append(p.items, item{kind: k, t0: t0, t1: t1, start: a.start, end: b.end, x: a.x, xe: b.xe, cell: a.cell, depth: p.depth, val: &noValue})
	return &p.items[len(p.items)-1]
}

// next makes one item from token i on and returns the token behind it.
func (p *parser) next(i int) int {
	t := &p.l.toks[i]
	switch t.kind {
	case tokNumber:
		return p.number(i, i, 0)
	case tokUnit:
		it := p.push(itUnit, i, i+1)
		it.unit = t.unit
		return i + 1
	case tokDate:
		p.push(itDate, i, i+1)
		return i + 1
	case tokDash:
		p.push(itDash, i, i+1)
		return i + 1
	case tokPunct:
		return p.punct(i)
	case tokWord:
		return p.word(i)
	}
	p.push(itCode, i, i+1)
	return i + 1
}

func (p *parser) punct(i int) int {
	t := &p.l.toks[i]
	switch t.fold {
	case "<", ">", "~", "≈", "±":
		if t.fold == "±" {
			if j := i + 1; p.isNumber(j) { // an uncertainty
				p.push(itWord, i, j+1)
				return j + 1
			}
			break
		}
		if n := p.comparator(i, i+1, t.fold[0]); n > 0 {
			return n
		}
	case "[":
		if n := p.box(i); n > 0 {
			return n
		}
		p.depth++
	case "☑", "☒", "✔", "■":
		if n := p.tick(i, i+1); n > 0 {
			return n
		}
	case "(":
		p.depth++
	case ")", "]":
		p.depth = max(0, p.depth-1)
	case "\"", "''", "\u201d", "\u3003":
		if (i == 0 || p.l.toks[i-1].cell != t.cell || !t.glued) && (i+1 == len(p.l.toks) || p.l.toks[i+1].cell != t.cell || !p.l.toks[i+1].glued) {
			p.push(itDitto, i, i+1)
			return i + 1
		}
	}
	it := p.push(itPunct, i, i+1)
	it.fold = t.fold
	return i + 1
}

func (p *parser) isNumber(i int) bool {
	return i < len(p.l.toks) && p.l.toks[i].kind == tokNumber && i > 0 && p.l.toks[i].cell == p.l.toks[i-1].cell
}

// comparator reads what follows "<", "less than" and the like; 0 if no value
// does.
func (p *parser) comparator(i, j int, op byte) int {
	toks := p.l.toks
	if j < len(toks) && toks[j].kind == tokPunct && toks[j].fold == "=" {
		j++
	}
	if j >= len(toks) {
		return 0
	}
	if toks[j].kind == tokNumber && (toks[j].cell == toks[i].cell || toks[j].cell == toks[i].cell+1 && j == i+1 && toks[i].kind == tokPunct) {
		return p.number(i, j, op)
	}
	if toks[j].kind == tokUnit && j+1 < len(toks) && toks[j+1].kind == tokNumber && toks[j+1].cell == toks[i].cell {
		return p.number(i, j+1, op)
	}
	if toks[j].kind == tokWord && toks[j].cell == toks[i].cell && op == '<' {
		if n, e, ok := p.vocab(j); ok && (e.role == roleRL || e.role == roleMDL) {
			if n+2 < len(toks) && toks[n].fold == "(" && p.isNumber(n+1) && toks[n+2].fold == ")" { // "< BG (0,005)"
				p.number(i, n+1, '<')
				it := &p.items[len(p.items)-1]
				it.t1, it.end, it.xe = n+3, toks[n+2].end, toks[n+2].xe
				return n + 3
			}
			it := p.push(itValue, i, n)
			it.val = &value{none: true, below: true, class: clsBelow}
			return n
		}
	}
	return 0
}

// box reads a ticked or empty box: "[x] slight", "[ ] none".
func (p *parser) box(i int) int {
	toks := p.l.toks
	j := i + 1
	if j < len(toks) && toks[j].kind == tokPunct && toks[j].fold == "]" {
		return p.tickEmpty(i, j+1)
	}
	if j+1 < len(toks) && (toks[j].fold == "x" || toks[j].fold == "✓" || toks[j].fold == "v" || toks[j].fold == "*") && toks[j+1].fold == "]" {
		return p.tick(i, j+2)
	}
	return 0
}

// tick makes a value of the words behind a ticked box.
func (p *parser) tick(i, j int) int {
	k := p.boxEnd(j)
	if k == j {
		return 0
	}
	it := p.push(itValue, i, k)
	it.val = &value{ticked: true, words: p.folded(j, k)}
	_, e, _ := p.vocab(j)
	it.val.class = e.class
	switch it.val.words {
	case "no", "none", "nein", "non", "nee", "nej", "absent", "negative", "nicht":
		it.val.none = true
	case "yes", "ja", "oui", "si", "tak":
		it.val.class |= clsWords | clsPresent
	default:
		it.val.class |= clsWords
	}
	if n := &p.l.toks[j]; n.kind == tokNumber && k > j {
		it.val.num, it.val.has = n.num, true
		it.val.class &^= clsWords
	}
	return k
}

// tickEmpty skips the words behind an empty box.
func (p *parser) tickEmpty(i, j int) int {
	k := max(p.boxEnd(j), j)
	it := p.push(itWord, i, k)
	it.fold = "[]"
	return k
}

// boxEnd returns the end of the words behind a box: up to the next box or cell.
func (p *parser) boxEnd(j int) int {
	k := j
	for k < len(p.l.toks) && k-j < 4 && p.l.toks[k].fold != "[" && (k == j || p.l.toks[k].cell == p.l.toks[j].cell) && p.l.toks[k].kind != tokPunct {
		k++
	}
	return k
}

func (p *parser) folded(i, j int) string {
	var b strings.Builder
	for k := i; k < j; k++ {
		if t := &p.l.toks[k]; t.kind == tokWord {
			if b.Len() > 0 {
				b.WriteByte(' ')
			}
			b.WriteString(t.fold)
		}
	}
	return b.String()
}

// number makes a value of the number at token n, which token i introduces.
func (p *parser) number(i, n int, op byte) int {
	toks := p.l.toks
	v := value{op: op, num: toks[n].num, has: true}
	j := n + 1
	cell := toks[n].cell
	same := func(k int) bool { return k < len(toks) && toks[k].cell == cell }
	// "120 ppm to 250 ppm": a unit may stand before the connector
	if same(j) && toks[j].kind == tokUnit {
		v.unit, v.hasUnit = toks[j].unit, true
		j++
	}
	if k := p.rangeEnd(j, n, op); k > 0 {
		v.to, v.isRange = toks[k].num, true
		j = k + 1
	}
	if !v.hasUnit && same(j) && toks[j].kind == tokWord && toks[j].glued && j == n+1 {
		switch w := p.text(&toks[j]); {
		case toks[j].fold == "ish":
			j++
		case flagLetters(w) && toks[j].kind == tokWord:
			v.flags += w
			j++
		case superscript(w):
			j++
		}
	}
	if same(j) && toks[j].kind == tokPunct && toks[j].glued && (toks[j].fold == "*" || toks[j].fold == "**" || toks[j].fold == "†" || toks[j].fold == "^" || toks[j].fold == "#") {
		v.flags += toks[j].fold
		j++
	}
	if same(j) && toks[j].kind == tokPunct && toks[j].fold == "+" && toks[j].glued && v.op == 0 && !(same(j+1) && toks[j+1].glued) {
		v.op = '>'
		j++
	}
	j = p.uncertainty(j, cell)
	if !v.hasUnit && same(j) && toks[j].kind == tokUnit {
		v.unit, v.hasUnit = toks[j].unit, true
		j++
		j = p.uncertainty(j, cell)
		if same(j) && toks[j].kind == tokPunct && toks[j].fold == "+" && toks[j].glued && v.op == 0 {
			v.op = '>'
			j++
		}
		if k := p.rangeEnd(j, n, op); k > 0 && !v.isRange {
			v.to, v.isRange = toks[k].num, true
			j = k + 1
			if same(j) && toks[j].kind == tokUnit {
				j++
			}
		}
	} else if v.hasUnit && v.isRange && same(j) && toks[j].kind == tokUnit {
		j++
	}
	if !v.hasUnit && same(j) && toks[j].kind == tokWord {
		if _, e, ok := p.vocab(j); ok && e.class&clsCount != 0 && !(toks[j].fold == "of" && !p.isNumber(j+1)) && !isSymbolName(p.text(&toks[j])) && !(len(p.text(&toks[j])) == 1 && isUpper(p.text(&toks[j])[0]) && p.text(&toks[j]) != "L") {
			v.counts = true
		}
	}
	if same(j) && toks[j].kind == tokWord && qualifierU(p.text(&toks[j])) && (j+1 == len(toks) || toks[j+1].cell != cell || toks[j+1].kind == tokUnit || toks[j+1].kind == tokNumber || toks[j+1].kind == tokMethod) {
		v.flags += p.text(&toks[j])
		j++
		if !v.hasUnit && same(j) && toks[j].kind == tokUnit {
			v.unit, v.hasUnit = toks[j].unit, true
			j++
		}
	}
	if i > 0 && toks[i-1].kind == tokPunct && toks[i-1].fold == "#" || p.before(i, "x") && toks[i-1].cell == cell && !v.hasUnit { // "screws x 20" {
		v.counts = true
	}
	it := p.push(itValue, i, j)
	it.val = &v
	return j
}

// uncertainty skips "± 0.6", "+/- 1.1" and "(9)" behind a number.
func (p *parser) uncertainty(j, cell int) int {
	toks := p.l.toks
	same := func(k int) bool { return k < len(toks) && toks[k].cell == cell }
	switch {
	case same(j+1) && toks[j].fold == "±" && toks[j+1].kind == tokNumber:
		j += 2
	case same(j+3) && toks[j].fold == "+" && toks[j+1].fold == "/" && toks[j+2].kind == tokDash && toks[j+3].kind == tokNumber:
		j += 4
	case same(j+2) && toks[j].fold == "+" && toks[j+1].kind == tokDash && toks[j+2].kind == tokNumber:
		j += 3
	case same(j+2) && toks[j].fold == "+" && toks[j+1].fold == "/" && toks[j+2].kind == tokNumber && strings.HasPrefix(toks[j+2].num.text, "-"):
		j += 3
	case same(j+2) && toks[j].fold == "(" && toks[j].glued && toks[j+1].kind == tokNumber && toks[j+2].fold == ")" && len(toks[j+1].num.text) <= 2 && !strings.ContainsAny(toks[j+1].num.text, ".,"):
		return j + 3
	default:
		return j
	}
	if same(j) && toks[j].kind == tokUnit && toks[j].unit.unit == unit.Percent {
		j++
	}
	return j
}

// rangeEnd returns the token of the upper end when a connector and a larger
// number follow at j; 0 otherwise.
func (p *parser) rangeEnd(j, n int, op byte) int {
	toks := p.l.toks
	if j+1 >= len(toks) || toks[j].cell != toks[n].cell || toks[j+1].cell != toks[n].cell || toks[j+1].kind != tokNumber {
		return 0
	}
	t := &toks[j]
	ok := t.kind == tokDash && (t.glued == toks[j+1].glued || t.glued) || t.kind == tokWord && isConnector(t.fold) && !(t.fold == "a" && t.glued)
	if t.kind == tokWord && t.fold == "and" && n >= 1 && (p.before(n, "between") || p.before(n, "entre") || p.before(n, "zwischen")) {
		ok = true
	}
	if t.kind == tokWord && t.fold == "and" && n >= 2 && (p.before(n-1, "between")) {
		ok = true
	}
	if !ok || op == '>' {
		return 0
	}
	var s style
	a, _, _ := toks[n].num.value(s)
	b, _, _ := toks[j+1].num.value(s)
	if strings.HasPrefix(toks[j+1].num.text, "-") || !(b > a) {
		return 0
	}
	return j + 1
}

func (p *parser) before(n int, word string) bool {
	return n > 0 && p.l.toks[n-1].fold == word
}

func isConnector(w string) bool {
	switch w {
	case "to", "bis", "till", "til", "tot", "do", "hasta", "thru", "through", "a":
		return true
	}
	return false
}

// superscript tells whether a word glued to a number is a raised footnote mark.
func superscript(w string) bool {
	for _, r := range w {
		if !(r == 'ᵃ' || r == 'ᵇ' || r == 'ᶜ' || r == 'ᵈ' || r == 'ᵉ' || r == '¹' || r == '²' || r == '³' || '⁴' <= r && r <= '⁹' || r == 'ª' || r == 'º' || r == 'ᶠ') {
			return false
		}
	}
	return w != ""
}

// qualifierU tells whether a word is a set of laboratory flags with U, which
// says that the number beside it is a limit.
func qualifierU(w string) bool {
	switch w {
	case "U", "UJ", "UH", "UB", "U*", "UQ", "UR", "UN", "UJH", "UX":
		return true
	}
	return false
}

// word makes an item of the word at i: the longest name, phrase or formula.
func (p *parser) word(i int) int {
	t := &p.l.toks[i]
	raw := p.text(t)
	if qualifierU(raw) && i > 0 && p.isNumber(i+1) && p.l.toks[i-1].cell != t.cell { // "U 0.001"
		return p.number(i, i+1, '<')
	}
	if raw == "NA" && i == 0 && i+1 < len(p.l.toks) && p.l.toks[i+1].kind == tokNumber { // sodium in capitals
		it := p.push(itName, i, i+1)
		it.name, it.symbol, it.fold = analyte.Naming{ID: "sodium"}, true, t.fold
		return i + 1
	}
	if p.isThermometer(i) {
		it := p.push(itName, i, i+1)
		it.name, it.symbol, it.fold = analyte.Naming{ID: "temperature"}, true, t.fold
		return i + 1
	}
	if short := strings.ToUpper(t.fold); strings.Count(raw, ".") >= 2 && (short == "TAC" || short == "TH") { // T.A.C.
		it := p.push(itName, i, i+1)
		it.name, _ = analyte.Symbol(short)
		it.symbol, it.fold = true, t.fold
		return i + 1
	}
	nameEnd, naming, isName := p.analyteName(i)
	vocEnd, voc, isVoc := p.vocab(i)
	if isName && (!isVoc || nameEnd >= vocEnd) {
		it := p.push(itName, i, nameEnd)
		it.damaged = analyte.PhraseLength(t.fold) == 0
		it.name = naming
		it.fold = t.fold
		it.class, it.role = voc.class, voc.role
		if vocEnd < nameEnd {
			it.class, it.role = 0, 0
		}
		return nameEnd
	}
	// a formula such as NO3-N, alone or as a name
	if end := formulaEnd(p.l.text, t.start); end >= t.end {
		f := p.l.text[t.start:end]
		j := i + 1
		for j < len(p.l.toks) && p.l.toks[j].end <= end {
			j++
		}
		if sym, ok := analyte.Symbol(strings.ReplaceAll(plainFormula(raw), "-", "")); ok && (end == t.end || isBasisTail(f)) && symbolCase(raw) {
			if b, _, ok := formula(f); ok && end > t.end {
				sym.Basis = b
				if sym.ID == "nitrate" || sym.ID == "nitrite" || sym.ID == "ammonium" || sym.ID == "sulfate" || sym.ID == "phosphate" {
					sym.Basis = b
				}
			}
			k := p.charge(j)
			it := p.push(itName, i, k)
			it.name, it.symbol = sym, true
			it.fold = t.fold
			it.basis, it.formula, _ = formula(f)
			return k
		}
		if b, other, ok := formula(f); ok && (end > t.end || len(raw) > 1 || raw == "N") {
			it := p.push(itBasis, i, j)
			it.basis, it.formula = b, other
			it.class, it.role = voc.class, voc.role
			it.fold = t.fold
			return j
		}
	}
	if isVoc {
		if voc.class&clsAs != 0 {
			if n := p.asBasis(i, vocEnd); n > 0 {
				return n
			}
		}
		if n := p.phrase(i, vocEnd, voc); n > 0 {
			return n
		}
		it := p.push(itWord, i, vocEnd)
		it.class, it.role, it.fold = voc.class, voc.role, t.fold
		return vocEnd
	}
	it := p.push(itWord, i, i+1)
	it.fold = t.fold
	return i + 1
}

// isThermometer tells whether the T at i stands for a temperature: degrees
// Celsius or Fahrenheit follow ("T 12.3 C", "t = 11 °C").
func (p *parser) isThermometer(i int) bool {
	toks := p.l.toks
	if w := p.text(&toks[i]); w != "T" && w != "t" {
		return false
	}
	j := i + 1
	for j < len(toks) && toks[j].kind == tokPunct && (toks[j].fold == ":" || toks[j].fold == "=" || toks[j].fold == "(" || toks[j].fold == ")") {
		j++
	}
	degrees := func(k int) bool {
		return k < len(toks) && toks[k].kind == tokUnit && (toks[k].unit.unit == unit.DegC || toks[k].unit.unit == unit.DegF)
	}
	return j < len(toks) && (toks[j].kind == tokNumber && degrees(j+1) || degrees(j) && j > i+1)
}

func isBasisTail(f string) bool { _, ok := bases[plainFormula(f)]; return ok }

// symbolCase keeps lower-case words that spell a symbol from being one, but
// for the few that nobody writes as a word.
func symbolCase(w string) bool {
	switch w {
	case "ca", "cl", "mg", "A", "I":
		return false
	}
	return true
}

func isSymbolName(w string) bool {
	_, ok := analyte.Symbol(w)
	return ok && len(w) > 1
}

// charge skips the charge behind a formula: Ca++, SO4--, Cl-, Na+.
func (p *parser) charge(j int) int {
	toks := p.l.toks
	for j < len(toks) && toks[j].glued && (toks[j].kind == tokPunct && (toks[j].fold == "+" || toks[j].fold == "=") || toks[j].kind == tokDash) && (j+1 == len(toks) || !toks[j+1].glued || toks[j+1].fold == "+" || toks[j+1].kind == tokPunct) {
		j++
	}
	return j
}

// asBasis reads "as N", "as calcium carbonate", "as Fe" behind the word at i.
func (p *parser) asBasis(i, j int) int {
	toks := p.l.toks
	if j >= len(toks) || toks[j].cell != toks[i].cell && !p.l.index {
		return 0
	}
	for j < len(toks) && toks[j].kind == tokPunct && (toks[j].fold == ":" || toks[j].fold == "(") {
		j++
	}
	if j >= len(toks) || toks[j].kind != tokWord && toks[j].kind != tokCode {
		return 0
	}
	at := toks[j].start
	end := formulaEnd(p.l.text, at)
	b, other, ok := formula(p.l.text[at:end])
	if foreignBases[strings.ToUpper(p.l.text[at:end])] {
		k := j + 1
		it := p.push(itBasis, i, k)
		it.formula, it.as, it.foreign = p.l.text[at:end], true, true
		return k
	}
	if !ok && len(p.l.text[at:end]) > 1 {
		b, other, ok = substance(analyte.Fold(plainFormula(p.l.text[at:end])))
	}
	if !ok {
		b, end, ok = substanceWords(p.l.text, at)
	}
	if !ok {
		return 0
	}
	k := j
	for k < len(toks) && toks[k].end <= end {
		k++
	}
	k = p.charge(max(k, j+1))
	it := p.push(itBasis, i, k)
	it.basis, it.formula, it.as = b, other, true
	return k
}

// phrase makes a value of words that stand for one: "not detected (0.05)",
// "less than 0.5", "trace". It returns 0 when they stand for none here.
func (p *parser) phrase(i, j int, e entry) int {
	toks := p.l.toks
	c := e.class
	raw := p.text(&toks[i])
	if len(raw) <= 2 && j == i+1 && !(raw == "ND" || raw == "nd" || raw == "nn" || raw == "NA" || raw == "na" || raw == "NT" || raw == "ok" || raw == "OK" || raw == "nb" || raw == "ob" || raw == "Nd" || raw == "NM" || raw == "NR" || raw == "lt" || raw == "gt" || raw == "NS" || raw == "NN" || raw == "ka" || raw == "TR" || raw == "Ja" || raw == "ca" || raw == "IP" || raw == "ip") {
		c &^= clsNone | clsUntested | clsLess | clsMore | clsAbout | clsWords | clsPresent | clsAbsent
	}
	switch {
	case qualifierU(raw) && p.isNumber(i+1): // "U 0.001"
		n := p.number(i, i+1, '<')
		return n
	case c&(clsLess|clsMore) != 0 && c&clsBelow == 0:
		op := byte('<')
		if c&clsMore != 0 {
			op = '>'
		}
		k := j
		if k < len(toks) && toks[k].kind == tokWord && toks[k].fold == "at" {
			k++
		}
		if n := p.comparator(i, k, op); n > 0 {
			it := &p.items[len(p.items)-1]
			it.class = e.class
			it.val.class |= e.class & clsLimit
			return n
		}
	case c&clsAbout != 0 && p.isNumber(j):
		return p.number(i, j, 0)
	}
	if c&(clsNone|clsBelow|clsUntested|clsPending|clsWords|clsPresent|clsAbsent|clsOverscale) == 0 || raw == "+" {
		return 0
	}
	it := p.push(itValue, i, j)
	it.class, it.role, it.fold = e.class, e.role, toks[i].fold
	it.val = &value{none: c&(clsNone|clsBelow) != 0, below: c&clsBelow != 0, untested: c&clsUntested != 0 && c&clsNone == 0, pending: c&clsPending != 0, class: c, words: p.folded(i, j)}
	// a limit in words behind it: "ND (0.05)", "ND <0.05", "not detected at 0.01"
	if it.val.none {
		k := j
		for k < len(toks) && toks[k].cell == toks[i].cell && k < j+4 && (toks[k].kind == tokPunct && (toks[k].fold == "(" || toks[k].fold == "<" || toks[k].fold == "[" || toks[k].fold == "@" || toks[k].fold == ",") || toks[k].kind == tokWord && (toks[k].fold == "at" || toks[k].fold == "rl" || toks[k].fold == "below" || toks[k].fold == "mdl")) {
			k++
		}
		if k > j && k < len(toks) && toks[k].cell == toks[i].cell {
			if end, e, ok := p.vocab(k); ok && e.class&clsLess != 0 {
				k = end // "not detected (less than 0.01 mg/L)"
			}
		}
		if k > j && p.isNumber(k) || k == j && p.isNumber(k) && toks[k].cell == toks[i].cell && raw == "ND" {
			opened := k > j && (toks[j].fold == "(" || toks[j].fold == "[")
			p.items = p.items[:len(p.items)-1]
			n := p.number(i, k, '<')
			it = &p.items[len(p.items)-1]
			it.val.none = true
			if opened && n < len(toks) && (toks[n].fold == ")" || toks[n].fold == "]") {
				it.t1, it.end, it.xe = n+1, toks[n].end, toks[n].xe
				n++
			}
			return n
		}
	}
	return j
}

// analyteName finds the longest spelling of an analyte at token i.
func (p *parser) analyteName(i int) (end int, n analyte.Naming, ok bool) {
	most := analyte.PhraseLength(p.l.toks[i].fold)
	if most == 0 {
		if n, ok := damagedName(p.l.toks[i].fold); ok {
			return i + 1, n, true
		}
		return 0, n, false
	}
	p.join(i, most, func(key string, j int, spaced bool) {
		if f, found := analyte.Phrase(key); found {
			if f.ID == "nitrate_nitrite" && !spaced {
				return
			}
			end, n, ok = j, f, true
		}
	})
	return end, n, ok
}

// damagedName understands a name of one word in which a scanner has mistaken
// letters: l for i, 0 for o, 1 for l, rn for m, vv for w.
func damagedName(w string) (analyte.Naming, bool) {
	if len(w) < 4 || len(w) > 16 || w[0] != 'l' && w[0] != '|' && !strings.ContainsAny(w, "015") && !strings.Contains(w, "rn") && !strings.Contains(w, "vv") {
		return analyte.Naming{}, false
	}
	try := func(s string) (analyte.Naming, bool) {
		if s == w {
			return analyte.Naming{}, false
		}
		n, ok := analyte.Phrase(s)
		return n, ok && n.ID != ""
	}
	var forms []string
	if w[0] == 'l' || w[0] == '1' || w[0] == '|' {
		forms = append(forms, "i"+w[1:])
	}
	forms = append(forms, strings.ReplaceAll(w, "rn", "m"), strings.ReplaceAll(w, "0", "o"), strings.ReplaceAll(w, "1", "l"), strings.ReplaceAll(w, "1", "i"), strings.ReplaceAll(w, "5", "s"), strings.ReplaceAll(w, "vv", "w"),
		strings.ReplaceAll(strings.ReplaceAll(w, "1", "l"), "0", "o"), strings.ReplaceAll(strings.ReplaceAll(w, "0", "o"), "rn", "m"))
	for _, f := range forms {
		if n, ok := try(f); ok {
			return n, true
		}
	}
	return analyte.Naming{}, false
}

// vocab finds the longest phrase of the vocabulary at token i.
func (p *parser) vocab(i int) (end int, e entry, ok bool) {
	if i >= len(p.l.toks) || p.l.toks[i].kind != tokWord {
		return 0, e, false
	}
	most := vocabulary().starts[p.l.toks[i].fold]
	if most == 0 {
		return 0, e, false
	}
	p.join(i, most, func(key string, j int, _ bool) {
		if f, found := phrase(key); found {
			end, e, ok = j, f, true
		}
	})
	return end, e, ok
}

// join calls f for each run of up to most words from token i on, joined by
// blanks. Commas, hyphens, slashes and brackets between words do not count;
// spaced tells that some sign or an "and" stood between two of them.
func (p *parser) join(i, most int, f func(key string, end int, spaced bool)) {
	toks := p.l.toks
	key := toks[i].fold
	f(key, i+1, false)
	words, spaced := 1, false
	for j := i + 1; j < len(toks) && words < most; j++ {
		t := &toks[j]
		if t.cell != toks[i].cell {
			return
		}
		switch t.kind {
		case tokPunct:
			switch t.fold {
			case "+", "&", "/":
				spaced = true
			case ",", "-", "(", ")", ".", "[", "]", "'", "’":
			default:
				return
			}
			continue
		case tokDash:
			continue
		case tokWord:
			if t.fold == "and" || t.fold == "plus" || t.fold == "und" || t.fold == "et" || t.fold == "och" || t.fold == "og" || t.fold == "en" || t.fold == "e" || t.fold == "y" {
				spaced = true
			}
			key += " " + t.fold
		case tokNumber:
			if len(t.num.text) > 3 || strings.ContainsAny(t.num.text, ".,e-'") || !t.glued && t.num.text != "226" && t.num.text != "228" && t.num.text != "222" {
				return // an isotope, not "lead 210"
			}
			key += " " + t.num.text
		default:
			return
		}
		words++
		f(key, j+1, spaced)
	}
}
