package labreport

import (
	"slices"
	"strings"

	"forebed/chem/analyte"
)

// tokenKind is the lexical class of a piece of a line.
type tokenKind uint8

const (
	tokWord   tokenKind = iota
	tokNumber           // a number
	tokUnit             // a unit, basis included
	tokPunct            // one sign of punctuation
	tokCode             // letters and digits that count nothing: order numbers, telephones, compounds
	tokDate
	tokTime
	tokMethod // the number of an analytical method
	tokDash   // one or more dashes standing alone
)

// token is one piece of a line.
type token struct {
	kind       tokenKind
	glued      bool // no blank before it
	cell       int  // index of the cell it stands in
	start, end int  // bytes of the line
	x, xe      int  // columns, counted in runes
	fold       string
	num        numeral
	unit       stated
}

// line is a row cut into cells and tokens.
type line struct {
	row
	toks   []token
	cells  int  // number of cells, empty ones included
	index  bool // cells are known by their number, not by their position
	blank  bool
	prefix int  // bytes of quote marks cut off
	gone   bool // taken up by another line
	from   []origin
}

// lexer cuts lines; it keeps its buffers.
type lexer struct {
	line     *line
	s        string
	toks     []token
	cell     int
	i        int // byte position
	lastByte int // for x: bytes already counted
	lastX    int
	method   int // tokens that may still belong to a method number
	gap      int // blanks before the current position
}

// workspace holds buffers for cutting lines one after the other.
type workspace struct {
	toks   []token
	items  []item
	quoted bool // the line is quoted mail: ">" at its start is no comparison
}

// lex cuts one row. Cells part at tabs, pipes, leaders and runs of blanks.
func lex(r row) line { return new(workspace).lex(r) }

// lex cuts one row in the buffers of the workspace.
func (w *workspace) lex(r row) line {
	l := line{row: r}
	s := r.text
	if len(s) > MaxLineLength {
		s = s[:MaxLineLength]
	}
	start := quoted(s, w.quoted)
	pipes := strings.Count(s, "|") >= 2
	l.index = r.cells != nil || pipes || strings.IndexByte(s, '\t') >= 0
	l.prefix = start
	x := lexer{line: &l, s: s, i: start}
	x.toks = w.toks[:0]
	x.run(pipes)
	l.toks, w.toks = slices.Clone(x.toks), x.toks
	l.cells = x.cell + 1
	l.blank = len(l.toks) == 0
	return l
}

// quoted returns the bytes of mail quote marks at the start of a line.
func quoted(s string, mail bool) int {
	i := 0
	for i < len(s) && i < 12 && (s[i] == '>' || s[i] == ' ' && i+1 < len(s) && s[i+1] == '>') {
		i++
	}
	if j := skipBlanks(s, i); !mail && i > 0 && j < len(s) && isDigit(s[j]) {
		return 0 // "> 25" is a value
	}
	return i
}

// column returns the rune column of byte b; b only grows within a line.
func (x *lexer) column(b int) int {
	for x.lastByte < b {
		x.lastByte += runeLen(x.s[x.lastByte:])
		x.lastX++
	}
	return x.lastX
}

func (x *lexer) add(k tokenKind, end int) *token {
	t := token{kind: k, cell: x.cell, start: x.i, end: end, glued: x.gap == 0 && len(x.toks) > 0 && x.toks[len(x.toks)-1].cell == x.cell}
	t.x = x.column(x.i)
	t.xe = x.column(end)
	x.toks = append(x.toks, t)
	x.i, x.gap = end, 0
	return &x.toks[len(x.toks)-1]
}

func (x *lexer) nextCell() {
	x.cell++
	x.method = 0
	x.gap = 1
}

