package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"slices"
	"strings"
	"syscall"

	"github.com/urfave/cli/v2"

	"forebed/chem/labreport"
	"forebed/chem/process"
	"forebed/cmd/forebed/internal/engine"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
	"forebed/schemas"
)

// readingFlags correct what a report was read as. Flags are made afresh for
// each command, because the library writes into them.
func readingFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringFlag{Name: "sample", Usage: "plan for the sample with this `LABEL` or number, when the report has several"},
		&cli.StringSliceFlag{Name: "set", Usage: "correct or add a result, `ANALYTE=VALUE`: iron=1.2mg/L"},
		&cli.StringSliceFlag{Name: "basis", Usage: "say what a result is expressed as, `ANALYTE=BASIS`: nitrate=N"},
		&cli.StringSliceFlag{Name: "drop", Usage: "leave the results of an `ANALYTE` out"},
		&cli.StringFlag{Name: "pads", Usage: "the strip's pad `TABLE`, so that a reading counts as the interval between its steps"},
	}
}

// drawFlags steer the random draws.
func drawFlags() []cli.Flag {
	return []cli.Flag{
		&cli.IntFlag{Name: "draws", Value: engine.DefaultDraws, Usage: "how many `N` waters that fit the report to compute with, 50 to 20000"},
		&cli.Uint64Flag{Name: "seed", Value: engine.DefaultSeed, Usage: "seed `N` of the random draws; the same seed gives the same answer"},
	}
}

func rigFlag() cli.Flag {
	return &cli.StringFlag{Name: "rig", Usage: "the rig document `FILE` (vessel, use, prices, site); without it defaults are used and printed"}
}

func packFlag() cli.Flag {
	return &cli.StringSliceFlag{Name: "pack", Usage: "a rule pack `FILE` that adds, tightens or silences rules"}
}

// stageFlags steer the search.
func stageFlags() []cli.Flag {
	return []cli.Flag{
		&cli.StringSliceFlag{Name: "with", Usage: "have a stage of this `KIND` in every train"},
		&cli.StringSliceFlag{Name: "without", Usage: "have no stage of this `KIND`"},
	}
}

func displayFlag() cli.Flag {
	return &cli.StringFlag{Name: "units", Value: string(render.US), Usage: "units of volumes and flows: us or metric", Action: oneOf("units", "us", "metric")}
}

func outFlag() cli.Flag {
	return &cli.StringFlag{Name: "output", Aliases: []string{"o"}, Usage: "write to `FILE` instead of standard output"}
}

// formatFlag chooses between the formats of one command.
func formatFlag(formats ...string) cli.Flag {
	return &cli.StringFlag{Name: "format", Value: formats[0], Usage: "`FORMAT` of the output: " + strings.Join(formats, ", "), Action: oneOf("format", formats...)}
}

// join puts groups of flags together.
func join(groups ...[]cli.Flag) []cli.Flag { return slices.Concat(groups...) }

// readFile reads a file, or standard input for "-", up to the limit of what
// the readers take.
func readFile(c *cli.Context, name string) ([]byte, error) {
	in := io.Reader(c.App.Reader)
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, unreadable(name, err)
		}
		defer f.Close()
		in = f
	}
	return readAll(name, in)
}

// readAll reads up to one byte beyond the limit of what the readers take, so
// that they can say that it is too much.
func readAll(name string, in io.Reader) ([]byte, error) {
	b, err := io.ReadAll(io.LimitReader(in, labreport.MaxBytes+1))
	if err != nil {
		return nil, unreadable(name, err)
	}
	return b, nil
}

func unreadable(name string, err error) error {
	found, remedy := err.Error(), "check the path"
	var pe *fs.PathError
	if errors.As(err, &pe) {
		found = pe.Err.Error()
	}
	switch {
	case errors.Is(err, fs.ErrNotExist):
		found, remedy = "no such file", "check the path, or give - to read from standard input"
	case errors.Is(err, syscall.EISDIR):
		found, remedy = "a directory", "name a file in it"
	case errors.Is(err, fs.ErrPermission):
		remedy = "make the file readable for you"
	}
	return schemas.Problems{{File: name, Found: found, Want: "a file that can be read", Remedy: remedy, Err: err}}
}

// request builds the engine's request from the flags of a command whose one
// argument is the report.
func request(c *cli.Context) (*engine.Request, error) {
	switch c.NArg() {
	case 1:
	case 0:
		return nil, usagef("no report given")("name the report, or - for standard input: forebed " + c.Command.Name + " REPORT")
	default:
		return nil, usagef("found %d arguments, expected one report; flags go before it", c.NArg())("put flags before the report: forebed " + c.Command.Name + " --units metric REPORT")
	}
	return requestFor(c, c.Args().First())
}

