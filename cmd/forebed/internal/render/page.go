package render

import (
	"fmt"
	"io"
	"strings"
	"text/tabwriter"
	"unicode/utf8"
)

// width is the number of columns that text is wrapped to.
const width = 96

// page writes plain text: headings, wrapped paragraphs, lists and tables.
// Errors stick, and are returned by the caller's last step.
type page struct {
	w   io.Writer
	err error
}

func (p *page) print(s string) {
	if p.err == nil {
		_, p.err = io.WriteString(p.w, s)
	}
}

func (p *page) line(format string, args ...any) {
	p.print(strings.TrimRight(fmt.Sprintf(format, args...), " ") + "\n")
}

func (p *page) blank() { p.print("\n") }

// heading starts a section.
func (p *page) heading(s string) {
	p.blank()
	p.line("%s", strings.ToUpper(s))
}

// para writes a wrapped paragraph behind a lead; following lines are indented
// to the width of the lead.
func (p *page) para(lead, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(lead))
	for i, l := range wrap(text, width-len(indent)) {
		if i == 0 {
			p.line("%s%s", lead, l)
		} else {
			p.line("%s%s", indent, l)
		}
	}
}

// item is a paragraph of a list.
func (p *page) item(text string) { p.para("  - ", text) }

// row is a paragraph with a label in front, labels aligned.
func (p *page) row(label, text string) { p.para(fmt.Sprintf("  %-15s", label), text) }

// table writes rows of cells in aligned columns. Cells of columns whose head
// starts with ">" are aligned to the right.
func (p *page) table(head []string, rows [][]string) {
	if p.err != nil || len(rows) == 0 {
		return
	}
	right := make([]bool, len(head))
	wide := make([]int, len(head))
	plain := make([]string, len(head))
	for i, h := range head {
		right[i] = strings.HasPrefix(h, ">")
		plain[i] = strings.TrimPrefix(h, ">")
		wide[i] = utf8.RuneCountInString(plain[i])
	}
	for _, r := range rows {
		for i, c := range r {
			wide[i] = max(wide[i], utf8.RuneCountInString(c))
		}
	}
	tw := tabwriter.NewWriter(p.w, 0, 0, 2, ' ', 0)
	for _, r := range append([][]string{plain}, rows...) {
		cells := make([]string, len(r))
		for i, c := range r {
			if right[i] {
				c = strings.Repeat(" ", wide[i]-utf8.RuneCountInString(c)) + c
			}
			cells[i] = c
		}
		if _, err := fmt.Fprintln(tw, "  "+strings.TrimRight(strings.Join(cells, "\t"), " \t")); err != nil {
			p.err = err
			return
		}
	}
	p.err = tw.Flush()
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
