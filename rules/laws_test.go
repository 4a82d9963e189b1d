package rules

import (
	"context"
	"encoding/json"
	"errors"
	"math"
	"testing"

	"pgregory.net/rapid"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/bed"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
	"forebed/schemas"
)

// drawRig makes a random rig.
func drawRig(t *rapid.T) Rig {
	resin := Resin(unit.CubicFeet(rapid.Float64Range(0.2, 5).Draw(t, "resin")))
	rinse := Volume(unit.Gallons(rapid.Float64Range(2, 60).Draw(t, "rinse")))
	rinses := rapid.Float64Range(0.5, 30).Draw(t, "rinses")
	months := rapid.Float64Range(1, 12).Draw(t, "months")
	growth := rapid.Float64Range(-5, 10).Draw(t, "growth")
	plain := Volume(unit.Gallons(rapid.Float64Range(0, 50).Draw(t, "plain")))
	years := rapid.IntRange(1, 20).Draw(t, "years")
	kind := rapid.SampledFrom([]VesselKind{KindTank, KindCartridge, KindExchange}).Draw(t, "kind")
	vessels := make([]VesselDocument, rapid.IntRange(1, 3).Draw(t, "vessels"))
	for i := range vessels {
		vessels[i] = VesselDocument{Kind: &kind, Resin: &resin}
	}
	line := rapid.SampledFrom([]Line{LineSeries, LineParallel}).Draw(t, "line")
	rig, err := (&RigDocument{Vessels: vessels, Line: &line, Use: UseDocument{Rinse: &rinse, RinsesPerWeek: &rinses, MonthsPerYear: &months,
		Growth: &growth, Plain: &plain, HorizonYears: &years}}).Resolve()
	if err != nil {
		t.Fatal(err)
	}
	return rig
}

// drawTrain makes a random train of the catalogue, in the order of the slots.
func drawTrain(t *rapid.T) train {
	var tr train
	orders := process.Orders()
	for slot := range slots {
		var fit []process.Stage
		for _, s := range process.Catalogue() {
			if slots[slot].fits(slot, s) {
				fit = append(fit, s)
			}
		}
		if len(fit) == 0 || rapid.IntRange(0, 2).Draw(t, "use") > 0 {
			continue
		}
		if c := (car{slot: slot, stage: rapid.SampledFrom(fit).Draw(t, "stage")}); tr.follows(c, orders) {
			tr = append(tr, c)
		}
	}
	return tr
}

// In every draw the total equals the sum of the parts to the cent, whatever
// the rig and the train; no part is negative; and a train pays for at least
// one fill.
func TestMoneyAddsUp(t *testing.T) {
	w := compose(t, hardWell(), 24)
	rapid.Check(t, func(t *rapid.T) {
		rig := drawRig(t)
		b := newBench(&Input{Rig: rig, Water: w, Rules: &Set{}}, w.Draws, rapid.Uint64().Draw(t, "seed"))
		tr := drawTrain(t)
		r, err := b.try(tr, b.ride(tr))
		if err != nil {
			t.Fatal(err)
		}
		for i := range w.Draws {
			var first, running Cents
			bill := r.account.bill(b, i, r.lives[i].Residue, func(k int, c Cents) {
				if c < 0 {
					t.Fatalf("%s costs %d cents", r.account.lines[k].name(), c)
				}
				if r.account.lines[k].first {
					first += c
				} else {
					running += c
				}
			})
			if bill != r.bills[i] || bill.first != first || bill.running != running || bill.total() != first+running {
				t.Fatalf("draw %d: parts %d + %d, account %+v", i, first, running, bill)
			}
			if bill.fills < 1 {
				t.Fatalf("%v fills", bill.fills)
			}
		}
	})
}

