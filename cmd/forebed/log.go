package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"strings"
	"time"

	"github.com/urfave/cli/v2"

	"forebed/chem/process"
	"forebed/cmd/forebed/internal/engine"
	"forebed/cmd/forebed/internal/render"
	"forebed/cmd/forebed/internal/riglog"
	"forebed/rules"
	"forebed/schemas"
)

func logCommand() *cli.Command {
	return &cli.Command{
		Name:  "log",
		Usage: "keep the log of a rig, learn from it, refill in time",
		Description: "A log is one CSV file a rig, which opens in a spreadsheet. Note what the water meter and the pen\n" +
			"show, silica tests, refills with their reason, and what was done to the stages. forecast then says\n" +
			"how much water is left in this fill.",
		Subcommands: []*cli.Command{
			logEntryCommand("add", "write down what the meters show", riglog.Reading),
			logEntryCommand("refill", "write down that the vessel was refilled, and why", riglog.Refill),
			logEntryCommand("stage", "write down what was done to a stage", riglog.Stage),
			logShowCommand(),
			logForecastCommand(),
			logCalendarCommand(),
			logImportCommand(),
			logExportCommand(),
			logCorrectCommand(),
		},
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("found %q, expected a command of log", c.Args().First())("run forebed log --help for the list")
			}
			return cli.ShowSubcommandHelp(c)
		},
	}
}

// logFile returns the one argument of a log command.
func logFile(c *cli.Context) (string, error) {
	if c.NArg() != 1 {
		return "", usagef("found %d arguments, expected the log file", c.NArg())("put the flags first and the file last, as in forebed log " + c.Command.Name + " --flag VALUE rig.csv")
	}
	return c.Args().First(), nil
}

// required refuses a command that lacks a flag.
func required(c *cli.Context, flags ...string) error {
	for _, f := range flags {
		if !c.IsSet(f) {
			return usagef("found no --%s, and log %s needs it", f, c.Command.Name)("run forebed log " + c.Command.Name + " --help")
		}
	}
	return nil
}

// fileProblem says what hinders a file in the words of a refusal.
func fileProblem(path string, err error) error {
	var ps schemas.Problems
	var pe *fs.PathError
	if err == nil || errors.As(err, &ps) || !errors.As(err, &pe) {
		return err
	}
	return schemas.Problems{{File: path, Found: err.Error(), Want: "a file that can be read and written",
		Remedy: "check the rights and the space on the disk; the log is as it was", Err: err}}
}

// today is the day that the clock shows where the program runs.
func today() riglog.Date { return riglog.DayOf(time.Now()) }

// dateFlag reads a date flag, today where it is not given.
func dateFlag(c *cli.Context, name string) (riglog.Date, error) {
	if !c.IsSet(name) {
		return today(), nil
	}
	d, err := riglog.ParseDate(c.String(name))
	if err != nil {
		return d, usagef("--%s: %v", name, err)("write year, month and day, such as --" + name + " 2026-04-03")
	}
	return d, nil
}

// confirmFlags answer the questions about an entry.
func confirmFlags() []cli.Flag {
	return []cli.Flag{
		&cli.BoolFlag{Name: "out-of-order", Usage: "the entry is late: it is earlier than the last one"},
		&cli.BoolFlag{Name: "duplicate", Usage: "the entry repeats one, and yet happened"},
	}
}

func confirmed(c *cli.Context) riglog.Confirm {
	return riglog.Confirm{OutOfOrder: c.Bool("out-of-order"), Duplicate: c.Bool("duplicate")}
}

