package chart

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"
)

// The palette: ink, two greys, and four hues that stay apart in grey print
// and for colour-blind eyes. Contrast of text on white is at least 4.5 to 1.
const (
	ink    = "#1d2b33"
	grey   = "#55646d"
	faint  = "#d7dee2"
	paper  = "#ffffff"
	blue   = "#1f5f8b"
	rust   = "#a1441c"
	moss   = "#4d6b2a"
	plum   = "#6d3f78"
	water  = "#dbe9f1"
	shaded = "#eef2f4"
)

var hues = []string{blue, rust, moss, plum}

// dashes go with hues: the first line is solid.
var dashes = []string{"", "7 4", "2 3", "10 3 2 3"}

// wide is the width of every picture in its own units. It is that of a phone
// or of a column on paper, where a label of 12 units stays readable.
const wide = 420.0

const font = `font-family="system-ui, -apple-system, 'Segoe UI', 'Liberation Sans', sans-serif"`

// canvas collects the elements of one picture.
type canvas struct {
	b    strings.Builder
	w, h float64
}

// open starts a picture. id must be unique on its page.
func open(id, title, desc string, w, h float64) *canvas {
	c := &canvas{w: w, h: h}
	fmt.Fprintf(&c.b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %s %s" role="img" aria-labelledby="%s-t %s-d" %s font-size="12" fill="%s">`,
		num(w), num(h), id, id, font, ink)
	fmt.Fprintf(&c.b, `<title id="%s-t">%s</title><desc id="%s-d">%s</desc>`, id, html.EscapeString(title), id, html.EscapeString(desc))
	return c
}

func (c *canvas) close() string {
	c.b.WriteString("</svg>")
	return c.b.String()
}

// num prints a coordinate with at most two decimals.
func num(v float64) string {
	return strconv.FormatFloat(math.Round(v*100)/100, 'f', -1, 64)
}

func (c *canvas) rect(x, y, w, h float64, fill, stroke string) {
	fmt.Fprintf(&c.b, `<rect x="%s" y="%s" width="%s" height="%s" fill="%s"`, num(x), num(y), num(max(w, 0)), num(max(h, 0)), fill)
	if stroke != "" {
		fmt.Fprintf(&c.b, ` stroke="%s"`, stroke)
	}
	c.b.WriteString("/>")
}

func (c *canvas) line(x1, y1, x2, y2 float64, stroke, dash string, width float64) {
	fmt.Fprintf(&c.b, `<line x1="%s" y1="%s" x2="%s" y2="%s" stroke="%s" stroke-width="%s"`, num(x1), num(y1), num(x2), num(y2), stroke, num(width))
	if dash != "" {
		fmt.Fprintf(&c.b, ` stroke-dasharray="%s"`, dash)
	}
	c.b.WriteString("/>")
}

func (c *canvas) path(points [][2]float64, stroke, dash string, width float64) {
	if len(points) == 0 {
		return
	}
	c.b.WriteString(`<path d="`)
	c.trace(points, "M")
	fmt.Fprintf(&c.b, `" fill="none" stroke="%s" stroke-width="%s" stroke-linejoin="round"`, stroke, num(width))
	if dash != "" {
		fmt.Fprintf(&c.b, ` stroke-dasharray="%s"`, dash)
	}
	c.b.WriteString("/>")
}

// dot marks a place, set off from the lines under it.
func (c *canvas) dot(x, y, r float64, fill string) {
	fmt.Fprintf(&c.b, `<circle cx="%s" cy="%s" r="%s" fill="%s" stroke="%s"/>`, num(x), num(y), num(r), fill, paper)
}

// area fills the space between two lines over the same abscissae.
func (c *canvas) area(low, high [][2]float64, fill string) {
	if len(low) == 0 || len(high) == 0 {
		return
	}
	c.b.WriteString(`<path d="`)
	c.trace(low, "M")
	for i := len(high) - 1; i >= 0; i-- {
		fmt.Fprintf(&c.b, "L%s %s", num(high[i][0]), num(high[i][1]))
	}
	fmt.Fprintf(&c.b, `Z" fill="%s" fill-opacity="0.18" stroke="none"/>`, fill)
}

func (c *canvas) trace(points [][2]float64, first string) {
	for i, p := range points {
		if i == 0 {
			c.b.WriteString(first)
		} else {
			c.b.WriteByte('L')
		}
		fmt.Fprintf(&c.b, "%s %s", num(p[0]), num(p[1]))
	}
}

// clip hides what is drawn outside a rectangle, until unclip.
func (c *canvas) clip(id string, x, y, w, h float64) {
	id = html.EscapeString(id)
	fmt.Fprintf(&c.b, `<clipPath id="%s-c"><rect x="%s" y="%s" width="%s" height="%s"/></clipPath><g clip-path="url(#%s-c)">`, id, num(x), num(y), num(w), num(h), id)
}

func (c *canvas) unclip() { c.b.WriteString("</g>") }

// text writes a label; anchor is start, middle or end.
func (c *canvas) text(x, y float64, anchor, fill string, size float64, s string) {
	fmt.Fprintf(&c.b, `<text x="%s" y="%s" text-anchor="%s" fill="%s" font-size="%s">%s</text>`, num(x), num(y), anchor, fill, num(size), html.EscapeString(s))
}

// halo writes a label over lines, which stop short of its letters.
func (c *canvas) halo(x, y, size float64, s string) {
	fmt.Fprintf(&c.b, `<text x="%s" y="%s" fill="%s" font-size="%s" stroke="%s" stroke-width="3" paint-order="stroke">%s</text>`, num(x), num(y), ink, num(size), paper, html.EscapeString(s))
}

func (c *canvas) bold(x, y float64, anchor string, size float64, s string) {
	fmt.Fprintf(&c.b, `<text x="%s" y="%s" text-anchor="%s" font-weight="600" font-size="%s">%s</text>`, num(x), num(y), anchor, num(size), html.EscapeString(s))
}

// advance estimates the width of a label: an average letter of a system font
// is a little over half as wide as it is high.
func advance(s string, size float64) float64 { return float64(len([]rune(s))) * size * 0.56 }

// ticks returns round values from 0 to at least top, about n of them.
func ticks(top float64, n int) []float64 {
	if top <= 0 || math.IsNaN(top) || math.IsInf(top, 0) {
		return []float64{0, 1}
	}
	step := math.Pow(10, math.Floor(math.Log10(top/float64(n))))
	for _, m := range []float64{1, 2, 2.5, 5, 10} {
		if step*m*float64(n) >= top {
			step *= m
			break
		}
	}
	var t []float64
	for i := 0; ; i++ {
		v := step * float64(i)
		t = append(t, v)
		if v >= top-step*1e-9 {
			return t
		}
	}
}

// label prints a tick value without superfluous digits.
func label(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if v >= 10000 {
		s = strconv.FormatFloat(v, 'f', 0, 64)
		for i := len(s) - 3; i > 0; i -= 3 {
			s = s[:i] + "," + s[i:]
		}
	}
	return s
}
