package rules

import (
	"encoding/csv"
	"os"
	"slices"
	"strings"
	"testing"

	"forebed/chem/analyte"
	"forebed/chem/process"
)

// Every row of the reference ledgers is cited by a rule or left out for a
// stated reason.
func TestLedgersAreCovered(t *testing.T) {
	file, err := os.Open("testdata/coverage.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer file.Close()
	r := csv.NewReader(file)
	r.Comment = '#'
	records, err := r.ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	cited := map[string][]string{}
	for _, rule := range ours(t).Rules() {
		for _, row := range rule.Ledger {
			cited[row] = append(cited[row], rule.ID)
		}
	}
	known := map[string]bool{}
	for _, rec := range records[1:] {
		row, quantity, why := rec[0], rec[1], rec[2]
		known[row] = true
		if why == "" && cited[row] == nil {
			t.Errorf("%s (%s): no rule cites it and no reason is given", row, quantity)
		}
		if why != "" && cited[row] != nil {
			t.Errorf("%s (%s): left out because %q, yet %v cite it", row, quantity, why, cited[row])
		}
	}
	// The numbers of rows of the two ledgers: a lost line must not pass.
	if len(known) != 237+468 {
		t.Errorf("%d ledger rows, expected %d", len(known), 237+468)
	}
	for row, ids := range cited {
		if !known[row] {
			t.Errorf("%v cite %s, which no ledger has", ids, row)
		}
	}
}

// topics are those that the design names: each must have a caution.
var topics = []string{
	"backflow", "brine_discharge", "oxidizer_handling", "hydrogen_sulfide", "coliform", "nitrate", "arsenic", "lead",
	"radionuclides", "pfas", "not_for_drinking", "freezing", "pressure", "electrical", "media_disposal",
	"corrosive_product", "sampling", "retest", "iron_bacteria", "product_ph", "home_regeneration", "gas_release",
	"stagnation", "resin_handling", "shock_chlorination",
}

func TestTopicsAreCovered(t *testing.T) {
	have := map[string]bool{}
	for _, r := range ours(t).Rules() {
		if r.Level == LevelCaution {
			have[r.Topic] = true
		}
	}
	for _, topic := range topics {
		if !have[topic] {
			t.Errorf("no caution on %s", topic)
		}
	}
}

// sameAs names the quantities of rules that answer for a quantity of a stage's
// window.
var sameAs = map[string][]string{
	"iron":                {"iron_total", "iron_dissolved", "iron_and_manganese"},
	"iron_and_manganese":  {"iron_and_manganese", "iron_total"},
	"manganese_dissolved": {"manganese_dissolved", "manganese"},
	"dissolved_oxygen":    {"oxygen"},
	"dissolved_solids":    {"tds"},
	"total_chlorine":      {"total_chlorine", "chloramine"},
	"combined_chlorine":   {"chloramine"},
}

// Every window that a stage states has a rule at that stage which looks at the
// same quantity, so that the packs can explain what the physics refuses.
func TestStageWindowsAreCovered(t *testing.T) {
	set := ours(t)
	for _, s := range process.Catalogue() {
		looked := map[string]bool{}
		for _, r := range set.Rules() {
			if r.AppliesTo.covers(StageScope(s.Kind())) {
				r.node.leaves(func(n *node) { looked[rows[n.quantity].id] = true })
			}
		}
		for _, w := range s.Facts().Windows {
			name := w.Quantity.String()
			names := append(slices.Clone(sameAs[name]), name)
			if !slices.ContainsFunc(names, func(n string) bool { return looked[n] }) {
				t.Errorf("%s/%s: no rule looks at %s, of which its window says %q", s.Kind(), s.Variant(), name, w.Text)
			}
		}
	}
}

// leaves calls f for every test of a quantity in the condition.
func (n *node) leaves(f func(*node)) {
	if n.leaf != nil {
		f(n)
	}
	for i := range n.kids {
		n.kids[i].leaves(f)
	}
}

// What a rule says must stand by itself: sentences, a source, a known status.
func TestRulesAreWellWritten(t *testing.T) {
	for _, r := range ours(t).Rules() {
		for name, text := range map[string]string{"because": r.Because, "remedy": r.Remedy} {
			if len(text) < 12 || !strings.HasSuffix(text, ".") {
				t.Errorf("%s: %s is no sentence: %q", r.ID, name, text)
			}
			if len(text) > 700 {
				t.Errorf("%s: %s has %d characters, more than anybody reads", r.ID, name, len(text))
			}
		}
		if strings.HasSuffix(r.Title, ".") || len(r.Title) > 100 {
			t.Errorf("%s: title %q", r.ID, r.Title)
		}
		if r.Source == "" || r.Status == "" {
			t.Errorf("%s: source or status is missing", r.ID)
		}
		if (r.Status == "seen" || r.Status == "computed") && len(r.Ledger) == 0 {
			t.Errorf("%s: %s, yet no ledger row holds it", r.ID, r.Status)
		}
		if habit := r.Status == "common practice"; habit && !strings.Contains(r.Source, "common practice") {
			t.Errorf("%s: the source does not say that it is common practice: %q", r.ID, r.Source)
		}
		if r.Level == LevelCaution && r.Strength == StrengthStop && !r.Safety {
			t.Errorf("%s: a stop that could be silenced", r.ID)
		}
	}
}

// What the quantities are read from, and the tests that the rules ask for, are
// analytes of the table.
func TestQuantitiesNameAnalytes(t *testing.T) {
	for q := range rows {
		r := &rows[q]
		if r.id == "" || r.title == "" || (r.measure == yesNo) != (r.absent != "") {
			t.Errorf("quantity %d (%s) is not complete", q, r.id)
		}
		for _, id := range append(slices.Clone(r.read), r.settle...) {
			if _, ok := analyte.Lookup(id); !ok {
				t.Errorf("%s names %q, which is no analyte", r.id, id)
			}
		}
	}
	if len(byName) != numQuantities {
		t.Errorf("%d names for %d quantities", len(byName), numQuantities)
	}
	for _, r := range ours(t).Rules() {
		for _, id := range r.Settle {
			if _, ok := analyte.Lookup(analyte.ID(id)); !ok {
				t.Errorf("%s asks for %q, which is no analyte", r.ID, id)
			}
		}
	}
}
