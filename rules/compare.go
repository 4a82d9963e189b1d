package rules

import (
	"context"
	"fmt"
	"math"
	"slices"
	"strings"
	"time"

	"forebed/chem/analysis"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// CompareVersion is the version field of the comparison document.
const CompareVersion = "forebed.compare/1"

// NamedWater is a water to compare on.
type NamedWater struct {
	Name   string
	Sample *analysis.Sample
	Water  *water.Composition
}

// PlanSpec names a plan to compare: the best by an aim, found anew for each
// water and rig, or the same stages for all.
type PlanSpec struct {
	Name   string
	Aim    string    // least_cost, least_upkeep, longest_life or none; empty where Stages are given
	Stages []Mention // in flow order; a variant left out is the first of its kind
}

// CompareInput is what is compared: every plan on every rig on every water.
type CompareInput struct {
	Waters []NamedWater
	Rigs   []Rig
	Plans  []PlanSpec
	Rules  *Set // nil for the built-in ones
}

// Comparison is the outcome.
type Comparison struct {
	Version      string        `json:"version"`
	Currency     string        `json:"currency"`
	HorizonYears []int         `json:"horizon_years"` // of each rig
	Cautions     []Caution     `json:"cautions"`      // the stop cautions of the waters and sites
	Rows         []CompareRow  `json:"rows"`
	Odds         []Odds        `json:"odds"`
	BreakEvens   []BreakEven   `json:"break_evens"`
	Flips        []Flip        `json:"flips"`
	Sensitivity  []Influence   `json:"sensitivity"`
	Capacity     []CapacityRow `json:"capacity"`
	Draws        int           `json:"draws"`
	Seed         uint64        `json:"seed"`
}

// CompareRow is one plan on one rig on one water.
type CompareRow struct {
	Water        string    `json:"water"`
	Rig          string    `json:"rig"`
	Plan         string    `json:"plan"`
	Stages       []Mention `json:"stages"`
	Status       Status    `json:"status"`
	Blocks       []Block   `json:"blocks,omitempty"`
	First        Band      `json:"first_cost"`
	PerYear      Band      `json:"cost_per_year"` // running costs, mean over the horizon
	Horizon      Band      `json:"cost_over_horizon"`
	PerRinse     Band      `json:"cost_per_rinse"`
	Life         Band      `json:"life_l"`
	UsableCation Band      `json:"usable_cation"` // share of the total capacity that serves before the end
	UsableAnion  Band      `json:"usable_anion"`
	RefillsYear  Band      `json:"refills_per_year"` // whole fills over the horizon, the first left out, a year
	Refills      []Refill  `json:"refills"`          // of the central draw, at most 24
	UpkeepHours  Band      `json:"upkeep_h_per_year"`
	WasteWater   Band      `json:"waste_water_l_per_year"`
	ResinDumped  Band      `json:"resin_to_landfill_l_per_year"`
	BottleNeck   string    `json:"bottleneck,omitempty"` // a caution about the vessel for this use
	CheapestOdds float64   `json:"cheapest_share"`       // share of the draws in which no other row of this water and demand costs less
}

// Refill is when a fill runs out.
type Refill struct {
	Year  int     `json:"year"`  // 1 is the first
	Week  float64 `json:"week"`  // of the season, from 0
	Month int     `json:"month"` // of the calendar, 1 to 12
	Text  string  `json:"text"`  // "year 1, middle of August"
}

// Odds is how often one row costs less than another over the same draws.
type Odds struct {
	A       int     `json:"a"` // indexes into rows
	B       int     `json:"b"`
	Cheaper float64 `json:"a_cheaper_share"`
	Saving  Band    `json:"saving_over_horizon"` // cost of B less that of A
}

// BreakEven is when a row has paid back what it costs more at the start than
// the same without one of its stages, or than the same on a cheaper rig.
type BreakEven struct {
	Row   int      `json:"row"`        // index into rows
	Over  *int     `json:"instead_of"` // index of the row with the cheaper rig; null if a stage is left out
	What  string   `json:"what"`       // "reverse osmosis", or "tank instead of cartridge"
	Water string   `json:"water"`
	Rig   string   `json:"rig"`
	Plan  string   `json:"plan"`
	More  float64  `json:"more_at_start"`  // at P50
	Saves float64  `json:"saves_per_year"` // at P50, first year
	Years *float64 `json:"years"`          // null if never
	Share float64  `json:"pays_within_horizon_share"`
	Text  string   `json:"text"` // names the row
}

// RowName names a row by what differs between rows.
func (c *Comparison) RowName(row int) string {
	return strings.Join(append(c.place(row), c.Rows[row].Plan), ", ")
}

// place names the water and the rig of a row, where they differ between rows.
func (c *Comparison) place(row int) []string {
	names := c.water(row)
	if slices.ContainsFunc(c.Rows, func(x CompareRow) bool { return x.Rig != c.Rows[0].Rig }) {
		names = append(names, c.Rows[row].Rig)
	}
	return names
}

// water names the water of a row, if there are several.
func (c *Comparison) water(row int) []string {
	if slices.ContainsFunc(c.Rows, func(x CompareRow) bool { return x.Water != c.Rows[0].Water }) {
		return []string{c.Rows[row].Water}
	}
	return nil
}

// ErrCompare is the sentinel of things that cannot be compared.
var ErrCompare = fmt.Errorf("%w: comparison", ErrInput)

// most rows of a comparison: beyond it a table says nothing any more.
const mostRows = 400

// contender is a row under way.
type contender struct {
	source *NamedWater
	rig    *Rig
	spec   *PlanSpec
	in     *Input
	b      *bench
	r      *ridden
}

// Compare tries every plan on every rig on every water, over the same draws.
func Compare(ctx context.Context, in CompareInput, o Options) (*Comparison, error) {
	if err := in.check(); err != nil {
		return nil, err
	}
	all, err := in.contenders(ctx, o)
	if err != nil {
		return nil, err
	}
	set, err := in.set()
	if err != nil {
		return nil, err
	}
	c := &Comparison{Version: CompareVersion, Currency: in.Rigs[0].Prices.Currency, Draws: len(all[0].b.raw), Seed: o.Seed,
		Cautions: in.stops(set), Odds: []Odds{}, BreakEvens: []BreakEven{}, Flips: []Flip{}, Sensitivity: []Influence{}}
	for i := range in.Rigs {
		c.HorizonYears = append(c.HorizonYears, in.Rigs[i].Use.HorizonYears)
	}
	for i := range all {
		c.Rows = append(c.Rows, all[i].row())
	}
	c.odds(all)
	if err := c.breakEvens(all); err != nil {
		return nil, err
	}
	if err := c.flips(ctx, all); err != nil {
		return nil, err
	}
	c.influences(all)
	c.capacity(all)
	return c, nil
}

// set returns the rules in force.
func (in *CompareInput) set() (*Set, error) {
	if in.Rules != nil {
		return in.Rules, nil
	}
	return Merge(Builtin()...)
}

// stops returns the stop cautions that stand on any of the waters and sites,
// whatever the plan. Those that only a stage brings stand in the plan itself.
func (in *CompareInput) stops(set *Set) []Caution {
	out := []Caution{}
	warned := map[string]bool{}
	for i := range in.Waters {
		for k := range in.Rigs {
			facts := FactsOfRig(in.Waters[i].Sample, in.Waters[i].Water.Draws, &in.Rigs[k])
			for _, at := range []Scope{AtReport, AtSite} {
				for _, x := range set.Judge(at, facts) {
					if x.Rule.Level == LevelCaution && x.Rule.Strength == StrengthStop && x.Verdict == Yes && !warned[x.Rule.ID] {
						warned[x.Rule.ID] = true
						out = append(out, x.caution())
					}
				}
			}
		}
	}
	return out
}

func (in *CompareInput) check() error {
	switch {
	case len(in.Waters) == 0 || len(in.Rigs) == 0 || len(in.Plans) == 0:
		return fmt.Errorf("%w: give at least one water, one rig and one plan", ErrCompare)
	case len(in.Waters)*len(in.Rigs)*len(in.Plans) > mostRows:
		return fmt.Errorf("%w: %d rows, at most %d: compare fewer at a time", ErrCompare, len(in.Waters)*len(in.Rigs)*len(in.Plans), mostRows)
	}
	for i := range in.Rigs {
		if got, want := in.Rigs[i].Prices.Currency, in.Rigs[0].Prices.Currency; got != want {
			return fmt.Errorf("%w: rig %q is priced in %s, rig %q in %s: convert one of them", ErrCompare, in.Rigs[i].Name, got, in.Rigs[0].Name, want)
		}
	}
	for i := range in.Waters {
		if w := in.Waters[i].Water; w == nil || len(w.Draws) == 0 {
			return fmt.Errorf("%w: water %q has no draws", ErrCompare, in.Waters[i].Name)
		}
		if got, want := len(in.Waters[i].Water.Draws), len(in.Waters[0].Water.Draws); got != want {
			return fmt.Errorf("%w: water %q has %d draws, water %q %d: complete both with the same number", ErrCompare, in.Waters[i].Name, got, in.Waters[0].Name, want)
		}
	}
	for i := range in.Plans {
		if _, err := in.Plans[i].train(); err != nil {
			return err
		}
	}
	return nil
}

// train returns the stages of a plan that names them. Plans by an aim have
// none yet.
func (p *PlanSpec) train() (train, error) {
	switch p.Aim {
	case "least_cost", "least_upkeep", "longest_life", "none":
		if len(p.Stages) > 0 {
			return nil, fmt.Errorf("%w: plan %q names both an aim and stages", ErrCompare, p.Name)
		}
		return nil, nil
	case "":
	default:
		return nil, fmt.Errorf("%w: plan %q aims at %q; it may aim at least_cost, least_upkeep, longest_life or none", ErrCompare, p.Name, p.Aim)
	}
	var t train
	orders := process.Orders()
	for _, m := range p.Stages {
		i := slices.IndexFunc(process.Catalogue(), func(s process.Stage) bool {
			return s.Kind() == m.Kind && (m.Variant == "" || s.Variant() == m.Variant)
		})
		if i < 0 {
			return nil, fmt.Errorf("%w: plan %q: there is no stage %s %s", ErrCompare, p.Name, m.Kind, m.Variant)
		}
		c := car{stage: process.Catalogue()[i]}
		for _, o := range orders {
			for _, before := range t {
				if o.Binds(c.stage, before.stage) {
					return nil, fmt.Errorf("%w: plan %q: %s belongs ahead of %s: %s", ErrCompare, p.Name, c.stage.Title(), before.stage.Title(), o.Why)
				}
			}
		}
		t = append(t, c)
	}
	return t, nil
}

// contenders tries every plan on every rig on every water.
func (in *CompareInput) contenders(ctx context.Context, o Options) ([]contender, error) {
	set, err := in.set()
	if err != nil {
		return nil, err
	}
	var all []contender
	for w := range in.Waters {
		for r := range in.Rigs {
			input := &Input{Sample: in.Waters[w].Sample, Water: in.Waters[w].Water, Rig: in.Rigs[r], Rules: set}
			s, err := newSearch(ctx, input, o)
			if err != nil {
				return nil, err
			}
			searched := false
			for p := range in.Plans {
				spec := &in.Plans[p]
				var t train
				switch spec.Aim {
				case "":
					if t, err = spec.train(); err != nil {
						return nil, err
					}
					for i := range t {
						t[i].installed = input.Rig.hasInstalled(t[i].stage)
					}
				case "none":
				default:
					if !searched {
						if err := s.screen(); err != nil {
							return nil, err
						}
						if err := s.reach(); err != nil {
							return nil, err
						}
						searched = true
					}
					i := slices.IndexFunc(aims, func(a aim) bool { return a.name == spec.Aim })
					if best := s.best(aims[i]); best != nil {
						t = best.t
					}
				}
				ride, err := s.ride(t)
				if err != nil {
					return nil, err
				}
				all = append(all, contender{source: &in.Waters[w], rig: &in.Rigs[r], spec: spec, in: input, b: s.full, r: ride})
			}
		}
	}
	return all, nil
}

// row writes what a contender comes to.
func (x *contender) row() CompareRow {
	w := &writer{search: &search{in: x.in, full: x.b}, b: x.b, none: x.r, chosen: x.r, facts: FactsOf(x.in.Sample, x.b.raw)}
	b, u := x.b, &x.rig.Use
	years := float64(u.HorizonYears)
	rinses := u.Rinses() * u.horizon()
	row := CompareRow{
		Water: x.source.Name, Rig: x.rig.Name, Plan: x.spec.Name, Stages: x.r.t.mentions(), Status: statusOf(x.r.found), Blocks: w.blocks(x.r),
		First:        w.money(x.r, func(y bill) Cents { return y.first }),
		Horizon:      w.money(x.r, bill.total),
		PerYear:      b.over(func(i int) float64 { return x.r.bills[i].running.Money() / years }),
		PerRinse:     b.over(func(i int) float64 { return x.r.bills[i].total().Money() / rinses }),
		Life:         b.over(func(i int) float64 { return bound(x.r.lives[i].Residue) }),
		UsableCation: b.over(func(i int) float64 { return x.r.lives[i].Usable.Cation }),
		UsableAnion:  b.over(func(i int) float64 { return x.r.lives[i].Usable.Anion }),
		RefillsYear:  b.over(func(i int) float64 { return (x.r.bills[i].fills - 1) / years }),
		UpkeepHours:  b.over(func(i int) float64 { return x.r.hours[i] }),
		WasteWater:   b.over(func(i int) float64 { return x.r.waste[i] }),
		ResinDumped:  b.over(func(i int) float64 { return x.rig.resin(x.r.bills[i].fills, true) / years }),
		Refills:      u.refills(x.r.lives[b.central].Residue),
	}
	if life := x.r.lives[b.central].Residue; life < u.Rinse {
		row.BottleNeck = fmt.Sprintf("a fill lasts %.3g gal, less than the %.3g gal of one rinse: the vessel is too small for this water", life.Gallons(), u.Rinse.Gallons())
	}
	return row
}

// mostRefills bounds the dates that a row lists.
const mostRefills = 24

// refills dates the ends of fills, of a life that never changes. The vessel
// starts full with the first season.
func (u *Use) refills(life unit.Litres) []Refill {
	out := []Refill{}
	if life <= 0 {
		return out
	}
	done, perYear := 0.0, float64(u.YearVolume())
	next := float64(life)
	for year := 1; year <= u.HorizonYears && len(out) < mostRefills; year++ {
		for next < done+perYear && len(out) < mostRefills {
			part := (next - done) / perYear
			out = append(out, u.refill(year, part))
			next += float64(life)
		}
		done += perYear
		perYear *= 1 + u.Growth
	}
	return out
}

func (u *Use) refill(year int, part float64) Refill {
	into := part * u.MonthsPerYear
	month := (u.FirstMonth-1+int(into))%12 + 1
	third := [...]string{"beginning", "middle", "end"}[min(2, int(3*(into-math.Floor(into))))]
	year += (u.FirstMonth - 1 + int(into)) / 12
	return Refill{Year: year, Week: part * u.Weeks(), Month: month, Text: fmt.Sprintf("year %d, %s of %s", year, third, time.Month(month))}
}

// meets reports whether two contenders serve the same demand from the same
// water over the same years: only then does one instead of the other make
// sense.
func (x *contender) meets(y *contender) bool {
	u, v := &x.rig.Use, &y.rig.Use
	return x.source == y.source && u.Rinse == v.Rinse && u.RinsesPerWeek == v.RinsesPerWeek && u.MonthsPerYear == v.MonthsPerYear &&
		u.Growth == v.Growth && u.Plain == v.Plain && u.HorizonYears == v.HorizonYears
}

// odds compares rows that serve the same demand two by two.
func (c *Comparison) odds(all []contender) {
	for i := range all {
		cheapest := 0
		n := len(all[i].b.raw)
		for d := range n {
			low := true
			for j := range all {
				low = low && (!all[i].meets(&all[j]) || all[j].r.bills[d].total() >= all[i].r.bills[d].total())
			}
			if low {
				cheapest++
			}
		}
		c.Rows[i].CheapestOdds = float64(cheapest) / float64(n)
		for j := i + 1; j < len(all); j++ {
			if !all[i].meets(&all[j]) {
				continue
			}
			a, b := all[i].r, all[j].r
			c.Odds = append(c.Odds, Odds{A: i, B: j,
				Cheaper: all[i].b.shareOf(func(d int) bool { return a.bills[d].total() < b.bills[d].total() }),
				Saving:  all[i].b.over(func(d int) float64 { return (b.bills[d].total() - a.bills[d].total()).Money() })})
		}
	}
}

// PaybackYears returns after how many years savings of first, first*(1+growth)
// ... a year have paid back an investment; ok is false if they never do within
// most years. Savings are taken to come evenly within a year. No interest is
// counted: the simple payback period of textbooks.
func PaybackYears(investment, saving, growth float64, most int) (years float64, ok bool) {
	if investment <= 0 {
		return 0, true
	}
	left := investment
	for y := range most {
		if saving >= left {
			return float64(y) + left/saving, true
		}
		left -= saving
		saving *= 1 + growth
	}
	return 0, false
}

// breakEvens dates when each stage, and each dearer rig, has paid for itself.
func (c *Comparison) breakEvens(all []contender) error {
	for i := range all {
		x := &all[i]
		for k := range x.r.t {
			without, err := x.b.again(x.r.t.without(k))
			if err != nil {
				return err
			}
			e := x.payback(x.r.t[k].stage.Title(), x.r, without)
			e.Row, e.Text = i, c.RowName(i)+": "+e.Text
			c.BreakEvens = append(c.BreakEvens, e)
		}
		for j := range all {
			y := &all[j]
			if x.meets(y) && y.spec == x.spec && y.rig != x.rig && x.r.bills[x.b.central].first > y.r.bills[y.b.central].first {
				e := x.payback(fmt.Sprintf("%s instead of %s", x.rig.Name, y.rig.Name), x.r, y.r)
				e.Row, e.Over = i, &j
				e.Text = strings.Join(append(c.water(i), x.spec.Name), ", ") + ": " + e.Text
				c.BreakEvens = append(c.BreakEvens, e)
			}
		}
	}
	return nil
}

// again tries a train on the bench.
func (b *bench) again(t train) (*ridden, error) { return b.try(t, b.ride(t)) }

func (x *contender) payback(what string, with, without *ridden) BreakEven {
	u := &x.rig.Use
	mid := x.b.central
	first := func(d int) (more, saves float64) {
		more = (with.bills[d].first - without.bills[d].first).Money()
		saves = (without.bills[d].running - with.bills[d].running).Money() / u.horizon()
		return more, saves
	}
	more, saves := first(mid)
	e := BreakEven{What: what, Water: x.source.Name, Rig: x.rig.Name, Plan: x.spec.Name, More: more, Saves: saves,
		Share: x.b.shareOf(func(d int) bool {
			m, s := first(d)
			_, ok := PaybackYears(m, s, u.Growth, u.HorizonYears)
			return ok
		})}
	const never = 100 // years
	currency := x.rig.Prices.Currency
	years, ok := PaybackYears(more, saves, u.Growth, never)
	switch {
	case ok && more <= 0:
		e.Years = &years
		e.Text = fmt.Sprintf("%s costs nothing more at the start", what)
	case ok:
		e.Years = &years
		e.Text = fmt.Sprintf("%s costs %s more at the start and saves %s a year: it has paid for itself after %.1f years", what, amount(currency, more), amount(currency, saves), years)
	case saves > 0:
		e.Text = fmt.Sprintf("%s costs %s more at the start and saves %s a year: it does not pay for itself within %d years", what, amount(currency, more), amount(currency, saves), never)
	default:
		e.Text = fmt.Sprintf("%s costs %s more at the start and %s more a year to run: it does not pay for itself in money", what, amount(currency, more), amount(currency, -saves))
	}
	return e
}
