package water

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// quantity indexes what a report may state about a water, in the unit that
// the completion works in.
type quantity int

const (
	qHardness   quantity = iota // meq/L
	qAlkalinity                 // meq/L
	qCalcium                    // meq/L, and so on to fluoride
	qMagnesium
	qStrontium
	qBarium
	qSodium
	qPotassium
	qAmmonium
	qIronTotal     // as Fe2+
	qIronDissolved // as Fe2+
	qManganeseTotal
	qManganeseDissolved
	qChloride // bromide included
	qSulfate
	qNitrate // nitrite included
	qFluoride
	qSilica       // mmol/L
	qSulfide      // mmol/L
	qCO2          // mmol/L
	qPH           // pH
	qTemperature  // °C
	qConductivity // uS/cm at 25 °C
	qTDS          // mg/L
	qTurbidity    // NTU
	qSolids       // suspended solids, mg/L
	qFreeChlorine // mg/L as Cl2
	qTotalChlorine
	qCombinedChlorine
	qTOC // mg/L, and so on to oxygen
	qTannin
	qOxygen
	numQuantities
)

// methodError is the typical error of a routine laboratory result: one
// standard deviation, the larger of a share of the value and a floor in the
// unit of the quantity. Common practice, no single source; the shares of the
// major ions reproduce the charge-balance errors of 8,612 real analyses
// (median 2.3 %, well-statistics section 3).
type methodError struct{ share, floor float64 }

var methodErrors = [numQuantities]methodError{
	qHardness: {0.03, 0.02}, qAlkalinity: {0.03, 0.02},
	qCalcium: {0.04, 0.005}, qMagnesium: {0.04, 0.005}, qStrontium: {0.05, 1e-4}, qBarium: {0.05, 1e-4},
	qSodium: {0.04, 0.005}, qPotassium: {0.06, 0.002}, qAmmonium: {0.10, 0.001},
	qIronTotal: {0.06, 2e-4}, qIronDissolved: {0.06, 2e-4}, qManganeseTotal: {0.06, 1e-4}, qManganeseDissolved: {0.06, 1e-4},
	qChloride: {0.04, 0.01}, qSulfate: {0.05, 0.01}, qNitrate: {0.06, 0.002}, qFluoride: {0.08, 0.001},
	qSilica: {0.06, 0.003}, qSulfide: {0.15, 0.001}, qCO2: {0.15, 0.02},
	qPH: {0, 0.05}, qTemperature: {0, 0.5}, qConductivity: {0.03, 2}, qTDS: {0.05, 10},
	qTurbidity: {0.10, 0.1}, qSolids: {0.15, 1}, qFreeChlorine: {0.10, 0.05}, qTotalChlorine: {0.10, 0.05}, qCombinedChlorine: {0.10, 0.05},
	qTOC: {0.10, 0.2}, qTannin: {0.15, 0.1}, qOxygen: {0.05, 0.1},
}

// sigma returns the standard deviation of a value of a quantity.
func (q quantity) sigma(v float64) float64 {
	e := methodErrors[q]
	return max(e.share*math.Abs(v), e.floor)
}

// given is what the report says about one quantity: nothing, a value with
// its error, or an interval.
type given struct {
	known    bool
	interval bool    // low to high instead of value and sigma
	value    float64 // 0 for an interval
	sigma    float64
	low      float64
	high     float64 // +Inf where the scale ended
	signed   bool    // may lie below 0: a temperature
	source   *analysis.Result
}

// middle returns the value, or a typical value of the interval.
func (g given) middle() float64 {
	switch {
	case !g.interval:
		return g.value
	case math.IsInf(g.high, 1):
		return 1.3 * g.low
	}
	return (g.low + g.high) / 2
}

// positive reports whether the quantity is known and not just a non-detect.
func (g given) positive() bool {
	return g.known && (!g.interval && g.value > 0 || g.interval && g.low > 0)
}

// place tells where a pH was measured.
type place int

const (
	unstated place = iota
	inField
	inLaboratory
)

