package rules

import (
	"fmt"
	"slices"

	"forebed/chem/bed"
	"forebed/chem/process"
	"forebed/chem/unit"
)

// breach is a limit that a train breaks, or may break, at one of its places.
type breach struct {
	place  int // stage, or len(train) for the vessel
	rule   *Rule
	window int // index into the stage's windows; -1 for a rule
	needs  process.Needs
	must   bool
	share  float64 // of the draws in which it counts as broken
	drawn  float64 // of the draws in which it is broken; more than counts where it rests on an unmeasured metal
	doubt  float64 // of the draws in which that is not known
}

// metals are the quantities of which the draws hold what is usual in wells when
// nobody measured them. That is good for the load, where they hardly count, but
// nobody buys a filter for iron that may not be there: a limit that rests on an
// unmeasured metal alone makes a train conditional at most, and what is
// recommended of it is asked for and not counted.
var metals = [...][]Quantity{
	{qIronDissolved, qIronParticulate, qIronTotal, qIronPerFill},
	{qManganeseDissolved, qManganeseParticulate, qManganese, qManganesePerFill},
}

// unmeasured reports whether a condition rests on a metal that the report does
// not give.
func (n *node) unmeasured(report *Values) bool {
	for i := range n.kids {
		if n.kids[i].unmeasured(report) {
			return true
		}
	}
	return n.leaf != nil && guessed(report, n.quantity)
}

// guessed reports whether a quantity is one of a metal that was not measured.
func guessed(report *Values, q Quantity) bool {
	either := false
	for _, m := range metals {
		named := slices.Contains(m, q) || q == qMetals
		if !named {
			continue
		}
		known := false
		for _, r := range m {
			known = known || report.measured[r]
		}
		either = either || !known
	}
	return either
}

// bounded is the share of draws in which a limit counts as broken.
func bounded(share float64, guess, must bool) float64 {
	switch {
	case !guess:
		return share
	case must:
		return min(share, holdsAbove)
	}
	return 0
}

// windowQuantity finds the quantity of rules that a window bounds.
func windowQuantity(q process.Quantity) Quantity {
	switch q {
	case process.DissolvedIron, process.OxygenPerIron:
		return qIronDissolved
	case process.AnyIron:
		return qIronTotal
	case process.FlocIron:
		return qIronParticulate
	case process.DissolvedManganese:
		return qManganeseDissolved
	case process.IronAndManganese:
		return qMetals
	}
	return numWaterQuantities // none of the metals
}

// judge returns the limits that a train breaks in any draw, place by place.
func (b *bench) judge(t train, legs []*leg, sizes []*fitted, lives []bed.Life) []breach {
	var found []breach
	n := float64(len(b.raw))
	for i := range t {
		facts := t[i].stage.Facts()
		for w := range facts.Windows {
			effect := facts.Windows[w].Effect
			if effect == process.Reduced || legs[i].outside[w]+legs[i].unsure[w] == 0 {
				continue
			}
			must, guess := effect == process.Damages, guessed(b.report, windowQuantity(facts.Windows[w].Quantity))
			found = append(found, breach{place: i, window: w, must: must,
				share: bounded(float64(legs[i].outside[w])/n, guess, must), drawn: float64(legs[i].outside[w]) / n, doubt: float64(legs[i].unsure[w]) / n})
		}
		if legs[i].failed > 0 {
			found = append(found, breach{place: i, window: -1, must: true, share: float64(legs[i].failed) / n, drawn: float64(legs[i].failed) / n})
		}
		for _, need := range []struct {
			need process.Needs
			met  bool
		}{{process.NeedsDrain, b.rig.Site.Drain}, {process.NeedsPower, b.rig.Site.Power}} {
			if facts.Needs.Has(need.need) && !need.met {
				found = append(found, breach{place: i, window: -1, needs: need.need, must: true, share: 1})
			}
		}
	}
	for i := 0; i <= len(t); i++ {
		s := b.spotAt(t, sizes, i)
		found = b.judgeRules(found, &s, legs, lives)
	}
	return found
}

// musts returns the must limits alone, without those that rest on a metal that
// nobody measured.
func (l *Limits) musts(report *Values) *Limits {
	m := &Limits{}
	for _, r := range l.rules {
		if r.Level == LevelMust && !r.node.unmeasured(report) {
			m.rules = append(m.rules, r)
		}
	}
	return m
}

// judgeRules adds the must and should rules that are broken at one place.
func (b *bench) judgeRules(found []breach, s *spot, legs []*leg, lives []bed.Life) []breach {
	limits := b.limits[s.scope()]
	rules := limits.Rules()
	if len(rules) == 0 {
		return found
	}
	verdicts := make([]Verdict, len(rules))
	yes, maybe := make([]int, len(rules)), make([]int, len(rules))
	v := s.values
	in := b.feed(legs, s.i)
	for d := range in {
		v.SetWater(&in[d])
		if s.i == len(s.t) {
			b.fillValues(&v, d, legs, lives)
		}
		limits.Judge(&v, verdicts)
		for r, x := range verdicts {
			switch x {
			case Yes:
				yes[r]++
			case Maybe:
				maybe[r]++
			}
		}
	}
	n := float64(len(in))
	for r, rule := range rules {
		if yes[r]+maybe[r] > 0 {
			must := rule.Level == LevelMust
			found = append(found, breach{place: s.i, rule: rule, window: -1, must: must,
				share: bounded(float64(yes[r])/n, yes[r] > 0 && rule.node.unmeasured(b.report), must), drawn: float64(yes[r]) / n, doubt: float64(maybe[r]) / n})
		}
	}
	return found
}

