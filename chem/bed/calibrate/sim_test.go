package calibrate

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"forebed/chem/bed"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// The rigs of this file are run by the cell model of package bed, with owners,
// pens, feeds and habits that the estimator knows nothing of. What it is given
// is what a log holds, and the closed form's life as a plan would state it.

// truth is one rig.
type truth struct {
	bench  *bench
	end    float64   // litres to 10 mg/L in the cell model
	usable float64   // share of the total anion capacity, 0.55 to 0.90
	scale  float64   // of the litres, so that it is
	worst  float64   // residue of an exhausted bed, mg/L
	drift  int       // of the feed: a yearly wave, a ramp, or a walk
	phase  float64   // of the wave; its sine is the height of the ramp
	walk   []float64 // logarithm of the load, week by week
	feed   float64   // ppm that a true pen shows of the nominal feed
	feedBy float64   // ppm that the pen ahead of the vessel is off
	penBy  float64   // and the one behind it
	owner  Ending    // what makes the owner refill
	season int       // weeks of use a year
	rinse  float64   // litres
	weekly float64   // rinses
	silica float64   // share of rinses with a silica test
	noted  float64   // share of rinses after which the meters are noted
}

// testWater is one of the waters that the rigs are spread over: mmol/L, and the
// pH that closes the balance with carbonate.
type testWater struct {
	name string
	ion  map[water.Ion]float64
	si   float64
	ph   float64
}

var testWaters = []testWater{
	{"hard iron well, treatment ledger section 6", map[water.Ion]float64{water.Calcium: 1.996, water.Magnesium: 1.0285, water.Sodium: 0.870, water.Potassium: 0.077, water.Chloride: 0.705, water.Sulfate: 0.583, water.Nitrate: 0.161}, 0.25, 7.3},
	{"soft acid", map[water.Ion]float64{water.Calcium: 0.25, water.Magnesium: 0.1, water.Sodium: 0.4, water.Chloride: 0.35, water.Sulfate: 0.1}, 0.2, 6.1},
	{"hard, much silica", map[water.Ion]float64{water.Calcium: 1.2, water.Magnesium: 0.6, water.Sodium: 1.2, water.Chloride: 0.8, water.Sulfate: 0.3}, 0.7, 7.6},
	{"saline, little silica", map[water.Ion]float64{water.Calcium: 1.5, water.Magnesium: 1, water.Sodium: 6, water.Chloride: 6, water.Sulfate: 1}, 0.1, 7.8},
	{"behind reverse osmosis", map[water.Ion]float64{water.Calcium: 0.05, water.Magnesium: 0.02, water.Sodium: 0.2, water.Chloride: 0.15, water.Sulfate: 0.01}, 0.03, 5.9},
}

func (w *testWater) water(t *testing.T) *water.Water {
	t.Helper()
	v := water.Water{Temperature: 15, Silica: unit.MmolPerL(w.si)}
	for ion, c := range w.ion {
		v.Ion[ion] = unit.MmolPerL(c)
	}
	v, err := v.WithPH(w.ph)
	if err != nil {
		t.Fatalf("%s: %v", w.name, err)
	}
	return &v
}

// bench is the cell model's run of one vessel on one water, with all of the
// bed reached, and what the closed form says of it.
type bench struct {
	water  *water.Water
	feed   float64 // ppm
	run    *bed.Breakthrough
	closed bed.Life
	usable float64 // share of the total anion capacity that the closed form uses
}

func newBenches(t *testing.T) []bench {
	t.Helper()
	ends := bed.DefaultEnds()
	var all []bench
	for i := range testWaters {
		w := testWaters[i].water(t)
		for _, c := range []struct {
			vessel bed.Vessel
			gpm    float64
		}{
			{bed.NewVessel(unit.CubicFeet(1)), 2},
			{bed.NewVessel(unit.CubicFeet(0.5)), 2},
			{bed.Cartridge(unit.Inches(4.5), unit.Inches(17)), 1},
		} {
			c.vessel.Distribution = 1
			s := bed.Service{Flow: unit.GallonsPerMinute(c.gpm), Temperature: 15}
			run, err := bed.Run(&c.vessel, s, &ends, w, bed.Options{})
			if err != nil {
				t.Fatalf("%s: %v", testWaters[i].name, err)
			}
			closed := bed.Closed(&c.vessel, s, &ends, w)
			all = append(all, bench{w, 0.5 * float64(water.Conductivity(w)), run, closed, closed.Usable.Anion})
		}
	}
	return all
}

