package calibrate

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"forebed/chem/unit"
)

// Prior is what the plan says before a reading.
type Prior struct {
	Lives []float64 // equally likely lives of a fill to the end by dry residue, in litres
	Shape Shape
	Known bool // Shape.Feed is what this pen should show of the plan's water; else the first readings of the log stand for it
}

// Band is an uncertain quantity.
type Band struct{ P10, P50, P90 float64 }

// FromBand returns equally likely values whose 10th, 50th and 90th percentile
// are those of the band: lognormal on either side of the median. A plan
// document holds no more than the three.
func FromBand(b Band, draws int) []float64 {
	const z90 = 1.2815515655446004
	xs := make([]float64, draws)
	for i := range xs {
		z := normalQuantile((float64(i) + 0.5) / float64(draws))
		slope := math.Log(b.P90/b.P50) / z90
		if z < 0 {
			slope = math.Log(b.P50/b.P10) / z90
		}
		xs[i] = b.P50 * math.Exp(slope*z)
	}
	return xs
}

// Ending tells how a fill ended.
type Ending int

// The endings. InService is the fill that runs now.
const (
	InService  Ending = iota
	BySpots           // spots were seen
	ByPen             // the pen was past its mark
	BySilica          // a silica test was past its mark
	BySchedule        // nothing was wrong yet
)

// Observation is one entry of a log within a fill. What was not looked at is
// NaN.
type Observation struct {
	Day     float64     // days on any scale, 365.25 a year
	Used    unit.Litres // through the vessel since it was filled
	Feed    float64     // pen ahead of the vessel, ppm
	Product float64     // pen behind it, ppm
	Silica  float64     // test of the product, mg/L as SiO2
	Below   bool        // the test showed less than Silica
}

// Fill is one fill of the vessel: what was seen, in order, and how it ended.
type Fill struct {
	Start float64 // day it was filled
	Seen  []Observation
	Day   float64     // day of its end, or today
	Used  unit.Litres // by then
	End   Ending
}

// Judgements of the model, without a source; see the package comment.
const (
	modelSpread  = 0.03 // of ln u beyond the plan's draws: the plan is computed, not measured
	leastSpread  = 0.14 // of ln u in all: the usable fraction runs from 0.55 to 0.90 in practice (treatment ledger A12), whatever a plan thinks of one vessel
	tail         = 0.10 // z becomes z + tail z^3
	pensApart    = 0.03 // of a pen's factor, as a share: it against the plan's conductivity
	newLevel     = 0.04 // of ln u: the feed since the plan, where the pen cannot tell
	fillSpread   = 0.03 // of e
	shapeSpread  = 0.04 // of the factor
	heightSpread = 0.25 // of the height
	penOffset    = 2.0  // ppm, of b, and of the pen ahead of the vessel
	penNoise     = 0.45 // ppm of one reading, rounding included
	penShare     = 0.25 // of what it shows
	outliers     = 0.03 // share of pen readings that mean nothing
	testFloor    = 0.2  // mg/L of silica that a test cannot tell from none
	testSpread   = 0.4  // of a silica test, in the logarithm
	badTests     = 0.01 // share of silica tests that mean nothing
	testRange    = 5.0  // in the logarithm, 0.2 to 30 mg/L
	keenEye      = 0.02 // ln T before 1 at which spots are seen
	dullEye      = 0.04 // ln T after 1
	notLooking   = 0.15 // share of runs in which spots would not have been noted
	penMark      = 4.0  // ppm at which some begin to refill by the pen
	silicaMark   = 1.0  // mg/L
)

// state is one draw of what the rig may be like.
type state struct {
	usable float64 // u
	factor float64 // of Shape.Anion and Shape.Cation
	height float64 // of the pen's rise and of silica
	offset float64 // b, ppm
	fill   float64 // exp(e) of the fill in service
	path   int     // of the feed
}

// Model is what is known of a rig after its log.
type Model struct {
	prior   Prior
	states  []state // equally likely
	median  float64 // of the prior lives
	sorted  []float64
	feed    feed
	ref     float64   // ppm of the feed that counts as load 1
	level   []float64 // of each path: mean logarithm of the load over the log, less its expectation
	current Fill
	lived   []fillRun
	loads   []float64 // expected logarithm of the mean load in each fill
	spread  float64   // of ln u beyond the plan's draws
	worth   float64   // number of equal draws that those of the last round are worth
}

// fillRun is a fill as the likelihood takes it.
type fillRun struct {
	seen   []sight
	x      float64 // exposure at its end
	end    Ending
	spread float64 // of e
}

type sight struct {
	x, product, silica float64
	below              bool
}

// ErrInput is the sentinel of a log or prior that cannot be learned from.
var ErrInput = errors.New("cannot learn from this")

