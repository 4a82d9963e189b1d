package rules

import (
	"slices"
	"strings"
	"testing"

	"forebed/chem/labreport"
)

// Invented reports as people paste them, and the cautions and asks that a
// careful person would raise from each, or would not.
var pastedReports = []struct {
	name, text  string
	want, never []string
}{
	{"a well below a pasture (invented)", `
Well water analysis, horse trailer rental
Total coliform      Present
E. coli             Absent
Nitrate (as N)      13.2 mg/L
Hardness            310 mg/L as CaCO3
pH                  7.2
Iron, total         0.35 mg/L
`, []string{"health-coliform", "health-nitrate", "health-gathers", "ask-iron-form", "ask-silica", "ask-alkalinity", "ask-manganese"},
		[]string{"health-e-coli", "health-arsenic", "health-nitrite", "health-drunk", "health-lead"}},
	{"nitrate as nitrate stays under the limit (invented)", `
Nitrate 38 mg/L NO3
Hardness 180 mg/L
pH 7.4
Lead <1 ug/L
Arsenic 3.1 ug/L
`, []string{"health-nitrate-rising"}, []string{"health-nitrate", "health-lead", "health-arsenic"}},
	{"an old mining district (invented)", `
Arsenic      0.024 mg/L
Lead         12 ug/L
Uranium      41 ug/L
Copper       1.9 mg/L
Manganese    0.62 mg/L
Fluoride     2.3 mg/L
pH           6.1
Hardness     40 mg/L
PFOA         9 ng/L
`, []string{"health-arsenic", "health-lead", "health-uranium", "health-copper", "health-manganese", "health-fluoride-teeth", "health-pfas", "health-media-waste", "health-gathers"},
		[]string{"health-fluoride", "health-radium", "health-coliform"}},
	{"a well that smells (invented)", `
Hydrogen sulfide 0.8 mg/L
Iron 2.4 mg/L
pH 7.0
Hardness 22 gpg
Iron bacteria: present
`, []string{"safety-gas-sulfide", "safety-iron-bacteria", "safety-shock-planned", "ask-organics-iron", "ask-ammonium", "ask-iron-form"}, []string{"health-coliform"}},
	{"a dip strip (invented)", `
Total hardness: 250 ppm
Total alkalinity: 180 ppm
pH: 7.5
Iron: 0 ppm
Nitrate (as N): 0 ppm
`, []string{"ask-iron-strip", "report-strip", "ask-silica"}, []string{"ask-iron", "ask-nitrate", "health-nitrate"}},
	{"a laboratory's zero (invented)", `
Calcium: 80 mg/L
Total hardness: 250 ppm
pH: 7.5
Iron: 0 mg/L
`, nil, []string{"ask-iron-strip", "report-strip", "ask-iron"}},
	{"a clean community supply (invented)", `
pH 7.8
Hardness 90 mg/L as CaCO3
Alkalinity 75 mg/L as CaCO3
Nitrate as N 0.8 mg/L
Free chlorine 0.9 mg/L
Total chlorine 0.9 mg/L
Silica 9 mg/L
TDS 160 mg/L
Lead ND
Total coliform: absent
`, nil, []string{"health-coliform", "health-nitrate", "health-lead", "health-chlorine-high", "ask-ph", "ask-silica", "ask-alkalinity", "ask-hardness", "ask-dissolved-solids"}},
}

