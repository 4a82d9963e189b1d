package labreport

import (
	"errors"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
)

// readSheets reads a workbook with several sheets. Each is read by itself, the
// others being notes to it. Where only one holds results, it is the report;
// where several do, what they say about one sample is put together, and samples
// without a name take that of their sheet.
func readSheets(src source, o Options) (source, *Reading, error) {
	var with []sheetReading
	for _, s := range src.sheets {
		part := source{format: src.format, rows: src.rows[s.first:s.last]}
		if isControl(s.name) || noSample(s.name) {
			continue
		}
		notes := slices.Concat(src.rows[:s.first], src.rows[s.last:])
		if r := tableOf(part, notes); r != nil {
			with = append(with, sheetReading{sheet: s, Reading: r, table: true})
			continue
		}
		r, err := interpret(part, o)
		var no *Refusal
		if errors.As(err, &no) && errors.Is(err, ErrNotWater) {
			return source{}, nil, err
		}
		if err == nil && len(r.Document.Samples) > 0 {
			with = append(with, sheetReading{sheet: s, Reading: r})
		}
	}
	switch {
	case len(with) == 0 || len(with) == 1 && !with[0].table:
		return src, nil, nil // the reader of layouts sees the sheets in their order
	case len(with) == 1:
		return finished(src, with[0].whole(src), o)
	}
	return finished(src, joinSheets(with, src), o)
}

// sheetReading is what a sheet was read as.
type sheetReading struct {
	sheet
	*Reading
	table bool // its headings told what each cell is; its doubts are still to be told
}

// whole gives the rows of the other sheets a fate too.
func (s sheetReading) whole(src source) *Reading {
	return joinSheets([]sheetReading{s}, src)
}

// settledLater are the warnings about whole samples; they are found again when
// all is put together.
var settledLater = []string{"multiple_samples", "charge_imbalance", "hardness_mismatch", "treated_sample", "utility_report"}

// joinSheets puts the samples of several sheets together.
func joinSheets(with []sheetReading, src source) *Reading {
	out := &Reading{Format: src.format, Document: analysis.Document{Version: analysis.Version, Samples: []analysis.Sample{}, Warnings: []analysis.Warning{}}}
	fates := map[int]Fate{}
	for _, s := range with {
		for _, f := range s.Lines {
			fates[f.Line] = f
		}
		for _, w := range s.Document.Warnings {
			if !slices.Contains(settledLater, w.Code) {
				out.Document.Warnings = append(out.Document.Warnings, w)
			}
		}
		for _, sample := range s.Document.Samples {
			if home := homeOf(sample, out.Document.Samples); home != nil {
				home.Results = append(home.Results, sample.Results...)
				continue
			}
			out.Document.Samples = append(out.Document.Samples, sample)
		}
	}
	if len(out.Document.Samples) > 1 {
		nameBySheets(out.Document.Samples, with)
	}
	for _, r := range src.rows {
		if strings.TrimSpace(r.text) == "" {
			continue
		}
		f, ok := fates[r.line]
		if !ok {
			f = Fate{Line: r.line, Why: "stands on a sheet without results"}
		}
		out.Lines = append(out.Lines, f)
	}
	return out
}

// homeOf finds the sample of other sheets that a sample is part of: the same
// name and date, and no analyte in both.
func homeOf(s analysis.Sample, among []analysis.Sample) *analysis.Sample {
	type key struct {
		id analyte.ID
		f  analysis.Fraction
	}
	for i := range among {
		o := &among[i]
		if o.Label != s.Label || o.Date != s.Date && o.Date != "" && s.Date != "" {
			continue
		}
		held := map[key]bool{}
		for _, r := range o.Results {
			held[key{r.Analyte, r.Fraction}] = true
		}
		if !slices.ContainsFunc(s.Results, func(r analysis.Result) bool { return held[key{r.Analyte, r.Fraction}] }) {
			return o
		}
	}
	return nil
}

// nameBySheets names samples that have no name of their own, or share it, by
// the sheet on which they begin.
func nameBySheets(samples []analysis.Sample, with []sheetReading) {
	seen := map[string]int{}
	for _, s := range samples {
		seen[s.Label]++
	}
	for i := range samples {
		s := &samples[i]
		if s.Label != "" && seen[s.Label] == 1 {
			continue
		}
		line := s.Results[0].Line
		for _, w := range with {
			if slices.ContainsFunc(w.Document.Samples, func(o analysis.Sample) bool { return len(o.Results) > 0 && o.Results[0].Line == line }) {
				s.Label = strings.TrimSpace(s.Label + " " + w.name)
				if labelClass(w.name) == clsTreated && s.Source == "" {
					s.Source = "treated"
				}
			}
		}
	}
}
