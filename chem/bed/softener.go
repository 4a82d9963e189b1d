package bed

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Softener is a cation exchanger in the sodium form that brine regenerates.
// It is the same column of cells as the mixed bed, with another resin.
type Softener struct {
	Resin        unit.Litres // volume of resin, voids included
	Capacity     unit.EqPerL // total capacity in sodium form, 1.9 to 2.2
	BeadDiameter unit.Metres
	Diameter     unit.Metres // inner diameter of the bed
	Depth        unit.Metres
	Void         float64
	Salt         float64 // g of sodium chloride per litre of resin and regeneration; 96 is 6 lb/ft3
	Brine        float64 // share of salt in the brine by weight, 0.05 to 0.26
	Upflow       bool    // brine against the direction of service
}

// NewSoftener returns a softener of common build: 2.0 eq/L of 8 % crosslinked
// gel (ledger A02), 10 % brine (E30: 5 to 10 %) downward, in the commonest
// tank for that volume. Salt is in g per litre of resin; PoundsPerCubicFoot
// converts.
func NewSoftener(resin unit.Litres, salt float64) Softener {
	s := Softener{Resin: resin, Capacity: 2.0, BeadDiameter: beadDiameter, Void: voidFraction, Salt: salt, Brine: 0.10}
	s.Diameter, s.Depth = Shape(resin)
	return s
}

// PoundsPerCubicFoot is one pound of salt per cubic foot of resin in g/L.
// Source: ledger U03 (16.018).
const PoundsPerCubicFoot = 453.59237 / 28.316846592

// Check reports what about a softener cannot be.
func (s *Softener) Check() error {
	v := s.vessel()
	err := v.Check()
	if !(s.Salt >= 20 && s.Salt <= 500) {
		err = errors.Join(err, fmt.Errorf("salt is %v g/L of resin, expected 20 to 500 (ledger E30: 80 to 320)", s.Salt))
	}
	if !(s.Brine >= 0.02 && s.Brine <= 0.26) {
		err = errors.Join(err, fmt.Errorf("brine is %v salt by weight, expected 0.02 to 0.26", s.Brine))
	}
	return err
}

// vessel is the bed as TransferUnits and Check see it: all cation resin. The
// anion half of Vessel.Check needs some share, which nothing here reads.
func (s *Softener) vessel() Vessel {
	return Vessel{
		Resin: s.Resin, CationShare: 0.95, CationCapacity: s.Capacity, AnionCapacity: 1,
		Conversion: Halves{1, 1}, Distribution: 1,
		BeadDiameter: s.BeadDiameter, Diameter: s.Diameter, Depth: s.Depth, Void: s.Void,
	}
}

// Softening is what a softener does in a settled cycle of service and
// regeneration.
type Softening struct {
	Run        unit.Litres // between regenerations, to the limit of hardness
	Capacity   float64     // equivalents of hardness taken up per litre of resin and cycle
	Leakage    unit.MgPerL // mean hardness of the product as CaCO3
	First      unit.MgPerL // hardness of the first product after regeneration
	Efficiency float64     // equivalents of hardness per equivalent of salt
	Cycles     int         // computed until the run settled
	Balance    float64     // share of the equivalents of one cycle that is unaccounted for
}

// KgrPerFt3 returns the capacity as the trade writes it.
func (s *Softening) KgrPerFt3() float64 { return s.Capacity / EqPerKgrFt3 }

// brineDensity of sodium chloride solutions at 20 degC, kg/L: 0.998 + 0.71 w
// to 0.2 % below 20 %. From memory (handbook: 1.0707 at 10 %).
func brineDensity(share float64) float64 { return 0.998 + 0.727*share }

const molarSalt = 58.44 // g/mol, NaCl

// The softener's column, and how many cycles it may take to settle.
const (
	softenerCells   = 40
	softenerBatches = 8 // of water that exhaust one cell
	softenerCycles  = 40
)

// softening is a softener at work: the column, and what service and brine
// bring to it.
type softening struct {
	column      *column
	species     *species
	sodium      int // its place
	feed, brine []float64
	service     float64 // litres of a batch of water
	regenerant  float64 // litres of a batch of brine
	batches     int     // of brine
	leave       Halves
}

