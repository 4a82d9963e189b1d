package render

import (
	"fmt"
	"strconv"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/labreport"
	"forebed/chem/unit"
)

// Reading composes what a report was read as: every result with the token
// and line it came from, every doubt, and how to correct it.
func Reading(r *labreport.Reading) []Block {
	p := &draft{}
	doc := r.Document
	used, kept := 0, 0
	for _, l := range r.Lines {
		if l.What == labreport.HasResult {
			used++
		}
		if l.What == labreport.Explains {
			kept++
		}
	}
	results := 0
	for _, s := range doc.Samples {
		results += len(s.Results)
	}
	p.lead(fmt.Sprintf("Read as %s: %s from %s%s.", r.Format,
		Count(results, "result"), Count(used, "line"), others(kept, len(r.Lines)-used-kept)))
	for i, s := range doc.Samples {
		p.heading(sampleTitle(s, i, len(doc.Samples)))
		var rows [][]string
		for _, x := range s.Results {
			rows = append(rows, []string{ResultName(x), Understood(x), x.AsWritten, lineNumber(x.Line), codes(x.Warnings)})
		}
		p.table([]string{"Analyte", "As understood", "As written", ">Line", "Doubts"}, rows)
	}
	doubts(p, doc)
	var lost [][]string
	for _, l := range r.Lines {
		if l.What == labreport.Doubtful {
			lost = append(lost, []string{strconv.Itoa(l.Line), l.Why})
		}
	}
	if len(lost) > 0 {
		p.heading("Lines that were not understood")
		p.table([]string{">Line", "Why"}, lost)
	}
	p.heading("To correct it")
	p.para("--set iron=1.2mg/L, --basis nitrate=N, --drop lead, --sample LABEL; to fill in a strip's steps: --pads NAME. To see every line's fate: --lines.")
	return p.blocks
}

// Lines composes the fate of every line of the input.
func Lines(r *labreport.Reading) []Block {
	p := &draft{}
	names := map[labreport.What]string{labreport.Ignored: "ignored", labreport.HasResult: "result", labreport.Explains: "explains", labreport.Doubtful: "doubtful"}
	var rows [][]string
	for _, l := range r.Lines {
		rows = append(rows, []string{strconv.Itoa(l.Line), names[l.What], l.Why})
	}
	p.table([]string{">Line", "Fate", "Why"}, rows)
	return p.blocks
}

// doubts lists the warnings with what each possible meaning would be.
func doubts(p *draft, doc analysis.Document) {
	all := Warnings(doc)
	if len(all) == 0 {
		return
	}
	p.heading("Doubts")
	for _, w := range all {
		where := ""
		if w.Line > 0 {
			where = fmt.Sprintf("line %d: ", w.Line)
		}
		p.item(where + sentence(w.Message) + " [" + w.Code + "]")
		for _, r := range w.Readings {
			p.sub(r.Flag + "   (" + r.Means + ")")
		}
	}
}

// Warnings returns every warning of a document, those of its results included.
func Warnings(doc analysis.Document) []analysis.Warning {
	all := append([]analysis.Warning(nil), doc.Warnings...)
	for _, s := range doc.Samples {
		for _, r := range s.Results {
			for _, w := range r.Warnings {
				if w.Line == 0 {
					w.Line = r.Line
				}
				all = append(all, w)
			}
		}
	}
	return all
}

func sampleTitle(s analysis.Sample, i, n int) string {
	name := s.Label
	if name == "" {
		name = "the sample"
		if n > 1 {
			name = fmt.Sprintf("sample %d", i+1)
		}
	}
	for _, more := range []string{s.Date, s.Source} {
		if more != "" && !strings.Contains(name, more) {
			name += ", " + more
		}
	}
	return name
}

// ResultName names a result in words: "iron, dissolved".
func ResultName(r analysis.Result) string {
	name := string(r.Analyte)
	if a, ok := analyte.Lookup(r.Analyte); ok {
		name = a.Name
	}
	if r.Fraction != analysis.NotStated {
		name += ", " + string(r.Fraction)
	}
	return name
}

// Understood prints a result as it was understood: value, range or non-detect
// with unit and basis.
func Understood(r analysis.Result) string {
	exact := func(v *float64) string { return strconv.FormatFloat(*v, 'f', -1, 64) }
	tail := ""
	if r.Unit != unit.None && r.Unit != unit.Presence && r.Unit != unit.PH && r.Unit != unit.Ratio {
		tail = " " + string(r.Unit)
	}
	if r.Basis != "" {
		tail += " as " + string(r.Basis)
	}
	switch {
	case r.Nondetect && r.Limit != nil:
		return "below " + exact(r.Limit) + tail
	case r.Nondetect:
		return "not detected, limit not stated"
	case r.Value != nil && r.Unit == unit.Presence:
		if *r.Value == 0 {
			return "absent"
		}
		return "present"
	case r.Value != nil:
		return exact(r.Value) + tail
	case r.Low != nil && r.High != nil:
		return exact(r.Low) + " to " + exact(r.High) + tail
	case r.Low != nil:
		return "above " + exact(r.Low) + tail
	case r.High != nil:
		return "at most " + exact(r.High) + tail
	}
	return "no number"
}

func codes(ws []analysis.Warning) string {
	var s []string
	for _, w := range ws {
		s = append(s, w.Code)
	}
	return strings.Join(s, ", ")
}

func lineNumber(n int) string {
	if n == 0 {
		return ""
	}
	return strconv.Itoa(n)
}

// others says what became of the lines that hold no result.
func others(explain, silent int) string {
	says := func(n int, one, many string) string {
		if n == 1 {
			return "1 line " + one
		}
		return fmt.Sprintf("%d lines %s", n, many)
	}
	var parts []string
	if explain > 0 {
		parts = append(parts, says(explain, "explains others", "explain others"))
	}
	if silent > 0 {
		parts = append(parts, says(silent, "says nothing about the water", "say nothing about the water"))
	}
	if len(parts) == 0 {
		return ""
	}
	return " (" + strings.Join(parts, ", ") + ")"
}

// Count says a number of things: "1 row", "3 rows".
func Count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
