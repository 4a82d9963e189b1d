package water

import (
	"math"
	"math/rand/v2"

	"forebed/chem/unit"
)

// candidate is one water on the way to becoming a draw.
type candidate struct {
	ion       [NumIons]float64 // meq/L; Bicarbonate holds the alkalinity, below 0 in acid water
	silica    float64          // mmol/L
	sulfide   float64          // mmol/L
	ph        float64          // 0 where it follows from the carbon dioxide
	logPCO2   float64          // log10 of atm, for where pH cannot tell
	celsius   float64
	matter    Matter
	logWeight float64
}

// charge returns what is left over, in meq/L: cations less anions.
func (c *candidate) charge() float64 {
	var sum float64
	for i := Calcium; i <= Manganese; i++ {
		sum += c.ion[i]
	}
	for i := Chloride; i <= Bicarbonate; i++ {
		sum -= c.ion[i]
	}
	return sum
}

// larger returns the larger of the sums of cations and of anions, in meq/L.
func (c *candidate) larger() float64 {
	var cations float64
	for i := Calcium; i <= Manganese; i++ {
		cations += c.ion[i]
	}
	return max(cations, cations-c.charge())
}

// raw turns a candidate into a water with all alkalinity as bicarbonate.
func (c *candidate) raw() Water {
	w := Water{PH: c.ph, Temperature: unit.Celsius(c.celsius), Silica: unit.MmolPerL(c.silica), Sulfide: unit.MmolPerL(c.sulfide), Matter: c.matter}
	for i := range Ion(NumIons) {
		w.Ion[i] = unit.MmolPerL(max(c.ion[i], 0) / math.Abs(valence[i]))
	}
	if w.PH == 0 {
		w.PH = 7
	}
	return w
}

// water turns a candidate into a balanced water: from its pH and alkalinity,
// and from the pressure of carbon dioxide where those do not tell it: pH is
// unknown, free acid rules it, or the two would need more gas than water holds
// at the pressure of the air.
func (c *candidate) water() (Water, error) {
	w := c.raw()
	w.set(Carbon{})
	if c.ph > 0 && c.ion[Bicarbonate] >= 0 {
		if out, err := w.WithPH(c.ph); err == nil && logPressure(out.CO2, out.Temperature) <= boilingPressure {
			return out, nil
		}
	}
	return w.WithPressure(c.logPCO2)
}

// logPressure returns log10 of the pressure in atm under which so much carbon
// dioxide is dissolved.
func logPressure(co2 unit.MmolPerL, t unit.Celsius) float64 {
	return math.Log10(float64(co2) / 1000 / HenryCO2(t))
}

// draw takes one value of a known quantity: around a value with its error,
// or from the whole interval; from 0 up but for a temperature.
func (g *given) draw(r *rand.Rand) float64 {
	switch {
	case !g.interval:
		if v := g.value + g.sigma*r.NormFloat64(); v > 0 || g.signed {
			return v
		}
		return g.sigma * r.Float64() / 2 // the tail below 0
	case math.IsInf(g.high, 1):
		// Past the end of a scale: half of the wells within 1.3 times its end.
		return g.low * math.Exp(pastScale*r.ExpFloat64())
	case g.low > 0:
		low, high := math.Log(g.low), math.Log(g.high) // their ratio may be past all numbers
		return math.Exp(low + r.Float64()*(high-low))
	}
	return r.Float64() * g.high
}

// pastScale is the mean of ln(value / end of scale) for readings past the end
// of a test strip: hardness above 425 and alkalinity above 240 mg/L as CaCO3
// in the wells of priors.json.
const pastScale = 0.35

// sampler makes candidates for one report.
type sampler struct {
	report *report
	priors *priors
	rand   *rand.Rand
	dry    float64 // probability that the well is of the dry regime
}

func newSampler(r *report, seed uint64) *sampler {
	m := &sampler{report: r, priors: loadPriors(), rand: rand.New(rand.NewPCG(seed, 0x666f7265626564))}
	m.dry = m.dryness()
	return m
}

