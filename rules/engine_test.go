package rules

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// packOf loads a pack with one rule whose condition is given in YAML.
func packOf(t testing.TB, level, when string) *Rule {
	t.Helper()
	p, err := LoadPack("test.yaml", []byte(fmt.Sprintf(`
version: forebed.rules/1
name: test
title: one rule
rules:
  - {id: one, title: One rule, applies_to: vessel, level: %s, topic: test, when: %s, because: it is so, remedy: do this, source: a test}
`, level, when)))
	if err != nil {
		t.Fatal(err)
	}
	return &p.Rules[0]
}

// Kleene's tables for and, or and not.
func TestVerdictsFollowKleene(t *testing.T) {
	leaf := map[Verdict]string{
		No:    "{quantity: turbidity, above: {value: 9, unit: NTU}}",
		Maybe: "{quantity: toc, above: {value: 2, unit: mg/L}}",
		Yes:   "{quantity: turbidity, below: {value: 9, unit: NTU}}",
	}
	f := FactsOf(nil, nil)
	f.set(t, "turbidity", "5 NTU")
	f.set(t, "toc", "1 to 3 mg/L")
	all := []Verdict{No, Maybe, Yes}
	for _, a := range all {
		r := packOf(t, "must", "{not: "+leaf[a]+"}")
		if got := f.judge(r).Verdict; got != Yes-a {
			t.Errorf("not %v is %v, expected %v", a, got, Yes-a)
		}
		for _, b := range all {
			both := "[" + leaf[a] + ", " + leaf[b] + "]"
			if got := f.judge(packOf(t, "must", "{all: "+both+"}")).Verdict; got != min(a, b) {
				t.Errorf("%v and %v is %v, expected %v", a, b, got, min(a, b))
			}
			if got := f.judge(packOf(t, "must", "{any: "+both+"}")).Verdict; got != max(a, b) {
				t.Errorf("%v or %v is %v, expected %v", a, b, got, max(a, b))
			}
		}
	}
}

// An interval is judged by its ends; a limit itself is neither above nor below
// and lies within a window that ends there.
func TestLeavesOnIntervals(t *testing.T) {
	const (
		above   = "{quantity: turbidity, above: {value: 5, unit: NTU}}"
		below   = "{quantity: turbidity, below: {value: 5, unit: NTU}}"
		between = "{quantity: turbidity, between: {low: 1, high: 5, unit: NTU}}"
	)
	for _, c := range []struct {
		value                 any
		above, below, between Verdict
	}{
		{"5 NTU", No, No, Yes},
		{"5.1 NTU", Yes, No, No},
		{"0.5 NTU", No, Yes, No},
		{"1 NTU", No, Yes, Yes},
		{"4 to 5 NTU", No, Maybe, Yes},
		{"4 to 6 NTU", Maybe, Maybe, Maybe},
		{"0 to 9 NTU", Maybe, Maybe, Maybe},
		{"6 to 9 NTU", Yes, No, No},
		{nil, Maybe, Maybe, Maybe},
	} {
		f := FactsOf(nil, nil)
		f.set(t, "turbidity", c.value)
		got := [3]Verdict{f.judge(packOf(t, "must", above)).Verdict, f.judge(packOf(t, "must", below)).Verdict, f.judge(packOf(t, "must", between)).Verdict}
		if got != [3]Verdict{c.above, c.below, c.between} {
			t.Errorf("%v: above, below, between are %v, expected %v %v %v", c.value, got, c.above, c.below, c.between)
		}
	}
}

