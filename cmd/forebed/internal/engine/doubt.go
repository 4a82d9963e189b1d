package engine

import (
	"context"
	"fmt"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/labreport"
	"forebed/rules"
	"forebed/schemas"
)

// mustSettle are the doubts that say the number itself may be wrong. Where
// the reader names no other meaning, the plan is tried without the value.
var mustSettle = map[string]bool{
	"value_implausible": true, "negative_value": true, "ocr_suspect": true, "ambiguous_number": true,
	"unit_suspect": true, "unit_missing": true, "conversion_mismatch": true, "conflicting_values": true,
}

// weigh tries every meaning of every doubt about the sample. It returns a
// sentence for each doubt that does not matter, and refuses for those that do.
func (r *Request) weigh(ctx context.Context, result *Result) ([]string, error) {
	var settled []string
	var ps schemas.Problems
	tried := 0
	for _, w := range doubtsOf(result) {
		meanings := w.Readings
		if len(meanings) == 0 && mustSettle[w.Code] && w.Analyte != "" {
			meanings = []analysis.Reading{{Flag: "--drop " + string(w.Analyte), Means: "without it"}}
		}
		if len(meanings) == 0 {
			continue
		}
		difference := ""
		for _, m := range meanings {
			if tried++; tried > mostDoubts {
				difference = "there are too many doubts to try each of them"
				break
			}
			var err error
			if difference, err = r.difference(ctx, result, m); err != nil {
				return nil, err
			}
			if difference != "" {
				break
			}
		}
		if difference == "" {
			settled = append(settled, fmt.Sprintf("%s (%s): that does not change this plan, whichever is meant.", subject(w), w.Code))
			continue
		}
		ps = append(ps, problem(r.File, w, meanings, difference))
	}
	return settled, ps.Err()
}

// doubtsOf lists the warnings that are about the sample planned for.
func doubtsOf(result *Result) []analysis.Warning {
	present := map[string]bool{}
	var all []analysis.Warning
	for _, x := range result.Sample.Results {
		present[string(x.Analyte)] = true
		for _, w := range x.Warnings {
			if w.Line == 0 {
				w.Line = x.Line
			}
			if w.Analyte == "" {
				w.Analyte = x.Analyte
			}
			all = append(all, w)
		}
	}
	for _, w := range result.Reading.Document.Warnings {
		if present[string(w.Analyte)] {
			all = append(all, w)
		}
	}
	return all
}

// difference tells what a meaning would change: the chosen train, or the life
// of a fill beyond its band. It is empty if it changes neither.
func (r *Request) difference(ctx context.Context, base *Result, m analysis.Reading) (string, error) {
	edits, ok := EditsOf(m.Flag)
	if !ok {
		return "", nil
	}
	doc, err := labreport.Apply(analysis.Document{Version: analysis.Version, Samples: []analysis.Sample{base.Sample}}, edits)
	if err != nil {
		return "", nil // the meaning does not apply to this sample
	}
	sample := doc.Samples[0]
	c, err := r.complete(sample, doubtDraws)
	if err != nil {
		return "", nil // that meaning is impossible, so it is not meant
	}
	other, err := r.search(ctx, &sample, c)
	if err != nil {
		return "", err
	}
	was, is := kinds(base.Plan), kinds(other)
	if was != is {
		return fmt.Sprintf("with another meaning the stages would be %s instead of %s", is, was), nil
	}
	life, band := other.Life.WithPlan.Residue.P50, base.Plan.Life.WithPlan.Residue
	if life < band.P10 || life > band.P90 {
		return fmt.Sprintf("with another meaning a fill would last %.2g times as long", life/band.P50), nil
	}
	return "", nil
}

func kinds(p *rules.Plan) string {
	if len(p.Stages) == 0 {
		return "none"
	}
	var names []string
	for _, s := range p.Stages {
		names = append(names, strings.ReplaceAll(string(s.Kind), "_", " "))
	}
	return strings.Join(names, ", ")
}

// EditsOf turns the flag of a meaning ("--basis nitrate=N") into a correction.
func EditsOf(flag string) (labreport.Edits, bool) {
	name, value, ok := strings.Cut(strings.TrimSpace(flag), " ")
	if !ok {
		return labreport.Edits{}, false
	}
	value = strings.Trim(strings.TrimSpace(value), `"'`)
	switch name {
	case "--set":
		return labreport.Edits{Set: []string{value}}, true
	case "--basis":
		return labreport.Edits{Basis: []string{value}}, true
	case "--drop":
		return labreport.Edits{Drop: []string{value}}, true
	}
	return labreport.Edits{}, false
}

// subject says what a doubt is about.
func subject(w analysis.Warning) string {
	text := strings.TrimSuffix(w.Message, ".")
	if a, ok := analyte.Lookup(w.Analyte); ok {
		text = a.Name + ": " + text
	}
	return text
}

func problem(file string, w analysis.Warning, meanings []analysis.Reading, difference string) schemas.Problem {
	var flags []string
	for _, m := range meanings {
		flags = append(flags, fmt.Sprintf("%s (%s)", m.Flag, m.Means))
	}
	return schemas.Problem{File: file, Line: w.Line, Found: fmt.Sprintf("%s [%s]", subject(w), w.Code),
		Want: "a value that can mean one thing only, because " + difference, Remedy: "settle it with " + strings.Join(flags, " or "), Err: ErrDoubt}
}
