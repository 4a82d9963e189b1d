package batch

import (
	"encoding/json"
	"math"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/process"
	"forebed/chem/water"
	"forebed/cmd/forebed/internal/engine"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
)

// record is what a row of the table is made from.
type record struct {
	id     string
	result *engine.Result
}

// column is one column of the table. Its heading carries its unit.
type column struct {
	heading string
	cell    func(r *record) string
}

// columns of the table. What can hurt stands ahead of the stages.
var columns = slices.Concat(
	[]column{
		{"id", func(r *record) string { return r.id }},
		{"error", func(*record) string { return "" }},
		{"message", func(*record) string { return "" }},
		{"label", func(r *record) string { return r.result.Sample.Label }},
		{"date", func(r *record) string { return r.result.Sample.Date }},
		{"source", func(r *record) string { return r.result.Sample.Source }},
		{"stop", func(r *record) string { return topics(r.result.Plan, "stop") }},
		{"stop_text", func(r *record) string { return texts(r.result.Plan, "stop") }},
		{"care", func(r *record) string { return topics(r.result.Plan, "care") }},
		{"status", func(r *record) string { return string(r.result.Plan.Status) }},
		{"stages", func(r *record) string { return stages(r.result.Plan) }},
	},
	waterBand("ph", func(c *water.Composition) water.Band { return c.PH }),
	waterBand("hardness_mg_per_l_as_caco3", func(c *water.Composition) water.Band { return c.Hardness }),
	waterBand("alkalinity_mg_per_l_as_caco3", func(c *water.Composition) water.Band { return c.Alkalinity }),
	waterBand("conductivity_us_per_cm", func(c *water.Composition) water.Band { return c.Conductivity }),
	waterBand("dissolved_solids_mg_per_l", func(c *water.Composition) water.Band { return c.DissolvedSolids }),
	waterBand("dry_residue_mg_per_l", func(c *water.Composition) water.Band { return c.Residue }),
	waterBand("iron_mg_per_l", ion(water.Iron)), waterBand("manganese_mg_per_l", ion(water.Manganese)),
	waterBand("chloride_mg_per_l", ion(water.Chloride)), waterBand("sulfate_mg_per_l", ion(water.Sulfate)), waterBand("nitrate_mg_per_l", ion(water.Nitrate)),
	waterBand("carbon_dioxide_mg_per_l", func(c *water.Composition) water.Band { return c.CO2.Milligrams }),
	waterBand("silica_mg_per_l", func(c *water.Composition) water.Band { return c.Silica.Milligrams }),
	planBand("cation_load_untreated_meq_per_l", func(p *rules.Plan) rules.Band { return p.Load.Untreated.Cation }),
	planBand("anion_load_untreated_meq_per_l", func(p *rules.Plan) rules.Band { return p.Load.Untreated.Anion }),
	planBand("cation_load_with_plan_meq_per_l", func(p *rules.Plan) rules.Band { return p.Load.WithPlan.Cation }),
	planBand("anion_load_with_plan_meq_per_l", func(p *rules.Plan) rules.Band { return p.Load.WithPlan.Anion }),
	planBand("life_untreated_l", func(p *rules.Plan) rules.Band { return p.Life.Untreated.Residue }),
	planBand("life_with_plan_l", func(p *rules.Plan) rules.Band { return p.Life.WithPlan.Residue }),
	planBand("life_ratio", func(p *rules.Plan) rules.Band { return p.Life.Ratio }),
	[]column{
		{"first_half_untreated", func(r *record) string { return r.result.Plan.Life.Untreated.FirstHalf }},
		{"first_half_with_plan", func(r *record) string { return r.result.Plan.Life.WithPlan.FirstHalf }},
		{"currency", func(r *record) string { return r.result.Plan.Cost.Currency }},
		{"horizon_years", func(r *record) string { return strconv.Itoa(r.result.Plan.Cost.HorizonYears) }},
	},
	planBand("first_cost", func(p *rules.Plan) rules.Band { return p.Cost.WithPlan.First }),
	planBand("cost_per_year", func(p *rules.Plan) rules.Band { return p.Cost.WithPlan.PerYear }),
	planBand("saving_over_horizon", func(p *rules.Plan) rules.Band { return p.Cost.Saving }),
	[]column{
		{"asks", func(r *record) string { return asks(r.result.Plan) }},
		{"doubts", doubts},
	},
)

