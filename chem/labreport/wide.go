package labreport

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// wide is a table with one sample a row and one analyte a column.
type wide struct {
	grid
	head    int // index of the heading row
	first   int // index of the first row of values
	columns []wideColumn
	label   int         // column of the sample's name, or -1
	date    int         // column of the date, or -1
	sample  int         // column of an identifier, or -1
	end     int         // index behind the last row of the table
	counts  bool        // rows of statistics stand among the samples
	limits  [2]limitRow // reporting and detection limits of all samples, by column, from rows of their own
}

// limitRow is a row of limits that hold for all samples of a table.
type limitRow struct {
	line int
	of   map[int]measure // by column
}

// wideColumn is a column of results; the zero value is another column.
type wideColumn struct {
	nameCell
	text  string // as it stands in the heading row
	flags int    // the column that holds the flags of this one, or 0
	limit int    // the column that holds its detection or reporting limits, or 0
	line  int    // where it stands on a line of its own: in a table with one sample a column
}

func (c wideColumn) isResult() bool { return c.ID != "" }

// leastAnalytes is how many columns must name analytes for a table to be one
// of this kind. A heading of a table with one result a row names none.
const leastAnalytes = 3

// wideTable tells a table of this kind by its heading and its values: under
// at least three names of analytes stand numbers, most of the time.
func wideTable(t grid) (wide, bool) {
	for i, r := range t.rows[:min(len(t.rows), searchedForHeading)] {
		if len(r.cells) < leastAnalytes {
			continue
		}
		w := wide{grid: t, head: i, first: i + 1, label: -1, date: -1, sample: -1}
		analytes := 0
		for _, c := range r.cells {
			col := wideColumn{text: c}
			if h, ok := readName(c); ok {
				col.nameCell = h
				analytes++
			}
			w.columns = append(w.columns, col)
		}
		if analytes < leastAnalytes {
			continue
		}
		w.flagColumns()
		w.underHeading()
		if w.headedAgain() {
			return wide{}, false
		}
		if w.holdsNumbers() {
			w.nameColumns()
			w.bound()
			w.stateUnits()
			return w, true
		}
	}
	return wide{}, false
}

// headedAgain tells whether another row of names of analytes follows: then the
// grid holds several tables, and the first heading does not rule them all.
func (w *wide) headedAgain() bool {
	for _, r := range w.rows[w.first:min(w.first+searchedForHeading, len(w.rows))] {
		names := 0
		for _, c := range r.cells {
			if c == "" || startsNumber(c) || readMeasure(c, w.style).kind != measureWords {
				continue
			}
			if h, ok := readName(c); ok && h.ID != "" {
				names++
			}
		}
		if names >= leastAnalytes {
			return true
		}
	}
	return false
}

// bound finds the end of the table: a row with words under three names of
// analytes and no number is the heading of something else. On the way it learns
// whether statistics stand among the rows.
func (w *wide) bound() {
	w.end = len(w.rows)
	for i := min(w.first, len(w.rows)); i < len(w.rows); i++ {
		names, numbers := 0, 0
		for j, c := range w.rows[i].cells {
			if c == "" || j >= len(w.columns) || !w.columns[j].isResult() {
				continue
			}
			if startsNumber(c) || readMeasure(c, w.style).kind != measureWords {
				numbers++
				break
			}
			names++
		}
		if numbers == 0 && names >= leastAnalytes {
			w.end = i
			return
		}
		words, statistic := w.noSample(w.rows[i])
		w.counts = w.counts || statistic
		w.takeLimits(w.rows[i], words)
	}
}

// takeLimits takes up a row of limits that say what could be seen in all samples:
// those reported, or those detected. A standard is none.
func (w *wide) takeLimits(r row, words string) {
	kind := -1
	for _, word := range headingWords(words) {
		switch {
		case slices.Contains([]string{"reporting", "rl", "mrl", "quantitation", "quantification", "loq", "lor", "pql", "rdl", "bg"}, word):
			kind = 0
		case kind < 0 && slices.Contains([]string{"detection", "mdl", "dl", "lod"}, word):
			kind = 1
		}
	}
	if kind < 0 {
		return
	}
	w.limits[kind] = limitRow{r.line, map[int]measure{}}
	for j, c := range r.cells {
		if m := readMeasure(c, w.style); m.kind == measureNumber && !m.twoWays {
			w.limits[kind].of[j] = m
		}
	}
}

