package main

import (
	"io"
	"strings"

	"github.com/urfave/cli/v2"

	"forebed/chem/water"
	"forebed/cmd/forebed/internal/engine"
	"forebed/cmd/forebed/internal/render"
	"forebed/schemas"
)

func bedCommand() *cli.Command {
	return &cli.Command{
		Name:      "bed",
		Usage:     "breakthrough of the vessel: life by endpoint, what the pen shows on the way",
		ArgsUsage: "REPORT",
		Description: "Follows one fill of the first vessel of the rig to exhaustion, cell by cell, on the untreated water of\n" +
			"the report or behind the stages of the plan, and prints every end of life and the curve. Two equal\n" +
			"vessels in series are followed through their swaps as well. The csv format is for plotting.",
		Flags: join(readingFlags(), drawFlags(), []cli.Flag{rigFlag(),
			&cli.BoolFlag{Name: "behind-plan", Usage: "follow a fill on the water behind the stages that forebed plan would choose"}},
			stageFlags(), []cli.Flag{packFlag(), formatFlag("text", "markdown", "html", "csv"), displayFlag(), outFlag()}),
		Action: func(c *cli.Context) error {
			r, err := planRequest(c)
			if err != nil {
				return err
			}
			name, feed, err := feedOf(c, r)
			if err != nil {
				return err
			}
			run, err := engine.RunBed(name, &r.Rig, feed)
			if err != nil {
				return schemas.Problems{{File: r.File, Found: err.Error(), Want: "a vessel and a water that can be computed with", Remedy: "check the rig document and the report", Err: schemas.ErrInvalid}}
			}
			return emit(c, func(w io.Writer) error {
				if c.String("format") == "csv" {
					return render.BedCSV(w, run)
				}
				return show(c.String("format"), w, render.Bed(run, render.Units(c.String("units"))))
			})
		},
	}
}

// feedOf is the water that reaches the vessel, and what it is called.
func feedOf(c *cli.Context, r *engine.Request) (name string, feed *water.Water, err error) {
	if !c.Bool("behind-plan") {
		if c.IsSet("with") || c.IsSet("without") || c.IsSet("pack") {
			return "", nil, usagef("found --with, --without or --pack on untreated water, expected --behind-plan beside it")("add --behind-plan, or leave the stages out")
		}
		result, err := r.Composition()
		if err != nil {
			return "", nil, err
		}
		return "untreated water", &result.Water.Central, nil
	}
	result, err := r.Plan(c.Context)
	if err != nil {
		return "", nil, err
	}
	var stages []string
	for _, s := range result.Plan.Stages {
		stages = append(stages, s.Title)
	}
	name = "water behind " + strings.Join(stages, ", ")
	if len(stages) == 0 {
		name = "untreated water, for the plan has no stages"
	}
	return name, &result.Plan.Feeds.WithPlan, nil
}