// report is a sample, understood: what it gives about each quantity.
type report struct {
	sample      analysis.Sample
	q           [numQuantities]given
	ph          place   // where pH was measured
	unknown     Unknown // what was not measured
	basisless   bool    // nitrate without a basis: as N or as NO3
	disputed    float64 // factor on the scale of conductivity and solids, 1 or more
	checks      []Check
	cautions    []Caution
	assumptions []string
	supposed    []string // not detected below a limit that nobody stated
}

// reading says how one analyte gives one quantity.
type reading struct {
	id       analyte.ID
	q        quantity
	fraction analysis.Fraction // NotStated takes any
	perMmol  bool              // the unit is mmol/L, not meq/L
	plain    bool              // the unit is mg/L, or the quantity's own
}

// readings is tried in order: the first that the report has wins.
var readings = []reading{
	{id: "hardness", q: qHardness}, {id: "alkalinity", q: qAlkalinity},
	{id: "calcium", q: qCalcium}, {id: "magnesium", q: qMagnesium}, {id: "strontium", q: qStrontium}, {id: "barium", q: qBarium},
	{id: "sodium", q: qSodium}, {id: "potassium", q: qPotassium}, {id: "ammonium", q: qAmmonium},
	{id: "iron", q: qIronDissolved, fraction: analysis.Dissolved}, {id: "ferrous_iron", q: qIronDissolved},
	{id: "iron", q: qIronTotal, fraction: analysis.Total},
	{id: "manganese", q: qManganeseDissolved, fraction: analysis.Dissolved}, {id: "manganese", q: qManganeseTotal, fraction: analysis.Total},
	{id: "chloride", q: qChloride}, {id: "sulfate", q: qSulfate}, {id: "nitrate", q: qNitrate}, {id: "nitrate_nitrite", q: qNitrate},
	{id: "fluoride", q: qFluoride}, {id: "silica", q: qSilica, perMmol: true}, {id: "hydrogen_sulfide", q: qSulfide, perMmol: true},
	{id: "carbon_dioxide", q: qCO2, perMmol: true},
	{id: "ph", q: qPH, plain: true}, {id: "temperature", q: qTemperature, plain: true}, {id: "conductivity", q: qConductivity, plain: true},
	{id: "tds", q: qTDS, plain: true}, {id: "turbidity", q: qTurbidity, plain: true}, {id: "suspended_solids", q: qSolids, plain: true},
	{id: "free_chlorine", q: qFreeChlorine, plain: true}, {id: "total_chlorine", q: qTotalChlorine, plain: true},
	{id: "combined_chlorine", q: qCombinedChlorine, plain: true},
	{id: "toc", q: qTOC, plain: true}, {id: "tannin", q: qTannin, plain: true}, {id: "dissolved_oxygen", q: qOxygen, plain: true},
}

// ResultError is a result that no water can have. Its Err reads "found ...,
// expected ...".
type ResultError struct {
	Analyte analyte.ID
	Line    int // of the report; 0 when unknown
	Err     error
}

// Error names the analyte and its fault.
func (e *ResultError) Error() string { return fmt.Sprintf("%s: %v", e.Analyte, e.Err) }

// Unwrap returns the fault.
func (e *ResultError) Unwrap() error { return e.Err }

// understand turns a sample into what it gives about each quantity.
func understand(s analysis.Sample) (*report, error) {
	r := &report{sample: s, disputed: 1}
	for _, row := range readings {
		if r.q[row.q].known {
			continue
		}
		res := pick(s.Results, row.id, row.fraction)
		if res == nil {
			continue
		}
		if limit, ok := usualLimits[res.Analyte]; ok && limitless(res) {
			res = limit.give(res)
			r.supposed = append(r.supposed, nameOf(res.Analyte))
		}
		g, err := row.take(res)
		if errors.Is(err, errNegative) {
			r.refuse(res)
			continue
		}
		if err != nil {
			return nil, &ResultError{Analyte: res.Analyte, Line: res.Line, Err: err}
		}
		r.q[row.q] = g
		if row.q == qPH {
			r.ph = where(res)
		}
	}
	r.addMinor(s)
	r.fromParts()
	r.penSolids()
	r.stripZeros()
	r.vagueLimits()
	if len(r.supposed) > 0 {
		r.assume(strings.Join(r.supposed, ", ") + ": not detected, and no limit is stated: below the limit of a routine laboratory is assumed")
	}
	// A mole and an equivalent are the same of nitrogen and of nitrate.
	if n := &r.q[qNitrate]; n.known && n.source.Basis == "" && n.source.Unit != unit.MmolL && n.source.Unit != unit.MeqL {
		r.basisless = true
	}
	r.markUnknown()
	return r, nil
}

