package labreport

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// measure is one value cell of a machine table, where numbers are written one
// way: digits, one decimal mark, perhaps an exponent.
type measure struct {
	kind     measureKind
	value    float64
	other    float64 // the other reading of 1,125
	twoWays  bool    // nothing settles which of the two it is
	hasLimit bool    // of measureBelow: value is the limit
	written  string  // as it stands in the cell
	remark   string  // of measureNumber: a letter before it ("E")
	unit     stated  // written behind the number
}

type measureKind int

const (
	measureEmpty    measureKind = iota
	measureNumber               // 0.42
	measureBelow                // <0.05, ND, BDL
	measureAbove                // >2419.6
	measurePresence             // present, absent
	measureWords                // anything else
)

// absentWords are cells that mean a non-detect without a limit of its own.
var absentWords = []string{"nd", "n.d.", "n.d", "n/d", "n.n.", "bdl", "bql", "blq", "bmdl", "brl", "bld", "bpql", "<", "u", "non-detect", "nondetect", "non detect", "not detected", "none detected", "undetected", "below detection limit", "below detection", "below reporting limit", "below limit", "<mdl", "<rl", "<lod", "<loq", "<mrl", "<pql", "<lor", "<dl", "<bg", "<lq", "<ld", "<ql", "<rdl", "u.bg", "< bg"}

// absentBefore are those that a limit may follow: "ND (0.5)", "ND<0.2".
var absentBefore = []string{"nd", "n.d.", "bdl", "bql", "blq", "not detected", "u"}

// readMeasure reads a value cell of a table that writes numbers in some style.
func readMeasure(cell string, st style) measure {
	s := strings.TrimSpace(cell)
	m := measure{written: s}
	if s == "" {
		return m
	}
	low := strings.ToLower(strings.TrimLeft(s, "*"))
	switch {
	case low == "":
		m.kind = measureWords
		return m
	case slices.Contains(absentWords, low), low[0] == '<' && slices.Contains(absentWords, strings.ReplaceAll(low, " ", "")):
		m.kind = measureBelow
		return m
	case low == "present" || low == "positive" || low == "detected":
		m.kind, m.value = measurePresence, 1
		return m
	case low == "absent" || low == "negative":
		m.kind = measurePresence
		return m
	}
	kind, rest := measureNumber, s
	switch s[0] {
	case '<':
		kind, rest, m.hasLimit = measureBelow, s[1:], true
	case '>':
		kind, rest = measureAbove, s[1:]
	case 'E', 'e', 'J', '~':
		rest, m.remark = s[1:], strings.ToUpper(s[:1])
	case '\'':
		rest = s[1:] // how a spreadsheet keeps a number as text
	case 'N', 'n', 'B', 'b', 'U':
		if limit, ok := behindAbsent(low, s); ok {
			kind, rest, m.hasLimit = measureBelow, limit, true
		}
	}
	m.remark = strings.Replace(m.remark, "~", "E", 1)
	rest, m.remark = cutFlags(strings.TrimSpace(rest), m.remark)
	n, ok := wholeNumeral(rest)
	if !ok {
		if n, m.unit, ok = numeralWithUnit(rest); !ok {
			return measure{kind: measureWords, written: s}
		}
	}
	var d doubt
	m.kind = kind
	m.value, m.other, d = n.value(st)
	m.twoWays = d&doubtGroup != 0
	if math.IsNaN(m.value) {
		return measure{kind: measureWords, written: s}
	}
	return m
}

// behindAbsent returns the limit behind a word for a non-detect.
func behindAbsent(low, s string) (limit string, ok bool) {
	for _, w := range absentBefore {
		if rest, ok := strings.CutPrefix(low, w); ok && len(low) == len(s) {
			rest = strings.TrimLeft(rest, " @:;,<([")
			rest = strings.TrimRight(strings.TrimPrefix(rest, "at "), " )]")
			if rest != "" && (isDigit(rest[0]) || rest[0] == '.') {
				return rest, true
			}
		}
	}
	return "", false
}

// missingMarks stand in data files for a value that is missing; none is a
// figure that water can have (common practice, no source).
var missingMarks = []float64{-99, -999, -9999, -99999, -999.9, -999999}

// isMissing tells such a mark. Of a potential, -99 is a value.
func (m measure) isMissing(id analyte.ID) bool {
	return m.kind == measureNumber && m.value <= -99 && slices.Contains(missingMarks, m.value) && !(id == "orp" && m.value > -999)
}

// numeralWithUnit reads a number with its unit: "4.3  MG/L".
func numeralWithUnit(s string) (numeral, stated, bool) {
	n, end := scanNumeral(s, false)
	if end == 0 || end == len(s) || len(s) > maxNumber {
		return numeral{}, stated{}, false
	}
	tail := strings.TrimSpace(s[end:])
	u, k := scanUnit(tail)
	return n, u, k > 0 && k == len(tail) && !u.area && !u.ocr
}

// cutFlags takes one or two capital letters or an asterisk off the end of a
// value: "12 J", "0.3UJ", "63*".
func cutFlags(s, before string) (number, flags string) {
	if n := len(s) - 1; n > 1 && (s[n] == '+' || s[n] == '-') && s[n-1] == 'J' {
		s = s[:n] // J+ and J-: estimated, with a bias
	}
	number = strings.TrimRight(s, "ABEFHJRU*")
	if flags = s[len(number):]; len(flags) > 2 || number == "" {
		return s, before
	}
	return strings.TrimSpace(number), before + flags
}