// at returns what leaves the cell model's bed after so many litres.
func (b *bench) at(litres float64) (pen, residue, silica float64) {
	rows := b.run.Rows
	i, _ := slices.BinarySearchFunc(rows, litres, func(r bed.Row, v float64) int { return cmp.Compare(float64(r.Volume), v) })
	i = min(max(i, 1), len(rows)-1)
	w := min(1, max(0, (litres-float64(rows[i-1].Volume))/float64(rows[i].Volume-rows[i-1].Volume)))
	mix := func(a, b float64) float64 { return a + w*(b-a) }
	p, q := &rows[i-1], &rows[i]
	return mix(p.Meter, q.Meter), mix(float64(p.Residue), float64(q.Residue)), mix(float64(p.Silica), float64(q.Silica))
}

// life is the litres of nominal water of one fill.
func (r *truth) life() float64 { return r.end * r.scale }

// load is the load of the feed at a day.
func (r *truth) load(day float64) float64 {
	switch r.drift {
	case 0:
		return 1 + 0.15*math.Sin(2*math.Pi*day/365.25+r.phase)
	case 1:
		return 1 + 0.15*math.Sin(r.phase)*min(1, day/600)
	}
	i := min(int(day/7), len(r.walk)-1)
	return math.Exp(r.walk[i])
}

func newTruth(t *testing.T, benches []bench, rng *rand.Rand) (*truth, Prior) {
	t.Helper()
	b := &benches[rng.IntN(len(benches))]
	r := &truth{
		bench:  b,
		usable: 0.55 + 0.35*rng.Float64(),
		phase:  2 * math.Pi * rng.Float64(),
		drift:  rng.IntN(3), feed: b.feed,
		owner:  []Ending{BySpots, BySpots, ByPen, BySilica, BySchedule}[rng.IntN(5)],
		season: []int{26, 36, 52}[rng.IntN(3)],
		silica: 0.15 * rng.Float64(),
		end:    float64(b.run.End(bed.EndResidue).Life),
	}
	r.scale = r.usable / b.usable
	r.worst = float64(b.run.Rows[len(b.run.Rows)-1].Residue)
	for range 600 {
		last := 0.0
		if n := len(r.walk); n > 0 {
			last = r.walk[n-1]
		}
		r.walk = append(r.walk, last+0.15/math.Sqrt(52)*rng.NormFloat64())
	}
	off := func() float64 { // by 2 ppm either way, every other pen by less
		x := 2*rng.Float64() - 1
		if rng.IntN(2) == 0 {
			return math.Copysign(2, x)
		}
		return 2 * x
	}
	r.feedBy, r.penBy = off(), off()
	x := Expectation{Life: b.closed, Load: b.water.Load(), Carbon: b.water.TotalCarbon(), Silica: b.water.Silica, Residue: 10, MeterFactor: 0.5, Feed: b.feed}
	shape, err := x.Shape()
	if err != nil {
		t.Error(err)
	}
	p := Prior{Known: true, Shape: shape}
	for i := range 400 {
		p.Lives = append(p.Lives, float64(b.closed.Residue)/b.usable*(0.55+0.35*(float64(i)+0.5)/400))
	}
	r.rinse = []float64{30, 60, 100}[rng.IntN(3)] * (0.7 + 0.6*rng.Float64())
	fillWeeks := 12 + 40*rng.Float64()
	r.weekly = r.life() / fillWeeks / r.rinse
	if r.weekly > 10 { // long lives: larger rinses
		r.rinse *= r.weekly / 10
		r.weekly = 10
	}
	r.noted = min(0.4, 40/(fillWeeks*r.weekly)) // some forty entries a fill, where there are that many rinses
	r.silica = min(r.silica, r.noted)
	return r, p
}