// startsNumber tells cheaply that a cell is a number, or a sign before one.
func startsNumber(c string) bool {
	return isDigit(c[0]) || c[0] == '<' || c[0] == '>' || c[0] == '-' || c[0] == '.'
}

// stateUnits gives the columns without a unit that which a legend states:
// lines around the table, or rows that explain its headings one by one.
func (w *wide) stateUnits() {
	if !slices.ContainsFunc(w.columns, func(c wideColumn) bool { return c.isResult() && c.unit == unit.None && c.unitBad == "" && c.ID != "ph" }) {
		return
	}
	var rows []row
	for i, r := range w.rows {
		if (i < w.head || i >= w.end || i >= w.first && !w.holdsNumber(r)) && strings.TrimSpace(r.text) != "" {
			rows = append(rows, r)
		}
	}
	rows = append(rows, w.notes...)
	if len(rows) == 0 {
		return
	}
	w.explained(rows)
	around := surroundings(rows)
	for j := range w.columns {
		c := &w.columns[j]
		if !c.isResult() || c.unit != unit.None || c.unitBad != "" || c.ID == "ph" {
			continue
		}
		if u, ok := around.ctx.unitFor(c.ID); ok {
			c.unit = u.unit
			if b := ownBasis(c.ID, u.basis); b != "" && c.basis == "" {
				c.basis = b
			}
		}
		if b := around.ctx.basisFor(c.ID, c.text); b != "" && c.basis == "" {
			c.basis = ownBasis(c.ID, b)
		}
	}
}

// holdsNumber tells whether a number stands under any of the analytes.
func (w *wide) holdsNumber(r row) bool {
	for j, c := range r.cells {
		if c != "" && j < len(w.columns) && w.columns[j].isResult() && readMeasure(c, w.style).kind != measureWords {
			return true
		}
	}
	return false
}

// explained reads rows that explain the headings one by one: the heading as it
// stands, and in further cells its unit, or its name in full.
func (w *wide) explained(rows []row) {
	for _, r := range rows {
		if len(r.cells) < 2 || r.cells[0] == "" {
			continue
		}
		for j := range w.columns {
			if c := &w.columns[j]; c.isResult() && c.text == r.cells[0] {
				c.explain(r.cells[1:])
			}
		}
	}
}

// explain takes up what the cells beside a heading say about it.
func (c *wideColumn) explain(cells []string) {
	a := analyte.Must(c.ID)
	for _, cell := range cells {
		if u, b, ok := cellUnit(cell, a); ok && u != unit.None && a.ID != "ph" {
			if c.unit == unit.None {
				c.unit = u
			}
			c.basis = cmp.Or(c.basis, b)
			continue
		}
		if h, ok := readName(cell); ok && h.ID == c.ID {
			c.Total, c.Dissolved = c.Total || h.Total, c.Dissolved || h.Dissolved
			c.basis = cmp.Or(c.basis, h.basis)
			if c.unit == unit.None {
				c.unit = h.unit
			}
		}
	}
}

// flagWords end the heading of a column that holds the flags of the results
// beside it (common practice, no source).
var flagWords = []string{"flag", "flags", "q", "qual", "qualifier", "qualifiers", "rmk", "remark code"}

// flagColumns finds the columns that hold flags: those of the analyte that
// their heading names, beside it on either side, else those of the column before.
func (w *wide) flagColumns() {
	for j := range w.columns {
		if w.columns[j].isResult() {
			continue
		}
		if text, ok := flagHeading(w.columns[j].text); ok {
			w.beside(j, text, func(c *wideColumn) *int { return &c.flags })
		} else if text, ok := limitHeading(w.columns[j].text); ok {
			w.beside(j, text, func(c *wideColumn) *int { return &c.limit })
		}
	}
}

