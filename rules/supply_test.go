package rules

import (
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/unit"
)

// A report with chlorine is a public supply unless the owner says otherwise; a
// trace, or none, leaves the well. Common practice, no source.
func TestChlorineTellsThePublicSupply(t *testing.T) {
	sample := func(mg float64) *analysis.Sample {
		return &analysis.Sample{Results: []analysis.Result{{Analyte: "free_chlorine", Value: analysis.Number(mg), Unit: unit.MgL}}}
	}
	original := DefaultRig()
	for _, c := range []struct {
		name string
		s    *analysis.Sample
		well bool
	}{
		{"no report", nil, true}, {"a trace", sample(0.05), true}, {"a dosed supply", sample(0.8), false},
	} {
		rig := original.suit(c.s)
		if rig.Site.PrivateWell != c.well || rig.Site.Chlorinated == c.well {
			t.Errorf("%s: private well %v, chlorinated %v", c.name, rig.Site.PrivateWell, rig.Site.Chlorinated)
		}
	}
	if !original.Site.PrivateWell {
		t.Error("the original rig was changed")
	}
	yes := true
	stated, err := (&RigDocument{Version: RigVersion, Site: SiteDocument{PrivateWell: &yes}}).Resolve()
	if err != nil {
		t.Fatal(err)
	}
	if !stated.suit(sample(0.8)).Site.PrivateWell {
		t.Error("what the owner stated was changed")
	}
}