func TestCautionsOfPastedReports(t *testing.T) {
	set := ours(t)
	rig := DefaultRig()
	for _, c := range pastedReports {
		read, err := labreport.Read([]byte(c.text), labreport.Options{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		f := FactsOfRig(&read.Document.Samples[0], nil, &rig)
		var spoke []string
		for _, at := range []Scope{AtReport, AtSite} {
			for _, x := range set.Judge(at, f) {
				spoke = append(spoke, x.Rule.ID)
			}
		}
		for _, id := range append(slices.Clone(c.want), c.never...) {
			if _, ok := set.Rule(id); !ok {
				t.Fatalf("there is no rule %s", id)
			}
		}
		for _, id := range c.want {
			if !slices.Contains(spoke, id) {
				t.Errorf("%s: %s does not speak; these do: %v", c.name, id, spoke)
			}
		}
		for _, id := range c.never {
			if slices.Contains(spoke, id) {
				t.Errorf("%s: %s speaks", c.name, id)
			}
		}
	}
}

// A smell that only the owner knows of warns as well.
func TestSmellOfTheRig(t *testing.T) {
	rig := DefaultRig()
	rig.Site.SulfurSmell, rig.Site.ClosedWellHouse = true, true
	found := ours(t).Judge(AtSite, FactsOfRig(nil, nil, &rig))
	if !slices.ContainsFunc(found, func(x Finding) bool { return x.Rule.ID == "safety-gas-sulfide-closed" }) {
		t.Error("a closed well house that smells of rotten eggs raises no stop")
	}
}

// Each caution that the design calls never missing stands in every plan, at
// the vessel or the site, whatever the water.
func TestNeverMissing(t *testing.T) {
	set := ours(t)
	rig := DefaultRig()
	f := FactsOfRig(nil, nil, &rig)
	topics := map[string]string{}
	for _, at := range []Scope{AtReport, AtSite, AtVessel} {
		for _, x := range set.Judge(at, f) {
			if x.Rule.Level == LevelCaution {
				topics[x.Rule.Topic] += x.Rule.Title + ". " + x.Rule.Because + " " + x.Rule.Remedy + "\n"
			}
		}
	}
	for topic, words := range map[string][]string{
		"product_ph":         {"acid", "caustic"},
		"home_regeneration":  {"Do not regenerate", "lye"},
		"stagnation":         {"warm", "spray"},
		"resin_handling":     {"oxidizers", "slippery", "eyes"},
		"pressure":           {"vacuum", "sun"},
		"shock_chlorination": {"ypass"},
		"backflow":           {"backflow preventer"},
		"not_for_drinking":   {"rinse water only", "no"},
		"codes":              {"local codes", "licensed"},
		"media_disposal":     {"drain"},
		"sampling":           {"cold"},
		"retest":             {"Every year"},
		"meter":              {"silica"},
		"corrosive_product":  {"copper"},
		"electrical":         {"licensed electrician"},
	} {
		for _, w := range words {
			if !strings.Contains(topics[topic], w) {
				t.Errorf("%s: no caution says %q: %s", topic, w, topics[topic])
			}
		}
	}
}

// healthResults are results just above the limit of the caution in its row,
// and how soon harm comes: within days is a stop whatever the water is used
// for; over years (or passing, or only a sign of danger) is care, and a stop
// where the water is drunk.
var healthResults = []struct {
	quantity, result, rule string
	days                   bool
	says                   string // what the caution says of it
}{
	{"e_coli", "1 CFU/100mL", "health-e-coli", true, "within days"},
	{"nitrate", "10.1 mg/L as N", "health-nitrate", true, "within days"},
	{"nitrate_nitrite", "10.1 mg/L as N", "health-nitrate", true, "within days"},
	{"nitrite", "1.01 mg/L as N", "health-nitrite", true, "within days"},
	{"total_coliform", "1 CFU/100mL", "health-coliform", false, "seldom make ill"},
	{"arsenic", "10.1 ug/L", "health-arsenic", false, "over years"},
	{"lead", "10.1 ug/L", "health-lead", false, "years"},
	{"copper", "1.31 mg/L", "health-copper", false, "which passes"},
	{"uranium", "30.1 ug/L", "health-uranium", false, "over years"},
	{"radium", "5.1 pCi/L", "health-radium", false, "over years"},
	{"gross_alpha", "15.1 pCi/L", "health-radium", false, "over years"},
	{"fluoride", "4.01 mg/L", "health-fluoride", false, "over years"},
	{"manganese", "0.31 mg/L", "health-manganese", false, "years"},
	{"pfoa", "4.1 ng/L", "health-pfas", false, "over years"},
	{"pfos", "4.1 ng/L", "health-pfas", false, "over years"},
	{"barium", "2.01 mg/L", "health-metals", false, "over years"},
	{"selenium", "0.051 mg/L", "health-metals", false, "over years"},
	{"cadmium", "5.1 ug/L", "health-metals", false, "over years"},
	{"chromium", "0.11 mg/L", "health-metals", false, "over years"},
	{"mercury", "2.1 ug/L", "health-metals", false, "over years"},
	{"antimony", "6.1 ug/L", "health-metals", false, "over years"},
	{"beryllium", "4.1 ug/L", "health-metals", false, "over years"},
	{"thallium", "2.1 ug/L", "health-metals", false, "over years"},
}

// No other caution of the health pack than these is about drinking.
var notAboutDrinking = []string{"health-radon", "health-chlorine-high", "health-gathers", "health-media-waste"}

func TestStopHarmsInDaysCareInYears(t *testing.T) {
	set := ours(t)
	covered := map[string]bool{"drinking_use": true}
	for _, c := range healthResults {
		covered[c.quantity] = true
		for _, drunk := range []bool{false, true} {
			f := baseAt(t, AtReport)
			f.set(t, c.quantity, c.result)
			f.Flag(qDrinkingUse, drunk)
			stopped, named := false, false
			for _, x := range set.Judge(AtReport, f) {
				stopped = stopped || x.Rule.Strength == StrengthStop
				if x.Rule.ID != c.rule {
					continue
				}
				named = true
				want := StrengthCare
				if c.days {
					want = StrengthStop
				}
				if x.Rule.Strength != want {
					t.Errorf("%s of %s: %s is a %s, expected %s", c.quantity, c.result, c.rule, x.Rule.Strength, want)
				}
				if !strings.Contains(x.Rule.Because, c.says) {
					t.Errorf("%s does not say %q: %s", c.rule, c.says, x.Rule.Because)
				}
			}
			if !named || stopped != (c.days || drunk) {
				t.Errorf("%s of %s, drunk %v: %s speaks %v, stop %v", c.quantity, c.result, drunk, c.rule, named, stopped)
			}
		}
	}
	for _, r := range set.Rules() {
		if r.Strength != StrengthStop && r.Strength != StrengthCare || !strings.HasPrefix(r.ID, "health-") || slices.Contains(notAboutDrinking, r.ID) {
			continue
		}
		r.node.leaves(func(n *node) {
			if q := n.leaf.Quantity; !covered[q] {
				t.Errorf("%s judges %s, which the table of this test lacks", r.ID, q)
			}
		})
	}
}
