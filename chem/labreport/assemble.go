package labreport

import (
	"fmt"
	"math"
	"sort"
	"strconv"
	"strings"
	"unicode/utf8"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

func itoa(n int) string { return strconv.Itoa(n) }

func analysisWarning(code, message string, readings ...analysis.Reading) analysis.Warning {
	return analysis.Warning{Code: code, Message: message, Readings: readings}
}

func analysisWarningAt(code, message string, line int, id analyte.ID) analysis.Warning {
	return analysis.Warning{Code: code, Message: message, Line: line, Analyte: id}
}

// group is one sample in the making.
type group struct {
	label  string
	class  class
	found  []*finding
	block  int
	column int
}

// assemble makes the document of the findings, with its doubts, or refuses.
func (r *reader) assemble() (*Reading, error) {
	r.settleFootUnits()
	r.lateLegend()
	groups := r.group()
	doc := analysis.Document{Version: analysis.Version, Samples: []analysis.Sample{}, Warnings: []analysis.Warning{}}
	for _, g := range groups {
		s := analysis.Sample{Label: g.label, Date: isoDate(g.label), Results: []analysis.Result{}}
		if s.Date != "" {
			s.Label = s.Date
		}
		switch g.class {
		case clsTreated:
			s.Source = "treated"
		case clsRaw:
			s.Source = "raw"
		}
		for _, f := range g.found {
			if res, ok := r.result(f); ok {
				s.Results = append(s.Results, res)
			}
		}
		if len(s.Results) > 0 {
			doc.Samples = append(doc.Samples, s)
		}
	}
	doc.Warnings = append(doc.Warnings, r.warnings...)
	if err := r.refusal(&doc); err != nil {
		return nil, err
	}
	texts := r.textByLine()
	r.notePlaces(&doc, texts)
	r.doubts(&doc)
	nameUnknownUnits(&doc, texts)
	lines := make([]Fate, 0, len(r.fate))
	for k, f := range r.fate {
		if !r.lines[k].blank || r.lines[k].gone {
			if f.What == Ignored && f.Why == "" {
				f.Why = "says nothing about the water"
			}
			lines = append(lines, f)
		}
	}
	return &Reading{Document: doc, Format: r.src.format, Lines: lines}, nil
}

// group sorts the findings into samples, and drops what later figures replace.
func (r *reader) group() []*group {
	r.supersede()
	r.joinBlocks()
	var groups []*group
	index := map[[2]int]*group{}
	for k := range r.found {
		f := r.found[k]
		key := [2]int{f.block, f.column}
		g := index[key]
		if g == nil {
			b := &r.blocks[f.block]
			g = &group{label: b.label, class: b.class, block: f.block, column: f.column}
			if f.column >= 0 {
				g.label = f.water
				if c := labelClass(f.water); c != 0 {
					g.class = c
				}
			}
			index[key] = g
			groups = append(groups, g)
		}
		g.found = append(g.found, f)
	}
	// what stands outside the columns of several waters belongs to all of
	// them; with one column only it joins that
	sort.SliceStable(groups, func(a, b int) bool {
		if groups[a].block != groups[b].block {
			return groups[a].block < groups[b].block
		}
		return groups[a].column < groups[b].column
	})
	var out []*group
	for _, g := range groups {
		if n := len(out); n > 0 && out[n-1].block == g.block && out[n-1].column < 0 && g.column >= 0 && len(out[n-1].found) < len(g.found) && len(out[n-1].found) <= 3 {
			g.found = append(out[n-1].found, g.found...)
			out[n-1] = g
			continue
		}
		out = append(out, g)
	}
	for _, g := range out {
		r.dropRepeats(g)
	}
	return out
}

// joinBlocks joins a block to the one before it when its heading was no name
// of a sample after all: no analyte stands in both, and no key opened it.
func (r *reader) joinBlocks() {
	into := make([]int, len(r.blocks))
	held := map[int]map[string]bool{}
	for b := range r.blocks {
		into[b] = b
	}
	keys := make([]map[string]bool, len(r.blocks))
	for k := range r.found {
		f := r.found[k]
		if keys[f.block] == nil {
			keys[f.block] = map[string]bool{}
		}
		keys[f.block][string(f.id)+string(f.fraction)] = true
	}
	last := -1
	for b := range r.blocks {
		if keys[b] == nil {
			continue
		}
		if last >= 0 && !(r.blocks[b].explicit && r.blocks[last].explicit) {
			overlap := false
			for k := range keys[b] {
				overlap = overlap || held[last][k]
			}
			ca, cb := r.blocks[last].class, r.blocks[b].class
			if !overlap && (ca == cb || ca == 0 || cb == 0) {
				into[b] = last
				for k := range keys[b] {
					held[last][k] = true
				}
				if r.blocks[last].label == "" || !r.blocks[last].explicit && r.blocks[b].explicit {
					r.blocks[last].label, r.blocks[last].explicit = r.blocks[b].label, r.blocks[b].explicit
				}
				r.blocks[last].class |= cb
				continue
			}
		}
		last = b
		held[b] = keys[b]
	}
	for k := range r.found {
		r.found[k].block = into[r.found[k].block]
	}
}

// supersede drops preliminary figures that final ones replace, and says so.
func (r *reader) supersede() {
	final := map[analyte.ID][]*finding{}
	pre, fin := 0, 0
	for k := range r.found {
		if f := r.found[k]; f.prelim {
			pre++
		} else {
			fin++
			final[f.id] = append(final[f.id], f)
		}
	}
	if pre == 0 || fin == 0 {
		return
	}
	kept := r.found[:0]
	differ := false
	for k := range r.found {
		f := r.found[k]
		if !f.prelim {
			kept = append(kept, f)
			continue
		}
		later := final[f.id]
		if len(later) == 0 {
			f.doubts = append(f.doubts, analysisWarning("preliminary", "this figure is called preliminary and no final one follows"))
			kept = append(kept, f)
			continue
		}
		a, _, _ := f.val.num.value(r.style)
		b, _, _ := later[0].val.num.value(r.style)
		if a != b || f.val.op != later[0].val.op {
			differ = true
			w := analysisWarningAt("conflicting_values", fmt.Sprintf("an earlier figure on line %d, %s, was replaced by a later one; the later one is kept", r.lineNo(f), r.written(f)), r.lineNo(later[0]), f.id)
			r.warnings = append(r.warnings, w)
		}
	}
	if !differ && r.text.prelims > 0 && r.text.finals > 0 {
		r.warnings = append(r.warnings, analysisWarning("conflicting_values", "the report gives preliminary and final figures; the final ones are kept"))
	}
	r.found = kept
}

// dropRepeats drops figures that stand twice in the same words.
func (r *reader) dropRepeats(g *group) {
	type key struct {
		id   analyte.ID
		frac analysis.Fraction
		text string
		u    unit.Unit
		b    analyte.Basis
	}
	seen := map[key]bool{}
	kept := g.found[:0]
	for _, f := range g.found {
		k := key{f.id, f.fraction, strings.Join(strings.Fields(r.written(f)), ""), f.unit.unit, r.basis(f)}
		if seen[k] && !f.withhold {
			continue
		}
		seen[k] = true
		kept = append(kept, f)
	}
	g.found = kept
}

func (r *reader) lineNo(f *finding) int {
	return r.lines[r.sourceLine(f.line, f.start)].line
}

// written returns the value as it stands in the report.
func (r *reader) written(f *finding) string {
	whole := strings.Trim(r.lines[f.line].text[f.start:f.end], " \t\u00a0")
	if r.lines[f.line].from == nil {
		return whole
	}
	// Of a unit that goes on in the next line, only what stands on this one; of
	// a number that stands on the next line, only what stands on that.
	source := func(at int) string { return squeeze(r.src.rows[r.sourceLine(f.line, at)].text) }
	w := whole
	for first := source(f.start); !strings.Contains(first, squeeze(w)); {
		k := strings.LastIndexByte(w, ' ')
		if k < 0 {
			_, n := utf8.DecodeLastRuneInString(w)
			k = len(w) - n
		}
		w = w[:k]
	}
	if strings.ContainsAny(w, "0123456789") || !strings.ContainsAny(whole, "0123456789") {
		return w
	}
	w = whole
	for last := source(f.end - 1); !strings.Contains(last, squeeze(w)); {
		_, rest, ok := strings.Cut(w, " ")
		if !ok {
			break
		}
		w = rest
	}
	return w
}

// basis returns the basis that the report states for a finding; empty when it
// is the substance itself.
func (r *reader) basis(f *finding) analyte.Basis {
	b := f.unit.basis
	if b == "" {
		b = f.basis
	}
	if f.basis != "" && b != f.basis && f.unit.basis != "" {
		b = f.unit.basis
	}
	return ownBasis(f.id, b)
}

// ownBasis keeps a basis only where it says something: nitrate as NO3 does,
// chloride as Cl does not.
func ownBasis(id analyte.ID, b analyte.Basis) analyte.Basis {
	if b == "" {
		return ""
	}
	a, ok := analyte.Lookup(id)
	if !ok {
		return ""
	}
	if string(b) == a.Formula && !nitrogenLike(id) && a.Own == "" {
		return ""
	}
	if b == "CaCO3" && (a.Loads != 0 || a.Own == "CaCO3") || b == a.Own {
		return b
	}
	if _, ok := a.Bases[b]; ok {
		return b
	}
	return ""
}

// nitrogenLike tells whether the ion itself is one of several customary bases.
func nitrogenLike(id analyte.ID) bool {
	switch id {
	case "nitrate", "nitrite", "ammonium", "phosphate", "nitrate_nitrite":
		return true
	}
	return false
}

// settleFootUnits gives rows whose flag is explained as a unit that unit.
func (r *reader) settleFootUnits() {
	if r.footUnits == nil {
		return
	}
	for k := range r.found {
		f := r.found[k]
		if f.hasUnit && !f.fromContext {
			continue
		}
		if u, ok := r.footUnits[nameMark(f.nameText)]; ok {
			f.unit, f.hasUnit = u, true
			continue
		}
		if f.hasUnit || r.footMarks(f) {
			continue
		}
		if u, ok := r.footUnits[f.flags]; ok {
			f.unit, f.hasUnit, f.flags = u, true, ""
			continue
		}
		rest := strings.TrimSpace(r.lines[f.line].text[f.end:])
		if u, ok := r.footUnits[strings.Trim(rest, "()[] ")]; ok {
			f.unit, f.hasUnit = u, true
		}
	}
}

// nameMark returns the mark in brackets at the end of a name: "1" of
// "Nitrate (1)".
func nameMark(name string) string {
	name = strings.TrimRight(name, " :")
	open := strings.LastIndexAny(name, "([")
	if open < 0 || len(name)-open > 4 || !strings.HasSuffix(name, ")") && !strings.HasSuffix(name, "]") {
		return ""
	}
	return strings.TrimSpace(name[open+1 : len(name)-1])
}

// footMarks reads several marks behind a value, "61 b,J" or "272 a,d": one is
// explained as a unit, the others as a basis or as a flag.
func (r *reader) footMarks(f *finding) bool {
	marks := strings.FieldsFunc(r.lines[f.line].text[f.end:], func(c rune) bool { return strings.ContainsRune(" ,;()[]", c) })
	if len(marks) < 2 || len(marks) > 4 {
		return false
	}
	for _, m := range marks {
		_, isUnit := r.footUnits[m]
		_, isBasis := r.footBases[m]
		if !isUnit && !isBasis && !flagLetters(m) {
			return false
		}
	}
	for _, m := range marks {
		if u, ok := r.footUnits[m]; ok && !f.hasUnit {
			f.unit, f.hasUnit = u, true
		} else if b, ok := r.footBases[m]; ok {
			f.basis = b
		} else if !strings.Contains(f.flags, m) {
			f.flags += m
		}
	}
	return f.hasUnit
}

// lateLegend applies a legend that stands below the rows it is about.
func (r *reader) lateLegend() {
	for _, f := range r.found {
		if u, ok := r.ctx.units[f.id]; ok && (!f.hasUnit || f.fromContext) && !f.prose {
			f.unit, f.hasUnit, f.fromContext = u, true, false
		}
	}
	if !r.ctx.hasUnit || r.ctx.section {
		return
	}
	for k := range r.found {
		f := r.found[k]
		if !f.hasUnit && concentration(f.id) && !f.prose {
			f.unit, f.hasUnit = r.ctx.unit, true
			f.unit.basis = ""
		}
		if f.basis == "" && f.unit.basis == "" {
			f.basis = r.ctx.basisFor(f.id, f.nameText)
		}
	}
}

// result settles the numbers of a finding.
func (r *reader) result(f *finding) (analysis.Result, bool) {
	a, ok := analyte.Lookup(f.id)
	if !ok {
		return analysis.Result{}, false
	}
	res := analysis.Result{Analyte: f.id, Basis: r.basis(f), AsWritten: r.written(f), Line: r.lineNo(f), Note: f.note}
	if a.Metal {
		res.Fraction = f.fraction
	}
	if f.hasUnit {
		res.Unit = f.unit.unit
	}
	v := f.val
	if f.id == "free_chlorine" && f.unit.parts != 0 { // analysts of that time called chloride chlorine
		res.Analyte, f.id = "chloride", "chloride"
	}
	if f.id == "ph" {
		res.Unit = unit.PH
	}
	if f.id == "saturation_index" && concentrationUnit(res.Unit) && f.nameText == "SI" { // silicon in capitals
		res.Analyte, res.Basis, f.id = "silica", "Si", "silica"
	}
	if f.id == "sar" || f.id == "saturation_index" {
		res.Unit = unit.Ratio
	}
	if measuredInDegrees(f.id) && (res.Unit == unit.DegF || res.Unit == unit.DegC) {
		if res.Unit == unit.DegF {
			res.Unit = unit.DegFrench
		} else {
			res.Unit = ""
		}
	}
	warn := func(code, message string, readings ...analysis.Reading) {
		res.Warnings = append(res.Warnings, analysis.Warning{Code: code, Message: message, Line: res.Line, Analyte: f.id, Readings: readings})
	}
	for _, d := range f.doubts {
		d.Line, d.Analyte = res.Line, f.id
		res.Warnings = append(res.Warnings, d)
	}
	if f.withhold {
		if f.val.has {
			return res, true
		}
		res.Unit, res.Basis = "", ""
		return res, true
	}
	if a.Kind == analyte.Microbe && r.microbe(f, &res) {
		return res, true
	}
	if a.Kind == analyte.Words && !(v.number() && res.Unit == unit.OdourNumber) {
		res.Unit, res.Basis = "", ""
		return res, true
	}
	r.flags(f, &v, warn)
	switch {
	case v.none || v.op == '<' && v.number() && !v.isRange:
		res.Nondetect = true
		r.limit(f, v, &res, warn)
		if f.id == "ph" { // no test fails to find a pH
			warn("range_only", "only a bound is given", settle(f.id))
		}
	case v.number():
		r.number(f, v, &res, warn)
	default:
		if f.id == "color" || f.id == "turbidity" && v.class&clsOverscale == 0 {
			res.Unit = ""
		}
		if v.class&clsOverscale != 0 {
			warn("over_range", fmt.Sprintf("%q says only that the value is beyond the scale", res.AsWritten), settle(f.id))
		} else if f.id != "color" {
			warn("qualitative_only", fmt.Sprintf("%q is no number", res.AsWritten), settle(f.id))
		}
		res.Unit, res.Basis = "", ""
	}
	if f.unit.parts != 0 && res.Value != nil {
		mg := trim(*res.Value * f.unit.parts)
		warn("unit_missing", fmt.Sprintf("the report counts in parts per 100,000, of which one is %s mg/L", trim(f.unit.parts)), analysis.Reading{Flag: "--set " + string(f.id) + "=" + mg + "mg/L", Means: mg + " mg/L"})
	}
	if f.unit.ocr && f.hasUnit {
		warn("ocr_suspect", fmt.Sprintf("the unit is damaged and was read as %s", res.Unit), settle(f.id))
	}
	if f.nameOCR {
		warn("ocr_suspect", fmt.Sprintf("the name is damaged and was read as %s", a.Name), settle(f.id))
	}
	if f.extra > 0 && r.table == nil {
		warn("ambiguous_layout", "more than one number stands behind this name and no heading tells them apart; the first was taken", settle(f.id))
	}
	return res, true
}

// measuredInDegrees tells whether degrees beside an analyte are those of a
// hardness scale.
func measuredInDegrees(id analyte.ID) bool {
	switch id {
	case "hardness", "alkalinity", "phenolphthalein_alkalinity", "carbonate_hardness", "noncarbonate_hardness":
		return true
	}
	return false
}

// settle is the way to put a doubtful value right by hand.
func settle(id analyte.ID) analysis.Reading {
	a, _ := analyte.Lookup(id)
	if a.Default == unit.Presence {
		return analysis.Reading{Flag: "--set " + string(id) + "=present", Means: "or =absent, as you know it"}
	}
	u := string(a.Default)
	if u == "none" || u == "pH" {
		u = ""
	}
	return analysis.Reading{Flag: "--set " + string(id) + "=VALUE" + u, Means: "the value as you know it"}
}

// microbe reads counts and present/absent tests. It tells whether the result
// is settled.
func (r *reader) microbe(f *finding, res *analysis.Result) bool {
	v := f.val
	if v.number() && v.op == 0 && !v.isRange {
		return false
	}
	if v.number() {
		if f.hasUnit && f.unit.unit == unit.Presence {
			res.Unit = ""
		}
		return false
	}
	if f.id == "heterotrophic_plate_count" || f.id == "iron_bacteria" && v.class&(clsPresent|clsAbsent|clsNone) == 0 {
		return false
	}
	counted := f.hasUnit && (f.unit.unit == unit.CFU100 || f.unit.unit == unit.MPN100) && len(f.limits) > 0
	switch {
	case v.class&clsOverscale != 0:
		return false
	case v.none && counted && v.class&clsAbsent == 0:
		return false
	case v.none || v.class&clsAbsent != 0 && v.class&clsPresent == 0 || v.words == "satisfactory" || v.words == "pass" || v.words == "passed" || v.words == "safe" || v.words == "ok":
		res.Value, res.Unit = analysis.Number(0), unit.Presence
		return true
	case v.class&clsPresent != 0:
		res.Value, res.Unit = analysis.Number(1), unit.Presence
		return true
	}
	return false
}

// limit settles the censoring limit of a non-detect.
func (r *reader) limit(f *finding, v value, res *analysis.Result, warn func(string, string, ...analysis.Reading)) {
	switch {
	case v.number():
		n, other, d := v.num.value(r.style)
		if math.IsNaN(n) {
			warn("ambiguous_number", "the limit is no number that can be read")
			return
		}
		if d&doubtGroup != 0 {
			r.twoNumbers(f, n, other, res.Unit, warn)
			res.Nondetect = false
			return
		}
		r.numberDoubt(f, d, n, res.Unit, warn)
		res.Limit = analysis.Number(math.Abs(n))
	case len(f.limits) > 0:
		n, _, _ := f.limits[0].num.value(r.style)
		if !math.IsNaN(n) {
			res.Limit = analysis.Number(n)
			if f.limits[0].hasUnit && !f.hasUnit {
				res.Unit = f.limits[0].unit.unit
			}
		}
	case v.ticked: // a box has no limit to give
	default:
		warn("nondetect_no_limit", "nothing was found, but the report does not say down to which limit", settle(f.id))
	}
}

// number settles a number, a range or an open end.
func (r *reader) number(f *finding, v value, res *analysis.Result, warn func(string, string, ...analysis.Reading)) {
	n, other, d := v.num.value(r.style)
	switch {
	case math.IsNaN(n):
		warn("ambiguous_number", "this is no number that can be read", settle(f.id))
		return
	case d&doubtGroup != 0:
		r.twoNumbers(f, n, other, res.Unit, warn)
		return
	}
	if r.cutOff(f) {
		warn("truncated", "the text breaks off here; the number may go on", settle(f.id))
		res.Unit = ""
		return
	}
	r.numberDoubt(f, d, n, res.Unit, warn)
	switch {
	case v.isRange:
		hi, _, d2 := v.to.value(r.style)
		if d2&doubtGroup != 0 || math.IsNaN(hi) {
			warn("ambiguous_number", "the upper end may be two numbers", settle(f.id))
			return
		}
		res.Low, res.High = analysis.Number(n), analysis.Number(hi)
		warn("range_only", fmt.Sprintf("only a range is given, %s to %s", trim(n), trim(hi)), settle(f.id))
	case v.op == '>':
		res.Low = analysis.Number(n)
		warn("over_range", fmt.Sprintf("the value is above %s; how far is not known", trim(n)), settle(f.id))
	default:
		res.Value = analysis.Number(n)
		r.extremesOf(f, res)
	}
	if n < 0 && f.id != "orp" && f.id != "temperature" && f.id != "saturation_index" {
		if f.id == "ph" {
			warn("value_implausible", "a pH below 0 is no reading of natural water", settle(f.id))
			return
		}
		warn("negative_value", "the reading is below zero; it is kept as it stands", analysis.Reading{Flag: "--drop " + string(f.id), Means: "go on without it"}, settle(f.id))
	}
}

// extremesOf gives a mean its smallest and largest value.
func (r *reader) extremesOf(f *finding, res *analysis.Result) {
	end := func(v *value) *float64 {
		if v == nil || !v.number() || v.op == '<' || v.none {
			return nil
		}
		n, _, d := v.num.value(r.style)
		if d&doubtGroup != 0 || math.IsNaN(n) {
			return nil
		}
		return analysis.Number(n)
	}
	res.Low, res.High = end(f.low), end(f.high)
}

func trim(v float64) string { return strconv.FormatFloat(v, 'g', -1, 64) }

func (r *reader) numberDoubt(f *finding, d doubt, n float64, u unit.Unit, warn func(string, string, ...analysis.Reading)) {
	if d&doubtOCR != 0 {
		warn("ocr_suspect", fmt.Sprintf("%q has letters or blanks where digits should be; it was read as %s", r.written(f), trim(n)),
			analysis.Reading{Flag: fmt.Sprintf("--set %s=%s%s", f.id, trim(n), u), Means: "the reading is right"}, settle(f.id))
	} else if d&doubtMark != 0 {
		warn("ocr_suspect", fmt.Sprintf("%q has a comma where this report writes points; it was read as %s", r.written(f), trim(n)),
			analysis.Reading{Flag: fmt.Sprintf("--set %s=%s%s", f.id, trim(n), u), Means: "the reading is right"}, settle(f.id))
	}
}

// twoNumbers withholds a number whose mark may stand before decimals or
// thousands.
func (r *reader) twoNumbers(f *finding, a, b float64, u unit.Unit, warn func(string, string, ...analysis.Reading)) {
	warn("ambiguous_number", fmt.Sprintf("%q may be %s or %s, and nothing in the report settles it", r.written(f), trim(a), trim(b)),
		analysis.Reading{Flag: fmt.Sprintf("--set %s=%s%s", f.id, trim(a), u), Means: trim(a) + " " + string(u)},
		analysis.Reading{Flag: fmt.Sprintf("--set %s=%s%s", f.id, trim(b), u), Means: trim(b) + " " + string(u)})
}

// cutOff tells whether the text breaks off behind this number: it is the last
// thing of an input without a last line end, and the rows above it had more.
func (r *reader) cutOff(f *finding) bool {
	if r.src.format != "text" && r.src.format != "csv" || f.prose {
		return false
	}
	line := r.sourceLine(f.line, f.start)
	if line != r.real-1 || strings.TrimRight(r.lines[f.line].text[f.end:], " ") != "" || f.val.hasUnit || f.id == "ph" {
		return false
	}
	more := 0
	for k := range r.found {
		g := r.found[k]
		if g.line != f.line && strings.TrimSpace(r.lines[g.line].text[g.end:]) != "" || g.line != f.line && g.val.hasUnit {
			more++
		}
	}
	return more >= 2 && 3*more >= 2*(len(r.found)-1)
}

// flags applies the qualifiers of a result: U makes it a non-detect, others
// are said.
func (r *reader) flags(f *finding, v *value, warn func(string, string, ...analysis.Reading)) {
	if f.rejected {
		warn("rejected_value", "the reviewer of the data has rejected this value", analysis.Reading{Flag: "--drop " + string(f.id), Means: "go on without it"})
	}
	if f.flags == "" {
		return
	}
	if e, ok := phrase(strings.ToLower(f.flags)); ok && len(f.flags) > 1 && e.class&(clsWords|clsUntested|clsPresent|clsAbsent) != 0 {
		return
	}
	seen := map[string]bool{}
	once := func(code, message string) {
		if !seen[code] {
			seen[code] = true
			warn(code, message)
		}
	}
	apply := func(flag string, m class) {
		switch {
		case m == flagNone:
			if v.op == 0 && v.number() && !v.isRange {
				v.op = '<'
			}
		case m == flagEstimated:
			once("estimated_value", "flag "+flag+": the value is estimated")
		case m == flagBlank:
			once("blank_contamination", "flag "+flag+": the substance was also in the laboratory's blank")
		case m == flagHold:
			once("holding_time", "flag "+flag+": the sample was kept too long before it was measured")
		case m == flagReject:
			once("rejected_value", "flag "+flag+": the value was rejected")
		}
	}
	if m, ok := r.legend[f.flags]; ok {
		apply(f.flags, m)
		return
	}
	for _, c := range f.flags {
		m, ok := r.legend[string(c)]
		if !ok {
			m = customFlag[c]
		}
		apply(string(c), m)
	}
}

// customFlag is what the trade's usual letters mean when no legend says so
// (common practice of US contract laboratories, no source).
var customFlag = map[rune]class{'U': flagNone, 'J': flagEstimated, 'E': flagEstimated, 'B': flagBlank, 'H': flagHold, 'R': flagReject, '<': flagNone}

// isoDate turns a label that is a date into 2024-06-05; empty if it is none.
func isoDate(s string) string {
	f := strings.FieldsFunc(s, func(c rune) bool { return c == '-' || c == ' ' || c == '/' || c == '.' || c == ',' })
	if len(f) != 3 {
		return ""
	}
	month := func(w string) int {
		w = analyte.Fold(w)
		for k, m := range []string{"jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec"} {
			if strings.HasPrefix(w, m) {
				return k + 1
			}
		}
		return 0
	}
	num := func(w string) int { n, _ := strconv.Atoi(w); return n }
	y, m, d := 0, 0, 0
	switch {
	case year(f[0]) && num(f[1]) > 0:
		y, m, d = num(f[0]), num(f[1]), num(f[2])
	case month(f[1]) > 0 && year(f[2]):
		y, m, d = num(f[2]), month(f[1]), num(f[0])
	case month(f[0]) > 0 && year(f[2]):
		y, m, d = num(f[2]), month(f[0]), num(f[1])
	}
	if y == 0 || m < 1 || m > 12 || d < 1 || d > 31 {
		return ""
	}
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d)
}
