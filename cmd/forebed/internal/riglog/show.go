package riglog

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/unit"
	"forebed/cmd/forebed/internal/render"
)

// Blocks composes the log by date, the water of each fill beside it, and the
// pen behind the vessel drawn fill by fill. most bounds how many entries are
// shown, the latest of them; 0 shows all.
func (l *Log) Blocks(u render.Units, most int) []render.Block {
	points := l.Points()
	fills, lead := Fills(points), "By date. Feed and product in ppm as the pen shows, silica in mg/L as SiO2, this fill since its refill."
	if n := len(points); most > 0 && n > most {
		points = points[n-most:]
		lead = fmt.Sprintf("The last %d of %d entries. ", most, n) + lead
	}
	table := render.Block{Kind: render.Table, Head: []string{">Line", "Date", "Entry", ">Meter", ">This fill", ">Feed", ">Product", ">Silica", "What"}}
	for _, p := range points {
		f := p.text()
		meter, used := "", ""
		if p.Meter != nil {
			meter = strings.TrimSpace(f[2] + " " + f[3] + " " + f[4])
			if p.Fill > 0 {
				used = exact(u, float64(p.Used))
			}
		}
		table.Rows = append(table.Rows, []string{strconv.Itoa(p.Line), f[0], f[1], meter, used, f[5], f[6], f[7], p.about()})
	}
	blocks := []render.Block{
		{Kind: render.Title, Text: "The log of this rig"},
		{Kind: render.Lead, Text: lead},
		table,
	}
	for _, f := range fills {
		ppm := f.Product()
		if len(ppm) < 2 || f.Number < points[0].Fill {
			continue
		}
		full := max(slices.Max(ppm), penRange)
		blocks = append(blocks, render.Block{Kind: render.Fact, Label: fmt.Sprintf("Fill %d, pen", f.Number),
			Text: fmt.Sprintf("%s %s to %s ppm, drawn from 0 to %s", Sparkline(ppm, full), number(slices.Min(ppm)), number(slices.Max(ppm)), number(full))})
	}
	return blocks
}

// exact prints a volume to the unit, since it is counted and not computed.
func exact(u render.Units, litres float64) string {
	if u == render.US {
		litres = unit.Litres(litres).Gallons()
	}
	return fmt.Sprintf("%.0f %s", litres, u.VolumeUnit())
}

// about says in words what the columns before it do not.
func (e *Entry) about() string {
	var parts []string
	switch e.Kind {
	case Refill:
		parts = append(parts, map[Reason]string{Spots: "after spots", Meter: "by the pen", Silica: "by a silica test", Schedule: "by schedule"}[e.Reason])
	case Stage:
		parts = append(parts, string(e.Stage)+": "+e.Task)
	}
	if e.Note != "" {
		parts = append(parts, e.Note)
	}
	return strings.Join(parts, "; ")
}

// FillRun is the entries of one fill of the vessel, its refill first.
type FillRun struct {
	Number int
	Points []Point
	End    *Point // the refill that ended it; nil for the fill in service
	Used   float64
}

// Fills splits points into fills. What stands before the first refill belongs
// to none, because nobody wrote down how much it had run.
func Fills(points []Point) []FillRun {
	var all []FillRun
	for i := range points {
		p := points[i]
		if p.Fill == 0 {
			continue
		}
		if p.Kind == Refill {
			if n := len(all); n > 0 {
				all[n-1].End = &points[i]
				all[n-1].Used = float64(p.Total - all[n-1].Points[0].Total)
			}
			all = append(all, FillRun{Number: p.Fill})
		}
		f := &all[len(all)-1]
		f.Points = append(f.Points, p)
		f.Used = float64(p.Used)
	}
	return all
}

// Product returns what the pen showed behind the vessel in this fill. What is
// written on the line of a refill was read before it, and belongs to the fill
// that ended.
func (f *FillRun) Product() []float64 {
	var ppm []float64
	for _, p := range f.Points[1:] {
		if p.Product != nil {
			ppm = append(ppm, *p.Product)
		}
	}
	if f.End != nil && f.End.Product != nil {
		ppm = append(ppm, *f.End.Product)
	}
	return ppm
}

// penRange is the least top of a drawn line in ppm, so that the flicker of a
// pen on good water does not look like a breakthrough.
const penRange = 10.0

var blocks = []rune("▁▂▃▄▅▆▇█")

// Sparkline draws figures from 0 to full as a line of blocks.
func Sparkline(xs []float64, full float64) string {
	var b strings.Builder
	for _, x := range xs {
		i := math.Round(x / full * float64(len(blocks)-1))
		b.WriteRune(blocks[int(min(max(i, 0), float64(len(blocks)-1)))])
	}
	return b.String()
}
