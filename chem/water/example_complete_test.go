package water_test

import (
	"fmt"

	"forebed/chem/analysis"
	"forebed/chem/water"
)

// A strip with three pads becomes a whole water: what was measured is kept,
// the rest is drawn from the statistics of real wells and carries its range.
func ExampleComplete() {
	strip := analysis.Sample{Results: []analysis.Result{
		{Analyte: "hardness", Value: analysis.Number(250), Unit: "mg/L", Basis: "CaCO3"},
		{Analyte: "alkalinity", Value: analysis.Number(180), Unit: "mg/L", Basis: "CaCO3"},
		{Analyte: "ph", Value: analysis.Number(7.5), Unit: "pH"},
	}}
	c, err := water.Complete(strip, water.Options{Draws: 500, Seed: 1})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(len(c.Draws), "draws, the largest imbalance below 1e-9 meq/L:", worst(c.Draws) < 1e-9)
	fmt.Printf("pH is %s, calcium is %s, silica is %s\n", c.PHOrigin, c.Ions[water.Calcium].Origin, c.Silica.Origin)
	fmt.Println("the anion half carries more than the cation half:", c.AnionLoad.P50 > c.CationLoad.P50)
	fmt.Println("a wider band for what was not measured:", spread(c.Silica.Milligrams) > 2*spread(c.Hardness))
	// Output:
	// 500 draws, the largest imbalance below 1e-9 meq/L: true
	// pH is measured, calcium is estimated, silica is estimated
	// the anion half carries more than the cation half: true
	// a wider band for what was not measured: true
}

func worst(draws []water.Water) (off float64) {
	for i := range draws {
		off = max(off, float64(draws[i].Imbalance()), -float64(draws[i].Imbalance()))
	}
	return off
}

// spread is the width of a band over its middle.
func spread(b water.Band) float64 { return (b.P90 - b.P10) / b.P50 }
