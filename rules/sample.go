package rules

import (
	"math"
	"strings"
	"unicode"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// readSample puts in what the report measured. A result that cannot be read
// as a quantity (no unit, a basis the analyte does not have) is left unknown:
// the reader of the report has warned about it.
func (f *Facts) readSample(s *analysis.Sample) {
	for q := range rows {
		r := &rows[q]
		if len(r.read) == 0 || special[Quantity(q)] {
			continue
		}
		for i := range s.Results {
			if res := &s.Results[i]; res.Analyte == r.read[0] {
				if x, ok := r.interval(res); ok {
					f.state(Quantity(q), x, res.AsWritten, res)
				}
			}
		}
	}
	f.readMetal(s, "iron", qIronDissolved, qIronParticulate, qIronTotal)
	f.readMetal(s, "manganese", qManganeseDissolved, qManganeseParticulate, qManganese)
	if iron, mn := f.at[qIronTotal], f.at[qManganese]; f.measured[qIronTotal] && f.measured[qManganese] {
		f.state(qMetals, Interval{iron.Low + mn.Low, iron.High + mn.High}, "", nil)
	}
	f.readChloramine(s)
	f.readForms(s)
}

// special quantities are read by functions of their own.
var special = map[Quantity]bool{
	qIronDissolved: true, qIronParticulate: true, qIronTotal: true, qMetals: true,
	qManganeseDissolved: true, qManganeseParticulate: true, qManganese: true,
	qChloramine: true, qSulfurSmell: true, qIronFormKnown: true, qStripOnly: true,
}

// state records a measured interval; a second result of the same quantity
// widens it, since rules must hold for the worse of the two.
func (f *Facts) state(q Quantity, x Interval, text string, r *analysis.Result) {
	text = inert(text)
	if f.measured[q] {
		old := f.at[q]
		x = Interval{min(old.Low, x.Low), max(old.High, x.High)}
		text = f.text[q]
	} else if r != nil && text != "" {
		if u := string(r.Unit); u != "" && u != "none" && u != "pH" && !strings.Contains(text, u) {
			text += " " + u
		}
		if r.Basis != "" && !strings.Contains(text, " as ") {
			text += " as " + string(r.Basis)
		}
	}
	f.Within(q, x.Low, x.High)
	f.text[q] = text
}

// inert keeps what a report wrote from doing more than being read: only
// printable characters, and not more than a value takes.
func inert(text string) string {
	const most = 40
	kept := 0
	return strings.Map(func(r rune) rune {
		if kept++; kept > most || !unicode.IsPrint(r) {
			return -1
		}
		return r
	}, text)
}

// interval turns a result into the quantity's own unit.
func (r *row) interval(res *analysis.Result) (Interval, bool) {
	own := func(p *float64, otherwise float64) (float64, bool) {
		if p == nil {
			return otherwise, true
		}
		return r.own(*p, res)
	}
	switch {
	case res.Nondetect && r.measure == count, res.Nondetect && r.measure == yesNo:
		return Interval{0, 0}, true // "<1" of bacteria is the way laboratories write none found
	case res.Nondetect:
		// Without a stated limit "not detected" counts as none: the limits of
		// laboratories lie below those of the rules, and a strip states its step.
		high, ok := own(res.Limit, 0)
		return Interval{0, high}, ok
	case res.Value != nil:
		x, ok := own(res.Value, 0)
		return Interval{x, x}, ok
	case res.Low != nil || res.High != nil:
		low, ok1 := own(res.Low, 0)
		high, ok2 := own(res.High, math.Inf(1))
		return Interval{low, high}, ok1 && ok2
	case r.measure == count && saysFound(res.AsWritten):
		return Interval{1, math.Inf(1)}, true
	case r.measure == yesNo && saysFound(res.AsWritten):
		return Interval{1, 1}, true
	}
	return unknown, false
}

// saysFound reports whether the words of a germ test say that it found some.
// Of doubtful words it is better to warn once too often.
func saysFound(words string) bool {
	words = strings.ToLower(words)
	for _, no := range []string{"not ", "non", "no ", "absen", "negat"} {
		if strings.Contains(words, no) {
			return false
		}
	}
	for _, yes := range []string{"pos", "presen", "found", "detected", "fail", "unsafe", "unsat", "tntc", "numerous", "confluent", "heavy", "moderate", "light", "growth"} {
		if strings.Contains(words, yes) {
			return true
		}
	}
	return false
}

// own turns a reported number into the quantity's own unit.
func (r *row) own(x float64, res *analysis.Result) (float64, bool) {
	switch r.measure {
	case concentration:
		if r.weighed() {
			mul, ok := masses[res.Unit]
			return x * mul, ok
		}
		c, err := analyte.Must(r.substance).MgPerL(x, res.Unit, res.Basis)
		return float64(c), err == nil
	case count:
		if res.Unit == unit.Presence {
			return x, true // 1 found, 0 not found; any count above 0 is a find
		}
	case yesNo:
		return x, res.Unit == unit.Presence || x == 0
	case cloudiness:
		if res.Unit == unit.FNU { // the infrared twin of NTU; equal on formazin, the calibration of both
			return x, true
		}
	}
	for _, s := range scales[r.measure] {
		if s.unit == string(res.Unit) {
			return s.own(x), true
		}
	}
	return 0, false
}

// stripStep is how much iron or manganese in mg/L a strip may hold that shows 0:
// the first step of a common multi-pad strip (standards ledger I-STRIP-FE).
const stripStep = 5

// readMetal sorts the forms of a metal. What only a total bounds is an
// interval: of 1.5 mg/L of total iron, 0 to 1.5 mg/L is dissolved.
func (f *Facts) readMetal(s *analysis.Sample, metal analyte.ID, dissolved, particulate, total Quantity) {
	r := &rows[total]
	for i := range s.Results {
		res := &s.Results[i]
		x, ok := r.interval(res)
		if !ok {
			continue
		}
		if x == (Interval{}) && !res.Nondetect && water.FromKit(s) {
			x.High = stripStep
			f.Flag(qStripOnly, true)
		}
		switch {
		case res.Analyte == metal && res.Fraction == analysis.Dissolved, res.Analyte == "ferrous_iron" && metal == "iron":
			f.state(dissolved, x, res.AsWritten, res)
		case res.Analyte == "ferric_iron" && metal == "iron":
			f.state(particulate, x, res.AsWritten, res)
		case res.Analyte == metal:
			f.state(total, x, res.AsWritten, res)
		}
	}
	d, t := f.at[dissolved], f.at[total]
	switch {
	case f.measured[total] && !f.measured[dissolved]:
		f.at[dissolved] = Interval{0, t.High}
		f.text[dissolved] = f.text[total]
		if !f.measured[particulate] {
			f.at[particulate] = Interval{0, t.High}
		}
	case f.measured[total] && f.measured[dissolved] && !f.measured[particulate]:
		f.state(particulate, Interval{max(0, t.Low-d.High), max(0, t.High-d.Low)}, "", nil)
	case f.measured[dissolved] && !f.measured[total]:
		f.at[total] = Interval{d.Low, math.Inf(1)}
	}
	if metal == "iron" && (f.measured[dissolved] || f.measured[total]) {
		// Little iron needs no form: none of its limits is lower than 0.1 mg/L.
		f.Flag(qIronFormKnown, f.measured[dissolved] || t.High <= 0.1)
	}
}

// readChloramine takes combined chlorine as reported, or as total less free.
func (f *Facts) readChloramine(s *analysis.Sample) {
	for i := range s.Results {
		if res := &s.Results[i]; res.Analyte == "combined_chlorine" {
			if x, ok := rows[qChloramine].interval(res); ok {
				f.state(qChloramine, x, res.AsWritten, res)
			}
		}
	}
	if f.measured[qChloramine] {
		return
	}
	if t, c := f.at[qTotalChlorine], f.at[qFreeChlorine]; f.measured[qTotalChlorine] && f.measured[qFreeChlorine] {
		f.state(qChloramine, Interval{max(0, t.Low-c.High), max(0, t.High-c.Low)}, "", nil)
	} else if f.measured[qTotalChlorine] {
		f.at[qChloramine] = Interval{0, t.High}
		if !f.measured[qFreeChlorine] {
			f.at[qFreeChlorine] = Interval{0, t.High}
		}
	}
}

// readForms sets the flags that words and the shape of the report state.
func (f *Facts) readForms(s *analysis.Sample) {
	exact, ranges := 0, 0
	for i := range s.Results {
		res := &s.Results[i]
		switch {
		case res.Value != nil:
			exact++
		case res.Low != nil || res.High != nil:
			ranges++
		}
		if res.Analyte == "odor" {
			words := strings.ToLower(res.AsWritten + " " + res.Note)
			f.Flag(qSulfurSmell, strings.Contains(words, "sul") || strings.Contains(words, "rotten") || strings.Contains(words, "egg"))
		}
	}
	if !f.measured[qStripOnly] {
		f.Flag(qStripOnly, ranges > 0 && exact == 0)
	}
	if s.Source != "" {
		words := strings.ToLower(s.Source)
		after := false
		for _, w := range []string{"after", "treated", "soften", "filtered", "osmosis"} {
			after = after || strings.Contains(words, w) && !strings.Contains(words, "un"+w)
		}
		f.Flag(qTreatedSample, after)
	}
}
