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

// Judgements of the model; see the package comment.
const (
	modelSpread  = 0.03 // of ln u beyond the plan's draws: the plan is computed, not measured
	leastSpread  = 0.14 // of ln u in all: the usable fraction runs from 0.55 to 0.90 in practice (treatment ledger A12), whatever a plan thinks of one vessel
	tail         = 0.10 // z becomes z + tail z^3
	pensApart    = 0.03 // of a pen's factor, as a share: it against the plan's conductivity
	newLevel     = 0.04 // of ln u: the feed since the plan, where the pen cannot tell
	fillSpread   = 0.03 // of e
	shapeSpread  = 0.04 // of the factor
	heightSpread = 0.25
	penOffset    = 2.0  // ppm, of b, and of the pen ahead of the vessel
	penNoise     = 0.45 // ppm of one reading, rounding included
	penShare     = 0.25 // of what it shows
	outliers     = 0.03 // share of pen readings that mean nothing
	testFloor    = 0.2  // mg/L of silica that a test cannot tell from none
	testSpread   = 0.4
	badTests     = 0.01
	testRange    = 5.0  // in the logarithm, 0.2 to 30 mg/L
	keenEye      = 0.02 // ln T before 1 at which spots are seen
	dullEye      = 0.04 // ln T after 1
	notLooking   = 0.15 // share of runs in which spots would not have been noted
	penMark      = 4.0  // ppm at which some begin to refill by the pen
	silicaMark   = 1.0  // mg/L
)

const (
	keptDraws = 1000
	feedPaths = 64
	dims      = 5
)

// The rounds of draws. The last gives the states; it is repeated about its own
// mean, a few times at most, while its draws are worth too few equal ones.
const (
	rounds     = 3
	mostRounds = 7
	roundDraws = 400
	lastDraws  = 1200
	goodWorth  = 150.0
	enough     = 40.0 // equal draws that a round must be worth for the next to be drawn about it; its weights are tempered until it is
)

// nodes and weights of the five-point Gauss-Hermite rule for a normal of unit
// spread; Abramowitz and Stegun table 25.10 with x sqrt(2) and w/sqrt(pi).
var (
	nodes   = [...]float64{-2.8569700138728056, -1.3556261799742659, 0, 1.3556261799742659, 2.8569700138728056}
	weights = [...]float64{0.011257411327720683, 0.22207592200561266, 0.5333333333333333, 0.22207592200561266, 0.011257411327720683}
)

// State is one draw of what the rig may be like.
type State struct {
	Usable float64 // u
	Factor float64 // of Shape.Anion and Shape.Cation
	Height float64 // of the pen's rise and of silica
	Offset float64 // b, ppm
	Fill   float64 // exp(e) of the fill in service
	path   int     // of the feed
}

