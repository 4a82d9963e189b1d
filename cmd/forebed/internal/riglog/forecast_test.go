package riglog

import (
	"bytes"
	"context"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/chem/water"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
	"forebed/schemas"
)

// hardWell is the worked example of treatment ledger section 6, planned for
// the default rig.
func hardWell(t testing.TB) *rules.Plan {
	t.Helper()
	var s analysis.Sample
	for _, r := range []struct {
		id    analyte.ID
		value float64
		unit  unit.Unit
	}{
		{"calcium", 80, unit.MgL}, {"magnesium", 25, unit.MgL}, {"sodium", 20, unit.MgL}, {"potassium", 3, unit.MgL},
		{"chloride", 25, unit.MgL}, {"sulfate", 56, unit.MgL}, {"nitrate", 10, unit.MgL}, {"fluoride", 0.3, unit.MgL},
		{"silica", 15, unit.MgL}, {"alkalinity", 250.5, unit.MgL}, {"ph", 7.3, unit.PH}, {"temperature", 12, unit.DegC},
	} {
		s.Results = append(s.Results, analysis.Result{Analyte: r.id, Value: analysis.Number(r.value), Unit: r.unit})
	}
	c, err := water.Complete(s, water.Options{Draws: 100, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	set, err := rules.Merge(rules.Builtin()...)
	if err != nil {
		t.Fatal(err)
	}
	p, err := rules.Search(context.Background(), rules.Input{Sample: &s, Water: c, Rig: rules.DefaultRig(), Rules: set}, rules.Options{Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	return p
}

// logOf writes a log of fills that each last so many litres, with a reading of
// 0 ppm every tenth of it, and of a fill in service that has used a share.
func logOf(t *testing.T, lives []float64, reason Reason, used float64) *Log {
	t.Helper()
	var b strings.Builder
	b.WriteString(header)
	day, meter := day(t, "2026-04-01"), 0.0
	step := func(litres float64) {
		meter += litres
		day = day.AddDays(7)
	}
	fmt.Fprintf(&b, "%s,refill,0,L,,330,,,schedule,,,\n", day)
	for _, life := range lives {
		for range 9 {
			step(life / 10)
			fmt.Fprintf(&b, "%s,reading,%s,L,,330,0,,,,,\n", day, number(math.Round(meter)))
		}
		step(life / 10)
		fmt.Fprintf(&b, "%s,refill,%s,L,,,,,%s,,,\n", day, number(math.Round(meter)), reason)
	}
	step(used)
	fmt.Fprintf(&b, "%s,reading,%s,L,,330,0,,,,,\n", day, number(math.Round(meter)))
	l, err := Parse("rig.csv", []byte(b.String()))
	if err != nil {
		t.Fatal(err)
	}
	return l
}

func TestForecast(t *testing.T) {
	p := hardWell(t)
	rig := rules.DefaultRig()
	basis := Basis{Plan: p, Rig: &rig, Seed: 1}
	planned := p.Life.WithPlan.Residue.P50

	// Without a finished fill the forecast is the plan's, less what was used.
	r, err := Forecast(logOf(t, nil, Spots, 0.3*planned), basis)
	if err != nil {
		t.Fatal(err)
	}
	if off := r.Life.P50/planned - 1; math.Abs(off) > 0.06 {
		t.Errorf("a fill lasts %.0f L before anything is known, the plan says %.0f", r.Life.P50, planned)
	}
	if r.Advice != "fine" || r.Contradiction != nil {
		t.Errorf("advice %s, contradiction %v", r.Advice, r.Contradiction)
	}
	if !(r.Left.P10 < r.Left.P50 && r.Left.P50 < r.Left.P90) || math.Abs(r.Left.P50+r.Used-r.Life.P50) > 0.02*planned {
		t.Errorf("left %+v of %+v, used %.0f", r.Left, r.Life, r.Used)
	}

	// Three fills that ended by spots at six tenths of the plan are believed.
	short := 0.6 * planned
	r, err = Forecast(logOf(t, []float64{short, short, short}, Spots, 0.2*short), basis)
	if err != nil {
		t.Fatal(err)
	}
	if off := r.Life.P50/short - 1; math.Abs(off) > 0.1 {
		t.Errorf("after three fills of %.0f L the forecast is %.0f", short, r.Life.P50)
	}
	if r.Contradiction == nil || !r.Contradiction.Sooner || len(r.Contradiction.Causes) < 4 || len(r.Asks) == 0 {
		t.Errorf("contradiction %+v, asks %v", r.Contradiction, r.Asks)
	}

	// The same lives, refilled by schedule, say only that a fill lasts longer.
	scheduled, err := Forecast(logOf(t, []float64{short, short, short}, Schedule, 0.2*short), basis)
	if err != nil {
		t.Fatal(err)
	}
	if scheduled.Life.P50 < 0.9*planned {
		t.Errorf("fills changed by schedule at %.0f L made a life of %.0f out of %.0f", short, scheduled.Life.P50, planned)
	}

	// A fill run past its end is to be refilled now.
	r, err = Forecast(logOf(t, []float64{short, short}, Spots, 1.4*short), basis)
	if err != nil {
		t.Fatal(err)
	}
	if r.Advice != "refill_now" || r.Ended < 0.5 || r.Left.P10 != 0 {
		t.Errorf("advice %s, ended %.2f, left %+v", r.Advice, r.Ended, r.Left)
	}
}

// The same log gives the same bytes in every format, and the document fits its
// schema.
func TestForecastDocument(t *testing.T) {
	b := Basis{Plan: hardWell(t), Seed: 7}
	l := logOf(t, []float64{1500, 1400}, Spots, 300)
	var outs [2]bytes.Buffer
	for i := range outs {
		r, err := Forecast(l, b)
		if err != nil {
			t.Fatal(err)
		}
		if err := render.Text(&outs[i], r.Blocks(render.US)); err != nil {
			t.Fatal(err)
		}
		if err := render.HTML(&outs[i], r.Blocks(render.Metric)); err != nil {
			t.Fatal(err)
		}
		doc, err := json.Marshal(r)
		if err != nil {
			t.Fatal(err)
		}
		if err := schemas.Validate("forecast", "forecast", doc); err != nil {
			t.Error(err)
		}
		outs[i].Write(doc)
	}
	if !bytes.Equal(outs[0].Bytes(), outs[1].Bytes()) {
		t.Error("two runs differ")
	}
}

func TestForecastNeedsARefill(t *testing.T) {
	l, err := Parse("rig.csv", []byte(header+"2026-04-03,reading,12,gal,,,0,,,,,\n"))
	if err != nil {
		t.Fatal(err)
	}
	if _, err := Forecast(l, Basis{Plan: hardWell(t)}); err == nil || !strings.Contains(err.Error(), "forebed log refill") {
		t.Errorf("got %v", err)
	}
}

// BenchmarkForecast reads the example log and learns from it.
func BenchmarkForecast(b *testing.B) {
	data, err := os.ReadFile("../../../../testdata/examples/log-windows.csv")
	if err != nil {
		b.Fatal(err)
	}
	plan := hardWell(b)
	b.Run("parse", func(b *testing.B) {
		b.SetBytes(int64(len(data)))
		b.ReportAllocs()
		for b.Loop() {
			if _, err := Parse("log.csv", data); err != nil {
				b.Fatal(err)
			}
		}
	})
	l, err := Parse("log.csv", data)
	if err != nil {
		b.Fatal(err)
	}
	b.Run("learn", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			if _, err := Forecast(l, Basis{Plan: plan, Seed: 1}); err != nil {
				b.Fatal(err)
			}
		}
	})
}
