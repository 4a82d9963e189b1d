package labreport

import (
	"slices"
	"strconv"
	"strings"

	"golang.org/x/net/html"
	"golang.org/x/net/html/atom"
)

// looksLikeHTML tells the source of a page or of a mail.
func looksLikeHTML(text string) bool {
	head := strings.ToLower(strings.TrimLeft(text[:min(len(text), 4096)], " \t\r\n"))
	if strings.HasPrefix(head, "<!doctype html") || strings.HasPrefix(head, "<html") {
		return true
	}
	tags := 0
	for _, t := range [...]string{"<html", "<body", "<table", "<tr", "<td", "<th", "<div", "<p>", "<br", "<span", "<li>", "</"} {
		if strings.Contains(head, t) {
			tags++
		}
	}
	return tags >= 2
}

// readHTML reads a page as it is shown: the rows of its tables with their
// cells, other text line by line. Lines are counted as shown, because the
// source may be one long line. What is struck out or hidden is left out.
// Tokens only, no tree: the work grows with the input and nothing nests.
func readHTML(text string) source {
	p := page{tokens: html.NewTokenizer(strings.NewReader(text))}
	for {
		switch p.tokens.Next() {
		case html.ErrorToken:
			p.endLine()
			for len(p.tables) > 0 {
				p.endTable()
			}
			return source{format: "html", rows: p.rows}
		case html.TextToken:
			if p.hidden == 0 {
				p.write(string(p.tokens.Text()))
			}
		case html.StartTagToken, html.SelfClosingTagToken:
			p.start()
		case html.EndTagToken:
			name, _ := p.tokens.TagName()
			p.end(atom.Lookup(name))
		}
	}
}

// page gathers the rows of a page.
type page struct {
	tokens *html.Tokenizer
	rows   []row
	line   strings.Builder // text outside tables
	tables []*htmlTable    // open tables, the innermost last
	hidden int             // open elements that are not shown
	skip   []atom.Atom     // those elements
	raised bool            // inside sup
	set    int             // open pre elements: blanks and line ends stand as they are
}

// htmlTable is an open table and the row being gathered.
type htmlTable struct {
	cells  []string
	cell   strings.Builder
	inCell bool
	span   int          // cells that the open one stands for; its text is in the first
	down   int          // rows that the open cell stands for; its text is in all of them
	held   map[int]held // columns in which a cell of a row above goes on
}

// held is a cell that goes on into further rows.
type held struct {
	rows int
	text string
}

var (
	unseen = []atom.Atom{atom.Script, atom.Style, atom.Head, atom.Title, atom.Template, atom.Del, atom.S, atom.Strike, atom.Noscript, atom.Select, atom.Textarea}
	breaks = []atom.Atom{atom.P, atom.Div, atom.Br, atom.Li, atom.Ul, atom.Ol, atom.H1, atom.H2, atom.H3, atom.H4, atom.H5, atom.H6, atom.Hr, atom.Blockquote, atom.Dt, atom.Dd, atom.Section, atom.Article, atom.Header, atom.Footer, atom.Caption, atom.Form, atom.Address, atom.Main}
)

func (p *page) start() {
	name, more := p.tokens.TagName()
	tag := atom.Lookup(name)
	span, down, hide := 1, 1, slices.Contains(unseen, tag)
	for more {
		var key, value []byte
		key, value, more = p.tokens.TagAttr()
		switch string(key) {
		case "colspan":
			if n, err := strconv.Atoi(string(value)); err == nil {
				span = min(max(n, 1), maxSpan)
			}
		case "rowspan":
			if n, err := strconv.Atoi(string(value)); err == nil {
				down = min(max(n, 1), maxSpan)
			}
		case "hidden":
			hide = true
		case "style":
			s := strings.ReplaceAll(strings.ToLower(string(value)), " ", "")
			hide = hide || strings.Contains(s, "display:none") || strings.Contains(s, "line-through")
		}
	}
	if hide && tag != 0 && !void(tag) {
		p.hidden++
		p.skip = append(p.skip, tag)
	}
	if p.hidden > 0 {
		return
	}
	t := p.table()
	switch {
	case tag == atom.Table:
		p.startTable()
	case tag == atom.Sup:
		p.raised = true
	case tag == atom.Pre:
		p.breakLine()
		p.set++
	case t != nil && tag == atom.Tr:
		p.endRow()
	case t != nil && (tag == atom.Td || tag == atom.Th):
		p.endCell()
		t.inCell, t.span, t.down = true, span, down
	case slices.Contains(breaks, tag):
		p.breakLine()
	}
}

// void tells elements that have no end tag.
func void(tag atom.Atom) bool {
	return slices.Contains([]atom.Atom{atom.Br, atom.Hr, atom.Img, atom.Input, atom.Meta, atom.Link, atom.Col}, tag)
}

