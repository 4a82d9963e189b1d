package water

import (
	"math"
	"reflect"
	"testing"
)

// TestPriors: the embedded statistics decode, every row rests on sites and
// rises from level to level, and their sum guards them against a slip of the
// hand: they are made by the command named in the file, never edited.
func TestPriors(t *testing.T) {
	p := loadPriors()
	sum, rows := 0.0, 0
	row := func(name string, n int, q quantiles, want bool) {
		if want && n < 100 {
			t.Errorf("%s rests on %d sites", name, n)
		}
		for i, v := range q {
			sum += v
			if i > 0 && v < q[i-1] {
				t.Errorf("%s falls from %g to %g", name, q[i-1], v)
			}
		}
		rows++
	}
	for name, r := range map[string]regime{"humid": p.Regimes.Humid, "dry": p.Regimes.Dry} {
		v := reflect.ValueOf(r)
		for i := range v.NumField() {
			d := v.Field(i).Interface().(distribution)
			row(name+" "+v.Type().Field(i).Name, d.N, d.Q, v.Type().Field(i).Name != "ChloridePoor")
		}
	}
	row("laboratory pH", p.LaboratoryPH.N, p.LaboratoryPH.Q, true)
	row("soft", 0, p.Soft, false)
	if rows != 34 {
		t.Errorf("%d rows", rows)
	}
	const want = 370.2730
	if math.Abs(sum-want) > 0.001 {
		t.Errorf("the quantiles sum to %.4f, expected %.4f: remake the file with the command it names, then this sum", sum, want)
	}
	for name, l := range map[string]likelihood{"conductivity": p.Conductivity, "solids": p.Solids} {
		if l.N < 300 || l.Ratio < 0.9 || l.Ratio > 1.1 || l.Scale < 0.02 || l.Scale > 0.08 || l.Freedom < 1 {
			t.Errorf("%s: %+v", name, l)
		}
	}
	// The ledger's own statistics of the same data (well-statistics sections 4
	// and 6), one sample a site: medians within their rounding and choice of sites.
	for _, x := range []struct {
		name      string
		got, want float64
		tol       float64
	}{
		{"calcium share, humid", p.Regimes.Humid.Calcium.Q[3], 0.643, 0.01}, {"calcium share, dry", p.Regimes.Dry.Calcium.Q[3], 0.627, 0.01},
		{"hardness share, humid", p.Regimes.Humid.Hardness.Q[3], 0.895, 0.01}, {"hardness share, dry", p.Regimes.Dry.Hardness.Q[3], 0.819, 0.015},
		{"alkalinity share, humid", p.Regimes.Humid.Alkalinity.Q[3], 0.731, 0.015}, {"log pCO2, humid", p.Regimes.Humid.Pressure.Q[3], -1.83, 0.02},
		{"log pCO2, dry", p.Regimes.Dry.Pressure.Q[3], -2.74, 0.2}, {"potassium, dry", p.Regimes.Dry.Potassium.Q[3], 0.015, 0.001},
		{"residue over sum", p.Solids.Ratio, 1.025, 0.01},
	} {
		if math.Abs(x.got-x.want) > x.tol {
			t.Errorf("%s: %g, well-statistics has %g", x.name, x.got, x.want)
		}
	}
}

// TestQuantiles: points between and past the levels.
func TestQuantiles(t *testing.T) {
	q := quantiles{1, 2, 3, 4, 5, 6, 7}
	for _, x := range []struct{ u, want float64 }{{0.05, 1}, {0.10, 2}, {0.25, 3}, {0.375, 3.5}, {0.50, 4}, {0.75, 5}, {0.90, 6}, {0.95, 7}, {1, 8}, {0, 0}} {
		if got := q.at(x.u); math.Abs(got-x.want) > 1e-12 {
			t.Errorf("at %g: %g, expected %g", x.u, got, x.want)
		}
	}
}

// TestPoints: the three points of a band are those of the sorted values.
func TestPoints(t *testing.T) {
	v := []float64{5, 1, 4, 2, 3, 9, 8, 7, 6, 0, 10}
	if got := bandOf(v); got != (Band{1, 5, 9}) {
		t.Errorf("found %+v", got)
	}
	if got := bandOf([]float64{2}); got != (Band{2, 2, 2}) {
		t.Errorf("found %+v", got)
	}
}
