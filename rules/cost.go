package rules

import (
	"fmt"
	"maps"
	"math"
	"slices"

	"forebed/chem/process"
	"forebed/chem/unit"
)

// Cents is an amount of money in hundredths of the currency. Whole cents, so
// that the parts of an account add up to its total exactly.
type Cents int64

// Money returns the amount in units of the currency.
func (c Cents) Money() float64 { return float64(c) / 100 }

// cents rounds an amount to whole cents. Amounts beyond any rig's (the price
// of a fill that lasts no time at all) end at a bound that sums of parts
// cannot overflow.
func cents(amount float64) Cents {
	const most = 1e15
	return Cents(math.Round(100 * min(amount, most)))
}

// FillYears is how long a fill is trusted in use, whatever its capacity.
// Treatment ledger A30 gives 1 to 5 years of shelf life, sealed; the high end
// is taken. Common practice, no source.
const FillYears = 5

// mostFills bounds the fills of a horizon: beyond it the vessel is no use.
const mostFills = 1e6

// horizon sums a demand that grows year by year.
func (u *Use) horizon() float64 {
	sum, year := 0.0, 1.0
	for range u.HorizonYears {
		sum += year
		year *= 1 + u.Growth
	}
	return sum
}

// fills returns the whole fills that the horizon takes, the first included.
func (u *Use) fills(life unit.Litres) float64 {
	volume := float64(u.YearVolume()) * u.horizon()
	n := math.Ceil(float64(u.HorizonYears) / FillYears)
	if life > 0 {
		n = max(n, math.Ceil(volume/float64(life)-1e-9))
	} else {
		n = mostFills
	}
	return min(max(n, 1), mostFills)
}

// fillParts is fills without rounding to whole ones.
func (u *Use) fillParts(life unit.Litres) float64 {
	if life <= 0 {
		return mostFills
	}
	n := max(float64(u.HorizonYears)/FillYears, float64(u.YearVolume())*u.horizon()/float64(life))
	return min(max(n, 1), mostFills)
}

// purse holds the price of each thing in every draw. The central draw holds
// the median of its range. All prices are drawn when it is made, so that workers may
// share it.
type purse struct {
	index map[string]int
	at    [][]float64 // [price][draw], currency for one base unit
}

func newPurse(p *Prices, n, central int, seed uint64) *purse {
	purse := &purse{index: map[string]int{}}
	for _, key := range slices.Sorted(maps.Keys(p.rows)) {
		row := p.rows[key]
		xs := row.draw(key, n, seed)
		xs[central] = row.median()
		purse.index[key] = len(purse.at)
		purse.at = append(purse.at, xs)
	}
	return purse
}

// price returns the index of the price of a key, and whether it has one.
func (p *purse) price(key string) (int, bool) {
	return findPrice(p.index, key)
}

// counted tells what the amount of an account line is counted by.
type counted uint8

const (
	byTrain   counted = iota // the same in every draw
	byFill                   // times the fills of the horizon
	byRefill                 // times the fills after the first
	bySalt                   // kg over the horizon
	byOxidant                // kg
	byEnergy                 // kWh
	byPumping                // kWh lifted by the well pump
	byFeed                   // litres drawn from the well
	byWaste                  // litres to the drain
)

// line is one line of an account: an amount times a price.
type line struct {
	stage  int    // place in the train; len(train) for the vessel and the whole rig
	of     string // stage, vessel, or what the whole rig uses
	item   string // what of it; empty for the thing itself
	by     counted
	amount float64
	price  int     // index into the purse; -1 for a price that the owner states
	stated float64 // that price
	first  bool    // paid once at the start
	vessel bool    // of the vessel, not of the stages

	exchange bool // the refills of an exchange service, by the volume of resin
}

// name of the line in an account.
func (l *line) name() string {
	if l.item == "" {
		return l.of
	}
	return l.of + ": " + l.item
}

// account is what a train costs, line by line.
type account struct {
	lines  []line
	parts  bool // count fills in parts, for solving and sensitivities; accounts count whole ones
	legs   []*leg
	sizes  []*fitted
	branch int       // the stage behind which plain water is drawn; -1 for none
	volume []float64 // litres of product of each stage in the first year; the last is the vessel's
	feed   float64   // litres drawn from the well in the first year
	waste  float64   // litres to the drain in the first year
}

// open sets up the account of a train.
func (b *bench) open(t train, legs []*leg, sizes []*fitted) (*account, error) {
	a := new(account)
	return a, b.reopen(a, t, legs, sizes)
}

