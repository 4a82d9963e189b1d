package main

import (
	"io"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"forebed/chem/process"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
	"forebed/schemas"
)

// aims are the plans that a name stands for.
var aims = []string{"least_cost", "least_upkeep", "longest_life", "none"}

func compareCommand() *cli.Command {
	return &cli.Command{
		Name:      "compare",
		Usage:     "rigs and plans side by side, over the years",
		ArgsUsage: "REPORT [REPORT ...]",
		Description: "Tries every plan on every rig on every water, over the same draws: cost, refills, upkeep, waste, how\n" +
			"often one is cheaper than another, when the dearer one has paid back, at which demand or feed the choice\n" +
			"flips, which inputs move the answer most, and what a fill gives against the strength of the feed.\n\n" +
			"A plan is an aim (" + strings.Join(aims, ", ") + ") or stages in flow order joined by plus signs:\n" +
			"--plan sediment_filter+carbon+reverse_osmosis. Without --plan: least_cost and none.",
		Flags: join(readingFlags(), drawFlags(), []cli.Flag{
			&cli.StringSliceFlag{Name: "rig", Usage: "a rig document `FILE`; give it again for each rig"},
			&cli.StringSliceFlag{Name: "plan", Usage: "a `PLAN`: an aim, or stages joined by +; give it again for each plan"},
			packFlag(), formatFlag("text", "markdown", "html", "json", "csv"), displayFlag(), outFlag(),
		}),
		Action: func(c *cli.Context) error {
			in, err := comparison(c)
			if err != nil {
				return err
			}
			result, err := rules.Compare(c.Context, in, rules.Options{Seed: c.Uint64("seed")})
			if err != nil {
				return schemas.Problems{{File: "compare", Found: err.Error(), Want: "rigs, plans and waters that can be compared", Remedy: "compare fewer things, or things in one currency", Err: err}}
			}
			return emit(c, func(w io.Writer) error {
				switch c.String("format") {
				case "json":
					return render.JSON(w, result)
				case "csv":
					return render.ComparisonCSV(w, result)
				}
				return show(c.String("format"), w, render.Comparison(result, render.Units(c.String("units"))))
			})
		},
	}
}

// comparison gathers what is compared.
func comparison(c *cli.Context) (in rules.CompareInput, err error) {
	if c.NArg() == 0 {
		return in, usagef("no report given")("name one or more reports: forebed compare REPORT")
	}
	if in.Rules, err = loadRules(c); err != nil {
		return in, err
	}
	for _, name := range c.Args().Slice() {
		r, err := requestFor(c, name)
		if err != nil {
			return in, err
		}
		result, err := r.Composition()
		if err != nil {
			return in, err
		}
		in.Waters = append(in.Waters, rules.NamedWater{Name: baseName(name), Sample: &result.Sample, Water: result.Water})
	}
	files := c.StringSlice("rig")
	if len(files) == 0 {
		files = []string{""}
	}
	for _, name := range files {
		rig, err := loadRig(c, name)
		if err != nil {
			return in, err
		}
		if rig.Name == "" {
			rig.Name = baseName(name)
		}
		in.Rigs = append(in.Rigs, rig)
	}
	tellApart(func(i int) *string { return &in.Waters[i].Name }, len(in.Waters), c.Args().Slice())
	tellApart(func(i int) *string { return &in.Rigs[i].Name }, len(in.Rigs), files)
	specs := c.StringSlice("plan")
	if len(specs) == 0 {
		specs = []string{"least_cost", "none"}
	}
	in.Plans, err = planSpecs(specs)
	return in, err
}

// tellApart adds to a name that stands twice where it comes from.
func tellApart(name func(i int) *string, n int, from []string) {
	for i := range n {
		for j := range i {
			if *name(i) == *name(j) && from[i] != from[j] {
				*name(i) += " (" + from[i] + ")"
				break
			}
		}
	}
}

// baseName is the last part of a path, without its ending.
func baseName(path string) string {
	path = path[strings.LastIndexAny(path, `/\`)+1:]
	if i := strings.LastIndexByte(path, '.'); i > 0 {
		path = path[:i]
	}
	return path
}

// planSpecs reads plans from the command line.
func planSpecs(words []string) ([]rules.PlanSpec, error) {
	var specs []rules.PlanSpec
	for _, word := range words {
		if slices.Contains(aims, word) {
			specs = append(specs, rules.PlanSpec{Name: strings.ReplaceAll(word, "_", " "), Aim: word})
			continue
		}
		spec := rules.PlanSpec{Name: word}
		for _, stage := range strings.Split(word, "+") {
			name, variant, _ := strings.Cut(strings.TrimSpace(stage), "/")
			kinds, err := kindsOf("plan", []string{name})
			if err != nil {
				return nil, err
			}
			if _, ok := process.Find(kinds[0], variant); variant != "" && !ok {
				return nil, usagef("--plan: found %q, expected a variant of %s", variant, kinds[0])("leave the variant out, or see forebed plan --format json for its name")
			}
			spec.Stages = append(spec.Stages, rules.Mention{Kind: kinds[0], Variant: variant})
		}
		specs = append(specs, spec)
	}
	return specs, nil
}
