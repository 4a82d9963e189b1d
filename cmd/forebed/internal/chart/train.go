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

// SVG draws the train in rows of three boxes, from left to right.
func (k Train) SVG() string {
	const boxW, boxH, perRow, lineH, lane = 108.0, 54.0, 3, 13.5, 24.0
	const stepX = (wide - boxW - 12) / (perRow - 1)
	lines := 0
	for _, b := range k.Boxes {
		lines = max(lines, len(b.Water))
	}
	rowH := boxH + 10 + float64(lines)*lineH + lane
	rows := (len(k.Boxes) + perRow - 1) / perRow
	c := open(k.ID, k.Title, k.Desc, wide, float64(rows)*rowH-lane+10)
	for i, b := range k.Boxes {
		x := 2 + float64(i%perRow)*stepX
		y := 3 + float64(i/perRow)*rowH
		fill, stroke := shaded, grey
		switch b.Kind {
		case Source, Outlet:
			fill, stroke = water, blue
		case Vessel:
			fill, stroke = "#e3d3e6", plum
		}
		c.rect(x, y, boxW, boxH, fill, stroke)
		words := fold(b.Name, 15)
		ty := y + boxH/2 + 4 - float64(len(words)-1)*7.5
		for _, l := range words {
			c.bold(x+boxW/2, ty, "middle", 12, l)
			ty += 15
		}
		for j, t := range b.Water {
			c.text(x+boxW/2, y+boxH+15+float64(j)*lineH, "middle", grey, 11.5, t)
		}
		switch {
		case i+1 == len(k.Boxes):
		case (i+1)%perRow != 0:
			c.arrow([2]float64{x + boxW + 2, y + boxH/2}, [2]float64{x + stepX - 2, y + boxH/2})
		default: // round the end of the row to the beginning of the next
			turn := y + rowH - lane/2 - 2
			c.arrow([2]float64{x + boxW + 1, y + boxH/2}, [2]float64{wide - 3, y + boxH/2}, [2]float64{wide - 3, turn},
				[2]float64{2 + boxW/2, turn}, [2]float64{2 + boxW/2, y + rowH - 2})
		}
	}
	return c.close()
}

// arrow draws a flow arrow along points; its last leg runs right or down.
func (c *canvas) arrow(points ...[2]float64) {
	c.path(points, blue, "", 2)
	end, before := points[len(points)-1], points[len(points)-2]
	if end[1] == before[1] {
		c.path([][2]float64{{end[0] - 6, end[1] - 4.5}, end, {end[0] - 6, end[1] + 4.5}}, blue, "", 2)
		return
	}
	c.path([][2]float64{{end[0] - 4.5, end[1] - 6}, end, {end[0] + 4.5, end[1] - 6}}, blue, "", 2)
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
