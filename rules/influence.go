package rules

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"forebed/chem/bed"
	"forebed/chem/water"
)

// Influence is how far one input moves the answer when it goes from the low to
// the high end of what it may be, all else staying in the middle.
type Influence struct {
	Row   int     `json:"row"` // index into rows
	Input string  `json:"input"`
	Low   string  `json:"low"` // the ends that were tried
	High  string  `json:"high"`
	AtLow float64 `json:"cost_at_low"` // over the horizon
	AtEnd float64 `json:"cost_at_high"`
	Swing float64 `json:"swing"` // distance between the two
	Rank  int     `json:"rank"`  // 1 moves the most
}

// mostInfluences is how many inputs a row lists.
const mostInfluences = 3

// influences finds the inputs that move the cost of each row most.
func (c *Comparison) influences(all []contender) {
	for i := range all {
		list := all[i].influences()
		slices.SortStableFunc(list, func(a, b Influence) int { return cmp.Compare(b.Swing, a.Swing) })
		for k := range list[:min(mostInfluences, len(list))] {
			list[k].Row, list[k].Rank = i, k+1
			c.Sensitivity = append(c.Sensitivity, list[k])
		}
	}
}

// trial changes one input of a one-draw bench.
type trial struct {
	name, low, high string
	set             func(b *bench, high bool)
}

// demandRange is how far the demand may miss its estimate, up and down.
// Common practice, no source.
const demandRange = 0.3

func (x *contender) influences() []Influence {
	var out []Influence
	for _, t := range x.trials() {
		var cost [2]float64
		ok := true
		for k, high := range []bool{false, true} {
			b := x.b.pick([]int{x.b.central})
			rig := *x.rig
			b.rig = &rig
			t.set(b, high)
			b.serve()
			c, err := b.smoothCost(x.r.t)
			ok = ok && err == nil
			cost[k] = c
		}
		if ok {
			out = append(out, Influence{Input: t.name, Low: t.low, High: t.high, AtLow: cost[0], AtEnd: cost[1], Swing: max(cost[0], cost[1]) - min(cost[0], cost[1])})
		}
	}
	return out
}

// smoothCost is what a train costs over the horizon in the only draw of a
// bench, fills counted in parts.
func (b *bench) smoothCost(t train) (float64, error) {
	legs := b.ride(t)
	a, err := b.open(t, legs, b.sizes(t, legs, true))
	if err != nil {
		return 0, err
	}
	a.parts = true
	life := b.life(0, &b.feed(legs, len(t))[0])
	return a.bill(b, 0, life.Residue, nil).total().Money(), nil
}

func (x *contender) trials() []trial {
	u := x.rig.Use
	out := []trial{
		{"demand", fmt.Sprintf("%.3g rinses a week", u.RinsesPerWeek*(1-demandRange)), fmt.Sprintf("%.3g rinses a week", u.RinsesPerWeek*(1+demandRange)),
			func(b *bench, high bool) { b.rig.Use.RinsesPerWeek = u.RinsesPerWeek * (1 + sign(high)*demandRange) }},
	}
	if low, high := x.extremeWaters(); low >= 0 {
		raw := x.b.raw
		out = append(out, trial{"what the report leaves open of the water",
			fmt.Sprintf("anion load %.3g meq/L", float64(raw[low].Load().Anion)), fmt.Sprintf("anion load %.3g meq/L", float64(raw[high].Load().Anion)),
			func(b *bench, up bool) {
				b.raw = []water.Water{raw[low]}
				if up {
					b.raw = []water.Water{raw[high]}
				}
			}})
	}
	v := x.rig.Vessels[0]
	out = append(out, trial{"capacity and condition of the resin",
		fmt.Sprintf("anion half %.3g eq/L", v.Condition.AnionCapacity.Low), fmt.Sprintf("anion half %.3g eq/L", v.Condition.AnionCapacity.High),
		func(b *bench, high bool) {
			for k := range b.beds {
				c := x.rig.Vessels[k].Condition
				pick := func(i bed.Interval) bed.Interval {
					if high {
						return bed.Interval{Low: i.High, Typical: i.High, High: i.High}
					}
					return bed.Interval{Low: i.Low, Typical: i.Low, High: i.Low}
				}
				end := bed.Condition{CationCapacity: pick(c.CationCapacity), AnionCapacity: pick(c.AnionCapacity),
					CationConversion: pick(c.CationConversion), AnionConversion: pick(c.AnionConversion), Distribution: pick(c.Distribution)}
				b.beds[k] = []bed.Vessel{end.Typical(x.rig.Vessels[k].Vessel)}
			}
		}})
	prices := &x.rig.Prices
	for _, key := range slices.Sorted(maps.Keys(x.b.purse.index)) {
		row, i := prices.rows[key], x.b.purse.index[key]
		if row.High <= row.Low || !x.pays(i) {
			continue
		}
		d, _ := defaultPrice(key)
		price := func(x float64) string {
			if d.per == "each" {
				return fmt.Sprintf("%.4g %s", x, prices.Currency)
			}
			return fmt.Sprintf("%.4g %s/%s", x*unitSize(d.per), prices.Currency, d.per)
		}
		out = append(out, trial{"price: " + d.title, price(row.Low), price(row.High),
			func(b *bench, high bool) {
				b.purse.at = slices.Clone(b.purse.at)
				b.purse.at[i] = []float64{row.Low}
				if high {
					b.purse.at[i] = []float64{row.High}
				}
			}})
	}
	return out
}

// pays reports whether the account has a line at a price.
func (x *contender) pays(price int) bool {
	return slices.ContainsFunc(x.r.account.lines, func(l line) bool { return l.price == price })
}

func sign(high bool) float64 {
	if high {
		return 1
	}
	return -1
}

// extremeWaters returns the draws at P10 and P90 of the anion load.
func (x *contender) extremeWaters() (low, high int) {
	n := len(x.b.raw)
	if n < 10 {
		return -1, -1
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	slices.SortFunc(order, func(i, j int) int {
		return cmp.Or(cmp.Compare(x.b.raw[i].Load().Anion, x.b.raw[j].Load().Anion), cmp.Compare(i, j))
	})
	return order[n/10], order[n-1-n/10]
}
