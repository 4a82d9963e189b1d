package riglog

import (
	"fmt"

	"forebed/chem/bed/calibrate"
	"forebed/chem/unit"
	"forebed/cmd/forebed/internal/chart"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
)

// adviceWords says an advice to a person.
var adviceWords = map[calibrate.Advice]string{
	calibrate.Fine:         "Fine",
	calibrate.TestSilica:   "Test silica now",
	calibrate.BeforeBigJob: "Refill before the next big job",
	calibrate.RefillNow:    "Refill now",
}

// Blocks composes a forecast, stop cautions of the plan first.
func (r *Report) Blocks(u render.Units) []render.Block {
	var blocks []render.Block
	add := func(k render.Kind, label, text string) {
		blocks = append(blocks, render.Block{Kind: k, Label: label, Text: text})
	}
	fact := func(label, format string, args ...any) { add(render.Fact, label, fmt.Sprintf(format, args...)) }
	add(render.Title, "", "How much of this fill is left")
	add(render.Lead, "", fmt.Sprintf("Fill %d, in service since %s, as of the reading of %s. In brackets P10 to P90. Run length is computed, not measured; this log is its calibration. For rinse water only: past its end a mixed bed can give acid or caustic water and let go what it held.", r.Fill, r.Since, r.AsOf))
	if len(r.Stops) > 0 {
		add(render.Heading, "", "Stop: settle this first")
		for _, s := range r.Stops {
			blocks = append(blocks, render.Block{Kind: render.Item, Tone: render.Stop, Text: s})
		}
	}
	add(render.Heading, "", adviceWords[calibrate.Advice(r.Advice)])
	fact("Why", "%s.", r.Why)
	fact("Left", "%s%s", volumes(u, r.Left), r.rinses())
	fact("End by use", "%s", r.Day.text())
	fact("Used", "%s since the refill", exact(u, r.Used))
	fact("This fill", "%s; the plan said %s", volumes(u, r.Life), volumes(u, r.PlanLife))
	fact("Already over", "in %s of the draws", render.Percent(r.Ended))
	fact("Usable", "%s of what the plan expects of this vessel", ratios(r.Usable))
	fact("Feed", "%s of the load that the plan reckons with", ratios(r.Load))
	fact("Pen at the end", "%s ppm%s", figures(r.PenAtEnd), r.penWords())
	blocks = append(blocks, r.picture(u))
	if c := r.Contradiction; c != nil {
		end := "later"
		if c.Sooner {
			end = "sooner"
		}
		add(render.Heading, "", "The log contradicts the plan")
		add(render.Para, "", fmt.Sprintf("A fill of this rig ends %s than the plan allows for, at about %s. Likely causes, the likeliest first:", end, u.Volume(r.Life.P50)))
		for i, k := range c.Causes {
			add(render.Entry, "", fmt.Sprintf("%d. %s", i+1, k.Text))
			add(render.Detail, "to tell", k.Test)
		}
	}
	if len(r.Asks) > 0 {
		add(render.Heading, "", "Ask for")
		for _, a := range r.Asks {
			add(render.Item, "", a)
		}
	}
	if len(r.Assumptions) > 0 {
		add(render.Heading, "", "Assumed")
		for _, a := range r.Assumptions {
			add(render.Item, "", a)
		}
	}
	return blocks
}

// Headline says in one line what to do and how much is left.
func (r *Report) Headline(u render.Units) string {
	end := ""
	if r.Day.P50 != "" {
		end = ", until about " + r.Day.P50
	}
	return fmt.Sprintf("%s. Left: %s%s%s.", adviceWords[calibrate.Advice(r.Advice)], volumes(u, r.Left), r.rinses(), end)
}

func (r *Report) rinses() string {
	if r.Rinses.P90 == 0 {
		return ""
	}
	return fmt.Sprintf(": %s rinses", figures(r.Rinses))
}

// penWords says whether the pen can be gone by, and what it is off.
func (r *Report) penWords() string {
	s := ""
	if r.PenAtEnd.P50-r.PenOffset.P50 < 2 {
		s += "; it hardly moves before the end: go by the volume and by a silica test"
	}
	if r.PenOffset.P10 > 0.5 {
		s += fmt.Sprintf("; it shows about %s ppm too much", figures(r.PenOffset))
	}
	return s
}