// reopen is open in the room of an account that is no longer needed.
func (b *bench) reopen(a *account, t train, legs []*leg, sizes []*fitted) error {
	*a = account{lines: a.lines[:0], legs: legs, sizes: sizes, branch: t.shared() - 1, volume: slices.Grow(a.volume[:0], len(t)+1)[:len(t)+1]}
	if b.rig.Use.Plain == 0 {
		a.branch = -1
	}
	for _, z := range sizes {
		if z.fault != nil {
			return z.fault
		}
		a.lines = append(a.lines, z.lines...)
	}
	before := len(a.lines)
	a.lines = append(a.lines, b.whole.lines...)
	for k := before; k < len(a.lines); k++ {
		a.lines[k].stage = len(t)
	}
	return b.whole.fault
}

// ledger collects lines. A stage or part without a price is an error: nothing
// is free by oversight.
type ledger struct {
	purse *purse
	lines []line
	fault error
}

// put adds a line at a price of the purse.
func (l *ledger) put(key string, x line) {
	i, ok := l.purse.price(key)
	x.price = i
	switch {
	case ok:
		l.lines = append(l.lines, x)
	case l.fault == nil:
		l.fault = fmt.Errorf("no price for %q (%s): add it to prices", key, x.name())
	}
}

// fitted is a stage fitted to a duty: its size, and its lines in an account.
type fitted struct {
	process.Size
	duty  process.Duty
	lines []line
	fault error
}

// fit sizes stage i of a train for a duty. Trains that share the beginning
// share the stages in it, as fitted to one duty or another: a leg keeps them.
func (b *bench) fit(t train, legs []*leg, i int, d process.Duty) *fitted {
	g := legs[i]
	g.fitting.Lock()
	defer g.fitting.Unlock()
	for _, z := range g.fits {
		if z.duty == d {
			return z
		}
	}
	z := &fitted{Size: g.stage.Size(&b.feed(legs, i)[b.central], d), duty: d}
	l := ledger{purse: b.purse}
	b.linesOf(&l, t[i], i, g, &z.Size)
	z.lines, z.fault = l.lines, l.fault
	g.fits = append(g.fits, z)
	return z
}

// linesOf adds the lines of the stage in a place.
func (b *bench) linesOf(l *ledger, c car, place int, g *leg, z *process.Size) {
	years := float64(b.rig.Use.HorizonYears)
	s, title, facts := c.stage, c.stage.Title(), c.stage.Facts()
	l.lines = make([]line, 0, 4+len(z.Upkeep))
	if !c.installed {
		l.put("equipment/"+process.PriceKey(s, *z), line{stage: place, of: title, by: byTrain, amount: equipmentCount(s, z), first: true})
	}
	// The medium of a stage is bought as a spare part, see Upkeep.
	if g.uses(func(u *process.Use) float64 { return u.Salt }) {
		l.put("use/salt", line{stage: place, of: title, item: "salt", by: bySalt, amount: 1e-3})
	}
	if facts.Oxidant != "" {
		l.put("use/"+facts.Oxidant, line{stage: place, of: title, item: "oxidant", by: byOxidant, amount: 1e-3})
	}
	if g.uses(func(u *process.Use) float64 { return u.Energy }) {
		l.put("electricity", line{stage: place, of: title, item: "electricity", by: byEnergy, amount: 1})
	}
	hours := 0.0
	for _, k := range z.Upkeep {
		times := times(k.Every)
		hours += times * k.Hours
		if k.Part != "" && times > 0 {
			l.put("part/"+k.Part, line{stage: place, of: title, item: k.Task, by: byTrain, amount: times * k.Parts * years})
		}
	}
	if hours > 0 {
		l.put("labour", line{stage: place, of: title, item: "work", by: byTrain, amount: hours * years})
	}
}

// linesOfAll returns the lines that every train has: the vessels, and what the
// whole rig draws.
func (b *bench) linesOfAll() ledger {
	l := ledger{purse: b.purse}
	for k := range b.rig.Vessels {
		b.linesOfVessel(&l, k)
	}
	for k := range l.lines {
		l.lines[k].vessel = true
	}
	l.put("electricity", line{of: "well pump", item: "electricity", by: byPumping, amount: 1})
	l.put("water", line{of: "water", by: byFeed, amount: 1})
	l.put("sewer", line{of: "sewer", by: byWaste, amount: 1})
	return l
}

