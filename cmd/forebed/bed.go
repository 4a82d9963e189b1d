package main

import (
	"io"

	"github.com/urfave/cli/v2"

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
			"the report, and prints every end of life and the curve. The csv format is for plotting.",
		Flags: join(readingFlags(), drawFlags(), []cli.Flag{rigFlag(), formatFlag("text", "markdown", "html", "csv"), displayFlag(), outFlag()}),
		Action: func(c *cli.Context) error {
			r, err := request(c)
			if err != nil {
				return err
			}
			if r.Rig, err = loadRig(c, c.String("rig")); err != nil {
				return err
			}
			result, err := r.Composition()
			if err != nil {
				return err
			}
			run, err := engine.RunBed("untreated water", &r.Rig, &result.Water.Central)
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