// Water is conserved: what is drawn is what the rig uses and what goes down
// the drain.
func TestWaterAddsUp(t *testing.T) {
	w := compose(t, hardWell(), 4)
	rapid.Check(t, func(t *rapid.T) {
		rig := drawRig(t)
		b := newBench(&Input{Rig: rig, Water: w, Rules: &Set{}}, w.Draws, 1)
		tr := drawTrain(t)
		r, err := b.try(tr, b.ride(tr))
		if err != nil {
			t.Fatal(err)
		}
		for i := range w.Draws {
			r.account.flow(b, i)
			used := float64(rig.Use.YearVolume() + rig.Use.PlainVolume())
			if got := r.account.feed - r.account.waste; math.Abs(got/used-1) > 1e-9 {
				t.Fatalf("drawn %.9g less wasted %.9g is not the %.9g used", r.account.feed, r.account.waste, used)
			}
		}
	})
}

// The fills of a horizon are whole, fall as a fill lasts longer, and are never
// fewer than its age allows.
func TestFills(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := drawRig(t).Use
		short := unit.Litres(rapid.Float64Range(1, 1e6).Draw(t, "life"))
		long := short * unit.Litres(rapid.Float64Range(1, 10).Draw(t, "more"))
		a, b := u.fills(short), u.fills(long)
		if a != math.Floor(a) || b > a || b < math.Ceil(float64(u.HorizonYears)/FillYears) {
			t.Fatalf("life %v: %v fills, life %v: %v fills", short, a, long, b)
		}
	})
	u := DefaultRig().Use // 624 gal a season for 10 years
	if got := u.fills(unit.Gallons(624)); got != 10 {
		t.Errorf("a fill a season: %v fills in 10 years", got)
	}
	if got := u.fills(unit.Gallons(428)); got != 15 { // 6240 / 428 = 14.6
		t.Errorf("428 gal a fill: %v fills in 10 years", got)
	}
	if got := u.fills(unit.Litres(math.Inf(1))); got != 2 {
		t.Errorf("a fill without end is trusted for five years: %v fills", got)
	}
}

// A vessel with three times the resin, of the same depth and at three times
// the flow, lasts three times as long on the same water (common practice, and
// exact in the closed form, which sees the same velocity).
func TestThreeTimesTheResin(t *testing.T) {
	w := compose(t, hardWell(), 50)
	at := func(ft3, inches, gpm float64) []bed.Life {
		resin, d, flow := Resin(unit.CubicFeet(ft3)), Length(unit.Inches(inches)), Flow(unit.GallonsPerMinute(gpm))
		rig, err := (&RigDocument{Vessels: []VesselDocument{{Resin: &resin, Diameter: &d}}, Use: UseDocument{PeakFlow: &flow}}).Resolve()
		if err != nil {
			t.Fatal(err)
		}
		return newBench(&Input{Rig: rig, Water: w, Rules: &Set{}}, w.Draws, 1).lives(nil)
	}
	one, three := at(1, 8, 2), at(3, 8*math.Sqrt(3), 6)
	for i := range one {
		if q := float64(three[i].Residue / one[i].Residue); math.Abs(q-3) > 1e-6 {
			t.Fatalf("draw %d: %.6f times", i, q)
		}
	}
}

// The same seed gives the same bytes, whatever the number of workers; another
// seed draws other vessels.
func TestSearchIsDeterministic(t *testing.T) {
	s := hardWell()
	in := Input{Sample: &s, Water: compose(t, s, 60), Rig: DefaultRig(), Rules: builtin(t)}
	run := func(o Options) string {
		p, err := Search(context.Background(), in, o)
		if err != nil {
			t.Fatal(err)
		}
		b, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		return string(b)
	}
	one := run(Options{Seed: 7, Workers: 1})
	if run(Options{Seed: 7, Workers: 5}) != one {
		t.Error("five workers give another plan than one")
	}
	if run(Options{Seed: 8, Workers: 1}) == one {
		t.Error("another seed gives the same bands")
	}
}

