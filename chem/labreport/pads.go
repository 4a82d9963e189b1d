package labreport

import (
	_ "embed"
	"encoding/csv"
	"errors"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/schemas"
)

// Pad is one pad of a test strip: the steps between which its colour can be
// told apart. A reading is an interval around a step, never the step itself.
type Pad struct {
	Table   string // name of the table it belongs to
	Analyte analyte.ID
	Unit    unit.Unit
	Basis   analyte.Basis
	Steps   []float64 // ascending, in Unit
	Source  string    // ledger row and where it was seen
	Status  string    // "seen" or "from memory"
}

//go:embed pads.csv
var padsFile string

// Pads returns the tables of generic strip pads, in the order of their file.
func Pads() []Pad {
	pads, err := ReadPads("pads.csv", padsFile)
	if err != nil {
		panic(err) // our own file; a test reads it
	}
	return pads
}

// ReadPads reads a table of pads: CSV with the columns table, analyte, unit,
// basis, steps (numbers with blanks between, ascending), source and status.
// The error is a schemas.Problems.
func ReadPads(file, text string) ([]Pad, error) {
	in := csv.NewReader(strings.NewReader(text))
	rows, err := in.ReadAll()
	if err != nil {
		return nil, csvProblem(err, Options{File: file})
	}
	want := []string{"table", "analyte", "unit", "basis", "steps", "source", "status"}
	if len(rows) == 0 || !slices.Equal(rows[0], want) {
		return nil, schemas.Problems{{File: file, Line: 1, Found: "other columns", Want: "the columns " + strings.Join(want, ","), Remedy: "write this heading", Err: schemas.ErrInvalid}}
	}
	var pads []Pad
	var ps schemas.Problems
	for i, row := range rows[1:] {
		fault := func(column int, want string) {
			ps = append(ps, schemas.Problem{File: file, Line: i + 2, Field: rows[0][column], Found: strconv.Quote(row[column]), Want: want, Remedy: "correct the cell", Err: schemas.ErrInvalid})
		}
		p := Pad{Table: row[0], Analyte: analyte.ID(row[1]), Unit: unit.Unit(row[2]), Basis: analyte.Basis(row[3]), Source: row[5], Status: row[6]}
		a, ok := analyte.Lookup(p.Analyte)
		if !ok {
			fault(1, "the id of an analyte")
			continue
		}
		if u, ok := unit.Parse(row[2]); !ok || u != p.Unit || !compatible(a.ID, u) {
			fault(2, "a unit of "+a.Name)
		}
		if b, ok := cellBasis(row[3], a); !ok || b != p.Basis {
			fault(3, "a basis of "+a.Name)
		}
		for _, s := range strings.Fields(row[4]) {
			v, ok := plainNumber(s)
			if n := len(p.Steps); !ok || v < 0 || n > 0 && v <= p.Steps[n-1] {
				fault(4, "numbers that grow")
				break
			}
			p.Steps = append(p.Steps, v)
		}
		if len(p.Steps) < 2 {
			fault(4, "at least two steps")
		}
		if row[5] == "" || row[6] != "seen" && row[6] != "from memory" {
			fault(6, "a source, and seen or from memory")
		}
		pads = append(pads, p)
	}
	return pads, ps.Err()
}

// ErrNoPads is the sentinel of a table of pads that does not exist.
var ErrNoPads = errors.New("there is no such table of pads")

// PadsNamed returns the pads of the tables named, separated by commas. Where
// two have a pad for one analyte, the later stands ("general,low-iron").
func PadsNamed(all []Pad, names string) ([]Pad, error) {
	var chosen []Pad
	for _, name := range strings.Split(names, ",") {
		name = strings.TrimSpace(name)
		var its []Pad
		for _, p := range all {
			if p.Table == name {
				its = append(its, p)
			}
		}
		if len(its) == 0 {
			return nil, schemas.Problems{{Field: "--pads", Found: strconv.Quote(name), Want: "the name of a table of pads", Remedy: "use one of: " + strings.Join(padTables(all), ", "), Err: ErrNoPads}}
		}
		chosen = slices.DeleteFunc(chosen, func(p Pad) bool {
			return slices.ContainsFunc(its, func(q Pad) bool { return q.Analyte == p.Analyte })
		})
		chosen = append(chosen, its...)
	}
	return chosen, nil
}

func padTables(all []Pad) []string {
	var names []string
	for _, p := range all {
		if !slices.Contains(names, p.Table) {
			names = append(names, p.Table)
		}
	}
	return names
}

