package main

import (
	"strings"

	"github.com/urfave/cli/v2"
)

// flagsFirst moves flags that stand behind a report in front of it, because
// the library stops looking for flags at the first argument and people type
// them where they think of them. What follows "--" is left alone.
func flagsFirst(app *cli.App, args []string) []string {
	if len(args) < 2 || args[len(args)-1] == "--"+cli.BashCompletionFlag.Names()[0] {
		return args // the shell asks with a flag that must stay last
	}
	commands, flags := app.Commands, app.Flags
	at := 1
	for at < len(args) {
		c := named(commands, args[at])
		if c == nil {
			break
		}
		commands, flags = c.Subcommands, c.Flags
		at++
	}
	moved, rest := []string{}, []string{}
	for i := at; i < len(args); i++ {
		a := args[i]
		switch {
		case a == "--":
			rest = append(rest, args[i:]...)
			i = len(args)
		case len(a) < 2 || a[0] != '-':
			rest = append(rest, a)
		default:
			moved = append(moved, a)
			if takesValue(flags, a) && i+1 < len(args) {
				i++
				moved = append(moved, args[i])
			}
		}
	}
	return append(append(append([]string{}, args[:at]...), moved...), rest...)
}

func named(commands []*cli.Command, name string) *cli.Command {
	for _, c := range commands {
		if c.HasName(name) {
			return c
		}
	}
	return nil
}

// takesValue tells whether a flag as written is followed by its value. A flag
// that nobody knows is left for the library to refuse.
func takesValue(flags []cli.Flag, written string) bool {
	name := strings.TrimLeft(written, "-")
	if strings.Contains(name, "=") {
		return false
	}
	for _, f := range flags {
		for _, n := range f.Names() {
			if n == name {
				g, ok := f.(cli.DocGenerationFlag)
				return ok && g.TakesValue()
			}
		}
	}
	return false
}
