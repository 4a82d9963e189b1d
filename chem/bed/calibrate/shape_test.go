package calibrate

import (
	"math"
	"testing"

	"forebed/chem/bed"
)

// The curve that follows from the closed form is held to the cell model of
// package bed: silica of 1 mg/L within 1.5 % of a life, the pen's rise to
// 2 ppm within 5 %, and residue at its limit at T = 1 by construction.
func TestShapeAgainstCells(t *testing.T) {
	for i, b := range newBenches(t) {
		x := Expectation{Life: b.closed, Load: b.water.Load(), Carbon: b.water.TotalCarbon(), Silica: b.water.Silica, Residue: 10, MeterFactor: 0.5, Feed: b.feed}
		s, err := x.Shape()
		if err != nil {
			t.Fatal(err)
		}
		life := float64(b.run.End(bed.EndResidue).Life)
		first := func(at func(lives float64) float64, mark float64) float64 {
			for v := 0.3; v < 2.5; v += 0.002 {
				if at(v) >= mark {
					return v
				}
			}
			return math.NaN()
		}
		for _, c := range []struct {
			what      string
			got, want float64
			tol       float64
		}{
			{"silica 1 mg/L", first(s.Silica, 1), first(func(v float64) float64 { _, _, si := b.at(v * life); return si }, 1), 0.015},
			{"pen 2 ppm", first(s.Pen, 2), first(func(v float64) float64 { p, _, _ := b.at(v * life); return p }, 2), 0.05},
			{"residue 10 mg/L", first(s.Residue, 10), 1, 0.01},
		} {
			if !(math.Abs(c.got-c.want) <= c.tol) {
				t.Errorf("%s, vessel %d: %s at %.3f lives, want %.3f within %.3f", testWaters[i/3].name, i%3, c.what, c.got, c.want, c.tol)
			}
		}
	}
}
