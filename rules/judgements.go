package rules

import (
	"cmp"
	"fmt"
	"maps"
	"slices"
	"strings"
)

// strengths in the order in which cautions are printed.
var strengths = []Strength{StrengthStop, StrengthCare, StrengthNote}

// judgements fills in the cautions, the advice and what to test next.
func (w *writer) judgements(p *Plan) {
	asked := map[string]bool{}
	warned := map[string]bool{}
	hear := func(found []Finding) {
		for _, x := range found {
			switch {
			case x.Rule.Level == LevelCaution && !warned[x.Rule.ID]:
				warned[x.Rule.ID] = true
				p.Cautions = append(p.Cautions, x.caution())
			case x.Rule.Level == LevelAsk || x.Verdict == Maybe && x.Rule.Level == LevelMust: // a should decides nothing that a test would change
				w.ask(p, x, asked)
			}
		}
	}
	// The report alone, without the draws: nobody is warned of nitrate because other wells have it.
	report := FactsOfRig(w.in.Sample, nil, w.b.rig)
	report.SetChecks(w.in.Water.Checks)
	hear(w.in.Rules.Judge(AtReport, report))
	r := w.chosen
	site := w.factsAt(w.none, 0) // the raw water: gas and frost meet it before any stage does
	site.Flag(qInstalled, len(w.b.rig.Installed) > 0)
	hear(w.in.Rules.Judge(AtSite, site))
	for i := 0; i <= len(r.t); i++ {
		spot := spot{t: r.t, i: i}
		found := w.in.Rules.Judge(spot.scope(), w.factsAt(r, i))
		hear(found)
		if i < len(p.Stages) {
			p.Stages[i].Why = append(p.Stages[i].Why, advice(found)...)
		}
	}
	slices.SortStableFunc(p.Cautions, func(a, b Caution) int {
		return cmp.Compare(slices.Index(strengths, Strength(a.Level)), slices.Index(strengths, Strength(b.Level)))
	})
}

// caution makes the plan's caution of a finding.
func (x Finding) caution() Caution {
	return Caution{Topic: x.Rule.Topic, Level: string(x.Rule.Strength), Text: x.Sentence(), Remedy: x.Rule.Remedy, Rule: x.Rule.ID, At: x.Rule.AppliesTo, Source: x.Rule.Citation()}
}

func advice(found []Finding) []Reason {
	var out []Reason
	for _, x := range found {
		if x.Rule.Level == LevelAdvice && x.Verdict == Yes {
			out = append(out, Reason{Rule: x.Rule.ID, Level: string(LevelAdvice), Sentence: x.Rule.Because, Working: x.Working, Source: x.Rule.Source})
		}
	}
	return out
}

// ask adds the tests that would settle a finding. What a rule cannot name is
// asked under the rule's topic.
func (w *writer) ask(p *Plan, x Finding, asked map[string]bool) {
	for _, id := range x.Settles {
		if asked[string(id)] {
			continue
		}
		asked[string(id)] = true
		why := x.Rule.Because
		if x.Rule.Level != LevelAsk {
			why = x.Sentence()
		}
		p.Asks = append(p.Asks, Ask{Analyte: string(id), Why: why, Rule: x.Rule.ID, Source: x.Rule.Source})
	}
	if len(x.Settles) == 0 && x.Rule.Level == LevelAsk && !asked[x.Rule.ID] {
		asked[x.Rule.ID] = true
		p.Asks = append(p.Asks, Ask{Analyte: x.Rule.Topic, Why: x.Rule.Because, Rule: x.Rule.ID, Source: x.Rule.Source})
	}
}

func (w *writer) checks() []Check {
	out := []Check{}
	for _, c := range w.in.Water.Checks {
		out = append(out, Check{Code: c.Code, Level: string(c.Severity), Text: c.Sentence, Widens: c.Effect})
	}
	for _, c := range w.in.Water.Cautions {
		out = append(out, Check{Code: c.ID, Level: "note", Text: c.Text})
	}
	return out
}

func (w *writer) assumptions() []Assumption {
	var out []Assumption
	for _, text := range w.in.Water.Assumptions {
		out = append(out, Assumption{Field: "water", Text: text, Basis: "completion of the analysis"})
	}
	out = append(out, w.in.Rig.Assumptions...)
	out = append(out, w.pricesTaken()...)
	for k := range w.in.Rig.Vessels {
		c := w.in.Rig.Vessels[k].Condition
		out = append(out, Assumption{Field: "vessel", Text: "capacity of " + c.Name + " resin",
			Value: fmt.Sprintf("cation %.3g to %.3g eq/L, anion %.3g to %.3g eq/L", c.CationCapacity.Low, c.CationCapacity.High, c.AnionCapacity.Low, c.AnionCapacity.High), Basis: c.Source})
	}
	out = append(out,
		Assumption{Field: "vessel", Text: "longest time a fill is trusted in use, whatever its capacity", Value: fmt.Sprintf("%d years", FillYears), Basis: "ledger A30; common practice, no source"},
		Assumption{Field: "vessel", Text: "run length", Value: "computed, not measured", Basis: "no measured mixed-bed curve of a natural water was found; the rig's own log is the calibration"},
		Assumption{Field: "prices", Text: "what a recommended limit that a train breaks counts for, in ranking only", Value: fmt.Sprintf("for each topic one fill in %d years, or %.0f %% of the fills, lost to fouling", yearsPerLostFill, 100*shareOfFillsLost), Basis: "common practice, no source"},
		Assumption{Field: "prices", Text: "interest and equipment that wears out within the horizon", Value: "not counted, apart from the parts in the upkeep", Basis: "simplification"},
	)
	return out
}

// pricesTaken lists the default prices that the plan's account rests on, of
// equipment, spare parts and what stages use up.
func (w *writer) pricesTaken() []Assumption {
	var out []Assumption
	prices := &w.in.Rig.Prices
	for _, key := range slices.Sorted(maps.Keys(w.b.purse.index)) {
		i, row := w.b.purse.index[key], prices.rows[key]
		used := slices.ContainsFunc(w.chosen.account.lines, func(l line) bool { return l.price == i })
		if r, ok := defaultPrice(key); ok && used && !row.stated && strings.Contains(key, "/") {
			field := "/prices/items/" + pointer(key)
			if equipment, is := strings.CutPrefix(key, "equipment/"); is {
				field = "/prices/equipment/" + pointer(equipment)
			}
			out = append(out, Assumption{Field: field, Text: "price: " + r.title, Value: priceText(r, prices.rate, prices.Currency), Basis: r.source})
		}
	}
	return out
}