// errNegative marks a concentration below 0, as instruments print for nothing
// found. The sample is completed without it, and a check says so.
var errNegative = errors.New("a concentration is never below 0")

// refuse records a negative concentration.
func (r *report) refuse(res *analysis.Result) {
	name := analyte.Must(res.Analyte).Name
	found := 0.0
	for _, v := range []*float64{res.Value, res.Low, res.High, res.Limit} {
		if v != nil {
			found = *v
			break
		}
	}
	u := string(res.Unit)
	if u == "" {
		u = string(analyte.Must(res.Analyte).Default)
	}
	r.found(Check{Code: "negative_value", Severity: Warn, Found: found, Unit: u,
		Sentence: fmt.Sprintf("%s of %g %s is below 0, which no concentration is: an instrument's way of saying that it found none.", sentenceCase(name), found, u),
		Source:   "definition of the quantity",
		Effect:   "the figure is not used: " + name + " counts as not measured"})
}

// laboratoryOnly are analytes that no strip or drop kit for wells measures.
var laboratoryOnly = []analyte.ID{"calcium", "magnesium", "sodium", "potassium", "sulfate", "chloride", "silica", "bicarbonate", "fluoride", "toc",
	"arsenic", "lead", "uranium", "total_coliform", "e_coli"}

func (r *report) fromKit() bool { return FromKit(&r.sample) }

// FromKit reports whether a sample looks like a strip or drop kit: nothing in
// it needs a laboratory.
func FromKit(s *analysis.Sample) bool {
	for _, res := range s.Results {
		if slices.Contains(laboratoryOnly, res.Analyte) || res.Nondetect {
			return false
		}
	}
	return true
}

// drop takes a figure out of use.
func (r *report) drop(q quantity, mark Unknown) {
	r.q[q] = given{}
	r.unknown |= mark
}

// stripZeros reads the zeros of a strip. For iron and manganese a zero means
// below the first step of a pad whose steps are not stated, which may be as
// high as 5 mg/L (ledger row I-STRIP-FE): it is dropped. For hardness and
// alkalinity it means below half of the first step, 25 and 40 mg/L as CaCO3
// (I-STRIP-HARD, I-STRIP-ALK, I-STRIP-INT).
func (r *report) stripZeros() {
	if !r.fromKit() {
		return
	}
	for _, pad := range []struct {
		q    quantity
		name string
		step float64 // mg/L as CaCO3
	}{{qHardness, "hardness", 25}, {qAlkalinity, "alkalinity", 40}} {
		if g := &r.q[pad.q]; g.known && !g.interval && g.value == 0 {
			*g = given{known: true, interval: true, high: pad.step / 2 / analyte.CaCO3Equivalent, source: g.source}
			r.assume(fmt.Sprintf("the strip's 0 for %s means below half of the first step of its pad, taken as %.0f mg/L as CaCO3", pad.name, pad.step))
		}
	}
	for _, metal := range []struct {
		q    quantity
		name string
	}{{qIronTotal, "iron"}, {qManganeseTotal, "manganese"}} {
		if g := &r.q[metal.q]; g.known && !g.interval && g.value == 0 {
			*g = given{}
			r.assume("the strip's 0 for " + metal.name + " means below the first step of its pad, which is not stated: " + metal.name + " is taken as not measured")
		}
	}
}