func (x *lexer) run(pipes bool) {
	s := x.s
	for x.i < len(s) {
		c := s[x.i]
		switch {
		case c == ' ' || hasAny(s[x.i:], "\u00a0", "\u202f", "\u2009"):
			j := skipBlanks(s, x.i)
			n := 0
			for k := x.i; k < j; k += runeLen(s[k:]) {
				n++
			}
			x.i = j
			if n >= 2 && !x.line.index && len(x.toks) > 0 && x.toks[len(x.toks)-1].cell == x.cell {
				x.nextCell()
			}
			if n >= 2 {
				x.method = 0
			}
			x.gap = n
		case c == '~' && strings.HasPrefix(s[x.i:], "~~") && strings.Contains(s[x.i+2:], "~~"): // struck out
			x.i += 4 + strings.Index(s[x.i+2:], "~~")
			x.gap = 1
		case c == '\t' || pipes && c == '|':
			x.i++
			x.nextCell()
		case c == '.' || c == '_' || c == '\xe2' && strings.HasPrefix(s[x.i:], "…") || c == '\xc2' && strings.HasPrefix(s[x.i:], "·"):
			if n := leader(s[x.i:], x.i > 0 && isLetter(s[x.i-1])); n > 0 {
				x.i += n
				if len(x.toks) > 0 && !x.line.index {
					x.nextCell()
				}
				x.gap = 1
				break
			}
			if c == '.' && x.i+1 < len(s) && isDigit(s[x.i+1]) {
				x.number()
				break
			}
			x.punct()
		case isDigit(c) || c == ',' && x.gap > 0 && x.i+1 < len(s) && isDigit(s[x.i+1]):
			x.number()
		case isLetter(c) || c >= 0x80:
			x.word()
		default:
			x.punct()
		}
	}
}

// run of letters and digits around a number, without marks between
func alnumEnd(s string, i int) int {
	for i < len(s) {
		c := s[i]
		if isLetter(c) || isDigit(c) {
			i++
			continue
		}
		break
	}
	return i
}

// punct adds one sign, or a run of dashes.
func (x *lexer) punct() {
	s := x.s
	c := s[x.i]
	switch {
	case c == '&':
		for _, e := range entities {
			if strings.HasPrefix(s[x.i:], e.name) {
				t := x.add(tokPunct, x.i+len(e.name))
				t.fold = e.sign
				return
			}
		}
	case c == '$' || hasAny(s[x.i:], "€", "£"):
		n := x.i + runeLen(s[x.i:])
		for n < len(s) && (isDigit(s[n]) || s[n] == '.' || s[n] == ',' || s[n] == ' ' && n == x.i+1) {
			n++
		}
		x.add(tokCode, n)
		return
	case c == '^' || c == '?':
		if u, n := scanUnit(s[x.i:]); n > 0 {
			x.add(tokUnit, x.i+n).unit = u
			return
		}
	case c == '/' || c == '#' || c == '%':
		if u, n := scanUnit(s[x.i:]); n > 0 {
			x.add(tokUnit, x.i+n).unit = u
			return
		}
	case strings.HasPrefix(s[x.i:], "->") || strings.HasPrefix(s[x.i:], "-->") || strings.HasPrefix(s[x.i:], "==>"):
		x.add(tokPunct, x.i+strings.IndexByte(s[x.i:], '>')+1).fold = "→"
		return
	case c == '+' || c == '-':
		if x.signed(1) {
			return
		}
		if c == '-' {
			x.dashes()
			return
		}
	case c == '*' || c == '=':
		j := x.i
		for j < len(s) && s[j] == c {
			j++
		}
		if j-x.i >= 3 {
			x.i = j
			x.gap = 1
			return
		}
		t := x.add(tokPunct, j)
		t.fold = s[t.start:t.end]
		return
	case c == '<' || c == '>':
		j := x.i + 1
		for j < len(s) && (s[j] == c || s[j] == '=') {
			j++
		}
		t := x.add(tokPunct, j)
		t.fold = string(c)
		return
	case c == '|' || c == '!':
		if n := ocrRun(s[x.i:]); c == '|' && n > 0 {
			x.ocr(n)
			return
		}
	}
	t := x.add(tokPunct, x.i+runeLen(s[x.i:]))
	t.fold = s[t.start:t.end]
}

var entities = [...]struct{ name, sign string }{{"&lt;", "<"}, {"&gt;", ">"}, {"&amp;", "&"}, {"&nbsp;", " "}, {"&plusmn;", "±"}, {"&#60;", "<"}, {"&#62;", ">"}, {"&le;", "<"}, {"&ge;", ">"}}

