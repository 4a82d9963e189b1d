package water

import (
	"cmp"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"forebed/chem/analysis"
	"forebed/chem/unit"
)

// Bounds of a completion.
const (
	defaultDraws = 2000
	mostDraws    = 100_000
	trials       = 4 // candidates made for each draw kept
)

// Complete turns a sample into a composition.
func Complete(s analysis.Sample, o Options) (*Composition, error) {
	if o.Draws == 0 {
		o.Draws = defaultDraws
	}
	if o.Draws < 1 || o.Draws > mostDraws {
		return nil, fmt.Errorf("draws is %d, expected 1 to %d", o.Draws, mostDraws)
	}
	r, err := understand(s)
	if err != nil {
		return nil, err
	}
	m := &sampler{report: r, priors: loadPriors(), rand: generator(o.Seed)}
	draws, err := m.draws(o.Draws)
	if err != nil {
		return nil, err
	}
	return summarise(s, r, draws), nil
}

// generator seeds the randomness of a completion.
func generator(seed uint64) *rand.Rand { return rand.New(rand.NewPCG(seed, 0x666f7265626564)) }

// sampler makes candidates for one report.
type sampler struct {
	report *report
	priors *priors
	rand   *rand.Rand
	widen  float64
}

// draws makes n waters: trials·n candidates are weighed by the conductivity
// and the dissolved solids of the report, and n are kept in proportion.
func (m *sampler) draws(n int) ([]Water, error) {
	candidates := make([]candidate, n*trials)
	top := math.Inf(-1)
	for i := range candidates {
		m.candidate(&candidates[i])
		top = max(top, candidates[i].logWeight)
	}
	var sum float64
	for i := range candidates {
		sum += math.Exp(candidates[i].logWeight - top)
	}
	out := make([]Water, 0, n)
	step := sum / float64(n)
	next := step * m.rand.Float64()
	var run float64
	for i := range candidates {
		for run += math.Exp(candidates[i].logWeight - top); run > next && len(out) < n; next += step {
			w, err := candidates[i].water()
			if err != nil {
				return nil, err
			}
			out = append(out, w)
		}
	}
	for len(out) < n {
		out = append(out, out[len(out)-1])
	}
	return out, nil
}

// value draws a quantity of the report, or calls prior.
func (m *sampler) value(q quantity, prior func() float64) float64 {
	if g := m.report.q[q]; g.known {
		return g.draw(m.rand, 1)
	}
	return prior()
}