// beside gives column j to the analyte on either side that its heading names,
// or, where it names none, to that before it.
func (w *wide) beside(j int, text string, place func(*wideColumn) *int) {
	h, named := readName(text)
	for _, k := range []int{j - 1, j + 1} {
		if k < 0 || k >= len(w.columns) || !w.columns[k].isResult() || *place(&w.columns[k]) > 0 {
			continue
		}
		if named && w.columns[k].ID == h.ID || text == "" && k < j {
			*place(&w.columns[k]) = j
			return
		}
	}
}

// limitWordsBeside are the words of a heading that tells a column of detection
// or reporting limits (common practice, no source).
var limitWordsBeside = []string{"dl", "mdl", "rl", "mrl", "lod", "loq", "lor", "pql", "rdl", "ld", "lq"}

// limitHeading cuts the word that tells a column of limits out of its heading.
func limitHeading(text string) (rest string, ok bool) {
	words := strings.Fields(strings.ReplaceAll(text, "_", " "))
	for i, w := range words {
		if slices.Contains(limitWordsBeside, strings.ToLower(strings.Trim(w, "()"))) {
			rest := slices.Concat(words[:i], words[i+1:])
			if len(rest) > 0 && unitOnly(rest) {
				rest = nil
			}
			return strings.Join(rest, " "), true
		}
	}
	return text, false
}

// unitOnly tells whether words are a unit in brackets and nothing else.
func unitOnly(words []string) bool {
	s := strings.Join(words, " ")
	return strings.HasPrefix(s, "(") || strings.HasPrefix(s, "[")
}

// flagHeading cuts the word that tells a column of flags off its heading.
func flagHeading(text string) (rest string, ok bool) {
	text = strings.TrimSpace(strings.NewReplacer("_", " ", "(", " ", ")", " ").Replace(text))
	for _, f := range flagWords {
		if n := len(text) - len(f); n >= 0 && strings.EqualFold(text[n:], f) && (n == 0 || text[n-1] == ' ') {
			return strings.TrimSpace(text[:n]), true
		}
	}
	return text, false
}

// subheadings bounds how many rows under the heading may explain it.
const subheadings = 5

// underHeading takes the rows under the heading that hold its units, fractions,
// methods or limits, and nothing else.
func (w *wide) underHeading() {
	for i := w.head + 1; i < min(len(w.rows), w.head+1+subheadings); i++ {
		if w.rows[i].text == "" || w.explainsColumns(w.rows[i]) || w.fractionRow(w.rows[i]) || w.unitRow(w.rows[i]) {
			w.first = i + 1
			continue
		}
		return
	}
}

// aboutColumns name rows under a heading that tell something about its columns
// that no result depends on (common practice, no source).
var aboutColumns = []string{"method", "methods", "cas", "cas no", "cas number", "cas no.", "code", "parameter code", "methode", "verfahren", "méthode", "método"}

// explainsColumns tells such a row by its first cell.
func (w *wide) explainsColumns(r row) bool {
	for _, c := range r.cells {
		if c != "" {
			return slices.Contains(aboutColumns, strings.ToLower(strings.Trim(c, " :")))
		}
	}
	return false
}

// fractionRow takes a row that tells total from dissolved under the headings. A
// heading that was merged over several columns holds for all of them.
func (w *wide) fractionRow(r row) bool {
	columns := slices.Clone(w.columns)
	found := 0
	for j, c := range r.cells {
		if c == "" || j >= len(columns) {
			continue
		}
		mark, ok := beside[strings.ToLower(c)]
		if !ok {
			return false
		}
		for k := j; columns[j].text == "" && k >= 0; k-- {
			if w.columns[k].text != "" {
				columns[j].nameCell = w.columns[k].nameCell // as it was before its own fraction
				break
			}
		}
		if columns[j].isResult() {
			mark(&columns[j].nameCell)
			found++
		}
	}
	if found > 0 {
		w.columns = columns
	}
	return found > 0
}

