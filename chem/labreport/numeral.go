package labreport

import (
	"math"
	"strconv"
	"strings"
)

// style is how a report writes numbers: which mark stands before the decimals.
// Nothing but the report itself tells.
type style struct {
	points, commas int  // numbers that can only be read with that decimal mark
	foreign        bool // names in a language that writes decimal commas
}

func (s style) comma() bool { return s.commas > 0 && s.commas >= 3*s.points }
func (s style) point() bool { return s.points > 0 && s.points >= 3*s.commas }

// doubt is what is doubtful about a number.
type doubt uint8

const (
	doubtGroup doubt = 1 << iota // a mark may stand before decimals or thousands
	doubtOCR                     // letters or blanks inside a number were read as digits
	doubtMark                    // a decimal comma in a report of decimal points
)

// numeral is a number as it stands in the text.
type numeral struct {
	text  string // sign, digits and marks, letters already read as digits
	doubt doubt
}

// witness counts what a numeral tells about the style of the report.
func (n numeral) witness(s *style) {
	mant, _ := cutExponent(n.text)
	mant = strings.TrimLeft(mant, "+-")
	dot, com := strings.IndexByte(mant, '.'), strings.IndexByte(mant, ',')
	switch {
	case dot >= 0 && com >= 0:
		if dot > com {
			s.points++
		} else {
			s.commas++
		}
	case dot >= 0 && strings.Count(mant, ".") == 1 && decimalOnly(mant, dot):
		s.points++
	case com >= 0 && strings.Count(mant, ",") == 1 && decimalOnly(mant, com):
		s.commas++
	}
}

// decimalOnly tells whether the mark at i cannot stand before thousands:
// other than three digits follow, or none, zero or more than three stand before.
func decimalOnly(s string, i int) bool {
	return len(s)-i-1 != 3 || i == 0 || i > 3 || s[0] == '0'
}

// value reads the numeral in a report of that style. The second number is the
// other reading when the first is in doubt (doubtGroup).
func (n numeral) value(s style) (v, other float64, d doubt) {
	mant, exp := cutExponent(n.text)
	d = n.doubt
	neg := strings.HasPrefix(mant, "-")
	mant = strings.TrimLeft(mant, "+-")
	mant = stripGroups(mant)
	dot, com := strings.LastIndexByte(mant, '.'), strings.LastIndexByte(mant, ',')
	var asDecimal, asGroups string
	switch {
	case dot < 0 && com < 0:
		asDecimal = mant
	case dot >= 0 && com >= 0 && dot > com:
		asDecimal = strings.ReplaceAll(mant, ",", "")
	case dot >= 0 && com >= 0:
		asDecimal = strings.Replace(strings.ReplaceAll(mant, ".", ""), ",", ".", 1)
	default:
		mark, at := ".", dot
		if com >= 0 {
			mark, at = ",", com
		}
		if strings.Count(mant, mark) > 1 {
			asDecimal = strings.ReplaceAll(mant, mark, "")
			break
		}
		asDecimal = strings.Replace(mant, mark, ".", 1)
		if decimalOnly(mant, at) {
			if mark == "," && s.point() {
				d |= doubtMark
			}
			break
		}
		asGroups = strings.Replace(mant, mark, "", 1)
		same, opposite := s.comma(), s.point()
		if mark == "." {
			same, opposite = s.point() || s.points+s.commas == 0 && !s.foreign, s.comma() && s.points == 0
		}
		switch {
		case same:
			asGroups = ""
		case opposite:
			asDecimal, asGroups = asGroups, ""
		}
	}
	v = parsePlain(asDecimal, exp, neg)
	if asGroups != "" {
		d |= doubtGroup
		other = parsePlain(asGroups, exp, neg)
	}
	return v, other, d
}

func parsePlain(mant, exp string, neg bool) float64 {
	if exp != "" {
		mant += "e" + exp
	}
	v, err := strconv.ParseFloat(mant, 64)
	if err != nil || math.IsInf(v, 0) {
		return math.NaN()
	}
	if neg {
		v = -v
	}
	return v
}

