package rules

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"forebed/chem/analysis"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/schemas"
)

func comparison(t testing.TB, waters []analysis.Sample, rigs []Rig, plans []PlanSpec, draws int) CompareInput {
	in := CompareInput{Rigs: rigs, Plans: plans, Rules: builtin(t)}
	for i := range waters {
		in.Waters = append(in.Waters, NamedWater{Name: fmt.Sprintf("water %d", i+1), Sample: &waters[i], Water: compose(t, waters[i], draws)})
	}
	return in
}

func plansToCompare() []PlanSpec {
	m := func(k process.Kind) Mention { return Mention{Kind: k} }
	return []PlanSpec{
		{Name: "bare", Aim: "none"},
		{Name: "cartridge", Stages: []Mention{m(process.SedimentFilter)}},
		{Name: "softened", Stages: []Mention{m(process.SedimentFilter), m(process.Softener)}},
		{Name: "membrane", Stages: []Mention{m(process.SedimentFilter), m(process.Softener), m(process.ReverseOsmosis)}},
	}
}

func named(r Rig, name string) Rig { r.Name = name; return r }

func threeTanks(t testing.TB) []Rig {
	var rigs []Rig
	for _, ft3 := range []float64{0.5, 1, 3} {
		resin := Resin(unit.CubicFeet(ft3))
		rig, err := (&RigDocument{Name: fmt.Sprintf("%.2g ft3", ft3), Vessels: []VesselDocument{{Resin: &resin}}}).Resolve()
		if err != nil {
			t.Fatal(err)
		}
		rigs = append(rigs, rig)
	}
	return rigs
}

