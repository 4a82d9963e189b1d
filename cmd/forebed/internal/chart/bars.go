package chart

import (
	"fmt"
	"html"
	"math"
	"strconv"
	"strings"
)

// Ions is a picture of cations against anions: two bars of equal scale, each
// a row of segments in meq/L.
type Ions struct {
	ID, Title, Desc string
	Rows            []IonRow
}

// IonRow is one bar.
type IonRow struct {
	Name     string
	Segments []Segment
}

// Segment is one part of a bar. Unseen parts, which no conductivity pen
// shows, are hatched.
type Segment struct {
	Name   string
	Value  float64 // meq/L
	Unseen bool
}

// shades of the segments, light enough for black text.
var shades = []string{"#cfe0ea", "#e9ddc9", "#d8e2c9", "#e3d3e6", "#f0d5c9", "#d3dcdf", "#e8e4b8"}

// SVG draws the bars.
func (k Ions) SVG() string {
	const w, rowH, gap, left, right = wide, 34.0, 44.0, 58.0, 12.0
	h := 20 + float64(len(k.Rows))*(rowH+gap) + 18
	c := open(k.ID, k.Title, k.Desc, w, h)
	fmt.Fprintf(&c.b, `<defs><pattern id="%s-h" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="7" height="7" fill="%s"/><line x1="0" y1="0" x2="0" y2="7" stroke="%s" stroke-width="2"/></pattern></defs>`,
		html.EscapeString(k.ID), paper, grey)
	var top float64
	for _, r := range k.Rows {
		top = max(top, r.total())
	}
	ts := ticks(top, 5)
	scale := (w - left - right) / ts[len(ts)-1]
	y := 10.0
	for _, r := range k.Rows {
		c.bold(left-7, y+rowH/2+4, "end", 12, r.Name)
		x := left
		var lanes [3]float64 // right end of the last label in each lane below the bar
		var below []placed   // written last, over the lines that lead to them
		for i, s := range r.Segments {
			sw := s.Value * scale
			if sw < 0.4 {
				continue
			}
			fill := shades[i%len(shades)]
			if s.Unseen {
				fill = "url(#" + k.ID + "-h)"
			}
			c.rect(x, y, sw, rowH, fill, ink)
			text := s.Name + " " + twoFigures(s.Value)
			mid, tw := x+sw/2, advance(text, 11)
			if tw < sw-4 && !s.Unseen {
				c.text(mid, y+rowH/2+4, "middle", ink, 11, text)
			} else if lane, at := roomiest(lanes[:], mid-3); at+tw < wide {
				ly := y + rowH + 12 + float64(lane)*12
				c.line(mid, y+rowH, max(mid, at+2), ly-9, grey, "", 0.8)
				below = append(below, placed{at, ly, text})
				lanes[lane] = at + tw
			} // no room: the table beside the picture has it
			x += sw
		}
		for _, l := range below {
			c.halo(l.x, l.y, 11, l.text)
		}
		y += rowH + gap
	}
	for _, t := range ts {
		c.line(left+t*scale, y-8, left+t*scale, y-3, grey, "", 1)
		c.text(left+t*scale, y+9, "middle", grey, 12, label(t))
	}
	c.text(4, y+9, "start", grey, 12, "meq/L")
	return c.close()
}

// placed is a label with its place.
type placed struct {
	x, y float64
	text string
}

// roomiest returns the first lane whose labels end furthest left of x, and
// where the next label can begin.
func roomiest(lanes []float64, x float64) (lane int, at float64) {
	for i, end := range lanes {
		if from := max(x, end+5); i == 0 || from < at {
			lane, at = i, from
		}
	}
	return lane, at
}

func (r IonRow) total() float64 {
	var sum float64
	for _, s := range r.Segments {
		sum += s.Value
	}
	return sum
}

// Ranges is a picture of P10, P50 and P90 of several things on one scale.
type Ranges struct {
	ID, Title, Desc string
	Unit            string
	Rows            []RangeRow
}

// RangeRow is one bar with its range.
type RangeRow struct {
	Name          string
	P10, P50, P90 float64
	Text          string // the figures in words, written beside the bar
}

// SVG draws the ranges.
func (k Ranges) SVG() string {
	const rowH, left, right = 38.0, 6.0, 10.0
	h := 8 + float64(len(k.Rows))*rowH + 24
	c := open(k.ID, k.Title, k.Desc, wide, h)
	var top float64
	for _, r := range k.Rows {
		top = max(top, r.P90, r.P50)
	}
	ts := ticks(top, 5)
	scale := (wide - left - right - advance(k.Unit, 12)) / ts[len(ts)-1]
	y := 2.0
	bottom := y + float64(len(k.Rows))*rowH + 2
	for i, t := range ts {
		c.line(left+t*scale, y, left+t*scale, bottom, faint, "", 1)
		text, anchor := label(t), "middle"
		if i == 0 {
			anchor = "start"
		}
		if i == len(ts)-1 {
			text += " " + k.Unit
		}
		c.text(left+t*scale, bottom+15, anchor, grey, 12, text)
	}
	for _, r := range k.Rows {
		c.text(left+2, y+14, "start", ink, 12, cut(r.Name, int((wide-20-advance(r.Text, 12))/(12*0.56))))
		c.text(wide-right, y+14, "end", ink, 12, r.Text)
		c.rect(left, y+20, r.P50*scale, 13, water, blue)
		mid := y + 26.5
		c.line(left+r.P10*scale, mid, left+r.P90*scale, mid, rust, "", 2)
		for _, v := range []float64{r.P10, r.P90} {
			c.line(left+v*scale, mid-5, left+v*scale, mid+5, rust, "", 2)
		}
		y += rowH
	}
	return c.close()
}

// cut shortens a name to at most n letters.
func cut(s string, n int) string {
	if name := []rune(s); len(name) > n && n > 1 {
		return string(name[:n-1]) + "…"
	}
	return s
}

// Text draws the bars with letters, n columns wide: each segment is a run of
// its own letter, parts that no pen sees in lower case.
func (k Ions) Text(n int) string {
	var top float64
	for _, r := range k.Rows {
		top = max(top, r.total())
	}
	if top == 0 {
		return ""
	}
	var b strings.Builder
	for _, r := range k.Rows {
		fmt.Fprintf(&b, "%-8s|", r.Name)
		var legend []string
		at, drawn := 0.0, 0
		for i, s := range r.Segments {
			at += s.Value
			end := int(math.Round(at / top * float64(n)))
			letter := string(rune('A' + i%26))
			if s.Unseen {
				letter = strings.ToLower(letter)
			}
			b.WriteString(strings.Repeat(letter, max(end-drawn, 0)))
			drawn = max(end, drawn)
			legend = append(legend, letter+" "+s.Name+" "+twoFigures(s.Value))
		}
		fmt.Fprintf(&b, "| %.3g meq/L\n%-8s %s\n", r.total(), "", strings.Join(legend, ", "))
	}
	return b.String()
}

// twoFigures prints a number with two figures, whole from 10 on, and without
// an exponent.
func twoFigures(x float64) string {
	if x >= 10 {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	if x < 0.0001 {
		return "0"
	}
	digits := 1 - int(math.Floor(math.Log10(x)))
	return strconv.FormatFloat(x, 'f', digits, 64)
}
