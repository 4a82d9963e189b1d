package rules

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// A case of the panel: a water and a rig with what competent people would
// agree on, and why. A new case is a new file in testdata/panel.
type panelCase struct {
	Scenario string            `yaml:"scenario"`
	Water    map[string]string `yaml:"water"` // analyte, with the fraction behind a blank: "iron dissolved": "1.5 mg/L"
	Rig      any               `yaml:"rig"`
	Expect   []expectation     `yaml:"expect"`
}

// expectation is one thing to hold, exactly one of its fields but the reason.
type expectation struct {
	Because string `yaml:"because"`

	Status  string           `yaml:"status"`
	Has     []string         `yaml:"has"`      // one of these kinds stands in the plan
	HasNot  []string         `yaml:"has_not"`  // none of these kinds does
	Order   []string         `yaml:"order"`    // of those that stand in the plan
	Caution string           `yaml:"caution"`  // topic, or "topic level"
	Quiet   string           `yaml:"quiet"`    // topic that no caution has
	Ask     []string         `yaml:"ask"`      // one of these analytes is asked for
	Cation  []float64        `yaml:"cation"`   // meq/L, untreated
	Anion   []float64        `yaml:"anion"`    // meq/L, untreated
	Life    []float64        `yaml:"life_gal"` // of a fill, untreated
	First   string           `yaml:"first_half"`
	Ratio   map[string][]any `yaml:"ratio"`    // kind: [low, high] of the life with it over without it
	Protect string           `yaml:"protects"` // a stage of this kind may not be said to extend the life
	Blocked []string         `yaml:"blocked"`  // rules named as what blocks
	Whole   []float64        `yaml:"whole_ratio"`
	Exact   []string         `yaml:"train"` // the whole train, in order
	Kept    string           `yaml:"kept"`  // an installed kind that stays
	Doubted string           `yaml:"questioned"`
	BareRO  *bool            `yaml:"membrane_alone"`
}

func TestPanel(t *testing.T) {
	set := builtin(t)
	for _, file := range panelFiles(t) {
		t.Run(strings.TrimSuffix(filepath.Base(file), ".yaml"), func(t *testing.T) {
			t.Parallel()
			c := readPanelCase(t, file)
			c.check(t, set)
		})
	}
}

func panelFiles(t testing.TB) []string {
	t.Helper()
	files, err := filepath.Glob("../testdata/panel/*.yaml")
	if err != nil || len(files) < 40 {
		t.Fatalf("found %d cases (%v), expected at least 40", len(files), err)
	}
	return files
}

func readPanelCase(t testing.TB, file string) (c panelCase) {
	t.Helper()
	data, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	if err := yaml.UnmarshalWithOptions(data, &c, yaml.Strict()); err != nil {
		t.Fatal(err)
	}
	return c
}

func (c *panelCase) check(t *testing.T, set *Set) {
	if !strings.Contains(c.Scenario, "nvented") && !strings.Contains(c.Scenario, "ledger") {
		t.Error("the scenario does not say that it is invented")
	}
	p, err := Search(context.Background(), c.input(t, set, 100), Options{})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range c.Expect {
		if e.Because == "" {
			t.Error("an expectation without its reason")
		}
		if fault := e.fault(p); fault != "" {
			t.Errorf("%s\n  expected because: %s\n  plan: %s", fault, e.Because, trainText(p))
		}
	}
}

// input completes the water of a case and reads its rig.
func (c *panelCase) input(t testing.TB, set *Set, draws int) Input {
	t.Helper()
	rigText, err := yaml.Marshal(c.Rig)
	if err != nil {
		t.Fatal(err)
	}
	rig, err := ReadRig("rig", append([]byte("version: "+RigVersion+"\n"), rigText...))
	if err != nil {
		t.Fatal(err)
	}
	sample := c.sample(t)
	w, err := water.Complete(sample, water.Options{Draws: draws, Seed: 1})
	if err != nil {
		t.Fatal(err)
	}
	return Input{Sample: &sample, Water: w, Rig: rig, Rules: set}
}