// vagueLimits drops non-detects whose limit is so high that the statistics of
// wells say more: 95 % of wells are below it. Hardness and alkalinity stay, for
// a completion may have nothing else to start from.
func (r *report) vagueLimits() {
	wells := &loadPriors().Regimes.Humid
	for _, l := range []struct {
		q   quantity
		p95 float64 // Ohio, well-statistics section 4; the others are priors
	}{
		{qSodium, 104 / molar[Sodium]}, {qChloride, 129 / molar[Chloride]}, {qSulfate, 2 * 356 / molar[Sulfate]},
		{qNitrate, wells.Nitrate.Q[6]}, {qFluoride, wells.Fluoride.Q[6]}, {qAmmonium, wells.Ammonium.Q[6]}, {qSilica, wells.Silica.Q[6]},
		{qIronTotal, wells.Iron.Q[6]}, {qIronDissolved, wells.Iron.Q[6]},
		{qManganeseTotal, wells.Manganese.Q[6]}, {qManganeseDissolved, wells.Manganese.Q[6]},
	} {
		if g := r.q[l.q]; g.known && g.source.Nondetect && g.high > l.p95 {
			r.q[l.q] = given{}
			r.assume(fmt.Sprintf("%s below %.4g %s says less than the statistics of wells: it counts as not measured",
				nameOf(g.source.Analyte), *g.source.Limit, g.source.Unit))
		}
	}
}

// A pocket meter turns conductivity into "ppm" by a factor that it rarely
// states: 0.47 to 0.50 for sodium chloride, 0.65 to 0.70 for a mixture of salts
// (ledger rows H-TDSF). The middle, and the spread of its logarithm.
const (
	penFactor = 0.58
	penSpread = 0.15
)

// penSolids takes dissolved solids that a meter showed as the conductivity
// that it measured.
func (r *report) penSolids() {
	g := r.q[qTDS]
	if !g.known || g.interval || r.q[qConductivity].known {
		return
	}
	byMeter := slices.ContainsFunc(strings.Fields(strings.ToLower(g.source.Note)), func(word string) bool { return word == "pen" || word == "meter" })
	if !byMeter {
		return
	}
	r.q[qTDS] = given{}
	v := g.value / penFactor
	r.q[qConductivity] = given{known: true, value: v, sigma: penSpread * v, source: g.source}
	r.assume(fmt.Sprintf("the meter's %.4g ppm is taken as %.3g uS/cm, with a factor anywhere from 0.47 to 0.71", g.value, v))
}

// markUnknown fills the set of what was not measured.
func (r *report) markUnknown() {
	for _, u := range []struct {
		mark Unknown
		any  []quantity // one of them is enough
	}{
		{UnknownIron, []quantity{qIronTotal, qIronDissolved}}, {UnknownManganese, []quantity{qManganeseTotal, qManganeseDissolved}},
		{UnknownChlorine, []quantity{qFreeChlorine}}, {UnknownChloramine, []quantity{qTotalChlorine, qCombinedChlorine}},
		{UnknownTurbidity, []quantity{qTurbidity, qSolids}}, {UnknownOrganicCarbon, []quantity{qTOC}}, {UnknownTannin, []quantity{qTannin}},
		{UnknownOxygen, []quantity{qOxygen}}, {UnknownSulfide, []quantity{qSulfide}}, {UnknownAmmonium, []quantity{qAmmonium}},
		{UnknownSilica, []quantity{qSilica}}, {UnknownPH, []quantity{qPH}}, {UnknownTemperature, []quantity{qTemperature}},
	} {
		if !slices.ContainsFunc(u.any, func(q quantity) bool { return r.q[q].known }) {
			r.unknown |= u.mark
		}
	}
	if r.q[qIronTotal].positive() && !r.q[qIronDissolved].known {
		r.unknown |= UnknownIronForm
	}
}

// pick chooses among several results of one analyte: numbers before ranges
// before non-detects, then the one measured in the field, then the first.
func pick(results []analysis.Result, id analyte.ID, fraction analysis.Fraction) *analysis.Result {
	best, bestRank := -1, 0
	for i, res := range results {
		if res.Analyte != id || fraction == analysis.Dissolved && res.Fraction != analysis.Dissolved ||
			fraction == analysis.Total && res.Fraction == analysis.Dissolved {
			continue
		}
		rank := 0
		switch {
		case res.Value != nil:
			rank = 30
		case res.Low != nil || res.High != nil:
			rank = 20
		case res.Nondetect && res.Limit != nil:
			rank = 10
		case limitless(&res) && usualLimits[res.Analyte] != usualLimit{}:
			rank = 5
		default:
			continue
		}
		if where(&res) == inField {
			rank++
		}
		if rank > bestRank {
			best, bestRank = i, rank
		}
	}
	if best < 0 {
		return nil
	}
	return &results[best]
}

