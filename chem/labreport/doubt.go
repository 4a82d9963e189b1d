package labreport

import (
	"fmt"
	"math"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// doubts adds what is doubtful about the results together: missing units and
// bases, duplicates, figures that contradict each other.
func (r *reader) doubts(doc *analysis.Document) {
	for s := range doc.Samples {
		results := doc.Samples[s].Results
		for k := range results {
			singleDoubts(&results[k])
		}
		pairDoubts(results)
		doc.Warnings = append(doc.Warnings, balanceDoubts(&doc.Samples[s])...)
	}
	r.text.grainDoubt(doc)
	r.sampleDoubts(doc)
	if r.text.isUtility() {
		doc.Warnings = append(doc.Warnings, utilityDoubt)
	}
}

var utilityDoubt = analysis.Warning{Code: "utility_report", Message: "this is the yearly report of a public supply, not an analysis of your own water"}

func doubtful(res *analysis.Result, code, message string, readings ...analysis.Reading) {
	for _, w := range res.Warnings {
		if w.Code == code {
			return
		}
	}
	res.Warnings = append(res.Warnings, analysis.Warning{Code: code, Message: message, Line: res.Line, Analyte: res.Analyte, Readings: readings})
}

// stands tells whether a result holds a number other than zero.
func stands(res *analysis.Result) bool {
	nz := func(p *float64) bool { return p != nil && *p != 0 }
	return nz(res.Value) || nz(res.Low) || nz(res.High) || nz(res.Limit)
}

// found tells whether a result says how much there is, be it nothing.
func found(res *analysis.Result) bool { return res.Value != nil || res.Nondetect }

// singleDoubts looks at one result alone.
func singleDoubts(res *analysis.Result) {
	a, _ := analyte.Lookup(res.Analyte)
	if !stands(res) {
		return
	}
	v := firstNumber(res)
	if res.Unit == "" && needsUnit(a) {
		doubtful(res, "unit_missing", "the report does not state a unit", unitReadings(res.Analyte, v)...)
	}
	if nitrogenLike(res.Analyte) && res.Basis == "" && res.Unit != unit.MeqL && res.Unit != unit.MmolL && (res.Unit == "" || concentrationUnit(res.Unit)) {
		doubtful(res, "basis_unstated", "the report does not say as what it is expressed", basisReadings(a, v, res.Unit)...)
	}
	switch {
	case impossible(res.Analyte, v, res.Unit):
		if res.Value != nil && *res.Value < 0 && res.Analyte != "ph" && res.Analyte != "temperature" {
			break
		}
		doubtful(res, "value_implausible", fmt.Sprintf("%s %s is no value of natural water", trim(v), res.Unit), settle(res.Analyte))
	case v > 0 && unlikely(res.Analyte, v, res.Unit):
		doubtful(res, "unit_suspect", fmt.Sprintf("%s in %s is hardly right; the unit may be another", a.Name, res.Unit), unitReadings(res.Analyte, v)...)
	}
}

func firstNumber(res *analysis.Result) float64 {
	for _, p := range []*float64{res.Value, res.Low, res.High, res.Limit} {
		if p != nil {
			return *p
		}
	}
	return 0
}

func needsUnit(a analyte.Analyte) bool {
	switch a.Kind {
	case analyte.Microbe, analyte.Words:
		return false
	}
	return a.Default != unit.PH && a.Default != unit.Ratio
}

// unitReadings lists what a number may mean in the units in use. A unit in
// which no water has that value is no reading of it.
func unitReadings(id analyte.ID, v float64) []analysis.Reading {
	var us []unit.Unit
	switch id {
	case "hardness", "carbonate_hardness", "noncarbonate_hardness":
		us = []unit.Unit{unit.GrainsUS, unit.MgL, unit.DegGerman}
	case "conductivity":
		us = []unit.Unit{unit.USCm, unit.MSCm, unit.MSM}
	case "temperature":
		us = []unit.Unit{unit.DegC, unit.DegF}
	case "turbidity", "color", "orp":
		a, _ := analyte.Lookup(id)
		us = []unit.Unit{a.Default}
	case "alkalinity", "bicarbonate", "calcium", "magnesium", "sodium", "potassium", "chloride", "sulfate", "silica", "tds":
		us = []unit.Unit{unit.MgL} // nobody reports these in millionths of a gram, and meq/L is always said
	default:
		us = []unit.Unit{unit.MgL, unit.UgL}
	}
	var out []analysis.Reading
	for _, u := range us {
		if impossible(id, v, u) {
			continue
		}
		means := trim(v) + " " + string(u)
		if f, ok := u.CaCO3(); ok {
			means += fmt.Sprintf(", which is %.0f mg/L as CaCO3", v*f)
		}
		out = append(out, analysis.Reading{Flag: fmt.Sprintf("--set %s=%s%s", id, trim(v), u), Means: means})
	}
	return out
}

// basisReadings lists what a number may mean on each basis.
func basisReadings(a analyte.Analyte, v float64, u unit.Unit) []analysis.Reading {
	var out []analysis.Reading
	for _, b := range []analyte.Basis{"N", "P", analyte.Basis(a.Symbol)} {
		if _, ok := a.Bases[b]; !ok {
			continue
		}
		means := fmt.Sprintf("%s %s as %s", trim(v), u, b)
		if mg, err := a.MgPerL(v, unit.MgL, b); err == nil && string(b) != a.Symbol {
			means += fmt.Sprintf(", which is %.3g %s of %s", float64(mg), u, a.Name)
		}
		out = append(out, analysis.Reading{Flag: fmt.Sprintf("--basis %s=%s", a.ID, b), Means: means})
	}
	return out
}

// pairDoubts compares results of the same analyte.
func pairDoubts(results []analysis.Result) {
	for i := range results {
		for j := i + 1; j < len(results); j++ {
			a, b := &results[i], &results[j]
			if a.Analyte != b.Analyte || !(stands(a) && (stands(b) || found(b)) || found(a) && stands(b)) || rejected(a) || rejected(b) {
				continue
			}
			if a.Fraction != b.Fraction && a.Fraction != "" && b.Fraction != "" {
				dissolvedAboveTotal(a, b)
				continue
			}
			if a.Fraction != b.Fraction {
				continue
			}
			if a.Unit == b.Unit && a.Basis == b.Basis && toldApart(a, b) {
				continue
			}
			if a.Unit == b.Unit && a.Basis == b.Basis {
				if warned(a, "duplicate_result") && warned(b, "duplicate_result") {
					continue // the first of many says it
				}
				if elsewhere(a, b) {
					doubtful(a, "duplicate_result", fmt.Sprintf("%s stands again on line %d; here it was %s, there %s, and the one of the field counts", a.Analyte, b.Line, a.Note, b.Note))
					doubtful(b, "duplicate_result", fmt.Sprintf("%s stands before on line %d", a.Analyte, a.Line))
					continue
				}
				doubtful(a, "duplicate_result", fmt.Sprintf("%s stands again on line %d", a.Analyte, b.Line), analysis.Reading{Flag: "--set " + string(a.Analyte) + "=" + trim(firstNumber(a)) + string(a.Unit), Means: "use the first"}, analysis.Reading{Flag: "--set " + string(a.Analyte) + "=" + trim(firstNumber(b)) + string(b.Unit), Means: "use the second"})
				doubtful(b, "duplicate_result", fmt.Sprintf("%s stands before on line %d", a.Analyte, a.Line))
				continue
			}
			conversionDoubt(a, b)
		}
	}
}

// elsewhere tells whether one of two results was read in the field and the
// other in the laboratory: then package water takes the one of the field.
func elsewhere(a, b *analysis.Result) bool {
	return a.Note == noteField && b.Note == noteLaboratory || a.Note == noteLaboratory && b.Note == noteField
}

// toldApart tells whether one of two results is said to be calculated and the
// other measured, and the two agree (dissolved solids as residue and as sum).
func toldApart(a, b *analysis.Result) bool {
	if strings.HasPrefix(a.Note, "calculated") == strings.HasPrefix(b.Note, "calculated") || a.Value == nil || b.Value == nil {
		return false
	}
	return math.Abs(*a.Value-*b.Value) <= 0.12*max(math.Abs(*a.Value), math.Abs(*b.Value))
}

func rejected(res *analysis.Result) bool { return warned(res, "rejected_value") }

// warned tells whether a result carries a warning of this code.
func warned(res *analysis.Result, code string) bool {
	for k := range res.Warnings {
		if res.Warnings[k].Code == code {
			return true
		}
	}
	return false
}

// conversionDoubt compares one value given in two units or on two bases.
func conversionDoubt(a, b *analysis.Result) {
	x, ok1 := common(a)
	y, ok2 := common(b)
	if !ok1 || !ok2 || x <= 0 || y <= 0 {
		return
	}
	// 12 %: figures are rounded, a grain is often taken as 17
	if math.Abs(x-y) <= 0.12*max(x, y) || rounded(a, b, x, y) {
		return
	}
	m := fmt.Sprintf("%s %s and %s %s do not agree", trim(*a.Value), a.Unit, trim(*b.Value), b.Unit)
	doubtful(a, "conversion_mismatch", m, analysis.Reading{Flag: fmt.Sprintf("--set %s=%s%s", a.Analyte, trim(*a.Value), a.Unit), Means: "the first is right"}, analysis.Reading{Flag: fmt.Sprintf("--set %s=%s%s", b.Analyte, trim(*b.Value), b.Unit), Means: "the second is right"})
	doubtful(b, "conversion_mismatch", m)
}

// rounded tells whether two figures differ by no more than their last digits.
func rounded(a, b *analysis.Result, x, y float64) bool {
	step := func(r *analysis.Result, c float64) float64 {
		v := *r.Value
		s := trim(v)
		p := 1.0
		for k := len(s) - 1; k >= 0; k-- {
			if s[k] == '.' {
				for n := 0; n < len(s)-1-k; n++ {
					p /= 10
				}
				break
			}
		}
		return p * c / v
	}
	return math.Abs(x-y) <= 0.6*(step(a, x)+step(b, y))
}

// common brings a value to a scale on which readings of one analyte compare.
func common(res *analysis.Result) (float64, bool) {
	if res.Value == nil {
		return 0, false
	}
	v := *res.Value
	if c, ok := res.Unit.MicroSPerCm(v); ok {
		return float64(c), true
	}
	if c, ok := res.Unit.Celsius(v); ok {
		return float64(c) + 273.15, true
	}
	a, ok := analyte.Lookup(res.Analyte)
	if !ok {
		return 0, false
	}
	if a.Formula == "" {
		mg, ok := milligrams(v, res.Unit)
		return mg, ok
	}
	if nitrogenLike(res.Analyte) && res.Basis == "" && res.Unit != unit.MeqL && res.Unit != unit.MmolL {
		return 0, false
	}
	mg, err := a.MgPerL(v, res.Unit, res.Basis)
	return float64(mg), err == nil
}

// dissolvedAboveTotal says when the part is larger than the whole.
func dissolvedAboveTotal(a, b *analysis.Result) {
	if a.Fraction == analysis.Dissolved {
		a, b = b, a
	}
	x, ok1 := common(a)
	y, ok2 := common(b)
	if ok1 && ok2 && y > 1.2*x && y > 0 {
		doubtful(b, "value_implausible", "more is dissolved than there is in total")
	}
}

// balanceDoubts checks a whole analysis: hardness against calcium and
// magnesium, cations against anions, dissolved solids against conductivity.
func balanceDoubts(s *analysis.Sample) []analysis.Warning {
	var out []analysis.Warning
	mg := map[analyte.ID]float64{}
	at := map[analyte.ID]*analysis.Result{}
	for k := range s.Results {
		res := &s.Results[k]
		if rejected(res) {
			continue
		}
		if _, seen := mg[res.Analyte]; seen && !(res.Fraction == analysis.Dissolved) {
			continue
		}
		if res.Nondetect {
			mg[res.Analyte] = 0
			at[res.Analyte] = res
			continue
		}
		if v, ok := common(res); ok && v >= 0 {
			mg[res.Analyte] = v
			at[res.Analyte] = res
		}
	}
	has := func(ids ...analyte.ID) bool {
		for _, id := range ids {
			if _, ok := mg[id]; !ok {
				return false
			}
		}
		return true
	}
	load := func(id analyte.ID) float64 {
		a := analyte.Must(id)
		return float64(a.Equivalents(unit.MgPerL(mg[id])))
	}
	if has("hardness", "calcium") && mg["hardness"] > 0 {
		parts := load("calcium") + load("magnesium")
		whole := load("hardness")
		low := parts > 1.12*whole+0.1
		high := has("magnesium") && whole > 1.12*parts+0.1
		if low || high {
			doubtful(at["hardness"], "hardness_mismatch", fmt.Sprintf("hardness is %.2f meq/L, but calcium and magnesium together make %.2f meq/L", whole, parts), settle("hardness"), settle("calcium"))
		}
	}
	alk := 0.0
	switch {
	case has("alkalinity"):
		alk = load("alkalinity")
	case has("bicarbonate"):
		alk = load("bicarbonate") + load("carbonate")
	}
	if has("calcium", "magnesium", "sodium", "chloride", "sulfate") && (has("alkalinity") || has("bicarbonate")) {
		cations := load("calcium") + load("magnesium") + load("sodium") + load("potassium") + load("ammonium")
		anions := alk + load("chloride") + load("sulfate") + load("nitrate") + load("fluoride")
		if !has("nitrate") && has("nitrate_nitrite") {
			anions += load("nitrate_nitrite")
		}
		// Standard Methods 1030 E asks for 2 to 5 %; 10 % leaves room for ions that were not measured
		if e := math.Abs(cations-anions) / (cations + anions); e > 0.10 && math.Abs(cations-anions) > 0.5 {
			out = append(out, analysisWarning("charge_imbalance", fmt.Sprintf("cations make %.2f meq/L and anions %.2f meq/L, %.0f %% apart", cations, anions, 100*e)))
		}
	}
	if has("tds", "conductivity") && !suspect(at["conductivity"]) && !suspect(at["tds"]) && mg["tds"] > 20 && mg["conductivity"] > 1 {
		if q := mg["tds"] / mg["conductivity"]; q > 1.4 || q < 0.3 {
			doubtful(at["conductivity"], "value_implausible", fmt.Sprintf("conductivity %s and dissolved solids %s do not belong together", trim(mg["conductivity"]), trim(mg["tds"])), settle("conductivity"))
			doubtful(at["tds"], "value_implausible", "conductivity and dissolved solids do not belong together", settle("tds"))
		}
	}
	return out
}

func suspect(res *analysis.Result) bool {
	for _, w := range res.Warnings {
		if w.Code == "unit_suspect" {
			return true
		}
	}
	return false
}

// grainDoubt says when grains may be those of the imperial gallon.
func (t *texture) grainDoubt(doc *analysis.Document) {
	if t.british == 0 || t.us || t.imperial {
		return
	}
	for s := range doc.Samples {
		for k := range doc.Samples[s].Results {
			res := &doc.Samples[s].Results[k]
			if res.Unit == unit.GrainsUS && stands(res) {
				v := firstNumber(res)
				us, _ := unit.GrainsUS.CaCO3()
				uk, _ := unit.GrainsUK.CaCO3()
				doubtful(res, "gallon_ambiguous", "grains per US gallon, or per imperial gallon as a British or Canadian sheet may mean",
					analysis.Reading{Flag: fmt.Sprintf("--set %s=%sgpg", res.Analyte, trim(v)), Means: fmt.Sprintf("US gallon: %.0f mg/L as CaCO3", v*us)},
					analysis.Reading{Flag: fmt.Sprintf("--set %s=%seH", res.Analyte, trim(v)), Means: fmt.Sprintf("imperial gallon: %.0f mg/L as CaCO3", v*uk)})
			}
		}
	}
}

// sampleDoubts says when there are several samples, and which were treated.
func (r *reader) sampleDoubts(doc *analysis.Document) {
	severalSamples(doc)
	if softened(doc) || r.takenAfterTreatment(len(doc.Samples) > 1) {
		doc.Warnings = append(doc.Warnings, treatedDoubt)
	}
}

// takenAfterTreatment tells whether running text says that the sample was
// taken behind a softener or filter.
func (r *reader) takenAfterTreatment(several bool) bool {
	for i := 0; i < r.real; i++ {
		c := class(0)
		taken := false
		for k := range r.items[i] {
			it := &r.items[i][k]
			c |= it.class
			switch it.fold {
			case "sample", "sampled", "taken", "drawn", "collected", "bottle", "tested", "water", "tap", "which", "faucet", "bib":
				taken = true
			}
		}
		if i > 0 && c&clsTreated != 0 {
			for k := range r.items[i-1] {
				switch r.items[i-1][k].fold {
				case "sample", "sampled", "taken", "drawn", "collected", "bottle":
					taken = true
				}
			}
		}
		if several {
			c &^= clsRaw // one may be raw and another treated
		}
		if c&clsTreated != 0 && c&(clsRaw|clsGuess) == 0 && taken {
			return true
		}
		// a phrase may run over the end of a line: "which is after the / sediment cartridge"
		if i+1 < r.real && !r.lines[i].blank && !r.lines[i+1].blank && r.endsWithAfter(i) {
			l := r.work.lex(row{text: squeeze(r.lines[i].text) + " " + squeeze(r.lines[i+1].text)})
			c, taken := class(0), false
			for _, it := range r.work.itemize(&l) {
				c |= it.class
				taken = taken || it.fold == "sample" || it.fold == "taken" || it.fold == "drawn" || it.fold == "sampled"
			}
			if c&clsTreated != 0 && c&(clsRaw|clsGuess) == 0 && taken {
				return true
			}
		}
	}
	return false
}

// endsWithAfter tells whether one of the last words of a line is "after" or
// the like.
func (r *reader) endsWithAfter(i int) bool {
	toks := r.lines[i].toks
	for k := max(0, len(toks)-4); k < len(toks); k++ {
		switch toks[k].fold {
		case "after", "past", "behind", "beyond", "downstream", "nach", "na", "efter", "apres", "po", "despues", "dopo", "post":
			return true
		}
	}
	return false
}

func (t *texture) isUtility() bool { return t.utility >= 2 }

// refusal tells why the document cannot be given; nil if it can.
func (r *reader) refusal(doc *analysis.Document) error {
	n, numbers := 0, 0
	for s := range doc.Samples {
		for k := range doc.Samples[s].Results {
			res := &doc.Samples[s].Results[k]
			n++
			if res.Value != nil || res.Low != nil || res.High != nil || res.Nondetect {
				numbers++
			}
		}
	}
	switch {
	case r.text.bytes:
		return refuse(ErrNoResults, r.o, 0, "the bytes of a file instead of its text", "the text of a water analysis", "open the file in a viewer and copy the text of its pages, or give the file itself", doc.Warnings...)
	case r.text.notWater(n):
		return refuseOther(r.o, &r.text, doc.Warnings)
	case n > 0 && r.text.water == 0 && r.text.other > 0 && unitless(doc):
		return refuseOther(r.o, &r.text, doc.Warnings)
	case r.isArticle(), r.isHearsay():
		return refuse(ErrNotWater, r.o, 0, "running text that only mentions substances", "a water analysis", "give the report of a water sample", doc.Warnings...)
	case numbers == 0 && r.pending > 0:
		return refuse(ErrPending, r.o, 0, fmt.Sprintf("%d results that are still to come", r.pending), "results", "wait for the laboratory's report and give that", doc.Warnings...)
	case n == 0 && r.awaits():
		return refuse(ErrPending, r.o, 0, "an order whose results are still to come", "results", "wait for the laboratory's report and give that", doc.Warnings...)
	case n == 0 || numbers == 0 && !r.wordsOnly(doc):
		return refuse(ErrNoResults, r.o, 0, "no result of a water analysis", "lines such as \"Iron 0.3 mg/L\"", "paste the part of the report that holds the results", doc.Warnings...)
	}
	return nil
}

// refuseOther refuses a document about something else than water.
func refuseOther(o Options, t *texture, also []analysis.Warning) error {
	return refuse(ErrNotWater, o, 0, t.otherName, "a water analysis", "give the report of a water sample", also...)
}

// unitless tells whether no figure has a unit, nor is a pH.
func unitless(doc *analysis.Document) bool {
	for i := range doc.Samples {
		for _, res := range doc.Samples[i].Results {
			if res.Unit != unit.None {
				return false
			}
		}
	}
	return true
}

// An article that mentions substances holds this much running text, at most
// so many figures, all in sentences and without a unit, and few words about a
// well (common practice, no source).
const (
	articleLines   = 6
	articleFigures = 3
	articleWater   = 3
)

// isArticle tells running text with formulae from a letter about a well.
func (r *reader) isArticle() bool {
	if len(r.prose) < articleLines || len(r.found) > articleFigures || r.text.water > articleWater {
		return false
	}
	for _, f := range r.found {
		if !f.prose || f.hasUnit || f.val.hasUnit {
			return false
		}
	}
	return len(r.found) > 0
}

// isHearsay tells running text that quotes figures and says nowhere that
// somebody has tested a water.
func (r *reader) isHearsay() bool {
	if len(r.found) == 0 || len(r.found) > articleFigures || r.style.foreign { // the words below are English
		return false
	}
	for _, f := range r.found {
		if !f.prose {
			return false
		}
	}
	words := 0
	for i := 0; i < r.real; i++ {
		for k := range r.items[i] {
			switch it := &r.items[i][k]; it.fold {
			case "i", "we", "my", "our", "your", "us", "me", "sample", "samples", "sampled", "result", "results", "tested", "test", "tests", "lab", "laboratory", "reading", "readings", "measured", "taken", "drawn", "collected", "shows", "showed", "strip", "strips", "kit", "meter", "came", "analysis", "analysed", "analyzed", "report":
				return false
			default:
				if it.kind == itWord || it.kind == itName {
					words += it.t1 - it.t0
				}
			}
		}
	}
	return words >= hearsayWords
}

// hearsayWords is how many words running text has in which somebody would have
// said that the water was tested (common practice, no source).
const hearsayWords = 30

// awaits tells whether a paste says that its results are still to come, and
// names what is measured.
func (r *reader) awaits() bool {
	names, pending := 0, false
	for i := 0; i < r.real; i++ {
		for k := range r.items[i] {
			it := &r.items[i][k]
			if it.kind == itName && it.name.ID != "" {
				names++
			}
			pending = pending || it.class&clsPending != 0
		}
	}
	return pending && names >= 2
}

// wordsOnly tells whether the document holds results in words that are worth
// having: "iron: trace".
func (r *reader) wordsOnly(doc *analysis.Document) bool {
	n := 0
	for s := range doc.Samples {
		for k := range doc.Samples[s].Results {
			a, _ := analyte.Lookup(doc.Samples[s].Results[k].Analyte)
			if a.Kind != analyte.Words {
				n++
			}
		}
	}
	return n >= 2
}

// notWater weighs the words of other documents against those of water.
func (t *texture) notWater(results int) bool {
	switch {
	case t.otherStrong >= 3 && t.water <= 3, t.otherStrong >= 2 && t.water <= 1, t.otherStrong >= 1 && t.other >= 3 && t.water <= 1:
		return true
	case t.otherStrong >= 1 && t.water == 0 && t.other >= 2, t.otherStrong >= 1 && t.water <= 1 && results == 0:
		return true
	}
	return t.otherStrong >= 4 && t.water <= 5 && results < 12
}
