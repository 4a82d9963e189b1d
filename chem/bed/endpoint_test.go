package bed

import (
	"math"
	"testing"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// What a report must say of the ledger's example water: silica passes first
// and the pen is blind to it; from the CO2 to the sodium end the pen reads
// carbonic acid, 9 to 12 ppm (ledger F11: 23 uS/cm, about 11 mg/L).
func TestPenIsBlindToSilica(t *testing.T) {
	v, s := ledgerVessel()
	e, w := DefaultEnds(), exampleWater()
	b, err := Run(&v, s, &e, &w, Options{})
	if err != nil {
		t.Fatal(err)
	}
	residue, meter := b.End(EndResidue), b.End(EndMeter)
	if residue.Meter > 1 {
		t.Errorf("the pen reads %.3g ppm when the residue passes", residue.Meter)
	}
	if meter.Life < residue.Life || b.First != EndAnion {
		t.Errorf("residue after %v, pen after %v, %s first", residue.Life, meter.Life, b.First)
	}
	mustNote(t, b.Notes, "computed", "first_half", "pen_blind", "silica_test", "carbonic_acid", "trade_rating")
	between := rowAt(b, (b.End(EndCation).Life+meter.Life)/2)
	within(t, "ppm of carbonic acid", between.Meter, 10.5, 1.5)
	if residue.Returns() {
		t.Error("the feed dries to more than 10 mg/L of silica, yet the product came back within it")
	}
}

// After reverse osmosis the silica band passes, and the bed runs on for a
// multiple; the closed form tells band and final life as well.
func TestBandReturns(t *testing.T) {
	v, s := ledgerVessel()
	e, w := DefaultEnds(), ledgerWaters()["RO 95 %"]
	b, err := Run(&v, s, &e, &w, Options{})
	if err != nil {
		t.Fatal(err)
	}
	r := b.End(EndResidue)
	if !r.Returns() || r.Final < 3*r.Life {
		t.Fatalf("residue end %+v", r)
	}
	within(t, "waste, L", float64(r.Waste()), float64(r.Bands[0].To-r.Bands[0].From), 1e-9)
	within(t, "first crossing, closed over cells", float64(b.Closed.Residue/r.Life), 1, 0.05)
	within(t, "back within the limit, closed over cells", float64(b.Closed.Back/r.Bands[0].To), 1, 0.08)
	within(t, "final life, closed over cells", float64(b.Closed.Final/r.Final), 1, 0.05)
	mustNote(t, b.Notes, "band_returns", "silica_test", "pen_blind")
}

// A water whose cation half runs out first turns caustic before it hardens,
// and one of strong acids turns acid (ledger A36 and A37, ASTM D3375).
func TestProductTurns(t *testing.T) {
	v, s := ledgerVessel()
	e := DefaultEnds()
	v.CationShare = 0.2
	w := exampleWater()
	b, err := Run(&v, s, &e, &w, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if ph := rowAt(b, b.End(EndPH).Life).Water.PH; b.First != EndCation || ph < 9 {
		t.Errorf("%s first, pH %.2f", b.First, ph)
	}
	within(t, "residue end, closed over cells", float64(b.Closed.Residue/b.End(EndResidue).Life), 1, 0.03)
	within(t, "cation end, closed over cells", float64(b.Closed.Cation/b.End(EndCation).Life), 1, 0.03)
	mustNote(t, b.Notes, "product_ph")

	v.CationShare = 0.6
	salt := chlorideWater(8, 0.5, 0.2)
	if b, err = Run(&v, s, &e, &salt, Options{}); err != nil {
		t.Fatal(err)
	}
	if ph := rowAt(b, b.End(EndPH).Life).Water.PH; b.First != EndAnion || ph > 4 {
		t.Errorf("%s first, pH %.2f", b.First, ph)
	}
	if b.End(EndHardness).Life <= b.End(EndCation).Life {
		t.Errorf("hardness after %v, metals after %v", b.End(EndHardness).Life, b.End(EndCation).Life)
	}
	mustNote(t, b.Notes, "pen_early", "product_ph")
}

// Film range of Frisch and Kunin, AIChE J. 6 (1960) 640 (abstract seen, ledger
// B45): sodium chloride 0.0002 to 0.01 N stays below 1 uS/cm in a deep slow
// bed; the ledger's 0.25 ft at 70 gpm/ft2 has a transfer unit and leaks.
func TestFilmRange(t *testing.T) {
	e := DefaultEnds()
	for _, normal := range []float64{0.0002, 0.01} {
		v := Cartridge(unit.Inches(2.5), 3.2*metresPerFt)
		s := Service{Flow: unit.GallonsPerMinute(3 * area(v.Diameter) / (metresPerFt * metresPerFt)), Temperature: 25}
		w := chlorideWater(1000*normal, 0, 0)
		b, err := Run(&v, s, &e, &w, Options{Past: 0.6})
		if err != nil {
			t.Fatal(err)
		}
		for _, r := range b.Rows {
			if r.BedVolumes < 0.4*float64(b.Closed.Anion/v.Resin) && r.Conductivity > 1 {
				t.Errorf("%v N: %.2g uS/cm after %.0f bed volumes", normal, float64(r.Conductivity), r.BedVolumes)
			}
		}
		shallow := Cartridge(unit.Inches(2.5), 0.25*metresPerFt)
		s.Flow *= 70.0 / 3
		within(t, "transfer units at 70 gpm/ft2", shallow.TransferUnits(s).Cation, 0.9, 0.35)
		if b, err = Run(&shallow, s, &e, &w, Options{Past: 0.6}); err != nil {
			t.Fatal(err)
		}
		if first := b.Rows[0].Water.Ion[water.Sodium] / w.Ion[water.Sodium]; first < 0.2 {
			t.Errorf("%v N: the shallow bed leaks only %.2f of its feed", normal, first)
		}
	}
}

// Sodium chloride of 5 meq/L through 64 anion transfer units: 1 % of the
// chloride after 107.6 bed volumes in closed form, 107.5 by the ledger's
// simulation (ledger 2.5).
func TestSodiumChloride(t *testing.T) {
	v, s := ledgerVessel()
	v.Conversion.Anion = 0.95
	e, w := DefaultEnds(), chlorideWater(5, 0, 0)
	b, err := Run(&v, s, &e, &w, Options{})
	if err != nil {
		t.Fatal(err)
	}
	within(t, "bed volumes by the cells", float64(b.End(EndAnion).Life/v.Resin), 107.5, 1.1)
	within(t, "bed volumes in closed form", float64(b.Closed.Anion/v.Resin), 107.6, 0.3)
}

// Two vessels in series: swapped when the lead passes the limit, no spot ever
// leaves; swapped when the lag does, a run is longer than one vessel's life
// and a spent lead holds nearly all it can.
func TestSeries(t *testing.T) {
	e, w := DefaultEnds(), exampleWater()
	tank, s := ledgerVessel()
	cartridge := Cartridge(unit.Inches(4.5), unit.Inches(17))
	for _, c := range []struct {
		name string
		v    Vessel
		gain float64 // of a run by the lag over one vessel's life
	}{{"tank", tank, 1.02}, {"cartridge", cartridge, 1.15}} {
		single, err := Run(&c.v, s, &e, &w, Options{})
		if err != nil {
			t.Fatal(err)
		}
		safe, err := RunSeries(&c.v, s, &e, &w, SwapAtLead, Options{})
		if err != nil {
			t.Fatal(err)
		}
		most, err := RunSeries(&c.v, s, &e, &w, SwapAtLag, Options{})
		if err != nil {
			t.Fatal(err)
		}
		within(t, c.name+": first swap over single life", float64(safe.Single/single.End(EndResidue).Life), 1, 0.01)
		within(t, c.name+": closed form over a run by the lag", float64(single.Closed.LeadLag().Residue/most.Run), 1, 0.05)
		if safe.Highest > 0.1 {
			t.Errorf("%s: %.2g mg/L left the lag though the lead was swapped in time", c.name, float64(safe.Highest))
		}
		if gain := float64(most.Run / safe.Single); gain < c.gain || gain > 1/breakthrough(c.v.TransferUnits(s).Anion, 0.01)+0.05 {
			t.Errorf("%s: a run by the lag is %.3f of one vessel's life", c.name, gain)
		}
		if whole := c.v.Conversion.Anion * c.v.Distribution; most.Used.Anion > whole+1e-9 || most.Used.Anion < 0.95*whole {
			t.Errorf("%s: the spent lead holds %.3f of %.3f", c.name, most.Used.Anion, whole)
		}
		if math.IsNaN(most.Between) || most.Between < safe.Between {
			t.Errorf("%s: pen between the vessels %v at the late swap, %v at the early one", c.name, most.Between, safe.Between)
		}
	}
}

func TestLifeArithmetic(t *testing.T) {
	v, s := ledgerVessel()
	e, waters := DefaultEnds(), ledgerWaters()
	raw, osmosis := waters["raw"], waters["RO 95 %"]
	a, b := Closed(&v, s, &e, &raw), Closed(&v, s, &e, &osmosis)
	if got := a.Scaled(2); got.Final != 2*a.Final || got.Usable != a.Usable {
		t.Errorf("twice %+v is %+v", a, got)
	}
	if got := b.Sooner(a); got.Residue != a.Residue || got.Silica != a.Silica {
		t.Errorf("the sooner of %+v and %+v is %+v", a, b, got)
	}
	if got := a.Then(b); got.Back != a.Back+b.Back || got.Carbonic != a.Carbonic+b.Carbonic {
		t.Errorf("%+v and then %+v is %+v", a, b, got)
	}
}
