package labreport

import (
	"cmp"
	"math"
	"slices"
	"strings"
	"unicode/utf8"
)

// glyph is one character on a page, in points from the lower left corner of
// the page as it is shown.
type glyph struct {
	x, y   float64
	end    float64 // x where the next one starts
	size   float64 // font size
	text   string
	order  int // in which it was drawn
	blanks int // drawn before it
}

// lineTolerance is how far, in points, characters of one line may stand apart
// in height.
const lineTolerance = 3

// Gaps between characters, in font sizes. Measured on files of four
// generators, with the fonts of the system and with their own.
const (
	cellGap = 0.8  // parts cells
	bareGap = 0.25 // parts cells where no blank is drawn in it, in a file that draws its blanks
	wordGap = 0.15 // parts words
	fullGap = 1.5  // around a blank that is drawn: words stretched to fill a line
)

// drawnBlanks is the share of blanks among the characters from which on a file
// is taken to draw its blanks. In one that leaves them as gaps, words stand as
// far apart as narrow cells.
const drawnBlanks = 0.05

// margins is how points become columns of characters, learnt from the first
// page with text.
type margins struct {
	left   float64 // left edge of the text
	pitch  float64 // points a column; 0 before the first page
	blanks bool    // blanks are drawn
}

// layOut gathers the characters of a page into lines: by height, then from
// left to right, set in columns of blanks as on the page. Where a cell is
// empty, the next one still stands under its heading then, even one on an
// earlier page.
func (m *margins) layOut(gs []glyph) []row {
	m.learn(gs)
	var rows []row
	for _, line := range linesOf(scripts(gs)) {
		rows = append(rows, row{text: m.set(line)})
	}
	return rows
}

func (m *margins) learn(gs []glyph) {
	left, width, letters, blanks := math.Inf(1), 0.0, 0, 0
	for _, g := range gs {
		if strings.TrimSpace(g.text) == "" {
			blanks++
			continue
		}
		left, width, letters = math.Min(left, g.x), width+g.end-g.x, letters+1
	}
	if m.pitch == 0 && letters > 0 {
		// A little less than the mean letter, so that a cell seldom outgrows its place.
		m.left, m.pitch, m.blanks = left, math.Max(0.8*width/float64(letters), 0.5), float64(blanks) > drawnBlanks*float64(letters)
	}
}

// scripts moves small characters that are raised or lowered right behind
// others onto their line. A raised digit is spelt as one, so that 39 with a
// footnote 2 is not 392.
func scripts(gs []glyph) []glyph {
	var base glyph // the last character of full size
	end := 0.0     // where the text behind it ends
	for i := range gs {
		g := &gs[i]
		dy := g.y - base.y
		if g.size < 0.85*base.size && dy != 0 && math.Abs(dy) < 0.7*base.size && math.Abs(g.x-end) < 0.25*base.size {
			if g.y, end = base.y, g.end; dy > 0 {
				g.text = raised.Replace(g.text)
			}
			continue
		}
		base, end = *g, g.end
	}
	return gs
}

// linesOf gathers characters of about one height, those of a line from left to
// right, without blanks.
func linesOf(gs []glyph) [][]glyph {
	slices.SortStableFunc(gs, func(a, b glyph) int { return cmp.Compare(b.y, a.y) })
	var lines [][]glyph
	for len(gs) > 0 {
		n := 1
		for n < len(gs) && gs[0].y-gs[n].y <= lineTolerance {
			n++
		}
		line := gs[:n]
		slices.SortStableFunc(line, func(a, b glyph) int { return cmp.Or(cmp.Compare(a.x, b.x), cmp.Compare(a.order, b.order)) })
		if line = shown(line); len(line) > 0 {
			lines = append(lines, line)
		}
		gs = gs[n:]
	}
	return lines
}

// shown leaves out blanks, noting where one stood, and characters drawn twice
// to look bold; end then never lies left of that of a character before.
func shown(line []glyph) []glyph {
	var out []glyph
	blanks := 0
	for _, g := range line {
		if strings.TrimSpace(g.text) == "" {
			blanks++
			continue
		}
		g.blanks = blanks
		if n := len(out); n > 0 {
			if last := out[n-1]; g.text == last.text && math.Abs(g.x-last.x) < 0.1*g.size && math.Abs(g.y-last.y) < 0.1*g.size {
				continue
			}
			g.end = math.Max(g.end, out[n-1].end)
		}
		blanks = 0
		out = append(out, g)
	}
	return out
}

// maxLineText bounds the text of one line, in characters: a page that says it
// is kilometres wide.
const maxLineText = 1000

// set sets a line in columns of blanks. Two blanks at least part cells.
func (m *margins) set(line []glyph) string {
	var b strings.Builder
	at := 0 // characters set so far
	pad := func(to int) {
		for ; at < min(to, maxLineText); at++ {
			b.WriteByte(' ')
		}
	}
	for i, g := range line {
		switch m.gap(line, i) {
		case newCell:
			if i > 0 {
				pad(at + 2)
			}
			pad(int(math.Min((g.x-m.left)/m.pitch, maxLineText)))
		case newWord:
			pad(at + 1)
		}
		b.WriteString(g.text)
		at += utf8.RuneCountInString(g.text)
	}
	return b.String()
}

// gap tells what the gap before character i of a line parts.
func (m *margins) gap(line []glyph, i int) gapKind {
	if i == 0 {
		return newCell
	}
	g := line[i]
	switch gap := (g.x - line[i-1].end) / g.size; {
	case g.blanks == 1 && gap <= fullGap:
		return newWord
	case gap > cellGap, gap > bareGap && g.blanks == 0 && m.blanks:
		return newCell
	case gap > wordGap, g.blanks > 0:
		return newWord
	}
	return sameWord
}

type gapKind int

const (
	sameWord gapKind = iota
	newWord
	newCell
)

// ligatures are the joined letters of a font, as letters (Unicode FB00-FB06).
var ligatures = strings.NewReplacer("ﬀ", "ff", "ﬁ", "fi", "ﬂ", "fl", "ﬃ", "ffi", "ﬄ", "ffl", "ﬅ", "st", "ﬆ", "st", "\u00ad", "", "\t", " ", "\n", " ", "\r", " ")