// twoNumbers withholds a number that may be two, and says both.
func twoNumbers(res *analysis.Result, m measure) {
	reading := func(v float64) analysis.Reading {
		return analysis.Reading{Flag: fmt.Sprintf("--set %s=%s%s", res.Analyte, trim(v), res.Unit), Means: trim(v) + " " + string(res.Unit)}
	}
	doubtful(res, "ambiguous_number", fmt.Sprintf("%q may be %s or %s, and nothing in the table settles it", m.written, trim(m.value), trim(m.other)), reading(m.value), reading(m.other))
}

// moreThan gives a result that is only known to lie above a number.
func moreThan(res *analysis.Result, a analyte.Analyte, m measure) {
	res.Low = analysis.Number(m.value)
	doubtful(res, "over_range", fmt.Sprintf("%s is more than %s; how much more is not stated", a.Name, m.written))
}

// noLimit doubts a non-detect without a limit.
func noLimit(res *analysis.Result, a analyte.Analyte) {
	doubtful(res, "nondetect_no_limit", fmt.Sprintf("%s was not detected, and no limit is stated", a.Name))
}

// wholeNumeral reads a cell that holds one number and nothing else.
func wholeNumeral(s string) (numeral, bool) {
	sign := ""
	for _, mark := range [...]string{"-", "\u2212", "+"} {
		if rest, ok := strings.CutPrefix(s, mark); ok {
			s, sign = rest, strings.Replace(mark, "\u2212", "-", 1)
			break
		}
	}
	if len(s) > maxNumber {
		return numeral{}, false
	}
	n, end := scanNumeral(s, false)
	if end == 0 || strings.TrimRight(s[end:], ". ") != "" {
		return numeral{}, false
	}
	n.text = strings.TrimPrefix(sign, "+") + n.text
	return n, true
}

// plainNumber reads a number as programs write it: digits, a decimal point,
// perhaps an exponent. No words ("NaN", "Inf"), no hexadecimal, no marks
// between thousands.
func plainNumber(s string) (float64, bool) {
	if s == "" || len(s) > maxNumber {
		return 0, false
	}
	digits := false
	for i, c := range s {
		switch {
		case '0' <= c && c <= '9':
			digits = true
		case c == '.', (c == 'e' || c == 'E') && digits, (c == '+' || c == '-') && (i == 0 || s[i-1] == 'e' || s[i-1] == 'E'):
		default:
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(s, 64)
	if err != nil || math.IsInf(v, 0) {
		return 0, false
	}
	return v, true
}

// cellUnit reads a unit cell of an analyte: a unit, perhaps with a basis
// ("mg/L as N", "mg/L CaCO3", "mg NH4/L"). An empty cell is a unit that is not
// stated; known is false for a cell that is no unit of this analyte.
func cellUnit(cell string, a analyte.Analyte) (u unit.Unit, b analyte.Basis, known bool) {
	cell = strings.TrimSpace(cell)
	if a.ID == "ph" {
		return unit.PH, "", true
	}
	switch strings.ToLower(cell) {
	case "", "-", "n/a", "na":
		return unit.None, "", true
	case "none", "unitless":
		return unit.Ratio, "", a.Default == unit.Ratio
	}
	if u, ok := parseUnit(cell, a); ok {
		return u, "", true
	}
	st, n := scanUnit(cell)
	if n != len(cell) || st.area || st.ocr || st.foreign != "" || !compatible(a.ID, st.unit) || st.other != "" && st.other != a.Formula && st.other != a.Symbol {
		return unit.None, "", false
	}
	b, known = cellBasis(string(st.basis), a)
	return st.unit, b, known
}

// damagedUnit reads a unit that has lost a letter on its way ("?g/L").
func damagedUnit(cell string, a analyte.Analyte) (stated, bool) {
	st, n := scanUnit(strings.ReplaceAll(strings.TrimSpace(cell), "\uFFFD", "?"))
	return st, n > 0 && n >= len(strings.TrimSpace(cell))-2 && st.ocr && !st.area && st.parts == 0 && compatible(a.ID, st.unit)
}

func parseUnit(s string, a analyte.Analyte) (unit.Unit, bool) {
	if i := strings.IndexByte(s, '@'); i > 0 {
		s = s[:i] // uS/cm @25C
	}
	if i := strings.Index(s, " at "); i > 0 && i+4 < len(s) && isDigit(s[i+4]) {
		s = s[:i] // microsiemens per centimeter at 25 degrees Celsius
	}
	u, ok := unit.Parse(s)
	switch a.ID {
	case "hardness", "alkalinity", "carbonate_hardness", "noncarbonate_hardness":
		u, ok = unit.ParseHardness(s)
	}
	return u, ok && compatible(a.ID, u)
}

// cellBasis reads the name of a basis ("as N", "NO3"); ok is false for what is
// none of the analyte. It is empty where it names the substance itself.
func cellBasis(word string, a analyte.Analyte) (b analyte.Basis, ok bool) {
	w := strings.TrimSpace(word)
	if len(w) > 3 && strings.EqualFold(w[:3], "as ") {
		w = strings.TrimSpace(w[3:])
	}
	if w == "" || w == a.Formula && !nitrogenLike(a.ID) && a.Own == "" || w == a.Symbol && a.Kind == analyte.Element {
		return "", true
	}
	b, _, ok = formula(w)
	if !ok {
		b, _, ok = substanceWords(w, 0)
	}
	own := ownBasis(a.ID, b)
	return own, ok && (own != "" || string(b) == a.Formula)
}