func (p *page) end(tag atom.Atom) {
	if n := len(p.skip); n > 0 {
		if p.skip[n-1] == tag {
			p.skip = p.skip[:n-1]
			p.hidden--
		}
		return
	}
	switch {
	case tag == atom.Table && p.table() != nil:
		p.endTable()
	case tag == atom.Sup:
		p.raised = false
	case tag == atom.Pre && p.set > 0:
		p.breakLine()
		p.set--
	case p.table() != nil && tag == atom.Tr:
		p.endRow()
	case p.table() != nil && (tag == atom.Td || tag == atom.Th):
		p.endCell()
	case slices.Contains(breaks, tag):
		p.breakLine()
	}
}

func (p *page) table() *htmlTable {
	if len(p.tables) == 0 {
		return nil
	}
	return p.tables[len(p.tables)-1]
}

// startTable opens a table. What the row around it has gathered so far is
// layout, not data, and stands as a row of its own.
func (p *page) startTable() {
	if p.table() != nil {
		p.endRow()
	}
	p.endLine()
	if len(p.tables) < maxTables {
		p.tables = append(p.tables, &htmlTable{})
	}
}

func (p *page) endTable() {
	p.endRow()
	p.tables = p.tables[:len(p.tables)-1]
}

func (p *page) endRow() {
	t := p.table()
	p.endCell()
	if len(t.cells) > 0 {
		t.goOn()
	}
	if blank := !slices.ContainsFunc(t.cells, func(c string) bool { return strings.TrimSpace(c) != "" }); !blank {
		r := row{line: len(p.rows) + 1, text: strings.Join(t.cells, "\t"), cells: t.cells}
		if len(t.cells) == 1 {
			r.cells = nil // one cell is a line of text
		}
		p.rows = append(p.rows, r)
	}
	if len(t.cells) > 0 {
		t.countDown()
	}
	t.cells = nil
}

func (p *page) endCell() {
	t := p.table()
	if t.inCell || strings.TrimSpace(t.cell.String()) != "" {
		t.goOn()
		text := asShown(t.cell.String())
		if t.inCell && t.down > 1 {
			if t.held == nil {
				t.held = map[int]held{}
			}
			for k := range max(t.span, 1) {
				h := held{rows: t.down}
				if k == 0 {
					h.text = text
				}
				t.held[len(t.cells)+k] = h
			}
		}
		t.cells = append(t.cells, text)
		for ; t.span > 1; t.span-- {
			t.cells = append(t.cells, "")
		}
	}
	t.cell.Reset()
	t.inCell = false
}

// goOn puts the cells of rows above that go on here.
func (t *htmlTable) goOn() {
	for {
		h, ok := t.held[len(t.cells)]
		if !ok {
			return
		}
		t.cells = append(t.cells, h.text)
	}
}

// countDown ends the cells that go on no further.
func (t *htmlTable) countDown() {
	for j, h := range t.held {
		if h.rows--; h.rows == 0 {
			delete(t.held, j)
		} else {
			t.held[j] = h
		}
	}
}

func (p *page) breakLine() {
	if t := p.table(); t != nil {
		t.cell.WriteByte(' ')
		return
	}
	p.endLine()
}

func (p *page) endLine() {
	s := asShown(p.line.String())
	if p.set > 0 && s != "" {
		s = strings.TrimRight(p.line.String(), " \r")
	}
	if strings.TrimSpace(s) != "" { // blanks of other kinds alone are no line
		p.rows = append(p.rows, row{line: len(p.rows) + 1, text: s})
	}
	p.line.Reset()
}

func (p *page) write(s string) {
	to := &p.line
	if t := p.table(); t != nil {
		to = &t.cell
	}
	if p.raised {
		s = raised.Replace(s)
		if before := to.String(); strings.HasSuffix(before, "/L") || strings.HasSuffix(before, "/l") {
			s = " " + s // a footnote, not part of the unit
		}
	}
	if p.set == 0 || p.table() != nil {
		to.WriteString(s)
		return
	}
	for {
		line, rest, more := strings.Cut(s, "\n")
		to.WriteString(line)
		if s = rest; !more {
			return
		}
		p.endLine()
	}
}

// asShown makes one blank of any run of ordinary blanks and line ends, as a
// browser does. Non-breaking blanks stay.
func asShown(s string) string {
	return strings.Join(strings.FieldsFunc(s, func(r rune) bool { return strings.ContainsRune(" \t\r\n\f\v", r) }), " ")
}

// raised spells what stands in sup so that it cannot run into the number
// before it: 39 with a footnote 2 is not 392, and 10 with an exponent is not 103.
var raised = strings.NewReplacer("0", "⁰", "1", "¹", "2", "²", "3", "³", "4", "⁴", "5", "⁵", "6", "⁶", "7", "⁷", "8", "⁸", "9", "⁹", "-", "⁻", "−", "⁻", "+", "⁺", "a", "ᵃ", "b", "ᵇ", "c", "ᶜ", "d", "ᵈ")
