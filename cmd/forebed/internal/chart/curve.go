package chart

import (
	"fmt"
	"slices"
)

// Curve is a chart of lines over one axis.
type Curve struct {
	ID, Title, Desc string
	XLabel, YLabel  string
	Lines           []Line
	Bands           []Band
	Levels          []Level // horizontal limits
	Marks           []Mark  // vertical events
	YTop            float64 // top of the ordinate; 0 fits the lines
}

// Line is one series. Points are in order of X.
type Line struct {
	Name   string
	Points [][2]float64
	Dots   bool // measured: dots that no line joins
}

// Band is a shaded range behind the line of the same index.
type Band struct {
	Name      string
	Low, High [][2]float64
}

// Level is a limit drawn across the chart.
type Level struct {
	Name string
	Y    float64
}

// Mark is an event at one abscissa.
type Mark struct {
	Name string
	X    float64
}

const (
	curveH            = 220.0
	padLeft, padRight = 50.0, 94.0
	padTop, padBottom = 26.0, 46.0
	labelGap          = 14.0 // least distance of two direct labels
)

// SVG draws the chart.
func (k Curve) SVG() string {
	c := open(k.ID, k.Title, k.Desc, wide, curveH)
	xTop, yTop := k.extent()
	xs, ys := ticks(xTop, 5), ticks(yTop, 4)
	xMax, yMax := xs[len(xs)-1], ys[len(ys)-1]
	left, right, top, bottom := padLeft, wide-padRight, padTop, curveH-padBottom
	px := func(x float64) float64 { return left + (right-left)*min(max(x/xMax, 0), 1) }
	py := func(y float64) float64 { return bottom - (bottom-top)*max(y/yMax, 0) }
	place := func(points [][2]float64) [][2]float64 {
		out := make([][2]float64, len(points))
		for i, p := range points {
			out[i] = [2]float64{px(p[0]), py(p[1])}
		}
		return out
	}

	for _, y := range ys {
		c.line(left, py(y), right, py(y), faint, "", 1)
		c.text(left-7, py(y)+4, "end", grey, 12, label(y))
	}
	for _, x := range xs {
		c.line(px(x), bottom, px(x), bottom+5, grey, "", 1)
		c.text(px(x), bottom+18, "middle", grey, 12, label(x))
	}
	c.line(left, bottom, right, bottom, grey, "", 1)
	c.text((left+right)/2, curveH-8, "middle", ink, 12, k.XLabel)
	c.text(4, 13, "start", ink, 12, k.YLabel)

	c.clip(k.ID, left, top-1, right-left, bottom-top+1) // a line may leave the chart at the top
	for i, b := range k.Bands {
		c.area(place(b.Low), place(b.High), hues[i%len(hues)])
	}
	for i, l := range k.Lines {
		if !l.Dots {
			c.path(place(l.Points), hues[i%len(hues)], dashes[i%len(dashes)], 2)
		}
	}
	c.unclip()
	for i, m := range k.Marks {
		if m.X > xMax {
			continue
		}
		x, y, anchor := px(m.X)+3, bottom-5-12*float64(i%3), "start" // in lanes, since marks may be near each other
		if x+advance(m.Name, 11) > right {
			x, anchor = px(m.X)-3, "end"
		}
		c.line(px(m.X), top, px(m.X), bottom, grey, "1 4", 1)
		c.text(x, y, anchor, grey, 11, m.Name)
	}
	var labels []directLabel
	for _, l := range k.Levels {
		if l.Y > yMax {
			continue
		}
		c.line(left, py(l.Y), right, py(l.Y), ink, "4 3", 1)
		labels = append(labels, directLabel{py(l.Y), ink, l.Name})
	}
	for i, l := range k.Lines {
		if len(l.Points) == 0 {
			continue
		}
		last := l.Points[len(l.Points)-1]
		labels = append(labels, directLabel{max(py(last[1]), top), hues[i%len(hues)], l.Name})
	}
	for i, l := range k.Lines {
		for _, p := range l.Points {
			if l.Dots && p[1] <= yMax {
				c.dot(px(p[0]), py(p[1]), 3, hues[i%len(hues)])
			}
		}
	}
	for _, l := range spread(labels, top, bottom) {
		c.text(right+7, l.y+4, "start", l.fill, 12, l.text)
	}
	return c.close()
}

func (k Curve) extent() (x, y float64) {
	grow := func(points [][2]float64) {
		for _, p := range points {
			x, y = max(x, p[0]), max(y, p[1])
		}
	}
	for _, l := range k.Lines {
		grow(l.Points)
	}
	for _, b := range k.Bands {
		grow(b.High)
	}
	for _, l := range k.Levels {
		y = max(y, l.Y)
	}
	if k.YTop > 0 {
		y = k.YTop
	}
	return x, y
}

// directLabel stands at the end of its line.
type directLabel struct {
	y    float64
	fill string
	text string
}

// spread moves labels apart vertically until none covers another.
func spread(labels []directLabel, top, bottom float64) []directLabel {
	slices.SortStableFunc(labels, func(a, b directLabel) int {
		switch {
		case a.y < b.y:
			return -1
		case a.y > b.y:
			return 1
		}
		return 0
	})
	for i := 1; i < len(labels); i++ {
		labels[i].y = max(labels[i].y, labels[i-1].y+labelGap)
	}
	for i := len(labels) - 1; i >= 0; i-- {
		limit := bottom
		if i+1 < len(labels) {
			limit = labels[i+1].y - labelGap
		}
		labels[i].y = min(labels[i].y, limit)
	}
	return labels
}

// Describe says in words what a screen reader should know of a curve: the
// range of each line.
func Describe(lines []Line, unit string) string {
	s := ""
	for _, l := range lines {
		if len(l.Points) == 0 {
			continue
		}
		low, high := l.Points[0][1], l.Points[0][1]
		for _, p := range l.Points {
			low, high = min(low, p[1]), max(high, p[1])
		}
		s += fmt.Sprintf("%s runs from %.3g to %.3g %s. ", l.Name, low, high, unit)
	}
	return s
}
