package rules

import (
	"fmt"
	"math"

	"forebed/chem/analyte"
)

// Finding is the answer of one rule at one place.
type Finding struct {
	Rule    *Rule
	Verdict Verdict      // over draws: yes above half, no below a tenth, else maybe
	Share   float64      // of the draws in which the condition holds; without draws 1 for yes, 0 otherwise
	Unsure  float64      // of the draws in which what is unknown leaves it open; without draws 1 for maybe
	Working string       // the condition with the values put in
	Settles []analyte.ID // of a maybe: the tests that would settle it

	numbers string // of Working, what compares numbers
}

// Limits are the must and should rules of one scope, ready for the search.
type Limits struct {
	rules []*Rule
}

// Rules returns the rules, in the order of the verdicts that Judge gives.
func (l *Limits) Rules() []*Rule { return l.rules }

// Judge writes the verdict of each rule on v into out, which has room for
// them. It allocates nothing.
func (l *Limits) Judge(v *Values, out []Verdict) {
	for i, r := range l.rules {
		out[i] = r.node.judge(v)
	}
}

// Set is the rules in force: the built-in packs and what a user's packs
// changed.
type Set struct {
	rules []*Rule
}

// Rules returns every rule in force, in the order of the packs.
func (s *Set) Rules() []*Rule { return s.rules }

// Rule returns the rule with an id.
func (s *Set) Rule(id string) (*Rule, bool) {
	for _, r := range s.rules {
		if r.ID == id {
			return r, true
		}
	}
	return nil, false
}

// Limits returns the must and should rules of a scope.
func (s *Set) Limits(at Scope) *Limits {
	l := &Limits{}
	for _, r := range s.rules {
		if r.AppliesTo.covers(at) && (r.Level == LevelMust || r.Level == LevelShould) {
			l.rules = append(l.rules, r)
		}
	}
	return l
}

// Judge judges every rule of a scope, in the order of the packs. Left out are
// rules that do not hold, and all but the musts that might hold only because
// nothing is known of their quantities.
func (s *Set) Judge(at Scope, f *Facts) []Finding {
	var here []*Rule
	for _, r := range s.rules {
		if r.AppliesTo.covers(at) {
			here = append(here, r)
		}
	}
	var found []Finding
	for _, x := range f.judgeAll(here) {
		if x.Verdict == Yes || x.Verdict == Maybe && !f.baseless(x.Rule) {
			f.explain(&x)
			found = append(found, x)
		}
	}
	return found
}

// The shares of draws between which a rule is a maybe.
const (
	conditionalFrom = 0.10 // at least a tenth of the draws
	holdsAbove      = 0.50 // more than half of the draws
)

// judge answers one rule.
func (f *Facts) judge(r *Rule) Finding {
	x := f.judgeAll([]*Rule{r})[0]
	f.explain(&x)
	return x
}

// judgeAll answers rules, without their working: those that differ from draw
// to draw on every draw, the others once.
func (f *Facts) judgeAll(rules []*Rule) []Finding {
	all := make([]Finding, len(rules))
	n := f.drawCount()
	var varying []int
	for i, r := range rules {
		x := &all[i]
		x.Rule = r
		if n > 0 && r.node.varies(f) {
			varying = append(varying, i)
			continue
		}
		switch x.Verdict = r.node.judge(&f.Values); x.Verdict {
		case Yes:
			x.Share = 1
		case Maybe:
			x.Unsure = 1
		}
	}
	if varying == nil {
		return all
	}
	holds, unsure := make([]int, len(rules)), make([]int, len(rules))
	v := f.Values
	for d := range n {
		f.draw(d, &v)
		for _, i := range varying {
			switch rules[i].node.judge(&v) {
			case Yes:
				holds[i]++
			case Maybe:
				unsure[i]++
			}
		}
	}
	for _, i := range varying {
		x := &all[i]
		x.Share, x.Unsure = float64(holds[i])/float64(n), float64(unsure[i])/float64(n)
		switch {
		case x.Share > holdsAbove:
			x.Verdict = Yes
		case x.Share+x.Unsure >= conditionalFrom:
			x.Verdict = Maybe
		}
	}
	return all
}

// explain fills in what the finding rests on and what would settle it.
func (f *Facts) explain(x *Finding) {
	x.Working, x.numbers, x.Settles = f.working(&x.Rule.node)
	if x.Share > 0 && x.Share < 1 {
		share := fmt.Sprintf("; so in %.0f %% of the %d draws", 100*x.Share, f.drawCount())
		x.Working, x.numbers = x.Working+share, x.numbers+share
	}
	if len(x.Rule.Settle) > 0 {
		x.Settles = nil
		for _, id := range x.Rule.Settle {
			x.Settles = append(x.Settles, analyte.ID(id))
		}
	}
}

// baseless reports whether nothing at all is known of what the rule's doubt
// turns on. Nobody is warned of arsenic because nobody looked for it: what to
// look for is the business of the asks. A must stays open where a test of the
// water would settle it, and not where only the place was not described.
func (f *Facts) baseless(r *Rule) bool {
	grounds := false
	r.node.reasons(&f.Values, func(leaf *node) {
		x := f.at[leaf.quantity]
		known := x.Known() && (f.measured[leaf.quantity] || !math.IsInf(x.High, 1)) // at least the dissolved part, of a total nobody measured, is no finding
		grounds = grounds || known || r.Level == LevelMust && leaf.quantity < qResinVolume
	})
	return !grounds
}

// drawCount is the number of draws that Facts hold.
func (f *Facts) drawCount() int {
	if len(f.draws) > 0 {
		return len(f.draws)
	}
	for _, xs := range f.perDraw {
		return len(xs)
	}
	return 0
}

// draw puts the values of one draw into v, which starts as a copy of f's.
func (f *Facts) draw(i int, v *Values) {
	if i < len(f.draws) {
		v.SetWater(&f.draws[i])
	}
	for q, xs := range f.perDraw {
		if i < len(xs) {
			v.at[q] = Interval{xs[i], xs[i]}
		}
	}
}

// varies reports whether the condition names a quantity that differs from
// draw to draw.
func (n *node) varies(f *Facts) bool {
	for i := range n.kids {
		if n.kids[i].varies(f) {
			return true
		}
	}
	if n.leaf == nil || n.op == opUnknown {
		return false
	}
	_, per := f.perDraw[n.quantity]
	return per || len(f.draws) > 0 && n.quantity < numWaterQuantities
}
