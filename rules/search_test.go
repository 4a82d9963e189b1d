package rules

import (
	"context"
	"encoding/json"
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// result is one line of a report, for building samples.
type result struct {
	id    analyte.ID
	value float64
	unit  unit.Unit
	basis analyte.Basis
	form  analysis.Fraction
}

func sampleOf(results ...result) analysis.Sample {
	var s analysis.Sample
	for _, r := range results {
		s.Results = append(s.Results, analysis.Result{Analyte: r.id, Value: analysis.Number(r.value), Unit: r.unit, Basis: r.basis, Fraction: r.form})
	}
	return s
}

// hardWell is the worked example of treatment ledger section 6 as a report.
func hardWell() analysis.Sample {
	return sampleOf(
		result{id: "calcium", value: 80, unit: unit.MgL}, result{id: "magnesium", value: 25, unit: unit.MgL},
		result{id: "sodium", value: 20, unit: unit.MgL}, result{id: "potassium", value: 3, unit: unit.MgL},
		result{id: "iron", value: 1.5, unit: unit.MgL, form: analysis.Dissolved}, result{id: "manganese", value: 0.2, unit: unit.MgL, form: analysis.Dissolved},
		result{id: "chloride", value: 25, unit: unit.MgL}, result{id: "sulfate", value: 56, unit: unit.MgL},
		result{id: "nitrate", value: 10, unit: unit.MgL}, result{id: "fluoride", value: 0.3, unit: unit.MgL},
		result{id: "silica", value: 15, unit: unit.MgL}, result{id: "alkalinity", value: 250.5, unit: unit.MgL},
		result{id: "ph", value: 7.3, unit: unit.PH}, result{id: "temperature", value: 12, unit: unit.DegC},
	)
}

func builtin(t testing.TB) *Set {
	t.Helper()
	set, err := Merge(Builtin()...)
	if err != nil {
		t.Fatal(err)
	}
	return set
}

func compose(t testing.TB, s analysis.Sample, draws int) *water.Composition {
	t.Helper()
	c, err := water.Complete(s, water.Options{Draws: draws, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	return c
}

func planFor(t testing.TB, s analysis.Sample, rig Rig, o Options) *Plan {
	t.Helper()
	p, err := Search(context.Background(), Input{Sample: &s, Water: compose(t, s, 200), Rig: rig, Rules: builtin(t)}, o)
	if err != nil {
		t.Fatal(err)
	}
	return p
}

func TestPlanOfHardWell(t *testing.T) {
	p := planFor(t, hardWell(), DefaultRig(), Options{})
	b, err := json.MarshalIndent(p, "", " ")
	if err != nil {
		t.Fatal(err)
	}
	t.Logf("%s", b)
}

// Every stage of the catalogue, at every size it takes, has prices for itself
// and for what it uses up: nothing is free by oversight.
func TestEverythingHasAPrice(t *testing.T) {
	w := compose(t, hardWell(), 8)
	rig := DefaultRig()
	b := newBench(&Input{Rig: rig, Water: w, Rules: &Set{}}, w.Draws, 1)
	for _, s := range process.Catalogue() {
		for gpm := 0.5; gpm < 70; gpm *= 2 {
			tr := train{{stage: s}}
			legs := b.ride(tr)
			d := process.Duty{PeakFlow: unit.GallonsPerMinute(gpm), YearVolume: unit.Gallons(1000 * gpm), PeakDay: unit.Gallons(20 * gpm), DaysInUse: 100, FeedPressure: unit.PSI(50)}
			if _, err := b.open(tr, legs, []*fitted{b.fit(tr, legs, 0, d)}); err != nil {
				t.Errorf("%s %s at %v gpm: %v", s.Kind(), s.Variant(), gpm, err)
			}
		}
	}
}

func BenchmarkSearch(b *testing.B) {
	s := hardWell()
	in := Input{Sample: &s, Water: compose(b, s, 500), Rig: DefaultRig(), Rules: builtin(b)}
	b.ReportAllocs()
	var p *Plan
	for b.Loop() {
		var err error
		if p, err = Search(context.Background(), in, Options{}); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(p.Search.Screened), "screened/op")
	b.ReportMetric(float64(p.Search.Evaluated), "evaluated/op")
}