func logEntryCommand(name, usage string, kind riglog.Kind) *cli.Command {
	flags := []cli.Flag{
		&cli.StringFlag{Name: "date", Usage: "`DAY`, such as 2026-04-03 or 2026-04-03T18:30", DefaultText: "today"},
		&cli.StringFlag{Name: "meter", Usage: "`FIGURE` on the water meter"},
		&cli.StringFlag{Name: "meter-unit", Usage: "`UNIT` of the meter: gal or L", DefaultText: "as the log"},
		&cli.StringFlag{Name: "rollover", Usage: "the meter passed its highest count and began again at 0; `COUNT` is where it does, such as 100000"},
		&cli.BoolFlag{Name: "reset", Usage: "the meter began again at 0 since the last entry, or was replaced"},
		&cli.BoolFlag{Name: "zeroed", Usage: "the meter was set to 0 after this figure was read"},
	}
	switch kind {
	case riglog.Stage:
		flags = append(flags,
			&cli.StringFlag{Name: "stage", Usage: "`KIND` of stage, such as softener; vessel and well for what belongs to no stage"},
			&cli.StringFlag{Name: "task", Usage: "`WORDS` for what was done, as the upkeep calendar calls it"})
	default:
		flags = append(flags,
			&cli.StringFlag{Name: "feed", Usage: "`PPM` that the pen shows ahead of the vessel"},
			&cli.StringFlag{Name: "product", Usage: "`PPM` that the pen shows behind the vessel (at a refill: before it)"},
			&cli.StringFlag{Name: "silica", Usage: "`TEST` of the product in mg/L as SiO2, such as 2 or '<0.5'"})
	}
	if kind == riglog.Refill {
		flags = append(flags, &cli.StringFlag{Name: "reason", Usage: "`WHY`: spots, meter, silica or schedule (nothing was wrong yet)"})
	}
	flags = append(flags,
		&cli.StringFlag{Name: "note", Usage: "`TEXT` of one line"},
		&cli.BoolFlag{Name: "new", Usage: "begin a new log with this entry"})
	return &cli.Command{
		Name: name, Usage: usage, ArgsUsage: "LOG.csv",
		Flags:  append(flags, confirmFlags()...),
		Action: func(c *cli.Context) error { return logEntry(c, kind) },
	}
}

func logEntry(c *cli.Context, kind riglog.Kind) error {
	path, err := logFile(c)
	if err != nil {
		return err
	}
	if err := required(c, map[riglog.Kind][]string{riglog.Refill: {"reason"}, riglog.Stage: {"stage", "task"}}[kind]...); err != nil {
		return err
	}
	e := riglog.Entry{Kind: kind, Reason: riglog.Reason(c.String("reason")), Stage: process.Kind(strings.ReplaceAll(c.String("stage"), " ", "_")), Task: c.String("task"), Note: c.String("note")}
	if e.Date, err = dateFlag(c, "date"); err != nil {
		return err
	}
	if e.Meter, err = meterFlags(c, path, kind); err != nil {
		return err
	}
	if e.Feed, err = ppmFlag(c, "feed"); err != nil {
		return err
	}
	if e.Product, err = ppmFlag(c, "product"); err != nil {
		return err
	}
	if c.IsSet("silica") {
		if e.Silica, err = riglog.ParseSilica(c.String("silica")); err != nil {
			return usagef("--silica: %v", err)("give the figure in mg/L as SiO2, with < for less than")
		}
	}
	if err := e.Check(); err != nil {
		return ofFlags(err, func(column string) string { return column })
	}
	if c.Bool("new") {
		e.Line, err = 2, riglog.Create(path, e)
	} else {
		e, err = riglog.Append(path, e, confirmed(c))
	}
	if err != nil {
		return fileProblem(path, err)
	}
	_, err = fmt.Fprintf(c.App.Writer, "%s:%d: %s of %s written\n", path, e.Line, e.Kind, e.Date)
	return err
}

