package bed

import (
	"encoding/csv"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"sort"
	"strconv"
	"strings"
	"testing"
)

// The columns of testdata/columns were computed with the general-purpose
// solver of the U.S. Geological Survey (PHREEQC 3.8.9; Parkhurst and Appelo,
// 2013, USGS Techniques and Methods 6-A43), which shares neither code nor
// database with this package. See the README beside them.

// columnDir is where the cases stand: another folder of the same files can be
// given, so that further cases run unchanged.
func columnDir() string {
	if dir := os.Getenv("FOREBED_COLUMN_CASES"); dir != "" {
		return dir
	}
	return filepath.Join("..", "..", "testdata", "columns")
}

// record is one line of a CSV file by column name.
type record map[string]string

func (r record) num(t testing.TB, name string) float64 {
	t.Helper()
	if r[name] == "" {
		return 0
	}
	x, err := strconv.ParseFloat(r[name], 64)
	if err != nil {
		t.Fatalf("column %s: %v", name, err)
	}
	return x
}

func records(t testing.TB, name string) []record {
	t.Helper()
	f, err := os.Open(filepath.Join(columnDir(), name))
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	if len(rows) < 2 {
		t.Fatalf("%s holds no rows", name)
	}
	var all []record
	for _, row := range rows[1:] {
		r := record{}
		for i, head := range rows[0] {
			r[head] = row[i]
		}
		all = append(all, r)
	}
	return all
}

// constants reads one set of exchange constants: Gaines-Thomas K by ion.
func constants(t testing.TB, set string) map[string]float64 {
	t.Helper()
	k := map[string]float64{}
	for _, r := range records(t, "exchange_constants.csv") {
		if r["set"] != set {
			continue
		}
		ion, _, _ := strings.Cut(r["reaction"], " ") // "Ca+2 + 2X- = CaX2"
		ion, _, _ = strings.Cut(strings.ReplaceAll(ion, "-", "+"), "+")
		k[ion] = math.Pow(10, r.num(t, "log_k_gaines_thomas"))
	}
	if len(k) == 0 {
		t.Fatalf("no exchange constants %q", set)
	}
	return k
}

// columnCase is one row of di_column_cases.csv made ready to run.
type columnCase struct {
	name     string
	sys      *system
	species  []string
	charge   []float64
	feed     []float64 // mol/L
	form     int       // index of the ion that fills the resin at first; -1 for H or OH
	cells    int
	capacity float64
	shifts   int
	kind     string
	perShift float64
	total    float64 // meq
}

// chargeOf the ions that a case may name in its feed columns.
var chargeOf = map[string]float64{
	"Li": 1, "Na": 1, "K": 1, "NH4": 1, "Ca": 2, "Mg": 2, "Sr": 2, "Ba": 2, "Fe": 2, "Mn": 2,
	"F": -1, "Cl": -1, "Br": -1, "NO2": -1, "NO3": -1, "SO4": -2,
}

// readCase makes a case ready to run, every parameter from the files: the ions
// are those that the feed columns name.
func readCase(t testing.TB, r record) *columnCase {
	c := &columnCase{
		name: r["case"], kind: r["kind"], form: -1,
		cells: int(r.num(t, "cells")), shifts: int(r.num(t, "shifts")), capacity: r.num(t, "capacity_eq_per_kgw"),
		perShift: r.num(t, "feed_meq_per_capacity_per_shift"), total: r.num(t, "feed_total_meq_per_kgw"),
	}
	k := constants(t, "di_"+c.kind)
	c.sys = &system{kw: 1e-14, kH: 1, kOH: 1} // Kw and K1 at 25 degC as the README of the columns states them
	ions := func(z float64) (list []exchanged) {
		var names []string
		for name, charge := range chargeOf {
			if _, ok := r["feed_"+strings.ToLower(name)+"_mmolkgw"]; ok && charge == z {
				names = append(names, name)
			}
		}
		sort.Strings(names)
		for _, name := range names {
			if held := (c.kind == "cation") == (z > 0); held && k[name] == 0 && r.num(t, "feed_"+strings.ToLower(name)+"_mmolkgw") != 0 {
				t.Fatalf("%s is fed, but set di_%s has no constant for it", name, c.kind)
			}
			list = append(list, exchanged{k: k[name] / math.Abs(z)})
			c.add(name, math.Abs(z), r.num(t, "feed_"+strings.ToLower(name)+"_mmolkgw")/1000)
		}
		return list
	}
	switch c.kind {
	case "cation":
		c.sys.kH = k["H"]
		c.sys.cations = ions(1)
		c.sys.univalentCations = len(c.sys.cations)
		c.sys.cations = append(c.sys.cations, ions(2)...)
	case "anion":
		c.sys.kOH = k["OH"]
	default:
		t.Fatalf("kind of column %q, expected cation or anion", c.kind)
	}
	c.sys.anions = ions(-1)
	c.sys.univalentAnions = len(c.sys.anions)
	c.sys.anions = append(c.sys.anions, ions(-2)...)
	if c.kind == "anion" {
		c.sys.weak = []weakAcid{{k1: 4.47e-7, k2: 4.69e-11, ka: k["HCO3"], kb: 2 * k["CO3"]}}
		c.add("TIC", 1, r.num(t, "feed_tic_mmolkgw")/1000)
	}
	form := strings.Replace(r["resin_form"], "HCO3", "TIC", 1)
	if form != "H" && form != "OH" {
		c.form = c.index(t, form)
	}
	return c
}

