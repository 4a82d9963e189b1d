package analyte

import (
	"math"
	"testing"

	"forebed/chem/unit"
)

func near(got, want, tol float64) bool { return math.Abs(got-want) <= tol }

// Equivalent weights and as-CaCO3 factors. Source: computed from CIAAW/IUPAC
// 2021 abridged weights in the reference ledger, section A; the last column
// is a published industrial factor table (ledger row A-CACO3-PUB), which
// prints two decimals and 4.10 for magnesium (4.118 computed).
func TestEquivalentWeights(t *testing.T) {
	for _, c := range []struct {
		id        ID
		weight    float64
		factor    float64
		published float64 // 0: not printed there
	}{
		{"calcium", 20.0390, 2.4973, 2.5}, {"magnesium", 12.1525, 4.1179, 4.1}, {"sodium", 22.9900, 2.1767, 2.18},
		{"potassium", 39.0980, 1.2799, 1.28}, {"ammonium", 18.0390, 2.7742, 2.78}, {"iron", 27.9225, 1.7922, 1.79},
		{"manganese", 27.4690, 1.8218, 1.82}, {"strontium", 43.8100, 1.1423, 0}, {"barium", 68.6650, 0.7288, 0.73},
		{"copper", 31.7730, 1.5750, 1.57}, {"zinc", 32.6900, 1.5308, 1.54}, {"lead", 103.6, 0.4830, 0},
		{"lithium", 6.94, 7.2108, 0}, {"bicarbonate", 61.0160, 0.8202, 0.82}, {"carbonate", 30.0040, 1.6679, 1.67},
		{"hydroxide", 17.0070, 2.9425, 2.94}, {"chloride", 35.4500, 1.4117, 1.41}, {"sulfate", 48.0280, 1.0420, 1.04},
		{"nitrate", 62.0040, 0.8071, 0.81}, {"nitrite", 46.0050, 1.0878, 0}, {"fluoride", 18.9980, 2.6341, 2.66},
		{"bromide", 79.9040, 0.6263, 0}, {"carbon_dioxide", 44.0090, 1.1371, 0}, {"silica", 60.0830, 0.8329, 0},
		{"hydrogen_sulfide", 34.0760, 1.4686, 0},
	} {
		a := Must(c.id)
		if !near(a.EquivalentWeight(), c.weight, 5e-4) {
			t.Errorf("%s: equivalent weight %.4f, the ledger has %.4f", c.id, a.EquivalentWeight(), c.weight)
		}
		if !near(a.AsCaCO3(), c.factor, 1e-4) {
			t.Errorf("%s: as-CaCO3 factor %.4f, the ledger has %.4f", c.id, a.AsCaCO3(), c.factor)
		}
		if c.published != 0 && !near(a.AsCaCO3(), c.published, 0.03) {
			t.Errorf("%s: as-CaCO3 factor %.4f, the published table prints %.2f", c.id, a.AsCaCO3(), c.published)
		}
	}
}

// Conversions of the ledger, section A: as N, as S, as Si, as P; hardness
// units; alkalinity as bicarbonate (Hem 1985, 1/0.8202).
func TestBasis(t *testing.T) {
	for _, c := range []struct {
		id    ID
		value float64
		unit  unit.Unit
		basis Basis
		want  float64
		tol   float64
		row   string
	}{
		{"nitrate", 10, unit.MgL, "N", 44.27, 0.01, "A-NO3N"},
		{"nitrate", 45, unit.MgL, "NO3", 45, 0, "identity"},
		{"nitrite", 1, unit.MgL, "N", 3.2844, 1e-4, "A-NO2N"},
		{"ammonium", 1, unit.MgL, "N", 1.2879, 1e-4, "A-NH4N"},
		{"silica", 1, unit.MgL, "Si", 2.1393, 1e-4, "A-SIO2"},
		{"sulfate", 1, unit.MgL, "S", 2.9961, 1e-3, "A-SO4S"},
		{"phosphate", 1, unit.MgL, "P", 3.0661, 1e-3, "A-PO4P"},
		{"calcium", 185, unit.MgL, "CaCO3", 74.08, 0.01, "185 mg/L as CaCO3 / 2.4973"},
		{"hardness", 1, unit.GrainsUS, "", 17.1181, 1e-4, "A-GPG"},
		{"hardness", 1, unit.GrainsUK, "", 14.2538, 1e-4, "A-GPG-IMP"},
		{"hardness", 1, unit.DegGerman, "", 17.8, 0.05, "A-DH"},
		{"hardness", 1, unit.DegFrench, "", 10, 1e-9, "A-FH"},
		{"hardness", 1, unit.MmolL, "", 100.086, 1e-3, "A-HARD-CONV: 1 mmol/L is 100 mg/L as CaCO3"},
		{"hardness", 2, unit.MeqL, "", 100.086, 1e-3, "A-HARD-CONV: 2 meq/L is 1 mmol/L"},
		{"alkalinity", 1, unit.MmolL, "", 50.043, 1e-3, "acid capacity: 1 mmol/L of acid is 1 meq/L"},
		{"alkalinity", 121.93, unit.MgL, "HCO3", 100, 0.01, "A-ALK-HCO3: 1.2193"},
		{"iron", 430, unit.UgL, "", 0.43, 1e-12, "identity"},
	} {
		got, err := Must(c.id).MgPerL(c.value, c.unit, c.basis)
		if err != nil {
			t.Errorf("%s %v %s as %q: %v", c.id, c.value, c.unit, c.basis, err)
			continue
		}
		if !near(float64(got), c.want, c.tol) {
			t.Errorf("%s %v %s as %q: %v, want %v (%s)", c.id, c.value, c.unit, c.basis, got, c.want, c.row)
		}
	}
}

func TestBasisRefused(t *testing.T) {
	if _, err := Must("iron").MgPerL(1, unit.USCm, ""); err == nil {
		t.Error("iron in uS/cm was accepted")
	}
	if _, err := Must("chloride").MgPerL(1, unit.MgL, "N"); err == nil {
		t.Error("chloride as N was accepted")
	}
	if _, err := Must("iron").MgPerL(math.Inf(1), unit.MgL, ""); err == nil {
		t.Error("an infinite value was accepted")
	}
	if _, err := Must("silica").MgPerL(1, unit.MeqL, ""); err != nil {
		t.Errorf("silica in meq/L, one equivalent a mole: %v", err)
	}
}

func TestTableIsSound(t *testing.T) {
	seen := map[ID]bool{}
	for _, a := range All() {
		if seen[a.ID] {
			t.Errorf("%s stands twice", a.ID)
		}
		seen[a.ID] = true
		if a.Name == "" {
			t.Errorf("%s has no name", a.ID)
		}
		if a.Formula != "" && a.MolarMass() <= 0 {
			t.Errorf("%s: molar mass %v", a.ID, a.MolarMass())
		}
		for b, w := range a.Bases {
			if _, err := MolarMass(w.Formula); err != nil || w.Moles <= 0 {
				t.Errorf("%s as %s: %v", a.ID, b, w)
			}
		}
	}
}
