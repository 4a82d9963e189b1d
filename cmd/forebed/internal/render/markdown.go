package render

import (
	"fmt"
	"io"
	"strings"
)

// Markdown writes blocks as Markdown for e-mail and notes, with tables as
// GitHub-flavoured Markdown has them.
func Markdown(w io.Writer, blocks []Block) error {
	p := &printer{w: w}
	blocks = inLetters(blocks)
	for i, b := range blocks {
		if i > 0 && b.Kind != Picture && !(blocks[i-1].Kind == b.Kind && listed(b.Kind)) && b.Kind != Sub && b.Kind != Detail {
			p.print("\n")
		}
		text := escapeMarkdown(b.Text)
		switch b.Kind {
		case Title:
			p.print("# " + text + "\n")
		case Lead:
			p.print("*" + text + "*\n")
		case Heading:
			p.print("## " + text + "\n")
		case Entry:
			p.print("### " + text + "\n")
			if i+1 < len(blocks) && blocks[i+1].Kind == Detail {
				p.print("\n")
			}
		case Para:
			p.print(text + "\n")
		case Fact, Detail:
			if b.Label == "" {
				p.print("  " + text + "\n")
			} else {
				p.print(fmt.Sprintf("- **%s**: %s\n", escapeMarkdown(b.Label), text))
			}
		case Item:
			p.print("- " + text + "\n")
		case Sub:
			p.print("  <br>" + text + "\n")
		case Table:
			p.markdownTable(b.Head, b.Rows)
		case Picture:
			p.print("\n```text\n" + b.Text + "```\n")
		}
	}
	return p.err
}

func listed(k Kind) bool { return k == Item || k == Fact || k == Sub || k == Detail }

func (p *printer) markdownTable(head []string, rows [][]string) {
	row := func(cells []string) {
		p.print("|")
		for _, c := range cells {
			p.print(" " + strings.ReplaceAll(escapeMarkdown(c), "|", "\\|") + " |")
		}
		p.print("\n")
	}
	names := make([]string, len(head))
	rule := "|"
	for i, h := range head {
		names[i] = strings.TrimPrefix(h, ">")
		if strings.HasPrefix(h, ">") {
			rule += "---:|"
		} else {
			rule += "---|"
		}
	}
	row(names)
	p.print(rule + "\n")
	for _, r := range rows {
		row(r)
	}
}

// escapeMarkdown keeps text from a report from being read as markup.
func escapeMarkdown(s string) string {
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", "*", "\\*", "_", "\\_", "`", "\\`", "[", "\\[", "]", "\\]", "#", "\\#").Replace(Clean(s))
}
