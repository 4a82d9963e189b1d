package render

import (
	"slices"
	"strings"

	"forebed/rules"
)

// withheld stands for the size of a stage that is not shown yet.
const withheld = "withheld until the stop cautions are acknowledged"

// Shown returns a plan as it may be shown: while it carries a stop caution that
// nobody has acknowledged, without what to buy, which are the sizes and the
// prices that name them.
func Shown(p *rules.Plan, acknowledged bool) *rules.Plan {
	if acknowledged || !HasStop(p) {
		return p
	}
	q := *p
	q.Stages = slices.Clone(p.Stages)
	for i := range q.Stages {
		q.Stages[i].Size = rules.StageSize{Text: withheld}
	}
	q.Assumptions = slices.DeleteFunc(slices.Clone(p.Assumptions), func(a rules.Assumption) bool {
		return strings.HasPrefix(a.Field, "/prices/equipment/") || strings.HasPrefix(a.Field, "/prices/items/")
	})
	return &q
}
