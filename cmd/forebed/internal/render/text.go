package render

import (
	"fmt"
	"io"
	"slices"
	"strings"
	"text/tabwriter"
	"unicode/utf8"
)

// width is the number of columns that text is wrapped to.
const width = 98

// Text writes blocks as plain text for a terminal.
func Text(w io.Writer, blocks []Block) error {
	p := &printer{w: w}
	blocks = inLetters(blocks)
	for i, b := range blocks {
		if i > 0 && apart(blocks[i-1].Kind, b.Kind) {
			p.print("\n")
		}
		switch b.Kind {
		case Title, Lead:
			p.para("", b.Text)
		case Heading:
			p.para("", strings.ToUpper(b.Text))
		case Para:
			p.para("  ", b.Text)
		case Fact:
			p.para(fmt.Sprintf("  %-15s ", b.Label), b.Text)
		case Item:
			p.para("  - ", b.Text)
		case Sub:
			p.para("      ", b.Text)
		case Entry:
			p.para("  ", b.Text)
		case Detail:
			p.para(fmt.Sprintf("     %-9s", b.Label), b.Text)
		case Table:
			p.table(b.Head, b.Rows)
		case Picture:
			for l := range strings.Lines(b.Text) {
				p.print("  " + l)
			}
		}
	}
	return p.err
}

// inLetters leaves out the pictures that have no drawing in letters.
func inLetters(blocks []Block) []Block {
	return slices.DeleteFunc(slices.Clone(blocks), func(b Block) bool { return b.Kind == Picture && b.Text == "" })
}

// apart tells whether an empty line stands between two blocks.
func apart(before, after Kind) bool {
	switch after {
	case Heading, Entry:
		return before != Heading
	case Table, Picture:
		return before != Heading && before != Para
	case Para:
		return before == Table || before == Picture || before == Fact || before == Detail || before == Item || before == Sub
	}
	return before == Table || before == Picture
}

// printer writes text; the first error sticks.
type printer struct {
	w   io.Writer
	err error
}

func (p *printer) print(s string) {
	if p.err == nil {
		_, p.err = io.WriteString(p.w, s)
	}
}

// para writes wrapped text behind a lead; following lines are indented to the
// width of the lead.
func (p *printer) para(lead, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(lead))
	for i, l := range wrap(Clean(text), width-len(indent)) {
		if i > 0 {
			lead = indent
		}
		p.print(strings.TrimRight(lead+l, " ") + "\n")
	}
}

// table writes rows in aligned columns.
func (p *printer) table(head []string, rows [][]string) {
	wide := make([]int, len(head))
	names := make([]string, len(head))
	for i, h := range head {
		names[i] = strings.TrimPrefix(h, ">")
		wide[i] = utf8.RuneCountInString(names[i])
	}
	for _, r := range rows {
		for i, c := range r {
			wide[i] = max(wide[i], utf8.RuneCountInString(Clean(c)))
		}
	}
	var aligned strings.Builder // a Builder never fails
	tw := tabwriter.NewWriter(&aligned, 0, 0, 2, ' ', 0)
	line := func(r []string) {
		cells := make([]string, len(r))
		for i, c := range r {
			c = Clean(c)
			if strings.HasPrefix(head[i], ">") {
				c = strings.Repeat(" ", wide[i]-utf8.RuneCountInString(c)) + c
			}
			cells[i] = c
		}
		fmt.Fprintln(tw, "  "+strings.Join(cells, "\t"))
	}
	if strings.Join(names, "") != "" {
		line(names)
	}
	for _, r := range rows {
		line(r)
	}
	_ = tw.Flush()
	for l := range strings.Lines(aligned.String()) {
		p.print(strings.TrimRight(l, " \n") + "\n")
	}
}

// Clean makes text from a report harmless to a terminal: control characters
// and bidirectional marks become visible stand-ins.
func Clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case r < ' ' || r == 0x7f || 0x80 <= r && r < 0xa0,
			0x200b <= r && r <= 0x200f, 0x202a <= r && r <= 0x202e, 0x2066 <= r && r <= 0x2069, r == 0xfeff:
			return '\ufffd'
		}
		return r
	}, s)
}

// wrap breaks text at blanks into lines of at most n runes.
func wrap(text string, n int) []string {
	var lines []string
	var line strings.Builder
	length := 0
	for _, word := range strings.Fields(text) {
		w := utf8.RuneCountInString(word)
		if length > 0 && length+1+w > n {
			lines = append(lines, line.String())
			line.Reset()
			length = 0
		}
		if length > 0 {
			line.WriteByte(' ')
			length++
		}
		line.WriteString(word)
		length += w
	}
	if length > 0 || len(lines) == 0 {
		lines = append(lines, line.String())
	}
	return lines
}
