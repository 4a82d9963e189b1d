package labreport

import (
	"slices"
	"strings"
)

// grid is delimited text: rows with known cells.
type grid struct {
	delimiter byte
	rows      []row      // with text and cells; blank lines have neither
	style     style      // how its numbers are written
	delimited bool       // cut at a delimiter: cells have no place of their own
	notes     []row      // what stands beside the table on other sheets
	heads     [][]headed // of the first rows
}

// styleRows bounds how many rows are asked how numbers are written.
const styleRows = 2000

// learnStyle asks the cells that are numbers and nothing else.
func (t *grid) learnStyle() {
	for _, r := range t.rows[:min(len(t.rows), styleRows)] {
		for _, c := range r.cells {
			if n, ok := wholeNumeral(strings.TrimLeft(c, "< ")); ok {
				n.witness(&t.style)
			}
		}
	}
}

// delimited reads lines as CSV (RFC 4180), semicolon CSV or TSV, if their
// columns say that they are. Text in columns of blanks is none of it.
func delimited(lines []string) (grid, bool) {
	if len(lines) > 0 {
		// The spreadsheet habit of naming the separator in the first line.
		if l := strings.TrimSpace(lines[0]); len(l) == 5 && strings.HasPrefix(strings.ToLower(l), "sep=") && strings.IndexByte(delimiters, l[4]) >= 0 {
			t := cut(lines, l[4])
			t.rows[0].cells = nil
			return t, true
		}
	}
	for _, d := range []byte(delimiters) {
		if !strings.ContainsRune(strings.Join(lines[:min(len(lines), 200)], "\n"), rune(d)) {
			continue
		}
		if t := cut(lines, d); t.regular() && !(d == ',' && t.sentences()) {
			return t, true
		}
	}
	return grid{}, false
}

// delimiters, the surest first: a tab or a semicolon seldom stands in prose.
const delimiters = "\t;,|"

// slack is how many cells a row of CSV may be short, and from how many on.
// Writers of CSV leave none out (RFC 4180, 2.4), but cells are lost by hand.
const slack, slackFrom = 2, 5

// regular tells a table from prose that happens to contain the delimiter:
// most of its lines have the same number of cells.
func (t grid) regular() bool {
	counts := map[int]int{}
	all, cut := 0, 0
	for _, r := range t.rows {
		if r.text == "" {
			continue
		}
		all++
		if len(r.cells) > 1 {
			cut++
			counts[len(r.cells)]++
		}
	}
	usual := 0
	for n, c := range counts {
		if c > counts[usual] || c == counts[usual] && n > usual {
			usual = n
		}
	}
	least := 2
	if t.delimiter == ',' || t.delimiter == '|' {
		least = 3 // one comma a line is prose, or a decimal comma
	}
	if t.delimiter == '|' && t.ruled() {
		return false
	}
	if usual < least || cut < 2 {
		return false
	}
	// Exporters leave trailing empty cells out, so shorter rows still fit.
	fits := 0
	for n, c := range counts {
		if n == usual || n < usual && (t.delimiter != ',' || usual >= slackFrom && n >= usual-slack) {
			fits += c
		}
	}
	return cut*10 >= all*6 && fits*10 >= cut*8
}

// sentences tells running text from a table: half of its cells hold a word, a
// blank and a number, as in "hardness 18 gpg, iron 2.4 ppm".
func (t grid) sentences() bool {
	all, pairs := 0, 0
	for _, r := range t.rows[:min(len(t.rows), styleRows)] {
		for _, c := range r.cells {
			if c == "" {
				continue
			}
			all++
			word, rest, _ := strings.Cut(c, " ")
			if len(word) > 1 && isLetter(word[0]) && isLetter(word[1]) && strings.ContainsAny(rest, "0123456789") {
				pairs++
			}
		}
	}
	return 2*pairs > all
}

// ruled tells whether bars are drawn around a table rather than between its
// cells, or rows of dashes under its heading: a table typed into text.
func (t grid) ruled() bool {
	return slices.ContainsFunc(t.rows, func(r row) bool {
		return len(r.cells) > 1 && (r.cells[0] == "" && r.cells[len(r.cells)-1] == "" || strings.Trim(r.text, "\t-:= +") == "")
	})
}

// cut splits lines into cells. A quoted cell may hold the delimiter, quotes
// written twice, and line ends; its row stands at the line where it begins,
// and the lines that it swallows become rows without text of their own.
func cut(lines []string, d byte) grid {
	t := grid{delimiter: d, rows: make([]row, 0, len(lines))}
	for i := 0; i < len(lines); {
		r, n := cutRow(lines[i:], d)
		r.line, r.span = i+1, n-1
		t.rows = append(t.rows, r)
		i += n
	}
	return t
}

// cutRow cuts the row at the start of lines and tells how many lines it took.
func cutRow(lines []string, d byte) (row, int) {
	line := lines[0]
	if strings.TrimSpace(line) == "" {
		return row{}, 1
	}
	if strings.IndexByte(line, '"') < 0 {
		cells := strings.Split(line, string(d))
		for i := range cells {
			cells[i] = strings.TrimSpace(cells[i])
		}
		return row{text: strings.Join(cells, "\t"), cells: cells}, 1
	}
	var cells []string
	taken := 1
	for rest, more := line, true; more; {
		var cell string
		if q := strings.TrimLeft(rest, " "); strings.HasPrefix(q, `"`) {
			if c, after, n, ok := quotedCell(q, lines[taken:], d); ok {
				cells, rest, taken = append(cells, c), after, taken+n
				rest, more = strings.CutPrefix(rest, string(d))
				continue
			}
		}
		cell, rest, more = strings.Cut(rest, string(d))
		cells = append(cells, strings.TrimSpace(cell))
	}
	return row{text: strings.Join(cells, "\t"), cells: cells}, taken
}

// quotedCell reads the quoted cell at the start of s, going on into more lines if
// it must. It fails when the quote is not closed, or is followed by something
// other than the delimiter.
func quotedCell(s string, more []string, d byte) (cell, rest string, lines int, ok bool) {
	var b strings.Builder
	s = s[1:]
	for {
		i := strings.IndexByte(s, '"')
		if i < 0 {
			if lines == len(more) || lines == maxQuotedLines {
				return "", "", 0, false
			}
			b.WriteString(s + " ")
			s = more[lines]
			lines++
			continue
		}
		b.WriteString(s[:i])
		s = s[i+1:]
		if strings.HasPrefix(s, `"`) {
			b.WriteByte('"')
			s = s[1:]
			continue
		}
		s = strings.TrimLeft(s, " ")
		if s != "" && s[0] != d {
			return "", "", 0, false
		}
		return strings.TrimSpace(b.String()), s, lines, true
	}
}
