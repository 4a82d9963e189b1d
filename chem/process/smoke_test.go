package process

import (
	"testing"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// exampleWater is the example water of treatment ledger section 6.
func exampleWater(t testing.TB) water.Water {
	t.Helper()
	w := water.Water{PH: 7.3, Temperature: 25}
	for i, c := range map[water.Ion]unit.MgPerL{
		water.Calcium: 80, water.Magnesium: 25, water.Sodium: 20, water.Potassium: 3, water.Iron: 1.5, water.Manganese: 0.2,
		water.Chloride: 25, water.Sulfate: 56, water.Nitrate: 10, water.Fluoride: 0.3,
	} {
		w.SetMilligrams(i, c)
	}
	w.Silica = mmol(15, formula("SiO2"))
	out, err := w.WithPH(7.3)
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func TestSmoke(t *testing.T) {
	w := exampleWater(t)
	d := Duty{PeakFlow: unit.GallonsPerMinute(3), YearVolume: unit.Gallons(1000), DaysInUse: 90, FeedPressure: unit.PSI(45)}
	for _, s := range Catalogue() {
		o, err := s.Apply(&w)
		if err != nil {
			t.Error(err)
		}
		t.Logf("%s/%s: pH %.2f Fe %.3f Mn %.3f load %v imbalance %v outside %b %+v", s.Kind(), s.Variant(), o.Out.PH, DissolvedIron.Of(&o.Out), DissolvedManganese.Of(&o.Out), o.Out.Load(), o.Out.Imbalance(), o.Outside, o.Use)
		z := s.Size(&w, d)
		t.Logf("   %s %s drop %.1f psi bw %.1f waste %.0f int %.1f %b", PriceKey(s, z), z.Text, z.Drop.PSI(), z.Backwash.GallonsPerMinute(), z.Waste, z.Interval, z.Notes)
	}
}

func BenchmarkApply(b *testing.B) {
	w := exampleWater(b)
	for _, s := range Catalogue() {
		b.Run(string(s.Kind())+"/"+s.Variant(), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := s.Apply(&w); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
