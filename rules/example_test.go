package rules_test

import (
	"context"
	"errors"
	"fmt"

	"forebed/chem/analysis"
	"forebed/chem/water"
	"forebed/rules"
	"forebed/schemas"
)

// A plan from a sample: complete the water, then search. The rig and the rules
// are those of somebody who states nothing.
func ExampleSearch() {
	sample := analysis.Sample{Results: []analysis.Result{
		{Analyte: "tds", Value: analysis.Number(3000), Unit: "mg/L"},
		{Analyte: "hardness", Value: analysis.Number(700), Unit: "mg/L", Basis: "CaCO3"},
		{Analyte: "alkalinity", Value: analysis.Number(250), Unit: "mg/L", Basis: "CaCO3"},
		{Analyte: "ph", Value: analysis.Number(7.4), Unit: "pH"},
	}}
	c, err := water.Complete(sample, water.Options{Draws: 100, Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	set, err := rules.Merge(rules.Builtin()...)
	if err != nil {
		fmt.Println(err)
		return
	}
	plan, err := rules.Search(context.Background(), rules.Input{Sample: &sample, Water: c, Rig: rules.DefaultRig(), Rules: set}, rules.Options{Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	last := plan.Stages[len(plan.Stages)-1]
	fmt.Println("last ahead of the vessel:", last.Kind)
	fmt.Println("a fill lasts more than five times as long:", plan.Life.Ratio.P50 > 5)
	fmt.Println(plan.Status+":", plan.Conditions[0].Settles)
	// Output:
	// last ahead of the vessel: reverse_osmosis
	// a fill lasts more than five times as long: true
	// conditional: a test of iron
}

// A rig document with a fault is refused with the place, what stands there,
// what was expected and what to do.
func ExampleReadRig() {
	_, err := rules.ReadRig("boat.yaml", []byte("version: forebed.rig/1\nuse:\n  rinse_volum: 8 gal\n"))
	fmt.Println(err)
	fmt.Println("refused:", errors.Is(err, schemas.ErrInvalid))
	// Output:
	// boat.yaml:3:3: /use/rinse_volum: found the field "rinse_volum", expected one of the fields of this document
	//   try: delete "rinse_volum" or correct its spelling; the schema lists every field (forebed schema)
	// refused: true
}

// A pack of one's own adds rules, tightens them, or silences them; a safety
// caution cannot be silenced.
func ExampleMerge() {
	pack, err := rules.LoadPack("mine.yaml", []byte("version: forebed.rules/1\nname: mine\ntitle: Mine\nsilence:\n  - {id: health-e-coli, because: we know}\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	_, err = rules.Merge(append(rules.Builtin(), pack)...)
	fmt.Println(err)
	// Output:
	// mine.yaml:5:6: /silence/0/id: found the safety caution "health-e-coli", expected a rule that is no safety caution
	//   try: delete this entry: a caution that protects people cannot be silenced
}