// BenchmarkPanel searches for every water and rig of the panel, one after the
// other on one worker, with 200 draws.
func BenchmarkPanel(b *testing.B) {
	set := builtin(b)
	var all []Input
	for _, file := range panelFiles(b) {
		c := readPanelCase(b, file)
		all = append(all, c.input(b, set, 200))
	}
	b.ReportAllocs()
	for b.Loop() {
		for _, in := range all {
			if _, err := Search(context.Background(), in, Options{Workers: 1}); err != nil {
				b.Fatal(err)
			}
		}
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(all)), "ns/plan")
}

func trainText(p *Plan) string {
	var all []string
	for _, s := range p.Stages {
		all = append(all, string(s.Kind)+"/"+s.Variant)
	}
	return fmt.Sprintf("%s %v", p.Status, all)
}

// sample reads lines such as "nitrate": "10 mg/L as N", "<0.05 mg/L" or
// "0 to 2.5 mg/L".
func (c *panelCase) sample(t testing.TB) analysis.Sample {
	var s analysis.Sample
	keys := make([]string, 0, len(c.Water))
	for k := range c.Water {
		keys = append(keys, k)
	}
	slices.SortFunc(keys, cmp.Compare[string])
	for _, key := range keys {
		text := c.Water[key]
		id, form, _ := strings.Cut(key, " ")
		if _, ok := analyte.Lookup(analyte.ID(id)); !ok {
			t.Fatalf("no analyte %q", id)
		}
		r := analysis.Result{Analyte: analyte.ID(id), Fraction: analysis.Fraction(form), AsWritten: text}
		words, basis, _ := strings.Cut(text, " as ")
		r.Basis = analyte.Basis(basis)
		fields := strings.Fields(words)
		if u := fields[len(fields)-1]; len(fields) > 1 {
			r.Unit = unit.Unit(u)
			fields = fields[:len(fields)-1]
		}
		if r.Analyte == "ph" {
			r.Unit = unit.PH
		}
		number := func(s string) *float64 {
			x, err := strconv.ParseFloat(s, 64)
			if err != nil {
				t.Fatalf("%s: %v", key, err)
			}
			return &x
		}
		switch {
		case strings.HasPrefix(fields[0], "<"):
			r.Nondetect, r.Limit = true, number(fields[0][1:])
		case len(fields) == 3 && fields[1] == "to":
			r.Low, r.High = number(fields[0]), number(fields[2])
		default:
			r.Value = number(fields[0])
		}
		s.Results = append(s.Results, r)
	}
	return s
}

func (p *Plan) find(kind string) *StagePlan {
	for i := range p.Stages {
		if string(p.Stages[i].Kind) == kind {
			return &p.Stages[i]
		}
	}
	return nil
}

func inside(x float64, r []float64) bool { return len(r) == 2 && r[0] <= x && x <= r[1] }

