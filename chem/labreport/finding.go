package labreport

import (
	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// finding is one result before numbers and doubts are settled.
type finding struct {
	id          analyte.ID
	fraction    analysis.Fraction
	val         value
	unit        stated // as stated nearest to the value
	hasUnit     bool
	fromContext bool // the unit is that of a section or legend
	basis       analyte.Basis
	line        int // index into the reader's lines
	start       int // bytes of the value as written
	end         int
	flags       string
	limits      []value // reporting limit, then detection limit, on the same row
	low         *value  // extremes beside an average
	high        *value
	block       int // number of the block of lines it was read in
	water       string
	column      int // column of several waters; -1 for none
	prelim      bool
	final       bool
	rejected    bool
	prose       bool
	ditto       bool
	doubts      []analysis.Warning
	withhold    bool // the number is not to be trusted: give the doubt only
	nameOCR     bool // the name is damaged
	note        string
	extra       int // further numbers on the row that nothing explains
	nameText    string
	foreign     string // the formula it is expressed as, when that is no basis that is known
}

// named is the name of an analyte with all that stands with it.
type named struct {
	id       analyte.ID
	basis    analyte.Basis
	fraction analysis.Fraction
	unit     stated
	hasUnit  bool
	first    int // items of the name
	next     int // first item behind it
	end      int // byte behind it
	x        int
	cell     int // last cell of the name
	symbol   bool
	limited  bool // a word for a limit stands in it
	scale    unit.Unit
	swallow  bool // "Säurekapazität bis pH": a number belongs to the name
	before   int  // items before the name
	text     string
	damaged  bool
	foreign  string // the formula it is expressed as, when that is no basis that is known
	open     bool   // the name ends in the middle: "Nitrate +"
}

// nameAt reads the name that begins at item k, with fraction, basis and unit
// as far as they stand in the same cell or in brackets behind it.
func (r *reader) nameAt(items []item, k int, l *line) named {
	nm := r.scanName(items, k, l)
	nm.text = l.text[items[k].start:nm.end]
	if last := &items[nm.next-1]; last.kind == itPunct && (last.fold == "+" || last.fold == "&") {
		nm.open = true
	}
	return nm
}

func (r *reader) scanName(items []item, k int, l *line) named {
	it := &items[k]
	nm := named{id: it.name.ID, basis: it.name.Basis, first: k, next: k + 1, end: it.end, x: it.x, cell: it.cell, symbol: it.symbol, damaged: it.damaged}
	if it.name.Dissolved {
		nm.fraction = analysis.Dissolved
	} else if it.name.Total {
		nm.fraction = analysis.Total
	}
	if nm.fraction == analysis.NotStated {
		switch {
		case it.class&clsDissolved != 0 && it.class&clsTotal == 0:
			nm.fraction = analysis.Dissolved
		}
	}
	if k > 0 && items[k-1].cell == it.cell && items[k-1].kind == itWord {
		nm.setFraction(items[k-1].class)
	}
	nm.swallow = nm.id != "ph" && endsInPH(l, it)
	if nm.basis == "" && !it.symbol && it.t1-it.t0 > 1 {
		nm.basis = r.basisInside(l, it)
	}
	open := 0
	for j := k + 1; j < len(items); j++ {
		x := &items[j]
		if x.cell != nm.cell && open == 0 && !(x.kind == itName && x.name.ID == nm.id && nm.symbol && x.cell == nm.cell+1) && !(x.kind == itName && nm.symbol && x.cell == nm.cell+1 && related(nm.id, x.name.ID)) {
			break
		}
		if x.cell > nm.cell+1 {
			break
		}
		switch x.kind {
		case itPunct:
			switch x.fold {
			case "(", "[":
				open++
			case ")", "]":
				open = max(0, open-1)
			case ":", "=":
				if open == 0 {
					nm.take(x, j)
					continue
				}
			case ".", ";":
				if open == 0 && x.fold == ";" {
					return nm
				}
			}
			nm.take(x, j)
		case itName:
			if items[j-1].kind == itWord && (items[j-1].fold == "from" || items[j-1].fold == "by" || items[j-1].fold == "via") && x.cell == items[j-1].cell {
				nm.take(x, j) // "TDS from EC"
				continue
			}
			if !nm.sameSubstance(x, open) {
				if x.symbol && x.name.ID == "bicarbonate" && nm.id == "alkalinity" && nm.basis == "" {
					nm.basis = x.basis
				}
				if open > 0 || x.symbol && (nm.id != "" && formulaOf(nm.id, x)) {
					nm.take(x, j)
					continue
				}
				return nm
			}
			nm.take(x, j)
		case itBasis:
			if x.foreign {
				nm.foreign = x.formula
			} else if nm.basis == "" || x.as {
				nm.basis = x.basis
			}
			nm.take(x, j)
		case itUnit:
			if letter := x.end-x.start == 1 && !compatible(nm.id, x.unit.unit); !nm.hasUnit && !letter { // "Fluoride (F)"
				nm.unit, nm.hasUnit = x.unit, true
			}
			nm.take(x, j)
		case itValue:
			v := x.val
			if x.class&(clsTotal|clsDissolved) != 0 && !v.number() && v.words != "t" && v.words != "d" {
				nm.setFraction(x.class)
				nm.take(x, j)
				continue
			}
			if nm.swallow && v.number() {
				nm.swallow = false
				if v.hasUnit && !nm.hasUnit {
					nm.unit, nm.hasUnit = v.unit, true
				}
				nm.take(x, j)
				continue
			}
			if open > 0 || nm.isCondition(v) || isConditionWord(items, j) && open == 0 && v.number() && nm.isCondition(v) {
				if r.parenValue(items, j, nm) {
					return nm
				}
				nm.take(x, j)
				continue
			}
			return nm
		case itDash:
			if j+1 < len(items) && items[j+1].cell != x.cell && x.x-items[j-1].xe > 1 {
				return nm
			}
			nm.take(x, j)
		case itDitto:
			return nm
		default:
			w := l.text[x.start:x.end]
			if open > 0 && isForeignBasis(w) { // "Magnesium (MgO)"
				nm.foreign = w
			}
			if id, ok := valences[nm.id][w]; ok && open > 0 {
				nm.id = id
			}
			if x.class&(clsTotal|clsDissolved) != 0 {
				nm.setFraction(x.class)
			}
			if x.class&clsLimit != 0 && open == 0 && x.class&(clsTotal|clsDissolved) == 0 {
				nm.limited = true
			}
			if u := scaleOf(x.fold); u != "" {
				nm.scale = u
			}
			nm.take(x, j)
		}
	}
	return nm
}

func (nm *named) take(x *item, j int) {
	nm.next = j + 1
	nm.end = x.end
	nm.cell = x.cell
}

func (nm *named) setFraction(c class) {
	switch {
	case c&clsDissolved != 0 && nm.fraction != analysis.Total:
		nm.fraction = analysis.Dissolved
	case c&clsTotal != 0 && c&clsDissolved == 0 && nm.fraction == analysis.NotStated:
		nm.fraction = analysis.Total
	}
}

// valences are what the numeral of a valence behind a name makes of it; "" is
// a species that the tool does not use.
var valences = map[analyte.ID]map[string]analyte.ID{
	"iron":     {"II": "ferrous_iron", "III": "ferric_iron"},
	"arsenic":  {"III": "", "V": ""},
	"chromium": {"III": "", "VI": ""},
}

// isCondition tells whether a number behind a name is a condition of the test
// ("at 25 °C"), not its result.
func (nm *named) isCondition(v *value) bool {
	if !v.number() || !v.hasUnit {
		return false
	}
	u := v.unit.unit
	switch nm.id {
	case "hardness", "alkalinity", "carbonate_hardness", "noncarbonate_hardness", "phenolphthalein_alkalinity":
		return u == unit.DegC // "18 °F" are French degrees
	}
	return (u == unit.DegC || u == unit.DegF || u == unit.DegFrench && nm.id == "conductivity") && nm.id != "temperature"
}

func isConditionWord(items []item, j int) bool {
	if j == 0 {
		return false
	}
	switch items[j-1].fold {
	case "at", "bei", "@", "vid", "bij", "ved", "a", "w", "(", "to":
		return true
	}
	return false
}

// sameSubstance takes up a second name for the same analyte: its symbol in
// brackets, or the name behind the symbol.
func (nm *named) sameSubstance(x *item, open int) bool {
	if x.name.ID == "" {
		return false
	}
	if x.name.ID == nm.id || related(nm.id, x.name.ID) {
		switch {
		case x.name.Basis != "" && !(nm.basis != "" && !x.symbol):
			nm.basis = x.name.Basis
		case x.symbol && nm.basis == "" && x.basis != "" && !nm.symbol:
			nm.basis = x.basis
		}
		if x.name.ID == "ferrous_iron" && nm.id == "iron" && open > 0 {
			nm.id = x.name.ID
		} else if x.name.ID == "ferric_iron" && nm.id == "ferrous_iron" && open > 0 {
			nm.id = "iron"
		} else if nm.symbol && !x.symbol && nm.id != x.name.ID {
			nm.id = x.name.ID
		}
		if x.name.Dissolved {
			nm.fraction = analysis.Dissolved
		} else if x.name.Total && nm.fraction == analysis.NotStated {
			nm.fraction = analysis.Total
		}
		if nm.fraction == analysis.NotStated && x.class&clsDissolved != 0 {
			nm.fraction = analysis.Dissolved
		}
		nm.symbol = nm.symbol && x.symbol
		return true
	}
	// "Nitrate + nitrite (as NO3 + NO2)", "Ammonia (NH3(N))"
	return x.symbol && nm.id == "nitrate_nitrite" && (x.name.ID == "nitrate" || x.name.ID == "nitrite")
}

// related tells whether the symbol of one analyte stands for the other too.
func related(a, b analyte.ID) bool {
	pair := func(x, y analyte.ID) bool { return a == x && b == y || a == y && b == x }
	return pair("iron", "ferrous_iron") || pair("iron", "ferric_iron") || pair("ferrous_iron", "ferric_iron") || pair("phosphate", "phosphorus") ||
		pair("free_chlorine", "total_chlorine") || pair("combined_chlorine", "total_chlorine") || pair("combined_chlorine", "free_chlorine")
}

// formulaOf tells whether a symbol behind a name only repeats what the name
// says, or names its basis ("Alkalinity, HCO3", "Total hardness (Ca + Mg)").
func formulaOf(id analyte.ID, x *item) bool {
	switch id {
	case "hardness", "alkalinity", "carbonate_hardness", "noncarbonate_hardness":
		switch x.name.ID {
		case "calcium", "magnesium", "bicarbonate", "carbonate":
			return x.depth > 0 || x.name.ID == "bicarbonate"
		}
	case "nitrate_nitrite", "ammonium", "oxidizability", "tds", "toc", "tannin", "phenolphthalein_alkalinity", "radium":
		return x.depth > 0
	}
	return false
}

// basisInside finds the ion named inside a spelling of several words, such as
// "nitrate no3", when the table of spellings says nothing about it.
func (r *reader) basisInside(l *line, it *item) analyte.Basis {
	for t := it.t0 + 1; t < it.t1; t++ {
		if l.toks[t].kind != tokWord {
			continue
		}
		switch it.name.ID {
		case "alkalinity", "hardness", "bicarbonate":
			if l.toks[t].fold == "caco3" {
				return "CaCO3"
			}
		}
	}
	return ""
}

func endsInPH(l *line, it *item) bool {
	last := &l.toks[it.t1-1]
	return last.kind == tokWord && last.fold == "ph" && it.t1-it.t0 > 1
}

// parenValue tells whether a bracketed number right behind a name is its value
// after all: "Iron (0.3 mg/L)" with nothing else on the line.
func (r *reader) parenValue(items []item, j int, nm named) bool {
	v := items[j].val
	if !v.hasUnit || nm.isCondition(v) || !v.number() || v.counts {
		return false
	}
	for k := j + 1; k < len(items); k++ {
		if items[k].kind == itValue {
			return false
		}
	}
	for k := nm.first; k < j; k++ {
		if items[k].class&clsLimit != 0 {
			return false
		}
	}
	return true
}
