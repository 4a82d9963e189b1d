package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"testing"

	"forebed/cmd/forebed/internal/riglog"
	"forebed/rules"
	"forebed/schemas"
)

// FuzzPlanIn: a plan document of any origin ends in problems, or in a plan
// that a log can be held against.
func FuzzPlanIn(f *testing.F) {
	var plan, stderr bytes.Buffer
	if code := run(f.Context(), []string{"forebed", "plan", "--draws", "50", "--format", "json", filepath.Join(root, "testdata/reports/window-round-town-supply.csv")}, nil, &plan, &stderr); code != exitDone {
		f.Fatalf("exit code %d: %s", code, stderr.String())
	}
	f.Add(plan.Bytes())
	const name = "testdata/examples/log-windows.csv"
	data, err := os.ReadFile(filepath.Join(root, name))
	if err != nil {
		f.Fatal(err)
	}
	log, err := riglog.Parse(name, data)
	if err != nil {
		f.Fatal(err)
	}
	f.Add([]byte(`{"version":"forebed.plan/1"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var p rules.Plan
		if err := schemas.Decode("plan", "plan.json", data, &p); err != nil {
			var ps schemas.Problems
			if !errors.As(err, &ps) || len(ps) == 0 {
				t.Fatalf("an error without problems: %v", err)
			}
			return
		}
		report, err := riglog.Forecast(log, riglog.Basis{Plan: &p, Seed: 1})
		if err == nil && report == nil {
			t.Fatal("neither a forecast nor an error")
		}
	})
}