// Limits of one quantity in different units are the same limit. Factors: one
// grain per US gallon is 17.118 mg/L, 10 mg/L of nitrate as N is 44.27 mg/L of
// nitrate (standards ledger A-GPG, A-NO3N; CIAAW atomic weights); 1 pCi is
// 0.037 Bq exactly; 32 degF is the freezing point.
func TestUnitsOfLimits(t *testing.T) {
	for _, c := range []struct {
		quantity, unit string
		value, own     float64
	}{
		{"hardness", "gpg", 1, 17.118}, {"hardness", "mg/L as CaCO3", 50, 50}, {"hardness", "meq/L", 1, 50.043},
		{"nitrate", "mg/L as N", 10, 44.266}, {"nitrate", "mg/L", 45, 45},
		{"arsenic", "ug/L", 10, 0.01}, {"pfoa", "ng/L", 4, 4e-6},
		{"radium", "Bq/L", 0.185, 5}, {"temperature", "degF", 32, 0}, {"temperature", "degF", 95, 35},
		{"service_flow", "gpm/ft3", 1, 8.0208}, {"flow_per_area", "gpm/ft2", 1, 2.4447},
		{"feed_pressure", "psi", 40, 275.79}, {"season_volume", "gal", 1, 3.785411784}, {"bed_depth", "ft", 3, 0.9144},
	} {
		s, err := rows[byName[c.quantity]].unitScale(c.unit)
		if err != nil {
			t.Error(err)
			continue
		}
		if got := s.own(c.value); math.Abs(got-c.own) > 1e-4*math.Abs(c.own)+1e-12 {
			t.Errorf("%s of %g %s is %g, expected %g", c.quantity, c.value, c.unit, got, c.own)
		}
		if back := s.in(s.own(c.value)); math.Abs(back-c.value) > 1e-9*math.Abs(c.value)+1e-12 {
			t.Errorf("%s: %g %s comes back as %g", c.quantity, c.value, c.unit, back)
		}
	}
}

// ironDraws are 100 waters, share of them with 0.2 mg/L of dissolved iron and
// the rest with none.
func ironDraws(share int) []water.Water {
	ws := make([]water.Water, 100)
	for i := range ws {
		ws[i].PH = 7
		if i < share {
			ws[i].Ion[water.Iron] = analyte.Must("iron").Millimoles(0.2 * unit.MilligramPerLitre)
		}
	}
	return ws
}

// More than half of the draws is yes, a tenth to a half maybe, less is no.
func TestSharesOfDraws(t *testing.T) {
	r := packOf(t, "must", "{quantity: iron_dissolved, above: {value: 0.1, unit: mg/L}}")
	for _, c := range []struct {
		share int
		want  Verdict
	}{{0, No}, {9, No}, {10, Maybe}, {50, Maybe}, {51, Yes}, {100, Yes}} {
		x := FactsOf(nil, ironDraws(c.share)).judge(r)
		if x.Verdict != c.want || math.Abs(x.Share-float64(c.share)/100) > 1e-12 {
			t.Errorf("%d of 100 draws: %v with a share of %g, expected %v", c.share, x.Verdict, x.Share, c.want)
		}
		if x.Verdict == Maybe && !slices.Contains(x.Settles, "iron") {
			t.Errorf("%d of 100 draws: settled by %v, expected iron", c.share, x.Settles)
		}
	}
}

// What a water marks as unknown is not zero.
func TestUnknownOfWaterStaysUnknown(t *testing.T) {
	w := water.Water{PH: 7}
	w.Matter.Unknown = water.UnknownTurbidity
	v := NewValues()
	v.SetWater(&w)
	for _, c := range []struct {
		when string
		want Verdict
	}{
		{"{quantity: turbidity, above: {value: 5, unit: NTU}}", Maybe},
		{"{quantity: free_chlorine, above: {value: 0.1, unit: mg/L}}", No},
	} {
		if got := packOf(t, "must", c.when).node.judge(v); got != c.want {
			t.Errorf("%s is %v, expected %v", c.when, got, c.want)
		}
	}
}