func TestSearchStops(t *testing.T) {
	s := hardWell()
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err := Search(ctx, Input{Sample: &s, Water: compose(t, s, 60), Rig: DefaultRig(), Rules: builtin(t)}, Options{})
	if !errors.Is(err, context.Canceled) {
		t.Errorf("got %v", err)
	}
	if _, err := Search(context.Background(), Input{Water: &water.Composition{}, Rig: DefaultRig()}, Options{}); !errors.Is(err, ErrInput) {
		t.Errorf("a composition without draws: %v", err)
	}
}

// What the owner forces stands in the plan, what he forbids does not, and the
// plan says so.
func TestForceAndForbid(t *testing.T) {
	p := planFor(t, hardWell(), DefaultRig(), Options{Force: []process.Kind{process.ReverseOsmosis}})
	if p.find("reverse_osmosis") == nil {
		t.Errorf("forced reverse osmosis is not in %s", trainText(p))
	}
	p = planFor(t, hardWell(), DefaultRig(), Options{Forbid: []process.Kind{process.SedimentFilter}})
	if p.find("sediment_filter") != nil {
		t.Error("a forbidden filter is in the plan")
	}
	for _, l := range p.LeftOut {
		if l.Kind == process.SedimentFilter && l.Why != "ruled out by you" {
			t.Errorf("left out because %q", l.Why)
		}
	}
}

// No stage is said to extend the life unless the life is longer with it, and
// every stage says why it is there with numbers.
func TestNoStageBoasts(t *testing.T) {
	for name, rig := range map[string]Rig{"small": DefaultRig(), "large": largeRig(t)} {
		p := planFor(t, hardWell(), rig, Options{})
		for _, s := range p.Stages {
			if (s.Role == RoleExtends) != (s.LifeRatio.P50 >= extends) {
				t.Errorf("%s: %s is said to be %s at %.3f times", name, s.Kind, s.Role, s.LifeRatio.P50)
			}
			if len(s.Why) == 0 {
				t.Errorf("%s: %s has no reason", name, s.Kind)
			}
			if s.Role == RoleProtects && s.Protects == "" {
				t.Errorf("%s: %s does not say what it protects from", name, s.Kind)
			}
		}
		for _, l := range p.LeftOut {
			if l.Why == "" {
				t.Errorf("%s: %s is left out without a reason", name, l.Kind)
			}
		}
	}
}

func largeRig(t *testing.T) Rig {
	rinse, rinses, months, resin := Volume(unit.Gallons(40)), 20.0, 12.0, Resin(unit.CubicFeet(2.4))
	rig, err := (&RigDocument{Vessels: []VesselDocument{{Resin: &resin}}, Use: UseDocument{Rinse: &rinse, RinsesPerWeek: &rinses, MonthsPerYear: &months}}).Resolve()
	if err != nil {
		t.Fatal(err)
	}
	return rig
}

// The identities of the central draw: stage shares of the load add up, and
// the horizon is first cost and running costs.
func TestCentralDrawAddsUp(t *testing.T) {
	p := planFor(t, hardWell(), largeRig(t), Options{})
	for name, l := range map[string]LoadNote{"untreated": p.Load.Untreated, "with plan": p.Load.WithPlan} {
		sum := l.Bicarbonate.P50 + l.CO2.P50 + l.Silica.P50 + l.StrongAnion.P50
		if math.Abs(sum-l.Anion.P50) > 1e-9 {
			t.Errorf("%s: parts %.9f, anion load %.9f", name, sum, l.Anion.P50)
		}
	}
	for name, c := range map[string]CostNote{"untreated": p.Cost.Untreated, "with plan": p.Cost.WithPlan} {
		var first, running float64
		for _, part := range c.Parts {
			first += part.First.P50
			running += part.Horizon.P50
		}
		if math.Abs(first-c.First.P50) > 0.001 || math.Abs(first+running-c.Horizon.P50) > 0.001 {
			t.Errorf("%s: parts %.2f + %.2f, first %.2f, horizon %.2f", name, first, running, c.First.P50, c.Horizon.P50)
		}
	}
}