// unitRow takes a row as units, if it holds nothing else.
func (w *wide) unitRow(r row) bool {
	columns := slices.Clone(w.columns)
	units := 0
	for j, c := range r.cells {
		if j >= len(columns) || !columns[j].isResult() {
			continue
		}
		u, b, ok := cellUnit(c, analyte.Must(columns[j].ID))
		if readMeasure(c, style{}).kind == measureNumber {
			return false // numbers: these are values
		}
		switch {
		case ok && u != unit.None && columns[j].unit == unit.None:
			columns[j].unit = u
			units++
		case !ok:
			columns[j].unitBad = c
		}
		if b != "" {
			columns[j].basis = b
		}
	}
	if units > 0 {
		w.columns = columns
	}
	return units > 0
}

// holdsNumbers looks at the rows under the heading: of the cells that are not
// empty, most must be values.
func (w *wide) holdsNumbers() bool {
	values, others := 0, 0
	for _, r := range w.rows[min(w.first, len(w.rows)):min(w.first+50, len(w.rows))] {
		for j, c := range r.cells {
			if j >= len(w.columns) || !w.columns[j].isResult() {
				continue
			}
			switch readMeasure(c, w.style).kind {
			case measureEmpty:
			case measureWords:
				others++
			default:
				values++
			}
		}
	}
	return values > others
}

// names of the columns that tell samples apart, folded. The first that the
// table has is used (common practice, no source).
var (
	labelHeadings  = []string{"label", "sample", "samplename", "sitename", "sitenm", "wellname", "well", "point", "location", "locationname", "station", "tap", "source", "siteno", "siteid", "wellid", "site", "id", "name"}
	dateHeadings   = []string{"date", "sampledate", "sampledt", "collected", "collectiondate", "collectiontimestamp", "datesampled", "sampled"}
	sampleHeadings = []string{"sampleid", "sampleno", "samplenumber", "labid", "id"}
)

func (w *wide) nameColumns() {
	find := func(names []string, fields ...field) int {
		for _, n := range names {
			for j, c := range w.columns {
				if !c.isResult() && foldHeading(c.text) == n {
					return j
				}
			}
		}
		return slices.IndexFunc(w.columns, func(c wideColumn) bool {
			f, ok := headingField(c.text)
			return ok && !c.isResult() && slices.Contains(fields, f)
		})
	}
	w.label, w.date, w.sample = find(labelHeadings, fieldLocation), find(dateHeadings, fieldDate), find(sampleHeadings, fieldSample)
	// Headings in other words, or languages: what stands below them tells.
	if w.date < 0 {
		w.date = w.mostly(func(c string) bool { _, ok := splitDate(c); return ok || dayOf(c) != "" })
	}
	if w.label < 0 {
		w.label = w.mostly(func(c string) bool {
			_, isDate := splitDate(c)
			_, isNumber := wholeNumeral(c)
			return !isDate && !isNumber && dayOf(c) == ""
		})
	}
}

// mostly returns the first column, other than those of results, in which most
// cells are of some kind; -1 if there is none.
func (w *wide) mostly(kind func(cell string) bool) int {
	for j, c := range w.columns {
		if c.isResult() {
			continue
		}
		yes, no := 0, 0
		for _, r := range w.rows[min(w.first, len(w.rows)):min(w.first+50, len(w.rows))] {
			switch cell := cellAt(r, j); {
			case cell == "":
			case kind(cell):
				yes++
			default:
				no++
			}
		}
		if yes > no {
			return j
		}
	}
	return -1
}