// The site speaks where nobody measured: no chlorine in a supply that is not
// chlorinated, hardly any sulfide in water without a smell.
func TestSiteSpeaksForTheWater(t *testing.T) {
	w := water.Water{PH: 7}
	w.Matter.Unknown = water.UnknownChlorine | water.UnknownSulfide
	for _, c := range []struct {
		quantity Quantity
		yes      bool
		when     string
		want     Verdict
	}{
		{qChlorinated, false, "{quantity: free_chlorine, above: {value: 0.1, unit: mg/L}}", No},
		{qChlorinated, true, "{quantity: free_chlorine, above: {value: 0.1, unit: mg/L}}", Maybe},
		{qSulfurSmell, false, "{quantity: hydrogen_sulfide, above: {value: 0.1, unit: mg/L}}", No},
		{qSulfurSmell, true, "{quantity: hydrogen_sulfide, above: {value: 0.1, unit: mg/L}}", Maybe},
	} {
		v := NewValues()
		v.Flag(c.quantity, c.yes)
		v.SetWater(&w)
		if got := packOf(t, "must", c.when).node.judge(v); got != c.want {
			t.Errorf("%s %v: %s is %v, expected %v", rows[c.quantity].id, c.yes, c.when, got, c.want)
		}
	}
}

// An estimate does not count as measured: the ask for silica stays though the
// draws hold silica.
func TestEstimatesAreNotMeasured(t *testing.T) {
	f := FactsOf(nil, ironDraws(0))
	if got := f.judge(packOf(t, "ask", "{quantity: silica, unknown: true}")).Verdict; got != Yes {
		t.Errorf("silica that only the draws hold: %v, expected yes", got)
	}
	s := analysis.Sample{Results: []analysis.Result{{Analyte: "silica", Value: analysis.Number(12), Unit: unit.MgL}}}
	if got := FactsOf(&s, ironDraws(0)).judge(packOf(t, "ask", "{quantity: silica, unknown: true}")).Verdict; got != No {
		t.Errorf("silica of the report: %v, expected no", got)
	}
}

// Nobody is warned of what nobody looked for, but a limit that nothing is
// known of stays open.
func TestNothingKnownIsNoCaution(t *testing.T) {
	set := ours(t)
	for _, x := range set.Judge(AtReport, FactsOf(nil, nil)) {
		if x.Rule.Level == LevelCaution && !x.Rule.When.Always {
			t.Errorf("%s warns though nothing is known", x.Rule.ID)
		}
	}
	open := map[string]bool{}
	for _, x := range set.Judge(AtVessel, FactsOf(nil, nil)) {
		open[x.Rule.ID] = x.Verdict == Maybe && x.Unsure == 1
	}
	if !open["bed-turbidity"] {
		t.Error("the limit of turbidity is not open though nothing is known")
	}
}

func report(results ...analysis.Result) *analysis.Sample { return &analysis.Sample{Results: results} }

func value(id analyte.ID, x float64, u unit.Unit, b analyte.Basis) analysis.Result {
	return analysis.Result{Analyte: id, Value: analysis.Number(x), Unit: u, Basis: b, AsWritten: fmt.Sprint(x)}
}

func nondetect(id analyte.ID, limit float64, u unit.Unit) analysis.Result {
	return analysis.Result{Analyte: id, Nondetect: true, Limit: analysis.Number(limit), Unit: u, AsWritten: fmt.Sprintf("<%g", limit)}
}

