package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"strings"

	"github.com/urfave/cli/v2"
)

// Exit codes; see the package comment.
const (
	exitDone     = 0
	exitInternal = 1
	exitUsage    = 2
	exitRefused  = 3
	exitStop     = 4
	exitBroken   = 130 // 128 and the number of the signal, as shells count
)

// exits says what each code means, for the manual.
var exits = []struct {
	code  int
	means string
}{
	{exitDone, "done"},
	{exitInternal, "internal failure: our fault, not the input's"},
	{exitUsage, "usage: a flag or an argument is wrong"},
	{exitRefused, "input refused: the message says where, what was found, what was expected, and one remedy; of a batch, at least one line"},
	{exitStop, "the plan has a stop caution, and --strict was given"},
	{exitBroken, "broken off with Ctrl-C; a batch has written whole lines up to there"},
}

func main() {
	// A command is short and its waters are many and small: a heap that may grow
	// to five times what lives (some tens of megabytes) saves half of the collecting.
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(400)
	}
	ctx, cancel := signal.NotifyContext(context.Background(), os.Interrupt)
	code := run(ctx, os.Args, os.Stdin, os.Stdout, os.Stderr)
	cancel()
	os.Exit(code)
}

// run is the whole program but for the process.
func run(ctx context.Context, args []string, stdin io.Reader, stdout, stderr io.Writer) int {
	return finish(func() error {
		app := newApp(stdin, stdout, stderr)
		return app.RunContext(ctx, flagsFirst(app, args))
	}, stderr)
}

// finish runs a command, maps its error to an exit code, and keeps a panic from
// the user.
func finish(command func() error, stderr io.Writer) (code int) {
	defer func() {
		if p := recover(); p != nil {
			fmt.Fprintf(stderr, "forebed: internal failure: %v\n  try: this is our fault, not your report's; please send this message and the command you gave\n", p)
			fmt.Fprintf(stderr, "%s", debug.Stack())
			code = exitInternal
		}
	}()
	err := command()
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errStopCaution):
		return exitStop
	case errors.Is(err, errFailedLines):
		return exitRefused
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(stderr, "forebed: broken off")
		return exitBroken
	}
	fmt.Fprintf(stderr, "%s\n", message(err))
	switch {
	case isUsage(err):
		return exitUsage
	case isRefusal(err):
		return exitRefused
	}
	return exitInternal
}

func newApp(stdin io.Reader, stdout, stderr io.Writer) *cli.App {
	app := &cli.App{
		Name:      "forebed",
		Usage:     "what to put before a mixed-bed deionization vessel, from your well-water report",
		UsageText: "forebed plan REPORT          a staged pretreatment plan\nforebed read REPORT          what the report says\nforebed COMMAND --help       every flag of a command",
		Description: "forebed reads a well-water analysis (text, CSV, WQX, XLSX, PDF text, strip readings, or - for\n" +
			"standard input) and plans the stages ahead of a mixed-bed vessel, with the resin life, cost and\n" +
			"cautions of every choice. It concerns rinse water only and is no drinking-water or health advice.",
		Version:                   version(),
		Reader:                    stdin,
		Writer:                    stdout,
		ErrWriter:                 stderr,
		HideHelpCommand:           true,
		EnableBashCompletion:      true,
		Suggest:                   true,
		UseShortOptionHandling:    false, // with it, the library fails when a shell asks for the rest of a flag
		DisableSliceFlagSeparator: true,  // a corrected value may hold a comma
		Commands: []*cli.Command{
			planCommand(), readCommand(), waterCommand(), bedCommand(), compareCommand(), rigCommand(), logCommand(),
			serveCommand(), pageCommand(), batchCommand(), rulesCommand(), schemaCommand(), completionCommand(), manCommand(),
		},
		OnUsageError:   onUsageError,
		ExitErrHandler: func(*cli.Context, error) {}, // run maps errors to codes
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("found %q, expected a command such as plan or read", c.Args().First())("run forebed --help for the list of commands")
			}
			return cli.ShowAppHelp(c)
		},
	}
	for _, c := range app.Commands {
		prepare(c)
	}
	return app
}

// prepare gives a command and its own commands the habits they share.
func prepare(c *cli.Command) {
	c.OnUsageError = onUsageError
	c.HideHelpCommand = true
	for _, sub := range c.Subcommands {
		prepare(sub)
	}
}

// version is the module version, the revision it was built from, and with
// what and for what it was built.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	set := map[string]string{}
	for _, s := range info.Settings {
		set[s.Key] = s.Value
	}
	v := cmp.Or(info.Main.Version, "(devel)")
	if revision := set["vcs.revision"]; revision != "" && !strings.Contains(v, revision[:min(len(revision), 12)]) {
		v += ", revision " + revision[:min(len(revision), 12)]
	}
	if set["vcs.modified"] == "true" {
		v += ", with changes"
	}
	return fmt.Sprintf("%s, built with %s for %s/%s", v, info.GoVersion, runtime.GOOS, runtime.GOARCH)
}