// signed reads a number with its sign of n bytes, when the sign belongs to it:
// it touches the number, and no number or word touches the sign.
func (x *lexer) signed(n int) bool {
	s := x.s
	j := x.i + n
	if j >= len(s) || !(isDigit(s[j]) || s[j] == '.' && j+1 < len(s) && isDigit(s[j+1])) {
		return false
	}
	if p := x.last(); p != nil && x.gap == 0 && (p.kind != tokPunct || p.fold == ")") {
		return false
	}
	if p := x.last(); p != nil && p.cell == x.cell && p.kind == tokNumber && x.gap <= 1 {
		return false // "120 -250" is a range
	}
	num, m := scanNumeral(s[j:], false)
	if m == 0 {
		return false
	}
	if num.text[0] == '.' || num.text[0] == ',' {
		num.text = "0" + num.text
	}
	sign := "-"
	if s[x.i] == '+' {
		sign = ""
	}
	num.text = sign + num.text
	t := x.add(tokNumber, j+m)
	t.num = num
	return true
}

func (x *lexer) last() *token {
	if len(x.toks) == 0 {
		return nil
	}
	return &x.toks[len(x.toks)-1]
}

// dashes adds a run of dashes as one token.
func (x *lexer) dashes() {
	j := x.i
	for j < len(x.s) && (x.s[j] == '-' || hasAny(x.s[j:], "–", "—", "−", "‐", "‑")) {
		j += runeLen(x.s[j:])
	}
	t := x.add(tokDash, j)
	t.fold = "-"
}

// word adds a word, a unit, a method number, or a number damaged by a scanner.
func (x *lexer) word() {
	s := x.s
	rest := s[x.i:]
	switch {
	case hasAny(rest, "–", "—", "‐", "‑"):
		x.dashes()
		return
	case hasAny(rest, "−"):
		if !x.signed(len("−")) {
			x.dashes()
		}
		return
	case hasAny(rest, "≤"):
		x.add(tokPunct, x.i+len("≤")).fold = "<"
		return
	case hasAny(rest, "≥"):
		x.add(tokPunct, x.i+len("≥")).fold = ">"
		return
	case hasAny(rest, "€", "£"):
		x.punct()
		return
	}
	if n := ocrRun(rest); n > 0 && (dotted(s, x.i) == 0 || strings.ContainsAny(rest[:n], "0123456789")) && (x.gap > 0 || len(x.toks) == 0 || x.last().kind == tokPunct) {
		x.ocr(n)
		return
	}
	if u, n := x.unitHere(); n > 0 {
		x.add(tokUnit, x.i+n).unit = u
		return
	}
	end := wordEnd(s, x.i)
	if end == x.i {
		t := x.add(tokPunct, x.i+runeLen(rest))
		t.fold = s[t.start:t.end]
		return
	}
	if n := dotted(s, x.i); n > 0 {
		t := x.add(tokWord, n)
		t.fold = strings.NewReplacer(".", "", " ", "").Replace(strings.ToLower(s[t.start:t.end]))
		return
	}
	if w := s[x.i:end]; (w == "KS4" || w == "KB8" || w == "Ks4") && end+1 < len(s) && (s[end] == ',' || s[end] == '.') && isDigit(s[end+1]) {
		t := x.add(tokWord, end+2)
		t.fold = strings.ToLower(w) + s[end+1:end+2]
		return
	}
	t := x.add(tokWord, end)
	t.fold = analyte.Fold(plainFormula(s[t.start:t.end]))
	if x.method > 0 {
		if n := t.end - t.start; n <= 2 && isUpper(s[t.start]) || methodWords[t.fold] {
			t.kind = tokMethod
			return
		}
		x.method = 0
	}
	if methodWord(s[t.start:t.end], t.fold) {
		t.kind = tokMethod
		x.method = 3
		return
	}
	if code := methodCode(s[t.start:t.end]); code || mixedCode(s[t.start:t.end]) {
		if code {
			x.method = 1
			t.kind = tokMethod
			j := t.end
			for j < len(s) && (s[j] == '-' || s[j] == '.' || s[j] == '+' || isDigit(s[j]) || isLetter(s[j])) {
				j++
			}
			t.end, t.xe, x.i = j, x.column(j), j
			return
		}
		t.kind = tokCode
		j := t.end
		for j < len(s) && (s[j] == '-' && j+1 < len(s) && (isDigit(s[j+1]) || isLetter(s[j+1])) || isDigit(s[j]) || isLetter(s[j])) {
			j++
		}
		t.end, t.xe, x.i = j, x.column(j), j
	}
}