// What reports say, and how the facts hold it.
func TestFactsOfReports(t *testing.T) {
	total, dissolved := value("iron", 1.5, unit.MgL, ""), value("iron", 1.2, unit.MgL, "")
	total.Fraction, dissolved.Fraction = analysis.Total, analysis.Dissolved
	for _, c := range []struct {
		name      string
		sample    *analysis.Sample
		quantity  string
		low, high float64
	}{
		{"nitrate as N", report(value("nitrate", 10, unit.MgL, "N")), "nitrate", 44.266, 44.266},
		{"hardness in grains", report(value("hardness", 20, unit.GrainsUS, "")), "hardness", 342.36, 342.36},
		{"arsenic below a limit", report(nondetect("arsenic", 2, unit.UgL)), "arsenic", 0, 0.002},
		{"coliform below one is absent", report(nondetect("total_coliform", 1, unit.CFU100)), "total_coliform", 0, 0},
		{"coliform present", report(value("total_coliform", 1, unit.Presence, "")), "total_coliform", 1, 1},
		{"coliform in words", report(analysis.Result{Analyte: "total_coliform", AsWritten: "UNSAFE (TNTC)"}), "total_coliform", 1, math.Inf(1)},
		{"no coliform in words", report(analysis.Result{Analyte: "total_coliform", AsWritten: "none detected"}), "total_coliform", math.Inf(-1), math.Inf(1)},
		{"temperature in Fahrenheit", report(value("temperature", 50, unit.DegF, "")), "temperature", 10, 10},
		{"radium in becquerel", report(value("radium", 0.37, unit.BecquerelL, "")), "radium", 10, 10},
		{"total iron bounds the dissolved", report(total), "iron_dissolved", 0, 1.5},
		{"total and dissolved give the rest", report(total, dissolved), "iron_particulate", 0.3, 0.3},
		{"total less free chlorine is chloramine", report(value("total_chlorine", 2, unit.MgL, ""), value("free_chlorine", 0.5, unit.MgL, "")), "chloramine", 1.5, 1.5},
		{"total chlorine bounds the free", report(value("total_chlorine", 2, unit.MgL, "")), "free_chlorine", 0, 2},
		{"two results count as a range", report(value("manganese", 0.1, unit.MgL, ""), value("manganese", 0.3, unit.MgL, "")), "manganese", 0.1, 0.3},
		{"a strip pad is a range", report(analysis.Result{Analyte: "hardness", Low: analysis.Number(120), High: analysis.Number(250), Unit: unit.MgL}), "hardness", 120, 250},
		{"past the end of a strip", report(analysis.Result{Analyte: "hardness", Low: analysis.Number(425), Unit: unit.MgL}), "hardness", 425, math.Inf(1)},
		{"smell of rotten eggs", report(analysis.Result{Analyte: "odor", AsWritten: "rotten egg"}), "sulfur_smell", 1, 1},
		{"no smell", report(analysis.Result{Analyte: "odor", AsWritten: "none"}), "sulfur_smell", 0, 0},
		{"a value without a unit says nothing", report(value("lead", 5, unit.None, "")), "lead", math.Inf(-1), math.Inf(1)},
		{"raw water named untreated", &analysis.Sample{Source: "untreated well"}, "treated_sample", 0, 0},
		{"tap behind the softener", &analysis.Sample{Source: "kitchen tap, after softener"}, "treated_sample", 1, 1},
	} {
		f := FactsOf(c.sample, nil)
		x := f.at[byName[c.quantity]]
		near := func(a, b float64) bool { return a == b || math.Abs(a-b) < 1e-4*math.Abs(b)+1e-9 }
		if !near(x.Low, c.low) || !near(x.High, c.high) {
			t.Errorf("%s: %s is %g to %g, expected %g to %g", c.name, c.quantity, x.Low, x.High, c.low, c.high)
		}
	}
}

// The checks of package water reach the rules on the quality of a report.
func TestChecksReachTheRules(t *testing.T) {
	sample := func(rs ...analysis.Result) analysis.Sample { return *report(rs...) }
	ions := []analysis.Result{
		value("calcium", 80, unit.MgL, ""), value("magnesium", 25, unit.MgL, ""), value("sodium", 20, unit.MgL, ""),
		value("alkalinity", 250, unit.MgL, ""), value("chloride", 25, unit.MgL, ""), value("sulfate", 56, unit.MgL, ""), value("ph", 7.3, unit.PH, ""),
	}
	change := func(i int, r analysis.Result) []analysis.Result {
		out := slices.Clone(ions)
		out[i] = r
		return out
	}
	for _, c := range []struct {
		name   string
		sample analysis.Sample
		want   string // a rule that must speak; none if empty
	}{
		{"a sound analysis", sample(ions...), ""},
		{"calcium without its decimal point", sample(change(0, value("calcium", 800, unit.MgL, ""))...), "report-balance-bad"},
		{"hardness of another well", sample(append(slices.Clone(ions), value("hardness", 120, unit.MgL, ""))...), "report-hardness"},
		{"conductivity of another well", sample(append(slices.Clone(ions), value("conductivity", 2400, unit.USCm, ""))...), "report-conductivity"},
		{"solids of another well", sample(append(slices.Clone(ions), value("tds", 2400, unit.MgL, ""))...), "report-solids"},
		{"iron in micrograms", sample(append(slices.Clone(ions), value("iron", 430, unit.MgL, ""))...), "report-impossible"},
		{"behind a softener", sample(value("hardness", 3, unit.MgL, ""), value("sodium", 160, unit.MgL, ""), value("alkalinity", 250, unit.MgL, "")), "report-treated"},
	} {
		w, err := water.Complete(c.sample, water.Options{Draws: 50, Seed: 1})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		f := FactsOf(&c.sample, nil)
		f.SetChecks(w.Checks)
		var spoke []string
		for _, x := range ours(t).Judge(AtReport, f) {
			if x.Rule.Topic == "data_quality" || x.Rule.ID == "report-treated" {
				spoke = append(spoke, x.Rule.ID)
			}
		}
		if c.want == "" && spoke != nil || c.want != "" && !slices.Contains(spoke, c.want) {
			t.Errorf("%s: %v speak, expected %q", c.name, spoke, c.want)
		}
	}
}

