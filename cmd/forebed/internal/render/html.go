package render

import (
	"embed"
	"html/template"
	"io"
	"strings"
)

//go:embed sheet.css page.tmpl
var assets embed.FS

// StyleSheet is the style sheet of every page, for a server that hands it out
// as a file of its own.
func StyleSheet() []byte {
	b, err := assets.ReadFile("sheet.css")
	if err != nil {
		panic(err) // embedded
	}
	return b
}

var pageTemplate = template.Must(template.New("page.tmpl").ParseFS(assets, "page.tmpl"))

// HTML writes blocks as one self-contained page: no script, no request to
// anywhere, style sheet and pictures inside.
func HTML(w io.Writer, blocks []Block) error {
	title := "forebed"
	for _, b := range blocks {
		if b.Kind == Title {
			title = b.Text
			break
		}
	}
	return pageTemplate.Execute(w, struct {
		Title string
		Sheet template.CSS
		Body  template.HTML
	}{Clean(title), template.CSS(StyleSheet()), Fragment(blocks)}) // #nosec: both are our own
}

// Fragment returns blocks as markup without a page around it. All text is
// escaped; the pictures escape their own.
func Fragment(blocks []Block) template.HTML {
	h := &markup{}
	for _, b := range blocks {
		h.block(b)
	}
	h.enter("")
	if h.section {
		h.b.WriteString("</section>\n")
	}
	return template.HTML(h.b.String())
}

// markup writes HTML; open is the list or table-like element that is open.
type markup struct {
	b       strings.Builder
	open    string
	section bool
}

// enter closes the open element if it is another one, and opens the new one.
func (h *markup) enter(element string) {
	if h.open == element {
		return
	}
	if h.open != "" {
		if h.open == "ul" {
			h.b.WriteString("</li>")
		}
		h.b.WriteString("</" + h.open + ">\n")
	}
	if element != "" {
		h.b.WriteString("<" + element + ">\n")
	}
	h.open = element
}

func (h *markup) tag(name, text string) {
	h.b.WriteString("<" + name + ">" + esc(text) + "</" + strings.Fields(name)[0] + ">\n")
}

func (h *markup) block(b Block) {
	switch b.Kind {
	case Fact, Detail:
		h.enter("dl")
		if b.Label != "" {
			h.tag("dt", b.Label)
			h.tag("dd", b.Text)
		} else {
			h.tag(`dd class="small"`, b.Text)
		}
		return
	case Item:
		fresh := h.open != "ul"
		h.enter("ul")
		if !fresh {
			h.b.WriteString("</li>\n")
		}
		if b.Tone == Plain {
			h.b.WriteString("<li>" + esc(b.Text))
		} else {
			h.b.WriteString(`<li class="` + string(b.Tone) + `"><strong>` + esc(string(b.Tone)) + "</strong> " + esc(b.Text))
		}
		return
	case Sub:
		if h.open == "ul" {
			h.b.WriteString("<small>" + esc(b.Text) + "</small>")
		} else {
			h.enter("")
			h.tag(`p class="small"`, b.Text)
		}
		return
	}
	h.enter("")
	switch b.Kind {
	case Title:
		h.tag("h1", b.Text)
	case Lead:
		h.tag(`p class="lead"`, b.Text)
	case Heading:
		if h.section {
			h.b.WriteString("</section>\n")
		}
		h.b.WriteString(`<section class="` + slug(b.Text) + `">` + "\n")
		h.section = true
		h.tag("h2", b.Text)
	case Entry:
		h.tag("h3", b.Text)
	case Para:
		h.tag("p", b.Text)
	case Table:
		h.table(b.Head, b.Rows)
	case Picture:
		h.b.WriteString("<figure>")
		if b.Label != "" {
			h.tag("figcaption", b.Label)
		}
		h.b.WriteString(b.SVG + "</figure>\n")
	}
}

func (h *markup) table(head []string, rows [][]string) {
	h.b.WriteString(`<div class="wide" tabindex="0" role="group" aria-label="table"><table>` + "\n")
	if strings.Trim(strings.Join(head, ""), ">") != "" {
		h.b.WriteString("<thead><tr>")
		for _, c := range head {
			if c == "" {
				h.b.WriteString("<td></td>") // a header cell must say something
				continue
			}
			h.b.WriteString(`<th scope="col"` + class(c) + ">" + esc(strings.TrimPrefix(c, ">")) + "</th>")
		}
		h.b.WriteString("</tr></thead>\n")
	}
	h.b.WriteString("<tbody>\n")
	for _, r := range rows {
		h.b.WriteString("<tr>")
		for i, c := range r {
			if i == 0 {
				h.b.WriteString(`<th scope="row"` + class(head[i]) + ">" + esc(c) + "</th>")
			} else {
				h.b.WriteString("<td" + class(head[i]) + ">" + esc(c) + "</td>")
			}
		}
		h.b.WriteString("</tr>\n")
	}
	h.b.WriteString("</tbody></table></div>\n")
}

func class(head string) string {
	if strings.HasPrefix(head, ">") {
		return ` class="num"`
	}
	return ""
}

func esc(s string) string { return template.HTMLEscapeString(Clean(s)) }

// slug turns a heading into a class name.
func slug(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case 'a' <= r && r <= 'z':
			return r
		case 'A' <= r && r <= 'Z':
			return r + 'a' - 'A'
		case r == ' ':
			return '-'
		}
		return -1
	}, s)
}