func (c *columnCase) add(name string, z, feed float64) {
	c.species, c.charge, c.feed = append(c.species, name), append(c.charge, z), append(c.feed, feed)
}

// run returns the effluent after each shift in mmol/kgw, with H last.
func (c *columnCase) run(t testing.TB) [][]float64 {
	qc, qa := c.capacity, 0.0
	if c.kind == "anion" {
		qc, qa = 0, c.capacity
	}
	col := newColumn(c.sys, c.cells, qc, qa, Halves{})
	if c.form >= 0 {
		for k := range c.cells {
			col.resin[k*col.n+c.form] = c.capacity
		}
	}
	feed := make([]float64, col.n)
	pure := make([]float64, col.n)
	for i := range feed {
		feed[i] = c.feed[i] * c.charge[i]
	}
	out := make([][]float64, c.shifts)
	for step := range out {
		// The water that stands in the cells at first leaves before the feed.
		in, from := feed, 0
		if before := c.cells - 1 - step; before > 0 {
			in, from = pure, before
		}
		if err := col.pass(in, from); err != nil {
			t.Fatalf("step %d: %v", step+1, err)
		}
		row := make([]float64, col.n+1)
		for i, w := range col.water {
			row[i] = 1000 * w / c.charge[i]
		}
		row[col.n] = 1000 * col.warm[c.cells-1].h
		out[step] = row
	}
	return out
}

func (c *columnCase) index(t testing.TB, species string) int {
	for i, s := range c.species {
		if s == species {
			return i
		}
	}
	t.Fatalf("%s: no species %q", c.name, species)
	return 0
}

// crossing returns the step, with its fraction, at which the series first
// crosses the level.
func crossing(series func(step int) float64, steps int, level float64, falling bool) float64 {
	for i := 1; i < steps; i++ {
		a, b := series(i-1), series(i)
		if falling {
			a, b, level := -a, -b, -level
			if a < level && b >= level {
				return float64(i) + (level-a)/(b-a)
			}
			continue
		}
		if a < level && b >= level {
			return float64(i) + (level-a)/(b-a)
		}
	}
	return math.NaN()
}

// thresholdTolerance is 0.5 %, and 5 % for the cases of a chemistry that this
// package leaves out on purpose (activities that do not cancel, HSO4-): there
// the test bounds the size of the effect, 1.5 % in the cases at hand.
func thresholdTolerance(r record) (tol float64, same bool) {
	if r["exchange_gammas"] != "equal_to_aqueous" || r["hso4"] == "included" {
		return 0.05, false
	}
	return 0.005, true
}

func TestColumnCases(t *testing.T) {
	thresholds, curves := records(t, "di_column.csv"), records(t, "di_column_curves.csv")
	for _, r := range records(t, "di_column_cases.csv") {
		t.Run(r["case"], func(t *testing.T) {
			t.Parallel()
			c := readCase(t, r)
			out := c.run(t)
			tol, same := thresholdTolerance(r)
			checked, worst := 0, 0.0
			for _, th := range thresholds {
				if th["case"] != c.name {
					continue
				}
				series, feed := c.series(t, out, th["species"])
				for _, percent := range []float64{5, 50, 95} {
					field := fmt.Sprintf("thr_%g_meq_per_meq", percent)
					if th[field] == "" {
						continue
					}
					want := th.num(t, field)
					got := c.perShift * crossing(series, len(out), feed*percent/100, th["direction"] == "fall")
					worst = max(worst, math.Abs(got/want-1))
					if !(math.Abs(got/want-1) <= tol) {
						t.Errorf("%s %g %%: throughput %.5f, want %.5f", th["species"], percent, got, want)
					}
					checked++
				}
			}
			if checked == 0 {
				t.Error("no threshold was checked")
			}
			t.Logf("%d thresholds, worst %.3g %%", checked, 100*worst)
			if same {
				c.checkCurves(t, out, curves)
			}
		})
	}
}