// candidate fills one candidate.
func (m *sampler) candidate(c *candidate) {
	q := &m.report.q
	p := &m.priors.Regimes.Humid
	if m.rand.Float64() < 0.3 {
		p = &m.priors.Regimes.Dry
	}
	prior := func(d *distribution) func() float64 { return func() float64 { return d.Q.draw(m.rand) } }
	zero := func() float64 { return 0 }

	c.celsius = m.value(qTemperature, prior(&p.Temperature))
	c.logPCO2 = p.Pressure.Q.at(m.rand.Float64())
	c.ph = m.value(qPH, zero)
	c.silica, c.sulfide = m.value(qSilica, prior(&p.Silica)), m.value(qSulfide, zero)

	size := 0.0
	switch {
	case q[qConductivity].known:
		size = q[qConductivity].middle() / 93 * math.Exp(0.12*m.rand.NormFloat64())
	case q[qTDS].known:
		size = q[qTDS].middle() / 57 * math.Exp(0.10*m.rand.NormFloat64())
	default:
		size = p.Total.Q.draw(m.rand)
	}
	h := m.hardness(p, size)
	a := m.value(qAlkalinity, func() float64 { return h / p.Hardness.Q.draw(m.rand) * min(p.Alkalinity.Q.draw(m.rand), 0.99) })

	small := 0.0
	put := func(i Ion, v float64) { c.ion[i] = v; small += v }
	put(Ammonium, m.value(qAmmonium, prior(&p.Ammonium)))
	put(Strontium, m.value(qStrontium, zero))
	put(Barium, m.value(qBarium, zero))
	put(Iron, m.iron(c, p))
	put(Manganese, m.manganese(c, p))
	put(Potassium, m.value(qPotassium, func() float64 { return p.Potassium.Q.draw(m.rand) * max(h, a) }))
	share := func() float64 { return min(p.Calcium.Q.draw(m.rand), 0.99) }
	switch {
	case q[qCalcium].known && q[qMagnesium].known:
		c.ion[Calcium] = m.value(qCalcium, zero)
		c.ion[Magnesium] = h - c.ion[Calcium]
	case q[qCalcium].known:
		c.ion[Calcium] = min(m.value(qCalcium, zero), 0.99*h)
		c.ion[Magnesium] = h - c.ion[Calcium]
	case q[qMagnesium].known:
		c.ion[Magnesium] = min(m.value(qMagnesium, zero), 0.99*h)
		c.ion[Calcium] = h - c.ion[Magnesium]
	default:
		c.ion[Calcium] = share() * h
		c.ion[Magnesium] = h - c.ion[Calcium]
	}
	minor := 0.0
	putAnion := func(i Ion, v float64) { c.ion[i] = v; minor += v }
	putAnion(Nitrate, m.value(qNitrate, prior(&p.Nitrate)))
	putAnion(Fluoride, m.value(qFluoride, prior(&p.Fluoride)))
	putAnion(Chloride, m.value(qChloride, zero))
	putAnion(Sulfate, m.value(qSulfate, zero))
	c.ion[Bicarbonate] = a

	openAnion := !q[qChloride].known || !q[qSulfate].known
	switch {
	case !q[qSodium].known && openAnion:
		larger := max(h+small, a+minor)
		total := larger * (1 + p.Excess.Q.draw(m.rand))
		c.ion[Sodium] = total - h - small
		m.spread(c, p, total-a-minor)
	case !q[qSodium].known:
		c.ion[Sodium] = a + minor - h - small
	case openAnion:
		c.ion[Sodium] = m.value(qSodium, zero)
		m.spread(c, p, h+small+c.ion[Sodium]-a-minor)
	default:
		c.ion[Sodium] = m.value(qSodium, zero)
	}
	m.balance(c)
	m.weigh(c)
}

// hardness draws the hardness.
func (m *sampler) hardness(p *regime, size float64) float64 {
	q := &m.report.q
	switch {
	case q[qCalcium].known && q[qMagnesium].known:
		return q[qCalcium].draw(m.rand, 1) + q[qMagnesium].draw(m.rand, 1)
	case q[qHardness].known:
		return q[qHardness].draw(m.rand, 1)
	case q[qAlkalinity].known && !q[qConductivity].known && !q[qTDS].known:
		return q[qAlkalinity].draw(m.rand, 1) / p.Alkalinity.Q.draw(m.rand) * p.Hardness.Q.draw(m.rand)
	}
	return size * min(p.Hardness.Q.draw(m.rand), 0.99)
}

// spread puts what is left of the anions on chloride and sulfate.
func (m *sampler) spread(c *candidate, p *regime, rest float64) {
	q := &m.report.q
	if rest <= 0 {
		return
	}
	share := min(p.Chloride.Q.draw(m.rand), 0.99)
	switch {
	case q[qSulfate].known:
		share = 1
	case q[qChloride].known:
		share = 0
	}
	c.ion[Chloride] += share * rest
	c.ion[Sulfate] += (1 - share) * rest
}

// iron splits iron into dissolved and particulate and returns the dissolved.
func (m *sampler) iron(c *candidate, p *regime) float64 {
	return m.form(qIronTotal, qIronDissolved, p.Iron.Q, &c.matter.ParticulateIron, molar[Iron]/2, c, UnknownIron, UnknownIronForm)
}

// manganese is iron for manganese; its form has no mark of its own.
func (m *sampler) manganese(c *candidate, p *regime) float64 {
	return m.form(qManganeseTotal, qManganeseDissolved, p.Manganese.Q, &c.matter.ParticulateManganese, molar[Manganese]/2, c, UnknownManganese, 0)
}

func (m *sampler) form(total, dissolved quantity, prior quantiles, particles *unit.MgPerL, weight float64, c *candidate, unknown, unknownForm Unknown) float64 {
	q := &m.report.q
	switch {
	case q[dissolved].known:
		d := q[dissolved].draw(m.rand, 1)
		if q[total].known {
			*particles = unit.MgPerL(max(q[total].draw(m.rand, 1)-d, 0) * weight)
		}
		return d
	case q[total].known:
		t := q[total].draw(m.rand, 1)
		d := t * m.rand.Float64()
		*particles = unit.MgPerL((t - d) * weight)
		c.matter.Unknown |= unknownForm
		return d
	}
	c.matter.Unknown |= unknown
	return prior.draw(m.rand)
}

