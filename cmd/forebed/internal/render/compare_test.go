package render

import (
	"testing"

	"forebed/rules"
)

func TestDifference(t *testing.T) {
	for _, c := range []struct {
		saving rules.Band
		want   string
	}{
		{rules.Band{}, "costs the same"},
		{rules.Band{P10: 77, P50: 377, P90: 500}, "saves $377 ($77 to $500)"},
		{rules.Band{P10: -500, P50: -377, P90: -77}, "costs $377 ($77 to $500) more"},
		{rules.Band{P10: -4310, P50: -356, P90: 2710}, "costs $356 more ($4310 more to $2710 less)"},
		{rules.Band{P10: -30, P50: 356, P90: 2710}, "costs $356 less ($30 more to $2710 less)"},
	} {
		if got := difference("USD", c.saving); got != c.want {
			t.Errorf("%+v: %q, want %q", c.saving, got, c.want)
		}
	}
}