// meterFlags reads the figure of the meter. Its unit is that of the log where
// none is given; the first entry of a log must state it.
func meterFlags(c *cli.Context, path string, kind riglog.Kind) (*riglog.Count, error) {
	var events []string
	if c.IsSet("rollover") {
		events = append(events, string(riglog.Rollover)+" "+c.String("rollover"))
	}
	if c.Bool("reset") {
		events = append(events, string(riglog.Reset))
	}
	if c.Bool("zeroed") {
		events = append(events, string(riglog.Zeroed))
	}
	switch {
	case len(events) > 1:
		return nil, usagef("found %d events of the meter, expected one", len(events))("write down two entries when two things happened")
	case !c.IsSet("meter") && (len(events) > 0 || c.IsSet("meter-unit") || kind != riglog.Stage):
		return nil, usagef("found no --meter, expected the figure on the water meter")("give --meter FIGURE")
	case !c.IsSet("meter"):
		return nil, nil
	}
	unit := riglog.Unit(c.String("meter-unit"))
	if unit == "" && !c.Bool("new") {
		l, err := riglog.Read(path)
		if err != nil {
			return nil, fileProblem(path, err)
		}
		unit = l.MeterUnit()
	}
	if unit == "" {
		return nil, usagef("found no unit of the meter, expected gal or L")("give --meter-unit gal or --meter-unit L with the first entry")
	}
	if err := bounded("meter-unit", string(unit), "oneof=gal L", "gal or L", "give the unit that the meter counts in"); err != nil {
		return nil, err
	}
	m, err := riglog.ParseMeter(c.String("meter"), unit, strings.Join(events, ""))
	if err != nil {
		return nil, usagef("--meter: %v", err)("give digits with a decimal point, such as --meter 1234.5")
	}
	return m, nil
}

func ppmFlag(c *cli.Context, name string) (*float64, error) {
	if !c.IsSet(name) {
		return nil, nil
	}
	x, err := riglog.ParsePPM(c.String(name))
	if err != nil {
		return nil, usagef("--%s: %v", name, err)("give the figure on the pen, such as --" + name + " 180")
	}
	return &x, nil
}

func logShowCommand() *cli.Command {
	return &cli.Command{
		Name: "show", Usage: "print a log by date, with the water of each fill", ArgsUsage: "LOG.csv",
		Flags: []cli.Flag{formatFlag("text", "markdown", "html"), displayFlag(), outFlag()},
		Action: func(c *cli.Context) error {
			path, err := logFile(c)
			if err != nil {
				return err
			}
			l, err := riglog.Read(path)
			if err != nil {
				return fileProblem(path, err)
			}
			return emit(c, func(w io.Writer) error {
				return show(c.String("format"), w, l.Blocks(render.Units(c.String("units")), 0))
			})
		},
	}
}

// basisFlags name what a log is held against.
func basisFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "plan", Usage: "`FILE` of the plan, as forebed plan --format json prints it"},
		&cli.StringFlag{Name: "rig", Usage: "`FILE` of the rig document, for the season, the endpoint and the busiest day"},
		&cli.BoolFlag{Name: "untreated", Usage: "the stages of the plan are not built yet: raw water feeds the vessel"},
		&cli.StringFlag{Name: "feed-ppm", Usage: "`PPM` that the pen showed of the plan's water ahead of the vessel", DefaultText: "the first readings of the log"},
		&cli.StringFlag{Name: "big-job", Usage: "`VOLUME` of the next big job, such as '30 gal'", DefaultText: "the busiest day"},
		&cli.Uint64Flag{Name: "seed", Usage: "`SEED` of the draws", Value: engine.DefaultSeed},
	}
}

// basis reads what the flags name.
func basis(c *cli.Context) (b riglog.Basis, err error) {
	if err := required(c, "plan"); err != nil {
		return b, err
	}
	b = riglog.Basis{Untreated: c.Bool("untreated"), Seed: c.Uint64("seed")}
	data, err := readFile(c, c.String("plan"))
	if err != nil {
		return b, err
	}
	if err := schemas.Decode("plan", c.String("plan"), data, &b.Plan); err != nil {
		return b, err
	}
	if name := c.String("rig"); name != "" {
		rig, err := loadRig(c, name)
		if err != nil {
			return b, err
		}
		b.Rig = &rig
	}
	if ppm, err := ppmFlag(c, "feed-ppm"); err != nil {
		return b, err
	} else if ppm != nil {
		b.FeedPPM = *ppm
	}
	if c.IsSet("big-job") {
		var v rules.Volume
		if err := v.UnmarshalText([]byte(c.String("big-job"))); err != nil {
			return b, usagef("--big-job: %v", err)("give a volume with its unit, such as --big-job '30 gal'")
		}
		b.BigJob = float64(v)
	}
	return b, nil
}

