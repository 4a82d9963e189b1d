package labreport

import (
	"cmp"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// nameCell is what the name of an analyte in a machine table says, as the
// heading of a column or as the cell of a row: "Iron, total (ug/L)",
// "Calcium, wf [mg/L] (00915)", "NO3_mg_l", "Alkalinity, Total (as CaCO3)".
type nameCell struct {
	analyte.Coded
	unit    unit.Unit
	basis   analyte.Basis // stated by the unit or by "as", which outrank the name
	unitBad string        // what stands in the place of a unit and is none
	as      string        // the word behind "as", where units stand behind it
	foreign string        // the formula it is expressed as, when that is no basis that is known
}

// beside are words that may stand beside a name without being part of it.
var beside = map[string]func(*nameCell){
	"total":       func(h *nameCell) { h.Total = true },
	"totals":      func(h *nameCell) { h.Total = true },
	"tot":         func(h *nameCell) { h.Total = true },
	"unfiltered":  func(h *nameCell) { h.Total = true },
	"recoverable": func(h *nameCell) { h.Total = true },
	"wu":          func(h *nameCell) { h.Total = true }, // water, unfiltered
	"dissolved":   func(h *nameCell) { h.Dissolved = true },
	"diss":        func(h *nameCell) { h.Dissolved = true },
	"filtered":    func(h *nameCell) { h.Dissolved = true },
	"wf":          func(h *nameCell) { h.Dissolved = true }, // water, filtered
	"field":       func(h *nameCell) { h.Note = "measured in the field" },
	"lab":         func(h *nameCell) { h.Note = "measured in the laboratory" },
	"laboratory":  func(h *nameCell) { h.Note = "measured in the laboratory" },
	"gel":         func(h *nameCell) { h.Dissolved = true },
	"gelöst":      func(h *nameCell) { h.Dissolved = true },
	"dis":         func(h *nameCell) { h.Dissolved = true },
	"filt":        func(h *nameCell) { h.Dissolved = true },
	"ges":         func(h *nameCell) { h.Total = true },
	"gesamt":      func(h *nameCell) { h.Total = true },
	"unfilt":      func(h *nameCell) { h.Total = true },
	"fld":         func(h *nameCell) { h.Note = noteField },
	"t":           func(h *nameCell) { h.Total = true },
	"d":           func(h *nameCell) { h.Dissolved = true },
	"water":       func(*nameCell) {},
	"conc":        func(*nameCell) {},
	"probe":       func(*nameCell) {},
	"sensor":      func(*nameCell) {},
	"meter":       func(*nameCell) {},
}

// readName reads a name. It fails when the words that are left beside
// units, bases and the words above name no analyte: half a name is none.
func readName(s string) (nameCell, bool) {
	if h, ok := readParts(s); ok {
		return h, true
	}
	return readPhrase(s)
}

// readPhrase reads a name as the reader of layouts does: a spelling with its
// fraction, unit and basis behind it, and nothing else in the cell.
func readPhrase(s string) (nameCell, bool) {
	l := lex(row{text: s})
	items := itemize(&l)
	k := 0
	for k < len(items) && items[k].kind == itWord && items[k].class&(clsTotal|clsDissolved) != 0 {
		k++
	}
	if k == len(items) || items[k].kind != itName || items[k].name.ID == "" || items[k].symbol {
		return nameCell{}, false
	}
	nm := new(reader).nameAt(items, k, &l)
	if nm.next != len(items) || nm.limited {
		return nameCell{}, false
	}
	for _, it := range items[k+1:] {
		if it.kind == itWord && it.class&(clsTotal|clsDissolved) == 0 || it.kind == itValue || it.kind == itCode {
			return nameCell{}, false // half a name is none
		}
	}
	var h nameCell
	h.Naming = items[k].name
	h.ID = nm.id
	h.Total, h.Dissolved = nm.fraction == analysis.Total, nm.fraction == analysis.Dissolved
	h.basis = ownBasis(nm.id, nm.basis)
	h.foreign = cmp.Or(nm.foreign, nm.unit.foreign)
	if nm.hasUnit {
		h.unit = nm.unit.unit
		if nm.unit.basis != "" {
			h.basis = ownBasis(nm.id, nm.unit.basis)
		}
	}
	return h, true
}

func readParts(s string) (nameCell, bool) {
	core, brackets := takeBrackets(s)
	var h nameCell
	for _, b := range brackets {
		if c, ok := analyte.ByParameterCode(b); ok {
			h.Coded = c
		}
	}
	rest, as := cutAs(core)
	if k := strings.LastIndexByte(rest, ' '); k > 0 && slices.Contains(solidUnits, strings.ToLower(rest[k+1:])) {
		if h.name(rest[:k]) {
			if _, fits := parseUnit(rest[k+1:], analyte.Must(h.ID)); !fits {
				h.unitBad = rest[k+1:]
				return h, true
			}
		}
		h = nameCell{}
	}
	if h.ID == "" && !h.name(rest) {
		return nameCell{}, false
	}
	for _, b := range brackets {
		if id, ok := valences[h.ID][b]; ok {
			h.ID = id
		}
	}
	if h.ID == "" {
		return nameCell{}, false
	}
	a := analyte.Must(h.ID)
	if as = cmp.Or(as, h.as); as != "" {
		b, ok := cellBasis(as, a)
		if !ok && h.as != "" {
			b, ok = foldedBasis(as, a)
		}
		if !ok {
			return nameCell{}, false
		}
		h.basis = b
	}
	for _, b := range brackets {
		h.bracket(b, a)
	}
	if h.unit == unit.None {
		h.unit = trailingUnit(core, a)
	}
	if h.basis == "" {
		h.basis, _ = cellBasis(string(h.Basis), a)
	}
	return h, true
}

// foldedBasis finds a basis of an analyte that is written without capitals, as
// in a heading spelt with underscores.
func foldedBasis(word string, a analyte.Analyte) (analyte.Basis, bool) {
	for b := range a.Bases {
		if strings.EqualFold(string(b), word) {
			return ownBasis(a.ID, b), true
		}
	}
	return "", strings.EqualFold(word, a.Formula) || strings.EqualFold(word, a.Symbol)
}

// takeBrackets splits a heading into the text outside round and square
// brackets and the contents of each pair.
func takeBrackets(s string) (outside string, inside []string) {
	for {
		i := strings.IndexAny(s, "([")
		if i < 0 {
			return outside + s, inside
		}
		closing := ")"
		if s[i] == '[' {
			closing = "]"
		}
		n := strings.Index(s[i:], closing)
		if n < 0 {
			return outside + s, inside
		}
		outside += s[:i] + " "
		inside = append(inside, strings.TrimSpace(s[i+1:i+n]))
		s = s[i+n+1:]
	}
}

// cutAs takes a basis off the end of a name: "Nitrate as N".
func cutAs(s string) (rest, basis string) {
	words := strings.Fields(s)
	if n := len(words); n >= 3 && strings.EqualFold(words[n-2], "as") {
		return strings.Join(words[:n-2], " "), words[n-1]
	}
	return s, ""
}

// name finds the analyte of a text: the whole, else what is left when units
// and the words beside names are taken off its end, then anywhere.
func (h *nameCell) name(s string) bool {
	if h.whole(s) {
		return true
	}
	words := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" ,;:_/-@.", r) })
	unitSeen := false
	for n := len(words); n > 1; n-- {
		last := strings.ToLower(words[n-1])
		mark, isBeside := beside[last]
		switch {
		case isBeside:
			mark(h)
		case unitWord(last):
			unitSeen = true
			if n > 2 && (last == "l" || last == "cm") && unitWord(strings.ToLower(words[n-2])) {
				words = words[:n-1] // both pieces of it: mg alone is magnesium
			}
		case h.as == "" && n > 2 && unitWord(strings.ToLower(words[n-2])) && basisWord(last):
			h.as = words[n-1] // hardness_mg_l_caco3
		default:
			n = 0
			continue
		}
		words = words[:len(words)-1]
		if k := len(words); k >= 3 && strings.EqualFold(words[k-2], "as") {
			h.as, words = words[k-1], words[:k-2] // nitrate_as_n_mg_l
		}
		if h.whole(strings.Join(words, " ")) || unitSeen && len(words) == 1 && h.smallSymbol(words[0]) {
			return true
		}
		n = len(words) + 1
	}
	kept := slices.DeleteFunc(slices.Clone(words), func(w string) bool {
		mark, ok := beside[strings.ToLower(w)]
		if ok {
			mark(h)
		}
		return ok
	})
	return len(kept) > 0 && len(kept) < len(words) && h.whole(strings.Join(kept, " "))
}

