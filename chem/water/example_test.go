package water_test

import (
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"forebed/chem/unit"
	"forebed/chem/water"
	"forebed/schemas"
)

// A water is closed again after its ions were changed: a softener puts two
// sodium in the place of one calcium, and neither the load nor the pH moves.
func ExampleWater_WithCarbon() {
	w := water.Water{Temperature: 12}
	w.Ion[water.Calcium], w.Ion[water.Chloride] = 2, 1 // mmol/L
	w, err := w.WithPH(7.2)
	if err != nil {
		fmt.Println(err)
		return
	}
	soft := w
	soft.Ion[water.Sodium] += 2 * soft.Ion[water.Calcium]
	soft.Ion[water.Calcium] = 0
	if soft, err = soft.WithCarbon(w.TotalCarbon()); err != nil {
		fmt.Println(err)
		return
	}
	fmt.Printf("raw:  pH %.2f, load %.2f and %.2f meq/L\n", w.PH, float64(w.Load().Cation), float64(w.Load().Anion))
	fmt.Printf("soft: pH %.2f, load %.2f and %.2f meq/L\n", soft.PH, float64(soft.Load().Cation), float64(soft.Load().Anion))
	// Output:
	// raw:  pH 7.20, load 4.00 and 4.48 meq/L
	// soft: pH 7.21, load 4.00 and 4.48 meq/L
}

// Carbon dioxide from pH and alkalinity: cross-check water W-X7 of the
// standards ledger, 87 mg/L by a geochemical solver.
func ExampleSpeciate() {
	c, _ := water.Speciate(6.6, 150/50.043*unit.MeqPerLitre, 0, 11, 0.0054)
	fmt.Printf("%.0f mg/L of carbon dioxide\n", float64(c.CO2)*44.009)
	// Output: 87 mg/L of carbon dioxide
}

// TestExampleDocument: the example in testdata is what this package makes of
// the same strip, but for the last digit.
func TestExampleDocument(t *testing.T) {
	path := filepath.Join("..", "..", "testdata", "examples", "composition.json")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	var doc water.Document
	if err := schemas.Decode("composition", "composition.json", data, &doc); err != nil {
		t.Fatal(err)
	}
	s := sample("hardness 300 CaCO3, alkalinity 250 CaCO3, ph 7.2, iron 1.5 total, conductivity 655")
	s.Label = doc.Samples[0].Label
	c, err := water.Complete(s, water.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	got := water.Encode(c)
	a, b := doc.Samples[0], got.Samples[0]
	within(t, "cation load", b.Load.Cation.P50, a.Load.Cation.P50, 0.5)
	within(t, "anion load", b.Load.Anion.P90, a.Load.Anion.P90, 0.5)
	within(t, "conductivity", b.Conductivity.P10, a.Conductivity.P10, 0.5)
	if fmt.Sprint(a.Checks, a.Cautions, a.Assumptions, a.Given) != fmt.Sprint(b.Checks, b.Cautions, b.Assumptions, b.Given) {
		t.Errorf("found %q, expected %q", b.Assumptions, a.Assumptions)
	}
}
