package main

import (
	"io"

	"github.com/urfave/cli/v2"

	"forebed/chem/water"
	"forebed/cmd/forebed/internal/render"
)

func waterCommand() *cli.Command {
	return &cli.Command{
		Name:      "water",
		Usage:     "what is in the water: ions, both loads, checks",
		ArgsUsage: "REPORT",
		Description: "Completes the analysis: what was not measured is drawn from the statistics of real wells, exactly\n" +
			"charge-balanced, and printed with its range and origin.",
		Flags: join(readingFlags(), drawFlags(), []cli.Flag{formatFlag("text", "markdown", "html", "json"), outFlag()}),
		Action: func(c *cli.Context) error {
			r, err := request(c)
			if err != nil {
				return err
			}
			result, err := r.Composition()
			if err != nil {
				return err
			}
			return emit(c, func(w io.Writer) error {
				if c.String("format") == "json" {
					return render.JSON(w, water.Encode(result.Water))
				}
				return show(c.String("format"), w, render.Water(result.Water))
			})
		},
	}
}
