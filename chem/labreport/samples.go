package labreport

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
)

// bottle tells the sample that a row of a machine table belongs to.
type bottle struct {
	location, date, sample, kind, source string
}

// grouping gathers results into samples in the order of their first row.
// Field measurements and the laboratory's bottle of one visit are different
// activities in the exchange vocabulary, but one water: they are joined by
// place and day, unless that day has several bottles.
type grouping struct {
	visits   map[string]*visit
	order    []*visit
	warnings []analysis.Warning
}

// visit is one place on one day.
type visit struct {
	bottle
	activities []*activity
	byID       map[string]*activity
}

// activity is one bottle, or one set of field measurements, of a visit.
type activity struct {
	id      string
	field   bool
	results []analysis.Result
}

func newGrouping() *grouping { return &grouping{visits: map[string]*visit{}} }

func (g *grouping) warn(w analysis.Warning) { g.warnings = append(g.warnings, w) }

func (g *grouping) add(b bottle, r analysis.Result) {
	if isRepeat(b.kind) {
		b.sample = strings.TrimSpace(b.sample + " duplicate")
	}
	key := b.location + "\x00" + b.date
	if b.location == "" || b.date == "" {
		key = b.location + "\x00" + b.date + "\x00" + b.sample
	}
	v := g.visits[key]
	if v == nil {
		v = &visit{bottle: b, byID: map[string]*activity{}}
		g.visits[key] = v
		g.order = append(g.order, v)
	}
	a := v.byID[b.sample]
	if a == nil {
		a = &activity{id: b.sample, field: strings.HasPrefix(strings.ToLower(b.kind), "field msr")}
		v.byID[b.sample] = a
		v.activities = append(v.activities, a)
	}
	a.results = append(a.results, r)
}

// isRepeat tells the second bottle of a field duplicate by its type.
func isRepeat(kind string) bool {
	kind = strings.ToLower(kind)
	return strings.Contains(kind, "duplicate") || strings.Contains(kind, "replicate") || kind == "fd" || kind == "dup"
}

// bottles returns the activities of a visit as samples: all together when the
// laboratory had one bottle, else one sample a bottle, each with the field
// measurements whose identifier continues that of the bottle.
func (v *visit) bottles() []*activity {
	lab := 0
	for _, a := range v.activities {
		if !a.field {
			lab++
		}
	}
	if lab <= 1 {
		all := &activity{}
		for _, a := range v.activities {
			if !a.field {
				all.id = a.id
			}
			all.results = append(all.results, a.results...)
		}
		return []*activity{all}
	}
	var out []*activity
	for _, a := range v.activities {
		home := a
		if a.field {
			for _, b := range v.activities {
				if !b.field && b.id != "" && strings.HasPrefix(a.id, b.id) {
					home = b
				}
			}
		}
		if home != a {
			home.results = append(home.results, a.results...)
			continue
		}
		out = append(out, a)
	}
	return out
}

// document makes the samples, each with a label of its own. day writes their
// dates as 2024-06-05.
func (g *grouping) document(day func(string) string) analysis.Document {
	doc := analysis.Document{Version: analysis.Version, Samples: []analysis.Sample{}, Warnings: g.warnings}
	var ids []string
	for _, v := range g.order {
		for _, a := range v.bottles() {
			s := analysis.Sample{Label: v.location, Date: day(v.date), Source: v.source, Results: a.results}
			if s.Label == "" {
				s.Label = a.id
			}
			doc.Samples = append(doc.Samples, s)
			ids = append(ids, a.id)
		}
	}
	distinguish(doc.Samples, ids)
	doc.Warnings = append([]analysis.Warning{}, doc.Warnings...)
	return doc
}

// fewSamples is up to how many samples are compared with each other, and have
// their doubts told one by one. A table of hundreds is data, not a report; the
// doubts about a sample are found again when it is chosen.
const fewSamples = 20

