package rules

import (
	"encoding/json"
	"errors"
	"math"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"

	"forebed/chem/bed"
	"forebed/chem/unit"
	"forebed/schemas"
)

func TestExamplesOfRigs(t *testing.T) {
	files, err := filepath.Glob("../testdata/examples/rig*.yaml")
	if err != nil || len(files) < 4 {
		t.Fatalf("found %d examples (%v), expected at least 4", len(files), err)
	}
	for _, file := range files {
		data, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		rig, err := ReadRig(file, data)
		if err != nil {
			t.Errorf("%v", err)
			continue
		}
		if !strings.Contains(rig.Name, "invented") {
			t.Errorf("%s: the name %q does not say that the scenario is invented", file, rig.Name)
		}
	}
}

// Season arithmetic: 26 weeks x 3 rinses x 8 gal = 624 gal. Source: plain
// arithmetic, as the job states it.
func TestSeasonArithmetic(t *testing.T) {
	rig := DefaultRig()
	if got := rig.Use.Weeks(); got != 26 {
		t.Errorf("weeks: %v", got)
	}
	if got := rig.Use.YearVolume().Gallons(); math.Abs(got-624) > 1e-9 {
		t.Errorf("season: %v gal", got)
	}
	if got, want := rig.demand().Text, "26 weeks x 3 rinses x 8 gal = 624 gal (2360 L) a season"; got != want {
		t.Errorf("got %q, want %q", got, want)
	}
}

// Every field that a rig leaves out is an assumption with a value and a basis,
// and a field that is stated is none.
func TestDefaultsAreAssumptions(t *testing.T) {
	rig := DefaultRig()
	seen := map[string]bool{}
	for _, a := range rig.Assumptions {
		if a.Value == "" || a.Basis == "" || a.Text == "" {
			t.Errorf("incomplete assumption %+v", a)
		}
		seen[a.Field] = true
	}
	for _, field := range []string{"/use/rinse", "/use/peak_flow", "/vessels/0/kind", "/vessels/0/resin", "/endpoint/dry_residue_mg_per_l", "/site/drain", "/prices/resin", "/prices/currency"} {
		if !seen[field] {
			t.Errorf("no assumption for %s", field)
		}
	}
	rinse := Volume(30)
	stated, err := (&RigDocument{Use: UseDocument{Rinse: &rinse}}).Resolve()
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range stated.Assumptions {
		if a.Field == "/use/rinse" {
			t.Error("a stated rinse is listed as an assumption")
		}
	}
}

// Measures against definitions: the US gallon of 231 in3, the pound of
// 0.45359237 kg and the 43 lb/ft3 of ledger A15 (common practice).
func TestMeasures(t *testing.T) {
	var v Volume
	var r Resin
	var f Flow
	var p Pressure
	for _, c := range []struct {
		text string
		read func([]byte) error
		got  func() float64
		want float64
	}{
		{"8 gal", v.UnmarshalText, func() float64 { return float64(v) }, 30.283294},
		{"30L", v.UnmarshalText, func() float64 { return float64(v) }, 30},
		{"1 impgal", v.UnmarshalText, func() float64 { return float64(v) }, 4.54609},
		{"43 lb", r.UnmarshalText, func() float64 { return unit.Litres(r).CubicFeet() }, 1},
		{"0.5 ft3", r.UnmarshalText, func() float64 { return float64(r) }, 14.158423},
		{"2 gpm", f.UnmarshalText, func() float64 { return float64(f) }, 7.570824},
		{"0.6 m3/h", f.UnmarshalText, func() float64 { return float64(f) }, 10},
		{"50 psi", p.UnmarshalText, func() float64 { return float64(p) }, 344.738},
		{"3.5 bar", p.UnmarshalText, func() float64 { return float64(p) }, 350},
	} {
		if err := c.read([]byte(c.text)); err != nil {
			t.Errorf("%s: %v", c.text, err)
		} else if math.Abs(c.got()/c.want-1) > 1e-6 {
			t.Errorf("%s: got %.7g, want %.7g", c.text, c.got(), c.want)
		}
	}
	for _, text := range []string{"8", "gal", "8 gpm", "eight gal", "NaN gal", "1e999 gal", ""} {
		if err := v.UnmarshalText([]byte(text)); err == nil {
			t.Errorf("%q was read as a volume", text)
		}
	}
}