// balance makes the charges of a candidate add up: what is left over is taken
// from the reported ions in proportion to the square of their errors.
func (m *sampler) balance(c *candidate) {
	rows := [...]struct {
		ion  Ion
		q    quantity
		sign float64
	}{{Calcium, qCalcium, 1}, {Magnesium, qMagnesium, 1}, {Sodium, qSodium, 1}, {Chloride, qChloride, -1}, {Sulfate, qSulfate, -1},
		{Bicarbonate, qAlkalinity, -1}, {Potassium, qPotassium, 1}, {Nitrate, qNitrate, -1}}
	for range 4 {
		rest := 0.0
		for i := range Ion(NumIons) {
			if i.IsCation() {
				rest += c.ion[i]
			} else {
				rest -= c.ion[i]
			}
		}
		if math.Abs(rest) < 1e-12 {
			return
		}
		var sum float64
		for _, r := range rows {
			s := r.q.sigma(c.ion[r.ion])
			sum += s * s
		}
		for _, r := range rows {
			s := r.q.sigma(c.ion[r.ion])
			c.ion[r.ion] = max(c.ion[r.ion]-r.sign*rest*s*s/sum, 0)
		}
	}
}

// weigh compares the candidate's conductivity and residue with the report's.
func (m *sampler) weigh(c *candidate) {
	q := &m.report.q
	if g := q[qConductivity]; g.known {
		w := c.unbalanced()
		c.logWeight += student(math.Log(g.middle()/float64(EmpiricalConductivity(&w))), 0.040)
	}
	if g := q[qTDS]; g.known {
		mg := c.silica * molarSilica
		for i := range Ion(NumIons) {
			mg += c.ion[i] * molar[i] / math.Abs(valence[i])
		}
		mg -= c.ion[Bicarbonate] * (molar[Bicarbonate] - molar[Carbonate]/2)
		c.logWeight += student(math.Log(g.middle()/(1.025*mg)), 0.045)
	}
}

// student is the logarithm of Student's density with 3 degrees of freedom, up
// to a constant.
func student(x, scale float64) float64 {
	t := x / scale
	return -2 * math.Log1p(t*t/3)
}

// summarise makes the composition of the draws.
func summarise(s analysis.Sample, r *report, draws []Water) *Composition {
	c := &Composition{Label: s.Label, Draws: draws, Checks: r.checks, Assumptions: r.assumptions}
	buffer := make([]float64, len(draws))
	band := func(f func(w *Water) float64) Band {
		for i := range draws {
			buffer[i] = f(&draws[i])
		}
		slices.Sort(buffer)
		return Band{percentile(buffer, 0.1), percentile(buffer, 0.5), percentile(buffer, 0.9)}
	}
	for i := range Ion(NumIons) {
		b := band(func(w *Water) float64 { return float64(w.Ion[i]) })
		c.Ions[i] = Reading{Milligrams: b.times(molar[i]), Equivalents: b.times(math.Abs(valence[i])), Origin: Estimated}
	}
	c.CationLoad = band(func(w *Water) float64 { return float64(w.Load().Cation) })
	c.AnionLoad = band(func(w *Water) float64 { return float64(w.Load().Anion) })
	c.PH = band(func(w *Water) float64 { return w.PH })
	c.Conductivity = band(func(w *Water) float64 { return float64(Conductivity(w)) })
	c.Residue = band(func(w *Water) float64 { return float64(DryResidue(w)) })
	c.Central = slices.MinFunc(draws, func(a, b Water) int {
		return cmp.Compare(math.Abs(float64(a.Load().Anion)-c.AnionLoad.P50), math.Abs(float64(b.Load().Anion)-c.AnionLoad.P50))
	})
	return c
}

// times scales a band.
func (b Band) times(f float64) Band { return Band{f * b.P10, f * b.P50, f * b.P90} }

// percentile returns the value at probability p of sorted values.
func percentile(sorted []float64, p float64) float64 {
	x := p * float64(len(sorted)-1)
	i := int(x)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (x-float64(i))*(sorted[i+1]-sorted[i])
}