// unitHere reads a unit where one may stand. A spelling with a slash or sign
// is a unit anywhere; a short word ("C", "gr", "us") only behind a number, or
// alone in its cell or brackets.
func (x *lexer) unitHere() (stated, int) {
	rest := x.s[x.i:]
	c := rest[0]
	if c < 0x80 && !unitInitial[c] {
		return stated{}, 0
	}
	u, n := scanUnit(rest)
	if n == 0 {
		return stated{}, 0
	}
	p := x.last()
	if p != nil && p.cell == x.cell && p.kind == tokNumber {
		if rest[:n] == "F" && p.num.text != "68" && p.num.text != "77" {
			if k := skipBlanks(rest, n); k > n && k < len(rest) && (isDigit(rest[k]) || rest[k] == '<') {
				return stated{}, 0 // "31 F 0.8": fluoride
			}
		}
		return u, n
	}
	word := rest[:n]
	if strings.ContainsAny(word, "/^%") || strings.Contains(word, "°") || strings.Contains(word, "µ") || strings.Contains(word, "μ") || n >= 9 {
		return u, n
	}
	if end := chunkEnd(rest, 0); strongUnits[foldUnit(rest[:end])] || strongUnits[foldUnit(word)] {
		return u, n
	}
	after := skipBlanks(rest, n)
	if p != nil && p.cell == x.cell {
		if p.kind == tokPunct && (p.fold == "(" || p.fold == "[") && after < len(rest) && (rest[after] == ')' || rest[after] == ']') {
			return u, n
		}
		return stated{}, 0
	}
	if after == len(rest) || p != nil && (after-n >= 2 || rest[after] == '\t' || rest[after] == '|') {
		return u, n
	}
	return stated{}, 0
}

// unitInitial tells which ASCII characters a unit may begin with.
var unitInitial = func() (t [128]bool) {
	for _, c := range "abcdefghjiklmnopqrstuvzABCDEFGHJKILMNOPQRSTUVZ%/#^?1" {
		t[c] = true
	}
	return t
}()

// strongUnits are words that are units wherever they stand.
var strongUnits = map[string]bool{"ppm": true, "ppb": true, "gpg": true, "ntu": true, "fnu": true, "nfu": true, "hazen": true, "umhos": true, "micromhos": true,
	"dgh": true, "dkh": true, "pcu": true, "tcu": true, "mval": true, "epm": true, "e.p.m.": true, "p.p.m.": true, "s.u.": true, "degdh": true, "degfh": true}

func wordEnd(s string, i int) int {
	for i < len(s) {
		c := s[i]
		switch {
		case isLetter(c) || isDigit(c):
			i++
		case c >= 0x80:
			if hasAny(s[i:], "\u00a0", "\u202f", "\u2009", "–", "—", "−", "‐", "‑", "…", "·", "×", "≤", "≥", "±", "°", "’", "‘", "“", "”", "•", "€", "£", "→", "✓", "✗", "☐", "☑", "☒", "≈", "„", "«", "»", "≡", "µ", "μ", "✔", "✘", "■", "□", "●", "○", "▪", "►") {
				return i
			}
			i += runeLen(s[i:])
		default:
			return i
		}
	}
	return i
}

// dotted returns the end of an abbreviation such as n.n., N.D. or s.u.; 0 if
// none starts at i.
func dotted(s string, i int) int {
	n := 0
	j := i
	for j+1 < len(s) && isLetter(s[j]) && s[j+1] == '.' {
		j += 2
		n++
		if j < len(s) && s[j] == ' ' && n == 1 && j+2 < len(s) && isLetter(s[j+1]) && s[j+2] == '.' {
			j++ // "n. n."
		}
	}
	if n >= 2 {
		return j
	}
	if n == 1 && j < len(s) && isLetter(s[j]) && (j+1 == len(s) || !isLetter(s[j+1])) && j+1-i == 3 {
		return j + 1 // "n.d" without the last point
	}
	return 0
}

func isUpper(c byte) bool { return 'A' <= c && c <= 'Z' }

