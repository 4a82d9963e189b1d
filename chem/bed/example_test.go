package bed_test

import (
	"fmt"

	"forebed/chem/bed"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// A tank of 1 ft3 on the worked example of the treatment ledger (section 6),
// an invented hard well water, at 2 gpm and 10 degC.
func ExampleRun() {
	w := water.Water{PH: 7.3, Temperature: 10, CO2: 0.565, Silica: 0.250}
	w.Ion[water.Calcium], w.Ion[water.Magnesium] = 1.996, 1.0285
	w.Ion[water.Sodium], w.Ion[water.Potassium] = 0.931, 0.077
	w.Ion[water.Bicarbonate], w.Ion[water.Sulfate] = 5.009, 0.583
	w.Ion[water.Chloride], w.Ion[water.Nitrate] = 0.705, 0.161

	v := bed.NewVessel(unit.CubicFeet(1))
	ends := bed.DefaultEnds()
	b, err := bed.Run(&v, bed.Service{Flow: unit.GallonsPerMinute(2), Temperature: 10}, &ends, &w, bed.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, id := range []bed.Endpoint{bed.EndSilica, bed.EndResidue, bed.EndMeter, bed.EndCation} {
		e := b.End(id)
		fmt.Printf("%-15s after %.0f gal, pen %.1f ppm\n", id, e.Life.Gallons(), e.Meter)
	}
	fmt.Printf("%s runs out first\n", b.First)
	// Output:
	// silica          after 442 gal, pen 0.1 ppm
	// residue         after 458 gal, pen 0.4 ppm
	// meter           after 509 gal, pen 10.0 ppm
	// cation_capacity after 657 gal, pen 8.7 ppm
	// anion_capacity runs out first
}
