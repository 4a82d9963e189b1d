package engine

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"

	"forebed/chem/labreport"
	"forebed/schemas"
)

// FuzzComposition: whatever a report says, the way to a composition ends in a
// refusal, or in draws of which every figure is finite and every one balanced.
func FuzzComposition(f *testing.F) {
	for _, pattern := range []string{"../../../../testdata/reports/*.txt", "../../../../testdata/reports/*.csv"} {
		names, err := filepath.Glob(pattern)
		if err != nil || len(names) == 0 {
			f.Fatalf("%s: %d files, %v", pattern, len(names), err)
		}
		for _, name := range names {
			data, err := os.ReadFile(name)
			if err != nil {
				f.Fatal(err)
			}
			f.Add(data)
		}
	}
	for _, s := range []string{"Hardness 0 mg/L", "TDS 1e30 mg/L", "pH 14\nAlkalinity 0 mg/L", "Sodium 400000 mg/L", "Conductivity 0.1 uS/cm", "Hardness <1 mg/L\nAlkalinity <1 mg/L\nConductivity <1 uS/cm", "Calcium -3 mg/L"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r := &Request{Input: data, File: "report", Draws: 20, Seed: 1}
		result, err := r.Composition()
		if err != nil {
			var refusal *labreport.Refusal
			var ps schemas.Problems
			if !errors.As(err, &refusal) && (!errors.As(err, &ps) || len(ps) == 0) {
				t.Fatalf("an error that is no refusal: %v", err)
			}
			return
		}
		c := result.Water
		for i := range c.Draws {
			w := &c.Draws[i]
			load := w.Load()
			for _, x := range []float64{w.PH, float64(load.Cation), float64(load.Anion), float64(w.CO2), float64(w.Silica), float64(w.Temperature)} {
				if math.IsNaN(x) || math.IsInf(x, 0) {
					t.Fatalf("draw %d holds %g", i, x)
				}
			}
			for ion, x := range w.Ion {
				if !(x >= 0) || math.IsInf(float64(x), 0) {
					t.Fatalf("draw %d holds %g of ion %d", i, float64(x), ion)
				}
			}
			if off := math.Abs(float64(w.Imbalance())); off > 1e-9*max(1, float64(load.Cation)) {
				t.Fatalf("draw %d is %g meq/L out of balance", i, off)
			}
		}
		for _, b := range []float64{c.Conductivity.P50, c.DissolvedSolids.P50, c.Residue.P50, c.Calcite.P50, c.Hardness.P50, c.Alkalinity.P50} {
			if math.IsNaN(b) || math.IsInf(b, 0) {
				t.Fatalf("a summary figure is %g", b)
			}
		}
	})
}