func logForecastCommand() *cli.Command {
	return &cli.Command{
		Name: "forecast", Usage: "say how much is left of this fill, and what to do", ArgsUsage: "LOG.csv",
		Description: "The plan's life is the starting point; readings, silica tests and past refills of the log update it.",
		Flags:       join(basisFlags(), []cli.Flag{formatFlag("text", "markdown", "html", "json"), displayFlag(), outFlag()}),
		Action: func(c *cli.Context) error {
			path, err := logFile(c)
			if err != nil {
				return err
			}
			report, err := forecast(c, path)
			if err != nil {
				return err
			}
			return emit(c, func(w io.Writer) error {
				if c.String("format") == "json" {
					return render.JSON(w, report)
				}
				return show(c.String("format"), w, report.Blocks(render.Units(c.String("units"))))
			})
		},
	}
}

func forecast(c *cli.Context, path string) (*riglog.Report, error) {
	l, err := riglog.Read(path)
	if err != nil {
		return nil, fileProblem(path, err)
	}
	b, err := basis(c)
	if err != nil {
		return nil, err
	}
	return riglog.Forecast(l, b)
}

func logCalendarCommand() *cli.Command {
	return &cli.Command{
		Name: "calendar", Usage: "say when the upkeep of the plan's stages falls due", ArgsUsage: "LOG.csv",
		Description: "Due dates follow from the stage entries of the log. ics is an iCalendar file (RFC 5545) for a\n" +
			"calendar program; a later one replaces the events of an earlier one.",
		Flags: join(basisFlags(), []cli.Flag{
			&cli.StringFlag{Name: "today", Usage: "`DAY` from which a task is overdue", DefaultText: "today"},
			formatFlag("text", "markdown", "html", "ics"), outFlag()}),
		Action: func(c *cli.Context) error {
			path, err := logFile(c)
			if err != nil {
				return err
			}
			now, err := dateFlag(c, "today")
			if err != nil {
				return err
			}
			tasks, strays, stops, err := calendar(c, path)
			if err != nil {
				return err
			}
			return emit(c, func(w io.Writer) error {
				if c.String("format") != "ics" {
					return show(c.String("format"), w, riglog.CalendarBlocks(tasks, strays, now, stops))
				}
				stamp := time.Now()
				if c.IsSet("today") {
					stamp = now.Midnight()
				}
				return riglog.WriteCalendar(w, filepath.Base(path), tasks, stamp)
			})
		},
	}
}

// calendar is the upkeep of the plan's stages and, where the log has a refill,
// the next one; and the stop cautions of the plan.
func calendar(c *cli.Context, path string) (tasks []riglog.Due, strays []riglog.Entry, stops []rules.Caution, err error) {
	l, err := riglog.Read(path)
	if err != nil {
		return nil, nil, nil, fileProblem(path, err)
	}
	b, err := basis(c)
	if err != nil {
		return nil, nil, nil, err
	}
	var r *riglog.Report
	if l.Refilled() {
		if r, err = riglog.Forecast(l, b); err != nil {
			return nil, nil, nil, err
		}
	}
	tasks, strays = riglog.Upkeep(l, b, r)
	return tasks, strays, b.Stops(), nil
}

