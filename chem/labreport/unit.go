package labreport

import (
	"slices"
	"strings"

	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// stated is a unit as it stands in a report, with the basis written into it
// ("mg/l N", "mg CaCO3/L", "meq/L").
type stated struct {
	unit    unit.Unit
	basis   analyte.Basis // "" when the unit names none
	other   string        // another substance named with the unit ("Fe" in "ug/l Fe")
	area    bool          // an amount on land or a dose (lb/acre-ft): no concentration
	ocr     bool          // only understood after letters were put right
	foreign string        // the formula behind the unit, when it is no basis that is known
	parts   float64       // mg/L in one of a unit outside the vocabulary (10 in a part per 100,000)
}

// measures tells whether the unit can measure an analyte.
func (u stated) measures(id analyte.ID) bool {
	if u.parts != 0 {
		return concentration(id)
	}
	return compatible(id, u.unit)
}

// scanUnit reads the longest unit at the start of s and returns the number of
// bytes; 0 if none stands there.
func scanUnit(s string) (stated, int) {
	best, n := longestUnit(s)
	if n == 0 {
		return stated{}, 0
	}
	return withSubstance(best, s, n)
}

// gapTooWide tells whether a gap is wide enough to part two cells.
func gapTooWide(s string, from, to int) bool {
	return strings.Count(s[from:to], " ") > 1
}

// chunkEnd returns the end of the run of characters that may spell a unit.
func chunkEnd(s string, i int) int {
	for i < len(s) {
		switch c := s[i]; {
		case c == ' ', c == '\t', c == ',', c == ';', c == ')', c == '(', c == ']', c == '[', c == '|', c == '"', c == ':', c == '=', c == '<', c == '>', c == '\'', (c == '?' || c == '!') && i > 0 && s[i-1] != '^':
			return i
		case hasAny(s[i:], "\u00a0", "\u202f", "\u2009"):
			return i
		default:
			i += runeLen(s[i:])
		}
	}
	return i
}

// longestUnit finds the longest unit at the start of s: a spelling of the
// table, an amount on land, or a unit with a substance inside it.
func longestUnit(s string) (stated, int) {
	if s == "" {
		return stated{}, 0
	}
	if rest, ok := strings.CutPrefix(s, "\u039c"); ok { // what capitals make of a micro sign; it looks like M
		u, n := longestUnit("\u00b5" + rest)
		u.ocr = true
		return u, n
	}
	if n := parts100000(s); n > 0 {
		return stated{parts: 10}, n
	}
	u, damaged, n := unit.Longest(s)
	best := stated{unit: u, ocr: damaged}
	if n > 0 {
		if word := s[:n]; strings.EqualFold(word, "ph") || strings.EqualFold(word, "ph value") || !notAWord(word) {
			best, n = stated{}, 0 // a name or word far more often; a unit column reads it itself
		}
	}
	switch s[0] | 0x20 {
	case 'l', 'k', 't':
		if end := chunkEnd(s, 0); areaUnits[foldUnit(s[:end])] {
			return stated{area: true}, end
		}
	case 'm', 'u', 'n', 'g', 'p', 0xe2, 0xee:
	default:
		if s[0] != 0xc2 && s[0] != 0xce {
			return best, n
		}
	}
	end := 0
	for words := 1; words <= 2; words++ { // "mg N/l", "mg CaCO3/L", "mg/L-N"
		start := skipBlanks(s, end)
		if words > 1 && (start == end || gapTooWide(s, end, start)) {
			break
		}
		if end = chunkEnd(s, start); end <= n || end > 24 {
			continue
		}
		if words > 1 && start < len(s) && s[start] >= 'a' && !strings.Contains(s[start:end], "/") {
			continue // "1.1 ppm mn 0.09": the next name
		}
		if v, ok := splitUnit(foldUnit(strings.TrimRight(s[:end], "."))); ok {
			best, n = v, end
		}
	}
	return best, n
}

// parts100000 returns the bytes of "parts per 100,000", the unit of British
// analyses until the middle of the 20th century (common practice, no source),
// at the start of s; 0 if it does not stand there.
func parts100000(s string) int {
	if len(s) < 16 || s[0]|0x20 != 'p' {
		return 0
	}
	i := 0
	for _, w := range [...][]string{{"parts", "part", "pts", "pt"}, {"per", "in"}, {"100,000", "100 000", "100000", "100.000", "hundred thousand", "lakh"}} {
		k := slices.IndexFunc(w, func(w string) bool { return len(s) >= i+len(w) && strings.EqualFold(s[i:i+len(w)], w) })
		if k < 0 {
			return 0
		}
		i += len(w[k])
		for i < len(s) && (s[i] == '.' || s[i] == ' ') && len(w) > 1 && w[0] != "100,000" {
			i++
		}
	}
	return i
}

// areaUnits are amounts on land, which stand beside concentrations in reports
// on irrigation water and are none.
var areaUnits = map[string]bool{"lb/acre-ft": true, "lbs/acre-ft": true, "lb/ac-ft": true, "lbs/ac-ft": true, "kg/ha": true, "lb/acre": true, "lbs/acre": true, "lb/af": true, "lbs/af": true, "tons/acre-ft": true, "t/acre-ft": true}

// notAWord keeps single letters and short words from being taken for a unit
// where the letter case says that they are none.
func notAWord(s string) bool {
	switch s {
	case "C", "F", "SU", "s.u.", "S.U.", "su", "mM", "TON", "CU", "eH", "dH", "dh", "fH", "DH", "FH", "gr", "GR", "Gr", "%", "MS", "mS", "uS", "US", "us", "\u00b5S", "\u03bcS", "mV", "MV", "mv", "ppt", "PPT", "ppm", "ppb":
		return true
	case "c", "f", "Cu", "DF", "Df", "mm", "eh", "Eh", "EH", "fh", "ton", "cu", "df", "of", "none", "None", "NONE", "units", "Units", "UNITS", "UH", "UT", "Uh", "Ut", "uh", "ut":
		return false
	}
	return true
}

// foldUnit makes a spelling comparable, as package unit does.
func foldUnit(s string) string { return unit.Fold(s) }

// splitUnit understands a unit with a substance inside it: "mgn/l",
// "mgcaco3/l", "mg/lno3", "mg/l-n", "mg/lascaco3".
func splitUnit(f string) (stated, bool) {
	u, ok := splitSubstance(f)
	if ok && u.other == "Pt" && u.unit == unit.MgL {
		return stated{unit: unit.ColorUnits}, true
	}
	return u, ok
}

func splitSubstance(f string) (stated, bool) {
	for _, p := range [...]string{"mg", "ug", "ng", "meq", "mmol", "mval", "g"} {
		rest, ok := strings.CutPrefix(f, p)
		if !ok {
			continue
		}
		for _, l := range [...]string{"/l", "/dm3", "/m3", "/liter", "/litre"} {
			if sub, ok := strings.CutSuffix(rest, l); ok && sub != "" {
				if b, other, ok := substance(strings.Trim(sub, "()-")); ok {
					u, ok := unit.Parse(p + l)
					return stated{unit: u, basis: b, other: other}, ok
				}
			}
			if tail, ok := strings.CutPrefix(rest, l); ok && tail != "" {
				tail = strings.TrimPrefix(strings.Trim(tail, "()-_.:/"), "as")
				if b, other, ok := substance(strings.Trim(tail, "()-_")); ok {
					u, ok := unit.Parse(p + l)
					return stated{unit: u, basis: b, other: other}, ok
				}
			}
		}
	}
	for _, p := range [...]string{"ppm", "ppb"} {
		if tail, ok := strings.CutPrefix(f, p); ok && tail != "" {
			tail = strings.TrimPrefix(strings.Trim(tail, "()-_"), "as")
			if b, other, ok := substance(strings.Trim(tail, "()-_")); ok {
				u, _ := unit.Parse(p)
				return stated{unit: u, basis: b, other: other}, ok
			}
		}
	}
	return stated{}, false
}

// withSubstance takes up the substance behind a unit: "mg/l NO3",
// "mg/L as CaCO3", "mg/l (N)", "mg/l Pt".
func withSubstance(u stated, s string, n int) (stated, int) {
	if u.basis != "" || u.other != "" || u.area {
		return u, n
	}
	if u.unit == unit.GrainsUS {
		for _, w := range [...]string{" (imperial)", " (imp)", " (imp.)", " imperial", " (UK)", " (British)"} {
			if len(s) >= n+len(w) && strings.EqualFold(s[n:n+len(w)], w) {
				return stated{unit: unit.GrainsUK}, n + len(w)
			}
		}
		for _, w := range [...]string{" (US)", " (U.S.)"} {
			if strings.HasPrefix(s[n:], w) {
				return u, n + len(w)
			}
		}
	}
	i := skipBlanks(s, n)
	if gapTooWide(s, n, i) {
		return u, n
	}
	open := i < len(s) && (s[i] == '(' || s[i] == '[')
	if open {
		i = skipBlanks(s, i+1)
	}
	as := false
	for _, w := range asWords {
		if len(s) > i+len(w) && strings.EqualFold(s[i:i+len(w)], w) && (s[i+len(w)] == ' ' || hasAny(s[i+len(w):], "\u00a0")) {
			i = skipBlanks(s, i+len(w))
			as = true
			break
		}
	}
	end := formulaEnd(s, i)
	word := s[i:end]
	b, other, ok := formula(word)
	if !ok && as {
		b, end, ok = substanceWords(s, i)
	}
	if !ok && isForeignBasis(word) {
		u.foreign = word
		return u, end
	}
	if !ok {
		return u, n
	}
	if !open && !as && nextIon(s[end:]) {
		return u, n // "12 mg/L K+ 3 mg/L"
	}
	if !open && !as && len(word) == 1 && word != "N" && word != "P" && word != "S" {
		// "mg/L F", "mg/l B": the letter of the element, or a flag
		if word != "F" && word != "K" && word != "B" {
			return u, n
		}
	}
	if open {
		j := skipBlanks(s, end)
		if j >= len(s) || s[j] != ')' && s[j] != ']' {
			return u, n
		}
		end = j + 1
	}
	if other == "Pt" && u.unit == unit.MgL {
		u.unit, other = unit.ColorUnits, ""
		if rest := s[end:]; hasAny(rest, "/Co", "-Co", "/co") {
			end += 3
		}
	}
	u.basis, u.other = b, other
	return u, end
}

// nextIon tells whether a charge and a number follow a formula, which then is
// the name of the next result.
func nextIon(s string) bool {
	charge := len(s) - len(strings.TrimLeft(s, "+"))
	i := skipBlanks(s, charge)
	return charge > 0 && i > charge && i < len(s) && (isDigit(s[i]) || s[i] == '<')
}

var asWords = [...]string{"expressed as", "as", "als", "en", "som", "jako", "como", "come", "exprimé en", "ber. als"}

// formulaEnd returns the end of a chemical formula at i, such as NO3-N.
func formulaEnd(s string, i int) int {
	for i < len(s) {
		c := s[i]
		if isLetter(c) || isDigit(c) {
			i++
			continue
		}
		if (c == '-' || hasAny(s[i:], "\u2013", "\u2010", "\u2011")) && i > 0 {
			j := i + runeLen(s[i:])
			if j < len(s) && (s[j] == 'N' || s[j] == 'P' || s[j] == 'S') && (j+1 == len(s) || !isLetter(s[j+1]) && !isDigit(s[j+1])) {
				i = j + 1
				continue
			}
			break
		}
		if c >= 0x80 && subOrSuper(s[i:]) {
			i += runeLen(s[i:])
			continue
		}
		break
	}
	return i
}

func subOrSuper(s string) bool {
	return hasAny(s, "\u2080", "\u2081", "\u2082", "\u2083", "\u2084", "\u2085", "\u2086", "\u2087", "\u2088", "\u2089", "\u207b", "\u207a", "\u00b2", "\u00b3", "\u2212")
}

// plainFormula lowers digits and drops charges: "NO₃⁻" is "NO3".
func plainFormula(s string) string {
	ascii := true
	for i := 0; i < len(s); i++ {
		if s[i] >= 0x80 {
			ascii = false
			break
		}
	}
	if ascii {
		return s
	}
	var b strings.Builder
	for _, r := range s {
		switch {
		case '\u2080' <= r && r <= '\u2089':
			b.WriteByte(byte('0' + r - '\u2080'))
		case r == '\u207b', r == '\u207a', r == '\u00b2', r == '\u00b3', r == '\u2212', r == '\u00b9':
		case r == '\u2013', r == '\u2010', r == '\u2011':
			b.WriteByte('-')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}

// bases are the formulas as which results are reported; letter case counts
// for the short ones.
var bases = map[string]analyte.Basis{
	"CaCO3": "CaCO3", "N": "N", "NO3": "NO3", "NO2": "NO2", "NH4": "NH4", "NH3": "NH3", "P": "P", "PO4": "PO4", "P2O5": "P2O5", "S": "S", "SO4": "SO4",
	"SiO2": "SiO2", "Si": "Si", "HCO3": "HCO3", "CO3": "CO3", "NaCl": "NaCl", "O2": "O2", "KMnO4": "KMnO4",
	"NO3-N": "N", "NO2-N": "N", "NH3-N": "N", "NH4-N": "N", "PO4-P": "P", "SO4-S": "S", "NOx-N": "N", "NO3+NO2-N": "N",
	"CACO3": "CaCO3", "caco3": "CaCO3", "CaCo3": "CaCO3", "Caco3": "CaCO3", "no3": "NO3", "hco3": "HCO3", "sio2": "SiO2", "so4": "SO4", "SIO2": "SiO2", "nh4": "NH4", "no2": "NO2", "po4": "PO4", "NACL": "NaCl", "O": "O2", "KMNO4": "KMnO4",
}

// foreignBases are formulas as which results were or are reported and which
// the tool does not convert, in capitals (common practice, no source).
var foreignBases = map[string]bool{"CAO": true, "MGO": true, "MGCO3": true, "CASO4": true, "CACL2": true, "MGSO4": true, "NA2O": true, "K2O": true, "NA2CO3": true, "NAHCO3": true, "NAOH": true, "NA2SO4": true, "NANO3": true, "KNO3": true,
	"FE2O3": true, "FEO": true, "MNO2": true, "MNO": true, "AL2O3": true, "SO3": true, "SIO3": true, "H2SIO3": true, "N2O5": true, "N2O3": true}

// isForeignBasis tells whether a word is the formula of such a basis.
func isForeignBasis(word string) bool {
	return word != "" && isUpper(word[0]) && foreignBases[strings.ToUpper(word)]
}

// notConverted says of a result why it is withheld.
func notConverted(formula string) string {
	return "it is expressed as " + formula + ", which is not converted here"
}

// elements are formulas that may stand behind a unit and say no more than the
// name does ("ug/l Fe").
var elements = map[string]bool{"Ca": true, "Mg": true, "Na": true, "K": true, "Fe": true, "Mn": true, "Cl": true, "F": true, "Cu": true, "Zn": true, "Pb": true, "Al": true, "As": true, "B": true, "Ba": true, "Br": true,
	"Cd": true, "Cr": true, "Hg": true, "Ni": true, "Se": true, "Sb": true, "Sr": true, "U": true, "Li": true, "Ag": true, "Co": true, "Mo": true, "Pt": true, "C": true, "CO2": true, "H2S": true, "Cl2": true, "OH": true, "Tl": true, "V": true, "Be": true, "TA": true, "H": true}

// formula understands a formula behind a unit or a name.
func formula(s string) (b analyte.Basis, other string, ok bool) {
	p := plainFormula(s)
	if b, ok = bases[p]; ok {
		return b, "", true
	}
	if elements[p] {
		return "", p, true
	}
	return "", "", false
}

// substance understands a folded formula ("caco3", "n", "fe").
func substance(f string) (b analyte.Basis, other string, ok bool) {
	b, ok = foldedBases[f]
	if ok {
		return b, "", true
	}
	if o, ok := foldedElements[f]; ok {
		return "", o, true
	}
	return "", "", false
}

var foldedBases, foldedElements = func() (map[string]analyte.Basis, map[string]string) {
	bs, es := map[string]analyte.Basis{}, map[string]string{}
	for k, v := range bases {
		bs[strings.ToLower(k)] = v
	}
	for k := range elements {
		es[strings.ToLower(k)] = k
	}
	return bs, es
}()

// substanceWords understands a basis in words: "as nitrogen", "as calcium
// carbonate". It returns the end of the words.
func substanceWords(s string, i int) (analyte.Basis, int, bool) {
	for _, w := range basisWords {
		if len(s) >= i+len(w.words) && strings.EqualFold(s[i:i+len(w.words)], w.words) && (len(s) == i+len(w.words) || !isLetter(s[i+len(w.words)])) {
			return w.basis, i + len(w.words), true
		}
	}
	return "", i, false
}

var basisWords = [...]struct {
	words string
	basis analyte.Basis
}{
	{"calcium carbonate", "CaCO3"}, {"calcium-carbonate", "CaCO3"}, {"nitrogen", "N"}, {"nitrate", "NO3"}, {"nitrite", "NO2"}, {"ammonium", "NH4"}, {"ammonia", "NH3"},
	{"phosphorus", "P"}, {"phosphate", "PO4"}, {"sulfur", "S"}, {"sulphur", "S"}, {"sulfate", "SO4"}, {"silica", "SiO2"}, {"silicon", "Si"}, {"bicarbonate", "HCO3"},
	{"carbonate", "CO3"}, {"sodium chloride", "NaCl"}, {"stickstoff", "N"}, {"azote", "N"}, {"Stickstoff", "N"}, {"Calciumcarbonat", "CaCO3"}, {"salt", "NaCl"},
}
