package bed

import (
	"errors"
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// EndpointOrder lists the ends of life in the order of print.
func EndpointOrder() []Endpoint {
	return []Endpoint{EndResidue, EndMeter, EndSilica, EndHardness, EndPH, EndAnion, EndCation}
}

// Check reports what about the limits cannot be.
func (e *Ends) Check() error {
	var errs []error
	positive := func(what string, x, high float64) {
		if !(x > 0 && x <= high) {
			errs = append(errs, fmt.Errorf("%s is %v, expected more than 0 and at most %v", what, x, high))
		}
	}
	positive("limit of dry residue in mg/L", float64(e.Residue), 10000)
	positive("limit of the meter in ppm", e.Meter, 10000)
	positive("ppm a uS/cm", e.MeterFactor, 1)
	positive("limit of silica as a share of the feed", e.Silica, 1)
	positive("limit of hardness in mg/L as CaCO3", float64(e.Hardness), 10000)
	if !(e.LowPH > 0 && e.LowPH < 7 && e.HighPH > 7 && e.HighPH < 14) {
		errs = append(errs, fmt.Errorf("limits of pH are %v and %v, expected one below and one above 7", e.LowPH, e.HighPH))
	}
	return errors.Join(errs...)
}

// Band is a stretch of water beyond a limit.
type Band struct {
	From, To unit.Litres // To is +Inf where the product never came back
	Peak     float64     // worst value on the way, in the unit of the end; a narrow band is lower and broader in a real bed
}

// End is one end of life.
type End struct {
	ID    Endpoint
	Limit float64     // in mg/L, ppm, pH or a share, by ID
	Life  unit.Litres // first crossing; +Inf if the run did not reach it
	Meter float64     // what the pen shows at that moment, ppm
	Bands []Band      // every stretch beyond the limit, in order
	Final unit.Litres // the crossing after which the product stays beyond the limit; +Inf if not reached
}

// Reached tells whether the run came to this end.
func (e End) Reached() bool { return !math.IsInf(float64(e.Life), 1) }

// Returns tells whether the product came back within the limit, so that water
// can be run to waste and the bed be used on.
func (e End) Returns() bool { return len(e.Bands) > 0 && !math.IsInf(float64(e.Bands[0].To), 1) }

// Waste returns the water beyond the limit before the final life.
func (e End) Waste() unit.Litres {
	var sum unit.Litres
	for _, b := range e.Bands {
		if !math.IsInf(float64(b.To), 1) {
			sum += b.To - b.From
		}
	}
	return sum
}

// tracker follows one signal across its limit. A band is over when the signal
// has fallen a twentieth below the limit, so that a ripple makes no bands.
type tracker struct {
	id     Endpoint
	limit  float64
	signal func(*Row) float64
	end    End
	above  bool
	last   float64
	lastAt unit.Litres
	meter  float64
	any    bool
}

const backBelow = 0.95

func (t *tracker) see(r *Row) {
	x := t.signal(r)
	switch {
	case !t.above && x >= t.limit:
		var b Band // a fresh bed that leaks more than the limit is beyond it from 0
		if t.any {
			share := between(t.last, x, t.limit)
			b.From = t.lastAt + unit.Litres(share)*(r.Volume-t.lastAt)
			if len(t.end.Bands) == 0 {
				t.end.Meter = t.meter + share*(r.Meter-t.meter)
			}
		} else {
			t.end.Meter = r.Meter
		}
		if len(t.end.Bands) == 0 {
			t.end.Life = b.From
		}
		b.To, b.Peak = unit.Litres(math.Inf(1)), x
		t.end.Bands, t.above = append(t.end.Bands, b), true
	case t.above && x < backBelow*t.limit:
		b := &t.end.Bands[len(t.end.Bands)-1]
		b.To, t.above = t.lastAt+unit.Litres(between(t.last, x, t.limit))*(r.Volume-t.lastAt), false
	case t.above:
		b := &t.end.Bands[len(t.end.Bands)-1]
		b.Peak = max(b.Peak, x)
	}
	t.last, t.lastAt, t.meter, t.any = x, r.Volume, r.Meter, true
}

// between returns how far from a to b the level lies, on a logarithmic scale
// where both are positive, for fronts rise exponentially.
func between(a, b, level float64) float64 {
	if a > 0 && b > 0 && level > 0 {
		a, b, level = math.Log(a), math.Log(b), math.Log(level)
	}
	if a == b {
		return 1
	}
	return min(1, max(0, (level-a)/(b-a)))
}

// sameBand is the gap between two bands, as a share of the volume, below which
// they are one: the ripple of the cells breaks a band into pieces.
const sameBand = 0.02

// merge joins bands that only a ripple parts.
func (e *End) merge() {
	if len(e.Bands) == 0 {
		return
	}
	joined := e.Bands[:1]
	for _, b := range e.Bands[1:] {
		last := &joined[len(joined)-1]
		if b.From-last.To < sameBand*last.To {
			last.To, last.Peak = b.To, max(last.Peak, b.Peak)
			continue
		}
		joined = append(joined, b)
	}
	e.Bands, e.Final = joined, unit.Litres(math.Inf(1))
	if last := joined[len(joined)-1]; math.IsInf(float64(last.To), 1) {
		e.Final = last.From
	}
}

// watch follows all ends of one run.
type watch []*tracker

// residueLimits are shown beside the limit asked for.
var residueLimits = [...]unit.MgPerL{5, 10, 50}

// capacityShare of the feed's load on a half in the product ends the capacity
// of that half: its front is through. Silica counts as load of the anion half.
// Source: treatment ledger 2.5 (1 %).
const capacityShare = 0.01

func newWatch(e *Ends, w *water.Water) watch {
	load := w.Load()
	residue := func(r *Row) float64 { return float64(r.Residue) }
	all := watch{
		{id: EndResidue, limit: float64(e.Residue), signal: residue},
		{id: EndMeter, limit: e.Meter, signal: func(r *Row) float64 { return r.Meter }},
		{id: EndSilica, limit: e.Silica, signal: func(r *Row) float64 { return ratio(float64(r.Water.Silica), float64(w.Silica)) }},
		{id: EndHardness, limit: float64(e.Hardness), signal: func(r *Row) float64 { return float64(r.Hardness) }},
		{id: EndPH, limit: 1, signal: func(r *Row) float64 { return max((7-r.Water.PH)/(7-e.LowPH), (r.Water.PH-7)/(e.HighPH-7)) }},
		{id: EndAnion, limit: capacityShare, signal: func(r *Row) float64 { return ratio(float64(r.Water.Load().Anion), float64(load.Anion)) }},
		{id: EndCation, limit: capacityShare, signal: func(r *Row) float64 { return ratio(float64(r.Water.Load().Cation), float64(load.Cation)) }},
	}
	for _, limit := range residueLimits {
		all = append(all, &tracker{id: EndResidue, limit: float64(limit), signal: residue})
	}
	for _, t := range all {
		t.end = End{ID: t.id, Limit: t.limit, Life: unit.Litres(math.Inf(1)), Final: unit.Litres(math.Inf(1))}
	}
	return all
}

func ratio(a, b float64) float64 {
	if b <= 0 {
		return 0
	}
	return a / b
}

func (w watch) see(r *Row) {
	for _, t := range w {
		t.see(r)
	}
}

func (w watch) ends() (ends, residueAt []End) {
	for i, t := range w {
		t.end.merge()
		if i < len(EndpointOrder()) {
			ends = append(ends, t.end)
		} else {
			residueAt = append(residueAt, t.end)
		}
	}
	return ends, residueAt
}

// thinner keeps the rows at which something changes, and some between.
type thinner struct {
	rows  []Row
	total float64
}

func (t *thinner) add(r *Row) {
	if n := len(t.rows); n > 0 && !changed(&t.rows[n-1], r, t.total) {
		return
	}
	t.rows = append(t.rows, *r)
}

func changed(a, b *Row, total float64) bool {
	moved := func(x, y, floor float64) bool { return math.Abs(x-y) > 0.1*max(x, y, floor) }
	return float64(b.Volume-a.Volume) > total/50 || math.Abs(a.Water.PH-b.Water.PH) > 0.2 ||
		moved(float64(a.Residue), float64(b.Residue), 0.5) || moved(a.Meter, b.Meter, 0.5)
}