// checkpoint is a moment at which a forecast is asked for.
type checkpoint struct {
	fill      int     // number from 1
	share     float64 // of its life used, in truth
	fills     []Fill  // the log by then
	stretches []Stretch
	life      float64 // of the fill in service, in truth, litres
}

// live runs a rig through its fills and stops at shares of each life. The life
// in truth is when the cell model's residue passes 10 mg/L, on the water that
// came; a fill that was ended before is run on at the load of its last day.
func (r *truth) live(fills int, shares []float64, rng *rand.Rand) (all []checkpoint) {
	const start = 40 * 365.25
	day := start
	var stretches []Stretch
	var log []Fill
	readPen := func(x, offset float64) float64 {
		return max(0, math.Round(x*(1+0.02*rng.NormFloat64())+offset+0.4*rng.NormFloat64()))
	}
	for n := 1; n <= fills; n++ {
		capacity := r.scale * math.Exp(0.03*rng.NormFloat64())
		cur := Fill{Start: day}
		var used, t, life float64
		pending := slices.Clone(shares)
		eye := min(10*math.Exp(0.3+0.4*rng.NormFloat64()), 0.8*r.worst)
		blind := min(8*eye, 0.9*r.worst) // seen even by an owner who looks at other signs
		var marks []checkpoint
		lastDay, lastUsed := day, 0.0
		planned := r.end / r.bench.usable * 0.725 * 0.75
		for ended := false; !ended; {
			// the next rinse, irregular; out of season there is none
			day += rng.ExpFloat64() * 7 / r.weekly
			if week := int(math.Mod(day, 365.25) / 7); week >= r.season {
				day += 365.25 - math.Mod(day, 365.25)
			}
			v := r.rinse * math.Exp(0.3*rng.NormFloat64())
			load := r.load(day - start)
			before := t
			t += v * load / capacity
			used += v
			if life == 0 && t >= r.end {
				life = used - v*(t-r.end)/(t-before)
			}
			pen, residue, silica := r.bench.at(t)
			o := Observation{Day: day, Used: unit.Litres(used), Feed: math.NaN(), Product: math.NaN(), Silica: math.NaN()}
			noted := rng.Float64() < r.noted
			if noted {
				o.Product = readPen(pen, r.penBy)
				if rng.Float64() < 0.4 {
					o.Feed = readPen(r.feed*load, r.feedBy)
				}
			}
			if rng.Float64() < r.silica || (r.owner == BySilica && rng.Float64() < max(0.15, r.noted/2)) {
				s := silica * math.Exp(0.25*rng.NormFloat64())
				if o.Silica = math.Round(s*2) / 2; s < 0.5 {
					o.Silica, o.Below = 0.5, true
				}
				noted = true
			}
			switch r.owner {
			case BySpots:
				ended = residue > eye
			case ByPen:
				ended = !math.IsNaN(o.Product) && o.Product >= 8 || residue > blind
			case BySilica:
				ended = o.Silica >= 1 && !o.Below || residue > blind
			case BySchedule:
				ended = used > planned || residue > eye
			}
			if noted || ended {
				cur.Seen = append(cur.Seen, o)
				stretches = append(stretches, Stretch{lastDay, day, unit.Litres(used - lastUsed)})
				lastDay, lastUsed = day, used
			}
			for len(pending) > 0 && !ended && t >= pending[0]*r.end {
				snap := cur
				snap.Seen = slices.Clone(cur.Seen)
				snap.Day, snap.Used = day, unit.Litres(used)
				marks = append(marks, checkpoint{fill: n, share: pending[0], fills: append(slices.Clone(log), snap), stretches: slices.Clone(stretches)})
				pending = pending[1:]
			}
			if ended {
				cur.End = r.owner
				switch {
				case r.owner == BySchedule && residue > eye, r.owner == ByPen && residue > blind, r.owner == BySilica && residue > blind:
					cur.End = BySpots
				}
				cur.Day, cur.Used = day, unit.Litres(used)
			}
		}
		if life == 0 { // ended before: run the truth on at the same load
			life = used + (r.end-t)*capacity/r.load(day-start)
		}
		for i := range marks {
			marks[i].life = life
		}
		all = append(all, marks...)
		log = append(log, cur)
		day += 1
	}
	return all
}
