package bed

import (
	"testing"

	"forebed/chem/unit"
	"forebed/chem/water"
)

func BenchmarkClosed(b *testing.B) {
	v, s, e, w := NewVessel(unit.CubicFeet(1)), Service{Flow: unit.GallonsPerMinute(2), Temperature: 10}, DefaultEnds(), exampleWater()
	b.ReportAllocs()
	for b.Loop() {
		Closed(&v, s, &e, &w)
	}
}

// exampleWater is the worked example of treatment ledger section 6 (W-raw).
func exampleWater() water.Water {
	w := water.Water{PH: 7.3, Temperature: 10, CO2: 24.8 / 44.009, Silica: 15 / 60.084}
	for ion, mgL := range map[water.Ion][2]float64{
		water.Calcium: {80, 40.078}, water.Magnesium: {25, 24.305}, water.Sodium: {20, 22.990}, water.Potassium: {3, 39.098},
		water.Iron: {1.5, 55.845}, water.Manganese: {0.2, 54.938}, water.Chloride: {25, 35.45}, water.Sulfate: {56, 96.06},
		water.Nitrate: {10, 62.004}, water.Fluoride: {0.3, 18.998}, water.Bicarbonate: {305.6, 61.017},
	} {
		w.Ion[ion] = unit.MmolPerL(mgL[0] / mgL[1])
	}
	return w
}
