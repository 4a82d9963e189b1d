package calibrate

import (
	"math"
	"math/rand/v2"
	"slices"
)

// The rounds of draws. A last one gives the states; it is repeated about its
// own mean, a few times at most, while its draws are worth too few equal ones.
const (
	rounds     = 3
	roundDraws = 400
	lastDraws  = 1200
	mostAgain  = 4
	goodWorth  = 150.0
	enough     = 40.0 // equal draws that a round must be worth for the next to be drawn about it; its weights are tempered until it is
	keptDraws  = 1000
	dims       = 5
)

// draw is a point in the space where the prior is independent standard
// normals.
type draw [dims]float64

// stateOf maps a draw to a state.
func (m *Model) stateOf(z *draw) state {
	lnu := math.Log(quantile(m.sorted, normalCDF(z[0]))/m.median) + m.spread*(z[1]+tail*z[1]*z[1]*z[1])
	return state{
		usable: math.Exp(lnu),
		factor: math.Exp(shapeSpread * z[2]),
		height: math.Exp(heightSpread * z[3]),
		offset: penOffset * z[4],
	}
}

// weighed is one round of draws.
type weighed struct {
	draws  []draw
	shares []nodeShares // of the nodes in the likelihood of the fill in service
	logs   []float64    // logarithm of the weight
}

// weigh draws states by their posterior weight, in rounds: each draws from the
// normal that the one before suggests.
func (m *Model) weigh(rng *rand.Rand) {
	about := standard()
	for range rounds {
		r := m.round(about, roundDraws, rng)
		about = newProposal(r.draws, tempered(r.logs, enough))
	}
	for again := 0; ; again++ {
		r := m.round(about, lastDraws, rng)
		weights, worth := normalized(r.logs)
		if worth >= goodWorth || again == mostAgain {
			m.worth = worth
			m.resample(&r, weights, rng)
			return
		}
		about = newProposal(r.draws, tempered(r.logs, enough))
	}
}

// round draws from a proposal and weighs by posterior over proposal.
func (m *Model) round(about proposal, count int, rng *rand.Rand) weighed {
	r := weighed{make([]draw, count), make([]nodeShares, count), make([]float64, count)}
	for i := range r.draws {
		z := about.draw(rng)
		l, shares := m.likelihood(&z)
		r.draws[i], r.shares[i], r.logs[i] = z, shares, l+standardLog(&z)-about.log(&z)
	}
	return r
}

// resample makes equally likely states: as many copies of a draw as its weight
// asks for, each with a node of its own and a path of the feed.
func (m *Model) resample(r *weighed, weights []float64, rng *rand.Rand) {
	spread := m.lived[len(m.lived)-1].spread
	m.states = make([]state, 0, keptDraws)
	var sum float64
	at := rng.Float64()
	for i := range r.draws {
		sum += weights[i] * keptDraws
		for ; at < sum && len(m.states) < keptDraws; at++ {
			s := m.stateOf(&r.draws[i])
			s.fill = math.Exp(spread * smear(r.shares[i].pick(rng.Float64()), rng))
			m.states = append(m.states, s)
		}
	}
	for len(m.states) < keptDraws { // rounding of the sum
		m.states = append(m.states, m.states[len(m.states)-1])
	}
	for i, k := range rng.Perm(keptDraws) {
		m.states[i].path = k % feedPaths
	}
}

// proposal is the law that a round is drawn from: the prior with a share of
// defence, and a normal about the weighed mean of the round before.
type proposal struct {
	mean   draw
	factor [][]float64 // lower Cholesky factor of the covariance
	det    float64     // logarithm of the determinant of factor
}

const (
	defence = 0.2
	wider   = 1.3  // of the normal's spread, since the round before is coarse
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

// nodeShares are the shares of the nodes in a likelihood, but for a factor.
type nodeShares [len(nodes)]float64

// pick returns a node by the shares, by a uniform number.
func (shares nodeShares) pick(u float64) int {
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
