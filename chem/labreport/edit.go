package labreport

import (
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"
	"unicode"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/schemas"
)

// ErrEdit is the sentinel of a correction that cannot be made.
var ErrEdit = errors.New("the correction cannot be made")

// Edits are the corrections of a user to a reading, as the command line gives
// them. They are made in the order of the fields.
type Edits struct {
	Sample string   // which of several samples: its label, date or number
	Drop   []string // names of analytes whose results are left out
	Set    []string // "iron=1.2mg/L", "nitrate=10 mg/L as N", "manganese=<0.05mg/L"
	Basis  []string // "nitrate=N": what the reported number is expressed as
}

// Empty tells whether there is nothing to do.
func (e Edits) Empty() bool {
	return e.Sample == "" && len(e.Drop)+len(e.Set)+len(e.Basis) == 0
}

// Apply makes the corrections on a copy of the analysis. Each is written into
// the note of its result, and takes with it the doubts that it settles. The
// error is a schemas.Problems that names every correction that cannot be made.
func Apply(doc analysis.Document, e Edits) (analysis.Document, error) {
	if e.Empty() {
		return doc, nil
	}
	doc, err := chooseSample(doc, e.Sample)
	if err != nil {
		return doc, err
	}
	if len(e.Drop)+len(e.Set)+len(e.Basis) == 0 {
		return doc, nil
	}
	if len(doc.Samples) != 1 {
		several := editProblem("--sample", countOf(len(doc.Samples), "sample"), "one sample to correct", "choose it: "+labels(doc.Samples))
		several[0].Err = schemas.ErrInvalid // of the report; the correction may be right
		return doc, several.Err()
	}
	s := &doc.Samples[0]
	s.Results = slices.Clone(s.Results)
	ed := editor{sample: s, doc: &doc}
	for _, d := range e.Drop {
		ed.drop(d)
	}
	for _, t := range e.Set {
		ed.set(t)
	}
	for _, b := range e.Basis {
		ed.basis(b)
	}
	return doc, ed.problems.Err()
}

func editProblem(field, found, want, remedy string) schemas.Problems {
	return schemas.Problems{{Field: field, Found: found, Want: want, Remedy: remedy, Err: ErrEdit}}
}

// chooseSample keeps the sample that a user names by label, date or number.
func chooseSample(doc analysis.Document, name string) (analysis.Document, error) {
	doc.Samples = slices.Clone(doc.Samples)
	doc.Warnings = slices.Clone(doc.Warnings)
	if name == "" {
		return doc, nil
	}
	same := func(a, b string) bool { return strings.EqualFold(strings.TrimSpace(a), strings.TrimSpace(b)) }
	tests := []func(i int) bool{
		func(i int) bool { return same(doc.Samples[i].Label, name) },
		func(i int) bool { return same(doc.Samples[i].Label+" "+doc.Samples[i].Date, name) },
		func(i int) bool { return same(doc.Samples[i].Date, name) },
		func(i int) bool { return strconv.Itoa(i+1) == name },
	}
	for _, fits := range tests {
		var found []int
		for i := range doc.Samples {
			if fits(i) {
				found = append(found, i)
			}
		}
		switch len(found) {
		case 0:
			continue
		case 1:
			if len(doc.Samples) > fewSamples { // not told for each of so many
				doc.Warnings = append(doc.Warnings, balanceDoubts(&doc.Samples[found[0]])...)
			}
			doc.Samples = []analysis.Sample{doc.Samples[found[0]]}
			doc.Warnings = slices.DeleteFunc(doc.Warnings, func(w analysis.Warning) bool { return w.Code == "multiple_samples" })
			return doc, nil
		}
		return doc, editProblem("--sample", fmt.Sprintf("%q, which names %d samples", name, len(found)), "the name of one", "choose by number: --sample "+strconv.Itoa(found[0]+1)).Err()
	}
	return doc, editProblem("--sample", strconv.Quote(name), "the label, date or number of a sample", "choose one of: "+labels(doc.Samples)).Err()
}

// labels lists the samples that can be chosen, at most twenty of them.
func labels(samples []analysis.Sample) string {
	var names []string
	for i, s := range samples {
		if i == 20 {
			names = append(names, fmt.Sprintf("... and %d more", len(samples)-i))
			break
		}
		name := s.Label
		if name == "" {
			name = s.Date
		}
		if name == "" {
			name = strconv.Itoa(i + 1)
		}
		names = append(names, strconv.Quote(name))
	}
	return strings.Join(names, ", ")
}