func (s *Softener) start(service Service, w *water.Water) *softening {
	v := s.vessel()
	v.CationShare = 1
	in := *w
	in.Temperature = service.Temperature
	present := func(i water.Ion) bool { return w.Ion[i] > 0 || i == water.Sodium || i == water.Chloride }
	sp := mixed(Halves{Cation: float64(s.Capacity)}, 1.98, &in, present)
	x := &softening{species: sp, sodium: slices.Index(sp.ions, water.Sodium), feed: sp.feed(&in)}

	strength := 1000 * s.Brine * brineDensity(s.Brine) / molarSalt // eq/L
	x.brine = make([]float64, len(x.feed))
	x.brine[x.sodium], x.brine[slices.Index(sp.ions, water.Chloride)] = strength, strength

	cell := float64(s.Resin) * float64(s.Capacity) / softenerCells // eq
	salt := s.Salt * float64(s.Resin) / molarSalt                  // eq
	x.service = cell / softenerBatches / (float64(w.Load().Cation) / 1000)
	x.batches = int(math.Ceil(salt / (2 * cell / softenerBatches)))
	x.regenerant = salt / strength / float64(x.batches)

	x.leave.Cation = math.Exp(-v.TransferUnits(service).Cation / softenerCells)
	x.column = newColumn(&sp.system, softenerCells, cell/x.service, 0, x.leave)
	for k := range softenerCells {
		x.column.resin[k*x.column.n+x.sodium] = x.column.qc
	}
	return x
}

// sum adds up amounts of hardness, or of every cation but sodium, in eq.
func (x *softening) sum(amounts []float64, hardness bool) (eq float64) {
	for k, i := range x.species.ions[:len(x.species.cations)] {
		if k != x.sodium && (!hardness || i == water.Calcium || i == water.Magnesium) {
			eq += amounts[k]
		}
	}
	return eq
}

// held returns the equivalents of other cations than sodium on the resin.
func (x *softening) held() (eq float64) {
	for k := range x.column.cells {
		eq += x.sum(x.column.resin[k*x.column.n:], false)
	}
	return eq * x.service
}

// serve passes water until the hardness of the product, mg/L as CaCO3,
// reaches the limit.
func (x *softening) serve(limit float64) (r Softening, err error) {
	const asCaCO3 = 1000 * 50.043 // mg/eq
	before, most := x.held(), 3*softenerCells*softenerBatches
	raw, passed := asCaCO3*x.sum(x.feed, true), 0.0
	for n := 0; ; n++ {
		if n > most {
			return r, fmt.Errorf("the product never reaches %v mg/L of hardness", limit)
		}
		if err := x.column.pass(x.feed, 0); err != nil {
			return r, err
		}
		hardness := asCaCO3 * x.sum(x.column.water, true)
		if n == 0 {
			r.First = unit.MgPerL(hardness)
		}
		if hardness >= limit {
			passed += x.service * x.sum(x.column.water, false)
			break
		}
		passed += x.service * x.sum(x.column.water, false)
		r.Run += unit.Litres(x.service)
		r.Leakage += unit.MgPerL(hardness * x.service)
	}
	if r.Run == 0 {
		return r, fmt.Errorf("%w: %.3g mg/L of hardness from the first litre, the limit is %v", errLeaks, float64(r.First), limit)
	}
	fed := x.sum(x.feed, false) * (float64(r.Run) + x.service)
	r.Balance = math.Abs(fed-passed-(x.held()-before)) / fed
	r.Leakage /= unit.MgPerL(r.Run)
	r.Capacity = (raw - float64(r.Leakage)) / asCaCO3 * float64(r.Run)
	return r, nil
}

var errLeaks = errors.New("the softener leaks: give it more salt, or brine against the flow of service")

// regenerate passes the brine, in equilibrium with the resin.
func (x *softening) regenerate(upflow bool) error {
	c := x.column
	c.scale(x.service / x.regenerant)
	c.leave = Halves{}
	if upflow {
		c.turn()
	}
	for range x.batches {
		if err := c.pass(x.brine, 0); err != nil {
			return err
		}
	}
	if upflow {
		c.turn()
	}
	c.leave = x.leave
	c.scale(x.regenerant / x.service)
	return nil
}