// Interval returns what a reading at step i means: from half-way below to
// half-way above. Half-way is the arithmetic mean next to a step of zero and
// for pH, which is a logarithm already, else the geometric mean, as colours
// are told apart by ratios. The bottom step reaches down to zero, that of pH
// has no lower end; the top step has no upper end. Ledger I-STRIP-INT
// (reasoning, no source); the ends are given to three figures, which is more
// than an eye tells. An end that does not exist is nil.
func (p Pad) Interval(i int) (low, high *float64) {
	between := func(a, b float64) *float64 {
		if a == 0 || p.Unit == unit.PH {
			return analysis.Number((a + b) / 2)
		}
		return threeFigures(math.Sqrt(a * b))
	}
	switch {
	case i > 0:
		low = between(p.Steps[i-1], p.Steps[i])
	case p.Unit != unit.PH:
		low = analysis.Number(0)
	}
	if i+1 < len(p.Steps) {
		high = between(p.Steps[i], p.Steps[i+1])
	}
	return low, high
}

func threeFigures(v float64) *float64 {
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 3, 64), 64)
	if err != nil {
		panic(err) // it was just written
	}
	return &r
}

// between returns the two steps around a value that is none of them, as when
// a user saw a colour between two blocks.
func (p Pad) between(v float64) (low, high *float64, ok bool) {
	for i := 1; i < len(p.Steps); i++ {
		if p.Steps[i-1] < v && v < p.Steps[i] {
			return analysis.Number(p.Steps[i-1]), analysis.Number(p.Steps[i]), true
		}
	}
	return nil, nil, false
}

// stepTolerance is how far, as a share, a reading may lie from a step and
// still be that step: strips print rounded conversions (17 mg/L for 1 grain).
const stepTolerance = 0.03

// scale returns what one of the unit and basis of a result is in those of the
// pad, and whether the two can be compared.
func (p Pad) scale(r *analysis.Result) (float64, bool) {
	if r.Unit == p.Unit && r.Basis == p.Basis {
		return 1, true
	}
	a := analyte.Must(p.Analyte)
	mine, err1 := a.MgPerL(1, p.Unit, p.Basis)
	its, err2 := a.MgPerL(1, r.Unit, r.Basis)
	return float64(its) / float64(mine), err1 == nil && err2 == nil
}

// reading returns the interval that a value on the pad means. It is no reading
// of the pad beyond its last step.
func (p Pad) reading(v float64) (low, high *float64, ok bool) {
	for i, s := range p.Steps {
		if math.Abs(v-s) <= stepTolerance*s {
			low, high = p.Interval(i)
			return low, high, true
		}
	}
	return p.between(v)
}

// ApplyPads turns the readings of a test strip into intervals, on a copy of
// the analysis: around the step of a pad, or from one step to the next for a
// value between them. A value beyond the last step stays, with a doubt. What
// is written stays as it is.
func ApplyPads(doc analysis.Document, pads []Pad) analysis.Document {
	doc.Samples = slices.Clone(doc.Samples)
	for i := range doc.Samples {
		s := &doc.Samples[i]
		s.Results = slices.Clone(s.Results)
		for j := range s.Results {
			applyPad(&s.Results[j], pads)
		}
	}
	return doc
}

func applyPad(r *analysis.Result, pads []Pad) {
	if r.Value == nil || r.Unit == unit.None {
		return
	}
	for _, p := range pads {
		// A basis that the strip states must be that of the pad; a strip without
		// one keeps its doubt where the tables have pads on several.
		if p.Analyte != r.Analyte || r.Basis != p.Basis && (r.Basis != "" || basisMatters(p, pads)) {
			continue
		}
		scale, ok := p.scale(r)
		if !ok {
			continue
		}
		name := analyte.Must(r.Analyte).Name
		r.Warnings = slices.Clone(r.Warnings)
		low, high, ok := p.reading(*r.Value * scale)
		if !ok {
			doubtful(r, "pad_step_unknown", fmt.Sprintf("%s %s lies beyond the steps of the pads %q", name, r.AsWritten, p.Table))
			return
		}
		r.Value = nil
		r.Low, r.High = scaled(low, 1/scale), scaled(high, 1/scale)
		r.Note = strings.TrimPrefix(fmt.Sprintf("%s; on the pads %q", r.Note, p.Table), "; ")
		doubtful(r, "range_only", fmt.Sprintf("a strip tells %s only from one step to the next", name))
		return
	}
}

// basisMatters tells whether the tables have a pad of the same analyte on
// another basis, so that a reading without a basis cannot be given to one.
func basisMatters(p Pad, pads []Pad) bool {
	return slices.ContainsFunc(pads, func(q Pad) bool { return q.Analyte == p.Analyte && q.Basis != p.Basis })
}

func scaled(v *float64, factor float64) *float64 {
	if v == nil {
		return nil
	}
	if factor == 1 {
		return v
	}
	return threeFigures(*v * factor)
}
