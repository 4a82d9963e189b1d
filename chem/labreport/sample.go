package labreport

import (
	"strings"

	"forebed/chem/analyte"
)

// block is a run of lines about one bottle.
type block struct {
	label    string
	explicit bool // a label with a key ("Sample:") opens it
	line     int
	class    class // raw or treated, as the label says
	results  int
}

// status takes up what a line says about the lines after it: a new sample,
// quality control, preliminary or final figures.
func (r *reader) status(i int) {
	items := r.items[i]
	c := r.lineClass(i)
	r.sampleKeys(i)
	values := false
	for k := range items {
		if items[k].kind == itValue && items[k].val.number() && !items[k].val.counts && items[k].depth == 0 {
			values = true
		}
	}
	if c&clsQC != 0 && !values && len(items) > 0 && r.opensWith(i, clsQC) && (r.isSection(i) || r.lines[i].cells >= 2) && !r.isKeyed(i) {
		r.qc, r.table = true, nil
	}
	if c&(clsPrelim|clsFinal) != 0 && (r.opensWith(i, clsPrelim|clsFinal) || !values && r.isSection(i) && r.lines[i].cells <= 2) && !r.isHeadingWords(items) && r.lines[i].cells < 3 {
		pre := c&clsPrelim != 0 && !(c&clsFinal != 0 && r.opensWith(i, clsFinal))
		if pre != r.prelim || !pre != r.final {
			r.prelim, r.final = pre, !pre
		}
		if !pre {
			r.text.finals++
		} else {
			r.text.prelims++
		}
	}
	if !values && r.isSection(i) {
		f := analyte.Fold(r.lines[i].text)
		if hasWord(f, limitSections) && !r.isHeadingWords(items) {
			r.limits, r.table = true, nil
		} else if r.limits && r.lines[i].cells == 1 && !strings.Contains(f, "limit") {
			if _, ok := r.rowName(i); !ok {
				r.limits = false
			}
		}
	}
}

// limitSections are headings of tables that hold limits or salts that nobody
// measured.
var limitSections = []string{"drinking water standards", "drinking water limits", "secondary standard", "primary standard", "recommended limits", "recommended levels", "hypothetical", "probable salts", "probable combinations", "guideline values", "interpretation guide",
	"hypothetische", "salzkombination", "limits and guidelines", "what the limits", "typical ranges", "typical values", "reference values", "what the numbers mean", "for reference", "standards for", "limits for", "maximum contaminant levels", "guide to", "how to read", "target ranges", "desirable ranges"}

func hasWord(s string, words []string) bool {
	for _, w := range words {
		if strings.Contains(s, w) {
			return true
		}
	}
	return false
}

func (r *reader) isHeadingWords(items []item) bool {
	n := 0
	for k := range items {
		if items[k].role != roleNone && items[k].kind != itName {
			n++
		}
	}
	return n >= 3
}

// opensWith tells whether one of the classes stands in the first words of a line.
func (r *reader) opensWith(i int, c class) bool {
	n := 0
	for k := range r.items[i] {
		it := &r.items[i][k]
		if it.kind == itPunct || it.kind == itDash {
			continue
		}
		if it.class&c != 0 {
			return true
		}
		if n++; n >= 2 {
			return false
		}
	}
	return false
}

func (r *reader) isKeyed(i int) bool {
	for k := range r.items[i] {
		if it := &r.items[i][k]; it.kind == itPunct && it.fold == ":" {
			return true
		}
	}
	return false
}