// settleDoubts adds the doubts about the results of a machine reading, as for
// any other report.
func settleDoubts(doc *analysis.Document) {
	for i := range doc.Samples {
		s := &doc.Samples[i]
		for j := range s.Results {
			r := &s.Results[j]
			singleDoubts(r)
			if r.Value != nil && *r.Value < 0 && r.Analyte != "temperature" && r.Analyte != "orp" && r.Analyte != "saturation_index" {
				doubtful(r, "negative_value", "the reading is below zero; it is kept as it stands", settle(r.Analyte))
			}
		}
		pairDoubts(s.Results)
		if len(doc.Samples) > fewSamples {
			continue
		}
		for _, w := range balanceDoubts(s) {
			if len(doc.Samples) > 1 {
				w.Message = s.Label + ": " + w.Message
			}
			doc.Warnings = append(doc.Warnings, w)
		}
	}
	severalSamples(doc)
	if softened(doc) {
		doc.Warnings = append(doc.Warnings, treatedDoubt)
	}
}

// treatedDoubt is the doubt about an analysis that is not of the raw water.
var treatedDoubt = analysis.Warning{Code: "treated_sample", Message: "a sample was taken after treatment; it does not show the raw water"}

// softened marks the samples that were plainly taken behind a softener: hardly
// any hardness and much sodium, beside a hard sample of less sodium. It tells
// whether any sample is of treated water, by this or by its own words.
func softened(doc *analysis.Document) bool {
	of := func(s *analysis.Sample, id analyte.ID) float64 {
		for i := range s.Results {
			if s.Results[i].Analyte == id {
				if v, ok := common(&s.Results[i]); ok {
					return v
				}
			}
		}
		return math.NaN()
	}
	classes := map[string]class{} // of one well, there are many samples
	classOf := func(label string) class {
		c, known := classes[label]
		if !known {
			c = labelClass(label)
			classes[label] = c
		}
		return c
	}
	found := false
	for i := range doc.Samples {
		s := &doc.Samples[i]
		if s.Source == "" && classOf(strings.TrimSuffix(s.Label, s.Date)) == clsTreated {
			s.Source = "treated"
		}
		h, na := of(s, "hardness"), of(s, "sodium")
		soft := len(doc.Samples) == 1 && h < 6 && na > 100
		if h < 20 && na > 60 && len(doc.Samples) <= fewSamples {
			soft = soft || slices.ContainsFunc(doc.Samples, func(o analysis.Sample) bool {
				return of(&o, "hardness") > 5*h+50 && of(&o, "sodium") < na
			})
		}
		if soft {
			s.Source = "treated"
		}
		found = found || s.Source == "treated"
	}
	return found
}

// severalSamples warns of more than one sample.
func severalSamples(doc *analysis.Document) {
	if n := len(doc.Samples); n > 1 {
		doc.Warnings = append(doc.Warnings, analysis.Warning{Code: "multiple_samples", Message: fmt.Sprintf("the report holds %d samples; choose one with --sample", n)})
	}
}

// distinguish makes labels unique, so that each sample can be chosen by its
// own: first by the date, then by the identifier, then by a number.
func distinguish(samples []analysis.Sample, ids []string) {
	add := func(tail func(i int) string) {
		seen := map[string]int{}
		for _, s := range samples {
			seen[s.Label]++
		}
		for i := range samples {
			if s := &samples[i]; seen[s.Label] > 1 && tail(i) != "" {
				s.Label = strings.TrimSpace(s.Label + " " + tail(i))
			}
		}
	}
	add(func(i int) string { return samples[i].Date })
	add(func(i int) string { return ids[i] })
	nth := map[string]int{}
	add(func(i int) string {
		nth[samples[i].Label]++
		return fmt.Sprintf("(%d)", nth[samples[i].Label])
	})
}

// dayOf returns a date in the form 2024-06-05 if it is written so that it
// can be read only one way, else "".
func dayOf(s string) string {
	if len(s) < 10 || s[4] != '-' || s[7] != '-' {
		return ""
	}
	for i, c := range s[:10] {
		if i != 4 && i != 7 && (c < '0' || c > '9') {
			return ""
		}
	}
	return s[:10]
}
