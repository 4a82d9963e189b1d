package rules

import (
	"math"
	"slices"
	"sort"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// Values holds what is known about every quantity at one place. The search
// keeps one Values per place and calls SetWater for each water.
type Values struct {
	at       [numQuantities]Interval
	measured [numQuantities]bool // measured or stated, not estimated
}

// NewValues returns Values in which nothing is known.
func NewValues() *Values {
	v := new(Values)
	for q := range v.at {
		v.at[q] = unknown
	}
	return v
}

// Know states a number, in the quantity's own unit.
func (v *Values) Know(q Quantity, x float64) { v.Within(q, x, x) }

// Within states an interval, in the quantity's own unit.
func (v *Values) Within(q Quantity, low, high float64) {
	v.at[q] = Interval{low, high}
	v.measured[q] = true
}

// Flag states a yes or a no.
func (v *Values) Flag(q Quantity, yes bool) {
	x := 0.0
	if yes {
		x = 1
	}
	v.Know(q, x)
}

// Upstream states which kinds of stage stand before the place that is judged,
// Downstream which follow it. Every other kind is stated to be absent.
func (v *Values) Upstream(have []process.Kind) { v.train(upstream, have) }

// Downstream is described at Upstream.
func (v *Values) Downstream(have []process.Kind) { v.train(downstream, have) }

func (v *Values) train(at func(int) Quantity, have []process.Kind) {
	for i, k := range kinds {
		v.Flag(at(i), slices.Contains(have, k))
	}
}

// molar masses in g/mol of what a Water holds in mmol/L.
var (
	ionMass = func() (m [water.NumIons]float64) {
		for i, id := range map[water.Ion]analyte.ID{
			water.Calcium: "calcium", water.Magnesium: "magnesium", water.Strontium: "strontium", water.Barium: "barium",
			water.Sodium: "sodium", water.Potassium: "potassium", water.Ammonium: "ammonium", water.Iron: "iron",
			water.Manganese: "manganese", water.Chloride: "chloride", water.Sulfate: "sulfate", water.Nitrate: "nitrate",
			water.Fluoride: "fluoride", water.Bicarbonate: "bicarbonate", water.Carbonate: "carbonate",
		} {
			m[i] = analyte.Must(id).MolarMass()
		}
		return m
	}()
	carbonDioxideMass = analyte.Must("carbon_dioxide").MolarMass()
	silicaMass        = analyte.Must("silica").MolarMass()
	sulfideMass       = analyte.Must("hydrogen_sulfide").MolarMass()
)

// keptOnDrying is the mass of carbonate that stays when bicarbonate dries:
// 2 HCO3 -> CO3 + CO2 + H2O, standards ledger row A-HCO3-TDS.
const keptOnDrying = 0.4917

// SetWater puts in the quantities that a water states. What the water marks
// as unknown and nothing describes stays unknown. It allocates nothing.
func (v *Values) SetWater(w *water.Water) {
	put := func(q Quantity, x float64) { v.at[q] = Interval{x, x} }
	mg := func(i water.Ion) float64 { return float64(w.Ion[i]) * ionMass[i] }
	m := &w.Matter

	put(qPH, w.PH)
	put(qTemperature, float64(w.Temperature))
	put(qCalcium, mg(water.Calcium))
	put(qMagnesium, mg(water.Magnesium))
	put(qSodium, mg(water.Sodium))
	put(qPotassium, mg(water.Potassium))
	put(qAmmonium, mg(water.Ammonium))
	put(qStrontium, mg(water.Strontium))
	put(qBarium, mg(water.Barium))
	put(qChloride, mg(water.Chloride))
	put(qSulfate, mg(water.Sulfate))
	put(qNitrate, mg(water.Nitrate))
	put(qFluoride, mg(water.Fluoride))
	put(qBicarbonate, mg(water.Bicarbonate))
	put(qHardness, float64(w.Ion[water.Calcium]+w.Ion[water.Magnesium])*2*analyte.CaCO3Equivalent)
	put(qAlkalinity, float64(w.Ion[water.Bicarbonate]+2*w.Ion[water.Carbonate])*analyte.CaCO3Equivalent)
	put(qCarbonDioxide, float64(w.CO2)*carbonDioxideMass)
	put(qSilica, float64(w.Silica)*silicaMass)
	put(qHydrogenSulfide, float64(w.Sulfide)*sulfideMass)

	iron, manganese := mg(water.Iron), mg(water.Manganese)
	put(qIronDissolved, iron)
	put(qIronParticulate, float64(m.ParticulateIron))
	put(qIronTotal, iron+float64(m.ParticulateIron))
	put(qManganeseDissolved, manganese)
	put(qManganeseParticulate, float64(m.ParticulateManganese))
	put(qManganese, manganese+float64(m.ParticulateManganese))
	put(qMetals, v.at[qIronTotal].Low+v.at[qManganese].Low)
	put(qFreeChlorine, float64(m.FreeChlorine))
	put(qChloramine, float64(m.Chloramine))
	put(qTurbidity, m.Turbidity)
	put(qSuspendedSolids, float64(m.SuspendedSolids))
	put(qTOC, float64(m.OrganicCarbon))
	put(qTannin, float64(m.Tannin))
	put(qOxygen, float64(m.Oxygen))

	v.at[qOxygenPerIron] = Interval{0, math.Inf(1)} // no iron: any oxygen is enough
	if iron > 0 {
		put(qOxygenPerIron, 100*float64(m.Oxygen)/iron)
	}

	salts := v.at[qSilica].Low
	for i := range water.NumIons {
		kept := 1.0
		if water.Ion(i) == water.Bicarbonate {
			kept = keptOnDrying
		}
		salts += kept * mg(water.Ion(i))
	}
	put(qTDS, salts)
	load := w.Load()
	put(qCationLoad, float64(load.Cation))
	put(qAnionLoad, float64(load.Anion))
	share := func(q Quantity, part unit.MmolPerL) {
		if load.Anion > 0 {
			put(q, 100*float64(part)/float64(load.Anion))
		} else {
			v.at[q] = unknown
		}
	}
	share(qCarbonDioxideShare, w.CO2)
	share(qSilicaShare, w.Silica)

	if m.Unknown != 0 {
		for _, u := range unknowns {
			if m.Unknown.Has(u.flag) {
				for _, q := range u.hides {
					if v.at[q].High == 0 { // what a stage has put in since is known
						v.at[q] = unknown
					}
				}
			}
		}
		v.presume()
	}
}

// unknowns tells which quantities an unknown of a water hides. Iron, manganese,
// ammonium, silica, pH and temperature are not among them: where nobody
// measured them, the draws hold what is usual in wells.
var unknowns = []struct {
	flag  water.Unknown
	hides []Quantity
}{
	{water.UnknownChlorine, []Quantity{qFreeChlorine}},
	{water.UnknownChloramine, []Quantity{qChloramine}},
	{water.UnknownTurbidity, []Quantity{qTurbidity, qSuspendedSolids}},
	{water.UnknownOrganicCarbon, []Quantity{qTOC}},
	{water.UnknownTannin, []Quantity{qTannin}},
	{water.UnknownOxygen, []Quantity{qOxygen, qOxygenPerIron}},
	{water.UnknownSulfide, []Quantity{qHydrogenSulfide}},
}

// smelt is the hydrogen sulfide in mg/L that anybody smells (standards ledger
// E-H2S-ODOR: 0.05 or less, from memory).
const smelt = 0.05

// presume fills in what follows from the site where nobody measured: a supply
// that is not chlorinated holds no chlorine, and water without a smell of
// rotten eggs hardly any hydrogen sulfide.
func (v *Values) presume() {
	if no := v.at[qChlorinated].High <= 0; no {
		for _, q := range []Quantity{qFreeChlorine, qChloramine} {
			if !v.at[q].Known() {
				v.at[q] = Interval{0, 0}
			}
		}
	}
	if no := v.at[qSulfurSmell].High <= 0; no && !v.at[qHydrogenSulfide].Known() {
		v.at[qHydrogenSulfide] = Interval{0, smelt}
	}
}

// Facts is what rules are judged on: the values at one place, what the report
// says of them, and, where the composition is uncertain, many equally likely
// waters.
type Facts struct {
	Values
	text    [numQuantities]string // as measured
	draws   []water.Water         // at this place; empty when there is one value of each quantity
	perDraw map[Quantity][]float64
}

// FactsOf gathers what the report and the draws say of the raw water. Either
// may be missing. The place (site, vessel, stages) is stated afterwards.
func FactsOf(s *analysis.Sample, draws []water.Water) *Facts {
	f := &Facts{Values: *NewValues()}
	if s != nil {
		f.readSample(s)
	}
	f.SetDraws(draws)
	return f
}

// FactsOfRig is FactsOf with what the rig states about its site and vessel.
func FactsOfRig(s *analysis.Sample, draws []water.Water, rig *Rig) *Facts {
	f := FactsOf(s, draws)
	in := Input{Sample: s, Rig: *rig}
	f.adopt(in.siteValues())
	return f
}

// SetChecks states what the checks of the analysis found.
func (f *Facts) SetChecks(checks []water.Check) {
	for _, c := range checks {
		switch c.Code {
		case "charge_balance": // cations against anions
			f.Know(qChargeBalance, 100*math.Abs(c.Found-c.Expected)/(c.Found+c.Expected))
		case "hardness_sum":
			f.Know(qHardnessMismatch, 100*math.Abs(c.Found-c.Expected)/c.Expected)
		case "tds_sum":
			f.Know(qTDSRatio, c.Found/c.Expected)
		case "conductivity_ions":
			f.Know(qConductivityRatio, c.Expected/c.Found)
		case "impossible_value", "dissolved_total", "unit_suspicion", "metal_unit":
			f.Flag(qImpossible, true)
		case "softened_sample", "field_blank":
			f.Flag(qTreatedSample, true)
		}
	}
}

// adopt takes over what v states about a place, apart from its water, where f
// knows nothing of its own.
func (f *Facts) adopt(v *Values) {
	for q := int(numWaterQuantities); q < numQuantities; q++ {
		if v.measured[q] && !f.measured[q] || Quantity(q) == qSulfurSmell {
			f.at[q], f.measured[q] = v.at[q], v.measured[q]
		}
	}
}

// Clone returns facts that can be changed without changing f.
func (f *Facts) Clone() *Facts {
	g := *f
	g.perDraw = make(map[Quantity][]float64, len(f.perDraw))
	for q, xs := range f.perDraw {
		g.perDraw[q] = xs
	}
	return &g
}

// SetDraws states the waters at this place. What the raw water was measured
// to be keeps its measured value only when the draws are of the raw water, so
// a place further down calls SetDraws on a Clone, which forgets the measured
// texts of the quantities that a water states.
func (f *Facts) SetDraws(draws []water.Water) {
	again := len(f.draws) > 0
	f.draws = draws
	if len(draws) == 0 {
		return
	}
	xs := make([][]float64, numWaterQuantities)
	for q := range xs {
		xs[q] = make([]float64, 0, len(draws))
	}
	v := f.Values
	for i := range draws {
		v.SetWater(&draws[i])
		for q := range xs {
			if x := v.at[q]; x.Known() {
				xs[q] = append(xs[q], x.Low)
			}
		}
	}
	for q := range xs {
		if f.measured[q] && !again {
			continue // the report's own value, not the jitter of the draws
		}
		f.at[q], f.text[q] = unknown, ""
		if n := len(xs[q]); n > 0 {
			sort.Float64s(xs[q])
			f.at[q] = Interval{percentile(xs[q], 0.10), percentile(xs[q], 0.90)}
		}
	}
}

// PerDraw states a quantity that differs from draw to draw, such as the iron
// that one fill takes in; one number a draw, in the order of the draws.
func (f *Facts) PerDraw(q Quantity, xs []float64) {
	if f.perDraw == nil {
		f.perDraw = map[Quantity][]float64{}
	}
	f.perDraw[q] = xs
	sorted := slices.Clone(xs)
	sort.Float64s(sorted)
	f.at[q] = Interval{percentile(sorted, 0.10), percentile(sorted, 0.90)}
	f.measured[q] = true
}

// percentile of sorted numbers, by linear interpolation.
func percentile(sorted []float64, p float64) float64 {
	if len(sorted) == 0 {
		return math.NaN()
	}
	x := p * float64(len(sorted)-1)
	i := int(x)
	if i+1 >= len(sorted) {
		return sorted[len(sorted)-1]
	}
	return sorted[i] + (x-float64(i))*(sorted[i+1]-sorted[i])
}
