package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/urfave/cli/v2"

	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
)

func rulesCommand() *cli.Command {
	return &cli.Command{
		Name:  "rules",
		Usage: "list the rules or their quantities, explain a rule, or check a rule pack",
		Subcommands: []*cli.Command{
			{
				Name:  "list",
				Usage: "list every rule in force",
				Flags: []cli.Flag{packFlag(), formatFlag("text", "json"),
					&cli.StringFlag{Name: "topic", Usage: "only the rules of this `TOPIC`"},
					&cli.StringFlag{Name: "level", Usage: "only the rules of this `LEVEL`: must, should, caution, advice, ask", Action: oneOf("level", "must", "should", "caution", "advice", "ask")}},
				Action: listRules,
			},
			{
				Name:      "explain",
				Usage:     "explain one rule; with a report, put its values in",
				ArgsUsage: "ID [REPORT]",
				Flags:     join(readingFlags(), drawFlags(), []cli.Flag{rigFlag(), packFlag()}),
				Action:    explainRule,
			},
			{
				Name:   "quantities",
				Usage:  "list every quantity that a condition may name, with its units",
				Flags:  []cli.Flag{formatFlag("text", "json")},
				Action: listQuantities,
			},
			{
				Name:      "check",
				Usage:     "check a rule pack beside the built-in ones",
				ArgsUsage: "FILE",
				Action: func(c *cli.Context) error {
					if c.NArg() != 1 {
						return usagef("found %d arguments, expected one rule pack", c.NArg())("forebed rules check FILE")
					}
					name := c.Args().First()
					b, err := readFile(c, name)
					if err != nil {
						return err
					}
					p, err := rules.LoadPack(name, b)
					if err != nil {
						return err
					}
					if _, err := rules.Merge(append(rules.Builtin(), p)...); err != nil {
						return err
					}
					fmt.Fprintf(c.App.Writer, "%s: pack %q is in order: %d rules, %d tightened, %d silenced\n", name, p.Name, len(p.Rules), len(p.Tighten), len(p.Silence))
					return nil
				},
			},
		},
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("found %q, expected list, quantities, explain or check", c.Args().First())("run forebed rules --help")
			}
			return cli.ShowSubcommandHelp(c)
		},
	}
}

func listRules(c *cli.Context) error {
	set, err := loadRules(c)
	if err != nil {
		return err
	}
	var topics []string
	for _, r := range set.Rules() {
		topics = append(topics, r.Topic)
	}
	slices.Sort(topics)
	if topic := c.String("topic"); topic != "" && !slices.Contains(topics, topic) {
		return usagef("--topic: found %q, expected a topic of the rules", topic)("use one of: " + strings.Join(slices.Compact(topics), ", "))
	}
	var chosen []*rules.Rule
	for _, r := range set.Rules() {
		if (c.String("topic") == "" || r.Topic == c.String("topic")) && (c.String("level") == "" || string(r.Level) == c.String("level")) {
			chosen = append(chosen, r)
		}
	}
	return emit(c, func(w io.Writer) error {
		if c.String("format") == "json" {
			return render.JSON(w, chosen)
		}
		return render.Text(w, render.Rules(chosen))
	})
}

func listQuantities(c *cli.Context) error {
	all := rules.Quantities()
	return emit(c, func(w io.Writer) error {
		if c.String("format") == "json" {
			return render.JSON(w, all)
		}
		return render.Text(w, render.Quantities(all))
	})
}

func explainRule(c *cli.Context) error {
	if c.NArg() < 1 || c.NArg() > 2 {
		return usagef("found %d arguments, expected the id of a rule and perhaps a report", c.NArg())("forebed rules explain ID [REPORT]; forebed rules list shows the ids")
	}
	set, err := loadRules(c)
	if err != nil {
		return err
	}
	id := c.Args().First()
	rule, ok := set.Rule(id)
	if !ok {
		var near []string
		for _, r := range set.Rules() {
			if strings.Contains(r.ID, id) || strings.Contains(id, r.ID) {
				near = append(near, r.ID)
			}
		}
		remedy := "forebed rules list shows the ids"
		if len(near) > 0 {
			remedy = "one of: " + strings.Join(near, ", ")
		}
		return usagef("found %q, expected the id of a rule", id)(remedy)
	}
	var facts *rules.Facts
	if c.NArg() == 2 {
		r, err := requestFor(c, c.Args().Get(1))
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
		draws := result.Water.Draws
		if rule.AppliesTo == rules.AtReport {
			draws = nil // rules about the report rest on the report alone
		}
		facts = rules.FactsOfRig(&result.Sample, draws, &r.Rig)
	}
	_, err = fmt.Fprint(c.App.Writer, rule.Explain(facts))
	return err
}