// dryness tells the regimes apart by the pressure of carbon dioxide that pH
// and alkalinity show: 0.015 atm in humid regions, 0.002 in dry ones.
func (m *sampler) dryness() float64 {
	ph, alk := &m.report.q[qPH], &m.report.q[qAlkalinity]
	if !ph.known || !alk.known {
		return m.priors.DryShare
	}
	const cool = 13 // °C
	c, ok := Speciate(ph.middle(), unit.MeqPerL(alk.middle()), 0, cool, 0.008)
	if !ok {
		return m.priors.DryShare
	}
	logP := logPressure(c.CO2, cool)
	density := func(d *distribution) float64 {
		z := (logP - d.Q[3]) / d.spread()
		return math.Exp(-0.5*min(z*z, 16)) / d.spread()
	}
	dry := m.priors.DryShare * density(&m.priors.Regimes.Dry.Pressure)
	humid := (1 - m.priors.DryShare) * density(&m.priors.Regimes.Humid.Pressure)
	return dry / (dry + humid)
}

// take draws a quantity of the report, or from the priors if it has none.
func (m *sampler) take(q quantity, prior *distribution) float64 {
	if g := &m.report.q[q]; g.known {
		return g.draw(m.rand)
	}
	return prior.draw(m.rand)
}

// ifGiven draws a quantity of the report, and is 0 if it has none.
func (m *sampler) ifGiven(q quantity) float64 {
	if g := &m.report.q[q]; g.known {
		return g.draw(m.rand)
	}
	return 0
}

// known reports whether the report gives all of the quantities.
func (m *sampler) known(qs ...quantity) bool {
	for _, q := range qs {
		if !m.report.q[q].known {
			return false
		}
	}
	return true
}

// candidate draws one water that agrees with the report. Total equivalents
// come first, the split of ions second.
func (m *sampler) candidate() candidate {
	p := &m.priors.Regimes.Humid
	if m.rand.Float64() < m.dry {
		p = &m.priors.Regimes.Dry
	}
	c := candidate{
		celsius: min(max(m.take(qTemperature, &p.Temperature), 0), hottest),
		silica:  m.take(qSilica, &p.Silica),
		sulfide: m.ifGiven(qSulfide),
		matter:  m.matter(),
	}
	c.ph, c.logPCO2 = m.acidity(p, c.celsius)

	salted := m.salted()
	hardness, alkalinity := m.anchors(p, salted)
	if c.ph > 0 && c.ph < acidPH {
		alkalinity = -freeAcid(c.ph)
	}
	c.ion[Calcium], c.ion[Magnesium] = m.earths(p, hardness)
	c.ion[Bicarbonate] = alkalinity

	// What is measured, and the minor ions.
	c.ion[Strontium], c.ion[Barium] = m.ifGiven(qStrontium), m.ifGiven(qBarium)
	c.ion[Ammonium] = m.take(qAmmonium, &p.Ammonium)
	var particles float64
	c.ion[Iron], particles = m.metal(qIronTotal, qIronDissolved, &p.Iron)
	c.matter.ParticulateIron = unit.MgPerL(particles * molar[Iron] / 2)
	c.ion[Manganese], particles = m.metal(qManganeseTotal, qManganeseDissolved, &p.Manganese)
	c.matter.ParticulateManganese = unit.MgPerL(particles * molar[Manganese] / 2)
	if c.ion[Potassium] = m.ifGiven(qPotassium); !m.known(qPotassium) {
		c.ion[Potassium] = p.Potassium.draw(m.rand) * max(hardness, alkalinity)
	}
	c.ion[Nitrate], c.ion[Fluoride] = m.take(qNitrate, &p.Nitrate), m.take(qFluoride, &p.Fluoride)
	if m.report.basisless && m.rand.Float64() < 0.5 {
		c.ion[Nitrate] *= nitrateAsN
	}
	c.ion[Sodium], c.ion[Chloride], c.ion[Sulfate] = m.ifGiven(qSodium), m.ifGiven(qChloride), m.ifGiven(qSulfate)

	// What is not measured closes the balance.
	rest := c.charge() // of sodium, chloride and sulfate: above 0 anions are missing
	sodium, anions := !m.known(qSodium), !m.known(qChloride, qSulfate)
	switch {
	case sodium && anions:
		excess := m.excess(p, max(hardness, alkalinity), c.larger())
		c.ion[Sodium] = excess + max(-rest, 0)
		m.split(&c, p, excess+max(rest, 0), salted)
	case sodium:
		c.ion[Sodium] = max(-rest, 0)
	case anions:
		m.split(&c, p, max(rest, 0), salted)
	}
	m.giveWay(&c)
	m.balance(&c)
	return c
}