// requestFor is request for a report that the caller has found.
func requestFor(c *cli.Context, name string) (*engine.Request, error) {
	input, err := readFile(c, name)
	if err != nil {
		return nil, err
	}
	r, err := readingRequest(c)
	r.Input, r.File = input, name
	return &r, err
}

// readingRequest is a request without a report: the corrections and the draws.
func readingRequest(c *cli.Context) (engine.Request, error) {
	r := engine.Request{Pads: c.String("pads"), Draws: c.Int("draws"), Seed: c.Uint64("seed"),
		Edits: labreport.Edits{Sample: c.String("sample"), Set: c.StringSlice("set"), Basis: c.StringSlice("basis"), Drop: c.StringSlice("drop")}}
	if !c.IsSet("draws") {
		return r, nil
	}
	return r, bounded("draws", r.Draws, "min=50,max=20000", "50 to 20000", "500 is enough for most reports")
}

// planRequest is request with the rig, the rules and the forced stages.
func planRequest(c *cli.Context) (*engine.Request, error) {
	r, err := request(c)
	if err != nil {
		return nil, err
	}
	return r, steer(c, r)
}

// steer puts the rig, the rules and the forced stages into a request.
func steer(c *cli.Context, r *engine.Request) (err error) {
	if r.Rig, err = loadRig(c, c.String("rig")); err != nil {
		return err
	}
	if r.Rules, err = loadRules(c); err != nil {
		return err
	}
	if r.Force, err = kindsOf("with", c.StringSlice("with")); err != nil {
		return err
	}
	if r.Forbid, err = kindsOf("without", c.StringSlice("without")); err != nil {
		return err
	}
	for _, k := range r.Force {
		if slices.Contains(r.Forbid, k) {
			return usagef("found --with %s and --without %s, expected one of them", k, k)("leave one of the two out")
		}
	}
	return nil
}

// loadRig reads a rig document, or returns the rig of somebody who states
// nothing.
func loadRig(c *cli.Context, name string) (rules.Rig, error) {
	if name == "" {
		return rules.DefaultRig(), nil
	}
	b, err := readFile(c, name)
	if err != nil {
		return rules.Rig{}, err
	}
	return rules.ReadRig(name, b)
}

// loadRules returns the built-in rules with the packs of --pack.
func loadRules(c *cli.Context) (*rules.Set, error) {
	packs := rules.Builtin()
	for _, name := range c.StringSlice("pack") {
		b, err := readFile(c, name)
		if err != nil {
			return nil, err
		}
		p, err := rules.LoadPack(name, b)
		if err != nil {
			return nil, err
		}
		packs = append(packs, p)
	}
	return rules.Merge(packs...)
}

// kindsOf reads names of stage kinds.
func kindsOf(flag string, names []string) ([]process.Kind, error) {
	var kinds []process.Kind
	for _, n := range names {
		k := process.Kind(strings.ReplaceAll(strings.TrimSpace(n), " ", "_"))
		if !slices.Contains(process.Kinds(), k) {
			var all []string
			for _, k := range process.Kinds() {
				all = append(all, string(k))
			}
			return nil, usagef("--%s: found %q, expected a kind of stage", flag, n)("use one of: " + strings.Join(all, ", "))
		}
		kinds = append(kinds, k)
	}
	return kinds, nil
}

// emit writes what print makes to --output or standard output. A file is
// written whole or not at all.
func emit(c *cli.Context, print func(io.Writer) error) error {
	name := c.String("output")
	if name == "" || name == "-" {
		var b strings.Builder
		if err := print(&b); err != nil {
			return err
		}
		_, err := io.WriteString(c.App.Writer, b.String())
		return err
	}
	return writeWhole(name, print)
}

// writeWhole writes a file through a temporary one beside it, so that a
// failure leaves nothing behind.
func writeWhole(name string, print func(io.Writer) error) error {
	f, err := os.CreateTemp(dirOf(name), ".forebed-*")
	if err != nil {
		return unreadable(name, err)
	}
	defer os.Remove(f.Name()) // fails once renamed, as it should
	err = errors.Join(print(f), f.Chmod(0o644), f.Close())
	if err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	if err := os.Rename(f.Name(), name); err != nil {
		return unreadable(name, err)
	}
	return nil
}

func dirOf(name string) string {
	if i := strings.LastIndexByte(name, os.PathSeparator); i >= 0 {
		return name[:i+1]
	}
	return "."
}

// show prints blocks in one of the formats for people.
func show(format string, w io.Writer, blocks []render.Block) error {
	switch format {
	case "markdown":
		return render.Markdown(w, blocks)
	case "html":
		return render.HTML(w, blocks)
	}
	return render.Text(w, blocks)
}
