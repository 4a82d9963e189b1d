package water

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// brineMeq is the size past which conductivity misleads: above it the error of
// the total was 14 % at the median (well-statistics section 8).
const brineMeq = 20.0

// caution says which blind spots of the statistics this water touches.
func (r *report) caution(draws []Water, cationLoad Band) {
	add := func(id, text, source string) { r.cautions = append(r.cautions, Caution{id, text, source}) }
	hardness, alkalinity := math.Inf(1), math.Inf(1)
	if r.q[qHardness].known {
		hardness = r.amount(qHardness)
	}
	if r.q[qAlkalinity].known {
		alkalinity = r.amount(qAlkalinity)
	}
	acid := r.q[qPH].known && r.q[qPH].middle() < 6.5
	soft := max(hardness, alkalinity) < softMeq || acid && min(hardness, alkalinity) < softMeq
	if soft && !r.whole(majorQuantities...) {
		add("soft_acid", "This looks like a soft or acid well. The statistics behind the missing ions hold hardly any such well, so the band is widened by judgement. "+
			"In such water carbon dioxide and silica can exceed all salts: have sodium, chloride, sulfate, silica and a field pH measured.",
			"well-statistics section 10: no well of crystalline rock or coastal sand in the data")
	}
	if cationLoad.P50 > brineMeq && !r.whole(majorQuantities...) {
		add("brine", fmt.Sprintf("About %.0f meq/L is brackish or gypsum water. Above %.0f meq/L a total from conductivity or dissolved solids missed by 14 %% at the median: have the major ions measured.", cationLoad.P50, brineMeq),
			"well-statistics section 8")
	}
	if !r.whole(majorQuantities...) && !r.q[qConductivity].known && !r.q[qTDS].known {
		add("no_total", "Neither conductivity nor dissolved solids were reported, and not all major ions: the total rests on the habits of other wells, good to about 15 to 20 %. A conductivity pen would narrow it to about 6 %.",
			"cmd/forebed/internal/completionstudy; well-statistics section 8")
	}
	for _, organic := range []quantity{qTOC, qTannin} {
		if v := r.amount(organic); v > 5 {
			add("organics", fmt.Sprintf("%.0f mg/L of organic matter carries some charge that is not counted here (roughly 0.005 to 0.01 meq a mg of carbon), and holds iron in forms that filters do not catch.", v),
				"charge of humic matter: common practice, no source")
			break
		}
	}
	mineralAcid := 0
	for i := range draws {
		if draws[i].strong() < 0 {
			mineralAcid++
		}
	}
	if 2*mineralAcid > len(draws) {
		add("mineral_acid", "The anions outweigh the cations: this water holds free mineral acid, and perhaps dissolved aluminium, which is not part of the load computed here.",
			"charge balance of the draws")
	}
}

// ErrNoAnchor means that a sample says nothing about how much is dissolved.
var ErrNoAnchor = fmt.Errorf("the sample gives none of hardness, calcium, magnesium, alkalinity, conductivity or dissolved solids; measure at least hardness and alkalinity with a test strip, or conductivity with a pen")

// anchored reports whether the sample gives something to start from.
func (r *report) anchored() bool {
	return slices.ContainsFunc([]quantity{qHardness, qCalcium, qMagnesium, qAlkalinity, qConductivity, qTDS},
		func(q quantity) bool { return r.q[q].known })
}

// given names the analytes that the completion rests on, in the order of the
// report.
func (r *report) given() []string {
	var names []string
	for _, res := range r.sample.Results {
		used := slices.ContainsFunc(r.q[:], func(g given) bool { return g.known && g.source.Analyte == res.Analyte })
		if name := nameOf(res.Analyte); used && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return names
}

// sentenceCase writes a name as a sentence begins.
func sentenceCase(name string) string { return strings.ToUpper(name[:1]) + name[1:] }

func nameOf(id analyte.ID) string {
	if a, ok := analyte.Lookup(id); ok {
		return a.Name
	}
	return string(id)
}

// suppose lists what was assumed.
func (r *report) suppose() {
	var unitless, missing []string
	for i := range r.sample.Results {
		res := &r.sample.Results[i]
		a, ok := analyte.Lookup(res.Analyte)
		if ok && res.Unit == unit.None && a.Default != unit.PH && (res.Value != nil || res.Low != nil || res.High != nil) &&
			slices.ContainsFunc(r.q[:], func(g given) bool { return g.known && g.source == res }) {
			unitless = append(unitless, fmt.Sprintf("%s (%s)", a.Name, a.Default))
		}
	}
	if len(unitless) > 0 {
		r.assume("the report states no unit for " + strings.Join(unitless, ", ") + ": the usual unit, in brackets, is taken")
	}
	for _, m := range []struct {
		q    []quantity
		name string
	}{
		{[]quantity{qHardness, qCalcium, qMagnesium}, "hardness"}, {[]quantity{qAlkalinity}, "alkalinity"}, {[]quantity{qSodium}, "sodium"},
		{[]quantity{qPotassium}, "potassium"}, {[]quantity{qAmmonium}, "ammonium"}, {[]quantity{qIronTotal, qIronDissolved}, "iron"},
		{[]quantity{qManganeseTotal, qManganeseDissolved}, "manganese"}, {[]quantity{qChloride}, "chloride"}, {[]quantity{qSulfate}, "sulfate"},
		{[]quantity{qNitrate}, "nitrate"}, {[]quantity{qFluoride}, "fluoride"}, {[]quantity{qSilica}, "silica"}, {[]quantity{qPH, qCO2}, "pH"},
		{[]quantity{qTemperature}, "temperature"},
	} {
		if !slices.ContainsFunc(m.q, func(q quantity) bool { return r.q[q].known }) {
			missing = append(missing, m.name)
		}
	}
	if len(missing) > 0 {
		p := &loadPriors().Regimes
		r.assume(fmt.Sprintf("%s: not in the report, drawn from the statistics of %d wells and the charge balance", strings.Join(missing, ", "), p.Humid.Total.N+p.Dry.Total.N))
	}
	if r.unknown.Has(UnknownIronForm) {
		r.assume("iron was measured as total only: any share of it may be dissolved")
	}
	var uncounted []string
	for _, m := range []struct {
		q    quantity
		name string
	}{{qSulfide, "hydrogen sulfide"}, {qStrontium, "strontium"}, {qBarium, "barium"}} {
		if !r.q[m.q].known {
			uncounted = append(uncounted, m.name)
		}
	}
	if len(uncounted) > 0 {
		r.assume(strings.Join(uncounted, ", ") + ": not in the report, none is counted")
	}
	for _, res := range r.sample.Results {
		if slices.Contains([]analyte.ID{"copper", "zinc", "lithium", "phosphate"}, res.Analyte) && res.Value != nil && res.Fraction != analysis.Dissolved {
			r.assume("copper, zinc, lithium and phosphate are not counted in the load: together they are below 1 % in wells")
			break
		}
	}
}
