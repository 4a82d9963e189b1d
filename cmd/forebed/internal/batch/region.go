package batch

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/process"
	"forebed/cmd/forebed/internal/engine"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
)

// Finding is what the table of a region keeps of one sample.
type Finding struct {
	Region  int
	Refused bool
	well    string // label without the date: samples of one well share it
	kinds   uint32 // set of stage kinds, by their place in process.Kinds
	status  rules.Status
	stop    bool
	anion   bool    // the anion half runs out first, untreated
	ratio   float64 // life with the plan over life untreated
	life    float64 // L, untreated
	longest float64 // life ratio of the alternative with the longest life
}

func findingOf(region int, r *engine.Result) Finding {
	f := Finding{Region: region, status: r.Plan.Status, stop: render.HasStop(r.Plan), anion: r.Plan.Life.Untreated.FirstHalf == "anion",
		ratio: r.Plan.Life.Ratio.P50, life: r.Plan.Life.Untreated.Residue.P50}
	f.well = r.Sample.Label
	if r.Sample.Date != "" {
		f.well = strings.TrimSpace(strings.TrimSuffix(f.well, r.Sample.Date))
	}
	for _, k := range kinds(r.Plan) {
		f.kinds |= 1 << slices.Index(process.Kinds(), k)
	}
	for _, a := range r.Plan.Alternatives {
		if a.LifeRatio != nil && a.Name == "longest_life" {
			f.longest = a.LifeRatio.P50
		}
	}
	return f
}

// Region gathers what the wells of one region or of several need.
type Region struct {
	names    []string
	findings [][]Finding
	refused  []int
}

// NewRegion makes a table with one column for each name.
func NewRegion(names []string) *Region {
	return &Region{names: names, findings: make([][]Finding, len(names)), refused: make([]int, len(names))}
}

// Add takes in one sample.
func (g *Region) Add(f Finding) {
	if f.Refused {
		g.refused[f.Region]++
		return
	}
	g.findings[f.Region] = append(g.findings[f.Region], f)
}

// line is one line of the table.
type line struct {
	name string
	cell func(w wells, refused int) string
}

// Write prints the table in Markdown. Each well counts as one: its samples
// share its weight.
func (g *Region) Write(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "| share of wells, %% | %s |\n|---|%s\n", strings.Join(g.names, " | "), strings.Repeat("---:|", len(g.names)))
	lines := []line{
		{"samples planned / refused (number)", func(w wells, refused int) string { return fmt.Sprintf("%d / %d", len(w.findings), refused) }},
		{"wells planned (number)", func(w wells, _ int) string { return strconv.Itoa(w.count) }},
	}
	for i, k := range process.Kinds() {
		lines = append(lines, share(strings.ReplaceAll(string(k), "_", " "), func(f *Finding) bool { return f.kinds>>i&1 == 1 }))
	}
	lines = append(lines,
		share("no stage at all", func(f *Finding) bool { return f.kinds == 0 && f.status != rules.StatusNone }),
		share("no admissible train", func(f *Finding) bool { return f.status == rules.StatusNone }),
		share("conditional: a test settles it", func(f *Finding) bool { return f.status == rules.StatusConditional }),
		share("a stop caution", func(f *Finding) bool { return f.stop }),
		share("the anion half runs out first, untreated", func(f *Finding) bool { return f.anion }),
		quantiles("life of a fill untreated, L: P10 / P50 / P90 of the wells", 3, func(f *Finding) float64 { return f.life }),
		quantiles("life with the plan over untreated: P10 / P50 / P90", 3, func(f *Finding) float64 { return f.ratio }),
		share("a life at least twice as long with the plan", func(f *Finding) bool { return f.ratio >= 2 }),
		quantiles("the longest life to be had over untreated: P10 / P50 / P90", 3, func(f *Finding) float64 { return f.longest }),
	)
	for _, l := range lines {
		fmt.Fprintf(&b, "| %s |", l.name)
		for i := range g.names {
			fmt.Fprintf(&b, " %s |", l.cell(weigh(g.findings[i]), g.refused[i]))
		}
		b.WriteByte('\n')
	}
	_, err := io.WriteString(w, b.String())
	return err
}

// wells are the findings of a region, with the weight of each.
type wells struct {
	findings []Finding
	weights  []float64 // they add up to count
	count    int       // of wells
}

// weigh gives each well one, and each of its samples an equal part. Samples
// without a label are wells of their own.
func weigh(findings []Finding) wells {
	samples := map[string]int{}
	w := wells{findings: findings, weights: make([]float64, len(findings))}
	for _, f := range findings {
		if samples[f.well]++; f.well == "" || samples[f.well] == 1 {
			w.count++
		}
	}
	for i, f := range findings {
		w.weights[i] = 1
		if f.well != "" {
			w.weights[i] = 1 / float64(samples[f.well])
		}
	}
	return w
}

func share(name string, holds func(*Finding) bool) line {
	return line{name, func(w wells, _ int) string {
		if w.count == 0 {
			return "-"
		}
		sum := 0.0
		for i := range w.findings {
			if holds(&w.findings[i]) {
				sum += w.weights[i]
			}
		}
		return strconv.FormatFloat(100*sum/float64(w.count), 'f', 0, 64)
	}}
}

// quantiles prints three quantiles over the wells: the least value that the
// stated share of the weight does not exceed.
func quantiles(name string, digits int, of func(*Finding) float64) line {
	return line{name, func(w wells, _ int) string {
		order := make([]int, len(w.findings))
		for i := range order {
			order[i] = i
		}
		slices.SortFunc(order, func(i, j int) int { return cmp.Compare(of(&w.findings[i]), of(&w.findings[j])) })
		var cells []string
		for _, q := range []float64{0.1, 0.5, 0.9} {
			sum := 0.0
			for _, i := range order {
				if sum += w.weights[i]; sum >= q*float64(w.count)-1e-9 {
					cells = append(cells, render.Figures(of(&w.findings[i]), digits))
					break
				}
			}
		}
		if len(cells) == 0 {
			return "-"
		}
		return strings.Join(cells, " / ")
	}}
}