// The cell model and the closed form agree on the plan's central draw: the
// residue end of a hard well within the 8 % that package bed holds them to.
func TestCellsAgree(t *testing.T) {
	p := planFor(t, hardWell(), DefaultRig(), Options{Cells: true})
	for _, e := range p.Life.Untreated.Cells {
		if e.End != string(bed.EndResidue) {
			continue
		}
		if e.Life == nil || math.Abs(*e.Life/p.Life.Untreated.Residue.P50-1) > 0.08 {
			t.Errorf("cells %v L, closed form %.0f L", e.Life, p.Life.Untreated.Residue.P50)
		}
		return
	}
	t.Error("the cell model gives no residue end")
}

// BenchmarkTrain shows what one train costs: its figures in the tree, and tried
// on five hundred draws.
func BenchmarkTrain(b *testing.B) {
	w := compose(b, hardWell(), 500)
	full := newBench(&Input{Rig: DefaultRig(), Water: w, Rules: builtin(b)}, w.Draws, 1)
	small := full.pick(full.strata(treeDraws))
	var t train
	for slot, name := range map[int][2]string{slotInlet: {"sediment_filter", "5um"}, slotSoftener: {"softener", "salt_6"}, slotMembrane: {"reverse_osmosis", "pumped"}} {
		s, ok := process.Find(process.Kind(name[0]), name[1])
		if !ok {
			b.Fatal(name)
		}
		t = t.with(car{slot: slot, stage: s})
	}
	b.Run("screen", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := small.score(new(account), t, small.ride(t)); err != nil {
				b.Fatal(err)
			}
		}
	})
	b.Run("full", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := full.again(t); err != nil {
				b.Fatal(err)
			}
		}
	})
}

// Plans of waters from the edge of what wells hold: each is a valid document,
// no figure is infinite, and a plan that is not blocked keeps its limits.
func TestEdgesOfWater(t *testing.T) {
	mg := func(id string, x float64) result { return result{id: analyte.ID(id), value: x, unit: unit.MgL} }
	ph := func(x float64) result { return result{id: "ph", value: x, unit: unit.PH} }
	for name, s := range map[string]analysis.Sample{
		"a pad each":         sampleOf(ph(7), mg("hardness", 120), mg("alkalinity", 120)),
		"conductivity alone": sampleOf(result{id: "conductivity", value: 420, unit: unit.USCm}),
		"rain":               sampleOf(ph(5.6), mg("hardness", 2), mg("alkalinity", 2), mg("tds", 8)),
		"mine water":         sampleOf(ph(3.4), mg("sulfate", 900), mg("iron", 60), mg("manganese", 12), mg("calcium", 180), mg("magnesium", 60), mg("alkalinity", 0)),
		"near sea water":     sampleOf(ph(7.9), mg("sodium", 9500), mg("chloride", 17000), mg("calcium", 380), mg("magnesium", 1100), mg("sulfate", 2300), mg("alkalinity", 115)),
		"caustic":            sampleOf(ph(10.2), mg("sodium", 160), mg("alkalinity", 300), mg("hardness", 4)),
		"everything at once": sampleOf(ph(6.6), mg("hardness", 420), mg("alkalinity", 250), mg("iron", 9), mg("manganese", 1.2), mg("hydrogen_sulfide", 4), mg("toc", 9),
			mg("tannin", 4), mg("turbidity", 20), mg("ammonium", 3), mg("free_chlorine", 2), mg("silica", 70)),
		"ice cold": sampleOf(ph(7.4), mg("hardness", 200), mg("alkalinity", 180), result{id: "temperature", value: 4, unit: unit.DegC}),
	} {
		for i := range s.Results {
			if s.Results[i].Analyte == "turbidity" {
				s.Results[i].Unit = unit.NTU
			}
		}
		t.Run(name, func(t *testing.T) {
			w, err := water.Complete(s, water.Options{Draws: 40, Seed: 1})
			if err != nil {
				t.Fatal(err)
			}
			for _, rig := range []Rig{DefaultRig(), largeRig(t)} {
				p, err := Search(context.Background(), Input{Sample: &s, Water: w, Rig: rig, Rules: builtin(t)}, Options{})
				if err != nil {
					t.Fatal(err)
				}
				b, err := json.Marshal(p)
				if err != nil {
					t.Fatal(err)
				}
				if err := schemas.Validate("plan", name, b); err != nil {
					t.Error(err)
				}
				if (p.Status == StatusNone) != (len(p.Blocked) > 0) {
					t.Errorf("status %s with %d blocks", p.Status, len(p.Blocked))
				}
			}
		})
	}
}