// A caution shows the limit and the value, in the unit of the limit, and the
// words of the report.
func TestWorkingShowsTheValues(t *testing.T) {
	set := ours(t)
	r, _ := set.Rule("health-nitrate")
	x := FactsOf(report(value("nitrate", 62, unit.MgL, "NO3")), nil).judge(r)
	if want := "nitrate 14 mg/L as N (reported as 62 mg/L as NO3) is above 10 mg/L as N"; x.Working != want {
		t.Errorf("working\n %q, expected\n %q", x.Working, want)
	}
	r, _ = set.Rule("bed-iron")
	f := FactsOf(report(analysis.Result{Analyte: "iron", Low: analysis.Number(0), High: analysis.Number(2.5), Unit: unit.MgL, AsWritten: "0"}), nil)
	f.Flag(qRegeneratedOnSite, false)
	x = f.judge(r)
	if x.Verdict != Maybe || !strings.Contains(x.Working, "dissolved iron 0 to 2.5 mg/L (reported as 0 mg/L) may be above 0.1 mg/L") || !slices.Contains(x.Settles, "iron") {
		t.Errorf("%v: %q, settled by %v", x.Verdict, x.Working, x.Settles)
	}
}

// What a report wrote cannot steer a terminal through an explanation.
func TestWordsOfReportsAreInert(t *testing.T) {
	r := value("iron", 2, unit.MgL, "")
	r.AsWritten = "2\x1b[31m\u202e mg/L" + strings.Repeat("x", 200)
	set := ours(t)
	rule, _ := set.Rule("membrane-iron")
	text := rule.Explain(FactsOf(report(r), nil))
	if strings.ContainsAny(text, "\x1b\u202e") || strings.Contains(text, strings.Repeat("x", 50)) {
		t.Errorf("%q", text)
	}
}

// The search judges the limits of the vessel on some hundred thousand waters.
func BenchmarkLimitsOfVessel(b *testing.B) {
	limits := ours(b).Limits(AtVessel)
	out := make([]Verdict, len(limits.Rules()))
	v := NewValues()
	w := someWaters(1)[0]
	b.ReportAllocs()
	for b.Loop() {
		v.SetWater(&w)
		limits.Judge(v, out)
	}
}

func BenchmarkJudgeVessel(b *testing.B) {
	set := ours(b)
	f := FactsOf(nil, someWaters(200))
	b.ReportAllocs()
	for b.Loop() {
		set.Judge(AtVessel, f)
	}
}

func BenchmarkBuiltin(b *testing.B) {
	b.ReportAllocs()
	for b.Loop() {
		Builtin()
	}
}

