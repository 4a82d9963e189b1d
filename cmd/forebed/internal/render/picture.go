package render

import (
	"fmt"
	"strings"

	"forebed/chem/unit"
	"forebed/chem/water"
	"forebed/cmd/forebed/internal/chart"
	"forebed/cmd/forebed/internal/engine"
	"forebed/rules"
)

// drawing shows the train with the key numbers of the water between stages.
func (t *planDraft) drawing() {
	p := t.Plan
	t.heading("The train")
	numbers := t.numbers
	boxes := []chart.Box{{Name: "your water", Kind: chart.Source, Water: numbers(p.Water)}}
	desc := "Water flows from the well"
	for _, s := range p.Stages {
		boxes = append(boxes, chart.Box{Name: fmt.Sprintf("%d. %s", s.Place, plain(string(s.Kind))), Kind: chart.Stage, Water: numbers(s.Water)})
		desc += " through " + s.Title + ","
	}
	boxes = append(boxes, chart.Box{Name: "mixed bed", Kind: chart.Vessel, Water: []string{"nearly nothing", "until its end"}})
	letters := ""
	for _, b := range boxes {
		letters += fmt.Sprintf("%-28s %s\n", b.Name, strings.Join(b.Water, ", "))
	}
	k := chart.Train{ID: "train", Title: "The train of stages", Desc: desc + " then the mixed bed. Under each place: the hardness, iron if it was measured, dissolved solids, carbon dioxide and pH of the water that leaves it.", Boxes: boxes}
	t.para("The water that leaves each place (typical values; mg/L, hardness as CaCO3):")
	t.add(Block{Kind: Picture, SVG: k.SVG(), Text: letters})
}

// numbers are the key numbers of a water, in the order of the drawing. Iron
// that nobody measured is not among them: it is drawn from other wells, and
// nobody shall read it as a finding.
func (t *planDraft) numbers(w rules.WaterNote) []string {
	all := []string{"hardness " + small(w.Hardness.P50)}
	if t.Water.Central.Matter.Unknown&water.UnknownIron == 0 {
		all = append(all, "iron "+small(w.Iron.P50))
	}
	return append(all, "solids "+small(w.Solids.P50), "CO2 "+small(w.CO2.P50), "pH "+Figures(w.PH.P50, 2))
}

// small prints two figures, and what is next to nothing as below 0.01.
func small(v float64) string {
	if v < 0.01 {
		return "<0.01"
	}
	return Figures(v, 2)
}

// lives shows the life of a fill as the stages are added.
func (t *planDraft) lives() {
	p := t.Plan
	row := func(name string, b rules.Band) chart.RangeRow {
		return chart.RangeRow{Name: name, P10: t.u.number(b.P10), P50: t.u.number(b.P50), P90: t.u.number(b.P90), Text: t.volumes(b)}
	}
	rows := []chart.RangeRow{row("no stage", p.Life.Untreated.Residue)}
	for _, s := range p.Stages {
		rows = append(rows, row("+ "+plain(string(s.Kind)), s.RunningLife))
	}
	letters := ""
	for _, r := range rows {
		letters += fmt.Sprintf("%-28s %s\n", r.Name, r.Text)
	}
	k := chart.Ranges{ID: "lives", Title: "Life of a fill as the stages are added", Unit: t.u.VolumeUnit(), Rows: rows,
		Desc: fmt.Sprintf("Bars in %s. From %s without a stage to %s with all of them.", t.u.VolumeUnit(), t.volumes(p.Life.Untreated.Residue), t.volumes(p.Life.WithPlan.Residue))}
	t.add(Block{Kind: Picture, Label: "Bar: typical; line: P10 to P90", SVG: k.SVG(), Text: letters})
}

// number is a volume in the units of the plan.
func (u Units) number(litres float64) float64 {
	if u == US {
		return unit.Litres(litres).Gallons()
	}
	return litres
}

// mostSeasons is the number of seasons marked on a breakthrough curve; more
// would hide it.
const mostSeasons = 6

// fill shows what comes out of a fill in run i, if it could be followed.
func (t *planDraft) fill(i int, l rules.LifeNote) {
	if i >= len(t.Runs) || t.Runs[i] == nil {
		return
	}
	end, season := t.u.number(l.Residue.P50), t.u.number(t.Plan.Demand.YearL)
	marks := []chart.Mark{{Name: "refill", X: end}}
	seasons := int(end / season)
	for n := 1; n <= seasons && seasons <= mostSeasons; n++ {
		marks = append(marks, chart.Mark{Name: fmt.Sprintf("season %d", n), X: float64(n) * season})
	}
	r := t.Runs[i]
	t.picture(fmt.Sprintf("What leaves one fill, %s; %s refills a season", r.Water, Figures(l.FillsPerYear.P50, 2)),
		breakthrough(fmt.Sprintf("fill-%d", i+1), r, t.u, 1.6*end, marks))
}

// breakthrough draws residue and pen against volume, up to a volume and to a
// few times the limit.
func breakthrough(id string, r *engine.Run, u Units, upTo float64, marks []chart.Mark) string {
	residue, pen := chart.Line{Name: "residue"}, chart.Line{Name: "pen"}
	for _, x := range r.Through.Rows {
		v := u.number(float64(x.Volume))
		if v > upTo {
			break
		}
		residue.Points = append(residue.Points, [2]float64{v, float64(x.Residue)})
		pen.Points = append(pen.Points, [2]float64{v, x.Meter})
	}
	lines := []chart.Line{residue, pen}
	limit := float64(r.Ends.Residue)
	return chart.Curve{ID: id, Title: "Breakthrough of the vessel, " + r.Water, Desc: chart.Describe(lines, "mg/L or ppm"),
		XLabel: "through the vessel, " + u.VolumeUnit(), YLabel: "dry residue, mg/L; pen, ppm", Lines: lines, Marks: marks,
		Levels: []chart.Level{{Name: "limit " + Figures(limit, 2) + " mg/L", Y: limit}}, YTop: max(5*limit, 20)}.SVG()
}

// account shows the money over the years.
func (t *planDraft) account() {
	c := t.Plan.Cost
	years := float64(c.HorizonYears)
	line := func(name string, n rules.CostNote) (chart.Line, chart.Band) {
		sum := func(total, first float64) [][2]float64 { return [][2]float64{{0, first}, {years, total}} }
		return chart.Line{Name: name, Points: sum(n.Horizon.P50, n.First.P50)},
			chart.Band{Name: name, Low: sum(n.Horizon.P10, n.First.P10), High: sum(n.Horizon.P90, n.First.P90)}
	}
	without, wide := line("no stages", c.Untreated)
	lines, bands := []chart.Line{without}, []chart.Band{wide}
	if len(t.Plan.Stages) > 0 {
		with, wide := line("the plan", c.WithPlan)
		lines, bands = append(lines, with), append(bands, wide)
	}
	t.picture(fmt.Sprintf("Money spent in all, %s of %d; running costs spread evenly", c.Currency, c.PriceYear),
		chart.Curve{ID: "money", Title: "Money over the years", Desc: chart.Describe(lines, c.Currency) + "The shaded ranges run from P10 to P90.",
			XLabel: "years", YLabel: c.Currency, Lines: lines, Bands: bands}.SVG())
}