// fillValues states what one fill takes in and how long it lasts, in draw d.
func (b *bench) fillValues(v *Values, d int, legs []*leg, lives []bed.Life) {
	w := &b.feed(legs, len(legs))[d]
	life := lives[d].Residue
	u := &b.rig.Use
	x := taken(w, life, b.rig.Vessels[0].Vessel.Resin)
	put := func(q Quantity, x float64) { v.at[q] = Interval{x, x} }
	put(qIronPerFill, x.iron)
	put(qManganesePerFill, x.manganese)
	put(qSolidsPerFill, x.solids)
	put(qFillVolume, bound(life))
	put(qRinsesPerFill, bound(life)/float64(u.Rinse))
	put(qFillMonths, min(u.months(life), FillYears*12))
}

// months of use that a life covers.
func (u *Use) months(life unit.Litres) float64 {
	return bound(life) / float64(u.YearVolume()) * u.MonthsPerYear
}

// admissible reports whether no must limit is broken in more than half of the
// draws.
func admissible(found []breach) bool {
	for _, x := range found {
		if x.must && x.share > holdsAbove {
			return false
		}
	}
	return true
}

// conditional reports whether a must limit is broken in a tenth to a half of
// the draws.
func conditional(found []breach) bool {
	for _, x := range found {
		if x.must && x.share >= conditionalFrom && x.share <= holdsAbove {
			return true
		}
	}
	return false
}

// A broken should is no reason to drop a train, but not free either. When
// trains are ranked by cost, each topic (iron, particles ...) of which a should
// is broken counts as an allowance: at the vessel as one fill in five years, or
// a tenth of the fills if that is more, lost to fouling; at a stage as half its
// equipment bought once more over the horizon. Common practice, no source: no
// published figure says what a foulant costs (treatment ledger section 9), so
// it only ranks and is never shown as money.
const (
	yearsPerLostFill = 5
	shareOfFillsLost = 0.1
	shareOfEquipment = 0.5
)

// allowance returns what the broken shoulds of a train count for.
func (b *bench) allowance(t train, a *account, found []breach, fills float64) Cents {
	type where struct {
		place int
		topic string
	}
	worst := map[where]float64{}
	weight := make([]float64, len(t)+1) // of each place, its topics together
	for k := range found {
		x := &found[k]
		if x.must || x.share < conditionalFrom { // the same share from which a limit is named as a reason
			continue
		}
		at := where{x.place, x.topic(t)}
		if more := x.share - worst[at]; more > 0 {
			worst[at] += more
			weight[x.place] += more
		}
	}
	fresh, _ := b.purse.price("resin")
	var sum float64
	for i := range a.lines {
		l := &a.lines[i]
		w := weight[l.stage]
		if w == 0 {
			continue
		}
		price := l.stated
		if l.price >= 0 {
			price = b.purse.at[l.price][b.central]
		}
		if l.exchange { // a service bills fouled resin as new
			price = max(price, b.purse.at[fresh][b.central])
		}
		switch {
		case l.stage < len(t) && l.first:
			sum += min(1, w*shareOfEquipment) * l.amount * price
		case l.vessel && l.by == byRefill:
			lost := w * max(float64(b.rig.Use.HorizonYears)/yearsPerLostFill, shareOfFillsLost*fills)
			sum += min(lost, fills) * l.amount * price
		}
	}
	return cents(sum)
}

// topic of a breach: what it is about, so that two rules about the same
// foulant count once.
func (x *breach) topic(t train) string {
	switch {
	case x.rule != nil:
		return x.rule.Topic
	case x.window >= 0:
		return t[x.place].stage.Facts().Windows[x.window].Quantity.String()
	}
	return "site"
}

// lack says what a stage needs and the site does not have; nothing if the
// breach is of another sort.
func (x *breach) lack() string {
	switch x.needs {
	case process.NeedsDrain:
		return "needs a drain, and the site has none"
	case process.NeedsPower:
		return "needs electricity, and the site has none"
	}
	return ""
}

// settle says how a breach that is no rule's and no window's goes away.
func (x *breach) settle() string {
	switch x.needs {
	case process.NeedsDrain:
		return "Lead a drain with an air gap to the rig, as the local code asks, or leave the stage out."
	case process.NeedsPower:
		return "Bring electricity to the rig, fitted by someone licensed, or leave the stage out."
	}
	return "Leave the stage out."
}

// sentence says what a breach is about, in plain words.
func (x *breach) sentence(t train, legs []*leg) string {
	switch {
	case x.rule != nil:
		return x.rule.Because
	case x.window >= 0:
		return t[x.place].stage.Facts().Windows[x.window].Text
	case x.needs != 0:
		return t[x.place].stage.Title() + " " + x.lack()
	}
	return fmt.Sprint(legs[x.place].fault)
}