// giveWay lets an alkalinity or hardness that was not measured take up what
// the charges leave over, so that no measured ion has to. Where it would have
// to be below 0, the imbalance is that of the report, and all ions share it.
func (m *sampler) giveWay(c *candidate) {
	rest := c.charge()
	alkalinity, hardness := c.ion[Bicarbonate], c.ion[Calcium]+c.ion[Magnesium]
	switch {
	case !m.known(qAlkalinity) && alkalinity >= 0 && alkalinity+rest > 0:
		c.ion[Bicarbonate] += rest
	case !m.hardnessKnown() && hardness > max(rest, 0):
		f := 1 - rest/hardness
		c.ion[Calcium] *= f
		c.ion[Magnesium] *= f
	}
}

// nitrateAsN is what a nitrate figure grows by when it was given as N: 4.427,
// ledger row A-NO3N.
var nitrateAsN = molar[Nitrate] / 14.007

// acidity draws the pH in the well and the pressure of carbon dioxide. A pH
// read in a laboratory has lost carbon dioxide on the way: it lies above that
// of the well by a difference drawn from the priors. Where the report does
// not say, half of the draws take it as such.
func (m *sampler) acidity(p *regime, celsius float64) (ph, logPCO2 float64) {
	logPCO2 = p.Pressure.Q.at(m.rand.Float64())
	if m.known(qPH) {
		ph = m.report.q[qPH].draw(m.rand)
		if m.report.ph == inLaboratory || m.report.ph == unstated && m.rand.Float64() < 0.5 {
			ph -= m.priors.LaboratoryPH.Q.at(m.rand.Float64())
		}
		return min(max(ph, lowestPH), highestPH), logPCO2
	}
	if m.known(qCO2) {
		co2 := max(m.report.q[qCO2].draw(m.rand), 1e-4)
		logPCO2 = min(logPressure(unit.MmolPerL(co2), unit.Celsius(celsius)), boilingPressure)
	}
	return 0, logPCO2
}

// A meter alone does not tell the hard inland water that the statistics hold
// from fresh water with sea water or road salt in it, which conducts more for
// its equivalents. From saltyMeq on, a share of the draws takes it for the
// latter. Judgement: there is hardly a coastal well in the statistics.
const (
	saltyMeq     = 8.0
	saltedShare  = 0.25
	saltChloride = 0.9 // least share of chloride in the anions of such salt: 0.90 of sea water (standard sea water, 546 and 56 meq), 1 of road salt
)

// salted draws whether a water is fresh water with salt in it. A figure of any
// major ion settles it better than a draw does.
func (m *sampler) salted() bool {
	for _, q := range []quantity{qHardness, qCalcium, qMagnesium, qAlkalinity, qSodium, qChloride, qSulfate} {
		if m.known(q) {
			return false
		}
	}
	total, ok := m.metered()
	return ok && total > saltyMeq && m.rand.Float64() < saltedShare
}

// anchors draws hardness and alkalinity, meq/L. What is missing follows from
// the other, or from the size that conductivity or dissolved solids suggest;
// of a salted water, from the size of a fresh one.
func (m *sampler) anchors(p *regime, salted bool) (hardness, alkalinity float64) {
	hardness, hasHardness := m.givenHardness()
	hasAlkalinity := m.known(qAlkalinity)
	if hasAlkalinity {
		alkalinity = m.report.q[qAlkalinity].draw(m.rand)
	}
	if hasHardness && hasAlkalinity {
		return hardness, alkalinity
	}
	// The shares of one well are drawn independently; together they may not
	// pass the whole.
	hardShare, alkShare := min(p.Hardness.draw(m.rand), 0.99), min(p.Alkalinity.draw(m.rand), 0.99)
	total := 0.0
	switch {
	case hasHardness:
		total = hardness / max(hardShare, 0.05)
	case hasAlkalinity && !m.known(qConductivity) && !m.known(qTDS):
		total = alkalinity / max(alkShare, 0.05)
	default:
		if metered, ok := m.metered(); ok {
			total = metered * m.about()
			if salted {
				total = min(total, p.Total.draw(m.rand))
			}
		} else {
			total = p.Total.draw(m.rand)
		}
	}
	if !hasHardness {
		hardness = hardShare * min(total, mostHardness)
	}
	if !hasAlkalinity {
		alkalinity = alkShare * min(total, mostAlkalinity)
	}
	return hardness, alkalinity
}

// The shares of hardness and alkalinity are those of fresh water; what makes a
// water brackish is sodium, chloride and sulfate. Past these totals, in meq/L,
// a drawn hardness or alkalinity grows no further: in wells above 10 meq/L the
// alkalinity is 6 to 7 meq/L at every size, and above 20 the hardness is about
// half (well-statistics section 6, by size of the water).
const (
	mostHardness   = 20.0
	mostAlkalinity = 10.0
)