// A band holds its middle, in every part of a plan, on reports of which little
// was measured too.
func TestBandsHoldTheirMiddle(t *testing.T) {
	for name, p := range map[string]*Plan{"hard": planFor(t, hardWell(), largeRig(t), Options{}), "short": planFor(t, softAcidStrip(), largeRig(t), Options{})} {
		text, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		var doc any
		if err := json.Unmarshal(text, &doc); err != nil {
			t.Fatal(err)
		}
		if n := bandsHold(t, name, doc); n < 100 {
			t.Errorf("%s: only %d bands were found", name, n)
		}
	}
}

// bandsHold checks every band of a document and counts them.
func bandsHold(t *testing.T, at string, doc any) (n int) {
	switch x := doc.(type) {
	case map[string]any:
		low, is := x["p10"].(float64)
		if mid, high := x["p50"], x["p90"]; is {
			if low > mid.(float64) || mid.(float64) > high.(float64) {
				t.Errorf("%s: %v lies outside %v to %v", at, mid, low, high)
			}
			return 1
		}
		for k, v := range x {
			n += bandsHold(t, at+"/"+k, v)
		}
	case []any:
		for _, v := range x {
			n += bandsHold(t, at, v)
		}
	}
	return n
}

// softAcidStrip is a report in which nobody measured iron or manganese, of a
// water that usually holds them.
func softAcidStrip() analysis.Sample {
	return sampleOf(
		result{id: "hardness", value: 160, unit: unit.MgL}, result{id: "alkalinity", value: 150, unit: unit.MgL}, result{id: "ph", value: 6.3, unit: unit.PH},
		result{id: "conductivity", value: 380, unit: unit.USCm},
	)
}

// A limit that rests on a metal nobody measured makes a plan conditional and
// no worse, but the plan tells in how many of the waters it is broken.
func TestConditionTellsItsShare(t *testing.T) {
	p := planFor(t, softAcidStrip(), largeRig(t), Options{})
	if p.Status != StatusConditional {
		t.Fatalf("the plan is %s, expected a conditional one: %s", p.Status, trainText(p))
	}
	for _, c := range p.Conditions {
		if c.Rule == "membrane-iron" {
			if c.Share <= holdsAbove {
				t.Errorf("iron is above the limit in %.0f %% of the draws it says, and in most wells of that sort", 100*c.Share)
			}
			return
		}
	}
	t.Errorf("no condition about iron on the membrane: %+v", p.Conditions)
}

// A life of a fill says gallons and rinses in readable figures, whatever the
// demand; and the season of a rig that never rests is a year.
func TestReadableFigures(t *testing.T) {
	for x, want := range map[float64]string{104000: "104,000", 394012: "394,000", 34.666: "34.7", 693.3: "693", 9999: "10,000", 1234567: "1,230,000", 0.25: "0.25", 1000: "1000"} {
		if got := threeFigures(x); got != want {
			t.Errorf("%v prints as %s, expected %s", x, got, want)
		}
	}
	rig := largeRig(t)
	if got, want := rig.demand().Text, "52 weeks x 20 rinses x 40 gal = 41,600 gal (157,000 L) a year"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}