// Headings is the first line of the table, with its line end.
func Headings() []byte {
	var names []string
	for _, c := range columns {
		names = append(names, c.heading)
	}
	return flat(names)
}

// flatten makes a row of the table.
func flatten(id json.RawMessage, r *engine.Result) []string {
	rec := &record{name(id), r}
	cells := make([]string, len(columns))
	for i, c := range columns {
		cells[i] = inert(oneLine.Replace(c.cell(rec)))
	}
	return cells
}

// failed makes the row of an item without an answer.
func failed(id json.RawMessage, f failure) []string {
	cells := make([]string, len(columns))
	cells[0], cells[1], cells[2] = inert(name(id)), f.Code, inert(oneLine.Replace(f.Message))
	return cells
}

// oneLine keeps a row on its line.
var oneLine = strings.NewReplacer("\n  try: ", "; try: ", "\n", " | ", "\r", "")

// inert keeps a spreadsheet from taking a text of somebody's report for a
// formula: such a text gets an apostrophe before it.
func inert(cell string) string {
	if cell == "" || !strings.ContainsRune("=+-@\t\r", rune(cell[0])) {
		return cell
	}
	if _, err := strconv.ParseFloat(cell, 64); err == nil {
		return cell
	}
	return "'" + cell
}

func ion(i water.Ion) func(*water.Composition) water.Band {
	return func(c *water.Composition) water.Band { return c.Ions[i].Milligrams }
}

func waterBand(name string, of func(*water.Composition) water.Band) []column {
	return bands(name, func(r *record) rules.Band { return rules.Band(of(r.result.Water)) })
}

func planBand(name string, of func(*rules.Plan) rules.Band) []column {
	return bands(name, func(r *record) rules.Band { return of(r.result.Plan) })
}

// bands makes the three columns of an uncertain quantity.
func bands(name string, of func(r *record) rules.Band) []column {
	return []column{
		{name + "_p10", func(r *record) string { return figure(of(r).P10) }},
		{name + "_p50", func(r *record) string { return figure(of(r).P50) }},
		{name + "_p90", func(r *record) string { return figure(of(r).P90) }},
	}
}

// figure writes a number with four significant digits.
func figure(v float64) string {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return ""
	}
	return strconv.FormatFloat(render.Round(v, 4), 'f', -1, 64)
}

// stages names the stages of a plan in flow order. None is "none", because an
// empty cell means that there is no plan.
func stages(p *rules.Plan) string {
	if p.Status == rules.StatusNone {
		return ""
	}
	var names []string
	for _, s := range p.Stages {
		names = append(names, string(s.Kind))
	}
	if len(names) == 0 {
		return "none"
	}
	return strings.Join(names, "; ")
}

// kinds lists each kind of stage of a plan once.
func kinds(p *rules.Plan) []process.Kind {
	var all []process.Kind
	for _, s := range p.Stages {
		if !slices.Contains(all, s.Kind) {
			all = append(all, s.Kind)
		}
	}
	return all
}

func topics(p *rules.Plan, level string) string {
	var all []string
	for _, c := range p.Cautions {
		if c.Level == level && !slices.Contains(all, c.Topic) {
			all = append(all, c.Topic)
		}
	}
	return strings.Join(all, "; ")
}

func texts(p *rules.Plan, level string) string {
	var all []string
	for _, c := range p.Cautions {
		if c.Level == level {
			all = append(all, strings.TrimSpace(c.Text+" "+c.Remedy))
		}
	}
	return strings.Join(all, " | ")
}

func asks(p *rules.Plan) string {
	var all []string
	for _, a := range p.Asks {
		if !slices.Contains(all, a.Analyte) {
			all = append(all, a.Analyte)
		}
	}
	return strings.Join(all, "; ")
}

func doubts(r *record) string {
	var all []string
	for _, w := range render.Warnings(r.result.Reading.Document) {
		if !slices.Contains(all, w.Code) {
			all = append(all, w.Code)
		}
	}
	return strings.Join(all, "; ")
}
