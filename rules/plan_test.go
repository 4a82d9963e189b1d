package rules

import (
	"encoding/json"
	"strings"
	"testing"

	"forebed/schemas"
)

// A plan is a valid document of its own schema.
func TestPlanMatchesItsSchema(t *testing.T) {
	for name, p := range map[string]*Plan{
		"hard well":        planFor(t, hardWell(), DefaultRig(), Options{Cells: true}),
		"nothing to drain": planFor(t, hardWell(), noDrain(), Options{}),
	} {
		b, err := json.Marshal(p)
		if err != nil {
			t.Fatal(err)
		}
		if err := schemas.Validate("plan", name, b); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

func noDrain() Rig {
	no := false
	rig, err := (&RigDocument{Site: SiteDocument{Drain: &no, Power: &no}}).Resolve()
	if err != nil {
		panic(err)
	}
	return rig
}

// Every field of the rig and plan schemas says what it is.
func TestSchemaFieldsAreDescribed(t *testing.T) {
	for _, name := range []string{"rig", "plan", "compare"} {
		src, ok := schemas.Source(name)
		if !ok {
			t.Fatalf("no schema %q", name)
		}
		var v any
		if err := json.Unmarshal(src, &v); err != nil {
			t.Fatal(err)
		}
		var walk func(v any, at string)
		walk = func(v any, at string) {
			m, ok := v.(map[string]any)
			if !ok {
				return
			}
			if props, ok := m["properties"].(map[string]any); ok {
				for k, p := range props {
					if d, _ := p.(map[string]any)["description"].(string); len(strings.Fields(d)) == 0 {
						t.Errorf("%s: %s/%s has no description", name, at, k)
					}
				}
			}
			for k, p := range m {
				walk(p, at+"/"+k)
			}
		}
		walk(v, "")
	}
}
