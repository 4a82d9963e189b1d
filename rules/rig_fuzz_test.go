package rules

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"testing"

	"forebed/schemas"
)

// Whatever a rig document holds, reading it must end in problems, or in a rig
// with a vessel whose every figure is finite.
func FuzzRig(f *testing.F) {
	names, err := filepath.Glob("../testdata/examples/rig*.yaml")
	if err != nil || len(names) == 0 {
		f.Fatalf("%d examples, %v", len(names), err)
	}
	for _, name := range names {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	for _, s := range []string{"", "{}", "version: forebed.rig/1", `{"version":"forebed.rig/1","use":{"rinse":"1e300 gal"}}`, "version: forebed.rig/1\nvessels: []\n", "version: forebed.rig/1\nuse: {months_per_year: 0, rinses_per_week: 0}\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		rig, err := ReadRig("rig.yaml", data)
		if err != nil {
			var ps schemas.Problems
			if !errors.As(err, &ps) || len(ps) == 0 {
				t.Fatalf("an error without problems: %v", err)
			}
			return
		}
		if len(rig.Vessels) == 0 {
			t.Fatal("a rig without a vessel")
		}
		finite(t, reflect.ValueOf(rig), "rig")
	})
}

// finite demands that no number of a value is NaN or infinite.
func finite(t *testing.T, v reflect.Value, at string) {
	switch v.Kind() {
	case reflect.Float64:
		if x := v.Float(); math.IsNaN(x) || math.IsInf(x, 0) {
			t.Fatalf("%s is %g", at, x)
		}
	case reflect.Struct:
		for i := range v.NumField() {
			finite(t, v.Field(i), at+"."+v.Type().Field(i).Name)
		}
	case reflect.Slice, reflect.Array:
		for i := range v.Len() {
			finite(t, v.Index(i), at+"[]")
		}
	case reflect.Pointer, reflect.Interface:
		if !v.IsNil() {
			finite(t, v.Elem(), at)
		}
	}
}