func logImportCommand() *cli.Command {
	return &cli.Command{
		Name: "import", Usage: "take the rows of a CSV file into a log, all or none", ArgsUsage: "LOG.csv",
		Description: "The file names its columns as a log does (see forebed log export); columns may be left out and\n" +
			"stand in any order. Without an entry column its rows are readings.",
		Flags: append([]cli.Flag{
			&cli.StringFlag{Name: "from", Usage: "`FILE` to take the rows from, - for standard input"},
			&cli.BoolFlag{Name: "skip-known", Usage: "leave out rows that the log has already"},
			&cli.BoolFlag{Name: "new", Usage: "begin a new log with these rows"},
		}, confirmFlags()...),
		Action: func(c *cli.Context) error {
			path, err := logFile(c)
			if err != nil {
				return err
			}
			if err := required(c, "from"); err != nil {
				return err
			}
			from := c.String("from")
			data, err := readFile(c, from)
			if err != nil {
				return err
			}
			taken, known, err := riglog.Import(path, from, data, confirmed(c), c.Bool("skip-known"), c.Bool("new"))
			if err != nil {
				return fileProblem(path, err)
			}
			_, err = fmt.Fprintf(c.App.Writer, "%s: %s taken, %d known already\n", path, render.Count(taken, "row"), known)
			return err
		},
	}
}

func logExportCommand() *cli.Command {
	return &cli.Command{
		Name: "export", Usage: "print a log by date as CSV", ArgsUsage: "LOG.csv",
		Flags: []cli.Flag{outFlag()},
		Action: func(c *cli.Context) error {
			path, err := logFile(c)
			if err != nil {
				return err
			}
			l, err := riglog.Read(path)
			if err != nil {
				return fileProblem(path, err)
			}
			return emit(c, func(w io.Writer) error { return riglog.Export(w, l.ByDate()) })
		},
	}
}

// assignments collects COLUMN=VALUE of a flag that is given again and again; a
// comma belongs to the value.
type assignments struct{ values map[string]string }

// Set takes one assignment in.
func (a *assignments) Set(s string) error {
	column, value, ok := strings.Cut(s, "=")
	if !ok {
		return fmt.Errorf("%q is not COLUMN=VALUE, such as meter=1234.5", s)
	}
	if a.values == nil {
		a.values = map[string]string{}
	}
	a.values[column] = value
	return nil
}

// String is empty: there is no default.
func (a *assignments) String() string { return "" }

func logCorrectCommand() *cli.Command {
	return &cli.Command{
		Name: "correct", Usage: "change or take out one line of a log", ArgsUsage: "LOG.csv",
		Description: "forebed log show prints the line of every entry. Every other line stays as it is.",
		Flags: []cli.Flag{
			&cli.IntFlag{Name: "line", Usage: "`NUMBER` of the line; the column names are line 1"},
			&cli.GenericFlag{Name: "set", Value: &assignments{}, Usage: "`COLUMN=VALUE`, may be given again; nothing behind = empties the column"},
			&cli.StringFlag{Name: "row", Usage: "a whole new `LINE`, for one that cannot be read"},
			&cli.BoolFlag{Name: "delete", Usage: "take the line out"},
		},
		Action: func(c *cli.Context) error {
			path, err := logFile(c)
			if err != nil {
				return err
			}
			if err := required(c, "line"); err != nil {
				return err
			}
			fix := riglog.Correction{Line: c.Int("line"), Delete: c.Bool("delete"), Row: c.String("row"), Set: c.Generic("set").(*assignments).values}
			ways := 0
			for _, given := range []bool{fix.Delete, fix.Row != "", len(fix.Set) > 0} {
				if given {
					ways++
				}
			}
			if ways != 1 {
				return usagef("found %d of --set, --row and --delete, expected one", ways)("say what shall become of the line")
			}
			before, after, err := riglog.Correct(path, fix)
			if err != nil {
				return fileProblem(path, err)
			}
			if fix.Delete {
				after = "(taken out)"
			}
			_, err = fmt.Fprintf(c.App.Writer, "%s:%d:\n  was %s\n  is  %s\n", path, fix.Line, before, after)
			return err
		},
	}
}
