package labreport

import (
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// context is what headings and legends say about the rows below them.
type context struct {
	unit     stated
	hasUnit  bool
	section  bool // the unit is that of a section and ends with it
	fraction analysis.Fraction
	basis    analyte.Basis // of everything
	but      map[analyte.ID]analyte.Basis
	units    map[analyte.ID]stated // those that a legend names ("hardness in grains, iron in ppm") or excepts
	blank    bool
}

// unitFor returns the unit that a legend states for an analyte.
func (c *context) unitFor(id analyte.ID) (stated, bool) {
	if u, ok := c.units[id]; ok {
		return u, u.measures(id)
	}
	return c.unit, c.hasUnit && c.unit.measures(id) && concentration(id)
}

// basisFor returns the basis that a legend states for an analyte.
func (c *context) basisFor(id analyte.ID, name string) analyte.Basis {
	if b, ok := c.but[id]; ok {
		return b
	}
	if id == "bicarbonate" || id == "carbonate" || id == "hydroxide" {
		if b, ok := c.but["alkalinity"]; ok && strings.Contains(analyte.Fold(name), "alk") {
			return b
		}
	}
	if c.basis == "CaCO3" {
		switch id {
		case "ph", "conductivity", "turbidity", "color", "temperature", "tds", "iron", "manganese", "silica", "carbon_dioxide", "toc", "suspended_solids", "free_chlorine", "total_chlorine", "combined_chlorine", "hydrogen_sulfide", "dissolved_oxygen", "tannin":
			return ""
		}
		if a, ok := analyte.Lookup(id); ok && (a.Kind == analyte.Ion || a.Kind == analyte.Lumped) {
			return c.basis
		}
		return ""
	}
	if c.basis != "" {
		if a, ok := analyte.Lookup(id); ok {
			if _, ok := a.Bases[c.basis]; ok {
				return c.basis
			}
		}
	}
	return ""
}

// concentration tells whether an analyte is given as mass or amount a litre.
func concentration(id analyte.ID) bool {
	a, ok := analyte.Lookup(id)
	if !ok {
		return false
	}
	switch a.Kind {
	case analyte.Ion, analyte.Neutral, analyte.Element, analyte.Lumped:
		return true
	}
	return false
}

// compatible tells whether a unit can measure an analyte.
func compatible(id analyte.ID, u unit.Unit) bool {
	hard := id == "hardness" || id == "alkalinity" || id == "carbonate_hardness" || id == "noncarbonate_hardness" || id == "phenolphthalein_alkalinity" || id == "calcium" || id == "magnesium" || id == "base_capacity" || id == "bicarbonate"
	switch u {
	case unit.MgL, unit.UgL, unit.NgL, unit.GL:
		return concentration(id) || id == "uranium" || id == "color" && u == unit.MgL
	case unit.MeqL, unit.MmolL:
		return concentration(id)
	case unit.GrainsUS, unit.GrainsUK, unit.DegGerman, unit.DegFrench:
		return hard || id == "chloride" || id == "sulfate" || id == "iron" || id == "tds"
	case unit.USCm, unit.MSCm, unit.MSM:
		return id == "conductivity" || id == "tds"
	case unit.PH:
		return id == "ph"
	case unit.NTU, unit.FNU:
		return id == "turbidity"
	case unit.ColorUnits, unit.PerMetre:
		return id == "color"
	case unit.DegC, unit.DegF:
		return id == "temperature"
	case unit.Millivolt:
		return id == "orp"
	case unit.CFU100, unit.MPN100, unit.CFU1, unit.Presence:
		a, _ := analyte.Lookup(id)
		return a.Kind == analyte.Microbe
	case unit.PicocurieL, unit.BecquerelL:
		return id == "radon" || id == "radium" || id == "uranium"
	case unit.OdourNumber:
		return id == "odor" || id == "taste"
	case unit.Percent:
		return id == "dissolved_oxygen"
	case unit.Ratio:
		return id == "sar" || id == "saturation_index"
	}
	return false
}

// explain takes up what a line without results says about the others: a
// legend of units, a section, the name of a sample, the meaning of flags.
func (r *reader) explain(i int) bool {
	items := r.items[i]
	used := r.flagLegend(i)
	used = r.isSampleLine(i) || used
	l := &r.lines[i]
	prose := r.looksProse(i)
	c := r.lineClass(i)
	// units, up to the word that announces those of the limits
	var u stated
	has, depth := false, 0
	as := analyte.Basis("")
	cut := len(items)
	for k := range items {
		if items[k].class&clsLimit != 0 && items[k].kind == itWord && k > 0 && items[k].fold != "standard" {
			cut = k
			break
		}
	}
	several := unitsIn(items[:cut]) > 1
	for k := 0; k < cut; k++ {
		switch it := &items[k]; it.kind {
		case itUnit:
			if several && r.namedUnit(items, k) {
				used = true
				continue
			}
			if _, grains := it.unit.unit.CaCO3(); (!has || depth > 0 && it.depth == 0) && !it.unit.area && (concentrationUnit(it.unit.unit) || grains || it.unit.parts != 0) {
				u, has, depth = it.unit, true, it.depth
			}
		case itBasis:
			as = r.legendBasis(l, items, k)
		}
	}
	legend := c&clsLegend != 0 || has && startsWithUnit(items)
	values := 0
	for k := range items {
		if items[k].kind == itValue && items[k].val.number() && !items[k].val.counts {
			values++
		}
	}
	if (values > 0 || unread(items)) && !legend {
		return used
	}
	if has && legend {
		r.exceptions(items)
	}
	if has && r.loneUnit(i) && i > 0 && r.loneUnit(i-1) { // the headings of columns, copied one a line
		r.ctx.hasUnit = false
		return used
	}
	if has && (legend || !prose) {
		r.ctx.unit, r.ctx.hasUnit, r.ctx.section = u, true, c&clsLegend == 0
		if as == "" && u.basis != "" {
			as = u.basis
		}
		used = true
	}
	if as != "" && (has || legend) {
		r.ctx.basis = as
		used = true
	}
	if !prose && l.cells <= 3 && !r.isKeyLine(i) || has {
		if r.sectionFraction(i, c) {
			used = true
		}
		if !has && r.ctx.section && r.isSection(i) {
			r.ctx.hasUnit = false
		}
		if r.isSection(i) {
			used = true
		}
	}
	return used
}

// exceptions learns the units of the names behind "except": "mg/L, except
// metals (Fe, Mn) in ug/L". "Metals" are all elements.
func (r *reader) exceptions(items []item) {
	var ids []analyte.ID
	metals, after := false, false
	for k := range items {
		it := &items[k]
		switch {
		case it.kind == itWord && strings.HasPrefix(it.fold, "except"), it.fold == "but", it.fold == "ausser":
			after = true
		case !after:
		case it.kind == itName && it.name.ID != "":
			ids = append(ids, it.name.ID)
		case it.fold == "metals", it.fold == "trace metals":
			metals = true
		case it.kind == itUnit && !it.unit.area:
			if metals && len(ids) == 0 {
				ids = traceMetals
			}
			if r.ctx.units == nil {
				r.ctx.units = map[analyte.ID]stated{}
			}
			for _, id := range ids {
				r.ctx.units[id] = it.unit
			}
			ids, metals = nil, false
		}
	}
}

// traceMetals are what a legend means by metals.
var traceMetals = []analyte.ID{"iron", "manganese", "arsenic", "lead", "copper", "zinc", "aluminum", "barium", "uranium", "boron", "antimony", "beryllium", "cadmium", "chromium", "cobalt", "mercury", "molybdenum", "nickel", "selenium", "silver", "strontium", "thallium", "vanadium", "lithium"}

// loneUnit tells whether a line holds a unit and nothing else.
func (r *reader) loneUnit(i int) bool {
	return len(r.items[i]) == 1 && r.items[i][0].kind == itUnit
}

func unitsIn(items []item) int {
	n := 0
	for k := range items {
		if items[k].kind == itUnit {
			n++
		}
	}
	return n
}

// namedUnit gives the unit at item k to the names before it in the same
// clause, if they are followed by "in" ("hardness in grains per gallon"). It
// tells whether there were any.
func (r *reader) namedUnit(items []item, k int) bool {
	if k == 0 || items[k-1].fold != "in" && items[k-1].class&clsLegend == 0 {
		return false
	}
	named := false
	for j := k - 1; j >= 0; j-- {
		it := &items[j]
		if it.kind == itUnit || it.kind == itPunct && (it.fold == "." || it.fold == ";") {
			break
		}
		if it.kind == itName && it.name.ID != "" {
			if r.ctx.units == nil {
				r.ctx.units = map[analyte.ID]stated{}
			}
			r.ctx.units[it.name.ID] = items[k].unit
			named = true
		}
	}
	return named
}

// unread tells whether a line names an analyte and holds a code: a row whose
// number could not be read.
func unread(items []item) bool {
	name, code := false, false
	for k := range items {
		name = name || items[k].kind == itName && items[k].name.ID != ""
		code = code || items[k].kind == itCode && name && items[k].depth == 0
	}
	return code
}

func startsWithUnit(items []item) bool {
	for k := range items {
		if items[k].kind == itUnit {
			return k <= 1
		}
	}
	return false
}

func concentrationUnit(u unit.Unit) bool {
	switch u {
	case unit.MgL, unit.UgL, unit.NgL, unit.GL, unit.MeqL, unit.MmolL:
		return true
	}
	return false
}

// legendBasis gives the basis at item k to the names before it in the same
// sentence ("Hardness and alkalinity as CaCO3"); it returns the basis when no
// name stands there: it is that of everything.
func (r *reader) legendBasis(l *line, items []item, k int) analyte.Basis {
	named := false
	for j := k - 1; j >= 0; j-- {
		it := &items[j]
		if it.kind == itPunct && (it.fold == "." || it.fold == ";") || it.kind == itBasis {
			break
		}
		if it.kind == itName && it.name.ID != "" {
			if r.ctx.but == nil {
				r.ctx.but = map[analyte.ID]analyte.Basis{}
			}
			r.ctx.but[it.name.ID] = items[k].basis
			for t := it.t0 + 1; t < it.t1 && j+1 < len(items) && (items[j+1].fold == "and" || items[j+1].fold == ","); t++ { // "hardness, Ca, Mg and alkalinity"
				if sym, ok := analyte.Symbol(l.text[l.toks[t].start:l.toks[t].end]); ok {
					r.ctx.but[sym.ID] = items[k].basis
				}
			}
			named = true
		}
	}
	if named || items[k].basis == "" || k > 0 && items[k-1].fold == "except" {
		return ""
	}
	for j := k - 1; j >= 0; j-- {
		if items[j].fold == "except" {
			return ""
		}
	}
	return items[k].basis
}

// isSection tells whether a line is the head of a section: a few words and no
// value.
func (r *reader) isSection(i int) bool {
	words := 0
	for k := range r.items[i] {
		switch it := &r.items[i][k]; it.kind {
		case itWord, itName:
			words += it.t1 - it.t0
		case itValue:
			if it.val.number() {
				return false
			}
			words++
		}
	}
	return words > 0 && words <= 7
}

// sectionFraction takes up "METALS, TOTAL" and "dissolved metals by ICP-MS".
func (r *reader) sectionFraction(i int, c class) bool {
	text := analyte.Fold(r.lines[i].text)
	metals := hasWord(text, []string{"metal", "elements", "cations", "kationen", "metaux"})
	metals = metals || strings.Contains(text, "0.45") || strings.Contains(text, "(filtered") || strings.Contains(text, "field filtered") || strings.Contains(text, "lab filtered")
	tot := strings.Contains(text, "total") || c&clsTotal != 0 && metals || strings.Contains(text, "unfiltered")
	dis := strings.Contains(text, "dissolved") || strings.Contains(text, "filtered") && !strings.Contains(text, "unfiltered") || strings.Contains(text, "gelost") || strings.Contains(text, "dissous")
	switch {
	case metals && dis && !tot:
		r.ctx.fraction = analysis.Dissolved
		return true
	case metals && tot && !dis:
		r.ctx.fraction = analysis.Total
		return true
	case r.isSection(i) && r.ctx.fraction != "":
		r.ctx.fraction = ""
		return true
	}
	return false
}

// headingContext ends what a section said when a new table begins.
func (r *reader) headingContext(i int, t *table) {
	if t.has(roleUnit) && r.ctx.section {
		r.ctx.hasUnit = false
	}
	for k := range t.cols {
		if t.cols[k].role == roleName && t.cols[k].hasUnit && concentrationUnit(t.cols[k].unit.unit) {
			r.ctx.unit, r.ctx.hasUnit, r.ctx.section = t.cols[k].unit, true, true
		}
	}
}

// isFlagLegend tells whether a line only explains flags: a short mark, then
// words without a number.
func (r *reader) isFlagLegend(i int) bool {
	items := r.items[i]
	k := 0
	if items[0].kind == itWord && items[0].role == roleFlag {
		for k++; k < len(items) && items[k].kind == itPunct; k++ {
		}
	}
	if k+1 >= len(items) || items[k].end-items[k].start > 3 || items[k].kind == itValue && items[k].val.number() {
		return false
	}
	for j := k + 1; j < len(items); j++ {
		if items[j].kind == itValue && items[j].val.number() && !items[j].val.counts {
			return false
		}
	}
	return items[len(items)-1].t1-items[k].t0 >= 4 && r.flagLegend(i)
}

// flagLegend learns what flags mean here: "J  estimated", "a = mg/L".
func (r *reader) flagLegend(i int) bool {
	l := &r.lines[i]
	items := r.items[i]
	used := false
	for k := 0; k+1 < len(items); k++ {
		it := &items[k]
		w := l.text[it.start:it.end]
		if len(w) > 3 || k > 0 && items[k-1].kind != itPunct && items[k-1].cell == it.cell || it.kind == itValue && it.val.number() && len(w) > 1 {
			continue
		}
		j := k + 1
		sep := items[j].cell > it.cell
		if r.footMark(l, items, k) {
			used = true
			continue
		}
		for j < len(items) && (items[j].kind == itPunct && (items[j].fold == "=" || items[j].fold == ":" || items[j].fold == ")") || items[j].kind == itDash) {
			sep = true
			j++
		}
		if !sep || j >= len(items) {
			continue
		}
		if items[j].kind == itUnit && (j+1 == len(items) || items[j+1].kind == itPunct || items[j+1].cell > items[j].cell || items[j+1].fold == "at" || items[j+1].fold == "and") && (items[k+1].fold == "=" || items[k+1].fold == ":" || items[k+1].fold == ")" || items[k+1].kind == itDash) && it.kind != itName && strings.ToUpper(w) != "PH" {
			if r.footUnits == nil {
				r.footUnits = map[string]stated{}
			}
			r.footUnits[w] = items[j].unit
			used = true
			continue
		}
		end := j
		for end < len(items) && (items[end].kind != itPunct || items[end].fold != ";") && end-j < 12 && (items[end].cell <= items[j].cell) {
			end++
		}
		defined := items[j-1].fold == "=" || items[j-1].fold == ":" // then one word says enough: "J = estimated"
		if items[end-1].t1-items[j].t0 < 2 && !defined {
			continue
		}
		m := meaning(analyte.Fold(l.text[items[j].start:items[end-1].end]))
		if m != 0 {
			if r.legend == nil {
				r.legend = map[string]class{}
			}
			r.legend[w] = m
			used = true
		}
	}
	return used
}

// footMark learns a mark that a cell explains as a unit or a basis and nothing
// else: "b micrograms per liter", "c as nitrogen".
func (r *reader) footMark(l *line, items []item, k int) bool {
	it := &items[k]
	w := l.text[it.start:it.end]
	if len(w) != 1 || w[0] < 'a' || w[0] > 'z' || items[k+1].cell != it.cell {
		return false
	}
	if k > 0 && items[k-1].cell == it.cell && items[k-1].kind != itUnit && items[k-1].kind != itBasis {
		return false
	}
	end := k + 2
	if items[k+1].kind == itUnit {
		for end < len(items) && items[end].cell == it.cell && end < k+6 && (items[end].kind == itCode || items[end].kind == itWord || items[end].kind == itUnit || items[end].kind == itValue) {
			end++ // "at 25 C"
		}
	}
	if end < len(items) && items[end].cell == it.cell && items[end].end-items[end].start != 1 {
		return false
	}
	switch n := &items[k+1]; {
	case n.kind == itUnit:
		if r.footUnits == nil {
			r.footUnits = map[string]stated{}
		}
		r.footUnits[w] = n.unit
	case n.kind == itBasis && n.as:
		if r.footBases == nil {
			r.footBases = map[string]analyte.Basis{}
		}
		r.footBases[w] = n.basis
	default:
		return false
	}
	return true
}

// What flags may mean, as classes of their own.
const (
	flagEstimated class = 1 << iota
	flagBlank
	flagHold
	flagReject
	flagNone
	flagOther
)

// meaning understands the sentence that explains a flag.
func meaning(s string) class {
	has := func(words ...string) bool {
		for _, w := range words {
			if strings.Contains(s, w) {
				return true
			}
		}
		return false
	}
	switch {
	case has("reject", "unusable", "invalid"):
		return flagReject
	case has("blank"):
		return flagBlank
	case has("hold"):
		return flagHold
	case has("estimat", "below quantitation", "between the", "calibration range", "above range", "approximate"):
		return flagEstimated
	case has("not detected", "undetected", "below the reporting", "less than", "below detection", "true value is lower", "is lower than", "nondetect", "not found", "below the detection", "below the limit", "below limit"):
		return flagNone
	case has("dilut", "spike", "duplicate", "recover", "exceed", "above", "subcontract", "accredit", "limit", "precision", "rpd", "method", "analy", "matrix", "confirmed"):
		return flagOther
	}
	return 0
}