func TestPrice(t *testing.T) {
	var p Price
	if err := p.UnmarshalText([]byte("250 USD/ft3")); err != nil {
		t.Fatal(err)
	}
	if x, err := p.in("volume"); err != nil || math.Abs(x-250/28.316846592) > 1e-9 {
		t.Errorf("250 USD/ft3 is %v USD/L (%v)", x, err)
	}
	if _, err := p.in("weight"); err == nil {
		t.Error("a price by volume was taken for one by weight")
	}
	for _, bad := range []string{"250", "250 /ft3", "250 dollars/ft3", "-5 USD/ft3", "250 USD/parsec", "USD 250"} {
		if err := p.UnmarshalText([]byte(bad)); err == nil {
			t.Errorf("%q was read as a price", bad)
		}
	}
}

// Bad rigs: the fault, its place and a remedy, all faults of a document at
// once.
func TestBadRigs(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string // in the message
	}{
		{"negative price", "version: forebed.rig/1\nprices: {resin: -250 USD/ft3}\n", []string{"r.yaml:2:", "/prices/resin", "try: "}},
		{"no use", "version: forebed.rig/1\nuse: {rinses_per_week: 0}\n", []string{"r.yaml:2:", "/use/rinses_per_week"}},
		{"no water", "version: forebed.rig/1\nuse: {rinse: 0 gal}\n", []string{"/use/rinse", "no use"}},
		{"two currencies", "version: forebed.rig/1\nprices:\n  resin: 250 USD/ft3\n  water: 0.002 EUR/L\n", []string{"r.yaml:4:", "/prices/water", "EUR", "never mixed"}},
		{"no exchange rate", "version: forebed.rig/1\nprices: {currency: EUR}\n", []string{"/prices/per_usd", "per_usd: 0.92"}},
		{"horizon 0", "version: forebed.rig/1\nuse: {horizon_years: 0}\n", []string{"/use/horizon_years", "1"}},
		{"vessel smaller than one rinse", "version: forebed.rig/1\nvessels: [{resin: 0.1 L}]\nuse: {rinse: 500 gal}\n", []string{"/vessels/0/resin", "one rinse"}},
		{"number without unit", "version: forebed.rig/1\nuse: {rinse: 8}\n", []string{"r.yaml:2:", "/use/rinse", "8 gal"}},
		{"wrong unit", "version: forebed.rig/1\nuse: {rinse: 8 gpm}\n", []string{"/use/rinse", "8 gal"}},
		{"unknown field", "version: forebed.rig/1\nuse: {rince: 8 gal}\n", []string{"rince", "spelling"}},
		{"unknown stage", "version: forebed.rig/1\ninstalled: [{kind: magnet}]\n", []string{"/installed/0/kind", "softener"}},
		{"unknown variant", "version: forebed.rig/1\ninstalled: [{kind: softener, variant: gold}]\n", []string{"/installed/0/variant", "salt_6"}},
		{"a bed that cannot be", "version: forebed.rig/1\nvessels: [{resin: 1 ft3, diameter: 8 in, depth: 8 in}]\n", []string{"/vessels/0", "two of the three"}},
		{"a price for no such part", "version: forebed.rig/1\nprices: {items: {gold: 5 USD}}\n", []string{"/prices/items/gold"}},
		{"a price for no such variant", "version: forebed.rig/1\nprices: {equipment: {softener/gold: 5 USD}}\n", []string{"/prices/equipment/softener~1gold"}},
		{"a price per the wrong thing", "version: forebed.rig/1\nprices: {items: {use/salt: 5 USD/kWh}}\n", []string{"/prices/items/use~1salt", "weight"}},
		{"two faults at once", "version: forebed.rig/1\nuse: {horizon_years: 0, rinses_per_week: -1}\n", []string{"horizon_years", "rinses_per_week"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := ReadRig("r.yaml", []byte(c.text))
			if err == nil {
				t.Fatal("it was accepted")
			}
			for _, part := range c.want {
				if !strings.Contains(err.Error(), part) {
					t.Errorf("message lacks %q:\n%v", part, err)
				}
			}
			var ps schemas.Problems
			if !errors.As(err, &ps) {
				t.Errorf("%T is no schemas.Problems", err)
			}
		})
	}
}

