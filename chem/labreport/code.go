package labreport

import (
	"strings"

	"forebed/chem/analyte"
)

// leader returns the length of a run of dots or underscores that leads the eye
// from a name to its value. Right behind a name two dots are one, if a number
// follows ("Hardness..150").
func leader(s string, named bool) int {
	i, marks := 0, 0
	for i < len(s) {
		switch {
		case s[i] == '.' || s[i] == '_':
			if s[i] == '.' && i > 0 && s[i-1] == ' ' && i+1 < len(s) && isDigit(s[i+1]) {
				goto done // the point of ".5"
			}
			i++
			marks++
		case strings.HasPrefix(s[i:], "…"), strings.HasPrefix(s[i:], "·"):
			if strings.HasPrefix(s[i:], "…") {
				marks += 2
			}
			marks++
			i += runeLen(s[i:])
		case s[i] == ' ' && i > 0 && i+1 < len(s) && s[i+1] == '.' && marks > 0:
			i++
		default:
			goto done
		}
	}
done:
	glued := i < len(s) && isDigit(s[i]) && i > 0 && s[i-1] == '.'
	if marks < 3 && !(marks == 2 && i == 2 && glued && named) {
		return 0
	}
	if glued && s[i] == '0' && i+1 < len(s) && isDigit(s[i+1]) {
		i-- // "Iron....05": the last point is that of a decimal
	}
	return i
}

// monthDate returns the end of a date such as 11-Jun-2019 whose day ends at
// byte i; 0 if there is none.
func monthDate(s string, i int) int {
	j := i + 1
	for j < len(s) && isLetter(s[j]) {
		j++
	}
	if j-i < 4 || vocabulary().phrases[strings.ToLower(s[i+1:j])].class&clsMonth == 0 || j >= len(s) || s[j] != '-' && s[j] != '/' {
		return 0
	}
	k := j + 1
	for k < len(s) && isDigit(s[k]) {
		k++
	}
	if n := k - j - 1; n != 2 && n != 4 {
		return 0
	}
	return k
}

// splitDecimal finds a decimal mark that a scanner has pushed off its number:
// "7 .4", or "13. 6 mg/L" behind a name. It returns the bytes up to the
// decimals; 0 if there is none.
func splitDecimal(s string, end int, text string, named bool) int {
	if j := end + 2; named && j < len(s) && s[end] == '.' && s[end+1] == ' ' && isDigit(s[j]) && !strings.ContainsAny(text, ".,e'") { // "13. 6 mg/L"
		for j < len(s) && isDigit(s[j]) {
			j++
		}
		if _, n := scanUnit(s[skipBlanks(s, j):]); n > 0 && j > end+2 {
			return 2
		}
	}
	if strings.ContainsAny(text, ".,e'") || end+2 >= len(s) || s[end] != ' ' || s[end+1] != '.' && s[end+1] != ',' || !isDigit(s[end+2]) {
		return 0
	}
	return 2
}

// ocrRun returns the length of a number at the start of s in which letters
// stand for digits (O, l, I, S, B); 0 if none stands there. It asks for at
// least one digit or a decimal mark, and for nothing else in the word.
func ocrRun(s string) int {
	i, digits, letters, marks := 0, 0, 0, 0
loop:
	for i < len(s) {
		switch c := s[i]; c {
		case 'O', 'o', 'l', 'I', '|':
			letters++
		case 'S', 'B':
			if i == 0 {
				return 0
			}
			letters++
		case '.', ',':
			if i+1 >= len(s) || !ocrDigit(s[i+1]) {
				break loop
			}
			marks++
		default:
			if !isDigit(c) {
				break loop
			}
			digits++
		}
		i++
	}
	switch {
	case letters == 0 || digits+marks == 0 || marks > 1 || i > 7 || digits == 0 && letters < 2:
		return 0
	case i < len(s) && (isLetter(s[i]) || s[i] >= 0x80 && !hasAny(s[i:], "\u00a0", "\u2009", "°", "µ", "μ") || s[i] == '-' || s[i] == '/' || s[i] == '+'):
		return 0
	case i == 2 && (s[0] == 'O' || s[0] == 'I') && isDigit(s[1]) && (s[1] == '2' || s[1] == '3'):
		return 0 // O2, O3, I2
	case digits > 0 && letters == 1 && s[i-1] == 'B' && isDigit(s[0]):
		return 0 // a flag behind the number
	case s[i-1] == 'o' && letters == 1 && i > 1:
		return 0
	}
	return i
}

func ocrDigit(c byte) bool {
	return isDigit(c) || c == 'O' || c == 'o' || c == 'l' || c == 'I' || c == '|' || c == 'S' || c == 'B'
}

// glueWord tells whether a word may be glued to a number without making it a
// code.
func glueWord(w string) bool {
	switch strings.ToLower(w) {
	case "ppm", "ppb", "gpg", "grains", "grain", "gr", "hard", "dh", "or", "to", "x":
		return true
	}
	return false
}

