package labreport

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/schemas"
)

// looksLikeDocument tells an analysis document: JSON, the same in YAML, or the
// CSV that WriteCSV makes. Any other JSON is tried as one too, so that its
// error says what is missing.
func looksLikeDocument(text string) bool {
	head := strings.TrimLeft(text, " \t\r\n")
	return strings.HasPrefix(head, "{") || strings.HasPrefix(head, "version: forebed.analysis/") || strings.HasPrefix(head, "---\nversion: forebed.analysis/") || isOwnCSV(head)
}

// readDocument reads an analysis document back. It is checked against its
// schema and then for what a schema cannot say.
func readDocument(text string, o Options) (*Reading, error) {
	if head := strings.TrimLeft(text, " \t\r\n"); isOwnCSV(head) {
		return readOwnCSV(head, o)
	}
	var doc analysis.Document
	tree, err := schemas.DecodeTree("analysis", o.File, []byte(text), &doc)
	if err != nil {
		return nil, notADocument(err, o)
	}
	if ps := checkDocument(doc, o.File, tree.Place); len(ps) > 0 {
		return nil, notADocument(ps, o)
	}
	holds := map[int]bool{}
	for i, s := range doc.Samples {
		for j := range s.Results {
			line, _ := tree.Place(fmt.Sprintf("/samples/%d/results/%d", i, j))
			holds[line] = true
		}
	}
	if doc.Warnings == nil {
		doc.Warnings = []analysis.Warning{}
	}
	r := &Reading{Document: doc, Format: "json"}
	for i, l := range strings.Split(text, "\n") {
		switch {
		case strings.TrimSpace(l) == "":
		case holds[i+1]:
			r.Lines = append(r.Lines, Fate{Line: i + 1, What: HasResult})
		default:
			r.Lines = append(r.Lines, Fate{Line: i + 1, What: Explains, Why: "part of the document"})
		}
	}
	return r, nil
}

// notADocument makes the refusal of a document that is not valid.
func notADocument(err error, o Options) error {
	var ps schemas.Problems
	if !errors.As(err, &ps) {
		ps = schemas.Problems{{File: o.File, Found: err.Error(), Want: "an analysis document", Remedy: "compare it with the schema", Err: ErrBroken}}
	}
	return &Refusal{Problems: ps, Warnings: []analysis.Warning{noResults("the analysis document is not valid")}}
}

// checkDocument checks what the schema cannot: that analytes, units and bases
// are known and fit each other, and that a result does not say two things.
// place gives line and column of a JSON pointer.
func checkDocument(doc analysis.Document, file string, place func(string) (int, int)) schemas.Problems {
	var ps schemas.Problems
	fault := func(pointer, found, want, remedy string) {
		p := schemas.Problem{File: file, Field: pointer, Found: found, Want: want, Remedy: remedy, Err: schemas.ErrInvalid}
		p.Line, p.Column = place(pointer)
		ps = append(ps, p)
	}
	for i, s := range doc.Samples {
		at := "/samples/" + strconv.Itoa(i)
		if s.Date != "" && dayOf(s.Date) != s.Date {
			fault(at+"/date", strconv.Quote(s.Date), "a date such as 2024-06-05", "write year, month and day, in this order")
		}
		for _, t := range [...]struct{ field, text string }{{"/label", s.Label}, {"/source", s.Source}} {
			if strings.ContainsFunc(t.text, isLineEnd) {
				fault(at+t.field, "a line end", "one line of text", "delete the character")
			}
		}
		for j, r := range s.Results {
			checkResult(r, at+"/results/"+strconv.Itoa(j), fault)
		}
	}
	return ps
}

func isLineEnd(r rune) bool { return r == '\n' || r == '\r' }

func checkResult(r analysis.Result, at string, fault func(pointer, found, want, remedy string)) {
	for _, t := range [...]struct{ field, text string }{{"/as_written", r.AsWritten}, {"/note", r.Note}} {
		if strings.ContainsFunc(t.text, isLineEnd) {
			fault(at+t.field, "a line end", "one line of text", "delete the character")
		}
	}
	a, ok := analyte.Lookup(r.Analyte)
	if !ok {
		remedy := "use an id of the table of analytes, such as iron or nitrate"
		if n, ok := analyte.ByName(string(r.Analyte)); ok {
			remedy = fmt.Sprintf("write %q", n.ID)
		}
		fault(at+"/analyte", strconv.Quote(string(r.Analyte)), "the id of an analyte", remedy)
		return
	}
	if u, ok := unit.Parse(string(r.Unit)); r.Unit != unit.None && u != r.Unit {
		remedy := "use a unit such as mg/L or ug/L"
		if ok {
			remedy = fmt.Sprintf("write %q", u)
		}
		fault(at+"/unit", strconv.Quote(string(r.Unit)), "the canonical spelling of a unit", remedy)
	} else if r.Unit != unit.None && !compatible(a.ID, r.Unit) && a.Kind != analyte.Words {
		fault(at+"/unit", strconv.Quote(string(r.Unit)), "a unit in which "+a.Name+" is measured", "correct the unit, or the analyte")
	}
	if b, ok := cellBasis(string(r.Basis), a); !ok || b != r.Basis && b != "" {
		fault(at+"/basis", strconv.Quote(string(r.Basis)), "a basis on which "+a.Name+" is reported", "use null for the substance itself")
	}
	switch {
	case r.Nondetect && r.Value != nil:
		fault(at+"/value", number(r.Value), "null beside nondetect", "delete the value, or set nondetect to false")
	case r.Limit != nil && !r.Nondetect:
		fault(at+"/limit", number(r.Limit), "a limit only for a non-detect", "set nondetect to true, or the limit to null")
	case r.Limit != nil && *r.Limit < 0:
		fault(at+"/limit", number(r.Limit), "a limit of 0 or more", "correct the limit")
	case r.Low != nil && r.High != nil && *r.Low > *r.High:
		fault(at+"/low", number(r.Low), "at most high, which is "+number(r.High), "swap the two")
	}
	for _, v := range []*float64{r.Value, r.Low, r.High, r.Limit} {
		if v != nil && (math.IsNaN(*v) || math.IsInf(*v, 0)) {
			fault(at+"/value", number(v), "a finite number", "correct the number")
		}
	}
}

// number writes a number of a document in as few digits as tell it apart.
func number(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}