// picture draws the pen and the residue against volume with the predicted
// band, and the readings upon them; in letters, the readings alone.
func (r *Report) picture(u render.Units) render.Block {
	volume := func(litres float64) float64 {
		if u == render.US {
			return unit.Litres(litres).Gallons()
		}
		return litres
	}
	pen, residue, read := chart.Line{Name: "pen, ppm"}, chart.Line{Name: "residue, mg/L"}, chart.Line{Name: "as read, ppm", Dots: true}
	var penBand, residueBand chart.Band
	for _, p := range r.Curve {
		x := volume(p.Used)
		pen.Points = append(pen.Points, [2]float64{x, p.Product.P50})
		residue.Points = append(residue.Points, [2]float64{x, p.Residue.P50})
		penBand.Low, penBand.High = append(penBand.Low, [2]float64{x, p.Product.P10}), append(penBand.High, [2]float64{x, p.Product.P90})
		residueBand.Low, residueBand.High = append(residueBand.Low, [2]float64{x, p.Residue.P10}), append(residueBand.High, [2]float64{x, p.Residue.P90})
	}
	top := max(4*r.Limit, 20)
	var ppm []float64
	for _, p := range r.Readings {
		if p.Product != nil {
			read.Points = append(read.Points, [2]float64{volume(p.Used), *p.Product})
			ppm = append(ppm, *p.Product)
			top = max(top, *p.Product)
		}
	}
	lines := []chart.Line{pen, residue, read}
	b := render.Block{Kind: render.Picture, SVG: chart.Curve{
		ID: "forecast", Title: "Product of this fill, read and expected", Desc: chart.Describe(lines, "ppm or mg/L"),
		XLabel: "through this fill, " + u.VolumeUnit(), YLabel: "ppm on the pen; mg/L of dry residue",
		Lines: lines, Bands: []chart.Band{penBand, residueBand},
		Levels: []chart.Level{{Name: "limit " + render.Figures(r.Limit, 2) + " mg/L", Y: r.Limit}},
		Marks:  []chart.Mark{{Name: "now", X: volume(r.Used)}}, YTop: top,
	}.SVG()}
	if len(ppm) > 1 {
		full := penRange
		for _, x := range ppm {
			full = max(full, x)
		}
		b.Text = fmt.Sprintf("pen so far %s drawn from 0 to %s ppm\n", Sparkline(ppm, full), number(full))
	}
	return b
}

func volumes(u render.Units, v rules.Band) string {
	return fmt.Sprintf("%s (%s)", u.Volume(v.P50), u.VolumeRange(v.P10, v.P90))
}

func ratios(b rules.Band) string {
	return fmt.Sprintf("%s (%s to %s)", render.Ratio(b.P50), render.Ratio(b.P10), render.Ratio(b.P90))
}

func figures(b rules.Band) string {
	return fmt.Sprintf("%s (%s to %s)", render.Figures(b.P50, 2), render.Figures(b.P10, 2), render.Figures(b.P90, 2))
}

// text says the days in words; one that lies beyond the horizon is named so.
func (d *Days) text() string {
	far := fmt.Sprintf("more than %.0f years away", horizonDays/365.25)
	or := func(s string) string {
		if s == "" {
			return far
		}
		return s
	}
	if d.P10 == "" {
		return far + ", by the habit of use"
	}
	return fmt.Sprintf("%s (%s to %s), by the habit of use", or(d.P50), d.P10, or(d.P90))
}

// RefillDue returns the early day of the end as a task of the calendar, and
// whether there is one.
func (r *Report) RefillDue() (Due, bool) {
	d, err := ParseDate(r.Day.P10)
	if err != nil {
		return Due{}, false
	}
	return Due{
		Stage: Vessel, Title: "DI vessel", Task: "have the refill ready", Day: d,
		Trigger: "silica of 1 mg/L or more in the product, or spots",
		Source:  fmt.Sprintf("P10 of the forecast as of %s, with %.0f L left at the median", r.AsOf, r.Left.P50),
	}, true
}