// cutExponent parts "3.1E-02" into mantissa and exponent.
func cutExponent(s string) (mant, exp string) {
	if i := strings.IndexByte(s, 'e'); i >= 0 {
		return s[:i], s[i+1:]
	}
	return s, ""
}

// stripGroups drops blanks and apostrophes between thousands.
func stripGroups(s string) string {
	if strings.IndexByte(s, '\'') < 0 {
		return s
	}
	return strings.ReplaceAll(s, "'", "")
}

// scanNumeral reads the longest number at the start of s: digits with marks
// between them, an exponent in one of its spellings. It returns the numeral
// and the number of bytes; 0 if none stands there. The sign is the caller's.
func scanNumeral(s string, groupBlanks bool) (numeral, int) {
	i, digits := 0, 0
	var b []byte
	flat := true // b is s[:i] so far
	take := func(c byte, n int) {
		if flat && !(n == 1 && c == s[i]) {
			b, flat = append([]byte(nil), s[:i]...), false
		}
		if !flat {
			b = append(b, c)
		}
		i += n
	}
	if i < len(s) && (s[i] == '.' || s[i] == ',') {
		if i+1 >= len(s) || !isDigit(s[i+1]) {
			return numeral{}, 0
		}
		take(s[i], 1)
	}
	for i < len(s) {
		c := s[i]
		switch {
		case isDigit(c):
			digits++
			take(c, 1)
			continue
		case (c == '.' || c == ',') && digits > 0 && i+1 < len(s) && isDigit(s[i+1]):
			take(c, 1)
			continue
		case (c == '\'' || strings.HasPrefix(s[i:], "\u2019")) && digits > 0 && threeDigits(s[i+runeLen(s[i:]):]):
			take('\'', runeLen(s[i:]))
			continue
		case digits > 0 && digits <= 3 && (hasAny(s[i:], "\u00a0", "\u202f", "\u2009") || groupBlanks && c == ' ') && threeDigits(s[i+runeLen(s[i:]):]) && s[0] != '0':
			take('\'', runeLen(s[i:]))
			digits = 0 // a further group may follow
			for k := 0; k < 3; k++ {
				digits++
				take(s[i], 1)
			}
			continue
		}
		break
	}
	if digits == 0 {
		return numeral{}, 0
	}
	text := s[:i]
	if !flat {
		text = string(b)
	}
	if exp, n := scanExponent(s[i:]); n > 0 {
		return numeral{text: text + "e" + exp}, i + n
	}
	if i < len(s) && s[i] == '.' && (i+1 == len(s) || s[i+1] == ' ' || s[i+1] == '\t') && strings.IndexByte(text, '.') < 0 {
		return numeral{text: text}, i // "5." at the end of a sentence or cell: the point is left outside
	}
	return numeral{text: text}, i
}

// scanFraction reads "1 1/2", "1½" and "1/2" at the start of s as a decimal
// number. It returns the bytes read; 0 if no such fraction stands there.
func scanFraction(s string) (numeral, int) {
	i := 0
	for i < len(s) && i < 3 && isDigit(s[i]) {
		i++
	}
	whole := s[:i]
	for sign, part := range vulgar {
		if i > 0 && strings.HasPrefix(s[i:], sign) {
			return numeral{text: whole + part}, i + len(sign)
		}
	}
	j := i
	if i > 0 && i < len(s) && s[i] == ' ' {
		j = i + 1
	} else {
		j, whole = 0, "0"
	}
	if j+3 > len(s) || !isDigit(s[j]) || s[j+1] != '/' || j+3 < len(s) && (isDigit(s[j+3]) || s[j+3] == '/' || isLetter(s[j+3])) {
		return numeral{}, 0
	}
	part, ok := plainFractions[s[j:j+3]]
	if !ok {
		return numeral{}, 0
	}
	return numeral{text: whole + part}, j + 3
}