// smallSymbol looks up the symbol of an element spelt without a capital, as in
// ca_mg_l; only a unit behind it tells it from a word.
func (h *nameCell) smallSymbol(s string) bool {
	if len(s) <= 2 {
		return h.whole(strings.ToUpper(s[:1]) + strings.ToLower(s[1:]))
	}
	ion, basis := s[:len(s)-1], strings.ToUpper(s[len(s)-1:])
	if n, ok := analyte.Symbol(strings.ToUpper(ion)); ok && nitrogenLike(n.ID) && (basis == "N" || basis == "P") && h.as == "" {
		h.as = basis // NO3N_MGL
		return h.whole(strings.ToUpper(ion))
	}
	return false
}

// basisWord tells the word of a basis, in any case of its letters.
func basisWord(w string) bool {
	return slices.Contains([]string{"n", "p", "s", "si", "caco3", "no3", "no2", "nh4", "nh3", "po4", "so4", "sio2", "hco3", "co3"}, w)
}

// whole looks a text up as it stands.
func (h *nameCell) whole(s string) bool {
	s = strings.TrimSpace(s)
	n, ok := analyte.ByName(s)
	if !ok {
		n, ok = analyte.Symbol(plainFormula(s))
	}
	if ok {
		n.Total, n.Dissolved = n.Total || h.Total, n.Dissolved || h.Dissolved
		h.Naming = n
	}
	return ok
}

