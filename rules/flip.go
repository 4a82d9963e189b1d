package rules

import (
	"context"
	"errors"
	"fmt"
	"math"
	"strings"

	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// Flip is where the choice between two rows changes: the demand or the feed at
// which they cost the same over the horizon.
type Flip struct {
	A      int     `json:"a"` // indexes into rows
	B      int     `json:"b"`
	Water  string  `json:"water"`
	Rig    string  `json:"rig"`
	By     string  `json:"by"`     // "demand" or "feed"
	Factor float64 `json:"factor"` // times what it is now
	At     float64 `json:"at"`     // L a year, or mg/L of dissolved solids
	Below  string  `json:"cheaper_below"`
	Above  string  `json:"cheaper_above"`
	Text   string  `json:"text"` // names water and rig where there are several
}

// The search for flips covers this many times, up and down, what is now.
const flipReach = 20.0

// flipSteps is how many steps the range of factors is looked through in; in
// each step that changes the sign the root is solved for.
const flipSteps = 24

// flips solves for the demand and the feed at which each pair of plans on one
// rig and one water changes places. Fills are counted in parts there, so that
// the cost is smooth but for changes of size; the account itself counts them
// whole.
func (c *Comparison) flips(ctx context.Context, all []contender) error {
	for _, by := range []string{"demand", "feed"} {
		curves := make([][]float64, len(all))
		for i := range all {
			if err := ctx.Err(); err != nil {
				return err
			}
			for k := range flipSteps + 1 {
				cost, err := all[i].smooth(by, flipFactor(k))
				if err != nil {
					return err
				}
				curves[i] = append(curves[i], cost)
			}
		}
		for i := range all {
			for j := i + 1; j < len(all); j++ {
				if all[i].source != all[j].source || all[i].rig != all[j].rig {
					continue
				}
				for k := range flipSteps {
					before, after := curves[i][k]-curves[j][k], curves[i][k+1]-curves[j][k+1]
					if before != 0 && after != 0 && (before < 0) != (after < 0) {
						f, err := solveFlip(&all[i], &all[j], by, k, before)
						if err != nil {
							return err
						}
						f.A, f.B, f.Water, f.Rig = i, j, all[i].source.Name, all[i].rig.Name
						if where := c.place(i); len(where) > 0 {
							f.Text = strings.Join(where, ", ") + ": " + f.Text
						}
						c.Flips = append(c.Flips, f)
					}
				}
			}
		}
	}
	return nil
}

// flipFactor returns the factor of step k, evenly spaced in its logarithm.
func flipFactor(k int) float64 {
	return math.Exp(math.Log(flipReach) * (2*float64(k)/flipSteps - 1))
}

// solveFlip solves for the factor within step k at which two contenders cost
// the same; before is the gap at its beginning.
func solveFlip(a, b *contender, by string, k int, before float64) (Flip, error) {
	var fault error
	gap := func(logFactor float64) float64 {
		x, err := a.smooth(by, math.Exp(logFactor))
		fault = errors.Join(fault, err)
		y, err := b.smooth(by, math.Exp(logFactor))
		fault = errors.Join(fault, err)
		return x - y
	}
	factor := math.Exp(bisect(gap, math.Log(flipFactor(k)), math.Log(flipFactor(k+1)), before))
	below, above := a.spec.Name, b.spec.Name
	if before > 0 {
		below, above = above, below
	}
	f := Flip{By: by, Factor: factor, Below: below, Above: above}
	what := ""
	if by == "demand" {
		f.At = float64(a.rig.Use.YearVolume()) * factor
		what = fmt.Sprintf("%.0f gal (%.0f L) a year", unit.Litres(f.At).Gallons(), f.At)
	} else {
		f.At = float64(a.b.raw[a.b.central].DissolvedSolids()) * factor
		what = fmt.Sprintf("%.0f mg/L of dissolved solids in the feed", f.At)
	}
	f.Text = fmt.Sprintf("below %s %q costs less, above it %q (%.2g times what it is now)", what, below, above, factor)
	return f, fault
}

// bisect halves the interval in which f changes sign until it is narrower than
// a millionth. f may jump: then the jump is the answer.
func bisect(f func(float64) float64, low, high, atLow float64) float64 {
	for high-low > 1e-6 {
		mid := (low + high) / 2
		if x := f(mid); x != 0 && (x < 0) == (atLow < 0) {
			low = mid
		} else {
			high = mid
		}
	}
	return (low + high) / 2
}

// smooth returns the cost over the horizon in the central draw, fills counted
// in parts, at a multiple of the demand or of the feed's minerals.
func (x *contender) smooth(by string, factor float64) (float64, error) {
	b := x.b.pick([]int{x.b.central})
	rig := *x.rig
	switch by {
	case "demand":
		rig.Use.RinsesPerWeek *= factor
		rig.Use.BusiestDay *= max(1, factor)
	case "feed":
		w, err := scaled(&b.raw[0], factor)
		if err != nil {
			return 0, err
		}
		b.raw = []water.Water{w}
	}
	b.rig = &rig
	return b.smoothCost(x.r.t)
}

// scaled returns a water with so many times the minerals, carbon dioxide and
// silica, at about the same pH.
func scaled(w *water.Water, factor float64) (water.Water, error) {
	s := *w
	carbon := w.TotalCarbon()
	for i := range s.Ion {
		s.Ion[i] *= unit.MmolPerL(factor)
	}
	s.Silica *= unit.MmolPerL(factor)
	return s.WithCarbon(carbon * unit.MmolPerL(factor))
}

// CapacityRow is what a fill gives at one strength of the feed, for the mix of
// ions of this water, beside the figure of the rule of thumb.
type CapacityRow struct {
	Water string  `json:"water"`
	Rig   string  `json:"rig"`
	TDS   float64 `json:"dissolved_solids_mg_per_l"`
	Life  Band    `json:"life_l"`
	Thumb float64 `json:"rule_of_thumb_l"`
	Why   string  `json:"why_they_differ"`
}

// thumbRating is the trade's rating of new mixed bed, 10,000 grains as CaCO3
// per ft3 of resin (treatment ledger A08, verified), which the rule of thumb
// divides by the reading of a meter taken as CaCO3.
const thumbRating = 10_000 // grains per ft3

// RuleOfThumb returns the litres that the trade's rule gives for so much resin
// on a feed of so many mg/L of dissolved solids: 10,000 grains per ft3, every
// mg/L counted as CaCO3.
func RuleOfThumb(resin unit.Litres, tds unit.MgPerL) unit.Litres {
	const milligramsPerGrain = 64.79891
	if tds <= 0 {
		return unit.Litres(math.Inf(1))
	}
	return unit.Litres(thumbRating * resin.CubicFeet() * milligramsPerGrain / float64(tds))
}

// strengths of the capacity table, mg/L of dissolved solids.
var tableTDS = [...]float64{25, 50, 100, 150, 200, 300, 400, 600, 800, 1200}

// capacity tabulates the life of a fill of raw water against the strength of
// the feed, for each rig and water.
func (c *Comparison) capacity(all []contender) {
	c.Capacity = []CapacityRow{}
	type pair struct {
		source *NamedWater
		rig    *Rig
	}
	seen := map[pair]bool{}
	for i := range all {
		x := &all[i]
		if seen[pair{x.source, x.rig}] {
			continue
		}
		seen[pair{x.source, x.rig}] = true
		c.Capacity = append(c.Capacity, x.capacity()...)
	}
}

// drawsOfTable bounds the draws of a row of the capacity table.
const drawsOfTable = 64

func (x *contender) capacity() []CapacityRow {
	b := x.b.pick(x.b.strata(drawsOfTable))
	own := b.raw[b.central].DissolvedSolids()
	var resin unit.Litres
	for k := range x.rig.Vessels {
		resin += x.rig.Vessels[k].Vessel.Resin
	}
	var out []CapacityRow
	for _, tds := range append([]float64{float64(own)}, tableTDS[:]...) {
		lives := make([]float64, len(b.raw))
		for i := range b.raw {
			w, err := scaled(&b.raw[i], tds/float64(b.raw[i].DissolvedSolids()))
			if err != nil {
				lives[i] = 0
				continue
			}
			l := b.life(i, &w)
			lives[i] = bound(l.Residue)
		}
		out = append(out, CapacityRow{Water: x.source.Name, Rig: x.rig.Name, TDS: tds,
			Life: b.over(func(i int) float64 { return lives[i] }), Thumb: bound(RuleOfThumb(resin, unit.MgPerL(tds)))})
	}
	why := x.whyTheyDiffer(b, &out[0])
	for i := range out {
		out[i].Why = why
	}
	return out
}

// whyTheyDiffer takes the ratio of the computed life to the rule of thumb
// apart: what the mix weighs, what no meter sees, and what the vessel gives.
func (x *contender) whyTheyDiffer(b *bench, own *CapacityRow) string {
	w := &b.raw[b.central]
	load := w.Load()
	asCaCO3 := float64(w.DissolvedSolids()) / analyte.CaCO3Equivalent // meq/L that the rule takes the reading for
	unseen := float64(w.CO2 + w.Silica + w.Sulfide)
	return fmt.Sprintf("The rule reads %.0f mg/L as %.2f meq/L of CaCO3. This mix carries %.2f meq/L of metals and loads the anion half with %.2f, of which %.2f (carbon dioxide, silica) no pen sees; and the rule counts on %.2f eq of cations per litre of bed, whatever the halves hold and whatever share of them this flow uses. Here the two figures stand as %.2f to 1.",
		float64(w.DissolvedSolids()), asCaCO3, float64(load.Cation), float64(load.Anion), unseen, thumbRating*64.79891/1000/analyte.CaCO3Equivalent/float64(unit.CubicFeet(1)), own.Life.P50/own.Thumb)
}
