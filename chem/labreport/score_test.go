package labreport

import (
	"cmp"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// truth is what a good reader finds in a report: truth.json of the corpus.
type truth struct {
	Samples []struct {
		Label   *string
		Results []truthResult
	}
	MustWarn   []string `json:"must_warn"`
	MustRefuse bool     `json:"must_refuse"`
}

type truthResult struct {
	analysis.Result
	Optional bool
}

func (t *truthResult) UnmarshalJSON(b []byte) error {
	var o struct{ Optional bool }
	if err := json.Unmarshal(b, &o); err != nil {
		return err
	}
	t.Optional = o.Optional
	return json.Unmarshal(b, &t.Result)
}

// tally counts as the corpus does (testdata/corpus is scored by these rules:
// the README beside it).
type tally struct {
	cases, required, reported, correct, withheld, silent int
	warnDue, warnGiven, warnOther                        int
	refusalsMissed, refusalsWrong                        int
	kinds                                                map[string]int
}

func (t *tally) precision() float64 { return ratio(t.correct, t.reported) }
func (t *tally) recall() float64    { return ratio(t.correct, t.required) }
func (t *tally) warned() float64    { return ratio(t.warnGiven, t.warnDue) }

func ratio(a, b int) float64 {
	if b == 0 {
		return 1
	}
	return float64(a) / float64(b)
}

// customBasis is what an unstated basis means by custom.
var customBasis = func() map[analyte.ID]string {
	m := map[analyte.ID]string{"hardness": "caco3", "alkalinity": "caco3", "carbonate_hardness": "caco3", "noncarbonate_hardness": "caco3", "phenolphthalein_alkalinity": "caco3", "silica": "sio2",
		"bicarbonate": "hco3", "carbonate": "co3", "hydroxide": "oh", "sulfate": "so4", "hydrogen_sulfide": "h2s", "carbon_dioxide": "co2", "phosphorus": "p", "toc": "c",
		"free_chlorine": "cl2", "total_chlorine": "cl2", "combined_chlorine": "cl2", "oxidizability": "o2", "dissolved_oxygen": "o2"}
	return m
}()

func basisOf(b analyte.Basis, id analyte.ID) string {
	if b == "" {
		if c, ok := customBasis[id]; ok {
			return c
		}
		if a, _ := analyte.Lookup(id); !nitrogenLike(id) {
			return strings.ToLower(a.Formula)
		}
		return ""
	}
	return strings.ToLower(string(b))
}

func same(a, b *float64) bool {
	if a == nil || b == nil {
		return a == b
	}
	return math.Abs(*a-*b) <= 1e-9*max(math.Abs(*a), math.Abs(*b), 1e-300)
}

func unitOf(u unit.Unit) unit.Unit {
	if u == unit.FNU {
		return unit.NTU
	}
	return u
}

func isAbsent(r *analysis.Result) bool { return r.Nondetect || r.Value != nil && *r.Value == 0 }
func hasNumber(r *analysis.Result) bool {
	return r.Value != nil || r.Low != nil || r.High != nil
}

// faults lists what is wrong with o where t is due.
func faults(t, o *analysis.Result) []string {
	var e []string
	id := t.Analyte
	if (id == "total_coliform" || id == "e_coli" || id == "iron_bacteria") && t.Unit != "" && (isAbsent(t) || t.Unit == unit.Presence) {
		if isAbsent(t) != isAbsent(o) || !isAbsent(t) && t.Unit != unit.Presence && !same(t.Value, o.Value) {
			e = append(e, "value")
		}
		return e
	}
	switch {
	case t.Nondetect:
		switch {
		case !o.Nondetect:
			e = append(e, "nondetect")
		case t.Limit != nil && !same(t.Limit, o.Limit):
			e = append(e, "limit")
		case o.Value != nil && !same(o.Value, o.Limit):
			e = append(e, "value")
		}
	case o.Nondetect:
		e = append(e, "nondetect")
	case !hasNumber(t):
		if hasNumber(o) {
			e = append(e, "invented")
		}
	case t.Value != nil:
		if !same(t.Value, o.Value) {
			e = append(e, "value")
			break
		}
		for _, p := range [][2]*float64{{t.Low, o.Low}, {t.High, o.High}} {
			zero := 0.0
			if p[1] != nil && !same(p[0], p[1]) && !(p[0] == nil && (same(p[1], t.Value) || same(p[1], &zero))) {
				e = append(e, "range")
				break
			}
		}
	default:
		if o.Value != nil {
			e = append(e, "value")
		} else if !same(t.Low, o.Low) || !same(t.High, o.High) {
			e = append(e, "range")
		}
	}
	if hasNumber(t) || t.Limit != nil {
		tu, ou := unitOf(t.Unit), unitOf(o.Unit)
		free := id == "ph" && (tu == "" || tu == unit.PH) && (ou == "" || ou == unit.PH) || (tu == "" || tu == unit.Ratio) && (ou == "" || ou == unit.Ratio)
		if !free && tu != ou {
			e = append(e, "unit")
		}
		switch tu {
		case unit.MeqL, unit.MmolL, unit.DegGerman, unit.DegFrench, unit.GrainsUK, unit.GrainsUS:
		default:
			if basisOf(t.Basis, id) != basisOf(o.Basis, id) {
				e = append(e, "basis")
			}
		}
	}
	if a, _ := analyte.Lookup(id); a.Metal && (t.Fraction != "" && o.Fraction != t.Fraction || t.Fraction == "" && o.Fraction == analysis.Dissolved) {
		e = append(e, "fraction")
	}
	return e
}

func nearness(t, o *analysis.Result) int {
	s := 100
	for _, k := range faults(t, o) {
		s -= map[string]int{"value": 40, "nondetect": 45, "invented": 40, "limit": 20, "range": 20, "unit": 15, "basis": 8, "fraction": 6}[k]
	}
	if t.AsWritten != "" && strings.TrimSpace(t.AsWritten) == strings.TrimSpace(o.AsWritten) {
		s += 3
	}
	return s
}

type matched struct{ t, o int } // -1: none

// pairUp pairs due and reported results of one sample, best first.
func pairUp(ts []truthResult, os []analysis.Result) []matched {
	type cand struct {
		near     int
		optional bool
		i, j     int
	}
	var cs []cand
	for i := range ts {
		for j := range os {
			if ts[i].Analyte == os[j].Analyte {
				cs = append(cs, cand{nearness(&ts[i].Result, &os[j]), ts[i].Optional, i, j})
			}
		}
	}
	slices.SortStableFunc(cs, func(a, b cand) int {
		if a.optional != b.optional && a.near == b.near {
			if a.optional {
				return 1
			}
			return -1
		}
		return cmp.Or(cmp.Compare(b.near, a.near), cmp.Compare(a.i, b.i), cmp.Compare(a.j, b.j))
	})
	ti, oj := map[int]bool{}, map[int]bool{}
	var out []matched
	for _, c := range cs {
		if !ti[c.i] && !oj[c.j] {
			ti[c.i], oj[c.j] = true, true
			out = append(out, matched{c.i, c.j})
		}
	}
	for i := range ts {
		if !ti[i] {
			out = append(out, matched{i, -1})
		}
	}
	for j := range os {
		if !oj[j] {
			out = append(out, matched{-1, j})
		}
	}
	return out
}

func (t *tally) score(want truth, doc *analysis.Document, refused bool, warnings []analysis.Warning) []string {
	t.cases++
	var log []string
	say := func(format string, args ...any) { log = append(log, fmt.Sprintf(format, args...)) }
	codes := map[string]bool{}
	for _, w := range warnings {
		codes[w.Code] = true
	}
	var samples []analysis.Sample
	if doc != nil {
		samples = doc.Samples
		for _, s := range samples {
			for _, r := range s.Results {
				for _, w := range r.Warnings {
					codes[w.Code] = true
				}
			}
		}
	}
	if want.MustRefuse && !refused {
		t.refusalsMissed++
		say("refusal missed")
	} else if !want.MustRefuse && refused {
		t.refusalsWrong++
		say("refused: %v", warnings)
	}
	due := map[string]bool{}
	for _, c := range want.MustWarn {
		due[c] = true
		t.warnDue++
		if codes[c] {
			t.warnGiven++
		} else {
			say("warning not given: %s", c)
		}
	}
	for _, c := range slices.Sorted(mapKeys(codes)) {
		if !due[c] {
			t.warnOther++
			say("other warning: %s", c)
		}
	}
	covered := func(o *analysis.Result) bool {
		if len(o.Warnings) > 0 {
			return true
		}
		for _, w := range warnings {
			if w.Analyte == o.Analyte && w.Analyte != "" || w.Line != 0 && w.Line == o.Line {
				return true
			}
		}
		return false
	}
	// pair the samples
	type cand struct {
		gain float64
		d    int
		i, j int
	}
	var cs []cand
	for i, ts := range want.Samples {
		for j, os := range samples {
			g := 0.0
			for _, m := range pairUp(ts.Results, os.Results) {
				if m.t >= 0 && m.o >= 0 && len(faults(&ts.Results[m.t].Result, &os.Results[m.o])) == 0 {
					g++
				}
			}
			if ts.Label != nil && os.Label != "" && strings.EqualFold(strings.TrimSpace(*ts.Label), strings.TrimSpace(os.Label)) {
				g += 1.5
			}
			cs = append(cs, cand{g, max(i-j, j-i), i, j})
		}
	}
	slices.SortStableFunc(cs, func(a, b cand) int {
		return cmp.Or(cmp.Compare(b.gain, a.gain), cmp.Compare(a.d, b.d), cmp.Compare(a.i, b.i), cmp.Compare(a.j, b.j))
	})
	ti, oj := map[int]int{}, map[int]bool{}
	for _, c := range cs {
		if _, ok := ti[c.i]; !ok && !oj[c.j] {
			ti[c.i], oj[c.j] = c.j, true
		}
	}
	one := func(ts []truthResult, os []analysis.Result) {
		for _, m := range pairUp(ts, os) {
			opt := m.t >= 0 && ts[m.t].Optional
			if m.t >= 0 && !opt {
				t.required++
			}
			if m.o < 0 {
				if !opt {
					t.kinds["missed"]++
					say("missed %s %q", ts[m.t].Analyte, ts[m.t].AsWritten)
				}
				continue
			}
			o := &os[m.o]
			cov := covered(o)
			held := !hasNumber(o) && !o.Nondetect
			if m.t < 0 {
				if held && (cov || o.Unit == "") {
					continue
				}
				t.reported++
				t.kinds["spurious"]++
				if !cov {
					t.silent++
				}
				say("spurious %s%s", silently(cov), show(o))
				continue
			}
			tr := &ts[m.t].Result
			e := faults(tr, o)
			if len(e) > 0 && cov && held && (hasNumber(tr) || tr.Nondetect) {
				t.withheld++
				say("withheld %s", tr.Analyte)
				continue
			}
			if len(e) > 0 && cov && opt && !hasNumber(tr) {
				continue
			}
			if len(e) == 1 && cov && (e[0] == "unit" && tr.Unit == "" || e[0] == "basis" && tr.Basis == "") {
				e = nil
			}
			if !opt || len(e) > 0 {
				t.reported++
			}
			if len(e) == 0 {
				if !opt {
					t.correct++
				}
				continue
			}
			serious := false
			for _, k := range e {
				t.kinds[k]++
				serious = serious || k != "fraction"
			}
			if serious && !cov {
				t.silent++
			}
			say("%s %struth %s got %s", strings.Join(e, "+"), silently(cov || !serious), show(tr), show(o))
		}
	}
	for i, ts := range want.Samples {
		if j, ok := ti[i]; ok {
			one(ts.Results, samples[j].Results)
		} else {
			one(ts.Results, nil)
		}
	}
	for j := range samples {
		if !oj[j] {
			one(nil, samples[j].Results)
		}
	}
	return log
}

func mapKeys(m map[string]bool) func(func(string) bool) {
	return func(yield func(string) bool) {
		for k := range m {
			if !yield(k) {
				return
			}
		}
	}
}

func silently(covered bool) string {
	if covered {
		return ""
	}
	return "SILENT "
}

func show(r *analysis.Result) string {
	n := func(p *float64) string {
		if p == nil {
			return "-"
		}
		return fmt.Sprint(*p)
	}
	v := n(r.Value)
	if r.Nondetect {
		v = "<" + n(r.Limit)
	} else if r.Low != nil || r.High != nil {
		v += "[" + n(r.Low) + ".." + n(r.High) + "]"
	}
	return fmt.Sprintf("%s %s %s %s %s %q", r.Analyte, v, r.Unit, r.Basis, r.Fraction, r.AsWritten)
}

// scoreFolder reads every report of a folder and scores it.
func scoreFolder(t *testing.T, dir string) tally {
	t.Helper()
	total := tally{kinds: map[string]int{}}
	names, err := os.ReadDir(dir)
	if err != nil {
		t.Fatal(err)
	}
	for _, n := range names {
		b, err := os.ReadFile(filepath.Join(dir, n.Name(), "truth.json"))
		if err != nil {
			continue
		}
		var want truth
		if err := json.Unmarshal(b, &want); err != nil {
			t.Fatalf("%s: %v", n.Name(), err)
		}
		files, err := filepath.Glob(filepath.Join(dir, n.Name(), "report.*"))
		if err == nil && len(files) == 0 {
			continue
		}
		if err != nil || len(files) != 1 {
			t.Fatalf("%s: report files %v, %v", n.Name(), files, err)
		}
		input, err := os.ReadFile(files[0])
		if err != nil {
			t.Fatal(err)
		}
		rd, err := Read(input, Options{File: n.Name()})
		var doc *analysis.Document
		var ws []analysis.Warning
		if err != nil {
			r, ok := err.(*Refusal)
			if !ok {
				t.Fatalf("%s: %v is no refusal", n.Name(), err)
			}
			ws = r.Warnings
		} else {
			doc, ws = &rd.Document, rd.Document.Warnings
		}
		for _, line := range total.score(want, doc, err != nil, ws) {
			t.Logf("%s: %s", n.Name(), line)
		}
	}
	t.Logf("cases %d  due %d  reported %d  right %d  withheld %d", total.cases, total.required, total.reported, total.correct, total.withheld)
	t.Logf("precision %.4f  recall %.4f  silent misreads %d  errors %v", total.precision(), total.recall(), total.silent, total.kinds)
	t.Logf("refusals missed %d wrong %d  warnings due %d given %d (%.4f) other %d", total.refusalsMissed, total.refusalsWrong, total.warnDue, total.warnGiven, total.warned(), total.warnOther)
	return total
}

// The gate: figures that the reader must reach on the corpus of invented
// reports. FOREBED_CORPUS names another folder of the same shape.
func TestCorpus(t *testing.T) {
	dir := cmp.Or(os.Getenv("FOREBED_CORPUS"), "testdata/corpus")
	got := scoreFolder(t, dir)
	if got.precision() < 0.995 || got.recall() < 0.995 {
		t.Errorf("precision %.4f and recall %.4f, want at least 0.995", got.precision(), got.recall())
	}
	if got.kinds["unit"]+got.kinds["basis"] > 0 {
		t.Errorf("unit errors %d, basis errors %d, want none", got.kinds["unit"], got.kinds["basis"])
	}
	if got.silent > 0 {
		t.Errorf("silent misreads %d, want none", got.silent)
	}
	if got.refusalsMissed+got.refusalsWrong > 0 {
		t.Errorf("refusals missed %d, wrong %d", got.refusalsMissed, got.refusalsWrong)
	}
	if got.warned() < 0.98 {
		t.Errorf("due warnings given %.4f, want 0.98", got.warned())
	}
	if got.warnOther > got.cases {
		t.Errorf("%d warnings nobody asked for in %d reports", got.warnOther, got.cases)
	}
}

// The same figures on layouts and traps that the corpus does not hold.
func TestVariants(t *testing.T) {
	got := scoreFolder(t, "testdata/variants")
	if got.precision() < 0.995 || got.recall() < 0.985 || got.silent > 0 || got.refusalsMissed+got.refusalsWrong > 0 || got.warned() < 0.98 || got.warnOther > got.cases {
		t.Errorf("precision %.4f, recall %.4f, silent misreads %d, refusals missed %d, wrong %d, warnings due %.4f, other %d of %d", got.precision(), got.recall(), got.silent, got.refusalsMissed, got.refusalsWrong, got.warned(), got.warnOther, got.cases)
	}
}