var (
	vulgar         = map[string]string{"½": ".5", "¼": ".25", "¾": ".75"}
	plainFractions = map[string]string{"1/2": ".5", "1/4": ".25", "3/4": ".75", "1/8": ".125", "3/8": ".375", "5/8": ".625", "7/8": ".875"}
)

// scanExponent reads E-02, x 10^-3, ×10⁻³ and the like.
func scanExponent(s string) (string, int) {
	if len(s) >= 2 && (s[0] == 'E' || s[0] == 'e') {
		j := 1
		if s[j] == '+' || s[j] == '-' {
			j++
		}
		k := j
		for k < len(s) && isDigit(s[k]) {
			k++
		}
		if k > j && k-j <= 3 && (k == len(s) || !isLetter(s[k])) {
			return strings.TrimPrefix(s[1:k], "+"), k
		}
		return "", 0
	}
	j := skipBlanks(s, 0)
	switch {
	case j < len(s) && (s[j] == 'x' || s[j] == 'X' || s[j] == '*'):
		j++
	case strings.HasPrefix(s[j:], "×"), strings.HasPrefix(s[j:], "·"):
		j += runeLen(s[j:])
	default:
		return "", 0
	}
	j = skipBlanks(s, j)
	if !strings.HasPrefix(s[j:], "10") {
		return "", 0
	}
	j += 2
	raised := ""
	k := j
	for k < len(s) {
		n := runeLen(s[k:])
		d, ok := raisedDigit(s[k : k+n])
		if !ok {
			break
		}
		raised += d
		k += n
	}
	if raised != "" && raised != "-" && raised != "+" {
		return strings.TrimPrefix(raised, "+"), k
	}
	j = skipBlanks(s, j)
	if j >= len(s) || s[j] != '^' {
		return "", 0
	}
	j = skipBlanks(s, j+1)
	k = j
	if k < len(s) && (s[k] == '+' || s[k] == '-') {
		k++
	}
	d := k
	for k < len(s) && isDigit(s[k]) {
		k++
	}
	if k == d || k-d > 3 {
		return "", 0
	}
	return strings.TrimPrefix(s[j:k], "+"), k
}

func raisedDigit(r string) (string, bool) {
	switch r {
	case "⁰":
		return "0", true
	case "¹":
		return "1", true
	case "²":
		return "2", true
	case "³":
		return "3", true
	case "⁴":
		return "4", true
	case "⁵":
		return "5", true
	case "⁶":
		return "6", true
	case "⁷":
		return "7", true
	case "⁸":
		return "8", true
	case "⁹":
		return "9", true
	case "⁻", "−":
		return "-", true
	case "⁺":
		return "+", true
	}
	return "", false
}

func isDigit(c byte) bool  { return '0' <= c && c <= '9' }
func isLetter(c byte) bool { return 'a' <= c && c <= 'z' || 'A' <= c && c <= 'Z' }

func threeDigits(s string) bool {
	return len(s) >= 3 && isDigit(s[0]) && isDigit(s[1]) && isDigit(s[2]) && (len(s) == 3 || !isDigit(s[3]))
}

func skipBlanks(s string, i int) int {
	for i < len(s) {
		switch {
		case s[i] == ' ':
			i++
		case hasAny(s[i:], "\u00a0", "\u202f", "\u2009"):
			i += runeLen(s[i:])
		default:
			return i
		}
	}
	return i
}

func hasAny(s string, prefixes ...string) bool {
	for _, p := range prefixes {
		if strings.HasPrefix(s, p) {
			return true
		}
	}
	return false
}

// runeLen is the length of the first rune of s, which is not empty.
func runeLen(s string) int {
	switch c := s[0]; {
	case c < 0xc0:
		return 1
	case c < 0xe0:
		return min(2, len(s))
	case c < 0xf0:
		return min(3, len(s))
	}
	return min(4, len(s))
}
