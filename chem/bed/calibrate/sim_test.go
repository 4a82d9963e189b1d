package calibrate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"forebed/chem/unit"
)

// truth is a rig whose inner life the estimator never sees.
type truth struct {
	curve  func(t float64) (pen, residue, silica float64) // t in stoichiometric throughputs of the anion half
	end    float64                                        // t of 10 mg/L
	stoich float64                                        // litres of nominal water that the whole anion half could take up
	usable float64
	phase  float64
	kind   int // of the drift
	walk   []float64
	feed   float64 // ppm
	pens   [2]float64
	owner  Ending
	season int // weeks of use a year
	rinse  float64
	weekly float64 // rinses
	silica float64 // share of entries with a silica test
}

// testWater is one of the waters that the rigs are spread over, meq/L.
type testWater struct {
	anion, cation, carbon, silica, ppm, solids float64
}

var testWaters = []testWater{
	{7.87, 7.06, 5.57, 0.25, 330, 270}, // the worked example of treatment ledger section 6
	{4.0, 3.4, 2.9, 0.30, 170, 150},
	{1.6, 1.2, 0.9, 0.20, 60, 60},
	{12, 11, 5, 0.40, 560, 500},
	{0.95, 0.35, 0.62, 0.03, 18, 17}, // behind reverse osmosis
}

// life is the litres of nominal water of one fill.
func (r *truth) life() float64 { return r.stoich * r.usable * r.end }

// load is the load of the feed at a day.
func (r *truth) load(day float64) float64 {
	switch r.kind {
	case 0:
		return 1 + 0.15*math.Sin(2*math.Pi*day/365.25+r.phase)
	case 1:
		return 1 + 0.15*math.Sin(r.phase)*min(1, day/600)
	}
	i := min(int(day/7), len(r.walk)-1)
	return math.Exp(r.walk[i])
}

func newTruth(rng *rand.Rand) (*truth, Prior) {
	w := testWaters[rng.IntN(len(testWaters))]
	resin := []float64{4.4, 14, 28.3}[rng.IntN(3)]
	nf := []float64{18, 45, 64}[rng.IntN(3)]
	nc := nf * 0.67
	r := &truth{
		stoich: 1000 * 0.6 * resin / w.anion,
		usable: 0.55 + 0.35*rng.Float64(),
		phase:  2 * math.Pi * rng.Float64(),
		kind:   rng.IntN(3), feed: w.ppm,
		owner:  []Ending{BySpots, BySpots, ByPen, BySilica, BySchedule}[rng.IntN(5)],
		season: []int{26, 36, 52}[rng.IntN(3)],
		silica: 0.15 * rng.Float64(),
	}
	for range 600 {
		last := 0.0
		if n := len(r.walk); n > 0 {
			last = r.walk[n-1]
		}
		r.walk = append(r.walk, last+0.15/math.Sqrt(52)*rng.NormFloat64())
	}
	for i := range r.pens {
		r.pens[i] = 2 * (2*rng.Float64() - 1)
		if rng.IntN(2) == 0 {
			r.pens[i] = math.Copysign(2, r.pens[i])
		}
	}
	ratio := w.anion / w.cation * 0.4 * 1.88 / (0.6 * 0.95) // cation over anion throughput
	carbonic := 0.5 * 1000 * 394e-3 * math.Sqrt(4.47e-7*w.carbon/1000) * 1000
	// The truth's fronts are logistic, not the exponential that the estimator
	// takes, and a few per cent elsewhere.
	shiftA, shiftC := 1+0.03*rng.NormFloat64(), 1+0.03*rng.NormFloat64()
	logistic := func(t, at, n float64) float64 { return 1 / (1 + math.Exp(-1.15*n*(t/at-1))) }
	r.curve = func(t float64) (pen, residue, silica float64) {
		silica = 60.084 * w.anion * logistic(t, 0.97*shiftA, nf)
		na := logistic(t, ratio*shiftC, nc)
		acid := carbonic * math.Sqrt(logistic(t, 1.01*shiftA, nf))
		if w.silica == 0 {
			silica = 0
		}
		return max(acid, w.ppm*na), silica + w.solids*na, silica
	}
	for r.end = 0.2; r.end < 3; r.end += 0.0005 {
		if _, residue, _ := r.curve(r.end); residue >= 10 {
			break
		}
	}
	r.rinse = []float64{30, 60, 100}[rng.IntN(3)] * (0.7 + 0.6*rng.Float64())
	fillWeeks := 12 + 40*rng.Float64()
	r.weekly = r.life() / fillWeeks / r.rinse
	if r.weekly > 10 { // long lives: larger rinses
		r.rinse *= r.weekly / 10
		r.weekly = 10
	}

	// What a plan would say: the closed form of treatment ledger 2.5.
	x := 10 / (60.084 * w.anion)
	endA := 0.97 * (1 + (1+math.Log(x))/nf)
	endC := ratio * (1 + (1+math.Log(10/w.solids))/nc)
	end := min(endA, endC)
	p := Prior{Known: true, Shape: Shape{
		Anion: 1 / end, Cation: ratio / end, AnionUnits: nf, CationUnits: nc,
		Feed: w.ppm, Carbonic: carbonic, Band: 60.084 * w.anion, Solids: w.solids,
	}}
	for i := range 400 {
		p.Lives = append(p.Lives, r.stoich*end*(0.55+0.35*(float64(i)+0.5)/400))
	}
	return r, p
}

