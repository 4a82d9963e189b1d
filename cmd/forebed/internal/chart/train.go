package chart

import "strings"

// Train is a drawing of the stages in flow order, with key numbers of the
// water between them.
type Train struct {
	ID, Title, Desc string
	Boxes           []Box
}

// Box is one place of the train: the well, a stage, the vessel, the hose.
type Box struct {
	Name  string
	Kind  BoxKind
	Water []string // key numbers of the water that leaves it
}

// BoxKind tells how a box is drawn.
type BoxKind int

// The kinds of box.
const (
	Source BoxKind = iota
	Stage
	Vessel
	Outlet
)

// SVG draws the train from left to right, in rows of four boxes.
func (k Train) SVG() string {
	const w, boxW, boxH, perRow = 720.0, 118.0, 58.0, 4
	const stepX = (w - boxW - 4) / (perRow - 1)
	lines := 0
	for _, b := range k.Boxes {
		lines = max(lines, len(b.Water))
	}
	rowH := boxH + 22 + float64(lines)*14 + 20
	rows := (len(k.Boxes) + perRow - 1) / perRow
	c := open(k.ID, k.Title, k.Desc, w, float64(rows)*rowH+6)
	for i, b := range k.Boxes {
		x := 2 + float64(i%perRow)*stepX
		y := 4 + float64(i/perRow)*rowH
		fill, stroke := shaded, grey
		switch b.Kind {
		case Source, Outlet:
			fill, stroke = water, blue
		case Vessel:
			fill, stroke = "#e3d3e6", plum
		}
		c.rect(x, y, boxW, boxH, fill, stroke)
		words := fold(b.Name, 17)
		ty := y + boxH/2 + 4 - float64(len(words)-1)*7.5
		for _, l := range words {
			c.bold(x+boxW/2, ty, "middle", 12, l)
			ty += 15
		}
		for j, t := range b.Water {
			c.text(x+boxW/2, y+boxH+18+float64(j)*14, "middle", grey, 11.5, t)
		}
		if i+1 < len(k.Boxes) {
			if (i+1)%perRow != 0 {
				c.arrow(x+boxW+3, y+boxH/2, x+stepX-3, y+boxH/2)
			} else {
				c.text(x+boxW, y+boxH+rowH-boxH-14, "end", grey, 11, "continues below")
			}
		}
	}
	return c.close()
}

// arrow draws a flow arrow from left to right.
func (c *canvas) arrow(x1, y1, x2, y2 float64) {
	c.line(x1, y1, x2-5, y2, blue, "", 2)
	c.path([][2]float64{{x2 - 7, y2 - 4.5}, {x2, y2}, {x2 - 7, y2 + 4.5}}, blue, "", 2)
}

// fold breaks a name into at most three lines of about n letters.
func fold(s string, n int) []string {
	var lines []string
	line := ""
	for _, word := range strings.Fields(s) {
		if line != "" && len([]rune(line))+1+len([]rune(word)) > n {
			lines = append(lines, line)
			line = word
			continue
		}
		if line != "" {
			line += " "
		}
		line += word
	}
	lines = append(lines, line)
	if len(lines) > 3 {
		lines = append(lines[:2], lines[2]+" …")
	}
	return lines
}
