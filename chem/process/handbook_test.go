package process_test

import (
	"fmt"

	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// A worked example of a manganese-coated media sheet (ledger C09): 3.0 mg/L of
// iron, 0.3 of manganese and 0.2 of sulfide ask for 4.6 mg/L of permanganate,
// and a cubic foot of medium lasts 2,174 gallons (the sheet prints 2,175).
func ExampleCoatedRun() {
	var w water.Water
	w.SetMilligrams(water.Iron, 3.0)
	w.SetMilligrams(water.Manganese, 0.3)
	w.Sulfide = 0.2 / 34.076 // mmol/L
	demand := process.MediaDemand(&w)
	fmt.Printf("%.1f mg/L, %.0f gal\n", demand, process.CoatedRun(unit.CubicFeet(1), demand).Gallons())
	// Output: 4.6 mg/L, 2174 gal
}

// A worked example of a softener note (ledger C13): five persons at 80 gal a
// day on 15 gpg use 6,000 grains a day, and 20,000 grains last 3.3 days.
func ExampleRunLength() {
	run := process.RunLength(unit.CubicFeet(1), 20, 15)
	fmt.Printf("%.0f gal, %.1f days\n", run.Gallons(), run.Gallons()/(5*80))
	// Output: 1333 gal, 3.3 days
}

// A university exercise (ledger C15): 245 mg/L is blended down to 100 by
// leading two fifths of the water past the softener.
func ExampleBypassShare() {
	fmt.Printf("%.1f %%\n", 100*process.BypassShare(245, 100))
	// Output: 40.8 %
}