// read reads every row: each is a sample, or explained.
func (w wide) read() *Reading {
	r := &Reading{Format: "wide", Document: analysis.Document{Version: analysis.Version, Samples: []analysis.Sample{}, Warnings: []analysis.Warning{}}}
	dates := dayOrder(w.rows[min(w.first, len(w.rows)):], w.date)
	lost := lostCells(w.grid, w.head, w.first)
	var ids []string
	for i, row := range w.rows {
		if row.text == "" {
			continue
		}
		f := Fate{Line: row.line}
		words, isStatistic := w.noSample(row)
		switch {
		case i < w.head:
			f.Why = "stands before the heading of the table"
		case i == w.head:
			f.What, f.Why = Explains, "the heading of the table"+w.unused()
		case i < w.first:
			f.What, f.Why = Explains, "explains the columns"
		case i >= w.end:
			f.Why = "stands below the table"
		case isStatistic:
			f.Why = "limits or statistics, not a sample: " + words
		case isControl(cellAt(row, w.label)), isControl(cellAt(row, w.sample)):
			f.Why = "a quality-control sample: " + cellAt(row, w.label)
		case lost(row) && (len(row.cells) <= w.lastResult() || !w.stands(row)):
			f.What, f.Why = Doubtful, "this row has fewer cells than the heading, and its values may stand under the wrong names; none was read"
			r.Document.Warnings = append(r.Document.Warnings, analysis.Warning{Code: "ambiguous_layout", Message: f.Why, Line: row.line})
		default:
			s := analysis.Sample{Results: w.results(row)}
			if len(s.Results) == 0 {
				f.Why = "no value under any of the analytes"
				break
			}
			f.What = HasResult
			s.Label, s.Date = cellAt(row, w.label), dates(cellAt(row, w.date))
			r.Document.Samples = append(r.Document.Samples, s)
			ids = append(ids, cellAt(row, w.sample))
		}
		r.Lines = append(r.Lines, f)
	}
	distinguish(r.Document.Samples, ids)
	r.Lines = spread(r.Lines, w.rows)
	return r
}

// lastResult returns the last column of results.
func (w wide) lastResult() int {
	last := -1
	for j, c := range w.columns {
		if c.isResult() {
			last = j
		}
	}
	return last
}

// stands tells whether the values of a row are plausible under their names.
func (w wide) stands(r row) bool {
	for j, c := range r.cells {
		if j >= len(w.columns) || !w.columns[j].isResult() {
			continue
		}
		col := w.columns[j]
		m := readMeasure(c, w.style)
		switch {
		case m.kind == measureNumber:
			u := col.unit
			if col.ID == "ph" {
				u = unit.PH
			}
			if impossible(col.ID, m.value, u) || unlikely(col.ID, m.value, u) {
				return false
			}
		case m.kind == measureWords && len(c) > 1:
			return false
		}
	}
	return true
}

// lostCells returns a function that tells the rows of delimited text that are
// shorter than their heading though most are not: a cell was lost on the way,
// and what stands behind it has moved up. Where most rows are short, empty
// cells at their ends were left out. Formats that give each cell its place lose none.
func lostCells(t grid, head, first int) func(row) bool {
	if !t.delimited {
		return func(row) bool { return false }
	}
	whole, short := 0, 0
	width := len(t.rows[head].cells)
	for _, r := range t.rows[min(first, len(t.rows)):] {
		switch {
		case r.text == "" || len(r.cells) < 2:
		case len(r.cells) < width:
			short++
		default:
			whole++
		}
	}
	return func(r row) bool { return short <= whole && len(r.cells) < width }
}

// limitWords name rows that stand among the samples and are none: limits, and
// figures over all samples; besideLimits are words that may stand with them,
// and countWords name such a row where others stand in the table (common
// practice, no source).
var (
	limitWords = []string{"limit", "limits", "mcl", "smcl", "guideline", "guidelines", "standard", "standards", "target", "rl", "mdl", "lod", "loq", "minimum", "min", "maximum", "max", "average", "avg", "mean", "median", "geomean",
		"std", "stdev", "stddev", "stdv", "deviation", "variance", "percentile", "quartile", "skewness", "rsd", "cv", "exceedances", "exceedance",
		"grenzwert", "limite", "richtwert", "norm", "mittelwert", "moyenne", "promedio", "media", "mediana", "standardabweichung", "gemiddelde", "medelvärde", "middelværdi", "średnia"}
	besideLimits = []string{"drinking", "water", "epa", "who", "detection", "reporting", "quantitation", "action", "level", "value", "range", "state", "primary", "secondary", "health", "of", "the", "all", "dev", "standard", "geometric", "arithmetic", "number", "no", "%", "samples", "wells", "sites", "upper", "lower", "coefficient", "variation", "5th", "10th", "25th", "50th", "75th", "90th", "95th", "99th", "results", "values", "overall", "annual", "period"}
	countWords   = []string{"n", "count", "sd", "s", "sum", "total", "range", "number", "detects", "detections", "anzahl", "nombre", "number of samples", "n samples", "# samples", "no. of samples", "samples", "% detected", "spread", "p10", "p90", "q1", "q3"}
)

