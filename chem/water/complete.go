package water

import (
	"errors"
	"fmt"
	"math"

	"forebed/chem/analysis"
)

// Bounds of a completion.
const (
	defaultDraws = 2000
	mostDraws    = 100_000
	trials       = 2 // candidates made for each draw kept, where weights decide
	wideTrials   = 4 // the same without hardness or alkalinity: more of them miss
)

// Complete turns a sample into a composition: it checks the report, draws
// waters that agree with it, and sums them up. It fails on a number that is
// not finite, on a unit or basis that does not fit its analyte, on results that
// no water can have together, and with
// ErrNoAnchor on a sample that says nothing about how much is dissolved.
func Complete(s analysis.Sample, o Options) (*Composition, error) {
	if o.Draws == 0 {
		o.Draws = defaultDraws
	}
	if o.Draws < 1 || o.Draws > mostDraws {
		return nil, fmt.Errorf("draws is %d, expected 1 to %d", o.Draws, mostDraws)
	}
	r, err := understand(s)
	if err != nil {
		return nil, err
	}
	if !r.anchored() {
		return nil, ErrNoAnchor
	}
	r.check()
	draws, err := newSampler(r, o.Seed).draws(o.Draws)
	if err != nil {
		return nil, err
	}
	c := summarise(draws)
	c.Label, c.Given = s.Label, r.given()
	r.attribute(c)
	r.caution(draws, c.CationLoad)
	r.suppose()
	c.Checks, c.Cautions, c.Assumptions = r.checks, r.cautions, r.assumptions
	return c, nil
}

// draws makes n waters. Where the report gives a conductivity or dissolved
// solids, several candidates are made for each and kept in proportion to
// their weights (systematic resampling); otherwise each candidate is kept.
func (m *sampler) draws(n int) ([]Water, error) {
	if !m.known(qConductivity) && !m.known(qTDS) {
		out := make([]Water, n)
		for i := range out {
			c := m.candidate()
			var err error
			if out[i], err = c.water(); err != nil {
				return nil, err
			}
		}
		return out, nil
	}
	tries := trials
	if !m.anchored() {
		tries = wideTrials
	}
	candidates := make([]candidate, n*tries)
	top := math.Inf(-1)
	for i := range candidates {
		candidates[i] = m.candidate()
		m.weigh(&candidates[i])
		if w := candidates[i].logWeight; w > top { // a weight that is no number never is
			top = w
		}
	}
	var sum float64
	for i := range candidates {
		weight := math.Exp(candidates[i].logWeight - top)
		if math.IsNaN(weight) { // of brine, far outside what conductivity is computed for
			weight = 0
		}
		candidates[i].logWeight = weight
		sum += weight
	}
	if sum == 0 {
		return nil, errors.New("no water that fits the ions comes near the conductivity or the dissolved solids: one of the results is out by orders of magnitude")
	}
	out := make([]Water, 0, n)
	step := sum / float64(n)
	next, run := step*m.rand.Float64(), 0.0
	for i := range candidates {
		run += candidates[i].logWeight
		if run <= next || len(out) == n {
			continue
		}
		w, err := candidates[i].water()
		if err != nil {
			return nil, err
		}
		for ; run > next && len(out) < n; next += step {
			out = append(out, w)
		}
	}
	return out, nil
}