// flagLetters tells whether letters behind a number are qualifiers.
func flagLetters(w string) bool {
	if len(w) > 3 {
		return false
	}
	for i := 0; i < len(w); i++ {
		if !isUpper(w[i]) && !(len(w) == 1 && 'a' <= w[i] && w[i] <= 'f') {
			return false
		}
	}
	return !(len(w) == 2 && w == "ST")
}

// chunkOf returns the characters from i up to the next blank or cell.
func chunkOf(s string, i int) string {
	j := i
	for j < len(s) && s[j] != ' ' && s[j] != '\t' && s[j] != '|' && s[j] != ';' && s[j] != ')' && s[j] != '(' && !hasAny(s[j:], "\u00a0", "\u202f", "\u2009") {
		j++
	}
	return strings.TrimRight(s[i:j], ".,:")
}

// dateOrCode recognises dates, times and numbers that count nothing in a chunk
// of digits and signs. It returns the kind and the bytes; 0 if it is neither.
func dateOrCode(c string) (tokenKind, int) {
	var parts [6]string
	var seps [6]byte
	n, from := 0, 0
	for i := 0; i <= len(c); i++ {
		if i < len(c) && isDigit(c[i]) {
			continue
		}
		if i == from || n == len(parts) {
			return 0, 0
		}
		parts[n] = c[from:i]
		if i < len(c) {
			switch c[i] {
			case '-', '/', '.', ':':
			case 'T':
				if n == 2 && seps[0] == '-' { // 2024-05-14T09:40
					return tokDate, len(c)
				}
				return 0, 0
			default:
				return 0, 0
			}
			seps[n] = c[i]
		}
		n++
		from = i + 1
	}
	if n < 2 {
		return 0, 0
	}
	sep := seps[0]
	for k := 1; k < n-1; k++ {
		if seps[k] != sep {
			switch {
			case sep == ':':
				return tokTime, len(c)
			case sep == '.' && n == 4 && seps[1] == '-' && seps[2] == '.', n == 3 && (sep == '.' && seps[1] == '-' || sep == '-' && seps[1] == '.'):
				return 0, 0 // a range of decimal numbers
			}
			return tokCode, len(c)
		}
	}
	switch {
	case sep == ':':
		return tokTime, len(c)
	case n == 3 && len(parts[0]) == 4 && year(parts[0]) && len(parts[1]) <= 2 && len(parts[2]) <= 2,
		n == 3 && len(parts[0]) <= 2 && len(parts[1]) <= 2 && (len(parts[2]) == 2 || len(parts[2]) == 4 && year(parts[2])) && atMost(parts[0], 31) && atMost(parts[1], 31):
		return tokDate, len(c)
	case n >= 3 && sep != '.':
		return tokCode, len(c)
	case n >= 3:
		return 0, 0 // thousands with points; left to the numeral
	case sep == '/' && year(parts[0]) && len(parts[1]) <= 2:
		return tokDate, len(c)
	case sep == '/':
		return tokCode, len(c)
	case sep == '-' && len(parts[0]) == 4 && year(parts[0]) && (year(parts[1]) || len(parts[1]) == 2):
		return tokDate, len(c)
	case sep == '-' && (len(parts[1]) > 1 && parts[1][0] == '0' || len(parts[0]) >= 3 && len(parts[1]) >= 4 && less(parts[1], parts[0]) || len(parts[1]) >= 4 && parts[0] == "555" || len(parts[0]) > 1 && parts[0][0] == '0' || less(parts[1], parts[0])):
		return tokCode, len(c)
	}
	return 0, 0
}

func year(s string) bool {
	return len(s) == 4 && (s[:2] == "19" || s[:2] == "20")
}

func atMost(s string, n int) bool {
	v := 0
	for i := 0; i < len(s); i++ {
		v = v*10 + int(s[i]-'0')
	}
	return v <= n && v > 0
}

// less compares two runs of digits as numbers.
func less(a, b string) bool {
	a, b = strings.TrimLeft(a, "0"), strings.TrimLeft(b, "0")
	return len(a) < len(b) || len(a) == len(b) && a < b
}

// mixedCode tells whether a word of letters and digits is a code rather than
// a formula: a letter run, then two digits or more, or letters after digits.
func mixedCode(w string) bool {
	digits, upper := 0, 0
	for i := 0; i < len(w); i++ {
		switch {
		case isDigit(w[i]):
			digits++
		case isUpper(w[i]):
			upper++
		}
	}
	if digits == 0 {
		return false
	}
	if _, _, ok := formula(w); ok {
		return false
	}
	if _, ok := analyte.Symbol(plainFormula(w)); ok {
		return false
	}
	return digits >= 3 || digits >= 2 && upper >= 1
}