// sampleWords are keys of a sample's name beside those of roleSample.
var sampleWords = []string{"sample", "sample name", "sample id", "client sample", "client sample id", "sample point", "sample location", "sampling point", "location", "site", "client ref", "report for", "tested for", "field id", "water from", "source", "entnahmestelle", "probenahmestelle", "messstelle", "probe", "probenbezeichnung",
	"prelevement", "point de prelevement", "echantillon", "lieu de prelevement", "monsterpunt", "monster", "monsterplaats", "provmarkning", "provplats", "provtagningsplats", "provested", "prove", "punkt poboru", "miejsce poboru", "probka", "punto de muestreo", "muestra", "punto di prelievo", "campione", "local da coleta", "sample point name", "sample description", "well", "well name", "well id", "tap", "collection point", "collected from", "collected at", "sample collected from", "sample collected at", "sampling location", "station", "address of well", "where", "sample taken at", "taken at", "sample site", "sample source", "bottle", "borehole", "bore", "identification", "client id"}

var sampleKeySet = func() map[string]bool {
	m := map[string]bool{}
	for _, w := range sampleWords {
		m[w] = true
	}
	return m
}()

// sampleKeys takes up "Sample: Barn tap".
func (r *reader) sampleKeys(i int) bool {
	l := &r.lines[i]
	items := r.items[i]
	found := false
	for k := range items {
		if items[k].kind != itPunct || items[k].fold != ":" && items[k].fold != "=" || k == 0 || k+1 >= len(items) {
			continue
		}
		a := k - 1
		for a > 0 && items[a-1].cell == items[k-1].cell && items[a-1].kind != itValue && items[a-1].kind != itDate && !(items[a-1].kind == itPunct && items[a-1].fold != "-" && items[a-1].fold != "/") {
			a--
		}
		key := strings.Join(strings.Fields(analyte.Fold(strings.Trim(l.text[items[a].start:items[k-1].end], " .-"))), " ")
		if !sampleKeySet[key] {
			continue
		}
		b := k + 1
		for b < len(items) && items[b].cell == items[k+1].cell && !(items[b].kind == itWord && strings.EqualFold(items[b].fold, "date")) {
			b++
		}
		if b == k+1 || items[k+1].kind == itName && items[k+1].name.ID != "" && b == k+2 {
			continue // "probe: pH"
		}
		label := r.label(i, items[k+1].start, items[b-1].end)
		if key == "source" || key == "where" || key == "sample" && found {
			if r.blocks[r.block].label != "" {
				r.treatment(label)
				continue
			}
		}
		if key == "well" && len(label) > 40 {
			continue
		}
		found = true
		r.newBlock(i, label, true)
	}
	if c := r.lineClass(i); found && c&(clsTreated|clsRaw) != 0 {
		r.blocks[r.block].class |= c & (clsTreated | clsRaw)
	}
	return found
}

// newBlock begins a sample, unless its name is that of the present one.
func (r *reader) newBlock(i int, label string, explicit bool) {
	b := &r.blocks[r.block]
	base := plainLabel(label)
	if explicit && blankLabel(base) {
		r.qc, r.table = true, nil
		return
	}
	if r.qc && explicit && !qcLabel(base) {
		r.qc, r.table = false, nil
	}
	if plainLabel(b.label) == base {
		return
	}
	if b.results == 0 {
		if b.label != "" && explicit && b.explicit && i == b.line {
			return
		}
		b.label, b.explicit, b.line = label, explicit, i
		b.class = labelClass(label)
		return
	}
	for k := range r.blocks {
		if plainLabel(r.blocks[k].label) == base {
			r.block = k
			return
		}
	}
	r.blocks = append(r.blocks, block{label: label, explicit: explicit, line: i, class: labelClass(label)})
	r.block = len(r.blocks) - 1
}

// blankLabel tells whether a sample is a blank or spike of the laboratory.
func blankLabel(s string) bool {
	return hasWord(s, []string{"blank", "spike", "lab control", "laboratory control", "lcs"})
}

func qcLabel(s string) bool {
	return hasWord(s, []string{"blank", "spike", "control", "lcs", "duplicate", "qc"})
}

