package main

import (
	"io"

	"github.com/urfave/cli/v2"

	"forebed/chem/labreport"
	"forebed/cmd/forebed/internal/render"
)

func readCommand() *cli.Command {
	return &cli.Command{
		Name:      "read",
		Usage:     "what the report says, with every doubt",
		ArgsUsage: "REPORT",
		Description: "Prints every result as understood and as written, with its line and the doubts about it, and how to\n" +
			"correct it. Only what is no water analysis is refused (exit code 3). The csv and json formats read back\n" +
			"to the same analysis.",
		Flags: join(readingFlags(), []cli.Flag{
			formatFlag("text", "markdown", "html", "json", "csv"), outFlag(),
			&cli.BoolFlag{Name: "lines", Usage: "print what became of every line of the report"},
		}),
		Action: func(c *cli.Context) error {
			r, err := request(c)
			if err != nil {
				return err
			}
			reading, err := r.Read()
			if err != nil {
				return err
			}
			return emit(c, func(w io.Writer) error {
				switch c.String("format") {
				case "json":
					return labreport.WriteJSON(w, reading.Document)
				case "csv":
					return labreport.WriteCSV(w, reading.Document)
				}
				if c.Bool("lines") {
					return show(c.String("format"), w, render.Lines(reading))
				}
				return show(c.String("format"), w, render.Reading(reading))
			})
		},
	}
}
