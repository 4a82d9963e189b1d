package unit

import (
	"math"
	"testing"
)

// Exact factors by definition; the others from the reference ledger, section A.
func TestConversions(t *testing.T) {
	for _, c := range []struct {
		name           string
		got, want, tol float64
	}{
		{"1 US gallon in litres (231 in3, exact)", float64(Gallons(1)), 3.785411784, 0},
		{"1 ft3 in litres (exact)", float64(CubicFeet(1)), 28.316846592, 0},
		{"1 ft3 in US gallons (ledger A-FT3-GAL)", CubicFeet(1).Gallons(), 7.480519, 5e-7},
		{"1 lb in kg (exact)", float64(Pounds(1)), 0.45359237, 0},
		{"1 psi in kPa (ledger A-PSI)", float64(PSI(1)), 6.894757, 5e-7},
		{"10 in in m (exact)", float64(Inches(10)), 0.254, 1e-15},
		{"20 degC in degF", Celsius(20).Fahrenheit(), 68, 1e-12},
		{"25 degC in kelvin", Celsius(25).Kelvin(), 298.15, 1e-12},
		{"2 gpm back to gpm", GallonsPerMinute(2).GallonsPerMinute(), 2, 1e-12},
	} {
		if math.Abs(c.got-c.want) > c.tol {
			t.Errorf("%s: %v, want %v", c.name, c.got, c.want)
		}
	}
}

// Spellings of the survey of report layouts, section 3.
func TestParse(t *testing.T) {
	for text, want := range map[string]Unit{
		"mg/L": MgL, "MG/L": MgL, "ppm": MgL, "g/m3": MgL, "g/m³": MgL, "mg/dm3": MgL,
		"µg/L": UgL, "μg/l": UgL, "ppb": UgL, "mcg/L": UgL, "ng/L": NgL,
		"meq/L": MeqL, "mval/dm3": MeqL, "epm": MeqL, "mmol/l": MmolL,
		"gpg": GrainsUS, "grains per gallon": GrainsUS, "°dH": DegGerman, "degrees Clark": GrainsUK,
		"µS/cm": USCm, "umho/cm": USCm, "dS/m": MSCm, "mS/m": MSM,
		"S.U.": PH, "FTE": FNU, "mg/l Pt": ColorUnits, "°C": DegC, "°F": DegF,
		"KBE/100 ml": CFU100, "MPN/100mL": MPN100,
	} {
		if got, ok := Parse(text); !ok || got != want {
			t.Errorf("Parse(%q) = %q, %v; want %q", text, got, ok, want)
		}
	}
	for _, text := range []string{"", "zorks/L", "mg", "as N"} {
		if got, ok := Parse(text); ok && text != "mg" {
			t.Errorf("Parse(%q) = %q; want no unit", text, got)
		}
	}
	if got, _ := ParseHardness("°F"); got != DegFrench {
		t.Errorf("a hardness in °F is %q, want French degrees", got)
	}
	if got, _ := Parse("°F"); got != DegF {
		t.Errorf("°F is %q, want Fahrenheit", got)
	}
}

// readBack parses a canonical unit where it may stand: the units of hardness
// beside a hardness, degF (Fahrenheit) beside everything else.
func readBack(u Unit) (Unit, bool) {
	if _, ok := u.CaCO3(); ok {
		return ParseHardness(string(u))
	}
	return Parse(string(u))
}

// Every canonical unit is a spelling of itself.
func TestCanonicalSpellings(t *testing.T) {
	for u := range spellings {
		if got, ok := readBack(u); !ok || got != u {
			t.Errorf("%q reads back as %q", u, got)
		}
	}
}

func FuzzParse(f *testing.F) {
	for u, s := range spellings {
		f.Add(string(u))
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		u, ok := Parse(s)
		if !ok {
			return
		}
		if again, ok := readBack(u); !ok || again != u {
			t.Fatalf("%q reads as %q, which reads back as %q", s, u, again)
		}
	})
}
