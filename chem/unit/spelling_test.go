package unit

import "testing"

// Spellings of units as reports write them (survey of report layouts), and
// what a scanner leaves of them.
func TestSpellings(t *testing.T) {
	for s, want := range map[string]Unit{
		"mg/L": MgL, "MG/L": MgL, "p.p.m.": MgL, "mg/dm3": MgL, "g/m3": MgL, "mg l-1": MgL, "parts per million": MgL, "µg/L": UgL, "μg/L": UgL, "mcg/L": UgL, "ug_l": UgL, "ppt": NgL,
		"me/L": MeqL, "epm": MeqL, "mval/dm3": MeqL, "grains per gallon": GrainsUS, "gr/gal": GrainsUS, "degrees Clark": GrainsUK, "grains per imperial gallon": GrainsUK, "°dH": DegGerman, "grader dH": DegGerman,
		"°fH": DegFrench, "umhos/cm": USCm, "µS/cm": USCm, "uS/cm @25C": USCm, "dS/m": MSCm, "mmho/cm": MSCm, "mS/m": MSM, "S.U.": PH, "std units": PH, "NTU": NTU, "NFU": FNU, "FTE": FNU,
		"Hazen": ColorUnits, "mg/L Pt-Co": ColorUnits, "KBE/100 ml": CFU100, "no/100 ml": CFU100, "UFC/100 mL": CFU100, "jtk/100 ml": CFU100, "MPN/100mL": MPN100, "P/A": Presence, "deg C": DegC, "pCi/L": PicocurieL,
	} {
		if got, ok := Parse(s); !ok || got != want {
			t.Errorf("Parse(%q) = %q, %v; want %q", s, got, ok, want)
		}
	}
	for s, want := range map[string]Unit{"rng/L": MgL, "mgIL": MgL, "mg/I": MgL, "^S/cm": USCm} {
		if _, ok := Parse(s); ok {
			t.Errorf("Parse(%q) takes a damaged spelling in silence", s)
		}
		if got, ok := ParseDamaged(s); !ok || got != want {
			t.Errorf("ParseDamaged(%q) = %q, %v; want %q", s, got, ok, want)
		}
	}
}

// Longest agrees with Parse on every spelling, and stops where the unit ends.
func TestLongest(t *testing.T) {
	for s, u := range bySpelling {
		if got, damaged, n := Longest(s + " 250"); got != u || damaged || n != len(s) {
			t.Errorf("Longest(%q) = %q, %v, %d; want %q", s, got, damaged, n, u)
		}
	}
	for _, s := range []string{"mgx", "Calcium", "us5", "", "mg", "per"} {
		if u, _, n := Longest(s); n != 0 {
			t.Errorf("Longest(%q) = %q, %d; want none", s, u, n)
		}
	}
}
