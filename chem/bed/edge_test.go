package bed

import (
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Waters at the edge of sense: nearly pure, saline, acid, caustic, of one salt
// only, with sulfide and ammonium, hot and cold. A run gives finite rows and
// closed balances, and the closed form no NaN.
func TestEdgeWaters(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := byRapid(t)
		var w water.Water
		w.Temperature = unit.Celsius(draw("temperature", 0, 60))
		w.PH = 7
		scale := math.Pow(10, draw("scale", -4, 2))
		for i := range w.Ion {
			if draw("present", 0, 1) < 0.4 {
				w.Ion[i] = unit.MmolPerL(scale * draw("ion", 0, 1))
			}
		}
		for _, c := range []*unit.MmolPerL{&w.CO2, &w.Silica, &w.Sulfide} {
			if draw("present", 0, 1) < 0.5 {
				*c = unit.MmolPerL(scale * draw("neutral", 0, 1))
			}
		}
		v, s, _ := drawVessel(draw)
		s.Temperature = w.Temperature
		e := DefaultEnds()
		l := Closed(&v, s, &e, &w)
		for _, x := range []unit.Litres{l.Residue, l.Back, l.Final, l.Silica, l.Anion, l.Cation, l.Carbonic, unit.Litres(l.Conductivity)} {
			if math.IsNaN(float64(x)) || x < 0 {
				t.Fatalf("closed form: %+v", l)
			}
		}
		if l.Back < l.Residue || l.Final < l.Back {
			t.Fatalf("closed form out of order: %+v", l)
		}
		b, err := Run(&v, s, &e, &w, Options{Cells: 10, Batches: 3})
		if load := w.Load(); load.Cation == 0 && load.Anion == 0 {
			if err == nil || !strings.Contains(err.Error(), "nothing") {
				t.Fatalf("a water without load: %v", err)
			}
			return
		}
		if err != nil {
			t.Fatal(err)
		}
		if !(b.Balance < 1e-9 && b.Charge < 1e-12) {
			t.Fatalf("balance %.2g, charge %.2g eq/L", b.Balance, b.Charge)
		}
		if x := b.Usable.Cation + b.Usable.Anion + b.Rating.KgrPerFt3; math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("usable %+v, rating %+v", b.Usable, b.Rating)
		}
		for _, r := range b.Rows {
			if x := r.Water.PH + float64(r.Conductivity) + float64(r.Residue) + r.Meter; math.IsNaN(x) || math.IsInf(x, 0) {
				t.Fatalf("row %+v", r)
			}
		}
	})
}
