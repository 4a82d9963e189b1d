package main

import (
	"bufio"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/urfave/cli/v2"
	"golang.org/x/term"

	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
	"forebed/schemas"
)

// question is one field that most people know, asked by rig new.
type question struct {
	flag, field, ask, fallback string
	kind                       answer
}

// answer is how an answer is written in YAML.
type answer int

const (
	word  answer = iota // as it is
	text                // quoted
	yesNo               // yes is true, no is false
)

// yaml writes an answer as a value of the document.
func (q *question) yaml(said string) string {
	switch q.kind {
	case text:
		return fmt.Sprintf("%q", said)
	case yesNo:
		switch strings.ToLower(said) {
		case "yes", "y":
			return "true"
		case "no", "n":
			return "false"
		}
	}
	return said
}

// questions are asked in the order of the document; field is its path.
var questions = []question{
	{"name", "name", "What do you call the rig?", "my rig", text},
	{"kind", "vessels/kind", "Is the vessel a tank you refill, a cartridge you throw away, or an exchange service? (tank, cartridge, exchange)", "tank", word},
	{"resin", "vessels/resin", "How much resin is in it? (1 ft3, 28 L, 43 lb)", "1 ft3", text},
	{"rinse", "use/rinse", "How much water goes through it for one rinse? (8 gal, 30 L)", "8 gal", text},
	{"rinses", "use/rinses_per_week", "How many rinses a week, in the season?", "3", word},
	{"months", "use/months_per_year", "How many months of use a year?", "6", word},
	{"first-month", "use/first_month", "In which month does the season begin? (1 to 12)", "4", word},
	{"flow", "use/peak_flow", "What is the highest flow? (2 gpm, 8 L/min)", "2 gpm", text},
	{"residue", "endpoint/dry_residue_mg_per_l", "What dry residue do you accept, in mg/L? (10; 5 for dark paint)", "10", word},
	{"drain", "site/drain", "Is a drain near? (yes, no)", "yes", yesNo},
	{"septic", "site/septic", "Does the drain lead to a septic tank? (yes, no)", "no", yesNo},
	{"power", "site/power", "Is there electric power? (yes, no)", "yes", yesNo},
	{"freezing", "site/freezing", "Can it freeze there? (yes, no)", "no", yesNo},
	{"outdoors", "site/outdoors", "Does it stand outdoors? (yes, no)", "no", yesNo},
}

func rigCommand() *cli.Command {
	var answers []cli.Flag
	for _, q := range questions {
		answers = append(answers, &cli.StringFlag{Name: q.flag, Usage: q.ask, DefaultText: q.fallback})
	}
	return &cli.Command{
		Name:  "rig",
		Usage: "write a rig document, or check one",
		Subcommands: []*cli.Command{
			{
				Name:  "new",
				Usage: "write a commented rig document; asks at a terminal, or takes flags",
				Description: "Asks a few questions if both ends are a terminal and no answer is given as a flag; else it takes the\n" +
					"flags, and the default for what is not given. The document goes to standard output or --output.",
				Flags:  append(answers, outFlag()),
				Action: newRig,
			},
			{
				Name:      "check",
				Usage:     "check a rig document and explain every default it leaves",
				ArgsUsage: "FILE",
				Flags:     []cli.Flag{formatFlag("text", "markdown", "html"), outFlag()},
				Action: func(c *cli.Context) error {
					if c.NArg() != 1 {
						return usagef("found %d arguments, expected one rig document", c.NArg())("forebed rig check FILE")
					}
					rig, err := loadRig(c, c.Args().First())
					if err != nil {
						return err
					}
					return emit(c, func(w io.Writer) error { return show(c.String("format"), w, render.Rig(rig)) })
				},
			},
		},
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("found %q, expected new or check", c.Args().First())("run forebed rig --help")
			}
			return cli.ShowSubcommandHelp(c)
		},
	}
}

// newRig gathers the answers and writes the document, once it is one.
func newRig(c *cli.Context) error {
	if c.Args().Present() {
		return usagef("found %q, expected flags only", c.Args().First())("forebed rig new --resin '1 ft3' -o rig.yaml")
	}
	given := map[string]string{}
	for _, q := range questions {
		if !c.IsSet(q.flag) {
			continue
		}
		given[q.flag] = c.String(q.flag)
		if _, err := rules.ReadRig("", []byte(rigDocument(given))); err != nil {
			return ofFlags(err, func(string) string { return q.flag })
		}
	}
	if len(given) == 0 && isTerminal(c.App.Reader) && isTerminal(c.App.Writer) {
		if err := askRig(c, given); err != nil {
			return err
		}
	}
	doc := rigDocument(given)
	return emit(c, func(w io.Writer) error {
		_, err := io.WriteString(w, doc)
		return err
	})
}

func isTerminal(v any) bool {
	f, ok := v.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// askRig asks each question until its answer makes a document; an empty line
// takes the default.
func askRig(c *cli.Context, given map[string]string) error {
	in := bufio.NewScanner(c.App.Reader)
	for _, q := range questions {
		for {
			fmt.Fprintf(c.App.ErrWriter, "%s [%s] ", q.ask, q.fallback)
			if !in.Scan() {
				if err := in.Err(); err != nil {
					return err
				}
				return schemas.Problems{{File: "-", Found: "the end of the answers", Want: "an answer to: " + q.ask, Remedy: "answer each question, or give flags", Err: schemas.ErrInvalid}}
			}
			answer := strings.TrimSpace(in.Text())
			if answer == "" {
				break
			}
			try := map[string]string{}
			for k, v := range given {
				try[k] = v
			}
			try[q.flag] = answer
			if _, err := rules.ReadRig("", []byte(rigDocument(try))); err != nil {
				fmt.Fprintln(c.App.ErrWriter, ofFlags(err, func(string) string { return q.flag }))
				continue
			}
			given[q.flag] = answer
			break
		}
	}
	return nil
}

// rigDocument writes the answers as YAML with a comment at each field. What
// was not answered stands there as a comment with its default.
func rigDocument(given map[string]string) string {
	var b strings.Builder
	fmt.Fprintf(&b, "# A rig for forebed. A field behind # is a default: to set your own, remove the # there and\n# at the head of its group, such as #use:\n")
	fmt.Fprintf(&b, "# forebed rig check FILE explains every default; forebed schema rig lists every field.\nversion: %s\n", rules.RigVersion)
	group := ""
	for _, q := range questions {
		parts := strings.Split(q.field, "/")
		indent := ""
		if len(parts) == 2 {
			indent = "  "
			if parts[0] != group {
				group = parts[0]
				b.WriteString(groupHead(group, given))
			}
		}
		if group == "vessels" && len(parts) == 2 {
			indent = "    "
		}
		value, answered := given[q.flag]
		mark := ""
		if !answered {
			value, mark = q.fallback, "#"
		}
		fmt.Fprintf(&b, "%s# %s\n%s%s%s: %s\n", indent, q.ask, mark, indent, parts[len(parts)-1], q.yaml(value))
	}
	return b.String()
}

// groupHead opens a group of the document; a group with no answer in it is a
// comment too, for YAML would read it as empty.
func groupHead(group string, given map[string]string) string {
	mark := "#"
	for _, q := range questions {
		if _, answered := given[q.flag]; answered && strings.HasPrefix(q.field, group+"/") {
			mark = ""
		}
	}
	if group == "vessels" {
		return mark + "vessels:\n" + mark + "  - name: main\n"
	}
	return mark + group + ":\n"
}
