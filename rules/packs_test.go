package rules

import (
	"io/fs"
	"maps"
	"math"
	"os"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/goccy/go-yaml"
)

// packTest is a file beside a pack: places and which of its rules must speak.
type packTest struct {
	Pack  string     `yaml:"pack"`
	Quiet []string   `yaml:"quiet"` // rules that speak on the harmless base
	Cases []ruleCase `yaml:"cases"`
}

// ruleCase changes the harmless base and says what that does to the rules of
// the pack at one scope, exactly: no other rule may begin or cease to speak.
type ruleCase struct {
	Name   string         `yaml:"name"`
	At     Scope          `yaml:"at"`
	Facts  map[string]any `yaml:"facts"`
	Fires  []string       `yaml:"fires"`  // hold now
	Maybe  []string       `yaml:"maybe"`  // may hold now
	Silent []string       `yaml:"silent"` // of quiet: do not hold any more
}

// base is a harmless water, rig and site; at changes it for a scope.
type baseFacts struct {
	Facts map[string]any           `yaml:"facts"`
	At    map[Scope]map[string]any `yaml:"at"`
}

func readYAML(t *testing.T, name string, into any) {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if err := yaml.UnmarshalWithOptions(b, into, yaml.Strict()); err != nil {
		t.Fatalf("%s: %v", name, err)
	}
}

// set states one fact as a test file writes it: true, "0.3 mg/L",
// "0 to 2.5 mg/L", "present", or nothing for not known.
func (f *Facts) set(t *testing.T, name string, value any) {
	t.Helper()
	q, ok := byName[name]
	if !ok {
		t.Fatalf("no quantity %q", name)
	}
	switch x := value.(type) {
	case nil:
		f.at[q], f.measured[q] = unknown, false
		return
	case bool:
		f.Flag(q, x)
		return
	case string:
		words := strings.SplitN(x, " ", 2)
		low := number(t, words[0])
		high := low
		rest := words[1]
		if after, ok := strings.CutPrefix(rest, "to "); ok {
			words = strings.SplitN(after, " ", 2)
			high, rest = number(t, words[0]), words[1]
		}
		s, err := rows[q].unitScale(rest)
		if err != nil {
			t.Fatal(err)
		}
		f.Within(q, s.own(low), s.own(high))
		return
	}
	t.Fatalf("%s: cannot read %v", name, value)
}