// noSample tells the name of such a row: every word of it is one of those.
func noSample(label string) bool {
	found := false
	for _, w := range strings.Fields(strings.ToLower(strings.Trim(label, ":() "))) {
		w = strings.Trim(w, ".,:()")
		isLimit := slices.Contains(limitWords, w)
		if !isLimit && w != "" && !slices.Contains(besideLimits, w) {
			return false
		}
		found = found || isLimit
	}
	return found
}

// noSample tells a row that is none by what stands in the columns that would
// tell its sample; it returns those words.
func (w wide) noSample(r row) (words string, yes bool) {
	for _, j := range [...]int{w.label, w.date, w.sample, 0} {
		if j < 0 || j < len(w.columns) && w.columns[j].isResult() {
			continue
		}
		c := cellAt(r, j)
		if noSample(c) || w.counts && slices.Contains(countWords, strings.ToLower(strings.Trim(c, ".:() "))) {
			return c, true
		}
	}
	return "", false
}

// unused names the columns that are neither results nor used to tell samples
// apart, so that the reader of the heading's fate sees what was left out.
func (w wide) unused() string {
	var names []string
	for j, c := range w.columns {
		if !c.isResult() && c.text != "" && j != w.label && j != w.date && j != w.sample && !w.holdsFlags(j) {
			names = append(names, c.text)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return "; not used: " + strings.Join(names, ", ")
}

func (w wide) holdsFlags(j int) bool {
	return j > 0 && slices.ContainsFunc(w.columns, func(c wideColumn) bool { return c.flags == j })
}

func cellAt(r row, j int) string {
	if j < 0 || j >= len(r.cells) {
		return ""
	}
	return r.cells[j]
}

// results reads the values of one row.
func (w wide) results(r row) []analysis.Result {
	out := make([]analysis.Result, 0, len(w.columns))
	for j, c := range r.cells {
		if j >= len(w.columns) || !w.columns[j].isResult() {
			continue
		}
		flags := ""
		if k := w.columns[j].flags; k > 0 {
			flags = cellAt(r, k)
		}
		res, ok := w.columns[j].result(c, flags, cmp.Or(w.columns[j].line, r.line), w.style)
		if !ok {
			continue
		}
		if k := w.columns[j].limit; k > 0 {
			w.limit(&res, readMeasure(cellAt(r, k), w.style))
		}
		for _, row := range w.limits {
			if w.limit(&res, row.of[j]) && w.columns[j].line == 0 {
				res.Note = strings.TrimPrefix(fmt.Sprintf("%s; limit on line %d", res.Note, row.line), "; ")
			}
		}
		if w.signBeside(r, j) {
			doubtful(&res, "ambiguous_layout", "a sign stands in a column beside this value, and nothing tells whether it goes with it")
		}
		out = append(out, res)
	}
	return out
}

// limit takes up the limit that stands beside a non-detect, or in a row of limits.
func (w wide) limit(res *analysis.Result, m measure) bool {
	if !res.Nondetect || res.Limit != nil || m.kind != measureNumber || m.twoWays {
		return false
	}
	res.Limit = analysis.Number(m.value)
	res.Warnings = slices.DeleteFunc(res.Warnings, func(v analysis.Warning) bool { return v.Code == "nondetect_no_limit" })
	return true
}

// signBeside tells whether a sign that belongs to no analyte stands beside a value.
func (w wide) signBeside(r row, j int) bool {
	for _, k := range [...]int{j - 1, j + 1} {
		if k >= 0 && k < len(w.columns) && !w.columns[k].isResult() && isSign(cellAt(r, k)) && cellAt(r, k) != "=" && !w.holdsFlags(k) {
			return true
		}
	}
	return false
}

// result reads one cell of the column, with the flags beside it; ok is false
// for an empty one.
func (c wideColumn) result(cell, flags string, line int, st style) (res analysis.Result, ok bool) {
	m := readMeasure(cell, st)
	m.remark = strings.TrimSpace(m.remark + " " + flags)
	if m.kind == measureEmpty || m.isMissing(c.ID) || m.kind == measureWords && slices.Contains(noValueWords, strings.ToLower(cell)) {
		return res, false
	}
	a := analyte.Must(c.ID)
	res = analysis.Result{Analyte: c.ID, Unit: c.unit, Basis: c.basis, AsWritten: cell, Line: line, Note: c.Note}
	if a.ID == "ph" {
		res.Unit = unit.PH
	}
	if a.Metal {
		res.Fraction = fractionOf("", c.Coded)
	}
	if m.twoWays {
		twoNumbers(&res, m)
		return res, true
	}
	switch m.kind {
	case measureNumber:
		res.Value = analysis.Number(m.value)
		switch {
		case hasFlag(m.remark, "U") || flags == "<":
			res.Value, res.Limit, res.Nondetect = nil, res.Value, true
		case flags == ">":
			res.Value = nil
			moreThan(&res, a, m)
		}
		if hasFlag(m.remark, "R") {
			doubtful(&res, "rejected_value", fmt.Sprintf("%s %s was rejected by the laboratory", a.Name, m.written))
		}
		flagDoubts(a, &res, m.remark)
	case measureBelow:
		res.Nondetect = true
		if m.hasLimit {
			res.Limit = analysis.Number(m.value)
		} else {
			noLimit(&res, a)
		}
	case measureAbove:
		moreThan(&res, a, m)
	case measurePresence:
		if a.Kind == analyte.Microbe {
			res.Value, res.Unit = analysis.Number(m.value), unit.Presence
			break
		}
		fallthrough
	default:
		doubtful(&res, "qualitative_only", fmt.Sprintf("%s is reported as %q, which is no number", a.Name, m.written))
	}
	if c.foreign != "" {
		res.Value, res.Low, res.High, res.Limit, res.Nondetect = nil, nil, nil, nil, false
		doubtful(&res, "basis_unstated", notConverted(c.foreign), settle(a.ID))
	}
	if c.unitBad != "" && res.Unit == unit.None {
		doubtful(&res, "unit_suspect", fmt.Sprintf("%s: the unit %q is not one that it is known in", a.Name, c.unitBad))
	}
	return res, true
}

// dayOrder returns a function that writes the dates of a column as 2024-06-05.
// Whether 3/4/2024 is in March or in April is settled by the other dates of
// the column, or not at all: then the function returns "".
func dayOrder(rows []row, column int) func(string) string {
	dayFirst, monthFirst := false, false
	for _, r := range rows {
		d, ok := splitDate(cellAt(r, column))
		if !ok {
			continue
		}
		dayFirst = dayFirst || d[0] > 12 || d[3] == '.'
		monthFirst = monthFirst || d[1] > 12
	}
	return func(s string) string {
		if iso := dayOf(s); iso != "" {
			return iso
		}
		d, ok := splitDate(s)
		switch {
		case !ok || dayFirst == monthFirst:
			return ""
		case monthFirst:
			d[0], d[1] = d[1], d[0]
		}
		if d[1] > 12 || d[1] == 0 || d[0] > 31 || d[0] == 0 {
			return ""
		}
		return fmt.Sprintf("%04d-%02d-%02d", d[2], d[1], d[0])
	}
}

// splitDate cuts a date with the year last into its numbers and its mark.
func splitDate(s string) ([4]int, bool) {
	var d [4]int
	s, _, _ = strings.Cut(strings.TrimSpace(s), " ")
	i := strings.IndexAny(s, "-/.")
	if i < 0 {
		return d, false
	}
	parts := strings.Split(s, s[i:i+1])
	if len(parts) != 3 || len(parts[2]) != 4 {
		return d, false
	}
	for j, p := range parts {
		if len(p) == 0 || len(p) > 4 {
			return d, false
		}
		for _, c := range p {
			if c < '0' || c > '9' {
				return d, false
			}
			d[j] = d[j]*10 + int(c-'0')
		}
	}
	d[3] = int(s[i])
	return d, true
}