// The median of a triangle of 600, 1500 and 3000 by hand: half of the area lies
// below 3000 - sqrt(0.5 x 2400 x 1500) = 1658.4; mirrored it is 3600 - 1658.4.
func TestMedianPrice(t *testing.T) {
	for _, c := range []struct{ low, typical, high, want float64 }{
		{600, 1500, 3000, 1658.3593}, {600, 2100, 3000, 1941.6407}, {5, 5, 5, 5}, {0, 0, 0, 0}, {1, 2, 3, 2},
	} {
		r := priceRange{Interval: bed.Interval{Low: c.low, Typical: c.typical, High: c.high}}
		if got := r.median(); math.Abs(got-c.want) > 1e-3 {
			t.Errorf("%v: %v, want %v", c, got, c.want)
		}
		below := 0
		for _, x := range r.draw("x", 4000, 1) {
			if x < r.median() {
				below++
			}
		}
		if c.high > c.low && (below < 1850 || below > 2150) {
			t.Errorf("%v: %d of 4000 draws lie below the median", c, below)
		}
	}
}

// The schema of the rig names every field of the Go types and no other.
func TestRigSchemaMatchesTypes(t *testing.T) {
	src, _ := schemas.Source("rig")
	var schema map[string]any
	if err := json.Unmarshal(src, &schema); err != nil {
		t.Fatal(err)
	}
	var compare func(at string, schema map[string]any, typ reflect.Type)
	compare = func(at string, schema map[string]any, typ reflect.Type) {
		for typ.Kind() == reflect.Pointer || typ.Kind() == reflect.Slice {
			if items, ok := schema["items"].(map[string]any); ok {
				schema = items
			}
			typ = typ.Elem()
		}
		props, ok := schema["properties"].(map[string]any)
		if !ok || typ.Kind() != reflect.Struct {
			return
		}
		seen := map[string]bool{}
		for i := range typ.NumField() {
			name, _, _ := strings.Cut(typ.Field(i).Tag.Get("json"), ",")
			seen[name] = true
			sub, ok := props[name].(map[string]any)
			if !ok {
				t.Errorf("%s/%s is not in the schema", at, name)
				continue
			}
			compare(at+"/"+name, sub, typ.Field(i).Type)
		}
		for name := range props {
			if !seen[name] {
				t.Errorf("%s/%s is in the schema only", at, name)
			}
		}
	}
	compare("", schema, reflect.TypeFor[RigDocument]())
}

// What the owner states is what the account uses, for every size and variant
// that his key covers, and it is not drawn.
func TestOwnPrices(t *testing.T) {
	rig, err := ReadRig("r.yaml", []byte(`version: forebed.rig/1
prices:
  resin: 300 USD/ft3
  labour: 0 USD/h
  items: {use/salt: 0.5 USD/lb, electricity: 0.3 USD/kWh, part/softening_resin: 200 USD/ft3}
  equipment: {softener: 999 USD, reverse_osmosis: 1111 USD, reverse_osmosis/pumped: 2222 USD}
`))
	if err != nil {
		t.Fatal(err)
	}
	for key, want := range map[string]float64{
		"resin": 300 / 28.316846592, "labour": 0, "use/salt": 0.5 / 0.45359237, "electricity": 0.3, "part/softening_resin": 200 / 28.316846592,
		"equipment/softener/salt_6/tank_10in": 999, "equipment/softener/ferrous/tank_24in": 999,
		"equipment/reverse_osmosis/tap_pressure/membrane_1812": 1111, "equipment/reverse_osmosis/pumped/membrane_1812": 2222,
	} {
		row, ok := rig.Prices.find(key)
		if !ok || math.Abs(row.Typical-want) > 1e-9 || row.Low != row.High {
			t.Errorf("%s: %+v (%v), want %v", key, row, ok, want)
		}
	}
	for _, a := range rig.Assumptions {
		if a.Field == "/prices/resin" || a.Field == "/prices/electricity" || a.Field == "/prices/labour" {
			t.Errorf("a stated price is listed as an assumption: %+v", a)
		}
	}
}