func number(t *testing.T, s string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

// theBase is read once: some hundred cases start from it.
var theBase *baseFacts

func baseAt(t *testing.T, at Scope) *Facts {
	t.Helper()
	if theBase == nil {
		theBase = &baseFacts{}
		readYAML(t, "packs/base_test.yaml", theBase)
	}
	base := theBase
	f := FactsOf(nil, nil)
	for _, m := range []map[string]any{base.Facts, base.At[at]} {
		for name, v := range m {
			f.set(t, name, v)
		}
	}
	return f
}

// verdicts judges the rules of one pack at a scope.
func verdicts(set *Set, pack string, at Scope, f *Facts) map[string]Verdict {
	m := map[string]Verdict{}
	for _, x := range set.Judge(at, f) {
		if x.Rule.Pack() == pack {
			m[x.Rule.ID] = x.Verdict
		}
	}
	return m
}

func allScopes() []Scope {
	all := []Scope{AtVessel, AtSite, AtReport}
	for _, k := range kinds {
		all = append(all, StageScope(k))
	}
	return all
}

func ours(t testing.TB) *Set {
	t.Helper()
	set, err := Merge(Builtin()...)
	if err != nil {
		t.Fatal(err)
	}
	return set
}

func packTests(t *testing.T) []packTest {
	t.Helper()
	var all []packTest
	names, err := fs.Glob(os.DirFS("packs"), "*"+testSuffix)
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range names {
		if name == "base_test.yaml" {
			continue
		}
		var p packTest
		readYAML(t, "packs/"+name, &p)
		all = append(all, p)
	}
	return all
}

func TestPacks(t *testing.T) {
	set := ours(t)
	for _, p := range packTests(t) {
		quiet := map[string]Verdict{}
		for _, at := range allScopes() {
			maps.Copy(quiet, verdicts(set, p.Pack, at, baseAt(t, at)))
		}
		if got := slices.Sorted(maps.Keys(quiet)); !slices.Equal(got, slices.Sorted(slices.Values(p.Quiet))) {
			t.Errorf("%s: on the harmless base these rules speak:\n %v\nexpected\n %v", p.Pack, got, p.Quiet)
		}
		for _, c := range p.Cases {
			t.Run(p.Pack+"/"+c.Name, func(t *testing.T) { c.check(t, set, p.Pack) })
		}
	}
}

func (c *ruleCase) check(t *testing.T, set *Set, pack string) {
	f := baseAt(t, c.At)
	before := verdicts(set, pack, c.At, f)
	for name, v := range c.Facts {
		f.set(t, name, v)
	}
	after := verdicts(set, pack, c.At, f)
	var fires, maybe, silent []string
	for id, v := range after {
		switch {
		case v == Yes && before[id] != Yes:
			fires = append(fires, id)
		case v == Maybe && before[id] != Maybe:
			maybe = append(maybe, id)
		}
	}
	for id := range before {
		if _, still := after[id]; !still {
			silent = append(silent, id)
		}
	}
	for _, x := range []struct {
		what      string
		got, want []string
	}{{"hold", fires, c.Fires}, {"may hold", maybe, c.Maybe}, {"fall silent", silent, c.Silent}} {
		slices.Sort(x.got)
		if want := slices.Sorted(slices.Values(x.want)); !slices.Equal(x.got, want) {
			t.Errorf("at %s these rules %s:\n %v\nexpected\n %v", c.At, x.what, x.got, want)
		}
	}
}

// neverSilent are the rules that every plan carries; each of them needs a
// reason to be here.
var neverSilent = map[string]string{
	"safety-rinse-only":      "every plan says that it is about rinse water only",
	"safety-codes":           "every plan defers to local codes and licensed practice",
	"safety-backflow":        "every rig hangs on a hose",
	"safety-product-ph":      "every bed that is run past its end gives acid or caustic water",
	"safety-meter":           "no pen sees silica",
	"safety-resin":           "every vessel holds resin",
	"safety-disposal":        "every fill ends as waste",
	"safety-pressure":        "every vessel is under pressure",
	"safety-degasser-tank":   "every degasser has an open tank",
	"safety-brine-trap":      "every organics trap is regenerated with brine",
	"safety-carbon-germs":    "every carbon bed takes the disinfectant out",
	"safety-catalytic-germs": "every carbon bed takes the disinfectant out",
	"sampling-how":           "every plan tells how to sample",
}

// Every rule holds in some test and is silent in another at its own scope.
func TestEveryRuleFiresAndIsSilent(t *testing.T) {
	set := ours(t)
	fired, quiet := map[string]bool{}, map[string]bool{}
	look := func(at Scope, f *Facts) {
		for _, r := range set.Rules() {
			if r.AppliesTo.covers(at) {
				if f.judge(r).Verdict == Yes {
					fired[r.ID] = true
				} else {
					quiet[r.ID] = true
				}
			}
		}
	}
	for _, at := range allScopes() {
		look(at, baseAt(t, at))
	}
	for _, p := range packTests(t) {
		for _, c := range p.Cases {
			f := baseAt(t, c.At)
			for name, v := range c.Facts {
				f.set(t, name, v)
			}
			look(c.At, f)
		}
	}
	for _, r := range set.Rules() {
		if !fired[r.ID] {
			t.Errorf("%s holds in no test", r.ID)
		}
		_, never := neverSilent[r.ID]
		switch {
		case never && !r.When.Always:
			t.Errorf("%s is listed as never silent, yet has a condition", r.ID)
		case !never && r.When.Always:
			t.Errorf("%s holds always: give the reason in neverSilent", r.ID)
		case !never && !quiet[r.ID]:
			t.Errorf("%s is silent in no test", r.ID)
		}
	}
}

// The base states every quantity, so that no rule is silent only because
// nothing is known.
func TestBaseStatesEveryQuantity(t *testing.T) {
	for _, at := range allScopes() {
		f := baseAt(t, at)
		var missing []string
		for q := range rows {
			if !f.at[q].Known() || math.IsNaN(f.at[q].Low) {
				missing = append(missing, rows[q].id)
			}
		}
		if missing != nil {
			t.Fatalf("%s: the base does not state %v", at, missing)
		}
	}
}