// usualLimit is a limit in mg/L on a basis.
type usualLimit struct {
	limit float64
	basis analyte.Basis
}

// usualLimits are what routine laboratories report down to, at the high end.
// They stand in for the limit that a report leaves out: what was looked for and
// not found is not there in the amounts that other wells hold. Common practice,
// no source.
var usualLimits = map[analyte.ID]usualLimit{
	"hardness": {5, "CaCO3"}, "alkalinity": {5, "CaCO3"},
	"calcium": {1, ""}, "magnesium": {1, ""}, "sodium": {2, ""}, "potassium": {2, ""}, "ammonium": {0.1, "N"},
	"iron": {0.05, ""}, "ferrous_iron": {0.05, ""}, "manganese": {0.02, ""},
	"chloride": {2, ""}, "sulfate": {2, ""}, "nitrate": {0.2, "N"}, "nitrate_nitrite": {0.2, "N"}, "fluoride": {0.2, ""}, "silica": {1, "SiO2"},
}

// limitless reports whether a result says no more than "not detected".
func limitless(res *analysis.Result) bool {
	return res.Nondetect && res.Limit == nil && res.Value == nil && res.Low == nil && res.High == nil
}

// give returns the result with this limit.
func (l usualLimit) give(res *analysis.Result) *analysis.Result {
	out := *res
	out.Limit, out.Unit, out.Basis = &l.limit, unit.MgL, l.basis
	return &out
}

// where tells from the words of a result's note whether it was measured in
// the field.
func where(res *analysis.Result) place {
	for word := range strings.FieldsFuncSeq(strings.ToLower(res.Note), func(r rune) bool { return !unicode.IsLetter(r) }) {
		switch word {
		case "field", "site", "strip", "pad", "pads", "pen":
			return inField
		case "lab", "laboratory":
			return inLaboratory
		}
	}
	return unstated
}

// take converts one result to the unit of its quantity.
func (row reading) take(res *analysis.Result) (given, error) {
	g := given{known: true, signed: row.q == qTemperature, source: res}
	convert := func(v *float64) (float64, error) { return row.convert(res, *v) }
	var err error
	switch {
	case res.Value != nil:
		if g.value, err = convert(res.Value); err != nil {
			return g, err
		}
		g.sigma = row.q.sigma(g.value)
	case res.Low != nil || res.High != nil:
		g.interval, g.high = true, math.Inf(1)
		if res.Low != nil {
			if g.low, err = convert(res.Low); err != nil {
				return g, err
			}
		}
		if res.High != nil {
			if g.high, err = convert(res.High); err != nil {
				return g, err
			}
		}
		if g.high < g.low {
			g.low, g.high = g.high, g.low
		}
		if g.low == 0 && math.IsInf(g.high, 1) {
			return given{}, nil // "more than 0" says nothing
		}
		if row.q == qPH { // a scale of pH ends about one step past its last pad
			if res.Low == nil {
				g.low = max(g.high-padStepPH, 0)
			}
			if res.High == nil {
				g.high = g.low + padStepPH
			}
		}
	default:
		g.interval = true
		if g.high, err = convert(res.Limit); err != nil {
			return g, err
		}
	}
	return g, nil
}

// padStepPH is a step of a pH pad (ledger row I-STRIP-PH).
const padStepPH = 0.6