// someWaters are waters at random, for speed and for laws.
func someWaters(n int) []water.Water {
	r := rand.New(rand.NewPCG(1, 2))
	ws := make([]water.Water, n)
	for i := range ws {
		w := &ws[i]
		w.PH, w.Temperature = 5+4*r.Float64(), unit.Celsius(25*r.Float64())
		for k := range w.Ion {
			w.Ion[k] = unit.MmolPerL(3 * r.Float64() * r.Float64())
		}
		w.Silica, w.CO2 = unit.MmolPerL(r.Float64()), unit.MmolPerL(r.Float64())
		w.Matter.Turbidity = 10 * r.Float64() * r.Float64()
		w.Matter.FreeChlorine = unit.MgPerL(r.Float64() * r.Float64())
	}
	return ws
}

// Limits judge without a search as Judge does, and allocate nothing.
func TestLimitsAgreeWithJudge(t *testing.T) {
	limits := ours(t).Limits(AtVessel)
	out := make([]Verdict, len(limits.Rules()))
	for _, w := range someWaters(50) {
		f := baseAt(t, AtVessel)
		f.Values.SetWater(&w)
		limits.Judge(&f.Values, out)
		for i, r := range limits.Rules() {
			if x := f.judge(r); x.Verdict != out[i] {
				t.Errorf("%s: %v here, %v there", r.ID, out[i], x.Verdict)
			}
		}
	}
	v, w := NewValues(), someWaters(1)[0]
	if n := testing.AllocsPerRun(100, func() { v.SetWater(&w); limits.Judge(v, out) }); n != 0 {
		t.Errorf("%g allocations, expected none", n)
	}
}

// More of a foulant never makes a bed's limit easier to meet.
func TestMoreFoulantNeverHelps(t *testing.T) {
	set := ours(t)
	for _, name := range []string{"free_chlorine", "chloramine", "turbidity", "suspended_solids", "hydrogen_sulfide", "iron_per_fill", "temperature"} {
		q := byName[name]
		worst := No
		for _, x := range []float64{0, 0.03, 0.07, 0.2, 0.6, 2, 4, 7, 20, 40, 90} {
			f := baseAt(t, AtVessel)
			f.Know(q, x)
			level := No
			for _, r := range set.Limits(AtVessel).Rules() {
				if r.Level == LevelMust {
					level = max(level, f.judge(r).Verdict)
				}
			}
			if level < worst {
				t.Errorf("%s at %g breaks no must limit though less of it does", name, x)
			}
			worst = level
		}
		if worst != Yes {
			t.Errorf("%s breaks no must limit at any level", name)
		}
	}
}

func ExampleRule_Explain() {
	set, err := Merge(Builtin()...)
	if err != nil {
		fmt.Println(err)
		return
	}
	r, _ := set.Rule("membrane-iron")
	iron := analysis.Result{Analyte: "iron", Value: analysis.Number(430), Unit: unit.UgL, AsWritten: "430"}
	fmt.Print(r.Explain(FactsOf(&analysis.Sample{Results: []analysis.Result{iron}}, nil)))
	// Output:
	// Iron fouls the membrane
	// rule      membrane-iron (pack stages)
	// level     must
	// topic     iron
	// judged    at the stage reverse_osmosis
	// when      iron_total above 0.1 mg/L
	// because   Iron rusts on the membrane and cannot be rinsed off at home. The manual's limit is 0.1 mg/L.
	// remedy    Take the iron out ahead of the membrane.
	// source    residential reverse-osmosis manual, feed table: iron below 0.1 mg/L [ledger E50, E65]
	// here      holds: total iron 0.43 mg/L (reported as 430 ug/L) is above 0.1 mg/L
}

// A dissolved metal far below a health limit is no reason to warn of its total,
// which nobody measured: it is at least as high, and that is all.
func TestDissolvedMetalAlarmsNobody(t *testing.T) {
	s := hardWell()
	for i := range s.Results {
		if s.Results[i].Analyte == "manganese" {
			s.Results[i].Value = analysis.Number(0.002)
		}
	}
	for _, x := range builtin(t).Judge(AtReport, FactsOf(&s, nil)) {
		if x.Rule.Level == LevelCaution && x.Rule.Topic == "manganese" {
			t.Errorf("%s: %s", x.Rule.ID, x.Sentence())
		}
	}
}