// Soften runs cycles of service to a limit of hardness and of regeneration
// until the run no longer changes by 0.2 %, and returns the last. The brine is
// treated as ideal and the bed as in equilibrium with it, so the capacity is
// the most that this salt can give: data sheets print SoftenerUsable of it.
func (s *Softener) Soften(service Service, w *water.Water, limit unit.MgPerL) (Softening, error) {
	if err := errors.Join(s.Check(), service.Check()); err != nil {
		return Softening{}, err
	}
	if hardness := w.Hardness(); !(limit > 0 && limit < hardness) {
		return Softening{}, fmt.Errorf("the limit of hardness is %v mg/L, expected more than 0 and less than the %.3g of the water", float64(limit), float64(hardness))
	}
	x := s.start(service, w)
	var last unit.Litres
	for cycle := 1; cycle <= softenerCycles; cycle++ {
		r, err := x.serve(float64(limit))
		if err != nil {
			return Softening{}, err
		}
		if math.Abs(float64(r.Run-last)) <= max(0.002*float64(r.Run), x.service) {
			r.Cycles = cycle
			r.Capacity /= float64(s.Resin)
			r.Efficiency = r.Capacity * molarSalt / s.Salt
			return r, nil
		}
		last = r.Run
		if err := x.regenerate(s.Upflow); err != nil {
			return Softening{}, err
		}
	}
	return Softening{}, fmt.Errorf("the softener's run does not settle in %d cycles", softenerCycles)
}

// settings is what Soften answers for 2.0 eq/L, 10 % brine in the direction of
// service and a water of 10 meq/L, calcium to magnesium 2:1 (the feed of the
// data sheets), to 17 mg/L of hardness. A test computes it again.
var settings = [...]struct {
	salt    float64 // lb/ft3
	share   float64 // of the total capacity that a cycle uses
	leakage float64 // first hardness of the product at 10 meq/L, mg/L as CaCO3
}{
	{5, 0.633, 15.5}, {6, 0.712, 5.00}, {7.5, 0.790, 1.86}, {10, 0.870, 0.711}, {15, 0.940, 0.203}, {20, 0.968, 0.0606},
}

// SoftenerUsable is the share of the solver's capacity that data sheets print
// for the same salt: 0.72 to 0.80 at 5 to 15 lb/ft3 (ledger E24 to E27: 20.0,
// 25.4, 29.0 and 33.0 kgr/ft3). The rest goes to diffusion in the beads,
// uneven flow and rinsing with hard water, which the cells leave out.
const SoftenerUsable = 0.76

// SoftenerClosed is Soften without cells, for brine of 10 % in the direction
// of service, fast enough for a search: the capacity in eq of hardness per
// litre of resin that a cycle can count on, and the hardness that leaks after
// regeneration, mg/L as CaCO3. salt is in g per litre of resin and is taken as
// 80 to 320 (5 to 20 lb/ft3), the range of the cells behind it.
//
// What stays on the resin depends on the salt alone; by mass action its
// leakage goes with the square of the strength of the water C, in meq/L of
// cations: leakage = l(salt) (C/10)^2. Capacity within 10 % and leakage within
// 35 % of SoftenerUsable x Soften over waters of 3 to 20 meq/L.
func SoftenerClosed(salt float64, capacity unit.EqPerL, w *water.Water) (usable unit.EqPerL, leakage unit.MgPerL) {
	at := math.Log(salt / PoundsPerCubicFoot)
	k := 1
	for k < len(settings)-1 && at > math.Log(settings[k].salt) {
		k++
	}
	a, b := settings[k-1], settings[k]
	f := (at - math.Log(a.salt)) / math.Log(b.salt/a.salt)
	f = min(1, max(0, f))
	share := a.share + f*(b.share-a.share)
	c := float64(w.Load().Cation) / 10
	leak := c * c * math.Exp(math.Log(a.leakage)+f*math.Log(b.leakage/a.leakage))
	return unit.EqPerL(SoftenerUsable * share * float64(capacity)), unit.MgPerL(min(leak, float64(w.Hardness())))
}