// plainLabel drops what pages add to a label.
func plainLabel(s string) string {
	s = analyte.Fold(s)
	for _, cut := range []string{"(cont", "continued", "page "} {
		if k := strings.Index(s, cut); k >= 0 {
			s = s[:k]
		}
	}
	return strings.Join(strings.FieldsFunc(s, func(c rune) bool {
		return c == ' ' || c == ',' || c == '-' || c == '.' || c == '(' || c == ')' || c == '#'
	}), " ")
}

// labelClass tells whether a label says raw or treated.
func labelClass(label string) class {
	l := lex(row{text: label})
	var c class
	for _, it := range itemize(&l) {
		c |= it.class
		if it.kind == itValue {
			c |= it.val.class
		}
	}
	c &= clsTreated | clsRaw
	switch analyte.Fold(strings.Trim(label, " .:")) {
	case "after", "out", "outlet", "nachher", "apres", "despues", "dopo":
		return clsTreated
	case "before", "in", "vorher", "avant", "antes", "prima":
		return clsRaw
	}
	if c == clsTreated|clsRaw {
		return clsRaw
	}
	return c
}

func (r *reader) treatment(label string) {
	r.blocks[r.block].class |= labelClass(label)
}

// isSampleLine takes up a heading that names a well or tap without a key:
// "WELL A", "Raw water", "After the softener".
func (r *reader) isSampleLine(i int) bool {
	if r.isKeyed(i) {
		return r.sampleKeySeen(i)
	}
	items := r.items[i]
	if len(items) == 0 || !r.shortLine(i) {
		return false
	}
	c := r.lineClass(i)
	first := &items[0]
	opens := first.role == roleSample && (len(items) == 1 || items[1].kind != itWord || items[1].role != roleResult)
	if c&(clsTreated|clsRaw) == 0 && !opens && !r.headsRows(i) {
		return false
	}
	last := &items[len(items)-1]
	r.newBlock(i, r.label(i, first.start, last.end), false)
	if c&(clsTreated|clsRaw) != 0 {
		r.blocks[r.block].class |= labelClass(r.lines[i].text)
	}
	return true
}

// namedInLine takes up the name of a sample before the results of one line: "Raw
// water (pressure tank): hardness 18 gpg, iron 2.4 ppm".
func (r *reader) namedInLine(i int) bool {
	k := r.afterLabel(i)
	items := r.items[i]
	if k < 2 || r.values(i) == 0 {
		return false
	}
	place := false
	for j := range items[:k-1] {
		it := &items[j]
		place = place || it.depth == 0 && (it.class&(clsTreated|clsRaw) != 0 || it.role == roleSample)
	}
	if !place {
		return false
	}
	r.newBlock(i, r.label(i, items[0].start, items[k-2].end), false)
	return true
}

// headsRows tells whether a line of its own names a place where water is
// drawn ("House well (drilled 1998)"): a blank line or nothing stands above it,
// a row right below, and its last word outside brackets is such a place.
func (r *reader) headsRows(i int) bool {
	if i > 0 && !r.lines[i-1].blank || i+1 >= r.real || r.lines[i].cells > 1 {
		return false
	}
	items := r.items[i]
	last := -1
	for k := range items {
		if items[k].kind == itName {
			return false
		}
		if items[k].depth == 0 && items[k].kind != itPunct {
			last = k
		}
	}
	if last < 0 || items[last].role != roleSample || items[last].kind != itWord {
		return false
	}
	_, ok := r.rowName(i + 1)
	return ok && r.values(i+1) > 0
}

func (r *reader) sampleKeySeen(i int) bool {
	return r.blocks[r.block].line == i
}

// shortLine tells whether a line is a heading of a few words.
func (r *reader) shortLine(i int) bool {
	words := 0
	for k := range r.items[i] {
		switch it := &r.items[i][k]; it.kind {
		case itWord, itName, itCode, itValue:
			words += it.t1 - it.t0
			if it.kind == itValue && it.val.hasUnit {
				return false
			}
		case itUnit:
			return false
		}
	}
	return words <= 8
}