func TestCompare(t *testing.T) {
	in := comparison(t, []analysis.Sample{hardWell()}, threeTanks(t), plansToCompare(), 100)
	c, err := Compare(context.Background(), in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(c.Rows) != 12 || len(c.Odds) != 66 {
		t.Fatalf("%d rows, %d odds", len(c.Rows), len(c.Odds))
	}
	again, err := Compare(context.Background(), in, Options{Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	a, errA := json.Marshal(c)
	b, errB := json.Marshal(again)
	if errA != nil || errB != nil || string(a) != string(b) {
		t.Errorf("the same seed gives another comparison (%v, %v)", errA, errB)
	}
	// Softening changes what a fill gives by nothing: two sodium replace one
	// calcium (treatment ledger F01).
	if q := c.Rows[2].Life.P50 / c.Rows[1].Life.P50; math.Abs(q-1) > 0.01 {
		t.Errorf("softened life is %.3f times the unsoftened", q)
	}
	for _, r := range c.Rows {
		if r.Status == StatusNone != (len(r.Blocks) > 0) {
			t.Errorf("%s, %s: status %s with %d blocks", r.Rig, r.Plan, r.Status, len(r.Blocks))
		}
	}
	// More resin never makes a fill shorter, and a third of the refills is left.
	if small, large := c.Rows[4], c.Rows[8]; large.Life.P50 < 2.9*small.Life.P50 || large.RefillsYear.P50 > small.RefillsYear.P50/2 {
		t.Errorf("3 ft3: %.0f L a fill, %.2f refills a year; 1 ft3: %.0f L, %.2f", large.Life.P50, large.RefillsYear.P50, small.Life.P50, small.RefillsYear.P50)
	}
	for _, o := range c.Odds {
		if o.Cheaper < 0 || o.Cheaper > 1 {
			t.Errorf("odds %+v", o)
		}
	}
	if err := schemas.Validate("compare", "compare", a); err != nil {
		t.Error(err)
	}
}

// Each sentence about paybacks and flips says which water, rig and plan it is
// about, as far as there are several.
func TestSentencesNameTheirRows(t *testing.T) {
	hard, soft := hardWell(), hardWell()
	soft.Results = soft.Results[:4]
	in := comparison(t, []analysis.Sample{hard, soft}, threeTanks(t)[:2], plansToCompare(), 40)
	c, err := Compare(context.Background(), in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	if len(c.BreakEvens) == 0 || len(c.Flips) == 0 {
		t.Fatalf("%d paybacks, %d flips", len(c.BreakEvens), len(c.Flips))
	}
	names := func(text string, words ...string) {
		for _, w := range words {
			if !strings.Contains(text, w) {
				t.Errorf("%q does not name %q", text, w)
			}
		}
	}
	rigs := 0
	for _, b := range c.BreakEvens {
		r := c.Rows[b.Row]
		names(b.Text, r.Water, r.Rig, r.Plan)
		if b.Water != r.Water || b.Rig != r.Rig || b.Plan != r.Plan {
			t.Errorf("%+v is not about row %+v", b, r)
		}
		if b.Over != nil {
			rigs++
			o := c.Rows[*b.Over]
			names(b.Text, o.Rig)
			if o.Water != r.Water || o.Plan != r.Plan || o.Rig == r.Rig {
				t.Errorf("%s: instead of %+v", b.Text, o)
			}
		}
	}
	if rigs != 8 {
		t.Errorf("%d paybacks of the larger rig, expected one for each of 4 plans on 2 waters", rigs)
	}
	for _, f := range c.Flips {
		names(f.Text, f.Water, f.Rig, f.Below, f.Above)
		if a, b := c.Rows[f.A], c.Rows[f.B]; a.Water != f.Water || b.Water != f.Water || a.Rig != f.Rig || b.Rig != f.Rig {
			t.Errorf("%s: rows %+v and %+v", f.Text, a, b)
		}
	}
	if got := c.RowName(5); got != "water 1, 1 ft3, cartridge" {
		t.Errorf("row 5 is called %q", got)
	}
}

// Where a choice is said to flip, it does: on either side of the solved point
// the other plan costs less.
func TestFlipsFlip(t *testing.T) {
	in := comparison(t, []analysis.Sample{hardWell()}, []Rig{named(DefaultRig(), "tank")}, plansToCompare(), 40)
	all, err := in.contenders(context.Background(), Options{})
	if err != nil {
		t.Fatal(err)
	}
	c := &Comparison{}
	if err := c.flips(context.Background(), all); err != nil {
		t.Fatal(err)
	}
	if len(c.Flips) == 0 {
		t.Fatal("nothing flips between a bare vessel and a membrane over 400 times the demand")
	}
	cost := func(i int, by string, factor float64) float64 {
		x, err := all[i].smooth(by, factor)
		if err != nil {
			t.Fatal(err)
		}
		return x
	}
	for _, f := range c.Flips {
		byName := map[string]int{all[f.A].spec.Name: f.A, all[f.B].spec.Name: f.B}
		for _, side := range []struct {
			factor         float64
			cheaper, other string
		}{{f.Factor * 0.9999, f.Below, f.Above}, {f.Factor * 1.0001, f.Above, f.Below}} {
			if cheap, dear := cost(byName[side.cheaper], f.By, side.factor), cost(byName[side.other], f.By, side.factor); cheap > dear {
				t.Errorf("%s: at %.6g times %q costs %.4f, %q %.4f", f.Text, side.factor, side.cheaper, cheap, side.other, dear)
			}
		}
	}
}

// Payback against worked examples of capital-budgeting exercises, seen on pages
// of solutions: 45,000 at 15,000 a year, 3 years; 13,000 at 5,000 a year, where
// 3,000 of the third year's 5,000 take (3,000/5,000)·365 = 219 days; 10,000 at
// 2,000 a year, 5 years. Savings that grow: computed by hand.
func TestPayback(t *testing.T) {
	for _, c := range []struct {
		investment, saving, growth, want float64
	}{
		{45000, 15000, 0, 3},
		{13000, 5000, 0, 2 + 219.0/365},
		{10000, 2000, 0, 5},
		{2100, 1000, 0.1, 2}, // 1000 + 1100, computed by hand
	} {
		got, ok := PaybackYears(c.investment, c.saving, c.growth, 50)
		if !ok || math.Abs(got-c.want) > 1e-9 {
			t.Errorf("%v at %v a year: %v years (%v), want %v", c.investment, c.saving, got, ok, c.want)
		}
	}
	if _, ok := PaybackYears(1000, -5, 0, 50); ok {
		t.Error("a loss pays back")
	}
	if years, ok := PaybackYears(0, -5, 0, 50); !ok || years != 0 {
		t.Error("what costs nothing at the start has nothing to pay back")
	}
	rapid.Check(t, func(t *rapid.T) {
		inv, saving := rapid.Float64Range(1, 1e5).Draw(t, "investment"), rapid.Float64Range(1, 1e4).Draw(t, "saving")
		years, ok := PaybackYears(inv, saving, 0, 1e6)
		if !ok || math.Abs(years-inv/saving) > 1e-6*years+1e-9 {
			t.Fatalf("%v at %v: %v years (%v)", inv, saving, years, ok)
		}
	})
}

// The rule of thumb against trade examples: 10,000 gr/ft3 x 20 ft3 at 25 gpg
// is 8,000 gal (treatment ledger C06, trade note), where the rule is given the
// hardness as CaCO3.
func TestRuleOfThumb(t *testing.T) {
	const mgPerGpg = 17.118
	if got := RuleOfThumb(unit.CubicFeet(20), 25*mgPerGpg).Gallons(); math.Abs(got-8000) > 2 {
		t.Errorf("%.1f gal, want 8000", got)
	}
}

// Dates of refills: 624 gal a season of 26 weeks from April; fills of 312 gal
// end in the middle and at the end of each season (arithmetic).
func TestRefillDates(t *testing.T) {
	u := DefaultRig().Use
	got := u.refills(unit.Gallons(400))
	if len(got) != 15 { // 6240 / 400 = 15.6
		t.Fatalf("%d refills in ten years, want 15", len(got))
	}
	if r := got[0]; r.Year != 1 || math.Abs(r.Week-26*400.0/624) > 1e-9 || r.Month != 7 || r.Text != "year 1, end of July" {
		t.Errorf("first refill %+v", r)
	}
	if r := got[1]; r.Year != 2 || math.Abs(r.Week-26*(800.0-624)/624) > 1e-9 || r.Month != 5 {
		t.Errorf("second refill %+v", r)
	}
	winter := u
	winter.FirstMonth, winter.MonthsPerYear = 11, 4
	for _, r := range winter.refills(unit.Gallons(100)) {
		if r.Month > 2 && r.Month < 11 {
			t.Errorf("a refill outside a season from November to February: %+v", r)
		}
	}
}

// Doubling the feed at the same mix halves what a fill gives, within what
// carbon dioxide and the flow of the front leave.
func TestCapacityTableFalls(t *testing.T) {
	in := comparison(t, []analysis.Sample{hardWell()}, []Rig{named(DefaultRig(), "tank")}, plansToCompare()[:1], 40)
	c, err := Compare(context.Background(), in, Options{})
	if err != nil {
		t.Fatal(err)
	}
	table := c.Capacity[1:] // the first row is the water as it is
	for i := 1; i < len(table); i++ {
		if q := table[i].Life.P50 * table[i].TDS / (table[i-1].Life.P50 * table[i-1].TDS); q < 0.9 || q > 1.1 {
			t.Errorf("%.0f to %.0f mg/L: the product of life and strength changes by %.3f", table[i-1].TDS, table[i].TDS, q)
		}
		if table[i].Thumb >= table[i-1].Thumb {
			t.Error("the rule of thumb does not fall")
		}
	}
	if !strings.Contains(c.Capacity[0].Why, "no pen sees") {
		t.Error("the table does not say why it differs from the rule of thumb")
	}
}

func TestCompareRefuses(t *testing.T) {
	ok := comparison(t, []analysis.Sample{hardWell()}, []Rig{DefaultRig()}, plansToCompare(), 20)
	for name, spoil := range map[string]func(in *CompareInput){
		"no plans":  func(in *CompareInput) { in.Plans = nil },
		"no waters": func(in *CompareInput) { in.Waters = nil },
		"mixed currencies": func(in *CompareInput) {
			other := DefaultRig()
			other.Prices.Currency = "EUR"
			in.Rigs = append(in.Rigs, other)
		},
		"unknown aim":   func(in *CompareInput) { in.Plans = []PlanSpec{{Name: "x", Aim: "prettiest"}} },
		"unknown stage": func(in *CompareInput) { in.Plans = []PlanSpec{{Name: "x", Stages: []Mention{{Kind: "magnet"}}}} },
		"order broken": func(in *CompareInput) {
			in.Plans = []PlanSpec{{Name: "x", Stages: []Mention{{Kind: process.ReverseOsmosis}, {Kind: process.Softener}}}}
		},
		"aim and stages": func(in *CompareInput) {
			in.Plans = []PlanSpec{{Name: "x", Aim: "none", Stages: []Mention{{Kind: process.Softener}}}}
		},
		"unequal draws": func(in *CompareInput) {
			in.Waters = append(in.Waters, NamedWater{Name: "other", Water: compose(t, hardWell(), 30)})
		},
	} {
		in := ok
		spoil(&in)
		if _, err := Compare(context.Background(), in, Options{}); !errors.Is(err, ErrCompare) {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// A vessel that a single rinse empties is pointed out.
func TestVesselTooSmall(t *testing.T) {
	resin, rinse := Resin(unit.Litres(1)), Volume(unit.Litres(150))
	rig, err := (&RigDocument{Name: "thimble", Vessels: []VesselDocument{{Resin: &resin}}, Use: UseDocument{Rinse: &rinse}}).Resolve()
	if err != nil {
		t.Fatal(err)
	}
	c, err := Compare(context.Background(), comparison(t, []analysis.Sample{hardWell()}, []Rig{rig}, plansToCompare()[:1], 20), Options{})
	if err != nil {
		t.Fatal(err)
	}
	if !strings.Contains(c.Rows[0].BottleNeck, "too small") {
		t.Errorf("got %q", c.Rows[0].BottleNeck)
	}
}

func BenchmarkCompare(b *testing.B) {
	soft := sampleOf(result{id: "hardness", value: 60, unit: unit.MgL, basis: "CaCO3"}, result{id: "alkalinity", value: 40, unit: unit.MgL, basis: "CaCO3"}, result{id: "ph", value: 6.4, unit: unit.PH}, result{id: "tds", value: 120, unit: unit.MgL})
	salty := sampleOf(result{id: "hardness", value: 400, unit: unit.MgL, basis: "CaCO3"}, result{id: "alkalinity", value: 240, unit: unit.MgL, basis: "CaCO3"}, result{id: "ph", value: 7.6, unit: unit.PH}, result{id: "tds", value: 1500, unit: unit.MgL})
	in := comparison(b, []analysis.Sample{hardWell(), soft, salty}, threeTanks(b), plansToCompare(), 500)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := Compare(context.Background(), in, Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
