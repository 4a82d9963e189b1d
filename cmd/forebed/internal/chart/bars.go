package chart

import (
	"fmt"
	"html"
	"math"
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
	const w, rowH, gap, left, right = 720.0, 44.0, 40.0, 86.0, 14.0
	h := 20 + float64(len(k.Rows))*(rowH+gap) + 18
	c := open(k.ID, k.Title, k.Desc, w, h)
	fmt.Fprintf(&c.b, `<defs><pattern id="%s-h" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><rect width="7" height="7" fill="%s"/><line x1="0" y1="0" x2="0" y2="7" stroke="%s" stroke-width="2"/></pattern></defs>`,
		html.EscapeString(k.ID), paper, grey)
	var top float64
	for _, r := range k.Rows {
		top = max(top, r.total())
	}
	ts := ticks(top, 6)
	scale := (w - left - right) / ts[len(ts)-1]
	y := 10.0
	for _, r := range k.Rows {
		c.bold(left-10, y+rowH/2+4, "end", 13, r.Name)
		x := left
		lane := 0
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
			text := fmt.Sprintf("%s %.2g", s.Name, s.Value)
			if s.Value >= 1 {
				text = fmt.Sprintf("%s %.3g", s.Name, s.Value)
			}
			switch {
			case advance(text, 12) < sw-6 && !s.Unseen:
				c.text(x+sw/2, y+rowH/2+4, "middle", ink, 12, text)
			default: // below the bar, on two lanes
				ly := y + rowH + 13 + float64(lane)*13
				c.line(x+sw/2, y+rowH, x+sw/2, ly-9, grey, "", 0.8)
				anchor := "middle"
				if x+sw/2+advance(text, 11)/2 > w-2 {
					anchor = "end"
				}
				c.text(x+sw/2, ly, anchor, ink, 11, text)
				lane = (lane + 1) % 2
			}
			x += sw
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
	const w, rowH, left, right = 720.0, 34.0, 236.0, 132.0
	h := 14 + float64(len(k.Rows))*rowH + 30
	c := open(k.ID, k.Title, k.Desc, w, h)
	var top float64
	for _, r := range k.Rows {
		top = max(top, r.P90, r.P50)
	}
	ts := ticks(top, 4)
	scale := (w - left - right) / ts[len(ts)-1]
	y := 8.0
	bottom := y + float64(len(k.Rows))*rowH
	for _, t := range ts {
		c.line(left+t*scale, y, left+t*scale, bottom, faint, "", 1)
		c.text(left+t*scale, bottom+16, "middle", grey, 12, label(t))
	}
	c.text(w-4, bottom+16, "end", grey, 12, k.Unit)
	for _, r := range k.Rows {
		name := []rune(r.Name)
		if len(name) > 36 {
			name = append(name[:35], '…')
		}
		c.text(left-10, y+rowH/2+4, "end", ink, 12, string(name))
		c.rect(left, y+9, r.P50*scale, rowH-18, water, blue)
		mid := y + rowH/2
		c.line(left+r.P10*scale, mid, left+r.P90*scale, mid, rust, "", 2)
		for _, v := range []float64{r.P10, r.P90} {
			c.line(left+v*scale, mid-5, left+v*scale, mid+5, rust, "", 2)
		}
		c.text(w-right+10+0, mid+4, "start", ink, 12, r.Text)
		y += rowH
	}
	return c.close()
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
			legend = append(legend, fmt.Sprintf("%s %s %.2g", letter, s.Name, s.Value))
		}
		fmt.Fprintf(&b, "| %.3g meq/L\n%-8s %s\n", r.total(), "", strings.Join(legend, ", "))
	}
	return b.String()
}