// unitWord tells the pieces of a unit that is spelt with underscores, as in
// Ca_mg_l or temp_c, and of a reference temperature.
func unitWord(w string) bool {
	return slices.Contains([]string{"mg", "ug", "l", "us", "cm", "c", "degc", "mmol", "meq", "ntu", "umho", "umhos", "at", "25c", "25", "20c", "mgl", "ugl", "ngl", "uscm", "meql", "mmoll", "su", "ppm", "ppb", "à", "bei", "bij", "vid", "ved", "20", "25°c", "20°c", "°c"}, w)
}

// trailingUnit reads a unit from the words at the end of a name.
func trailingUnit(s string, a analyte.Analyte) unit.Unit {
	words := strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" ,_", r) })
	if n := len(words); n > 2 && basisWord(strings.ToLower(words[n-1])) {
		words = words[:n-1]
	}
	if len(words) == 0 {
		return unit.None
	}
	for n := min(2, len(words)-1); n > 0; n-- {
		tail := words[len(words)-n:]
		for _, join := range []string{"/", ""} {
			if u, ok := parseUnit(strings.Join(tail, join), a); ok && u != unit.PH {
				return u
			}
		}
	}
	if u, ok := parseUnit(withoutSlash[strings.ToLower(words[len(words)-1])], a); ok {
		return u
	}
	return unit.None
}

// withoutSlash are units in headings that may hold letters only.
var withoutSlash = map[string]string{"mgl": "mg/L", "ugl": "ug/L", "ngl": "ng/L", "uscm": "uS/cm", "meql": "meq/L", "mmoll": "mmol/L"}

// solidUnits are amounts without the water that they are in.
var solidUnits = []string{"mg", "g", "kg", "ug", "µg", "mcg", "lb", "lbs", "oz", "%", "wt%", "%dv", "% dv", "mg/kg", "ug/kg", "µg/kg", "mg/g", "g/kg", "g/t", "oz/t", "mg/100g", "mg/100 g"}

// bracket reads what stands in brackets behind a name: a unit, a basis, a
// fraction, or something that says nothing (a symbol, a code, a method).
func (h *nameCell) bracket(s string, a analyte.Analyte) {
	if mark, ok := beside[strings.ToLower(strings.Trim(s, ". "))]; ok {
		mark(h)
		return
	}
	if isForeignBasis(s) {
		h.foreign = s
		return
	}
	u, b, ok := cellUnit(s, a)
	switch {
	case ok && (u != unit.None || a.ID == "ph"):
		if h.unit == unit.None {
			h.unit = u
		}
		if b != "" {
			h.basis = b
		}
	case len(s) > 3 && strings.EqualFold(s[:3], "as "):
		if b, ok := cellBasis(s, a); ok {
			h.basis = b
		}
	case nitrogenLike(a.ID) && h.basis == "":
		if b, _, ok := formula(s); ok {
			h.basis = ownBasis(a.ID, b) // of these, the ion is one of several bases
		}
	case strings.Contains(s, "/"), slices.Contains(solidUnits, strings.ToLower(s)):
		h.unitBad = s
	}
}
