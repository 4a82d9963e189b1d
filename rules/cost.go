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
	sizes  []process.Size
	branch int       // the stage behind which plain water is drawn; -1 for none
	volume []float64 // litres of product of each stage in the first year; the last is the vessel's
	feed   float64   // litres drawn from the well in the first year
	waste  float64   // litres to the drain in the first year
}

// open sets up the account of a train. A stage or part without a price is an
// error: nothing is free by oversight.
func (b *bench) open(t train, legs []*leg, sizes []process.Size) (*account, error) {
	const usualLines = 12 // and 6 more a stage; no bound
	a := &account{lines: make([]line, 0, usualLines+6*len(t)), legs: legs, sizes: sizes, branch: t.shared() - 1, volume: make([]float64, len(t)+1)}
	if b.rig.Use.Plain == 0 {
		a.branch = -1
	}
	years := float64(b.rig.Use.HorizonYears)
	var err error
	put := func(stage int, of, item, key string, by counted, amount float64, first bool) {
		i, ok := b.purse.price(key)
		l := line{stage: stage, of: of, item: item, by: by, amount: amount, price: i, first: first}
		switch {
		case ok:
			a.lines = append(a.lines, l)
		case err == nil:
			err = fmt.Errorf("no price for %q (%s): add it to prices", key, l.name())
		}
	}
	for i := range t {
		s, z := t[i].stage, &sizes[i]
		title := s.Title()
		if !t[i].installed {
			put(i, title, "", "equipment/"+process.PriceKey(s, *z), byTrain, equipmentCount(s, z), true)
		}
		facts := s.Facts() // the medium of a stage is bought as a spare part, see Upkeep
		if b.uses(legs[i], func(u *process.Use) float64 { return u.Salt }) {
			put(i, title, "salt", "use/salt", bySalt, 1e-3, false)
		}
		if facts.Oxidant != "" {
			put(i, title, "oxidant", "use/"+facts.Oxidant, byOxidant, 1e-3, false)
		}
		if b.uses(legs[i], func(u *process.Use) float64 { return u.Energy }) {
			put(i, title, "electricity", "electricity", byEnergy, 1, false)
		}
		hours := 0.0
		for _, k := range z.Upkeep {
			times := times(k.Every)
			hours += times * k.Hours
			if k.Part != "" && times > 0 {
				put(i, title, k.Task, "part/"+k.Part, byTrain, times*k.Parts*years, false)
			}
		}
		if hours > 0 {
			put(i, title, "work", "labour", byTrain, hours*years, false)
		}
	}
	before := len(a.lines)
	for k := range b.rig.Vessels {
		b.openVessel(a, k, len(t), put)
	}
	for k := before; k < len(a.lines); k++ {
		a.lines[k].vessel = true
	}
	put(len(t), "well pump", "electricity", "electricity", byPumping, 1, false)
	put(len(t), "water", "", "water", byFeed, 1, false)
	put(len(t), "sewer", "", "sewer", byWaste, 1, false)
	return a, err
}

// openVessel adds the lines of one vessel. Of equal vessels in series one is
// refilled at a time, so each takes its share of the refills.
func (b *bench) openVessel(a *account, k, place int, put func(int, string, string, string, counted, float64, bool)) {
	v := &b.rig.Vessels[k]
	name := string(v.Kind)
	if v.Name != "" {
		name = v.Name
	}
	turn := 1.0
	if b.rig.leadLag() {
		turn = 1 / float64(len(b.rig.Vessels))
	}
	resin := float64(v.Vessel.Resin)
	stated := func(what string, by counted, amount, price float64, first bool) {
		a.lines = append(a.lines, line{stage: place, of: name, item: what, by: by, amount: amount, price: -1, stated: price, first: first})
	}
	if !v.Owned {
		if v.Price != nil {
			stated("vessel", byTrain, 1, v.Price.Amount, true)
		} else if v.Kind == KindTank {
			put(place, name, "vessel", "vessel/tank", byTrain, resin, true)
		} else {
			put(place, name, "vessel", "vessel/"+string(v.Kind), byTrain, 1, true)
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
			put(place, name, "first fill", key, byTrain, resin, true)
		}
		put(place, name, "refills", key, byRefill, resin*turn, false)
		a.lines[len(a.lines)-1].exchange = serviced
	}
	put(place, name, "refill work", "labour", byRefill, v.FillHours*turn, false)
	if !serviced {
		put(place, name, "resin disposal", "resin_disposal", byRefill, resin*turn, false)
	}
}

// uses reports whether a leg uses something in any draw.
func (b *bench) uses(g *leg, of func(*process.Use) float64) bool {
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
	if b.rig.leadLag() {
		turn = 1 / float64(len(b.rig.Vessels))
	}
	for k := range b.rig.Vessels {
		sum += turn * b.rig.Vessels[k].FillHours * (fills - 1) / years
	}
	return sum
}
