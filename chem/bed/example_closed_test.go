package bed_test

import (
	"fmt"

	"forebed/chem/bed"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// The closed form answers at once, so that a search can ask it for every draw
// of a water. Here: softened water lasts no longer than the raw one, because
// two sodium take the place of one calcium and the equivalents stay.
func ExampleClosed() {
	raw := water.Water{Temperature: 15, Silica: 0.2}
	raw.Ion[water.Calcium], raw.Ion[water.Chloride] = 2, 1 // mmol/L
	raw, err := raw.WithPH(7.2)
	if err != nil {
		fmt.Println(err)
		return
	}
	soft := raw
	soft.Ion[water.Sodium], soft.Ion[water.Calcium] = 4, 0
	if soft, err = soft.WithCarbon(raw.TotalCarbon()); err != nil {
		fmt.Println(err)
		return
	}
	v, ends := bed.NewVessel(unit.CubicFeet(1)), bed.DefaultEnds()
	service := bed.Service{Flow: unit.GallonsPerMinute(2), Temperature: 15}
	before := bed.Closed(&v, service, &ends, &raw)
	after := bed.Closed(&v, service, &ends, &soft)
	fmt.Printf("raw %.0f gal, softened %.0f gal; %s runs out first\n", before.Residue.Gallons(), after.Residue.Gallons(), before.First)
	// Output:
	// raw 785 gal, softened 785 gal; anion_capacity runs out first
}