// Model is what is known of a rig after its log.
type Model struct {
	Prior     Prior
	States    []State // equally likely
	median    float64 // of the prior lives
	sorted    []float64
	feed      feed
	ref       float64   // ppm of the feed that counts as load 1
	level     []float64 // of each path: mean logarithm of the load over the log, less its expectation
	current   Fill
	lived     []fillRun
	loads     []float64 // expected logarithm of the mean load in each fill
	spread    float64   // of ln u beyond the plan's draws
	effective float64   // number of equal draws that those of the second round are worth
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
	m := &Model{Prior: p, current: fills[len(fills)-1], sorted: slices.Sorted(slices.Values(p.Lives))}
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
	m.ref = m.Prior.Shape.Feed
	if !m.Prior.Known && len(rs) > 0 {
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

// draw is a point in the space where the prior is independent standard
// normals.
type draw [dims]float64

// state maps a draw to a state.
func (m *Model) state(z *draw) State {
	lnu := math.Log(quantile(m.sorted, normalCDF(z[0]))/m.median) + m.spread*(z[1]+tail*z[1]*z[1]*z[1])
	return State{
		Usable: math.Exp(lnu),
		Factor: math.Exp(shapeSpread * z[2]),
		Height: math.Exp(heightSpread * z[3]),
		Offset: penOffset * z[4],
	}
}

// weigh draws states by their posterior weight, in rounds: each draws from the
// normal that the one before suggests.
func (m *Model) weigh(rng *rand.Rand) {
	about := standard()
	var zs []draw
	var w []float64
	var lasts [][len(nodes)]float64
	for round := 0; ; round++ {
		last := round >= rounds
		count := roundDraws
		if last {
			count = lastDraws
		}
		zs = make([]draw, count)
		lasts = make([][len(nodes)]float64, count)
		logs := make([]float64, count)
		for i := range zs {
			zs[i] = about.draw(rng)
			logs[i], lasts[i] = m.likelihood(&zs[i])
			logs[i] += standardLog(&zs[i]) - about.log(&zs[i])
		}
		if w, m.effective = normalized(logs); last && (m.effective >= goodWorth || round == mostRounds) {
			break
		}
		about = newProposal(zs, tempered(logs, enough))
	}

	// Systematic resampling: as many copies as the weight asks for.
	spread := m.lived[len(m.lived)-1].spread
	m.States = make([]State, 0, keptDraws)
	var sum float64
	at := rng.Float64()
	for i := range zs {
		sum += w[i] * keptDraws
		for ; at < sum && len(m.States) < keptDraws; at++ {
			s := m.state(&zs[i])
			s.Fill = math.Exp(spread * smear(pick(lasts[i][:], rng.Float64()), rng))
			s.path = len(m.States) % feedPaths
			m.States = append(m.States, s)
		}
	}
	for len(m.States) < keptDraws { // rounding of the sum
		m.States = append(m.States, m.States[len(m.States)-1])
	}
	rng.Shuffle(len(m.States), func(i, j int) { m.States[i].path, m.States[j].path = m.States[j].path, m.States[i].path })
}

// likelihood returns the logarithm of the likelihood of all fills, and the
// shares of the nodes in that of the last.
func (m *Model) likelihood(z *draw) (total float64, last [len(nodes)]float64) {
	s := m.state(z)
	shape := m.shapeOf(&s)
	for i := range m.lived {
		r := &m.lived[i]
		quiet := r.quiet(&shape, s.Offset)
		var logs [len(nodes)]float64
		most := math.Inf(-1)
		for k, node := range nodes {
			logs[k] = math.Log(weights[k]) + r.log(&shape, s.Usable*math.Exp(r.spread*node), s.Offset, quiet)
			most = max(most, logs[k])
		}
		var sum float64
		for k := range logs {
			logs[k] = math.Exp(logs[k] - most)
			sum += logs[k]
		}
		total += most + math.Log(sum)
		last = logs
	}
	return total, last
}

// quietPen and quietSilica are what counts as nothing: far below what a pen or
// a test tells apart.
const quietPen, quietSilica = 0.02, 0.01

// quiet is the likelihood of each sight while the bed gives nothing off. Most
// sights of a fill are such, and need no more than this.
func (r *fillRun) quiet(s *Shape, offset float64) []sightLaw {
	laws := make([]sightLaw, len(r.seen))
	for i := range r.seen {
		o := &r.seen[i]
		laws[i] = sightLaw{1, 1}
		if !math.IsNaN(o.product) {
			laws[i].pen = penLaw(o.product, 0, offset, s.Feed)
		}
		if !math.IsNaN(o.silica) && s.Band > 0 {
			laws[i].silica = silicaLaw(o.silica, o.below, 0)
		}
	}
	return laws
}

type sightLaw struct{ pen, silica float64 }

// log is the logarithm of the likelihood of one fill whose life is an exposure
// of u.
func (r *fillRun) log(s *Shape, u, offset float64, quiet []sightLaw) float64 {
	var l float64
	p := 1.0
	for i := range r.seen {
		p *= r.factor(i, s, r.seen[i].x/u, offset, quiet)
		if p < 1e-200 { // every factor is above 1e-9
			l, p = l+math.Log(p), 1
		}
	}
	t := r.x / u
	switch r.end {
	case BySpots:
		return l + math.Log(p*spotsLaw(t))
	case ByPen:
		p *= 0.02 + 0.98*normalCDF((s.Pen(t)-penMark)/(0.5*penMark))
	case BySilica:
		if s.Band > 0 {
			p *= 0.02 + 0.98*normalCDF(math.Log((s.Silica(t)+testFloor)/(silicaMark+testFloor))/testSpread)
		}
	}
	return l + math.Log(p*(notLooking+(1-notLooking)*unseen(t)))
}

// factor is the likelihood of one sight at a throughput.
func (r *fillRun) factor(i int, s *Shape, t, offset float64, quiet []sightLaw) float64 {
	o, p := &r.seen[i], 1.0
	if !math.IsNaN(o.product) {
		if pen := s.Pen(t); pen < quietPen {
			p = quiet[i].pen
		} else {
			p = penLaw(o.product, pen, offset, s.Feed)
		}
	}
	if !math.IsNaN(o.silica) && s.Band > 0 {
		if silica := s.Silica(t); silica < quietSilica {
			p *= quiet[i].silica
		} else {
			p *= silicaLaw(o.silica, o.below, silica)
		}
	}
	return p
}

// penLaw is the density of one pen reading. A pen shows no less than 0.
func penLaw(shown, pen, offset, feed float64) float64 {
	sd := math.Hypot(penNoise, penShare*pen)
	want := pen + offset
	stray := outliers / (feed + 10)
	if shown < 0.5 {
		return stray*0.5 + (1-outliers)*normalCDF((0.5-want)/sd)
	}
	z := (shown - want) / sd
	return stray + (1-outliers)*math.Exp(-z*z/2)/(sd*math.Sqrt(2*math.Pi))
}

// silicaLaw is the likelihood of one silica test: a probability below a mark, a
// density in the logarithm of what it shows else. Tests that mean nothing are
// spread over testRange.
func silicaLaw(shown float64, below bool, silica float64) float64 {
	z := math.Log((shown+testFloor)/(silica+testFloor)) / testSpread
	if below {
		return badTests + (1-badTests)*normalCDF(z)
	}
	return badTests/testRange + (1-badTests)*math.Exp(-z*z/2)/(testSpread*math.Sqrt(2*math.Pi))
}

// spotsLaw is the density of the throughput at which spots are noted, in ln T.
func spotsLaw(t float64) float64 {
	x := math.Log(t)
	if x < 0 {
		return 1e-4 + math.Exp(x/keenEye)/(keenEye+dullEye)
	}
	return 1e-4 + math.Exp(-x/dullEye)/(keenEye+dullEye)
}

// unseen is the share of owners who have not noted spots by a throughput.
func unseen(t float64) float64 {
	if t <= 0 {
		return 1
	}
	x := math.Log(t)
	if x < 0 {
		return 1 - keenEye/(keenEye+dullEye)*math.Exp(x/keenEye)
	}
	return dullEye / (keenEye + dullEye) * math.Exp(-x/dullEye)
}

// proposal is the law from which the second round is drawn: the prior with a
// share of defence, and a normal about the weighed mean of the first round.
type proposal struct {
	mean   draw
	factor [][]float64 // lower Cholesky factor of the covariance
	det    float64     // logarithm of the determinant of factor
}

const (
	defence = 0.2
	wider   = 1.3  // of the normal's spread, since the first round is coarse
	least   = 0.01 // of its spread in any direction
)

// standard is the prior itself.
func standard() proposal {
	p := proposal{factor: newMatrix(dims)}
	for k := range p.factor {
		p.factor[k][k] = 1
	}
	return p
}

func newProposal(zs []draw, w []float64) proposal {
	var p proposal
	for i := range zs {
		for k := range p.mean {
			p.mean[k] += w[i] * zs[i][k]
		}
	}
	p.factor = newMatrix(dims)
	for i := range zs {
		for k := range p.mean {
			for j := range k + 1 {
				p.factor[k][j] += wider * wider * w[i] * (zs[i][k] - p.mean[k]) * (zs[i][j] - p.mean[j])
			}
		}
	}
	for k := range p.mean {
		p.factor[k][k] += least * least
	}
	cholesky(p.factor)
	for k := range p.mean {
		p.det += math.Log(p.factor[k][k])
	}
	return p
}

func (p *proposal) draw(rng *rand.Rand) draw {
	var z draw
	for k := range z {
		z[k] = rng.NormFloat64()
	}
	if rng.Float64() < defence {
		return z
	}
	var x draw
	for k := range x {
		x[k] = p.mean[k] + dot(p.factor[k], z[:k+1])
	}
	return x
}

func (p *proposal) log(z *draw) float64 {
	d := make([]float64, dims)
	for k := range z {
		d[k] = z[k] - p.mean[k]
	}
	d = solveLower(p.factor, d)
	near := -dot(d, d)/2 - p.det
	far := standardLog(z)
	most := max(near, far)
	return most + math.Log((1-defence)*math.Exp(near-most)+defence*math.Exp(far-most))
}

// standardLog is the logarithm of the standard normal density, but for its
// constant.
func standardLog(z *draw) float64 { return -dot(z[:], z[:]) / 2 }

// normalized turns logarithms of weights into weights of sum 1, and returns
// the number of equal draws that would be worth as much (Kish).
func normalized(logs []float64) (w []float64, effective float64) {
	most := slices.Max(logs)
	w = make([]float64, len(logs))
	var sum, squares float64
	for i, l := range logs {
		w[i] = math.Exp(l - most)
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
		squares += w[i] * w[i]
	}
	return w, 1 / squares
}

// tempered returns weights of a power between 0 and 1, the highest one that
// leaves enough equal draws.
func tempered(logs []float64, enough float64) []float64 {
	scaled := slices.Clone(logs)
	for power := 1.0; ; power *= 0.7 {
		for i, l := range logs {
			scaled[i] = power * l
		}
		if w, n := normalized(scaled); n >= enough || power < 1e-6 {
			return w
		}
	}
}

// pick returns a node by the shares, by a uniform number.
func pick(shares []float64, u float64) int {
	var sum float64
	for _, s := range shares {
		sum += s
	}
	for i, s := range shares {
		if u -= s / sum; u < 0 {
			return i
		}
	}
	return len(shares) - 1
}

// smear spreads a node over the stretch that it stands for.
func smear(node int, rng *rand.Rand) float64 { return nodes[node] + 0.5*rng.NormFloat64() }

// quantile of sorted values, interpolated between the middles of equal shares.
func quantile(sorted []float64, p float64) float64 {
	at := p*float64(len(sorted)) - 0.5
	i := int(math.Floor(at))
	switch {
	case i < 0:
		return sorted[0]
	case i >= len(sorted)-1:
		return sorted[len(sorted)-1]
	}
	if sorted[i] == sorted[i+1] { // both may be +Inf
		return sorted[i]
	}
	return sorted[i] + (at-float64(i))*(sorted[i+1]-sorted[i])
}

// variance of the logarithm.
func variance(xs []float64) float64 {
	var sum, squares float64
	for _, x := range xs {
		l := math.Log(x)
		sum += l
		squares += l * l
	}
	n := float64(len(xs))
	return max(0, squares/n-sum*sum/(n*n))
}

func bandOf(xs []float64) Band {
	s := slices.Sorted(slices.Values(xs))
	return Band{quantile(s, 0.1), quantile(s, 0.5), quantile(s, 0.9)}
}

func normalCDF(z float64) float64 { return 0.5 * math.Erfc(-z/math.Sqrt2) }

func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }
