package calibrate

import "math"

// nodes and weights of the five-point Gauss-Hermite rule for a normal of unit
// spread: Abramowitz and Stegun table 25.10 with x sqrt(2) and w/sqrt(pi), from
// memory, checked by its moments in a test.
var (
	nodes   = [...]float64{-2.8569700138728056, -1.3556261799742659, 0, 1.3556261799742659, 2.8569700138728056}
	weights = [...]float64{0.011257411327720683, 0.22207592200561266, 0.5333333333333333, 0.22207592200561266, 0.011257411327720683}
)

// likelihood returns the logarithm of the likelihood of all fills, and the
// shares of the nodes in that of the last.
func (m *Model) likelihood(z *draw) (total float64, last nodeShares) {
	s := m.stateOf(z)
	shape := m.shapeOf(&s)
	for i := range m.lived {
		r := &m.lived[i]
		quiet := r.quiet(&shape, s.offset)
		var logs nodeShares
		most := math.Inf(-1)
		for k, node := range nodes {
			logs[k] = math.Log(weights[k]) + r.log(&shape, s.usable*math.Exp(r.spread*node), s.offset, quiet)
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