// fault says how a plan fails an expectation; empty if it does not.
func (e *expectation) fault(p *Plan) string {
	switch {
	case e.Status != "":
		if string(p.Status) != e.Status {
			return fmt.Sprintf("status %s, expected %s", p.Status, e.Status)
		}
	case e.Has != nil:
		if !slices.ContainsFunc(e.Has, func(k string) bool { return p.find(k) != nil }) {
			return fmt.Sprintf("none of %v is in the plan", e.Has)
		}
	case e.HasNot != nil:
		for _, k := range e.HasNot {
			if p.find(k) != nil {
				return k + " is in the plan"
			}
		}
	case e.Order != nil:
		last := 0
		for _, k := range e.Order {
			if s := p.find(k); s != nil {
				if s.Place < last {
					return fmt.Sprintf("%s stands out of the order %v", k, e.Order)
				}
				last = s.Place
			}
		}
	case e.Caution != "":
		topic, level, _ := strings.Cut(e.Caution, " ")
		if !slices.ContainsFunc(p.Cautions, func(c Caution) bool { return c.Topic == topic && (level == "" || c.Level == level) }) {
			return "no caution " + e.Caution
		}
	case e.Quiet != "":
		if i := slices.IndexFunc(p.Cautions, func(c Caution) bool { return c.Topic == e.Quiet }); i >= 0 {
			return "a caution of topic " + e.Quiet + ": " + p.Cautions[i].Text
		}
	case e.Ask != nil:
		if !slices.ContainsFunc(p.Asks, func(a Ask) bool { return slices.Contains(e.Ask, a.Analyte) }) {
			return fmt.Sprintf("none of %v is asked for", e.Ask)
		}
	case e.Cation != nil:
		if !inside(p.Load.Untreated.Cation.P50, e.Cation) {
			return fmt.Sprintf("cation load %.3g meq/L, expected %v", p.Load.Untreated.Cation.P50, e.Cation)
		}
	case e.Anion != nil:
		if !inside(p.Load.Untreated.Anion.P50, e.Anion) {
			return fmt.Sprintf("anion load %.3g meq/L, expected %v", p.Load.Untreated.Anion.P50, e.Anion)
		}
	case e.Life != nil:
		if gal := unit.Litres(p.Life.Untreated.Residue.P50).Gallons(); !inside(gal, e.Life) {
			return fmt.Sprintf("life %.4g gal, expected %v", gal, e.Life)
		}
	case e.First != "":
		if p.Life.Untreated.FirstHalf != e.First {
			return "the " + p.Life.Untreated.FirstHalf + " half ends first"
		}
	case e.Whole != nil:
		if !inside(p.Life.Ratio.P50, e.Whole) {
			return fmt.Sprintf("life ratio %.3g, expected %v", p.Life.Ratio.P50, e.Whole)
		}
	case e.Ratio != nil:
		for kind, r := range e.Ratio {
			got, ok := p.ratioOf(kind)
			low, high := toFloat(r[0]), toFloat(r[1])
			if !ok || got < low || got > high {
				return fmt.Sprintf("life with and without %s: %.3g (known: %v), expected %v to %v", kind, got, ok, low, high)
			}
		}
	case e.Protect != "":
		if s := p.find(e.Protect); s == nil || s.Role == RoleExtends {
			return e.Protect + " is absent, or said to extend the life"
		}
	case e.Blocked != nil:
		for _, id := range e.Blocked {
			if !slices.ContainsFunc(p.Blocked, func(b Block) bool { return b.Rule == id }) {
				return fmt.Sprintf("%s does not stand among the blocks", id)
			}
		}
	case e.Exact != nil:
		var got []string
		for _, s := range p.Stages {
			got = append(got, string(s.Kind))
		}
		if !slices.Equal(got, e.Exact) {
			return fmt.Sprintf("the train is %v, expected %v", got, e.Exact)
		}
	case e.Kept != "":
		if s := p.find(e.Kept); s == nil || !s.Installed {
			return "the installed " + e.Kept + " is not kept"
		}
	case e.Doubted != "":
		if !slices.ContainsFunc(p.LeftOut, func(l LeftOut) bool {
			return string(l.Kind) == e.Doubted && strings.Contains(l.Why, "questioned")
		}) {
			return "the installed " + e.Doubted + " is not questioned"
		}
	case e.BareRO != nil:
		has := slices.ContainsFunc(p.Alternatives, func(a Alternative) bool { return a.Name == "reverse_osmosis_without_vessel" })
		if has != *e.BareRO {
			return fmt.Sprintf("reverse osmosis without a vessel is offered: %v", has)
		}
	default:
		return "an empty expectation"
	}
	return ""
}

// ratioOf returns the life with a kind of stage over the life without it, as
// the plan states it.
func (p *Plan) ratioOf(kind string) (float64, bool) {
	if s := p.find(kind); s != nil {
		return s.LifeRatio.P50, true
	}
	for _, l := range p.LeftOut {
		if string(l.Kind) == kind && l.LifeRatio != nil {
			return l.LifeRatio.P50, true
		}
	}
	return 0, false
}

func toFloat(v any) float64 {
	switch x := v.(type) {
	case float64:
		return x
	case uint64:
		return float64(x)
	case int:
		return float64(x)
	}
	return 0
}