// checkpoint is a moment at which a forecast is asked for.
type checkpoint struct {
	fill  int // number from 1
	share float64
	fills []Fill
	life  float64 // truth, litres
	used  float64
}

// live runs a rig through its fills.
func (r *truth) live(fills int, shares []float64, rng *rand.Rand) (cps []checkpoint, stretches []Stretch) {
	day := 365.25 * 40 * 1.0
	start := day
	var log []Fill
	readPen := func(x, offset float64) float64 {
		return max(0, math.Round(x*(1+0.02*rng.NormFloat64())+offset+0.4*rng.NormFloat64()))
	}
	lastDay, lastUsed := day, 0.0
	for n := 1; n <= fills; n++ {
		own := math.Exp(0.03 * rng.NormFloat64())
		capacity := r.stoich * r.usable * own
		cur := Fill{Start: day}
		var used, t, life float64
		pending := slices.Clone(shares)
		eye := 10 * math.Exp(0.3+0.4*rng.NormFloat64())
		var marks []checkpoint
		lastDay, lastUsed = day, 0
		planned := r.stoich * 0.725 * r.end * 0.75
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
			pen, residue, silica := r.curve(t)
			o := Observation{Day: day, Used: unit.Litres(used), Feed: math.NaN(), Product: math.NaN(), Silica: math.NaN()}
			noted := rng.Float64() < 0.4
			if noted {
				o.Product = readPen(pen, r.pens[1])
				if rng.Float64() < 0.4 {
					o.Feed = readPen(r.feed*load, r.pens[0])
				}
			}
			if rng.Float64() < r.silica || (r.owner == BySilica && rng.Float64() < 0.15) {
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
				ended = !math.IsNaN(o.Product) && o.Product >= 8 || residue > 8*eye
			case BySilica:
				ended = o.Silica >= 1 && !o.Below || residue > 8*eye
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
				marks = append(marks, checkpoint{fill: n, share: pending[0], fills: append(slices.Clone(log), snap), used: used})
				pending = pending[1:]
			}
			if ended {
				cur.End = r.owner
				switch {
				case r.owner == BySchedule && residue > eye, r.owner == ByPen && residue > 8*eye, r.owner == BySilica && residue > 8*eye:
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
		cps = append(cps, marks...)
		log = append(log, cur)
		day += 1
	}
	return cps, stretches
}

func TestHiddenRigs(t *testing.T) {
	const rigs = 200
	rng := rand.New(rand.NewPCG(2026, 9))
	type tally struct{ in, n int }
	var all tally
	byFill, byShare, byOwner := map[int]*tally{}, map[float64]*tally{}, map[Ending]*tally{}
	count := func(t *tally, in bool) {
		t.n++
		if in {
			t.in++
		}
	}
	var firstModel, firstPrior, third []float64
	var worth []float64
	for range rigs {
		r, p := newTruth(rng)
		cps, stretches := r.live(4, []float64{0.25, 0.5, 0.8}, rng)
		prior := bandOf(p.Lives)
		for _, c := range cps {
			if c.share != 0.5 && c.fill%2 == 0 {
				continue
			}
			m, err := Learn(p, c.fills, 700, 1)
			if err != nil {
				t.Fatal(err)
			}
			f := m.Forecast(Habit{}.Learn(stretches), 700, 1)
			worth = append(worth, f.Worth)
			in := c.life >= f.Life.P10 && c.life <= f.Life.P90
			count(&all, in)
			if byFill[c.fill] == nil {
				byFill[c.fill] = &tally{}
			}
			if byShare[c.share] == nil {
				byShare[c.share] = &tally{}
			}
			if byOwner[r.owner] == nil {
				byOwner[r.owner] = &tally{}
			}
			count(byFill[c.fill], in)
			count(byShare[c.share], in)
			count(byOwner[r.owner], in)
			e := math.Abs(f.Life.P50/c.life - 1)
			switch {
			case c.fill == 1:
				firstModel = append(firstModel, e)
				firstPrior = append(firstPrior, math.Abs(prior.P50/c.life-1))
			case c.fill >= 3 && c.share == 0.5:
				third = append(third, e)
			}
		}
	}
	t.Logf("P10-P90 holds the truth in %.1f %% of %d forecasts", 100*float64(all.in)/float64(all.n), all.n)
	for k, v := range byFill {
		t.Logf("fill %d: %.0f %% of %d", k, 100*float64(v.in)/float64(v.n), v.n)
	}
	for k, v := range byShare {
		t.Logf("at %.2f: %.0f %% of %d", k, 100*float64(v.in)/float64(v.n), v.n)
	}
	for k, v := range byOwner {
		t.Logf("owner %d: %.0f %% of %d", k, 100*float64(v.in)/float64(v.n), v.n)
	}
	med := func(x []float64) float64 { s := slices.Sorted(slices.Values(x)); return quantile(s, 0.5) }
	mean := func(x []float64) (s float64) {
		for _, v := range x {
			s += v / float64(len(x))
		}
		return
	}
	t.Logf("first fill: median error %.3f against %.3f of the prior; mean %.3f against %.3f", med(firstModel), med(firstPrior), mean(firstModel), mean(firstPrior))
	t.Logf("third fill and later at half life: median error %.3f of %d", med(third), len(third))
	s := slices.Sorted(slices.Values(worth))
	t.Logf("worth of the draws: P5 %.0f, median %.0f", quantile(s, 0.05), quantile(s, 0.5))
}