// metered returns the total that conductivity, or else dissolved solids,
// suggest.
func (m *sampler) metered() (meq float64, ok bool) {
	switch {
	case m.known(qConductivity):
		return m.report.q[qConductivity].middle() / conductivityPerMeq, true
	case m.known(qTDS):
		return m.report.q[qTDS].middle() / solidsPerMeq, true
	}
	return 0, false
}

// Rules of thumb that propose a total when hardness or alkalinity is missing;
// the weights correct them. Well-statistics section 7.
const (
	conductivityPerMeq = 93.0 // uS/cm per meq/L of total cations
	solidsPerMeq       = 57.0 // mg/L per meq/L
)

// about spreads a proposal widely, so that the weights and not the proposal
// decide.
func (m *sampler) about() float64 { return math.Exp(0.3 * m.rand.NormFloat64()) }

// givenHardness draws the hardness that the report gives: from calcium and
// magnesium where it has both.
func (m *sampler) givenHardness() (meq float64, ok bool) {
	q := &m.report.q
	switch {
	case m.known(qCalcium, qMagnesium):
		return q[qCalcium].draw(m.rand) + q[qMagnesium].draw(m.rand), true
	case m.known(qHardness):
		return q[qHardness].draw(m.rand), true
	case m.known(qCalcium):
		return q[qCalcium].draw(m.rand) / 0.64, true // the usual share of calcium
	case m.known(qMagnesium):
		return q[qMagnesium].draw(m.rand) / 0.36, true
	}
	return 0, false
}

// earths splits the hardness into calcium and magnesium.
func (m *sampler) earths(p *regime, hardness float64) (calcium, magnesium float64) {
	q := &m.report.q
	switch {
	case m.known(qCalcium, qMagnesium):
		share := q[qCalcium].middle() / max(q[qCalcium].middle()+q[qMagnesium].middle(), 1e-9)
		return share * hardness, (1 - share) * hardness
	case m.known(qCalcium):
		calcium = min(q[qCalcium].draw(m.rand), hardness)
		return calcium, hardness - calcium
	case m.known(qMagnesium):
		magnesium = min(q[qMagnesium].draw(m.rand), hardness)
		return hardness - magnesium, magnesium
	}
	calcium = min(p.Calcium.draw(m.rand), 1) * hardness
	return calcium, hardness - calcium
}

// acidPH is where alkalinity ends (ledger row C-ALK-ENDP): below it the water
// holds free acid, which counts as negative alkalinity.
const acidPH = 4.4

// freeAcid returns [H+] in meq/L, with the activity coefficient at I = 0.002.
func freeAcid(ph float64) float64 { return 1000 * exp10(-ph) / 0.95 }

// Below softMeq (hardness and alkalinity both) the statistics know few wells;
// below half of it none that is acid. The excess of soft waters takes over.
const softMeq = 2.0

// excess draws by how much the total exceeds the larger of hardness and
// alkalinity, in meq/L. The statistics hold few wells with sea water, road salt
// or brine in them and no softened water: where a meter shows more than nearly
// all of them have beside the ions drawn so far, the meter proposes the total.
func (m *sampler) excess(p *regime, larger, drawn float64) float64 {
	if total, ok := m.metered(); ok && total > drawn*(1+p.Excess.Q[6]) {
		return max(total*m.about()-drawn, 0)
	}
	if soft := 2 * (1 - larger/softMeq); m.rand.Float64() < soft {
		return larger * max(m.priors.Soft.at(m.rand.Float64()), 0)
	}
	return larger * p.Excess.draw(m.rand)
}

// poorInSodium parts waters whose sulfate is that of gypsum from those whose
// chloride came with sodium: the priors have a row for each.
const poorInSodium = 0.3

// split puts what is missing of the anions on chloride and sulfate.
func (m *sampler) split(c *candidate, p *regime, rest float64, salted bool) {
	row := &p.Chloride
	if c.ion[Sodium] < poorInSodium*(rest+c.ion[Chloride]+c.ion[Sulfate]) {
		row = &p.ChloridePoor
	}
	chloride := min(row.draw(m.rand), 1)
	switch {
	case salted:
		chloride = saltChloride + (1-saltChloride)*m.rand.Float64()
	case m.known(qSulfate):
		chloride = 1
	case m.known(qChloride):
		chloride = 0
	}
	c.ion[Chloride] += chloride * rest
	c.ion[Sulfate] += (1 - chloride) * rest
}

