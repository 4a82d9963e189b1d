package bed

import (
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// chlorideWater holds so many meq/L of cations, of which a share is calcium
// and another magnesium, the rest sodium.
func chlorideWater(total, calcium, magnesium float64) water.Water {
	w := water.Water{PH: 7, Temperature: 15}
	w.Ion[water.Calcium] = unit.MmolPerL(total * calcium / 2)
	w.Ion[water.Magnesium] = unit.MmolPerL(total * magnesium / 2)
	w.Ion[water.Sodium] = unit.MmolPerL(total * (1 - calcium - magnesium))
	w.Ion[water.Chloride] = unit.MmolPerL(total)
	return w
}

var softenerService = Service{Flow: unit.GallonsPerMinute(3), Temperature: 15}

// hardFeed is the feed of the data sheets: 500 mg/L, Ca:Mg 2:1 (ledger E24).
func hardFeed() water.Water {
	w := chlorideWater(500/50.043, 2.0/3, 1.0/3)
	w.Ion[water.Sodium] = 0 // what rounding leaves
	return w
}

// Data sheet of a gel strong-acid cation resin (ledger E24 to E27, seen): the
// equilibrium of the cells must come out above every figure, by the share
// that SoftenerUsable states, and leakage in the 0 to 5 mg/L of Davis (2010),
// p. 8-19 (ledger E33) from 6 lb/ft3 up.
func TestSoftenerDataSheet(t *testing.T) {
	w := hardFeed()
	for _, c := range []struct{ salt, kgr float64 }{{5, 20.0}, {7.5, 25.4}, {10, 29.0}, {15, 33.0}} {
		s := NewSoftener(unit.CubicFeet(1), c.salt*PoundsPerCubicFoot)
		r, err := s.Soften(softenerService, &w, 17)
		if err != nil {
			t.Fatal(err)
		}
		t.Logf("%4.1f lb/ft3: %.1f kgr/ft3 at equilibrium, data sheet %.1f, leakage %.2f mg/L", c.salt, r.KgrPerFt3(), c.kgr, float64(r.First))
		within(t, "data sheet over equilibrium", c.kgr/r.KgrPerFt3(), SoftenerUsable, 0.05)
		if c.salt >= 6 && float64(r.First) > 5 {
			t.Errorf("%v lb/ft3 leaks %v mg/L", c.salt, r.First)
		}
		within(t, "balance", r.Balance, 0, 1e-9)
	}
}

func TestSoftenerSettings(t *testing.T) {
	w := hardFeed()
	for _, c := range settings {
		s := NewSoftener(unit.CubicFeet(1), c.salt*PoundsPerCubicFoot)
		r, err := s.Soften(softenerService, &w, 17)
		if err != nil {
			t.Fatal(err)
		}
		within(t, "share", r.Capacity/2, c.share, 0.01*c.share)
		within(t, "leakage", float64(r.First), c.leakage, 0.02*c.leakage)
	}
}

func TestSoftenerClosed(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		calcium := rapid.Float64Range(0.3, 0.7).Draw(t, "calcium")
		w := chlorideWater(rapid.Float64Range(3, 20).Draw(t, "total"), calcium, rapid.Float64Range(0.15, 0.3).Draw(t, "magnesium"))
		salt := PoundsPerCubicFoot * rapid.Float64Range(6, 18).Draw(t, "salt")
		s := NewSoftener(unit.CubicFeet(1), salt)
		// To a limit well above the leakage, so that the run ends by breakthrough.
		capacity, leakage := SoftenerClosed(salt, s.Capacity, &w)
		r, err := s.Soften(softenerService, &w, max(17, 2*leakage))
		if err != nil {
			t.Fatal(err)
		}
		if q := float64(capacity) / (SoftenerUsable * r.Capacity); math.Abs(q-1) > 0.10 {
			t.Fatalf("capacity %.3f of the cells'", q)
		}
		if q := float64(leakage / r.First); math.Abs(q-1) > 0.35 {
			t.Fatalf("leakage %.3f of the cells'", q)
		}
		if r.Balance > 1e-9 {
			t.Fatalf("balance %.2g", r.Balance)
		}
	})
}

// Brine against the direction of service leaves the outlet cleanest, so the
// leakage is far lower: the reason why it is done (Davis 2010, ch. 8).
func TestUpflowLeaksLess(t *testing.T) {
	w := hardFeed()
	s := NewSoftener(unit.CubicFeet(1), 6*PoundsPerCubicFoot)
	down, err := s.Soften(softenerService, &w, 17)
	if err != nil {
		t.Fatal(err)
	}
	s.Upflow = true
	up, err := s.Soften(softenerService, &w, 17)
	if err != nil {
		t.Fatal(err)
	}
	if up.First > down.First/100 || up.Capacity < down.Capacity {
		t.Errorf("upflow leaks %v mg/L and takes %v eq/L; downflow %v and %v", up.First, up.Capacity, down.First, down.Capacity)
	}
}

func TestSoftenerRefuses(t *testing.T) {
	w := chlorideWater(20, 0.6, 0.3)
	s := NewSoftener(unit.CubicFeet(1), 5*PoundsPerCubicFoot)
	if _, err := s.Soften(softenerService, &w, 5); !errors.Is(err, errLeaks) {
		t.Errorf("a softener that leaks above the limit: %v", err)
	}
	s.Salt = 0
	if _, err := s.Soften(softenerService, &w, 17); err == nil {
		t.Error("a softener without salt was accepted")
	}
	s = NewSoftener(unit.CubicFeet(1), 100)
	if _, err := s.Soften(softenerService, &w, 2000); err == nil {
		t.Error("a limit above the hardness of the water was accepted")
	}
}
