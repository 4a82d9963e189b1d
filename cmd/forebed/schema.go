package main

import (
	"fmt"
	"strings"

	"github.com/urfave/cli/v2"

	"forebed/schemas"
)

func schemaCommand() *cli.Command {
	return &cli.Command{
		Name:      "schema",
		Usage:     "print the JSON Schema of a document",
		ArgsUsage: "[NAME]",
		Description: "Prints the JSON Schema (2020-12) of one of the documents that forebed reads or writes:\n" +
			strings.Join(schemas.Names(), ", ") + ". Without a name it lists them.",
		Action: func(c *cli.Context) error {
			switch c.NArg() {
			case 0:
				fmt.Fprintln(c.App.Writer, strings.Join(schemas.Names(), "\n"))
				return nil
			case 1:
			default:
				return usagef("found %d names, expected one", c.NArg())("give one of: " + strings.Join(schemas.Names(), ", "))
			}
			src, ok := schemas.Source(c.Args().First())
			if !ok {
				return usagef("found %q, expected the name of a document", c.Args().First())("give one of: " + strings.Join(schemas.Names(), ", "))
			}
			_, err := c.App.Writer.Write(src)
			return err
		},
	}
}