// editor makes the corrections of one sample and gathers what fails.
type editor struct {
	sample   *analysis.Sample
	doc      *analysis.Document
	problems schemas.Problems
}

func (e *editor) fail(flag, text, found, want, remedy string) {
	e.problems = append(e.problems, editProblem(flag+" "+text, found, want, remedy)...)
}

// target understands the name in a correction and finds its results. A name
// that states a fraction ("dissolved iron") means the results of that only.
func (e *editor) target(flag, text, name string) (nameCell, []int, bool) {
	h, ok := readName(strings.TrimSpace(name))
	if !ok {
		e.fail(flag, text, strconv.Quote(name), "the name of an analyte", "write it as the report does, or as its id, such as iron or nitrate")
		return h, nil, false
	}
	f := fractionOf("", h.Coded)
	var at []int
	for i, r := range e.sample.Results {
		if r.Analyte == h.ID && (f == analysis.NotStated || r.Fraction == f) {
			at = append(at, i)
		}
	}
	return h, at, true
}

// settle removes the doubts about an analyte from the report as a whole. Those
// about the balance of all results rest on numbers that have changed.
func (e *editor) settle(id analyte.ID, codes ...string) {
	e.doc.Warnings = slices.DeleteFunc(e.doc.Warnings, func(w analysis.Warning) bool {
		if w.Code == "charge_imbalance" || w.Code == "hardness_mismatch" {
			return true
		}
		return w.Analyte == id && (len(codes) == 0 || slices.Contains(codes, w.Code))
	})
}

func (e *editor) drop(text string) {
	h, at, ok := e.target("--drop", text, text)
	if !ok {
		return
	}
	if len(at) == 0 {
		e.fail("--drop", text, "no result of "+analyte.Must(h.ID).Name, "a result to leave out", "see which results were read, and name one of them")
		return
	}
	e.settle(h.ID)
	e.sample.Results = without(e.sample.Results, at)
}

func without(rs []analysis.Result, at []int) []analysis.Result {
	var out []analysis.Result
	for i, r := range rs {
		if !slices.Contains(at, i) {
			out = append(out, r)
		}
	}
	return out
}

func (e *editor) set(text string) {
	name, given, found := strings.Cut(text, "=")
	if !found {
		e.fail("--set", text, "no equals sign", "NAME=VALUE UNIT", "write it so: --set iron=1.2mg/L")
		return
	}
	h, at, ok := e.target("--set", text, name)
	if !ok {
		return
	}
	r, ok := e.given(text, given, h)
	if !ok {
		return
	}
	var fractions []analysis.Fraction
	for _, i := range at {
		if f := e.sample.Results[i].Fraction; !slices.Contains(fractions, f) {
			fractions = append(fractions, f)
		}
	}
	if r.Fraction == analysis.NotStated && len(fractions) > 1 {
		e.fail("--set", text, "results of several fractions", "the fraction that is meant", fmt.Sprintf("write --set 'dissolved %s=%s', or total", h.ID, strings.TrimSpace(given)))
		return
	}
	e.settle(h.ID)
	r.Note = "given by the user"
	if len(at) == 0 {
		e.sample.Results = append(e.sample.Results, r)
		return
	}
	old := e.sample.Results[at[0]]
	r.Line = old.Line
	if r.Fraction == analysis.NotStated {
		r.Fraction = old.Fraction
	}
	r.Note = "given by the user; the report says " + reported(e.sample.Results, at)
	e.sample.Results[at[0]] = r
	e.sample.Results = without(e.sample.Results, at[1:])
}

// reported tells what stood in the report before a correction.
func reported(rs []analysis.Result, at []int) string {
	var said []string
	for _, i := range at {
		t := strings.TrimSpace(rs[i].AsWritten)
		if t == "" {
			t = "nothing"
		}
		if u := string(rs[i].Unit); u != "" && !strings.ContainsFunc(t, unicode.IsLetter) {
			t += " " + u
		}
		said = append(said, t)
	}
	return strings.Join(said, ", ")
}

