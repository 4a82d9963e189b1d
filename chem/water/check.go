package water

import (
	"fmt"
	"math"
	"slices"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// Severity is how much a check matters.
type Severity string

// The severities.
const (
	Note Severity = "note" // worth knowing
	Warn Severity = "warn" // the figures disagree; the band is wider
	Ask  Severity = "ask"  // settle this before the answer is trusted
)

// Check is what holding two figures of a report against each other found.
type Check struct {
	Code     string   `json:"code"`
	Severity Severity `json:"severity"`
	Sentence string   `json:"sentence"` // plain words, with both figures
	Found    float64  `json:"found"`    // the figure that was reported or summed
	Expected float64  `json:"expected"` // what it was held against
	Unit     string   `json:"unit"`     // of both
	Source   string   `json:"source"`   // of the rule
	Effect   string   `json:"effect"`   // what it does to the uncertainty
}

// rules are the checks in the order in which they are made and printed. Some
// widen the errors of the report, which later ones and the draws then use.
var rules = []func(r *report){
	checkValues, checkMetalUnits, checkDissolved, checkSoftened, checkBlank, checkBalance, checkHardness, checkAlkalinityParts,
	checkPhenolphthalein, checkAlkalinityPH, checkCarbonDioxide, checkLaboratoryPH, checkNitrateBasis, checkConductivityIons, checkConductivityFloor, checkConductivityExcess, checkSolidsIons,
	checkSolidsConductivity,
}

func (r *report) check() {
	for _, rule := range rules {
		rule(r)
	}
}

func (r *report) found(c Check) { r.checks = append(r.checks, c) }

// value returns a plain value of the report; a range or a non-detect has none.
func (r *report) value(q quantity) (float64, bool) {
	g := &r.q[q]
	return g.value, g.known && !g.interval
}

// amount returns a value, or the middle of an interval.
func (r *report) amount(q quantity) float64 {
	if !r.q[q].known {
		return 0
	}
	return r.q[q].middle()
}

// whole reports whether all of the quantities are given, non-detects included.
func (r *report) whole(qs ...quantity) bool {
	return !slices.ContainsFunc(qs, func(q quantity) bool { return !r.q[q].known })
}

// widen multiplies the errors of quantities.
func (r *report) widen(factor float64, qs ...quantity) {
	for _, q := range qs {
		r.q[q].sigma *= factor
	}
}

// asCaCO3 turns meq/L into mg/L as CaCO3.
func asCaCO3(meq float64) float64 { return meq * analyte.CaCO3Equivalent }

var (
	cationQuantities = []quantity{qCalcium, qMagnesium, qSodium, qPotassium, qAmmonium, qStrontium, qBarium}
	anionQuantities  = []quantity{qAlkalinity, qChloride, qSulfate, qNitrate, qFluoride}
	majorQuantities  = []quantity{qCalcium, qMagnesium, qSodium, qAlkalinity, qChloride, qSulfate}
)

// sums returns total cations and anions in meq/L; iron and manganese count
// only where they were measured as dissolved, acid where it is free.
func (r *report) sums() (cations, anions float64) {
	for _, q := range cationQuantities {
		cations += r.amount(q)
	}
	cations += r.amount(qIronDissolved) + r.amount(qManganeseDissolved)
	if ph, ok := r.value(qPH); ok && ph < acidPH {
		cations += freeAcid(ph)
	}
	for _, q := range anionQuantities {
		anions += r.amount(q)
	}
	return cations, anions
}

// checkBalance holds cations against anions. In dilute water, up to 3 meq/L of
// anions, an absolute difference of 0.2 meq/L is allowed.
func checkBalance(r *report) {
	withoutAlkalinity := !r.q[qAlkalinity].known
	if !r.whole(slices.DeleteFunc(slices.Clone(majorQuantities), func(q quantity) bool { return withoutAlkalinity && q == qAlkalinity })...) {
		return
	}
	cations, anions := r.sums()
	if cations+anions == 0 || withoutAlkalinity && anions <= cations {
		return
	}
	cbe := 100 * (cations - anions) / (cations + anions)
	if math.Abs(cbe) < 5 || anions <= 3 && math.Abs(cations-anions) <= 0.2 {
		return
	}
	c := Check{Code: "charge_balance", Severity: Warn, Found: cations, Expected: anions, Unit: "meq/L",
		Sentence: fmt.Sprintf("Cations sum to %.2f meq/L and anions to %.2f: a charge-balance error of %+.1f %%, where 5 %% is the limit of a good analysis.", cations, anions, cbe),
		Source:   "Standard Methods 1030 E (tolerances from memory, ledger C-1030-BAL1 to 3); warn at 5 %, ask at 10 %: 8,612 real analyses, 83 % within 5 %, 95 % within 10 %",
		Effect:   "the error of every ion is widened by the size of the imbalance"}
	if math.Abs(cbe) >= 10 {
		c.Severity = Ask
		if slip := r.slip(cations - anions); slip != "" {
			c.Sentence += " " + slip
		} else {
			c.Sentence += " One of the figures is wrong or an ion is missing."
		}
	}
	if withoutAlkalinity {
		c.Sentence += " And that is without the alkalinity, which was not reported."
	}
	r.widen(math.Abs(cbe)/2.5, slices.Concat(cationQuantities, anionQuantities)...)
	r.found(c)
}

// misreading is a way to have read one figure wrong.
type misreading struct {
	only   []quantity // empty: any
	factor float64
	words  string
}

// misreadings are tried in order; the likeliest comes first.
var misreadings = []misreading{
	{[]quantity{qNitrate}, nitrateAsN, "it may be as N instead of as NO3"},
	{[]quantity{qNitrate}, 1 / nitrateAsN, "it may be as NO3 instead of as N"},
	{[]quantity{qAlkalinity}, analyte.CaCO3Equivalent / molar[Bicarbonate], "it may be as HCO3 instead of as CaCO3"},
	{[]quantity{qAlkalinity}, molar[Bicarbonate] / analyte.CaCO3Equivalent, "it may be as CaCO3 instead of as HCO3"},
	{nil, 10, "look for a slipped decimal point"},
	{nil, 0.1, "look for a slipped decimal point"},
}

// slip looks for the one result that, read otherwise, would close the balance
// within 5 %; excess is cations less anions.
func (r *report) slip(excess float64) string {
	cations, anions := r.sums()
	for _, m := range misreadings {
		for _, q := range slices.Concat(cationQuantities, anionQuantities) {
			v, ok := r.value(q)
			if !ok || m.only != nil && !slices.Contains(m.only, q) {
				continue
			}
			change := v * (m.factor - 1)
			c, a := cations, anions
			if slices.Contains(cationQuantities, q) {
				c += change
			} else {
				a += change
			}
			if math.Abs(c-a) < 0.05*(c+a) && math.Abs(change) > 0.5*math.Abs(excess) {
				written := *r.q[q].source.Value
				return fmt.Sprintf("With %s of %.4g instead of %.4g it would close: %s.", nameOf(r.q[q].source.Analyte), written*m.factor, written, m.words)
			}
		}
	}
	return ""
}

// checkHardness holds the reported hardness against calcium and magnesium.
func checkHardness(r *report) {
	h, ok := r.value(qHardness)
	ca, okCa := r.value(qCalcium)
	mg, okMg := r.value(qMagnesium)
	if !ok || !okCa || !okMg {
		return
	}
	sum := ca + mg
	if gap := math.Abs(h - sum); gap > 0.1*max(h, sum) && asCaCO3(gap) > 5 {
		c := Check{Code: "hardness_sum", Severity: Warn, Found: asCaCO3(h), Expected: asCaCO3(sum), Unit: "mg/L as CaCO3",
			Sentence: fmt.Sprintf("The report gives a hardness of %.0f mg/L as CaCO3; its calcium and magnesium make %.0f.", asCaCO3(h), asCaCO3(sum)),
			Source:   "Standard Methods 2340 B, ledger C-HARD-EQ; 95 to 98 % of real samples agree within 3 %",
			Effect:   "calcium and magnesium are used, with an error that reaches the reported hardness"}
		if gap > 0.25*max(h, sum) {
			c.Severity = Ask
		}
		for _, q := range []quantity{qCalcium, qMagnesium} {
			r.q[q].sigma = max(r.q[q].sigma, gap/2)
		}
		r.found(c)
	}
}

// checkAlkalinityParts holds the alkalinity against bicarbonate and carbonate.
func checkAlkalinityParts(r *report) {
	alk, ok := r.value(qAlkalinity)
	res := pick(r.sample.Results, "bicarbonate", analysis.NotStated)
	if !ok || res == nil || res.Value == nil || r.q[qAlkalinity].source.Analyte != "alkalinity" {
		return
	}
	g, err := reading{id: "bicarbonate", q: qAlkalinity}.take(res)
	if err != nil {
		return
	}
	sum := g.value
	if co3 := pick(r.sample.Results, "carbonate", analysis.NotStated); co3 != nil && co3.Value != nil {
		if g, err := (reading{id: "carbonate", q: qAlkalinity}).take(co3); err == nil {
			sum += g.value
		}
	}
	if gap := math.Abs(alk - sum); gap > 0.1*max(alk, sum) && gap > 0.1 {
		r.q[qAlkalinity].sigma = max(r.q[qAlkalinity].sigma, gap/2)
		r.found(Check{Code: "alkalinity_parts", Severity: Warn, Found: asCaCO3(alk), Expected: asCaCO3(sum), Unit: "mg/L as CaCO3",
			Sentence: fmt.Sprintf("The alkalinity is %.0f mg/L as CaCO3; bicarbonate and carbonate make %.0f. One of them may be on another basis (as HCO3, as CaCO3).", asCaCO3(alk), asCaCO3(sum)),
			Source:   "alkalinity = HCO3/61.02 + CO3/30.00, ledger A-ALK-HCO3",
			Effect:   "the alkalinity is used, with an error that reaches the other figure"})
	}
}

// checkPhenolphthalein holds the phenolphthalein alkalinity, which begins at pH
// 8.3, against the total and against pH.
func checkPhenolphthalein(r *report) {
	total, ok := r.value(qAlkalinity)
	res := pick(r.sample.Results, "phenolphthalein_alkalinity", analysis.NotStated)
	if !ok || res == nil || res.Value == nil {
		return
	}
	g, err := reading{id: "phenolphthalein_alkalinity", q: qAlkalinity}.take(res)
	if err != nil {
		return
	}
	c := Check{Code: "phenolphthalein", Found: asCaCO3(g.value), Unit: "mg/L as CaCO3",
		Source: "Standard Methods 2320 B table, ledger C-ALK-PT1 to PT5; end points, C-ALK-ENDP",
		Effect: "none: the total alkalinity and pH are used"}
	ph, okPH := r.value(qPH)
	_, err = AlkalinityForms(unit.MgPerL(asCaCO3(g.value)), unit.MgPerL(asCaCO3(total)))
	switch {
	case err != nil:
		c.Severity, c.Expected = Ask, asCaCO3(total)
		c.Sentence = fmt.Sprintf("The phenolphthalein alkalinity of %.0f mg/L as CaCO3 is above the total of %.0f: the part cannot pass the whole.", c.Found, c.Expected)
	case okPH && ph < 8.2 && asCaCO3(g.value) > 2:
		c.Severity = Warn
		c.Sentence = fmt.Sprintf("A phenolphthalein alkalinity of %.0f mg/L as CaCO3 needs a pH above 8.3, where it is 0 (expected %.0f); %.1f is reported.", c.Found, c.Expected, ph)
	default:
		return
	}
	r.found(c)
}

// checkAlkalinityPH looks for pairs of pH and alkalinity that cannot be.
func checkAlkalinityPH(r *report) {
	ph, ok := r.value(qPH)
	alk, okAlk := r.value(qAlkalinity)
	if g := &r.q[qAlkalinity]; g.known && g.source.Value != nil && *g.source.Value == 0 {
		okAlk = true // the 0 of a strip, which is an interval
	}
	if !ok || !okAlk {
		return
	}
	c := Check{Code: "alkalinity_ph", Severity: Ask, Found: asCaCO3(alk), Unit: "mg/L as CaCO3",
		Source: "alkalinity ends at pH 4.3 to 4.5 (ledger C-ALK-ENDP, I-STRIP-ALKPH)"}
	least := max(r.alkaliAt(ph), 1/analyte.CaCO3Equivalent)
	switch {
	case ph < acidPH && asCaCO3(alk) > 2:
		c.Sentence = fmt.Sprintf("An alkalinity of %.0f mg/L as CaCO3 cannot stand beside pH %.1f: below pH %.1f there is none (0). One of the two is wrong.", asCaCO3(alk), ph, acidPH)
		c.Effect = "pH is kept and the alkalinity is not used; carbon dioxide is drawn from the statistics of wells"
	case ph < acidPH:
		return // free acid: pH tells nothing about carbon dioxide
	case ph > 8.3 && alk < least:
		c.Expected = max(asCaCO3(least), 5)
		c.Sentence = fmt.Sprintf("pH %.1f needs an alkalinity of at least about %.0f mg/L as CaCO3, but %.0f is reported. One of the two is wrong.", ph, c.Expected, asCaCO3(alk))
		c.Effect = "the alkalinity is kept and pH is not used: carbon dioxide is drawn from the statistics of wells"
		r.drop(qPH, UnknownPH)
	default:
		r.checkPressure(ph, alk)
		return
	}
	r.found(c)
}

// Where a check needs a temperature and an ionic strength, in mol/L: those of
// the usual well.
const (
	usualCelsius  = 13.0
	usualStrength = 0.008
)

// alkaliAt returns the alkalinity in meq/L that hydroxide and silicate alone
// make up at a pH.
func (r *report) alkaliAt(ph float64) float64 {
	eq := at(usualCelsius)
	a := eq.acidity(usualStrength)
	charge, _ := a.minor(exp10(-ph), r.plain().Silica, 0)
	return -charge
}

// The pressure of carbon dioxide, log10 of atm, past which pH and alkalinity
// are doubted, and that past which the water would boil with gas. 95 % of the
// wells of humid regions stay below -1.2 (priors.json).
const (
	doubtfulPressure = -0.8
	boilingPressure  = 0.0
)

// checkPressure looks for a pH that is too low for its alkalinity.
func (r *report) checkPressure(ph, alk float64) {
	carbon, ok := Speciate(ph, unit.MeqPerL(alk), 0, usualCelsius, usualStrength)
	if !ok {
		return
	}
	logP := logPressure(carbon.CO2, usualCelsius)
	if logP < doubtfulPressure {
		return
	}
	mg := float64(carbon.CO2) * molarCO2
	c := Check{Code: "carbon_dioxide", Severity: Warn, Found: mg, Expected: 150, Unit: "mg/L",
		Sentence: fmt.Sprintf("pH %.1f beside an alkalinity of %.0f mg/L as CaCO3 means %.0f mg/L of carbon dioxide; nearly all wells hold less than 150. One of the two may be wrong.", ph, asCaCO3(alk), mg),
		Source:   "PB82; 95 % of 281 wells of humid regions are below 0.066 atm",
		Effect:   "none: pH is used as it stands"}
	if logP > boilingPressure {
		c.Severity = Ask
		c.Effect = "pH is not used: carbon dioxide is drawn from the statistics of wells"
		r.drop(qPH, UnknownPH)
	}
	r.found(c)
}

// checkCarbonDioxide holds a reported carbon dioxide against pH and alkalinity.
func checkCarbonDioxide(r *report) {
	co2, ok := r.value(qCO2)
	ph, okPH := r.value(qPH)
	alk, okAlk := r.value(qAlkalinity)
	if !ok || !okPH || !okAlk {
		return
	}
	carbon, ok := Speciate(ph, unit.MeqPerL(alk), 0, usualCelsius, usualStrength)
	if !ok {
		return
	}
	found, expected := co2*molarCO2, float64(carbon.CO2)*molarCO2
	if math.Abs(found-expected) < 5 || math.Abs(math.Log(found/expected)) < math.Ln2 {
		return
	}
	r.found(Check{Code: "carbon_dioxide_ph", Severity: Warn, Found: found, Expected: expected, Unit: "mg/L",
		Sentence: fmt.Sprintf("The report gives %.0f mg/L of carbon dioxide; pH %.1f and an alkalinity of %.0f mg/L as CaCO3 make %.0f. The gas escapes from a bottle: have pH and carbon dioxide read at the well.", found, ph, asCaCO3(alk), expected),
		Source:   "PB82; twice or half, and 5 mg/L, are judgement",
		Effect:   "pH and alkalinity are used, the carbon dioxide of the report is not"})
}

// checkLaboratoryPH says what a pH read in the laboratory hides.
func checkLaboratoryPH(r *report) {
	ph, ok := r.value(qPH)
	if !ok || r.ph == inField || r.fromKit() {
		if ok && r.ph == unstated {
			r.ph = inField // a strip is read at the well
		}
		return
	}
	shift := loadPriors().LaboratoryPH.Q
	if r.ph == unstated && r.gasAgrees(ph, ph-shift[3]) {
		r.ph = inField
		r.assume("pH is taken as read at the well: it agrees with the carbon dioxide of the report")
		return
	}
	c := Check{Code: "laboratory_ph", Severity: Note, Found: ph, Expected: ph - shift[3], Unit: "pH",
		Sentence: fmt.Sprintf("pH %.2f was read in a laboratory: on the way carbon dioxide escapes and pH rises. In the well it is more likely %.2f (%.2f to %.2f).", ph, ph-shift[3], ph-shift[5], ph-shift[1]),
		Source:   "177 USGS and NL samples with both readings",
		Effect:   "pH, and with it carbon dioxide, is drawn from that range"}
	if r.ph == unstated {
		c.Sentence = fmt.Sprintf("The report does not say where pH %.2f was read. In a laboratory carbon dioxide has escaped: in the well it would more likely be %.2f (%.2f to %.2f).", ph, ph-shift[3], ph-shift[5], ph-shift[1])
		c.Effect = "half of the draws take pH as read in the field, half as read in a laboratory"
	}
	r.found(c)
}

// gasAgrees reports whether the carbon dioxide of the report, which escapes on
// the way to a laboratory as fast as pH rises, agrees with a pH within a factor
// of two, and better than with another.
func (r *report) gasAgrees(ph, other float64) bool {
	co2, ok := r.value(qCO2)
	alk, okAlk := r.value(qAlkalinity)
	if !ok || !okAlk || co2 <= 0 {
		return false
	}
	off := func(ph float64) float64 {
		carbon, ok := Speciate(ph, unit.MeqPerL(alk), 0, usualCelsius, usualStrength)
		if !ok || carbon.CO2 <= 0 {
			return math.Inf(1)
		}
		return math.Abs(math.Log(co2 / float64(carbon.CO2)))
	}
	return off(ph) < math.Ln2 && off(ph) < off(other)
}

// checkNitrateBasis says that a nitrate figure can mean two things.
func checkNitrateBasis(r *report) {
	if !r.basisless || !r.q[qNitrate].positive() || r.amount(qNitrate) < 0.02 {
		return
	}
	asNO3 := r.amount(qNitrate) * molar[Nitrate]
	r.found(Check{Code: "nitrate_basis", Severity: Warn, Found: asNO3, Expected: asNO3 * nitrateAsN, Unit: "mg/L as NO3",
		Sentence: fmt.Sprintf("The report does not say whether its nitrate of %.3g is as NO3 or as N; as N it would be %.3g mg/L of nitrate.", asNO3, asNO3*nitrateAsN),
		Source:   "as N times 4.427 is as NO3, ledger A-NO3N",
		Effect:   "half of the draws take it as NO3, half as N"})
}

// checkConductivityIons holds the conductivity against a whole analysis.
func checkConductivityIons(r *report) {
	ec, ok := r.value(qConductivity)
	if !ok || !r.whole(majorQuantities...) {
		return
	}
	w := r.plain()
	expected := float64(EmpiricalConductivity(&w))
	off := ec/expected - 1
	if math.Abs(off) <= 0.10 {
		return
	}
	c := Check{Code: "conductivity_ions", Severity: Warn, Found: ec, Expected: expected, Unit: "uS/cm",
		Sentence: fmt.Sprintf("The conductivity is %.0f uS/cm; the ions of the report would show about %.0f.", ec, expected),
		Source:   "Standard Methods 1030 E: 0.9 to 1.1 (from memory, ledger C-1030-EC); expected: 0.96 of theory, as in 552 wells",
		Effect:   "the conductivity counts less"}
	if math.Abs(off) > 0.20 {
		c.Severity = Ask
		if t := r.temperatureShare(); math.Abs(ec/expected/t-1) < 0.08 {
			c.Sentence += fmt.Sprintf(" It looks like a reading at the water's own temperature that was not corrected to 25 °C (%.0f %%).", 100*t)
		}
	}
	r.disputed = max(r.disputed, 1+math.Abs(off)/0.10)
	r.found(c)
}

// temperatureShare is what an uncorrected conductivity shows of that at 25 °C:
// 1 + 0.0191·(T - 25), ledger C-ECT; 13 °C where the report gives none.
func (r *report) temperatureShare() float64 {
	t := 13.0
	if v, ok := r.value(qTemperature); ok {
		t = v
	}
	return 1 + 0.0191*(t-25)
}

// least returns the total that the values of the report make up, in meq/L: the
// larger of their cations and anions.
func (r *report) least() float64 {
	sum := func(qs []quantity) (meq float64) {
		for _, q := range qs {
			if v, ok := r.value(q); ok {
				meq += v
			}
		}
		return meq
	}
	hardness := max(sum([]quantity{qHardness}), sum([]quantity{qCalcium, qMagnesium}))
	return max(hardness+sum([]quantity{qSodium, qPotassium, qAmmonium}), sum(anionQuantities))
}

// checkConductivityFloor holds the conductivity against the ions of the report
// where the rest is unknown: the total can be no smaller. Above brineMeq one
// meq/L may show as little as 70 uS/cm (well-statistics section 6).
func checkConductivityFloor(r *report) {
	ec, ok := r.value(qConductivity)
	if !ok || r.whole(majorQuantities...) {
		return
	}
	least, total := r.least(), ec/conductivityPerMeq
	enough := 0.9
	if least > brineMeq {
		enough = 0.75
	}
	if least < 0.5 || total > enough*least {
		return
	}
	c := Check{Code: "conductivity_floor", Severity: Warn, Found: ec, Expected: conductivityPerMeq * least, Unit: "uS/cm",
		Sentence: fmt.Sprintf("A conductivity of %.0f uS/cm is too low: the ions of the report make at least %.1f meq/L (%.0f mg/L as CaCO3), which would show about %.0f.", ec, least, asCaCO3(least), conductivityPerMeq*least),
		Source:   "93 uS/cm a meq/L in 452 wells (well-statistics sections 7 and 9)",
		Effect:   "the conductivity counts less"}
	if total < 0.7*least {
		c.Severity = Ask
	}
	r.disputed = max(r.disputed, 1+(least/max(total, 1e-3)-1)*5)
	r.found(c)
}

// checkConductivityExcess notices a conductivity far above what hardness and
// alkalinity account for, where no salt was measured.
func checkConductivityExcess(r *report) {
	ec, ok := r.value(qConductivity)
	if !ok || r.q[qSodium].known || r.q[qChloride].known || !r.whole(qHardness, qAlkalinity) {
		return
	}
	larger, total := max(r.amount(qHardness), r.amount(qAlkalinity)), ec/conductivityPerMeq
	if most := larger * (1 + loadPriors().Regimes.Dry.Excess.Q[6]); total <= most || total < softMeq {
		return
	}
	r.found(Check{Code: "conductivity_excess", Severity: Note, Found: ec, Expected: conductivityPerMeq * larger, Unit: "uS/cm",
		Sentence: fmt.Sprintf("A conductivity of %.0f uS/cm is far above the %.0f that the hardness and alkalinity show: nearly all of the rest is salt (sea water, road salt, brine, a softener) or gypsum. Have sodium, chloride and sulfate measured.", ec, conductivityPerMeq*larger),
		Source:   "95 % of the wells of dry regions have less beside the larger of hardness and alkalinity (priors.json)",
		Effect:   "the conductivity decides how much is dissolved"})
}

// checkSolidsIons holds dissolved solids against a whole analysis.
func checkSolidsIons(r *report) {
	tds, ok := r.value(qTDS)
	if !ok || !r.whole(majorQuantities...) {
		return
	}
	w := r.plain()
	sum := float64(w.Residue180())
	ratio := tds / sum
	if ratio >= 0.9 && ratio <= 1.25 {
		return
	}
	c := Check{Code: "tds_sum", Severity: Warn, Found: tds, Expected: sum, Unit: "mg/L",
		Sentence: fmt.Sprintf("Dissolved solids are %.0f mg/L; the ions of the report sum to %.0f (bicarbonate as carbonate).", tds, sum),
		Source:   "Standard Methods 1030 E: 1.0 to 1.2 (from memory, ledger C-1030-TDS); 0.95 to 1.22 in most real wells",
		Effect:   "the dissolved solids count less"}
	if ratio < 0.7 || ratio > 1.5 {
		c.Severity = Ask
	}
	r.disputed = max(r.disputed, 1+math.Abs(math.Log(ratio))/0.1)
	r.found(c)
}

// multiples are the factors by which meters and laboratories make dissolved
// solids of conductivity.
var multiples = []float64{0.50, 0.55, 0.60, 0.64, 0.65, 0.67, 0.70}

// checkSolidsConductivity holds dissolved solids against conductivity, and
// notices solids that were never weighed.
func checkSolidsConductivity(r *report) {
	tds, ok := r.value(qTDS)
	ec, okEC := r.value(qConductivity)
	if !ok || !okEC || ec == 0 {
		return
	}
	ratio := tds / ec
	for _, f := range multiples {
		if math.Abs(ratio-f) <= max(0.002*f, 0.5/ec) {
			r.q[qTDS] = given{}
			r.found(Check{Code: "tds_is_conductivity", Severity: Note, Found: tds, Expected: f * ec, Unit: "mg/L",
				Sentence: fmt.Sprintf("Dissolved solids of %.0f mg/L are just %.2f times the conductivity of %.0f uS/cm: they were computed from it and say nothing more.", tds, f, ec),
				Source:   "well-statistics section 3; meter factors, ledger H-TDSF",
				Effect:   "the dissolved solids are not used"})
			return
		}
	}
	if ratio >= 0.45 && ratio <= 0.85 {
		return
	}
	c := Check{Code: "tds_conductivity", Severity: Warn, Found: tds, Expected: 0.63 * ec, Unit: "mg/L",
		Sentence: fmt.Sprintf("Dissolved solids of %.0f mg/L and a conductivity of %.0f uS/cm do not fit: about %.0f mg/L would be usual (the ratio is %.2f, most wells have 0.5 to 0.8).", tds, ec, 0.63*ec, ratio),
		Source:   "ledger C-1030-TDSEC, C-TDS-EC-K and W-STUYF-CHK; well-statistics section 3",
		Effect:   "both count less"}
	if ratio < 0.3 || ratio > 1.2 {
		c.Severity = Ask
	}
	r.disputed = max(r.disputed, 1+math.Abs(math.Log(ratio/0.63))/0.3)
	r.found(c)
}

// checkDissolved holds the dissolved part of a metal against its total.
func checkDissolved(r *report) {
	for _, m := range []struct {
		total, dissolved quantity
		name             string
		ion              Ion
	}{{qIronTotal, qIronDissolved, "iron", Iron}, {qManganeseTotal, qManganeseDissolved, "manganese", Manganese}} {
		total, ok := r.value(m.total)
		dissolved, okD := r.value(m.dissolved)
		if !ok || !okD {
			continue
		}
		mg := func(meq float64) float64 { return meq * molar[m.ion] / 2 }
		if mg(dissolved) > 1.1*mg(total)+0.02 {
			r.q[m.dissolved].sigma = max(r.q[m.dissolved].sigma, (dissolved-total)/2)
			r.found(Check{Code: "dissolved_total", Severity: Warn, Found: mg(dissolved), Expected: mg(total), Unit: "mg/L",
				Sentence: fmt.Sprintf("Dissolved %s of %.3g mg/L is more than the total of %.3g: the part cannot pass the whole. The bottles may have been exchanged.", m.name, mg(dissolved), mg(total)),
				Source:   "mass balance",
				Effect:   "the dissolved figure is used, with an error that reaches the total"})
		}
	}
}

// softHardness is the hardness below which a tap is likely behind a softener,
// mg/L as CaCO3: 1 grain per US gallon.
const softHardness = 17

// checkSoftened notices a sample taken behind a softener.
func checkSoftened(r *report) {
	h := r.amount(qHardness)
	if r.whole(qCalcium, qMagnesium) {
		h = r.amount(qCalcium) + r.amount(qMagnesium)
	} else if !r.q[qHardness].known {
		return
	}
	if asCaCO3(h) >= softHardness {
		return
	}
	na, ok := r.value(qSodium)
	other := max(r.amount(qAlkalinity), r.amount(qConductivity)/conductivityPerMeq, r.amount(qTDS)/solidsPerMeq)
	switch {
	case ok && na > 0.9*(na+h) && na > 1:
	case !r.q[qSodium].known && other > 2 && other > 5*h:
		na = other
	default:
		return
	}
	r.found(Check{Code: "softened_sample", Severity: Ask, Found: asCaCO3(h), Expected: softHardness, Unit: "mg/L as CaCO3",
		Sentence: fmt.Sprintf("A hardness of %.0f mg/L as CaCO3, below %d, beside about %.1f meq/L of sodium looks like water from behind a softener. Take a sample of the raw water, ahead of any treatment. Some deep wells are as soft by nature: if this was raw water, the figures hold.", asCaCO3(h), softHardness, na),
		Source:   "67 of 1,038 Indiana samples (well-statistics section 3): hardness below 17 mg/L with sodium above 90 % of the cations",
		Effect:   "the figures are used as they stand"})
}

// blankLimit is the limit of a non-detect, in meq/L, up to which it says that
// an ion is hardly there.
const blankLimit = 0.1

// checkBlank notices a field blank: the major ions looked for and not found, or
// a meter that shows next to nothing.
func checkBlank(r *report) {
	for _, m := range []struct {
		q     quantity
		least float64
		unit  string
	}{{qConductivity, 5, "uS/cm"}, {qTDS, 3, "mg/L"}} {
		if v, ok := r.value(m.q); ok && v < m.least && r.least() < 0.5 {
			name := sentenceCase(nameOf(r.q[m.q].source.Analyte))
			r.found(Check{Code: "field_blank", Severity: Ask, Found: v, Expected: m.least, Unit: m.unit,
				Sentence: fmt.Sprintf("%s of %.3g %s is that of distilled water (below %.0f), not of a well: was the meter on and in the water, and the sample taken ahead of the vessel?", name, v, m.unit, m.least),
				Source:   "rain shows 5 uS/cm and more: common practice, no source",
				Effect:   "none: the figures are used as they stand"})
			return
		}
	}
	n, sum := 0, r.amount(qHardness)
	for _, q := range majorQuantities {
		switch g := &r.q[q]; {
		case !g.known || g.interval && g.high > blankLimit:
		case g.interval:
			n++
		default:
			n++
			sum += g.value
		}
	}
	if n < 4 || sum > 0.05 {
		return
	}
	c := Check{Code: "field_blank", Severity: Ask, Found: sum, Expected: 0.3, Unit: "meq/L",
		Sentence: fmt.Sprintf("The %d major ions reported sum to %.3f meq/L; even rain holds about 0.3. This looks like a field blank, or like water behind the vessel.", n, sum),
		Source:   "well-statistics section 3 (field blanks filed as samples); 0.3 meq/L: common practice, no source",
		Effect:   "none: the figures are used as they stand"}
	if ec, ok := r.value(qConductivity); ok && ec > 20 {
		c.Sentence += fmt.Sprintf(" A conductivity of %.0f uS/cm stands beside it.", ec)
	}
	r.found(c)
}

// limits are the figures past which a result is more likely a slip than a
// well: a tenth of them is already rare. Common practice, no source; the
// largest of 6,639 well samples stay below all of them.
var limits = []struct {
	q    quantity
	most float64
	unit string
	ion  Ion // for mg/L; -1 otherwise
}{
	{qHardness, 160, "mg/L as CaCO3", -1}, {qAlkalinity, 60, "mg/L as CaCO3", -1},
	{qCalcium, 100, "mg/L", Calcium}, {qMagnesium, 125, "mg/L", Magnesium}, {qSodium, 500, "mg/L", Sodium}, {qPotassium, 25, "mg/L", Potassium},
	{qAmmonium, 10, "mg/L", Ammonium}, {qChloride, 600, "mg/L", Chloride}, {qSulfate, 150, "mg/L", Sulfate}, {qNitrate, 20, "mg/L", Nitrate},
	{qFluoride, 1.6, "mg/L", Fluoride}, {qSilica, 3.3, "mg/L as SiO2", -1}, {qConductivity, 50_000, "uS/cm", -1}, {qTDS, 40_000, "mg/L", -1},
}

// checkValues notices values that no well has.
func checkValues(r *report) {
	out := func(code string, s Severity, found, expected float64, unit, sentence, effect string) {
		r.found(Check{Code: code, Severity: s, Found: found, Expected: expected, Unit: unit, Sentence: sentence,
			Source: "common practice, no source; beyond 6,639 well samples", Effect: effect})
	}
	for _, l := range limits {
		v, ok := r.value(l.q)
		if !ok || v <= l.most {
			continue
		}
		factor := 1.0
		switch {
		case l.ion >= 0:
			factor = molar[l.ion] / math.Abs(valence[l.ion])
		case l.unit == "mg/L as CaCO3":
			factor = analyte.CaCO3Equivalent
		case l.q == qSilica:
			factor = molarSilica
		}
		name := sentenceCase(nameOf(r.q[l.q].source.Analyte))
		out("impossible_value", Ask, v*factor, l.most*factor, l.unit,
			fmt.Sprintf("%s of %.4g %s is past anything a rinse-water well holds (%.4g): look for a slipped decimal point or a wrong unit.", name, v*factor, l.unit, l.most*factor), "none: the figure is used as it stands")
	}
	if ph, ok := r.value(qPH); ok && (ph < 3.5 || ph > 10.5) {
		edge := 3.5
		if ph > 10.5 {
			edge = 10.5
		}
		effect := "none: pH is used as it stands"
		if ph < lowestPH || ph > highestPH {
			effect = "pH is not used"
			r.drop(qPH, UnknownPH)
		}
		out("impossible_value", Ask, ph, edge, "pH", fmt.Sprintf("pH %.1f is outside the %.1f to %.1f of natural well water.", ph, 3.5, 10.5), effect)
	}
	if t, ok := r.value(qTemperature); ok && (t < 0 || t > 40) {
		effect := "none: the temperature is used as it stands"
		if t < 0 || t > hottest {
			effect = "the temperature is not used"
			r.drop(qTemperature, UnknownTemperature)
		}
		out("impossible_value", Warn, t, 40, "°C", fmt.Sprintf("A temperature of %.0f °C is outside 0 to 40: it may be in degrees Fahrenheit (%.0f °C).", t, float64((t-32)*5/9)), effect)
	}
	if ec, ok := r.value(qConductivity); ok {
		if least := r.least(); least > 0.5 && ec < 8*least {
			out("unit_suspicion", Ask, ec, conductivityPerMeq*least, "uS/cm",
				fmt.Sprintf("A conductivity of %.3g uS/cm beside %.1f meq/L of ions (%.0f mg/L as CaCO3), which show about %.0f: it may be in mS/cm or dS/m.", ec, least, asCaCO3(least), conductivityPerMeq*least), "the conductivity counts less")
		}
	}
}

// metals are elements that reports give in ug/L or mg/L, with the mg/L past
// which a figure is more likely in ug/L. Each is ten times the highest usual
// in wells (common practice, no source).
var metals = []struct {
	id   analyte.ID
	most float64
}{
	{"iron", 100}, {"manganese", 20}, {"arsenic", 1}, {"lead", 1}, {"copper", 20}, {"zinc", 50}, {"barium", 20}, {"strontium", 100}, {"aluminum", 50},
	{"uranium", 1}, {"selenium", 1}, {"chromium", 1}, {"cadmium", 0.5}, {"nickel", 5}, {"boron", 50}, {"antimony", 0.5}, {"mercury", 0.05},
}

// checkMetalUnits notices metals that look like ug/L written as mg/L.
func checkMetalUnits(r *report) {
	for _, m := range metals {
		res := pick(r.sample.Results, m.id, analysis.NotStated)
		if res == nil || res.Value == nil {
			continue
		}
		a := analyte.Must(m.id)
		u := res.Unit
		if u == unit.None {
			u = a.Default
		}
		mg, err := a.MgPerL(*res.Value, u, res.Basis)
		if err != nil || float64(mg) <= m.most {
			continue
		}
		r.found(Check{Code: "metal_unit", Severity: Ask, Found: float64(mg), Expected: float64(mg) / 1000, Unit: "mg/L",
			Sentence: fmt.Sprintf("%s of %.3g mg/L is very unlikely in a well: was it %.3g ug/L, which is %.3g mg/L?", sentenceCase(a.Name), float64(mg), float64(mg), float64(mg)/1000),
			Source:   "common practice, no source",
			Effect:   "none: the figure is used as it stands"})
	}
}

// plain is the report's own figures as a water, not balanced, its alkalinity
// as bicarbonate; silica that was not measured is that of a usual well.
func (r *report) plain() Water {
	w := Water{PH: 7.5, Temperature: 13, Silica: 0.283} // 17 mg/L
	if v, ok := r.value(qPH); ok {
		w.PH = v
	}
	if r.q[qSilica].known {
		w.Silica = unit.MmolPerL(r.amount(qSilica))
	}
	for _, b := range balanced {
		w.Ion[b.ion] = unit.MmolPerL(r.amount(b.q) / math.Abs(valence[b.ion]))
	}
	return w
}