func (c *columnCase) series(t *testing.T, out [][]float64, species string) (series func(int) float64, feed float64) {
	i := len(c.species)
	if species != "H" {
		i = c.index(t, species)
		return func(step int) float64 { return out[step][i] }, 1000 * c.feed[i]
	}
	for j, s := range c.species {
		if chargeOf[s] > 0 {
			feed += 1000 * c.feed[j] * c.charge[j]
		}
	}
	return func(step int) float64 { return out[step][i] }, feed
}

// checkCurves holds every point of the effluent history to 1 % of the total
// feed, or to 0.2 % along the throughput axis where a front is steeper.
func (c *columnCase) checkCurves(t *testing.T, out [][]float64, curves []record) {
	points, worst := 0, 0.0
	for _, r := range curves {
		if r["case"] != c.name {
			continue
		}
		step := int(r.num(t, "step"))
		for i, s := range c.species {
			field := strings.ToLower(s) + "_mmolkgw"
			if r[field] == "" {
				continue
			}
			points++
			want, z := r.num(t, field), c.charge[i]
			off := z * math.Abs(out[step-1][i]-want) / c.total
			if off > 0.01 && along(out, step, i, want) {
				continue
			}
			worst = max(worst, off)
			if off > 0.01 {
				t.Errorf("%s at step %d: %.5g, want %.5g mmol/kgw", s, step, out[step-1][i], want)
			}
		}
	}
	if points == 0 {
		t.Error("no point of a curve was checked")
	}
	t.Logf("%d points, worst %.2g of the feed", points, worst)
}

// along reports whether the series takes the value within 0.2 % of the step.
func along(out [][]float64, step, i int, want float64) bool {
	reach := max(1, int(math.Ceil(0.002*float64(step))))
	lo, hi := math.Inf(1), math.Inf(-1)
	for s := max(1, step-reach); s <= min(len(out), step+reach); s++ {
		lo, hi = min(lo, out[s-1][i]), max(hi, out[s-1][i])
	}
	return lo <= want && want <= hi
}

// The published benchmark: USGS TM 6-A43, example 11 (Parkhurst and Appelo,
// 2013), advective case: 0.6 mmol/kgw CaCl2 displaces 1.0 NaNO3 and 0.2 KNO3
// from 40 cells with 1.1 mmol of exchanger per kgw (ledger B48, B49).
func TestExchangeColumn(t *testing.T) {
	k := constants(t, "example11")
	sys := &system{
		cations: []exchanged{{k["Na"]}, {k["K"]}, {k["Ca"] / 2}}, univalentCations: 2,
		anions: []exchanged{{1}, {1}}, univalentAnions: 2, // Cl and NO3, not exchanged
		kH: 1e-9, kOH: 1, kw: 1e-14, // the exchanger of the example does not take H
	}
	const cells, capacity = 40, 1.1e-3
	col := newColumn(sys, cells, capacity, 0, Halves{})
	// Resin in equilibrium with the first water: y_K/y_Na = K_K c_K/c_Na.
	yNa := 1 / (1 + k["K"]/k["Na"]*0.2)
	for i := range cells {
		col.resin[i*col.n], col.resin[i*col.n+1] = capacity*yNa, capacity*(1-yNa)
	}
	within(t, "NaX at first, mmol", 1e3*capacity*yNa, 0.5493, 5e-5)
	before, feed := []float64{1e-3, 0.2e-3, 0, 0, 1.2e-3}, []float64{0, 0, 1.2e-3, 1.2e-3, 0}
	worst, points := 0.0, 0
	for _, r := range records(t, "exchange_column.csv") {
		if r["case"] != "advection" {
			continue
		}
		step := int(r.num(t, "step"))
		in, from := feed, 0
		if left := cells - step; left > 0 {
			in, from = before, left
		}
		if err := col.pass(in, from); err != nil {
			t.Fatal(err)
		}
		for i, name := range []string{"na_mmolkgw", "k_mmolkgw", "ca_mmolkgw", "cl_mmolkgw"} {
			got := 1000 * col.water[i]
			if name == "ca_mmolkgw" {
				got /= 2
			}
			points++
			worst = max(worst, math.Abs(got-r.num(t, name)))
			within(t, fmt.Sprintf("%s after step %d", name, step), got, r.num(t, name), 1e-4)
		}
	}
	if points != 400 {
		t.Errorf("%d points checked, want 4 ions after 100 steps", points)
	}
	t.Logf("worst %.2g mmol/kgw", worst)
}

// BenchmarkColumn is case CAT-H-A: 40 cells, 10869 shifts, 434760 cells to
// equilibrate (the general-purpose solver took 14.6 s).
func BenchmarkColumn(b *testing.B) {
	var r record
	for _, one := range records(b, "di_column_cases.csv") {
		if one["case"] == "CAT-H-A" {
			r = one
		}
	}
	c := readCase(b, r)
	b.ReportAllocs()
	for b.Loop() {
		c.run(b)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(c.cells*c.shifts), "ns/cell")
}