// given reads the value of a correction: a number, "<" and a limit, a range,
// or present and absent; then a unit, unless the analyte needs none; then
// perhaps "as" and a basis.
func (e *editor) given(text, value string, h nameCell) (analysis.Result, bool) {
	a := analyte.Must(h.ID)
	value = strings.TrimSpace(value)
	r := analysis.Result{Analyte: a.ID, Fraction: analysis.NotStated, Basis: h.basis, AsWritten: value}
	if a.Metal {
		r.Fraction = fractionOf("", h.Coded)
	}
	bad := func(found, want string) (analysis.Result, bool) {
		example := a.Name + "=" + "1.2" + string(a.Default)
		if a.ID == "ph" {
			example = "pH=7.2"
		}
		if a.Kind == analyte.Microbe {
			example = string(a.ID) + "=absent"
		}
		e.fail("--set", text, found, want, "write it so: --set '"+example+"'")
		return r, false
	}
	if m := readMeasure(value, style{}); m.kind == measurePresence && a.Kind == analyte.Microbe {
		r.Value, r.Unit = analysis.Number(m.value), unit.Presence
		return r, true
	}
	n := 0
	for n < len(value) && strings.IndexByte("<>+-.0123456789eE ", value[n]) >= 0 {
		if (value[n] == 'e' || value[n] == 'E') && (n+1 == len(value) || strings.IndexByte("+-0123456789", value[n+1]) < 0) {
			break
		}
		n++
	}
	digits, unitText := strings.TrimSpace(value[:n]), strings.TrimSpace(value[n:])
	if strings.Contains(unitText, ",") && strings.HasPrefix(unitText, ",") {
		return bad(strconv.Quote(value), "a number with a decimal point")
	}
	low, high, isRange := strings.Cut(digits, "-")
	if isRange && low != "" && !strings.HasSuffix(strings.ToLower(low), "e") {
		l, ok1 := plainNumber(strings.TrimSpace(low))
		g, ok2 := plainNumber(strings.TrimSpace(high))
		if !ok1 || !ok2 || l > g {
			return bad(strconv.Quote(digits), "a range such as 120-250")
		}
		r.Low, r.High = analysis.Number(l), analysis.Number(g)
	} else {
		m := readMeasure(digits, style{})
		switch m.kind {
		case measureNumber:
			r.Value = analysis.Number(m.value)
		case measureBelow:
			if !m.hasLimit {
				return bad(strconv.Quote(value), "a limit behind <")
			}
			r.Nondetect, r.Limit = true, analysis.Number(m.value)
		case measureAbove:
			r.Low = analysis.Number(m.value)
		default:
			return bad(strconv.Quote(value), "a number")
		}
	}
	u, b, known := cellUnit(unitText, a)
	if !known || u == unit.None && a.Kind != analyte.Words {
		found := "the unit " + strconv.Quote(unitText)
		if unitText == "" {
			found = "no unit"
		}
		return bad(found, "a unit of "+a.Name)
	}
	r.Unit = u
	if b != "" {
		r.Basis = b
	}
	return r, true
}

func (e *editor) basis(text string) {
	name, given, found := strings.Cut(text, "=")
	if !found {
		e.fail("--basis", text, "no equals sign", "NAME=BASIS", "write it so: --basis nitrate=N")
		return
	}
	h, at, ok := e.target("--basis", text, name)
	if !ok {
		return
	}
	a := analyte.Must(h.ID)
	b, ok := cellBasis(given, a)
	if !ok || strings.TrimSpace(given) == "" {
		e.fail("--basis", text, strconv.Quote(given), "a basis on which "+a.Name+" is reported", "use one of: "+basesOf(a))
		return
	}
	if len(at) == 0 {
		e.fail("--basis", text, "no result of "+a.Name, "a result to explain", "see which results were read, and name one of them")
		return
	}
	for _, i := range at {
		r := &e.sample.Results[i]
		note := fmt.Sprintf("as %s, says the user", strings.TrimPrefix(strings.TrimSpace(given), "as "))
		if r.Basis != "" && r.Basis != b {
			note += fmt.Sprintf("; the report says as %s", r.Basis)
		}
		r.Basis = b
		r.Note = strings.TrimPrefix(r.Note+"; "+note, "; ")
		r.Warnings = slices.DeleteFunc(slices.Clone(r.Warnings), func(w analysis.Warning) bool { return w.Code == "basis_unstated" })
	}
	e.settle(a.ID, "basis_unstated")
}

// basesOf lists the bases of an analyte in alphabetical order.
func basesOf(a analyte.Analyte) string {
	var names []string
	for b := range a.Bases {
		names = append(names, string(b))
	}
	if a.Loads != 0 && !slices.Contains(names, "CaCO3") {
		names = append(names, "CaCO3")
	}
	if s := string(a.Own); s != "" && !slices.Contains(names, s) {
		names = append(names, s)
	}
	slices.Sort(names)
	return strings.Join(names, ", ")
}