// number adds a number, or what only looks like one.
func (x *lexer) number() {
	s := x.s
	num, n := scanNumeral(s[x.i:], false)
	if n == 0 {
		x.punct()
		return
	}
	if strings.HasPrefix(s[x.i:], "1/m") { // the absorption of a colour
		if u, n := scanUnit(s[x.i:]); n > 0 {
			x.add(tokUnit, x.i+n).unit = u
			return
		}
	}
	end := x.i + n
	if x.method > 0 {
		j := end
		for j < len(s) && (isDigit(s[j]) || isLetter(s[j]) || s[j] == '-' || s[j] == '.' || s[j] == '+' || s[j] == ':' || s[j] == '/') {
			j++
		}
		x.add(tokMethod, j)
		x.method = 2
		return
	}
	if f, m := scanFraction(s[x.i:]); m > 0 {
		if _, u := scanUnit(s[skipBlanks(s, x.i+m):]); u > 0 || !strings.HasPrefix(f.text, "0") {
			x.add(tokNumber, x.i+m).num = f
			return
		}
	}
	chunk := chunkOf(s, x.i)
	if k, m := dateOrCode(chunk); m > 0 {
		x.add(k, x.i+m)
		return
	}
	run := alnumEnd(s, end)
	if end < len(s) && end-x.i <= 8 && (isLetter(s[end]) || s[end] == '|' || (s[end] == '.' || s[end] == ',') && end+1 < len(s) && ocrDigit(s[end+1])) {
		if m := ocrRun(s[x.i:]); m > n {
			x.ocr(m)
			return
		}
	}
	if end < len(s) && isLetter(s[end]) {
		tail := s[end:run]
		_, un := scanUnit(s[end:])
		switch {
		case tail == "st" || tail == "nd" || tail == "rd" || tail == "th":
			t := x.add(tokWord, run)
			t.fold = strings.ToLower(s[t.start:t.end])
			return
		case un > 0 || strings.EqualFold(tail, "ish") || glueWord(tail) || flagLetters(tail):
			// number, then its unit or flag
		case tail == "x" && strings.HasPrefix(s[run:], " 10"):
		default:
			j := x.i
			for j < len(s) && (isDigit(s[j]) || isLetter(s[j]) || (s[j] == '-' || s[j] == '.' || s[j] == '/' || s[j] == ',') && j+1 < len(s) && (isDigit(s[j+1]) || isLetter(s[j+1]))) {
				j++
			}
			x.add(tokCode, j)
			return
		}
	} else if end < len(s) && (s[end] == '-' || s[end] == '\'') && end+1 < len(s) && isLetter(s[end+1]) {
		if m := monthDate(s, end); m > 0 {
			x.add(tokDate, m)
			return
		}
		if _, un := scanUnit(s[end+1:]); un == 0 && !strings.HasPrefix(s[end:], "-ish") { // 2-Chlorotoluene, 1,2-dichloro...
			j := end
			for j < len(s) && s[j] != ' ' && s[j] != '\t' {
				j++
			}
			x.add(tokCode, j)
			return
		}
	}
	if m := splitDecimal(s, end, num.text, len(x.toks) > 0); m > 0 {
		num.text += strings.Trim(s[end:end+m], " ")
		j := end + m
		for j < len(s) && isDigit(s[j]) {
			num.text += s[j : j+1]
			j++
		}
		num.doubt |= doubtOCR
		end = j
	}
	if strings.HasPrefix(num.text, ".") || strings.HasPrefix(num.text, ",") {
		num.text = "0" + num.text
	}
	t := x.add(tokNumber, end)
	t.num = num
}

// ocr adds a number some of whose digits were read as letters.
func (x *lexer) ocr(n int) {
	t := x.add(tokNumber, x.i+n)
	b := []byte(x.s[t.start:t.end])
	for i, c := range b {
		switch c {
		case 'O', 'o':
			b[i] = '0'
		case 'l', 'I', '|', 'i':
			b[i] = '1'
		case 'S':
			b[i] = '5'
		case 'B':
			b[i] = '8'
		}
	}
	text := string(b)
	if text[0] == '.' || text[0] == ',' {
		text = "0" + text
	}
	t.num = numeral{text: text, doubt: doubtOCR}
}