// metal draws a metal that may be in particles: the dissolved part, and the
// particles, in meq/L. Of a total whose form is unknown any share may be
// dissolved.
func (m *sampler) metal(total, dissolved quantity, prior *distribution) (free, particles float64) {
	switch {
	case m.known(dissolved):
		free = m.report.q[dissolved].draw(m.rand)
		if m.known(total) {
			particles = max(m.report.q[total].draw(m.rand)-free, 0)
		}
	case m.known(total):
		whole := m.report.q[total].draw(m.rand)
		free = whole * m.rand.Float64()
		particles = whole - free
	default:
		free = prior.draw(m.rand)
	}
	return free, particles
}

// matter draws what carries no charge.
func (m *sampler) matter() Matter {
	free := m.ifGiven(qFreeChlorine)
	combined := max(m.ifGiven(qTotalChlorine)-free, 0)
	if m.known(qCombinedChlorine) {
		combined = m.ifGiven(qCombinedChlorine)
	}
	return Matter{
		FreeChlorine:    unit.MgPerL(free),
		Chloramine:      unit.MgPerL(combined),
		Turbidity:       m.ifGiven(qTurbidity),
		SuspendedSolids: unit.MgPerL(m.ifGiven(qSolids)),
		OrganicCarbon:   unit.MgPerL(m.ifGiven(qTOC)),
		Tannin:          unit.MgPerL(m.ifGiven(qTannin)),
		Oxygen:          unit.MgPerL(m.ifGiven(qOxygen)),
		Unknown:         m.report.unknown,
	}
}

// balanced lists the ions that take up what the charges leave over, with the
// quantity whose error says how much each may give.
var balanced = [...]struct {
	ion Ion
	q   quantity
}{
	{Calcium, qCalcium}, {Magnesium, qMagnesium}, {Sodium, qSodium}, {Potassium, qPotassium}, {Ammonium, qAmmonium},
	{Chloride, qChloride}, {Sulfate, qSulfate}, {Nitrate, qNitrate}, {Fluoride, qFluoride}, {Bicarbonate, qAlkalinity},
}

// balance makes the charges add up exactly: what is left over is shared out in
// proportion to the square of each ion's error (least squares). It takes more
// than one round where an ion reaches 0.
func (m *sampler) balance(c *candidate) {
	for range 20 {
		rest := c.charge()
		if math.Abs(rest) < 1e-12 {
			return
		}
		var share [len(balanced)]float64
		var sum float64
		for i, b := range balanced {
			if c.ion[b.ion] < 0 { // free acid, which follows from pH
				continue
			}
			if up := (rest < 0) == b.ion.IsCation(); up || c.ion[b.ion] > 0 {
				s := b.q.sigma(c.ion[b.ion])
				share[i] = s * s
				sum += share[i]
			}
		}
		for i, b := range balanced {
			d := rest * share[i] / sum
			if b.ion.IsCation() {
				d = -d
			}
			if share[i] > 0 {
				c.ion[b.ion] = max(c.ion[b.ion]+d, 0)
			}
		}
	}
}

// hardnessKnown reports whether the report gives the hardness or a part of it.
func (m *sampler) hardnessKnown() bool {
	return m.known(qHardness) || m.known(qCalcium) || m.known(qMagnesium)
}

// anchored reports whether the report gives both hardness and alkalinity.
func (m *sampler) anchored() bool {
	return m.known(qAlkalinity) && (m.known(qHardness) || m.known(qCalcium))
}

// unanchored widens the agreement with conductivity and solids where hardness
// or alkalinity is missing: the shares of one well are drawn independently
// then, and with this factor the band of a pen alone holds the truth in as many
// wells as the others.
const unanchored = 1.5

// weigh sets the logarithm of a candidate's weight: how well its conductivity
// and its residue agree with those of the report. Where both were measured
// they share the errors of hardness and alkalinity and of each other, so that
// the two together count as one and a quarter.
func (m *sampler) weigh(c *candidate) {
	conductivity, solids := &m.report.q[qConductivity], &m.report.q[qTDS]
	factor := m.report.disputed
	if !m.anchored() {
		factor *= unanchored
	}
	w := c.raw()
	if conductivity.known {
		c.logWeight += m.priors.Conductivity.agree(conductivity, float64(Conductivity(&w)), factor)
	}
	if solids.known {
		c.logWeight += m.priors.Solids.agree(solids, float64(w.Residue180()), factor)
	}
	if conductivity.known && solids.known {
		c.logWeight *= 0.625
	}
}
