package engine

import (
	"context"
	"os"
	"path/filepath"
	"testing"

	"forebed/rules"
)

// BenchmarkPlan makes whole plans, from bytes to the plan value, of the sample
// reports with 200 draws on one worker.
func BenchmarkPlan(b *testing.B) {
	set, err := rules.Merge(rules.Builtin()...)
	if err != nil {
		b.Fatal(err)
	}
	for _, name := range []string{"boatyard-hard-iron-well.txt", "orchard-soft-acid-well.txt", "marina-brackish-well.csv", "horse-trailer-strip.txt"} {
		input, err := os.ReadFile(filepath.Join("../../../../testdata/reports", name))
		if err != nil {
			b.Fatal(err)
		}
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				r := Request{Input: input, File: name, Rig: rules.DefaultRig(), Rules: set, Draws: 200, Seed: 1, Workers: 1}
				if _, err := r.Plan(context.Background()); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
