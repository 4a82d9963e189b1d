// Package engine answers: what does forebed do with a report?
//
// It is the one way from bytes to a plan, used by every command and page:
//
//	bytes -> reading -> corrections -> one sample -> composition -> plan
//
// and it decides whether a doubt of the reading may stand. A doubtful value
// does not stop a plan that comes out the same whatever the value means; where
// it would change the chosen train, or move the life of a fill beyond its
// band, the plan is refused and the flag that settles the doubt is named.
//
// It reads no file, clock or environment, so that the same pages run behind a
// server, in a browser, and on the command line.
package engine

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/labreport"
	"forebed/chem/process"
	"forebed/chem/water"
	"forebed/rules"
	"forebed/schemas"
)

// Defaults of a request.
const (
	DefaultDraws = 500
	DefaultSeed  = 1
	doubtDraws   = 200 // for the plan of each possible meaning of a doubt
	mostDoubts   = 12  // meanings tried; more are refused unread
)

// Request is everything a plan is made from.
type Request struct {
	Input   []byte
	Reading *labreport.Reading // of a report that was read already; Input is then unused
	File    string             // what the user called the input
	Edits   labreport.Edits
	Pads    string // names of strip pad tables, comma separated
	Rig     rules.Rig
	Rules   *rules.Set
	Draws   int // 0 for DefaultDraws
	Seed    uint64
	Workers int
	Force   []process.Kind
	Forbid  []process.Kind
	Cells   bool // the plan lists the ends of a fill by the cell model too
}

// Result is what came of a request.
type Result struct {
	Reading *labreport.Reading // as read, before corrections
	Sample  analysis.Sample    // the sample planned for, corrected
	Water   *water.Composition
	Plan    *rules.Plan
	Settled []string // doubts that do not matter to this plan, one sentence each
}

// Sentinels of a refusal, for errors.Is.
var (
	ErrSamples = errors.New("several samples")
	ErrDoubt   = errors.New("a doubt that changes the plan")
	ErrWater   = errors.New("no water has these results")
)

// Read reads the report, fills in strip intervals and makes the corrections.
func (r *Request) Read() (*labreport.Reading, error) {
	reading, err := r.Reading, error(nil)
	if reading == nil {
		if reading, err = labreport.Read(r.Input, labreport.Options{File: r.File}); err != nil {
			return nil, err
		}
	}
	doc := reading.Document
	if r.Pads != "" {
		pads, err := labreport.PadsNamed(labreport.Pads(), r.Pads)
		if err != nil {
			return nil, err
		}
		doc = labreport.ApplyPads(doc, pads)
	}
	if doc, err = labreport.Apply(doc, r.Edits); err != nil {
		return nil, err
	}
	corrected := *reading
	corrected.Document = doc
	return &corrected, nil
}

// Sample returns the one sample of a reading, or asks which of several.
func (r *Request) Sample(reading *labreport.Reading) (analysis.Sample, error) {
	samples := reading.Document.Samples
	if len(samples) == 1 {
		return samples[0], nil
	}
	var names []string
	for i, s := range samples {
		names = append(names, fmt.Sprintf("%d (%s)", i+1, Describe(s)))
	}
	if len(names) > 8 {
		names = append(names[:8], fmt.Sprintf("... and %d more", len(names)-8))
	}
	return analysis.Sample{}, schemas.Problems{{File: r.File, Found: fmt.Sprintf("%d samples: %s", len(samples), strings.Join(names, ", ")),
		Want: "one sample to plan for", Remedy: "choose one with --sample, by its number or label; take the raw water, before any treatment", Err: ErrSamples}}
}

// Describe names a sample for a person who must choose.
func Describe(s analysis.Sample) string {
	var parts []string
	for _, p := range []string{s.Label, s.Date, s.Source} {
		if p != "" && !slices.Contains(parts, p) {
			parts = append(parts, p)
		}
	}
	if len(parts) == 0 {
		parts = append(parts, fmt.Sprintf("%d results", len(s.Results)))
	}
	return strings.Join(parts, ", ")
}

// Composition reads the report and completes its one sample.
func (r *Request) Composition() (*Result, error) {
	reading, err := r.Read()
	if err != nil {
		return nil, err
	}
	sample, err := r.Sample(reading)
	if err != nil {
		return nil, err
	}
	c, err := r.complete(sample, r.draws())
	if err != nil {
		return nil, err
	}
	return &Result{Reading: reading, Sample: sample, Water: c}, nil
}

// Plan does the whole job.
func (r *Request) Plan(ctx context.Context) (*Result, error) {
	result, err := r.Composition()
	if err != nil {
		return nil, err
	}
	if result.Plan, err = r.search(ctx, &result.Sample, result.Water); err != nil {
		return nil, err
	}
	result.Settled, err = r.weigh(ctx, result)
	if err != nil {
		return nil, err
	}
	return result, nil
}

func (r *Request) draws() int {
	if r.Draws > 0 {
		return r.Draws
	}
	return DefaultDraws
}

func (r *Request) complete(s analysis.Sample, draws int) (*water.Composition, error) {
	c, err := water.Complete(s, water.Options{Draws: draws, Seed: r.Seed})
	var bad *water.ResultError
	if errors.As(err, &bad) {
		found, want, _ := strings.Cut(strings.TrimPrefix(bad.Err.Error(), "found "), ", expected ")
		return nil, schemas.Problems{{File: r.File, Line: bad.Line, Field: string(bad.Analyte), Found: found, Want: want,
			Remedy: fmt.Sprintf("correct it with --set %s=VALUE, or leave it out with --drop %s", bad.Analyte, bad.Analyte), Err: ErrDoubt}}
	}
	if err != nil {
		found, remedy, ok := strings.Cut(err.Error(), "; ")
		if !ok {
			remedy = "correct the value named with --set ANALYTE=VALUE, or add what is missing"
		}
		return nil, schemas.Problems{{File: r.File, Found: "results that make no water: " + found, Want: "results that one water can have", Remedy: remedy, Err: ErrWater}}
	}
	return c, nil
}

func (r *Request) search(ctx context.Context, s *analysis.Sample, c *water.Composition) (*rules.Plan, error) {
	return rules.Search(ctx, rules.Input{Sample: s, Water: c, Rig: r.Rig, Rules: r.Rules},
		rules.Options{Seed: r.Seed, Workers: r.Workers, Force: r.Force, Forbid: r.Forbid, Cells: r.Cells})
}
