package rules

import "testing"

func TestBuiltinPacksLoadAndMerge(t *testing.T) {
	set, err := Merge(Builtin()...)
	if err != nil {
		t.Fatal(err)
	}
	if len(set.Rules()) < 100 {
		t.Errorf("%d rules, expected at least 100", len(set.Rules()))
	}
}
