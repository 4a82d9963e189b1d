package rules

import (
	"cmp"
	"fmt"
	"math/rand/v2"
	"slices"
	"sync"

	"forebed/chem/bed"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// bench is what every train is tried on: the same waters, vessels and prices,
// draw by draw, so that two trains differ by their stages alone.
type bench struct {
	rig     *Rig
	set     *Set
	raw     []water.Water
	central int            // the draw whose values are shown in the middle
	beds    [][]bed.Vessel // [vessel][draw]
	serving [][]bed.Bed    // the beds at the flow and temperature of each draw, see serve
	purse   *purse
	whole   ledger    // what every account holds
	pumping []float64 // kWh per litre lifted by the well pump, a draw
	site    *Values   // what is the same at every place
	report  *Values   // what was measured
	limits  map[Scope]*Limits
}

// newBench draws vessels and prices for each water.
func newBench(in *Input, raw []water.Water, seed uint64) *bench {
	n := len(raw)
	b := &bench{rig: &in.Rig, set: in.Rules, raw: raw}
	b.central = central(raw)
	for k := range in.Rig.Vessels {
		v := &in.Rig.Vessels[k]
		drawn := make([]bed.Vessel, n)
		for i := range drawn {
			drawn[i] = v.Condition.Draw(v.Vessel, rand.New(rand.NewPCG(seed^uint64(k+1)<<32, uint64(i))))
		}
		drawn[b.central] = v.Condition.Typical(v.Vessel)
		b.beds = append(b.beds, drawn)
	}
	b.serve()
	b.purse = newPurse(&in.Rig.Prices, n, b.central, seed)
	b.whole = b.linesOfAll()
	b.pumping = priceRange{Interval: pumping}.draw("pumping", n, seed)
	b.pumping[b.central] = priceRange{Interval: pumping}.median()
	b.site = in.siteValues()
	b.report = &FactsOf(in.Sample, nil).Values
	b.limits = map[Scope]*Limits{AtVessel: in.Rules.Limits(AtVessel)}
	for _, k := range kinds {
		b.limits[StageScope(k)] = in.Rules.Limits(StageScope(k))
	}
	return b
}

// serve puts the beds in service. No stage changes the temperature of a water,
// so what depends on it and on the flow holds for all trains.
func (b *bench) serve() {
	b.serving = make([][]bed.Bed, len(b.beds))
	for k := range b.beds {
		b.serving[k] = make([]bed.Bed, len(b.raw))
		for i := range b.raw {
			b.serving[k][i] = b.beds[k][i].Serving(b.service(k, &b.raw[i]))
		}
	}
}

// pick returns the bench with some of its draws, the central one among them.
func (b *bench) pick(draws []int) *bench {
	c := *b
	c.raw = gather(b.raw, draws)
	c.pumping = gather(b.pumping, draws)
	c.beds, c.serving = nil, nil
	for k := range b.beds {
		c.beds = append(c.beds, gather(b.beds[k], draws))
		c.serving = append(c.serving, gather(b.serving[k], draws))
	}
	p := *b.purse
	p.at = nil
	for _, xs := range b.purse.at {
		p.at = append(p.at, gather(xs, draws))
	}
	c.central = slices.Index(draws, b.central)
	c.purse = &p
	return &c
}

func gather[T any](xs []T, at []int) []T {
	out := make([]T, len(at))
	for i, j := range at {
		out[i] = xs[j]
	}
	return out
}

// central returns the draw that lies nearest the middle of all draws in what
// decides on lives and stages, by rank: the load on both halves, and within
// them carbon dioxide, silica, strong anions, hardness and metal. Without the
// strong anions a draw could be usual in its load and yet trade chloride for
// bicarbonate outside the bands of both.
func central(draws []water.Water) int {
	aspects := []struct {
		weight float64
		of     func(w *water.Water) float64
	}{
		{4, func(w *water.Water) float64 { return float64(w.Load().Anion) }},
		{2, func(w *water.Water) float64 { return float64(w.Load().Cation) }},
		{2, func(w *water.Water) float64 { return float64(w.CO2) }},
		{2, func(w *water.Water) float64 { return float64(w.Silica) }},
		{1, strongAnions},
		{1, func(w *water.Water) float64 { return process.Hardness.Of(w) }},
		{1, func(w *water.Water) float64 { return process.IronAndManganese.Of(w) }},
	}
	n := len(draws)
	far := make([]float64, n)
	value := make([]float64, n)
	order := make([]int, n)
	for _, a := range aspects {
		for i := range draws {
			value[i], order[i] = coarse(a.of(&draws[i])), i
		}
		slices.SortFunc(order, func(i, j int) int { return cmp.Or(cmp.Compare(value[i], value[j]), cmp.Compare(i, j)) })
		for low := 0; low < n; { // draws of equal value share their middle rank
			high := low + 1
			for high < n && value[order[high]] == value[order[low]] {
				high++
			}
			d := float64(low+high-1)/float64(2*n) - float64(n-1)/float64(2*n)
			for _, i := range order[low:high] {
				far[i] += a.weight * d * d
			}
			low = high
		}
	}
	best := 0
	for i := range far {
		if far[i] < far[best] {
			best = i
		}
	}
	return best
}

// strongAnions returns the charge of the anions that no acid neutralizes, meq/L.
func strongAnions(w *water.Water) float64 {
	return float64(w.Equivalents(water.Chloride) + w.Equivalents(water.Sulfate) + w.Equivalents(water.Nitrate) + w.Equivalents(water.Fluoride))
}

// coarse returns x to single precision: the last bits of a number differ
// between processors, and must not decide which draw is chosen.
func coarse(x float64) float64 { return float64(float32(x)) }

// strata returns n draws spread evenly over the untreated lives, the central
// one in the place of the one nearest to it.
func (b *bench) strata(n int) []int {
	if n >= len(b.raw) {
		all := make([]int, len(b.raw))
		for i := range all {
			all[i] = i
		}
		return all
	}
	order := make([]int, len(b.raw))
	lives := make([]float64, len(b.raw))
	for i := range order {
		l := b.life(i, &b.raw[i])
		order[i], lives[i] = i, coarse(float64(l.Residue))
	}
	slices.SortFunc(order, func(i, j int) int { return cmp.Or(cmp.Compare(lives[i], lives[j]), cmp.Compare(i, j)) })
	picked := make([]int, n)
	for k := range picked {
		picked[k] = order[(2*k+1)*len(order)/(2*n)]
	}
	if !slices.Contains(picked, b.central) {
		picked[slices.Index(order, b.central)*n/len(order)] = b.central
	}
	return picked
}

// service returns how vessel k is run on a water.
func (b *bench) service(k int, w *water.Water) bed.Service {
	return b.rig.Service(k, w.Temperature)
}

// Service returns how vessel k is run: at the peak flow or, of vessels in
// parallel, at its share of it.
func (r *Rig) Service(k int, t unit.Celsius) bed.Service {
	flow := r.Use.PeakFlow
	if r.Line == LineParallel {
		flow *= unit.LitresPerMinute(r.share(k))
	}
	return bed.Service{Flow: flow, Temperature: t}
}

// share returns vessel k's share of the resin.
func (r *Rig) share(k int) float64 {
	var all unit.Litres
	for i := range r.Vessels {
		all += r.Vessels[i].Vessel.Resin
	}
	return float64(r.Vessels[k].Vessel.Resin / all)
}

// LeadLag reports whether equal vessels stand in series, so that the lead is
// swapped when it is quite spent and the lag takes its place.
func (r *Rig) LeadLag() bool {
	if r.Line != LineSeries || len(r.Vessels) < 2 {
		return false
	}
	first := r.Vessels[0].Vessel.Resin
	for _, v := range r.Vessels[1:] {
		if q := float64(v.Vessel.Resin / first); q < 0.9 || q > 1.1 {
			return false
		}
	}
	return true
}

// life returns the life between two refills of the rig's vessels, in draw i,
// on a water. Vessels in parallel are refilled together when the first of
// them ends; so are unequal vessels in series, whose lives add up. Equal
// vessels in series are swapped one by one: the lead is used to its last
// equivalent, since the lag holds what it lets through.
func (b *bench) life(i int, w *water.Water) bed.Life {
	l := b.serving[0][i].Life(&b.rig.Ends, w)
	if len(b.beds) == 1 {
		return l
	}
	switch {
	case b.rig.LeadLag():
		return l.LeadLag()
	case b.rig.Line == LineParallel:
		l = l.Scaled(1 / b.rig.share(0))
		for k := 1; k < len(b.beds); k++ {
			m := b.serving[k][i].Life(&b.rig.Ends, w)
			l = l.Sooner(m.Scaled(1 / b.rig.share(k)))
		}
	default:
		for k := 1; k < len(b.beds); k++ {
			l = l.Then(b.serving[k][i].Life(&b.rig.Ends, w))
		}
	}
	return l
}

// leg is one stage of a train with what it did in every draw.
type leg struct {
	stage   process.Stage
	behind  *leg // the stage ahead of it; nil at the well
	out     []water.Water
	use     []process.Use
	outside [32]uint16 // draws outside each window of the stage
	unsure  [32]uint16 // draws that do not tell
	failed  int        // draws that the stage could not carry
	fault   error      // the first reason
	changed bool       // whether the stage did anything to any water

	fitting sync.Mutex
	fits    []*fitted // the stage, for every duty that was asked of it

	spread sync.Once
	wide   *leg // the same leg on the stratified draws, see search.spread
}

// carrier is a stage that can leave out findings about what it sends to the
// drain. Only the notes of a printed plan need them.
type carrier interface {
	Carry(in *water.Water) (process.Outcome, error)
}

// leg carries the waters behind another leg, or the raw ones, through a stage.
func (b *bench) leg(behind *leg, s process.Stage) *leg {
	in := b.raw
	if behind != nil {
		in = behind.out
	}
	apply := s.Apply
	if c, ok := s.(carrier); ok {
		apply = c.Carry
	}
	g := &leg{stage: s, behind: behind, out: make([]water.Water, len(in)), use: make([]process.Use, len(in))}
	for i := range in {
		o, err := apply(&in[i])
		if err != nil {
			g.failed++
			if g.fault == nil {
				g.fault = fmt.Errorf("%s: %w", s.Title(), err)
			}
			g.out[i], g.use[i] = in[i], process.Use{Feed: 1}
			continue
		}
		g.out[i], g.use[i] = o.Out, o.Use
		g.changed = g.changed || !alike(&o.Out, &in[i])
		for k := range o.Outside.All() {
			g.outside[k]++
		}
		for k := range o.Unsure.All() {
			g.unsure[k]++
		}
	}
	return g
}

// sameUse is a kind of stage, both kinds of carbon taken together: what does the
// same to the water is interchangeable within it.
func sameUse(k process.Kind) process.Kind {
	if k == process.CatalyticCarbon {
		return process.Carbon
	}
	return k
}

// asGood reports whether two stages of one family do the same to every water as
// far as limits and loads go: a train with the one is then as good as a train
// with the other, but for its price.
func (g *leg) asGood(h *leg) bool {
	if sameUse(g.stage.Kind()) != sameUse(h.stage.Kind()) || g.failed != h.failed {
		return false
	}
	for i := range g.out {
		if gradeOf(&g.out[i]) != gradeOf(&h.out[i]) {
			return false
		}
	}
	return true
}

// ride carries the waters of the bench through a whole train.
func (b *bench) ride(t train) []*leg {
	legs := make([]*leg, len(t))
	var last *leg
	for i := range t {
		last = b.leg(last, t[i].stage)
		legs[i] = last
	}
	return legs
}

// feed returns the waters that enter place i of a train: stage i, or the
// vessel for i = len(legs).
func (b *bench) feed(legs []*leg, i int) []water.Water {
	if i == 0 {
		return b.raw
	}
	return legs[i-1].out
}

// usualDrop is the pressure a stage is taken to cost before it is sized.
// Common practice, no source: ledger E03 and A20 give 0.5 to 3 psi for a clean
// cartridge and some psi for a bed with its valve.
var usualDrop = unit.PSI(4)

// sizes sizes every stage for the rig on the central water, from the vessel
// back to the well. Pressure runs the other way: it is taken at the usual drop
// of the stages ahead, and with exact set the stages are sized a second time
// at the pressures that the first sizes leave.
func (b *bench) sizes(t train, legs []*leg, exact bool) []*fitted {
	z := make([]*fitted, len(t))
	pressure := make([]unit.Kilopascals, len(t))
	for i := range pressure {
		pressure[i] = max(0, b.rig.Site.Pressure-usualDrop*unit.Kilopascals(i))
	}
	b.sizeAt(pressure, t, legs, z)
	if exact && len(t) > 1 {
		p := b.rig.Site.Pressure
		for i := range t {
			pressure[i] = p
			p = behind(p, b.rig.Site.Pressure, z[i])
		}
		b.sizeAt(pressure, t, legs, z)
	}
	return z
}

// behind returns the pressure behind a stage. A stage that repumps restores
// what the site has.
func behind(p, site unit.Kilopascals, z *fitted) unit.Kilopascals {
	if z.Repumped {
		return site
	}
	return max(0, p-z.Drop)
}

func (b *bench) sizeAt(pressure []unit.Kilopascals, t train, legs []*leg, z []*fitted) {
	u := &b.rig.Use
	days := min(365, u.Weeks()*min(7, u.RinsesPerWeek))
	d := process.Duty{PeakFlow: u.PeakFlow, YearVolume: u.YearVolume(), PeakDay: unit.Litres(u.BusiestDay) * u.Rinse, DaysInUse: max(1, days), Supply: b.rig.Site.PumpFlow}
	branch := t.shared() - 1
	for i := len(t) - 1; i >= 0; i-- {
		if i == branch && u.Plain > 0 {
			d.PeakFlow = max(d.PeakFlow, u.PlainFlow)
			d.YearVolume += u.PlainVolume()
			d.PeakDay += unit.Litres(u.BusiestDay) * u.Plain
		}
		d.FeedPressure = pressure[i]
		z[i] = b.fit(t, legs, i, d)
		d = z[i].Feed
	}
}

// nozzle returns the pressure left at the nozzle, behind a train and the
// vessels, at a share of the peak flow. What a stage takes is in proportion to
// the flow, filters clean. A negative pressure says that the flow never comes.
func (b *bench) nozzle(sizes []*fitted, share float64) unit.Kilopascals {
	p := b.rig.Site.Pressure
	for i := range sizes {
		if p -= sizes[i].Drop * unit.Kilopascals(share); sizes[i].Repumped {
			p = b.rig.Site.Pressure
		}
	}
	var lost unit.Kilopascals
	for k := range b.beds {
		s := b.service(k, &b.raw[b.central])
		s.Flow *= unit.LitresPerMinute(share)
		drop := b.beds[k][b.central].PressureDrop(s)
		if b.rig.Line == LineParallel {
			lost = max(lost, drop)
		} else {
			lost += drop
		}
	}
	return p - lost
}

// delivers returns the largest flow, up to the peak flow, that leaves at the
// nozzle what rule bed-pressure asks for, or half of what the supply has where
// that is less.
func (b *bench) delivers(sizes []*fitted) unit.LitresPerMinute {
	enough := min(unit.PSI(20), b.rig.Site.Pressure/2)
	low, high := 0.0, 1.0
	if b.nozzle(sizes, high) >= enough {
		return b.rig.Use.PeakFlow
	}
	for range 40 {
		if mid := (low + high) / 2; b.nozzle(sizes, mid) >= enough {
			low = mid
		} else {
			high = mid
		}
	}
	return b.rig.Use.PeakFlow * unit.LitresPerMinute(low)
}

// bound keeps a life finite for documents: beyond this a bed outlives its
// resin many times over.
func bound(v unit.Litres) float64 {
	const most = 1e9
	if x := float64(v); x < most {
		return max(x, 0)
	}
	return most
}
