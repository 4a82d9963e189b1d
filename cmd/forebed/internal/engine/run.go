package engine

import (
	"sync"

	"forebed/chem/bed"
	"forebed/chem/unit"
	"forebed/chem/water"
	"forebed/rules"
)

// Run is one fill of a vessel followed to exhaustion, cell by cell, with what
// it was run on.
type Run struct {
	Water   string // name of the water: "untreated water", "behind the plan"
	Vessel  *bed.Vessel
	Service bed.Service
	Supply  unit.Kilopascals // pressure ahead of the rig
	Ends    *bed.Ends
	Through *bed.Breakthrough
	Vessels int // of the rig; the run is about the first of them

	// Two equal vessels in series, swapped when the water between them passes
	// the limit of dry residue, and as late as the product allows. Nil if the
	// rig has none, or no swap is ever due.
	AtLead, AtLag *bed.Series
}

// RunBed follows a fill of the first vessel of a rig on a water.
func RunBed(name string, rig *rules.Rig, feed *water.Water) (*Run, error) {
	r := &Run{Water: name, Vessel: &rig.Vessels[0].Vessel, Ends: &rig.Ends, Supply: rig.Site.Pressure, Service: rig.Service(0, feed.Temperature), Vessels: len(rig.Vessels)}
	var err error
	if r.Through, err = bed.Run(r.Vessel, r.Service, r.Ends, feed, bed.Options{}); err != nil {
		return nil, err
	}
	if rig.LeadLag() && len(rig.Vessels) == 2 {
		for rule, s := range map[bed.SwapRule]**bed.Series{bed.SwapAtLead: &r.AtLead, bed.SwapAtLag: &r.AtLag} {
			*s, _ = bed.RunSeries(r.Vessel, r.Service, r.Ends, feed, rule, bed.Options{}) // it fails where no swap is due: then the single run says all
		}
	}
	return r, nil
}

// Runs follows a fill on the untreated water and, where the stages change its
// life, on the water behind them. A water or rig of which no curve can be
// computed has none: the plan stands without the picture. A rig of several
// vessels has none either, since the life of the plan is that of all of them
// together.
func (r *Request) Runs(p *rules.Plan) []*Run {
	if len(r.Rig.Vessels) != 1 {
		return nil
	}
	feeds := []*water.Water{&p.Feeds.Untreated}
	if p.Life.Ratio.P50 > changes || p.Life.Ratio.P50 < 1/changes {
		feeds = append(feeds, &p.Feeds.WithPlan)
	}
	runs := make([]*Run, len(feeds))
	var all sync.WaitGroup
	for i, feed := range feeds {
		all.Go(func() {
			name := [...]string{"untreated water", "water behind the stages"}[i]
			if run, err := RunBed(name, &r.Rig, feed); err == nil {
				runs[i] = run
			}
		})
	}
	all.Wait()
	return runs
}

// changes is the ratio of lives from which the curve behind the stages is
// another one.
const changes = 1.02
