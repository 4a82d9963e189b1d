package bed

import (
	"math"
	"testing"

	"forebed/chem/unit"
)

// The table of treatment ledger 2.5, computed there from the same equations by
// other code: transfer units, kinetic fraction and Ergun drop of real vessels.
func TestLedgerVessels(t *testing.T) {
	for _, c := range []struct {
		name          string
		diameter      float64 // in
		depth         float64 // in
		gpm           float64
		celsius       unit.Celsius
		bvPerHour     float64
		nfC, nfA      float64
		cation, anion float64
		psi           float64
	}{
		{"8 x 35 in, 2 gpm, 25 degC", 8, 35, 2, 25, 16, 57, 86, 0.94, 0.96, 1.4},
		{"8 x 35 in, 2 gpm, 10 degC", 8, 35, 2, 10, 16, 43, 64, 0.92, 0.94, 2.0},
		{"8 x 35 in, 3 gpm, 10 degC", 8, 35, 3, 10, 24, 33, 49, 0.89, 0.93, 3.0},
		{"10 x 33 in, 5 gpm, 10 degC", 10, 33, 5, 10, 27, 29, 44, 0.88, 0.92, 3.0},
		{"12 x 36 in, 5 gpm, 10 degC", 12, 36, 5, 10, 17, 41, 61, 0.91, 0.94, 2.3},
		{"7 x 17 in, 1 gpm, 10 degC", 7, 17, 1, 10, 21, 28, 41, 0.87, 0.91, 0.6},
		{"4.5 x 17 in, 2 gpm, 10 degC", 4.5, 17, 2, 10, 103, 10, 14, 0.63, 0.75, 3.3},
		{"4.5 x 17 in, 3 gpm, 10 degC", 4.5, 17, 3, 10, 154, 7, 11, 0.51, 0.67, 5.1},
	} {
		t.Run(c.name, func(t *testing.T) {
			v := Cartridge(unit.Inches(c.diameter), unit.Inches(c.depth))
			s := Service{Flow: unit.GallonsPerMinute(c.gpm), Temperature: c.celsius}
			nf := v.TransferUnits(s)
			within(t, "bed volumes an hour", v.ServiceFlow(s), c.bvPerHour, 0.5)
			within(t, "Nf cation", nf.Cation, c.nfC, 0.51)
			within(t, "Nf anion", nf.Anion, c.nfA, 0.6)
			within(t, "kinetic cation", breakthrough(nf.Cation, 0.01), c.cation, 0.006)
			within(t, "kinetic anion", breakthrough(nf.Anion, 0.01), c.anion, 0.006)
			within(t, "pressure drop", v.PressureDrop(s).PSI(), c.psi, 0.06)
		})
	}
}

// Viscosity of water in mPa s at 0.1 MPa: IAPWS SR6-08 reference values as
// printed in handbooks (from memory): 1.792 at 0, 1.306 at 10, 1.002 at 20,
// 0.8900 at 25, 0.6530 at 40 degC.
func TestViscosity(t *testing.T) {
	for celsius, want := range map[unit.Celsius]float64{0: 1.792, 10: 1.306, 20: 1.002, 25: 0.8900, 40: 0.6530} {
		if got := viscosity(celsius) * 1000; math.Abs(got/want-1) > 0.002 {
			t.Errorf("%v degC: %.4f mPa s, want %.4f", celsius, got, want)
		}
	}
}

func within(t *testing.T, what string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s: got %.6g, want %.6g within %.3g", what, got, want, tol)
	}
}