// Learn updates the prior by the fills of a log, the last of them in service.
// It looks ahead no more than horizon days. The same seed gives the same
// model.
func Learn(p Prior, fills []Fill, horizon float64, seed uint64) (*Model, error) {
	if err := p.check(); err != nil {
		return nil, err
	}
	if len(fills) == 0 || fills[len(fills)-1].End != InService {
		return nil, fmt.Errorf("%w: the last fill must be in service", ErrInput)
	}
	rng := rand.New(rand.NewPCG(seed, 0x666f7265626564))
	m := &Model{prior: p, current: fills[len(fills)-1], sorted: slices.Sorted(slices.Values(p.Lives))}
	m.median = quantile(m.sorted, 0.5)
	m.follow(fills, horizon, rng)
	m.expose(fills)
	m.weigh(rng)
	return m, nil
}

func (p *Prior) check() error {
	s := &p.Shape
	switch {
	case len(p.Lives) < 10:
		return fmt.Errorf("%w: %d draws of the life, want at least 10", ErrInput, len(p.Lives))
	case slices.ContainsFunc(p.Lives, func(l float64) bool { return !(l > 0) || math.IsInf(l, 1) }):
		return fmt.Errorf("%w: a life that is no positive number", ErrInput)
	case !(s.Anion > 0 && s.Carbon > 0 && s.Cation > 0 && s.AnionUnits > 0 && s.CationUnits > 0):
		return fmt.Errorf("%w: a shape without its halves", ErrInput)
	case !(s.Feed >= 0 && s.Carbonic >= 0 && s.Band >= 0 && s.Solids >= 0):
		return fmt.Errorf("%w: a shape with a negative figure", ErrInput)
	}
	return nil
}

// follow works out the feed.
func (m *Model) follow(fills []Fill, horizon float64, rng *rand.Rand) {
	var rs []reading
	for _, f := range fills {
		for _, o := range f.Seen {
			if o.Feed > 0 {
				rs = append(rs, reading{o.Day, o.Feed})
			}
		}
	}
	m.ref = m.prior.Shape.Feed
	if !m.prior.Known && len(rs) > 0 {
		first := rs[:min(3, len(rs))]
		var sum float64
		for _, r := range first {
			sum += math.Log(r.ppm)
		}
		m.ref = math.Exp(sum / float64(len(first)))
	}
	m.feed = newFeed(rs, m.ref, fills[0].Start, m.current.Day+horizon, feedPaths, rng)
}

// expose turns volumes into exposures, by the expected feed, and works out how
// unsure they are: what all fills share widens u, the rest widens each fill.
func (m *Model) expose(fills []Fill) {
	deviations := make([][]float64, len(fills)) // by fill and path
	m.level = make([]float64, feedPaths)
	var total float64
	for k := range fills {
		f := &fills[k]
		run := fillRun{end: f.End}
		run.x = m.exposure(f, m.feed.mean, func(x float64, o *Observation) {
			if !math.IsNaN(o.Product) || !math.IsNaN(o.Silica) {
				run.seen = append(run.seen, sight{x, o.Product, o.Silica, o.Below})
			}
		})
		m.lived = append(m.lived, run)
		m.loads = append(m.loads, m.meanLoad(f, m.feed.mean))
		deviations[k] = make([]float64, feedPaths)
		share := float64(f.Used) + 1e-9 // a log of empty fills has a level, too
		total += share
		for i, path := range m.feed.paths {
			deviations[k][i] = m.meanLoad(f, path) - m.loads[k]
			m.level[i] += share * deviations[k][i]
		}
	}
	var common float64
	for i := range m.level {
		m.level[i] /= total
		common += m.level[i] * m.level[i] / feedPaths
	}
	own := max(modelSpread*modelSpread, leastSpread*leastSpread-variance(m.sorted))
	m.spread = math.Sqrt(own + min(common, newLevel*newLevel))
	for k := range m.lived {
		var own float64
		for i, d := range deviations[k] {
			own += (d - m.level[i]) * (d - m.level[i]) / feedPaths
		}
		m.lived[k].spread = math.Sqrt(fillSpread*fillSpread + own)
	}
}

// exposure sums the load over a fill along a path and reports each
// observation with its exposure. Between two observations the load is that of
// the middle of the time between them.
func (m *Model) exposure(f *Fill, path []float64, at func(x float64, o *Observation)) float64 {
	var x, used float64
	day := f.Start
	advance := func(d, v float64) {
		x += (v - used) / m.median * math.Exp(m.feed.at(path, (day+d)/2))
		day, used = d, v
	}
	for i := range f.Seen {
		o := &f.Seen[i]
		advance(o.Day, float64(o.Used))
		at(x, o)
	}
	advance(f.Day, float64(f.Used))
	return x
}

// meanLoad is the logarithm of the mean load of a fill.
func (m *Model) meanLoad(f *Fill, path []float64) float64 {
	if f.Used <= 0 {
		return m.feed.at(path, (f.Start+f.Day)/2)
	}
	return math.Log(m.exposure(f, path, func(float64, *Observation) {}) * m.median / float64(f.Used))
}