// convert turns a reported number into the unit of the quantity.
func (row reading) convert(res *analysis.Result, v float64) (float64, error) {
	if math.IsNaN(v) || math.IsInf(v, 0) {
		return 0, fmt.Errorf("found %v, expected a finite number", v)
	}
	if v < 0 && row.q != qTemperature {
		return 0, fmt.Errorf("found %v: %w", v, errNegative)
	}
	a, ok := analyte.Lookup(res.Analyte)
	if !ok {
		return 0, fmt.Errorf("found %q, expected the id of an analyte", res.Analyte)
	}
	u := res.Unit
	if u == unit.None {
		u = a.Default // Complete says so among the assumptions
	}
	switch row.q {
	case qPH:
		if v > 14 {
			return 0, fmt.Errorf("found pH %v, expected 0 to 14", v)
		}
		return v, nil
	case qTurbidity:
		return v, nil // NTU and FNU are equal for this purpose
	case qTemperature:
		t, ok := u.Celsius(v)
		if !ok {
			return 0, fmt.Errorf("found unit %q, expected degC or degF", u)
		}
		return float64(t), nil
	case qConductivity:
		c, ok := u.MicroSPerCm(v)
		if !ok {
			return 0, fmt.Errorf("found unit %q, expected a conductivity such as uS/cm", u)
		}
		return float64(c), nil
	case qTDS, qSolids, qTannin:
		switch u {
		case unit.MgL:
			return v, nil
		case unit.UgL:
			return v / 1000, nil
		case unit.GL:
			return v * 1000, nil
		}
		return 0, fmt.Errorf("found unit %q, expected mg/L", u)
	}
	mg, err := a.MgPerL(v, u, res.Basis)
	switch {
	case err != nil:
		return 0, err
	case row.plain:
		return float64(mg), nil
	case row.perMmol:
		return float64(a.Millimoles(mg)), nil
	}
	return float64(a.Equivalents(mg)), nil
}

// addMinor adds nitrite to nitrate and bromide to chloride: the resin and the
// balance count them alike.
func (r *report) addMinor(s analysis.Sample) {
	for _, add := range []struct {
		from analyte.ID
		to   quantity
	}{{"nitrite", qNitrate}, {"bromide", qChloride}} {
		res := pick(s.Results, add.from, analysis.NotStated)
		to := &r.q[add.to]
		if res == nil || res.Value == nil || !to.known || to.interval || to.source.Analyte == "nitrate_nitrite" {
			continue
		}
		row := reading{id: add.from, q: add.to}
		if g, err := row.take(res); err == nil {
			to.value += g.value
			to.sigma = add.to.sigma(to.value)
		}
	}
}

// fromParts fills total iron, hardness and alkalinity from what makes them up.
func (r *report) fromParts() {
	s := r.sample
	set := func(q quantity, meq float64, from *analysis.Result) {
		if !r.q[q].known && meq >= 0 {
			r.q[q] = given{known: true, value: meq, sigma: q.sigma(meq), source: from}
		}
	}
	value := func(id analyte.ID) (float64, *analysis.Result) {
		res := pick(s.Results, id, analysis.NotStated)
		if res == nil || res.Value == nil {
			return 0, nil
		}
		g, err := reading{id: id, q: qAlkalinity}.take(res)
		if err != nil {
			return 0, nil
		}
		return g.value, res
	}
	if ferric := pick(s.Results, "ferric_iron", analysis.NotStated); ferric != nil && !r.q[qIronTotal].known && r.q[qIronDissolved].known {
		if g, err := (reading{id: "ferric_iron", q: qIronTotal, plain: true}).take(ferric); err == nil && !g.interval {
			set(qIronTotal, g.value/(molar[Iron]/2)+r.q[qIronDissolved].middle(), ferric)
		}
	}
	if hco3, from := value("bicarbonate"); from != nil {
		co3, _ := value("carbonate")
		oh, _ := value("hydroxide")
		set(qAlkalinity, hco3+co3+oh, from)
	}
	if noncarbonate, from := value("noncarbonate_hardness"); from != nil && r.q[qHardness].known && !r.q[qHardness].interval && noncarbonate > 0 {
		set(qAlkalinity, r.q[qHardness].value-noncarbonate, from)
	}
	if carbonate, from := value("carbonate_hardness"); from != nil {
		if h := r.q[qHardness]; !h.known || h.interval || carbonate < 0.98*h.value {
			set(qAlkalinity, carbonate, from) // below the hardness it is the alkalinity
			r.assume("the carbonate hardness is taken as the alkalinity")
		}
	}
}

// assume records an assumption once.
func (r *report) assume(sentence string) {
	if !slices.Contains(r.assumptions, sentence) {
		r.assumptions = append(r.assumptions, sentence)
	}
}