// linesOfVessel adds the lines of one vessel. Of equal vessels in series one is
// refilled at a time, so each takes its share of the refills.
func (b *bench) linesOfVessel(l *ledger, k int) {
	v := &b.rig.Vessels[k]
	name := string(v.Kind)
	if v.Name != "" {
		name = v.Name
	}
	turn := 1.0
	if b.rig.LeadLag() {
		turn = 1 / float64(len(b.rig.Vessels))
	}
	resin := float64(v.Vessel.Resin)
	stated := func(what string, by counted, amount, price float64, first bool) {
		l.lines = append(l.lines, line{of: name, item: what, by: by, amount: amount, price: -1, stated: price, first: first})
	}
	if !v.Owned {
		if v.Price != nil {
			stated("vessel", byTrain, 1, v.Price.Amount, true)
		} else if v.Kind == KindTank {
			l.put("vessel/tank", line{of: name, item: "vessel", by: byTrain, amount: resin, first: true})
		} else {
			l.put("vessel/"+string(v.Kind), line{of: name, item: "vessel", by: byTrain, amount: 1, first: true})
		}
	}
	// A service that regenerates on site is billed as one that swaps the vessel:
	// no price of such a visit was found, so the owner's own belongs in fill_price.
	serviced := v.Kind == KindExchange || b.rig.Site.Regenerated
	key := "resin"
	if serviced {
		key = "exchange"
	}
	if v.FillPrice != nil {
		if !v.Owned {
			stated("first fill", byTrain, 1, v.FillPrice.Amount, true)
		}
		stated("refills", byRefill, turn, v.FillPrice.Amount, false)
	} else {
		if !v.Owned {
			l.put(key, line{of: name, item: "first fill", by: byTrain, amount: resin, first: true})
		}
		l.put(key, line{of: name, item: "refills", by: byRefill, amount: resin * turn, exchange: serviced})
	}
	l.put("labour", line{of: name, item: "refill work", by: byRefill, amount: v.FillHours * turn})
	if !serviced {
		l.put("resin_disposal", line{of: name, item: "resin disposal", by: byRefill, amount: resin * turn})
	}
}

// uses reports whether a leg uses something in any draw.
func (g *leg) uses(of func(*process.Use) float64) bool {
	return slices.ContainsFunc(g.use, func(u process.Use) bool { return of(&u) > 0 })
}

// times returns how often a year a task comes round, by the calendar.
func times(everyMonths float64) float64 {
	if everyMonths <= 0 {
		return 0
	}
	return 12 / everyMonths
}

// flow works out the volumes of the first year in draw i, from the vessel
// back to the well.
func (a *account) flow(b *bench, i int) {
	n := len(a.legs)
	v := float64(b.rig.Use.YearVolume())
	a.volume[n], a.waste = v, 0
	for k := n - 1; k >= 0; k-- {
		if k == a.branch {
			v += float64(b.rig.Use.PlainVolume())
		}
		a.volume[k] = v
		lost := v*(a.legs[k].use[i].Feed-1) + float64(a.sizes[k].Waste)
		a.waste += lost
		v += lost
	}
	if a.branch < 0 { // no stage filters it
		v += float64(b.rig.Use.PlainVolume())
	}
	a.feed = v
}

// bill is one account in one draw.
type bill struct {
	first, running Cents
	fills          float64
}

// total is what the horizon costs.
func (b bill) total() Cents { return b.first + b.running }

// bill adds the account up in draw i, for a life between refills. each, if
// given, is called with every line in order.
func (a *account) bill(b *bench, i int, life unit.Litres, each func(k int, c Cents)) bill {
	a.flow(b, i)
	u := &b.rig.Use
	grown := u.horizon()
	out := bill{fills: u.fills(life)}
	if a.parts {
		out.fills = u.fillParts(life)
	}
	for k := range a.lines {
		l := &a.lines[k]
		q := l.amount
		switch l.by {
		case byFill:
			q *= out.fills
		case byRefill:
			q *= out.fills - 1
		case bySalt:
			q *= grown * a.volume[l.stage] * a.legs[l.stage].use[i].Salt
		case byOxidant:
			q *= grown * a.volume[l.stage] * a.legs[l.stage].use[i].Oxidant
		case byEnergy:
			q *= grown * a.volume[l.stage] * a.legs[l.stage].use[i].Energy
		case byPumping:
			q *= grown * a.feed * b.pumping[i]
		case byFeed:
			q *= grown * a.feed
		case byWaste:
			q *= grown * a.waste
		}
		price := l.stated
		if l.price >= 0 {
			price = b.purse.at[l.price][i]
		}
		c := cents(q * price)
		if l.first {
			out.first += c
		} else {
			out.running += c
		}
		if each != nil {
			each(k, c)
		}
	}
	return out
}

// hours returns the upkeep in hours a year, for so many fills over the horizon.
func (a *account) hours(b *bench, fills float64) float64 {
	years := float64(b.rig.Use.HorizonYears)
	sum := 0.0
	for i := range a.sizes {
		for _, k := range a.sizes[i].Upkeep {
			sum += times(k.Every) * k.Hours
		}
	}
	turn := 1.0
	if b.rig.LeadLag() {
		turn = 1 / float64(len(b.rig.Vessels))
	}
	for k := range b.rig.Vessels {
		sum += turn * b.rig.Vessels[k].FillHours * (fills - 1) / years
	}
	return sum
}
