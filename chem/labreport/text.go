package labreport

import (
	"cmp"
	"slices"
	"sort"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// reader reads the lines of one report in order.
type reader struct {
	o     Options
	src   source
	lines []line   // as decoded, then those put together from several
	items [][]item // of each line
	real  int      // number of lines as decoded
	work  workspace
	style style
	fate  []Fate // of each decoded line

	table *table
	ctx   context
	found []*finding

	blocks    []block
	block     int  // number of the current one
	prelim    bool // what follows will be replaced
	final     bool
	qc        bool // what follows is quality control
	limits    bool // what follows are limits
	lastUnit  stated
	lastBasis analyte.Basis
	hadUnit   bool
	pending   int // rows whose result is still to come
	emptyRows int
	prose     []int // lines of running text
	beside    bool  // the running text stands beside a table
	warnings  []analysis.Warning
	legend    map[string]class // meanings of flags
	footUnits map[string]stated
	notes     *table                   // below which notes have begun
	footBases map[string]analyte.Basis // likewise
	text      texture
}

// interpret reads the rows of a report whose layout is not known beforehand.
func interpret(src source, o Options) (*Reading, error) {
	size := 0
	for k := range src.rows {
		size += len(src.rows[k].text) + 1
	}
	if size > MaxText {
		return nil, refuse(ErrTooLarge, o, 0, sizeOf(size)+" of text", "at most "+sizeOf(MaxText), "paste the pages with the results only")
	}
	src.rows = evenGaps(singleSpaced(src.rows))
	r := &reader{o: o, src: src}
	r.cut()
	r.joinWrapped()
	r.survey()
	for i := 0; i < r.real; i++ {
		i += r.step(i)
	}
	r.readProse()
	return r.assemble()
}

// cut cuts every line and learns how the report writes numbers.
func (r *reader) cut() {
	r.real = len(r.src.rows)
	r.lines = make([]line, r.real, r.real+r.real/4+8)
	r.items = make([][]item, r.real, cap(r.lines))
	r.fate = make([]Fate, r.real)
	for i, row := range r.src.rows {
		r.work.quoted = row.cells == nil && marked(row) && (i > 0 && marked(r.src.rows[i-1]) || i+1 < r.real && marked(r.src.rows[i+1]))
		row.text = plainBlanks(row.text)
		r.lines[i] = r.work.lex(row)
		r.items[i] = r.work.itemize(&r.lines[i])
		r.fate[i] = Fate{Line: row.line, What: Ignored}
		for k := range r.lines[i].toks {
			if t := &r.lines[i].toks[k]; t.kind == tokNumber && t.num.doubt == 0 {
				t.num.witness(&r.style)
			}
		}
	}
	r.work.quoted = false
	r.blocks = []block{{line: -1}}
}

// plainBlanks makes non-breaking and narrow blanks plain, but for those that
// part thousands.
func plainBlanks(s string) string {
	if !strings.ContainsAny(s, "\u00a0\u202f\u2009") {
		return s
	}
	b := make([]byte, 0, len(s))
	for i := 0; i < len(s); {
		n := runeLen(s[i:])
		if n > 1 && hasAny(s[i:], "\u00a0", "\u202f", "\u2009") && !(i > 0 && isDigit(s[i-1]) && threeDigits(s[i+n:])) {
			b = append(b, ' ')
		} else {
			b = append(b, s[i:i+n]...)
		}
		i += n
	}
	return string(b)
}

// marked tells whether a line begins with the mark of quoted mail.
func marked(w row) bool { return strings.HasPrefix(strings.TrimLeft(w.text, " "), ">") }

// singleSpaced drops the blank lines of a text in which every second line is
// blank, as some programs copy it: there they part nothing.
func singleSpaced(rows []row) []row {
	full, followed := 0, 0
	for i := range rows {
		if blankText(rows[i]) {
			continue
		}
		full++
		if i+1 == len(rows) || blankText(rows[i+1]) {
			followed++
		}
	}
	if full < 6 || 10*followed < 9*full {
		return rows
	}
	out := make([]row, 0, len(rows)/2+1)
	for i := range rows {
		if blankText(rows[i]) && i > 0 && !blankText(rows[i-1]) {
			continue
		}
		out = append(out, rows[i])
	}
	return out
}

// evenGaps puts a tab for every gap between cells of a text whose gaps are all
// of one width: a program has made them so, and what stands where says nothing
// about its column any more.
func evenGaps(rows []row) []row {
	width, lines := map[int]int{}, 0
	for i := range rows {
		if rows[i].cells != nil || strings.IndexByte(rows[i].text, '\t') >= 0 || strings.Count(rows[i].text, "|") >= 2 {
			continue
		}
		n := 0
		eachGap(rows[i].text, func(_, w int) {
			width[w]++
			n++
		})
		if n >= 2 {
			lines++
		}
	}
	usual, all := 0, 0
	for w, n := range width {
		all += n
		if n > width[usual] || n == width[usual] && w < usual {
			usual = w
		}
	}
	if lines < evenLines || 100*width[usual] < 97*all {
		return rows
	}
	out := slices.Clone(rows)
	for i := range out {
		if out[i].cells != nil {
			continue
		}
		var b strings.Builder
		from := 0
		eachGap(out[i].text, func(at, w int) {
			if w == usual {
				b.WriteString(out[i].text[from:at] + "\t")
				from = at + w
			}
		})
		b.WriteString(out[i].text[from:])
		out[i].text = b.String()
	}
	return out
}

// evenLines is how many lines with gaps of one width are no chance.
const evenLines = 4

// eachGap calls f with the place and the width of each run of two or more
// blanks inside a line.
func eachGap(s string, f func(at, width int)) {
	for i := 0; i < len(s); {
		n := 0
		for i+n < len(s) && s[i+n] == ' ' {
			n++
		}
		if n >= 2 && i > 0 && i+n < len(s) {
			f(i, n)
		}
		i += max(n, 1)
	}
}

func blankText(w row) bool {
	for i := 0; i < len(w.text); i++ {
		if c := w.text[i]; c != ' ' && c != '\t' && c != '\r' {
			return false
		}
	}
	return true
}

// virtual adds a line put together from pieces of others and returns its
// index.
func (r *reader) virtual(text string, cells bool, from []origin) int {
	rw := row{line: r.lines[from[0].line].line, text: text}
	if cells {
		rw.cells = []string{}
	}
	l := r.work.lex(rw)
	l.from = from
	r.lines = append(r.lines, l)
	n := len(r.lines) - 1
	r.items = append(r.items, r.work.itemize(&r.lines[n]))
	return n
}

// origin tells from which decoded line the bytes from start on come.
type origin struct{ start, line int }

// source returns the index of the decoded line from which byte b of line i
// comes.
func (r *reader) sourceLine(i, b int) int {
	from := r.lines[i].from
	if from == nil {
		return i
	}
	k := sort.Search(len(from), func(k int) bool { return from[k].start > b })
	return from[max(0, k-1)].line
}

func (r *reader) ignore(i int, why string) {
	r.eachSource(i, func(k int) {
		if r.fate[k].What == Ignored && r.fate[k].Why == "" {
			r.fate[k].Why = why
		}
	})
}

func (r *reader) explains(i int) {
	r.eachSource(i, func(k int) {
		if r.fate[k].What == Ignored {
			r.fate[k].What = Explains
		}
	})
}

func (r *reader) eachSource(i int, f func(int)) {
	if r.lines[i].from == nil {
		f(i)
		return
	}
	for _, o := range r.lines[i].from {
		f(o.line)
	}
}

// add takes a finding in.
func (r *reader) add(f finding) {
	k := r.sourceLine(f.line, f.start)
	r.fate[k] = Fate{Line: r.lines[k].line, What: HasResult}
	r.eachSource(f.line, func(k int) {
		if r.fate[k].What != HasResult {
			r.fate[k].What = Explains
		}
	})
	if f.fraction == analysis.NotStated && r.ctx.fraction != "" {
		f.fraction = r.ctx.fraction
	}
	if u, ok := r.ctx.unitFor(f.id); ok && !f.hasUnit {
		f.unit, f.hasUnit, f.fromContext = u, true, true
		f.unit.basis = ""
	}
	if f.foreign = cmp.Or(f.foreign, f.unit.foreign); f.foreign != "" && f.unit.unit != unit.MeqL && f.unit.unit != unit.MmolL {
		f.doubts = append(f.doubts, analysisWarning("basis_unstated", notConverted(f.foreign), settle(f.id)))
		f.withhold = true
	}
	if f.basis == "" && f.unit.basis == "" {
		f.basis = r.ctx.basisFor(f.id, f.nameText)
	}
	if !f.hasUnit && (f.id == "carbonate_hardness" || f.id == "noncarbonate_hardness") { // "of which temporary", under the unit of the line above
		for k := len(r.found) - 1; k >= 0 && k >= len(r.found)-2; k-- {
			if p := r.found[k]; p.block == f.block && (p.id == "hardness" || p.id == "carbonate_hardness") && p.line >= f.line-2 {
				f.unit, f.hasUnit = p.unit, p.hasUnit
			}
		}
	}
	r.found = append(r.found, &f)
	r.blocks[r.block].results++
}

// step reads line i, and returns how many more lines it has read.
func (r *reader) step(i int) int {
	switch {
	case r.lines[i].gone:
		return 0
	case r.lines[i].blank:
		r.ctx.blank = true
		return 0
	case r.isRule(i):
		r.ignore(i, "a rule")
		return 0
	}
	r.status(i)
	if r.unitOverLines(i) {
		return 1
	}
	if r.basisBelow(i) {
		return 0
	}
	if n := r.records(i); n > 0 {
		return n - 1
	}
	if n := r.columnList(i); n > 0 {
		return n - 1
	}
	if n := r.stacked(i); n > 0 {
		return n - 1
	}
	if !r.qc && !r.limits && !r.rowOfCells(i) {
		if n := r.across(i); n > 0 {
			return n - 1
		}
	}
	if t := r.heading(i); t != nil {
		n := 0
		for n < 2 && r.joinHeading(t, i+n+1) {
			n++
			r.explains(i + n)
		}
		r.table = t
		r.limits = !t.has(roleResult) && !t.has(roleMean) && t.waters() == 0 && t.has(roleLimit) && !t.has(roleHigh)
		if r.limits {
			r.text.limitTables++
		}
		r.headingContext(i, t)
		r.explains(i)
		return n
	}
	switch {
	case r.qc:
		r.ignore(i, "quality control of the laboratory")
		return 0
	case r.limits:
		if _, ok := r.rowName(i); ok {
			r.ignore(i, "limits, not results")
			return 0
		}
	}
	if r.isSkipped(i) {
		return 0
	}
	if r.isFlagLegend(i) {
		r.explains(i)
		return 0
	}
	if r.isThreshold(i) {
		r.ignore(i, "what a figure would mean")
		return 0
	}
	if r.lineClass(i)&clsCorrect != 0 && r.lines[i].cells == 1 && r.values(i) >= 2 {
		r.prose = append(r.prose, i)
		return 0
	}
	if r.valueFirst(i) || r.namedInLine(i) && r.row(i) {
		return 0
	}
	if r.isNote(i) {
		if r.explain(i) {
			r.explains(i)
		} else {
			r.ignore(i, "a note beside the table")
		}
		return 0
	}
	if !r.looksProse(i) || r.table != nil && r.lines[i].cells > 2 {
		if r.row(i) {
			return 0
		}
	} else if nm, ok := r.rowName(i); ok && nm.id != "" && !r.sentence(i) {
		if r.row(i) {
			return 0
		}
	}
	if r.explain(i) {
		r.explains(i)
		return 0
	}
	r.prose = append(r.prose, i)
	return 0
}

// unitOverLines takes up a unit that fills two lines and stands over the
// results: "Parts per" over "Million".
func (r *reader) unitOverLines(i int) bool {
	if i+1 >= r.real || r.lines[i].cells > 1 || len(r.items[i]) > 3 || len(r.items[i+1]) > 2 || len(r.items[i+1]) == 0 {
		return false
	}
	a, b := &r.lines[i], &r.lines[i+1]
	both := squeeze(a.text[a.prefix:]) + " " + squeeze(b.text[b.prefix:])
	u, n := scanUnit(both)
	if n < len(both) || n == 0 || !concentrationUnit(u.unit) && u.parts == 0 {
		return false
	}
	r.ctx.unit, r.ctx.hasUnit, r.ctx.section = u, true, true
	r.explains(i)
	r.explains(i + 1)
	return true
}

// basisBelow takes up a line that holds nothing but the basis of the result
// right above it: "(as CaCO3)".
func (r *reader) basisBelow(i int) bool {
	at := -1
	for k := range r.items[i] {
		switch it := &r.items[i][k]; {
		case it.kind == itBasis && it.as && at < 0:
			at = k
		case it.kind != itPunct:
			return false
		}
	}
	n := len(r.found)
	if at < 0 || n == 0 || i == 0 {
		return false
	}
	f := r.found[n-1]
	if r.sourceLine(f.line, f.start) < i-rowSpanBelow || f.basis != "" || f.unit.basis != "" {
		return false
	}
	for j := r.sourceLine(f.line, f.start) + 1; j < i; j++ {
		if r.lines[j].blank {
			return false
		}
	}
	f.basis = r.items[i][at].basis
	r.explains(i)
	return true
}

// rowSpanBelow is how many lines the cells of one row may take that were copied
// one a line.
const rowSpanBelow = 4

// noteHeads are rows that open the notes below a table (common practice, no
// source).
var noteHeads = []string{"note", "notes", "remarks", "comments", "comment", "explanations", "legend", "key", "footnotes", "bemerkungen", "anmerkungen", "remarques", "notas", "opmerkingen", "uwagi"}

// isNote tells whether a line below a table of cells is a note: it fills one
// cell with a name, a number and more words, or follows a row that opens the
// notes.
func (r *reader) isNote(i int) bool {
	l := &r.lines[i]
	items := r.items[i]
	if r.table == nil || !r.table.index || !l.index || len(items) == 0 || !r.table.has(roleResult) && r.table.waters() == 0 {
		return false
	}
	if slices.Contains(noteHeads, strings.ToLower(strings.Trim(l.text, " \t:*"))) {
		r.notes = r.table
		return true
	}
	last := len(items) - 1
	for k := range items {
		if it := &items[k]; it.kind == itValue && it.val.number() && it.cell == items[0].cell {
			return r.notes == r.table || items[last].cell == it.cell && k < last && items[last].kind == itWord
		}
	}
	return false
}

// sentence tells whether running text is made of sentences rather than of a
// list of names and values.
func (r *reader) sentence(i int) bool {
	words, marks, joints := 0, 0, 0
	for k := range r.items[i] {
		switch it := &r.items[i][k]; it.kind {
		case itWord:
			words++
			switch it.fold {
			case "the", "is", "was", "were", "we", "you", "your", "our", "this", "that", "it", "has", "have", "had", "came", "will", "would", "are", "be", "been", "of", "and", "at", "which", "der", "die", "das", "ist", "war", "le", "la", "est", "de", "i", "my":
				joints++
			}
		case itName, itValue, itUnit:
			marks += 2
		}
	}
	return words > marks || joints >= 3
}

// rowOfCells tells whether a line with as many counted cells as the rows of the
// table that stands has a name and behind it a number and a unit in cells of
// their own: it is no heading.
func (r *reader) rowOfCells(i int) bool {
	if r.table == nil || !r.table.index || !r.lines[i].index || !r.table.has(roleResult) || !r.table.has(roleUnit) {
		return false
	}
	items := r.items[i]
	nm, ok := r.rowName(i)
	if !ok || nm.id == "" {
		return false
	}
	number, measured := false, false
	for k := nm.next; k < len(items); k++ {
		it := &items[k]
		number = number || it.kind == itValue && it.val.number() && it.cell > nm.cell
		measured = measured || it.kind == itUnit && number
	}
	return measured
}

// isThreshold tells whether a line of advice says what a figure above a bound
// means ("hardness over 120 mg/L scales heaters").
func (r *reader) isThreshold(i int) bool {
	if !r.looksProse(i) || len(r.found) == 0 || measuredHere(r.items[i]) {
		return false
	}
	above, words := 0, 0
	for k := range r.items[i] {
		it := &r.items[i][k]
		switch it.fold {
		case "is", "was", "are", "were", "i", "we":
			return false // it tells what somebody has found
		}
		if it.kind == itWord && !smallWord(it.fold) {
			words += it.t1 - it.t0
		}
		if it.kind != itValue || !it.val.number() {
			continue
		}
		if it.val.op == '>' && it.class&clsMore != 0 {
			above++
		} else if !it.val.counts {
			return false
		}
	}
	return above > 0 && words >= 4
}

// values counts the numbers of a line.
func (r *reader) values(i int) int {
	n := 0
	for k := range r.items[i] {
		if it := &r.items[i][k]; it.kind == itValue && it.val.number() && !it.val.counts {
			n++
		}
	}
	return n
}

// isSkipped tells whether a line is about the instrument, the bottles, another
// time or another well, and says so in the fate of the line.
func (r *reader) isSkipped(i int) bool {
	c := r.lineClass(i)
	switch {
	case c&clsProgram != 0 && r.looksProse(i):
		r.ignore(i, "text that talks to a program")
		r.text.program++
	case c&clsSkip != 0 && !r.rowStands(i):
		r.ignore(i, "about the instrument or the bottles")
	case c&clsQC != 0 && r.skipLine(i):
	default:
		return false
	}
	return true
}

// skipLine tells whether a line with a word of quality control is no result.
func (r *reader) skipLine(i int) bool {
	for k := range r.items[i] {
		it := &r.items[i][k]
		if it.class&(clsQC|clsSkip) != 0 && it.kind == itWord {
			if k <= 2 && it.cell == 0 {
				r.ignore(i, "quality control of the laboratory")
				return true
			}
			return false
		}
	}
	return false
}

// rowStands tells whether a line begins with a name and goes on with a value.
func (r *reader) rowStands(i int) bool {
	nm, ok := r.rowName(i)
	if !ok || nm.next >= len(r.items[i]) {
		return false
	}
	k := nm.next
	for k < len(r.items[i]) && r.items[i][k].kind == itPunct {
		k++
	}
	return k < len(r.items[i]) && (r.items[i][k].kind == itValue || r.items[i][k].kind == itUnit)
}

// lineClass collects the classes of the words of a line.
func (r *reader) lineClass(i int) class {
	var c class
	for k := range r.items[i] {
		if r.items[i][k].kind != itName {
			c |= r.items[i][k].class
		}
	}
	return c
}

// label returns the text from byte a to b of line i without marks around it.
func (r *reader) label(i, a, b int) string {
	return strings.Trim(r.lines[i].text[a:b], " \t\u00a0:,;-|\"")
}
