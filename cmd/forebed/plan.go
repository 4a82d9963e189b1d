package main

import (
	"fmt"
	"io"

	"github.com/urfave/cli/v2"

	"forebed/cmd/forebed/internal/render"
)

func planCommand() *cli.Command {
	return &cli.Command{
		Name:      "plan",
		Usage:     "plan the stages ahead of the vessel, with life, cost and cautions (the main job)",
		ArgsUsage: "REPORT",
		Description: "Reads the report, completes the water, tries the trains of stages that the rules admit, and prints the\n" +
			"one of least cost with its reasons, beside the others. REPORT is a file, or - for standard input: text,\n" +
			"CSV, WQX, XLSX, PDF, HTML, or an analysis document; told apart by content.\n\n" +
			"It refuses (exit code 3) where a doubtful value would change the stages or move the life beyond its\n" +
			"band, and names the flag that settles it.",
		Flags: join(readingFlags(), stageFlags(), drawFlags(), []cli.Flag{rigFlag(), packFlag(),
			formatFlag("text", "markdown", "html", "json"), displayFlag(), outFlag(),
			&cli.BoolFlag{Name: "acknowledge", Usage: "you have read the stop cautions: print what to buy"},
			&cli.BoolFlag{Name: "strict", Usage: "end with exit code 4 when the plan has a stop caution"},
		}),
		Action: func(c *cli.Context) error {
			r, err := planRequest(c)
			if err != nil {
				return err
			}
			r.Cells = c.String("format") == "json"
			result, err := r.Plan(c.Context)
			if err != nil {
				return err
			}
			report := render.Report{Plan: result.Plan, Water: result.Water, Doubts: render.Warnings(result.Reading.Document), Settled: result.Settled, Acknowledged: c.Bool("acknowledge"), ToAcknowledge: "Give --acknowledge to print it."}
			if c.String("format") != "json" {
				report.Runs = r.Runs(result.Plan)
			}
			err = emit(c, func(w io.Writer) error {
				if c.String("format") == "json" {
					return render.JSON(w, render.Shown(result.Plan, c.Bool("acknowledge")))
				}
				return show(c.String("format"), w, render.Plan(report, render.Units(c.String("units"))))
			})
			if err == nil && c.Bool("strict") && render.HasStop(result.Plan) {
				fmt.Fprintln(c.App.ErrWriter, "forebed: the plan has a stop caution; it stands above the stages")
				return errStopCaution
			}
			return err
		},
	}
}
